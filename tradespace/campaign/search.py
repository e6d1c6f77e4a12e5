"""One sized craft, many possible next stops: the hop kernel of the campaign called for a search."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.campaign import ENDS, ROOM, begin, fly_hop
from tradespace.campaign.stop import stretch_of
from tradespace.physics.compiled import borrowed, kernel


@kernel
def uncounted(sky: Any, windows: Any) -> tuple[Any, Any]:
    """Sky and windows of :func:`try_hop`, which outlive a search, without counting who refers to their arrays."""
    return (sky[0], sky[1], borrowed(sky[2])), (windows[0], borrowed(windows[1]), borrowed(windows[2]))


@kernel
def try_hop(
    design: Any, craft: Any, hop: Any, number: int, here: int, there: int, stops: Any, legs: Any, sky: Any,
    windows: Any, dates: Any, state: Any, room: Any, ends: Any,
) -> float:  # fmt: skip
    """Fly hop ``number`` from stop ``here`` to stop ``there``; return the landing date.

    ``hop.arrival_date`` is given, ``state`` is carried on. ``sky`` is (first date, step, distances of all stops),
    ``windows`` is (step, tables of the dates, tables of blocks of them) of all ordered pairs.
    """
    curves = (windows[0], windows[1][here, there], windows[2][here, there])
    sun = (sky[0], sky[1], sky[2][here], stretch_of(stops[here].nearest))
    return float(
        fly_hop(
            design, craft, hop, stops[here], stops[there], legs[here, there], number, sun, sky[2][there], curves,
            dates, math.nan, False, state, room, ends,
        )
    )  # fmt: skip


@kernel
def expand(
    design: Any, craft: Any, stops: Any, legs: Any, sky: Any, windows: Any, usable: Any, dates: Any, routes: Any,
    now: Any, states: Any, revisits: bool, hops: Any, after: Any, tried: Any,
) -> None:  # fmt: skip
    """From every partial tour try every stop as the next.

    ``routes`` (m, number + 1) are numbers of stops, ``now`` (m,) the dates of the last landing, ``states`` (m,) what is
    carried. Fills ``hops``, ``after`` and ``tried``, each (m, stops).
    """
    sky, windows = uncounted(sky, windows)
    room, ends = np.zeros(ROOM), np.zeros(ENDS)
    number = routes.shape[1] - 1
    for row in range(routes.shape[0]):
        here = routes[row, number]
        for there in range(stops.shape[0]):
            tried[row, there] = False
            if there == here or not usable[here, there]:
                continue
            known = False
            if not revisits:
                for place in range(number):
                    known = known or routes[row, place] == there
            if known:
                continue
            tried[row, there] = True
            after[row, there] = states[row]
            hop = hops[row, there]
            hop.arrival_date = now[row]
            try_hop(
                design,
                craft,
                hop,
                number,
                here,
                there,
                stops,
                legs,
                sky,
                windows,
                dates,
                after[row, there],
                room,
                ends,
            )


@kernel
def start_all(design: Any, craft: Any, states: Any) -> None:
    """Put the sized craft on its first stop, once for every row of ``states``."""
    for row in range(states.shape[0]):
        begin(design, craft, states[row])


@kernel
def follow(
    design: Any, craft: Any, stops: Any, legs: Any, sky: Any, windows: Any, dates: Any, route: Any, hops: Any,
    states: Any,
) -> None:  # fmt: skip
    """Fly a whole tour with a craft that is sized already: fill ``hops``; ``states`` is room for one row."""
    sky, windows = uncounted(sky, windows)
    room, ends = np.zeros(ROOM), np.zeros(ENDS)
    state = states[0]
    begin(design, craft, state)
    now = dates[0]
    for number in range(route.shape[0] - 1):
        hop = hops[number]
        hop.arrival_date = now
        now = try_hop(
            design,
            craft,
            hop,
            number,
            route[number],
            route[number + 1],
            stops,
            legs,
            sky,
            windows,
            dates,
            state,
            room,
            ends,
        )
