"""Hall thruster on water vapour."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.values import table_ranges


@register
class WaterHall:
    """Ten times the exhaust velocity of chemistry, at an eighth of the power in the jet."""

    name = "water_hall"
    title = "Hall thruster on water"
    description = "Mined water is evaporated into a Hall thruster; frugal with water, hungry for power"
    refuels = True
    maturity = "laboratory, hours of running; life on water unknown (munoz_tejeda_2023)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "ions and atoms of oxygen and hydrogen, and water vapour"
    rests_on = ("specific_impulse", "anode_efficiency", "life_each", "throughput_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        The heat that evaporates the feed is under 1 % of the live power and inside the efficiency's scatter.
        """
        return steady_units(self.name, conditions, "anode_efficiency", value("molar_mass_water"))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
