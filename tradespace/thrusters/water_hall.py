"""Hall thruster on water vapour."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Performance, Store
from tradespace.thrusters.stores import UNLIMITED, Numbers, exhaust_velocity_of, filled, stored_gas_engine
from tradespace.thrusters.values import number, table_ranges


@register
class WaterHall:
    """Ten times the exhaust velocity of chemistry, at an eighth of the power in the jet."""

    name = "water_hall"
    title = "Hall thruster on water"
    description = "Mined water is evaporated into a Hall thruster; frugal with water, hungry for power"
    refuels = True
    maturity = "laboratory, hours of running; life on water unknown (munoz_tejeda_2023)"

    def performance(self, conditions: Conditions) -> Performance:
        """Cruise performance for each design.

        The heat that evaporates the feed is under 1 % of the live power and inside the efficiency's scatter.
        """
        exhaust_velocity = exhaust_velocity_of(
            number(self.name, "specific_impulse"), conditions.specific_impulse_change
        )
        efficiency = number(self.name, "anode_efficiency") * number(self.name, "supply_efficiency")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "water_per_propellant": 1.0,
            "power_per_thrust": 0.5 * exhaust_velocity / efficiency * conditions.power_per_thrust_factor,
            "thrust_limit": UNLIMITED,
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "live_split_fraction": 0.0,
            "stop_split_fraction": 0.0,
            "throughput_life": UNLIMITED,
            "burn_life": number(self.name, "life_each"),
            "tank_factor": conditions.water_tank_fraction,
            "specific_volume": 1.0 / number("shared", "water_density"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Performance, conditions, numbers)

    def landing(self, conditions: Conditions) -> Store:
        """Stored hydrogen and oxygen, as on every water-fed craft."""
        return stored_gas_engine(conditions)

    def hop_engine(self, conditions: Conditions) -> None:
        """None: its thrust comes from live power alone."""
        del conditions

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
