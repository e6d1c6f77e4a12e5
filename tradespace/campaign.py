"""Hop after hop: refuel, wait, launch, cruise, land; and the margin of every link on every hop."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import kernel
from tradespace.physics.rocket import propellant_mass_kernel
from tradespace.physics.transfer import ballistic_hop_speed_kernel, ballistic_hop_time_kernel
from tradespace.spacecraft import (
    LARGE,
    bus_power,
    close_craft,
    fixed_power,
    heat_capacity_of_radiator,
    night_and_day_load,
    refuelling_power,
    sun_pointed_power,
    waste_heat,
)

HOP_FIELDS = (
    "arrival_date ready_date departure_date landing_date wait time_of_flight delta_v launch_delta_v "
    "landing_delta_v burn_time propellant_used water_mined power_at_stop v_inf_departure v_inf_arrival "
    "departure_mass refuel_time energy window_slack_d"
).split()
MARGINS = ("mass power thrust heat storage water lifetime time window").split()
HOP = np.dtype([(name, np.float64) for name in (*HOP_FIELDS, *(f"margin_{link}" for link in MARGINS))])
"""One row per design and hop, in SI."""

STOP = np.dtype(
    [(name, np.float64) for name in ("gravity", "escape_speed", "radius", "mu", "rotation_period")]
)
"""One row per stop of the route, in SI."""

SETTINGS = "engine_settings.csv"
STEP = value("refuelling_step", SETTINGS)
NEVER = value("refuelling_cap", SETTINGS)
DAY = value("day", SETTINGS)
MARGIN_LOW, MARGIN_HIGH = -1.0, 10.0
ROUNDING = 1e-9


@kernel
def margin(available: float, required: float) -> float:
    """Available over required minus one, clipped to [-1, 10]; always finite, and never negative by rounding alone."""
    if required <= 0.0:
        return MARGIN_HIGH
    excess = available / required - 1.0
    if abs(excess) < ROUNDING:
        return 0.0
    return min(max(excess, MARGIN_LOW), MARGIN_HIGH)


@kernel
def interpolate(first: float, step: float, table: Any, position: float) -> float:
    """Linear look-up in a uniform table, held constant beyond its ends."""
    place = (position - first) / step
    last = table.shape[0] - 1
    if place <= 0.0:
        return float(table[0])
    if place >= last:
        return float(table[last])
    index = int(place)
    share = place - index
    return float(table[index] * (1.0 - share) + table[index + 1] * share)


@kernel
def refuelling(
    design: Any, craft: Any, first: float, step: float, distances: Any, arrival: float, start: float, horizon: float,
    need: float,
) -> float:  # fmt: skip
    """Time to mine ``need`` kilograms from ``arrival`` on [s], following the Sun's distance; at most ``NEVER``."""
    if need <= 0.0:
        return 0.0
    left = need
    rate = 0.0
    now = arrival
    while True:
        middle = now + 0.5 * STEP
        power = bus_power(design, interpolate(first, step, distances, middle), middle - start)
        rate = min(
            refuelling_power(design, power) / craft.energy_per_mined,
            craft.extraction_rate * design.sunlit_fraction,
        )
        if rate * STEP >= left or now > horizon:
            break
        left -= rate * STEP
        now += STEP
    if rate <= 0.0:
        return NEVER
    return float(min(now - arrival + left / rate, NEVER))


@kernel
def cheapest_departure(
    first: float, step: float, sums: Any, ready: float, wait: float, limit: float
) -> tuple[float, float]:
    """Date of the least v-infinity sum within ``wait`` of ``ready``, and the last date at or below ``limit``.

    The curve is read at the ready date, at every grid date in between and at the end of the wait, so the least
    sum changes smoothly with the ready date. If no date fits in that span, the last fitting date before it is given;
    if there is none at all, a date one full wait before the ready date.
    """
    count = sums.shape[0]
    end = ready + wait
    best, least = ready, interpolate(first, step, sums, ready)
    fitting = ready - max(wait, DAY)
    found = least <= limit
    if found:
        fitting = ready
    index = max(math.ceil((ready - first) / step), 0)
    while index < count and first + index * step <= end:
        if sums[index] < least:
            least, best = sums[index], first + index * step
        if sums[index] <= limit:
            fitting, found = first + index * step, True
        index += 1
    at_end = interpolate(first, step, sums, end)
    if at_end < least and end < first + (count - 1) * step:
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
def cruise_power(design: Any, distance: float, age: float) -> float:
    """Power left for propulsion in cruise [W]."""
    return max(sun_pointed_power(design, distance, age) - fixed_power(design), 0.0)


