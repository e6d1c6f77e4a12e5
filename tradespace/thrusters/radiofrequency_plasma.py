"""Plasma of water vapour made by radio waves, let off through a magnetic nozzle."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.thrusters import register
from tradespace.thrusters.contract import Conditions, Engine, Keeping
from tradespace.thrusters.electric_units import steady_units
from tradespace.thrusters.values import table_ranges


@register
class RadiofrequencyPlasma:
    """No electrode and no grid touches the plasma; little of the power reaches the jet."""

    name = "radiofrequency_plasma"
    title = "Radio-frequency plasma thruster on water"
    description = "Mined water is evaporated into a plasma source with a magnetic nozzle and no electrodes"
    refuels = True
    maturity = "laboratory; on water below noble gases at the same power (petro_2019, takahashi_2013)"

    feed = "water"
    storages = ("buffer", "water")
    exhaust = "water vapour, and ions and atoms of oxygen and hydrogen"
    rests_on = ("specific_impulse", "thrust_efficiency")

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design.

        Larger units do better: the law of the power is that of argon, the level is set lower for water.
        """
        return steady_units(self.name, conditions, "thrust_efficiency", value("molar_mass_water"))

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> None:
        """None: its thrust comes from live power alone."""
        del conditions, keeping

    def ranges(self) -> dict[str, tuple[float, float]]:
        """What-if ranges from the table."""
        return table_ranges(self.name)
