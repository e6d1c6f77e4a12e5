"""Engines fed from what was made ready at the stop, and what keeping gas takes; shared by all architectures.

Cautions. Hydrogen with oxygen ignites at the slightest spark and, mixed, can detonate: the gases are taken to
be kept apart until they meet in the chamber. Oxygen under pressure feeds fires in almost any material, and
every tank here is a pressure vessel. This is a concept estimate, not a design; local codes and licensed
practice rule.
"""

from __future__ import annotations

import dataclasses
from typing import TypeVar

import numpy as np

from tradespace.constants import value
from tradespace.physics import electrothermal, nozzle
from tradespace.physics.combustion import (
    saturated_humidity_kernel,
    specific_impulse_vacuum,
    water_per_propellant,
)
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electrothermal import hydrogen_exhaust_velocity, oxygen_exhaust_velocity
from tradespace.physics.storage import (
    gas_tank_factor,
    hydrogen_compression_work_kernel,
    liquid_tank_volume,
    oxygen_compression_work_kernel,
    stored_gas_pv,
    stored_gas_volume,
)
from tradespace.thrusters.contract import UNLIMITED, Conditions, Engine, Keeping, Performance, Store
from tradespace.thrusters.values import number, spread

MEASURED_LOSSES = ("energy_release_efficiency", "viscous_loss_scale", "wall_heat_scale")
"""What tells the losses of a measured engine; not numbers where none has been measured."""
OXYGEN_ALONE = 1.0e9
"""Mixture ratio that stands for oxygen without any hydrogen [1]."""
LEAST_SPECIFIC_IMPULSE = 1.0
"""A what-if change never lowers the specific impulse below this [s]."""

Fields = TypeVar("Fields", Engine, Store, Performance)
Numbers = dict[str, FloatArray | float]


def filled(kind: type[Fields], conditions: Conditions, numbers: Numbers) -> Fields:
    """A record whose arrays all have the shape of the conditions; fields without a number take their defaults."""
    shape = np.broadcast_shapes(
        *(np.shape(getattr(conditions, field.name)) for field in dataclasses.fields(conditions))
    )
    complete = dict(numbers)
    for field in dataclasses.fields(kind):
        if field.name not in complete and field.default_factory is not dataclasses.MISSING:
            complete[field.name] = field.default_factory()
    arrays = spread(*complete.values(), np.zeros(shape))
    return kind(**dict(zip(complete, arrays, strict=False)))


def exhaust_velocity_of(specific_impulse: FloatArray | float, change: FloatArray | float = 0.0) -> FloatArray:
    """Effective exhaust velocity [m/s] of a specific impulse and a what-if change of it, both in seconds."""
    changed = np.maximum(np.asarray(specific_impulse, float) + change, LEAST_SPECIFIC_IMPULSE)
    return np.asarray(changed * value("standard_gravity"))


def feed_humidity(conditions: Conditions) -> FloatArray:
    """Water vapour in the gases as they leave the drier, by mass [1]; no more than the flame tables hold."""
    pressure = conditions.cell_pressure
    vapour = broadcast(saturated_humidity_kernel, conditions.gas_dew_point, pressure, whole_water_ratio())
    return np.minimum(vapour, number("shared", "most_feed_humidity"))


def measured_share(
    conditions: Conditions, thrust: FloatArray | float, otherwise: FloatArray | float
) -> FloatArray:
    """Delivered over ideal of an engine of that thrust [N] by the losses that a bench has found [1].

    Where a study gives none of the three losses, ``otherwise``; where it gives some, the usual ones stand for the rest.
    """
    losses = {name: np.asarray(getattr(conditions, name)) for name in MEASURED_LOSSES}
    if all(np.isnan(loss).all() for loss in losses.values()):
        return np.asarray(otherwise, dtype=np.float64)
    usual = {name: value(name, "nozzle_values.csv") for name in MEASURED_LOSSES}
    filled_in = {name: np.where(np.isnan(loss), usual[name], loss) for name, loss in losses.items()}
    share = nozzle.measured_share(
        thrust, conditions.mixture_ratio, conditions.chamber_pressure, conditions.expansion_ratio, **filled_in
    )
    return np.asarray(share)


def whole_water_ratio() -> float:
    """Mixture ratio at which all of the split water burns [1]."""
    return value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))


def burned_specific_impulse(conditions: Conditions, performance_factor: FloatArray | float) -> FloatArray:
    """Impulse per weight of what is burned [s] at the mixture ratio asked; vapour in the gases cools the flame."""
    frozen = specific_impulse_vacuum(
        conditions.mixture_ratio,
        conditions.chamber_pressure,
        conditions.expansion_ratio,
        "frozen",
        feed_humidity(conditions),
    )
    return np.asarray(frozen * performance_factor)


