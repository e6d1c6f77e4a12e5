"""Liquid water on its vapour line: density, enthalpy, heat of vaporisation, heat to melt ice, freezing."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import require_each, within
from tradespace.physics.water.ice import ice_density_kernel, ice_heat_kernel
from tradespace.physics.water.phases import _whole_powers, saturation_pressure_kernel

_VALUES = "physics_values.csv"
_SERIES = "water_coefficients.csv"
_CRITICAL_TEMPERATURE = value("water_critical_temperature", _VALUES)
_CRITICAL_PRESSURE = value("water_critical_pressure", _VALUES)
_CRITICAL_DENSITY = value("water_critical_density", "extraction_values.csv")
_TRIPLE_TEMPERATURE = value("water_triple_temperature", _VALUES)
_TRIPLE_PRESSURE = value("water_triple_pressure", _VALUES)
_FUSION_HEAT = value("water_fusion_heat", _VALUES)
_HOTTEST_LIQUID = value("steam_lowest_temperature", _VALUES)
_PRESSURE_A = series("saturation_factors", _SERIES)
_PRESSURE_B = _whole_powers("saturation_exponents", 2)
_LIQUID_A = series("liquid_density_factors", _SERIES)
_LIQUID_B = _whole_powers("liquid_density_thirds", 1)
_VAPOUR_A = series("vapour_density_factors", _SERIES)
_VAPOUR_B = _whole_powers("vapour_density_sixths", 1)
_ENTHALPY_A = series("liquid_enthalpy_factors", _SERIES)
_ENTHALPY_B = _whole_powers("liquid_enthalpy_exponents", 2)


@kernel
def _on_the_line(temperature: float) -> float:
    """Temperature held between the triple and the critical point [K]."""
    return min(max(temperature, _TRIPLE_TEMPERATURE), _CRITICAL_TEMPERATURE)


@kernel
def saturation_slope_kernel(temperature: float) -> float:
    """Change of the vapour pressure over liquid water with temperature [Pa K-1]."""
    warm = _on_the_line(temperature)
    root = math.sqrt(1.0 - warm / _CRITICAL_TEMPERATURE)
    pressure = saturation_pressure_kernel(warm)
    total = math.log(pressure / _CRITICAL_PRESSURE)
    for index in range(len(_PRESSURE_A)):
        power = _PRESSURE_B[index]
        total += _PRESSURE_A[index] * 0.5 * power * root ** (power - 2)
    return -pressure / warm * total


@kernel
def liquid_density_kernel(temperature: float) -> float:
    """Density of liquid water on its vapour line [kg m-3]."""
    root = (1.0 - _on_the_line(temperature) / _CRITICAL_TEMPERATURE) ** (1.0 / 3.0)
    total = 1.0
    for index in range(len(_LIQUID_A)):
        total += _LIQUID_A[index] * root ** _LIQUID_B[index]
    return _CRITICAL_DENSITY * total


@kernel
def saturated_vapour_density_kernel(temperature: float) -> float:
    """Density of vapour over liquid water [kg m-3]."""
    root = (1.0 - _on_the_line(temperature) / _CRITICAL_TEMPERATURE) ** (1.0 / 6)
    total = 0.0
    for index in range(len(_VAPOUR_A)):
        total += _VAPOUR_A[index] * root ** _VAPOUR_B[index]
    return _CRITICAL_DENSITY * math.exp(total)


@kernel
def vaporisation_heat_kernel(temperature: float) -> float:
    """Heat to turn liquid water into vapour at its own temperature [J kg-1]."""
    warm = _on_the_line(temperature)
    expansion = 1.0 / saturated_vapour_density_kernel(warm) - 1.0 / liquid_density_kernel(warm)
    return warm * saturation_slope_kernel(warm) * max(expansion, 0.0)


@kernel
def liquid_enthalpy_kernel(temperature: float) -> float:
    """Enthalpy of liquid water on its vapour line above that at the triple point [J kg-1]."""
    warm = _on_the_line(temperature)
    root = math.sqrt(warm / _CRITICAL_TEMPERATURE)
    total = 0.0
    for index in range(len(_ENTHALPY_A)):
        total += _ENTHALPY_A[index] * root ** _ENTHALPY_B[index]
    return total + warm / liquid_density_kernel(warm) * saturation_slope_kernel(warm)


@kernel
def liquid_heat_kernel(temperature: float, final_temperature: float) -> float:
    """Heat to warm liquid water on its vapour line [J kg-1]."""
    return max(liquid_enthalpy_kernel(final_temperature) - liquid_enthalpy_kernel(temperature), 0.0)


@kernel
def melting_heat_kernel(temperature: float, water_temperature: float) -> float:
    """Heat to turn ice into liquid water at a given temperature [J kg-1]."""
    warming = ice_heat_kernel(temperature, _TRIPLE_TEMPERATURE)
    return warming + _FUSION_HEAT + liquid_heat_kernel(_TRIPLE_TEMPERATURE, water_temperature)


@kernel
def freezing_expansion_kernel(temperature: float) -> float:
    """Growth in volume when water freezes and cools to a temperature, over the volume of water [1]."""
    liquid = liquid_density_kernel(_TRIPLE_TEMPERATURE)
    return liquid / ice_density_kernel(temperature, _TRIPLE_PRESSURE) - 1.0


def _liquid(name: str, temperature: ArrayLike, highest: float = _CRITICAL_TEMPERATURE) -> FloatArray:
    return within(name, "K", temperature, _TRIPLE_TEMPERATURE, highest)


def liquid_density(temperature: ArrayLike) -> FloatArray:
    r"""Density of liquid water on its vapour line.

    .. math:: \rho/\rho_c = 1 + \sum b_i (1 - T/T_c)^{n_i/3}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the water [K].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If the temperature lies outside 273.16 to 647.096 K.

    Notes
    -----
    At 1 bar water is 0.005 % denser than on its vapour line at room temperature.

    References
    ----------
    .. [1] wagner_2002, eq. 2.6.

    Examples
    --------
    >>> print(f"{liquid_density(298.15):.1f}")
    997.0
    """
    return broadcast(liquid_density_kernel, _liquid("temperature", temperature))


def vaporisation_heat(temperature: ArrayLike) -> FloatArray:
    r"""Heat to turn liquid water into vapour at its own temperature.

    .. math:: L = T \frac{dp}{dT} (1/\rho'' - 1/\rho')

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the water [K].

    Returns
    -------
    ndarray, shape (...)
        Heat of vaporisation [J kg-1].

    Raises
    ------
    DomainError
        If the temperature lies outside 273.16 to 647.096 K.

    References
    ----------
    .. [1] wagner_2002, eqs. 2.5 to 2.7, with the relation of Clapeyron.

    Examples
    --------
    >>> print(f"{vaporisation_heat(298.15) / 1000:.1f}")  # kJ per kg
    2441.9
    """
    return broadcast(vaporisation_heat_kernel, _liquid("temperature", temperature))


def liquid_heat(temperature: ArrayLike, final_temperature: ArrayLike) -> FloatArray:
    """Heat to warm liquid water.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the water at first [K].
    final_temperature : array_like, shape (...)
        Temperature it is warmed to [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If the temperature lies outside 273.16 to 647.096 K, or the final temperature outside it and above that.

    References
    ----------
    .. [1] wagner_2002, eqs. 2.8 and 2.10.

    Examples
    --------
    >>> print(f"{liquid_heat(273.16, 298.15) / 1000:.1f}")  # kJ per kg
    104.8
    """
    first, last = _liquid("temperature", temperature), _liquid("final temperature", final_temperature)
    require_each(last >= first, "final temperature", "K", last, "must not be below the temperature at first")
    return broadcast(liquid_heat_kernel, first, last)


def melting_heat(temperature: ArrayLike, water_temperature: ArrayLike) -> FloatArray:
    """Heat to turn ice into liquid water under enough pressure to keep it liquid.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice [K].
    water_temperature : array_like, shape (...)
        Temperature of the water [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If the temperature lies outside 0 to 273.16 K, or the water temperature outside 273.16 to 373.15 K.

    References
    ----------
    .. [1] feistel_2006 (ice and fusion), wagner_2002 (liquid).

    Examples
    --------
    >>> print(f"{melting_heat(100.0, 298.15) / 1000:.1f}")  # kJ per kg
    694.7
    """
    first = within("temperature of the ice", "K", temperature, 0.0, _TRIPLE_TEMPERATURE)
    return broadcast(
        melting_heat_kernel, first, _liquid("water temperature", water_temperature, _HOTTEST_LIQUID)
    )


def freezing_expansion(temperature: ArrayLike) -> FloatArray:
    """Growth in volume when water freezes and cools on, over the volume of cold water.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature to which the ice cools [K].

    Returns
    -------
    ndarray, shape (...)
        Added volume over the volume of water at the triple point [1].

    Raises
    ------
    DomainError
        If the temperature lies outside 0 to 273.16 K.

    Notes
    -----
    A closed vessel filled further than the inverse of one plus this number bursts when it freezes.

    References
    ----------
    .. [1] feistel_2006 (ice), wagner_2002 (liquid).

    Examples
    --------
    >>> print(f"{100 * freezing_expansion(273.16):.1f}")  # per cent
    9.1
    """
    cold = within("temperature of the ice", "K", temperature, 0.0, _TRIPLE_TEMPERATURE)
    return broadcast(freezing_expansion_kernel, cold)
