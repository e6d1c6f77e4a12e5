"""Magnetoplasmadynamic thruster on the hydrogen of split water; the oxygen is in excess."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.stores import stored_gas_engine
from tradespace.thrusters.values import table_ranges


@register
class HydrogenMagnetoplasmadynamic:
    """An arc that pushes itself out with its own magnetic field: good in megawatts, poor in kilowatts."""

    name = "hydrogen_magnetoplasmadynamic"
    title = "Magnetoplasmadynamic thruster on hydrogen"
    description = (
        "Mined water is split; hydrogen is accelerated by an arc of high current, oxygen is in excess"
    )
    refuels = True
    maturity = "laboratory, hours; above 50 % only beyond about 10 MW per engine (polk_2024, mantenieks_1991)"

    feed = "hydrogen"
    storages = ("buffer", "gas", "liquid", "water")
    exhaust = "ions and atoms of hydrogen"
    rests_on = ("specific_impulse", "thrust_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        One unit takes all of the power up to ten megawatts: this thruster gains by being large.
        """
        return steady_units(
            self.name, conditions, "thrust_efficiency", value("molar_mass_hydrogen"), whole=False
        )

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """The arc needs live power; a craft that keeps all its gas hops on the landing engine, any other not at all."""
        if keeping.storage not in {"gas", "liquid"}:
            return None
        return stored_gas_engine(conditions, keeping)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
