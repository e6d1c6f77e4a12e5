"""Meeting a target: waiting for a phase, phasing orbits, and the two together with a plane change."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, floats, not_above, require_each, whole, within
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.physics.transfer.energy import circular_speed_kernel, orbital_speed_kernel
from tradespace.physics.transfer.shared import components, limit_at, require_positive

LEAST = 1e-9  # shares of a period below this stand for none


@kernel
def axis_of_period_kernel(gravitational_parameter: float, period: float) -> float:
    """Kepler's third law, turned round."""
    return math.pow(gravitational_parameter * (0.5 * period / math.pi) ** 2, 1.0 / 3.0)


@kernel
def safe_apsis_speed_kernel(gravitational_parameter: float, radius: float, semi_major_axis: float) -> float:
    """Vis-viva, zero where the place is not on the ellipse."""
    return math.sqrt(max(gravitational_parameter * (2.0 / radius - 1.0 / semi_major_axis), 0.0))


@kernel
def circular_phasing_kernel(
    gravitational_parameter: float, radius: float, angle: float, revolutions: float
) -> tuple[float, float]:
    """Both burns together, and the time, to move along a circular orbit."""
    period = orbital_period_kernel(gravitational_parameter, radius)
    other = period * (1.0 - angle / (2.0 * math.pi * max(revolutions, 1.0)))
    axis = axis_of_period_kernel(gravitational_parameter, max(other, LEAST * period))
    speed = safe_apsis_speed_kernel(gravitational_parameter, radius, axis)
    return 2.0 * abs(speed - circular_speed_kernel(gravitational_parameter, radius)), revolutions * other


@kernel
def gaining_time_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, angle: float
) -> float:
    """Time in which one of two bodies on circles gains an angle on the other; huge where both are alike."""
    first = orbital_period_kernel(gravitational_parameter, first_radius)
    second = orbital_period_kernel(gravitational_parameter, second_radius)
    return angle / (2.0 * math.pi) * first * second / max(abs(first - second), LEAST * first)


@kernel
def ellipse_phasing_kernel(
    gravitational_parameter: float,
    periapsis: float,
    apoapsis: float,
    true_anomaly: float,
    revolutions: float,
) -> tuple[float, float, float, float]:
    """Both burns together, period, axis and far apsis of the orbit that meets a target on the same ellipse."""
    axis = 0.5 * (periapsis + apoapsis)
    eccentricity = (apoapsis - periapsis) / (apoapsis + periapsis)
    root = math.sqrt(periapsis / apoapsis)
    anomaly = 2.0 * math.atan2(root * math.sin(0.5 * true_anomaly), math.cos(0.5 * true_anomaly))
    share = (anomaly - eccentricity * math.sin(anomaly)) / (2.0 * math.pi)
    period = orbital_period_kernel(gravitational_parameter, axis)
    other = period * max(1.0 - share / max(revolutions, 1.0), LEAST)
    phasing = axis_of_period_kernel(gravitational_parameter, other)
    before = orbital_speed_kernel(gravitational_parameter, periapsis, axis)
    during = safe_apsis_speed_kernel(gravitational_parameter, periapsis, phasing)
    return 2.0 * abs(during - before), other, phasing, 2.0 * phasing - periapsis


