"""Scalar formulas of manoeuvres between circular orbits; the checks are in :mod:`manoeuvres`."""

from __future__ import annotations

import math

from tradespace.physics.compiled import kernel
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.physics.transfer.energy import circular_speed_kernel, orbital_speed_kernel

ROUNDS = 30
TOLERANCE = 1e-13


@kernel
def hohmann_transfer_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float
) -> tuple[float, float, float]:
    """Both burns and the flight time between circular coplanar orbits."""
    axis = 0.5 * (first_radius + second_radius)
    first = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    second = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    return (
        abs(first - circular_speed_kernel(gravitational_parameter, first_radius)),
        abs(second - circular_speed_kernel(gravitational_parameter, second_radius)),
        0.5 * orbital_period_kernel(gravitational_parameter, axis),
    )


@kernel
def hohmann_delta_v_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float
) -> float:
    """Both burns together."""
    first, second, _ = hohmann_transfer_kernel(gravitational_parameter, first_radius, second_radius)
    return first + second


@kernel
def hohmann_phase_angle_kernel(first_radius: float, second_radius: float) -> float:
    """Lead of the target at departure."""
    return math.pi * (1.0 - math.pow(0.5 * (first_radius / second_radius + 1.0), 1.5))


@kernel
def bielliptic_transfer_kernel(
    gravitational_parameter: float, first_radius: float, far_radius: float, second_radius: float
) -> tuple[float, float, float, float]:
    """Three burns and the flight time by way of a far apoapsis."""
    out, back = 0.5 * (first_radius + far_radius), 0.5 * (far_radius + second_radius)
    start = orbital_speed_kernel(gravitational_parameter, first_radius, out)
    middle = orbital_speed_kernel(gravitational_parameter, far_radius, out)
    turn = orbital_speed_kernel(gravitational_parameter, far_radius, back)
    end = orbital_speed_kernel(gravitational_parameter, second_radius, back)
    periods = orbital_period_kernel(gravitational_parameter, out) + orbital_period_kernel(
        gravitational_parameter, back
    )
    return (
        abs(start - circular_speed_kernel(gravitational_parameter, first_radius)),
        abs(turn - middle),
        abs(circular_speed_kernel(gravitational_parameter, second_radius) - end),
        0.5 * periods,
    )


@kernel
def one_tangent_transfer_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, true_anomaly: float
) -> tuple[float, float, float, float, float]:
    """Tangential burn at periapsis, then a second burn where the ellipse cuts the outer orbit."""
    ratio, cosine = first_radius / second_radius, math.cos(true_anomaly)
    eccentricity = (ratio - 1.0) / (cosine - ratio)
    axis = first_radius / (1.0 - eccentricity)
    first = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    second = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    circular = circular_speed_kernel(gravitational_parameter, second_radius)
    climb = math.atan2(eccentricity * math.sin(true_anomaly), 1.0 + eccentricity * cosine)
    turn = math.sqrt(second * second + circular * circular - 2.0 * second * circular * math.cos(climb))
    root = math.sqrt((1.0 - eccentricity) / (1.0 + eccentricity))
    anomaly = 2.0 * math.atan2(root * math.sin(0.5 * true_anomaly), math.cos(0.5 * true_anomaly))
    time = (anomaly - eccentricity * math.sin(anomaly)) * axis * math.sqrt(axis / gravitational_parameter)
    start = abs(first - circular_speed_kernel(gravitational_parameter, first_radius))
    return start, turn, time, eccentricity, axis


@kernel
def inclination_change_kernel(speed: float, flight_path_angle: float, angle: float) -> float:
    """Turn the horizontal part of the velocity."""
    return 2.0 * speed * math.cos(flight_path_angle) * math.sin(0.5 * angle)


@kernel
def node_change_kernel(speed: float, inclination: float, angle: float) -> float:
    """Turn a circular orbit to another node at the same inclination."""
    cosine = math.cos(inclination) ** 2 + math.sin(inclination) ** 2 * math.cos(angle)
    return 2.0 * speed * math.sqrt(max(0.5 * (1.0 - cosine), 0.0))


