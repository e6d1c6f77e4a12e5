"""Pulsed plasma thruster fed with micro-shots of liquid water."""

from __future__ import annotations

from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import pulsed_units
from tradespace.thrusters.values import table_ranges


@register
class PulsedPlasma:
    """A spark lights a droplet and a capacitor of tens of joules drives it off: small, simple, short-lived."""

    name = "pulsed_plasma"
    title = "Pulsed plasma thruster on water"
    description = "Shots of microlitres of water are driven off by the discharge of a small capacitor"
    refuels = True
    maturity = "laboratory, shots of 20 J; life on water unknown (kakami_2004)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "ions and atoms of oxygen and hydrogen, and vapour"
    rests_on = ("specific_impulse", "thrust_efficiency", "pulse_life")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        A pulse has the same impulse whatever the shot weighs, so power per thrust stays the same.
        """
        return pulsed_units(self.name, conditions, None)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
