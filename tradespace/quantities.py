"""Every quantity by name: unit, display unit, bounds, default, range and provenance, from one table."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from tradespace.errors import unknown_name
from tradespace.tables import DATA, read_table
from tradespace.units import convert

if TYPE_CHECKING:
    from collections.abc import Mapping

TABLE = "quantities.csv"

REPLACES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "array_power": ("array_area",),
        "sunlit_fraction": ("site_latitude", "subsolar_latitude", "horizon_elevation"),
        "extraction_energy": (
            "ice_fraction",
            "regolith_temperature",
            "release_temperature",
            "extraction_efficiency",
            "capture_fraction",
            "bound_water_heat",
            "water_is_ice",
            "excavation_energy",
            "purification_energy",
        ),
    }
)
"""Derived quantities that, when given, leave the named inputs without any effect."""


@dataclass(frozen=True)
class Quantity:
    """One row of the table of quantities; all numbers in SI, missing ones None."""

    name: str
    symbol: str
    unit: str
    display_unit: str
    low: float | None
    """Least value a study may give."""
    high: float | None
    """Largest value a study may give."""
    role: str
    """``input``, ``derived`` (an input only when given) or ``output``."""
    section: str
    """Section of the study file for inputs, group of columns for outputs."""
    default: float | None
    default_low: float | None
    default_high: float | None
    grade: str
    source: str
    where: str
    better: str
    """``lower``, ``higher`` or empty when neither is better."""
    description: str

    @property
    def label(self) -> str:
        """Name in words with the display unit, for axes and headings."""
        words = self.name.replace("_", " ")
        return words if self.display_unit in {"", "1"} else f"{words} [{self.display_unit}]"

    def shown(self, value: float) -> float:
        """The value in the display unit."""
        return float(convert(value, self.unit, self.display_unit))

    def within(self, value: float) -> bool:
        """Whether a study may give this value; a rounding error at the edge is forgiven."""
        if not math.isfinite(value):
            return False
        slack = 1e-9 * max(
            abs(value), *(abs(bound) for bound in (self.low, self.high) if bound is not None), 0.0
        )
        above = self.low is None or value >= self.low - slack
        return above and (self.high is None or value <= self.high + slack)


@cache
def quantities() -> Mapping[str, Quantity]:
    """All quantities by name, in the order of the table.

    Examples
    --------
    >>> quantities()["cell_temperature"].default
    353.15
    """
    found: dict[str, Quantity] = {}
    for row in read_table(TABLE).rows:

        def number(column: str, row: dict[str, str] = row) -> float | None:
            cell = row[column]
            return float(convert(float(cell), row["display_unit"], row["unit"])) if cell else None

        found[row["name"]] = Quantity(
            row["name"], row["symbol"], row["unit"], row["display_unit"], number("low"), number("high"),
            row["role"], row["section"], number("default"), number("default_low"), number("default_high"),
            row["grade"], row["source"], row["where"], row["better"], row["description"],
        )  # fmt: skip
    return MappingProxyType(found)


def quantity(name: str) -> Quantity:
    """One quantity by name.

    Raises
    ------
    UnknownNameError
        If the table has no such row.

    Examples
    --------
    >>> quantity("current_density").display_unit
    'A/cm2'
    """
    found = quantities()
    if "." in name:
        return _of_a_thruster(name)
    if name not in found:
        raise unknown_name("quantity", name, found, "tradespace list quantities")
    return found[name]


@cache
def _of_a_thruster(name: str) -> Quantity:
    """A row of the table of a thruster, named ``thruster.row``, as a quantity."""
    thruster, _, row_name = name.partition(".")
    table = f"thrusters/{thruster}.csv"
    for row in read_table(table).rows if (DATA / table).is_file() else ():
        if row["name"] == row_name:
            numbers = [
                float(convert(float(row[key]), row["unit"], row["si_unit"]))
                for key in ("low", "high", "value")
            ]
            return Quantity(
                name, "", row["si_unit"], row["unit"], numbers[0], numbers[1], "input", "thruster", numbers[2],
                numbers[0], numbers[1], row["grade"], row["source"], row["where"], "", row["description"],
            )  # fmt: skip
    raise unknown_name("quantity", name, quantities(), "tradespace list quantities")


def display(name: str, si_value: object, digits: int = 4) -> str:
    """A value in the display unit of its quantity, ready to print; a dash when there is none.

    Parameters
    ----------
    name : str
        A quantity.
    si_value : object
        A number in SI, a truth value, or words (for columns that hold a name).
    digits : int
        Significant digits.

    Examples
    --------
    >>> display("current_density", 3000.0)
    '0.3 A/cm2'
    >>> display("ice_fraction", 0.1)
    '10 %'
    >>> display("refuel_time", float("nan"))
    '-'
    """
    if isinstance(si_value, str):
        return si_value
    if name in {"closes", "extrapolated"}:
        return "yes" if si_value else "no"
    try:
        value = float(si_value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return "-"
    known = quantity(name)
    if not math.isfinite(value):
        return "-" if math.isnan(value) else ("unlimited" if value > 0 else "none")
    text = plain_number(known.shown(value), digits)
    return text if known.display_unit in {"", "1"} else f"{text} {known.display_unit}"


def plain_number(value: float, digits: int = 4) -> str:
    """A number with so many significant digits, without an exponent where it is readable.

    Examples
    --------
    >>> plain_number(12345.678), plain_number(0.00031), plain_number(1234567.0)
    ('12346', '0.00031', '1.235e+06')
    """
    largest = 10.0 ** (digits + 2)
    if digits <= 6 and 10.0 ** (digits - 1) <= abs(value) < largest:
        return f"{value:.0f}"
    text = f"{value:.{digits}g}"
    return "0" if text == "-0" else text


def json_key(name: str) -> str:
    """A key that carries the display unit, for machine-readable output.

    Examples
    --------
    >>> json_key("start_mass"), json_key("current_density"), json_key("ice_fraction"), json_key("margin")
    ('start_mass_kg', 'current_density_a_cm2', 'ice_fraction_percent', 'margin')
    """
    unit = quantity(name).display_unit
    if unit in {"", "1"} or name.startswith("hops_per_"):
        return name
    words = re.sub(r"[^a-z0-9]+", "_", unit.lower().replace("%", "percent").replace("1/", "per "))
    suffix = "_" + words.strip("_")
    return name if name.endswith(suffix) else name + suffix
