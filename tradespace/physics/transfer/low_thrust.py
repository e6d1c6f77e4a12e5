"""Slow spirals: between circles, between ellipses, and what they cost beside impulsive burns."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, floats, require_each, within
from tradespace.physics.transfer.shared import components, require_positive

LEAST = 1e-9
SQUARE = 1e-6  # cosines of the argument of periapsis below this stand for a right angle


@kernel
def edelbaum_kernel(first_speed: float, second_speed: float, angle: float) -> float:
    """Low-thrust spiral between inclined circular orbits; past two radians it passes through escape."""
    bend = min(0.5 * math.pi * abs(angle), math.pi)
    half = math.sin(0.5 * bend)
    return math.sqrt((first_speed - second_speed) ** 2 + 4.0 * first_speed * second_speed * half * half)


@kernel
def thrusting_time_kernel(delta_v: float, acceleration: float, exhaust_velocity: float) -> float:
    """How long a constant thrust takes; an infinite exhaust velocity keeps the acceleration constant."""
    if exhaust_velocity == math.inf:
        return delta_v / acceleration
    return -math.expm1(-delta_v / exhaust_velocity) * exhaust_velocity / acceleration


@kernel
def spiral_penalty_kernel(radius_ratio: float) -> float:
    """Slow spiral over Hohmann transfer between coplanar circles, by the ratio of their radii."""
    ratio = radius_ratio if radius_ratio >= 1.0 else 1.0 / radius_ratio
    root = math.sqrt(ratio)
    leave = math.sqrt(2.0 * ratio / (1.0 + ratio))
    if leave - 1.0 < LEAST:
        return 1.0
    return (1.0 - 1.0 / root) / (leave - 1.0 + (1.0 - math.sqrt(2.0 / (1.0 + ratio))) / root)


@kernel
def eccentric_spiral_kernel(
    circular_speed: float,
    first_eccentricity: float,
    second_eccentricity: float,
    angle: float,
    argument_of_periapsis: float,
) -> tuple[float, float]:
    """Eccentricity and inclination together at a fixed semi-major axis; also the angle out of the plane."""
    e, f = first_eccentricity, second_eccentricity
    bend = 2.0 / 3.0 * abs(math.asin(e) - math.asin(f))
    drift = abs(e - f + math.log((1.0 + f) * (1.0 - e) / ((1.0 + e) * (1.0 - f))))
    tilt = 3.0 / 4.0 * math.pi * abs(angle) / max(abs(math.cos(argument_of_periapsis)), LEAST)
    middle = 0.5 * (e + f)
    level = 2.0 / 3.0 * math.sqrt(1.0 - middle * middle) / (1.0 + middle * middle)
    out = tilt * (bend / drift if drift > LEAST else level)
    return circular_speed * math.sqrt(bend * bend + out * out), math.atan2(tilt, drift)


@kernel
def periapsis_turn_kernel(circular_speed: float, eccentricity: float, angle: float) -> float:
    """Turn of the line of apsides in its plane at fixed axis and eccentricity."""
    return 2.0 / 3.0 * circular_speed * eccentricity / math.sqrt(1.0 - eccentricity**2) * abs(angle)


def edelbaum(first_speed: ArrayLike, second_speed: ArrayLike, angle: ArrayLike) -> FloatArray:
    r"""Low-thrust spiral between circular orbits with a plane change.

    .. math:: \Delta v = \sqrt{v_1^2 + v_2^2 - 2 v_1 v_2 \cos(\pi\,\Delta i/2)}

    Parameters
    ----------
    first_speed : array_like, shape (...)
        Circular speed at departure [m s-1].
    second_speed : array_like, shape (...)
        Circular speed at arrival [m s-1].
    angle : array_like, shape (...)
        Change of the orbit plane [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the spiral [m s-1].

    Raises
    ------
    DomainError
        If a speed is not positive, or the angle lies outside [0, pi].

    Notes
    -----
    Holds for accelerations far below local gravity. Beyond two radians the formula would fall again;
    there the sum of both speeds (out to escape and back) is returned.

    References
    ----------
    .. [1] edelbaum_1961; kechichian_1997 (the check values).

    Examples
    --------
    >>> print(f"{edelbaum(7546.05, 3074.66, math.radians(28.5)):.0f}")
    5784
    """
    require_positive(first_speed=first_speed, second_speed=second_speed)
    within("angle", "rad", angle, 0.0, math.pi)
    return broadcast(edelbaum_kernel, first_speed, second_speed, angle)


def thrusting_time(delta_v: ArrayLike, acceleration: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Time a constant thrust needs for a velocity change.

    .. math:: t = \frac{c}{a_0}\left(1 - e^{-\Delta v/c}\right)

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Velocity change to make [m s-1].
    acceleration : array_like, shape (...)
        Thrust over mass at the start [m s-2].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity; infinity for a constant acceleration [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Thrusting time [s].

    Raises
    ------
    DomainError
        If the acceleration or exhaust velocity is not positive, or the velocity change negative.

    References
    ----------
    .. [1] tsiolkovsky_1903 (constant flow); kechichian_1997 (the check value, constant acceleration).

    Examples
    --------
    >>> print(f"{thrusting_time(5783.78, 3.5e-4, math.inf) / 86400:.2f} d")
    191.26 d
    """
    at_least("delta_v", "m/s", delta_v)
    for name, unit, given in (
        ("acceleration", "m/s2", acceleration),
        ("exhaust_velocity", "m/s", exhaust_velocity),
    ):
        require_each(floats(given) > 0.0, name, unit, given, f"must be positive [{unit}]")
    return broadcast(thrusting_time_kernel, delta_v, acceleration, exhaust_velocity)


def spiral_penalty(radius_ratio: ArrayLike) -> FloatArray:
    """Velocity change of a slow spiral over that of a Hohmann transfer between coplanar circles.

    Parameters
    ----------
    radius_ratio : array_like, shape (...)
        One radius over the other, either way [1].

    Returns
    -------
    ndarray, shape (...)
        Ratio of the two costs, from 1 to 1 plus the root of two [1].

    Raises
    ------
    DomainError
        If the ratio is not positive.

    References
    ----------
    .. [1] closed form: difference of circular speeds over the sum of both burns.

    Examples
    --------
    >>> print(f"{spiral_penalty(1e24):.6f}")
    2.414214
    """
    require_positive(radius_ratio=radius_ratio)
    return broadcast(spiral_penalty_kernel, radius_ratio)


def eccentric_spiral(
    circular_speed: ArrayLike,
    first_eccentricity: ArrayLike,
    second_eccentricity: ArrayLike,
    angle: ArrayLike,
    argument_of_periapsis: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    r"""Low-thrust change of eccentricity and inclination together, semi-major axis kept.

    .. math:: \tan\beta = \frac{3\pi\,|\Delta i|}{4\cos\omega\,|D|},
              \quad \Delta v = \frac{2 v}{3\cos\beta}\,|\arcsin e_1 - \arcsin e_2|

    Parameters
    ----------
    circular_speed : array_like, shape (...)
        Circular speed at the semi-major axis [m s-1].
    first_eccentricity : array_like, shape (...)
        Eccentricity before [1].
    second_eccentricity : array_like, shape (...)
        Eccentricity after [1].
    angle : array_like, shape (...)
        Change of the inclination [rad].
    argument_of_periapsis : array_like, shape (...)
        Angle from the node to the periapsis; zero is best [rad].

    Returns
    -------
    delta_v : ndarray, shape (...)
        Velocity change of the manoeuvre [m s-1].
    path_angle : ndarray, shape (...)
        Angle of the thrust out of the plane, its sign changed twice a turn [rad].

    Raises
    ------
    DomainError
        If the speed is not positive, an eccentricity lies outside [0, 1), the change outside [0, pi] or the
        argument outside [-pi, pi], or a plane is to be turned with the apsides square to the node.

    Notes
    -----
    Thrust square to the line of apsides, fixed in space, all the time;
    D is the difference of eccentricities plus ln((1 + e2)(1 - e1)/((1 + e1)(1 - e2))).

    References
    ----------
    .. [1] pollard_2000.

    Examples
    --------
    >>> found = eccentric_spiral(3074.66, 0.4, 0.0, math.radians(20), 0.0)
    >>> print(f"{found[0]:.0f} m/s, {math.degrees(found[1]):.1f} deg")
    1766 m/s, 61.5 deg
    """
    require_positive(circular_speed=circular_speed)
    for name, given in (
        ("first_eccentricity", first_eccentricity),
        ("second_eccentricity", second_eccentricity),
    ):
        shape = floats(given)
        require_each((shape >= 0) & (shape < 1), name, "1", shape, "must lie in [0, 1) [1]")
    within("angle", "rad", angle, 0.0, math.pi)
    argument = within("argument_of_periapsis", "rad", argument_of_periapsis, -math.pi, math.pi)
    require_each(
        (floats(angle) == 0.0) | (np.abs(np.cos(argument)) > SQUARE), "argument_of_periapsis", "rad", argument,
        "must not be a right angle where the plane is to be turned: this thrust cannot",
    )  # fmt: skip
    return components(
        eccentric_spiral_kernel, circular_speed, first_eccentricity, second_eccentricity, angle,
        argument_of_periapsis, count=2,
    )  # fmt: skip


def periapsis_turn(circular_speed: ArrayLike, eccentricity: ArrayLike, angle: ArrayLike) -> FloatArray:
    r"""Low-thrust turn of the line of apsides in its plane, axis and eccentricity kept.

    .. math:: \Delta v = \tfrac{2}{3}\,v\,\frac{e}{\sqrt{1-e^2}}\,|\Delta\omega|

    Parameters
    ----------
    circular_speed : array_like, shape (...)
        Circular speed at the semi-major axis [m s-1].
    eccentricity : array_like, shape (...)
        Eccentricity of the orbit [1].
    angle : array_like, shape (...)
        Turn of the line of apsides, either way [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the manoeuvre [m s-1].

    Raises
    ------
    DomainError
        If the speed is not positive, the eccentricity lies outside [0, 1), or the turn outside [-pi, pi].

    Notes
    -----
    Thrust along the line of apsides, fixed in space, all the time.

    References
    ----------
    .. [1] pollard_2000.

    Examples
    --------
    >>> print(f"{periapsis_turn(4035.3, 0.72915, math.radians(5)):.0f}")
    250
    """
    require_positive(circular_speed=circular_speed)
    shape = floats(eccentricity)
    require_each((shape >= 0) & (shape < 1), "eccentricity", "1", shape, "must lie in [0, 1) [1]")
    within("angle", "rad", angle, -math.pi, math.pi)
    return broadcast(periapsis_turn_kernel, circular_speed, eccentricity, angle)