@kernel
def inclined_rendezvous_kernel(
    gravitational_parameter: float,
    first_radius: float,
    second_radius: float,
    plane_angle: float,
    node_angle: float,
    target_angle: float,
    revolutions: float,
    target_revolutions: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Wait for the node, phase there, go out and turn the plane on arrival at the target."""
    own = orbital_period_kernel(gravitational_parameter, first_radius)
    its = orbital_period_kernel(gravitational_parameter, second_radius)
    axis = 0.5 * (first_radius + second_radius)
    flight = 0.5 * orbital_period_kernel(gravitational_parameter, axis)
    wait = own * node_angle / (2.0 * math.pi)
    left = its * (target_angle / (2.0 * math.pi) + target_revolutions) - wait - flight
    period = max(left / max(revolutions, 1.0), LEAST * own)
    phasing = axis_of_period_kernel(gravitational_parameter, period)
    circle = circular_speed_kernel(gravitational_parameter, first_radius)
    during = safe_apsis_speed_kernel(gravitational_parameter, first_radius, phasing)
    leave = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    come = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    end = circular_speed_kernel(gravitational_parameter, second_radius)
    half = math.sin(0.5 * plane_angle)
    arrival = math.sqrt((come - end) ** 2 + 4.0 * come * end * half * half)
    return abs(during - circle), abs(leave - during), arrival, phasing, wait, max(left, 0.0), flight


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
        If the gravitational parameter or radius is not positive, the turns are not whole or less than one, or
        the angle is half a turn or more per turn.

    Notes
    -----
    Whether the other apsis of the phasing orbit stays above the surface is for the caller to check.

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
    turns = whole("revolutions", revolutions, 1)
    inside = np.abs(floats(angle)) < math.pi * turns
    size = limit_at(inside, math.pi * turns)
    require_each(
        inside,
        "angle",
        "rad",
        angle,
        f"must lie inside -{size} to {size} rad, half a turn for each revolution",
    )
    return components(circular_phasing_kernel, gravitational_parameter, radius, angle, revolutions, count=2)


def gaining_time(
    gravitational_parameter: ArrayLike, first_radius: ArrayLike, second_radius: ArrayLike, angle: ArrayLike
) -> FloatArray:
    r"""Time in which the faster of two bodies on circular orbits gains an angle on the slower.

    .. math:: t = \theta\,/\,|\omega_1 - \omega_2|

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of one circular orbit [m].
    second_radius : array_like, shape (...)
        Radius of the other [m].
    angle : array_like, shape (...)
        Angle to gain [rad].

    Returns
    -------
    ndarray, shape (...)
        Time that takes [s].

    Raises
    ------
    DomainError
        If a radius or the gravitational parameter is not positive, the angle is negative, or both radii are equal.

    Notes
    -----
    Before a Hohmann rendezvous the angle is the phase now minus the phase wanted, plus whole turns until it
    is positive, with the sense of the faster body.

    References
    ----------
    .. [1] vallado_2013, algorithm 44 and ex. 6-9.

    Examples
    --------
    >>> time = gaining_time(3.986004418e14, 12756.274e3, 42159.48e3, math.radians(465.391519))
    >>> print(f"{time / 60:.2f} min")
    370.61 min
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    at_least("angle", "rad", angle)
    require_each(
        floats(first_radius) != floats(second_radius), "first_radius", "m", first_radius,
        "must differ from the second_radius [m]",
    )  # fmt: skip
    return broadcast(gaining_time_kernel, gravitational_parameter, first_radius, second_radius, angle)


def ellipse_phasing(
    gravitational_parameter: ArrayLike,
    periapsis: ArrayLike,
    apoapsis: ArrayLike,
    true_anomaly: ArrayLike,
    revolutions: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Meet a target on the same ellipse by some turns on another one through the periapsis.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    periapsis : array_like, shape (...)
        Periapsis distance of the ellipse, where both burns are made [m].
    apoapsis : array_like, shape (...)
        Apoapsis distance of the ellipse [m].
    true_anomaly : array_like, shape (...)
        Where the target is when the chaser passes periapsis; negative when behind [rad].
    revolutions : array_like, shape (...)
        Turns of the phasing orbit [1].

    Returns
    -------
    burns : ndarray, shape (...)
        Velocity change of both burns together [m s-1].
    period : ndarray, shape (...)
        Period of the phasing orbit [s].
    semi_major_axis : ndarray, shape (...)
        Semi-major axis of the phasing orbit [m].
    far_apsis : ndarray, shape (...)
        Its other apsis [m].

    Raises
    ------
    DomainError
        If a length is not positive, the apoapsis is the smaller one, the turns are not whole or less than one, or
        the anomaly lies outside [-pi, pi].

    Notes
    -----
    Whether the far apsis stays above the surface is for the caller to check.

    References
    ----------
    .. [1] curtis_2014, sec. 6.5 and ex. 6.4.

    Examples
    --------
    >>> found = ellipse_phasing(398600e9, 6800e3, 13600e3, 0.5 * math.pi, 1)
    >>> print(f"{found[0]:.0f} m/s, {found[1]:.0f} s")
    497 m/s, 8756 s
    """
    require_positive(gravitational_parameter=gravitational_parameter, periapsis=periapsis, apoapsis=apoapsis)
    not_above("periapsis", "m", periapsis, "apoapsis", apoapsis)
    within("true_anomaly", "rad", true_anomaly, -math.pi, math.pi)
    whole("revolutions", revolutions, 1)
    return components(
        ellipse_phasing_kernel,
        gravitational_parameter,
        periapsis,
        apoapsis,
        true_anomaly,
        revolutions,
        count=4,
    )


def inclined_rendezvous(
    gravitational_parameter: ArrayLike,
    first_radius: ArrayLike,
    second_radius: ArrayLike,
    plane_angle: ArrayLike,
    node_angle: ArrayLike,
    target_angle: ArrayLike,
    revolutions: ArrayLike,
    target_revolutions: ArrayLike,
) -> tuple[FloatArray, ...]:
    """Meet a target on a larger or smaller circle in another plane, with a phasing orbit at the node.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    first_radius : array_like, shape (...)
        Radius of the circular orbit of the chaser [m].
    second_radius : array_like, shape (...)
        Radius of the circular orbit of the target [m].
    plane_angle : array_like, shape (...)
        Angle between both planes, turned on arrival [rad].
    node_angle : array_like, shape (...)
        Angle the chaser has to go to the node where it starts to phase [rad].
    target_angle : array_like, shape (...)
        Angle the target has to go, less than one turn, to the node where they meet [rad].
    revolutions : array_like, shape (...)
        Turns of the chaser on the phasing orbit [1].
    target_revolutions : array_like, shape (...)
        Full turns of the target besides [1].

    Returns
    -------
    phasing_burn : ndarray, shape (...)
        Velocity change onto the phasing orbit [m s-1].
    departure_burn : ndarray, shape (...)
        Velocity change from there onto the transfer [m s-1].
    arrival_burn : ndarray, shape (...)
        Velocity change on arrival, with the plane [m s-1].
    semi_major_axis : ndarray, shape (...)
        Semi-major axis of the phasing orbit [m].
    wait : ndarray, shape (...)
        Time to the node [s].
    phasing_time : ndarray, shape (...)
        Time on the phasing orbit [s].
    time_of_flight : ndarray, shape (...)
        Time of the transfer [s].

    Raises
    ------
    DomainError
        If a radius or the gravitational parameter is not positive, an angle lies outside its range, the turns are
        not whole or too few, or the target arrives before the chaser can.

    References
    ----------
    .. [1] vallado_2013, algorithm 45 and ex. 6-10 (initial places from memory).

    Examples
    --------
    >>> angles = np.radians([28.5, 165.0, 205.0])
    >>> found = inclined_rendezvous(3.986004418e14, 7143.51e3, 42159.4855e3, *angles, 1, 0)
    >>> print(" ".join(f"{burn:.1f}" for burn in found[:3]))
    2076.3 222.6 1802.4
    """
    require_positive(
        gravitational_parameter=gravitational_parameter,
        first_radius=first_radius,
        second_radius=second_radius,
    )
    within("plane_angle", "rad", plane_angle, 0.0, math.pi)
    within("node_angle", "rad", node_angle, 0.0, 2.0 * math.pi)
    within("target_angle", "rad", target_angle, 0.0, 2.0 * math.pi)
    whole("revolutions", revolutions, 1)
    whole("target_revolutions", target_revolutions)
    found = components(
        inclined_rendezvous_kernel, gravitational_parameter, first_radius, second_radius, plane_angle,
        node_angle, target_angle, revolutions, target_revolutions, count=7,
    )  # fmt: skip
    on_orbit = 2.0 * found[3] > floats(first_radius)
    require_each(
        on_orbit & (found[5] > 0.0), "target_revolutions", "1", target_revolutions,
        "leaves the chaser no time to phase; allow more turns of the target, or fewer of the chaser",
    )  # fmt: skip
    return found
