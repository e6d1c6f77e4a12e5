"""A craft whose mass and propellant are stated: its items are sized and set beside the dry mass that is left."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.spacecraft.records import LARGE
from tradespace.spacecraft.sizing import (
    battery_inputs,
    lasting_share,
    size_fixed_items,
    size_growing_items,
    size_power_items,
    water_at_stop,
)

LEAST_DRY_SHARE = 1e-3  # of the stated mass, so that a craft of propellant alone stays finite


@kernel
def size_stated_craft(design: Any, craft: Any, distance: float, span: float) -> None:
    """Fill the row of the craft record for a stated mass and load, in sunlight without nights, with nothing mined.

    Parameters
    ----------
    design, craft : record
        Row of :data:`DESIGN` (read) and of :data:`CRAFT` (written).
    distance : float
        Heliocentric distance [m].
    span : float
        Length of the whole mission [s].
    """
    load = min(design.water_on_board, (1.0 - LEAST_DRY_SHARE) * design.launch_mass)
    left = design.launch_mass - load
    share = load / left
    craft.cruise_load, craft.store_load, craft.buffer_mass, craft.stop_store_share = share, 0.0, 0.0, 0.0
    craft.stop_mined, craft.stop_kept_share, _ = water_at_stop(design, craft, share, 0.0)
    lasting = lasting_share(battery_inputs(design), span, span)
    pointed = size_power_items(design, craft, distance, 0.0, lasting, span)
    size_fixed_items(design, craft, pointed, distance, distance, span, share, 0.0)
    craft.extraction_mass = craft.extraction_rate = craft.trap_area = 0.0
    dry = min(size_growing_items(design, craft, left, 0.0), LARGE * design.launch_mass)
    craft.dry_mass, craft.propellant_mass = dry, load
    craft.wet_mass = craft.start_mass = dry + load
    craft.payload_capacity = design.payload_mass + (left - dry) / (1.0 + design.system_margin)
    craft.cruise_load = load
