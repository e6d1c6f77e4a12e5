"""Launch, landing and hops on airless bodies, and how near an asteroid is in velocity."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import floats, not_above, require_each, within
from tradespace.physics.transfer.shared import require_not_negative, require_positive

EARTH_SPEED = value("earth_mean_speed", "orbits.csv")
LOW_ORBIT_SPEED = value("low_orbit_speed", "orbits.csv")
ALLOWANCE = value("rendezvous_allowance", "orbits.csv")
AU = value("astronomical_unit")


@kernel
def ballistic_hop_speed_kernel(gravitational_parameter: float, radius: float, distance: float) -> float:
    """Launch speed of the cheapest arc between two places on a sphere; no place is farther than the antipode."""
    sine = math.sin(min(0.5 * distance / radius, 0.5 * math.pi))
    return math.sqrt(2.0 * gravitational_parameter / radius * sine / (1.0 + sine))


@kernel
def ballistic_hop_elevation_kernel(radius: float, distance: float) -> float:
    """Launch angle above the horizontal of that arc."""
    return 0.25 * max(math.pi - distance / radius, 0.0)


@kernel
def ballistic_hop_time_kernel(gravitational_parameter: float, radius: float, distance: float) -> float:
    """Flight time of that arc: Lambert's equation at least energy."""
    chord = 2.0 * radius * math.sin(min(0.5 * distance / radius, 0.5 * math.pi))
    axis = 0.25 * (2.0 * radius + chord)
    angle = 2.0 * math.acos(min(math.sqrt(0.5 * chord / axis), 1.0))
    return (math.pi - angle + math.sin(angle)) * axis * math.sqrt(axis / gravitational_parameter)


@kernel
def launch_delta_v_kernel(
    gravitational_parameter: float, radius: float, excess_speed: float, loss_fraction: float
) -> float:
    """Surface to excess speed in one burn, with losses."""
    return (1.0 + loss_fraction) * math.sqrt(
        excess_speed * excess_speed + 2.0 * gravitational_parameter / radius
    )


@kernel
def asteroid_rendezvous_delta_v_kernel(
    semi_major_axis: float, eccentricity: float, inclination: float
) -> float:
    """Shoemaker and Helin's figure of merit: low Earth orbit to rendezvous at aphelion."""
    a = semi_major_axis / AU
    far, near, c = a * (1.0 + eccentricity), a * (1.0 - eccentricity), math.cos(0.5 * inclination)
    if a < 1.0:
        leave = 2.0 - 2.0 * c * math.sqrt(2.0 * far - far * far)
        arrive = 3.0 / far - 1.0 - 2.0 / far * math.sqrt(2.0 - far)
    else:
        leave = 3.0 - 2.0 / (far + 1.0) - 2.0 * c * math.sqrt(2.0 * far / (far + 1.0))
        tilt = c if near > 1.0 else 1.0
        arrive = 3.0 / far - 2.0 / (far + 1.0) - 2.0 / far * math.sqrt(2.0 / (far + 1.0)) * tilt
    tilt = 1.0 if near > 1.0 and a >= 1.0 else c
    own = 3.0 / far - 1.0 / a - 2.0 * tilt / far * math.sqrt(a * (1.0 - eccentricity * eccentricity) / far)
    parked = LOW_ORBIT_SPEED / EARTH_SPEED
    injection = math.sqrt(abs(leave) + 2.0 * parked * parked) - parked
    arrive, own = abs(arrive), abs(own)
    rendezvous = math.sqrt(max(arrive + own - 2.0 * math.sqrt(arrive * own) * c, 0.0))
    return EARTH_SPEED * (injection + rendezvous) + ALLOWANCE


def _require_within_half_the_globe(distance: ArrayLike, radius: ArrayLike) -> None:
    not_above("distance", "m", distance, "half circumference of the body,", math.pi * floats(radius))


