"""Choosing the departure date of a hop between bodies."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.records import DAY, STEP, interpolate, margin
from tradespace.campaign.stop import filling_energy, filling_power, needed_load
from tradespace.constants import value
from tradespace.physics.compiled import kernel
from tradespace.physics.transfer import spread_burn_factor_kernel

CHEAPEST, EARLIEST, LEAST_COST = 0.0, 1.0, 2.0
NOWHERE = math.inf
SUN = value("gravitational_parameter_sun")


@kernel
def spread_cost(speeds: float, flight: float, pace: float, nearest: float) -> float:
    """Upper bound of the cruise burns of a hop when they take time [m/s]: all at one end, nearest to the Sun.

    ``pace`` is mass over thrust [s2/m].
    """
    return float(
        speeds
        * spread_burn_factor_kernel(SUN, speeds, 0.0, pace * speeds, 0.0, max(flight, 1.0), nearest, nearest)
    )


@kernel
def objective(choice: Any, date: float, cost: float, flight: float) -> float:
    """What a departure is judged by; the less the better.

    ``choice`` holds policy, ready date, last date, limit [m/s], horizon, pace [s2/m], mass [kg], exhaust velocity
    [m/s], price of time [kg/s], the velocity-change margin and the least distance from the Sun [m]. The second burn
    ends up to half its length after the flight.
    """
    landing = date + flight + 0.5 * choice[5] * cost
    if landing > choice[4]:
        return NOWHERE
    if choice[0] == EARLIEST:
        return landing if cost <= choice[3] * (1.0 + 1e-12) else NOWHERE
    if choice[0] == LEAST_COST:
        water = choice[6] * -math.expm1(-cost * (1.0 + choice[9]) / choice[7])
        return float(water + choice[8] * (landing - choice[1]))
    return cost


@kernel
def last_fitting(
    first: float,
    step: float,
    sums: Any,
    flight: Any,
    ready: float,
    otherwise: float,
    limit: float,
    pace: float,
    nearest: float,
) -> float:
    """Last grid date up to the ready date on which the cost is at or below the limit, or else another date."""
    index = min(int((ready - first) / step), sums.shape[0] - 1)
    while index >= 0:
        if spread_cost(sums[index], flight[index], pace, nearest) <= limit:
            return float(first + index * step)
        index -= 1
    return otherwise


@kernel
def best_departure(first: float, step: float, sums: Any, flight: Any, choice: Any) -> tuple[float, float]:
    """Best date from the ready date to the last one, and the last date at or below the limit.

    Only dates that land by the horizon count. The curve is read at the ready date, at every grid date, at the end and,
    for the earliest landing, where its cost passes the limit, so the answer changes smoothly with the ready date. When
    no departure is good enough for the earliest landing the cheapest one stands; when none lands in time, the ready
    date itself. If no date fits in that span, the last fitting date before it is given as the second answer; if there
    is none at all, a date one full wait before the ready date.
    """
    ready, end, limit, horizon, pace, nearest = (
        choice[1],
        choice[2],
        choice[3],
        choice[4],
        choice[5],
        choice[10],
    )
    count = sums.shape[0]
    best, least = ready, NOWHERE
    cheapest, lowest = ready, NOWHERE
    fitting, found = ready - max(end - ready, DAY), False
    before, old = ready, NOWHERE
    begin = max(int((ready - first) // step) + 1, 0)
    for place in range(begin - 1, count + 1):
        date = ready if place == begin - 1 else min(first + place * step, end)
        if place >= begin and date > first + (count - 1) * step:
            break
        time = interpolate(first, step, flight, date)
        cost = spread_cost(interpolate(first, step, sums, date), time, pace, nearest)
        if date + time + 0.5 * pace * cost <= horizon:
            if cost < lowest:
                cheapest, lowest = date, cost
            if cost <= limit:
                fitting, found = date, True
        worth = objective(choice, date, cost, time)
        if worth < least:
            best, least = date, worth
        if choice[0] == EARLIEST and before < date and (old > limit) != (cost > limit):
            crossing = before + (limit - old) / (cost - old) * (date - before)
            worth = objective(choice, crossing, limit, interpolate(first, step, flight, crossing))
            if worth < least:
                best, least = crossing, worth
        if place >= begin and date >= end:
            break
        before, old = date, cost
    if least == NOWHERE:
        best = cheapest
    if not found:
        fitting = last_fitting(first, step, sums, flight, ready, fitting, limit, pace, nearest)
    return best, fitting


@kernel
def fill_to_need(
    design: Any, craft: Any, hop: Any, stop: Any, state: Any, number: int, sun: Any, dates: Any, first: float,
    step: float, sums: Any, flight: Any, choice: Any, launch: float, landing: float, after: float, lead: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Best grid date by which the craft has made what that very hop needs, with that load; not a number if none.

    The craft starts ``lead`` before the date, and not before ``after``; dates past the last one of ``choice`` do not
    count. The energy gathered by a date is that of :func:`refuelling`.
    """
    best, cruise, store, least = math.nan, 0.0, 0.0, NOWHERE
    gathered, now = 0.0, hop.arrival_date
    power = filling_power(design, craft, sun, now + 0.5 * STEP, dates[0], state.landings)
    for index in range(max(math.ceil((after + lead - first) / step), 0), sums.shape[0]):
        date = first + index * step
        if date > choice[2]:
            break
        start = date - lead
        while start > now + STEP:
            gathered += power * STEP
            now += STEP
            power = filling_power(design, craft, sun, now + 0.5 * STEP, dates[0], state.landings)
        cost = spread_cost(sums[index], flight[index], choice[5], choice[10])
        worth = objective(choice, date, cost, flight[index])
        if not worth < least or cost > choice[3]:
            continue
        one, other = needed_load(design, craft, launch, cost * (1.0 + choice[9]), landing)
        if choice[0] == LEAST_COST:
            worth = (
                one + other + choice[8] * (date + flight[index] + 0.5 * choice[5] * cost - hop.arrival_date)
            )
            if not worth < least:
                continue
        energy, _, _ = filling_energy(design, craft, stop, state, number, one + other)
        if gathered + power * (start - now) >= energy:
            best, cruise, store, least = date, one, other, worth
    return best, cruise, store


@kernel
def read_curve(
    hop: Any, leg: Any, step: float, leaving: Any, arriving: Any, flight: Any, date: float,
    fitting: float,
) -> None:  # fmt: skip
    """Take a departure date and read the curve there."""
    hop.window_date = date
    hop.departure_date = date + leg.wait
    hop.wait = hop.departure_date - hop.ready_date
    hop.window_slack_d = (fitting - hop.ready_date) / DAY
    hop.v_inf_departure = interpolate(leg.first, step, leaving, date)
    hop.v_inf_arrival = interpolate(leg.first, step, arriving, date)
    hop.time_of_flight = interpolate(leg.first, step, flight, date)


@kernel
def window_margin(design: Any, hop: Any, state: Any) -> float:
    """Margin of the velocity change the tanks hold over what this hop costs, and what this filling has paid for before.

    A craft that carries everything has its share for each hop.
    """
    spent = state.spent_delta_v if design.refuels > 0.5 else 0.0
    return margin(design.hop_delta_v_capacity, spent + hop.delta_v)
