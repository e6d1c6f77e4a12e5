"""The cheapest transfer of each departure date."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.errors import TransferError
from tradespace.mission import WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.processors import processors
from tradespace.units import convert
from tradespace.windows.kinds import KINDS, kind_table
from tradespace.windows.question import DEFAULTS, check_pair, track
from tradespace.windows.tracks import (
    COLUMNS,
    arrival_table,
    cheapest,
    date_grid,
    departure_states,
    half_period,
    longest_share,
    osculating,
    reason_without,
    refuse_size,
    span,
    table_spacing,
)  # fmt: skip

CHUNK = 128


def window_curve(
    departure_body: str,
    arrival_body: str,
    first: float,
    last: float,
    shortest: float | None = None,
    longest: float | None = None,
    step: float | None = None,
    flight_step: float | None = None,
    kinds: Sequence[str] = KINDS[:1],
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
        the half period of the ellipse between the two semi-major axes, and for each full turn tried one such
        period more.
    step : float, optional
        Spacing of departure dates [s]; ``window_step`` of the table of orbits unless given.
    flight_step : float, optional
        Spacing of the flight times tried [s], at most ``step``; the date step over the nearest whole number
        is used. The best of them is refined, so the step need only separate the valleys.
    kinds : sequence of str
        Kinds of transfer tried, see :func:`transfer_kinds`; prograde ones of less than one turn unless given.

    Returns
    -------
    WindowCurve
        Departure dates, flight times, excess speeds and kinds: the longest unbroken run of departure dates
        that have a transfer, without a gap. Dates on which a body is not known are cut off.

    Raises
    ------
    TransferError
        If both bodies are the same or one is a moon, dates or flight times are reversed, the steps ask for more
        than memory and patience hold, or no date at all has a transfer.

    Notes
    -----
    Transfers on both sides of half a turn are tried. Within a few degrees of half a turn the plane of a transfer
    between inclined orbits stands up and its cost is huge, so those never win.
    """
    step = value("window_step", DEFAULTS) if step is None else float(step)
    check_pair(departure_body, arrival_body, first, last)
    table, codes = kind_table(kinds)
    dates = date_grid(first, last, step)
    low, high = flight_range(departure_body, arrival_body, first, shortest, longest, int(table[:, 0].max()))
    if flight_step is not None and not flight_step > 0:
        raise TransferError(
            f"the step of flight times must be positive, not {convert(flight_step, 's', 'd'):g} d"
        )
    spacing = step / max(1.0, round(step / (flight_step or step)))
    count = (high - low) / spacing + 1.0
    rows = (last - first + high) / table_spacing(arrival_body, first)
    refuse_size(count + rows * COLUMNS, count * len(dates) * len(table), "these steps")
    flights = np.asarray(low + spacing * np.arange(int(count + 1e-9)), dtype=np.float64)
    states = departure_states(departure_body, dates)
    nodes, clock = arrival_table(arrival_body, first + low, last + high)

    def part(chosen: NDArray[np.int64]) -> FloatArray:
        return cheapest(dates[chosen], states[chosen], nodes, clock, flights, table)[0]

    out = _in_threads(part, len(dates))
    if not np.isfinite(out).any():
        names = (departure_body, arrival_body)
        why = reason_without(states, dates, clock, names, low, high)
        raise TransferError(
            f"no departure from {span(names, dates)}: {why}; allow other dates or flight times"
        )
    exact = _on_its_dates(arrival_body, dates, states, out, table)
    return unbroken_curve(departure_body, arrival_body, dates, exact, codes)


def flight_range(
    departure_body: str,
    arrival_body: str,
    date: float,
    shortest: float | None = None,
    longest: float | None = None,
    revolutions: int = 0,
) -> tuple[float, float]:
    """Flight times to search: as given, or shares of half the period of the ellipse between both orbits.

    Each full turn adds one such period to the longest.

    Raises
    ------
    TransferError
        If they make no range.
    """
    half = half_period(osculating(departure_body, date)[0], osculating(arrival_body, date)[0])
    low = value("window_shortest", DEFAULTS) * half if shortest is None else float(shortest)
    high = longest_share(revolutions) * half if longest is None else float(longest)
    if not 0 < low <= high < math.inf:
        raise TransferError(
            f"flight times from {convert(low, 's', 'd'):.1f} to {convert(high, 's', 'd'):.1f} d make no "
            "range; give a positive shortest and a longest beyond it"
        )
    return low, high


def unbroken_curve(
    departure_body: str, arrival_body: str, dates: FloatArray, answers: FloatArray, codes: NDArray[np.int64]
) -> WindowCurve:
    """Curve over the longest run of dates that all have a transfer (the earliest of equally long ones)."""
    known = np.isfinite(answers).all(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(np.int8)))
    begins, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - begins))
    run = slice(int(begins[longest]), int(ends[longest]))
    chosen = answers[run]
    return WindowCurve(
        catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"], dates[run].copy(),
        chosen[:, 0].copy(), chosen[:, 1].copy(), chosen[:, 2].copy(), codes[chosen[:, 3].astype(np.int64)],
    )  # fmt: skip


def _on_its_dates(
    arrival_body: str, dates: FloatArray, states: FloatArray, answers: FloatArray, kinds: NDArray[np.int64]
) -> FloatArray:
    """The same transfers with the arrival states of their own dates, not interpolated ones."""
    from tradespace.physics.lambert import excess_speeds

    out, sun = answers.copy(), value("gravitational_parameter_sun")
    for kind, (turns, prograde, low_path) in enumerate(kinds):
        rows = np.flatnonzero(answers[:, 3] == kind)
        if not len(rows):
            continue
        flights = answers[rows, 0]
        met = track(arrival_body, dates[rows] + flights)
        places = np.arange(len(rows))
        speeds = excess_speeds(
            sun, states[rows], places, met, places, flights, int(turns), bool(prograde), bool(low_path)
        )
        out[rows, 1:3] = np.where(np.isfinite(speeds), speeds, answers[rows, 1:3])
    return out


def _in_threads(run: Callable[[NDArray[np.int64]], FloatArray], count: int) -> FloatArray:
    """Run over chunks of departures in threads; the solver releases the interpreter lock."""
    workers = processors()
    chunks = np.array_split(np.arange(count), min(count, max(workers, math.ceil(count / CHUNK))))
    if len(chunks) == 1:
        return run(chunks[0])
    with ThreadPoolExecutor(workers) as pool:
        return np.concatenate(list(pool.map(run, chunks)))
