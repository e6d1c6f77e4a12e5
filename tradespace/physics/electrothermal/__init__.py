"""Water heated without burning: steam, its heater, and hydrogen or oxygen alone."""

from tradespace.physics.electrothermal.gases import hydrogen_exhaust_velocity, oxygen_exhaust_velocity
from tradespace.physics.electrothermal.heated import (
    steam_characteristic_velocity,
    steam_condensation,
    steam_energy,
    steam_exhaust_velocity,
    steam_exit_pressure,
    steam_exit_temperature,
    steam_molar_mass,
    steam_water_fraction,
)
from tradespace.physics.electrothermal.heaters import (
    heater_power,
    receiver_efficiency,
    receiver_efficiency_kernel,
    steam_power_per_thrust,
    steam_power_per_thrust_kernel,
)
from tradespace.physics.electrothermal.tables import (
    heated_gas_kernel,
    steam_chamber_kernel,
    steam_condensation_kernel,
    steam_energy_kernel,
    steam_exhaust_velocity_kernel,
    steam_exit_pressure_kernel,
    steam_nozzle_kernel,
)

__all__ = [
    "heated_gas_kernel",
    "heater_power",
    "hydrogen_exhaust_velocity",
    "oxygen_exhaust_velocity",
    "receiver_efficiency",
    "receiver_efficiency_kernel",
    "steam_chamber_kernel",
    "steam_characteristic_velocity",
    "steam_condensation",
    "steam_condensation_kernel",
    "steam_energy",
    "steam_energy_kernel",
    "steam_exhaust_velocity",
    "steam_exhaust_velocity_kernel",
    "steam_exit_pressure",
    "steam_exit_pressure_kernel",
    "steam_exit_temperature",
    "steam_molar_mass",
    "steam_nozzle_kernel",
    "steam_power_per_thrust",
    "steam_power_per_thrust_kernel",
    "steam_water_fraction",
]
