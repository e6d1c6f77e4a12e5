"""Hall thruster on water vapour."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled
from tradespace.thrusters.values import number, table_ranges


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
    exhaust = "ions and atoms of oxygen and hydrogen, water vapour"
    rests_on = ("specific_impulse", "anode_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        The heat that evaporates the feed is under 1 % of the live power and inside the efficiency's scatter.
        """
        exhaust_velocity = exhaust_velocity_of(
            number(self.name, "specific_impulse"), conditions.specific_impulse_change
        )
        efficiency = number(self.name, "anode_efficiency") * number(self.name, "supply_efficiency")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": 0.5 * exhaust_velocity / efficiency * conditions.power_per_thrust_factor,
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": number(self.name, "life_each"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
