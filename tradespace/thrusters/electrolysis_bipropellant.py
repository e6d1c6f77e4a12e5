"""Water split in flight, hydrogen and oxygen burned in bursts."""

from __future__ import annotations

from tradespace.physics.combustion import delivered_performance_factor, water_per_propellant
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Performance, Store
from tradespace.thrusters.stores import (
    UNLIMITED,
    Numbers,
    exhaust_velocity_of,
    feed_humidity,
    filled,
    stored_gas_engine,
    whole_water_specific_impulse,
)
from tradespace.thrusters.values import number, table_ranges


@register
class ElectrolysisBipropellant:
    """Electrolysis in flight feeds an engine through a small buffer: live power sets the mean thrust."""

    name = "electrolysis_bipropellant"
    title = "Electrolysis bipropellant"
    description = "Mined water is split in flight; hydrogen and oxygen are burned in bursts by a 110 N engine"
    refuels = True
    maturity = "ground: 27 h firing of a 110 N engine on the gases of split water (aerojet_ada236556)"

    def performance(self, conditions: Conditions) -> Performance:
        """Cruise performance for each design; all per kilogram of water split."""
        thrust = number(self.name, "engine_thrust")
        ideal = whole_water_specific_impulse(conditions, delivered_performance_factor(thrust))
        exhaust_velocity = exhaust_velocity_of(ideal, conditions.specific_impulse_change)
        share = 1.0 + number(self.name, "auxiliary_share")
        engines = number(self.name, "engines")
        shown = number(self.name, "demonstrated_time") * thrust * engines
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "water_per_propellant": water_per_propellant(conditions.mixture_ratio, feed_humidity(conditions)),
            "power_per_thrust": conditions.split_energy
            * share
            * conditions.power_per_thrust_factor
            / exhaust_velocity,
            "thrust_limit": thrust,
            "mass": number(self.name, "engine_mass") * engines,
            "mass_per_power": 0.0,  # the electrolyser is booked by itself
            "live_split_fraction": 1.0,
            "stop_split_fraction": 0.0,
            "throughput_life": shown
            / exhaust_velocity_of(number(self.name, "demonstrated_specific_impulse")),
            "burn_life": UNLIMITED,
            "tank_factor": conditions.water_tank_fraction,
            "specific_volume": 1.0 / number("shared", "water_density"),
            "waste_heat_fraction": (share - 1.0) / share,  # the electrolyser's heat is booked by itself
        }
        return filled(Performance, conditions, numbers)

    def landing(self, conditions: Conditions) -> Store:
        """Stored hydrogen and oxygen."""
        return stored_gas_engine(conditions)

    def hop_engine(self, conditions: Conditions) -> Store | None:
        """The same engine, fed from gas stored at the stop."""
        return stored_gas_engine(conditions, conditions.specific_impulse_change)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
