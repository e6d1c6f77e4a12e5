"""Speeds, energies and single burns of the two-body problem."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import floats, not_above
from tradespace.physics.transfer.shared import require_not_negative, require_positive


@kernel
def circular_speed_kernel(gravitational_parameter: float, radius: float) -> float:
    """Speed of a circular orbit."""
    return math.sqrt(gravitational_parameter / radius)


@kernel
def escape_speed_kernel(gravitational_parameter: float, radius: float) -> float:
    """Speed of a parabola."""
    return math.sqrt(2.0 * gravitational_parameter / radius)


@kernel
def orbital_speed_kernel(gravitational_parameter: float, radius: float, semi_major_axis: float) -> float:
    """Vis-viva."""
    return math.sqrt(gravitational_parameter * (2.0 / radius - 1.0 / semi_major_axis))


@kernel
def characteristic_energy_kernel(excess_speed: float) -> float:
    """C3 of an excess speed."""
    return excess_speed * excess_speed


@kernel
def hyperbolic_excess_speed_kernel(characteristic_energy: float) -> float:
    """Excess speed of a C3."""
    return math.sqrt(characteristic_energy)


@kernel
def parking_orbit_burn_kernel(gravitational_parameter: float, radius: float, excess_speed: float) -> float:
    """From a circular orbit onto a hyperbola, or the other way round."""
    fast = math.sqrt(excess_speed * excess_speed + 2.0 * gravitational_parameter / radius)
    return fast - math.sqrt(gravitational_parameter / radius)


@kernel
def capture_burn_kernel(
    gravitational_parameter: float, periapsis: float, semi_major_axis: float, excess_speed: float
) -> float:
    """Between a hyperbola and an ellipse that share their periapsis."""
    fast = math.sqrt(excess_speed * excess_speed + 2.0 * gravitational_parameter / periapsis)
    return fast - orbital_speed_kernel(gravitational_parameter, periapsis, semi_major_axis)


def circular_speed(gravitational_parameter: ArrayLike, radius: ArrayLike) -> FloatArray:
    r"""Speed of a circular orbit.

    .. math:: v = \sqrt{\mu/r}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Distance from the centre [m].

    Returns
    -------
    ndarray, shape (...)
        Speed of the circular orbit at that distance [m s-1].

    Raises
    ------
    DomainError
        If any argument is not positive.

    References
    ----------
    .. [1] vallado_2013, ch. 1 (from memory).

    Examples
    --------
    >>> print(f"{circular_speed(3.986004418e14, 6678.137e3):.1f}")
    7725.8
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    return broadcast(circular_speed_kernel, gravitational_parameter, radius)


