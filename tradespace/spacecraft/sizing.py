"""Propellant loads and the items of the dry mass."""

from __future__ import annotations

import math
from typing import Any

from tradespace.constants import value
from tradespace.physics.compiled import inlined, kernel
from tradespace.physics.sunlight import lasting_share_kernel
from tradespace.spacecraft.cell import aged_heat_fraction
from tradespace.spacecraft.heat import net_radiator_flux, trap_heat, waste_heat
from tradespace.spacecraft.power import (
    cruise_surplus,
    propulsion_power,
    refuelling_power,
    source_power,
    steady_load,
    sun_pointed_power,
    thrust_of_power,
)
from tradespace.spacecraft.records import LARGEST_EXPONENT, LEAST_DRY, LEAST_ENERGY, MOST_UNUSABLE

STANDARD_GRAVITY = value("standard_gravity")
FAR_AWAY = 1e15  # m, where there is no sunlight


@kernel
def drawn_shares(design: Any, launch: float, cruise: float, landing: float) -> tuple[float, float, float]:
    """What launch, cruise and landing draw from the tanks over the mass before them [1], one after the other.

    What stays on board of the water drawn is carried through the later burns.
    """
    rise = math.exp(-min(launch / design.store_exhaust_velocity, LARGEST_EXPONENT))
    coast = math.exp(-min(cruise / design.exhaust_velocity, LARGEST_EXPONENT))
    descent = math.exp(-min(landing / design.store_exhaust_velocity, LARGEST_EXPONENT))
    left, store_left = 1.0 - design.kept_share, 1.0 - design.store_kept_share
    return (
        (1.0 - rise) / store_left,
        rise * (1.0 - coast) / left,
        rise * coast * (1.0 - descent) / store_left,
    )


@kernel
def one_load(design: Any, launch: float, cruise: float, landing: float) -> tuple[float, float, float]:
    """Cruise, store and buffer propellant of a craft that refuels before every hop, per kilogram of dry mass [1].

    Reserve and residuals ride along to the end, and so does what stays on board of the water drawn. A load that no
    finite mass can carry is kept finite, and hopeless.
    """
    first, middle, last = drawn_shares(design, launch, cruise, landing)
    usable = 1.0 - min(design.propellant_reserve + design.propellant_residual, MOST_UNUSABLE)
    dry = max(1.0 - (first + middle + last) / usable, LEAST_DRY)
    scale = 1.0 / (usable * dry)
    store = (first + last) * scale
    buffer = store
    if design.hop_delta_v_capacity > 0.0 and design.stop_split_fraction < 0.5:
        buffer = max(first, last) * scale
    return middle * scale, store, buffer


@inlined
def propellant_shares(design: Any, launch: float, landing: float, hops: int) -> tuple[float, float, float]:
    """Cruise, store and buffer propellant in full tanks per kilogram of dry mass, and through it the wet mass.

    ``launch`` and ``landing`` are the largest velocity changes of those burns on the route [m/s]. Refuelling craft
    carry one hop, the others all of them. Reserve and residuals ride along to the end, so a large share of them
    can make the load infinite; the floor below keeps it finite and hopeless.
    """
    if design.refuels > 0.5:
        return one_load(design, launch, design.hop_delta_v_capacity, landing)
    blocks = hops
    total = design.carried_delta_v
    most = LARGEST_EXPONENT / blocks  # over the whole route
    rise = math.exp(min(launch / design.store_exhaust_velocity, most))
    descent = math.exp(min(landing / design.store_exhaust_velocity, most))
    cruise = math.exp(min(total / blocks / design.exhaust_velocity, most))
    block = rise * cruise * descent
    repeated = float(blocks) if block - 1.0 < 1e-12 else (block**blocks - 1.0) / (block - 1.0)
    cruise_burn = repeated * descent * (cruise - 1.0)
    store_burn = repeated * ((descent - 1.0) + descent * cruise * (rise - 1.0))
    unusable = min(design.propellant_reserve + design.propellant_residual, MOST_UNUSABLE)
    carried_through = 1.0 - unusable * (block**blocks - 1.0) / (1.0 - unusable)
    end_mass = 1.0 / max(carried_through, LEAST_DRY)
    cruise_load = end_mass * cruise_burn / (1.0 - unusable)
    store_load = end_mass * store_burn / (1.0 - unusable)
    return cruise_load, store_load, store_load


