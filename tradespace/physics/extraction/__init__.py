"""Getting water out of icy soil or hydrated rock: ideal heat per kilogram of water, and the energy it takes.

Water baked out of rock carries acid and toxic gases, and steam in a closed vessel is under pressure: these
functions size concepts, and a design defers to local pressure-vessel codes and licensed practice.
"""

from __future__ import annotations

from tradespace.physics.extraction.hydrated import (
    bound_water_heat,
    hydrated_mineral_heat,
    hydrated_mineral_heat_kernel,
)
from tradespace.physics.extraction.plant import (
    batch_energy,
    cold_trap_heat,
    cold_trap_heat_kernel,
    distillation_energy,
    distillation_energy_kernel,
    energies_by_scale,
    energy_of_yield,
    water_energy,
    water_energy_kernel,
)
from tradespace.physics.extraction.regolith import (
    extraction_energy,
    extraction_energy_kernel,
    icy_regolith_heat,
    icy_regolith_heat_kernel,
    icy_regolith_melting_heat,
    icy_regolith_melting_heat_kernel,
    regolith_heat,
    regolith_heat_kernel,
)

__all__ = [
    "batch_energy",
    "bound_water_heat",
    "cold_trap_heat",
    "cold_trap_heat_kernel",
    "distillation_energy",
    "distillation_energy_kernel",
    "energies_by_scale",
    "energy_of_yield",
    "extraction_energy",
    "extraction_energy_kernel",
    "hydrated_mineral_heat",
    "hydrated_mineral_heat_kernel",
    "icy_regolith_heat",
    "icy_regolith_heat_kernel",
    "icy_regolith_melting_heat",
    "icy_regolith_melting_heat_kernel",
    "regolith_heat",
    "regolith_heat_kernel",
    "water_energy",
    "water_energy_kernel",
]
