"""The compiled cell model: voltage part by part, Faradaic efficiency, heat, gas purity and bypass of any kind."""

from __future__ import annotations

from typing import Any

from tradespace.constants import value
from tradespace.physics.compiled import kernel
from tradespace.physics.electrolysis.bypass import bypass_current_kernel
from tradespace.physics.electrolysis.cell import (
    faradaic_share_kernel,
    fitted_temperature_kernel,
    logarithmic_part_kernel,
)
from tradespace.physics.electrolysis.electrolyte import (
    bubble_factor_kernel,
    electrolyte_conductivity_kernel,
)
from tradespace.physics.electrolysis.kinetics import activation_kernel, arrhenius_kernel, concentration_kernel
from tradespace.physics.electrolysis.lye import water_activity_kernel
from tradespace.physics.electrolysis.membrane import (
    crossover_kernel,
    remaining_share_kernel,
    springer_1991_kernel,
)
from tradespace.physics.electrolysis.record import ALKALINE, COMMON_DUCT, MEMBRANE, SOLID_OXIDE
from tradespace.physics.electrolysis.steam import cold_water_voltage_kernel, steam_cell_voltage_kernel
from tradespace.physics.electrolysis.voltage import (
    nernst_kernel,
    standard_reversible_voltage_kernel,
    thermoneutral_voltage_kernel,
)
from tradespace.physics.water import saturation_pressure_kernel

_COLDEST = value("water_split_lowest_temperature", "physics_values.csv")
_HOTTEST = value("water_split_highest_temperature", "physics_values.csv")
_COLDEST_STEAM = value("steam_split_lowest_temperature", "electrolysis_values.csv")
_HOTTEST_STEAM = value("steam_split_highest_temperature", "electrolysis_values.csv")
_LEAST_CURRENT, _MOST_CURRENT = 1e-3, 1e8  # numeric: A/m2, where logarithms and squares stay finite
_LEAST_PRESSURE, _MOST_PRESSURE = 1e2, 1e10  # numeric: Pa
_MIXED = 2.0 / 3.0  # of hydrogen in dry gas that leaves both electrodes together
_LEAST_SHARE = 1e-6  # numeric floor of an efficiency that is divided by


@kernel
def cell_temperature_kernel(cell: Any, temperature: float) -> float:
    """The temperature inside the range of the thermodynamic fits of the cell's kind [K]."""
    if cell.kind == SOLID_OXIDE:
        return min(max(temperature, _COLDEST_STEAM), _HOTTEST_STEAM)
    return min(max(temperature, _COLDEST), _HOTTEST)


@kernel
def lye_strength_kernel(cell: Any) -> float:
    """Mass fraction of potassium hydroxide in the cell, 0 with any other electrolyte [1]."""
    if cell.electrolyte > 0.5 or cell.kind in (MEMBRANE, SOLID_OXIDE):
        return 0.0
    return float(cell.electrolyte_strength)


@kernel
def cell_reversible_kernel(
    cell: Any, temperature: float, pressure: float, pure_vapour_pressure: float
) -> float:
    """Reversible voltage of the cell [V].

    The fit of the alkaline cell was made with pure water in this term, so the lye enters there only as a change
    from the lye of the fit.
    """
    if cell.kind == SOLID_OXIDE:
        return steam_cell_voltage_kernel(temperature, pressure, cell.steam_utilisation)
    standard = standard_reversible_voltage_kernel(temperature)
    lye = lye_strength_kernel(cell)
    if cell.kind == COMMON_DUCT:
        activity = water_activity_kernel(lye, temperature)
        return standard + nernst_kernel(temperature, pressure, pure_vapour_pressure, activity)
    least = standard + nernst_kernel(temperature, pressure, pure_vapour_pressure, 1.0)
    if cell.kind == MEMBRANE or lye == cell.reference_strength:
        return least
    here = nernst_kernel(temperature, pressure, pure_vapour_pressure, water_activity_kernel(lye, temperature))
    activity = water_activity_kernel(cell.reference_strength, temperature)
    return least + here - nernst_kernel(temperature, pressure, pure_vapour_pressure, activity)


@kernel
def fitted_activation_kernel(cell: Any, current_density: float, temperature: float) -> float:
    """Logarithmic part of the fitted polarisation [V]."""
    t = fitted_temperature_kernel(temperature, cell.lowest_temperature, cell.highest_temperature)
    return float(logarithmic_part_kernel(current_density, t, cell.s, cell.t1, cell.t2, cell.t3))


@kernel
def fitted_resistance_kernel(cell: Any, temperature: float) -> float:
    """Linear part of the fitted polarisation [ohm m2]."""
    t = fitted_temperature_kernel(temperature, cell.lowest_temperature, cell.highest_temperature)
    return float(cell.r1 + cell.r2 * t)


