"""Ideal nozzle of a gas with constant heat capacities: isentropic relations, choked flow, turning.

A constant heat capacity ratio is good for the characteristic velocity (0.1 %) but not for the specific
impulse of hydrogen and oxygen (up to 4 %); that comes from the equilibrium table of ``combustion``.
"""

from __future__ import annotations

import math
import sys

import numpy as np

from tradespace.constants import value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel

TABLE = "nozzle_values.csv"
_LEAST_GAMMA = value("least_heat_capacity_ratio", TABLE)
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", TABLE)
_LARGEST_MACH = value("largest_mach_number", TABLE)
_LARGEST_AREA = value("largest_area_ratio", TABLE)
_LARGEST_EXPONENT = 0.5 * math.log(sys.float_info.max)
_SHORTEST_STEP = 1e-14
_LEAST_FLOAT = sys.float_info.min


@kernel
def held_gamma_kernel(gamma: float) -> float:
    """The heat capacity ratio, held within the range of the formulas."""
    return min(max(gamma, _LEAST_GAMMA), _LARGEST_GAMMA)


@kernel
def temperature_ratio_kernel(mach: float, gamma: float) -> float:
    """Static over stagnation temperature."""
    return 1.0 / (1.0 + 0.5 * (held_gamma_kernel(gamma) - 1.0) * mach * mach)


@kernel
def pressure_ratio_kernel(mach: float, gamma: float) -> float:
    """Static over stagnation pressure."""
    held = held_gamma_kernel(gamma)
    return math.exp(-held / (held - 1.0) * math.log1p(0.5 * (held - 1.0) * mach * mach))


@kernel
def log_area_ratio_kernel(mach: float, gamma: float) -> float:
    """Logarithm of the area over the throat area."""
    held = held_gamma_kernel(gamma)
    speed = min(max(mach, 1.0 / _LARGEST_MACH), _LARGEST_MACH)
    inside = 2.0 / (held + 1.0) * (1.0 + 0.5 * (held - 1.0) * speed * speed)
    return 0.5 * (held + 1.0) / (held - 1.0) * math.log(inside) - math.log(speed)


@kernel
def area_ratio_kernel(mach: float, gamma: float) -> float:
    """Area over throat area."""
    return math.exp(min(log_area_ratio_kernel(mach, gamma), _LARGEST_EXPONENT))


@kernel
def mach_number_kernel(area_ratio: float, gamma: float) -> float:
    """Supersonic Mach number at an area ratio: Newton steps on the logarithms of both.

    The logarithm of the area is convex in the logarithm of the Mach number and flat at the throat, so the
    steps close in from above after the first one.
    """
    if not area_ratio > 1.0:
        return 1.0
    held = held_gamma_kernel(gamma)
    target = math.log(min(area_ratio, _LARGEST_AREA))
    log_mach = math.sqrt(0.5 * (held + 1.0) * target)
    for _ in range(100):
        square = math.exp(2.0 * min(log_mach, 100.0))
        widening = 1.0 + 0.5 * (held - 1.0) * square
        slope = (square - 1.0) / widening
        excess = (
            0.5 * (held + 1.0) / (held - 1.0) * math.log(2.0 / (held + 1.0) * widening) - log_mach - target
        )
        if not slope > 0.0:
            break
        step = excess / slope
        log_mach = max(log_mach - step, 0.5 * log_mach)
        if abs(step) < _SHORTEST_STEP * (1.0 + log_mach):
            break
    return math.exp(min(log_mach, 100.0))


@kernel
def mass_flow_function_kernel(gamma: float) -> float:
    """Choked mass flow times sqrt(R T0) over p0 times throat area."""
    held = held_gamma_kernel(gamma)
    return float(math.sqrt(held) * (2.0 / (held + 1.0)) ** (0.5 * (held + 1.0) / (held - 1.0)))


@kernel
def choked_mass_flow_kernel(
    stagnation_pressure: float, stagnation_temperature: float, throat_area: float, gamma: float,
    specific_gas_constant: float,
) -> float:  # fmt: skip
    """Mass flow through a choked throat."""
    speed = math.sqrt(max(specific_gas_constant * stagnation_temperature, _LEAST_FLOAT))
    return mass_flow_function_kernel(gamma) * stagnation_pressure * throat_area / speed


@kernel
def prandtl_meyer_angle_kernel(mach: float, gamma: float) -> float:
    """Angle through which a sonic flow turns to reach a Mach number."""
    held = held_gamma_kernel(gamma)
    root = math.sqrt(max(mach * mach - 1.0, 0.0))
    ratio = math.sqrt((held + 1.0) / (held - 1.0))
    return ratio * math.atan(root / ratio) - math.atan(root)


def _check_gamma(gamma: ArrayLike) -> None:
    domain.within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")


def _check_mach(mach: ArrayLike, least: float = 0.0) -> None:
    domain.within("mach", "1", mach, least, _LARGEST_MACH, "it is the Mach number")


def temperature_ratio(mach: ArrayLike, gamma: ArrayLike) -> FloatArray:
    r"""Static over stagnation temperature.

    .. math:: T/T_0 = \left(1 + \frac{\gamma-1}{2} M^2\right)^{-1}

    Parameters
    ----------
    mach : array_like, shape (...)
        Mach number [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Temperature ratio [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a Mach number outside 0 to 10000.

    References
    ----------
    .. [1] naca_1135, equation 43.

    Examples
    --------
    >>> print(f"{temperature_ratio(1.0, 1.4):.5f}")
    0.83333
    """
    _check_gamma(gamma)
    _check_mach(mach)
    return broadcast(temperature_ratio_kernel, mach, gamma)


