"""The channels and words that a file of readings may hold, from one table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from tradespace.tables import read_table
from tradespace.units import convert

TABLE = "bench_channels.csv"


@dataclass(frozen=True)
class Channel:
    """One row of the table of channels; bounds in SI."""

    name: str
    symbol: str
    unit: str
    display_unit: str
    low: float
    high: float
    kind: str
    """``reading``, ``setting`` (chosen by whoever runs the bench) or ``fact`` (the same all the time)."""
    instrument: str
    """Class of instrument that it is read with unless the file says how well it is known."""
    description: str

    def shown(self, value: float) -> str:
        """A value with the unit that people use."""
        number = float(convert(value, self.unit, self.display_unit))
        return f"{number:.4g}" + ("" if self.display_unit == "1" else f" {self.display_unit}")

    @property
    def bounds(self) -> str:
        """What is allowed, in words."""
        low = f"above {self.shown(self.low)}" if self.name in FLOWS else self.shown(self.low)
        return f"{low} to {self.shown(self.high)}"


FLOWS = ("gas_flow", "mass_flow", "water_rate", "coolant_flow")
"""Channels that say nothing unless something flows."""

_ELECTROLYTES = tuple(row["name"] for row in read_table("electrolysis_electrolytes.csv").rows)

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "cell_kind": ("alkaline", "membrane", "solid_oxide", "common_duct"),
        "electrolyte": ("potassium_hydroxide", *_ELECTROLYTES[1:], "water"),
        "gas_measured": ("hydrogen", "mixed"),
        "gas_is": ("wet", "dry"),
        "volumes_at": ("meter", "normal"),
        "chamber_pressure_is": ("absolute", "gauge"),
    }
)
"""Facts in words with what they may be, the default first."""

ASSUMED = MappingProxyType(
    {
        "cell_kind": "current",
        "gas_measured": "gas_flow",
        "gas_is": "gas_flow",
        "volumes_at": "gas_flow",
        "chamber_pressure_is": "chamber_pressure",
    }
)
"""Words of which a default is worth a remark, each with the channel that it bears on."""


@cache
def channels() -> Mapping[str, Channel]:
    """All channels by name, in the order of the table.

    Examples
    --------
    >>> channels()["gas_flow"].bounds
    'above 0 L/min to 1e+07 L/min'
    """
    found: dict[str, Channel] = {}
    for row in read_table(TABLE).rows:
        low, high = (
            float(convert(float(row[end]), row["display_unit"], row["unit"])) for end in ("low", "high")
        )
        found[row["name"]] = Channel(
            row["name"], row["symbol"], row["unit"], row["display_unit"], low, high, row["kind"],
            row["instrument"], row["description"],
        )  # fmt: skip
    return MappingProxyType(found)


def default_words(given: Mapping[str, str]) -> dict[str, str]:
    """The words of a file with a default for each that it does not give.

    Examples
    --------
    >>> default_words({"cell_kind": "common_duct"})["gas_measured"]
    'mixed'
    """
    words = {name: allowed[0] for name, allowed in WORDS.items()} | dict(given)
    if words["cell_kind"] == "common_duct" and "gas_measured" not in given:
        words["gas_measured"] = "mixed"
    if words["cell_kind"] in ("membrane", "solid_oxide") and "electrolyte" not in given:
        words["electrolyte"] = "water"
    return words