@kernel
def liquid_resistance_kernel(
    electrolyte: float, strength: float, gap: float, void: float, diaphragm: float, temperature: float
) -> float:
    """Resistance of unit area of electrolyte in gap and diaphragm [ohm m2]."""
    conductivity = max(electrolyte_conductivity_kernel(electrolyte, strength, temperature), 1e-9)
    return (max(gap, 0.0) / bubble_factor_kernel(void) + max(diaphragm, 0.0)) / conductivity


@kernel
def cell_resistance_kernel(cell: Any, temperature: float) -> float:
    """Resistance of unit area of the whole cell [ohm m2]."""
    if cell.kind == SOLID_OXIDE:
        energy = -cell.resistance_activation_energy
        return arrhenius_kernel(cell.resistance, energy, cell.reference_temperature, temperature)
    if cell.kind == MEMBRANE:
        conductivity = max(springer_1991_kernel(cell.membrane_water, temperature), 1e-9)
        return float(max(cell.membrane_thickness, 0.0) / conductivity + cell.contact_resistance)
    same = cell.electrolyte_strength == cell.reference_strength and cell.electrode_gap == cell.reference_gap
    if cell.kind == ALKALINE and same and cell.electrolyte < 0.5:
        return fitted_resistance_kernel(cell, temperature)
    here = liquid_resistance_kernel(
        cell.electrolyte, cell.electrolyte_strength, cell.electrode_gap, cell.gas_void_fraction,
        cell.diaphragm_length, temperature,
    )  # fmt: skip
    if cell.kind == COMMON_DUCT:
        return float(here + cell.contact_resistance)
    there = liquid_resistance_kernel(
        0.0,
        cell.reference_strength,
        cell.reference_gap,
        cell.gas_void_fraction,
        cell.diaphragm_length,
        temperature,
    )
    return fitted_resistance_kernel(cell, temperature) + (here - there)


@kernel
def cell_activation_kernel(cell: Any, current_density: float, temperature: float) -> float:
    """Loss at both electrodes [V]; in the solid-oxide cell it is part of the resistance."""
    if cell.kind == SOLID_OXIDE:
        return 0.0
    if cell.kind == ALKALINE:
        return fitted_activation_kernel(cell, current_density, temperature)
    at = cell.reference_temperature
    anode = arrhenius_kernel(
        cell.anode_exchange_current_density, cell.anode_activation_energy, at, temperature
    )
    cathode = arrhenius_kernel(
        cell.cathode_exchange_current_density, cell.cathode_activation_energy, at, temperature
    )
    return activation_kernel(current_density, anode, cell.anode_transfer, temperature) + activation_kernel(
        current_density, cathode, cell.cathode_transfer, temperature
    )


@kernel
def vapour_kernel(cell: Any, temperature: float) -> float:
    """Vapour pressure over pure water in a liquid cell [Pa]; worked out once a point, since it takes longest."""
    return 0.0 if cell.kind == SOLID_OXIDE else saturation_pressure_kernel(temperature)


@kernel
def parts_kernel(
    cell: Any, current_density: float, temperature: float, pressure: float, pure_vapour_pressure: float
) -> tuple[float, float, float, float, float, float]:
    """Parts of the voltage of a point that lies inside the limits of the numbers [V]."""
    return (
        cell_reversible_kernel(cell, temperature, pressure, pure_vapour_pressure),
        cell.activation_factor * cell_activation_kernel(cell, current_density, temperature),
        cell.ohmic_factor * current_density * max(cell_resistance_kernel(cell, temperature), 0.0),
        concentration_kernel(current_density, cell.limiting_current_density, temperature),
        float(cell.microgravity_overvoltage),
        float(cell.ageing_rate * cell.operating_time),
    )


@kernel
def cell_parts_kernel(
    cell: Any, current_density: float, temperature: float, pressure: float
) -> tuple[float, float, float, float, float, float]:
    """Reversible voltage, activation, ohmic, concentration, microgravity and ageing parts [V]."""
    i = min(max(current_density, _LEAST_CURRENT), _MOST_CURRENT)
    p = min(max(pressure, _LEAST_PRESSURE), _MOST_PRESSURE)
    t = cell_temperature_kernel(cell, temperature)
    return parts_kernel(cell, i, t, p, vapour_kernel(cell, t))


