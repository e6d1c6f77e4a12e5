"""Ends of a flight between planets: out of an orbit about one, into an orbit about one, or at its moon."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, floats, require_each
from tradespace.physics.transfer.energy import circular_speed_kernel, parking_orbit_burn_kernel
from tradespace.physics.transfer.finite_burns import LOWEST, burn_loss_ratio_kernel
from tradespace.physics.transfer.shared import require_not_negative, require_positive

LEAST = 1e-9  # radii and gravitational parameters below this are held there


@kernel
def orbit_end_kernel(
    gravitational_parameter: float,
    radius: float,
    excess_speed: float,
    acceleration: float,
    exhaust_velocity: float,
) -> float:
    """From a circular orbit to an excess speed in one burn of any length, from an impulse to a slow spiral.

    Below the integrated table the distance to the limit of slow spirals, circular speed plus excess speed,
    shrinks with the fourth root of the acceleration.
    """
    mass, distance = max(gravitational_parameter, LEAST), max(radius, LEAST)
    excess, exhaust = abs(excess_speed), max(exhaust_velocity, LEAST)
    speed = circular_speed_kernel(mass, distance)
    thrust = max(acceleration, 0.0) * distance * distance / mass
    ideal = parking_orbit_burn_kernel(mass, distance, excess)
    lost = speed * burn_loss_ratio_kernel(max(thrust, LOWEST), speed / exhaust, excess / speed)
    room = max(speed + excess - ideal, 0.0)
    slower = math.sqrt(math.sqrt(min(thrust / LOWEST, 1.0)))
    return ideal + room - (room - min(lost, room)) * slower


@kernel
def orbit_capture_kernel(
    gravitational_parameter: float, radius: float, excess_speed: float, acceleration: float
) -> float:
    """From an excess speed into a circular orbit; acceleration at the start of the burn, held all through."""
    return orbit_end_kernel(gravitational_parameter, radius, excess_speed, acceleration, math.inf)


@kernel
def moon_end_kernel(gravitational_parameter: float, orbit_radius: float, excess_speed: float) -> float:
    """Speed relative to a moon on a circular orbit, of a hyperbola about its planet that touches that orbit."""
    mass, distance = max(gravitational_parameter, 0.0), max(orbit_radius, LEAST)
    return parking_orbit_burn_kernel(mass, distance, excess_speed)


def _check(
    gravitational_parameter: ArrayLike, radius: ArrayLike, excess_speed: ArrayLike, acceleration: ArrayLike
) -> None:
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m/s", excess_speed=excess_speed)
    above("acceleration", "m/s2", acceleration)


def orbit_end(
    gravitational_parameter: ArrayLike,
    radius: ArrayLike,
    excess_speed: ArrayLike,
    acceleration: ArrayLike,
    exhaust_velocity: ArrayLike,
) -> FloatArray:
    """Velocity change from a circular orbit to an excess speed in one burn of any length.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body that is left [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    excess_speed : array_like, shape (...)
        Speed wanted far away; zero for escape [m s-1].
    acceleration : array_like, shape (...)
        Thrust over mass at the start of the burn [m s-2].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity; infinity for a constant acceleration [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change with its gravity loss [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the excess speed may be zero).

    Notes
    -----
    Impulse plus the loss of :func:`finite_burn_loss`; below 1e-5 of local gravity the cost goes on towards that
    of a slow spiral, circular speed plus excess speed, by the law of :func:`escape_spiral`. Thrust along the
    velocity, without a pause. A craft that splits the burn over several turns spends less and takes longer.

    References
    ----------
    .. [1] tsien_1953 (the problem); the table is our own integration.

    Examples
    --------
    >>> for push in (1e-7, 1e-3, 1.0, 1000.0):  # from 400 km to 3 km/s
    ...     print(f"{orbit_end(3.986004418e14, 6778.137e3, 3000.0, push, 4400.0):.0f}")
    10460
    8678
    4071
    3584
    """
    _check(gravitational_parameter, radius, excess_speed, acceleration)
    given = floats(exhaust_velocity)
    require_each(given > 0.0, "exhaust_velocity", "m/s", given, "must be positive [m/s]")
    return broadcast(
        orbit_end_kernel, gravitational_parameter, radius, excess_speed, acceleration, exhaust_velocity
    )


def orbit_capture(
    gravitational_parameter: ArrayLike, radius: ArrayLike, excess_speed: ArrayLike, acceleration: ArrayLike
) -> FloatArray:
    """Velocity change from an excess speed into a circular orbit in one burn of any length.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body that is reached [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    excess_speed : array_like, shape (...)
        Speed far away [m s-1].
    acceleration : array_like, shape (...)
        Thrust over mass at the start of the burn, where the craft is heaviest [m s-2].

    Returns
    -------
    ndarray, shape (...)
        Velocity change with its gravity loss [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the excess speed may be zero).

    Notes
    -----
    A departure run backwards. The mass falls on the way in, which helps most near the end, where the pull is
    strongest; the acceleration is held at its start here, so this is an upper bound.

    References
    ----------
    .. [1] tsien_1953 (the problem); the table is our own integration.

    Examples
    --------
    >>> print(f"{orbit_capture(4.282837e13, 3796.19e3, 2565.0, 100.0):.0f}")  # 400 km over Mars
    2040
    """
    _check(gravitational_parameter, radius, excess_speed, acceleration)
    return broadcast(orbit_capture_kernel, gravitational_parameter, radius, excess_speed, acceleration)


def moon_end(
    gravitational_parameter: ArrayLike, orbit_radius: ArrayLike, excess_speed: ArrayLike
) -> FloatArray:
    r"""Excess speed relative to a moon of a craft that has one relative to the planet.

    .. math:: v = \sqrt{v_\infty^2 + 2\mu/a} - \sqrt{\mu/a}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the planet [m3 s-2].
    orbit_radius : array_like, shape (...)
        Radius of the moon's circular orbit [m].
    excess_speed : array_like, shape (...)
        Speed far from the planet [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Speed at the moon's distance relative to it, its own pull left out [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the excess speed may be zero).

    Notes
    -----
    The least there is: the hyperbola has its periapsis on the moon's orbit, lies in the plane of that and runs the
    same way. It is what is left for a landing, or to be reached by a launch, on the moon itself.

    References
    ----------
    .. [1] closed form: vis-viva less the circular speed; curtis_2014, sec. 8.6 for the parking orbit.

    Examples
    --------
    >>> print(f"{moon_end(4.282837e13, 9376e3, 2565.0):.0f}")  # Phobos
    1827
    """
    require_positive(gravitational_parameter=gravitational_parameter, orbit_radius=orbit_radius)
    require_not_negative("m/s", excess_speed=excess_speed)
    return broadcast(moon_end_kernel, gravitational_parameter, orbit_radius, excess_speed)
