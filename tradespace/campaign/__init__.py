"""Hop after hop: refuel, wait, launch, cruise, land; and the margin of every link on every hop."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.campaign.departure import depart
from tradespace.campaign.flight import burn, heat_margin, power_margin, thrust_to_weight
from tradespace.campaign.records import (
    DAY,
    HOP,
    MARGIN_HIGH,
    MARGIN_LOW,
    MARGINS,
    STOP,
    interpolate,
    margin,
)
from tradespace.campaign.stop import refuel
from tradespace.physics.compiled import kernel
from tradespace.physics.transfer import (
    ballistic_hop_elevation_kernel,
    ballistic_hop_speed_kernel,
    ballistic_hop_time_kernel,
    landing_delta_v_kernel,
    powered_hop_loss_kernel,
)
from tradespace.spacecraft import LARGE, bus_power, close_craft

__all__ = ["HOP", "MARGINS", "STOP", "fly_all"]


@kernel
def burns_at_the_ends(
    design: Any, stops: Any, number: int, surface: bool, climb: float, descent: float
) -> tuple[float, float]:
    """Velocity changes of the launch and landing burns of a hop, losses included [m/s].

    ``climb`` and ``descent`` are the thrust over the local weight in either burn: gravity takes its share of both.
    """
    steering = 1.0 + design.landing_loss_fraction
    here, there = stops[number], stops[number + 1]
    if surface:
        speed = ballistic_hop_speed_kernel(here.mu, here.radius, design.hop_distance) * steering
        angle = ballistic_hop_elevation_kernel(here.radius, design.hop_distance)
        return (
            speed * (1.0 + powered_hop_loss_kernel(climb, angle)),
            speed * (1.0 + powered_hop_loss_kernel(descent, angle)),
        )
    return (
        steering * landing_delta_v_kernel(here.mu, here.radius, 0.0, climb),
        steering * landing_delta_v_kernel(there.mu, there.radius, 0.0, descent),
    )


@kernel
def size(design: Any, craft: Any, stops: Any, distance: float, span: float, surface: bool) -> None:
    """Size the vehicle for the hardest burns, gravity and night of the route.

    Launch and landing are sized with the velocity-change margin on top of their losses and flown without it. A
    craft that refuels must manage the hardest of them on one load; one that carries everything, their sum.
    """
    hops = stops.shape[0] - 1
    launch = landing = all_launches = all_landings = gravity = rotation = 0.0
    shortest = span
    ratio = design.landing_engine_thrust_to_weight
    for number in range(hops):
        up, down = burns_at_the_ends(design, stops, number, surface, ratio, ratio)
        launch, landing = max(launch, up), max(landing, down)
        all_launches, all_landings = all_launches + up, all_landings + down
    if design.refuels < 0.5:
        launch, landing = all_launches / hops, all_landings / hops
    for number in range(hops + 1):
        gravity = max(gravity, stops[number].gravity)
        rotation = max(rotation, stops[number].rotation_period)
        shortest = min(shortest, stops[number].rotation_period)
    night = rotation * (1.0 - design.sunlit_fraction)
    launch *= 1.0 + design.delta_v_margin
    landing *= 1.0 + design.delta_v_margin
    close_craft(design, craft, distance, night, shortest, span, gravity, launch, landing, hops)


@kernel
def fly_hop(
    design: Any, craft: Any, hop: Any, stops: Any, number: int, sun: Any, next_distances: Any, curves: Any,
    dates: Any, frozen: float, surface: bool, state: Any, limits: Any,
) -> float:  # fmt: skip
    """Fly one hop; return the landing date."""
    start = dates[0]
    distance = interpolate(sun[0], sun[1], sun[2], hop.arrival_date)
    landings = number + 1.0
    hop.power_at_stop = bus_power(design, distance, hop.arrival_date - start, landings)
    if design.refuels > 0.5:
        refuel(design, craft, hop, state, number, sun, dates)
    else:
        hop.ready_date = hop.arrival_date + design.minimum_dwell
        hop.energy = 0.0
    mass = craft.dry_mass + state[0] + state[1]
    hop.launch_delta_v, hop.landing_delta_v = burns_at_the_ends(
        design, stops, number, surface, thrust_to_weight(design, craft, stops[number].gravity, mass),
        thrust_to_weight(design, craft, stops[number + 1].gravity, mass),
    )  # fmt: skip
    if surface:
        hop.departure_date = hop.ready_date
        hop.time_of_flight = ballistic_hop_time_kernel(
            stops[number].mu, stops[number].radius, design.hop_distance
        )
        hop.margin_window = MARGIN_HIGH
        hop.window_slack_d = (dates[1] - hop.ready_date) / DAY
    else:
        depart(
            design, hop, curves[0], curves[1], curves[2], curves[3], curves[4], curves[5], frozen, dates[1]
        )
    hop.landing_date = hop.departure_date + hop.time_of_flight
    limits[0], limits[1] = stops[number].gravity, stops[number + 1].gravity
    limits[2] = interpolate(sun[0], sun[1], sun[2], hop.departure_date)
    limits[3] = interpolate(sun[0], sun[1], next_distances, hop.landing_date)
    limits[4], limits[5] = hop.departure_date - start, hop.landing_date - start
    burn(design, craft, hop, state, limits, landings)
    hop.margin_mass = margin(design.launch_mass, craft.start_mass)
    if craft.dry_mass >= LARGE * design.launch_mass:  # no finite mass at all
        hop.margin_mass = MARGIN_LOW
    hop.margin_storage = margin(design.storage_volume, craft.tank_volume)
    hop.margin_time = margin(dates[1] - start, hop.landing_date - start)
    if not math.isnan(frozen) and not surface:  # a frozen date must not come before the craft is ready
        hop.margin_time = min(
            hop.margin_time, margin(hop.departure_date - hop.arrival_date, hop.ready_date - hop.arrival_date)
        )
    hop.margin_lifetime = min(margin(design.stack_life, state[3]), margin(design.throughput_life, state[2]))
    hop.margin_lifetime = min(hop.margin_lifetime, margin(design.burn_life, state[4]))
    live = craft.thrust * design.power_per_thrust
    hop.margin_power = power_margin(design, hop.power_at_stop, distance, hop.arrival_date - start)
    hop.margin_heat = heat_margin(design, craft, distance, hop.arrival_date - start, landings, state[3], live)
    for end in range(2):
        power = bus_power(design, limits[2 + end], limits[4 + end], landings + end)
        hop.margin_power = min(
            hop.margin_power, power_margin(design, power, limits[2 + end], limits[4 + end])
        )
        hop.margin_heat = min(
            hop.margin_heat,
            heat_margin(design, craft, limits[2 + end], limits[4 + end], landings + end, state[3], live),
        )
    return float(hop.landing_date)


@kernel
def fly_all(
    designs: Any, crafts: Any, hops: Any, stops: Any, first: float, step: float, distances: Any, window_first: Any,
    window_step: float, leaving: Any, arriving: Any, flight: Any, sums: Any, start: float, horizon: float,
    frozen: Any, surface: bool,
) -> None:  # fmt: skip
    """Size and fly every design: fill ``crafts`` (n,) and ``hops`` (n, hops) from ``designs`` (n,)."""
    state = np.zeros(5)
    limits = np.zeros(6)
    dates = (start, horizon)
    for row in range(designs.shape[0]):
        design, craft = designs[row], crafts[row]
        size(design, craft, stops, interpolate(first, step, distances[0], start), horizon - start, surface)
        state[:] = 0.0
        state[0], state[1] = craft.cruise_load, craft.store_load
        now = start
        for number in range(hops.shape[1]):
            hop = hops[row, number]
            hop.arrival_date = now
            sun = (first, step, distances[number])
            curve = min(number, leaving.shape[0] - 1)
            curves = (
                window_first[curve], window_step, leaving[curve], arriving[curve], flight[curve], sums[curve],
            )  # fmt: skip
            now = fly_hop(
                design, craft, hop, stops, number, sun, distances[number + 1], curves, dates, frozen[number], surface,
                state, limits,
            )  # fmt: skip
