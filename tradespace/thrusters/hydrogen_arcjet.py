"""Hydrogen of split water heated by an electric arc; its oxygen, eight ninths of the water, gives next to nothing.

Caution: hydrogen leaks and burns, oxygen feeds fires, arcs carry high current; local codes and licensed practice rule.
"""

from __future__ import annotations

from tradespace.physics.compiled import broadcast
from tradespace.physics.electrothermal import arc_efficiency_kernel, arc_life_kernel, sized_efficiency_kernel
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.heating import (
    heat_exponent,
    least_live_power,
    size,
    with_losses,
)
from tradespace.thrusters.stores import Numbers, exhaust_velocity_of, filled, stored_gas_engine
from tradespace.thrusters.values import number, table_ranges


@register
class HydrogenArcjet:
    """A measured thousand seconds on hydrogen; per kilogram of mined water it is a ninth of that."""

    name = "hydrogen_arcjet"
    title = "Hydrogen arcjet"
    description = (
        "Mined water is split and its hydrogen heated by an arc; the oxygen is vented, used cold or left"
    )
    refuels = True
    maturity = "ground: 650 to 1250 s at 1 to 4 kW, 150 h on an early 2 kW unit (curran_1991)"

    feed = "hydrogen"
    storages = ("buffer", "gas", "liquid", "water")
    exhaust = "hydrogen, partly as atoms"
    rests_on = ("specific_impulse", "thrust_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design, per kilogram of hydrogen; the architecture books splitting and the oxygen.

        A faster jet takes more energy per kilogram than its square, and wears the electrodes sooner.
        """
        known = exhaust_velocity_of(number(self.name, "specific_impulse"))
        asked = exhaust_velocity_of(number(self.name, "specific_impulse"), conditions.specific_impulse_change)
        arc = broadcast(
            arc_efficiency_kernel,
            asked, known, number(self.name, "thrust_efficiency"), number(self.name, "efficiency_exponent"),
        )  # fmt: skip
        smaller = broadcast(sized_efficiency_kernel, arc, size(conditions, self.name), 1.0, heat_exponent())
        efficiency = with_losses(conditions, smaller)
        life = broadcast(
            arc_life_kernel,
            asked, known, number(self.name, "life_each"), number(self.name, "life_exponent"),
        )  # fmt: skip
        numbers: Numbers = {
            "exhaust_velocity": asked,
            "power_per_thrust": 0.5 * asked / efficiency,
            "least_power": least_live_power(conditions, self.name, number(self.name, "least_power_share")),
            "mass": number(self.name, "mass"),
            "mass_per_power": number(self.name, "mass_per_power"),
            "burn_life": life,
            "waste_heat_fraction": number(self.name, "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """The arc needs live power; a craft that keeps all its gas hops on the landing engine, any other not at all."""
        if keeping.storage not in {"gas", "liquid"}:
            return None
        return stored_gas_engine(conditions, keeping)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