@dataclasses.dataclass(frozen=True)
class Book:
    """What becomes of the water that an engine on split water draws, per kilogram through its nozzle."""

    exhaust_velocity: FloatArray
    """On what is drawn from the tanks; on what is burned where the rest stays on board [m/s]."""
    drawn: FloatArray
    """Mass drawn from the tanks per mass through the nozzle [1]."""
    kept_share: FloatArray
    """Share of what is drawn that stays on board to the next landing [1]."""
    mined_per_load: FloatArray
    """Water mined per mass loaded [1]."""
    thrust_per_drawn: FloatArray
    """Impulse per mass drawn [m/s]."""
    stored_ratio: FloatArray
    """Mixture ratio of what is stored as gas [1]."""


def fed_ratio(conditions: Conditions, feed: str) -> FloatArray:
    """Mixture ratio of what an engine takes of split water [1]."""
    if feed == "hydrogen":
        return np.zeros(np.shape(conditions.mixture_ratio))
    if feed == "oxygen":
        return np.full(np.shape(conditions.mixture_ratio), OXYGEN_ALONE)
    return np.asarray(conditions.mixture_ratio)


def book_of(conditions: Conditions, feed: str, keeping: Keeping, jet: FloatArray) -> Book:
    """Account for the water of an engine with a jet of that velocity [m/s].

    Split water has a mixture ratio of 7.937. Burned richer in fuel, oxygen is left over, burned leaner, hydrogen is;
    an engine on one of the gases leaves the other. Vented, it is mass that gives no thrust; through a cold nozzle it
    gives some; flown, it rides along to the next landing; left at the stop, the craft never carries it but it is mined.
    """
    one = np.ones(np.shape(jet))
    if feed in {"water", "own"}:
        whole = np.full(np.shape(jet), whole_water_ratio())
        return Book(jet, one, 0.0 * one, one, jet, whole)
    ratio = fed_ratio(conditions, feed)
    humidity = 0.0 * ratio if feed == "oxygen" else feed_humidity(conditions)
    water = water_per_propellant(ratio, humidity)
    whole = np.full(np.shape(water), whole_water_ratio())
    if keeping.excess == "left":
        return Book(jet, one, 0.0 * one, water * one, jet, ratio)
    if keeping.excess == "flown":
        return Book(jet, water * one, (water - 1.0) / water * one, one, jet / water, whole)
    vent = cold_gas_velocity(ratio) if keeping.excess == "cold_gas" else 0.0
    speed = (jet + (water - 1.0) * vent) / water
    return Book(speed, water * one, 0.0 * one, one, speed, whole)


def cold_gas_velocity(ratio: FloatArray) -> FloatArray:
    """Exhaust velocity of what is in excess at a mixture ratio, let off cold [m/s]: oxygen or hydrogen."""
    place = (
        number("shared", "cold_gas_temperature"),
        value("standard_pressure"),
        number("shared", "cold_gas_expansion_ratio"),
    )
    oxygen, hydrogen = oxygen_exhaust_velocity(*place), hydrogen_exhaust_velocity(*place)
    ideal = np.where(ratio <= whole_water_ratio(), oxygen, hydrogen)
    return np.asarray(ideal * number("shared", "cold_gas_performance_factor"))


def stored_gas_engine(
    conditions: Conditions,
    keeping: Keeping,
    change: FloatArray | float = 0.0,
    specific_impulse: FloatArray | float | None = None,
    **others: FloatArray | float,
) -> Store:
    """Hydrogen and oxygen made at the stop, kept compressed or liquid, burned for launch and landing.

    Compression takes energy only where the electrolyser does not reach the tank pressure. An excess is left at the
    stop only where all propellant is split there.

    Parameters
    ----------
    conditions, keeping
        What is known of each design, and how its propellant is kept.
    change : array_like
        Added to the specific impulse of what is burned [s].
    specific_impulse : array_like, optional
        Of what is burned [s]; that of the landing engine unless given.
    **others : array_like
        Fields of the store that differ from those of the landing engine.
    """
    if keeping.excess == "left" and keeping.storage not in {"gas", "liquid"}:
        keeping = Keeping(keeping.storage, "vented")
    if specific_impulse is None:
        factor = np.where(conditions.thruster_losses > 0.0, conditions.landing_performance_factor, 1.0)
        specific_impulse = burned_specific_impulse(conditions, factor)
    book = book_of(conditions, "gases", keeping, exhaust_velocity_of(specific_impulse, change))
    tank_factor, volume = gas_tanks(conditions, book.stored_ratio)
    energy, lost = gas_keeping(conditions, book.stored_ratio)
    numbers: Numbers = {
        "exhaust_velocity": book.exhaust_velocity,
        "energy": energy,
        "waste_heat_fraction": 1.0,  # compressed or liquefied, a gas keeps none of the work as heat
        "loss_fraction": lost,
        "holding_time": UNLIMITED,
        "mass": 0.0,
        "split_fraction": 1.0,
        "tank_factor": tank_factor,
        "specific_volume": volume,
        "mass_per_thrust": conditions.landing_engine_specific_mass,
        "thrust_limit": UNLIMITED,
        "kept_share": book.kept_share,
        "mined_per_load": book.mined_per_load,
    }
    return filled(Store, conditions, {**numbers, **others})


