"""What a study is once it has been read: plain SI values, dates and names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from tradespace.bench.calibration import Calibration
from tradespace.options import Setting
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters.architecture import Architecture
from tradespace.tour import Aim
from tradespace.units import convert


@dataclass(frozen=True)
class Place:
    """One stop of a route as it was asked for."""

    body: str
    """Name in the catalogue."""
    orbit: float | None = None
    """Altitude of a circular parking orbit about a planet [m]; None where the craft lands and mines."""
    dry_site_probability: float | None = None
    """Chance that no water can be won there [1]; None goes by the evidence for water."""
    extraction_energy: float | None = None
    """Electric energy for a kilogram of water there [J/kg]; None where the study's own counts."""
    water_source: str | None = None
    """Option of the choice of the same name that counts there instead of the study's."""

    rotation_period: float | None = None
    """Time in which the body turns once against the stars [s]; None takes that of the catalogue."""

    @property
    def label(self) -> str:
        """How the stop is called in words."""
        if self.orbit is None:
            return self.body
        return f"{self.body} orbit ({float(convert(self.orbit, 'm', 'km')):.0f} km)"


@dataclass(frozen=True, eq=False)
class SweptVariable:
    """One design variable and the points at which it is tried."""

    name: str
    points: FloatArray
    """Increasing or as listed [SI], shape (n,)."""
    spacing: str = "linear"
    """``linear``, ``log`` or ``listed``."""


@dataclass(frozen=True, eq=False)
class Plan:
    """How the designs of a study are chosen."""

    kind: str = "grid"
    """``grid``, ``latin_hypercube``, ``sobol``, ``one_at_a_time`` or ``list``."""
    designs: int = 0
    """Designs of one architecture; 0 where the plan follows from the swept points or the list."""
    points: int = 0
    """Points of a variable that does not say how many it has, one at a time."""
    table: Mapping[str, FloatArray] = field(default_factory=dict)
    """The designs of a list, SI values by quantity; empty for every other plan."""


@dataclass(frozen=True, eq=False)
class Distribution:
    """What an uncertain input may be, cut at the bounds of its quantity."""

    name: str
    """A quantity."""
    kind: str
    """``uniform``, ``triangular``, ``normal``, ``lognormal`` or ``discrete``."""
    numbers: tuple[float, ...]
    """Low, high; low, mode, high; mean, deviation; median, factor [1]; or all values, then all chances [SI]."""
    low: float
    """Least value of the quantity [SI]; minus infinity where it has none."""
    high: float
    """Largest value of the quantity [SI]; infinity where it has none."""
    grade: str
    """Grade of the quantity's own value."""
    stated: bool
    """Whether the study says what it may be; else its own range and grade do."""


@dataclass(frozen=True, eq=False)
class Uncertain:
    """Which inputs are uncertain and how the study wants them reckoned with."""

    inputs: tuple[Distribution, ...]
    correlation: FloatArray | None
    """Rank correlation of the inputs in their order, shape (n, n); None when they are independent."""
    samples: int
    """A power of two."""
    chance: float
    """Asked probability of closing [1]."""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the uncertain inputs."""
        return tuple(item.name for item in self.inputs)


@dataclass(frozen=True)
class Solve:
    """Change one variable until an output column meets a limit."""

    variable: str
    column: str
    relation: str
    """``<=`` or ``>=``."""
    limit: float
    """[SI]."""


@dataclass(frozen=True)
class Search:
    """What a study asks of the search for a tour."""

    aim: Aim
    bodies: tuple[str, ...]
    """Candidates by name, the start body among them."""
    start: str
    """Body on which every tour starts; empty when it may be any of the candidates."""
    architecture: str
    """Thruster of the craft; empty for the best that closes on the study's own route."""


@dataclass(frozen=True, eq=False)
class Study:
    """Everything a study file asks, checked, in SI; dates are seconds past J2000."""

    name: str
    title: str
    question: str
    note: str
    kind: str
    """``tour`` (hops between bodies), ``surface`` (hops on one body) or ``burn`` (one craft in free space)."""
    seed: int
    figure_of_merit: str
    figure_of_merit_better: str
    """``lower`` or ``higher``."""
    map_axes: tuple[str, ...]
    """At most two swept variables."""
    conditions: tuple[str, ...]
    """Swept inputs that nature or the bench decides; the best design is sought at their own values."""
    start_body: str
    start_date: float
    places: tuple[Place, ...]
    """Stops in order, the start first; hops + 1 of them."""
    hops: int
    horizon: float
    """Last date by which the route must be flown."""
    flight_time: tuple[float, float] | None
    """Shortest and longest flight around the Sun [s]; None where no leg of the route goes around it."""
    values: dict[str, float]
    """Every input that has a value, given or default; a derived quantity only when it is given."""
    given: frozenset[str]
    """Quantities written in the study, swept ones included."""
    options: dict[str, str]
    """The option taken for every choice."""
    ranges: dict[str, tuple[float, float]]
    """Low and high for the sensitivity of every quantity that has a range."""
    architectures: tuple[str, ...]
    thrusters: dict[str, Architecture]
    """The included architectures only, in the same order."""
    sweep: tuple[SweptVariable, ...]
    """Empty when the study asks about a single design."""
    plan: Plan
    """How designs are chosen among the swept variables."""
    uncertain: Uncertain
    solve: Solve | None
    search: Search | None
    """What is asked of the search for a tour; None when the study does not ask for one."""
    effects: dict[str, bool]
    """Every effect that an estimate can leave out, and whether this study reckons with it."""
    calibration: Calibration | None
    """What a bench has told of the cell and the engine; None where the catalogue's count."""
    settings: Mapping[str, Setting]
    """Inputs whose value comes from an option of a choice or from the bench."""
    text: str
    """The study file as it was read."""
    path: Path | None
    hash: str
    """SHA-256 of the text."""

    @property
    def stops(self) -> tuple[str, ...]:
        """What the stops are called, in order."""
        return tuple(place.label for place in self.places)

    @property
    def route(self) -> str:
        """Where the craft goes, in words."""
        if self.kind == "tour":
            return " > ".join(self.stops)
        if self.kind == "burn":
            return f"one burn in free space, {self.stops[0] if self.stops else self.start_body}"
        return f"{self.hops} hops on {self.start_body}"

    @property
    def swept(self) -> tuple[str, ...]:
        """Names of the swept variables, slowest first."""
        return tuple(variable.name for variable in self.sweep)
