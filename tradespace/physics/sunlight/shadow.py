"""Shadow of a body on what circles it: a craft in orbit, or a moon behind its planet."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, not_above, within

_RIGHT_ANGLE = math.pi / 2.0


@kernel
def shadow_fraction_kernel(body_radius: float, orbit_radius: float, sun_elevation: float) -> float:
    """Share of a circular orbit in the cylindrical shadow of the body it circles [1]."""
    ratio = min(max(body_radius / max(orbit_radius, 1.0), 0.0), 1.0)
    side = math.sqrt(1.0 - ratio * ratio)  # cosine of the shadow's half width seen from the centre
    return math.acos(min(side / max(abs(math.cos(sun_elevation)), 1e-12), 1.0)) / math.pi


@kernel
def shadow_duration_kernel(
    body_radius: float, orbit_radius: float, sun_elevation: float, gravitational_parameter: float
) -> float:
    """Time in shadow on each turn of a circular orbit [s]."""
    size = max(orbit_radius, 1.0)
    period = 2.0 * math.pi * size * math.sqrt(size / max(gravitational_parameter, 1e-9))
    return period * shadow_fraction_kernel(body_radius, orbit_radius, sun_elevation)


def _orbit(body_radius: ArrayLike, orbit_radius: ArrayLike, sun_elevation: ArrayLike) -> None:
    radius = above("body radius", "m", body_radius)
    size = above("orbit radius", "m", orbit_radius)
    not_above("body radius", "m", radius, "orbit radius", size)
    within("sun elevation", "rad", sun_elevation, -_RIGHT_ANGLE, _RIGHT_ANGLE)


def shadow_fraction(body_radius: ArrayLike, orbit_radius: ArrayLike, sun_elevation: ArrayLike) -> FloatArray:
    r"""Share of a circular orbit spent in the shadow of the body it circles.

    .. math:: f = \frac{1}{\pi} \arccos\frac{\sqrt{1 - (R/a)^2}}{\cos\beta}

    Parameters
    ----------
    body_radius : array_like, shape (...)
        Radius of the body that casts the shadow [m].
    orbit_radius : array_like, shape (...)
        Radius of the orbit, from the centre of that body [m].
    sun_elevation : array_like, shape (...)
        Angle of the Sun above the plane of the orbit [rad].

    Returns
    -------
    ndarray, shape (...)
        Share in shadow, zero where the orbit passes clear of it [1].

    Raises
    ------
    DomainError
        If a radius is not above zero, the orbit lies inside the body, or the angle is beyond a right angle.

    Notes
    -----
    The shadow is a cylinder and the body a sphere: half-shadow counts by halves. Holds for a craft in orbit
    and for a moon with all that stands on it.

    References
    ----------
    .. [1] smad_1999, chapter 5.1 (eclipse of a circular orbit).

    Examples
    --------
    >>> print(f"{shadow_fraction(6378137.0, 7078137.0, 0.0):.4f}")
    0.3572
    """
    _orbit(body_radius, orbit_radius, sun_elevation)
    return broadcast(shadow_fraction_kernel, body_radius, orbit_radius, sun_elevation)


def shadow_duration(
    body_radius: ArrayLike,
    orbit_radius: ArrayLike,
    sun_elevation: ArrayLike,
    gravitational_parameter: ArrayLike,
) -> FloatArray:
    r"""Time in shadow on each turn of a circular orbit.

    .. math:: t = 2 \pi f \sqrt{a^3 / \mu}

    Parameters
    ----------
    body_radius : array_like, shape (...)
        Radius of the body that casts the shadow [m].
    orbit_radius : array_like, shape (...)
        Radius of the orbit, from the centre of that body [m].
    sun_elevation : array_like, shape (...)
        Angle of the Sun above the plane of the orbit [rad].
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].

    Returns
    -------
    ndarray, shape (...)
        Time in shadow per turn [s].

    Raises
    ------
    DomainError
        As for :func:`shadow_fraction`, or if the gravitational parameter is not above zero.

    References
    ----------
    .. [1] smad_1999, chapter 5.1 (eclipse of a circular orbit).

    Examples
    --------
    >>> print(f"{shadow_duration(6378137.0, 7078137.0, 0.0, 3.986004418e14) / 60:.2f}")  # minutes
    35.29
    """
    _orbit(body_radius, orbit_radius, sun_elevation)
    above("gravitational parameter", "m3/s2", gravitational_parameter)
    return broadcast(
        shadow_duration_kernel, body_radius, orbit_radius, sun_elevation, gravitational_parameter
    )