def ballistic_hop_speed(
    gravitational_parameter: ArrayLike, radius: ArrayLike, distance: ArrayLike
) -> FloatArray:
    r"""Launch speed of the cheapest ballistic hop on a sphere that does not turn.

    .. math:: v^2 = \frac{\mu}{R}\,\frac{2 s}{1+s},\quad s = \sin(d/2R)

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    radius : array_like, shape (...)
        Mean radius of the body [m].
    distance : array_like, shape (...)
        Ground distance along the great circle [m].

    Returns
    -------
    ndarray, shape (...)
        Launch speed, equal to the landing speed [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the distance may be zero), or the distance exceeds half
        the circumference.

    Notes
    -----
    A hop that stops on landing costs this twice. Rotation, slope and losses are left out.

    References
    ----------
    .. [1] bate_1971, ch. 6 (from memory; the range was recomputed with a Kepler arc).

    Examples
    --------
    >>> print(f"{ballistic_hop_speed(62.629e9, 469.7e3, 10e3):.2f}")  # Ceres, 10 km
    53.00
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m", distance=distance)
    _require_within_half_the_globe(distance, radius)
    return broadcast(ballistic_hop_speed_kernel, gravitational_parameter, radius, distance)


def ballistic_hop_elevation(radius: ArrayLike, distance: ArrayLike) -> FloatArray:
    r"""Launch angle of the cheapest ballistic hop.

    .. math:: \gamma = \pi/4 - d/4R

    Parameters
    ----------
    radius : array_like, shape (...)
        Mean radius of the body [m].
    distance : array_like, shape (...)
        Ground distance along the great circle [m].

    Returns
    -------
    ndarray, shape (...)
        Launch angle above the horizontal [rad].

    Raises
    ------
    DomainError
        If the radius is not positive, the distance is negative or exceeds half the circumference.

    References
    ----------
    .. [1] bate_1971, ch. 6 (from memory).

    Examples
    --------
    >>> print(f"{math.degrees(ballistic_hop_elevation(469.7e3, 100e3)):.2f}")
    41.95
    """
    require_positive(radius=radius)
    require_not_negative("m", distance=distance)
    _require_within_half_the_globe(distance, radius)
    return broadcast(ballistic_hop_elevation_kernel, radius, distance)


def ballistic_hop_time(
    gravitational_parameter: ArrayLike, radius: ArrayLike, distance: ArrayLike
) -> FloatArray:
    """Flight time of the cheapest ballistic hop.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    radius : array_like, shape (...)
        Mean radius of the body [m].
    distance : array_like, shape (...)
        Ground distance along the great circle [m].

    Returns
    -------
    ndarray, shape (...)
        Flight time [s].

    Raises
    ------
    DomainError
        If an argument is not positive (the distance may be zero), or the distance exceeds half
        the circumference.

    References
    ----------
    .. [1] vallado_2013, sec. 7.6 (minimum-energy case of Lambert's problem).

    Examples
    --------
    >>> print(f"{ballistic_hop_time(62.629e9, 469.7e3, 10e3):.0f}")  # Ceres, 10 km
    267
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m", distance=distance)
    _require_within_half_the_globe(distance, radius)
    return broadcast(ballistic_hop_time_kernel, gravitational_parameter, radius, distance)


def launch_delta_v(
    gravitational_parameter: ArrayLike, radius: ArrayLike, excess_speed: ArrayLike, loss_fraction: ArrayLike
) -> FloatArray:
    r"""Burn from the surface of an airless body to an excess speed, or the other way round.

    .. math:: \Delta v = (1 + f)\sqrt{v_\infty^2 + 2\mu/R}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    radius : array_like, shape (...)
        Mean radius of the body [m].
    excess_speed : array_like, shape (...)
        Speed wanted relative to the body, far away; zero for escape [m s-1].
    loss_fraction : array_like, shape (...)
        Extra velocity change for gravity and steering [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the launch burn, or of the landing burn [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter or radius is not positive, or another argument is negative.

    Notes
    -----
    Rotation of the body is left out: it helps or hinders by at most the equator speed.

    References
    ----------
    .. [1] vallado_2013, ch. 12 (patched conics).

    Examples
    --------
    >>> print(f"{launch_delta_v(0.39378e9, 99e3, 0.0, 0.10):.1f}")  # Themis
    98.1
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m/s", excess_speed=excess_speed)
    require_not_negative("1", loss_fraction=loss_fraction)
    return broadcast(launch_delta_v_kernel, gravitational_parameter, radius, excess_speed, loss_fraction)


def asteroid_rendezvous_delta_v(
    semi_major_axis: ArrayLike, eccentricity: ArrayLike, inclination: ArrayLike
) -> FloatArray:
    """Ranking figure of Shoemaker and Helin for near-Earth asteroids: dates play no part.

    Parameters
    ----------
    semi_major_axis : array_like, shape (...)
        Semi-major axis of the asteroid [m].
    eccentricity : array_like, shape (...)
        Eccentricity [1].
    inclination : array_like, shape (...)
        Inclination to the ecliptic [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change from low Earth orbit to rendezvous [m s-1].

    Raises
    ------
    DomainError
        If the semi-major axis is not positive, the aphelion lies beyond 2 au for an orbit inside
        that of the Earth, the eccentricity lies outside [0, 1), or the inclination outside [0,
        pi/2].

    Notes
    -----
    Meant to rank near-Earth asteroids; not real for inclinations above about 20 degrees or very
    eccentric orbits.

    References
    ----------
    .. [1] shoemaker_1978, pp. 245-256.

    Examples
    --------
    >>> axis, tilt = 1.1259265 * 149597870700, math.radians(6.03414)  # Bennu
    >>> print(f"{asteroid_rendezvous_delta_v(axis, 0.2036965, tilt):.0f}")
    5087
    """
    require_positive(semi_major_axis=semi_major_axis)
    eccentric = floats(eccentricity)
    require_each((eccentric >= 0) & (eccentric < 1), "eccentricity", "1", eccentric, "must lie in [0, 1) [1]")
    within("inclination", "rad", inclination, 0.0, 0.5 * math.pi)
    inside = floats(semi_major_axis) < AU
    not_above(
        "aphelion from the semi_major_axis", "m", np.where(inside, floats(semi_major_axis) * (1.0 + eccentric), AU),
        "double of the distance of the Earth,", 2.0 * AU,
    )  # fmt: skip
    return broadcast(asteroid_rendezvous_delta_v_kernel, semi_major_axis, eccentricity, inclination)