@kernel
def water_at_stop(
    design: Any, craft: Any, cruise_load: float, store_load: float
) -> tuple[float, float, float]:
    """Water mined per mass loaded, and the shares of it that are kept in the store's form and split at the stop [1].

    The buffer and cruise propellant kept as gas are; an excess that is left at the stop has been mined and split.
    """
    load = cruise_load + store_load
    if load <= 0.0:
        return 1.0, 0.0, 0.0
    cruise, store = cruise_load / load, craft.stop_store_share
    mined = (
        1.0 + cruise * (design.mined_per_load - 1.0) + store_load / load * (design.store_mined_per_load - 1.0)
    )
    kept = min(store + cruise * design.stop_split_fraction, 1.0) / mined
    split = (
        store * design.store_split_fraction * design.store_mined_per_load
        + cruise * design.stop_split_fraction * design.mined_per_load
    )
    return mined, kept, split / mined


@kernel
def fill_storing(design: Any, craft: Any, cruise_load: float, store_load: float) -> None:
    """Fill what making a kilogram of mined water ready takes beside splitting: energy, waste heat, and losses.

    The launch and landing propellant and that of the cruise may be kept in different forms, and a loss of either is
    mined again, with what is left at the stop.
    """
    craft.stop_storing_energy = craft.stop_storing_heat = craft.stop_loss = 0.0
    load = cruise_load + store_load
    if load <= 0.0:
        return
    store = craft.stop_store_share / craft.stop_mined
    cruise = cruise_load / load * design.stop_split_fraction / craft.stop_mined
    craft.stop_storing_energy = store * design.store_energy + cruise * design.storing_energy
    craft.stop_storing_heat = (
        store * design.store_energy * design.store_waste_fraction + cruise * design.storing_energy
    )
    craft.stop_loss = store * design.store_mined_per_load * lost_again(
        design.store_loss
    ) + cruise * design.mined_per_load * lost_again(design.storing_loss)


@kernel
def lost_again(share: float) -> float:
    """Mass that makes up for a share lost, over what is left of it [1]."""
    return float(share / max(1.0 - share, 1e-6))


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
def battery_inputs(design: Any) -> tuple[float, float, float, float, float]:
    """What :func:`lasting_share` reads of a design."""
    return (
        float(design.battery_efficiency),
        float(design.battery_depth_of_discharge),
        float(design.battery_full_depth_cycles),
        float(design.battery_cycle_exponent),
        float(design.battery_fade_rate),
    )


@kernel
def lasting_share(inputs: tuple[float, float, float, float, float], rotation: float, span: float) -> float:
    """Energy the battery gives in the last night over its rated energy [1], of :func:`battery_inputs`."""
    share: float = lasting_share_kernel(
        inputs[0],
        inputs[1],
        span / max(rotation, 1.0),  # at most: flights count as nights too
        inputs[2],
        inputs[3],
        inputs[4],
        span,
    )
    return share


@inlined
def size_power_items(
    design: Any, craft: Any, distance: float, night: float, lasting: float, span: float
) -> float:
    """Fill array, source and battery, which still carries its night after all nights and years of the campaign.

    ``lasting`` is the :func:`lasting_share` of the battery. Returns the power of the array square to the Sun when the
    campaign begins [W].
    """
    load = steady_load(design, distance)
    need = load - source_power(design, 0.0)
    pointed = sun_pointed_power(design, distance, 0.0, 1.0)
    craft.start_power = pointed * design.pointing_factor
    craft.net_power = refuelling_power(design, craft.start_power, need)
    craft.array_mass = design.array_area * design.array_areal_mass
    craft.fixed_source_mass = design.fixed_source_power / design.fixed_source_specific_power
    carried = max(load - source_power(design, span), 0.0) * night
    craft.battery_mass = carried / lasting / design.battery_specific_energy
    return pointed


@kernel
def sizing_flux(design: Any, temperature: float, distance: float) -> float:
    """Heat per area that a radiator is sized for [W/m2]: what it sheds in the Sun, but a quarter of the dark at least.

    Where even that is more than it sheds, no area is large enough, and the margin of heat says so.
    """
    dark = net_radiator_flux(design, temperature, FAR_AWAY)
    return float(max(net_radiator_flux(design, temperature, distance), 0.25 * dark, 1.0))


