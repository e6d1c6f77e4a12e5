"""Filling no more than one hop needs: the best departure by which that much has been made."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.pricing import (
    LEAST_COST,
    NOWHERE,
    latest_launch,
    launch_and_cost,
    least_factor,
    objective,
)
from tradespace.campaign.shapes import BLOCK, FLIGHT, LEAST
from tradespace.campaign.stop import energy_of, filling_at, filling_energy, needed_load
from tradespace.physics.compiled import kernel


@kernel
def passed_over(first: float, place: int, curves: Any, choice: Any) -> bool:
    """Whether no date of the block that begins at a place launches in time and at a cost in the limit."""
    block = curves[2][place // BLOCK]
    low = least_factor(block, choice)
    latest = latest_launch(first, curves[0], place, block, choice, low)
    return bool(latest <= choice[2] and (latest < choice[1] or block[LEAST] * low > choice[3]))


@kernel
def fill_to_need(
    design: Any, craft: Any, hop: Any, stop: Any, state: Any, number: int, sun: Any, dates: Any, first: float,
    curves: Any, choice: Any, launch: float, landing: float, room: Any,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Best grid date by whose launch the craft has made what that very hop needs; its launch and its load.

    Not a number if there is none. Launches before the ready date of ``choice`` and after its last one do not count,
    nor those for which a craft that has made its load would wait longer than the longest wait. The energy gathered by
    a date is that of :func:`refuelling`.
    """
    step, table = curves[0], curves[1]
    best, leave, cruise, store, least = math.nan, math.nan, 0.0, 0.0, NOWHERE
    gathered = before = 0.0
    now = then = hop.arrival_date
    stretch = sun[3]
    mean, rise = filling_at(design, craft, sun, now, dates[0], state.landings, room)
    past, past_rise = mean, rise
    rested = hop.arrival_date + design.minimum_dwell
    index = max(int((choice[1] - first) / step), 0) - 1
    while index + 1 < table.shape[0]:
        index += 1
        if index % BLOCK == 0 and passed_over(first, index, curves, choice):
            index += BLOCK - 1
            continue
        date = first + index * step
        start, cost = launch_and_cost(first, index, curves, choice)
        if start > choice[2]:
            break
        while start > now + stretch:
            gathered += mean * stretch
            now += stretch
            mean, rise = filling_at(design, craft, sun, now, dates[0], state.landings, room)
        idle = start - design.maximum_wait
        while idle > then + stretch:
            before += past * stretch
            then += stretch
            past, past_rise = filling_at(design, craft, sun, then, dates[0], state.landings, room)
        worth = objective(choice, start, cost, table[index, FLIGHT])
        if start < choice[1] or not worth < least or cost > choice[3]:
            continue
        one, other = needed_load(design, craft, launch, cost * (1.0 + choice[9]), landing)
        if choice[0] == LEAST_COST:
            worth = (
                one
                + other
                + choice[8] * (start + table[index, FLIGHT] + 0.5 * choice[5] * cost - hop.arrival_date)
            )
            if not worth < least:
                continue
        energy, _, _ = filling_energy(design, craft, stop, state, number, one + other)
        if idle > rested and before + energy_of(past, past_rise, stretch, idle - then) >= energy:
            continue
        if gathered + energy_of(mean, rise, stretch, start - now) >= energy:
            best, leave, cruise, store, least = date, start, one, other, worth
    return best, leave, cruise, store
