"""The rocket equation, with the part of a load that cannot be burned carried through."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, not_above, require_each, within

LARGEST = 100.0
"""Velocity change over exhaust velocity beyond which a mass ratio means nothing."""


@kernel
def mass_ratio_kernel(delta_v: float, exhaust_velocity: float) -> float:
    """Mass before over mass after the burn."""
    return math.exp(delta_v / exhaust_velocity)


@kernel
def delta_v_kernel(initial_mass: float, final_mass: float, exhaust_velocity: float) -> float:
    """Velocity change of a burn."""
    return exhaust_velocity * math.log(initial_mass / final_mass)


@kernel
def propellant_mass_kernel(initial_mass: float, delta_v: float, exhaust_velocity: float) -> float:
    """Propellant burned, starting from the loaded mass."""
    return -initial_mass * math.expm1(-delta_v / exhaust_velocity)


@kernel
def propellant_load_kernel(
    dry_mass: float, delta_v: float, exhaust_velocity: float, unusable_fraction: float
) -> float:
    """Load that gives a velocity change when a share of it is never burned; infinite when none does."""
    growth = math.expm1(delta_v / exhaust_velocity)
    left = 1.0 - unusable_fraction * (1.0 + growth)
    if left <= 0.0:
        return math.inf if growth > 0.0 else 0.0
    return dry_mass * growth / left


@kernel
def burn_time_kernel(propellant_mass: float, exhaust_velocity: float, thrust: float) -> float:
    """Time to burn a mass of propellant at constant thrust."""
    if propellant_mass == 0.0:
        return 0.0
    return propellant_mass * exhaust_velocity / thrust


def _burnable(
    delta_v: ArrayLike, exhaust_velocity: ArrayLike, name: str = "delta_v"
) -> tuple[FloatArray, FloatArray]:
    """Velocity change and exhaust velocity whose mass ratio is a number a computer holds."""
    change = at_least(name, "m/s", delta_v)
    speed = above("exhaust_velocity", "m/s", exhaust_velocity)
    changes, speeds = np.broadcast_arrays(change, speed)
    limit = "must be at most 100 exhaust velocities; no craft has such a mass ratio"
    require_each(changes <= LARGEST * speeds, name, "m/s", changes, limit)
    return change, speed


def exhaust_velocity(specific_impulse: ArrayLike) -> FloatArray:
    r"""Effective exhaust velocity of a specific impulse.

    .. math:: v_e = g_0 I_{sp}

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Specific impulse [s].

    Returns
    -------
    ndarray, shape (...)
        Effective exhaust velocity [m s-1].

    Raises
    ------
    DomainError
        If a specific impulse is not positive.

    References
    ----------
    .. [1] sutton_2010, chapter 2.

    Examples
    --------
    >>> print(f"{exhaust_velocity(360.0):.1f}")
    3530.4
    """
    above("specific_impulse", "s", specific_impulse)
    return np.asarray(np.asarray(specific_impulse, dtype=np.float64) * value("standard_gravity"))


def mass_ratio(delta_v: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Mass before over mass after a burn.

    .. math:: R = \exp(\Delta v / v_e)

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Velocity change [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Mass ratio [1].

    Raises
    ------
    DomainError
        If a velocity change is negative or beyond 100 exhaust velocities, or an exhaust velocity not positive.

    References
    ----------
    .. [1] tsiolkovsky_1903; curtis_2014, equation 6.1.

    Examples
    --------
    >>> print(f"{mass_ratio(3000.0, 3500.0):.4f}")
    2.3564
    """
    _burnable(delta_v, exhaust_velocity)
    return broadcast(mass_ratio_kernel, delta_v, exhaust_velocity)


