"""The electrolyser of one design: voltage, energy, heat and mass per power."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.physics.electrolysis import (
    alkaline_cell_voltage_kernel,
    efficiency_hhv_kernel,
    faradaic_efficiency_kernel,
    split_energy_kernel,
    waste_heat_fraction_kernel,
)


@kernel
def fill_cell(
    design: Any,
    current_density: float,
    temperature: float,
    pressure: float,
    given_efficiency: float,
    areal: float,
) -> None:
    """Fill voltage, efficiency, energy, heat and mass per power of the electrolyser of one design.

    A given stack efficiency (not NaN) replaces the polarisation curve: the voltage is the one that the efficiency
    implies at the Faradaic efficiency of that current density.
    """
    faradaic = faradaic_efficiency_kernel(current_density)
    voltage = alkaline_cell_voltage_kernel(current_density, temperature, pressure)
    if given_efficiency > 0.0:
        voltage = voltage * efficiency_hhv_kernel(voltage, faradaic) / given_efficiency
    plant = 1.0 + design.balance_of_plant_fraction
    design.cell_voltage = voltage
    design.stack_efficiency = efficiency_hhv_kernel(voltage, faradaic)
    design.split_energy = split_energy_kernel(voltage, faradaic) * plant
    heat = waste_heat_fraction_kernel(voltage, faradaic, temperature)
    design.cell_heat_fraction = (heat + design.balance_of_plant_fraction) / plant
    design.stack_mass_per_power = areal / (voltage * current_density)


@kernel
def fill_cells(
    designs: Any, current_density: Any, temperature: Any, pressure: Any, given_efficiency: Any, areal: Any
) -> None:
    """Fill the electrolyser of every design; arrays of shape (n,)."""
    for row in range(designs.shape[0]):
        fill_cell(
            designs[row],
            current_density[row],
            temperature[row],
            pressure[row],
            given_efficiency[row],
            areal[row],
        )
