"""The lines between ice, liquid water and vapour: pressures, free sublimation, heat of sublimation."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within

_VALUES = "physics_values.csv"
_SERIES = "water_coefficients.csv"
_CRITICAL_TEMPERATURE = value("water_critical_temperature", _VALUES)
_CRITICAL_PRESSURE = value("water_critical_pressure", _VALUES)
_TRIPLE_TEMPERATURE = value("water_triple_temperature", _VALUES)
_TRIPLE_PRESSURE = value("water_triple_pressure", _VALUES)
_LOWEST_ICE = value("ice_lowest_temperature", _VALUES)
_GAS_CONSTANT = value("gas_constant")
_MOLAR_MASS = value("molar_mass_water")
_SATURATION_A = series("saturation_factors", _SERIES)
_SUBLIMATION_A = series("sublimation_factors", _SERIES)
_SUBLIMATION_B = series("sublimation_exponents", _SERIES)
_SUBLIMATION_HEAT = series("sublimation_heat", _SERIES)


def _whole_powers(name: str, parts: int) -> tuple[int, ...]:
    """Exponents of a series times the order of a root, whole so that compiled code raises the root fast."""
    return tuple(round(parts * exponent) for exponent in series(name, _SERIES))


_SATURATION_B = _whole_powers("saturation_exponents", 2)


@kernel
def saturation_pressure_kernel(temperature: float) -> float:
    """Vapour pressure over liquid water [Pa]; the critical pressure at and above the critical temperature."""
    temperature = min(max(temperature, 1.0), _CRITICAL_TEMPERATURE)
    root = math.sqrt(1.0 - temperature / _CRITICAL_TEMPERATURE)
    total = 0.0
    for index in range(len(_SATURATION_A)):
        total += _SATURATION_A[index] * root ** _SATURATION_B[index]
    return _CRITICAL_PRESSURE * math.exp(_CRITICAL_TEMPERATURE / temperature * total)


@kernel
def sublimation_pressure_kernel(temperature: float) -> float:
    """Vapour pressure over ice [Pa]; that of the triple point when warmer."""
    reduced = min(max(temperature, 1.0), _TRIPLE_TEMPERATURE) / _TRIPLE_TEMPERATURE
    total = 0.0
    for index in range(len(_SUBLIMATION_A)):
        total += _SUBLIMATION_A[index] * reduced ** _SUBLIMATION_B[index]
    return _TRIPLE_PRESSURE * math.exp(total / reduced)


@kernel
def sublimation_flux_kernel(temperature: float) -> float:
    """Mass leaving a bare ice face in vacuum [kg m-2 s-1]."""
    temperature = max(temperature, 1.0)
    speed = math.sqrt(_MOLAR_MASS / (2.0 * math.pi * _GAS_CONSTANT * temperature))
    return sublimation_pressure_kernel(temperature) * speed


@kernel
def sublimation_heat_kernel(temperature: float) -> float:
    """Heat to turn ice into vapour at its own temperature [J kg-1]."""
    c0, c1, c2, c3, c4 = _SUBLIMATION_HEAT
    t = min(max(temperature, 0.0), _TRIPLE_TEMPERATURE)
    molar = c0 + c1 * t + c2 * t * t + c3 * math.exp(-((t / c4) ** 2))
    return molar / _MOLAR_MASS


def _ice(temperature: ArrayLike) -> FloatArray:
    return within("ice temperature", "K", temperature, _LOWEST_ICE, _TRIPLE_TEMPERATURE)


def saturation_pressure(temperature: ArrayLike) -> FloatArray:
    r"""Vapour pressure over liquid water.

    .. math:: \ln(p/p_c) = (T_c/T) \sum a_i (1 - T/T_c)^{b_i}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the water [K].

    Returns
    -------
    ndarray, shape (...)
        Saturation pressure [Pa].

    Raises
    ------
    DomainError
        If any temperature is below 273.15 K or above the critical temperature.

    References
    ----------
    .. [1] wagner_2002, eq. 2.5.

    Examples
    --------
    >>> print(f"{saturation_pressure(353.15) / 1000:.2f}")  # kPa at 80 degC
    47.42
    """
    lowest = value("water_split_lowest_temperature", _VALUES)
    values = within("water temperature", "K", temperature, lowest, _CRITICAL_TEMPERATURE)
    return broadcast(saturation_pressure_kernel, values)


def sublimation_pressure(temperature: ArrayLike) -> FloatArray:
    r"""Vapour pressure over ice.

    .. math:: \ln(p/p_t) = (T_t/T) \sum a_i (T/T_t)^{b_i}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice [K].

    Returns
    -------
    ndarray, shape (...)
        Sublimation pressure [Pa].

    Raises
    ------
    DomainError
        If any temperature lies outside 50 to 273.16 K.

    References
    ----------
    .. [1] wagner_2011, IAPWS R14-08 eq. 6.

    Examples
    --------
    >>> print(f"{sublimation_pressure(230.0):.5f}")
    8.94735
    """
    return broadcast(sublimation_pressure_kernel, _ice(temperature))


def sublimation_flux(temperature: ArrayLike) -> FloatArray:
    r"""Mass that leaves a bare ice face in vacuum: the fastest drying an ice bed can show.

    .. math:: \dot m'' = p \sqrt{M / (2 \pi R T)}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice face [K].

    Returns
    -------
    ndarray, shape (...)
        Mass flux [kg m-2 s-1].

    Raises
    ------
    DomainError
        If any temperature lies outside 50 to 273.16 K.

    Notes
    -----
    Hertz-Knudsen with an evaporation coefficient of one; soil above the ice slows it by orders of magnitude.

    References
    ----------
    .. [1] wagner_2011, with kinetic theory.

    Examples
    --------
    >>> print(f"{sublimation_flux(200.0):.3e}")
    2.135e-04
    """
    return broadcast(sublimation_flux_kernel, _ice(temperature))


def sublimation_heat(temperature: ArrayLike) -> FloatArray:
    """Heat to turn ice into vapour at its own temperature.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice [K].

    Returns
    -------
    ndarray, shape (...)
        Heat of sublimation [J kg-1].

    Raises
    ------
    DomainError
        If any temperature lies outside 50 to 273.16 K.

    References
    ----------
    .. [1] murphy_2005, eq. 5.

    Examples
    --------
    >>> print(f"{sublimation_heat(200.0) / 1000:.1f}")  # kJ per kg
    2832.9
    """
    return broadcast(sublimation_heat_kernel, _ice(temperature))
