"""Choosing the departure date of a hop between bodies."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.pricing import (
    CHEAPEST,
    EARLIEST,
    LEAST_COST,
    NOWHERE,
    ROUNDING,
    SLACK,
    earliest_launch,
    largest_factor,
    latest_launch,
    launch_and_cost,
    least_factor,
    objective,
    out_of_question,
    too_dear,
)
from tradespace.campaign.records import DAY, SETTINGS, interpolate, margin
from tradespace.campaign.shapes import (
    ARRIVING,
    BLOCK,
    FLIGHT,
    LEAST,
    LEAVING,
    MOST_START,
    STARTS,
    SUMS,
)
from tradespace.constants import value
from tradespace.physics.compiled import inlined, kernel

NEAR_LEAST = value("likely_departure", SETTINGS)


@kernel
def last_fitting(first: float, step: float, curves: Any, choice: Any) -> float:
    """Last grid date whose launch lies before the ready date and whose cost keeps the limit; else a wait before it."""
    table, blocks = curves[1], curves[2]
    index = min(int((choice[1] - first) / step) + 1, table.shape[0] - 1)
    while index >= 0:
        block = blocks[index // BLOCK]
        begin = index // BLOCK * BLOCK
        low = least_factor(block, choice)
        if block[LEAST] * low <= choice[3]:
            for place in range(index, begin - 1, -1):
                if table[place, SUMS] * low > choice[3]:
                    continue
                launch, cost = launch_and_cost(first, place, curves, choice)
                if launch <= choice[1] and cost <= choice[3]:
                    return launch
        index = begin - 1
    return float(choice[1] - max(choice[2] - choice[1], DAY))


@kernel
def crossing(before: float, now: float, line: float) -> float:
    """Share of a step at which a value passes a line; not a number where it does not."""
    if (before < line) == (now < line):
        return math.nan
    return (line - before) / (now - before)


@kernel
def place_between(
    mark: int, old_launch: float, launch: float, old_cost: float, cost: float, choice: Any
) -> float:
    """Where between two grid dates a departure is looked at, as a share of the step; not a number for nowhere.

    1 and 2: where the launch passes the ready date and the last one; 3: where the cost passes its limit, for the
    earliest landing.
    """
    if mark < 3:
        return crossing(old_launch, launch, choice[mark])
    return crossing(old_cost, cost, choice[3]) if choice[0] == EARLIEST else math.nan


@inlined
def weigh(
    date: float, leave: float, price: float, time: float, choice: Any, found: Any
) -> tuple[float, float, float, float, float]:
    """Best date and its worth, cheapest date and its cost, and last launch in the limit, one more departure seen."""
    best, least, cheapest, lowest, fitting = found
    if not choice[1] - ROUNDING <= leave <= choice[2] + ROUNDING:
        return best, least, cheapest, lowest, fitting
    if leave + time + 0.5 * choice[5] * price <= choice[4]:
        if price < lowest:
            cheapest, lowest = date, price
        if price <= choice[3] and not leave < fitting:
            fitting = leave
    worth = objective(choice, leave, price, time)
    if worth < least:
        best, least = date, worth
    return best, least, cheapest, lowest, fitting


@kernel
def may_pass(old_low: float, old_high: float, low: float, high: float, line: float) -> bool:
    """Whether the launch can pass a line between two grid dates."""
    return not ((old_high < line and high < line) or (old_low >= line and low >= line))


@kernel
def lands(start: float, speeds: float, flight: float, date: float, choice: Any) -> bool:
    """Whether a date of the curve can lead to a landing by the horizon: burns of no more than the impulses do."""
    return bool(date + flight + 0.5 * choice[5] * (speeds - start) <= choice[4] + 1.0)


@inlined
def promising_block(first: float, begin: int, curves: Any, choice: Any) -> int:
    """Block of dates with the cheapest impulses among those that launch from the ready date to the last one.

    Below zero if there is none.
    """
    step, blocks = curves[0], curves[2]
    best, least = -1, NOWHERE
    for number in range(begin // BLOCK, blocks.shape[0]):
        block, place = blocks[number], number * BLOCK
        if first + (place - 1) * step - 0.5 * choice[5] * block[MOST_START] > choice[2]:
            if earliest_launch(first, step, place, block, choice) > choice[2]:
                break
            continue
        if (
            block[LEAST] < least
            and earliest_launch(first, step, place, block, choice) >= choice[1]
            and latest_launch(first, step, place, block, choice, 1.0) <= choice[2]
        ):
            best, least = number, block[LEAST]
    return best


@inlined
def reachable_cost(first: float, begin: int, curves: Any, choice: Any) -> float:
    """Cost of one departure that can be flown, one with cheap impulses; without limit if none is known.

    What costs more than that is not the cheapest.
    """
    step, table = curves[0], curves[1]
    number = promising_block(first, begin, curves, choice)
    if number < 0:
        return NOWHERE
    best, least = -1, NOWHERE
    for place in range(number * BLOCK, min(number * BLOCK + BLOCK, table.shape[0])):
        if table[place, SUMS] < least and lands(
            table[place, STARTS], table[place, SUMS], table[place, FLIGHT], first + place * step, choice
        ):
            best, least = place, table[place, SUMS]
    if best < 0:
        return NOWHERE
    launch, cost = launch_and_cost(first, best, curves, choice)
    return cost if launch + table[best, FLIGHT] + 0.5 * choice[5] * cost <= choice[4] else NOWHERE


@inlined
def look_between(
    date: float, old_launch: float, launch: float, old_cost: float, cost: float, first: float, curves: Any, choice: Any,
    found: Any,
) -> Any:  # fmt: skip
    """Weigh the departures between a grid date and the one before it; see :func:`place_between`."""
    step, table = curves[0], curves[1]
    for mark in range(1, 4):
        share = place_between(mark, old_launch, launch, old_cost, cost, choice)
        if math.isnan(share):
            continue
        there = date - (1.0 - share) * step
        found = weigh(
            there, old_launch + share * (launch - old_launch), old_cost + share * (cost - old_cost),
            interpolate(first, step, table[:, FLIGHT], there), choice, found,
        )  # fmt: skip
    return found


@inlined
def likely_cost(first: float, begin: int, curves: Any, choice: Any, likely: float) -> float:
    """Cost of the departure at a place of the calendar, if it can be flown and its impulses are among the cheapest.

    Without limit if not.
    """
    step, table, blocks = curves
    place = int(likely)
    if not begin <= place < table.shape[0]:
        return NOWHERE
    least = NOWHERE
    for number in range(begin // BLOCK, min(int((choice[2] - first) / step) // BLOCK + 1, blocks.shape[0])):
        least = min(least, blocks[number, LEAST])
    if table[place, SUMS] > NEAR_LEAST * least:
        return NOWHERE
    launch, cost = launch_and_cost(first, place, curves, choice)
    flown = choice[1] <= launch <= choice[2]
    return cost if flown and launch + table[place, FLIGHT] + 0.5 * choice[5] * cost <= choice[4] else NOWHERE


@inlined
def bar(first: float, begin: int, curves: Any, choice: Any, likely: float) -> float:
    """Cost above which a departure does not count [m/s]."""
    if choice[0] == LEAST_COST:
        return NOWHERE
    known = likely_cost(first, begin, curves, choice, likely)
    if known == NOWHERE:
        known = reachable_cost(first, begin, curves, choice)
    return max(known, choice[3]) * (1.0 + SLACK) if choice[0] == EARLIEST else known


@inlined
def forward(
    first: float, begin: int, curves: Any, choice: Any, likely: float
) -> tuple[int, tuple[float, float, float, float, float]]:
    """Last grid date that counts, and what :func:`weigh` finds up to it.

    Burns that take time are worked out only for dates at which they can matter: where the launch may pass the ready
    date or the last one, and where their least cost is no more than that of a departure that can be flown. The last
    launch in the limit may be missing.
    """
    step, table, blocks = curves
    ready, end = choice[1], choice[2]
    half = 0.5 * choice[5]
    found = (math.nan, NOWHERE, math.nan, NOWHERE, math.nan)
    if ready > choice[4] + 1.0:  # nobody leaves after the end
        return begin, found
    known = bar(first, begin, curves, choice, likely)
    for number in range(begin // BLOCK, blocks.shape[0]):
        place, block = number * BLOCK, blocks[number]
        if too_dear(first, step, place, block, choice, known):
            continue
        least = least_factor(block, choice)
        if out_of_question(first, step, place, block, choice, least, known, found):
            continue
        most = largest_factor(block, choice)
        edge = min(place + BLOCK, table.shape[0])
        place = max(place, begin)
        before = max(place - 1, begin)
        date, start = first + before * step, half * table[before, STARTS]
        old_low, old_high, old_launch, old_cost = date - start * most, date - start * least, 0.0, 0.0
        tempted, priced = place > begin and table[before, SUMS] * least <= known, False
        for now in range(place, edge):
            date, start = first + now * step, half * table[now, STARTS]
            low, high = date - start * most, date - start * least
            tempting = table[now, SUMS] * least <= known
            passes = may_pass(old_low, old_high, low, high, end)
            if tempting or tempted:
                passes |= choice[0] == EARLIEST or may_pass(old_low, old_high, low, high, ready)
            passes &= now > begin
            if passes or high > end or (tempting and high >= ready - ROUNDING):
                launch, cost = launch_and_cost(first, now, curves, choice)
                if passes:
                    if not priced:
                        old_launch, old_cost = launch_and_cost(first, now - 1, curves, choice)
                    found = look_between(
                        date, old_launch, launch, old_cost, cost, first, curves, choice, found
                    )
                found = weigh(date, launch, cost, table[now, FLIGHT], choice, found)
                if now > begin and launch > end:
                    return now, found
                old_launch, old_cost, priced = launch, cost, True
                if choice[0] == CHEAPEST:
                    known = min(known, found[1])
            else:
                priced = False
            old_low, old_high, tempted = low, high, tempting
    return table.shape[0] - 1, found


@inlined
def backward(first: float, begin: int, stop: int, fitting: float, curves: Any, choice: Any) -> float:
    """Last launch in the limit among the grid dates and the one that is known; not a number if there is none."""
    step, table, blocks = curves
    half = 0.5 * choice[5]
    nothing = (math.nan, NOWHERE, math.nan, NOWHERE)
    for number in range(stop // BLOCK, begin // BLOCK - 1, -1):
        place, block = number * BLOCK, blocks[number]
        edge = min(place + BLOCK - 1, stop)
        if first + edge * step <= fitting:
            break
        if block[LEAST] > choice[3]:
            continue
        least = least_factor(block, choice)
        latest = latest_launch(first, step, place, block, choice, least)
        if block[LEAST] * least > choice[3] or latest < choice[1] - ROUNDING or latest <= fitting:
            continue
        for date in range(edge, max(place, begin) - 1, -1):
            time = first + date * step
            latest = time - half * table[date, STARTS] * least
            if table[date, SUMS] * least > choice[3] or latest <= fitting or latest < choice[1] - ROUNDING:
                continue
            if not lands(table[date, STARTS], table[date, SUMS], table[date, FLIGHT], time, choice):
                continue
            launch, cost = launch_and_cost(first, date, curves, choice)
            fitting = weigh(time, launch, cost, table[date, FLIGHT], choice, (*nothing, fitting))[4]
    return float(fitting)


@inlined
def best_departure(first: float, curves: Any, choice: Any, likely: float) -> tuple[float, float]:
    """Best date of the curve with its launch from the ready date to the last one, and the last launch in the limit.

    ``curves`` is (step, table of the dates, table of blocks of them), see :func:`shapes.calendar`; ``likely`` is a
    place in it that may be good, which changes nothing but the time it takes. Only dates that land by the horizon
    count. The curve is read at every grid date, where the launch falls on the ready date or on the last one and, for
    the earliest landing, where its cost passes the limit, so the answer changes smoothly with the ready date. When no
    departure is good enough for the earliest landing the cheapest one stands; when none lands in time, the one at
    the ready date.
    """
    step, table = curves[0], curves[1]
    ready = choice[1]
    begin = max(min(int((ready - first) / step), table.shape[0] - 1), 0)
    stop, found = forward(first, begin, curves, choice, likely)
    best, least, cheapest, _, fitting = found
    fitting = backward(first, begin, stop, fitting, curves, choice)
    if least == NOWHERE:
        best = cheapest
    if math.isnan(best):
        start = interpolate(first, step, table[:, STARTS], ready)
        best = ready + 0.5 * choice[5] * min(start, max(choice[3], 0.0))
    if math.isnan(fitting):
        fitting = last_fitting(first, step, curves, choice)
    return best, fitting


@inlined
def launch_at(first: float, curves: Any, date: float, choice: Any) -> tuple[float, float]:
    """Launch for any date of the curve, and the cost of that hop [m/s]: straight between the grid dates."""
    step, table = curves[0], curves[1]
    place = min(max((date - first) / step, 0.0), table.shape[0] - 1.0)
    index = min(int(place), table.shape[0] - 2)
    share = place - index
    one, cost = launch_and_cost(first, index, curves, choice)
    other, dearer = launch_and_cost(first, index + 1, curves, choice)
    return one + share * (other - one), cost + share * (dearer - cost)


@inlined
def read_curve(
    hop: Any, leg: Any, curves: Any, date: float, launch: float, extra: float, fitting: float
) -> None:
    """Take a date of the curve, launch for it, and allow ``extra`` time for what of the burns lies outside [s]."""
    step, table = curves[0], curves[1]
    hop.window_date = date
    hop.departure_date = launch
    hop.window_slack_d = (fitting - hop.ready_date) / DAY
    hop.v_inf_departure = interpolate(leg.first, step, table[:, LEAVING], date)
    hop.v_inf_arrival = interpolate(leg.first, step, table[:, ARRIVING], date)
    hop.window_flight = interpolate(leg.first, step, table[:, FLIGHT], date)
    # burns longer than the flight are never flown: the margin of thrust says so
    hop.time_of_flight = hop.window_flight + min(extra, hop.window_flight)


@inlined
def judge_window(design: Any, hop: Any, leg: Any, state: Any) -> None:
    """Margin of the velocity change the tanks hold over what this hop costs, and what this filling has paid for before.

    A craft that carries everything has its share for each hop. Moons that stand right only after more than the longest
    wait count as well. The earliest landing is chosen among departures that the tanks can pay by the calendar's own
    estimate, so there that estimate counts too: what closes has been chosen by the same rule, and more power is never
    later. A departure that was paid for is one that fits, so the slack reaches to it at least.
    """
    spent = state.spent_delta_v if design.refuels > 0.5 else 0.0
    cost = max(hop.delta_v, hop.calendar_delta_v * (1.0 + design.delta_v_margin))
    hop.margin_window = margin(design.hop_delta_v_capacity, spent + cost)
    if leg.within > 0.5:
        hop.margin_window = min(hop.margin_window, margin(design.maximum_wait, leg.wait))
    if hop.margin_window >= 0.0:
        hop.window_slack_d = max(hop.window_slack_d, hop.wait / DAY)
