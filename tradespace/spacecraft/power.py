"""Power of the array and of a source that needs no Sun, and the loads that come before refuelling."""

from __future__ import annotations

import math
from typing import Any

from tradespace.physics.compiled import inlined, kernel
from tradespace.physics.sunlight import (
    dust_factor_kernel,
    faded_kernel,
    fixed_source_power_kernel,
    new_power_density_kernel,
    solar_flux_kernel,
)
from tradespace.physics.thermal import heater_power_kernel


@kernel
def at_distance(design: Any, distance: float) -> float:
    """Distance from the Sun that counts [m]: the body's, or the constant one that a study gives instead."""
    return float(distance if math.isnan(design.sun_distance) else design.sun_distance)


@kernel
def array_density(design: Any, distance: float) -> float:
    """Power per area of the new array square to the Sun [W/m2], at a heliocentric distance [m]."""
    density: float = new_power_density_kernel(
        at_distance(design, distance),
        design.array_efficiency,
        design.array_reference_temperature,
        design.array_temperature_coefficient,
        design.array_absorptivity,
        design.array_emissivity,
        design.low_intensity_loss,
    )
    return density


@kernel
def array_left(design: Any, mission_age: float) -> float:
    """Share of its power that the array has left at an age of the mission [s] [1]."""
    left: float = faded_kernel(design.array_fading, design.array_age + mission_age)
    return left


@kernel
def clean_area(design: Any, landings: float) -> float:
    """Area of the array times what dust and conversion leave of its power [m2].

    ``landings`` counts those that have dusted the array, the one on the start body among them.
    """
    dust: float = dust_factor_kernel(landings, design.dust_loss_per_landing)
    return float(design.array_area * design.power_conversion_efficiency * dust)


@kernel
def pointed_power(design: Any, density: float, mission_age: float, landings: float) -> float:
    """Power at the bus with the array square to the Sun [W], where the new array has a density [W/m2]."""
    return density * array_left(design, mission_age) * clean_area(design, landings)


@kernel
def sun_pointed_power(design: Any, distance: float, mission_age: float, landings: float) -> float:
    """Power at the bus with the array square to the Sun [W], at a heliocentric distance [m] and mission age [s]."""
    return pointed_power(design, array_density(design, distance), mission_age, landings)


@kernel
def bus_power(design: Any, distance: float, mission_age: float, landings: float) -> float:
    """Power at the bus of a landed craft while the Sun is up [W]: the array follows the Sun less well there."""
    return sun_pointed_power(design, distance, mission_age, landings) * float(design.pointing_factor)


@kernel
def source_power(design: Any, mission_age: float) -> float:
    """Power of the source that needs no Sun, day and night [W]; zero where there is none."""
    if design.fixed_source_power <= 0.0:
        return 0.0
    return float(
        fixed_source_power_kernel(design.fixed_source_power, mission_age, design.fixed_source_half_life)
    )


@kernel
def plain_load(design: Any) -> float:
    """Payload and keep-alive power, day and night [W]."""
    return float(design.payload_power + design.keep_alive_power)


@kernel
def heater_load(design: Any, distance: float) -> float:
    """Heater power that keeps water from freezing, day and night [W]; it grows with distance from the Sun [m]."""
    warm: float = heater_power_kernel(
        design.heated_area,
        design.hold_temperature,
        design.insulation_emissivity,
        design.insulation_absorptivity,
        design.insulation_outer_emissivity,
        at_distance(design, distance),
        design.sunlit_fraction,
        0.0,
        design.heat_recovery_fraction * plain_load(design),
    )
    return warm


@kernel
def steady_load(design: Any, distance: float) -> float:
    """Payload, keep-alive and heater power, day and night [W], at a distance from the Sun [m]."""
    return plain_load(design) + heater_load(design, distance)


@kernel
def cruise_surplus(design: Any, pointed: float, distance: float, age: float) -> float:
    """Power left for propulsion in cruise [W] of that of the array square to the Sun."""
    need = steady_load(design, distance) - source_power(design, age)
    return float(max(pointed - need, 0.0))


@kernel
def cruise_power(design: Any, distance: float, age: float, landings: float) -> float:
    """Power left for propulsion in cruise [W]."""
    return cruise_surplus(design, sun_pointed_power(design, distance, age, landings), distance, age)


@inlined
def propulsion_power(design: Any, pointed: float, distance: float, age: float) -> float:
    """Live power on offer to the cruise thruster [W]: electricity, or the sunlight of its own mirror.

    ``pointed`` is the power of the array square to the Sun [W].
    """
    if design.collector_area > 0.0:
        return float(solar_flux_kernel(at_distance(design, distance)) * design.collector_area)
    return cruise_surplus(design, pointed, distance, age)


@kernel
def thrust_of_power(design: Any, power: float) -> float:
    """Thrust that live power gives [N], within the thruster's limits; none below its least power or least flow.

    Below the power of the start the set runs at part load.
    """
    if power < design.least_power:
        return 0.0
    thrust = power / design.power_per_thrust
    if design.throttle_exponent > 0.0 and power < design.reference_power:
        thrust *= (power / design.reference_power) ** design.throttle_exponent
    thrust = min(design.thrust_limit, thrust)
    if thrust < design.least_flow * design.jet_velocity:
        return 0.0
    return float(thrust)


@kernel
def day_and_night_need(design: Any, need: float) -> float:
    """Mean bus power a steady need takes on a rotating body, battery losses included [W].

    A need below zero is a surplus of the source that needs no Sun; it passes through no battery.
    """
    if need <= 0.0:
        return need
    sunlit = design.sunlit_fraction
    return float(need * (sunlit + (1.0 - sunlit) / design.battery_efficiency))


@kernel
def refuelling_power(design: Any, power: float, need: float) -> float:
    """Day-and-night mean power left for refuelling when the sunlit bus power is ``power`` [W].

    ``need`` is the steady load less the source that needs no Sun [W].
    """
    return float(max(power * design.sunlit_fraction - day_and_night_need(design, need), 0.0))


@kernel
def plant_ceiling(design: Any, rating: float, need: float) -> float:
    """Largest day-and-night mean power the plants can use [W]: their rating by day, the source's surplus by night."""
    return float(
        rating * design.sunlit_fraction + min(rating, max(-need, 0.0)) * (1.0 - design.sunlit_fraction)
    )
