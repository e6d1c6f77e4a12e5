"""Plain array types of the question: stops, windows and dates (a study fills them, the campaign reads them)."""

from __future__ import annotations

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

    @property
    def surface_gravity(self) -> float:
        """Gravity at the mean radius [m/s2]."""
        return self.gravitational_parameter / self.radius**2

    @property
    def escape_speed(self) -> float:
        """Escape speed at the mean radius [m/s]."""
        return float(np.sqrt(2.0 * self.gravitational_parameter / self.radius))


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

    def __post_init__(self) -> None:
        if len(self.kind) != len(self.departure):
            object.__setattr__(self, "kind", np.zeros(len(self.departure), dtype=np.int64))

    @property
    def v_inf_sum(self) -> FloatArray:
        """Sum of both speeds [m/s], shape (n,)."""
        return self.v_inf_departure + self.v_inf_arrival


@dataclass(frozen=True)
class Mission:
    """Where, when and how: everything the campaign needs that is the same for all designs."""

    kind: str
    """``"tour"`` (hops between bodies) or ``"surface"`` (ballistic hops on one body)."""
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
