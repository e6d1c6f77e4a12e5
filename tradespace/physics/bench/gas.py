"""Gas behind an electrolyser: what a meter on wet gas has really counted, and the most gas a watt can make.

Hydrogen with oxygen burns and detonates over a wide range; these numbers judge readings that have been taken.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each, within
from tradespace.physics.electrolysis.voltage import (
    liquid_under_pressure,
    reversible_voltage_kernel,
)
from tradespace.physics.water import saturation_pressure, saturation_pressure_kernel

_GAS_CONSTANT = value("gas_constant")
_FARADAY = value("faraday_constant")
_WATER_MASS = value("molar_mass_water")
_ENTHALPY = value("reaction_enthalpy_water")
_STANDARD_TEMPERATURE = value("standard_temperature")
_STANDARD_PRESSURE = value("standard_pressure")
_COLDEST = value("water_triple_temperature", "physics_values.csv")
_HOTTEST = value("water_critical_temperature", "physics_values.csv")


@kernel
def amount_rate_kernel(volume_rate: float, temperature: float, pressure: float) -> float:
    """Amount of ideal gas in a volume rate [mol s-1]."""
    return max(pressure, 0.0) * volume_rate / (_GAS_CONSTANT * max(temperature, 1.0))


@kernel
def dry_gas_rate_kernel(
    volume_rate: float, meter_temperature: float, meter_pressure: float, saturation: float
) -> float:
    """Gas without its vapour in a metered volume rate [mol s-1]."""
    dry = meter_pressure - saturation * saturation_pressure_kernel(meter_temperature)
    return amount_rate_kernel(volume_rate, meter_temperature, dry)


@kernel
def vapour_rate_kernel(
    volume_rate: float, meter_temperature: float, meter_pressure: float, saturation: float
) -> float:
    """Water vapour in a metered volume rate [kg s-1]."""
    part = min(saturation * saturation_pressure_kernel(meter_temperature), meter_pressure)
    return _WATER_MASS * amount_rate_kernel(volume_rate, meter_temperature, part)


@kernel
def vapour_correction_kernel(meter_temperature: float, meter_pressure: float) -> float:
    """Share of a saturated gas that is vapour [1]."""
    return min(saturation_pressure_kernel(meter_temperature) / max(meter_pressure, 1e-30), 1.0)


@kernel
def hydrogen_ceiling_kernel(power: float) -> float:
    """Hydrogen from a power at an efficiency of 1 on the higher heating value [mol s-1]."""
    return power / _ENTHALPY


@kernel
def absolute_hydrogen_ceiling_kernel(power: float, cell_temperature: float, pressure: float) -> float:
    """Hydrogen from a power at the reversible voltage, heat drawn from outside [mol s-1]."""
    lowest = max(reversible_voltage_kernel(cell_temperature, pressure), 1e-3)
    return power / (2.0 * _FARADAY * lowest)


def _not_boiling(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """A meter's temperature and pressure, at which water does not boil."""
    total, vapour = np.broadcast_arrays(
        above("meter_pressure", "Pa", pressure), saturation_pressure(_warm(temperature))
    )
    dry = vapour < total
    if not dry.all():
        limit = f"must be above the vapour pressure of {vapour[~dry].flat[0]:.6g} Pa: the water would boil"
        require_each(dry, "meter_pressure", "Pa", total, limit)
    return _warm(temperature), above("meter_pressure", "Pa", pressure)


def _warm(temperature: ArrayLike) -> FloatArray:
    return within("meter_temperature", "K", temperature, _COLDEST, _HOTTEST)


def dry_gas_rate(
    volume_rate: ArrayLike,
    meter_temperature: ArrayLike,
    meter_pressure: ArrayLike,
    saturation: ArrayLike = 1.0,
) -> FloatArray:
    r"""Gas without its water vapour that a volume meter has counted.

    .. math:: \dot n = (p - s\,p_s(T))\,\dot V / (R T)

    Parameters
    ----------
    volume_rate : array_like, shape (...)
        Volume per time at the temperature and pressure of the meter [m3 s-1].
    meter_temperature : array_like, shape (...)
        Temperature in the meter [K].
    meter_pressure : array_like, shape (...)
        Absolute pressure in the meter [Pa].
    saturation : array_like, shape (...)
        Vapour in the gas over that of saturation: 1 wet, 0 dry [1].

    Returns
    -------
    ndarray, shape (...)
        Hydrogen, or hydrogen and oxygen together, whichever passes the meter [mol s-1].

    Raises
    ------
    DomainError
        If a volume rate is negative, the temperature lies off the saturation line, water would boil in the meter, or
        the saturation lies outside 0 to 1.

    Notes
    -----
    Ideal gases over pure water. A meter that itself weighs mass (thermal, Coriolis) needs its own correction.

    References
    ----------
    .. [1] wagner_2002 (vapour pressure); closed form: partial pressures of ideal gases.

    Examples
    --------
    >>> print(f"{1e6 * dry_gas_rate(1e-6, 298.15, 101325.0):.2f}")  # micromole per second from 1 mL/s
    39.60
    """
    return broadcast(
        dry_gas_rate_kernel,
        at_least("volume_rate", "m3/s", volume_rate),
        *_not_boiling(meter_temperature, meter_pressure),
        within("saturation", "1", saturation, 0.0, 1.0),
    )


