"""The search itself: hop by hop, every partial tour of the beam extended by every body."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tradespace.campaign import HOP, MARGINS, STATE
from tradespace.campaign import search as flying
from tradespace.physics.compiled import FloatArray, records
from tradespace.processors import processors
from tradespace.tour.beam import Partial, Routes, criteria, dominated
from tradespace.tour.merit import YEAR, fly_tour, gain, last_stay, least_margins
from tradespace.tour.model import Aim, Chart, Found, Level, Nearest

CHUNK = 32  # partial tours a worker extends at once
Tallies = tuple[Routes, NDArray[np.bool_], FloatArray, Routes]
"""Bodies left, hops tried from them to every body, their least margins, and the links of those."""
Progress = Callable[[int, int, int], None]
"""Called with hops tried, hops to try as far as is known, hops that closed."""


def search_tours(
    design: NDArray[Any],
    craft: NDArray[Any],
    chart: Chart,
    aim: Aim,
    starts: tuple[int, ...] | None = None,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Found:
    """The best tours of a craft over the bodies of a chart.

    Parameters
    ----------
    design, craft : ndarray, shape (1,)
        Rows of the design and craft records; the craft is sized already and stays as it is.
    chart : Chart
        Bodies and departure curves.
    aim : Aim
        What is sought.
    starts : tuple of int, optional
        Numbers of the bodies a tour may start from; all of them unless given.
    workers : int, optional
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called now and then with hops tried, hops to try as far as is known, hops that closed.

    Returns
    -------
    Found
        Tours in order of merit; of equal merit the earlier end comes first, then less water, then the names.

    Notes
    -----
    As long as the beam does not overflow, every order of bodies is flown and the best tour is the best there is.
    When it overflows, partial tours that are no better in anything (merit, date, water on board, wear, survival)
    than another at the same body after the same bodies go first, then those of the least bound on merit, then the
    latest. With departures chosen by cost an earlier craft is not always the better one, so a beam that has
    overflowed proves nothing about tours it has dropped.
    """
    begun = tuple(range(len(chart.names))) if starts is None else starts
    run = _Search(design, craft, chart, aim, workers or processors(), progress)
    partial = run.first(begun)
    best: list[tuple[tuple[Any, ...], Routes]] = []
    for number in range(aim.hops):
        children = run.extended(partial, number)
        best = _better(best, children, aim.runners_up + 1)
        partial = run.kept(children, number, last=number + 1 == aim.hops)
        if not len(partial.dates):
            break
    return run.found(best)


def _better(
    best: list[tuple[tuple[Any, ...], Routes]], children: Partial, count: int
) -> list[tuple[tuple[Any, ...], Routes]]:
    """The best few of those known and of all children; bodies are numbered in the order of their names."""
    order = np.lexsort((*children.routes.T[::-1], children.water, children.dates, -children.merit))[:count]
    fresh = [
        (
            (-children.merit[row], children.dates[row], children.water[row], tuple(children.routes[row])),
            children.routes[row],
        )
        for row in order
    ]
    return sorted([*best, *fresh], key=lambda item: item[0])[:count]


@dataclass(eq=False)
class _Search:
    """One search under way."""

    design: NDArray[Any]
    craft: NDArray[Any]
    chart: Chart
    aim: Aim
    workers: int
    progress: Progress | None

    def __post_init__(self) -> None:
        count = len(self.chart.names)
        self.windows, self.usable = self.chart.windows, self.chart.usable()
        self.attempts = np.zeros(count, dtype=np.int64)
        self.arrivals = np.zeros(count, dtype=np.int64)
        self.failures = np.zeros((count, len(MARGINS)), dtype=np.int64)
        self.levels: list[Level] = []
        self.nearest: Nearest | None = None
        self.tried = self.closed = 0

    def first(self, starts: tuple[int, ...]) -> Partial:
        """Tours that have not left yet."""
        count = len(starts)
        states = np.zeros(count, dtype=STATE)
        flying.start_all(records(self.design)[0], records(self.craft)[0], records(states))
        none = np.zeros(count)
        return Partial(
            np.array(starts, dtype=np.int64).reshape(count, 1), np.full(count, self.chart.start), states, none,
            none, np.ones(count), none,
        )  # fmt: skip

    def extended(self, partial: Partial, number: int) -> Partial:
        """All tours one hop longer that close."""
        chunks = [partial[at : at + CHUNK] for at in range(0, len(partial.dates), CHUNK)]
        expected = self.tried + len(partial.dates) * max(len(self.chart.names) - number - 1, 1)
        before = self.tried, self.closed
        parts: list[Partial] = []
        with ThreadPoolExecutor(self.workers) as pool:
            for part, tallies in pool.map(self._chunk, chunks):
                self._count(tallies, number)
                parts.append(part)
                if self.progress is not None:
                    self.progress(self.tried, max(expected, self.tried), self.closed)
        self.levels.append(Level(number + 1, self.tried - before[0], self.closed - before[1], 0, 0))
        return Partial(
            *(np.concatenate(columns) for columns in zip(*(vars(p).values() for p in parts), strict=True))
        )

    def _chunk(self, partial: Partial) -> tuple[Partial, Tallies]:
        """Extend some partial tours by every body."""
        rows, bodies = len(partial.dates), len(self.chart.names)
        hops, tried = np.zeros((rows, bodies), dtype=HOP), np.zeros((rows, bodies), dtype=np.bool_)
        after = np.zeros((rows, bodies), dtype=STATE)
        chart = self.chart
        flying.expand(
            records(self.design)[0], records(self.craft)[0], records(chart.stops), records(chart.legs), chart.sky,
            self.windows, self.usable, chart.dates, partial.routes, partial.dates, records(partial.states),
            self.aim.revisits, records(hops), records(after), tried,
        )  # fmt: skip
        margins, links = least_margins(hops)
        parents, there = np.nonzero(tried & (margins >= 0.0))
        flown, before = hops[parents, there], partial[parents]
        new = (before.routes != there[:, None]).all(axis=1) & (chart.stops["mu"][there] > 0.0)
        survival = flown["survival"].copy()
        weight = survival if self.aim.expected else np.ones(len(there))
        gained = before.gained + weight * gain(self.aim, self.design, flown, new)
        landing = flown["landing_date"].copy()
        child = Partial(
            np.concatenate([before.routes, there[:, None]], axis=1), landing, after[parents, there], gained,
            gained + weight * last_stay(self.aim, self.design, chart.horizon, landing), survival,
            before.water + flown["propellant_used"],
        )  # fmt: skip
        return child, (partial.routes[:, -1], tried, margins, links)

    def _count(self, tallies: Tallies, number: int) -> None:
        """Keep the tallies of tried, closed and failed hops."""
        here, tried, margins, links = tallies
        closed = tried & (margins >= 0.0)
        self.attempts += tried.sum(axis=0)
        self.arrivals += closed.sum(axis=0)
        rows, there = np.nonzero(tried & ~closed)
        np.add.at(self.failures, (there, links[rows, there]), 1)
        self.tried, self.closed = self.tried + int(tried.sum()), self.closed + int(closed.sum())
        if number or not len(rows):
            return
        place = int(margins[rows, there].argmax())
        row, body = int(rows[place]), int(there[place])
        if self.nearest is None or margins[row, body] > self.nearest.margin:
            names = self.chart.names
            self.nearest = Nearest(
                names[here[row]], names[body], MARGINS[links[row, body]], float(margins[row, body])
            )

    def kept(self, children: Partial, number: int, last: bool) -> Partial:
        """What the beam carries to the next hop, the most promising first."""
        rank = self._rank(children, number)
        before = len(rank)
        if last or before <= self.aim.beam:
            return children[rank]
        ranked = children[rank]
        ranked = ranked[~dominated(*criteria(ranked))]
        left = len(ranked.dates)
        kept = ranked[: self.aim.beam]
        level = self.levels[-1]
        self.levels[-1] = Level(level.hop, level.tried, level.closed, before - left, left - len(kept.dates))
        return kept

    def _rank(self, children: Partial, number: int) -> Routes:
        """Rows by the most that can still come of them, then by date, water and names."""
        left = self.aim.hops - number - 1
        merit = self.aim.figure_of_merit
        if merit == "bodies_visited":
            most = np.full(len(children.dates), float(left))
        elif merit == "water_processed":
            most = np.full(len(children.dates), left * self.craft["propellant_mass"][0])
        else:
            most = self.design["payload_mass"][0] * (self.chart.horizon - children.dates) / YEAR
        bound = children.gained + most * (children.survival if self.aim.expected else 1.0)
        return np.lexsort((*children.routes.T[::-1], children.water, children.dates, -bound))

    def found(self, best: list[tuple[tuple[Any, ...], Routes]]) -> Found:
        """Tours flown once more for their hops, and the tallies by name."""
        names = self.chart.names
        tours = tuple(
            fly_tour(self.design, self.craft, self.chart, self.aim, tuple(int(place) for place in route))
            for _, route in best
        )
        failures = {
            name: {
                link: int(count) for link, count in zip(MARGINS, self.failures[place], strict=True) if count
            }
            for place, name in enumerate(names)
        }
        return Found(
            tours, tuple(self.levels), dict(zip(names, self.attempts.tolist(), strict=True)),
            dict(zip(names, self.arrivals.tolist(), strict=True)), failures, self.nearest,
        )  # fmt: skip
