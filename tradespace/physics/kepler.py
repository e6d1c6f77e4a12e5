"""Two-body motion: Kepler's equation, and where an osculating ellipse puts a body."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, floats, require_each

ROUNDS = 30
TOLERANCE = 1e-14
QUICKEST_PASSAGE = 20
"""A passage of perihelion shorter than the span of two ellipses by this factor is too quick to blend them."""


@kernel
def eccentric_anomaly_kernel(mean_anomaly: float, eccentricity: float) -> float:
    """Newton's root of Kepler's equation, from a start that cannot overshoot."""
    turn = 2.0 * math.pi * math.floor(mean_anomaly / (2.0 * math.pi) + 0.5)
    mean = mean_anomaly - turn
    anomaly = mean + 0.85 * eccentricity * (1.0 if mean >= 0.0 else -1.0)
    for _ in range(ROUNDS):
        slope = 1.0 - eccentricity * math.cos(anomaly)
        curve = eccentricity * math.sin(anomaly)
        miss = anomaly - curve - mean
        step = miss / slope
        step = miss / (slope - 0.5 * step * curve)
        anomaly -= step
        if abs(step) < TOLERANCE:
            break
    return anomaly + turn


@kernel
def state_from_elements_kernel(
    gravitational_parameter: float,
    semi_major_axis: float,
    eccentricity: float,
    inclination: float,
    ascending_node: float,
    argument_of_periapsis: float,
    mean_anomaly: float,
) -> tuple[float, float, float, float, float, float]:
    """Position and velocity on an ellipse, in the frame of its angles."""
    anomaly = eccentric_anomaly_kernel(mean_anomaly, eccentricity)
    cosine, sine = math.cos(anomaly), math.sin(anomaly)
    root = math.sqrt(1.0 - eccentricity * eccentricity)
    x = semi_major_axis * (cosine - eccentricity)
    y = semi_major_axis * root * sine
    rate = math.sqrt(gravitational_parameter / semi_major_axis) / (1.0 - eccentricity * cosine)
    u, v = -rate * sine, rate * root * cosine
    cn, sn = math.cos(ascending_node), math.sin(ascending_node)
    cp, sp = math.cos(argument_of_periapsis), math.sin(argument_of_periapsis)
    ci, si = math.cos(inclination), math.sin(inclination)
    px, py, pz = cn * cp - sn * sp * ci, sn * cp + cn * sp * ci, sp * si
    qx, qy, qz = -cn * sp - sn * cp * ci, -sn * sp + cn * cp * ci, cp * si
    return (
        x * px + y * qx,
        x * py + y * qy,
        x * pz + y * qz,
        u * px + v * qx,
        u * py + v * qy,
        u * pz + v * qz,
    )


@kernel
def ellipse_state_kernel(
    gravitational_parameter: float, table: FloatArray, row: int, date: float
) -> tuple[float, float, float, float, float, float]:
    """State on a date from one row of a table of ellipses."""
    axis = table[row, 1]
    motion = math.sqrt(gravitational_parameter / axis) / axis
    mean = table[row, 6] + motion * (date - table[row, 0])
    return state_from_elements_kernel(
        gravitational_parameter, axis, table[row, 2], table[row, 3], table[row, 4], table[row, 5], mean
    )


@kernel
def track_kernel(
    gravitational_parameter: float, dates: FloatArray, table: FloatArray, out: FloatArray
) -> None:
    """Fill ``out`` (n, 6) with states from the row of ``table`` whose epoch lies nearest to each date.

    ``table`` has the columns epoch, semi-major axis, eccentricity, inclination, node, argument of periapsis
    and mean anomaly, epochs evenly spaced and ascending.
    """
    rows = table.shape[0]
    spacing = max(table[1, 0] - table[0, 0], 1.0) if rows > 1 else 1.0
    for index in range(dates.shape[0]):
        nearest = math.floor((dates[index] - table[0, 0]) / spacing + 0.5)
        row = int(min(max(nearest, 0.0), rows - 1.0))
        state = ellipse_state_kernel(gravitational_parameter, table, row, dates[index])
        for column in range(6):
            out[index, column] = state[column]


@kernel
def joined_state_kernel(
    gravitational_parameter: float, table: FloatArray, row: int, date: float, out: FloatArray
) -> None:
    r"""Fill ``out`` (6) with the state on a date between the epochs of two neighbouring ellipses.

    With :math:`u` the way from the first ellipse to the second on that date and :math:`x` the part of the span
    :math:`T` gone by, the body is away from the first ellipse by
    :math:`(3x^2 - 2x^3) u + 2 x^2 (1-x)^2 T \dot u`: nothing at the first epoch, all of it at the second, smooth
    through both, and exact under a steady push. A body that rushes past the Sun within a small part of the span
    gets the plain cubic that joins both ends instead.
    """
    span = max(table[row + 1, 0] - table[row, 0], 1.0)
    part = (date - table[row, 0]) / span
    rest = 1.0 - part
    share, share_rate = part * part * (1.0 + 2.0 * rest), 6 * part * rest / span
    first = ellipse_state_kernel(gravitational_parameter, table, row, date)
    perihelion = table[row, 1] * (1.0 - table[row, 2])
    if perihelion * math.sqrt(perihelion / gravitational_parameter) < span / QUICKEST_PASSAGE:
        wanted = ellipse_state_kernel(gravitational_parameter, table, row + 1, table[row + 1, 0])
        reached = ellipse_state_kernel(gravitational_parameter, table, row, table[row + 1, 0])
        late, late_rate = -part * part * rest * span, part * (part - 2.0 * rest)
        for column in range(3):
            gap, speed = wanted[column] - reached[column], wanted[column + 3] - reached[column + 3]
            out[column] = first[column] + share * gap + late * speed
            out[column + 3] = first[column + 3] + share_rate * gap + late_rate * speed
        return
    second = ellipse_state_kernel(gravitational_parameter, table, row + 1, date)
    push, push_rate = 2.0 * (part * rest) ** 2 * span, 4.0 * part * rest * (rest - part)
    here = math.sqrt(first[0] ** 2 + first[1] ** 2 + first[2] ** 2) ** 3
    there = math.sqrt(second[0] ** 2 + second[1] ** 2 + second[2] ** 2) ** 3
    for column in range(3):
        gap, speed = second[column] - first[column], second[column + 3] - first[column + 3]
        pull = gravitational_parameter * (first[column] / here - second[column] / there)
        out[column] = first[column] + share * gap + push * speed
        out[column + 3] = first[column + 3] + share_rate * gap + (share + push_rate) * speed + push * pull


@kernel
def joined_track_kernel(
    gravitational_parameter: float, dates: FloatArray, table: FloatArray, out: FloatArray
) -> None:
    """Fill ``out`` (n, 6) with states from ellipses joined smoothly from each epoch to the next.

    Before the first epoch and after the last one the nearest ellipse serves alone. ``table`` as in
    :func:`track_kernel`.
    """
    rows = table.shape[0]
    spacing = max(table[1, 0] - table[0, 0], 1.0) if rows > 1 else 1.0
    for index in range(dates.shape[0]):
        before = math.floor((dates[index] - table[0, 0]) / spacing)
        row = int(min(max(before, 0.0), rows - 1.0))
        if before >= 0.0 and row < rows - 1:
            joined_state_kernel(gravitational_parameter, table, row, dates[index], out[index])
            continue
        state = ellipse_state_kernel(gravitational_parameter, table, row, dates[index])
        for column in range(6):
            out[index, column] = state[column]


@kernel
def orbital_period_kernel(gravitational_parameter: float, semi_major_axis: float) -> float:
    """Kepler's third law."""
    return 2.0 * math.pi * semi_major_axis * math.sqrt(semi_major_axis / gravitational_parameter)


