"""Gridded ion thruster whose source runs on water vapour, lit by microwaves at cyclotron resonance."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.values import table_ranges


@register
class WaterIon:
    """Ions of water through a pair of grids; most of the vapour passes unionised, so the jet is slow."""

    name = "water_ion"
    title = "Ion thruster on water"
    description = "Mined water is evaporated into a small microwave ion source with grids"
    refuels = True
    maturity = "laboratory units of tens of watts; a flight is announced (nakamura_2018)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "mostly water vapour, with ions of water and hydroxyl"
    rests_on = ("specific_impulse", "thrust_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        The heat that evaporates the feed is under 1 % of the live power.
        """
        return steady_units(self.name, conditions, "thrust_efficiency", value("molar_mass_water"))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
