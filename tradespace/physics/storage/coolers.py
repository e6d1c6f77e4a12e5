"""Coolers that make liquid hydrogen and oxygen: electric work per heat removed, per gas and per water.

Liquid oxygen feeds fires, liquid hydrogen freezes air into an explosive, and both burst a closed vessel as they
warm. These functions size concepts; a design defers to local codes and licensed practice.
"""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, not_above, share
from tradespace.physics.storage.liquefaction import (
    SPIN_HEAT,
    _ambient,
    hydrogen_liquefaction_heat_kernel,
    oxygen_liquefaction_heat_kernel,
)

_HYDROGEN_SHARE = value("molar_mass_hydrogen") / value("molar_mass_water")
_OXYGEN_SHARE = 0.5 * value("molar_mass_oxygen") / value("molar_mass_water")
_COLD_HEAT = value("hydrogen_heat_below_precooling", "storage_values.csv")
_LEAST_SHARE = 1e-6


@kernel
def hydrogen_cooler_work_kernel(temperature: float, warm_ratio: float, cold_ratio: float) -> float:
    """Electric work of coolers at 90 K and at 20 K to liquefy hydrogen to para-hydrogen [J kg-1]."""
    cold = _COLD_HEAT + SPIN_HEAT
    warm = hydrogen_liquefaction_heat_kernel(temperature, 1.0) - cold
    return warm_ratio * max(warm, 0.0) + cold_ratio * cold


@kernel
def oxygen_cooler_work_kernel(temperature: float, warm_ratio: float) -> float:
    """Electric work of a cooler at 90 K to liquefy oxygen [J kg-1]."""
    return warm_ratio * oxygen_liquefaction_heat_kernel(temperature)


@kernel
def liquefaction_energy_kernel(hydrogen_specific_work: float, oxygen_specific_work: float) -> float:
    """Electric energy to liquefy the gas of a kilogram of water [J kg-1]."""
    return _HYDROGEN_SHARE * hydrogen_specific_work + _OXYGEN_SHARE * oxygen_specific_work


@kernel
def cooler_ratio_kernel(
    cold_temperature: float, warm_temperature: float, second_law_efficiency: float
) -> float:
    """Electric power of a cooler per heat it removes [1]."""
    cold = max(cold_temperature, 1.0)
    return max(warm_temperature - cold, 0.0) / (cold * max(second_law_efficiency, _LEAST_SHARE))


def hydrogen_cooler_work(temperature: ArrayLike, warm_ratio: ArrayLike, cold_ratio: ArrayLike) -> FloatArray:
    """Electric work of small coolers in two steps, at 90 K and at 20 K, to store hydrogen as para-hydrogen.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first [K].
    warm_ratio : array_like, shape (...)
        Electric power per heat removed of the cooler at 90 K [1].
    cold_ratio : array_like, shape (...)
        Electric power per heat removed of the cooler at 20 K [1].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of hydrogen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K, or a ratio is negative.

    Notes
    -----
    The whole heat of conversion is charged to the cold cooler: an upper bound. Large ground plants reach 10 to
    13 kWh/kg with many steps.

    References
    ----------
    .. [1] leachman_2009 (heats); doe_9013 (ground plants); cooler ratios as given.

    Examples
    --------
    >>> print(f"{hydrogen_cooler_work(298.15, 10.0, 70.0) / 3.6e6:.0f}")  # kWh per kg
    41
    """
    warm, cold = at_least("warm ratio", "1", warm_ratio), at_least("cold ratio", "1", cold_ratio)
    return broadcast(hydrogen_cooler_work_kernel, _ambient(temperature), warm, cold)


def oxygen_cooler_work(temperature: ArrayLike, warm_ratio: ArrayLike) -> FloatArray:
    """Electric work of a small cooler at 90 K to store oxygen as liquid.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first [K].
    warm_ratio : array_like, shape (...)
        Electric power per heat removed of the cooler at 90 K [1].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of oxygen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K, or the warm ratio is negative.

    References
    ----------
    .. [1] schmidt_1985 (heat); cooler ratio as given.

    Examples
    --------
    >>> print(f"{oxygen_cooler_work(298.15, 10.0) / 3.6e6:.2f}")  # kWh per kg
    1.12
    """
    return broadcast(
        oxygen_cooler_work_kernel, _ambient(temperature), at_least("warm ratio", "1", warm_ratio)
    )


def liquefaction_energy(hydrogen_specific_work: ArrayLike, oxygen_specific_work: ArrayLike) -> FloatArray:
    """Electric energy to liquefy the hydrogen and the oxygen of a kilogram of water.

    Parameters
    ----------
    hydrogen_specific_work : array_like, shape (...)
        Work per mass of hydrogen [J kg-1].
    oxygen_specific_work : array_like, shape (...)
        Work per mass of oxygen [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If a work is negative or not finite.

    References
    ----------
    .. [1] stoichiometry, masses of hydrogen and oxygen in water.

    Examples
    --------
    >>> print(f"{liquefaction_energy(41.0 * 3.6e6, 1.13 * 3.6e6) / 3.6e6:.1f}")  # kWh per kg of water
    5.6
    """
    return broadcast(
        liquefaction_energy_kernel,
        at_least("hydrogen specific work", "J/kg", hydrogen_specific_work),
        at_least("oxygen specific work", "J/kg", oxygen_specific_work),
    )


def cooler_ratio(
    cold_temperature: ArrayLike, warm_temperature: ArrayLike, second_law_efficiency: ArrayLike
) -> FloatArray:
    r"""Electric power of a cooler per heat it removes.

    .. math:: W/Q = (T_w - T_c)/(\eta\,T_c)

    Parameters
    ----------
    cold_temperature : array_like, shape (...)
        Temperature at which heat is removed [K].
    warm_temperature : array_like, shape (...)
        Temperature at which it is rejected [K].
    second_law_efficiency : array_like, shape (...)
        Least work over work spent [1].

    Returns
    -------
    ndarray, shape (...)
        Power per heat removed [1].

    Raises
    ------
    DomainError
        If the cold temperature is not above zero, the warm temperature below it, or the second law efficiency
        outside (0, 1].

    References
    ----------
    .. [1] closed form: Carnot.

    Examples
    --------
    >>> print(f"{cooler_ratio(20.3, 300.0, 0.2):.0f}")
    69
    """
    cold = above("cold_temperature", "K", cold_temperature)
    warm = above("warm_temperature", "K", warm_temperature)
    not_above("cold_temperature", "K", cold, "warm_temperature", warm)
    efficiency = share("second_law_efficiency", second_law_efficiency)
    return broadcast(cooler_ratio_kernel, cold, warm, efficiency)
