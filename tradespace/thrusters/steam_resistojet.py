"""Water heated electrically into steam; for a surface hop, boiled in a block of stored heat.

Caution: superheated steam under pressure scalds and bursts, and water must never meet molten silicon; pressure-vessel
codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics import electrothermal
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Performance, Store
from tradespace.thrusters.stores import UNLIMITED, Numbers, exhaust_velocity_of, filled, stored_gas_engine
from tradespace.thrusters.values import number, table_ranges

VALUES = "electrothermal_values.csv"


def ideal_steam_specific_impulse(temperature: FloatArray | float) -> FloatArray:
    """Ideal specific impulse of unsplit steam [s] at a temperature [K]; the pressure does not matter then."""
    area = value("stored_steam_expansion_ratio", VALUES)
    speed = electrothermal.steam_exhaust_velocity(temperature, value("standard_pressure"), area)
    return np.asarray(speed / value("standard_gravity"))


def steam_energy(temperature: FloatArray | float) -> FloatArray:
    """Heat from liquid water at 298 K to steam [J/kg] at a temperature [K]."""
    return electrothermal.steam_energy(temperature, value("standard_pressure"))


@register
class SteamResistojet:
    """Heats water as it flows; no chemistry, little energy per kilogram, little speed."""

    name = "steam_resistojet"
    title = "Steam resistojet"
    description = "Mined water is heated electrically into steam; surface hops boil it in stored heat"
    refuels = True
    maturity = "flown at small scale; 10 000 h life test on the ground (lawrence_1998, nasa_ntrs_19900009166)"

    def performance(self, conditions: Conditions) -> Performance:
        """Cruise performance for each design."""
        delivered = number(self.name, "specific_impulse")
        exhaust_velocity = exhaust_velocity_of(delivered, conditions.specific_impulse_change)
        heat = steam_energy(number(self.name, "heater_temperature")) / number(self.name, "heater_efficiency")
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "water_per_propellant": 1.0,
            "power_per_thrust": heat * conditions.power_per_thrust_factor / exhaust_velocity,
            "thrust_limit": UNLIMITED,
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "live_split_fraction": 0.0,
            "stop_split_fraction": 0.0,
            "throughput_life": UNLIMITED,
            "burn_life": number(self.name, "life_each"),
            "tank_factor": conditions.water_tank_fraction,
            "specific_volume": 1.0 / number("shared", "water_density"),
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Performance, conditions, numbers)

    def landing(self, conditions: Conditions) -> Store:
        """Stored hydrogen and oxygen, as on every water-fed craft."""
        return stored_gas_engine(conditions)

    def hop_engine(self, conditions: Conditions) -> Store | None:
        """Water boiled and superheated in a block of molten silicon that was melted at the stop, area ratio 100.

        The block rides along as part of the tank mass. The study's expansion ratio belongs to the combustion
        engine and does not enter here.
        """
        temperature = conditions.steam_temperature
        ideal = ideal_steam_specific_impulse(temperature) * number(self.name, "stored_performance_factor")
        heat = steam_energy(temperature)
        block = heat / conditions.heat_store_specific_energy
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity_of(ideal, conditions.specific_impulse_change),
            "energy": heat / number(self.name, "stored_heater_efficiency"),
            "waste_heat_fraction": 0.0,  # what the heater loses leaves by the insulation of the hot store
            "loss_fraction": 0.0,
            "holding_time": conditions.heat_store_holding_time,
            "mass": number(self.name, "mass"),
            "split_fraction": 0.0,
            "tank_factor": conditions.water_tank_fraction + block,
            "specific_volume": 1.0 / number("shared", "water_density")
            + block / number(self.name, "heat_store_density"),
            "mass_per_thrust": conditions.landing_engine_specific_mass,
            "thrust_limit": UNLIMITED,
        }
        return filled(Store, conditions, numbers)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
