"""Mass and power closure of one vehicle: sized once, then flown unchanged.

Every function is a scalar kernel over one row of the design record, so that the compiled engine, and plain
Python with compilation switched off, run the same source.
"""

from __future__ import annotations

from tradespace.spacecraft.cell import aged_energy_factor, aged_heat_fraction, fill_cells
from tradespace.spacecraft.closure import close_craft
from tradespace.spacecraft.heat import net_radiator_flux, trap_heat, waste_heat
from tradespace.spacecraft.layout import find_live_power, lay_out
from tradespace.spacecraft.power import (
    array_density,
    array_left,
    at_distance,
    bus_power,
    clean_area,
    cruise_power,
    cruise_surplus,
    day_and_night_need,
    heater_load,
    plain_load,
    plant_ceiling,
    pointed_power,
    propulsion_power,
    refuelling_power,
    source_power,
    steady_load,
    sun_pointed_power,
    thrust_of_power,
)
from tradespace.spacecraft.records import CRAFT, DESIGN, LARGE, MOST_UNUSABLE, QUANTITY_FIELDS
from tradespace.spacecraft.sizing import battery_inputs, drawn_shares, lasting_share
from tradespace.spacecraft.stated import size_stated_craft

__all__ = [
    "CRAFT",
    "DESIGN",
    "LARGE",
    "MOST_UNUSABLE",
    "QUANTITY_FIELDS",
    "aged_energy_factor",
    "aged_heat_fraction",
    "array_density",
    "array_left",
    "at_distance",
    "battery_inputs",
    "bus_power",
    "clean_area",
    "close_craft",
    "cruise_power",
    "cruise_surplus",
    "day_and_night_need",
    "drawn_shares",
    "fill_cells",
    "find_live_power",
    "heater_load",
    "lasting_share",
    "lay_out",
    "net_radiator_flux",
    "plain_load",
    "plant_ceiling",
    "pointed_power",
    "propulsion_power",
    "refuelling_power",
    "size_stated_craft",
    "source_power",
    "steady_load",
    "sun_pointed_power",
    "thrust_of_power",
    "trap_heat",
    "waste_heat",
]
