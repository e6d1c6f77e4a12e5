"""Stored superheated steam: density and pressure times volume."""

from __future__ import annotations

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, floats, require_each, within
from tradespace.physics.water import saturation_pressure_kernel

_VALUES = "physics_values.csv"
_GAS_CONSTANT = value("gas_constant")
_STEAM_GAS = _GAS_CONSTANT / value("molar_mass_water")
_CRITICAL_TEMPERATURE = value("water_critical_temperature", _VALUES)
_STEAM = np.array([series(f"density_power_{k}", "gas_steam.csv") for k in range(1, 6)])
_STEAM_POWERS, _STEAM_TERMS = _STEAM.shape
_STEAM_DENSITY = value("steam_reference_density", _VALUES)
_STEAM_TEMPERATURE = value("steam_reference_temperature", _VALUES)
_STEAM_SHIFT = value("steam_temperature_shift", _VALUES)
_STEAM_COLDEST = value("steam_lowest_temperature", _VALUES)
_STEAM_HOTTEST = value("steam_highest_temperature", _VALUES)
_STEAM_PRESSURE = value("steam_highest_pressure", _VALUES)
_STEAM_PASSES = 12


@kernel
def steam_density_kernel(temperature: float, pressure: float) -> float:
    """Density of superheated steam [kg m-3]; past saturation that of saturated steam."""
    temperature = max(temperature, _STEAM_COLDEST)
    target = max(pressure, 1.0)
    if temperature < _CRITICAL_TEMPERATURE:
        target = min(target, saturation_pressure_kernel(temperature))
    y = _STEAM_TEMPERATURE / temperature - _STEAM_SHIFT
    unit = _STEAM_DENSITY * _STEAM_GAS * temperature
    wanted = target / unit
    x = wanted
    for _ in range(_STEAM_PASSES):
        total, slope, power = 1.0, 1.0, 1.0
        for k in range(_STEAM_POWERS):
            factor = 0.0
            for j in range(_STEAM_TERMS - 1, -1, -1):
                factor = factor * y + _STEAM[k, j]
            power *= x
            total += factor * power
            slope += (k + 2.0) * factor * power
        x -= (x * total - wanted) / max(slope, 0.05)
    return x * _STEAM_DENSITY


@kernel
def steam_pv_kernel(temperature: float, pressure: float) -> float:
    """Pressure times volume of a kilogram of superheated steam [J kg-1]; past saturation at saturation."""
    temperature = max(temperature, _STEAM_COLDEST)
    target = max(pressure, 1.0)
    if temperature < _CRITICAL_TEMPERATURE:
        target = min(target, saturation_pressure_kernel(temperature))
    return target / steam_density_kernel(temperature, target)


def _steam_range(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    warm = within("steam temperature", "K", temperature, _STEAM_COLDEST, _STEAM_HOTTEST)
    above("steam pressure", "Pa", pressure)
    total = within("steam pressure", "Pa", pressure, 0.0, _STEAM_PRESSURE)
    limit = broadcast(saturation_pressure_kernel, warm)
    dry = (total <= limit) | (warm >= _CRITICAL_TEMPERATURE)
    totals, limits = np.broadcast_arrays(total, limit)
    least = f"{limits[~dry].flat[0]:.6g}" if not dry.all() else ""
    advice = f"is above saturation at {least} Pa: steam would condense; heat it or lower it"
    require_each(dry, "steam pressure", "Pa", totals, advice)
    return warm, total


def steam_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 373.15 to 1100 K, pressure outside 0 to 20 MPa, or steam would condense.

    Notes
    -----
    A density series fitted to the reference equation of state, within 0.1 %.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_density(620.0, 3e6):.2f}")
    11.11
    """
    return broadcast(steam_density_kernel, *_steam_range(temperature, pressure))


def steam_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Compressibility factor of superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        As for :func:`steam_density`.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_compressibility(620.0, 3e6):.3f}")
    0.943
    """
    return np.asarray(steam_pv(temperature, pressure) / (_STEAM_GAS * floats(temperature)), dtype=np.float64)


def steam_pv(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Pressure times volume of a kilogram of stored superheated steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Pressure times volume per mass [J kg-1].

    Raises
    ------
    DomainError
        As for :func:`steam_density`.

    References
    ----------
    .. [1] wagner_2002, reference equation of state.

    Examples
    --------
    >>> print(f"{steam_pv(620.0, 3e6) / 1000:.0f}")  # kJ per kg
    270
    """
    return broadcast(steam_pv_kernel, *_steam_range(temperature, pressure))
