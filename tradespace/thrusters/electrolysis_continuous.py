"""Water split in flight, hydrogen and oxygen burned as they are made.

Caution: hydrogen with oxygen ignites at the slightest spark and can detonate; the gases are taken to be kept apart
until they meet in the chamber. Local codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.combustion import (
    delivered_share,
    delivered_share_slope,
    ignition_life,
    live_thrust,
    water_per_propellant,
)
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    Numbers,
    burned_specific_impulse,
    exhaust_velocity_of,
    feed_humidity,
    filled,
    measured_share,
    stored_gas_engine,
)
from tradespace.thrusters.values import number, stated, table_ranges

ROUNDS = 8
"""Rounds in which thrust and delivered share are found together: the share changes far slower than the thrust."""
STEP = 1.0e-3
"""Relative step of thrust by which the slope of a measured engine's share is found."""
STEEPEST = 0.5
"""Largest relative slope of the share: below one, so that thrust falls no faster than without end."""
LEAST_FLOW = 1.0e-12
"""Stands for no flow [kg/s], so that an engine without power stays finite."""


@register
class ElectrolysisContinuous:
    """No accumulator: live power sets the flow, the flow the size of the engine, and small engines deliver less.

    Thrust and delivered share are found together, at the live power with which the campaign begins. With less power
    later thrust falls faster than the power; the specific impulse is kept at that of the start.
    """

    name = "electrolysis_continuous"
    title = "Electrolysis bipropellant, continuous"
    description = "Mined water is split in flight and burned as it is made, in an engine of a newton or less"
    refuels = True
    maturity = (
        "ground: 14 330 s at 0.44 N (marquardt_1974); a chip of 1.25 mN in the laboratory (ice_cube_2023)"
    )
    feed = "gases"
    storages = ("buffer", "water")
    exhaust = "steam, with hydrogen, oxygen and their fragments"
    rests_on = ("demonstrated_specific_impulse", "life_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design, sized for the gas that live power makes."""
        ideal = burned_specific_impulse(conditions, 1.0)
        thrust, delivered, relative = self._size(conditions, ideal)
        given = stated(self.name, "specific_impulse")
        losses = conditions.thruster_losses
        share = 1.0 - losses * (1.0 - delivered)
        slope = losses * relative
        engines = number(self.name, "engines")
        mass = number(self.name, "feed_mass") + number(self.name, "mass_per_thrust") * thrust
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity_of(
                ideal * share if given is None else given, conditions.specific_impulse_change
            ),
            "power_per_thrust": 0.0,  # it is all in the splitting
            "auxiliary_share": losses * number(self.name, "auxiliary_share"),
            "throttle_exponent": slope / (1.0 - slope) if given is None else 0.0,
            "thrust_limit": number(self.name, "engine_thrust"),
            "mass": engines * mass,
            "burn_life": engines * number(self.name, "life_each"),
            "ignition_life": engines * ignition_life(thrust),
        }
        return filled(Engine, conditions, numbers)

    def _size(self, conditions: Conditions, ideal: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Thrust of the engine that live power feeds [N], its delivered share, and the relative slope of that share."""
        flow = self._flow(conditions)
        thrust = live_thrust(flow, ideal)
        share = measured_share(conditions, thrust, np.nan)
        if np.isnan(share).all():
            return thrust, delivered_share(thrust), delivered_share_slope(thrust)
        for _ in range(ROUNDS):
            thrust = flow * exhaust_velocity_of(ideal * share)
            share = measured_share(conditions, thrust, np.nan)
        larger = measured_share(conditions, thrust * (1.0 + STEP), np.nan)
        return thrust, share, np.clip(np.log(larger / share) / np.log1p(STEP), 0.0, STEEPEST)

    def _flow(self, conditions: Conditions) -> FloatArray:
        """Gas through the nozzle that live power makes at the start [kg/s]."""
        share = 1.0 + conditions.thruster_losses * number(self.name, "auxiliary_share")
        energy = conditions.split_energy * share * conditions.power_per_thrust_factor
        drawn = water_per_propellant(conditions.mixture_ratio, feed_humidity(conditions))
        return np.maximum(conditions.live_power / (energy * drawn), LEAST_FLOW)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """A larger engine, fed from gas stored at the stop: live flow lifts nothing."""
        return stored_gas_engine(conditions, keeping, conditions.specific_impulse_change)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
