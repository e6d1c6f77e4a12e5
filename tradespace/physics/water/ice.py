"""Ordinary ice after the equation of state of Feistel and Wagner: density, heat capacity, heat to warm it."""

from __future__ import annotations

import cmath
import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import floats, require_each, within

_VALUES = "physics_values.csv"
_SERIES = "water_coefficients.csv"
_TRIPLE_TEMPERATURE = value("water_triple_temperature", _VALUES)
_TRIPLE_PRESSURE = value("water_triple_pressure", _VALUES)
_ATMOSPHERE = value("standard_atmosphere")
_LOWEST_PRESSURE, _HIGHEST_PRESSURE = 0.0, value("ice_highest_pressure", "extraction_values.csv")
_GIBBS = series("ice_gibbs_pressure", _SERIES)
_T1, _R1, _T2, _R20, _R21, _R22 = (
    complex(*series(f"ice_{name}", _SERIES)) for name in ("t1", "r1", "t2", "r20", "r21", "r22")
)
_VACUUM = -_ATMOSPHERE / _TRIPLE_PRESSURE  # reduced pressure at which ice is warmed in the open


def _enthalpy_factors(temperature: complex, factor: complex) -> tuple[float, float, float, float, float]:
    """Real numbers of one complex term of the enthalpy: inverse square, product, quotient."""
    square, product, quotient = 1.0 / temperature**2, temperature * factor, factor / temperature
    return square.real, square.imag, product.real, product.imag, quotient.real


_FIRST = _enthalpy_factors(_T1, _R1)
_SECOND = _enthalpy_factors(_T2, _R20 + _R21 * _VACUUM + _R22 * _VACUUM**2)


@kernel
def ice_enthalpy_kernel(temperature: float) -> float:
    """Enthalpy of ice in vacuum above its value at absolute zero [J kg-1], up to the triple point."""
    square = (min(max(temperature, 0.0), _TRIPLE_TEMPERATURE) / _TRIPLE_TEMPERATURE) ** 2
    total = 0.0
    for inverse, turned, product, crossed, quotient in (_FIRST, _SECOND):
        real, imaginary = 1.0 - square * inverse, -square * turned
        logarithm = 0.5 * math.log(real * real + imaginary * imaginary)
        total += product * logarithm - crossed * math.atan2(imaginary, real) + square * quotient
    return _TRIPLE_TEMPERATURE * total


@kernel
def ice_heat_kernel(temperature: float, final_temperature: float) -> float:
    """Heat to warm ice [J kg-1]; nothing is added past the triple point, where no ice is left."""
    return max(ice_enthalpy_kernel(final_temperature) - ice_enthalpy_kernel(temperature), 0.0)


@kernel
def ice_density_kernel(temperature: float, pressure: float) -> float:
    """Density of ice [kg m-3]."""
    reduced = min(max(temperature, 0.0), _TRIPLE_TEMPERATURE) / _TRIPLE_TEMPERATURE
    squeezed = (min(max(pressure, _LOWEST_PRESSURE), _HIGHEST_PRESSURE) - _ATMOSPHERE) / _TRIPLE_PRESSURE
    volume = 0.0
    for power in range(len(_GIBBS) - 1, 0, -1):
        volume = volume * squeezed + power * _GIBBS[power]
    slope = _R21 + 2.0 * _R22 * squeezed
    below, over = _T2 - reduced, _T2 + reduced
    bracket = below * cmath.log(below) + over * cmath.log(over) - 2.0 * _T2 * cmath.log(_T2)
    term = slope * (bracket - reduced * reduced / _T2)
    return _TRIPLE_PRESSURE / (volume + _TRIPLE_TEMPERATURE * term.real)


@kernel
def ice_heat_capacity_kernel(temperature: float, pressure: float) -> float:
    """Heat capacity of ice at constant pressure [J kg-1 K-1]."""
    reduced = min(max(temperature, 0.0), _TRIPLE_TEMPERATURE) / _TRIPLE_TEMPERATURE
    squeezed = (min(max(pressure, _LOWEST_PRESSURE), _HIGHEST_PRESSURE) - _ATMOSPHERE) / _TRIPLE_PRESSURE
    second = _R20 + _R21 * squeezed + _R22 * squeezed * squeezed
    one = _R1 / (_T1 * (_T1 * _T1 - reduced * reduced))
    two = second / (_T2 * (_T2 * _T2 - reduced * reduced))
    return -2.0 * reduced**3 * (one + two).real


def _ice_range(temperature: ArrayLike, pressure: ArrayLike) -> tuple[FloatArray, FloatArray]:
    cold = within("temperature of the ice", "K", temperature, 0.0, _TRIPLE_TEMPERATURE)
    return cold, within("pressure on the ice", "Pa", pressure, _LOWEST_PRESSURE, _HIGHEST_PRESSURE)


def ice_density(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Density of ordinary ice.

    .. math:: 1/\rho = (\partial g / \partial p)_T

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice [K].
    pressure : array_like, shape (...)
        Pressure on the ice [Pa].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If the temperature lies outside 0 to 273.16 K, or the pressure outside 0 to 210 MPa.

    References
    ----------
    .. [1] feistel_2006, IAPWS R10-06 eq. 1.

    Examples
    --------
    >>> print(f"{ice_density(100.0, 100e6):.3f}")
    941.678
    """
    return broadcast(ice_density_kernel, *_ice_range(temperature, pressure))


def ice_heat_capacity(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    r"""Heat capacity of ordinary ice at constant pressure.

    .. math:: c_p = -T (\partial^2 g / \partial T^2)_p

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice [K].
    pressure : array_like, shape (...)
        Pressure on the ice [Pa].

    Returns
    -------
    ndarray, shape (...)
        Heat capacity [J kg-1 K-1].

    Raises
    ------
    DomainError
        If the temperature lies outside 0 to 273.16 K, or the pressure outside 0 to 210 MPa.

    References
    ----------
    .. [1] feistel_2006, IAPWS R10-06 eq. 1.

    Examples
    --------
    >>> print(f"{ice_heat_capacity(100.0, 100e6):.3f}")
    866.333
    """
    return broadcast(ice_heat_capacity_kernel, *_ice_range(temperature, pressure))


def ice_heat(temperature: ArrayLike, final_temperature: ArrayLike) -> FloatArray:
    """Heat to warm ice in vacuum, without melting or sublimating it.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the ice at first [K].
    final_temperature : array_like, shape (...)
        Temperature it is warmed to [K]; nothing is added beyond the triple point.

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of ice [J kg-1].

    Raises
    ------
    DomainError
        If the temperature lies outside 0 to 273.16 K, or the final temperature is lower or not finite.

    References
    ----------
    .. [1] feistel_2006, IAPWS R10-06 eq. 1: enthalpy from the Gibbs energy.

    Examples
    --------
    >>> print(f"{ice_heat(100.0, 250.0) / 1000:.1f}")  # kJ per kg
    209.8
    """
    first = within("temperature of the ice", "K", temperature, 0.0, _TRIPLE_TEMPERATURE)
    last = floats(final_temperature)
    limit = "is below the temperature of the ice, or not finite"
    require_each((last >= first) & (last < math.inf), "final temperature", "K", last, limit)
    return broadcast(ice_heat_kernel, first, last)
