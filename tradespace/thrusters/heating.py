"""What the heated thrusters share: units side by side, heaters of other sizes, and jets of hot steam.

The rows of a thruster hold for one full unit of its ``unit_power``. More power than that is more units side by side,
each as good; less is one smaller unit, which loses a larger share of its heat.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electrothermal import (
    sized_efficiency_kernel,
    steam_energy_kernel,
    steam_exhaust_velocity_kernel,
    steam_jet_efficiency_kernel,
    steam_temperature_kernel,
    steam_viscous_share_kernel,
    wear_life_kernel,
)
from tradespace.thrusters.contract import UNLIMITED, Conditions
from tradespace.thrusters.stores import exhaust_velocity_of
from tradespace.thrusters.values import number

VALUES = "electrothermal_values.csv"
FROZEN = 1.0
"""Third argument of the ideal speed of steam: composition as it left the chamber."""


def least_size() -> float:
    """A unit is never taken smaller than this part of a full one [1]."""
    return value("least_unit_share", VALUES)


def units(conditions: Conditions, name: str) -> FloatArray:
    """Number of units side by side; not less than one [1]."""
    return np.asarray(np.maximum(conditions.live_power / number(name, "unit_power"), 1.0))


def size(conditions: Conditions, name: str) -> FloatArray:
    """Power of one unit over that of a full one [1]."""
    ratio = conditions.live_power / number(name, "unit_power")
    return np.asarray(np.clip(ratio, least_size(), 1.0))


def with_losses(conditions: Conditions, share: FloatArray | float) -> FloatArray:
    """A share that is lost only where the thruster has losses at all, 1 otherwise [1]."""
    return np.asarray(1.0 - conditions.thruster_losses * (1.0 - np.asarray(share, float)))


def heat_exponent() -> float:
    """Exponent with which heat lost per heat used falls with the power of a heater [1]."""
    return value("heat_loss_size_exponent", VALUES)


def least_live_power(conditions: Conditions, name: str, share: FloatArray | float) -> FloatArray:
    """Share of the power of one unit below which it gives no thrust, in power [W]; none for an ideal one."""
    one = number(name, "unit_power") * size(conditions, name)
    return np.asarray(one * share * conditions.thruster_losses)


def sized(conditions: Conditions, name: str, row: str, loss_ratio: FloatArray | float = 1.0) -> FloatArray:
    """An efficiency of the table for a unit of the size that the power allows [1]."""
    there = size(conditions, name)
    return with_losses(
        conditions,
        broadcast(sized_efficiency_kernel, number(name, row), there, loss_ratio, heat_exponent()),
    )


@dataclass(frozen=True)
class Jet:
    """A steam jet at the specific impulse that is asked, beside the one of the table."""

    speed: FloatArray
    """Exhaust velocity delivered, friction in a small nozzle included [m/s]."""
    temperature: FloatArray
    """Steam temperature [K]."""
    heat: FloatArray
    """Heat in each kilogram of steam [J/kg]."""
    loss_ratio: FloatArray
    """Temperature above the surroundings over that of the table [1]."""


def steam_jet(
    conditions: Conditions, name: str, temperature_row: str, hottest: FloatArray | float = UNLIMITED,
    friction: FloatArray | float = 1.0,
) -> Jet:  # fmt: skip
    """The jet of steam that is heated by a wall.

    The table tells one specific impulse and the temperature it takes; what the nozzle makes of the ideal there it makes
    at other temperatures too. The temperature follows from the specific impulse that is asked.

    Parameters
    ----------
    conditions, name
        What is known of each design; the thruster.
    temperature_row : str
        Row of the table with the steam temperature.
    hottest : array_like
        Temperature that the steam cannot pass [K].
    friction : array_like
        Speed that a smaller unit keeps, over that of a full one [1].
    """
    pressure, area = number(name, "steam_pressure"), number(name, "expansion_ratio")
    known = exhaust_velocity_of(number(name, "specific_impulse"))
    needed = broadcast(steam_temperature_kernel, known, pressure, area, 0.0)
    hot = np.maximum(number(name, temperature_row), needed)
    kept = known / ideal_speed(hot, pressure, area)
    asked = exhaust_velocity_of(number(name, "specific_impulse"), conditions.specific_impulse_change)
    wanted = broadcast(steam_temperature_kernel, asked / kept, pressure, area, 0.0)
    temperature = np.minimum(wanted, hottest)
    reached = np.where(wanted <= hottest, asked, kept * ideal_speed(temperature, pressure, area))
    around = value("heater_surroundings_temperature", VALUES)
    return Jet(
        speed=reached / kept * with_losses(conditions, kept * friction),
        temperature=temperature,
        heat=broadcast(steam_energy_kernel, temperature, pressure),
        loss_ratio=np.asarray(np.maximum(temperature - around, 0.0) / np.maximum(hot - around, 1.0)),
    )


def ideal_speed(
    temperature: FloatArray | float, pressure: FloatArray | float, area: FloatArray | float
) -> FloatArray:
    """Ideal exhaust velocity of steam of that temperature, composition frozen [m/s]."""
    return broadcast(steam_exhaust_velocity_kernel, temperature, pressure, area, FROZEN)


def friction(conditions: Conditions, name: str, temperature_row: str) -> FloatArray:
    """Speed that a smaller unit keeps against friction in its nozzle, over what a full one keeps [1]."""
    temperature = number(name, temperature_row)
    pressure, area = number(name, "steam_pressure"), number(name, "expansion_ratio")
    heat = broadcast(steam_energy_kernel, temperature, pressure) / number(name, "heater_efficiency")
    full = number(name, "unit_power") * exhaust_velocity_of(number(name, "specific_impulse")) / heat
    small, whole = (
        broadcast(steam_viscous_share_kernel, push, temperature, pressure, area)
        for push in (full * size(conditions, name), full)
    )
    return np.asarray(small / whole)


def heater_life(name: str, temperature: FloatArray) -> FloatArray:
    """Life of the hot parts at a steam temperature [s]; never longer than anyone has argued for."""
    found = broadcast(
        wear_life_kernel,
        temperature, number(name, "life_temperature"), number(name, "life_each"),
        number(name, "activation_temperature"),
    )  # fmt: skip
    return np.asarray(np.minimum(found, number(name, "longest_life")))


def plasma_efficiency(conditions: Conditions, name: str) -> tuple[FloatArray, FloatArray]:
    """Exhaust velocity [m/s] and jet over input power [1] of steam heated away from the walls, by an arc or microwaves.

    The table tells the efficiency at one specific impulse. What the ideal jet of such steam makes of its heat is known;
    the rest of the loss, on the way from the source into the steam, is taken to stay as it is at other specific
    impulses, and to grow in smaller units.
    """
    place = (number(name, "steam_pressure"), number(name, "expansion_ratio"), number(name, "recombination"))
    known = exhaust_velocity_of(number(name, "specific_impulse"))
    asked = exhaust_velocity_of(number(name, "specific_impulse"), conditions.specific_impulse_change)
    ideal = [broadcast(steam_jet_efficiency_kernel, speed, *place) for speed in (known, asked)]
    into_steam = number(name, "thrust_efficiency") / ideal[0]
    beyond = np.maximum(into_steam, 1.0)  # more than such steam can give: the table's word stands
    held = broadcast(
        sized_efficiency_kernel, np.minimum(into_steam, 1.0), size(conditions, name), 1.0, heat_exponent()
    )
    return asked, with_losses(conditions, np.minimum(held * beyond * ideal[1], 1.0))


def part_load(efficiency: FloatArray, count: FloatArray) -> FloatArray:
    """How much faster than the power the thrust falls at part load [1].

    A hot body at its temperature loses the same heat however little flows through it; of several units one is shut.
    """
    return np.asarray((1.0 / np.maximum(efficiency, least_size()) - 1.0) / count)
