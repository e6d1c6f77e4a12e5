"""Impulsive transfers between orbits in one plane."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.domain import floats, not_above, require_each
from tradespace.physics.transfer.manoeuvre_kernels import (
    bielliptic_transfer_kernel,
    hohmann_delta_v_kernel,
    hohmann_phase_angle_kernel,
    hohmann_transfer_kernel,
    one_tangent_transfer_kernel,
    tangent_transfer_kernel,
)
from tradespace.physics.transfer.shared import (
    components,
    limit_at,
    require_below,
    require_not_negative,
    require_positive,
)


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


def hohmann_delta_v(
    gravitational_parameter: ArrayLike, first_radius: ArrayLike, second_radius: ArrayLike
) -> FloatArray:
    """Velocity change of a Hohmann transfer, both burns together.

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
    ndarray, shape (...)
        Velocity change of both burns [m s-1].

    Raises
    ------
    DomainError
        If any argument is not positive.

    References
    ----------
    .. [1] vallado_2013, algorithm 36 and ex. 6-1.

    Examples
    --------
    >>> print(f"{hohmann_delta_v(3.986004418e14, 6569.4774e3, 42159.48487e3):.2f}")
    3935.23
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    return broadcast(hohmann_delta_v_kernel, gravitational_parameter, first_radius, second_radius)


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
    not_above("first_radius", "m", first_radius, "far_radius", far_radius)
    not_above("second_radius", "m", second_radius, "far_radius", far_radius)
    return components(
        bielliptic_transfer_kernel, gravitational_parameter, first_radius, far_radius, second_radius, count=4
    )


def one_tangent_transfer(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    true_anomaly: ArrayLike,
) -> tuple[FloatArray, ...]:
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
    eccentricity : ndarray, shape (...)
        Eccentricity of the ellipse flown [1].
    semi_major_axis : ndarray, shape (...)
        Its semi-major axis [m].

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
    >>> first, second, time, *_ = one_tangent_transfer(3.986004418e14, 6569.4781e3, 42159.48557e3, angle)
    >>> print(f"{first:.2f} {second:.2f} m/s, {time / 60:.3f} min")
    2575.40 2123.94 m/s, 207.445 min
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    ratio = floats(first_radius) / floats(second_radius)
    require_below("first_radius", first_radius, "second_radius", second_radius)
    angle = floats(true_anomaly)
    least = np.arccos(np.clip(2.0 * ratio - 1.0, -1.0, 1.0))
    reached = (angle > least) & (angle <= math.pi)
    require_each(
        reached, "true_anomaly", "rad", angle,
        f"gives no ellipse: it must lie above {limit_at(reached, least)} rad, up to {math.pi:.10g} rad",
    )  # fmt: skip
    return components(
        one_tangent_transfer_kernel,
        gravitational_parameter,
        first_radius,
        second_radius,
        true_anomaly,
        count=5,
    )


def tangent_transfer(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    first_speed: ArrayLike,
    second_radius: ArrayLike,
    second_speed: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Half an ellipse between two places where the velocities before and after are level.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Distance of the first burn, an apsis of the orbit before [m].
    first_speed : array_like, shape (...)
        Level speed before the first burn [m s-1].
    second_radius : array_like, shape (...)
        Distance of the second burn, an apsis of the orbit after [m].
    second_speed : array_like, shape (...)
        Level speed after the second burn [m s-1].

    Returns
    -------
    first_burn : ndarray, shape (...)
        Velocity change of the first burn [m s-1].
    second_burn : ndarray, shape (...)
        Velocity change of the second burn [m s-1].
    time_of_flight : ndarray, shape (...)
        Time between both [s].
    target_angle : ndarray, shape (...)
        Angle that a body on the circular orbit at the second distance covers meanwhile [rad].

    Raises
    ------
    DomainError
        If a distance or the gravitational parameter is not positive, or a speed is negative.

    Notes
    -----
    The orbits before and after may be circles, ellipses or hyperbolas; both burns are tangential.

    References
    ----------
    .. [1] curtis_2014, sec. 6.2 and ex. 6.2.

    Examples
    --------
    >>> home = tangent_transfer(398600e9, 11378e3, 10e3, 6878e3, 7612.69)  # back from the Moon
    >>> print(f"{home[0]:.0f} {home[1]:.0f} m/s")
    4862 887 m/s
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    require_not_negative("m/s", first_speed=first_speed, second_speed=second_speed)
    return components(
        tangent_transfer_kernel, gravitational_parameter, first_radius, first_speed, second_radius,
        second_speed, count=4,
    )  # fmt: skip
