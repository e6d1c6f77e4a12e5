"""Scalar formulas of manoeuvres between circular orbits; the checks are in :mod:`manoeuvres`."""

from __future__ import annotations

import math

from tradespace.physics.compiled import kernel
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.physics.transfer.energy import circular_speed_kernel, orbital_speed_kernel

HALVINGS = 60


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
) -> tuple[float, float, float]:
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
    return abs(first - circular_speed_kernel(gravitational_parameter, first_radius)), turn, time


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
def combined_plane_change_kernel(
    gravitational_parameter: float, first_radius: float, second_radius: float, angle: float
) -> tuple[float, float, float]:
    """Part of a plane change to make in the first burn of a Hohmann transfer, and both burns."""
    axis = 0.5 * (first_radius + second_radius)
    u = circular_speed_kernel(gravitational_parameter, first_radius)
    v = orbital_speed_kernel(gravitational_parameter, first_radius, axis)
    x = orbital_speed_kernel(gravitational_parameter, second_radius, axis)
    y = circular_speed_kernel(gravitational_parameter, second_radius)
    low, high, split, first, second = 0.0, angle, 0.0, abs(u - v), 0.0
    for _ in range(HALVINGS):
        split = 0.5 * (low + high)
        rest = angle - split
        first = math.sqrt(u * u + v * v - 2.0 * u * v * math.cos(split))
        second = math.sqrt(x * x + y * y - 2.0 * x * y * math.cos(rest))
        if u * v * math.sin(split) * second < x * y * math.sin(rest) * first:
            low = split
        else:
            high = split
    return split, first, second


@kernel
def circular_phasing_kernel(
    gravitational_parameter: float, radius: float, angle: float, revolutions: float
) -> tuple[float, float]:
    """Both burns together, and the time, to move along a circular orbit."""
    period = orbital_period_kernel(gravitational_parameter, radius)
    other = period * (1.0 - angle / (2.0 * math.pi * revolutions))
    axis = (gravitational_parameter * (other / (2.0 * math.pi)) ** 2) ** (1.0 / 3.0)
    speed = orbital_speed_kernel(gravitational_parameter, radius, axis)
    return 2.0 * abs(speed - circular_speed_kernel(gravitational_parameter, radius)), revolutions * other


@kernel
def edelbaum_kernel(first_speed: float, second_speed: float, angle: float) -> float:
    """Low-thrust spiral between inclined circular orbits; past two radians it passes through escape."""
    bend = min(0.5 * math.pi * abs(angle), math.pi)
    square = first_speed * first_speed + second_speed * second_speed
    return math.sqrt(square - 2.0 * first_speed * second_speed * math.cos(bend))
