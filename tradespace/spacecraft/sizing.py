"""Propellant loads and the items of the dry mass."""

from __future__ import annotations

import math
from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.physics.sunlight import lasting_battery_energy_kernel
from tradespace.spacecraft.heat import net_radiator_flux, trap_heat, waste_heat
from tradespace.spacecraft.power import (
    bus_power,
    refuelling_power,
    source_power,
    steady_load,
    sun_pointed_power,
)
from tradespace.spacecraft.records import LEAST_ENERGY


@kernel
def propellant_shares(design: Any, launch: float, landing: float, hops: int) -> tuple[float, float, float]:
    """Cruise, store and buffer propellant in full tanks per kilogram of dry mass, and through it the wet mass.

    ``launch`` and ``landing`` are the largest velocity changes of those burns on the route [m/s]. Refuelling craft
    carry one hop, the others all of them. Reserve and residuals ride along to the end, so a large share of them
    can make the load infinite; the floor below keeps it finite and hopeless.
    """
    blocks = 1 if design.refuels > 0.5 else hops
    total = design.hop_delta_v_capacity if design.refuels > 0.5 else design.carried_delta_v
    most = 30.0 / blocks  # over the whole route
    rise = math.exp(min(launch / design.store_exhaust_velocity, most))
    descent = math.exp(min(landing / design.store_exhaust_velocity, most))
    cruise = math.exp(min(total / blocks / design.exhaust_velocity, most))
    block = rise * cruise * descent
    repeated = float(blocks) if block - 1.0 < 1e-12 else (block**blocks - 1.0) / (block - 1.0)
    cruise_burn = repeated * descent * (cruise - 1.0)
    store_burn = repeated * ((descent - 1.0) + descent * cruise * (rise - 1.0))
    unusable = min(design.propellant_reserve + design.propellant_residual, 0.99)
    carried_through = 1.0 - unusable * (block**blocks - 1.0) / (1.0 - unusable)
    end_mass = 1.0 / max(carried_through, 1e-6)
    cruise_load = end_mass * cruise_burn / (1.0 - unusable)
    store_load = end_mass * store_burn / (1.0 - unusable)
    buffer = store_load
    if design.refuels > 0.5 and design.hop_delta_v_capacity > 0.0:
        larger = max(descent * cruise * (rise - 1.0), descent - 1.0)
        buffer = end_mass * larger / (1.0 - unusable)
    return cruise_load, store_load, buffer


@kernel
def kept_share_at_stop(design: Any, craft: Any, cruise_load: float, store_load: float) -> float:
    """Share of the mined water that is kept in the store's form from the stop on: buffer and cruise gas [1]."""
    return float(
        min(
            craft.stop_store_share + cruise_load / (cruise_load + store_load) * design.stop_split_fraction,
            1.0,
        )
    )


@kernel
def split_share_at_stop(design: Any, craft: Any, cruise_load: float, store_load: float) -> float:
    """Share of the mined water that is split at the stop: the buffer's, and cruise propellant kept as gas [1]."""
    load = cruise_load + store_load
    if load <= 0.0:
        return 0.0
    return float(
        craft.stop_store_share * design.store_split_fraction + cruise_load / load * design.stop_split_fraction
    )


@kernel
def stack_mass(design: Any, power: float) -> float:
    """Electrolyser mass for a rated electric power, plant included [kg]."""
    return float(
        power
        * (
            design.stack_mass_per_power / (1.0 + design.balance_of_plant_fraction + design.cell_heat_supplied)
            + design.electrolyser_plant_specific_mass
        )
    )


@kernel
def size_power_items(
    design: Any, craft: Any, distance: float, night: float, rotation: float, span: float
) -> None:
    """Fill array, source and battery, which still carries its night after all nights and years of the campaign."""
    load = steady_load(design, distance)
    need = load - source_power(design, 0.0)
    craft.start_power = bus_power(design, distance, 0.0, 1.0)
    craft.net_power = refuelling_power(design, craft.start_power, need)
    craft.array_mass = design.array_area * design.array_areal_mass
    craft.fixed_source_mass = design.fixed_source_power / design.fixed_source_specific_power
    craft.battery_mass = (
        lasting_battery_energy_kernel(
            max(load - source_power(design, span), 0.0),
            night,
            design.battery_efficiency,
            design.battery_depth_of_discharge,
            span / max(rotation, 1.0),  # at most: flights count as nights too
            design.battery_full_depth_cycles,
            design.battery_cycle_exponent,
            design.battery_fade_rate,
            span,
        )
        / design.battery_specific_energy
    )


