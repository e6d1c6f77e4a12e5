"""Hydrogen and oxygen burned by a detonation that runs round an annulus.

Caution: mixed hydrogen and oxygen detonate at the slightest spark, at some twenty times the pressure before; mixed gas
is never kept. This is a concept estimate; local codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.physics.combustion import delivered_share
from tradespace.physics.compiled import FloatArray
from tradespace.physics.detonation import rotating_detonation_specific_impulse
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    Numbers,
    burned_specific_impulse,
    exhaust_velocity_of,
    filled,
    stored_gas_engine,
)
from tradespace.thrusters.values import number, stated, table_ranges


@register
class RotatingDetonation:
    """A short, light chamber that needs tens of grams a second: with what live electrolysis makes it does not run."""

    name = "rotating_detonation"
    title = "Rotating detonation"
    description = "Gases of split water, stored at the stop, feed a detonation that runs round an annulus"
    refuels = True
    maturity = "6 s in space on methane and oxygen (jsass_2022); hydrogen on the ground; life unknown"
    feed = "gases"
    storages = ("gas", "buffer")
    exhaust = "steam, with hydrogen, oxygen and their fragments"
    rests_on = ("least_flow", "life_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        thrust = number(self.name, "engine_thrust")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity_of(
                self._specific_impulse(conditions), conditions.specific_impulse_change
            ),
            "power_per_thrust": number(self.name, "valve_power") / thrust,
            "thrust_limit": thrust,
            "least_flow": number(self.name, "least_flow"),
            "mass": number(self.name, "feed_mass") + number(self.name, "mass_per_thrust") * thrust,
            "burn_life": number(self.name, "life_each"),
            "waste_heat_fraction": 1.0,
        }
        return filled(Engine, conditions, numbers)

    def _specific_impulse(self, conditions: Conditions) -> FloatArray | float:
        given = stated(self.name, "specific_impulse")
        if given is not None:
            return given
        ideal = burned_specific_impulse(conditions, 1.0)
        delivered = rotating_detonation_specific_impulse(
            ideal * delivered_share(number(self.name, "engine_thrust"))
        )
        return conditions.thruster_losses * delivered + (1.0 - conditions.thruster_losses) * ideal

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """The same engine, fed from gas stored at the stop, within its own thrust."""
        engine = self.engine(conditions)
        return stored_gas_engine(
            conditions,
            keeping,
            conditions.specific_impulse_change,
            self._specific_impulse(conditions),
            mass=engine.mass,
            mass_per_thrust=0.0,
            thrust_limit=engine.thrust_limit,
            burn_life=engine.burn_life,
        )

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