def eccentric_anomaly(mean_anomaly: ArrayLike, eccentricity: ArrayLike) -> FloatArray:
    r"""Eccentric anomaly of an ellipse: the root of Kepler's equation.

    .. math:: M = E - e \sin E

    Parameters
    ----------
    mean_anomaly : array_like, shape (...)
        Mean anomaly, any number of turns [rad].
    eccentricity : array_like, shape (...)
        Eccentricity of the ellipse [1].

    Returns
    -------
    ndarray, shape (...)
        Eccentric anomaly, in the same turn [rad].

    Raises
    ------
    DomainError
        If any eccentricity lies outside [0, 1), or a mean anomaly is not finite.

    References
    ----------
    .. [1] vallado_2013, ch. 2 (from memory).

    Examples
    --------
    >>> print(f"{eccentric_anomaly(1.0, 0.1):.6f}")
    1.088598
    """
    _require_ellipse(eccentricity)
    _require_finite_angle("mean_anomaly", mean_anomaly)
    return broadcast(eccentric_anomaly_kernel, mean_anomaly, eccentricity)


def orbital_period(gravitational_parameter: ArrayLike, semi_major_axis: ArrayLike) -> FloatArray:
    r"""Period of an elliptic orbit.

    .. math:: T = 2\pi \sqrt{a^3/\mu}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    semi_major_axis : array_like, shape (...)
        Semi-major axis of the orbit [m].

    Returns
    -------
    ndarray, shape (...)
        Orbital period [s].

    Raises
    ------
    DomainError
        If any argument is not positive.

    References
    ----------
    .. [1] vallado_2013, ch. 1, third law of Kepler (from memory).

    Examples
    --------
    >>> print(f"{orbital_period(3.986004418e14, 42164.17e3) / 3600:.3f}")  # hours
    23.934
    """
    above("gravitational_parameter", "m3/s2", gravitational_parameter)
    above("semi_major_axis", "m", semi_major_axis)
    return broadcast(orbital_period_kernel, gravitational_parameter, semi_major_axis)


