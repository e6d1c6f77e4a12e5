"""Water heated in the focus of a mirror, without electricity in between.

Caution: concentrated sunlight burns and blinds, superheated steam scalds and bursts; licensed practice rules.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.electrothermal import receiver_efficiency_kernel, stagnation_temperature_kernel
from tradespace.thrusters import register
from tradespace.thrusters.contract import UNLIMITED, Conditions, Engine, Keeping
from tradespace.thrusters.heating import heater_life, steam_jet, with_losses
from tradespace.thrusters.stores import Numbers, filled
from tradespace.thrusters.values import number, table_ranges

LEAST_AREA = 1e-6
"""A craft without a mirror is reckoned with one of this area, which lifts nothing [m2]."""


@register
class SolarThermalSteam:
    """Sunlight straight into steam: four times the heat that solar cells would make electric, if the walls stand it."""

    name = "solar_thermal_steam"
    title = "Solar-thermal steam"
    description = (
        "Mined water is heated by concentrated sunlight; power per thrust counts the sunlight on the mirror"
    )
    refuels = True
    maturity = "parts on the ground, with hydrogen; never fired on water (solar_absorber_1983, vance_2024)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "steam, with H2, O2, OH and atoms above 2500 K"
    rests_on = ("specific_impulse", "receiver_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        The receiver radiates through its aperture. Farther from the Sun the same mirror brings less onto the same
        aperture: the receiver loses a larger share, and from some distance on the steam has to be cooler.
        """
        gathered = self._gathered()
        flux = conditions.solar_flux
        place = (number(self.name, "concentration"), gathered, number(self.name, "emissivity"))
        stagnation = broadcast(stagnation_temperature_kernel, flux, *place)
        hottest = np.maximum(stagnation * number(self.name, "stagnation_share"), self._coldest())
        hottest = np.where(conditions.thruster_losses > 0.0, hottest, UNLIMITED)
        jet = steam_jet(conditions, self.name, "receiver_temperature", hottest)
        concentration, _, emissivity = place
        kept = broadcast(
            receiver_efficiency_kernel, jet.temperature, flux, concentration, gathered, 1.0, emissivity
        )
        efficiency = with_losses(conditions, np.maximum(kept, LEAST_AREA))
        area = np.maximum(conditions.collector_area, LEAST_AREA)
        dark = np.maximum(1.0 - np.minimum(efficiency / gathered, 1.0), 0.0)  # of what enters, radiated away
        numbers: Numbers = {
            "exhaust_velocity": jet.speed,
            "power_per_thrust": jet.heat * conditions.power_per_thrust_factor / (efficiency * jet.speed),
            "least_power": area * flux * dark,
            "throttle_exponent": dark / np.maximum(1.0 - dark, LEAST_AREA),
            "collector_area": area,
            "mass": number(self.name, "mass") + area * number(self.name, "concentrator_areal_mass"),
            "mass_per_power": number(self.name, "receiver_specific_mass"),
            "burn_life": heater_life(self.name, jet.temperature),
        }
        return filled(Engine, conditions, numbers)

    def _gathered(self) -> FloatArray:
        """Share of the sunlight on the mirror that is absorbed: efficiency at 1 au and what is radiated there [1]."""
        radiated = 1.0 - broadcast(
            receiver_efficiency_kernel,
            number(self.name, "receiver_temperature"), value("solar_constant"),
            number(self.name, "concentration"), 1.0, 1.0, number(self.name, "emissivity"),
        )  # fmt: skip
        return np.asarray(np.minimum(number(self.name, "receiver_efficiency") + radiated, 1.0))

    def _coldest(self) -> float:
        """Steam is never taken cooler than what surrounds it [K]."""
        return value("heater_surroundings_temperature", "electrothermal_values.csv")

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its mirror cannot point at the Sun and lift off; the landing engine hops."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
