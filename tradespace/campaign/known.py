"""Room that hops work in: what a hop is at both its ends, and array densities that designs of one array share."""

from __future__ import annotations

import math
from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.spacecraft import array_density

BATCH, ENDS = 32, 8
"""Designs that go through a hop side by side, and numbers by which a hop is judged at both its ends.

Those are the distances from the Sun at departure and landing [m], the ages of the mission at both [s], the powers of
the array square to the Sun at both [W], and distance and power at the arrival before.
"""
HOPS, STRETCHES = 8, 32
"""Hops and stretches of a stop that are remembered."""
FARTHEST = 0
ARRIVAL = FARTHEST + 2 * HOPS
FIRST_STOP = ARRIVAL + 2
DATES = FIRST_STOP + 4 * STRETCHES
ROOM = DATES + HOPS
"""Places of what is remembered: pairs of a distance and the density there, the date that the last design chose on each
hop, as a place in the calendar; and of all there is room for."""
NOWHERE_KNOWN = DATES


@kernel
def array_inputs(design: Any) -> tuple[float, float, float, float, float, float, float]:
    """What the density of an array depends on besides its distance from the Sun."""
    return (
        float(design.array_efficiency),
        float(design.array_reference_temperature),
        float(design.array_temperature_coefficient),
        float(design.array_absorptivity),
        float(design.array_emissivity),
        float(design.low_intensity_loss),
        0.0 if math.isnan(design.sun_distance) else float(design.sun_distance),
    )


@kernel
def forget(room: Any) -> None:
    """Forget the densities of another array; no distance is zero."""
    for place in range(DATES):
        room[place] = 0.0


@kernel
def known_density(design: Any, distance: float, room: Any, place: int) -> float:
    """:func:`array_density` of a design, remembered for the next one if that comes to the same distance [W/m2].

    At ``NOWHERE_KNOWN`` and beyond nothing is remembered.
    """
    if place >= NOWHERE_KNOWN:
        return float(array_density(design, distance))
    if room[place] != distance:
        room[place], room[place + 1] = distance, array_density(design, distance)
    return float(room[place + 1])
