"""How much water and gas a current or a power makes, by Faraday's law."""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each, share

_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN_MASS = value("molar_mass_hydrogen")
_OXYGEN_MASS = value("molar_mass_oxygen")
_HIGHEST_EFFICIENCY = value("highest_split_efficiency", "physics_values.csv")
_WATER_MASS = value("molar_mass_water")
_ENTHALPY = value("reaction_enthalpy_water")


@kernel
def water_split_rate_kernel(current: float, cells: float, faradaic_efficiency: float) -> float:
    """Water split by a current through cells in series [kg s-1]."""
    return current * cells * faradaic_efficiency * _WATER_MASS / (2.0 * _FARADAY)


@kernel
def water_rate_of_power_kernel(power: float, efficiency: float) -> float:
    """Water split by an electric power at an efficiency on the higher heating value [kg s-1]."""
    return power * efficiency * _WATER_MASS / _ENTHALPY


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


def oxygen_volume_rate(
    current: ArrayLike,
    cells: ArrayLike,
    faradaic_efficiency: ArrayLike,
    temperature: ArrayLike,
    pressure: ArrayLike,
) -> FloatArray:
    """Dry oxygen made by a current, as the volume an ideal gas would fill.

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
    >>> print(f"{6e7 * oxygen_volume_rate(1.0, 1, 1.0, 273.15, 101325.0):.4f}")  # mL per minute
    3.4846
    """
    return np.asarray(0.5 * hydrogen_volume_rate(current, cells, faradaic_efficiency, temperature, pressure))


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
        If power is negative or efficiency lies outside (0, 1.32].

    Notes
    -----
    Efficiencies above one need heat from outside; the second law allows 1.32 at most below 150 degC.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{3600 * water_rate_of_power(1000.0, 0.70):.4f}")  # kg per hour
    0.1588
    """
    power, eta = at_least("power", "W", power), above("efficiency", "1", efficiency)
    limit = f"is above {_HIGHEST_EFFICIENCY:g}, which no cell below 150 degC can reach"
    require_each(eta <= _HIGHEST_EFFICIENCY, "efficiency", "1", eta, limit)
    return broadcast(water_rate_of_power_kernel, power, eta)
