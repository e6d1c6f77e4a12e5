"""The table of answers: one row per design, and what is needed to read it without evaluating again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
import pandas as pd

from tradespace import constants, sampling
from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

SETTINGS = "engine_settings.csv"
WITHOUT_MASS = (
    "dry_mass wet_mass start_mass propellant_mass buffer_mass tank_volume energy_per_hop "
    "water_per_hop structure_mass tank_mass landing_engine_mass thermal_mass growth_mass propellant_used "
    "water_mined departure_mass propellant_loaded water_so_far energy energy_so_far"
).split()
"""Columns that mean nothing for a craft whose masses never add up."""

LINKS = ("mass", "power", "thrust", "heat", "freezing", "storage", "water", "lifetime", "time", "window")


SLIM = (
    "closes margin limited_by limited_at extrapolated extrapolated_by demonstrated refuel_time mission_time start_mass "
    "payload_capacity payload_per_year hops_per_year hops_in_life mined_specific_impulse total_power_per_thrust "
    "energy_per_hop water_per_hop"
).split()
"""What stays in memory of a run of very many designs, beside architecture, swept variables and figure of merit."""


class Whole(Protocol):
    """Where designs are found with every column when memory holds only some of them."""

    def names(self) -> list[str]:
        """Names of all columns."""
        ...

    def row(self, place: int) -> pd.Series:
        """One design, by its place in the table of designs."""
        ...

    def column(self, name: str) -> pd.Series:
        """One column of all designs."""
        ...


@dataclass(frozen=True)
class PowerMap:
    """Refuel time and smallest margin over array power and stack efficiency, for one architecture."""

    architecture: str
    array_power: FloatArray
    """At 1 au, new [W], shape (x,)."""
    stack_efficiency: FloatArray
    """On the higher heating value, stack only [1], shape (y,)."""
    refuel_time: FloatArray
    """Longest refuelling of the route [s], shape (y, x)."""
    margin: FloatArray
    """Smallest margin [1], shape (y, x)."""


@dataclass(frozen=True)
class Improvements:
    """What it would take: inputs moved one at a time and two together, for the architectures nearest to closing."""

    reached: pd.DataFrame
    """One row for each input that does it alone, ranked; columns of :mod:`tradespace.breakeven.table` (SI)."""
    missed: pd.DataFrame
    """One row for each input that moves the margin and cannot do it alone, with the margin it reaches."""
    plane: pd.DataFrame
    """Smallest margin over the plane of two inputs: columns architecture, first, second, x, y (SI), margin."""
    curve: pd.DataFrame
    """Where a design begins to close, two rows for each stretch: columns architecture, stretch, x, y (SI), jump."""


@dataclass(frozen=True)
class Drivers:
    """What drives the answers of the best architectures about their reference designs."""

    elasticities: pd.DataFrame
    """Columns of :data:`tradespace.sensitivity.elasticity.COLUMNS`."""
    screening: pd.DataFrame
    """Columns architecture, calendar, metric, quantity, strength, unevenness, direction, error (unit of the metric)."""
    variance: pd.DataFrame
    """Columns architecture, calendar, metric, quantity, first, first_low, first_high, total, total_low, total_high."""
    about: pd.DataFrame
    """One row for each piece of work: architecture, calendar, method, runs, samples, note (in words)."""


@dataclass(frozen=True)
class Sensitivity:
    """What moves the answer."""

    tornado: pd.DataFrame
    """Columns architecture, quantity, low, high (SI), metric, at_low, at_baseline, at_high (SI)."""
    exchange: pd.DataFrame
    """Columns architecture, quantity, step (words), calendar (frozen or free), days_per_hop, payload_kg, jump, note."""
    power_maps: tuple[PowerMap, ...]
    solutions: pd.DataFrame
    """Columns architecture, variable, value (SI, NaN when none), reached, closes, note; empty when not asked."""
    stackup: pd.DataFrame = field(default_factory=pd.DataFrame)
    """What each neglected effect is worth, as :func:`tradespace.stackup.stack_up` gives it; empty when not asked."""
    improvements: Improvements | None = None
    """What it would take to close; None when not asked."""
    drivers: Drivers | None = None
    """What drives the answers; None when not asked."""


@dataclass(frozen=True)
class Certainty:
    """How sure the answer is: chances over draws of the uncertain inputs, as :mod:`tradespace.uncertainty` gives them.

    All values in SI; every chance is conditional on the stated distributions and on the models.
    """

    asked: float
    """Probability of closing that is asked for [1]."""
    samples: int
    """Draws for the chance of a design."""
    evaluated: int
    """Designs evaluated for all of it."""
    chance: pd.DataFrame
    """A row for each architecture and calendar: design, samples, closing, chance, low, high, nominal answers."""
    percentiles: pd.DataFrame
    """Columns architecture, calendar, among (all or closing), metric, share, value."""
    limits: pd.DataFrame
    """Columns architecture, calendar, link, binding and failing (shares of the draws)."""
    drivers: pd.DataFrame
    """What carries the variance of margin and closing: rank correlation and share, total index where there is one."""
    optima: pd.DataFrame
    """Nominal and robust optimum of each architecture: merit, median, chance with interval, swept inputs."""
    solutions: pd.DataFrame
    """Smallest value of the variable of ``[solve]``, nominal and with the asked chance, with the chance there."""
    curve: pd.DataFrame
    """Chance along that variable: columns architecture, variable, value, chance, low, high, samples."""
    plane: pd.DataFrame
    """Chance over two variables: columns architecture, first, second, x, y, chance, margin, merit, samples."""


CERTAINTY = ("chance", "percentiles", "limits", "drivers", "optima", "solutions", "curve", "plane")
"""The tables of :class:`Certainty`."""


@dataclass(frozen=True)
class Results:
    """Designs and their answers, in SI, with the study they answer."""

    study: Study
    mission: Mission
    designs: pd.DataFrame
    """One row per design: architecture, swept variables, output columns, per-hop columns ``<name>_<hop>``.

    Of a run of very many designs only what maps and rankings read; :meth:`column` and :meth:`full` have the rest.
    """
    baseline: pd.DataFrame
    """The same columns (all inputs too) for the study's reference design, one row per architecture."""
    seconds: float
    """Spent on evaluating designs in this run; departure windows and compilation come before."""
    versions: dict[str, str]
    sensitivity: Sensitivity | None = None
    notes: tuple[str, ...] = field(default=())
    evaluated: int = 0
    """Designs evaluated in this run; fewer than there are when an interrupted run was taken up again."""
    setup_seconds: float = 0.0
    """Spent before the first design: departure windows and, the first time, compilation."""
    whole: Whole | None = None
    """Where the columns are that ``designs`` lacks; None when it has them all."""
    certainty: Certainty | None = None
    """How sure the answer is; None when it was not worked out."""

    @property
    def designs_per_second(self) -> float | None:
        """Rate of this run; None when it evaluated nothing."""
        return self.evaluated / self.seconds if self.evaluated and self.seconds > 0.0 else None

    @property
    def improvements(self) -> Improvements | None:
        """What it would take to close; None when it was not worked out."""
        return None if self.sensitivity is None else self.sensitivity.improvements

    @property
    def architectures(self) -> list[str]:
        """Names in the study's order."""
        return list(self.study.architectures)

    def best(self, architecture: str) -> pd.Series | None:
        """The best closing design of an architecture by the figure of merit, at the conditions' own values; or None."""
        places = self._places(architecture)
        places = places[self.designs["closes"].to_numpy(dtype=bool)[places]]
        figure = self.study.figure_of_merit
        judged = {name: self.designs[name].to_numpy()[places] for name in dict.fromkeys((figure, "margin"))}
        found = best_row(pd.DataFrame(judged, index=places), figure, self.study.figure_of_merit_better)
        if found is None:
            return None
        row: Any = self.designs.iloc[int(found.name)]  # type: ignore[call-overload]
        return self.full(row)

    @property
    def names(self) -> list[str]:
        """Names of all columns a design has, in memory or not."""
        return list(self.designs.columns) if self.whole is None else self.whole.names()

    def full(self, row: pd.Series) -> pd.Series:
        """A row of the table of designs with every column a design has."""
        return row if self.whole is None else self.whole.row(int(row.name))  # type: ignore[call-overload]

    def column(self, name: str) -> pd.Series:
        """One column of all designs, in memory or not.

        Of a run that was written it is read from its files; of one that was not, the designs are evaluated again.
        """
        if name in self.designs or self.whole is None:
            return self.designs[name]
        return self.whole.column(name)

    def conditions(self) -> dict[str, float]:
        """Swept inputs that are not the designer's to choose, at the swept point nearest their own value [SI]."""
        found = {}
        for variable in self.study.sweep:
            if variable.name in self.study.conditions:
                own = self.study.values.get(variable.name, float(np.median(variable.points)))
                nearest = float(variable.points[np.argmin(np.abs(variable.points - own))])
                alone = self.study.plan.kind == "one_at_a_time"
                found[variable.name] = sampling.baseline(self.study)[variable.name] if alone else nearest
        return found

    def candidates(self, architecture: str) -> pd.DataFrame:
        """Designs of an architecture among which the designer may choose: the conditions at their own values."""
        places = self._places(architecture)
        return self.designs if places.size == len(self.designs) else self.designs.iloc[places]

    def _places(self, architecture: str) -> np.ndarray:
        """Places in the table of the candidates of an architecture; no copy of a large table is made for them."""
        chosen = (self.designs["architecture"] == architecture).to_numpy(dtype=bool)
        for name, point in self.conditions().items():
            values = self.designs[name].to_numpy(dtype=np.float64)
            chosen = chosen & np.isclose(values, point, rtol=1e-9, atol=0.0)
        return np.flatnonzero(chosen)

    def counts(self) -> pd.DataFrame:
        """Designs and closing designs per architecture."""
        grouped = self.designs.groupby("architecture", observed=False)["closes"]
        return pd.DataFrame({"designs": grouped.size(), "closing": grouped.sum()}).reindex(self.architectures)


