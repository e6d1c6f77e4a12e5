"""Electric thrusters that come in units: how many there are, how well one of them works, and how long it lasts.

Units are added where the live power is more than one of them takes; a craft with less runs one of them at part
load. Between its ends the number of units is not rounded, so that neighbouring designs do not jump.

Caution: hundreds of volts, and banks of capacitors that hold kilojoules, kill; rules for electrical work and
licensed practice rule. This is a concept estimate, not a design.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electric import (
    erosion_throughput_kernel,
    fixed_impulse_efficiency_kernel,
    loss_energy,
    pulse_mass_kernel,
    throttle_slope_kernel,
    thrust_efficiency_kernel,
    unit_efficiency_kernel,
)
from tradespace.thrusters.contract import UNLIMITED, Conditions, Engine
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled
from tradespace.thrusters.values import architecture_values, number

LEAST_EFFICIENCY = 1e-9
"""Keeps the power per thrust of a hopeless unit finite [1]."""


def steady_units(
    name: str, conditions: Conditions, efficiency: str, molar_mass: FloatArray | float, *, whole: bool = True
) -> Engine:
    """A set of units that burn steadily.

    Parameters
    ----------
    name : str
        Thruster whose table is read.
    conditions : Conditions
        What is known of each design.
    efficiency : str
        Row of the table with the efficiency of a unit, power supply apart.
    molar_mass : array_like
        Molar mass of what is fed [kg/mol].
    whole : bool
        Whether the what-if factor on the power applies here; not where splitting shares it.
    """
    speed, known_speed = speeds(name, conditions)
    supply = number(name, "supply_efficiency") if "supply_efficiency" in architecture_values(name) else 1.0
    into = np.maximum(conditions.live_power, 0.0) * supply
    units = np.maximum(into / number(name, "largest_unit_power"), 1.0)
    each = np.maximum(into / units, number(name, "least_power") * supply)  # less: no thrust at all
    half, steep = number(name, "half_power"), number(name, "power_exponent")
    lost = loss_energy(number(name, "particle_loss"), molar_mass)
    at_speed = broadcast(thrust_efficiency_kernel, speed, known_speed, number(name, efficiency), lost)
    working = broadcast(unit_efficiency_kernel, each, number(name, "unit_power"), at_speed, half, steep)
    numbers = common(name, conditions, speed, working * supply, whole=whole)
    numbers["least_power"] = number(name, "least_power") * conditions.thruster_losses
    numbers["throttle_exponent"] = (
        broadcast(throttle_slope_kernel, each, half, steep) / units * conditions.thruster_losses
    )
    numbers["mass"] = number(name, "mass")
    numbers["burn_life"] = number(name, "life_each")
    rows = architecture_values(name)
    if "throughput_each" in rows:
        stated = exhaust_velocity_of(number(name, "throughput_specific_impulse"))
        each_passes = broadcast(erosion_throughput_kernel, speed, stated, number(name, "throughput_each"))
        numbers["throughput_life"] = np.minimum(each_passes * units, UNLIMITED)
    if "largest_flow_each" in rows:
        limit = number(name, "largest_flow_each") * units * speed
        numbers["thrust_limit"] = np.where(conditions.thruster_losses > 0.0, limit, UNLIMITED)
    return filled(Engine, conditions, numbers)


def pulsed_units(name: str, conditions: Conditions, molar_mass: FloatArray | float | None) -> Engine:
    """A set of units that fire in pulses from banks of capacitors, at a rate that the live power sets.

    Parameters
    ----------
    name : str
        Thruster whose table is read.
    conditions : Conditions
        What is known of each design.
    molar_mass : array_like, optional
        Molar mass of what is fed [kg/mol] where a pulse loses a fixed energy per mass; without it a pulse has the same
        impulse whatever it accelerates.
    """
    speed, known_speed = speeds(name, conditions)
    known = number(name, "thrust_efficiency")
    if molar_mass is None:
        working = broadcast(fixed_impulse_efficiency_kernel, speed, known_speed, known)
    else:
        lost = loss_energy(number(name, "particle_loss"), molar_mass)
        working = broadcast(thrust_efficiency_kernel, speed, known_speed, known, lost)
    supply = number(name, "supply_efficiency")
    bank = number(name, "pulse_energy")
    into = np.maximum(conditions.live_power, 0.0) * supply
    units = np.maximum(into / (bank * number(name, "largest_pulse_rate")), 1.0)
    numbers = common(name, conditions, speed, working * supply, whole=True)
    numbers["mass"] = number(name, "mass") + units * bank * number(name, "capacitor_specific_mass")
    numbers["ignition_life"] = units * number(name, "pulse_life")
    numbers["charge"] = broadcast(pulse_mass_kernel, bank, speed, ideal_or(working, conditions))
    return filled(Engine, conditions, numbers)


def speeds(name: str, conditions: Conditions) -> tuple[FloatArray, FloatArray]:
    """Exhaust velocity asked, and the one at which the efficiency of the table holds [m/s]."""
    known = number(name, "specific_impulse")
    return exhaust_velocity_of(known, conditions.specific_impulse_change), exhaust_velocity_of(known)


def ideal_or(efficiency: FloatArray, conditions: Conditions) -> FloatArray:
    """The efficiency as delivered, or 1 for an ideal engine without losses [1]."""
    lost = (1.0 - np.maximum(efficiency, LEAST_EFFICIENCY)) * conditions.thruster_losses
    return np.asarray(1.0 - lost)


def common(
    name: str, conditions: Conditions, speed: FloatArray, efficiency: FloatArray, *, whole: bool
) -> Numbers:
    """What every electric thruster states, from its exhaust velocity [m/s] and efficiency on live power [1]."""
    factor = conditions.power_per_thrust_factor if whole else 1.0
    return {
        "exhaust_velocity": speed,
        "power_per_thrust": 0.5 * speed / ideal_or(efficiency, conditions) * factor,
        "mass_per_power": number(name, "mass_per_power"),
        "waste_heat_fraction": number(name, "waste_heat_fraction"),
    }
