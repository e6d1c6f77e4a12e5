"""Hop after hop: refuel, wait, launch, cruise, land; and the margin of every link on every hop."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.burning import burn_all
from tradespace.campaign.departure import judge_window
from tradespace.campaign.flight import burn, burns_at_the_ends, heat_margin, power_margins, thrust_to_weight
from tradespace.campaign.known import (
    ARRIVAL,
    BATCH,
    ENDS,
    NOWHERE_KNOWN,
    ROOM,
    array_inputs,
    forget,
    known_density,
)
from tradespace.campaign.leaving import stop_and_leave
from tradespace.campaign.life import life_used
from tradespace.campaign.records import (
    DAY,
    HOP,
    LEG,
    MARGIN_HIGH,
    MARGIN_LOW,
    MARGINS,
    STATE,
    STOP,
    interpolate,
    margin,
)
from tradespace.campaign.shapes import calendar
from tradespace.campaign.stop import refuel, stretch_of
from tradespace.campaign.verdict import least_margins
from tradespace.physics.compiled import borrowed, inlined, kernel
from tradespace.physics.sunlight import dust_factor_kernel
from tradespace.physics.transfer import ballistic_hop_time_kernel
from tradespace.spacecraft import (
    LARGE,
    aged_heat_fraction,
    battery_inputs,
    close_craft,
    lasting_share,
    pointed_power,
    sun_pointed_power,
    trap_heat,
)

__all__ = [
    "BATCH",
    "ENDS",
    "HOP",
    "LEG",
    "MARGINS",
    "ROOM",
    "STATE",
    "STOP",
    "begin",
    "burn_all",
    "calendar",
    "fly_all",
    "fly_hop",
    "least_margins",
    "size",
]


@kernel
def route_burns(design: Any, stops: Any, surface: bool) -> tuple[float, float]:
    """Velocity changes of launch and landing that the vehicle is sized for, losses included [m/s].

    A craft that refuels must manage on one load all hops up to the next stop with water, the hardest such stretch of
    the route; one that carries everything has for each hop its share of their sum.
    """
    hops = stops.shape[0] - 1
    launch = landing = up_so_far = down_so_far = all_launches = all_landings = 0.0
    ratio = design.landing_engine_thrust_to_weight
    for number in range(hops):
        up, down = burns_at_the_ends(design, stops[number], stops[number + 1], surface, ratio, ratio)
        if stops[number].mines > 0.5:
            up_so_far = down_so_far = 0.0
        up_so_far, down_so_far = up_so_far + up, down_so_far + down
        launch, landing = max(launch, up_so_far), max(landing, down_so_far)
        all_launches, all_landings = all_launches + up, all_landings + down
    if design.refuels < 0.5:
        return all_launches / hops, all_landings / hops
    return launch, landing


@kernel
def burn_inputs(design: Any) -> tuple[float, float, float, float, float]:
    """What :func:`route_burns` reads of a design; designs that share it have the same burns."""
    return (
        float(design.landing_engine_thrust_to_weight),
        float(design.landing_loss_fraction),
        float(design.gravity_losses),
        float(design.hop_distance),
        float(design.refuels),
    )


@kernel
def route_extremes(stops: Any, distance: float, span: float) -> tuple[float, float, float, float]:
    """Least distance from the Sun [m], largest gravity [m/s2], longest and shortest rotation [s] of a route."""
    nearest, gravity, longest, shortest = distance, 0.0, 0.0, span
    for number in range(stops.shape[0]):
        nearest = min(nearest, stops[number].nearest)
        gravity = max(gravity, stops[number].gravity)
        longest = max(longest, stops[number].rotation_period)
        shortest = min(shortest, stops[number].rotation_period)
    return nearest, gravity, longest, shortest


@inlined
def size(
    design: Any, craft: Any, hops: int, distance: float, span: float, extremes: tuple[float, float, float, float],
    burns: tuple[float, float], lasting: float,
) -> None:  # fmt: skip
    """Size the vehicle for the hardest burns, gravity and night of the route.

    ``extremes`` are those of :func:`route_extremes`, ``lasting`` is the :func:`lasting_share` of the battery, and
    ``burns`` are those of :func:`route_burns`. They are sized with the velocity-change margin on top of their losses
    and flown without it.
    """
    nearest, gravity, longest, _ = extremes
    night = longest * (1.0 - design.sunlit_fraction)
    if not math.isnan(design.longest_night):
        night = design.longest_night
    launch = burns[0] * (1.0 + design.delta_v_margin)
    landing = burns[1] * (1.0 + design.delta_v_margin)
    close_craft(design, craft, distance, nearest, night, lasting, span, gravity, launch, landing, hops)


@kernel
def begin(design: Any, craft: Any, state: Any) -> None:
    """Put a sized craft on the start body: what is on board, and nothing behind it."""
    state.cruise, state.store = craft.cruise_load, craft.store_load
    state.filled = craft.propellant_mass
    state.throughput = state.cell_hours = state.burn_hours = state.spent_delta_v = 0.0
    state.water = state.energy = state.delta_v = state.ignitions = state.landing_ignitions = 0.0
    state.landing_throughput = state.landing_hours = 0.0
    state.survival = state.landings = 1.0


@inlined
def fly_hop(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, leg: Any, number: int, sun: Any, next_distances: Any,
    curves: Any, dates: Any, frozen: float, surface: bool, state: Any, room: Any, ends: Any,
) -> float:  # fmt: skip
    """Fly one hop from ``here`` to ``there``; return the landing date.

    ``hop.arrival_date`` is given, the rest of it is filled; ``state`` goes from the arrival here to the arrival there.
    ``sun`` is (first date, step, distances here, stretch), ``curves`` (step, table of the dates, table of blocks
    of them) as :func:`calendar` makes them, ``dates`` (start, horizon); ``room`` is that of ``ROOM``
    numbers, in which designs of one array leave what they share, and ``ends`` room for ``ENDS`` numbers.
    """
    stay(design, craft, hop, here, there, leg, number, sun, curves, dates, frozen, surface, state, room, ends)
    cross(design, craft, hop, here, there, leg, sun, next_distances, dates, surface, state, ends)
    settle(design, craft, hop, here, there, number, dates, frozen, surface, state, ends)
    return float(hop.landing_date)


@inlined
def stay(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, leg: Any, number: int, sun: Any, curves: Any,
    dates: Any, frozen: float, surface: bool, state: Any, room: Any, ends: Any,
) -> None:  # fmt: skip
    """From the arrival to the departure of a hop; leaves distance and power at the arrival in ``ends``."""
    start = dates[0]
    distance = interpolate(sun[0], sun[1], sun[2], hop.arrival_date)
    density = known_density(design, distance, room, NOWHERE_KNOWN if number > 0 else ARRIVAL)
    pointed = pointed_power(design, density, hop.arrival_date - start, state.landings)
    ends[6], ends[7] = distance, pointed
    hop.power_at_stop = pointed * design.pointing_factor
    if surface:
        hop.energy = hop.refuel_time = hop.water_mined = 0.0
        hop.ready_date = hop.arrival_date + design.minimum_dwell
        if design.refuels > 0.5:
            refuel(
                design, craft, hop, here, state, number, sun, dates, craft.cruise_load, craft.store_load, room
            )
    else:
        stop_and_leave(design, craft, hop, here, there, leg, state, number, sun, curves, dates, frozen, room)


@inlined
def cross(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, leg: Any, sun: Any, next_distances: Any, dates: Any,
    surface: bool, state: Any, ends: Any,
) -> None:  # fmt: skip
    """From the departure of a hop to its landing; leaves what the hop is judged by at both in ``ends``."""
    start = dates[0]
    mass = craft.dry_mass + state.cruise + state.store
    hop.launch_delta_v, hop.landing_delta_v = burns_at_the_ends(
        design, here, there, surface, thrust_to_weight(design, craft, here.gravity, mass),
        thrust_to_weight(design, craft, there.gravity, mass),
    )  # fmt: skip
    if surface:
        hop.departure_date = hop.ready_date
        hop.time_of_flight = ballistic_hop_time_kernel(here.mu, here.radius, design.hop_distance)
        hop.v_inf_departure = hop.v_inf_arrival = 0.0
        hop.window_slack_d = (dates[1] - hop.ready_date) / DAY
    landing_date = hop.departure_date + hop.time_of_flight
    ends[0] = interpolate(sun[0], sun[1], sun[2], hop.departure_date)
    ends[1] = interpolate(sun[0], sun[1], next_distances, landing_date)
    ends[2], ends[3] = hop.departure_date - start, landing_date - start
    for end in range(2):
        ends[4 + end] = sun_pointed_power(design, ends[end], ends[2 + end], state.landings)
    burn(design, craft, hop, here, there, leg, state, ends, surface)
    hop.wait = hop.departure_date - hop.ready_date
    hop.margin_window = MARGIN_HIGH
    if not surface:
        judge_window(design, hop, leg, state)
    state.spent_delta_v += hop.delta_v
    hop.landing_date = hop.departure_date + hop.time_of_flight
    hop.elapsed = hop.landing_date - start
    ends[5] *= dust_factor_kernel(1.0, design.dust_loss_per_landing)


@inlined
def settle(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, number: int, dates: Any, frozen: float, surface: bool,
    state: Any, ends: Any,
) -> None:  # fmt: skip
    """After the landing of a hop: its margins, and what it adds to the campaign."""
    judge(design, craft, hop, state, ends[7], ends[6], dates, frozen, surface, ends)
    book(design, hop, here, there, state, surface and number > 0)


@inlined
def judge(
    design: Any, craft: Any, hop: Any, state: Any, pointed: float, distance: float, dates: Any, frozen: float,
    surface: bool, limits: Any,
) -> None:  # fmt: skip
    """Margins of mass, storage, time, lifetime, power and heat of a hop that has been flown.

    ``pointed`` is the power of the array square to the Sun at arrival [W]; ``limits`` as for :func:`flight.burn`, with
    the dust of the landing.
    """
    start = dates[0]
    hop.margin_mass = margin(design.launch_mass, craft.start_mass)
    if craft.dry_mass >= LARGE * design.launch_mass:  # no finite mass at all
        hop.margin_mass = MARGIN_LOW
    hop.margin_storage = margin(design.storage_volume, craft.tank_volume)
    hop.margin_time = margin(dates[1] - start, hop.elapsed)
    if not math.isnan(frozen) and not surface:  # a frozen date must not come before the craft is ready
        hop.margin_time = min(
            hop.margin_time, margin(hop.departure_date - hop.arrival_date, hop.ready_date - hop.arrival_date)
        )
    hop.life_used = life_used(design, hop, state)
    hop.margin_lifetime = margin(1.0, hop.life_used)
    hot, trapped = aged_heat_fraction(design, state.cell_hours), trap_heat(design)
    age = hop.arrival_date - start
    hop.margin_power, hop.margin_freezing = power_margins(design, hop.power_at_stop, distance, age)
    hop.margin_heat = heat_margin(design, craft, pointed, distance, age, hot, trapped)
    for end in range(2):
        power = limits[4 + end] * design.pointing_factor
        plain, warm = power_margins(design, power, limits[end], limits[2 + end])
        hop.margin_power, hop.margin_freezing = min(hop.margin_power, plain), min(hop.margin_freezing, warm)
        hop.margin_heat = min(
            hop.margin_heat,
            heat_margin(design, craft, limits[4 + end], limits[end], limits[2 + end], hot, trapped),
        )


@inlined
def book(design: Any, hop: Any, here: Any, there: Any, state: Any, found: bool) -> None:
    """Add a hop to what the route has taken so far, and the chance that it got there.

    Where water has been ``found`` on the same body before, the next site has it too.
    """
    if design.refuels > 0.5 and here.mines > 0.5 and not found:
        dry = here.dry_probability
        if here.dry_given < 0.5 and not math.isnan(design.dry_site_probability):
            dry = design.dry_site_probability
        state.survival *= 1.0 - dry
    state.survival *= design.hop_reliability
    state.water += hop.water_mined
    state.energy += hop.energy
    state.delta_v += hop.delta_v
    if there.mu > 0.0:
        state.landings += 1.0
    hop.survival, hop.water_so_far = state.survival, state.water
    hop.energy_so_far, hop.delta_v_so_far = state.energy, state.delta_v


@kernel
def fly_all(
    designs: Any, crafts: Any, hops: Any, states: Any, stops: Any, legs: Any, first: float, step: float,
    distances: Any, window_step: float, calendars: Any, blocks: Any, start: float, horizon: float, frozen: Any,
    surface: bool, room: Any, ends: Any,
) -> None:  # fmt: skip
    """Size and fly every design: fill ``crafts`` (n,), ``hops`` (n, hops) and ``states`` (n,) from ``designs`` (n,).

    ``room`` is for ``ROOM`` numbers, ``ends`` for (``BATCH``, ``ENDS``). A batch of designs goes through one part of a
    hop after the other, so that the code of each part is fetched once for all of them.
    """
    distances, calendars, blocks = borrowed(distances), borrowed(calendars), borrowed(blocks)
    stops, legs, room, ends = borrowed(stops), borrowed(legs), borrowed(room), borrowed(ends)
    dates = (start, horizon)
    distance = interpolate(first, step, distances[0], start)
    extremes = route_extremes(stops, distance, horizon - start)
    of_battery, lasting = (math.nan, math.nan, math.nan, math.nan, math.nan), 0.0
    known, burns = (math.nan, math.nan, math.nan, math.nan, math.nan), (0.0, 0.0)
    of_array = (math.nan, math.nan, math.nan, math.nan, math.nan, math.nan, math.nan)
    for begun in range(0, designs.shape[0], ends.shape[0]):
        count = min(ends.shape[0], designs.shape[0] - begun)
        for row in range(begun, begun + count):
            design, craft, state = designs[row], crafts[row], states[row]
            inputs = burn_inputs(design)
            if inputs != known:
                known, burns = inputs, route_burns(design, stops, surface)
            battery = battery_inputs(design)
            if battery != of_battery:
                of_battery, lasting = battery, lasting_share(battery, extremes[3], horizon - start)
            size(design, craft, stops.shape[0] - 1, distance, horizon - start, extremes, burns, lasting)
            begin(design, craft, state)
            hops[row, 0].arrival_date = start
        for number in range(hops.shape[1]):
            sun = (first, step, distances[number], stretch_of(stops[number].nearest))
            curve = min(number, calendars.shape[0] - 1)
            curves = (window_step, calendars[curve], blocks[curve])
            here, there, leg = stops[number], stops[number + 1], legs[number]
            for place in range(count):
                row = begun + place
                design, craft, state, hop = designs[row], crafts[row], states[row], hops[row, number]
                array = array_inputs(design)
                if array != of_array:
                    of_array = array
                    forget(room)
                if number > 0:
                    hop.arrival_date = hops[row, number - 1].landing_date
                stay(
                    design, craft, hop, here, there, leg, number, sun, curves, dates, frozen[number], surface, state,
                    room, ends[place],
                )  # fmt: skip
            for place in range(count):
                row = begun + place
                cross(
                    designs[row], crafts[row], hops[row, number], here, there, leg, sun, distances[number + 1], dates,
                    surface, states[row], ends[place],
                )  # fmt: skip
            for place in range(count):
                row = begun + place
                settle(
                    designs[row], crafts[row], hops[row, number], here, there, number, dates, frozen[number], surface,
                    states[row], ends[place],
                )  # fmt: skip
