"""Choosing the departure date of a hop between bodies."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.records import DAY, interpolate, margin
from tradespace.physics.compiled import kernel


@kernel
def cheapest_departure(
    first: float, step: float, sums: Any, flight: Any, ready: float, wait: float, limit: float, horizon: float
) -> tuple[float, float]:
    """Date of the least v-infinity sum within ``wait`` of ``ready``, and the last date at or below ``limit``.

    Only dates that land by the horizon count; if there is none, the ready date itself stands. The curve is read at
    the ready date, at every grid date in between and at the end of the wait, so the least sum changes smoothly with
    the ready date. If no date fits in that span, the last fitting date before it is given; if there is none at all,
    a date one full wait before the ready date.
    """
    count = sums.shape[0]
    end = ready + wait
    best, least = ready, interpolate(first, step, sums, ready)
    fitting = ready - max(wait, DAY)
    in_time = ready + interpolate(first, step, flight, ready) <= horizon
    found = in_time and least <= limit
    if found:
        fitting = ready
    for index in range(max(math.ceil((ready - first) / step), 0), count):
        date = first + index * step
        if date > end:
            break
        if date + flight[index] <= horizon:
            if sums[index] < least or not in_time:
                least, best, in_time = sums[index], date, True
            if sums[index] <= limit:
                fitting, found = date, True
    at_end = interpolate(first, step, sums, end)
    if end < first + (count - 1) * step and end + interpolate(first, step, flight, end) <= horizon:
        if at_end < least or not in_time:
            least, best = at_end, end
        if at_end <= limit:
            fitting, found = end, True
    if not found:
        index = min(int((ready - first) / step), count - 1)
        while index >= 0:
            if sums[index] <= limit:
                fitting = first + index * step
                break
            index -= 1
    return best, fitting


@kernel
def depart(
    design: Any, hop: Any, first: float, step: float, leaving: Any, arriving: Any, flight: Any, sums: Any,
    frozen: float, horizon: float,
) -> None:  # fmt: skip
    """Choose the departure date of a hop between bodies (or take the frozen one) and read the curve there."""
    limit = design.hop_delta_v_capacity / (1.0 + design.delta_v_margin)
    date, fitting = cheapest_departure(
        first, step, sums, flight, hop.ready_date, design.maximum_wait, limit, horizon
    )
    if not math.isnan(frozen):
        date = frozen
    hop.departure_date = date
    hop.wait = date - hop.ready_date
    hop.window_slack_d = (fitting - hop.ready_date) / DAY
    hop.v_inf_departure = interpolate(first, step, leaving, date)
    hop.v_inf_arrival = interpolate(first, step, arriving, date)
    hop.time_of_flight = interpolate(first, step, flight, date)
    hop.delta_v = (hop.v_inf_departure + hop.v_inf_arrival) * (1.0 + design.delta_v_margin)
    hop.margin_window = margin(design.hop_delta_v_capacity, hop.delta_v)
