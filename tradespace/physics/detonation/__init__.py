"""Detonation of hydrogen and oxygen: the wave, pulsed and rotating use.

The burned gas leaves the wave at its own speed of sound; states come from a shipped equilibrium table.

Caution: mixed hydrogen and oxygen detonate at the slightest spark, at some twenty times the pressure before;
mixed gas must not be kept. These numbers are for concept studies; local codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.physics.detonation.table import (
    DetonationTables,
    detonation_tables,
)
from tradespace.physics.detonation.tube import (
    least_tube_diameter,
    least_tube_diameter_kernel,
    tube_charge,
    tube_charge_kernel,
)
from tradespace.physics.detonation.use import (
    cell_width_kernel,
    detonable_density_kernel,
    detonation_cell_width,
    plateau_pressure,
    plateau_pressure_kernel,
    pulsed_detonation_impulse,
    pulsed_detonation_kernel,
    pulsed_detonation_specific_impulse,
    rotating_detonation_kernel,
    rotating_detonation_margin,
    rotating_detonation_margin_kernel,
    rotating_detonation_specific_impulse,
)
from tradespace.physics.detonation.wave import (
    detonation_density_ratio,
    detonation_exponent,
    detonation_molar_mass,
    detonation_pressure_ratio,
    detonation_speed,
    detonation_temperature,
    explosion_pressure_ratio,
    explosion_temperature,
)

__all__ = [
    "DetonationTables",
    "cell_width_kernel",
    "detonable_density_kernel",
    "detonation_cell_width",
    "detonation_density_ratio",
    "detonation_exponent",
    "detonation_molar_mass",
    "detonation_pressure_ratio",
    "detonation_speed",
    "detonation_tables",
    "detonation_temperature",
    "explosion_pressure_ratio",
    "explosion_temperature",
    "least_tube_diameter",
    "least_tube_diameter_kernel",
    "plateau_pressure",
    "plateau_pressure_kernel",
    "pulsed_detonation_impulse",
    "pulsed_detonation_kernel",
    "pulsed_detonation_specific_impulse",
    "rotating_detonation_kernel",
    "rotating_detonation_margin",
    "rotating_detonation_margin_kernel",
    "rotating_detonation_specific_impulse",
    "tube_charge",
    "tube_charge_kernel",
]
