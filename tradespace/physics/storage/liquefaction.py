"""Making liquid hydrogen and oxygen: least work and heat to remove, with the conversion to para-hydrogen.

Liquid oxygen feeds fires, liquid hydrogen freezes air into an explosive, and both burst a closed vessel as they
warm. These functions size concepts; a design defers to local codes and licensed practice.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within
from tradespace.physics.storage.gases import cubic_weight_kernel

_OWN = "storage_values.csv"
_GAS_CONSTANT = value("gas_constant")
_HYDROGEN_MASS = value("molar_mass_hydrogen")
_HYDROGEN_GAS = _GAS_CONSTANT / _HYDROGEN_MASS
_GASES = ("hydrogen", "oxygen")
_PROPERTIES = ("boiling_temperature", "density", "latent_heat")
_TEMPERATURES = series("temperature", "gas_liquefaction.csv")
_COLDEST, _HOTTEST = _TEMPERATURES[0], _TEMPERATURES[-1]
_STEP, _NODES = _TEMPERATURES[1] - _TEMPERATURES[0], len(_TEMPERATURES)
_HYDROGEN_WORK, _HYDROGEN_HEAT, _OXYGEN_WORK, _OXYGEN_HEAT = (
    np.array(series(f"{gas}_{word}", "gas_liquefaction.csv")) for gas in _GASES for word in ("work", "heat")
)
_ORTHO = 3.0 / 4.0  # share of warm hydrogen with parallel spins, three states of four
SPIN_HEAT = _ORTHO * value("hydrogen_first_rotation_temperature", _OWN) * _HYDROGEN_GAS
_SPIN_STATES = 9  # three states of rotation times three of spin in the lowest level of ortho-hydrogen
_SPIN_ENTROPY = _HYDROGEN_GAS * (
    _ORTHO * math.log(_SPIN_STATES) - _ORTHO * math.log(_ORTHO) - 0.25 * math.log(0.25)
)


@kernel
def _read_kernel(values: FloatArray, temperature: float) -> float:
    place = min(max((temperature - _COLDEST) / _STEP, 0.0), _NODES - 1.0)
    start = min(max(int(place) - 1, 0), _NODES - 4)
    total = 0.0
    for node in range(4):
        total += cubic_weight_kernel(place - start, node) * values[start + node]
    return total


@kernel
def hydrogen_liquefaction_work_kernel(temperature: float, para_share: float) -> float:
    """Least work to liquefy hydrogen at one atmosphere [J kg-1]."""
    spins = para_share * (temperature * _SPIN_ENTROPY - SPIN_HEAT)
    return _read_kernel(_HYDROGEN_WORK, temperature) + spins


@kernel
def hydrogen_liquefaction_heat_kernel(temperature: float, para_share: float) -> float:
    """Heat to remove to liquefy hydrogen at one atmosphere [J kg-1]."""
    return _read_kernel(_HYDROGEN_HEAT, temperature) + para_share * SPIN_HEAT


@kernel
def oxygen_liquefaction_work_kernel(temperature: float) -> float:
    """Least work to liquefy oxygen at one atmosphere [J kg-1]."""
    return _read_kernel(_OXYGEN_WORK, temperature)


@kernel
def oxygen_liquefaction_heat_kernel(temperature: float) -> float:
    """Heat to remove to liquefy oxygen at one atmosphere [J kg-1]."""
    return _read_kernel(_OXYGEN_HEAT, temperature)


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
