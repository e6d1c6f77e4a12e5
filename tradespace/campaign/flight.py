"""Burns, and the margins of thrust, water, power and heat along a hop."""

from __future__ import annotations

from typing import Any

from tradespace.campaign.records import IMPULSIVE, MARGIN_HIGH, NEVER, SPIRAL, SPREAD, SUN, margin
from tradespace.campaign.stop import unusable_share
from tradespace.physics.compiled import inlined, kernel
from tradespace.physics.rocket import propellant_mass_kernel
from tradespace.physics.transfer import (
    ballistic_hop_elevation_kernel,
    ballistic_hop_speed_kernel,
    landing_delta_v_kernel,
    orbit_capture_kernel,
    orbit_end_kernel,
    powered_hop_loss_kernel,
    spread_burn_factor_kernel,
    spread_burn_margin_kernel,
    thrust_limited_leg_kernel,
)
from tradespace.spacecraft import (
    aged_energy_factor,
    cruise_surplus,
    day_and_night_need,
    net_radiator_flux,
    plain_load,
    propulsion_power,
    source_power,
    steady_load,
    thrust_of_power,
    waste_heat,
)

WITHOUT_WEIGHT = 1e9
"""Thrust over weight of a burn that loses nothing to gravity [1]."""


@inlined
def burns_at_the_ends(
    design: Any, here: Any, there: Any, surface: bool, climb: float, descent: float
) -> tuple[float, float]:
    """Velocity changes of the launch and landing burns of a hop, losses included [m/s].

    ``climb`` and ``descent`` are the thrust over the local weight in either burn: gravity takes its share of both.
    A parking orbit has neither. A study may leave the gravity losses out.
    """
    steering = 1.0 + design.landing_loss_fraction
    if design.gravity_losses < 0.5:
        climb = descent = WITHOUT_WEIGHT
    if surface:
        speed = ballistic_hop_speed_kernel(here.mu, here.radius, design.hop_distance) * steering
        angle = ballistic_hop_elevation_kernel(here.radius, design.hop_distance)
        return (
            speed * (1.0 + powered_hop_loss_kernel(climb, angle)),
            speed * (1.0 + powered_hop_loss_kernel(descent, angle)),
        )
    up = down = 0.0
    if here.mu > 0.0:
        up = steering * landing_delta_v_kernel(here.mu, here.radius, 0.0, climb)
    if there.mu > 0.0:
        down = steering * landing_delta_v_kernel(there.mu, there.radius, 0.0, descent)
    return up, down


@kernel
def cruise_thrust(
    design: Any, craft: Any, pointed: float, distance: float, age: float, hours: float
) -> float:
    """Thrust the power allows in cruise [N]; in-flight splitting is also held by the electrolyser's rating and age.

    ``pointed`` is the power of the array square to the Sun [W], ``hours`` the operating time of the electrolyser so
    far [s].
    """
    power = min(propulsion_power(design, pointed, distance, age), craft.live_rating)
    share = design.split_power_share
    if share > 0.0:
        power = min(power, craft.electrolyser_power / share)
        power /= 1.0 - share + share * aged_energy_factor(design, hours)
    return thrust_of_power(design, power)


@kernel
def mean_need(design: Any, load: float, source: float) -> float:
    """Day-and-night mean power that a steady load takes of array and source [W], battery losses included."""
    return float(day_and_night_need(design, max(load - source, 0.0)) + min(source, load))


@inlined
def power_margins(design: Any, power: float, distance: float, age: float) -> tuple[float, float]:
    """Margins of array and source over payload and keep-alive, and of what they leave over the heaters.

    The second one is that of freezing: when it falls below zero, the water cannot be kept liquid.
    """
    source = source_power(design, age)
    plain = mean_need(design, plain_load(design), source)
    warm = mean_need(design, steady_load(design, distance), source) - plain
    offer = power * design.sunlit_fraction + source
    return margin(offer, plain), margin(max(offer - plain, 0.0), warm)


@inlined
def heat_margin(
    design: Any, craft: Any, pointed: float, distance: float, age: float, hot: float, trapped: float
) -> float:
    """Radiator capacity over waste heat: at the stop, with the cruise thruster on, and of the cold trap.

    ``pointed`` is the power of the array square to the Sun [W], ``hot`` the :func:`aged_heat_fraction` of the stack and
    ``trapped`` the :func:`trap_heat`.
    """
    surplus = cruise_surplus(design, pointed, distance, age)  # more than the landed one: errs on the hot side
    at_stop = mined = 0.0
    if design.refuels > 0.5:
        share = craft.stop_split_energy / craft.energy_per_mined
        at_stop = min(surplus * share, craft.electrolyser_power)
        mined = min(surplus / craft.energy_per_mined, craft.extraction_rate)
    thruster = min(surplus, craft.live_rating)
    split = min(thruster * design.split_power_share, craft.electrolyser_power)
    if design.collector_area > 0.0:  # sunlight that never comes on board as heat
        thruster = 0.0
    storing = mined * craft.stop_storing_heat
    heat = max(waste_heat(design, at_stop, storing, 0.0, hot), waste_heat(design, split, 0.0, thruster, hot))
    warm = max(net_radiator_flux(design, design.radiator_temperature, distance), 0.0)
    cold = max(net_radiator_flux(design, design.cold_trap_temperature, distance), 0.0)
    return min(margin(craft.radiator_area * warm, heat), margin(craft.trap_area * cold, mined * trapped))


