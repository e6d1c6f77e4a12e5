"""Mass and power closure of one vehicle: sized once, then flown unchanged.

Every function is a scalar kernel over one row of the design record, so that the compiled engine, and plain
Python with compilation switched off, run the same source.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import kernel
from tradespace.physics.electrolysis import (
    alkaline_cell_voltage_kernel,
    efficiency_hhv_kernel,
    faradaic_efficiency_kernel,
    split_energy_kernel,
    waste_heat_fraction_kernel,
)
from tradespace.physics.sunlight import array_power_density_kernel, solar_flux_kernel
from tradespace.physics.thermal import radiator_flux_kernel

QUANTITY_FIELDS = (
    "launch_mass water_on_board array_age payload_mass payload_power keep_alive_power "
    "hop_delta_v_capacity carried_delta_v storage_volume propellant_reserve propellant_residual "
    "array_area array_efficiency array_reference_temperature array_temperature_coefficient "
    "array_absorptivity array_emissivity low_intensity_loss array_ageing_rate array_areal_mass "
    "pointing_factor sunlit_fraction power_conversion_efficiency battery_specific_energy "
    "battery_depth_of_discharge battery_efficiency extraction_energy extraction_plant_specific_mass "
    "extraction_plant_base_mass electrolyser_plant_specific_mass balance_of_plant_fraction stack_life "
    "landing_thrust_to_weight landing_loss_fraction radiator_temperature radiator_emissivity "
    "radiator_absorptivity radiator_areal_mass radiator_oversize thermal_control_fraction "
    "structure_fraction structure_load_fraction maturity_margin system_margin delta_v_margin "
    "impulsive_burn_limit minimum_dwell maximum_wait hop_distance ice_fraction cold_trap_temperature"
).split()
"""Inputs the closure reads as they are, by their names in ``quantities.csv``."""

COMPUTED_FIELDS = (
    "split_energy stack_efficiency cell_voltage cell_heat_fraction stack_mass_per_power exhaust_velocity "
    "power_per_thrust thrust_limit thruster_base_mass thruster_mass_per_power live_split_fraction "
    "stop_split_fraction throughput_life cruise_tank_factor cruise_specific_volume "
    "thruster_waste_fraction store_exhaust_velocity store_energy store_split_fraction store_tank_factor "
    "store_specific_volume store_mass_per_thrust store_thrust_limit store_mass "
    "store_holding_time burn_life refuels live_hop"
).split()
"""Numbers worked out per design before closure: cell, thruster and store."""

DESIGN = np.dtype([(name, np.float64) for name in (*QUANTITY_FIELDS, *COMPUTED_FIELDS)])
"""One row per design, everything in SI."""

CRAFT = np.dtype(
    [
        (name, np.float64)
        for name in (
            "dry_mass wet_mass start_mass propellant_mass payload_capacity buffer_mass cruise_load "
            "store_load tank_volume structure_mass array_mass battery_mass electrolyser_mass "
            "extraction_mass tank_mass thruster_mass landing_engine_mass thermal_mass growth_mass "
            "radiator_area thrust start_power net_power electrolyser_power extraction_rate "
            "stop_store_share stop_split_energy energy_per_mined landing_thrust trap_area"
        ).split()
    ]
)
"""The vehicle that comes out, one row per design, in SI."""

SUBLIMATION_HEAT = value("water_sublimation_heat", "physics_values.csv")
LARGE = 1.0e3  # multiple of the launch mass that stands for a craft that has no finite mass
ITERATIONS = 60
TOLERANCE = 1.0e-10  # of the dry mass


@kernel
def fill_cell(
    design: Any,
    current_density: float,
    temperature: float,
    pressure: float,
    given_efficiency: float,
    areal: float,
) -> None:
    """Fill voltage, efficiency, energy, heat and mass per power of the electrolyser of one design.

    A given stack efficiency (not NaN) replaces the polarisation curve: the voltage is the one that the efficiency
    implies at the Faradaic efficiency of that current density.
    """
    faradaic = faradaic_efficiency_kernel(current_density)
    voltage = alkaline_cell_voltage_kernel(current_density, temperature, pressure)
    if given_efficiency > 0.0:
        voltage = voltage * efficiency_hhv_kernel(voltage, faradaic) / given_efficiency
    plant = 1.0 + design.balance_of_plant_fraction
    design.cell_voltage = voltage
    design.stack_efficiency = efficiency_hhv_kernel(voltage, faradaic)
    design.split_energy = split_energy_kernel(voltage, faradaic) * plant
    heat = waste_heat_fraction_kernel(voltage, faradaic, temperature)
    design.cell_heat_fraction = (heat + design.balance_of_plant_fraction) / plant
    design.stack_mass_per_power = areal / (voltage * current_density)


@kernel
def fill_cells(
    designs: Any, current_density: Any, temperature: Any, pressure: Any, given_efficiency: Any, areal: Any
) -> None:
    """Fill the electrolyser of every design; arrays of shape (n,)."""
    for row in range(designs.shape[0]):
        fill_cell(
            designs[row],
            current_density[row],
            temperature[row],
            pressure[row],
            given_efficiency[row],
            areal[row],
        )


@kernel
def sun_pointed_power(design: Any, distance: float, mission_age: float) -> float:
    """Power at the bus with the array square to the Sun [W], at a heliocentric distance [m] and mission age [s]."""
    density: float = array_power_density_kernel(
        distance,
        design.array_efficiency,
        design.array_reference_temperature,
        design.array_temperature_coefficient,
        design.array_absorptivity,
        design.array_emissivity,
        design.low_intensity_loss,
        design.array_ageing_rate,
        design.array_age + mission_age,
    )
    return float(density * design.array_area * design.power_conversion_efficiency)


@kernel
def bus_power(design: Any, distance: float, mission_age: float) -> float:
    """Power at the bus of a landed craft while the Sun is up [W]: the array follows the Sun less well there."""
    return sun_pointed_power(design, distance, mission_age) * float(design.pointing_factor)


@kernel
def fixed_power(design: Any) -> float:
    """Payload and keep-alive power, day and night [W]."""
    return float(design.payload_power + design.keep_alive_power)


@kernel
def night_and_day_load(design: Any) -> float:
    """Mean bus power the fixed loads take on a rotating body, battery losses included [W]."""
    sunlit = design.sunlit_fraction
    return float(fixed_power(design) * (sunlit + (1.0 - sunlit) / design.battery_efficiency))


@kernel
def refuelling_power(design: Any, power: float) -> float:
    """Day-and-night mean power left for refuelling when the sunlit bus power is ``power`` [W]."""
    return float(max(power * design.sunlit_fraction - night_and_day_load(design), 0.0))


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
def split_share_at_stop(design: Any, craft: Any, cruise_load: float, store_load: float) -> float:
    """Share of the mined water that is split at the stop: the buffer's, and cruise propellant kept as gas [1]."""
    load = cruise_load + store_load
    if load <= 0.0:
        return 0.0
    return float(
        craft.stop_store_share * design.store_split_fraction + cruise_load / load * design.stop_split_fraction
    )