def vapour_rate(
    volume_rate: ArrayLike,
    meter_temperature: ArrayLike,
    meter_pressure: ArrayLike,
    saturation: ArrayLike = 1.0,
) -> FloatArray:
    r"""Water vapour that a metered gas carries along: water lost that no current split.

    .. math:: \dot m = M\,s\,p_s(T)\,\dot V / (R T)

    Parameters
    ----------
    volume_rate : array_like, shape (...)
        Volume per time at the temperature and pressure of the meter [m3 s-1].
    meter_temperature : array_like, shape (...)
        Temperature in the meter [K].
    meter_pressure : array_like, shape (...)
        Absolute pressure in the meter [Pa].
    saturation : array_like, shape (...)
        Vapour in the gas over that of saturation: 1 wet, 0 dry [1].

    Returns
    -------
    ndarray, shape (...)
        Vapour [kg s-1].

    Raises
    ------
    DomainError
        As for :func:`dry_gas_rate`.

    References
    ----------
    .. [1] wagner_2002 (vapour pressure); closed form: partial pressures of ideal gases.

    Examples
    --------
    >>> print(f"{1e9 * vapour_rate(1e-6, 298.15, 101325.0):.1f}")  # microgram per second with 1 mL/s
    23.0
    """
    return broadcast(
        vapour_rate_kernel,
        at_least("volume_rate", "m3/s", volume_rate),
        *_not_boiling(meter_temperature, meter_pressure),
        within("saturation", "1", saturation, 0.0, 1.0),
    )


def vapour_correction(meter_temperature: ArrayLike, meter_pressure: ArrayLike) -> FloatArray:
    r"""Share of a gas saturated with water that is vapour: what a volume meter counts too much.

    .. math:: y = p_s(T) / p

    Parameters
    ----------
    meter_temperature : array_like, shape (...)
        Temperature in the meter [K].
    meter_pressure : array_like, shape (...)
        Absolute pressure in the meter [Pa].

    Returns
    -------
    ndarray, shape (...)
        Share of the volume [1].

    Raises
    ------
    DomainError
        If the temperature lies off the saturation line or water would boil in the meter.

    References
    ----------
    .. [1] wagner_2002 (vapour pressure); closed form: partial pressures of ideal gases.

    Examples
    --------
    >>> for temperature in (298.15, 333.15):
    ...     print(f"{100 * vapour_correction(temperature, 101325.0):.1f} %")
    3.1 %
    19.7 %
    """
    return broadcast(vapour_correction_kernel, *_not_boiling(meter_temperature, meter_pressure))


def hydrogen_ceiling(power: ArrayLike) -> FloatArray:
    r"""Hydrogen that a power makes at an efficiency of 1 on the higher heating value.

    .. math:: \dot n = P / \Delta H

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power [W].

    Returns
    -------
    ndarray, shape (...)
        Hydrogen [mol s-1].

    Raises
    ------
    DomainError
        If a power is negative.

    Notes
    -----
    More means that heat is drawn from outside, or that meter, ripple of the supply or leaks of air mislead.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{1e6 * hydrogen_ceiling(1.0):.3f}")  # micromole per second from 1 W
    3.499
    """
    return broadcast(hydrogen_ceiling_kernel, at_least("power", "W", power))


def absolute_hydrogen_ceiling(
    power: ArrayLike,
    cell_temperature: ArrayLike = _STANDARD_TEMPERATURE,
    pressure: ArrayLike = _STANDARD_PRESSURE,
) -> FloatArray:
    r"""Hydrogen that no cell exceeds, whatever heat it draws: the second law.

    .. math:: \dot n = P / (2 F\,V_\mathrm{rev}(T, p))

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power [W].
    cell_temperature : array_like, shape (...)
        Temperature of the cell [K].
    pressure : array_like, shape (...)
        Total pressure on both sides of the cell [Pa].

    Returns
    -------
    ndarray, shape (...)
        Hydrogen [mol s-1].

    Raises
    ------
    DomainError
        If a power is negative, the temperature lies outside 273.15 to 423.15 K, or the water would boil.

    References
    ----------
    .. [1] mcbride_2002, leroy_1980 (reversible voltage with saturated gases); codata_2018.

    Examples
    --------
    >>> print(f"{absolute_hydrogen_ceiling(1.0) / hydrogen_ceiling(1.0):.3f}")
    1.206
    """
    drawn = at_least("power", "W", power)
    place = liquid_under_pressure(cell_temperature, pressure)
    return broadcast(absolute_hydrogen_ceiling_kernel, drawn, *place)


def gas_volume(amount_rate: ArrayLike, temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Volume that an amount of gas fills as an ideal gas.

    .. math:: \dot V = \dot n R T / p

    Parameters
    ----------
    amount_rate : array_like, shape (...)
        Amount of gas per time [mol s-1].
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
        If an amount is negative, or temperature or pressure is not above zero.

    References
    ----------
    .. [1] codata_2018, gas constant.

    Examples
    --------
    >>> print(f"{6e7 * gas_volume(hydrogen_ceiling(1.0), 273.15, 101325.0):.3f}")  # mL per minute from 1 W
    4.705
    """
    amount = at_least("amount_rate", "mol/s", amount_rate)
    warm, total = above("temperature", "K", temperature), above("pressure", "Pa", pressure)
    return np.asarray(amount * _GAS_CONSTANT * warm / total, dtype=np.float64)
