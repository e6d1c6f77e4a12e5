"""Power of the array and of a source that needs no Sun, and the loads that come before refuelling."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.physics.sunlight import (
    array_power_density_kernel,
    dust_factor_kernel,
    fixed_source_power_kernel,
)
from tradespace.physics.thermal import heater_power_kernel


@kernel
def sun_pointed_power(design: Any, distance: float, mission_age: float, landings: float) -> float:
    """Power at the bus with the array square to the Sun [W], at a heliocentric distance [m] and mission age [s].

    ``landings`` counts those that have dusted the array, the one on the start body among them.
    """
    density: float = array_power_density_kernel(
        distance,
        design.array_efficiency,
        design.array_reference_temperature,
        design.array_temperature_coefficient,
        design.array_absorptivity,
        design.array_emissivity,
        design.low_intensity_loss,
        design.array_ageing_rate,
        design.array_age + mission_age,
    )
    clean: float = density * design.array_area * design.power_conversion_efficiency
    return clean * dust_factor_kernel(landings, design.dust_loss_per_landing)


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
def steady_load(design: Any, distance: float) -> float:
    """Payload, keep-alive and heater power, day and night [W]; the heaters grow with distance from the Sun [m]."""
    fixed = design.payload_power + design.keep_alive_power
    warm = heater_power_kernel(
        design.heated_area,
        design.hold_temperature,
        design.insulation_emissivity,
        design.insulation_absorptivity,
        design.insulation_outer_emissivity,
        distance,
        design.sunlit_fraction,
        0.0,
        design.heat_recovery_fraction * fixed,
    )
    return float(fixed + warm)


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
