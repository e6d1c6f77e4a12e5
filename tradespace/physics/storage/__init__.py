"""Keeping what was made: gas densities, pressure times volume per kilogram, tanks for gas and for hot steam.

Hydrogen, oxygen and hot steam under pressure can kill: oxygen needs clean, compatible hardware, and the two
gases are never kept mixed. These functions size concepts; a design defers to local pressure-vessel codes and
licensed practice.
"""

from __future__ import annotations

from tradespace.physics.storage.gases import (
    hydrogen_compressibility,
    hydrogen_compressibility_kernel,
    hydrogen_density,
    oxygen_compressibility,
    oxygen_compressibility_kernel,
    oxygen_density,
    stored_gas_pv,
    stored_gas_pv_kernel,
    stored_gas_volume,
    stored_gas_volume_kernel,
)
from tradespace.physics.storage.steam import (
    steam_compressibility,
    steam_density,
    steam_density_kernel,
    steam_pv,
    steam_pv_kernel,
)
from tradespace.physics.storage.tanks import (
    gas_tank_factor,
    gas_tank_factor_kernel,
    sphere_tank_mass,
    sphere_tank_mass_kernel,
)

__all__ = [
    "gas_tank_factor",
    "gas_tank_factor_kernel",
    "hydrogen_compressibility",
    "hydrogen_compressibility_kernel",
    "hydrogen_density",
    "oxygen_compressibility",
    "oxygen_compressibility_kernel",
    "oxygen_density",
    "sphere_tank_mass",
    "sphere_tank_mass_kernel",
    "steam_compressibility",
    "steam_density",
    "steam_density_kernel",
    "steam_pv",
    "steam_pv_kernel",
    "stored_gas_pv",
    "stored_gas_pv_kernel",
    "stored_gas_volume",
    "stored_gas_volume_kernel",
]
