"""Burns that turn the plane of an orbit."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.domain import within
from tradespace.physics.transfer.manoeuvre_kernels import (
    approximate_plane_split_kernel,
    combined_plane_change_kernel,
    inclination_change_kernel,
    node_change_kernel,
    node_change_latitude_kernel,
    split_plane_change_kernel,
)
from tradespace.physics.transfer.shared import components, require_positive


def inclination_change(speed: ArrayLike, flight_path_angle: ArrayLike, angle: ArrayLike) -> FloatArray:
    r"""Change of inclination alone, at a node.

    .. math:: \Delta v = 2 v \cos\phi \sin(\Delta i/2)

    Parameters
    ----------
    speed : array_like, shape (...)
        Speed at the node [m s-1].
    flight_path_angle : array_like, shape (...)
        Angle of the velocity above the local horizontal [rad].
    angle : array_like, shape (...)
        Change of inclination [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn [m s-1].

    Raises
    ------
    DomainError
        If the speed is not positive, the change lies outside [0, pi], or the path angle outside
        [-pi/2, pi/2].

    References
    ----------
    .. [1] vallado_2013, algorithm 39 and ex. 6-4.

    Examples
    --------
    >>> print(f"{inclination_change(5892.311, 0.0, math.radians(15)):.2f}")
    1538.20
    """
    require_positive(speed=speed)
    within("angle", "rad", angle, 0.0, math.pi)
    within("flight_path_angle", "rad", flight_path_angle, -0.5 * math.pi, 0.5 * math.pi)
    return broadcast(inclination_change_kernel, speed, flight_path_angle, angle)


def node_change(speed: ArrayLike, inclination: ArrayLike, angle: ArrayLike) -> FloatArray:
    r"""Change of the node alone, on a circular orbit.

    .. math:: \cos\vartheta = \cos^2 i + \sin^2 i \cos\Delta\Omega,\quad \Delta v = 2 v \sin(\vartheta/2)

    Parameters
    ----------
    speed : array_like, shape (...)
        Speed on the circular orbit [m s-1].
    inclination : array_like, shape (...)
        Inclination before and after [rad].
    angle : array_like, shape (...)
        Change of the node [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn [m s-1].

    Raises
    ------
    DomainError
        If the speed is not positive, or the inclination or the change lies outside [-pi, pi].

    References
    ----------
    .. [1] vallado_2013, algorithm 40 and ex. 6-5.

    Examples
    --------
    >>> print(f"{node_change(5892.311, math.radians(55), math.radians(45)):.2f}")
    3694.20
    """
    require_positive(speed=speed)
    within("inclination", "rad", inclination, -math.pi, math.pi)
    within("angle", "rad", angle, -math.pi, math.pi)
    return broadcast(node_change_kernel, speed, inclination, angle)


def node_change_latitude(inclination: ArrayLike, angle: ArrayLike) -> FloatArray:
    """Where on the orbit to turn it to another node: the angle from its own node to the crossing.

    Parameters
    ----------
    inclination : array_like, shape (...)
        Inclination before and after [rad].
    angle : array_like, shape (...)
        Change of the node [rad].

    Returns
    -------
    ndarray, shape (...)
        Argument of latitude of the burn on the orbit before; on the orbit after it is pi minus this. The
        orbits cross half a turn later as well [rad].

    Raises
    ------
    DomainError
        If the inclination lies outside [0, pi], or the change outside [-pi, pi].

    References
    ----------
    .. [1] vallado_2013, algorithm 40 and ex. 6-5.

    Examples
    --------
    >>> print(f"{math.degrees(node_change_latitude(math.radians(55), math.radians(45))):.3f}")
    103.365
    """
    within("inclination", "rad", inclination, 0.0, math.pi)
    within("angle", "rad", angle, -math.pi, math.pi)
    return broadcast(node_change_latitude_kernel, inclination, angle)


def combined_plane_change(
    gravitational_parameter: ArrayLike, first_radius: ArrayLike, second_radius: ArrayLike, angle: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Hohmann transfer with a plane change split over both burns so that their sum is least.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].
    angle : array_like, shape (...)
        Change of the orbit plane in all [rad].

    Returns
    -------
    split : ndarray, shape (...)
        Part of the change made by the first burn [rad].
    first_burn : ndarray, shape (...)
        Velocity change at departure [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the angle may be zero), or the angle exceeds pi/2.

    References
    ----------
    .. [1] vallado_2013, sec. 6.5.2 and table 6-3.

    Examples
    --------
    >>> turn = math.radians(10)
    >>> split, first, second = combined_plane_change(3.986004418e14, 6671.53e3, 42163.95e3, turn)
    >>> print(f"{math.degrees(split):.4f} deg, {first + second:.2f} m/s")
    0.9173 deg, 3940.90 m/s
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    within("angle", "rad", angle, 0.0, 0.5 * math.pi)
    return components(
        combined_plane_change_kernel, gravitational_parameter, first_radius, second_radius, angle, count=3
    )


def approximate_plane_split(
    first_radius: ArrayLike, second_radius: ArrayLike, angle: ArrayLike
) -> FloatArray:
    r"""Part of a plane change to make in the first burn of a Hohmann transfer, by the usual shortcut.

    .. math:: \tan s = \frac{\sin\Delta i}{(r_2/r_1)^{3/2} + \cos\Delta i}

    Parameters
    ----------
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].
    angle : array_like, shape (...)
        Change of the orbit plane in all [rad].

    Returns
    -------
    ndarray, shape (...)
        Part of the change made by the first burn [rad].

    Raises
    ------
    DomainError
        If a radius is not positive, or the angle lies outside [0, pi/2].

    Notes
    -----
    A shortcut that misses the best split; :func:`combined_plane_change` finds it.

    References
    ----------
    .. [1] vallado_2013, sec. 6.5.2 and table 6-3.

    Examples
    --------
    >>> part = approximate_plane_split(6671.53e3, 42163.95e3, math.radians(10))
    >>> print(f"{math.degrees(part):.4f}")
    0.5896
    """
    require_positive(first_radius=first_radius, second_radius=second_radius)
    within("angle", "rad", angle, 0.0, 0.5 * math.pi)
    return broadcast(approximate_plane_split_kernel, first_radius, second_radius, angle)


def split_plane_change(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    angle: ArrayLike,
    split: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Hohmann transfer with a plane change split over both burns as given.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].
    angle : array_like, shape (...)
        Change of the orbit plane in all [rad].
    split : array_like, shape (...)
        Part of the change made by the first burn [rad].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change at departure [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival [m s-1].

    Raises
    ------
    DomainError
        If a radius or the gravitational parameter is not positive, or an angle lies outside [0, pi/2].

    References
    ----------
    .. [1] vallado_2013, sec. 6.5.2 and ex. 6-7.

    Examples
    --------
    >>> turn, part = math.radians(28.5), math.radians(1.594962)
    >>> first, second = split_plane_change(3.986004418e14, 6569.137e3, 42158.137e3, turn, part)
    >>> print(f"{first + second:.2f}")
    4271.89
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    within("angle", "rad", angle, 0.0, 0.5 * math.pi)
    within("split", "rad", split, 0.0, 0.5 * math.pi)
    return components(
        split_plane_change_kernel, gravitational_parameter, first_radius, second_radius, angle, split, count=2
    )
