"""The electrolyser of one design: voltage, energy, heat, ageing and mass per power."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.physics.electrolysis import cell_kernel, efficiency_hhv_kernel, split_energy_kernel


@kernel
def fill_cell(
    design: Any,
    cell: Any,
    current_density: float,
    temperature: float,
    pressure: float,
    given_efficiency: float,
    areal: float,
    ageing_rate: float,
) -> None:
    """Fill voltage, efficiency, energy, heat, ageing and mass per power of the new electrolyser of one design.

    A given stack efficiency (not NaN) replaces the polarisation curve: the voltage is the one that the efficiency
    implies at the Faradaic efficiency of that current density. Heat that the cell lacks is made from electricity,
    and counts in the efficiency.
    """
    voltage, faradaic, rejected, supplied, impurity, _ = cell_kernel(
        cell, current_density, temperature, pressure
    )
    if given_efficiency > 0.0:
        neutral = (1.0 - rejected + supplied) * voltage
        voltage = voltage * efficiency_hhv_kernel(voltage, faradaic) / given_efficiency
        rejected, supplied = max(1.0 - neutral / voltage, 0.0), 0.0
    plant = 1.0 + design.balance_of_plant_fraction + supplied
    design.cell_voltage = voltage
    design.stack_efficiency = efficiency_hhv_kernel(voltage, faradaic) / (1.0 + supplied)
    design.split_energy = split_energy_kernel(voltage, faradaic) * plant
    design.cell_heat_fraction = (rejected + design.balance_of_plant_fraction) / plant
    design.cell_heat_supplied = supplied
    design.cell_ageing = ageing_rate / voltage
    design.hydrogen_in_oxygen = impurity
    design.stack_mass_per_power = areal / (voltage * current_density)


@kernel
def fill_cells(
    designs: Any,
    cells: Any,
    current_density: Any,
    temperature: Any,
    pressure: Any,
    given_efficiency: Any,
    areal: Any,
    ageing_rate: Any,
) -> None:
    """Fill the electrolyser of every design; arrays of shape (n,), cells of shape (n,) or one cell for all."""
    for row in range(designs.shape[0]):
        fill_cell(
            designs[row],
            cells[row if cells.shape[0] > 1 else 0],
            current_density[row],
            temperature[row],
            pressure[row],
            given_efficiency[row],
            areal[row],
            ageing_rate[row],
        )


@kernel
def aged_energy_factor(design: Any, operating_time: float) -> float:
    """Energy to split a kilogram with a stack of that operating time [s], over that of a new one [1].

    What the voltage has risen warms the cell, so a cell that lacks heat needs that much less of its heater.
    """
    rise = design.cell_ageing * operating_time
    stack = (1.0 + rise) * (1.0 + design.balance_of_plant_fraction)
    new = 1.0 + design.balance_of_plant_fraction + design.cell_heat_supplied
    return float((stack + max(design.cell_heat_supplied - rise, 0.0)) / new)


@kernel
def aged_heat_fraction(design: Any, operating_time: float) -> float:
    """Share of the electrolyser's power that leaves as heat after that operating time [s] [1].

    All that an aged stack draws beyond a new one is heat, once it needs no heater.
    """
    rise = design.cell_ageing * operating_time
    plant = 1.0 + design.balance_of_plant_fraction + design.cell_heat_supplied
    more = max(rise - design.cell_heat_supplied, 0.0) + design.balance_of_plant_fraction * rise
    drawn = plant * aged_energy_factor(design, operating_time)
    return float((design.cell_heat_fraction * plant + more) / drawn)