def state_from_elements(
    gravitational_parameter: float,
    semi_major_axis: float,
    eccentricity: float,
    inclination: float,
    ascending_node: float,
    argument_of_periapsis: float,
    mean_anomaly: float,
) -> tuple[FloatArray, FloatArray]:
    """Position and velocity of a body on an osculating ellipse.

    Parameters
    ----------
    gravitational_parameter : float
        Gravitational parameter of the central body [m3 s-2].
    semi_major_axis : float
        Semi-major axis [m].
    eccentricity : float
        Eccentricity [1].
    inclination : float
        Inclination to the reference plane [rad].
    ascending_node : float
        Longitude of the ascending node [rad].
    argument_of_periapsis : float
        Angle from node to periapsis [rad].
    mean_anomaly : float
        Mean anomaly on the date wanted [rad].

    Returns
    -------
    position : ndarray, shape (3,)
        Position in the frame of the angles [m].
    velocity : ndarray, shape (3,)
        Velocity in the same frame [m s-1].

    Raises
    ------
    DomainError
        If the eccentricity lies outside [0, 1), the gravitational parameter or axis is not positive, or an
        angle is not finite.

    References
    ----------
    .. [1] vallado_2013, algorithm 10 (orbital elements to position and velocity).

    Examples
    --------
    >>> position, velocity = state_from_elements(1.0, 1.0, 0.5, 0.0, 0.0, 0.0, 0.0)
    >>> print(f"{position[0]:.3f} {velocity[1]:.6f}")
    0.500 1.732051
    """
    _require_ellipse(eccentricity)
    above("gravitational_parameter", "m3/s2", gravitational_parameter)
    above("semi_major_axis", "m", semi_major_axis)
    angles = {"inclination": inclination, "ascending_node": ascending_node, "mean_anomaly": mean_anomaly}
    for name, angle in {**angles, "argument_of_periapsis": argument_of_periapsis}.items():
        _require_finite_angle(name, angle)
    state = state_from_elements_kernel(
        float(gravitational_parameter),
        float(semi_major_axis),
        float(eccentricity),
        float(inclination),
        float(ascending_node),
        float(argument_of_periapsis),
        float(mean_anomaly),
    )
    return np.array(state[:3]), np.array(state[3:])


def _require_ellipse(eccentricity: ArrayLike) -> None:
    values = floats(eccentricity)
    require_each(
        (values >= 0) & (values < 1), "eccentricity", "1", values,
        "must lie in [0, 1) [1]: only ellipses are handled",
    )  # fmt: skip


def _require_finite_angle(name: str, angle: ArrayLike) -> None:
    require_each(np.isfinite(floats(angle)), name, "rad", angle, "must be finite [rad]")
