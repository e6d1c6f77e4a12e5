"""Values by name: every constant and default comes from a CSV row with unit, range, grade and source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from tradespace.errors import TradespaceError, unknown_name
from tradespace.tables import read_table
from tradespace.units import convert

GRADES = ("defined", "measured", "reviewed", "computed", "estimated", "assumed")


@dataclass(frozen=True)
class Value:
    """One sourced number in SI, with the range in which it is believed to lie."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    grade: str
    source: str
    where: str
    description: str


@cache
def table_values(table: str) -> dict[str, Value]:
    """Rows of a value table (columns name, value, unit, si_unit, low, high, grade, source, where, description).

    Parameters
    ----------
    table : str
        File below ``tradespace/data``.
    """
    values: dict[str, Value] = {}
    for row in read_table(table).rows:
        unit, si_unit = row["unit"], row.get("si_unit") or row["unit"]
        low, high = row["low"] or row["value"], row["high"] or row["value"]
        numbers = [float(convert(float(cell), unit, si_unit)) for cell in (row["value"], low, high)]
        values[row["name"]] = Value(
            row["name"], numbers[0], si_unit, numbers[1], numbers[2],
            row["grade"], row["source"], row["where"], row["description"],
        )  # fmt: skip
    return values


def value(name: str, table: str = "constants.csv") -> float:
    """The SI value of a named constant.

    Raises
    ------
    UnknownNameError
        If no row has that name.

    Examples
    --------
    >>> value("standard_gravity")
    9.80665
    """
    values = table_values(table)
    if name not in values:
        raise unknown_name("constant", name, values)
    return values[name].value


def series(name: str, table: str) -> tuple[float, ...]:
    """The cells of one row of a coefficient table (columns name, then c0, c1, ...), in order.

    Raises
    ------
    TradespaceError
        If the table has no such row.
    """
    for row in read_table(table).rows:
        if row["name"] == name:
            return tuple(
                float(cell) for key, cell in row.items() if key.startswith("c") and key[1:].isdigit() and cell
            )
    raise TradespaceError(f"table {table!r} has no row {name!r}")
