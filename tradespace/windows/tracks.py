"""States of bodies on the departure dates, and tables of states from which any arrival is interpolated."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.ephemeris import coverage, state
from tradespace.errors import TransferError
from tradespace.physics.cheapest import NODES, cheapest_hops_kernel, least_flights_kernel
from tradespace.physics.compiled import FloatArray
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.units import convert, format_date
from tradespace.windows.kinds import MOST_TURNS
from tradespace.windows.question import DEFAULTS

VALUES = "window_values.csv"
COLUMNS = 9  # of a table of arrivals: position, velocity, acceleration
RIDGE = 0.0  # nothing is masked: where a plane stands up the cost is huge and never wins [rad]
ROOM = 4  # rows of a table beyond both ends, so that slopes at the ends do not matter
ANSWERS = 4  # flight time, both excess speeds, kind


@dataclass(frozen=True)
class Track:
    """One body: where it is known, its states on the departure dates, and its table for arrivals."""

    name: str
    first: float
    """First date on which the body is known, seconds past J2000."""
    last: float
    semi_major_axis: float
    """Osculating on the first departure date inside the coverage; NaN if there is none [m]."""
    departures: FloatArray
    """States on the departure dates, NaN outside the coverage, shape (d, 6)."""
    nodes: FloatArray
    """Positions, velocities and accelerations, shape (k, 9); empty where nothing is known."""
    clock: FloatArray
    """Date of the first and the last row of ``nodes``, and the spacing [s]."""


def osculating(name: str, date: float) -> tuple[float, float]:
    """Semi-major axis and perihelion distance of a body on a date (or the nearest one it is known on) [m]."""
    first, last = coverage(name)
    position, velocity = (part[0] for part in state(name, np.array([min(max(date, first), last)])))
    sun = value("gravitational_parameter_sun")
    distance = float(np.linalg.norm(position))
    inverse = 2.0 / distance - float(velocity @ velocity) / sun
    momentum = float(np.sum(np.cross(position, velocity) ** 2)) / sun
    eccentricity = math.sqrt(max(1.0 - momentum * inverse, 0.0))
    return (1.0 / inverse if inverse > 0.0 else math.nan), momentum / (1.0 + eccentricity)


def half_period(one: float, other: float) -> float:
    """Half the period of the ellipse between two semi-major axes [s]; NaN unless both are positive."""
    if not (one > 0.0 and other > 0.0):
        return math.nan
    return 0.5 * float(orbital_period_kernel(value("gravitational_parameter_sun"), 0.5 * (one + other)))


def longest_share(turns: int) -> float:
    """Longest flight searched, over the half period between both orbits: each full turn adds one whole period [1]."""
    return value("window_longest", DEFAULTS) + 2.0 * turns


def departure_states(name: str, dates: FloatArray) -> FloatArray:
    """States on some dates, NaN outside the coverage of the body, shape (d, 6)."""
    first, last = coverage(name)
    inside = (dates >= first) & (dates <= last)
    out = np.full((len(dates), 6), np.nan)
    if inside.any():
        out[inside] = np.hstack(state(name, dates[inside]))
    return out


def table_spacing(name: str, date: float) -> float:
    """Spacing of the table of a body, fine enough for its perihelion [s]."""
    usual = value("window_step", DEFAULTS)
    sun = value("gravitational_parameter_sun")
    _, nearest = osculating(name, date)
    fine = value("table_angle", VALUES) * math.sqrt(nearest**3 / sun)
    return float(min(usual, max(fine, value("table_finest", VALUES) * usual)))


def arrival_table(name: str, begin: float, end: float) -> tuple[FloatArray, FloatArray]:
    """Table (k, 9) of a body over an interval cut to its coverage, and its clock; empty where nothing is known."""
    first, last = coverage(name)
    if not max(begin, first) <= min(end, last):
        return np.zeros((2, COLUMNS)), np.array([1.0, 0.0, 1.0])  # no date lies in this interval
    spacing = table_spacing(name, begin)
    begin, end = max(begin - ROOM * spacing, first), min(end + ROOM * spacing, last)
    count = max(1, math.ceil((end - begin) / spacing))
    dates = np.linspace(begin, end, count + 1)
    if end == begin:
        dates = np.array([begin, begin])
    position, velocity = state(name, dates)
    distance = np.linalg.norm(position, axis=1, keepdims=True)
    pull = -value("gravitational_parameter_sun") * position / distance**3
    if catalogue_row(name)["group"] == "planet" and count > ROOM:
        pull = CubicSpline(dates, velocity)(dates, 1)  # the Moon and the other planets pull as well
    clock = np.array([begin, end, max((end - begin) / count, 1.0)])
    return np.ascontiguousarray(np.hstack([position, velocity, pull])), clock


def date_grid(first: float, last: float, step: float) -> FloatArray:
    """Evenly spaced departure dates.

    Raises
    ------
    TransferError
        If the step is not positive, dates are not finite or reversed, or there are too many of them.
    """
    if not (math.isfinite(first) and math.isfinite(last)):
        raise TransferError("dates must be finite numbers of seconds past J2000")
    if last < first:
        raise TransferError(f"{format_date(last)} does not come after {format_date(first)}; swap the dates")
    if not step > 0:
        raise TransferError(f"the date step must be positive, not {convert(step, 's', 'd'):g} d")
    count = (last - first) / step + 1.0
    _refuse_beyond("largest_table", count * ANSWERS, f"a date step of {convert(step, 's', 'd'):.3g} d")
    return np.asarray(first + step * np.arange(int(count + 1e-9)), dtype=np.float64)


def refuse_size(numbers: float, transfers: float, what: str) -> None:
    """Refuse a search that would eat the memory or never end.

    Raises
    ------
    TransferError
        If tables would hold too many numbers, or too many transfers would be compared.
    """
    _refuse_beyond("largest_table", numbers, what)
    _refuse_beyond("largest_search", transfers, what)


def _refuse_beyond(limit: str, number: float, what: str) -> None:
    most = value(limit, VALUES)
    kind = "numbers in memory" if limit == "largest_table" else "transfers to compare"
    if number > most:
        raise TransferError(
            f"{what} would make {number:.3g} {kind}, more than {most:.0e}; take a longer step, fewer flight "
            "times, a shorter span or fewer bodies"
        )


@cache
def least_flights() -> FloatArray:
    """Table of least flight times for the test of full turns."""
    table = np.empty((MOST_TURNS, NODES))
    least_flights_kernel(table)
    return table


def cheapest(
    dates: FloatArray, departures: FloatArray, nodes: FloatArray, clock: FloatArray, flights: FloatArray,
    kinds: NDArray[np.int64],
) -> tuple[FloatArray, int]:  # fmt: skip
    """Flight time, both excess speeds and row of the kind of the cheapest transfer of each date; transfers solved."""
    out = np.empty((len(dates), ANSWERS))
    solved = cheapest_hops_kernel(
        value("gravitational_parameter_sun"), dates, departures, nodes, clock, flights, kinds,
        RIDGE, least_flights(), out,
    )  # fmt: skip
    return out, int(solved)


def span(names: Sequence[str], dates: FloatArray) -> str:
    """The question in words, for messages."""
    title = [catalogue_row(name)["name"] for name in names]
    return f"{' to '.join(title)} between {format_date(float(dates[0]))} and {format_date(float(dates[-1]))}"


def reason_without(
    departures: FloatArray, dates: FloatArray, clock: FloatArray, names: tuple[str, str], low: float, high: float
) -> str:  # fmt: skip
    """Why a pair has no transfer at all, the first reason that holds."""
    here, there = (catalogue_row(name)["name"] for name in names)
    if not np.isfinite(departures).any():
        first, last = (format_date(moment) for moment in coverage(names[0]))
        return f"the position of {here} is known from {first} to {last} only"
    begin = float(dates[np.isfinite(departures[:, 0])][0])
    if not clock[0] <= clock[1] or begin + low > clock[1]:
        first, last = (format_date(moment) for moment in coverage(names[1]))
        return f"the position of {there} is known from {first} to {last} only, and no arrival falls inside"
    if not (low > 0 and high >= low):
        return "one of both does not circle the Sun on an ellipse, so flight times must be given"
    return (
        f"no orbit of the kinds allowed joins them in {convert(low, 's', 'd'):.0f} to "
        f"{convert(high, 's', 'd'):.0f} d"
    )
