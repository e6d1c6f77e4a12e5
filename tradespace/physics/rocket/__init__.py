"""The rocket equation, and the margins reviewers put on masses and velocity changes."""

from tradespace.physics.rocket.burns import (
    burn_time,
    burn_time_kernel,
    delta_v,
    delta_v_kernel,
    exhaust_velocity,
    mass_ratio,
    mass_ratio_kernel,
    propellant_fraction,
    propellant_load,
    propellant_load_kernel,
    propellant_mass,
    propellant_mass_kernel,
)
from tradespace.physics.rocket.margins import (
    delta_v_with_margin,
    delta_v_with_margin_kernel,
    growth_factor,
    growth_factor_kernel,
    growth_factor_of_allocation_margin,
    margin,
    tanker_payload_fraction,
)
from tradespace.physics.rocket.rules import MARGIN_RULES, delta_v_budget, growth_factor_of_rule

__all__ = [
    "MARGIN_RULES",
    "burn_time",
    "burn_time_kernel",
    "delta_v",
    "delta_v_budget",
    "delta_v_kernel",
    "delta_v_with_margin",
    "delta_v_with_margin_kernel",
    "exhaust_velocity",
    "growth_factor",
    "growth_factor_kernel",
    "growth_factor_of_allocation_margin",
    "growth_factor_of_rule",
    "margin",
    "mass_ratio",
    "mass_ratio_kernel",
    "propellant_fraction",
    "propellant_load",
    "propellant_load_kernel",
    "propellant_mass",
    "propellant_mass_kernel",
    "tanker_payload_fraction",
]
