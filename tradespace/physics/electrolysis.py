"""Splitting water: voltages, rates by Faraday's law, an alkaline cell, energy and heat per kilogram.

Hydrogen with oxygen burns and detonates over a wide range, hot caustic electrolyte burns skin and eyes, and a cell under
current raises pressure without limit. These functions are for concept studies; a design defers to local codes and
licensed practice.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from tradespace.constants import series, value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, share, within
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.tables import read_table
from tradespace.units import convert

__all__ = [
    "alkaline_cell_voltage",
    "cell_kinds",
    "cell_state",
    "efficiency_hhv",
    "faradaic_efficiency",
    "gas_volume_rate",
    "hydrogen_rate",
    "hydrogen_volume_rate",
    "leroy_1980",
    "oxygen_rate",
    "reversible_voltage",
    "split_energy",
    "standard_reversible_voltage",
    "thermoneutral_voltage",
    "ulleberg_2003",
    "waste_heat_fraction",
    "water_rate_of_power",
    "water_split_rate",
]

_VALUES = "physics_values.csv"
_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN_MASS = value("molar_mass_hydrogen")
_OXYGEN_MASS = value("molar_mass_oxygen")
_WATER_MASS = value("molar_mass_water")
_ENTHALPY = value("reaction_enthalpy_water")
_STANDARD_PRESSURE = value("standard_pressure")
_ICE_POINT = value("water_split_lowest_temperature", _VALUES)
_HIGHEST = value("water_split_highest_temperature", _VALUES)
_GIBBS = series("gibbs_energy", "water_split.csv")
_LEROY = series("leroy_1980", "electrolysis_voltage.csv")
_LEAST_DRY_SHARE = 1e-3  # numeric floor: keeps the logarithm finite where water would boil

_SI = {
    "r1": "ohm m2", "r2": "ohm m2/K", "s": "V", "t1": "m2/A", "t2": "m2 K/A", "t3": "m2 K2/A", "f1": "A2/m4", "f2": "1",
    "lowest_temperature": "K", "highest_temperature": "K", "highest_current_density": "A/m2", "highest_pressure": "Pa",
}  # fmt: skip


@cache
def _cells() -> dict[str, dict[str, float]]:
    """Coefficients of every cell kind in SI."""
    table = read_table("electrolysis_cells.csv")
    return {
        row["name"]: {
            key: float(convert(float(row[key]), table.units[key], unit)) for key, unit in _SI.items()
        }
        for row in table.rows
    }


_ALKALINE = _cells()["alkaline"]
_R1, _R2, _S = _ALKALINE["r1"], _ALKALINE["r2"], _ALKALINE["s"]
_T1, _T2, _T3 = _ALKALINE["t1"], _ALKALINE["t2"], _ALKALINE["t3"]
_F1, _F2 = _ALKALINE["f1"], _ALKALINE["f2"]
_COLDEST, _HOTTEST = _ALKALINE["lowest_temperature"], _ALKALINE["highest_temperature"]


@kernel
def standard_reversible_voltage_kernel(temperature: float) -> float:
    """Least voltage that splits liquid water into gases at 1 bar each [V]."""
    t = temperature
    c0, c1, c2, c3, c4, c5 = _GIBBS
    gibbs = c0 + t * (c1 + c2 * math.log(t) + t * (c3 + t * (c4 + t * c5)))
    return gibbs / (2.0 * _FARADAY)


@kernel
def thermoneutral_voltage_kernel(temperature: float) -> float:
    """Voltage at which splitting takes up no heat, water and gases at the same temperature [V]."""
    t = temperature
    c0, _, c2, c3, c4, c5 = _GIBBS
    enthalpy = c0 - t * (c2 + t * (c3 + t * (2.0 * c4 + t * 3.0 * c5)))
    return enthalpy / (2.0 * _FARADAY)


@kernel
def reversible_voltage_kernel(temperature: float, pressure: float) -> float:
    """Least voltage with both gases at a total pressure over pure water, saturated with its vapour [V]."""
    dry = max(pressure - saturation_pressure_kernel(temperature), _LEAST_DRY_SHARE * pressure)
    term = 1.5 * _GAS_CONSTANT * temperature / (2.0 * _FARADAY) * math.log(dry / _STANDARD_PRESSURE)
    return standard_reversible_voltage_kernel(temperature) + term


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
    """Voltage above the reversible one [V]; outside the range of the fit the nearer end's coefficients hold."""
    t = min(max(temperature, lowest_temperature), highest_temperature) - _ICE_POINT
    activation = s * math.log10((t1 + t2 / t + t3 / (t * t)) * current_density + 1.0)
    return (r1 + r2 * t) * current_density + activation


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


