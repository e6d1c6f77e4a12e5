"""Making liquid hydrogen and oxygen: least work, heat to remove, work of coolers.

Liquid oxygen feeds fires, liquid hydrogen freezes air into an explosive, and both burst a closed vessel as they
warm. These functions size concepts; a design defers to local codes and licensed practice.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each, within
from tradespace.physics.storage.gases import cubic_weight_kernel

_OWN = "storage_values.csv"
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN_MASS = value("molar_mass_hydrogen")
_HYDROGEN_GAS = _GAS_CONSTANT / _HYDROGEN_MASS
_HYDROGEN_SHARE = _HYDROGEN_MASS / value("molar_mass_water")
_OXYGEN_SHARE = 0.5 * value("molar_mass_oxygen") / value("molar_mass_water")
_GASES = ("hydrogen", "oxygen")
_PROPERTIES = ("boiling_temperature", "density", "latent_heat")
_COLD_HEAT = value("hydrogen_heat_below_precooling", _OWN)
_TEMPERATURES = series("temperature", "gas_liquefaction.csv")
_COLDEST, _HOTTEST = _TEMPERATURES[0], _TEMPERATURES[-1]
_STEP, _NODES = _TEMPERATURES[1] - _TEMPERATURES[0], len(_TEMPERATURES)
_HYDROGEN_WORK, _HYDROGEN_HEAT, _OXYGEN_WORK, _OXYGEN_HEAT = (
    np.array(series(f"{gas}_{word}", "gas_liquefaction.csv")) for gas in _GASES for word in ("work", "heat")
)
_ORTHO = 3.0 / 4.0  # share of warm hydrogen with parallel spins, three states of four
_SPIN_HEAT = _ORTHO * value("hydrogen_first_rotation_temperature", _OWN) * _HYDROGEN_GAS
_SPIN_STATES = 9  # three states of rotation times three of spin in the lowest level of ortho-hydrogen
_SPIN_ENTROPY = _HYDROGEN_GAS * (
    _ORTHO * math.log(_SPIN_STATES) - _ORTHO * math.log(_ORTHO) - 0.25 * math.log(0.25)
)
_LEAST_SHARE = 1e-6


@kernel
def _place_kernel(temperature: float) -> float:
    return min(max((temperature - _COLDEST) / _STEP, 0.0), _NODES - 1.0)


@kernel
def hydrogen_liquefaction_work_kernel(temperature: float, para_share: float) -> float:
    """Least work to liquefy hydrogen at one atmosphere [J kg-1]."""
    place = _place_kernel(temperature)
    start = min(max(int(place) - 1, 0), _NODES - 4)
    total = 0.0
    for node in range(4):
        total += cubic_weight_kernel(place - start, node) * _HYDROGEN_WORK[start + node]
    return total + para_share * (temperature * _SPIN_ENTROPY - _SPIN_HEAT)


@kernel
def hydrogen_liquefaction_heat_kernel(temperature: float, para_share: float) -> float:
    """Heat to remove to liquefy hydrogen at one atmosphere [J kg-1]."""
    place = _place_kernel(temperature)
    start = min(max(int(place) - 1, 0), _NODES - 4)
    total = 0.0
    for node in range(4):
        total += cubic_weight_kernel(place - start, node) * _HYDROGEN_HEAT[start + node]
    return total + para_share * _SPIN_HEAT


@kernel
def oxygen_liquefaction_work_kernel(temperature: float) -> float:
    """Least work to liquefy oxygen at one atmosphere [J kg-1]."""
    place = _place_kernel(temperature)
    start = min(max(int(place) - 1, 0), _NODES - 4)
    total = 0.0
    for node in range(4):
        total += cubic_weight_kernel(place - start, node) * _OXYGEN_WORK[start + node]
    return total


@kernel
def oxygen_liquefaction_heat_kernel(temperature: float) -> float:
    """Heat to remove to liquefy oxygen at one atmosphere [J kg-1]."""
    place = _place_kernel(temperature)
    start = min(max(int(place) - 1, 0), _NODES - 4)
    total = 0.0
    for node in range(4):
        total += cubic_weight_kernel(place - start, node) * _OXYGEN_HEAT[start + node]
    return total


@kernel
def hydrogen_cooler_work_kernel(temperature: float, warm_ratio: float, cold_ratio: float) -> float:
    """Electric work of coolers at 90 K and at 20 K to liquefy hydrogen to para-hydrogen [J kg-1]."""
    cold = _COLD_HEAT + _SPIN_HEAT
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


def cryogen_properties(gas: str) -> dict[str, FloatArray]:
    """Boiling point, density and heat of vaporisation of liquid hydrogen or oxygen at one atmosphere.

    Parameters
    ----------
    gas : str
        ``hydrogen`` (para-hydrogen) or ``oxygen`` [text].

    Returns
    -------
    dict of ndarray
        ``boiling_temperature`` [K], ``density`` [kg m-3], ``latent_heat`` [J kg-1].

    Raises
    ------
    UnknownNameError
        If the gas is neither.

    References
    ----------
    .. [1] leachman_2009 (hydrogen), schmidt_1985 (oxygen), evaluated with CoolProp.

    Examples
    --------
    >>> print(f"{cryogen_properties('oxygen')['density']:.1f}")
    1141.2
    """
    if gas not in _GASES:
        raise unknown_name("cryogen", gas, _GASES)
    return {name: np.asarray(value(f"liquid_{gas}_{name}", _OWN)) for name in _PROPERTIES}


def _ambient(temperature: ArrayLike) -> FloatArray:
    return within("temperature", "K", temperature, _COLDEST, _HOTTEST)


def hydrogen_liquefaction_work(temperature: ArrayLike, para_share: ArrayLike) -> FloatArray:
    r"""Least work to turn hydrogen gas into liquid at one atmosphere.

    .. math:: w = T_0 (s_\mathrm{gas} - s_\mathrm{liquid}) - (h_\mathrm{gas} - h_\mathrm{liquid})

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first and of heat rejection [K].
    para_share : array_like, shape (...)
        How far the conversion to para-hydrogen goes, 1 for storage longer than hours [1].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of hydrogen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K, or para share outside 0 to 1.

    Notes
    -----
    Left alone, the liquid converts by itself and the heat set free, more than its heat of vaporisation, boils it
    away. The conversion is taken at the boiling point, as the difference of equilibrium mixtures warm and cold.

    References
    ----------
    .. [1] leachman_2009 (normal hydrogen); huber_1979 (rotation of the molecule) with closed form for the spins.

    Examples
    --------
    >>> print(f"{hydrogen_liquefaction_work(298.15, 0.0) / 3.6e6:.1f}")  # kWh per kg
    3.3
    >>> print(f"{hydrogen_liquefaction_work(298.15, 1.0) / 3.6e6:.1f}")
    3.9
    """
    share = within("para share", "1", para_share, 0.0, 1.0)
    return broadcast(hydrogen_liquefaction_work_kernel, _ambient(temperature), share)


def hydrogen_liquefaction_heat(temperature: ArrayLike, para_share: ArrayLike) -> FloatArray:
    """Heat to remove to turn hydrogen gas into liquid at one atmosphere.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first [K].
    para_share : array_like, shape (...)
        How far the conversion to para-hydrogen goes [1].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of hydrogen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K, or para share outside 0 to 1.

    References
    ----------
    .. [1] leachman_2009 (normal hydrogen); huber_1979 (rotation of the molecule) with closed form for the spins.

    Examples
    --------
    >>> print(f"{hydrogen_liquefaction_heat(298.15, 1.0) / 3.6e6:.2f}")  # kWh per kg
    1.24
    """
    share = within("para share", "1", para_share, 0.0, 1.0)
    return broadcast(hydrogen_liquefaction_heat_kernel, _ambient(temperature), share)


def oxygen_liquefaction_work(temperature: ArrayLike) -> FloatArray:
    """Least work to turn oxygen gas into liquid at one atmosphere.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first and of heat rejection [K].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of oxygen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_liquefaction_work(298.15) / 3.6e6:.2f}")  # kWh per kg
    0.17
    """
    return broadcast(oxygen_liquefaction_work_kernel, _ambient(temperature))


def oxygen_liquefaction_heat(temperature: ArrayLike) -> FloatArray:
    """Heat to remove to turn oxygen gas into liquid at one atmosphere.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas at first [K].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of oxygen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 400 K.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_liquefaction_heat(298.15) / 1000:.0f}")  # kJ per kg
    404
    """
    return broadcast(oxygen_liquefaction_heat_kernel, _ambient(temperature))


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
    cold, warm = (
        above("cold temperature", "K", cold_temperature),
        above("warm temperature", "K", warm_temperature),
    )
    require_each(warm >= cold, "warm temperature", "K", warm, "is below the cold temperature")
    efficiency = above("second law efficiency", "1", second_law_efficiency)
    require_each(
        efficiency <= 1.0, "second law efficiency", "1", efficiency, "lies outside 0 to 1 (0 excluded)"
    )
    return broadcast(cooler_ratio_kernel, cold, warm, efficiency)
