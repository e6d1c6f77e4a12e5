"""Water split in flight, hydrogen and oxygen burned in bursts from small accumulators.

Caution: hydrogen with oxygen ignites at the slightest spark and can detonate; the gases are taken to be kept apart
until they meet in the chamber. Local codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.combustion import burst_share, delivered_performance_factor, ignition_life
from tradespace.physics.compiled import FloatArray
from tradespace.physics.storage import gas_tank_factor, stored_gas_pv
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    Numbers,
    burned_specific_impulse,
    exhaust_velocity_of,
    filled,
    measured_share,
    stored_gas_engine,
    whole_water_ratio,
)
from tradespace.thrusters.values import number, stated, table_ranges

LEAST_CHARGE = 1.0e-6
"""Charge of accumulators that do not reach the feed pressure [kg]: every puff an ignition."""


@register
class ElectrolysisBipropellant:
    """Live electrolysis fills accumulators; when they are full, an engine empties them in one burst.

    The longer a burst, the more of the steady specific impulse it delivers, and the fewer ignitions a hop takes.
    """

    name = "electrolysis_bipropellant"
    title = "Electrolysis bipropellant, pulsed"
    description = (
        "Mined water is split in flight into accumulators; a 110 N engine empties them in bursts of seconds"
    )
    refuels = True
    maturity = (
        "ground: 27 h firing of a 110 N engine on the gases of split water (aerojet_ada236556); 69 700 ignitions at"
        " 22 N (marquardt_1974); a newton-class one has flown (smallsat_2021_209)"
    )
    feed = "gases"
    storages = ("buffer", "gas", "liquid", "water")
    exhaust = "steam, with hydrogen, oxygen and their fragments"
    rests_on = ("demonstrated_specific_impulse", "demonstrated_time")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design; the accumulators count with it, also where all gas is stored at the stop."""
        thrust, engines = number(self.name, "engine_thrust"), number(self.name, "engines")
        charge, accumulators = self._accumulators(conditions)
        exhaust_velocity = self._exhaust_velocity(conditions, charge)
        shown = number(self.name, "demonstrated_time") * thrust * engines
        mass = number(self.name, "feed_mass") + number(self.name, "mass_per_thrust") * thrust
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": number(self.name, "valve_power") / thrust,
            "auxiliary_share": conditions.thruster_losses * number(self.name, "auxiliary_share"),
            "thrust_limit": thrust,
            "mass": engines * mass + accumulators,
            "throughput_life": shown
            / exhaust_velocity_of(number(self.name, "demonstrated_specific_impulse")),
            "ignition_life": engines * ignition_life(thrust),
            "charge": charge,
        }
        return filled(Engine, conditions, numbers)

    def _accumulators(self, conditions: Conditions) -> tuple[FloatArray, FloatArray]:
        """Gas of one burst [kg], and mass of the accumulators [kg].

        They are filled to the pressure of the electrolyser and emptied to what feeds the chamber.
        """
        volume = number(self.name, "accumulator_volume")
        pressure = np.asarray(conditions.cell_pressure)
        feed = conditions.chamber_pressure * number(self.name, "feed_pressure_ratio")
        per_mass = stored_gas_pv(conditions.storage_temperature, pressure, whole_water_ratio())
        charge = np.maximum((pressure - feed) * volume / per_mass, LEAST_CHARGE)
        mass = gas_tank_factor(pressure * volume, conditions.tank_performance, conditions.tank_safety_factor)
        return charge, mass

    def _exhaust_velocity(self, conditions: Conditions, charge: FloatArray) -> FloatArray:
        given = stated(self.name, "specific_impulse")
        if given is not None:
            return exhaust_velocity_of(given, conditions.specific_impulse_change)
        thrust = number(self.name, "engine_thrust")
        ideal = burned_specific_impulse(conditions, 1.0)
        length = charge * exhaust_velocity_of(ideal) / thrust
        delivered = burst_share(thrust, length)
        measured = measured_share(conditions, thrust, np.nan)
        if not np.isnan(measured).all():  # what starting costs is kept
            delivered = measured * delivered / delivered_performance_factor(thrust)
        share = 1.0 - conditions.thruster_losses * (1.0 - delivered)
        return exhaust_velocity_of(ideal * share, conditions.specific_impulse_change)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """An engine of the same kind, fed from gas stored at the stop."""
        given = stated(self.name, "specific_impulse")
        if given is None:
            share = measured_share(conditions, number(self.name, "engine_thrust"), np.nan)
            if not np.isnan(share).all():
                lost = conditions.thruster_losses * (1.0 - share)
                given = burned_specific_impulse(conditions, 1.0 - lost)
        return stored_gas_engine(conditions, keeping, conditions.specific_impulse_change, given)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