@kernel
def cell_crossover_kernel(
    cell: Any, current_density: float, temperature: float, pressure: float, pure_vapour_pressure: float
) -> tuple[float, float]:
    """Current density lost to both gases crossing over [A m-2] and molar share of hydrogen in the oxygen [1]."""
    if cell.hydrogen_permeability <= 0.0:
        return 0.0, 0.0
    thickness = cell.membrane_thickness if cell.kind == MEMBRANE else cell.crossover_thickness
    activity = 1.0 if cell.kind == MEMBRANE else water_activity_kernel(lye_strength_kernel(cell), temperature)
    dry = max(pressure - activity * pure_vapour_pressure, 0.0)
    at, energy = cell.permeability_reference_temperature, cell.permeability_activation_energy
    faster = arrhenius_kernel(1.0, energy, at, temperature)
    driving = dry + cell.supersaturation * current_density
    hydrogen = crossover_kernel(driving, faster * cell.hydrogen_permeability, thickness, 2.0)
    oxygen = crossover_kernel(dry, faster * cell.oxygen_permeability, thickness, 4.0)
    share = 2.0 * hydrogen / (2.0 * hydrogen + max(current_density, _LEAST_CURRENT))
    return hydrogen + oxygen, share


@kernel
def cell_bypass_kernel(cell: Any, cell_voltage: float, current_density: float, temperature: float) -> float:
    """Share of the stack's current that goes past the cells, through shared ducts or as it was measured [1]."""
    measured = min(cell.bypass_conductance * cell_voltage / current_density, 1.0)
    if cell.duct_count <= 0.0 or cell.stack_cells <= 1.0:
        return float(measured)
    conductivity = max(
        electrolyte_conductivity_kernel(cell.electrolyte, cell.electrolyte_strength, temperature), 1e-9
    )
    conductivity *= bubble_factor_kernel(cell.gas_void_fraction)
    port = cell.duct_length / (conductivity * max(cell.duct_area, 1e-12))
    segment = cell.manifold_length / (conductivity * max(cell.manifold_area, 1e-12))
    past = cell.duct_count * bypass_current_kernel(cell.stack_cells, cell_voltage, port, segment)
    left = remaining_share_kernel(past, current_density * max(cell.cell_area, 1e-9))
    return float(1.0 - left * (1.0 - measured))


@kernel
def cell_heat_kernel(
    cell: Any, cell_voltage: float, faradaic_efficiency: float, temperature: float
) -> tuple[float, float]:
    """Heat to reject and heat to supply, both as shares of the electric power of the stack [1]."""
    if cell.kind == SOLID_OXIDE:
        neutral = cold_water_voltage_kernel(temperature, cell.heat_recovery)
    else:
        neutral = thermoneutral_voltage_kernel(temperature)
    stored = faradaic_efficiency * neutral / cell_voltage
    return max(1.0 - stored, 0.0), max(stored - 1.0, 0.0)


@kernel
def cell_kernel(
    cell: Any, current_density: float, temperature: float, pressure: float
) -> tuple[float, float, float, float, float, float]:
    """One cell at one operating point, from its row of the type ``CELL``; finite for any finite input.

    Returns cell voltage [V], Faradaic efficiency [1] (cross-over and bypass included), heat to reject and heat to
    supply as shares of the stack's electric power [1], hydrogen in the dry oxygen [1] (two thirds where the gases leave
    mixed) and bypass share [1].
    """
    i = min(max(current_density, _LEAST_CURRENT), _MOST_CURRENT)
    p = min(max(pressure, _LEAST_PRESSURE), _MOST_PRESSURE)
    t = cell_temperature_kernel(cell, temperature)
    vapour = vapour_kernel(cell, t)
    reversible, activation, ohmic, concentration, bubbles, ageing = parts_kernel(cell, i, t, p, vapour)
    voltage = max(reversible + activation + ohmic + concentration + bubbles + ageing, _LEAST_SHARE)
    loss, impurity = cell_crossover_kernel(cell, i, t, p, vapour)
    if cell.kind == COMMON_DUCT:
        impurity = _MIXED
    bypass = cell_bypass_kernel(cell, voltage, i, t)
    efficiency = faradaic_share_kernel(i, cell.f1, cell.f2) * (1.0 - bypass) * (1.0 - cell.gas_loss)
    if cell.kind != ALKALINE:  # the fit of the alkaline cell holds its own cross-over
        efficiency *= remaining_share_kernel(loss, i)
    efficiency = max(efficiency, _LEAST_SHARE)
    rejected, supplied = cell_heat_kernel(cell, voltage, efficiency, t)
    return voltage, efficiency, rejected, supplied, impurity, bypass


@kernel
def fill_points_kernel(
    cells: Any, current_density: Any, temperature: Any, pressure: Any, parts: Any, outcome: Any
) -> None:
    """Fill six parts of the voltage and six outcomes for every operating point; one cell or one per point."""
    for row in range(current_density.shape[0]):
        cell = cells[row if cells.shape[0] > 1 else 0]
        found = cell_parts_kernel(cell, current_density[row], temperature[row], pressure[row])
        state = cell_kernel(cell, current_density[row], temperature[row], pressure[row])
        for column in range(6):
            parts[row, column] = found[column]
            outcome[row, column] = state[column]
