"""Burns, and the margins of thrust, water, power and heat along a hop."""

from __future__ import annotations

from typing import Any

from tradespace.campaign.records import NEVER, margin
from tradespace.physics.compiled import kernel
from tradespace.physics.rocket import propellant_mass_kernel
from tradespace.spacecraft import (
    aged_energy_factor,
    day_and_night_need,
    net_radiator_flux,
    source_power,
    steady_load,
    sun_pointed_power,
    trap_heat,
    waste_heat,
)


@kernel
def cruise_power(design: Any, distance: float, age: float, landings: float) -> float:
    """Power left for propulsion in cruise [W]."""
    need = steady_load(design, distance) - source_power(design, age)
    return max(sun_pointed_power(design, distance, age, landings) - need, 0.0)


@kernel
def cruise_thrust(
    design: Any, craft: Any, distance: float, age: float, landings: float, hours: float
) -> float:
    """Thrust the power allows in cruise [N]; in-flight splitting is also held by the electrolyser's rating and age.

    ``hours`` is the operating time of the electrolyser so far [s].
    """
    power = cruise_power(design, distance, age, landings)
    if design.live_split_fraction > 0.5:
        power = min(power, craft.electrolyser_power) / aged_energy_factor(design, hours)
    return float(min(design.thrust_limit, power / design.power_per_thrust))


@kernel
def power_margin(design: Any, power: float, distance: float, age: float) -> float:
    """Margin of array and source at a stop over what the steady loads need by day and night."""
    source = source_power(design, age)
    load = steady_load(design, distance)
    need = day_and_night_need(design, max(load - source, 0.0)) + min(source, load)
    return margin(power * design.sunlit_fraction + source, need)


@kernel
def heat_margin(
    design: Any, craft: Any, distance: float, age: float, landings: float, hours: float, live: float
) -> float:
    """Radiator capacity over waste heat: at the stop, with the cruise thruster on, and of the cold trap."""
    surplus = cruise_power(
        design, distance, age, landings
    )  # larger than the landed surplus, so this errs on the hot side
    at_stop = mined = 0.0
    if design.refuels > 0.5:
        share = craft.stop_split_energy / craft.energy_per_mined
        at_stop = min(surplus * share, craft.electrolyser_power)
        mined = min(surplus / craft.energy_per_mined, craft.extraction_rate)
    thruster = min(surplus, live)
    split = min(thruster, craft.electrolyser_power) * design.live_split_fraction
    storing = mined * craft.stop_kept_share * design.store_energy
    heat = max(
        waste_heat(design, at_stop, storing, 0.0, hours), waste_heat(design, split, 0.0, thruster, hours)
    )
    warm = max(net_radiator_flux(design, design.radiator_temperature, distance), 0.0)
    cold = max(net_radiator_flux(design, design.cold_trap_temperature, distance), 0.0)
    return min(
        margin(craft.radiator_area * warm, heat), margin(craft.trap_area * cold, mined * trap_heat(design))
    )


@kernel
def thrust_to_land(
    design: Any, craft: Any, distance: float, age: float, landings: float, hours: float
) -> float:
    """Thrust on offer for launch and landing burns [N]."""
    if design.live_hop > 0.5:
        return cruise_thrust(design, craft, distance, age, landings, hours)
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
def burn(design: Any, craft: Any, hop: Any, state: Any, limits: Any, landings: float) -> None:
    """Launch, two cruise burns and landing: fill the masses and the thrust and water margins of the hop.

    ``state`` holds cruise propellant and store propellant on board [kg] and the running totals of the traded
    thruster's propellant [kg], electrolyser hours [s] and thruster hours [s]; ``limits`` holds gravity at both
    stops [m/s2], heliocentric distance at departure and landing [m], and the mission age at both [s].
    """
    store, cruise = design.store_exhaust_velocity, design.exhaust_velocity
    mass = craft.dry_mass + state[0] + state[1]
    hop.departure_mass = mass
    launch = propellant_mass_kernel(mass, hop.launch_delta_v, store)
    offer = thrust_to_land(design, craft, limits[2], limits[4], landings, state[3])
    thrust_margin = margin(offer, design.landing_thrust_to_weight * limits[0] * mass)
    mass -= launch
    spent = 0.0
    longest = 0.0
    for end in range(2):
        speed = hop.v_inf_departure if end == 0 else hop.v_inf_arrival
        used = propellant_mass_kernel(mass, speed * (1.0 + design.delta_v_margin), cruise)
        mass -= used
        spent += used
        thrust = cruise_thrust(design, craft, limits[2 + end], limits[4 + end], landings, state[3])
        duration = min(used * cruise / max(thrust, 1e-9), NEVER)
        longest = max(longest, duration)
        state[3] += duration * design.live_split_fraction
        state[4] += duration
    if spent > 0.0:
        thrust_margin = min(thrust_margin, margin(design.impulsive_burn_limit * hop.time_of_flight, longest))
    offer = thrust_to_land(design, craft, limits[3], limits[5], landings, state[3])
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
        hop.energy += design.store_energy * landing
    hop.energy += split * design.split_energy * aged_energy_factor(design, state[3])
    state[0] = max(state[0] - spent, 0.0)
    state[1] = max(state[1] - launch - landing, 0.0)
    state[2] += spent
    if design.hop_delta_v_capacity <= 0.0:  # on a surface hop the traded engine makes these burns itself
        state[2] += launch + landing
