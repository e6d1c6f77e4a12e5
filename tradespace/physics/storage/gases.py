"""Stored hydrogen and oxygen: compressibility, density, pressure times volume."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, floats, within
from tradespace.physics.transfer.shared import components

_VALUES = "physics_values.csv"
_GAS_CONSTANT = value("gas_constant")
_WATER = value("molar_mass_water")
_HYDROGEN_GAS = _GAS_CONSTANT / value("molar_mass_hydrogen")
_OXYGEN_GAS = _GAS_CONSTANT / value("molar_mass_oxygen")
_HYDROGEN_A = series("factors", "gas_hydrogen.csv")
_HYDROGEN_B = series("temperature_exponents", "gas_hydrogen.csv")
_HYDROGEN_C = series("pressure_exponents", "gas_hydrogen.csv")
_HYDROGEN_TEMPERATURE = value("hydrogen_reference_temperature", _VALUES)
_HYDROGEN_PRESSURE = value("hydrogen_reference_pressure", _VALUES)
_HYDROGEN_COLDEST = value("hydrogen_lowest_temperature", _VALUES)
_HYDROGEN_HOTTEST = value("hydrogen_highest_temperature", _VALUES)
_HYDROGEN_HIGHEST = value("hydrogen_highest_pressure", _VALUES)
_OXYGEN_T = series("temperature", "gas_oxygen.csv")
_OXYGEN_P = series("pressure", "gas_oxygen.csv")
_OXYGEN_Z = np.array([series(f"compressibility_{t:g}", "gas_oxygen.csv") for t in _OXYGEN_T])
_OXYGEN_T0, _OXYGEN_STEP = _OXYGEN_T[0], _OXYGEN_T[1] - _OXYGEN_T[0]
_OXYGEN_LOG0 = math.log(_OXYGEN_P[0])
_OXYGEN_LOG_STEP = (math.log(_OXYGEN_P[-1]) - _OXYGEN_LOG0) / (len(_OXYGEN_P) - 1)
_OXYGEN_ROWS, _OXYGEN_COLUMNS = len(_OXYGEN_T), len(_OXYGEN_P)


@kernel
def hydrogen_compressibility_kernel(temperature: float, pressure: float) -> float:
    """Compressibility factor of normal hydrogen, held at the ends of its range [1]."""
    cold = _HYDROGEN_TEMPERATURE / min(max(temperature, _HYDROGEN_COLDEST), _HYDROGEN_HOTTEST)
    mega = min(max(pressure, 0.0), _HYDROGEN_HIGHEST) / _HYDROGEN_PRESSURE
    total = 1.0
    for index in range(len(_HYDROGEN_A)):
        total += _HYDROGEN_A[index] * cold ** _HYDROGEN_B[index] * mega ** _HYDROGEN_C[index]
    return total


@kernel
def cubic_weight_kernel(place: float, node: int) -> float:
    """Weight of node 0 to 3 in the cubic through four equally spaced values [1]."""
    weight = 1.0
    for other in range(4):
        if other != node:
            weight *= (place - other) / (node - other)
    return weight


@kernel
def oxygen_compressibility_kernel(temperature: float, pressure: float) -> float:
    """Compressibility factor of oxygen, cubic between table nodes, held at the table's ends [1]."""
    row = min(max((temperature - _OXYGEN_T0) / _OXYGEN_STEP, 0.0), _OXYGEN_ROWS - 1.0)
    logarithm = math.log(max(pressure, _OXYGEN_P[0]))
    column = min((logarithm - _OXYGEN_LOG0) / _OXYGEN_LOG_STEP, _OXYGEN_COLUMNS - 1.0)
    first = min(max(int(row) - 1, 0), _OXYGEN_ROWS - 4)
    start = min(max(int(column) - 1, 0), _OXYGEN_COLUMNS - 4)
    total = 0.0
    for i in range(4):
        along = 0.0
        for j in range(4):
            along += cubic_weight_kernel(column - start, j) * _OXYGEN_Z[first + i, start + j]
        total += cubic_weight_kernel(row - first, i) * along
    return total


@kernel
def stored_gas_pv_kernel(temperature: float, pressure: float, mixture_ratio: float) -> float:
    """Pressure times volume of a kilogram of hydrogen and oxygen in separate tanks [J kg-1]."""
    hydrogen = hydrogen_compressibility_kernel(temperature, pressure) * _HYDROGEN_GAS
    oxygen = oxygen_compressibility_kernel(temperature, pressure) * _OXYGEN_GAS
    ratio = max(mixture_ratio, 0.0)
    return temperature * (hydrogen + ratio * oxygen) / (1.0 + ratio)


@kernel
def stored_gas_volume_kernel(temperature: float, pressure: float, mixture_ratio: float) -> float:
    """Volume of a kilogram of hydrogen and oxygen in separate tanks [m3 kg-1]."""
    return stored_gas_pv_kernel(temperature, pressure, mixture_ratio) / max(pressure, 1.0)


@kernel
def gas_volumes_of_water_kernel(temperature: float, pressure: float) -> tuple[float, float]:
    """Volumes of the hydrogen and of the oxygen of a kilogram of water [m3 kg-1]."""
    moles_volume = _GAS_CONSTANT * temperature / (_WATER * max(pressure, 1.0))
    hydrogen = hydrogen_compressibility_kernel(temperature, pressure) * moles_volume
    return hydrogen, 0.5 * oxygen_compressibility_kernel(temperature, pressure) * moles_volume


