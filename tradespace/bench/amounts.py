"""What the cell took and made: powers, voltages, efficiencies, and the hydrogen by flow, weight, charge and heat."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from tradespace.bench.filled import Channels, Columns
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electrolysis.electrolyte import electrolyte_rows, strength_range
from tradespace.physics.electrolysis.lye import water_activity_kernel
from tradespace.physics.electrolysis.point import fill_points_kernel
from tradespace.physics.electrolysis.record import CELL, cell_record
from tradespace.physics.electrolysis.voltage import thermoneutral_voltage_kernel
from tradespace.physics.water import saturation_pressure_kernel, vaporisation_heat_kernel

_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN = value("molar_mass_hydrogen")
_OXYGEN = value("molar_mass_oxygen")
_WATER = value("molar_mass_water")
_HIGHER = value("reaction_enthalpy_water")
_LOWER = value("lower_heating_value_water", "nozzle_values.csv") * _WATER
_WATER_HEAT = value("water_liquid_heat_capacity", "physics_values.csv")
_STANDARD = value("standard_temperature")
_NORMAL_PRESSURE = value("standard_atmosphere")
_NORMAL_TEMPERATURE = value("water_split_lowest_temperature", "physics_values.csv")
HIGHER_VOLTAGE = _HIGHER / (2.0 * _FARADAY)
"""Higher heating value of hydrogen as a voltage [V]."""
LOWER_VOLTAGE = _LOWER / (2.0 * _FARADAY)
"""Lower heating value of hydrogen as a voltage [V]."""
CAUSTIC = "potassium_hydroxide"
WHOLE = 0.5 * _OXYGEN / _HYDROGEN
"""Oxygen over hydrogen by mass in water [1]."""
WATER_OVER_HYDROGEN = _WATER / _HYDROGEN
"""Mass of water per mass of hydrogen in it [1]."""
WAYS = ("flow", "weight", "heat", "engine")
"""Ways by which the gas rate is read without the current."""


class Once:
    """Look-ups that are not repeated for the same column, nor point by point where it does not change."""

    def __init__(self) -> None:
        self.known: dict[tuple[str, int], tuple[FloatArray, FloatArray]] = {}

    def __call__(self, name: str, column: FloatArray) -> FloatArray:
        """A named property of water at temperatures [K], shape (n,)."""
        key = (name, id(column))
        if key not in self.known:
            self.known[key] = (
                column,
                _evaluated(name, column),
            )  # the column is held, so its id stays its own
        return self.known[key][1]


_PROPERTIES = {
    "vapour_pressure": saturation_pressure_kernel,
    "vapour_heat": vaporisation_heat_kernel,
    "thermoneutral": thermoneutral_voltage_kernel,
}


def _evaluated(name: str, column: FloatArray) -> FloatArray:
    """A property of water at temperatures; one call where they are all the same."""
    if column.size and np.ptp(column) == 0.0:
        return np.full(column.size, float(broadcast(_PROPERTIES[name], float(column[0]))))
    return broadcast(_PROPERTIES[name], column)


def cell_of(columns: Channels, words: Mapping[str, str]) -> Any:
    """The row of the cell model that the facts of the file describe; a strength beyond its table is held at its end."""
    kind = words.get("cell_kind") or "alkaline"
    given: dict[str, float | str] = {}
    for channel, field in (("cells_in_series", "stack_cells"), ("electrode_area", "cell_area")):
        known = columns[channel]
        if np.isfinite(known).any():
            given[field] = float(np.nanmedian(known))
    if kind in ("alkaline", "common_duct"):
        given |= _electrolyte(columns, words)
    return cell_record(kind, **given)


def _electrolyte(columns: Channels, words: Mapping[str, str]) -> dict[str, float | str]:
    """Electrolyte, strength and gap of a cell with free liquid."""
    given: dict[str, float | str] = {}
    named = words.get("electrolyte") or CAUSTIC
    strength, gap = columns["electrolyte_strength"], columns["electrode_gap"]
    if named in electrolyte_rows() and (named != CAUSTIC or np.isfinite(strength).any()):
        low, high = strength_range(named)
        known = float(np.nanmedian(strength)) if np.isfinite(strength).any() else float(high)
        given |= {"electrolyte": named, "electrolyte_strength": min(max(known, float(low)), float(high))}
    if np.isfinite(gap).any() and float(np.nanmedian(gap)) > 0.0:
        given["electrode_gap"] = float(np.nanmedian(gap))
    return given


def cell_parts(
    cell: Any, current_density: FloatArray, temperature: FloatArray, pressure: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Parts of the modelled voltage [V] and outcomes of the cell model, shape (n, 6) each."""
    size = current_density.size
    parts, outcome = np.empty((size, 6)), np.empty((size, 6))
    rows = np.array([tuple(cell)], dtype=CELL).view(np.recarray)
    safe = [
        np.ascontiguousarray(np.where(np.isfinite(a), a, fallback))
        for a, fallback in (
            (current_density, 1.0), (temperature, _STANDARD), (pressure, _NORMAL_PRESSURE)
        )
    ]  # fmt: skip
    fill_points_kernel(rows, safe[0], safe[1], safe[2], parts, outcome)
    unknown = ~(np.isfinite(current_density) & np.isfinite(temperature) & np.isfinite(pressure))
    parts[unknown], outcome[unknown] = np.nan, np.nan
    return parts, outcome


