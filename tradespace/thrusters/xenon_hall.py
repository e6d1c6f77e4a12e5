"""Reference: Hall thruster on xenon, all of it carried from the start."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.values import number, table_ranges


@register
class XenonHall:
    """What a craft would do without mining: a flown electric thruster; storable propellant lands it."""

    name = "xenon_hall"
    title = "Xenon Hall thruster (does not refuel)"
    description = "Xenon carried from the start for cruise, storable bipropellant for launch and landing"
    refuels = False
    maturity = "flown for decades; life tests beyond 10 000 h (goebel_katz_2008, de_grys_2010)"

    feed = "own"
    storages = ("buffer",)
    exhaust = "xenon ions and atoms"
    rests_on = ("specific_impulse", "total_efficiency", "throughput_each")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        Its efficiency is the total one, power supply included.
        """
        return steady_units(self.name, conditions, "total_efficiency", number(self.name, "molar_mass"))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
