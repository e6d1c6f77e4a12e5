"""Mass and power closure of one vehicle: sized once, then flown unchanged.

Every function is a scalar kernel over one row of the design record, so that the compiled engine, and plain
Python with compilation switched off, run the same source.
"""

from __future__ import annotations

from tradespace.spacecraft.cell import aged_energy_factor, fill_cells
from tradespace.spacecraft.closure import close_craft
from tradespace.spacecraft.heat import net_radiator_flux, trap_heat, waste_heat
from tradespace.spacecraft.power import (
    bus_power,
    day_and_night_need,
    plant_ceiling,
    refuelling_power,
    source_power,
    steady_load,
    sun_pointed_power,
)
from tradespace.spacecraft.records import CRAFT, DESIGN, LARGE, QUANTITY_FIELDS

__all__ = [
    "CRAFT",
    "DESIGN",
    "LARGE",
    "QUANTITY_FIELDS",
    "aged_energy_factor",
    "bus_power",
    "close_craft",
    "day_and_night_need",
    "fill_cells",
    "net_radiator_flux",
    "plant_ceiling",
    "refuelling_power",
    "source_power",
    "steady_load",
    "sun_pointed_power",
    "trap_heat",
    "waste_heat",
]
