"""What every search shares: the pair of bodies, the flight times allowed, states on dates."""

from __future__ import annotations

import math

import numpy as np

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.ephemeris import state
from tradespace.errors import TransferError
from tradespace.physics.compiled import FloatArray
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.units import convert, format_date

DEFAULTS = "orbits.csv"


def check_pair(
    departure_body: str, arrival_body: str, first: float, last: float, whole: bool = False
) -> None:
    """Refuse equal bodies and dates in the wrong order (or equal ones, if a whole span is needed)."""
    start, end = catalogue_row(departure_body), catalogue_row(arrival_body)
    if start["id"] == end["id"]:
        raise TransferError(f"a transfer needs two different bodies, not {start['name']} twice")
    if not (math.isfinite(first) and math.isfinite(last)):
        raise TransferError("dates must be finite numbers of seconds past J2000")
    if last < first or (whole and last == first):
        raise TransferError(f"{format_date(last)} does not come after {format_date(first)}; swap the dates")


def flight_bounds(
    departure_body: str, arrival_body: str, date: float, shortest: float | None, longest: float | None
) -> tuple[float, float]:
    """Flight times to search: as given, or shares of half the period of the ellipse between both orbits."""
    sun = value("gravitational_parameter_sun")
    axes = []
    for body in (departure_body, arrival_body):
        path = track(body, np.array([date]))[0]
        axes.append(1.0 / (2.0 / np.linalg.norm(path[:3]) - path[3:] @ path[3:] / sun))
    half = 0.5 * orbital_period_kernel(sun, float(0.5 * (axes[0] + axes[1])))
    low = value("window_shortest", DEFAULTS) * half if shortest is None else float(shortest)
    high = value("window_longest", DEFAULTS) * half if longest is None else float(longest)
    if not 0 < low <= high:
        raise TransferError(
            f"flight times from {convert(low, 's', 'd'):.1f} to {convert(high, 's', 'd'):.1f} d make no "
            "range; give a positive shortest and a longest beyond it"
        )
    return low, high


def spaced(first: float, last: float, step: float) -> FloatArray:
    """Evenly spaced numbers from first to last, both included, at most a step apart."""
    return np.linspace(
        first, last, max(1, math.ceil((last - first) / step - 1e-9)) + 1 if last > first else 1
    )


def track(body: str, dates: FloatArray) -> FloatArray:
    """States (n, 6) of a body."""
    return np.ascontiguousarray(np.hstack(state(body, dates)))
