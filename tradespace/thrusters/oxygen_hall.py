"""Hall thruster on the oxygen of split water; the hydrogen feeds its cathode or is let off."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping, Store
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.stores import stored_gas_engine
from tradespace.thrusters.values import table_ranges


@register
class OxygenHall:
    """Spares the cathode from water: oxygen into the channel, hydrogen past the emitter."""

    name = "oxygen_hall"
    title = "Hall thruster on electrolysed oxygen"
    description = "Mined water is split; oxygen is accelerated, hydrogen feeds the cathode or is let off"
    refuels = True
    maturity = "laboratory, hours of running; neutralised with krypton in the first tests (schwertheim_2022)"

    feed = "oxygen"
    storages = ("buffer", "gas", "liquid", "water")
    exhaust = "ions and atoms of oxygen"
    rests_on = ("specific_impulse", "anode_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        Per kilogram of oxygen; the hydrogen is counted as an excess, since it leaves slowly.
        """
        return steady_units(
            self.name, conditions, "anode_efficiency", value("molar_mass_oxygen"), whole=False
        )

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Its beam needs live power; a craft that keeps all its gas hops on the landing engine, not otherwise."""
        if keeping.storage not in {"gas", "liquid"}:
            return None
        return stored_gas_engine(conditions, keeping)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
