"""Impulsive and low-thrust manoeuvres between circular orbits."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, require
from tradespace.physics.transfer.manoeuvre_kernels import (
    bielliptic_transfer_kernel,
    circular_phasing_kernel,
    edelbaum_kernel,
    hohmann_phase_angle_kernel,
    hohmann_transfer_kernel,
    one_tangent_transfer_kernel,
)
from tradespace.physics.transfer.shared import components, require_positive


def hohmann_transfer(
    gravitational_parameter: ArrayLike, first_radius: ArrayLike, second_radius: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Hohmann transfer between circular orbits in one plane.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change at departure [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival [m s-1].
    time_of_flight : ndarray, shape (...)
        Time between both [s].

    Raises
    ------
    DomainError
        If any argument is not positive.

    Notes
    -----
    About the Sun the burns are the excess speeds at both bodies, on circular orbits in one plane.

    References
    ----------
    .. [1] vallado_2013, algorithm 36 and ex. 6-1.

    Examples
    --------
    >>> first, second, time = hohmann_transfer(3.986004418e14, 6569.4781e3, 42159.48557e3)
    >>> print(f"{first + second:.2f} m/s in {time / 60:.3f} min")
    3935.23 m/s in 315.403 min
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    return components(hohmann_transfer_kernel, gravitational_parameter, first_radius, second_radius, count=3)


def hohmann_phase_angle(first_radius: ArrayLike, second_radius: ArrayLike) -> FloatArray:
    r"""Lead of the target at the departure of a Hohmann transfer.

    .. math:: \varphi = \pi \left[1 - \left(\frac{1 + r_1/r_2}{2}\right)^{3/2}\right]

    Parameters
    ----------
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].

    Returns
    -------
    ndarray, shape (...)
        Angle by which the target must lead at departure; negative when it must trail [rad].

    Raises
    ------
    DomainError
        If any radius is not positive.

    References
    ----------
    .. [1] vallado_2013, ch. 6, ex. 6-9.

    Examples
    --------
    >>> print(f"{math.degrees(hohmann_phase_angle(1.0, 1.523679)):.1f}")  # Earth to Mars
    44.3
    """
    require_positive(first_radius=first_radius, second_radius=second_radius)
    return broadcast(hohmann_phase_angle_kernel, first_radius, second_radius)


def bielliptic_transfer(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    far_radius: ArrayLike,
    second_radius: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Transfer between circular orbits by way of a far apoapsis.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    far_radius : array_like, shape (...)
        Distance of the burn in the middle [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change at departure [m s-1].
    middle_burn : ndarray, shape (...)
        Velocity change at the far apoapsis [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival [m s-1].
    time_of_flight : ndarray, shape (...)
        Time between both [s].

    Raises
    ------
    DomainError
        If any argument is not positive, or the far radius is less than either orbit.

    References
    ----------
    .. [1] vallado_2013, algorithm 37 and ex. 6-2.

    Examples
    --------
    >>> burns = bielliptic_transfer(3.986004418e14, 6569.4781e3, 510251e3, 382688e3)[:3]
    >>> print(f"{sum(burns):.0f}")
    3904
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        far_radius=far_radius,
        second_radius=second_radius,
    )
    nearest = np.maximum(np.asarray(first_radius), np.asarray(second_radius))
    require(np.asarray(far_radius) >= nearest, "far_radius must not be less than either orbit [m]")
    return components(
        bielliptic_transfer_kernel, gravitational_parameter, first_radius, far_radius, second_radius, count=4
    )


def one_tangent_transfer(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    true_anomaly: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Faster transfer outwards whose first burn alone is tangential.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit at departure [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit at arrival [m].
    true_anomaly : array_like, shape (...)
        Angle flown from departure to arrival [rad].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change at departure [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change at arrival [m s-1].
    time_of_flight : ndarray, shape (...)
        Time between both [s].

    Raises
    ------
    DomainError
        If an argument is not positive, the second radius is not the larger one, or the angle does
        not give an ellipse: it must lie above the arc cosine of twice the ratio of radii minus
        one, up to pi.

    References
    ----------
    .. [1] vallado_2013, algorithm 38 and ex. 6-3.

    Examples
    --------
    >>> angle = math.radians(160)
    >>> first, second, time = one_tangent_transfer(3.986004418e14, 6569.4781e3, 42159.48557e3, angle)
    >>> print(f"{first:.2f} {second:.2f} m/s, {time / 60:.3f} min")
    2575.40 2123.94 m/s, 207.445 min
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    ratio = np.asarray(first_radius) / np.asarray(second_radius)
    require(ratio < 1, "second_radius must be larger than first_radius [m]")
    angle = np.asarray(true_anomaly)
    require(
        (angle > 0) & (angle <= math.pi) & (np.cos(angle) < 2.0 * ratio - 1.0),
        "true_anomaly gives no ellipse [rad]",
    )
    return components(
        one_tangent_transfer_kernel,
        gravitational_parameter,
        first_radius,
        second_radius,
        true_anomaly,
        count=3,
    )


def circular_phasing(
    gravitational_parameter: ArrayLike, radius: ArrayLike, angle: ArrayLike, revolutions: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Move along a circular orbit by some turns on an ellipse of another period.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    angle : array_like, shape (...)
        Angle to move ahead along the orbit; negative to fall back [rad].
    revolutions : array_like, shape (...)
        Turns of the phasing orbit [1].

    Returns
    -------
    burns : ndarray, shape (...)
        Velocity change of both burns together [m s-1].
    time : ndarray, shape (...)
        Time until the orbit is circular again [s].

    Raises
    ------
    DomainError
        If the gravitational parameter or radius is not positive, there is less than one turn, or
        the angle is half a turn or more per turn.

    References
    ----------
    .. [1] curtis_2014, sec. 6.5 and ex. 6.5.

    Examples
    --------
    >>> burns, time = circular_phasing(398600e9, 42164e3, -math.radians(12), 3)
    >>> print(f"{burns:.2f} m/s, {time / 86400:.3f} d")
    22.53 m/s, 3.025 d
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    turns = np.asarray(revolutions)
    require(turns >= 1, "revolutions must be at least 1 [1]")
    require(np.abs(np.asarray(angle)) < math.pi * turns, "angle must be less than pi for each turn [rad]")
    return components(circular_phasing_kernel, gravitational_parameter, radius, angle, revolutions, count=2)


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
    require((np.asarray(angle) >= 0) & (np.asarray(angle) <= math.pi), "angle must lie in [0, pi] [rad]")
    return broadcast(edelbaum_kernel, first_speed, second_speed, angle)
