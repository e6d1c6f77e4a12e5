"""Hydrogen and oxygen split and liquefied at the stop, burned from cold tanks.

Caution: liquid hydrogen and oxygen burn skin, embrittle metals, boil to many hundred times their volume and, together,
burn or detonate; air freezes on bare hydrogen lines. Local codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.physics.combustion import delivered_share, liquid_performance
from tradespace.physics.compiled import FloatArray
from tradespace.physics.storage import liquid_tank_volume
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled, stored_gas_engine
from tradespace.thrusters.values import number, stated, table_ranges


@register
class LiquidHydrogenOxygen:
    """All the electricity is spent at the stop: light tanks, high specific impulse, dear refrigeration, boil-off.

    Burned richer in hydrogen than water is: the oxygen in excess is left at the stop or vented as the architecture
    says. Electric pumps feed the chamber from tanks at low pressure.
    """

    name = "liquid_hydrogen_oxygen"
    title = "Liquid hydrogen and oxygen"
    description = "Mined water is split and liquefied at the stop; a small pump-fed engine burns the liquids"
    refuels = True
    maturity = (
        "engines of a hundred kilonewtons flown for decades (yanagawa_1985); none of this size, and no liquefier in"
        " space"
    )
    feed = "gases"
    storages = ("liquid",)
    exhaust = "steam with hydrogen"
    rests_on = ("engine_thrust", "pump_efficiency", "life_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        thrust, engines = number(self.name, "engine_thrust"), number(self.name, "engines")
        impulse = self._specific_impulse(conditions)
        exhaust_velocity = exhaust_velocity_of(impulse, conditions.specific_impulse_change)
        lift = conditions.chamber_pressure * number(self.name, "feed_pressure_ratio")
        work = lift * liquid_tank_volume(conditions.mixture_ratio, 0.0) / number(self.name, "pump_efficiency")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": work / exhaust_velocity,
            "thrust_limit": thrust,
            "mass": engines
            * (number(self.name, "feed_mass") + number(self.name, "mass_per_thrust") * thrust),
            "burn_life": engines * number(self.name, "life_each"),
            "ignition_life": engines * number(self.name, "ignitions_each"),
            "waste_heat_fraction": 0.0,  # what the pumps lose goes into the liquids
        }
        return filled(Engine, conditions, numbers)

    def _specific_impulse(self, conditions: Conditions) -> FloatArray | float:
        given = stated(self.name, "specific_impulse")
        if given is not None:
            return given
        place = (conditions.mixture_ratio, conditions.chamber_pressure, conditions.expansion_ratio)
        ideal = liquid_performance(*place)["specific_impulse_vacuum"]
        share = delivered_share(number(self.name, "engine_thrust"))
        return ideal * (1.0 - conditions.thruster_losses * (1.0 - share))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Engines of the same kind, as many as lifting takes."""
        impulse = self._specific_impulse(conditions)
        return stored_gas_engine(conditions, keeping, conditions.specific_impulse_change, impulse)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
