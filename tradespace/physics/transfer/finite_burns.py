"""Burns that take their time: escape spirals and gravity losses, from integrated tables.

Both tables are made by ``tradespace.data.make.spirals`` and count in units of the circular orbit at the start.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, floats, require_each
from tradespace.physics.transfer.energy import circular_speed_kernel
from tradespace.physics.transfer.shared import (
    components,
    limit_at,
    require_not_negative,
    require_positive,
)
from tradespace.tables import read_table

AXES = "burn_axes.csv"
SPIRAL, BURN = "escape_spiral.csv", "finite_burn.csv"
BEND = 0.1  # excess speeds below this, in circular speeds, are told apart evenly, above it by their ratio
LEAST = 1e-12


def _spiral_columns() -> FloatArray:
    names = ("acceleration", "spent_along", "radius", "path_angle", "spent_level")
    table = np.array([[float(row[name]) for name in names] for row in read_table(SPIRAL).rows])
    table[:, [0, 2]] = np.log(table[:, [0, 2]])
    return table


def _loss_grid() -> FloatArray:
    """Logarithm of the loss over its short-burn scale: nearly flat, so a cubic follows it."""
    speeds = np.array(series("burn_excess_speed", AXES))
    rows = read_table(BURN).rows
    lost = np.array([[float(row[f"loss_{place}"]) for place in range(speeds.size)] for row in rows])
    acceleration = np.array([float(row["acceleration"]) for row in rows])
    ideal = np.sqrt(speeds**2 + 2.0) - 1.0
    grid = np.log(lost * acceleration[:, None] ** 2 / ideal**3)
    masses = len(series("burn_mass_logarithm", AXES))
    return np.ascontiguousarray(grid.reshape(-1, masses, speeds.size))


SPIRALS = _spiral_columns()
LOSSES = _loss_grid()
ACCELERATIONS = math.log(10.0) * np.array(series("burn_acceleration_decade", AXES))
MASSES = np.array(series("burn_mass_logarithm", AXES))
EXCESSES = np.log1p(np.array(series("burn_excess_speed", AXES)) / BEND)
LOWEST, HIGHEST = math.exp(ACCELERATIONS[0]), math.exp(ACCELERATIONS[-1])
SLOWEST = math.exp(SPIRALS[0, 0])


@kernel
def _cubic_kernel(nodes: FloatArray, place: float) -> tuple[int, float, float, float, float]:
    """First of the four nodes around a place, and the weight of each."""
    low, high = 0, nodes.size - 1
    while high - low > 1:
        middle = (low + high) // 2
        if nodes[middle] <= place:
            low = middle
        else:
            high = middle
    first = min(max(low - 1, 0), nodes.size - 4)
    a, b, c, d = nodes[first], nodes[first + 1], nodes[first + 2], nodes[first + 3]
    p, q, r, s = place - a, place - b, place - c, place - d
    return (
        first,
        q * r * s / ((a - b) * (a - c) * (a - d)),
        p * r * s / ((b - a) * (b - c) * (b - d)),
        p * q * s / ((c - a) * (c - b) * (c - d)),
        p * q * r / ((d - a) * (d - b) * (d - c)),
    )


@kernel
def escape_spiral_kernel(acceleration_ratio: float) -> tuple[float, float, float, float]:
    """Speed spent to escape, escape radius and path angle, thrust along the velocity; speed spent, thrust level.

    In units of the circular orbit. Below the table the distance to the limit of slow spirals shrinks with the
    fourth root of the acceleration; above it the burn is impulsive.
    """
    log = math.log(max(acceleration_ratio, LEAST))
    place = min(max(log, SPIRALS[0, 0]), SPIRALS[-1, 0])
    first, a, b, c, d = _cubic_kernel(SPIRALS[:, 0], place)
    along = radius = angle = level = 0.0
    for offset, weight in ((0, a), (1, b), (2, c), (3, d)):
        along += weight * SPIRALS[first + offset, 1]
        radius += weight * SPIRALS[first + offset, 2]
        angle += weight * SPIRALS[first + offset, 3]
        level += weight * SPIRALS[first + offset, 4]
    slower = math.exp(0.25 * min(log - place, 0.0))
    return (
        1.0 - (1.0 - along) * slower,
        math.exp(radius) / (slower * slower),
        angle,
        1.0 - (1.0 - level) * slower,
    )


@kernel
def burn_loss_ratio_kernel(acceleration_ratio: float, speed_ratio: float, excess_ratio: float) -> float:
    """Gravity loss of a burn out of a circular orbit, in circular speeds.

    ``speed_ratio`` is the circular speed over the exhaust velocity, ``excess_ratio`` the excess speed over the
    circular speed; both are held at the ends of the table. Above the table the loss falls with the square of the
    acceleration, below it stays.
    """
    log = math.log(max(acceleration_ratio, LEAST))
    held = min(max(log, ACCELERATIONS[0]), ACCELERATIONS[-1])
    excess = min(math.log1p(max(excess_ratio, 0.0) / BEND), EXCESSES[-1])
    one, a0, a1, a2, a3 = _cubic_kernel(ACCELERATIONS, held)
    speed = BEND * math.expm1(excess)
    ideal = math.sqrt(speed * speed + 2.0) - 1.0
    two, b0, b1, b2, b3 = _cubic_kernel(MASSES, min(max(speed_ratio * ideal, 0.0), MASSES[-1]))
    three, c0, c1, c2, c3 = _cubic_kernel(EXCESSES, excess)
    total = 0.0
    for i, along in ((0, a0), (1, a1), (2, a2), (3, a3)):
        for j, across in ((0, b0), (1, b1), (2, b2), (3, b3)):
            row = LOSSES[one + i, two + j]
            inner = c0 * row[three] + c1 * row[three + 1] + c2 * row[three + 2] + c3 * row[three + 3]
            total += along * across * inner
    return ideal * ideal * ideal * math.exp(total - 2.0 * max(log, ACCELERATIONS[0]))


@kernel
def finite_burn_loss_kernel(
    gravitational_parameter: float,
    radius: float,
    excess_speed: float,
    acceleration: float,
    exhaust_velocity: float,
) -> float:
    """Gravity loss of one burn along the velocity from a circular orbit to an excess speed."""
    speed = circular_speed_kernel(gravitational_parameter, radius)
    local = gravitational_parameter / (radius * radius)
    return speed * burn_loss_ratio_kernel(
        acceleration / local, speed / exhaust_velocity, excess_speed / speed
    )


@kernel
def robbins_loss_kernel(
    gravitational_parameter: float, radius: float, burn_time: float, delta_v: float
) -> float:
    """Bound on the loss of a short burn."""
    return gravitational_parameter / radius**3 * burn_time * burn_time * delta_v / 24


def escape_spiral(
    gravitational_parameter: ArrayLike, radius: ArrayLike, acceleration: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Escape from a circular orbit under a small constant acceleration along the velocity.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    acceleration : array_like, shape (...)
        Thrust over mass, kept constant [m s-2].

    Returns
    -------
    delta_v : ndarray, shape (...)
        Velocity change until the energy is that of escape [m s-1].
    escape_radius : ndarray, shape (...)
        Distance from the centre at that moment [m].
    path_angle : ndarray, shape (...)
        Angle of the velocity above the local horizontal then [rad].

    Raises
    ------
    DomainError
        If an argument is not positive.

    Notes
    -----
    Integrated for accelerations from a millionth to ten times local gravity; slower spirals follow the limit law,
    faster ones are impulsive. The angle of slow spirals tends to 39.2 degrees.

    References
    ----------
    .. [1] tsien_1953 (the problem, thrust level or radial); the table is our own integration.

    Examples
    --------
    >>> mass, radius = 3.986004418e14, 6778.137e3
    >>> spent = escape_spiral(mass, radius, 1e-3 * mass / radius**2)[0]
    >>> print(f"{spent / math.sqrt(mass / radius):.4f} circular speeds")
    0.8563 circular speeds
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_each(floats(acceleration) > 0.0, "acceleration", "m/s2", acceleration, "must be positive [m/s2]")
    mass, distance = floats(gravitational_parameter), floats(radius)
    along, far, angle, _ = components(
        escape_spiral_kernel, floats(acceleration) * distance**2 / mass, count=4
    )
    return along * np.sqrt(mass / distance), far * distance, angle


def level_escape_spiral(
    gravitational_parameter: ArrayLike, radius: ArrayLike, acceleration: ArrayLike
) -> FloatArray:
    """Velocity change to escape from a circular orbit, thrust along the local horizontal.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit [m].
    acceleration : array_like, shape (...)
        Thrust over mass, kept constant [m s-2].

    Returns
    -------
    ndarray, shape (...)
        Velocity change until the energy is that of escape [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive.

    References
    ----------
    .. [1] tsien_1953; the table is our own integration.

    Examples
    --------
    >>> spent = level_escape_spiral(1.0, 1.0, [0.5, 1.0 / 3000.0])
    >>> print(f"{spent[1] / spent[0]:.2f}")
    2.12
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_each(floats(acceleration) > 0.0, "acceleration", "m/s2", acceleration, "must be positive [m/s2]")
    mass, distance = floats(gravitational_parameter), floats(radius)
    level = components(escape_spiral_kernel, floats(acceleration) * distance**2 / mass, count=4)[3]
    return np.asarray(level * np.sqrt(mass / distance))


def finite_burn_loss(
    gravitational_parameter: ArrayLike,
    radius: ArrayLike,
    excess_speed: ArrayLike,
    acceleration: ArrayLike,
    exhaust_velocity: ArrayLike,
) -> FloatArray:
    """Gravity loss of one burn along the velocity from a circular orbit to an excess speed.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Radius of the circular orbit where the burn begins [m].
    excess_speed : array_like, shape (...)
        Speed wanted far away; zero for escape [m s-1].
    acceleration : array_like, shape (...)
        Thrust over mass at the start of the burn [m s-2].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change above that of an impulsive burn at the same place [m s-1].

    Raises
    ------
    DomainError
        If an argument is not positive (the excess speed may be zero), the acceleration is below the table (1e-5
        of local gravity), the exhaust velocity too low for the mass ratio (beyond 90), or the excess speed above 90
        circular speeds.

    Notes
    -----
    One uninterrupted burn, steered along the velocity, started at the place of the impulsive burn; a burn centred
    on it, or split over several turns, loses less. For an arrival use the acceleration at the start as well:
    the mass then falls towards the periapsis, and the loss is 0.4 to 1.1 times this one; it is larger where a
    thrust below a tenth of local gravity brakes from little more than escape. Interpolated to about 1 % of the
    loss.

    References
    ----------
    .. [1] tsien_1953 (the problem); robbins_1966 (the bound for short burns); the table is our own integration.

    Examples
    --------
    >>> mass, radius = 3.986004418e14, 6778.137e3  # 400 km, a fifth of sea-level gravity, 450 s
    >>> print(f"{finite_burn_loss(mass, radius, 0.0, 0.2 * 9.80665, 450 * 9.80665):.0f}")
    113
    """
    require_positive(
        gravitational_parameter=gravitational_parameter, radius=radius, exhaust_velocity=exhaust_velocity
    )
    require_not_negative("m/s", excess_speed=excess_speed)
    mass, distance = floats(gravitational_parameter), floats(radius)
    speed, local = np.sqrt(mass / distance), mass / distance**2
    ideal = np.sqrt(floats(excess_speed) ** 2 + 2.0 * speed**2) - speed
    at_least("acceleration", "m/s2", acceleration, 0.0)
    slowest, fastest = LOWEST * local * (1.0 - LEAST), speed * BEND * math.expm1(EXCESSES[-1]) * (1.0 + LEAST)
    for name, unit, given, allowed, limits, limit in (
        ("acceleration", "m/s2", acceleration, floats(acceleration) >= slowest, slowest,
         f"must be at least {{}} m/s2, {LOWEST:g} of local gravity; take escape_spiral for slower burns"),
        ("exhaust_velocity", "m/s", exhaust_velocity, floats(exhaust_velocity) * MASSES[-1] >= ideal,
         ideal / MASSES[-1], f"must be at least {{}} m/s, the speed of the impulsive burn over {MASSES[-1]:g}"),
        ("excess_speed", "m/s", excess_speed, floats(excess_speed) <= fastest, fastest,
         f"must not exceed {{}} m/s, {BEND * math.expm1(EXCESSES[-1]):.0f} circular speeds"),
    ):  # fmt: skip
        require_each(allowed, name, unit, given, limit.format(limit_at(allowed, limits)))
    return broadcast(
        finite_burn_loss_kernel, gravitational_parameter, radius, excess_speed, acceleration, exhaust_velocity
    )


def robbins_loss(
    gravitational_parameter: ArrayLike, radius: ArrayLike, burn_time: ArrayLike, delta_v: ArrayLike
) -> FloatArray:
    r"""Bound on the gravity loss of a short burn.

    .. math:: \Delta v_\mathrm{loss} \le \frac{1}{24}\,\frac{\mu}{r^3}\,t_b^2\,\Delta v

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the central body [m3 s-2].
    radius : array_like, shape (...)
        Distance of the burn from the centre [m].
    burn_time : array_like, shape (...)
        Length of the burn [s].
    delta_v : array_like, shape (...)
        Velocity change of the impulsive burn [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Upper bound on the loss [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter or radius is not positive, or another argument is negative.

    Notes
    -----
    About twice the true loss for thrusts above 0.3 of local gravity, useless below 0.2.

    References
    ----------
    .. [1] robbins_1966 (from memory).

    Examples
    --------
    >>> print(f"{robbins_loss(3.986004418e14, 6778.137e3, 300.0, 3176.0):.1f}")
    15.2
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    at_least("burn_time", "s", burn_time)
    at_least("delta_v", "m/s", delta_v)
    return broadcast(robbins_loss_kernel, gravitational_parameter, radius, burn_time, delta_v)
