"""Engines fed from what was made ready at the stop, shared by several architectures.

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
from tradespace.physics.combustion import (
    saturated_humidity_kernel,
    specific_impulse_vacuum,
    water_specific_impulse,
)
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.storage import (
    compression_energy_kernel,
    gas_tank_factor,
    liquefaction_energy_kernel,
    liquid_tank_volume,
    stored_gas_pv,
    stored_gas_volume,
)
from tradespace.thrusters.contract import Conditions, Performance, Store
from tradespace.thrusters.values import number, spread

UNLIMITED = 1.0e12
"""Thrust that stands for "as many engines as needed" [N]."""
LEAST_SPECIFIC_IMPULSE = 1.0
"""A what-if change never lowers the specific impulse below this [s]."""

Fields = TypeVar("Fields", Store, Performance)
Numbers = dict[str, FloatArray | float]


def filled(kind: type[Fields], conditions: Conditions, numbers: Numbers) -> Fields:
    """A record whose arrays all have the shape of the conditions."""
    shape = np.broadcast_shapes(
        *(np.shape(getattr(conditions, field.name)) for field in dataclasses.fields(conditions))
    )
    names = list(numbers)
    arrays = spread(*(numbers[name] for name in names), np.zeros(shape))
    return kind(**dict(zip(names, arrays, strict=False)))


def exhaust_velocity_of(specific_impulse: FloatArray | float, change: FloatArray | float = 0.0) -> FloatArray:
    """Effective exhaust velocity [m/s] of a specific impulse and a what-if change of it, both in seconds."""
    changed = np.maximum(np.asarray(specific_impulse, float) + change, LEAST_SPECIFIC_IMPULSE)
    return np.asarray(changed * value("standard_gravity"))


def feed_humidity(conditions: Conditions) -> FloatArray:
    """Water vapour in the gases as they leave the drier, by mass [1]; no more than the flame tables hold."""
    pressure = conditions.cell_pressure
    vapour = broadcast(saturated_humidity_kernel, conditions.gas_dew_point, pressure, whole_water_ratio())
    return np.minimum(vapour, number("shared", "most_feed_humidity"))


def whole_water_ratio() -> float:
    """Mixture ratio at which all of the split water burns [1]."""
    return value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))


def whole_water_specific_impulse(
    conditions: Conditions, performance_factor: FloatArray | float
) -> FloatArray:
    """Impulse per weight of water taken [s], hydrogen and oxygen burned at the mixture ratio asked.

    Split water has a mixture ratio of 7.937. Burned richer in fuel, oxygen is left over, burned leaner,
    hydrogen is; the left-over part was split and carried and gives no thrust, so the value per kilogram of
    water falls with it. Vapour that the drier leaves in the gases cools the flame.
    """
    humidity = feed_humidity(conditions)
    frozen = specific_impulse_vacuum(
        conditions.mixture_ratio,
        conditions.chamber_pressure,
        conditions.expansion_ratio,
        "frozen",
        humidity,
    )
    burned = frozen * performance_factor
    return water_specific_impulse(burned, conditions.mixture_ratio, 0.0, humidity)


def stored_gas_engine(conditions: Conditions, change: FloatArray | float = 0.0) -> Store:
    """Hydrogen and oxygen made at the stop, kept compressed or liquid, burned for launch and landing.

    Everything is counted per kilogram of water split: both gases in full are stored, whatever the mixture
    ratio. Compression takes energy only where the electrolyser does not reach the tank pressure.
    """
    specific_impulse = whole_water_specific_impulse(conditions, conditions.landing_performance_factor)
    tank_factor, volume = gas_tanks(conditions)
    energy, lost = gas_keeping(conditions)
    numbers: Numbers = {
        "exhaust_velocity": exhaust_velocity_of(specific_impulse, change),
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
    }
    return filled(Store, conditions, numbers)


def gas_keeping(conditions: Conditions) -> tuple[FloatArray, FloatArray]:
    """Energy to store the gases of a kilogram of water [J/kg], and the share lost before it is burned [1]."""
    liquid = conditions.storage_is_liquid
    liquefaction = broadcast(
        liquefaction_energy_kernel,
        conditions.hydrogen_liquefaction_energy,
        conditions.oxygen_liquefaction_energy,
    )
    lasting = np.exp(
        -conditions.gas_hold_time * (1.0 / conditions.leak_time + liquid * conditions.boil_off_rate)
    )
    return liquid * liquefaction + (1.0 - liquid) * compression(conditions), 1.0 - lasting


def compression(conditions: Conditions) -> FloatArray:
    """Energy to bring the gases of a kilogram of water from the cell's to the tank's pressure [J/kg]."""
    if np.all(conditions.cell_pressure >= conditions.storage_pressure):
        return np.zeros(())
    return broadcast(
        compression_energy_kernel,
        conditions.storage_temperature,
        conditions.cell_pressure,
        np.maximum(conditions.storage_pressure, conditions.cell_pressure),
        conditions.compression_efficiency,
    )


def gas_tanks(conditions: Conditions) -> tuple[FloatArray, FloatArray]:
    """Tank mass per mass [1] and volume per mass [m3/kg] of the gases from split water, compressed or liquid."""
    whole = whole_water_ratio()
    pv = stored_gas_pv(conditions.storage_temperature, conditions.storage_pressure, whole)
    volume = stored_gas_volume(conditions.storage_temperature, conditions.storage_pressure, whole)
    factor = gas_tank_factor(pv, conditions.tank_performance, conditions.tank_safety_factor)
    liquid = conditions.storage_is_liquid
    if not np.any(liquid > 0.0):
        return factor, volume
    roomy = liquid_tank_volume(whole, conditions.liquid_ullage)
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
        "specific_volume": 1.0 / number("storable_bipropellant", "bulk_density"),
        "mass_per_thrust": conditions.landing_engine_specific_mass,
        "thrust_limit": UNLIMITED,
    }
    return filled(Store, conditions, numbers)