@kernel
def water_split_rate_kernel(current: float, cells: float, faradaic_efficiency: float) -> float:
    """Water split by a current through cells in series [kg s-1]."""
    return current * cells * faradaic_efficiency * _WATER_MASS / (2.0 * _FARADAY)


@kernel
def water_rate_of_power_kernel(power: float, efficiency: float) -> float:
    """Water split by an electric power at an efficiency on the higher heating value [kg s-1]."""
    return power * efficiency * _WATER_MASS / _ENTHALPY


@kernel
def efficiency_hhv_kernel(cell_voltage: float, faradaic_efficiency: float) -> float:
    """Enthalpy of the split water at 25 degC over the electric energy [1]."""
    return faradaic_efficiency * _ENTHALPY / (2.0 * _FARADAY * cell_voltage)


@kernel
def split_energy_kernel(cell_voltage: float, faradaic_efficiency: float) -> float:
    """Electric energy per kilogram of water split, stack only [J kg-1]."""
    return 2.0 * _FARADAY * cell_voltage / (_WATER_MASS * faradaic_efficiency)


@kernel
def waste_heat_fraction_kernel(cell_voltage: float, faradaic_efficiency: float, temperature: float) -> float:
    """Share of the stack power that leaves as heat, never below zero [1]."""
    stored = faradaic_efficiency * thermoneutral_voltage_kernel(temperature) / cell_voltage
    return max(1.0 - stored, 0.0)


def _liquid(temperature: ArrayLike) -> FloatArray:
    return within("cell temperature", "K", temperature, _ICE_POINT, _HIGHEST)


