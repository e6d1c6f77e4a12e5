"""Reference: storable bipropellant, all of it carried from the start.

Caution: the propellants are toxic, corrosive and ignite on contact; handling is for licensed practice alone.
"""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled, storable_engine
from tradespace.thrusters.values import number, table_ranges


@register
class StorableBipropellant:
    """What a craft would do without mining: proven engines and a shrinking tank."""

    name = "storable_bipropellant"
    title = "Storable bipropellant (does not refuel)"
    description = "Nitrogen tetroxide and a hydrazine fuel carried from the start; also lands the craft"
    refuels = False
    maturity = "flown for decades (sutton_2010)"

    feed = "own"
    storages = ("buffer",)
    exhaust = "nitrogen, steam, carbon oxides and hydrogen"
    rests_on = ("specific_impulse",)

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        delivered = number(self.name, "specific_impulse")
        exhaust_velocity = exhaust_velocity_of(delivered, conditions.specific_impulse_change)
        thrust = number(self.name, "engine_thrust")
        life = number(self.name, "demonstrated_time") * thrust * number(self.name, "engines")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": number(self.name, "power_per_thrust") * conditions.power_per_thrust_factor,
            "thrust_limit": thrust,
            "mass": number(self.name, "engine_mass"),
            "throughput_life": life / exhaust_velocity_of(delivered),
            "waste_heat_fraction": 1.0,
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Itself."""
        del keeping
        return storable_engine(conditions, conditions.specific_impulse_change)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
