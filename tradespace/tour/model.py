"""What a search over tours is asked and what it answers, as arrays and plain records."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray

MERITS = ("bodies_visited", "water_processed", "payload_years")


@dataclass(frozen=True, eq=False)
class Chart:
    """Candidate stops and the departure curves of all ordered pairs: what every tour of a search shares."""

    names: tuple[str, ...]
    stops: NDArray[Any]
    """Rows of the campaign's stop record, shape (b,)."""
    legs: NDArray[Any]
    """Rows of the campaign's leg record, shape (b, b)."""
    first_date: float
    """First date of the table of distances, seconds past J2000."""
    date_step: float
    """[s]."""
    distances: FloatArray
    """Heliocentric distance on those dates [m], shape (b, n)."""
    window_step: float
    """Spacing of departure dates on the curves [s]."""
    v_inf_departure: FloatArray
    """[m/s]; NaN where there is no transfer, as in the other curves, shape (b, b, d)."""
    v_inf_arrival: FloatArray
    """[m/s], shape (b, b, d)."""
    time_of_flight: FloatArray
    """[s], shape (b, b, d)."""
    speed_sum: FloatArray
    """Both cruise burns priced at their ends [m/s], shape (b, b, d)."""
    first_burn: FloatArray
    """The first of them [m/s], shape (b, b, d)."""
    start: float
    """Date on which the craft stands on its first stop, seconds past J2000."""
    horizon: float
    """Last date by which a tour must have landed, seconds past J2000."""

    @property
    def sky(self) -> tuple[float, float, FloatArray]:
        """Distances from the Sun as the kernels take them."""
        return self.first_date, self.date_step, self.distances

    @property
    def dates(self) -> tuple[float, float]:
        """Start and horizon as the kernels take them."""
        return self.start, self.horizon

    @cached_property
    def windows(self) -> tuple[Any, ...]:
        """Curves as the kernels take them; on a date without a transfer it is hopelessly fast and never lands."""
        from tradespace.campaign import calendar
        from tradespace.spacecraft import LARGE

        known = np.isfinite(self.speed_sum + self.time_of_flight)
        hopeless = LARGE * (float(self.speed_sum[known].max()) if known.any() else 1.0)
        out, arrive, both, first = (
            np.where(known, speed, hopeless)
            for speed in (self.v_inf_departure, self.v_inf_arrival, self.speed_sum, self.first_burn)
        )
        flight = np.where(known, self.time_of_flight, self.horizon - self.start)
        return self.window_step, *calendar(out, arrive, flight, both, first)

    def usable(self) -> NDArray[np.bool_]:
        """Pairs that have a transfer on some date, shape (b, b)."""
        known = np.isfinite(self.speed_sum + self.time_of_flight)
        pairs: NDArray[np.bool_] = np.logical_or.reduce(known, axis=-1)
        return pairs


@dataclass(frozen=True)
class Aim:
    """What a tour is worth, and how far the search goes."""

    hops: int
    """Most hops of a tour."""
    figure_of_merit: str = "bodies_visited"
    """One of :data:`MERITS`."""
    expected: bool = False
    """Weigh every gain by the probability that the craft gets through the hop it belongs to."""
    beam: int = 2000
    """Most partial tours kept from one hop to the next."""
    runners_up: int = 10
    """Tours listed after the best."""
    revisits: bool = False
    """Whether a body may be visited again; it counts once."""


@dataclass(frozen=True, eq=False)
class Tour:
    """One order of bodies that the craft can fly."""

    names: tuple[str, ...]
    """Bodies in order, the start among them."""
    merit: float
    """The figure of merit [bodies, kg or kg yr]."""
    survival: float
    """Probability of getting through all hops [1]."""
    end_date: float
    """Last landing, seconds past J2000."""
    hops: NDArray[Any]
    """Rows of the campaign's hop record, shape (hops,)."""

    @property
    def water(self) -> float:
        """Water and other propellant used on all hops [kg]."""
        return float(self.hops["propellant_used"].sum())


@dataclass(frozen=True)
class Level:
    """How the search went at one hop."""

    hop: int
    tried: int
    """Hops flown."""
    closed: int
    """Those that closed."""
    dominated: int
    """Partial tours dropped because another one at the same body after the same bodies is better in everything."""
    cut: int
    """Partial tours dropped because the beam was full."""


@dataclass(frozen=True)
class Nearest:
    """The hop from a start body that came nearest to closing."""

    departure: str
    arrival: str
    limited_by: str
    margin: float


@dataclass(frozen=True, eq=False)
class Found:
    """What a search found."""

    tours: tuple[Tour, ...]
    """The best first."""
    levels: tuple[Level, ...]
    attempts: dict[str, int] = field(default_factory=dict)
    """Hops tried to each body."""
    arrivals: dict[str, int] = field(default_factory=dict)
    """Hops to each body that closed."""
    failures: dict[str, dict[str, int]] = field(default_factory=dict)
    """Hops to each body that did not close, by binding link."""
    nearest: Nearest | None = None

    @property
    def exhaustive(self) -> bool:
        """Whether no partial tour was ever dropped, so that no better tour exists."""
        return not any(level.dominated or level.cut for level in self.levels)
