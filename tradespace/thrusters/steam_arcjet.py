"""Steam heated by an electric arc: supposed, not demonstrated.

No test of a flight-type thruster on steam was found. Every number is assumed with a factor of two either way.
"""

from __future__ import annotations

from tradespace.physics.compiled import broadcast
from tradespace.physics.electrothermal import arc_life_kernel
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.heating import least_live_power, plasma_efficiency
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled
from tradespace.thrusters.values import number, table_ranges


@register
class SteamArcjet:
    """As hot as an arc can be, with electrodes that steam eats."""

    name = "steam_arcjet"
    title = "Steam arcjet (not demonstrated)"
    description = (
        "Mined water is evaporated and heated by an arc between tungsten electrodes, which steam oxidises"
    )
    refuels = True
    maturity = "no demonstrated flight-type data found; every number assumed (assumed_here)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "steam, H2, O2, OH, atoms and ions of oxygen and hydrogen, tungsten oxides"
    rests_on = ("specific_impulse", "thrust_efficiency", "life_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design; efficiency and life follow the specific impulse that is asked."""
        exhaust_velocity, efficiency = plasma_efficiency(conditions, self.name)
        life = broadcast(
            arc_life_kernel,
            exhaust_velocity, exhaust_velocity_of(number(self.name, "specific_impulse")),
            number(self.name, "life_each"), number(self.name, "life_exponent"),
        )  # fmt: skip
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity,
            "power_per_thrust": 0.5 * exhaust_velocity / efficiency * conditions.power_per_thrust_factor,
            "least_power": least_live_power(conditions, self.name, number(self.name, "least_power_share")),
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": life,
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
