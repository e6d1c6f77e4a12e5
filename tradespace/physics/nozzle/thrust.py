"""Thrust coefficient of a nozzle that flows full: in vacuum, at its optimum, at its limit; throat of an engine."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import (
    TABLE,
    area_ratio_kernel,
    held_gamma_kernel,
    mach_number_kernel,
    mass_flow_function_kernel,
    pressure_ratio_kernel,
    temperature_ratio_kernel,
)

_LEAST_GAMMA = value("least_heat_capacity_ratio", TABLE)
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", TABLE)
_LARGEST_AREA = value("largest_area_ratio", TABLE)
_LOWEST_PRESSURE = 1e-30


@kernel
def momentum_coefficient_kernel(mach: float, gamma: float) -> float:
    """Momentum of the jet over p0 times throat area, at the exit Mach number of a choked nozzle."""
    held = held_gamma_kernel(gamma)
    released = 1.0 - temperature_ratio_kernel(mach, held)
    return mass_flow_function_kernel(held) * math.sqrt(2.0 * held / (held - 1.0) * released)


@kernel
def thrust_coefficient_kernel(area_ratio: float, gamma: float, ambient_ratio: float) -> float:
    """Thrust over p0 times throat area of a full nozzle, for ambient over stagnation pressure."""
    area = min(max(area_ratio, 1.0), _LARGEST_AREA)
    mach = mach_number_kernel(area, gamma)
    exit_ratio = pressure_ratio_kernel(mach, gamma)
    return momentum_coefficient_kernel(mach, gamma) + (exit_ratio - ambient_ratio) * area


@kernel
def mach_number_of_pressure_kernel(pressure_ratio: float, gamma: float) -> float:
    """Mach number at a static over stagnation pressure."""
    held = held_gamma_kernel(gamma)
    ratio = min(max(pressure_ratio, _LOWEST_PRESSURE), 1.0)
    return math.sqrt(2.0 / (held - 1.0) * max(ratio ** (-(held - 1.0) / held) - 1.0, 0.0))


@kernel
def maximum_thrust_coefficient_kernel(gamma: float) -> float:
    """Thrust over p0 times throat area of an endless nozzle in vacuum."""
    held = held_gamma_kernel(gamma)
    return mass_flow_function_kernel(held) * math.sqrt(2.0 * held / (held - 1.0))


@kernel
def optimum_area_ratio_kernel(gamma: float, ambient_ratio: float) -> float:
    """Area ratio whose exit pressure is that of the surroundings."""
    mach = max(mach_number_of_pressure_kernel(ambient_ratio, gamma), 1.0)
    return min(area_ratio_kernel(mach, gamma), _LARGEST_AREA)


@kernel
def throat_diameter_kernel(thrust: float, chamber_pressure: float, thrust_coefficient: float) -> float:
    """Throat diameter of an engine."""
    loaded = max(chamber_pressure * thrust_coefficient, 1e-30)
    return math.sqrt(4.0 * max(thrust, 0.0) / (math.pi * loaded))


def _check_flow(gamma: ArrayLike, ambient_pressure_ratio: ArrayLike = 0.0) -> None:
    domain.within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")
    domain.at_least("ambient_pressure_ratio", "1", ambient_pressure_ratio)


def thrust_coefficient(
    area_ratio: ArrayLike, gamma: ArrayLike, ambient_pressure_ratio: ArrayLike = 0.0
) -> FloatArray:
    r"""Ideal thrust over chamber pressure and throat area of a nozzle that flows full.

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
        If a heat capacity ratio lies outside 1.01 to 2, an area ratio outside 1 to 1e6, or a pressure
        ratio is negative.

    Notes
    -----
    Full flow without separation, no losses; :func:`thrust_coefficient_ambient` separates.

    References
    ----------
    .. [1] sutton_2010, chapter 3, thrust coefficient.

    Examples
    --------
    >>> print(f"{thrust_coefficient(50.0, 1.2):.4f}")
    1.9024
    """
    _check_flow(gamma, ambient_pressure_ratio)
    domain.within("area_ratio", "1", area_ratio, 1.0, _LARGEST_AREA)
    return broadcast(thrust_coefficient_kernel, area_ratio, gamma, ambient_pressure_ratio)


def maximum_thrust_coefficient(gamma: ArrayLike) -> FloatArray:
    r"""Thrust coefficient of an endless nozzle in vacuum, the limit no engine exceeds.

    .. math:: C_F = \Gamma\sqrt{2\gamma/(\gamma-1)}

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust coefficient [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2.

    References
    ----------
    .. [1] sutton_2010, chapter 3, thrust coefficient at exit pressure 0.

    Examples
    --------
    >>> print(f"{maximum_thrust_coefficient(1.2):.4f}")
    2.2466
    """
    _check_flow(gamma)
    return broadcast(maximum_thrust_coefficient_kernel, gamma)


def optimum_area_ratio(gamma: ArrayLike, ambient_pressure_ratio: ArrayLike) -> FloatArray:
    """Area ratio whose exit pressure equals that of the surroundings: the most thrust at that pressure.

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    ambient_pressure_ratio : array_like, shape (...)
        Ambient over chamber pressure, above 0 [1].

    Returns
    -------
    ndarray, shape (...)
        Exit area over throat area, 1 when the throat is not choked and at most 1e6 [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a pressure ratio is not above 0.

    References
    ----------
    .. [1] sutton_2010, chapter 3, optimum expansion.

    Examples
    --------
    >>> print(f"{optimum_area_ratio(1.2, 1.0 / 79.76):.2f}")
    10.00
    """
    _check_flow(gamma)
    domain.above("ambient_pressure_ratio", "1", ambient_pressure_ratio)
    return broadcast(optimum_area_ratio_kernel, gamma, ambient_pressure_ratio)


def throat_diameter(
    thrust: ArrayLike, chamber_pressure: ArrayLike, thrust_coefficient: ArrayLike
) -> FloatArray:
    r"""Throat diameter an engine needs.

    .. math:: d_t = \sqrt{4F / (\pi C_F p_c)}

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    thrust_coefficient : array_like, shape (...)
        Thrust coefficient as delivered [1].

    Returns
    -------
    ndarray, shape (...)
        Throat diameter [m].

    Raises
    ------
    DomainError
        If an argument is not positive.

    Notes
    -----
    At one pressure the diameter falls with the root of the thrust: 110 N needs 11 mm at 7 bar, 1 mN needs
    0.03 mm, which is why small engines run at low Reynolds numbers.

    References
    ----------
    .. [1] closed form: definition of the thrust coefficient (sutton_2010, chapter 3).

    Examples
    --------
    >>> print(f"{1e3 * throat_diameter(110.0, 7e5, 1.75):.2f}")  # mm
    10.69
    """
    domain.above("thrust", "N", thrust)
    domain.above("chamber_pressure", "Pa", chamber_pressure)
    domain.above("thrust_coefficient", "1", thrust_coefficient)
    return broadcast(throat_diameter_kernel, np.asarray(thrust), chamber_pressure, thrust_coefficient)