def pressure_ratio(mach: ArrayLike, gamma: ArrayLike) -> FloatArray:
    r"""Static over stagnation pressure.

    .. math:: p/p_0 = (T/T_0)^{\gamma/(\gamma-1)}

    Parameters
    ----------
    mach : array_like, shape (...)
        Mach number [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure ratio [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a Mach number outside 0 to 10000.

    References
    ----------
    .. [1] naca_1135, equation 44.

    Examples
    --------
    >>> print(f"{pressure_ratio(1.0, 1.4):.5f}")
    0.52828
    """
    _check_gamma(gamma)
    _check_mach(mach)
    return broadcast(pressure_ratio_kernel, mach, gamma)


def area_ratio(mach: ArrayLike, gamma: ArrayLike) -> FloatArray:
    r"""Area over throat area at a Mach number.

    .. math:: \frac{A}{A^*} = \frac{1}{M}\left[\frac{2}{\gamma+1}
              \left(1+\frac{\gamma-1}{2}M^2\right)\right]^{\frac{\gamma+1}{2(\gamma-1)}}

    Parameters
    ----------
    mach : array_like, shape (...)
        Mach number [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Area ratio [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a Mach number outside 0.0001 to 10000.

    References
    ----------
    .. [1] naca_1135, equation 80.

    Examples
    --------
    >>> print(f"{area_ratio(5.0, 1.4):.3f}")
    25.000
    """
    _check_gamma(gamma)
    _check_mach(mach, 1.0 / _LARGEST_MACH)
    return broadcast(area_ratio_kernel, mach, gamma)


def mach_number(area_ratio: ArrayLike, gamma: ArrayLike) -> FloatArray:
    """Supersonic Mach number at an area ratio, the inverse of :func:`area_ratio`.

    Parameters
    ----------
    area_ratio : array_like, shape (...)
        Area over throat area [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Mach number, at least 1 [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or an area ratio outside 1 to 1e6.

    References
    ----------
    .. [1] naca_1135, equation 80, solved by Newton steps.

    Examples
    --------
    >>> print(f"{mach_number(25.0, 1.4):.4f}")
    5.0000
    """
    _check_gamma(gamma)
    domain.within("area_ratio", "1", area_ratio, 1.0, _LARGEST_AREA)
    return broadcast(mach_number_kernel, area_ratio, gamma)


def mass_flow_function(gamma: ArrayLike) -> FloatArray:
    r"""Dimensionless choked mass flow.

    .. math:: \Gamma = \sqrt{\gamma}\,\left(\frac{2}{\gamma+1}\right)^{\frac{\gamma+1}{2(\gamma-1)}}

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Mass flow function [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2.

    References
    ----------
    .. [1] naca_1135, mass flow per area at Mach 1.

    Examples
    --------
    >>> print(f"{mass_flow_function(1.2):.5f}")
    0.64853
    """
    _check_gamma(gamma)
    return broadcast(mass_flow_function_kernel, gamma)


def choked_mass_flow(
    stagnation_pressure: ArrayLike,
    stagnation_temperature: ArrayLike,
    throat_area: ArrayLike,
    gamma: ArrayLike,
    molar_mass: ArrayLike,
) -> FloatArray:
    r"""Mass flow through a choked throat.

    .. math:: \dot m = \Gamma\, p_0 A_t / \sqrt{R T_0 / M}

    Parameters
    ----------
    stagnation_pressure : array_like, shape (...)
        Pressure upstream [Pa].
    stagnation_temperature : array_like, shape (...)
        Temperature upstream [K].
    throat_area : array_like, shape (...)
        Throat area [m2].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    molar_mass : array_like, shape (...)
        Molar mass of the gas [kg mol-1].

    Returns
    -------
    ndarray, shape (...)
        Mass flow [kg s-1].

    Raises
    ------
    DomainError
        If an argument is not positive or a heat capacity ratio lies outside 1.01 to 2.

    Notes
    -----
    Ideal gas, discharge coefficient 1.

    References
    ----------
    .. [1] naca_1135, mass flow per area at Mach 1.

    Examples
    --------
    >>> print(f"{1e3 * choked_mass_flow(1e5, 300.0, 1e-6, 1.4, 0.0280134):.5f}")  # nitrogen, g/s
    0.22947
    """
    _check_gamma(gamma)
    domain.above("stagnation_pressure", "Pa", stagnation_pressure)
    domain.above("stagnation_temperature", "K", stagnation_temperature)
    domain.above("throat_area", "m2", throat_area)
    domain.above("molar_mass", "kg/mol", molar_mass)
    specific = value("gas_constant") / np.asarray(molar_mass, dtype=np.float64)
    return broadcast(
        choked_mass_flow_kernel, stagnation_pressure, stagnation_temperature, throat_area, gamma, specific
    )


def prandtl_meyer_angle(mach: ArrayLike, gamma: ArrayLike) -> FloatArray:
    r"""Angle through which a sonic flow turns, expanding, to reach a Mach number.

    .. math:: \nu = \sqrt{\frac{\gamma+1}{\gamma-1}}
              \arctan\sqrt{\frac{\gamma-1}{\gamma+1}(M^2-1)} - \arctan\sqrt{M^2-1}

    Parameters
    ----------
    mach : array_like, shape (...)
        Mach number, at least 1 [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Angle [rad].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a Mach number outside 1 to 10000.

    Notes
    -----
    The largest angle a bell nozzle can begin with is half the angle of its exit Mach number.

    References
    ----------
    .. [1] naca_1135, equation 171c.

    Examples
    --------
    >>> import math
    >>> print(f"{math.degrees(prandtl_meyer_angle(2.0, 1.4)):.3f}")
    26.380
    """
    _check_gamma(gamma)
    _check_mach(mach, 1.0)
    return broadcast(prandtl_meyer_angle_kernel, mach, gamma)
