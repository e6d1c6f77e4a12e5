"""Thermodynamic voltages of splitting liquid water."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, require_each, within
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.units import convert

_VALUES = "physics_values.csv"
_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_STANDARD_PRESSURE = value("standard_pressure")
_ICE_POINT = value("water_split_lowest_temperature", _VALUES)
_HIGHEST = value("water_split_highest_temperature", _VALUES)
_GIBBS = series("gibbs_energy", "water_split.csv")
_LEROY = series("leroy_1980", "electrolysis_voltage.csv")
_LEAST_DRY_SHARE = 1e-3  # numeric floor: keeps the logarithm finite where water would boil
_LEAST_PRESSURE = 1.0  # numeric floor: Pa
_LEAST_ACTIVITY = 1e-6  # numeric floor


@kernel
def model_temperature_kernel(temperature: float) -> float:
    """The temperature, held in the range of the species data of liquid water [K]."""
    return min(max(temperature, _ICE_POINT), _HIGHEST)


@kernel
def standard_reversible_voltage_kernel(temperature: float) -> float:
    """Least voltage that splits liquid water into gases at 1 bar each [V]."""
    t = model_temperature_kernel(temperature)
    c0, c1, c2, c3, c4, c5 = _GIBBS
    gibbs = c0 + t * (c1 + c2 * math.log(t) + t * (c3 + t * (c4 + t * c5)))
    return gibbs / (2.0 * _FARADAY)


@kernel
def thermoneutral_voltage_kernel(temperature: float) -> float:
    """Voltage at which splitting takes up no heat, water and gases at the same temperature [V]."""
    t = model_temperature_kernel(temperature)
    c0, _, c2, c3, c4, c5 = _GIBBS
    enthalpy = c0 - t * (c2 + t * (c3 + t * (2.0 * c4 + t * 3.0 * c5)))
    return enthalpy / (2.0 * _FARADAY)


@kernel
def nernst_kernel(temperature: float, pressure: float, pure_vapour_pressure: float, activity: float) -> float:
    """Rise of the reversible voltage with both gases at a total pressure over water of an activity [V]."""
    total, wet = max(pressure, _LEAST_PRESSURE), max(activity, _LEAST_ACTIVITY)
    dry = max(total - wet * pure_vapour_pressure, _LEAST_DRY_SHARE * total)
    scale = _GAS_CONSTANT * temperature / (2.0 * _FARADAY)
    return scale * (1.5 * math.log(dry / _STANDARD_PRESSURE) - math.log(wet))


@kernel
def reversible_voltage_kernel(temperature: float, pressure: float) -> float:
    """Least voltage with both gases at a total pressure over pure water, saturated with its vapour [V]."""
    warm = model_temperature_kernel(temperature)
    term = nernst_kernel(warm, pressure, saturation_pressure_kernel(warm), 1.0)
    return standard_reversible_voltage_kernel(warm) + term


def liquid_temperature(temperature: ArrayLike) -> FloatArray:
    """The temperatures as floats, all where the water-splitting functions hold.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        The same temperatures [K].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] mcbride_2002, range of the fit in ``physics_values.csv``.

    Examples
    --------
    >>> print(liquid_temperature([300, 350]))
    [300. 350.]
    """
    return within("cell temperature", "K", temperature, _ICE_POINT, _HIGHEST)


def _require_liquid(pressure: FloatArray, vapour_pressure: FloatArray, unit: str = "Pa") -> None:
    """Raise unless every pressure is above the vapour pressure, both in Pa; the message is in a given unit."""
    total, least = np.broadcast_arrays(pressure, vapour_pressure)
    boils = ~(total > least)
    limit = "does not keep the water liquid at the cell temperature"
    if boils.any():
        vapour = float(convert(least[boils].flat[0], "Pa", unit))
        limit += f": must be above {vapour:.6g} {unit}; raise the pressure or cool the cell"
    require_each(~boils, "pressure", unit, convert(total, "Pa", unit), limit)


def liquid_under_pressure(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Temperatures and pressures as floats, with every pressure high enough to keep water liquid.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Cell temperature [K].
    pressure : array_like, shape (...)
        Total pressure [Pa].

    Returns
    -------
    temperature : ndarray, shape (...)
        The same temperatures [K].
    pressure : ndarray, shape (...)
        The same pressures [Pa].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K, or any pressure lets the water boil.

    References
    ----------
    .. [1] wagner_2002, eq. 2.5 (saturation pressure).

    Examples
    --------
    >>> warm, total = liquid_under_pressure(353.15, 1e5)
    >>> print(f"{total:.0f}")
    100000
    """
    warm, total = liquid_temperature(temperature), above("pressure", "Pa", pressure)
    _require_liquid(total, broadcast(saturation_pressure_kernel, warm))
    warm, total = np.broadcast_arrays(warm, total)
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
    return broadcast(standard_reversible_voltage_kernel, liquid_temperature(temperature))


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
    Two other definitions are in use, both higher: water fed at 25 degC, and vapour carried off by the gases.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{thermoneutral_voltage(353.15):.4f}")
    1.4722
    """
    return broadcast(thermoneutral_voltage_kernel, liquid_temperature(temperature))


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
    Ideal gases; liquid water at unit activity, so its vapour pressure enters only through the gases. Real gases and
    the work of squeezing the liquid nearly cancel from 25 to 80 degC: below 1 mV together up to 200 bar, below
    1.3 mV up to 800 bar.

    References
    ----------
    .. [1] leroy_1980, pressure term; mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{reversible_voltage(353.15, 1e5):.4f}")
    1.1684
    """
    warm, total = liquid_under_pressure(temperature, pressure)
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
    t = liquid_temperature(temperature)
    c0, c1, c2, c3 = _LEROY
    return np.asarray(c0 + c1 * t + c2 * t * np.log(t) + c3 * t**2, dtype=np.float64)
