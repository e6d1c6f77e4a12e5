"""Power, thrust and mined water of any thruster: energy identities, and the bounds no model may pass.

Two energies are kept apart. The *feed energy* goes into each kilogram of water before the thruster (splitting,
heating, liquefying). The *jet energy* is put into the exhaust by live power at a thrust efficiency; thermal and
chemical engines take theirs from the feed and have none of it.
"""

from tradespace.physics.electric.jets import (
    bounded_exhaust_velocity_kernel,
    exhaust_velocity_bound,
    jet_power,
    power_per_thrust,
    power_per_thrust_kernel,
    unlit_exhaust_velocity_bound,
)
from tradespace.physics.electric.losses import (
    loss_energy,
    throttle_slope,
    throttle_slope_kernel,
    thrust_efficiency,
    thrust_efficiency_kernel,
    unit_efficiency,
    unit_efficiency_kernel,
)
from tradespace.physics.electric.mined import (
    break_even_water_energy,
    break_even_water_energy_kernel,
    cheapest_exhaust_velocity,
    cheapest_exhaust_velocity_kernel,
    energy_per_dry_mass,
    hydrogen_specific_impulse_needed,
    mined_water_budget,
    mined_water_budget_kernel,
    split_specific_impulse,
    thrust_per_power,
)
from tradespace.physics.electric.pulses import (
    erosion_throughput,
    erosion_throughput_kernel,
    fixed_impulse_efficiency,
    fixed_impulse_efficiency_kernel,
    impulse_bit,
    impulse_bit_kernel,
    pulse_mass,
    pulse_mass_kernel,
)

__all__ = [
    "bounded_exhaust_velocity_kernel",
    "break_even_water_energy",
    "break_even_water_energy_kernel",
    "cheapest_exhaust_velocity",
    "cheapest_exhaust_velocity_kernel",
    "energy_per_dry_mass",
    "erosion_throughput",
    "erosion_throughput_kernel",
    "exhaust_velocity_bound",
    "fixed_impulse_efficiency",
    "fixed_impulse_efficiency_kernel",
    "hydrogen_specific_impulse_needed",
    "impulse_bit",
    "impulse_bit_kernel",
    "jet_power",
    "loss_energy",
    "mined_water_budget",
    "mined_water_budget_kernel",
    "power_per_thrust",
    "power_per_thrust_kernel",
    "pulse_mass",
    "pulse_mass_kernel",
    "split_specific_impulse",
    "throttle_slope",
    "throttle_slope_kernel",
    "thrust_efficiency",
    "thrust_efficiency_kernel",
    "thrust_per_power",
    "unit_efficiency",
    "unit_efficiency_kernel",
    "unlit_exhaust_velocity_bound",
]
