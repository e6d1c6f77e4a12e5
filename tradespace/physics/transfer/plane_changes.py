"""Burns that turn the plane of an orbit."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, require
from tradespace.physics.transfer.manoeuvre_kernels import (
    combined_plane_change_kernel,
    inclination_change_kernel,
    node_change_kernel,
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
        If the speed is not positive, or the change lies outside [0, pi].

    References
    ----------
    .. [1] vallado_2013, algorithm 39 and ex. 6-4.

    Examples
    --------
    >>> print(f"{inclination_change(5892.311, 0.0, math.radians(15)):.2f}")
    1538.20
    """
    require_positive(speed=speed)
    require((np.asarray(angle) >= 0) & (np.asarray(angle) <= math.pi), "angle must lie in [0, pi] [rad]")
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
        If the speed is not positive, or the change lies outside [-pi, pi].

    References
    ----------
    .. [1] vallado_2013, algorithm 40 and ex. 6-5.

    Examples
    --------
    >>> print(f"{node_change(5892.311, math.radians(55), math.radians(45)):.2f}")
    3694.20
    """
    require_positive(speed=speed)
    require(np.abs(np.asarray(angle)) <= math.pi, "angle must lie in [-pi, pi] [rad]")
    return broadcast(node_change_kernel, speed, inclination, angle)


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
    require(
        (np.asarray(angle) >= 0) & (np.asarray(angle) <= 0.5 * math.pi), "angle must lie in [0, pi/2] [rad]"
    )
    return components(
        combined_plane_change_kernel, gravitational_parameter, first_radius, second_radius, angle, count=3
    )
