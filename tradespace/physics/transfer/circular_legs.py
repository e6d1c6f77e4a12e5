"""Legs between circular orbits about one body: from moon to moon, or between a moon and a parking orbit."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, kernel
from tradespace.physics.domain import above, floats, require_each, within
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.physics.transfer.energy import circular_speed_kernel
from tradespace.physics.transfer.finite_burns import robbins_loss_kernel
from tradespace.physics.transfer.low_thrust import edelbaum_kernel, thrusting_time_kernel
from tradespace.physics.transfer.manoeuvre_kernels import combined_plane_change_kernel
from tradespace.physics.transfer.shared import components, require_positive

LEAST = 1e-9  # radii, gravitational parameters and accelerations below this are held there
LONGEST = 1e15  # and times above this [s]


@kernel
def circular_leg_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, plane_angle: float
) -> tuple[float, float, float]:
    """Both impulses and the flight time; the turn of the plane is shared so that their sum is least."""
    mass = max(gravitational_parameter, LEAST)
    first, second = max(first_radius, LEAST), max(second_radius, LEAST)
    angle = min(abs(plane_angle), math.pi)
    _, start, end = combined_plane_change_kernel(mass, first, second, angle)
    return start, end, 0.5 * orbital_period_kernel(mass, 0.5 * (first + second))


@kernel
def spiral_leg_kernel(
    gravitational_parameter: float,
    first_radius: float,
    second_radius: float,
    plane_angle: float,
    acceleration: float,
    exhaust_velocity: float,
) -> tuple[float, float]:
    """Velocity change and time of a slow spiral."""
    mass = max(gravitational_parameter, LEAST)
    start = circular_speed_kernel(mass, max(first_radius, LEAST))
    end = circular_speed_kernel(mass, max(second_radius, LEAST))
    spent = edelbaum_kernel(start, end, plane_angle)
    time = thrusting_time_kernel(spent, max(acceleration, LEAST), max(exhaust_velocity, LEAST))
    return spent, min(time, LONGEST)


@kernel
def thrust_limited_leg_kernel(
    gravitational_parameter: float,
    first_radius: float,
    second_radius: float,
    plane_angle: float,
    acceleration: float,
    exhaust_velocity: float,
) -> tuple[float, float, float, float]:
    """Both burns with their losses, the time and the longest burn; the spiral where that is the cheaper one."""
    mass = max(gravitational_parameter, LEAST)
    first, second = max(first_radius, LEAST), max(second_radius, LEAST)
    push, exhaust = max(acceleration, LEAST), max(exhaust_velocity, LEAST)
    start, end, coast = circular_leg_kernel(mass, first, second, plane_angle)
    early = min(thrusting_time_kernel(start, push, exhaust), LONGEST)
    late = min(thrusting_time_kernel(end, push, exhaust), LONGEST)
    leave = start + robbins_loss_kernel(mass, first, early, start)
    come = end + robbins_loss_kernel(mass, second, late, end)
    spiral, winding = spiral_leg_kernel(mass, first, second, plane_angle, push, exhaust)
    spiral = max(spiral, start + end)
    if leave + come <= spiral:
        return leave, come, coast + 0.5 * (early + late), max(early, late)
    share = start / max(start + end, LEAST)
    return share * spiral, (1.0 - share) * spiral, max(winding, coast + 0.5 * (early + late)), winding


def _check(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    plane_angle: ArrayLike,
    most: float,
) -> None:
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    within("plane_angle", "rad", plane_angle, 0.0, most)


def _check_thrust(acceleration: ArrayLike, exhaust_velocity: ArrayLike) -> None:
    above("acceleration", "m/s2", acceleration)
    given = floats(exhaust_velocity)
    require_each(given > 0.0, "exhaust_velocity", "m/s", given, "must be positive [m/s]")


def circular_leg(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    plane_angle: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Two impulses between circular orbits whose planes differ.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body in the middle [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the orbit at arrival; it may be the same [m].
    plane_angle : array_like, shape (...)
        Angle between both planes [rad].

    Returns
    -------
    first_speed : ndarray, shape (...)
        Speed to gain at departure; relative to a moon that is left, the excess speed [m s-1].
    second_speed : ndarray, shape (...)
        Speed to lose at arrival; relative to a moon that is reached, the excess speed [m s-1].
    time_of_flight : ndarray, shape (...)
        Half a turn of the ellipse between them [s].

    Raises
    ------
    DomainError
        If an argument is not positive (the angle may be zero), or the angle exceeds pi/2.

    Notes
    -----
    Hohmann transfer, the turn of the plane shared between both burns as in :func:`combined_plane_change`. The
    craft leaves at a node when the target stands right: at worst after one synodic period of both orbits,
    :func:`gaining_time` for a whole turn.

    References
    ----------
    .. [1] vallado_2013, sec. 6.5.2; curtis_2014, sec. 6.2.

    Examples
    --------
    >>> first, second, time = circular_leg(4.282837e13, 9376e3, 23458e3, 0.0)  # Phobos to Deimos
    >>> print(f"{first:.0f} {second:.0f} m/s, {time / 3600:.1f} h")
    418 330 m/s, 8.9 h
    """
    _check(gravitational_parameter, first_radius, second_radius, plane_angle, 0.5 * math.pi)
    return components(
        circular_leg_kernel, gravitational_parameter, first_radius, second_radius, plane_angle, count=3
    )


