"""Water heated electrically into steam; for a surface hop, boiled in a block of stored heat.

Caution: superheated steam under pressure scalds and bursts, and water must never meet molten silicon; pressure-vessel
codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.heating import (
    friction,
    heater_life,
    least_live_power,
    part_load,
    sized,
    steam_jet,
    units,
)
from tradespace.thrusters.stores import Numbers, filled, stored_heat_engine
from tradespace.thrusters.values import number, table_ranges


@register
class SteamResistojet:
    """Heats water as it flows; no chemistry, little energy per kilogram, little speed."""

    name = "steam_resistojet"
    title = "Steam resistojet"
    description = "Mined water is heated electrically into steam; surface hops boil it in stored heat"
    refuels = True
    maturity = (
        "flown at small scale; 10 000 h life test on the ground (sstl_steam_2004, nasa_ntrs_19900009166)"
    )

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "steam, cold enough past the nozzle to condense"
    rests_on = ("specific_impulse", "heater_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        A higher specific impulse needs hotter steam: more heat, more of it lost, and a heater that wears out sooner.
        Units smaller than the table's lose more heat, and more thrust to friction.
        """
        row = "heater_temperature"
        jet = steam_jet(conditions, self.name, row, friction=friction(conditions, self.name, row))
        efficiency = sized(conditions, self.name, "heater_efficiency", jet.loss_ratio)
        numbers: Numbers = {
            "exhaust_velocity": jet.speed,
            "power_per_thrust": jet.heat * conditions.power_per_thrust_factor / (efficiency * jet.speed),
            "least_power": least_live_power(conditions, self.name, 1.0 - efficiency),
            "throttle_exponent": part_load(efficiency, units(conditions, self.name)),
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": heater_life(self.name, jet.temperature),
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