@inlined
def size_fixed_items(
    design: Any, craft: Any, pointed: float, distance: float, nearest: float, span: float, cruise: float, store: float
) -> None:  # fmt: skip
    """Fill the items that follow from power alone: plants, thrusters, radiator.

    Plants and thrusters are built for the power of the start; the radiator sheds the heat of the worst hour: the Sun
    overhead at the nearest point of the route, every plant at its rating, the stack at the end of its days.
    """
    need = steady_load(design, distance) - source_power(design, 0.0)
    surplus = max(craft.start_power - need, 0.0)
    cruising = cruise_surplus(design, pointed, distance, 0.0)
    _, _, split = water_at_stop(design, craft, cruise, store)
    craft.stop_split_energy = split * design.split_energy
    fill_storing(design, craft, cruise, store)
    craft.energy_per_mined = max(
        design.extraction_energy + craft.stop_split_energy + craft.stop_storing_energy,
        LEAST_ENERGY,
    )
    share = craft.stop_split_energy / craft.energy_per_mined
    craft.electrolyser_power = 0.0
    if design.refuels > 0.5:
        craft.electrolyser_power = max(surplus * share, cruising * design.split_power_share)
    craft.extraction_rate = surplus / craft.energy_per_mined if design.refuels > 0.5 else 0.0
    offered = propulsion_power(design, pointed, distance, 0.0)
    live = min(offered, design.thrust_limit * design.power_per_thrust)
    if cruise <= 0.0 and design.live_hop < 0.5:
        live = 0.0
    craft.live_rating = live
    craft.thrust = thrust_of_power(design, live)
    craft.electrolyser_mass = stack_mass(design, craft.electrolyser_power)
    craft.extraction_mass = 0.0
    if design.refuels > 0.5:
        craft.extraction_mass = (
            design.extraction_plant_base_mass
            + design.extraction_plant_specific_mass * craft.extraction_rate / design.ice_fraction
        )
    craft.thruster_mass = design.store_mass
    if cruise > 0.0 or design.live_hop > 0.5:
        craft.thruster_mass += (
            design.thruster_base_mass + design.thruster_mass_per_power * live * design.engine_power_share
        )
    storing = craft.extraction_rate * craft.stop_storing_heat
    old = aged_heat_fraction(design, min(design.stack_life, span))
    at_stop = waste_heat(design, surplus * share, storing, 0.0, old)
    electric = 0.0 if design.collector_area > 0.0 else live
    in_cruise = waste_heat(design, electric * design.split_power_share, 0.0, electric, old)
    net = sizing_flux(design, design.radiator_temperature, nearest)
    craft.radiator_area = design.radiator_oversize * max(at_stop, in_cruise) / net
    cold = sizing_flux(design, design.cold_trap_temperature, nearest)
    craft.trap_area = design.radiator_oversize * craft.extraction_rate * trap_heat(design) / cold


@kernel
def landing_load(design: Any, gravity: float) -> float:
    """Load on structure and legs in standard gravities [1]: the touch-down, or the push of the landing engines.

    A craft that touches down at a speed is stopped over the stroke of its legs against the local gravity [m/s2]; the
    engines push with their thrust to weight.
    """
    stop = design.touchdown_speed * design.touchdown_speed / (2.0 * design.touchdown_stroke) + gravity
    return float(max(stop, design.landing_engine_thrust_to_weight * gravity) / STANDARD_GRAVITY)


@kernel
def grown_items(design: Any, craft: Any) -> float:
    """Mass of all items, each with the growth that its maturity asks for [kg]."""
    return float(
        craft.structure_mass * (1.0 + design.growth_structure)
        + craft.array_mass * (1.0 + design.growth_array)
        + craft.fixed_source_mass * (1.0 + design.growth_source)
        + craft.battery_mass * (1.0 + design.growth_battery)
        + craft.electrolyser_mass * (1.0 + design.growth_electrolyser)
        + craft.extraction_mass * (1.0 + design.growth_extraction)
        + craft.tank_mass * (1.0 + design.growth_tank)
        + craft.thruster_mass * (1.0 + design.growth_thruster)
        + craft.landing_engine_mass * (1.0 + design.growth_landing_engine)
        + craft.thermal_mass * (1.0 + design.growth_thermal)
    )


@kernel
def size_growing_items(design: Any, craft: Any, dry_mass: float, gravity: float) -> float:
    """Fill the items that grow with the vehicle for a trial dry mass; return the dry mass they imply [kg]."""
    wet = dry_mass * (1.0 + craft.cruise_load + craft.store_load)
    buffer = craft.buffer_mass * dry_mass
    bulk = max(craft.cruise_load + craft.store_load - craft.buffer_mass, 0.0) * dry_mass
    craft.structure_mass = (
        design.structure_fraction * dry_mass
        + design.structure_load_fraction * landing_load(design, gravity) * wet
    )
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
    nominal = design.payload_mass + design.consumables_mass + grown_items(design, craft)
    closed = nominal * (1.0 + design.system_margin)
    craft.growth_mass = closed - design.payload_mass - design.consumables_mass - items
    return float(closed)
