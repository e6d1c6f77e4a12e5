"""One craft in free space that burns what it carries: no stops, no landing, nothing mined."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.flight import cruise_thrust, power_margins
from tradespace.campaign.life import life_used
from tradespace.campaign.records import DAY, MARGIN_HIGH, NEVER, margin
from tradespace.campaign.stop import unusable_share
from tradespace.physics.compiled import kernel
from tradespace.physics.rocket import propellant_mass_kernel
from tradespace.spacecraft import (
    aged_heat_fraction,
    net_radiator_flux,
    refuelling_power,
    size_stated_craft,
    source_power,
    steady_load,
    sun_pointed_power,
    waste_heat,
)

LEAST_THRUST = 1e-12  # N, so that an engine without power divides by something


@kernel
def prepare(design: Any, craft: Any, hop: Any, start: float, distance: float) -> None:
    """Split, compress or heat the load before the burn, as far as its storage asks for it."""
    load = craft.propellant_mass
    hop.arrival_date = start
    hop.power_at_stop = craft.start_power
    hop.water_mined = load * craft.stop_mined
    hop.energy = hop.water_mined * (craft.stop_split_energy + craft.stop_storing_energy)
    need = steady_load(design, distance) - source_power(design, 0.0)
    power = refuelling_power(design, craft.start_power, need)
    hop.refuel_time = 0.0
    if hop.energy > 0.0:
        hop.refuel_time = min(hop.energy / power, NEVER) if power > 0.0 else NEVER
    hop.ready_date = hop.departure_date = start + hop.refuel_time


@kernel
def expel(design: Any, craft: Any, hop: Any, state: Any, distance: float) -> None:
    """Burn all that can be expelled: velocity change, thrust and time."""
    mass, speed = design.launch_mass, design.exhaust_velocity
    usable = craft.propellant_mass * (1.0 - unusable_share(design))
    pointed = sun_pointed_power(design, distance, hop.refuel_time, 0.0)
    craft.thrust = cruise_thrust(design, craft, pointed, distance, hop.refuel_time, state.cell_hours)
    expelled = usable * (1.0 - design.kept_share)
    hop.delta_v = hop.departure_delta_v = speed * math.log(mass / (mass - expelled))
    hop.propellant_loaded, hop.propellant_used = craft.propellant_mass, usable
    hop.departure_mass = mass
    hop.burn_time = min(expelled * speed / max(craft.thrust, LEAST_THRUST), NEVER)
    hop.time_of_flight = hop.burn_time
    hop.energy += usable * (design.live_split_fraction * design.split_energy + design.live_energy)
    state.cell_hours += hop.burn_time * design.live_split_fraction
    state.throughput, state.burn_hours = usable, hop.burn_time
    state.ignitions = max(1.0, usable / design.charge) if usable > 0.0 else 0.0
    hop.landing_date = hop.departure_date + hop.burn_time
    hop.elapsed = hop.refuel_time + hop.burn_time


@kernel
def judge_burn(
    design: Any, craft: Any, hop: Any, state: Any, distance: float, start: float, horizon: float
) -> None:
    """Margins of the burn; the velocity change asked for, if any, is judged by the propellant it takes."""
    asked = design.hop_delta_v_capacity * (1.0 + design.delta_v_margin)
    needed = propellant_mass_kernel(design.launch_mass, asked, design.exhaust_velocity)
    hop.margin_water = margin(hop.propellant_used * (1.0 - design.kept_share), needed)
    hop.margin_mass = margin(design.launch_mass, craft.wet_mass)
    hop.margin_storage = margin(design.storage_volume, craft.tank_volume)
    hop.margin_time = margin(horizon - start, hop.elapsed)
    hop.margin_thrust = margin(horizon - hop.ready_date, hop.burn_time)
    hop.life_used = life_used(design, hop, state)
    hop.margin_lifetime = margin(1.0, hop.life_used)
    hop.margin_power, hop.margin_freezing = power_margins(design, craft.start_power, distance, hop.elapsed)
    live = craft.thrust * design.power_per_thrust
    new = aged_heat_fraction(design, 0.0)
    at_rest = waste_heat(design, 0.0, 0.0, 0.0, new)
    if hop.refuel_time > 0.0:
        flow = hop.water_mined / hop.refuel_time
        split, storing = flow * craft.stop_split_energy, flow * craft.stop_storing_heat
        at_rest = waste_heat(design, split, storing, 0.0, new)
    if design.collector_area > 0.0:  # sunlight that never comes on board as heat
        live = 0.0
    hot = aged_heat_fraction(design, state.cell_hours)
    burning = waste_heat(design, live * design.split_power_share, 0.0, live, hot)
    warm = max(net_radiator_flux(design, design.radiator_temperature, distance), 0.0)
    hop.margin_heat = margin(craft.radiator_area * warm, max(at_rest, burning))
    hop.margin_window = MARGIN_HIGH
    hop.window_slack_d = (horizon - hop.ready_date) / DAY


@kernel
def burn_all(
    designs: Any, crafts: Any, hops: Any, states: Any, distance: float, start: float, horizon: float
) -> None:
    """Size and burn every design: fill ``crafts`` (n,), ``hops`` (n, 1) and ``states`` (n,) from ``designs`` (n,)."""
    for row in range(designs.shape[0]):
        design, craft, hop, state = designs[row], crafts[row], hops[row, 0], states[row]
        size_stated_craft(design, craft, distance, horizon - start)
        state.throughput = state.cell_hours = state.burn_hours = state.ignitions = 0.0
        state.landing_ignitions = state.landing_throughput = state.landing_hours = 0.0
        prepare(design, craft, hop, start, distance)
        expel(design, craft, hop, state, distance)
        judge_burn(design, craft, hop, state, distance, start, horizon)
        hop.survival = 1.0
        hop.water_so_far = hop.water_mined
        hop.energy_so_far, hop.delta_v_so_far = hop.energy, hop.delta_v
