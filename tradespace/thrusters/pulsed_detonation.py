"""Hydrogen and oxygen mixed at the valves of a tube and detonated, charge after charge.

Caution: mixed hydrogen and oxygen detonate at the slightest spark, at some twenty times the pressure before; mixed gas
is never kept. This is a concept estimate; local codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.combustion import delivered_share, specific_impulse_vacuum
from tradespace.physics.compiled import FloatArray
from tradespace.physics.detonation import least_tube_diameter, pulsed_detonation_specific_impulse, tube_charge
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    Numbers,
    burned_specific_impulse,
    exhaust_velocity_of,
    feed_humidity,
    filled,
    stored_gas_engine,
)
from tradespace.thrusters.values import number, stated, table_ranges


@register
class PulsedDetonation:
    """Tubes filled, fired and emptied many times a second: no gain over steady burning at equal feed pressure.

    A bare tube delivers the impulse of one cycle; a nozzle in vacuum gains a share of the way to a steady engine at
    the same feed pressure, never more. Each charge is an ignition.
    """

    name = "pulsed_detonation"
    title = "Pulsed detonation"
    description = "Gases of split water are mixed at the valve of a tube and detonated, charge after charge"
    refuels = True
    maturity = "14 cycles in space on another fuel (buyakofu_2022); no measured specific impulse on hydrogen in vacuum"
    feed = "gases"
    storages = ("buffer", "gas")
    exhaust = "steam, with hydrogen, oxygen and their fragments, in shocks"
    rests_on = ("nozzle_share", "ignitions_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The tubes for each design."""
        charge = self._charge(conditions)
        exhaust_velocity = exhaust_velocity_of(
            self._specific_impulse(conditions), conditions.specific_impulse_change
        )
        tubes = number(self.name, "tubes")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": number(self.name, "spark_energy") / (charge * exhaust_velocity),
            "thrust_limit": tubes * number(self.name, "frequency") * charge * exhaust_velocity,
            "mass": tubes * number(self.name, "mass_per_tube"),
            "ignition_life": tubes * number(self.name, "ignitions_each"),
            "charge": charge,
            "waste_heat_fraction": 1.0,
        }
        return filled(Engine, conditions, numbers)

    def _charge(self, conditions: Conditions) -> FloatArray:
        """Gas that one cycle of one tube burns [kg]; the tube is no narrower than a wave can pass."""
        pressure = number(self.name, "fill_pressure")
        diameter = np.maximum(number(self.name, "tube_diameter"), least_tube_diameter(pressure))
        return tube_charge(diameter, number(self.name, "tube_length"), *self._fill(conditions))

    def _fill(self, conditions: Conditions) -> tuple[FloatArray | float, ...]:
        return (
            conditions.mixture_ratio,
            number(self.name, "fill_pressure"),
            conditions.storage_temperature,
            feed_humidity(conditions),
        )

    def _specific_impulse(self, conditions: Conditions) -> FloatArray | float:
        given = stated(self.name, "specific_impulse")
        if given is not None:
            return given
        fill = self._fill(conditions)
        bare = pulsed_detonation_specific_impulse(*fill)
        steady = specific_impulse_vacuum(fill[0], fill[1], conditions.expansion_ratio, "frozen", fill[3])
        thrust = number(self.name, "frequency") * self._charge(conditions) * exhaust_velocity_of(bare)
        steady = np.maximum(steady * delivered_share(thrust), bare)
        delivered = bare + number(self.name, "nozzle_share") * (steady - bare)
        losses = conditions.thruster_losses
        return losses * delivered + (1.0 - losses) * burned_specific_impulse(conditions, 1.0)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """The same tubes, fed from gas stored at the stop, within their own thrust."""
        engine = self.engine(conditions)
        return stored_gas_engine(
            conditions,
            keeping,
            conditions.specific_impulse_change,
            self._specific_impulse(conditions),
            mass=engine.mass,
            mass_per_thrust=0.0,
            thrust_limit=engine.thrust_limit,
            ignition_life=engine.ignition_life,
            charge=engine.charge,
        )

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
