"""Pulsed inductive thruster on puffs of water vapour."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import pulsed_units
from tradespace.thrusters.values import table_ranges


@register
class PulsedInductive:
    """A flat coil pushes a sheet of plasma off in each pulse; no electrodes, but a million pulses is not a mission."""

    name = "pulsed_inductive"
    title = "Pulsed inductive thruster on water"
    description = "Puffs of vapour are ionised and pushed off by a coil that a capacitor bank feeds"
    refuels = True
    maturity = (
        "laboratory, single pulses on other gases; water only as plasma; pulse life far short (polzin_2020)"
    )

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "ions and atoms of oxygen and hydrogen"
    rests_on = ("specific_impulse", "thrust_efficiency", "pulse_life")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        What breaking and ionising the vapour takes is lost in each pulse, so slow pulses are wasteful.
        """
        return pulsed_units(self.name, conditions, value("molar_mass_water"))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
