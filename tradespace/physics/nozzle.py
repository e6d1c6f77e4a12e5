"""Ideal nozzle of a gas with constant heat capacities: isentropic relations, choked flow, thrust.

A constant heat capacity ratio is good for the characteristic velocity (0.1 %) but not for the specific
impulse of hydrogen and oxygen (up to 4 %); that comes from the equilibrium table of ``combustion``.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel, require


@kernel
def temperature_ratio_kernel(mach: float, gamma: float) -> float:
    """Static over stagnation temperature."""
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * mach * mach)


@kernel
def pressure_ratio_kernel(mach: float, gamma: float) -> float:
    """Static over stagnation pressure."""
    return math.exp(-gamma / (gamma - 1.0) * math.log1p(0.5 * (gamma - 1.0) * mach * mach))


@kernel
def area_ratio_kernel(mach: float, gamma: float) -> float:
    """Area over throat area."""
    if mach <= 0.0:
        return math.inf
    inside = 2.0 / (gamma + 1.0) * (1.0 + 0.5 * (gamma - 1.0) * mach * mach)
    return float(inside ** (0.5 * (gamma + 1.0) / (gamma - 1.0)) / mach)


@kernel
def mach_number_kernel(area_ratio: float, gamma: float) -> float:
    """Supersonic Mach number at an area ratio: bisection in log Mach, then Newton steps."""
    if area_ratio <= 1.0:
        return 1.0
    low, high = 0.0, 1.0
    while area_ratio_kernel(math.exp(high), gamma) < area_ratio and high < 64.0:
        high *= 2.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if area_ratio_kernel(math.exp(middle), gamma) < area_ratio:
            low = middle
        else:
            high = middle
        if high - low < 1e-14:
            break
    return math.exp(0.5 * (low + high))


@kernel
def mass_flow_function_kernel(gamma: float) -> float:
    """Choked mass flow times sqrt(R T0) over p0 times throat area."""
    return float(math.sqrt(gamma) * (2.0 / (gamma + 1.0)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0)))


@kernel
def thrust_coefficient_kernel(area_ratio: float, gamma: float, ambient_ratio: float) -> float:
    """Thrust over p0 times throat area, for ambient over stagnation pressure."""
    mach = mach_number_kernel(area_ratio, gamma)
    exit_ratio = pressure_ratio_kernel(mach, gamma)
    momentum = mass_flow_function_kernel(gamma) * math.sqrt(
        2.0 * gamma / (gamma - 1.0) * (1.0 - exit_ratio ** ((gamma - 1.0) / gamma))
    )
    return momentum + (exit_ratio - ambient_ratio) * area_ratio


@kernel
def choked_mass_flow_kernel(
    stagnation_pressure: float, stagnation_temperature: float, throat_area: float, gamma: float,
    specific_gas_constant: float,
) -> float:  # fmt: skip
    """Mass flow through a choked throat."""
    return (
        mass_flow_function_kernel(gamma)
        * stagnation_pressure
        * throat_area
        / math.sqrt(specific_gas_constant * stagnation_temperature)
    )


def _gamma(gamma: ArrayLike) -> None:
    array = np.asarray(gamma, dtype=np.float64)
    require(array > 1.0, f"heat capacity ratio {np.min(array, initial=np.inf):.6g}: it must be above 1")


def _positive(name: str, unit: str, argument: ArrayLike) -> None:
    array = np.asarray(argument, dtype=np.float64)
    require(array > 0.0, f"{name} {np.min(array, initial=np.inf):.6g} {unit}: it must be above 0 {unit}")


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
        If the heat capacity ratio is not above 1 or a Mach number is negative.

    References
    ----------
    .. [1] naca_1135, equation 43.

    Examples
    --------
    >>> print(f"{temperature_ratio(1.0, 1.4):.5f}")
    0.83333
    """
    _gamma(gamma)
    require(np.asarray(mach) >= 0.0, "Mach number: it must be at least 0")
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
        If the heat capacity ratio is not above 1 or a Mach number is negative.

    References
    ----------
    .. [1] naca_1135, equation 44.

    Examples
    --------
    >>> print(f"{pressure_ratio(1.0, 1.4):.5f}")
    0.52828
    """
    _gamma(gamma)
    require(np.asarray(mach) >= 0.0, "Mach number: it must be at least 0")
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
        If the heat capacity ratio is not above 1 or a Mach number is not positive.

    References
    ----------
    .. [1] naca_1135, equation 80.

    Examples
    --------
    >>> print(f"{area_ratio(5.0, 1.4):.3f}")
    25.000
    """
    _gamma(gamma)
    require(np.asarray(mach) > 0.0, "Mach number: it must be above 0")
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
        If the heat capacity ratio is not above 1 or an area ratio is below 1.

    References
    ----------
    .. [1] naca_1135, equation 80, solved by bisection.

    Examples
    --------
    >>> print(f"{mach_number(25.0, 1.4):.4f}")
    5.0000
    """
    _gamma(gamma)
    array = np.asarray(area_ratio, dtype=np.float64)
    require(array >= 1.0, f"area ratio {np.min(array, initial=np.inf):.6g}: it must be at least 1")
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
        If the heat capacity ratio is not above 1.

    References
    ----------
    .. [1] naca_1135, mass flow per area at Mach 1.

    Examples
    --------
    >>> print(f"{mass_flow_function(1.2):.5f}")
    0.64853
    """
    _gamma(gamma)
    return broadcast(mass_flow_function_kernel, gamma)


def thrust_coefficient(
    area_ratio: ArrayLike, gamma: ArrayLike, ambient_pressure_ratio: ArrayLike = 0.0
) -> FloatArray:
    r"""Ideal thrust over chamber pressure and throat area.

    .. math:: C_F = \Gamma\sqrt{\frac{2\gamma}{\gamma-1}
              \left[1-\left(\frac{p_e}{p_0}\right)^{\frac{\gamma-1}{\gamma}}\right]}
              + \frac{p_e-p_a}{p_0}\frac{A_e}{A_t}

    Parameters
    ----------
    area_ratio : array_like, shape (...)
        Exit area over throat area [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    ambient_pressure_ratio : array_like, shape (...)
        Ambient over chamber pressure, 0 in vacuum [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust coefficient [1].

    Raises
    ------
    DomainError
        If the heat capacity ratio is not above 1, an area ratio is below 1 or a pressure ratio negative.

    Notes
    -----
    Full flow without separation, no losses.

    References
    ----------
    .. [1] sutton_2010, chapter 3, thrust coefficient.

    Examples
    --------
    >>> print(f"{thrust_coefficient(50.0, 1.2):.4f}")
    1.9024
    """
    _gamma(gamma)
    array = np.asarray(area_ratio, dtype=np.float64)
    require(array >= 1.0, f"area ratio {np.min(array, initial=np.inf):.6g}: it must be at least 1")
    require(np.asarray(ambient_pressure_ratio) >= 0.0, "ambient pressure ratio: it must be at least 0")
    return broadcast(thrust_coefficient_kernel, area_ratio, gamma, ambient_pressure_ratio)


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
        If an argument is not positive or the heat capacity ratio is not above 1.

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
    _gamma(gamma)
    _positive("stagnation pressure", "Pa", stagnation_pressure)
    _positive("stagnation temperature", "K", stagnation_temperature)
    _positive("throat area", "m2", throat_area)
    _positive("molar mass", "kg/mol", molar_mass)
    specific = value("gas_constant") / np.asarray(molar_mass, dtype=np.float64)
    return broadcast(
        choked_mass_flow_kernel, stagnation_pressure, stagnation_temperature, throat_area, gamma, specific
    )