def propellant_fraction(delta_v: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Propellant burned over the mass before the burn.

    .. math:: \Delta m / m = 1 - \exp(-\Delta v / v_e)

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Velocity change [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Propellant fraction [1].

    Raises
    ------
    DomainError
        If a velocity change is negative or beyond 100 exhaust velocities, or an exhaust velocity not positive.

    References
    ----------
    .. [1] curtis_2014, equation 6.1.

    Examples
    --------
    >>> print(f"{propellant_fraction(1000.0, 2941.995):.4f}")
    0.2882
    """
    return propellant_mass(1.0, delta_v, exhaust_velocity)


def delta_v(initial_mass: ArrayLike, final_mass: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Velocity change of a burn.

    .. math:: \Delta v = v_e \ln(m_0 / m_1)

    Parameters
    ----------
    initial_mass : array_like, shape (...)
        Mass before the burn [kg].
    final_mass : array_like, shape (...)
        Mass after the burn [kg].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change [m s-1].

    Raises
    ------
    DomainError
        If a mass or exhaust velocity is not positive, or mass is gained.

    References
    ----------
    .. [1] tsiolkovsky_1903; curtis_2014, equation 6.1.

    Examples
    --------
    >>> print(f"{delta_v(12.0, 4.2, exhaust_velocity(360.0)):.0f}")
    3706
    """
    above("final_mass", "kg", final_mass)
    above("exhaust_velocity", "m/s", exhaust_velocity)
    above("initial_mass", "kg", initial_mass)
    not_above("final_mass", "kg", final_mass, "initial_mass", initial_mass)
    return broadcast(delta_v_kernel, initial_mass, final_mass, exhaust_velocity)


def propellant_mass(initial_mass: ArrayLike, delta_v: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Propellant burned in a burn that starts at a given mass.

    .. math:: m_p = m_0 \left(1 - e^{-\Delta v / v_e}\right)

    Parameters
    ----------
    initial_mass : array_like, shape (...)
        Mass before the burn [kg].
    delta_v : array_like, shape (...)
        Velocity change [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Propellant burned [kg].

    Raises
    ------
    DomainError
        If a mass or velocity change is negative or an exhaust velocity not positive.

    References
    ----------
    .. [1] curtis_2014, equation 6.1.

    Examples
    --------
    >>> print(f"{propellant_mass(100.0, 1000.0, 3500.0):.2f}")
    24.85
    """
    at_least("initial_mass", "kg", initial_mass)
    _burnable(delta_v, exhaust_velocity)
    return broadcast(propellant_mass_kernel, initial_mass, delta_v, exhaust_velocity)


def propellant_load(
    dry_mass: ArrayLike, delta_v: ArrayLike, exhaust_velocity: ArrayLike, unusable_fraction: ArrayLike = 0.0
) -> FloatArray:
    r"""Propellant to load so that a velocity change is met although a share of the load is never burned.

    .. math:: m_p = m_d \frac{R-1}{1 - f R}, \qquad R = e^{\Delta v / v_e}

    Parameters
    ----------
    dry_mass : array_like, shape (...)
        Mass without propellant [kg].
    delta_v : array_like, shape (...)
        Velocity change [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    unusable_fraction : array_like, shape (...)
        Share of the load kept as reserve or trapped as residual [1].

    Returns
    -------
    ndarray, shape (...)
        Propellant load; infinite when the unusable share alone eats the gain, so that no load closes [kg].

    Raises
    ------
    DomainError
        If a mass or velocity change is negative, an exhaust velocity not positive or a share outside [0, 1).

    Notes
    -----
    The unusable part stays on board and is accelerated with the craft. Infinity is an answer here, not an
    error: a design that cannot close is still a row.

    References
    ----------
    .. [1] curtis_2014, equation 6.1, with the final mass dry mass plus unusable propellant.

    Examples
    --------
    >>> print(f"{propellant_load(100.0, 3000.0, 3500.0, 0.07):.2f}")
    162.44
    >>> float(propellant_load(100.0, 12000.0, 3500.0, 0.07))
    inf
    """
    at_least("dry_mass", "kg", dry_mass)
    _burnable(delta_v, exhaust_velocity)
    within("unusable_fraction", "1", unusable_fraction, 0.0, 1.0, open_high=True)
    return broadcast(propellant_load_kernel, dry_mass, delta_v, exhaust_velocity, unusable_fraction)


def burn_time(propellant_mass: ArrayLike, exhaust_velocity: ArrayLike, thrust: ArrayLike) -> FloatArray:
    r"""Time to burn a mass of propellant at constant thrust.

    .. math:: t = m_p v_e / F

    Parameters
    ----------
    propellant_mass : array_like, shape (...)
        Propellant burned [kg].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    thrust : array_like, shape (...)
        Thrust [N].

    Returns
    -------
    ndarray, shape (...)
        Burn time [s].

    Raises
    ------
    DomainError
        If a mass is negative, or an exhaust velocity or thrust not positive.

    References
    ----------
    .. [1] curtis_2014, section 11.3, constant thrust.

    Examples
    --------
    >>> print(f"{burn_time(10.0, 3500.0, 110.0):.1f}")
    318.2
    """
    at_least("propellant_mass", "kg", propellant_mass)
    above("exhaust_velocity", "m/s", exhaust_velocity)
    above("thrust", "N", thrust)
    return broadcast(burn_time_kernel, propellant_mass, exhaust_velocity, thrust)