@kernel
def cruise_thrust(design: Any, craft: Any, distance: float, age: float) -> float:
    """Thrust the power allows in cruise [N]; in-flight splitting is also held by the electrolyser's rating."""
    power = cruise_power(design, distance, age)
    if design.live_split_fraction > 0.5:
        power = min(power, craft.electrolyser_power)
    return float(min(design.thrust_limit, power / design.power_per_thrust))


@kernel
def power_margin(design: Any, power: float) -> float:
    """Margin of the sunlit bus power at a stop over what fixed loads need by day and night."""
    return margin(power * design.sunlit_fraction, night_and_day_load(design))


@kernel
def heat_margin(design: Any, craft: Any, distance: float, age: float, live: float) -> float:
    """Radiator capacity over waste heat, at the stop and with the cruise thruster on."""
    surplus = cruise_power(design, distance, age)
    at_stop = 0.0
    if design.refuels > 0.5:  # cruise surplus is the larger one, so this errs on the hot side
        share = craft.stop_split_energy / craft.energy_per_mined
        at_stop = min(surplus * share, craft.electrolyser_power)
    thruster = min(surplus, live)
    split = min(thruster, craft.electrolyser_power) * design.live_split_fraction
    heat = max(waste_heat(design, at_stop, 0.0), waste_heat(design, split, thruster))
    return margin(craft.radiator_area * max(heat_capacity_of_radiator(design, distance), 0.0), heat)


@kernel
def thrust_to_land(design: Any, craft: Any, gravity: float, distance: float, age: float) -> float:
    """Thrust on offer for launch and landing burns [N]."""
    if design.live_hop > 0.5:
        return cruise_thrust(design, craft, distance, age)
    return float(design.store_thrust_limit)


@kernel
def burn(design: Any, craft: Any, hop: Any, state: Any, limits: Any) -> None:
    """Launch, two cruise burns and landing: fill the masses and the thrust and water margins of the hop.

    ``state`` holds cruise propellant and store propellant on board [kg] and the running totals of cruise
    propellant [kg] and electrolyser hours [s]; ``limits`` holds gravity at both stops [m/s2], heliocentric
    distance at departure and landing [m], and the mission age at both [s].
    """
    store, cruise = design.store_exhaust_velocity, design.exhaust_velocity
    mass = craft.dry_mass + state[0] + state[1]
    hop.departure_mass = mass
    launch = propellant_mass_kernel(mass, hop.launch_delta_v, store)
    offer = thrust_to_land(design, craft, limits[0], limits[2], limits[4])
    thrust_margin = margin(offer, design.landing_thrust_to_weight * limits[0] * mass)
    mass -= launch
    spent = 0.0
    longest = 0.0
    for end in range(2):
        speed = hop.v_inf_departure if end == 0 else hop.v_inf_arrival
        used = propellant_mass_kernel(mass, speed * (1.0 + design.delta_v_margin), cruise)
        mass -= used
        spent += used
        thrust = cruise_thrust(design, craft, limits[2 + end], limits[4 + end])
        duration = min(used * cruise / max(thrust, 1e-9), NEVER)
        longest = max(longest, duration)
        state[3] += duration * design.live_split_fraction
    if spent > 0.0:
        thrust_margin = min(thrust_margin, margin(design.impulsive_burn_limit * hop.time_of_flight, longest))
    offer = thrust_to_land(design, craft, limits[1], limits[3], limits[5])
    thrust_margin = min(thrust_margin, margin(offer, design.landing_thrust_to_weight * limits[1] * mass))
    landing = propellant_mass_kernel(mass, hop.landing_delta_v, store)
    hop.burn_time = longest
    hop.margin_thrust = thrust_margin
    unusable = min(design.propellant_reserve + design.propellant_residual, 0.99)
    if design.refuels > 0.5:
        usable = state[0] + state[1] - unusable * craft.propellant_mass
        hop.margin_water = margin(usable, spent + launch + landing)
    else:
        hop.margin_water = min(
            margin(state[0] - unusable * craft.cruise_load, spent),
            margin(state[1] - unusable * craft.store_load, launch + landing),
        )
    hop.propellant_used = spent + launch + landing
    split = design.live_split_fraction * spent
    if design.hop_delta_v_capacity > 0.0:  # on a surface hop the landing gas was made before launch
        split += design.store_split_fraction * landing
    hop.energy += split * design.split_energy
    state[0] = max(state[0] - spent, 0.0)
    state[1] = max(state[1] - launch - landing, 0.0)
    state[2] += spent


