"""Least work to bring hydrogen and oxygen to storage pressure, as real gases at constant temperature.

Oxygen under pressure feeds fires and its compressors burn; hydrogen leaks and ignites easily. These functions
size concepts; a design defers to local codes and licensed practice.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.interpolate import CubicSpline

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, not_above, share
from tradespace.physics.storage.gases import (
    _HYDROGEN_A,
    _HYDROGEN_B,
    _HYDROGEN_C,
    _HYDROGEN_COLDEST,
    _HYDROGEN_GAS,
    _HYDROGEN_HIGHEST,
    _HYDROGEN_HOTTEST,
    _HYDROGEN_PRESSURE,
    _HYDROGEN_TEMPERATURE,
    _OXYGEN_COLUMNS,
    _OXYGEN_GAS,
    _OXYGEN_LOG0,
    _OXYGEN_LOG_STEP,
    _OXYGEN_P,
    _OXYGEN_ROWS,
    _OXYGEN_STEP,
    _OXYGEN_T0,
    _OXYGEN_Z,
    _hydrogen_range,
    _oxygen_range,
    cubic_weight_kernel,
)

_WATER = value("molar_mass_water")
_HYDROGEN_SHARE = value("molar_mass_hydrogen") / _WATER
_OXYGEN_SHARE = 0.5 * value("molar_mass_oxygen") / _WATER
_LEAST_SHARE = 1e-6


def _integrated() -> FloatArray:
    """Integral of (Z - 1) over the logarithm of pressure, from zero pressure to each node of the oxygen table."""
    logarithm = _OXYGEN_LOG0 + _OXYGEN_LOG_STEP * np.arange(_OXYGEN_COLUMNS)
    deviation = _OXYGEN_Z - 1.0
    rows = [CubicSpline(logarithm, row).antiderivative()(logarithm) + row[0] for row in deviation]
    return np.array(rows)


_OXYGEN_J = _integrated()


@kernel
def hydrogen_fugacity_kernel(temperature: float, pressure: float) -> float:
    """Logarithm of fugacity over pressure of normal hydrogen [1]."""
    cold = _HYDROGEN_TEMPERATURE / min(max(temperature, _HYDROGEN_COLDEST), _HYDROGEN_HOTTEST)
    mega = min(max(pressure, 0.0), _HYDROGEN_HIGHEST) / _HYDROGEN_PRESSURE
    total = 0.0
    for index in range(len(_HYDROGEN_A)):
        power = _HYDROGEN_C[index]
        total += _HYDROGEN_A[index] * cold ** _HYDROGEN_B[index] * mega**power / power
    return total


@kernel
def oxygen_fugacity_kernel(temperature: float, pressure: float) -> float:
    """Logarithm of fugacity over pressure of oxygen, cubic between table nodes [1]."""
    row = min(max((temperature - _OXYGEN_T0) / _OXYGEN_STEP, 0.0), _OXYGEN_ROWS - 1.0)
    logarithm = math.log(max(pressure, _OXYGEN_P[0]))
    column = min((logarithm - _OXYGEN_LOG0) / _OXYGEN_LOG_STEP, _OXYGEN_COLUMNS - 1.0)
    first = min(max(int(row) - 1, 0), _OXYGEN_ROWS - 4)
    start = min(max(int(column) - 1, 0), _OXYGEN_COLUMNS - 4)
    total = 0.0
    for i in range(4):
        along = 0.0
        for j in range(4):
            along += cubic_weight_kernel(column - start, j) * _OXYGEN_J[first + i, start + j]
        total += cubic_weight_kernel(row - first, i) * along
    return total * min(max(pressure, 0.0) / _OXYGEN_P[0], 1.0)


@kernel
def hydrogen_compression_work_kernel(temperature: float, pressure_from: float, pressure_to: float) -> float:
    """Least work to compress hydrogen at constant temperature [J kg-1]."""
    ideal = math.log(max(pressure_to, 1.0) / max(pressure_from, 1.0))
    real = hydrogen_fugacity_kernel(temperature, pressure_to) - hydrogen_fugacity_kernel(
        temperature, pressure_from
    )
    return max(_HYDROGEN_GAS * temperature * (ideal + real), 0.0)


@kernel
def oxygen_compression_work_kernel(temperature: float, pressure_from: float, pressure_to: float) -> float:
    """Least work to compress oxygen at constant temperature [J kg-1]."""
    ideal = math.log(max(pressure_to, 1.0) / max(pressure_from, 1.0))
    real = oxygen_fugacity_kernel(temperature, pressure_to) - oxygen_fugacity_kernel(
        temperature, pressure_from
    )
    return max(_OXYGEN_GAS * temperature * (ideal + real), 0.0)


@kernel
def compression_energy_kernel(
    temperature: float, pressure_from: float, pressure_to: float, efficiency: float
) -> float:
    """Electric energy to compress the gas of a kilogram of water [J kg-1]."""
    hydrogen = hydrogen_compression_work_kernel(temperature, pressure_from, pressure_to)
    oxygen = oxygen_compression_work_kernel(temperature, pressure_from, pressure_to)
    least = _HYDROGEN_SHARE * hydrogen + _OXYGEN_SHARE * oxygen
    return least / min(max(efficiency, _LEAST_SHARE), 1.0)


def _rising(pressure_from: FloatArray, pressure_to: FloatArray) -> None:
    above("pressure from", "Pa", pressure_from)
    not_above("pressure_from", "Pa", pressure_from, "pressure_to", pressure_to)


def hydrogen_compression_work(
    temperature: ArrayLike, pressure_from: ArrayLike, pressure_to: ArrayLike
) -> FloatArray:
    r"""Least work to compress hydrogen at constant temperature, as a real gas.

    .. math:: w = R T \left[\ln p + \int (Z - 1)\,dp/p\right]_{p_1}^{p_2}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas and of its surroundings [K].
    pressure_from : array_like, shape (...)
        Pressure at first [Pa].
    pressure_to : array_like, shape (...)
        Pressure reached [Pa].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of hydrogen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K, a pressure outside 0 to 200 MPa, or pressure to is below
        pressure from.

    References
    ----------
    .. [1] lemmon_2008, eq. 1 integrated.

    Examples
    --------
    >>> print(f"{hydrogen_compression_work(298.15, 1e5, 1e7) / 3.6e6:.3f}")  # kWh per kg
    1.593
    """
    warm, first = _hydrogen_range(temperature, pressure_from, "pressure from")
    last = _hydrogen_range(temperature, pressure_to, "pressure to")[1]
    _rising(first, last)
    return broadcast(hydrogen_compression_work_kernel, warm, first, last)


def oxygen_compression_work(
    temperature: ArrayLike, pressure_from: ArrayLike, pressure_to: ArrayLike
) -> FloatArray:
    """Least work to compress oxygen at constant temperature, as a real gas.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gas and of its surroundings [K].
    pressure_from : array_like, shape (...)
        Pressure at first [Pa].
    pressure_to : array_like, shape (...)
        Pressure reached [Pa].

    Returns
    -------
    ndarray, shape (...)
        Work per mass of oxygen [J kg-1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K, a pressure outside 0.1 to 100 MPa, or pressure to is below
        pressure from.

    References
    ----------
    .. [1] schmidt_1985, compressibility integrated over the logarithm of pressure.

    Examples
    --------
    >>> print(f"{oxygen_compression_work(298.15, 1e5, 1e7) / 3.6e6:.4f}")  # kWh per kg
    0.0979
    """
    warm, first = _oxygen_range(temperature, pressure_from, "pressure from")
    last = _oxygen_range(temperature, pressure_to, "pressure to")[1]
    _rising(first, last)
    return broadcast(oxygen_compression_work_kernel, warm, first, last)


def compression_energy(
    temperature: ArrayLike, pressure_from: ArrayLike, pressure_to: ArrayLike, efficiency: ArrayLike
) -> FloatArray:
    """Electric energy to compress the hydrogen and the oxygen of a kilogram of water.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the gases and of their surroundings [K].
    pressure_from : array_like, shape (...)
        Pressure at which the cell delivers [Pa].
    pressure_to : array_like, shape (...)
        Pressure of the tanks [Pa].
    efficiency : array_like, shape (...)
        Least work at constant temperature over electric energy spent [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If efficiency lies outside (0, 1], or as for :func:`oxygen_compression_work`.

    Notes
    -----
    Real machines spend two to three times the least work; a cell that delivers at pressure spends little more
    than it: :func:`electrochemical_compression_energy`.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{compression_energy(298.15, 1e5, 1e7, 1.0) / 3.6e6:.3f}")  # kWh per kg of water
    0.265
    """
    warm, first = _oxygen_range(temperature, pressure_from, "pressure from")
    last = _oxygen_range(temperature, pressure_to, "pressure to")[1]
    _rising(first, last)
    return broadcast(compression_energy_kernel, warm, first, last, share("efficiency", efficiency))
