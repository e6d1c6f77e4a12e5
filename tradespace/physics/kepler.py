"""Two-body motion: Kepler's equation, and where an osculating ellipse puts a body."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, floats, require_each

ROUNDS = 30
TOLERANCE = 1e-14


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
    spacing = table[1, 0] - table[0, 0] if rows > 1 else 1.0
    for index in range(dates.shape[0]):
        nearest = math.floor((dates[index] - table[0, 0]) / spacing + 0.5)
        row = int(min(max(nearest, 0.0), rows - 1.0))
        state = ellipse_state_kernel(gravitational_parameter, table, row, dates[index])
        for column in range(6):
            out[index, column] = state[column]


@kernel
def joined_track_kernel(
    gravitational_parameter: float, dates: FloatArray, table: FloatArray, out: FloatArray
) -> None:
    """Fill ``out`` (n, 6) with states from ellipses joined smoothly from each epoch to the next.

    Between two epochs the body runs on the ellipse of the first, plus the cubic in time that makes up what is
    missing, in place and speed, on reaching the second. Before the first epoch and after the last one the nearest
    ellipse serves alone. ``table`` as in :func:`track_kernel`.
    """
    rows = table.shape[0]
    spacing = table[1, 0] - table[0, 0] if rows > 1 else 1.0
    known = -1
    gap = np.zeros(6)
    for index in range(dates.shape[0]):
        date = dates[index]
        before = math.floor((date - table[0, 0]) / spacing)
        row = int(min(max(before, 0.0), rows - 1.0))
        state = ellipse_state_kernel(gravitational_parameter, table, row, date)
        for column in range(6):
            out[index, column] = state[column]
        if before < 0.0 or row >= rows - 1:
            continue
        if row != known:
            known = row
            end = table[row + 1, 0]
            wanted = ellipse_state_kernel(gravitational_parameter, table, row + 1, end)
            reached = ellipse_state_kernel(gravitational_parameter, table, row, end)
            for column in range(6):
                gap[column] = wanted[column] - reached[column]
        part = (date - table[row, 0]) / spacing
        place, speed = part * part * (3.0 - 2.0 * part), part * part * (part - 1.0) * spacing
        turn, slope = 6 * part * (1.0 - part) / spacing, part * (3.0 * part - 2.0)
        for column in range(3):
            out[index, column] += place * gap[column] + speed * gap[column + 3]
            out[index, column + 3] += turn * gap[column] + slope * gap[column + 3]


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
