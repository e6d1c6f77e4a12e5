"""Water as ice, liquid and vapour: the pressures, densities and heats that several links share."""

from __future__ import annotations

from tradespace.physics.water.ice import (
    ice_density,
    ice_density_kernel,
    ice_heat,
    ice_heat_capacity,
    ice_heat_capacity_kernel,
    ice_heat_kernel,
)
from tradespace.physics.water.liquid import (
    freezing_expansion,
    freezing_expansion_kernel,
    liquid_density,
    liquid_density_kernel,
    liquid_heat,
    liquid_heat_kernel,
    melting_heat,
    melting_heat_kernel,
    vaporisation_heat,
    vaporisation_heat_kernel,
)
from tradespace.physics.water.phases import (
    saturation_pressure,
    saturation_pressure_kernel,
    sublimation_flux,
    sublimation_flux_kernel,
    sublimation_heat,
    sublimation_heat_kernel,
    sublimation_pressure,
    sublimation_pressure_kernel,
)

__all__ = [
    "freezing_expansion",
    "freezing_expansion_kernel",
    "ice_density",
    "ice_density_kernel",
    "ice_heat",
    "ice_heat_capacity",
    "ice_heat_capacity_kernel",
    "ice_heat_kernel",
    "liquid_density",
    "liquid_density_kernel",
    "liquid_heat",
    "liquid_heat_kernel",
    "melting_heat",
    "melting_heat_kernel",
    "saturation_pressure",
    "saturation_pressure_kernel",
    "sublimation_flux",
    "sublimation_flux_kernel",
    "sublimation_heat",
    "sublimation_heat_kernel",
    "sublimation_pressure",
    "sublimation_pressure_kernel",
    "vaporisation_heat",
    "vaporisation_heat_kernel",
]