@kernel
def thrust_to_land(
    design: Any, craft: Any, pointed: float, distance: float, age: float, hours: float
) -> float:
    """Thrust on offer for launch and landing burns [N]; ``pointed`` as for :func:`cruise_thrust`."""
    if design.live_hop > 0.5:
        return cruise_thrust(design, craft, pointed, distance, age, hours)
    return float(min(design.store_thrust_limit, craft.landing_thrust))


@kernel
def thrust_to_weight(design: Any, craft: Any, gravity: float, mass: float) -> float:
    """Thrust of the launch and landing engines over the weight of a mass [1].

    For a cruise thruster that has to do it itself the ratio it is sized for stands in; its real thrust is judged by
    the margin of thrust.
    """
    if design.live_hop > 0.5:
        return float(design.landing_engine_thrust_to_weight)
    offer = min(design.store_thrust_limit, craft.landing_thrust)
    return float(offer / max(gravity * mass, 1e-9))


@kernel
def end_speed(design: Any, stop: Any, excess: float, acceleration: float, arriving: bool) -> float:
    """Burn at one end of a leg around the Sun [m/s]: all of the excess speed, or less where a planet's pull helps."""
    if stop.orbit_mu > 0.0 and arriving:
        return float(orbit_capture_kernel(stop.orbit_mu, stop.orbit_radius, excess, acceleration))
    if stop.orbit_mu > 0.0:
        return float(
            orbit_end_kernel(stop.orbit_mu, stop.orbit_radius, excess, acceleration, design.exhaust_velocity)
        )
    return excess


@kernel
def both_burns(
    design: Any, mass: float, first: float, second: float, thrust: float, late_thrust: float
) -> tuple[float, float, float, float]:
    """What two cruise burns of a leg draw [kg] and how long they last [s], margin on top, one after the other."""
    stretch = 1.0 + design.delta_v_margin
    left = 1.0 - design.kept_share
    one = propellant_mass_kernel(mass, first * stretch, design.exhaust_velocity)
    two = propellant_mass_kernel(mass - one, second * stretch, design.exhaust_velocity)
    return (
        one / left,
        two / left,
        min(one * design.exhaust_velocity / max(thrust, 1e-9), NEVER),
        min(two * design.exhaust_velocity / max(late_thrust, 1e-9), NEVER),
    )


@inlined
def price(
    design: Any,
    hop: Any,
    here: Any,
    there: Any,
    leg: Any,
    mass: float,
    thrust: float,
    late_thrust: float,
    limits: Any,
) -> tuple[float, tuple[float, float, float, float]]:
    """Fill the cruise burns of a hop as this craft flies them; margin of its thrust, and :func:`both_burns` of them.

    On a leg around the Sun burns that take time are centred on their dates: the craft starts half of the first burn
    before and arrives half of the second one after, and pays for the arc it thrusts along. Thrust that is too low for
    the flight time has a negative margin. A leg within the system of one planet goes over from two short burns into a
    slow spiral.
    """
    first, second = hop.v_inf_departure, hop.v_inf_arrival
    hop.pricing = IMPULSIVE
    if first + second <= 0.0:
        hop.departure_delta_v = hop.arrival_delta_v = 0.0
        return MARGIN_HIGH, (0.0, 0.0, 0.0, 0.0)
    if leg.within > 0.5:
        first, second, time, longest = thrust_limited_leg_kernel(
            leg.mu,
            leg.first_radius,
            leg.second_radius,
            leg.plane_angle,
            thrust / mass,
            design.exhaust_velocity,
        )
        hop.departure_delta_v, hop.arrival_delta_v, hop.time_of_flight = first, second, min(time, NEVER)
        if longest > design.impulsive_burn_limit * time:
            hop.pricing = SPIRAL
        return MARGIN_HIGH, both_burns(design, mass, first, second, thrust, late_thrust)
    first = end_speed(design, here, first, thrust / mass, False)
    second = end_speed(design, there, second, late_thrust / mass, True)
    _, _, one, two = both_burns(design, mass, first, second, thrust, late_thrust)
    early, late, flight = one, two, hop.window_flight
    factor = spread_burn_factor_kernel(SUN, first, second, one, two, flight, limits[0], limits[1])
    first, second = factor * first, factor * second
    hop.departure_delta_v, hop.arrival_delta_v = first, second
    burns = both_burns(design, mass, first, second, thrust, late_thrust)
    if max(burns[2], burns[3]) > design.impulsive_burn_limit * flight:
        hop.pricing = SPREAD
    return margin(spread_burn_margin_kernel(early, late, flight), 1.0), burns