def _hydrogen_range(
    temperature: ArrayLike, pressure: ArrayLike, name: str = "hydrogen pressure"
) -> tuple[FloatArray, FloatArray]:
    warm = within("hydrogen temperature", "K", temperature, _HYDROGEN_COLDEST, _HYDROGEN_HOTTEST)
    return warm, within(name, "Pa", pressure, 0.0, _HYDROGEN_HIGHEST)


def _oxygen_range(
    temperature: ArrayLike, pressure: ArrayLike, name: str = "oxygen pressure"
) -> tuple[FloatArray, FloatArray]:
    warm = within("oxygen temperature", "K", temperature, _OXYGEN_T[0], _OXYGEN_T[-1])
    return warm, within(name, "Pa", pressure, _OXYGEN_P[0], _OXYGEN_P[-1])


def hydrogen_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Compressibility factor of normal hydrogen.

    .. math:: Z = 1 + \sum a_i (100\,\mathrm{K}/T)^{b_i} (p/\mathrm{MPa})^{c_i}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K or pressure outside 0 to 200 MPa.

    References
    ----------
    .. [1] lemmon_2008, eq. 1 and table 1.

    Examples
    --------
    >>> print(f"{hydrogen_compressibility(300.0, 10e6):.8f}")
    1.05985282
    """
    return broadcast(hydrogen_compressibility_kernel, *_hydrogen_range(temperature, pressure))


def hydrogen_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of normal hydrogen gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K or pressure outside 0 to 200 MPa.

    References
    ----------
    .. [1] lemmon_2008, eq. 1 and table 1.

    Examples
    --------
    >>> print(f"{hydrogen_density(300.0, 10e6):.3f}")
    7.625
    """
    factor = hydrogen_compressibility(temperature, pressure)
    return np.asarray(floats(pressure) / (factor * _HYDROGEN_GAS * floats(temperature)), dtype=np.float64)


def oxygen_compressibility(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Compressibility factor of oxygen, by cubic interpolation in a table.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Compressibility factor [1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K or pressure outside 0.1 to 100 MPa.

    Notes
    -----
    Within 0.1 % of the reference equation of state, which is itself an extrapolation above about 80 MPa.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_compressibility(300.0, 10e6):.4f}")
    0.9533
    """
    return broadcast(oxygen_compressibility_kernel, *_oxygen_range(temperature, pressure))


def oxygen_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Density of oxygen gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K or pressure outside 0.1 to 100 MPa.

    References
    ----------
    .. [1] schmidt_1985, reference equation of state.

    Examples
    --------
    >>> print(f"{oxygen_density(300.0, 10e6):.1f}")
    134.6
    """
    factor = oxygen_compressibility(temperature, pressure)
    return np.asarray(floats(pressure) / (factor * _OXYGEN_GAS * floats(temperature)), dtype=np.float64)


def stored_gas_pv(temperature: ArrayLike, pressure: ArrayLike, mixture_ratio: ArrayLike) -> FloatArray:
    r"""Pressure times volume of a kilogram of hydrogen and oxygen kept in separate tanks at one pressure.

    .. math:: pV = T (Z_H R_H + r Z_O R_O) / (1 + r)

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure times volume per mass of both gases [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K, pressure outside 0.1 to 100 MPa, or the ratio is negative.

    Notes
    -----
    For an ideal gas this does not depend on pressure, so neither does tank mass; real gases add a little.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{stored_gas_pv(293.15, 1e5, 7.937) / 1000:.0f}")  # kJ per kg
    203
    """
    warm, total = _oxygen_range(temperature, pressure)
    return broadcast(stored_gas_pv_kernel, warm, total, at_least("mixture ratio", "1", mixture_ratio))


def stored_gas_volume(temperature: ArrayLike, pressure: ArrayLike, mixture_ratio: ArrayLike) -> FloatArray:
    """Volume of a kilogram of hydrogen and oxygen kept in separate tanks at one pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Volume per mass of both gases [m3 kg-1].

    Raises
    ------
    DomainError
        As for :func:`stored_gas_pv`.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{stored_gas_volume(300.0, 5e6, 7.937):.4f}")
    0.0420
    """
    return np.asarray(
        stored_gas_pv(temperature, pressure, mixture_ratio) / floats(pressure), dtype=np.float64
    )


def gas_volumes_of_water(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Volumes of the hydrogen and the oxygen that come from a kilogram of water, at one pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].

    Returns
    -------
    hydrogen : ndarray, shape (...)
        Volume of the hydrogen [m3 kg-1].
    oxygen : ndarray, shape (...)
        Volume of the oxygen [m3 kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K or pressure outside 0.1 to 100 MPa.

    Notes
    -----
    Two to one only for ideal gases: 2.02 at 10 bar and 2.22 at 100 bar.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> hydrogen, oxygen = gas_volumes_of_water(300.0, 1e7)
    >>> print(f"{hydrogen:.4f} {oxygen:.4f} {hydrogen / oxygen:.2f}")
    0.0147 0.0066 2.22
    """
    return components(gas_volumes_of_water_kernel, *_oxygen_range(temperature, pressure), count=2)
