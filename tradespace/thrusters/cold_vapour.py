"""Water evaporated at room temperature and let off through a nozzle."""

from __future__ import annotations

import numpy as np

from tradespace.physics.compiled import broadcast
from tradespace.physics.electrothermal import steam_energy_kernel
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.heating import friction, ideal_speed, part_load, sized, units, with_losses
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled
from tradespace.thrusters.values import number, table_ranges


@register
class ColdVapour:
    """The heat of evaporation is nearly all it takes, and nearly all of it stays in the vapour."""

    name = "cold_vapour"
    title = "Cold vapour"
    description = (
        "Mined water evaporates from films or chambers at room temperature and leaves through a nozzle"
    )
    refuels = True
    maturity = "flown: more than 4 mN measured, 14 manoeuvres in deep space (asakawa_2018, equuleus_2023)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "water vapour, partly condensed to ice on the way out"
    rests_on = ("specific_impulse", "heater_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design: heat of evaporation over what the nozzle makes of the vapour's warmth.

        The specific impulse that is asked is one of the nozzle, not of the temperature. Units smaller than the table's
        lose more heat, and more thrust to friction.
        """
        temperature, pressure = number(self.name, "vapour_temperature"), number(self.name, "steam_pressure")
        ideal = ideal_speed(temperature, pressure, number(self.name, "expansion_ratio"))
        known = exhaust_velocity_of(number(self.name, "specific_impulse"))
        asked = exhaust_velocity_of(number(self.name, "specific_impulse"), conditions.specific_impulse_change)
        whole = np.maximum(ideal, known)
        kept = known / whole * friction(conditions, self.name, "vapour_temperature")
        exhaust_velocity = asked * whole / known * with_losses(conditions, kept)
        efficiency = sized(conditions, self.name, "heater_efficiency")
        heat = broadcast(steam_energy_kernel, temperature, pressure) / efficiency
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": heat * conditions.power_per_thrust_factor / exhaust_velocity,
            "throttle_exponent": part_load(efficiency, units(conditions, self.name)),
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": number(self.name, "life_each"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: water in its tank can give up 3 % of itself as vapour before it freezes, too little for a hop."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