@kernel
def size_fixed_items(design: Any, craft: Any, distance: float, cruise: float, store: float) -> None:
    """Fill the items that follow from power alone: plants, thrusters, radiator."""
    need = steady_load(design, distance) - source_power(design, 0.0)
    surplus = max(craft.start_power - need, 0.0)
    cruising = max(sun_pointed_power(design, distance, 0.0, 1.0) - need, 0.0)
    craft.stop_split_energy = split_share_at_stop(design, craft, cruise, store) * design.split_energy
    craft.energy_per_mined = max(
        design.extraction_energy + craft.stop_split_energy + craft.stop_kept_share * design.store_energy,
        LEAST_ENERGY,
    )
    share = craft.stop_split_energy / craft.energy_per_mined
    craft.electrolyser_power = 0.0
    if design.refuels > 0.5:
        craft.electrolyser_power = max(surplus * share, cruising * design.live_split_fraction)
    craft.extraction_rate = surplus / craft.energy_per_mined if design.refuels > 0.5 else 0.0
    live = min(cruising, design.thrust_limit * design.power_per_thrust)
    if design.live_split_fraction > 0.5:
        live = min(live, craft.electrolyser_power)
    if cruise <= 0.0 and design.live_hop < 0.5:
        live = 0.0
    craft.thrust = min(design.thrust_limit, live / design.power_per_thrust)
    craft.electrolyser_mass = stack_mass(design, craft.electrolyser_power)
    craft.extraction_mass = 0.0
    if design.refuels > 0.5:
        craft.extraction_mass = (
            design.extraction_plant_base_mass
            + design.extraction_plant_specific_mass * craft.extraction_rate / design.ice_fraction
        )
    craft.thruster_mass = design.store_mass
    if cruise > 0.0 or design.live_hop > 0.5:
        craft.thruster_mass += design.thruster_base_mass + design.thruster_mass_per_power * live
    storing = craft.extraction_rate * craft.stop_kept_share * design.store_energy
    at_stop = waste_heat(design, surplus * share, storing, 0.0, 0.0)
    in_cruise = waste_heat(design, live * design.live_split_fraction, 0.0, live, 0.0)
    net = max(net_radiator_flux(design, design.radiator_temperature, distance), 1.0)
    craft.radiator_area = design.radiator_oversize * max(at_stop, in_cruise) / net
    cold = max(net_radiator_flux(design, design.cold_trap_temperature, distance), 1.0)
    craft.trap_area = design.radiator_oversize * craft.extraction_rate * trap_heat(design) / cold


@kernel
def size_growing_items(design: Any, craft: Any, dry_mass: float, gravity: float) -> float:
    """Fill the items that grow with the vehicle for a trial dry mass; return the dry mass they imply [kg]."""
    wet = dry_mass * (1.0 + craft.cruise_load + craft.store_load)
    buffer = craft.buffer_mass * dry_mass
    bulk = max(craft.cruise_load + craft.store_load - craft.buffer_mass, 0.0) * dry_mass
    craft.structure_mass = design.structure_fraction * dry_mass + design.structure_load_fraction * wet
    craft.tank_mass = design.store_tank_factor * buffer + design.cruise_tank_factor * bulk
    craft.tank_volume = design.store_specific_volume * buffer + design.cruise_specific_volume * bulk
    craft.landing_thrust = design.landing_engine_thrust_to_weight * gravity * wet
    craft.landing_engine_mass = (
        0.0 if design.live_hop > 0.5 else design.store_mass_per_thrust * craft.landing_thrust
    )
    craft.thermal_mass = (
        craft.radiator_area + craft.trap_area
    ) * design.radiator_areal_mass + design.thermal_control_fraction * dry_mass
    items = (
        craft.structure_mass
        + craft.array_mass
        + craft.fixed_source_mass
        + craft.battery_mass
        + craft.electrolyser_mass
        + craft.extraction_mass
        + craft.tank_mass
        + craft.thruster_mass
        + craft.landing_engine_mass
        + craft.thermal_mass
    )
    nominal = design.payload_mass + design.consumables_mass + items * (1.0 + design.maturity_margin)
    closed = nominal * (1.0 + design.system_margin)
    craft.growth_mass = closed - design.payload_mass - design.consumables_mass - items
    return float(closed)
