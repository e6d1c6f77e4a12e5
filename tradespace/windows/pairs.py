"""Curves of all ordered pairs of a list of bodies in one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.ephemeris import coverage
from tradespace.errors import TransferError, unknown_name
from tradespace.mission import WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.processors import processors
from tradespace.units import convert
from tradespace.windows.cache import block_key, read_block, trim_cache, write_block
from tradespace.windows.curve import unbroken_curve
from tradespace.windows.kinds import KINDS, kind_table
from tradespace.windows.question import DEFAULTS, STAND_INS, refuse_moon, refuse_same_planet
from tradespace.windows.tracks import (
    ANSWERS,
    COLUMNS,
    Track,
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

FLIGHTS = 60
Progress = Callable[[int, int, int], None]
"""Called with blocks done, blocks in all, and transfers compared so far."""


@dataclass(frozen=True)
class PairCurves:
    """The cheapest hop of every ordered pair against departure date; NaN where there is none."""

    names: tuple[str, ...]
    departure: FloatArray
    """Uniform grid of departure dates, seconds past J2000, shape (d,)."""
    time_of_flight: FloatArray
    """Flight time of the cheapest hop [s], shape (b, b, d): from the first body to the second."""
    v_inf_departure: FloatArray
    """Speed relative to the departure body, far away [m/s], shape (b, b, d)."""
    v_inf_arrival: FloatArray
    """Speed relative to the arrival body, far away [m/s], shape (b, b, d)."""
    kind: NDArray[np.int8]
    """Kind of the cheapest hop (its place in ``windows.KINDS``), -1 where there is none, shape (b, b, d)."""
    without: dict[tuple[str, str], str]
    """Pairs without any hop, and why."""
    transfers: int
    """How many transfers the grids hold."""
    solved: int
    """How many of them had to be solved now: not those read from the cache or too dear by a lower bound."""
    computed: int
    """Blocks (departure bodies) computed now; the others were read from the cache."""

    @property
    def v_inf_sum(self) -> FloatArray:
        """Sum of both speeds [m/s], shape (b, b, d)."""
        return self.v_inf_departure + self.v_inf_arrival

    def place(self, body: int | str) -> int:
        """Index of a body of the list, by index, identifier, name or alias.

        Raises
        ------
        UnknownNameError
            If it is not in the list.
        """
        if isinstance(body, str):
            name = catalogue_row(body)["name"]
            if name not in self.names:
                raise unknown_name("body of these curves", body, self.names)
            return self.names.index(name)
        return int(body)

    def curve(self, departure_body: int | str, arrival_body: int | str) -> WindowCurve:
        """Curve of one pair, its longest unbroken run of dates that have a hop.

        Raises
        ------
        UnknownNameError
            If a body is not in the list.
        TransferError
            If both are the same, or the pair has no hop at all.
        """
        one, other = self.place(departure_body), self.place(arrival_body)
        names = self.names[one], self.names[other]
        if one == other:
            raise TransferError(f"a transfer needs two different bodies, not {names[0]} twice")
        if names in self.without:
            raise TransferError(f"no departure from {span(names, self.departure)}: {self.without[names]}")
        parts = (self.time_of_flight, self.v_inf_departure, self.v_inf_arrival, self.kind)
        answers = np.stack([part[one, other].astype(np.float64) for part in parts], axis=1)
        return unbroken_curve(*names, self.departure, answers, np.arange(len(KINDS)))


@dataclass(frozen=True)
class _Search:
    """All that the blocks share."""

    tracks: tuple[Track, ...]
    dates: FloatArray
    low: FloatArray
    high: FloatArray
    flights: int
    kinds: NDArray[np.int64]
    cached: bool

    def key(self, row: int, parts: list[bytes]) -> str:
        own = self.tracks[row]
        settings = (value("gravitational_parameter_sun"), float(self.flights))
        return block_key(
            own.name.encode(), np.array(settings).tobytes(), self.kinds.tobytes(), self.dates.tobytes(),
            own.departures.tobytes(), self.low[row].tobytes(), self.high[row].tobytes(), *parts,
        )  # fmt: skip

    def block(self, row: int, key: str) -> tuple[int, FloatArray, int]:
        """Answers of one departure body to all others, shape (b, d, 4), and how many transfers were solved."""
        shape = (len(self.tracks), len(self.dates), ANSWERS)
        stored = read_block(key, shape) if self.cached else None
        if stored is not None:
            return row, stored, -1
        out, solved = np.full(shape, np.nan), 0
        for column, met in enumerate(self.tracks):
            low, high = self.low[row, column], self.high[row, column]
            if column == row or not 0 < low <= high:
                continue
            flights = np.linspace(low, high, self.flights)
            out[column], count = cheapest(
                self.dates, self.tracks[row].departures, met.nodes, met.clock, flights, self.kinds
            )
            solved += count
        if self.cached:
            write_block(key, out)
        return row, out, solved


def all_pairs(
    names: Sequence[str],
    first: float,
    last: float,
    step: float | None = None,
    flights: int = FLIGHTS,
    *,
    shortest: float | None = None,
    longest: float | None = None,
    kinds: Sequence[str] = KINDS[:1],
    progress: Progress | None = None,
    cached: bool = True,
    workers: int | None = None,
) -> PairCurves:
    """The cheapest transfer of each departure date, between all ordered pairs of some bodies.

    Parameters
    ----------
    names : sequence of str
        Identifiers, names or aliases of two bodies or more.
    first, last : float
        First and last departure date, seconds past J2000.
    step : float, optional
        Spacing of departure dates [s]; ``window_step`` of the table of orbits unless given.
    flights : int
        How many flight times are tried, evenly from the shortest to the longest; the best is refined.
    shortest, longest : float, optional
        Flight times allowed [s], for all pairs; unless given, the shares ``window_shortest`` and
        ``window_longest`` of the half period of the ellipse between the semi-major axes of each pair, and for
        each full turn tried one such period more.
    kinds : sequence of str
        Kinds of transfer tried, see :func:`transfer_kinds`.
    progress : callable, optional
        Called with blocks done, blocks in all, and transfers compared so far.
    cached : bool
        Whether blocks are read from the user's cache and stored there.
    workers : int, optional
        Threads; one per processor unless given. The answer does not depend on it.

    Returns
    -------
    PairCurves
        Flight times, excess speeds and kinds; NaN where a body is not known or nothing joins them.

    Raises
    ------
    TransferError
        If a body is given twice or alone or is a moon, dates or flight times are reversed, or the grid asks for
        more than memory and patience hold.
    UnknownNameError
        If a body or kind is unknown.
    """
    titles = tuple(catalogue_row(name)["name"] for name in names)
    _check(titles, flights)
    for name in titles:
        refuse_moon(name)
        row = catalogue_row(name)
        if STAND_INS.get(row["id"]) in titles:
            refuse_same_planet(row, catalogue_row(STAND_INS[row["id"]]))
    step = value("window_step", DEFAULTS) if step is None else float(step)
    table, codes = kind_table(kinds)
    dates = date_grid(first, last, step)
    pairs = len(titles) * (len(titles) - 1)
    transfers = pairs * len(dates) * flights * len(table)
    refuse_size(2 * ANSWERS * len(titles) ** 2 * len(dates), transfers, f"{pairs} pairs of bodies")
    search = _prepared(titles, dates, flights, shortest, longest, table, cached)
    blocks, solved, computed = _run(search, workers or processors(), transfers, progress)
    return _collected(search, titles, codes, blocks, (transfers, solved, computed))


def _check(titles: tuple[str, ...], flights: int) -> None:
    if len(titles) < 2:
        raise TransferError("give two bodies or more to pair")
    twice = next((name for place, name in enumerate(titles) if name in titles[:place]), None)
    if twice is not None:
        raise TransferError(f"a transfer needs two different bodies, not {twice} twice")
    if int(flights) != flights or flights < 2:
        raise TransferError(f"flights must be a whole number of 2 or more flight times, not {flights}")


def _prepared(
    titles: tuple[str, ...], dates: FloatArray, flights: int, shortest: float | None, longest: float | None,
    kinds: NDArray[np.int64], cached: bool,
) -> _Search:  # fmt: skip
    """States and tables of every body, each made once."""
    begin, end = float(dates[0]), float(dates[-1])
    axes = [osculating(name, begin)[0] for name in titles]
    half = np.array([[half_period(one, other) for other in axes] for one in axes])
    low = value("window_shortest", DEFAULTS) * half if shortest is None else np.full_like(half, shortest)
    high = longest_share(int(kinds[:, 0].max())) * half if longest is None else np.full_like(half, longest)
    bad = ~np.isnan(low + high) & ~((low > 0) & (high >= low) & np.isfinite(high))
    if bad.any():
        wrong = (float(convert(side[bad][0], "s", "d")) for side in (low, high))
        raise TransferError(
            "flight times from {:.1f} to {:.1f} d make no range; give a positive shortest and a longest "
            "beyond it".format(*wrong)
        )
    spans = [
        (np.nanmin(low[:, j], initial=np.inf), np.nanmax(high[:, j], initial=0.0)) for j in range(len(axes))
    ]
    numbers = 0.0
    for name, (least, most) in zip(titles, spans, strict=True):
        known = coverage(name)
        length = min(end + most, known[1]) - max(begin + least, known[0])
        numbers += COLUMNS * (max(length, 0.0) / table_spacing(name, begin) + 1.0)
    refuse_size(numbers, 0.0, f"tables of {len(titles)} bodies over these dates")
    tracks = []
    for name, axis, (least, most) in zip(titles, axes, spans, strict=True):
        nodes, clock = arrival_table(name, begin + float(least), end + float(most))
        tracks.append(Track(name, *coverage(name), axis, departure_states(name, dates), nodes, clock))
    return _Search(tuple(tracks), dates, low, high, int(flights), kinds, cached)


def _run(
    search: _Search, workers: int, transfers: int, progress: Progress | None
) -> tuple[dict[int, FloatArray], int, int]:
    """All blocks, in threads; an interrupt waits for the blocks at work, which are stored, and drops the rest."""
    total = len(search.tracks)
    parts = [track.name.encode() + track.nodes.tobytes() + track.clock.tobytes() for track in search.tracks]
    digests = [block_key(part).encode() for part in parts] if search.cached else []
    blocks: dict[int, FloatArray] = {}
    solved = computed = 0
    pool = ThreadPoolExecutor(workers)
    try:
        jobs = [
            pool.submit(search.block, row, search.key(row, digests) if search.cached else "")
            for row in range(total)
        ]
        for job in as_completed(jobs):
            row, block, count = job.result()
            blocks[row] = block
            computed += count >= 0
            solved += max(count, 0)
            if progress is not None:
                progress(len(blocks), total, transfers * len(blocks) // total)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    if search.cached and computed:
        trim_cache()
    return blocks, solved, computed


def _collected(
    search: _Search, titles: tuple[str, ...], codes: NDArray[np.int64], blocks: dict[int, FloatArray],
    counts: tuple[int, int, int],
) -> PairCurves:  # fmt: skip
    """Arrays by pair out of the blocks, and the pairs that have nothing."""
    number = len(titles)
    flight, leave, meet = np.full((3, number, number, len(search.dates)), np.nan)
    kind = np.full(flight.shape, -1, dtype=np.int8)
    without: dict[tuple[str, str], str] = {}
    for row in range(number):
        block = blocks.pop(row)
        flight[row], leave[row], meet[row] = block[..., 0], block[..., 1], block[..., 2]
        known = np.isfinite(block[..., 3])
        kind[row][known] = codes[block[..., 3][known].astype(np.int64)]
        for column in np.flatnonzero(~known.any(axis=1)):
            if column != row:
                pair = titles[row], titles[column]
                without[pair] = reason_without(
                    search.tracks[row].departures, search.dates, search.tracks[column].clock, pair,
                    search.low[row, column], search.high[row, column],
                )  # fmt: skip
    return PairCurves(titles, search.dates, flight, leave, meet, kind, without, *counts)
