"""Steam heated by microwaves in a discharge that no electrode or wall touches."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.heating import least_live_power, plasma_efficiency
from tradespace.thrusters.stores import Numbers, filled
from tradespace.thrusters.values import number, table_ranges


@register
class MicrowaveElectrothermal:
    """Hotter than any wall stands; what it reaches on water is known from its developers alone."""

    name = "microwave_electrothermal"
    title = "Microwave electrothermal"
    description = "Mined water is evaporated and heated by a microwave discharge held off the walls"
    refuels = True
    maturity = "flown 140 min; performance unpublished, 800 s claimed (momentus_2023, brandenburg_2005)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "steam, H2, O2, OH, and atoms of oxygen and hydrogen"
    rests_on = ("specific_impulse", "thrust_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        Half the heat of steam that gives 400 s is spent on splitting it, and more at 800 s; the efficiency follows the
        specific impulse through the tables of hot steam. Even with full recombination the ideal jet of 800 s carries
        less than half of its heat, so the claim of 800 s at an efficiency of one half is above what steam can do.
        """
        exhaust_velocity, efficiency = plasma_efficiency(conditions, self.name)
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": 0.5 * exhaust_velocity / efficiency * conditions.power_per_thrust_factor,
            "least_power": least_live_power(conditions, self.name, number(self.name, "least_power_share")),
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
