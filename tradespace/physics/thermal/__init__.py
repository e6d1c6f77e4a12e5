"""Heat: radiators, the sink they look into, and the heaters that keep water from freezing."""

from __future__ import annotations

from tradespace.physics.thermal.insulation import (
    cooling_time,
    cooling_time_kernel,
    freezing_time,
    freezing_time_kernel,
    heater_power,
    heater_power_kernel,
)
from tradespace.physics.thermal.radiator import (
    radiator_area,
    radiator_area_kernel,
    radiator_flux,
    radiator_flux_kernel,
)
from tradespace.physics.thermal.sink import (
    ground_view_factor,
    ground_view_factor_kernel,
    panel_flux,
    panel_flux_kernel,
    sink_temperature,
    sink_temperature_kernel,
    sphere_view_factor,
    sphere_view_factor_kernel,
)

__all__ = [
    "cooling_time",
    "cooling_time_kernel",
    "freezing_time",
    "freezing_time_kernel",
    "ground_view_factor",
    "ground_view_factor_kernel",
    "heater_power",
    "heater_power_kernel",
    "panel_flux",
    "panel_flux_kernel",
    "radiator_area",
    "radiator_area_kernel",
    "radiator_flux",
    "radiator_flux_kernel",
    "sink_temperature",
    "sink_temperature_kernel",
    "sphere_view_factor",
    "sphere_view_factor_kernel",
]
