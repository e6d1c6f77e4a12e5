"""Kernels that read the shipped tables of heated steam, hydrogen and oxygen: cubic in each direction."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from tradespace.constants import value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, kernel
from tradespace.physics.domain import within
from tradespace.physics.interpolation import first_node_kernel, weights_kernel
from tradespace.physics.water import saturation_pressure_kernel, sublimation_pressure_kernel
from tradespace.tables import read_table

KINDS = ("equilibrium", "frozen")
CHAMBER, NOZZLE, GASES = "steam_chamber.csv", "steam_nozzle.csv", "steam_gases.csv"
_TRIPLE = value("water_triple_temperature", "physics_values.csv")
_COLDEST_ICE = value("ice_lowest_temperature", "physics_values.csv")


@cache
def grid_nodes(table: str, name: str) -> FloatArray:
    """Nodes of one direction of a table."""
    return np.unique([float(row[name]) for row in read_table(table).rows])


def grid_values(table: str, columns: tuple[str, ...], logarithm: tuple[str, ...] = ()) -> FloatArray:
    """Columns of a table over its axes, shape (column, temperature, pressure, expansion ratio)."""
    rows = read_table(table).rows
    axes = [name for name in ("temperature", "pressure", "expansion_ratio") if name in rows[0]]
    shape = [grid_nodes(table, name).size for name in axes] + [1] * (3 - len(axes))
    found = []
    for name in columns:
        column = np.array([float(row[name]) for row in rows]).reshape(shape)
        found.append(np.log(column) if name in logarithm else column)
    return np.ascontiguousarray(found)


def _both(name: str) -> tuple[str, ...]:
    return tuple(f"{name}_{kind}" for kind in KINDS)


_T, _P = grid_nodes(NOZZLE, "temperature"), np.log(grid_nodes(NOZZLE, "pressure"))
_A = np.log(grid_nodes(NOZZLE, "expansion_ratio"))
_NOZZLE_NAMES = (*_both("exhaust_velocity"), *_both("exit_temperature"), *_both("pressure_ratio"))
_EXPANDED = grid_values(NOZZLE, _NOZZLE_NAMES, _both("pressure_ratio"))
_HELD = grid_values(CHAMBER, ("energy", "molar_mass", "water_fraction", *_both("characteristic_velocity")))
_GAS_T, _GAS_P = grid_nodes(GASES, "temperature"), np.log(grid_nodes(GASES, "pressure"))
_GAS_A = np.log(grid_nodes(GASES, "expansion_ratio"))
_GAS = grid_values(GASES, (*_both("hydrogen_exhaust_velocity"), *_both("oxygen_exhaust_velocity")))
_NO_AREA = np.zeros(1)

SPEED, EXIT_TEMPERATURE, PRESSURE_RATIO = 0.0, 2.0, 4.0
"""First of the two columns (equilibrium, frozen) of each quantity of the nozzle."""
ENERGY, MOLAR_MASS, WATER_FRACTION, CHARACTERISTIC = 0.0, 1.0, 2.0, 3.0
HYDROGEN, OXYGEN = 0.0, 2.0


@kernel
def _clipped(nodes: FloatArray, place: float) -> float:
    """The place, held at the ends of the table."""
    return float(min(max(place, nodes[0]), nodes[-1]))


@kernel
def _read(
    values: FloatArray, temperatures: FloatArray, pressures: FloatArray, areas: FloatArray, column: float,
    temperature: float, pressure: float, expansion_ratio: float,
) -> float:  # fmt: skip
    """Cubic in temperature and in the logarithms of pressure and area ratio; held at the ends of the table."""
    t = _clipped(temperatures, temperature)
    p = _clipped(pressures, math.log(max(pressure, 1.0)))
    rows, columns = first_node_kernel(temperatures, t), first_node_kernel(pressures, p)
    index = int(column)
    along, across = weights_kernel(temperatures, rows, t), weights_kernel(pressures, columns, p)
    total = 0.0
    if areas.shape[0] < 4:
        for i in range(4):
            for j in range(4):
                total += along[i] * across[j] * values[index, rows + i, columns + j, 0]
        return total
    a = _clipped(areas, math.log(max(expansion_ratio, 1.0)))
    start = first_node_kernel(areas, a)
    deep = weights_kernel(areas, start, a)
    for i in range(4):
        for j in range(4):
            inner = 0.0
            for k in range(4):
                inner += deep[k] * values[index, rows + i, columns + j, start + k]
            total += along[i] * across[j] * inner
    return total


@kernel
def steam_nozzle_kernel(temperature: float, pressure: float, expansion_ratio: float, column: float) -> float:
    """One column of the nozzle table: speed, exit temperature or logarithm of the pressure ratio; frozen is 1 more."""
    return _read(_EXPANDED, _T, _P, _A, column, temperature, pressure, expansion_ratio)


@kernel
def steam_exhaust_velocity_kernel(
    temperature: float, pressure: float, expansion_ratio: float, frozen: float
) -> float:
    """Ideal effective exhaust velocity of steam in vacuum [m s-1]; ``frozen`` is 1 or 0."""
    return _read(_EXPANDED, _T, _P, _A, min(max(frozen, 0.0), 1.0), temperature, pressure, expansion_ratio)


@kernel
def steam_chamber_kernel(temperature: float, pressure: float, column: float) -> float:
    """One column of the chamber table."""
    return _read(_HELD, _T, _P, _NO_AREA, column, temperature, pressure, 1.0)


@kernel
def steam_energy_kernel(temperature: float, pressure: float) -> float:
    """Heat from liquid water at 298.15 K to steam [J kg-1]."""
    return _read(_HELD, _T, _P, _NO_AREA, 0.0, temperature, pressure, 1.0)


@kernel
def steam_exit_pressure_kernel(
    temperature: float, pressure: float, expansion_ratio: float, column: float
) -> float:
    """Pressure at the nozzle exit [Pa]."""
    return pressure * math.exp(-steam_nozzle_kernel(temperature, pressure, expansion_ratio, column))


@kernel
def heated_gas_kernel(temperature: float, pressure: float, expansion_ratio: float, column: float) -> float:
    """Ideal effective exhaust velocity of heated hydrogen (column 0, 1) or oxygen (2, 3) in vacuum [m s-1]."""
    return _read(_GAS, _GAS_T, _GAS_P, _GAS_A, column, temperature, pressure, expansion_ratio)


@kernel
def _saturation(temperature: float) -> float:
    """Vapour pressure over water or, colder than the triple point, ice [Pa]."""
    if temperature < _TRIPLE:
        return sublimation_pressure_kernel(max(temperature, _COLDEST_ICE))
    return saturation_pressure_kernel(temperature)


@kernel
def steam_condensation_kernel(temperature: float, pressure: float, expansion_ratio: float) -> float:
    """0 dry to the exit, 1 past saturation in the nozzle, 2 already in the chamber."""
    if pressure > _saturation(temperature):
        return 2.0
    cold = steam_nozzle_kernel(temperature, pressure, expansion_ratio, 3.0)
    thin = steam_exit_pressure_kernel(temperature, pressure, expansion_ratio, 5.0)
    vapour = steam_chamber_kernel(temperature, pressure, 2.0)
    return 1.0 if thin * vapour > _saturation(cold) else 0.0


def kind_column(kind: str, first: float) -> float:
    """Column of a kind of expansion, from the first of the two.

    Raises
    ------
    UnknownNameError
        If there is no such kind.
    """
    if kind not in KINDS:
        raise unknown_name("kind of expansion", kind, KINDS)
    return first + KINDS.index(kind)


def inside(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, table: str = NOZZLE
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The three coordinates of a nozzle table as floats, all of them inside it.

    Raises
    ------
    DomainError
        If one of them lies outside.
    """
    found = []
    for name, unit, numbers, column in (
        ("temperature", "K", temperature, "temperature"),
        ("chamber_pressure", "Pa", chamber_pressure, "pressure"),
        ("expansion_ratio", "1", expansion_ratio, "expansion_ratio"),
    ):
        nodes = grid_nodes(table, column)
        found.append(within(name, unit, numbers, float(nodes[0]), float(nodes[-1])))
    return found[0], found[1], found[2]
