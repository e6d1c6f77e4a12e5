"""What is handed from step to step of the bench: plain SI arrays with their uncertainties, and verdicts in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tradespace.physics.compiled import FloatArray


@dataclass(frozen=True, eq=False)
class Readings:
    """A readings file once it has been read: every channel in SI, one value per point.

    A channel that was never read is absent from ``columns``; a single missing reading is not a number. A fact that
    does not change is a column like any other, the same on every point.
    """

    title: str
    notes: str
    words: Mapping[str, str]
    """Facts in words, defaults filled in: ``cell_kind``, ``electrolyte``, ``gas_measured``, ``gas_is``,
    ``volumes_at``, ``chamber_pressure_is``."""
    columns: Mapping[str, FloatArray]
    """Channel to SI values, shape (n,); ``chamber_pressure`` is absolute here, whatever the gauge said."""
    random: Mapping[str, FloatArray]
    """Standard uncertainty (k = 1) that is independent from point to point, SI, shape (n,), of every channel."""
    systematic: Mapping[str, FloatArray]
    """Standard uncertainty (k = 1) of an error that all points share, SI, shape (n,), of every channel."""
    by_class: frozenset[str]
    """Channels whose uncertainty the file does not state, so that the class of their instrument stands for it."""
    rows: FloatArray
    """Line of the file that each point came from, shape (n,)."""
    remarks: tuple[str, ...] = ()
    """What was noticed in reading, one clear line each: rows left out, clipped sensors, a gap in time, a gauge."""
    invented: bool = False
    """Whether the file says that its readings are invented."""
    path: Path | None = None
    hash: str = ""
    """SHA-256 of the file."""

    @property
    def points(self) -> int:
        """How many points were kept."""
        return int(self.rows.size)

    def has(self, *names: str) -> bool:
        """Whether all these channels were read at least once."""
        return all(name in self.columns and bool(np.isfinite(self.columns[name]).any()) for name in names)

    def column(self, name: str) -> FloatArray:
        """A channel [SI], shape (n,); not a number where it was not read."""
        found = self.columns.get(name)
        return np.full(self.points, np.nan) if found is None else found


@dataclass(frozen=True, eq=False)
class Reconciled:
    """Facts of every point, reconciled with each other; what cannot be known from the readings is not a number."""

    readings: Readings
    columns: Mapping[str, FloatArray]
    """Measure (a row of ``bench_measures.csv``) to SI values, shape (n,)."""
    deviations: Mapping[str, FloatArray]
    """Standard uncertainty (k = 1) of each, random and systematic together, SI, shape (n,)."""
    residuals: Mapping[str, FloatArray] = field(default_factory=dict)
    """Correction of each reconciled reading over its standard uncertainty [1], shape (n,)."""
    chi_square: FloatArray = field(default_factory=lambda: np.zeros(0))
    """Of the corrections at each point [1], shape (n,)."""
    redundancy: FloatArray = field(default_factory=lambda: np.zeros(0))
    """Balances beyond what is needed to know the gas rate at each point [1], shape (n,)."""
    systematic: Mapping[str, FloatArray] = field(default_factory=dict)
    """The part of each standard uncertainty that all points share, SI, shape (n,)."""
    assumed: tuple[str, ...] = ()
    """Channels that were not read and stand at the values of the table of assumptions."""

    def column(self, name: str) -> FloatArray:
        """A measure [SI], shape (n,); not a number where it cannot be known."""
        found = self.columns.get(name)
        return np.full(self.readings.points, np.nan) if found is None else found

    def deviation(self, name: str) -> FloatArray:
        """Standard uncertainty of a measure [SI], shape (n,)."""
        found = self.deviations.get(name)
        return np.full(self.readings.points, np.nan) if found is None else found

    def lasting(self, name: str) -> FloatArray:
        """Part of a measure's standard uncertainty that all points share [SI], shape (n,); zero where none is known."""
        return np.asarray(np.nan_to_num(self.systematic.get(name, np.zeros(self.readings.points))))

    def scattered(self, name: str) -> FloatArray:
        """Part of a measure's standard uncertainty that differs from point to point [SI], shape (n,)."""
        total = np.nan_to_num(self.deviation(name))
        return np.asarray(np.sqrt(np.maximum(total**2 - self.lasting(name) ** 2, 0.0)))


PASSES, SUSPECT, IMPOSSIBLE, UNKNOWN = "passes", "suspect", "impossible", "not known"
VERDICTS = (PASSES, SUSPECT, IMPOSSIBLE, UNKNOWN)
"""From harmless to not; the last one where the readings do not say."""


@dataclass(frozen=True)
class Check:
    """One thing that has to hold if all readings are true."""

    name: str
    """Short name of the condition, the same in every run."""
    verdict: str
    """One of ``VERDICTS``."""
    words: str
    """A plain sentence with value, limit and what to do next."""
    value: float
    """Worst value of the points [``unit``]."""
    limit: float
    """What it is held against [``unit``]."""
    unit: str
    points: int = 0
    """Points at which it fails."""
    suspects: tuple[str, ...] = ()
    """Usual causes, the likeliest first."""
    culprits: tuple[str, ...] = ()
    """Channels of which any single one, if it alone were wrong, would reconcile the set."""


@dataclass(frozen=True)
class Loss:
    """Where a part of the power went, from the supply to the jet."""

    name: str
    begins: str
    """The stream it leaves."""
    ends: str
    """Where it goes: another stream, or what it is lost to."""
    power: float
    """[W]."""
    deviation: float
    """Standard uncertainty [W]."""
    basis: str
    """``measured``, ``modelled`` or ``by difference``."""


@dataclass(frozen=True, eq=False)
class Fit:
    """Parameters of the cell and engine models as the readings have them: values with their covariance."""

    names: tuple[str, ...]
    """Quantities of a study, then derived numbers."""
    values: FloatArray
    """[SI], shape (p,)."""
    low: FloatArray
    """2.5 % quantile of each [SI], shape (p,)."""
    high: FloatArray
    """97.5 % quantile of each [SI], shape (p,)."""
    covariance: FloatArray
    """[SI], shape (p, p)."""
    informed: tuple[bool, ...]
    """Whether the readings narrowed each by more than a tenth of what was assumed before."""
    chi_square: float
    """Of all residuals [1]."""
    freedom: int
    """Points less parameters [1]."""
    words: tuple[str, ...] = ()
    """What was noticed, one sentence each."""
    curves: Mapping[str, FloatArray] = field(default_factory=dict)
    """For pictures: named arrays such as current density, cell voltage read and fitted, band [SI]."""

    def value(self, name: str) -> float:
        """One parameter [SI]; not a number where it was not fitted."""
        return float(self.values[self.names.index(name)]) if name in self.names else float("nan")

    def deviation(self, name: str) -> float:
        """Standard deviation of one parameter [SI]; not a number where it was not fitted."""
        if name not in self.names:
            return float("nan")
        place = self.names.index(name)
        return float(np.sqrt(self.covariance[place, place]))
