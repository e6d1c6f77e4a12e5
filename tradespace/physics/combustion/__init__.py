"""Hydrogen and oxygen in a chamber and nozzle: look-ups in the shipped equilibrium tables.

Reactants enter as gases at 298.15 K, dry or with water vapour. Ideal means one-dimensional, adiabatic but for
a stated loss to the walls, infinite-area chamber, gas phase only; ``equilibrium`` lets the composition shift
on the way out, ``frozen`` keeps it as it left the chamber, ``throat_frozen`` shifts it to the throat and keeps
it after. Small engines deliver less than the frozen value: see :func:`delivered_performance_factor`.

Caution: hydrogen with oxygen burns and detonates, and oxygen under pressure sets metals alight. These numbers
are for concept studies; local codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.physics.combustion.chamber import (
    KINDS,
    chamber_temperature,
    characteristic_velocity,
    heat_capacity_ratio,
    isentropic_exponent,
    molar_mass,
)
from tradespace.physics.combustion.delivery import DELIVERY, delivered_performance_factor
from tradespace.physics.combustion.engine import chamber_state
from tradespace.physics.combustion.expansion import (
    between_kernel,
    characteristic_velocity_kernel,
    recombined_specific_impulse,
    specific_impulse_vacuum,
    specific_impulse_vacuum_kernel,
)
from tradespace.physics.combustion.feed import (
    elemental_mixture_ratio,
    enthalpy_deficit,
    liquid_feed_loss,
    liquid_feed_loss_kernel,
    liquid_performance,
    saturated_humidity,
    saturated_humidity_kernel,
    vapour_penalty,
)
from tradespace.physics.combustion.flame import laminar_flame_speed
from tradespace.physics.combustion.live import (
    burst_share,
    delivered_share,
    delivered_share_slope,
    ignition_life,
    live_thrust,
)
from tradespace.physics.combustion.water_use import (
    EXCESS,
    propellant_specific_impulse,
    water_per_propellant,
    water_per_propellant_kernel,
    water_share_burned,
    water_share_burned_kernel,
    water_specific_impulse,
    water_specific_impulse_kernel,
)
from tradespace.physics.combustion_table import CombustionTables, combustion_tables

__all__ = [
    "DELIVERY",
    "EXCESS",
    "KINDS",
    "CombustionTables",
    "between_kernel",
    "burst_share",
    "chamber_state",
    "chamber_temperature",
    "characteristic_velocity",
    "characteristic_velocity_kernel",
    "combustion_tables",
    "delivered_performance_factor",
    "delivered_share",
    "delivered_share_slope",
    "elemental_mixture_ratio",
    "enthalpy_deficit",
    "heat_capacity_ratio",
    "ignition_life",
    "isentropic_exponent",
    "laminar_flame_speed",
    "liquid_feed_loss",
    "liquid_feed_loss_kernel",
    "liquid_performance",
    "live_thrust",
    "molar_mass",
    "propellant_specific_impulse",
    "recombined_specific_impulse",
    "saturated_humidity",
    "saturated_humidity_kernel",
    "specific_impulse_vacuum",
    "specific_impulse_vacuum_kernel",
    "vapour_penalty",
    "water_per_propellant",
    "water_per_propellant_kernel",
    "water_share_burned",
    "water_share_burned_kernel",
    "water_specific_impulse",
    "water_specific_impulse_kernel",
]