@kernel
def node_change_latitude_kernel(inclination: float, angle: float) -> float:
    """Where on the orbit before the change both orbits cross; after it, the rest of half a turn."""
    sense = 1.0 if angle >= 0.0 else -1.0
    half = math.sin(inclination) * math.sin(0.5 * angle)
    half = min(abs(half), 1.0)
    sine = 2.0 * half * math.sqrt(1.0 - half * half)
    rise = math.cos(inclination) * math.sin(inclination) * 2.0 * math.sin(0.5 * angle) ** 2
    return math.acos(min(max(-sense * rise / sine, -1.0), 1.0)) if sine > 0.0 else 0.5 * math.pi


@kernel
def split_plane_change_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, angle: float, split: float
) -> tuple[float, float]:
    """Both burns of a Hohmann transfer that turns by ``split`` in the first and by the rest in the second."""
    axis = 0.5 * (first_radius + second_radius)
    u = circular_speed_kernel(gravitational_parameter, first_radius)
    v = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    x = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    y = circular_speed_kernel(gravitational_parameter, second_radius)
    one, other = math.sin(0.5 * split), math.sin(0.5 * (angle - split))
    first = math.sqrt((u - v) ** 2 + 4.0 * u * v * one * one)
    return first, math.sqrt((x - y) ** 2 + 4.0 * x * y * other * other)


@kernel
def approximate_plane_split_kernel(first_radius: float, second_radius: float, angle: float) -> float:
    """First guess of the best split."""
    ratio = second_radius / first_radius
    return math.atan2(math.sin(angle), ratio * math.sqrt(ratio) + math.cos(angle))


@kernel
def combined_plane_change_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, angle: float
) -> tuple[float, float, float]:
    """Part of a plane change to make in the first burn of a Hohmann transfer, and both burns.

    Newton's root of the slope of the sum, kept inside a bracket; the ends are compared as well.
    """
    axis = 0.5 * (first_radius + second_radius)
    u = circular_speed_kernel(gravitational_parameter, first_radius)
    v = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    x = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    y = circular_speed_kernel(gravitational_parameter, second_radius)
    low, high = 0.0, angle
    split = min(max(approximate_plane_split_kernel(first_radius, second_radius, angle), 0.0), angle)
    for _ in range(ROUNDS):
        rest = angle - split
        first, second = split_plane_change_kernel(
            gravitational_parameter, first_radius, second_radius, angle, split
        )
        if not (first > 0.0 and second > 0.0):
            break
        rise, fall = u * v * math.sin(split) / first, x * y * math.sin(rest) / second
        if rise > fall:
            high = split
        else:
            low = split
        curve = (u * v * math.cos(split) - rise * rise) / first + (
            x * y * math.cos(rest) - fall * fall
        ) / second
        step = (fall - rise) / curve if curve > 0.0 else math.inf
        trial = split + step if low <= split + step <= high else 0.5 * (low + high)
        moved = abs(trial - split)
        split = trial
        if moved < TOLERANCE:
            break
    first, second = split_plane_change_kernel(
        gravitational_parameter, first_radius, second_radius, angle, split
    )
    for trial in (0.0, angle):
        one, other = split_plane_change_kernel(
            gravitational_parameter, first_radius, second_radius, angle, trial
        )
        if one + other < first + second:
            split, first, second = trial, one, other
    return split, first, second


@kernel
def tangent_transfer_kernel(
    gravitational_parameter: float,
    first_radius: float,
    first_speed: float,
    second_radius: float,
    second_speed: float,
) -> tuple[float, float, float, float]:
    """Half an ellipse between two places where the velocities are level; burns, time, angle of a target."""
    axis = 0.5 * (first_radius + second_radius)
    start = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    end = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    time = 0.5 * orbital_period_kernel(gravitational_parameter, axis)
    swept = 2.0 * math.pi * time / orbital_period_kernel(gravitational_parameter, second_radius)
    return abs(start - first_speed), abs(second_speed - end), time, swept
