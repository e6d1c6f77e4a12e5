"""An architecture: a thruster, how its propellant is kept, what becomes of an excess, and what lands the craft.

The bookkeeping of water is done here, in one place for every thruster: what is drawn from the tanks for what leaves
through the nozzle, what is split and when, what tanks it needs, and what has to be mined for it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field

import numpy as np

from tradespace.errors import DomainError, unknown_name
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters.contract import (
    EXCESSES,
    LANDING_ENGINES,
    STORAGES,
    UNLIMITED,
    Conditions,
    Engine,
    Keeping,
    Performance,
    Store,
    Thruster,
)
from tradespace.thrusters.stores import (
    Book,
    Numbers,
    book_of,
    filled,
    gas_keeping,
    gas_tanks,
    storable_engine,
    stored_gas_engine,
    stored_heat_engine,
    whole_water_ratio,
)
from tradespace.thrusters.values import architecture_values, changed, number, weakest_grade

SPLIT_FEEDS = ("gases", "hydrogen", "oxygen")
DEMONSTRATED = ("defined", "measured", "reviewed", "computed")
"""Grades on which a rank may rest without a mark."""
STORABLE = "storable_bipropellant"
FATES = ("jet", "cold_gas", "vented", "flown", "left")
"""Where the hydrogen and oxygen of mined water end up."""


@dataclass(frozen=True)
class Architecture:
    """One way to push a craft with water (or, for comparison, without)."""

    name: str
    thruster: Thruster
    title: str = ""
    storage: str = ""
    """One of ``contract.STORAGES``; empty for the thruster's usual one."""
    excess: str = ""
    """One of ``contract.EXCESSES``; empty for what is left at the stop where all is split there, else vented."""
    landing_engine: str = ""
    """One of ``contract.LANDING_ENGINES``; empty for the usual one."""
    mixture_ratio: float | None = None
    """For this architecture alone [1]; None for the thruster's own, if its table has one, or else the study's."""
    own: Mapping[str, float] = field(default_factory=dict)
    """Rows of the thruster's table that the study gives [SI]."""
    landing_is_usual: bool = False
    """Set by itself, and kept where a copy changes something else: the landing engine is the usual one."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", self.title or self.thruster.title)
        object.__setattr__(self, "storage", self.storage or self.thruster.storages[0])
        own = architecture_values(self.thruster.name).get("mixture_ratio")
        if self.mixture_ratio is None and own is not None:
            object.__setattr__(self, "mixture_ratio", self.own.get("mixture_ratio", own.value))
        at_stop = self.storage in {"gas", "liquid"} and self.thruster.feed in SPLIT_FEEDS
        object.__setattr__(self, "excess", self.excess or ("left" if at_stop else "vented"))
        usual = "stored_gas" if self.refuels else "storable"
        if self.storage == "water" and self.refuels:
            usual = "itself"
        chosen = "" if self.landing_is_usual else self.landing_engine
        object.__setattr__(self, "landing_is_usual", not chosen)
        object.__setattr__(self, "landing_engine", chosen or usual)
        self._require_known()
        self._require_sense()

    def _require_known(self) -> None:
        for name, allowed in (
            ("storage", STORAGES), ("excess", EXCESSES), ("landing_engine", LANDING_ENGINES)
        ):  # fmt: skip
            if getattr(self, name) not in allowed:
                raise unknown_name(name, getattr(self, name), allowed)

    def _require_sense(self) -> None:
        """Refuse settings that contradict each other, naming both keys."""
        splits = self.thruster.feed in SPLIT_FEEDS
        if self.storage not in self.thruster.storages:
            raise DomainError(
                f'storage "{self.storage}" contradicts thruster "{self.thruster.name}", which works with '
                f"{' or '.join(self.thruster.storages)}"
            )
        if self.excess != "vented" and not splits:
            raise DomainError(
                f'excess "{self.excess}" contradicts thruster "{self.thruster.name}", which does not split its water'
            )
        if self.excess == "left" and self.storage not in {"gas", "liquid"}:
            raise DomainError(
                f'excess "left" contradicts storage "{self.storage}": only what is split at the stop can be '
                'left there; set storage to "gas" or "liquid"'
            )
        if (self.landing_engine == "storable") == self.refuels:
            if self.refuels:
                words = "a craft that refuels cannot make storable propellant"
            elif self.landing_engine == "itself":
                return
            else:
                words = "it has no water to land on"
            raise DomainError(
                f'landing_engine "{self.landing_engine}" contradicts thruster "{self.thruster.name}": {words}'
            )
        if self.storage == "water" and self.landing_engine == "stored_gas":
            raise DomainError(
                'landing_engine "stored_gas" contradicts storage "water", which keeps no gas; set storage to "buffer"'
            )

    @property
    def description(self) -> str:
        """What it is, in words."""
        return self.thruster.description

    @property
    def refuels(self) -> bool:
        """True when propellant is mined at each stop."""
        return self.thruster.refuels

    @property
    def maturity(self) -> str:
        """Demonstrated state of the thruster in words, with the source key."""
        return self.thruster.maturity

    @property
    def keeping(self) -> Keeping:
        """How its propellant is kept."""
        return Keeping(self.storage, self.excess)

    @property
    def grade(self) -> str:
        """The weakest grade of what its rank rests on; ``assumed`` where the study gives a part of that itself."""
        if set(self.own) & set(self.thruster.rests_on):
            return "assumed"  # nobody but the study vouches for it
        return weakest_grade(self.thruster.name, self.thruster.rests_on)

    @property
    def demonstrated(self) -> bool:
        """Whether its rank rests on values that were measured, reviewed or computed."""
        return self.grade in DEMONSTRATED

    @property
    def maturity_class(self) -> str:
        """What the growth of its mass is reckoned as: ``off_the_shelf``, ``modified`` or ``new``, by its readiness."""
        rows = architecture_values(self.thruster.name)
        level = rows["readiness"].value if "readiness" in rows else 0.0
        level = self.own.get("readiness", level)
        if level >= number("shared", "readiness_off_the_shelf"):
            return "off_the_shelf"
        return "modified" if level >= number("shared", "readiness_modified") else "new"

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges of the thruster."""
        return self.thruster.ranges()

    def _own_rows(self) -> AbstractContextManager[None]:
        """Rows of the thruster's table as the study gives them, unless a question of sensitivity changes them."""
        return changed({(self.thruster.name, row): amount for row, amount in self.own.items()}, weak=True)

    def engine(self, conditions: Conditions) -> Engine:
        """The thruster for each design, with the rows that the study gives."""
        with self._own_rows():
            return self.thruster.engine(conditions)

    def performance(self, conditions: Conditions) -> Performance:
        """The cruise thruster with its water, tanks and splitting, for each design."""
        with self._own_rows():
            return self._performance(self._at_its_ratio(conditions))

    def _performance(self, conditions: Conditions) -> Performance:
        at_stop = self.storage in {"gas", "liquid"} and self.thruster.feed in SPLIT_FEEDS
        live_split = self.thruster.feed in SPLIT_FEEDS and not at_stop
        engine = self._engine_beside_splitting(conditions) if live_split else self.engine(conditions)
        book = book_of(conditions, self.thruster.feed, self.keeping, engine.exhaust_velocity)
        engine_power = engine.power_per_thrust * engine.exhaust_velocity / book.drawn
        split_power = conditions.split_energy * (1.0 if live_split else 0.0)
        auxiliary = 1.0 + engine.auxiliary_share
        power = (engine_power + split_power) * auxiliary / book.thrust_per_drawn
        if self.thruster.feed in SPLIT_FEEDS:
            power = power * conditions.power_per_thrust_factor
        tank_factor, volume = self._tanks(conditions, book, at_stop=at_stop)
        storing, lost = gas_keeping(conditions, book.stored_ratio) if at_stop else (0.0, 0.0)
        share = engine_power / np.maximum(engine_power + split_power, 1e-30)
        numbers: Numbers = {
            "exhaust_velocity": book.exhaust_velocity,
            "jet_velocity": engine.exhaust_velocity,
            "water_per_propellant": book.drawn,
            "kept_share": book.kept_share,
            "mined_per_load": book.mined_per_load if at_stop else 1.0,
            "power_per_thrust": power,
            "engine_power_share": share / auxiliary,
            "least_power": engine.least_power
            * np.where(share > 0.0, auxiliary / np.maximum(share, 1e-30), 1.0),
            "split_power_share": (1.0 - share) / auxiliary if live_split else 0.0,
            "live_split_fraction": 1.0 if live_split else 0.0,
            "stop_split_fraction": 1.0 if at_stop else 0.0,
            "storing_energy": storing,
            "storing_loss": lost,
            "throughput_life": np.minimum(engine.throughput_life * book.drawn, UNLIMITED),
            "charge": np.minimum(engine.charge * book.drawn, UNLIMITED),
            "tank_factor": tank_factor,
            "specific_volume": volume,
            "waste_heat_fraction": (share * engine.waste_heat_fraction + engine.auxiliary_share) / auxiliary,
        }
        same = {
            item.name: getattr(engine, item.name)
            for item in dataclasses.fields(Engine)
            if item.name in {field_.name for field_ in dataclasses.fields(Performance)} - set(numbers)
        }
        return filled(Performance, conditions, {**same, **numbers})

    def _engine_beside_splitting(self, conditions: Conditions) -> Engine:
        """The engine built for its own share of the live power, where it is fed one of the gases as they are split."""
        engine = self.engine(conditions)
        if self.thruster.feed == "gases":
            return engine  # what it burns is all the power there is
        drawn = book_of(conditions, self.thruster.feed, self.keeping, engine.exhaust_velocity).drawn
        own = engine.power_per_thrust * engine.exhaust_velocity / drawn
        share = own / np.maximum(own + conditions.split_energy, 1e-30) / (1.0 + engine.auxiliary_share)
        return self.engine(dataclasses.replace(conditions, live_power=conditions.live_power * share))

    def _tanks(
        self, conditions: Conditions, book: Book, *, at_stop: bool
    ) -> tuple[FloatArray | float, FloatArray | float]:
        """Tank mass and volume per kilogram of cruise propellant."""
        name = self.thruster.name
        if self.thruster.feed == "own" and "tank_fraction" in architecture_values(name):
            return number(name, "tank_fraction"), 1.0 / number(name, "storage_density")
        if at_stop:
            return gas_tanks(conditions, book.stored_ratio)
        return conditions.water_tank_fraction, 1.0 / number("shared", "water_density")

    def _at_its_ratio(self, conditions: Conditions) -> Conditions:
        if self.mixture_ratio is None:
            return conditions
        ratio = np.full(np.shape(conditions.mixture_ratio), self.mixture_ratio)
        return dataclasses.replace(conditions, mixture_ratio=ratio)

    def landing(self, conditions: Conditions) -> Store | None:
        """Engine for launch and landing between bodies; None where the cruise thruster does it itself."""
        with self._own_rows():
            return self._landing(self._at_its_ratio(conditions))

    def _landing(self, conditions: Conditions) -> Store | None:
        if self.landing_engine == "itself":
            return None
        if self.landing_engine == "storable":
            own = self.thruster.name == STORABLE
            return storable_engine(conditions, conditions.specific_impulse_change if own else 0.0)
        if self.landing_engine == "stored_heat":
            return stored_heat_engine(conditions)
        return stored_gas_engine(conditions, self.keeping)

    def hop_engine(self, conditions: Conditions) -> Store | None:
        """Engine of a surface hop: the thruster's own from stored propellant, or the landing engine asked for."""
        conditions = self._at_its_ratio(conditions)
        if not self.landing_is_usual:
            return self.landing(conditions)
        if self.storage == "water" and self.refuels:
            return None
        with self._own_rows():
            return self.thruster.hop_engine(conditions, self.keeping)

    def water_budget(self, conditions: Conditions) -> dict[tuple[str, str], FloatArray]:
        """What becomes of each kilogram of mined water in cruise: mass by fate and element [kg/kg].

        Returns
        -------
        dict
            Keys are (fate, element) with the fate from :data:`FATES` and ``"hydrogen"`` or ``"oxygen"``; the masses of
            an element add up to its share of water.
        """
        conditions = self._at_its_ratio(conditions)
        engine = self.engine(conditions)
        book = book_of(conditions, self.thruster.feed, self.keeping, engine.exhaust_velocity)
        hydrogen = 1.0 / (1.0 + whole_water_ratio())
        through = 1.0 / (book.drawn * book.mined_per_load)
        ratio = _jet_ratio(conditions, self.thruster.feed)
        burned = {"hydrogen": through / (1.0 + ratio), "oxygen": through * ratio / (1.0 + ratio)}
        found: dict[tuple[str, str], FloatArray] = {}
        for element, share in (("hydrogen", hydrogen), ("oxygen", 1.0 - hydrogen)):
            for one in FATES:
                found[one, element] = np.zeros(np.shape(through))
            found["jet", element] = burned[element]
            found[self.excess, element] = share - burned[element]
        return found


def _jet_ratio(conditions: Conditions, feed: str) -> FloatArray:
    """Oxygen to hydrogen mass ratio of what leaves through the nozzle, vapour in the gases among it [1]."""
    from tradespace.thrusters.stores import fed_ratio, feed_humidity

    whole = whole_water_ratio()
    if feed in {"water", "own"}:
        return np.full(np.shape(conditions.mixture_ratio), whole)
    ratio = fed_ratio(conditions, feed)
    vapour = 0.0 * ratio if feed == "oxygen" else feed_humidity(conditions)
    hydrogen = (1.0 - vapour) / (1.0 + ratio) + vapour / (1.0 + whole)
    return np.asarray((1.0 - hydrogen) / hydrogen)