def spiral_leg(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    plane_angle: ArrayLike,
    acceleration: ArrayLike,
    exhaust_velocity: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Slow spiral between circular orbits whose planes differ.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body in the middle [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the orbit at arrival [m].
    plane_angle : array_like, shape (...)
        Angle between both planes [rad].
    acceleration : array_like, shape (...)
        Thrust over mass at the start [m s-2].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity; infinity for a constant acceleration [m s-1].

    Returns
    -------
    delta_v : ndarray, shape (...)
        Velocity change of the spiral [m s-1].
    time_of_flight : ndarray, shape (...)
        Time under thrust [s].

    Raises
    ------
    DomainError
        If an argument is not positive (the angle may be zero), or the angle exceeds pi.

    Notes
    -----
    Holds for accelerations far below local gravity; a turn by more than two radians costs what one by two does.

    References
    ----------
    .. [1] edelbaum_1961; kechichian_1997 (the check values).

    Examples
    --------
    >>> spent, time = spiral_leg(3.986004418e14, 7000e3, 42166e3, math.radians(28.5), 3.5e-4, math.inf)
    >>> print(f"{spent:.0f} m/s, {time / 86400:.0f} d")
    5784 m/s, 191 d
    """
    _check(gravitational_parameter, first_radius, second_radius, plane_angle, math.pi)
    _check_thrust(acceleration, exhaust_velocity)
    return components(
        spiral_leg_kernel, gravitational_parameter, first_radius, second_radius, plane_angle, acceleration,
        exhaust_velocity, count=2,
    )  # fmt: skip


def thrust_limited_leg(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    plane_angle: ArrayLike,
    acceleration: ArrayLike,
    exhaust_velocity: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Leg between circular orbits under any thrust: two burns with their losses, or a spiral where that is cheaper.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body in the middle [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the orbit at arrival [m].
    plane_angle : array_like, shape (...)
        Angle between both planes [rad].
    acceleration : array_like, shape (...)
        Thrust over mass at the start [m s-2].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity; infinity for a constant acceleration [m s-1].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change at departure, with its loss; the first orbit's share of a spiral [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival, with its loss; the rest of a spiral [m s-1].
    time_of_flight : ndarray, shape (...)
        From the start of the first burn to the end of the last [s].
    longest_burn : ndarray, shape (...)
        Length of the longer burn; of the whole spiral [s].

    Raises
    ------
    DomainError
        If an argument is not positive (the angle may be zero), or the angle exceeds pi/2.

    Notes
    -----
    The loss of a short burn is taken as its bound, :func:`robbins_loss`, which is about twice the true one; the
    sum never exceeds that of the spiral and never falls below that of two impulses.

    References
    ----------
    .. [1] vallado_2013, sec. 6.5.2; robbins_1966 (from memory); edelbaum_1961.

    Examples
    --------
    >>> for push in (1.0, 1e-2, 1e-4):  # Phobos to Deimos
    ...     first, second, time, _ = thrust_limited_leg(4.282837e13, 9376e3, 23458e3, 0.0, push, 4000.0)
    ...     print(f"{first + second:.0f} m/s, {time / 3600:.0f} h")
    748 m/s, 9 h
    786 m/s, 20 h
    786 m/s, 1982 h
    """
    _check(gravitational_parameter, first_radius, second_radius, plane_angle, 0.5 * math.pi)
    _check_thrust(acceleration, exhaust_velocity)
    return components(
        thrust_limited_leg_kernel, gravitational_parameter, first_radius, second_radius, plane_angle,
        acceleration, exhaust_velocity, count=4,
    )  # fmt: skip
