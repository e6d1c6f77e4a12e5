"""A real cell: polarisation, Faradaic efficiency, and its state at one operating point."""

from __future__ import annotations

import math
from functools import cache

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least
from tradespace.physics.electrolysis.voltage import (
    liquid_temperature,
    liquid_under_pressure,
    reversible_voltage_kernel,
)
from tradespace.tables import read_table
from tradespace.units import convert

_VALUES = "physics_values.csv"
_ICE_POINT = value("water_split_lowest_temperature", _VALUES)
_LEAST_WARMTH, _LEAST_ARGUMENT = 1e-3, 1e-6  # numeric floors: the fit has a pole at the ice point
_SI = {
    "r1": "ohm m2", "r2": "ohm m2/K", "s": "V", "t1": "m2/A", "t2": "m2 K/A", "t3": "m2 K2/A",
    "f1": "A2/m4", "f2": "1", "lowest_temperature": "K", "highest_temperature": "K",
    "highest_current_density": "A/m2", "highest_pressure": "Pa",
}  # fmt: skip


@cache
def cell_rows() -> dict[str, dict[str, float]]:
    """Coefficients and limits of every kind of cell in SI.

    Returns
    -------
    dict
        Numbers in SI of each row of ``electrolysis_cells.csv`` by name of the kind, such as ``s`` [V].

    References
    ----------
    .. [1] ulleberg_2003 (alkaline row; each row names its own source).

    Examples
    --------
    >>> cell_rows()["alkaline"]["s"]
    0.185
    """
    table = read_table("electrolysis_cells.csv")
    return {
        row["name"]: {
            key: float(convert(float(row[key]), table.units[key], unit)) for key, unit in _SI.items()
        }
        for row in table.rows
    }


_ALKALINE = cell_rows()["alkaline"]
_R1, _R2, _S = _ALKALINE["r1"], _ALKALINE["r2"], _ALKALINE["s"]
_T1, _T2, _T3 = _ALKALINE["t1"], _ALKALINE["t2"], _ALKALINE["t3"]
_F1, _F2 = _ALKALINE["f1"], _ALKALINE["f2"]
_COLDEST, _HOTTEST = _ALKALINE["lowest_temperature"], _ALKALINE["highest_temperature"]


@kernel
def fitted_temperature_kernel(
    temperature: float, lowest_temperature: float, highest_temperature: float
) -> float:
    """Degrees above the ice point; past the range of the fit its nearer end holds [K]."""
    return min(max(temperature, lowest_temperature), highest_temperature) - _ICE_POINT


@kernel
def logarithmic_part_kernel(
    current_density: float, warmth: float, s: float, t1: float, t2: float, t3: float
) -> float:
    """Logarithmic part of the fitted polarisation, at degrees above the ice point [V]."""
    colder = 1.0 / max(warmth, _LEAST_WARMTH)
    inside = (t1 + colder * (t2 + colder * t3)) * current_density + 1.0
    return s * math.log10(max(inside, _LEAST_ARGUMENT))


@kernel
def polarisation_kernel(
    current_density: float,
    temperature: float,
    r1: float,
    r2: float,
    s: float,
    t1: float,
    t2: float,
    t3: float,
    lowest_temperature: float,
    highest_temperature: float,
) -> float:
    """Voltage above the reversible one [V]; past the fit's range its nearer end holds."""
    t = fitted_temperature_kernel(temperature, lowest_temperature, highest_temperature)
    return (r1 + r2 * t) * current_density + logarithmic_part_kernel(current_density, t, s, t1, t2, t3)


@kernel
def ulleberg_2003_kernel(current_density: float, temperature: float) -> float:
    """Voltage of the alkaline cell above the reversible one [V]."""
    return polarisation_kernel(current_density, temperature, _R1, _R2, _S, _T1, _T2, _T3, _COLDEST, _HOTTEST)


@kernel
def alkaline_cell_voltage_kernel(current_density: float, temperature: float, pressure: float) -> float:
    """Voltage of the alkaline cell [V]."""
    return reversible_voltage_kernel(temperature, pressure) + ulleberg_2003_kernel(
        current_density, temperature
    )


@kernel
def faradaic_share_kernel(current_density: float, f1: float, f2: float) -> float:
    """Share of the current that ends in product gas [1]."""
    square = current_density * current_density
    return f2 * square / (f1 + square)


@kernel
def faradaic_efficiency_kernel(current_density: float) -> float:
    """Share of the current that ends in product gas, alkaline cell [1]."""
    return faradaic_share_kernel(current_density, _F1, _F2)


def ulleberg_2003(current_density: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Voltage of an alkaline cell above the reversible one.

    .. math:: \Delta U = (r_1 + r_2 t) i + s \log_{10}[(t_1 + t_2/t + t_3/t^2) i + 1]

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If current density is negative, or a temperature lies outside 273.15 to 423.15 K.

    Notes
    -----
    Below 5 and above 90 degC the coefficients of that temperature hold: the fit has a pole at 0 degC and its
    activation term vanishes near 107 degC. Many copies carry t1 = 1.002; -0.1002 is the consistent value.

    References
    ----------
    .. [1] ulleberg_2003, eq. 10 and table 1.

    Examples
    --------
    >>> print(f"{ulleberg_2003(3000.0, 353.15):.4f}")
    0.5739
    """
    dense, warm = at_least("current density", "A/m2", current_density), liquid_temperature(temperature)
    return broadcast(ulleberg_2003_kernel, dense, warm)


def alkaline_cell_voltage(
    current_density: ArrayLike, temperature: ArrayLike, pressure: ArrayLike
) -> FloatArray:
    """Voltage of an alkaline cell: reversible voltage at its pressure plus polarisation.

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    temperature : array_like, shape (...)
        Cell temperature [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].

    Returns
    -------
    ndarray, shape (...)
        Cell voltage [V].

    Raises
    ------
    DomainError
        If current density is negative, temperature outside 273.15 to 423.15 K, or the water would boil.

    References
    ----------
    .. [1] ulleberg_2003, eq. 10, with the reversible voltage of :func:`reversible_voltage`.

    Examples
    --------
    >>> print(f"{alkaline_cell_voltage(3000.0, 353.15, 1e5):.3f}")
    1.742
    """
    dense = at_least("current density", "A/m2", current_density)
    warm, total = liquid_under_pressure(temperature, pressure)
    return broadcast(alkaline_cell_voltage_kernel, dense, warm, total)


def faradaic_efficiency(current_density: ArrayLike) -> FloatArray:
    r"""Share of the current of an alkaline cell that ends in product gas.

    .. math:: \eta_F = f_2\, i^2 / (f_1 + i^2)

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].

    Returns
    -------
    ndarray, shape (...)
        Faradaic efficiency [1].

    Raises
    ------
    DomainError
        If any current density is not above zero.

    Notes
    -----
    f1 is 250 in mA2/cm4, which is 25 000 A2/m4.

    References
    ----------
    .. [1] ulleberg_2003, eq. 12.

    Examples
    --------
    >>> print(f"{faradaic_efficiency(1000.0):.3f}")
    0.937
    """
    return broadcast(faradaic_efficiency_kernel, above("current density", "A/m2", current_density))


def cell_kinds() -> dict[str, str]:
    """Names and titles of the cells in ``electrolysis_cells.csv``.

    Returns
    -------
    dict
        Title of each cell by name [text].

    References
    ----------
    .. [1] ulleberg_2003 (alkaline row; each row names its own source).

    Examples
    --------
    >>> "alkaline" in cell_kinds()
    True
    """
    return {row["name"]: row["title"] for row in read_table("electrolysis_cells.csv").rows}
