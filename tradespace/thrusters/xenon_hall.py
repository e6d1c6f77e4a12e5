"""Reference: Hall thruster on xenon, all of it carried from the start."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Performance, Store
from tradespace.thrusters.stores import UNLIMITED, Numbers, exhaust_velocity_of, filled, storable_engine
from tradespace.thrusters.values import number, table_ranges


@register
class XenonHall:
    """What a craft would do without mining: a flown electric thruster; storable propellant lands it."""

    name = "xenon_hall"
    title = "Xenon Hall thruster (does not refuel)"
    description = "Xenon carried from the start for cruise, storable bipropellant for launch and landing"
    refuels = False
    maturity = "flown for decades; life tests beyond 10 000 h (goebel_katz_2008, de_grys_2010)"

    def performance(self, conditions: Conditions) -> Performance:
        """Cruise performance for each design."""
        exhaust_velocity = exhaust_velocity_of(
            number(self.name, "specific_impulse"), conditions.specific_impulse_change
        )
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "water_per_propellant": 1.0,
            "power_per_thrust": 0.5
            * exhaust_velocity
            / number(self.name, "total_efficiency")
            * conditions.power_per_thrust_factor,
            "thrust_limit": UNLIMITED,
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "live_split_fraction": 0.0,
            "stop_split_fraction": 0.0,
            "throughput_life": UNLIMITED,
            "burn_life": number(self.name, "life_each"),
            "tank_factor": number(self.name, "tank_fraction"),
            "specific_volume": 1.0 / number(self.name, "storage_density"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Performance, conditions, numbers)

    def landing(self, conditions: Conditions) -> Store:
        """Storable bipropellant."""
        return storable_engine(conditions)

    def hop_engine(self, conditions: Conditions) -> None:
        """None: its thrust comes from live power alone."""
        del conditions

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
