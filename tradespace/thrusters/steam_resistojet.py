"""Water heated electrically into steam; for a surface hop, boiled in a block of stored heat.

Caution: superheated steam under pressure scalds and bursts, and water must never meet molten silicon; pressure-vessel
codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics import electrothermal
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled, stored_heat_engine
from tradespace.thrusters.values import number, table_ranges


def steam_energy(temperature: FloatArray | float) -> FloatArray:
    """Heat from liquid water at 298 K to steam [J/kg] at a temperature [K]."""
    return electrothermal.steam_energy(temperature, value("standard_pressure"))


@register
class SteamResistojet:
    """Heats water as it flows; no chemistry, little energy per kilogram, little speed."""

    name = "steam_resistojet"
    title = "Steam resistojet"
    description = "Mined water is heated electrically into steam; surface hops boil it in stored heat"
    refuels = True
    maturity = "flown at small scale; 10 000 h life test on the ground (lawrence_1998, nasa_ntrs_19900009166)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "steam"
    rests_on = ("specific_impulse", "heater_temperature")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        delivered = number(self.name, "specific_impulse")
        exhaust_velocity = exhaust_velocity_of(delivered, conditions.specific_impulse_change)
        heat = steam_energy(number(self.name, "heater_temperature")) / number(self.name, "heater_efficiency")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": heat * conditions.power_per_thrust_factor / exhaust_velocity,
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": number(self.name, "life_each"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Steam from a block of heat that was stored at the stop."""
        del keeping
        return stored_heat_engine(conditions, conditions.specific_impulse_change, number(self.name, "mass"))

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