def lye_activity(columns: Channels, words: Mapping[str, str]) -> FloatArray:
    """Vapour pressure over the electrolyte relative to pure water [1], shape (n,)."""
    strength = columns["electrolyte_strength"]
    caustic = words.get("cell_kind") in (None, "", "alkaline", "common_duct")
    caustic &= words.get("electrolyte") in (None, "", CAUSTIC)
    if not caustic or not np.isfinite(strength).any():
        return np.ones(strength.size)
    middle = float(np.nanmedian(strength))
    return np.full(
        strength.size,
        float(broadcast(water_activity_kernel, middle, float(np.nanmedian(columns["cell_temperature"])))),
    )


def electric(c: Channels) -> dict[str, FloatArray]:
    """Powers, voltage of one cell and current density."""
    stack = c["stack_voltage"] * c["current"]
    of_supply = np.where(
        np.isfinite(c["supply_power"]), c["supply_power"], c["supply_voltage"] * c["current"]
    )
    cell = c["stack_voltage"] / c["cells_in_series"]
    return {
        "supply_power": np.where(np.isfinite(of_supply), of_supply, stack),
        "stack_power": np.where(np.isfinite(stack), stack, of_supply),
        "wiring_loss": of_supply - stack,
        "cell_voltage": cell,
        "current_density": c["current"] / c["electrode_area"],
        "voltage_efficiency": HIGHER_VOLTAGE / cell,
        "voltage_efficiency_lower": LOWER_VOLTAGE / cell,
    }


def rates(
    c: Channels, words: Mapping[str, str], once: Once, activity: FloatArray, coolant_of_cell: bool
) -> dict[str, FloatArray]:
    """Hydrogen made, by each way that was read [kg s-1], and the vapour per hydrogen [1]."""
    vapour = once("vapour_pressure", c["meter_temperature"]) / c["meter_pressure"]
    dry = 1.0 - vapour if words.get("gas_is", "wet") == "wet" else 1.0
    normal = words.get("volumes_at") == "normal"
    pressure = _NORMAL_PRESSURE if normal else c["meter_pressure"]
    temperature = _NORMAL_TEMPERATURE if normal else c["meter_temperature"]
    ratio = np.where(np.isfinite(c["oxygen_to_hydrogen"]), c["oxygen_to_hydrogen"], 0.5)
    of_gas = 1.0 / (1.0 + ratio) if words.get("gas_measured") == "mixed" else 1.0
    moles = dry * pressure * c["gas_flow"] / (_GAS_CONSTANT * temperature) * of_gas
    over = activity * once("vapour_pressure", c["cell_temperature"])
    liquid = words.get("cell_kind") != "solid_oxide"
    carried = 1.5 * over / np.maximum(c["cell_pressure"] - over, 0.01 * c["cell_pressure"]) if liquid else 0.0
    carried = carried * c["vapour_carried"]
    found = {
        "vapour_per_hydrogen": carried * np.ones(moles.size),
        "hydrogen_rate_flow": _HYDROGEN * moles,
        "hydrogen_rate_weight": _HYDROGEN * c["water_rate"] / (_WATER * (1.0 + carried)),
        "hydrogen_rate_charge": _HYDROGEN * c["cells_in_series"] * c["current"] / (2.0 * _FARADAY),
    }
    if coolant_of_cell:
        heat = coolant_heat(c) / (1.0 - c["heat_not_caught"])
        molar = 2.0 * _FARADAY * once("thermoneutral", c["cell_temperature"])
        molar = molar + carried * _WATER * once("vapour_heat", c["cell_temperature"])
        power = electric(c)["stack_power"]
        found["hydrogen_rate_heat"] = _HYDROGEN * (power - heat) / molar
    return found


def coolant_heat(c: Channels) -> FloatArray:
    """Heat that the cooling water takes up [W]."""
    return c["coolant_flow"] * _WATER_HEAT * c["coolant_rise"]


def yields(made: FloatArray, found: Columns, ohm: Columns) -> dict[str, FloatArray]:
    """Efficiencies that follow from the hydrogen made [kg s-1]."""
    moles = made / _HYDROGEN
    return {
        "hydrogen_rate": made,
        "gas_made": made * (_WATER / _HYDROGEN),
        "faradaic_efficiency": made / found["hydrogen_rate_charge"],
        "chemical_power": moles * _HIGHER,
        "stack_efficiency": moles * _HIGHER / ohm["stack_power"],
        "stack_efficiency_lower": moles * _LOWER / ohm["stack_power"],
        "overall_efficiency": moles * _HIGHER / ohm["supply_power"],
        "overall_efficiency_lower": moles * _LOWER / ohm["supply_power"],
    }


def engine_way(mass_flow: FloatArray, humidity: FloatArray) -> FloatArray:
    """Hydrogen in a flow of whole water with vapour in it [kg s-1]."""
    return mass_flow * (1.0 - humidity) * (_HYDROGEN / _WATER)
