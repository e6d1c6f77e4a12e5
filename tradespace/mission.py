"""Plain array types of the question: stops, windows and dates (a study fills them, the campaign reads them)."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray


@dataclass(frozen=True)
class Stop:
    """A body the craft stands on, and how far from the Sun it is on each date."""

    name: str
    gravitational_parameter: float
    """[m3/s2]."""
    radius: float
    """[m]."""
    rotation_period: float
    """[s]."""
    dates: FloatArray
    """Uniform grid of seconds past J2000, shape (n,)."""
    distances: FloatArray
    """Heliocentric distance on those dates [m], shape (n,)."""
    mines: bool = True
    """Whether there is water to be had; a parking orbit has none."""
    orbit_mu: float = 0.0
    """Gravitational parameter of the planet the stop circles [m3/s2]; 0 for a body that circles the Sun."""
    orbit_radius: float = 0.0
    """Radius of that circle [m]."""
    dry_probability: float = 0.0
    """Chance that no water can be won at the site [1]."""
    dry_given: bool = False
    """Whether that chance is the study's own for this stop, and not that of its kind of evidence."""
    extraction_energy: float = math.nan
    """Electric energy for a kilogram of water [J/kg]; not a number where the design's own counts."""

    @property
    def lands(self) -> bool:
        """Whether the craft stands on ground here."""
        return self.gravitational_parameter > 0.0

    @property
    def surface_gravity(self) -> float:
        """Gravity at the mean radius [m/s2]; 0 in a parking orbit."""
        return self.gravitational_parameter / self.radius**2

    @property
    def escape_speed(self) -> float:
        """Escape speed at the mean radius [m/s]."""
        return float(np.sqrt(2.0 * self.gravitational_parameter / self.radius))


@dataclass(frozen=True)
class System:
    """A leg between two circular orbits about one planet."""

    gravitational_parameter: float
    """Of the planet [m3/s2]."""
    first_radius: float
    """[m]."""
    second_radius: float
    """[m]."""
    plane_angle: float
    """Angle between both planes [rad]."""
    wait: float
    """Longest time until both ends stand right for the transfer: their synodic period [s]."""


@dataclass(frozen=True)
class WindowCurve:
    """The cheapest hop between two bodies against departure date, over the allowed flight times."""

    departure_body: str
    arrival_body: str
    departure: FloatArray
    """Uniform grid of departure dates, seconds past J2000, shape (n,)."""
    time_of_flight: FloatArray
    """Flight time of the cheapest hop on that date [s], shape (n,)."""
    v_inf_departure: FloatArray
    """Speed relative to the departure body, far away [m/s], shape (n,)."""
    v_inf_arrival: FloatArray
    """Speed relative to the arrival body, far away [m/s], shape (n,)."""
    kind: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    """Kind of the cheapest hop (its place in ``windows.KINDS``); zeros, plain prograde, unless given, shape (n,)."""

    system: System | None = None
    """The circles a leg within the system of one planet runs between; its speeds are then the burns themselves."""

    def __post_init__(self) -> None:
        if len(self.kind) != len(self.departure):
            object.__setattr__(self, "kind", np.zeros(len(self.departure), dtype=np.int64))

    @property
    def v_inf_sum(self) -> FloatArray:
        """Sum of both speeds [m/s], shape (n,)."""
        return self.v_inf_departure + self.v_inf_arrival


@dataclass(frozen=True, eq=False)
class Mission:
    """Where, when and how: everything the campaign needs that is the same for all designs."""

    kind: str
    """``"tour"`` (hops between bodies), ``"surface"`` (ballistic hops on one body) or ``"burn"`` (in free space)."""
    start_date: float
    """Seconds past J2000."""
    horizon: float
    """Last date by which the route must be flown, seconds past J2000."""
    stops: tuple[Stop, ...]
    """Bodies in order, hops + 1 of them."""
    windows: tuple[WindowCurve, ...]
    """One curve per hop; empty for a surface route."""

    @property
    def hops(self) -> int:
        """Number of hops."""
        return len(self.stops) - 1
