"""Getting water out of icy soil: ideal heat per kilogram of water, and the electric energy it takes."""

from __future__ import annotations

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import require_each, share, within
from tradespace.physics.water import ice_heat_kernel

__all__ = ["extraction_energy", "icy_regolith_heat", "regolith_heat"]

_VALUES = "physics_values.csv"
_REGOLITH = series("regolith_heat_capacity", "water_coefficients.csv")
_SUBLIMATION_HEAT = value("water_sublimation_heat", _VALUES)
_LOWEST = value("regolith_lowest_temperature", _VALUES)
_HIGHEST = value("regolith_highest_temperature", _VALUES)


@kernel
def _regolith_enthalpy(temperature: float) -> float:
    total = 0.0
    for index in range(len(_REGOLITH)):
        total += _REGOLITH[index] * temperature ** (index + 1) / (index + 1)
    return total


@kernel
def regolith_heat_kernel(temperature: float, final_temperature: float) -> float:
    """Heat to warm dry regolith [J kg-1]; zero when it is warm enough already."""
    return max(_regolith_enthalpy(final_temperature) - _regolith_enthalpy(temperature), 0.0)


@kernel
def icy_regolith_heat_kernel(ice_fraction: float, temperature: float, release_temperature: float) -> float:
    """Ideal heat per kilogram of water to warm icy soil and drive its ice off as vapour [J kg-1]."""
    soil = (1.0 - ice_fraction) / ice_fraction * regolith_heat_kernel(temperature, release_temperature)
    return soil + ice_heat_kernel(temperature, release_temperature) + _SUBLIMATION_HEAT


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
    return heat / (efficiency * capture_fraction)


def _require_warming(temperature: ArrayLike, final_temperature: ArrayLike) -> None:
    first = within("regolith temperature", "K", temperature, _LOWEST, _HIGHEST)
    last = within("release temperature", "K", final_temperature, _LOWEST, _HIGHEST)
    require_each(last >= first, "release temperature", "K", last, "is below the regolith temperature")


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
        If a temperature lies outside 25 to 400 K, or the soil would be cooled.

    References
    ----------
    .. [1] hayne_2017, polynomial heat capacity of lunar samples.

    Examples
    --------
    >>> print(f"{regolith_heat(100.0, 250.0) / 1000:.1f}")  # kJ per kg
    73.0
    """
    _require_warming(temperature, final_temperature)
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
    No loss to the surroundings and no heat kept in the vapour. Ice is warmed up to the triple point at most.
    Free ice only: water bound in minerals needs more.

    References
    ----------
    .. [1] hayne_2017 (soil), murphy_2005 (ice and its heat of sublimation).

    Examples
    --------
    >>> print(f"{icy_regolith_heat(0.05, 100.0, 250.0) / 3.6e6:.2f}")  # kWh per kg
    1.23
    """
    ice = share("ice fraction", ice_fraction)
    _require_warming(temperature, release_temperature)
    return broadcast(icy_regolith_heat_kernel, ice, temperature, release_temperature)


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
    Heat is taken to come from electricity one to one. Excavation and purification are not included.

    References
    ----------
    .. [1] hayne_2017 (soil), murphy_2005 (ice), metzger_2020 (efficiency), luwex_2026 (capture).

    Examples
    --------
    >>> print(f"{extraction_energy(0.05, 100.0, 250.0, 0.5, 0.8) / 3.6e6:.2f}")  # kWh per kg
    3.08
    """
    heat = icy_regolith_heat(ice_fraction, temperature, release_temperature)
    return np.asarray(
        heat / (share("extraction efficiency", efficiency) * share("capture fraction", capture_fraction))
    )
