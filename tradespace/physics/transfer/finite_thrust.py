"""Rendezvous under a thrust that takes a good part of the flight: what two impulses then cost."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, within

FULL = 0.25  # share at which the thrust never rests
LEAST = 1e-9  # stands for zero where something is divided


@kernel
def finite_thrust_stretch_kernel(thrust_share: float) -> float:
    """Cost of a rendezvous with finite thrust over that with two impulses; two from a share of a quarter on."""
    share = min(max(thrust_share, 0.0), FULL)
    return 2.0 / (1.0 + math.sqrt(1.0 - 4.0 * share))


@kernel
def required_acceleration_kernel(mean_impulse: float, time_of_flight: float) -> float:
    """Least acceleration that makes the rendezvous at all, with thrust all the way."""
    return mean_impulse / (FULL * max(time_of_flight, LEAST))


@kernel
def mean_acceleration_kernel(acceleration: float, delta_v: float, exhaust_velocity: float) -> float:
    """Velocity change over the time a constant thrust takes for it, by the acceleration at its start."""
    spent = max(delta_v, 0.0) / max(exhaust_velocity, LEAST)
    if not spent > 0.0:
        return acceleration
    return acceleration * spent / -math.expm1(-spent)


def finite_thrust_stretch(thrust_share: ArrayLike) -> FloatArray:
    r"""Velocity change of a rendezvous with finite thrust over that with two impulses, in the same time.

    .. math:: k\,(1 - k q) = 1, \quad k = \frac{2}{1 + \sqrt{1 - 4 q}}, \quad
              q = \frac{\Delta v_1 + \Delta v_2}{2\,a\,T}

    Parameters
    ----------
    thrust_share : array_like, shape (...)
        Mean of both impulses over the speed that the thrust gives in the flight time [1].

    Returns
    -------
    ndarray, shape (...)
        Factor on both impulses, from 1 to 2 [1].

    Raises
    ------
    DomainError
        If the share is negative, or above a quarter: no thrust programme then arrives in time.

    Notes
    -----
    From rest to rest in empty space, thrust at both ends and a coast between them: a burn displaces the craft
    less than an impulse does by half of its length, so the coast must be faster. At a quarter the thrust never
    rests. Take the acceleration from :func:`mean_acceleration`.

    About the Sun it is a rough guide: beside minimum-propellant flights between fixed dates, computed for the best
    dates of four pairs of bodies, it came to 1.00 to 1.05 times the optimum at a share of 0.02, 1.00 to 1.07 at 0.05
    and 1.16 to 1.23 at 0.2, and 1.3 to 1.7 times at a quarter; where the impulses are very unequal, or at poor dates,
    to 0.6 or 1.7 times at 0.2. :func:`spread_burn_factor`, whose burns reach beyond both dates, is much closer.

    References
    ----------
    .. [1] closed form: distance covered by a burn, a coast and a burn of equal acceleration.
    .. [2] zola_1966 (rendezvous by the length that would be covered in empty space).

    Examples
    --------
    >>> print(f"{finite_thrust_stretch(0.1):.4f} {finite_thrust_stretch(0.25):.0f}")
    1.1270 2
    """
    within("thrust_share", "1", thrust_share, 0.0, FULL, "take a longer flight or a stronger thrust")
    return broadcast(finite_thrust_stretch_kernel, thrust_share)


def required_acceleration(mean_impulse: ArrayLike, time_of_flight: ArrayLike) -> FloatArray:
    r"""Least mean acceleration with which a rendezvous of two impulses can be flown in its time.

    .. math:: a = 4\,\overline{\Delta v} / T

    Parameters
    ----------
    mean_impulse : array_like, shape (...)
        Mean of the impulses at both ends [m s-1].
    time_of_flight : array_like, shape (...)
        Time between them [s].

    Returns
    -------
    ndarray, shape (...)
        Acceleration at which the thrust never rests [m s-2].

    Raises
    ------
    DomainError
        If the impulse is negative or the time not positive.

    References
    ----------
    .. [1] closed form: from rest to rest in empty space, half the time speeding up and half slowing down.

    Examples
    --------
    >>> print(f"{required_acceleration(1000.0, 400 * 86400.0):.3g}")
    0.000116
    """
    at_least("mean_impulse", "m/s", mean_impulse)
    above("time_of_flight", "s", time_of_flight)
    return broadcast(required_acceleration_kernel, mean_impulse, time_of_flight)


def mean_acceleration(acceleration: ArrayLike, delta_v: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Mean acceleration of a constant thrust while the mass falls.

    .. math:: \bar a = \frac{\Delta v}{t} = a_0\,\frac{\Delta v/c}{1 - e^{-\Delta v/c}}

    Parameters
    ----------
    acceleration : array_like, shape (...)
        Thrust over mass at the start [m s-2].
    delta_v : array_like, shape (...)
        Velocity change of all burns together [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity; infinity for a constant acceleration [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Thrust over the logarithmic mean of the masses before and after [m s-2].

    Raises
    ------
    DomainError
        If the acceleration or exhaust velocity is not positive, the velocity change negative, or the mass ratio
        beyond what a number holds.

    References
    ----------
    .. [1] tsiolkovsky_1903 (constant flow).

    Examples
    --------
    >>> print(f"{mean_acceleration(1e-3, 2000.0, 4000.0):.6f}")
    0.001271
    """
    above("acceleration", "m/s2", acceleration)
    at_least("delta_v", "m/s", delta_v)
    given = floats(exhaust_velocity)
    require_each(given > 0.0, "exhaust_velocity", "m/s", given, "must be positive [m/s]")
    with np.errstate(over="ignore", invalid="ignore"):
        good = np.isfinite(floats(acceleration) * (floats(delta_v) / given))
    limit = "must be above that share of the velocity change which a number still holds"
    require_each(good, "exhaust_velocity", "m/s", given, limit)
    return broadcast(mean_acceleration_kernel, acceleration, delta_v, exhaust_velocity)