@kernel
def refuel(design: Any, craft: Any, hop: Any, state: Any, number: int, sun: Any, dates: Any) -> None:
    """Fill the tanks at the stop and find the ready date.

    ``sun`` is (first date, step, distances); ``dates`` is (start, horizon).
    """
    full = craft.propellant_mass
    on_board = min(design.water_on_board, full) if number == 0 else state[0] + state[1]
    hop.water_mined = max(full - on_board, 0.0)
    hop.refuel_time = refuelling(
        design, craft, sun[0], sun[1], sun[2], hop.arrival_date, dates[0], dates[1], hop.water_mined
    )
    hop.energy = hop.water_mined * craft.energy_per_mined
    state[0], state[1] = craft.cruise_load, craft.store_load
    share = craft.stop_split_energy / craft.energy_per_mined
    if share > 0.0:
        state[3] += hop.refuel_time * design.sunlit_fraction * min(1.0, share)
    hop.ready_date = hop.arrival_date + max(hop.refuel_time, design.minimum_dwell)


@kernel
def depart(
    design: Any, hop: Any, first: float, step: float, leaving: Any, arriving: Any, flight: Any, sums: Any,
    frozen: float,
) -> None:  # fmt: skip
    """Choose the departure date of a hop between bodies (or take the frozen one) and read the curve there."""
    limit = design.hop_delta_v_capacity / (1.0 + design.delta_v_margin)
    date, fitting = cheapest_departure(first, step, sums, hop.ready_date, design.maximum_wait, limit)
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


@kernel
def burns_at_the_ends(design: Any, stops: Any, number: int, surface: bool) -> tuple[float, float]:
    """Velocity changes of the launch and landing burns of a hop, losses included [m/s]."""
    if surface:
        speed = ballistic_hop_speed_kernel(stops[number].mu, stops[number].radius, design.hop_distance)
        return speed * (1.0 + design.landing_loss_fraction), speed * (1.0 + design.landing_loss_fraction)
    return (
        stops[number].escape_speed * (1.0 + design.landing_loss_fraction),
        stops[number + 1].escape_speed * (1.0 + design.landing_loss_fraction),
    )


@kernel
def size(design: Any, craft: Any, stops: Any, distance: float, surface: bool) -> None:
    """Size the vehicle for the hardest burns, gravity and night of the route.

    Launch and landing are sized with the velocity-change margin on top of their losses and flown without it.
    """
    hops = stops.shape[0] - 1
    launch = landing = gravity = rotation = 0.0
    for number in range(hops):
        up, down = burns_at_the_ends(design, stops, number, surface)
        launch, landing = max(launch, up), max(landing, down)
    for number in range(hops + 1):
        gravity = max(gravity, stops[number].gravity)
        rotation = max(rotation, stops[number].rotation_period)
    night = rotation * (1.0 - design.sunlit_fraction)
    launch *= 1.0 + design.delta_v_margin
    landing *= 1.0 + design.delta_v_margin
    close_craft(design, craft, distance, night, gravity, launch, landing, hops)