def stored_heat_engine(conditions: Conditions, change: FloatArray | float = 0.0, mass: float = 0.0) -> Store:
    """Water boiled and superheated in a block of molten silicon that was melted at the stop, area ratio 100.

    The block rides along as part of the tank mass. The study's expansion ratio belongs to the combustion engine and
    does not enter here.
    """
    temperature = conditions.steam_temperature
    factor = np.where(conditions.thruster_losses > 0.0, number("shared", "stored_performance_factor"), 1.0)
    heat = electrothermal.steam_energy(temperature, value("standard_pressure"))
    area = value("stored_steam_expansion_ratio", "electrothermal_values.csv")
    ideal = electrothermal.steam_exhaust_velocity(temperature, value("standard_pressure"), area)
    block = heat / conditions.heat_store_specific_energy
    numbers: Numbers = {
        "exhaust_velocity": exhaust_velocity_of(ideal / value("standard_gravity") * factor, change),
        "energy": heat / number("shared", "stored_heater_efficiency"),
        "waste_heat_fraction": 0.0,  # what the heater loses leaves by the insulation of the hot store
        "loss_fraction": 0.0,
        "holding_time": conditions.heat_store_holding_time,
        "mass": mass,
        "split_fraction": 0.0,
        "tank_factor": conditions.water_tank_fraction + block,
        "specific_volume": 1.0 / number("shared", "water_density")
        + block / number("shared", "heat_store_density"),
        "mass_per_thrust": conditions.landing_engine_specific_mass,
        "thrust_limit": UNLIMITED,
    }
    return filled(Store, conditions, numbers)


def shares_of(ratio: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mass shares of hydrogen and oxygen in what is stored at a mixture ratio [1]."""
    hydrogen = 1.0 / (1.0 + np.asarray(ratio))
    return hydrogen, 1.0 - hydrogen


def gas_keeping(conditions: Conditions, ratio: FloatArray | None = None) -> tuple[FloatArray, FloatArray]:
    """Energy to store a kilogram of gas at a mixture ratio [J/kg], and the share lost before it is burned [1]."""
    hydrogen, oxygen = shares_of(np.asarray(whole_water_ratio()) if ratio is None else ratio)
    liquid = conditions.storage_is_liquid
    liquefaction = (
        hydrogen * conditions.hydrogen_liquefaction_energy + oxygen * conditions.oxygen_liquefaction_energy
    )
    lasting = np.exp(
        -conditions.gas_hold_time * (1.0 / conditions.leak_time + liquid * conditions.boil_off_rate)
    )
    gas = (1.0 - liquid) * compression(conditions, hydrogen, oxygen)
    return np.asarray(liquid * liquefaction + gas), np.asarray(1.0 - lasting)


def compression(conditions: Conditions, hydrogen: FloatArray, oxygen: FloatArray) -> FloatArray:
    """Energy to bring gas with those mass shares from the cell's to the tank's pressure [J/kg]."""
    if np.all(conditions.cell_pressure >= conditions.storage_pressure):
        return np.zeros(())
    place = (
        conditions.storage_temperature,
        conditions.cell_pressure,
        np.maximum(conditions.storage_pressure, conditions.cell_pressure),
    )
    least = hydrogen * broadcast(hydrogen_compression_work_kernel, *place) + oxygen * broadcast(
        oxygen_compression_work_kernel, *place
    )
    return np.asarray(least / conditions.compression_efficiency)


def gas_tanks(conditions: Conditions, ratio: FloatArray | None = None) -> tuple[FloatArray, FloatArray]:
    """Tank mass per mass [1] and volume per mass [m3/kg] of hydrogen and oxygen at a mixture ratio, gas or liquid."""
    held = np.asarray(whole_water_ratio()) if ratio is None else ratio
    pv = stored_gas_pv(conditions.storage_temperature, conditions.storage_pressure, held)
    volume = stored_gas_volume(conditions.storage_temperature, conditions.storage_pressure, held)
    factor = gas_tank_factor(pv, conditions.tank_performance, conditions.tank_safety_factor)
    liquid = conditions.storage_is_liquid
    if not np.any(liquid > 0.0):
        return factor, volume
    roomy = liquid_tank_volume(held, conditions.liquid_ullage)
    cold = roomy * conditions.liquid_tank_density
    return liquid * cold + (1.0 - liquid) * factor, liquid * roomy + (1.0 - liquid) * volume


def storable_engine(conditions: Conditions, change: FloatArray | float = 0.0) -> Store:
    """Storable bipropellant carried from the start, burned for launch and landing."""
    numbers: Numbers = {
        "exhaust_velocity": exhaust_velocity_of(number("storable_bipropellant", "specific_impulse"), change),
        "energy": 0.0,
        "waste_heat_fraction": 0.0,
        "loss_fraction": 0.0,
        "holding_time": UNLIMITED,
        "mass": 0.0,
        "split_fraction": 0.0,
        "tank_factor": number("storable_bipropellant", "tank_fraction"),
        "specific_volume": 1.0 / number("storable_bipropellant", "storage_density"),
        "mass_per_thrust": conditions.landing_engine_specific_mass,
        "thrust_limit": UNLIMITED,
    }
    return filled(Store, conditions, numbers)