@inlined
def book_landing(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, state: Any, launch: float, landing: float, mass: float
) -> None:  # fmt: skip
    """Wear of the engines that launch and land; a cruise thruster that does it itself also draws live power for it.

    ``mass`` is that before the landing burn [kg]. A thrust below weight has a margin of its own; here the least thrust
    to weight that the craft is built for stands in, so that it does not count as wear.
    """
    drawn = launch + landing
    if drawn <= 0.0:
        return
    speed = design.store_exhaust_velocity * (1.0 - design.store_kept_share)
    hours = 0.0
    for end in range(2):
        gravity, weighing = (here.gravity, hop.departure_mass) if end == 0 else (there.gravity, mass)
        thrust = thrust_to_weight(design, craft, gravity, weighing) * gravity * weighing
        hours += min((launch if end == 0 else landing) * speed / max(thrust, 1e-9), NEVER)
    if design.live_hop < 0.5:
        state.landing_ignitions += max(2.0, drawn / design.store_charge)
        state.landing_throughput += drawn
        state.landing_hours += hours
        return
    state.ignitions += max(2.0, drawn / design.charge)
    state.throughput += drawn
    state.burn_hours += hours
    state.cell_hours += hours * design.live_split_fraction
    split = design.live_split_fraction * design.split_energy * aged_energy_factor(design, state.cell_hours)
    hop.energy += drawn * (split + design.live_energy)


@inlined
def burn(
    design: Any, craft: Any, hop: Any, here: Any, there: Any, leg: Any, state: Any, limits: Any, surface: bool
) -> None:
    """Launch, two cruise burns and landing: fill the masses and the thrust and water margins of the hop.

    ``limits`` holds the heliocentric distance at departure and landing [m], the mission age at both [s], and the power
    of the array square to the Sun at both, with the dust of the departure [W].
    """
    store = design.store_exhaust_velocity
    mass = craft.dry_mass + state.cruise + state.store
    hop.departure_mass = mass
    hop.propellant_loaded = state.cruise + state.store
    launch = propellant_mass_kernel(mass, hop.launch_delta_v, store) / (1.0 - design.store_kept_share)
    offer = thrust_to_land(design, craft, limits[4], limits[0], limits[2], state.cell_hours)
    thrust_margin = margin(offer, design.landing_thrust_to_weight * here.gravity * mass)
    mass -= launch * (1.0 - design.store_kept_share)
    thrust = cruise_thrust(design, craft, limits[4], limits[0], limits[2], state.cell_hours)
    late_thrust = cruise_thrust(design, craft, limits[5], limits[1], limits[3], state.cell_hours)
    cruise_margin, burns = price(design, hop, here, there, leg, mass, thrust, late_thrust, limits)
    one, two, early, late = burns
    spent = one + two
    mass -= spent * (1.0 - design.kept_share)
    hop.burn_time = max(early, late)
    hop.delta_v = (hop.departure_delta_v + hop.arrival_delta_v) * (1.0 + design.delta_v_margin)
    state.cell_hours += (early + late) * design.live_split_fraction
    state.burn_hours += early + late
    offer = thrust_to_land(design, craft, limits[5], limits[1], limits[3], state.cell_hours)
    thrust_margin = min(thrust_margin, margin(offer, design.landing_thrust_to_weight * there.gravity * mass))
    landing = propellant_mass_kernel(mass, hop.landing_delta_v, store) / (1.0 - design.store_kept_share)
    book_landing(design, craft, hop, here, there, state, launch, landing, mass)
    hop.margin_thrust = min(thrust_margin, cruise_margin)
    unusable = unusable_share(design)
    if design.refuels > 0.5:
        usable = state.cruise + state.store - unusable * state.filled
        hop.margin_water = margin(usable, spent + launch + landing)
    else:
        hop.margin_water = min(
            margin(state.cruise - unusable * craft.cruise_load, spent),
            margin(state.store - unusable * craft.store_load, launch + landing),
        )
    hop.propellant_used = spent + launch + landing
    split = design.live_split_fraction * spent
    if not surface and design.stop_split_fraction < 0.5:  # elsewhere the landing gas was made before launch
        split += design.store_split_fraction * landing
        hop.energy += design.store_energy * landing
    hop.energy += split * design.split_energy * aged_energy_factor(design, state.cell_hours)
    hop.energy += spent * design.live_energy
    left = max(state.cruise + state.store - hop.propellant_used, 0.0)
    state.cruise = max(state.cruise - spent, 0.0)
    state.store = max(state.store - launch - landing, 0.0)
    if design.refuels > 0.5:  # both are made from the same water, so what one lacks the other gives
        state.cruise = min(state.cruise, left)
        state.store = left - state.cruise
    state.throughput += spent
    state.ignitions += max(2.0, spent / design.charge) if spent > 0.0 else 0.0
