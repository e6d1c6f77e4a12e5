"""The dry mass at which everything adds up."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import inlined
from tradespace.spacecraft.records import ITERATIONS, LARGE, TOLERANCE
from tradespace.spacecraft.sizing import (
    propellant_shares,
    size_fixed_items,
    size_growing_items,
    size_power_items,
    water_at_stop,
)


@inlined
def close_dry_mass(design: Any, craft: Any, gravity: float, constant: float) -> tuple[float, float]:
    """Dry mass at which the items add up, by secant steps to 1e-10 of it, and the slope of the implied mass.

    ``constant`` is the mass implied by no dry mass at all [kg].

    A slope of one or more means that every kilogram asks for more than a kilogram: there is no finite mass, and
    ``LARGE`` times the launch mass is returned so that the other links still have numbers.
    """
    cap = LARGE * design.launch_mass
    old, old_error = 0.0, constant
    new = max(constant, design.payload_mass)
    slope = 0.0
    for _ in range(ITERATIONS):
        error = size_growing_items(design, craft, new, gravity) - new
        if new != old:
            slope = 1.0 + (error - old_error) / (new - old)
        if slope >= 1.0 or new > cap:
            break
        if abs(error) <= TOLERANCE * new:
            return new, slope
        old, old_error, new = new, error, new + error / (1.0 - slope)
    size_growing_items(design, craft, cap, gravity)
    return cap, slope


@inlined
def close_craft(
    design: Any,
    craft: Any,
    distance: float,
    nearest: float,
    night: float,
    lasting: float,
    span: float,
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
    nearest : float
        Least distance from the Sun on the route [m].
    night : float
        Longest night on the route [s].
    lasting : float
        Energy the battery gives in the last night over its rated energy [1], :func:`lasting_share`.
    span : float
        Length of the whole campaign [s].
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
        # of a buffer only the launch gas is made ready at the stop; the landing gas is made from water on the way
        craft.stop_store_share = min(buffer / (cruise_load + store_load), 1.0)
    craft.stop_mined, craft.stop_kept_share, _ = water_at_stop(design, craft, cruise_load, store_load)
    pointed = size_power_items(design, craft, distance, night, lasting, span)
    size_fixed_items(design, craft, pointed, distance, min(nearest, distance), span, cruise_load, store_load)
    constant = size_growing_items(design, craft, 0.0, gravity)
    dry, slope = close_dry_mass(design, craft, gravity, constant)
    load = cruise_load + store_load
    craft.dry_mass = dry
    craft.wet_mass = dry * (1.0 + load)
    craft.propellant_mass = dry * load
    on_board = (
        min(design.water_on_board, dry * load * craft.stop_mined) if design.refuels > 0.5 else dry * load
    )
    craft.start_mass = dry + on_board
    if design.refuels > 0.5:
        ratio, extra = 1.0, on_board
    else:
        ratio, extra = 1.0 + load, 0.0
    spare = (design.launch_mass - extra) * (1.0 - slope) / ratio - constant
    craft.payload_capacity = max(
        design.payload_mass + spare / (1.0 + design.system_margin), -LARGE * design.launch_mass
    )
    craft.cruise_load = cruise_load * dry
    craft.store_load = store_load * dry
    craft.buffer_mass = buffer * dry