def _wet(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    warm, total = _liquid(temperature), above("pressure", "Pa", pressure)
    vapour = broadcast(saturation_pressure_kernel, warm)
    limit = "does not keep the water liquid at the cell temperature; raise the pressure or cool the cell"
    require_each(total > vapour, "pressure", "Pa", total, limit)
    return warm, total


def standard_reversible_voltage(temperature: ArrayLike) -> FloatArray:
    r"""Least voltage that splits liquid water into gases at 1 bar each.

    .. math:: E^\circ = \Delta G^\circ(T) / 2F

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    Notes
    -----
    Standard state 1 bar, 0.3 mV below values that refer to 1 atm.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{standard_reversible_voltage(353.15):.5f}")
    1.18310
    """
    return broadcast(standard_reversible_voltage_kernel, _liquid(temperature))


def thermoneutral_voltage(temperature: ArrayLike) -> FloatArray:
    r"""Voltage at which splitting takes up no heat, with water and gases at the same temperature.

    .. math:: V_\mathrm{tn} = \Delta H(T) / 2F

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    Notes
    -----
    Two other definitions are in use: water fed at 25 degC, and vapour carried off by the gases. They are higher.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{thermoneutral_voltage(353.15):.4f}")
    1.4722
    """
    return broadcast(thermoneutral_voltage_kernel, _liquid(temperature))


def reversible_voltage(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Least voltage with both gases at a total pressure over pure water, saturated with its vapour.

    .. math:: E = E^\circ(T) + \frac{RT}{2F} \ln\left(\frac{p - p_w}{p^\circ}\right)^{3/2}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If a temperature lies outside 273.15 to 423.15 K, or the water would boil at the pressure.

    Notes
    -----
    Ideal gases; liquid water at unit activity, so its vapour pressure enters only through the gases.

    References
    ----------
    .. [1] leroy_1980, pressure term; mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{reversible_voltage(353.15, 1e5):.4f}")
    1.1684
    """
    warm, total = _wet(temperature, pressure)
    return broadcast(reversible_voltage_kernel, warm, total)


def leroy_1980(temperature: ArrayLike) -> FloatArray:
    r"""Reversible voltage by the classic polynomial, gases at 1 atm each; kept to check ours against.

    .. math:: E = c_0 + c_1 T + c_2 T \ln T + c_3 T^2

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] leroy_1980, eq. 58.

    Examples
    --------
    >>> print(f"{leroy_1980(353.15):.5f}")
    1.18339
    """
    t = _liquid(temperature)
    c0, c1, c2, c3 = _LEROY
    return np.asarray(c0 + c1 * t + c2 * t * np.log(t) + c3 * t**2, dtype=np.float64)


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
    dense, warm = at_least("current density", "A/m2", current_density), _liquid(temperature)
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
        If current density is negative, a temperature lies outside 273.15 to 423.15 K, or the water would boil.

    References
    ----------
    .. [1] ulleberg_2003, eq. 10, with the reversible voltage of :func:`reversible_voltage`.

    Examples
    --------
    >>> print(f"{alkaline_cell_voltage(3000.0, 353.15, 1e5):.3f}")
    1.742
    """
    dense = at_least("current density", "A/m2", current_density)
    warm, total = _wet(temperature, pressure)
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


def _stack(
    current: ArrayLike, cells: ArrayLike, efficiency: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    return (
        at_least("current", "A", current),
        at_least("number of cells", "1", cells, 1.0),
        share("Faradaic efficiency", efficiency),
    )


def water_split_rate(current: ArrayLike, cells: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Water split by a current through cells in series.

    .. math:: \dot m = N I \eta_F M / 2F

    Parameters
    ----------
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Water consumed [kg s-1].

    Raises
    ------
    DomainError
        If current is negative, there is less than one cell, or the efficiency lies outside (0, 1].

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{3.6e6 * water_split_rate(1.0, 1, 1.0):.6f}")  # grams per hour
    0.336087
    """
    return broadcast(water_split_rate_kernel, *_stack(current, cells, faradaic_efficiency))


def hydrogen_rate(current: ArrayLike, cells: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    """Hydrogen made by a current through cells in series.

    Parameters
    ----------
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Hydrogen [kg s-1].

    Raises
    ------
    DomainError
        As for :func:`water_split_rate`.

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{3.6e6 * hydrogen_rate(1.0, 1, 1.0):.6f}")  # grams per hour
    0.037608
    """
    return np.asarray(water_split_rate(current, cells, faradaic_efficiency) * (_HYDROGEN_MASS / _WATER_MASS))


def oxygen_rate(current: ArrayLike, cells: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    """Oxygen made by a current through cells in series.

    Parameters
    ----------
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Oxygen [kg s-1].

    Raises
    ------
    DomainError
        As for :func:`water_split_rate`.

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{3.6e6 * oxygen_rate(1.0, 1, 1.0):.6f}")  # grams per hour
    0.298480
    """
    return np.asarray(
        water_split_rate(current, cells, faradaic_efficiency) * (0.5 * _OXYGEN_MASS / _WATER_MASS)
    )


def hydrogen_volume_rate(
    current: ArrayLike,
    cells: ArrayLike,
    faradaic_efficiency: ArrayLike,
    temperature: ArrayLike,
    pressure: ArrayLike,
) -> FloatArray:
    """Dry hydrogen made by a current, as the volume an ideal gas would fill.

    Parameters
    ----------
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].
    temperature : array_like, shape (...)
        Temperature to which the volume is referred [K].
    pressure : array_like, shape (...)
        Pressure to which the volume is referred [Pa].

    Returns
    -------
    ndarray, shape (...)
        Volume rate [m3 s-1].

    Raises
    ------
    DomainError
        If temperature or pressure is not above zero, or as for :func:`water_split_rate`.

    References
    ----------
    .. [1] codata_2018, Faraday and gas constants.

    Examples
    --------
    >>> print(f"{6e7 * hydrogen_volume_rate(1.0, 1, 1.0, 273.15, 101325.0):.4f}")  # mL per minute
    6.9691
    """
    moles = water_split_rate(current, cells, faradaic_efficiency) / _WATER_MASS
    volume = _GAS_CONSTANT * above("temperature", "K", temperature) / above("pressure", "Pa", pressure)
    return np.asarray(moles * volume, dtype=np.float64)


def gas_volume_rate(
    current: ArrayLike,
    cells: ArrayLike,
    faradaic_efficiency: ArrayLike,
    temperature: ArrayLike,
    pressure: ArrayLike,
) -> FloatArray:
    """Dry hydrogen and oxygen together made by a current, as the volume an ideal gas would fill.

    Parameters
    ----------
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].
    temperature : array_like, shape (...)
        Temperature to which the volume is referred [K].
    pressure : array_like, shape (...)
        Pressure to which the volume is referred [Pa].

    Returns
    -------
    ndarray, shape (...)
        Volume rate [m3 s-1].

    Raises
    ------
    DomainError
        If temperature or pressure is not above zero, or as for :func:`water_split_rate`.

    References
    ----------
    .. [1] codata_2018, Faraday and gas constants.

    Examples
    --------
    >>> print(f"{6e7 * gas_volume_rate(1.0, 1, 1.0, 273.15, 101325.0):.4f}")  # mL per minute
    10.4537
    """
    return np.asarray(1.5 * hydrogen_volume_rate(current, cells, faradaic_efficiency, temperature, pressure))


def water_rate_of_power(power: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    r"""Water an electrolyser splits with an electric power.

    .. math:: \dot m = \eta P M / \Delta H

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power into the stack [W].
    efficiency : array_like, shape (...)
        Share of that power stored in the products, on the higher heating value [1].

    Returns
    -------
    ndarray, shape (...)
        Water consumed [kg s-1].

    Raises
    ------
    DomainError
        If power is negative or efficiency lies outside (0, 1.3].

    Notes
    -----
    Efficiencies above one need heat from outside; the second law allows 1.3 at most below 150 degC.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{3600 * water_rate_of_power(1000.0, 0.70):.4f}")  # kg per hour
    0.1588
    """
    power, eta = at_least("power", "W", power), above("efficiency", "1", efficiency)
    require_each(eta <= 1.3, "efficiency", "1", eta, "is above 1.3, which no cell below 150 degC can reach")
    return broadcast(water_rate_of_power_kernel, power, eta)


def efficiency_hhv(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Enthalpy of the split water at 25 degC (higher heating value) over the electric energy.

    .. math:: \eta = \eta_F \Delta H / (2 F V)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Stack efficiency [1].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{efficiency_hhv(1.8, 1.0):.4f}")
    0.8229
    """
    eta = share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(efficiency_hhv_kernel, above("cell voltage", "V", cell_voltage), eta)


def split_energy(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Electric energy per kilogram of water split, stack only.

    .. math:: e = 2 F V / (M \eta_F)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{split_energy(1.8, 1.0) / 3.6e6:.3f}")  # kWh per kg
    5.356
    """
    eta = share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(split_energy_kernel, above("cell voltage", "V", cell_voltage), eta)


def waste_heat_fraction(
    cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike, temperature: ArrayLike
) -> FloatArray:
    r"""Share of the stack power that leaves as heat.

    .. math:: h = \max(0,\ 1 - \eta_F V_\mathrm{tn}(T) / V)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Share of electric power to be rejected [1].

    Raises
    ------
    DomainError
        If voltage is not above zero, Faradaic efficiency outside (0, 1], or temperature outside 273.15 to 423.15 K.

    Notes
    -----
    Current that makes no product counts as heat. A cell below the thermoneutral voltage takes heat up: the share
    is then zero, and the heat it needs is not booked. Vapour carried off by the gases is left out, which
    overstates the heat to reject.

    References
    ----------
    .. [1] leroy_1980, thermoneutral voltage.

    Examples
    --------
    >>> print(f"{waste_heat_fraction(2.0, 1.0, 353.15):.3f}")
    0.264
    """
    volts, eta = above("cell voltage", "V", cell_voltage), share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(waste_heat_fraction_kernel, volts, eta, _liquid(temperature))


def cell_kinds() -> dict[str, str]:
    """Names and titles of the cells in ``electrolysis_cells.csv``.

    Examples
    --------
    >>> "alkaline" in cell_kinds()
    True
    """
    return {row["name"]: row["title"] for row in read_table("electrolysis_cells.csv").rows}


def cell_state(kind: str, current_density: float, temperature: float, pressure: float) -> dict[str, Any]:
    """One cell at one operating point, as names and numbers.

    Parameters
    ----------
    kind : str
        Name of a row in ``electrolysis_cells.csv``.
    current_density : float
        Current per electrode area [A m-2].
    temperature : float
        Cell temperature [K].
    pressure : float
        Total pressure on both sides [Pa].

    Returns
    -------
    dict
        Voltages [V], efficiencies [1] and water split per electrode area [kg h-1 m-2].

    Raises
    ------
    UnknownNameError
        If no cell has that name.
    DomainError
        If the operating point lies outside the cell's range, or the water would boil.

    References
    ----------
    .. [1] source of the cell's row; mcbride_2002 for the reversible voltages.

    Examples
    --------
    >>> print(f"{cell_state('alkaline', 3000.0, 353.15, 1e5)['cell_voltage_v']:.3f}")
    1.742
    """
    cells = _cells()
    if kind not in cells:
        raise unknown_name("cell kind", kind, cells)
    c = cells[kind]
    within("current density", "A/m2", current_density, 0.0, c["highest_current_density"])
    above("current density", "A/m2", current_density)
    within("cell temperature", "K", temperature, c["lowest_temperature"], c["highest_temperature"])
    within("pressure", "Pa", pressure, 0.0, c["highest_pressure"])
    least = float(reversible_voltage(temperature, pressure))
    extra = broadcast(
        polarisation_kernel, current_density, temperature, c["r1"], c["r2"], c["s"], c["t1"], c["t2"], c["t3"],
        c["lowest_temperature"], c["highest_temperature"],
    )  # fmt: skip
    volts = least + float(extra)
    eta = float(broadcast(faradaic_share_kernel, current_density, c["f1"], c["f2"]))
    return {
        "kind": kind,
        "standard_reversible_voltage_v": float(standard_reversible_voltage(temperature)),
        "reversible_voltage_v": least,
        "thermoneutral_voltage_v": float(thermoneutral_voltage(temperature)),
        "cell_voltage_v": volts,
        "faradaic_efficiency": eta,
        "efficiency_hhv": float(efficiency_hhv(volts, eta)),
        "water_kg_per_h_per_m2": float(
            convert(float(water_split_rate(current_density, 1, eta)), "kg/s", "kg/h")
        ),
    }
