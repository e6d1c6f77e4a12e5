"""Sunlight and the solar array: flux, cell temperature, power per area from new to aged, night storage."""

from __future__ import annotations

from tradespace.physics.sunlight.array import (
    area_of_power,
    area_of_power_kernel,
    array_power_density,
    array_power_density_kernel,
    array_temperature,
    array_temperature_kernel,
    life_degradation,
    life_degradation_kernel,
    low_intensity_factor_kernel,
    solar_flux,
    solar_flux_kernel,
)
from tradespace.physics.sunlight.sizing import (
    area_of_load,
    array_output,
    array_output_kernel,
    battery_capacity,
    night_battery_energy,
    night_battery_energy_kernel,
    solar_array_load,
    solar_array_load_kernel,
)

__all__ = [
    "area_of_load",
    "area_of_power",
    "area_of_power_kernel",
    "array_output",
    "array_output_kernel",
    "array_power_density",
    "array_power_density_kernel",
    "array_temperature",
    "array_temperature_kernel",
    "battery_capacity",
    "life_degradation",
    "life_degradation_kernel",
    "low_intensity_factor_kernel",
    "night_battery_energy",
    "night_battery_energy_kernel",
    "solar_array_load",
    "solar_array_load_kernel",
    "solar_flux",
    "solar_flux_kernel",
]
