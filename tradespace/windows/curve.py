"""The cheapest transfer of each departure date."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.errors import TransferError
from tradespace.mission import WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.units import convert, format_date
from tradespace.windows.question import DEFAULTS, check_pair, flight_bounds, track

ROUNDS = 14
CHUNK = 128
GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)


def window_curve(
    departure_body: str,
    arrival_body: str,
    first: float,
    last: float,
    shortest: float | None = None,
    longest: float | None = None,
    step: float | None = None,
    flight_step: float | None = None,
) -> WindowCurve:
    """The cheapest transfer for each departure date: least sum of both excess speeds over the flight times.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    first, last : float
        First and last departure date, seconds past J2000.
    shortest, longest : float, optional
        Flight times allowed [s]; the defaults are the shares ``window_shortest`` and ``window_longest`` of
        the half period of the ellipse between the two semi-major axes.
    step : float, optional
        Spacing of departure dates [s]; ``window_step`` of the table of orbits unless given.
    flight_step : float, optional
        Spacing of the flight times tried [s], at most ``step``; the date step over the nearest whole number
        is used. The best of them is refined, so the step need only separate the valleys.

    Returns
    -------
    WindowCurve
        Departure dates, flight times and excess speeds.

    Raises
    ------
    TransferError
        If both bodies are the same, dates or flight times are reversed, or a date has no transfer.
    EphemerisError
        If a departure or an arrival falls outside the coverage of its body.

    Notes
    -----
    Prograde transfers of less than one turn, on both sides of half a turn. Within a few degrees of half a
    turn the plane of a transfer stands up and its cost is huge, so those never win.
    """
    step = value("window_step", DEFAULTS) if step is None else float(step)
    check_pair(departure_body, arrival_body, first, last)
    low, high = flight_bounds(departure_body, arrival_body, first, shortest, longest)
    if not step > 0:
        raise TransferError(f"the date step must be positive, not {step} s")
    ratio = max(1, round(step / (flight_step or step)))
    spacing = step / ratio
    count = int((last - first) / step + 1e-9) + 1
    flights = int((high - low) / spacing + 1e-9) + 1
    dates = np.asarray(first + step * np.arange(count), dtype=np.float64)
    landings = np.asarray(
        first + low + spacing * np.arange(max(ratio * (count - 1) + flights, 2)), dtype=np.float64
    )
    question = _Question(
        track(departure_body, dates), track(arrival_body, landings), low, spacing, ratio, flights
    )
    out = _in_threads(question.cheapest, count)
    if not np.isfinite(out).all():
        bad = format_date(float(dates[~np.isfinite(out).all(axis=1)][0]))
        raise TransferError(
            f"no transfer from {departure_body} to {arrival_body} leaves on {bad} with a flight time from "
            f"{convert(low, 's', 'd'):.0f} to {convert(high, 's', 'd'):.0f} d; allow other flight times"
        )
    return WindowCurve(
        catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"], dates,
        out[:, 0].copy(), out[:, 1].copy(), out[:, 2].copy(),
    )  # fmt: skip


@dataclass(frozen=True)
class _Question:
    """States of both bodies on even dates: departure ``row`` after flight ``column`` meets the arrival state
    ``ratio * row + column``.
    """

    departures: FloatArray
    arrivals: FloatArray
    shortest: float
    spacing: float
    ratio: int
    flights: int

    def cheapest(self, rows: NDArray[np.int64]) -> FloatArray:
        """Flight time and both excess speeds of the cheapest flight of some departures, shape (n, 3)."""
        from tradespace.physics.lambert import excess_speeds

        sun = value("gravitational_parameter_sun")
        columns = np.arange(self.flights)
        times = np.tile(self.shortest + self.spacing * columns, len(rows))
        arrival_rows = (self.ratio * rows[:, None] + columns).ravel()
        speeds = excess_speeds(
            sun, self.departures, np.repeat(rows, self.flights), self.arrivals, arrival_rows, times
        ).reshape(len(rows), self.flights, 2)
        cost = speeds.sum(axis=-1)
        best = np.argmin(np.where(np.isfinite(cost), cost, np.inf), axis=1)
        places = np.arange(len(rows))
        coarse = np.column_stack([self.shortest + self.spacing * best, speeds[places, best]])

        def priced(flight: FloatArray) -> FloatArray:
            elapsed = self.ratio * rows * self.spacing + flight - self.shortest
            met = interpolated_states(self.arrivals, self.spacing, elapsed)
            return np.column_stack([flight, excess_speeds(sun, self.departures, rows, met, places, flight)])

        low = self.shortest + self.spacing * np.maximum(best - 1, 0)
        high = self.shortest + self.spacing * np.minimum(best + 1, self.flights - 1)
        return _cheaper(_golden_section(priced, low, high), coarse)


def _cheaper(one: FloatArray, other: FloatArray) -> FloatArray:
    """Row by row whichever costs less; NaN never wins over a number."""
    first, second = one[:, 1] + one[:, 2], other[:, 1] + other[:, 2]
    return np.where(((first <= second) | ~np.isfinite(second))[:, None], one, other)


def _golden_section(
    priced: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray
) -> FloatArray:
    """Shrink every bracket around its least sum of excess speeds, all rows at once."""
    left, right = priced(high - GOLDEN * (high - low)), priced(low + GOLDEN * (high - low))
    for _ in range(ROUNDS):
        down = (left[:, 1] + left[:, 2] < right[:, 1] + right[:, 2])[:, None]
        low, high = np.where(down[:, 0], low, left[:, 0]), np.where(down[:, 0], right[:, 0], high)
        fresh = priced(np.where(down[:, 0], high - GOLDEN * (high - low), low + GOLDEN * (high - low)))
        left, right = np.where(down, fresh, right), np.where(down, left, fresh)
    return _cheaper(left, right)


def interpolated_states(track: FloatArray, spacing: float, elapsed: FloatArray) -> FloatArray:
    """States between the rows of an evenly spaced table of states, by cubic interpolation.

    Parameters
    ----------
    track : ndarray, shape (k, 6)
        Positions and velocities, two rows at least [m and m/s].
    spacing : float
        Time between two rows [s].
    elapsed : ndarray, shape (n,)
        Times after the first row [s].

    Returns
    -------
    ndarray, shape (n, 6)
        Positions and velocities [m and m/s].
    """
    row = np.clip(np.floor(elapsed / spacing).astype(np.int64), 0, len(track) - 2)
    x = (elapsed / spacing - row)[:, None]
    p, q = track[row, :3], track[row + 1, :3]
    u, v = track[row, 3:] * spacing, track[row + 1, 3:] * spacing
    square, cube = 3.0 * (q - p) - 2.0 * u - v, 2.0 * (p - q) + u + v
    place = p + x * (u + x * (square + x * cube))
    return np.hstack([place, (u + x * (2.0 * square + 3.0 * x * cube)) / spacing])


def _in_threads(run: Callable[[NDArray[np.int64]], FloatArray], count: int) -> FloatArray:
    """Run over chunks of departures in threads; the solver releases the interpreter lock."""
    workers = os.cpu_count() or 1
    chunks = np.array_split(np.arange(count), min(count, max(workers, math.ceil(count / CHUNK))))
    if len(chunks) == 1:
        return run(chunks[0])
    with ThreadPoolExecutor(workers) as pool:
        return np.concatenate(list(pool.map(run, chunks)))