@kernel
def fly_hop(
    design: Any, craft: Any, hop: Any, stops: Any, number: int, sun: Any, next_distances: Any, curves: Any,
    dates: Any, frozen: float, surface: bool, state: Any, limits: Any,
) -> float:  # fmt: skip
    """Fly one hop; return the landing date."""
    start = dates[0]
    distance = interpolate(sun[0], sun[1], sun[2], hop.arrival_date)
    hop.power_at_stop = bus_power(design, distance, hop.arrival_date - start)
    if design.refuels > 0.5:
        refuel(design, craft, hop, state, number, sun, dates)
    else:
        hop.ready_date = hop.arrival_date + design.minimum_dwell
        hop.energy = 0.0
    hop.launch_delta_v, hop.landing_delta_v = burns_at_the_ends(design, stops, number, surface)
    if surface:
        hop.departure_date = hop.ready_date
        hop.time_of_flight = ballistic_hop_time_kernel(
            stops[number].mu, stops[number].radius, design.hop_distance
        )
        hop.margin_window = MARGIN_HIGH
        hop.window_slack_d = (dates[1] - hop.ready_date) / DAY
    else:
        depart(design, hop, curves[0], curves[1], curves[2], curves[3], curves[4], curves[5], frozen)
    hop.landing_date = hop.departure_date + hop.time_of_flight
    limits[0], limits[1] = stops[number].gravity, stops[number + 1].gravity
    limits[2] = interpolate(sun[0], sun[1], sun[2], hop.departure_date)
    limits[3] = interpolate(sun[0], sun[1], next_distances, hop.landing_date)
    limits[4], limits[5] = hop.departure_date - start, hop.landing_date - start
    burn(design, craft, hop, state, limits)
    hop.margin_mass = margin(design.launch_mass, craft.start_mass)
    if craft.dry_mass >= LARGE * design.launch_mass:  # no finite mass at all
        hop.margin_mass = MARGIN_LOW
    hop.margin_storage = margin(design.storage_volume, craft.tank_volume)
    hop.margin_time = margin(dates[1] - start, hop.landing_date - start)
    hop.margin_lifetime = min(margin(design.stack_life, state[3]), margin(design.throughput_life, state[2]))
    live = craft.thrust * design.power_per_thrust
    hop.margin_power = power_margin(design, hop.power_at_stop)
    hop.margin_heat = heat_margin(design, craft, distance, hop.arrival_date - start, live)
    for end in range(2):
        power = bus_power(design, limits[2 + end], limits[4 + end])
        hop.margin_power = min(hop.margin_power, power_margin(design, power))
        hop.margin_heat = min(
            hop.margin_heat, heat_margin(design, craft, limits[2 + end], limits[4 + end], live)
        )
    return float(hop.landing_date)


@kernel
def fly_all(
    designs: Any, crafts: Any, hops: Any, stops: Any, first: float, step: float, distances: Any, window_first: Any,
    window_step: float, leaving: Any, arriving: Any, flight: Any, sums: Any, start: float, horizon: float,
    frozen: Any, surface: bool,
) -> None:  # fmt: skip
    """Size and fly every design: fill ``crafts`` (n,) and ``hops`` (n, hops) from ``designs`` (n,)."""
    state = np.zeros(4)
    limits = np.zeros(6)
    dates = (start, horizon)
    for row in range(designs.shape[0]):
        design, craft = designs[row], crafts[row]
        size(design, craft, stops, interpolate(first, step, distances[0], start), surface)
        state[0], state[1], state[2], state[3] = craft.cruise_load, craft.store_load, 0.0, 0.0
        now = start
        for number in range(hops.shape[1]):
            hop = hops[row, number]
            hop.arrival_date = now
            sun = (first, step, distances[number])
            curve = min(number, leaving.shape[0] - 1)
            curves = (
                window_first[curve], window_step, leaving[curve], arriving[curve], flight[curve], sums[curve],
            )  # fmt: skip
            now = fly_hop(
                design, craft, hop, stops, number, sun, distances[number + 1], curves, dates, frozen[number], surface,
                state, limits,
            )  # fmt: skip
