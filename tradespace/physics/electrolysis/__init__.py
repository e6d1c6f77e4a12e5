"""Splitting water: voltages, rates by Faraday's law, an alkaline cell, energy and heat per kilogram.

Hydrogen with oxygen burns and detonates over a wide range, hot caustic electrolyte burns skin and eyes, and a
cell under current raises pressure without limit. These functions are for concept studies; a design defers to
local codes and licensed practice.
"""

from __future__ import annotations

from tradespace.physics.electrolysis.cell import (
    alkaline_cell_voltage,
    alkaline_cell_voltage_kernel,
    cell_kinds,
    cell_state,
    faradaic_efficiency,
    faradaic_efficiency_kernel,
    faradaic_share_kernel,
    polarisation_kernel,
    ulleberg_2003,
    ulleberg_2003_kernel,
)
from tradespace.physics.electrolysis.energy import (
    efficiency_hhv,
    efficiency_hhv_kernel,
    split_energy,
    split_energy_kernel,
    waste_heat_fraction,
    waste_heat_fraction_kernel,
)
from tradespace.physics.electrolysis.rates import (
    gas_volume_rate,
    hydrogen_rate,
    hydrogen_volume_rate,
    oxygen_rate,
    water_rate_of_power,
    water_rate_of_power_kernel,
    water_split_rate,
    water_split_rate_kernel,
)
from tradespace.physics.electrolysis.voltage import (
    leroy_1980,
    reversible_voltage,
    reversible_voltage_kernel,
    standard_reversible_voltage,
    standard_reversible_voltage_kernel,
    thermoneutral_voltage,
    thermoneutral_voltage_kernel,
)

__all__ = [
    "alkaline_cell_voltage",
    "alkaline_cell_voltage_kernel",
    "cell_kinds",
    "cell_state",
    "efficiency_hhv",
    "efficiency_hhv_kernel",
    "faradaic_efficiency",
    "faradaic_efficiency_kernel",
    "faradaic_share_kernel",
    "gas_volume_rate",
    "hydrogen_rate",
    "hydrogen_volume_rate",
    "leroy_1980",
    "oxygen_rate",
    "polarisation_kernel",
    "reversible_voltage",
    "reversible_voltage_kernel",
    "split_energy",
    "split_energy_kernel",
    "standard_reversible_voltage",
    "standard_reversible_voltage_kernel",
    "thermoneutral_voltage",
    "thermoneutral_voltage_kernel",
    "ulleberg_2003",
    "ulleberg_2003_kernel",
    "waste_heat_fraction",
    "waste_heat_fraction_kernel",
    "water_rate_of_power",
    "water_rate_of_power_kernel",
    "water_split_rate",
    "water_split_rate_kernel",
]
