"""Splitting steam in a solid-oxide cell: voltages, resistance, and the heat the feed needs."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, require_each, within
from tradespace.physics.electrolysis.kinetics import arrhenius_kernel
from tradespace.tables import read_table
from tradespace.units import convert

_VALUES = "electrolysis_values.csv"
_COLDEST = value("steam_split_lowest_temperature", _VALUES)
_HOTTEST = value("steam_split_highest_temperature", _VALUES)
_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_STANDARD_PRESSURE = value("standard_pressure")
_ENTHALPY = value("reaction_enthalpy_water")
_GIBBS = series("steam_gibbs_energy", "electrolysis_steam.csv")
_HEAT = series("product_heat", "electrolysis_steam.csv")
_RESISTANCE = value("solid_oxide_resistance", _VALUES)
_RESISTANCE_ENERGY = value("solid_oxide_resistance_activation_energy", _VALUES)
_REFERENCE = value("solid_oxide_reference_temperature", _VALUES)
_CELL = next(row for row in read_table("electrolysis_cells.csv").rows if row["name"] == "solid_oxide")
_CELL_COLDEST = float(convert(float(_CELL["lowest_temperature"]), "degC", "K"))
_CELL_HOTTEST = float(convert(float(_CELL["highest_temperature"]), "degC", "K"))


@kernel
def steam_reversible_voltage_kernel(temperature: float) -> float:
    """Least voltage that splits steam, all gases at 1 bar each [V]."""
    t = min(max(temperature, _COLDEST), _HOTTEST)
    c0, c1, c2, c3, c4, c5 = _GIBBS
    return (c0 + t * (c1 + c2 * math.log(t) + t * (c3 + t * (c4 + t * c5)))) / (2.0 * _FARADAY)


@kernel
def steam_thermoneutral_voltage_kernel(temperature: float) -> float:
    """Voltage at which splitting steam takes up no heat [V]."""
    t = min(max(temperature, _COLDEST), _HOTTEST)
    c0, _, c2, c3, c4, c5 = _GIBBS
    return (c0 - t * (c2 + t * (c3 + t * (2.0 * c4 + t * 3.0 * c5)))) / (2.0 * _FARADAY)


@kernel
def steam_cell_voltage_kernel(temperature: float, pressure: float, utilisation: float) -> float:
    """Mean reversible voltage along a cell fed with pure steam, oxygen pure on the other side [V]."""
    share = min(max(utilisation, 1e-6), 1.0 - 1e-6)
    mixing = (share * math.log(share) + (1.0 - share) * math.log(1.0 - share)) / share
    square = 0.5 * math.log(max(pressure, 1.0) / _STANDARD_PRESSURE)
    scale = _GAS_CONSTANT * temperature / (2.0 * _FARADAY)
    return steam_reversible_voltage_kernel(temperature) + scale * (mixing + square)


@kernel
def solid_oxide_resistance_kernel(temperature: float) -> float:
    """Resistance of unit area of a solid-oxide cell [ohm m2]."""
    return arrhenius_kernel(_RESISTANCE, -_RESISTANCE_ENERGY, _REFERENCE, temperature)


@kernel
def cold_water_voltage_kernel(temperature: float, heat_recovery: float) -> float:
    """Heat and work to split water fed liquid at 25 degC in a hot cell, as a voltage [V]."""
    t = min(max(temperature, _COLDEST), _HOTTEST)
    c0, c1, c2, c3, c4 = _HEAT
    hot = c0 + t * (c1 + t * (c2 + t * (c3 + t * c4)))
    return (_ENTHALPY + (1.0 - min(max(heat_recovery, 0.0), 1.0)) * max(hot, 0.0)) / (2.0 * _FARADAY)


def _hot(temperature: ArrayLike) -> FloatArray:
    return within("temperature", "K", temperature, _COLDEST, _HOTTEST)


def steam_reversible_voltage(temperature: ArrayLike) -> FloatArray:
    """Least voltage that splits steam, all gases at 1 bar each.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of all gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 298.15 to 1400 K.

    References
    ----------
    .. [1] mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{steam_reversible_voltage(1073.15):.4f}")
    0.9769
    """
    return broadcast(steam_reversible_voltage_kernel, _hot(temperature))


def steam_thermoneutral_voltage(temperature: ArrayLike) -> FloatArray:
    """Voltage at which splitting steam takes up no heat, all gases at the same temperature.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of all gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 298.15 to 1400 K.

    Notes
    -----
    At 25 degC this is the lower heating value of hydrogen as a voltage.

    References
    ----------
    .. [1] mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{steam_thermoneutral_voltage(1073.15):.4f}")
    1.2867
    """
    return broadcast(steam_thermoneutral_voltage_kernel, _hot(temperature))


def steam_cell_voltage(temperature: ArrayLike, pressure: ArrayLike, utilisation: ArrayLike) -> FloatArray:
    r"""Mean reversible voltage along a cell fed with pure steam, with pure oxygen on the other side.

    .. math:: E = E^\circ + \frac{RT}{2F}\left[\frac{u \ln u + (1-u)\ln(1-u)}{u} + \tfrac12\ln\frac{p}{p^\circ}\right]

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature [K].
    pressure : array_like, shape (...)
        Pressure on both sides [Pa].
    utilisation : array_like, shape (...)
        Share of the steam split in one pass [1].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If a temperature lies outside 298.15 to 1400 K, pressure is not above zero, or utilisation not between 0 and 1.

    Notes
    -----
    The mean of the Nernst voltage over a composition that changes linearly from inlet to outlet.

    References
    ----------
    .. [1] closed form: mean of the Nernst equation; mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{steam_cell_voltage(1073.15, 1e5, 0.5):.4f}")
    0.9128
    """
    used = within("utilisation", "1", utilisation, 0.0, 1.0)
    require_each(
        (used > 0.0) & (used < 1.0), "utilisation", "1", used, "must lie between 0 and 1, both excluded"
    )
    return broadcast(steam_cell_voltage_kernel, _hot(temperature), above("pressure", "Pa", pressure), used)


def solid_oxide_resistance(temperature: ArrayLike) -> FloatArray:
    """Resistance of unit area of a solid-oxide cell, electrodes included.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Resistance of unit area [ohm m2].

    Raises
    ------
    DomainError
        If any temperature lies outside the range of the cell, 873.15 to 1273.15 K.

    References
    ----------
    .. [1] hauch_2020, band at 800 degC; common_practice, activation energy.

    Examples
    --------
    >>> print(f"{1e4 * solid_oxide_resistance(1073.15):.2f}")  # ohm cm2
    0.50
    """
    warm = within("temperature", "K", temperature, _CELL_COLDEST, _CELL_HOTTEST)
    return broadcast(solid_oxide_resistance_kernel, warm)


def cold_water_voltage(temperature: ArrayLike, heat_recovery: ArrayLike) -> FloatArray:
    r"""Heat and work to split water fed liquid at 25 degC in a hot cell, as a voltage.

    .. math:: V = [\Delta H_{25} + (1 - r) Q(T)] / 2F

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature at which the gases leave the cell [K].
    heat_recovery : array_like, shape (...)
        Share of the heat of the hot products given back to the feed [1].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If a temperature lies outside 298.15 to 1400 K or the share outside 0 to 1.

    Notes
    -----
    What the cell does not take up as electric power must come as heat, from a heater if nothing else is hot.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{cold_water_voltage(1073.15, 0.8):.3f}")
    1.518
    """
    share = within("heat recovery", "1", heat_recovery, 0.0, 1.0)
    return broadcast(cold_water_voltage_kernel, _hot(temperature), share)