def placeholder(row: Any, name: str) -> str:
    """Words for a number that only stands in for "none": empty when the number means what it says.

    A craft for which every kilogram asks for more than a kilogram has no finite mass, and a refuelling without
    surplus power never ends; the engine carries large numbers through so that margins stay finite.
    """
    if name in WITHOUT_MASS and float(row.get("margin_mass", 0.0)) <= -1.0:
        return "no finite mass" if name.endswith("_mass") else "-"
    cap = 0.999 * constants.value("refuelling_cap", SETTINGS)
    if (
        name in {"refuel_time", "refuel_time_mean", "mission_time"}
        and float(row.get("refuel_time", 0.0)) >= cap
    ):
        return "never"
    if name in {"window_slack_d"} and float(row.get("refuel_time", 0.0)) >= cap:
        return "none"
    return ""


def best_row(rows: pd.DataFrame, figure: str, better: str) -> pd.Series | None:
    """The row with the best figure of merit; ties go to the larger margin, then to the earlier row."""
    if rows.empty:
        return None
    sign = 1.0 if better == "lower" else -1.0
    merit = sign * rows[figure].to_numpy(dtype=np.float64)
    order = np.lexsort((np.arange(len(rows)), -rows["margin"].to_numpy(dtype=np.float64), np.round(merit, 9)))
    return rows.iloc[int(order[0])]