@kernel
def net_radiator_flux(design: Any, temperature: float, distance: float) -> float:
    """Net heat a radiator sheds [W/m2] at a temperature [K] and distance from the Sun [m]; can be negative."""
    flux: float = radiator_flux_kernel(
        temperature,
        design.radiator_emissivity,
        solar_flux_kernel(distance),
        design.radiator_absorptivity,
    )
    return flux


@kernel
def waste_heat(design: Any, split_power: float, thruster_power: float) -> float:
    """Heat to reject: electrolyser losses, thruster losses and all fixed loads [W]."""
    return float(
        split_power * design.cell_heat_fraction
        + thruster_power * design.thruster_waste_fraction
        + fixed_power(design)
    )


@kernel
def stack_mass(design: Any, power: float) -> float:
    """Electrolyser mass for a rated electric power, plant included [kg]."""
    return float(
        power
        * (
            design.stack_mass_per_power / (1.0 + design.balance_of_plant_fraction)
            + design.electrolyser_plant_specific_mass
        )
    )


@kernel
def size_fixed_items(
    design: Any, craft: Any, distance: float, night: float, cruise: float, store: float
) -> None:
    """Fill the items that follow from power alone: array, battery, plants, thrusters, radiator."""
    power = bus_power(design, distance, 0.0)
    surplus = max(power - fixed_power(design), 0.0)
    cruising = max(sun_pointed_power(design, distance, 0.0) - fixed_power(design), 0.0)
    craft.start_power = power
    craft.net_power = refuelling_power(design, power)
    craft.stop_split_energy = split_share_at_stop(design, craft, cruise, store) * design.split_energy
    craft.energy_per_mined = (
        design.extraction_energy + craft.stop_split_energy + craft.stop_store_share * design.store_energy
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
    craft.array_mass = design.array_area * design.array_areal_mass
    craft.battery_mass = (
        fixed_power(design)
        * night
        / (design.battery_depth_of_discharge * design.battery_efficiency * design.battery_specific_energy)
    )
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
    at_stop = waste_heat(design, surplus * share, 0.0)
    in_cruise = waste_heat(design, live * design.live_split_fraction, live)
    net = max(net_radiator_flux(design, design.radiator_temperature, distance), 1.0)
    craft.radiator_area = design.radiator_oversize * max(at_stop, in_cruise) / net
    cold = max(net_radiator_flux(design, design.cold_trap_temperature, distance), 1.0)
    craft.trap_area = design.radiator_oversize * craft.extraction_rate * SUBLIMATION_HEAT / cold


@kernel
def size_growing_items(design: Any, craft: Any, dry_mass: float, gravity: float) -> float:
    """Fill the items that grow with the vehicle for a trial dry mass; return the dry mass they imply [kg]."""
    wet = dry_mass * (1.0 + craft.cruise_load + craft.store_load)
    buffer = craft.buffer_mass * dry_mass
    bulk = max(craft.cruise_load + craft.store_load - craft.buffer_mass, 0.0) * dry_mass
    craft.structure_mass = design.structure_fraction * dry_mass + design.structure_load_fraction * wet
    craft.tank_mass = design.store_tank_factor * buffer + design.cruise_tank_factor * bulk
    craft.tank_volume = design.store_specific_volume * buffer + design.cruise_specific_volume * bulk
    craft.landing_thrust = design.landing_thrust_to_weight * gravity * wet
    craft.landing_engine_mass = (
        0.0 if design.live_hop > 0.5 else design.store_mass_per_thrust * craft.landing_thrust
    )
    craft.thermal_mass = (
        craft.radiator_area + craft.trap_area
    ) * design.radiator_areal_mass + design.thermal_control_fraction * dry_mass
    items = (
        craft.structure_mass
        + craft.array_mass
        + craft.battery_mass
        + craft.electrolyser_mass
        + craft.extraction_mass
        + craft.tank_mass
        + craft.thruster_mass
        + craft.landing_engine_mass
        + craft.thermal_mass
    )
    nominal = design.payload_mass + items * (1.0 + design.maturity_margin)
    closed = nominal * (1.0 + design.system_margin)
    craft.growth_mass = closed - design.payload_mass - items
    return float(closed)


@kernel
def close_dry_mass(design: Any, craft: Any, gravity: float) -> tuple[float, float]:
    """Dry mass at which the items add up, by secant steps to 1e-10 of it, and the slope of the implied mass.

    A slope of one or more means that every kilogram asks for more than a kilogram: there is no finite mass, and
    ``LARGE`` times the launch mass is returned so that the other links still have numbers.
    """
    cap = LARGE * design.launch_mass
    old = design.payload_mass
    old_error = size_growing_items(design, craft, old, gravity) - old
    new = old + old_error
    slope = 0.0
    for _ in range(ITERATIONS):
        error = size_growing_items(design, craft, new, gravity) - new
        if new != old:
            slope = 1.0 + (error - old_error) / (new - old)
        if slope >= 1.0 or new > cap:
            new = cap
            break
        if abs(error) <= TOLERANCE * new:
            break
        old, old_error, new = new, error, new + error / (1.0 - slope)
    new = min(new, cap)
    size_growing_items(design, craft, new, gravity)
    return new, slope


@kernel
def close_craft(
    design: Any,
    craft: Any,
    distance: float,
    night: float,
    gravity: float,
    launch: float,
    landing: float,
    hops: int,
) -> None:
    """Size the vehicle and fill its row of the craft record.

    Parameters
    ----------
    design, craft : record
        Row of :data:`DESIGN` (read) and of :data:`CRAFT` (written).
    distance : float
        Heliocentric distance at the start [m].
    night : float
        Longest night on the route [s].
    gravity : float
        Largest surface gravity on the route [m/s2].
    launch, landing : float
        Largest velocity change of a launch and of a landing burn, losses included [m/s].
    hops : int
        Number of hops [1].
    """
    cruise_load, store_load, buffer = propellant_shares(design, launch, landing, hops)
    craft.cruise_load, craft.store_load, craft.buffer_mass = cruise_load, store_load, buffer
    craft.stop_store_share = 0.0
    if cruise_load + store_load > 0.0:
        # only the launch gas is made ready at the stop; the landing gas is made from water on the way
        craft.stop_store_share = min(buffer / (cruise_load + store_load), 1.0)
    size_fixed_items(design, craft, distance, night, cruise_load, store_load)
    dry, slope = close_dry_mass(design, craft, gravity)
    load = cruise_load + store_load
    craft.dry_mass = dry
    craft.wet_mass = dry * (1.0 + load)
    craft.propellant_mass = dry * load
    on_board = min(design.water_on_board, dry * load) if design.refuels > 0.5 else dry * load
    craft.start_mass = dry + on_board
    if design.refuels > 0.5:
        ratio, extra = 1.0, on_board
    else:
        ratio, extra = 1.0 + load, 0.0
    constant = size_growing_items(design, craft, 0.0, gravity)
    size_growing_items(design, craft, dry, gravity)
    spare = (design.launch_mass - extra) * (1.0 - slope) / ratio - constant
    craft.payload_capacity = max(
        design.payload_mass + spare / (1.0 + design.system_margin), -LARGE * design.launch_mass
    )
    craft.cruise_load = cruise_load * dry
    craft.store_load = store_load * dry
    craft.buffer_mass = buffer * dry