def escape_speed(gravitational_parameter: ArrayLike, radius: ArrayLike) -> FloatArray:
    r"""Escape speed from a distance, air and rotation left out.

    .. math:: v = \sqrt{2\mu/r}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Distance from the centre [m].

    Returns
    -------
    ndarray, shape (...)
        Least speed at that distance that never returns [m s-1].

    Raises
    ------
    DomainError
        If any argument is not positive.

    References
    ----------
    .. [1] vallado_2013, ch. 1, parabola (from memory).

    Examples
    --------
    >>> print(f"{escape_speed(62.629e9, 469.7e3):.1f}")  # Ceres
    516.4
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    return broadcast(escape_speed_kernel, gravitational_parameter, radius)


def orbital_speed(
    gravitational_parameter: ArrayLike, radius: ArrayLike, semi_major_axis: ArrayLike
) -> FloatArray:
    r"""Speed on an ellipse at a distance from the centre.

    .. math:: v = \sqrt{\mu\,(2/r - 1/a)}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Distance from the centre [m].
    semi_major_axis : array_like, shape (...)
        Semi-major axis of the ellipse [m].

    Returns
    -------
    ndarray, shape (...)
        Speed at that distance [m s-1].

    Raises
    ------
    DomainError
        If any argument is not positive, or the distance is not on the ellipse (beyond twice the
        semi-major axis).

    References
    ----------
    .. [1] vallado_2013, ch. 1, vis-viva (from memory).

    Examples
    --------
    >>> print(f"{orbital_speed(3.986004418e14, 6678.137e3, 24364e3):.1f}")
    10149.6
    """
    require_positive(
        gravitational_parameter=gravitational_parameter, radius=radius, semi_major_axis=semi_major_axis
    )
    not_above("radius", "m", radius, "double of the semi_major_axis", 2.0 * floats(semi_major_axis))
    return broadcast(orbital_speed_kernel, gravitational_parameter, radius, semi_major_axis)


def characteristic_energy(excess_speed: ArrayLike) -> FloatArray:
    r"""Characteristic energy C3 of an excess speed.

    .. math:: C_3 = v_\infty^2

    Parameters
    ----------
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Twice the orbital energy per mass, C3 [m2 s-2].

    Raises
    ------
    DomainError
        If any speed is negative.

    References
    ----------
    .. [1] vallado_2013, ch. 12 (patched conics).

    Examples
    --------
    >>> print(f"{characteristic_energy(3000.0) / 1e6:.1f} km2/s2")
    9.0 km2/s2
    """
    require_not_negative("m/s", excess_speed=excess_speed)
    return broadcast(characteristic_energy_kernel, excess_speed)


def hyperbolic_excess_speed(characteristic_energy: ArrayLike) -> FloatArray:
    r"""Excess speed of a characteristic energy.

    .. math:: v_\infty = \sqrt{C_3}

    Parameters
    ----------
    characteristic_energy : array_like, shape (...)
        Twice the orbital energy per mass, C3 [m2 s-2].

    Returns
    -------
    ndarray, shape (...)
        Speed relative to the body, far away [m s-1].

    Raises
    ------
    DomainError
        If any energy is negative: such an orbit is bound.

    References
    ----------
    .. [1] vallado_2013, ch. 12 (patched conics).

    Examples
    --------
    >>> print(f"{hyperbolic_excess_speed(9e6):.0f}")
    3000
    """
    require_not_negative("m2/s2", characteristic_energy=characteristic_energy)
    return broadcast(hyperbolic_excess_speed_kernel, characteristic_energy)


def parking_orbit_burn(
    gravitational_parameter: ArrayLike, radius: ArrayLike, excess_speed: ArrayLike
) -> FloatArray:
    r"""One tangential burn between a circular orbit and a hyperbola, either way.

    .. math:: \Delta v = \sqrt{v_\infty^2 + 2\mu/r} - \sqrt{\mu/r}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter or radius is not positive, or the speed is negative.

    Notes
    -----
    Impulsive: a burn of finite length costs more.

    References
    ----------
    .. [1] curtis_2014, ch. 8, ex. 8.4.

    Examples
    --------
    >>> print(f"{parking_orbit_burn(398600e9, 6678e3, 2943.0):.0f}")
    3590
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m/s", excess_speed=excess_speed)
    return broadcast(parking_orbit_burn_kernel, gravitational_parameter, radius, excess_speed)


def capture_burn(
    gravitational_parameter: ArrayLike,
    periapsis: ArrayLike,
    semi_major_axis: ArrayLike,
    excess_speed: ArrayLike,
) -> FloatArray:
    r"""One burn at periapsis between a hyperbola and an ellipse, either way.

    .. math:: \Delta v = \sqrt{v_\infty^2 + 2\mu/r_p} - \sqrt{\mu\,(2/r_p - 1/a)}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    periapsis : array_like, shape (...)
        Distance of the burn, the periapsis of both orbits [m].
    semi_major_axis : array_like, shape (...)
        Semi-major axis of the ellipse; infinity for a parabola [m].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn [m s-1].

    Raises
    ------
    DomainError
        If a length or the gravitational parameter is not positive, the speed is negative, or the
        semi-major axis is less than the periapsis.

    References
    ----------
    .. [1] vallado_2013, ch. 12 (patched conics).

    Examples
    --------
    >>> print(f"{capture_burn(42828.37e9, 3796.2e3, 20448e3, 2565.0):.0f}")  # Mars, one-day ellipse
    874
    """
    require_positive(gravitational_parameter=gravitational_parameter, periapsis=periapsis)
    require_not_negative("m/s", excess_speed=excess_speed)
    not_above("periapsis", "m", periapsis, "semi_major_axis", semi_major_axis)
    return broadcast(capture_burn_kernel, gravitational_parameter, periapsis, semi_major_axis, excess_speed)
