"""One sized craft, many possible next bodies: the hop kernel of the campaign called for a search."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.campaign import fly_hop
from tradespace.physics.compiled import kernel

STATES = 5
"""Numbers a craft carries from hop to hop: two propellants, throughput, electrolyser hours, thruster hours."""


def records(rows: np.ndarray) -> np.ndarray:
    """Rows whose fields read as attributes, which plain Python needs when compilation is switched off."""
    return rows if hasattr(fly_hop, "py_func") else rows.view(np.recarray)


@kernel
def begin(craft: Any, state: Any) -> None:
    """What a craft carries when it stands on its first body, as :func:`fly_all` begins."""
    for place in range(state.shape[0]):
        state[place] = 0.0
    state[0], state[1] = craft.cruise_load, craft.store_load


@kernel
def try_hop(
    design: Any, craft: Any, hop: Any, stops: Any, number: int, here: int, there: int, bodies: Any, sky: Any,
    windows: Any, dates: Any, state: Any, limits: Any,
) -> float:  # fmt: skip
    """Fly hop ``number`` from body ``here`` to body ``there``; return the landing date.

    ``hop.arrival_date`` is set, ``state`` is carried on. ``stops`` and ``limits`` are working space of hops + 1 stops
    and six numbers; ``sky`` is (first date, step, distances of all bodies), ``windows`` is (first date, step, excess
    speeds at departure and arrival, flight times and speed sums of all ordered pairs).
    """
    stops[number] = bodies[here]
    stops[number + 1] = bodies[there]
    curves = (
        windows[0], windows[1], windows[2][here, there], windows[3][here, there], windows[4][here, there],
        windows[5][here, there],
    )  # fmt: skip
    return float(
        fly_hop(
            design, craft, hop, stops, number, (sky[0], sky[1], sky[2][here]), sky[2][there], curves, dates,
            math.nan, False, state, limits,
        )
    )  # fmt: skip


@kernel
def expand(
    design: Any, craft: Any, bodies: Any, sky: Any, windows: Any, usable: Any, dates: Any, routes: Any, now: Any,
    states: Any, revisits: bool, hops: Any, after: Any, tried: Any, stops: Any, limits: Any,
) -> None:  # fmt: skip
    """From every partial tour try every body as the next.

    ``routes`` (m, number + 1) are body numbers, ``now`` (m,) the dates of the last landing, ``states`` (m, k) what is
    carried. Fills ``hops`` (m, bodies), ``after`` (m, bodies, k) and ``tried`` (m, bodies).
    """
    number = routes.shape[1] - 1
    for row in range(routes.shape[0]):
        here = routes[row, number]
        for there in range(bodies.shape[0]):
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
            state = after[row, there]
            for place in range(state.shape[0]):
                state[place] = states[row, place]
            hop = hops[row, there]
            hop.arrival_date = now[row]
            try_hop(
                design, craft, hop, stops, number, here, there, bodies, sky, windows, dates, state, limits
            )


@kernel
def follow(
    design: Any, craft: Any, bodies: Any, sky: Any, windows: Any, dates: Any, route: Any, hops: Any, state: Any,
    stops: Any, limits: Any,
) -> None:  # fmt: skip
    """Fly a whole tour with a craft that is sized already, and fill ``hops``."""
    begin(craft, state)
    now = dates[0]
    for number in range(route.shape[0] - 1):
        hop = hops[number]
        hop.arrival_date = now
        now = try_hop(
            design, craft, hop, stops, number, route[number], route[number + 1], bodies, sky, windows, dates, state,
            limits,
        )  # fmt: skip
