"""Water split in flight, hydrogen and oxygen burned in bursts."""

from __future__ import annotations

from tradespace.physics.combustion import delivered_performance_factor
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    Numbers,
    burned_specific_impulse,
    exhaust_velocity_of,
    filled,
    stored_gas_engine,
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

    feed = "gases"
    storages = ("buffer", "gas", "liquid", "water")
    exhaust = "steam, with hydrogen, oxygen and their fragments"
    rests_on = ("demonstrated_specific_impulse",)

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        thrust = number(self.name, "engine_thrust")
        ideal = burned_specific_impulse(conditions, delivered_performance_factor(thrust))
        exhaust_velocity = exhaust_velocity_of(ideal, conditions.specific_impulse_change)
        engines = number(self.name, "engines")
        shown = number(self.name, "demonstrated_time") * thrust * engines
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": 0.0,  # it is all in the splitting
            "auxiliary_share": number(self.name, "auxiliary_share"),
            "thrust_limit": thrust,
            "mass": number(self.name, "engine_mass") * engines,
            "throughput_life": shown
            / exhaust_velocity_of(number(self.name, "demonstrated_specific_impulse")),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """The same engine, fed from gas stored at the stop."""
        return stored_gas_engine(conditions, keeping, conditions.specific_impulse_change)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
