"""Between landing and launch on a route between bodies: how much to fill, and when to go."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.departure import best_departure, launch_at, read_curve
from tradespace.campaign.flight import burns_at_the_ends, cruise_thrust
from tradespace.campaign.known import DATES, FARTHEST, HOPS, known_density
from tradespace.campaign.need import fill_to_need
from tradespace.campaign.pricing import EARLIEST, pull, spread_factor
from tradespace.campaign.records import interpolate
from tradespace.campaign.shapes import ARCS, SHARES, SUMS
from tradespace.campaign.stop import needed_load, refuel
from tradespace.physics.compiled import inlined, kernel
from tradespace.physics.transfer import thrust_limited_leg_kernel
from tradespace.spacecraft import pointed_power

ROUNDS = 4
"""Attempts to fill to the need of one hop before the tanks are filled to the brim."""


@inlined
def slowest_pace(
    design: Any, craft: Any, here: Any, there: Any, state: Any, dates: Any, room: Any, number: int
) -> float:
    """Time the cruise thruster takes for a velocity change, margin on top, over that change [s2/m].

    Of full tanks, farthest from the Sun, at the end of the mission: it errs on the slow side.
    """
    distance, age = max(here.farthest, there.farthest), dates[1] - dates[0]
    density = known_density(design, distance, room, FARTHEST + 2 * min(number, HOPS - 1))
    pointed = pointed_power(design, density, age, state.landings + 1.0)
    weakest = cruise_thrust(design, craft, pointed, distance, age, state.cell_hours)
    return float(craft.wet_mass * (1.0 + design.delta_v_margin) / max(weakest, 1e-9))


@kernel
def choice_of(
    design: Any,
    craft: Any,
    ready: float,
    last: float,
    limit: float,
    horizon: float,
    pace: float,
    nearest: float,
) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    """By what a departure is chosen, as :func:`departure.objective` reads it."""
    return (
        float(design.departure_policy),
        ready,
        last,
        limit,
        horizon,
        pace,
        float(craft.wet_mass),
        float(design.exhaust_velocity),
        float(design.time_price),
        float(design.delta_v_margin),
        pull(nearest),
    )


@kernel
def load_for(
    design: Any, craft: Any, leg: Any, curves: Any, date: float, pace: float, launch: float, landing: float,
    nearest: float,
) -> tuple[float, float]:  # fmt: skip
    """Cruise and store load for a departure on a date, whatever the date on a leg within a system [kg]."""
    step, table = curves[0], curves[1]
    if leg.within > 0.5:
        one, two, _, _ = thrust_limited_leg_kernel(
            leg.mu,
            leg.first_radius,
            leg.second_radius,
            leg.plane_angle,
            1.0 / max(pace, 1e-12),
            design.exhaust_velocity,
        )
        cost = one + two
    else:
        arc, share = (
            interpolate(leg.first, step, table[:, ARCS], date),
            interpolate(leg.first, step, table[:, SHARES], date),
        )
        cost = interpolate(leg.first, step, table[:, SUMS], date) * spread_factor(
            arc, share, pace, pull(nearest)
        )
    return needed_load(design, craft, launch, cost * (1.0 + design.delta_v_margin), landing)


@kernel
def fill_by_a_date(
    design: Any, craft: Any, hop: Any, here: Any, leg: Any, state: Any, number: int, sun: Any, curves: Any, dates: Any,
    limit: float, pace: float, launch: float, landing: float, nearest: float, room: Any,
) -> float:  # fmt: skip
    """Fill to the need of the best departure that leaves time for it, and give its date.

    Not a number, with the tanks as they were, when there is no such date.
    """
    kept = (state.cruise, state.store, state.filled, state.cell_hours, state.spent_delta_v)
    after = hop.arrival_date + design.minimum_dwell
    for _ in range(ROUNDS):
        choice = choice_of(design, craft, after, dates[1], limit, dates[1], pace, nearest)
        date, leave, cruise, store = fill_to_need(
            design,
            craft,
            hop,
            here,
            state,
            number,
            sun,
            dates,
            leg.first,
            curves,
            choice,
            launch,
            landing,
            room,
        )
        if math.isnan(date):
            break
        refuel(design, craft, hop, here, state, number, sun, dates, cruise, store, room)
        if hop.ready_date <= leave:
            return date
        after = hop.ready_date
        state.cruise, state.store, state.filled, state.cell_hours, state.spent_delta_v = kept
    return math.nan


@kernel
def last_launch(design: Any, ready: float, horizon: float) -> float:
    """Last date on which a ready craft may launch; where the wait is left out, the whole calendar sets the price."""
    return float(ready + design.maximum_wait if design.window_wait > 0.5 else max(horizon, ready))


@inlined
def stop_and_leave(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, leg: Any, state: Any, number: int, sun: Any, curves: Any,
    dates: Any, frozen: float, room: Any,
) -> None:  # fmt: skip
    """Fill the tanks for a hop between bodies and choose its departure.

    ``curves`` is as for :func:`best_departure`, the sums and starts priced at their ends. A craft filled to its need
    takes the best date by which it has made that much; it fills to the brim where the next stop has no water or no such
    date is found. The dates of the curve are those of the middle of the departure burn, and a frozen date is one of
    them; the calendar leaves room for the slowest burns.
    """
    ratio = design.landing_engine_thrust_to_weight
    remembered = DATES + min(number, HOPS - 1)
    pace = slowest_pace(design, craft, here, there, state, dates, room, number)
    fills = design.refuels > 0.5 and (here.mines > 0.5 or number == 0)
    needy = fills and here.mines > 0.5 and there.mines > 0.5 and design.fill_to_need > 0.5
    spent = 0.0 if fills or design.refuels < 0.5 else state.spent_delta_v
    limit = (design.hop_delta_v_capacity - spent) / (1.0 + design.delta_v_margin)
    nearest = min(here.nearest, there.nearest)
    launch = landing = 0.0
    if needy:
        launch, landing = burns_at_the_ends(design, here, there, False, ratio, ratio)
    date = math.nan
    chosen = frozen
    if needy and design.window_wait < 0.5 and leg.within < 0.5 and math.isnan(frozen):
        after = hop.arrival_date + design.minimum_dwell
        choice = choice_of(
            design, craft, after, last_launch(design, after, dates[1]), limit, dates[1], pace, nearest
        )
        chosen, _ = best_departure(leg.first, curves, choice, room[remembered])
    if needy and leg.within < 0.5 and math.isnan(chosen):
        date = fill_by_a_date(
            design,
            craft,
            hop,
            here,
            leg,
            state,
            number,
            sun,
            curves,
            dates,
            limit,
            pace,
            launch,
            landing,
            nearest,
            room,
        )
    if math.isnan(date) and fills:
        cruise, store = craft.cruise_load, craft.store_load
        if needy and (leg.within > 0.5 or not math.isnan(chosen)):
            cruise, store = load_for(design, craft, leg, curves, chosen, pace, launch, landing, nearest)
        refuel(design, craft, hop, here, state, number, sun, dates, cruise, store, room)
    elif math.isnan(date):
        hop.ready_date = hop.arrival_date + design.minimum_dwell
        hop.energy = hop.refuel_time = hop.water_mined = 0.0
    ready = hop.ready_date
    hop.calendar_delta_v = 0.0
    if leg.within > 0.5:
        wait = leg.wait if design.window_wait > 0.5 else 0.0
        read_curve(hop, leg, curves, ready, ready + wait, 0.0, ready + design.maximum_wait)
        return
    last = last_launch(design, ready, dates[1])
    choice = choice_of(design, craft, ready, last, limit, dates[1], pace, nearest)
    best, fitting = best_departure(leg.first, curves, choice, room[remembered])
    room[remembered] = (best - leg.first) / curves[0]
    if not math.isnan(frozen):
        date = frozen
    elif math.isnan(date):
        date = best
    leave, cost = launch_at(leg.first, curves, date, choice)
    leave = max(
        leave, dates[0]
    )  # burns as long as those of a hopeless craft begin no earlier than the campaign
    if math.isnan(frozen):  # only for a date that is no good does it lie outside
        leave = min(max(leave, ready), last)
        if design.departure_policy == EARLIEST:
            hop.calendar_delta_v = cost
        if design.window_wait < 0.5:  # the price of that date, without the wait for it
            leave = ready
    read_curve(hop, leg, curves, date, leave, 0.5 * pace * cost, fitting)
