"""Icy soil: heat to warm it, to drive its ice off as vapour or to melt it, and the electric energy this takes."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import require_each, share, within
from tradespace.physics.water import ice_heat_kernel, melting_heat_kernel

_VALUES = "physics_values.csv"
_REGOLITH = series("regolith_heat_capacity", "water_coefficients.csv")
_MINERAL = series("rock_heat_capacity_shape", "water_coefficients.csv")
_SUBLIMATION_HEAT = value("water_sublimation_heat", _VALUES)
_LOWEST = value("regolith_lowest_temperature", _VALUES)
_HIGHEST = value("regolith_highest_temperature", _VALUES)
_HOTTEST = value("rock_highest_temperature", "extraction_values.csv")
_TRIPLE = value("water_triple_temperature", _VALUES)
_BOILING = value("steam_lowest_temperature", _VALUES)
_LEAST_SHARE = 1e-6  # shares below it are taken as it, so that no design divides by zero


@kernel
def _polynomial_enthalpy(temperature: float) -> float:
    total = 0.0
    for index in range(len(_REGOLITH)):
        total += _REGOLITH[index] * temperature ** (index + 1) / (index + 1)
    return total


@kernel
def _mineral_enthalpy(temperature: float) -> float:
    c0, c1, c2, c3 = _MINERAL
    return (
        c0 * temperature + 2.0 * c1 * math.sqrt(temperature) - c2 / temperature - c3 / (2.0 * temperature**2)
    )


def _joining_factor() -> float:
    """Heat capacity of soil over that of the minerals at the temperature where one continues the other."""
    c0, c1, c2, c3 = _MINERAL
    soil = sum(factor * _HIGHEST**power for power, factor in enumerate(_REGOLITH))
    return soil / (c0 + c1 / math.sqrt(_HIGHEST) + c2 / _HIGHEST**2 + c3 / _HIGHEST**3)


_JOINING = _joining_factor()


@kernel
def _regolith_enthalpy(temperature: float) -> float:
    if temperature <= _HIGHEST:
        return _polynomial_enthalpy(max(temperature, _LOWEST))
    above = _mineral_enthalpy(min(temperature, _HOTTEST)) - _mineral_enthalpy(_HIGHEST)
    return _polynomial_enthalpy(_HIGHEST) + _JOINING * above


@kernel
def share_kernel(share: float) -> float:
    """A share held above zero and at most one [1]."""
    return min(max(share, _LEAST_SHARE), 1.0)


@kernel
def regolith_heat_kernel(temperature: float, final_temperature: float) -> float:
    """Heat to warm dry regolith [J kg-1]; zero when it is warm enough already."""
    return max(_regolith_enthalpy(final_temperature) - _regolith_enthalpy(temperature), 0.0)


@kernel
def icy_regolith_heat_kernel(ice_fraction: float, temperature: float, release_temperature: float) -> float:
    """Ideal heat per kilogram of water to warm icy soil and drive its ice off as vapour [J kg-1]."""
    ice = share_kernel(ice_fraction)
    soil = (1.0 - ice) / ice * regolith_heat_kernel(temperature, release_temperature)
    return soil + ice_heat_kernel(temperature, release_temperature) + _SUBLIMATION_HEAT


@kernel
def icy_regolith_melting_heat_kernel(
    ice_fraction: float, temperature: float, water_temperature: float
) -> float:
    """Ideal heat per kilogram of water to warm icy soil under pressure until its ice is liquid [J kg-1]."""
    ice = share_kernel(ice_fraction)
    soil = (1.0 - ice) / ice * regolith_heat_kernel(temperature, water_temperature)
    return soil + melting_heat_kernel(temperature, water_temperature)


@kernel
def extraction_energy_kernel(
    ice_fraction: float,
    temperature: float,
    release_temperature: float,
    efficiency: float,
    capture_fraction: float,
) -> float:
    """Electric energy per kilogram of water that reaches the tank [J kg-1]."""
    heat = icy_regolith_heat_kernel(ice_fraction, temperature, release_temperature)
    return heat / (share_kernel(efficiency) * share_kernel(capture_fraction))


def _require_warming(
    name: str,
    temperature: ArrayLike,
    final_temperature: ArrayLike,
    highest: float = _HIGHEST,
    start: str = "temperature of the regolith",
) -> None:
    """Raise unless soil is warmed, within the range of its heat capacity.

    Parameters
    ----------
    name : str
        What the final temperature is called [text].
    temperature, final_temperature : array_like
        Temperatures before and after [K].
    highest : float
        End of the range [K].
    start : str
        What the first temperature is called [text].

    Raises
    ------
    DomainError
        If a temperature lies outside, or the soil would be cooled.
    """
    first = within(start, "K", temperature, _LOWEST, highest)
    last = within(name, "K", final_temperature, _LOWEST, highest)
    cold = np.broadcast_to(first, np.broadcast_shapes(first.shape, last.shape))[last < first]
    limit = f"is below the {start}" + (f", {cold.flat[0]:.6g} K" if cold.size else "")
    require_each(last >= first, name, "K", last, limit)


def regolith_heat(temperature: ArrayLike, final_temperature: ArrayLike) -> FloatArray:
    """Heat to warm dry regolith.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the soil at first [K].
    final_temperature : array_like, shape (...)
        Temperature it is warmed to [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of dry soil [J kg-1].

    Raises
    ------
    DomainError
        If a temperature lies outside 25 to 1200 K, or the final temperature is below the first.

    Notes
    -----
    Up to 400 K the samples of the Moon; above it their heat capacity grows like that of anorthite and diopside.

    References
    ----------
    .. [1] hayne_2017, polynomial heat capacity of lunar samples.
    .. [2] berman_brown_1985, heat capacity of minerals.

    Examples
    --------
    >>> print(f"{regolith_heat(100.0, 250.0) / 1000:.1f}")  # kJ per kg
    73.0
    """
    _require_warming("final temperature", temperature, final_temperature, _HOTTEST)
    return broadcast(regolith_heat_kernel, temperature, final_temperature)


def icy_regolith_heat(
    ice_fraction: ArrayLike, temperature: ArrayLike, release_temperature: ArrayLike
) -> FloatArray:
    r"""Ideal heat per kilogram of water to warm icy soil and drive its ice off as vapour.

    .. math:: q = \frac{1-w}{w}\int c_\mathrm{soil}\,dT + \int c_\mathrm{ice}\,dT + L

    Parameters
    ----------
    ice_fraction : array_like, shape (...)
        Mass fraction of ice in the soil [1].
    temperature : array_like, shape (...)
        Temperature of the soil in place [K].
    release_temperature : array_like, shape (...)
        Temperature to which soil and ice are heated [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water released [J kg-1].

    Raises
    ------
    DomainError
        If the fraction lies outside (0, 1], a temperature outside 25 to 400 K, or the release is colder.

    Notes
    -----
    No loss to the surroundings and no heat kept in the vapour. Ice is warmed up to the triple point at most. The
    heat of sublimation is held at 2.838 MJ/kg, within 0.25 % of its value from 195 to 273 K.
    Free ice only: water bound in minerals needs more.

    References
    ----------
    .. [1] hayne_2017 (soil), feistel_2006 (ice), murphy_2005 (its heat of sublimation).

    Examples
    --------
    >>> print(f"{icy_regolith_heat(0.05, 100.0, 250.0) / 3.6e6:.2f}")  # kWh per kg
    1.23
    """
    ice = share("ice fraction", ice_fraction)
    _require_warming("release temperature", temperature, release_temperature)
    return broadcast(icy_regolith_heat_kernel, ice, temperature, release_temperature)


def icy_regolith_melting_heat(
    ice_fraction: ArrayLike, temperature: ArrayLike, water_temperature: ArrayLike
) -> FloatArray:
    r"""Ideal heat per kilogram of water to melt the ice of soil under enough pressure to keep the water liquid.

    .. math:: q = \frac{1-w}{w}\int c_\mathrm{soil}\,dT + \int c_\mathrm{ice}\,dT + L_f + \int c_\mathrm{water}\,dT

    Parameters
    ----------
    ice_fraction : array_like, shape (...)
        Mass fraction of ice in the soil [1].
    temperature : array_like, shape (...)
        Temperature of the soil in place [K].
    water_temperature : array_like, shape (...)
        Temperature at which soil and water are drawn off [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If the ice fraction lies outside (0, 1], the temperature outside 25 to 273.16 K, or the water temperature
        outside 273.16 to 373.15 K.

    Notes
    -----
    A quarter of the heat of driving ice off as vapour, but the vessel must hold at least the triple-point pressure,
    and water must be parted from wet soil.

    References
    ----------
    .. [1] hayne_2017 (soil), feistel_2006 (ice and fusion), wagner_2002 (water).

    Examples
    --------
    >>> print(f"{icy_regolith_melting_heat(1.0, 100.0, 293.15) / 3.6e6:.3f}")  # kWh per kg of clean ice
    0.187
    """
    ice = share("ice fraction", ice_fraction)
    cold = within("temperature of the regolith", "K", temperature, _LOWEST, _TRIPLE)
    warm = within("water temperature", "K", water_temperature, _TRIPLE, _BOILING)
    return broadcast(icy_regolith_melting_heat_kernel, ice, cold, warm)


def extraction_energy(
    ice_fraction: ArrayLike,
    temperature: ArrayLike,
    release_temperature: ArrayLike,
    efficiency: ArrayLike,
    capture_fraction: ArrayLike,
) -> FloatArray:
    """Electric energy to put a kilogram of water from icy soil into the tank.

    Parameters
    ----------
    ice_fraction : array_like, shape (...)
        Mass fraction of ice in the soil [1].
    temperature : array_like, shape (...)
        Temperature of the soil in place [K].
    release_temperature : array_like, shape (...)
        Temperature to which soil and ice are heated [K].
    efficiency : array_like, shape (...)
        Share of the heat put in that ends in the released vapour's ideal heat [1].
    capture_fraction : array_like, shape (...)
        Share of the released vapour that reaches the tank [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water in the tank [J kg-1].

    Raises
    ------
    DomainError
        If a share lies outside (0, 1], or as for :func:`icy_regolith_heat`.

    Notes
    -----
    Heat is taken to come from electricity one to one. Excavation and purification are not included:
    :func:`tradespace.physics.extraction.water_energy` adds them.

    References
    ----------
    .. [1] hayne_2017 (soil), feistel_2006 and murphy_2005 (ice), metzger_2020 (efficiency), luwex_2026 (capture).

    Examples
    --------
    >>> print(f"{extraction_energy(0.05, 100.0, 250.0, 0.5, 0.8) / 3.6e6:.2f}")  # kWh per kg
    3.08
    """
    heat = icy_regolith_heat(ice_fraction, temperature, release_temperature)
    return np.asarray(
        heat / (share("extraction efficiency", efficiency) * share("capture fraction", capture_fraction))
    )
