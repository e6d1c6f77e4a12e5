"""What a table of a run is: columns with units, and rows of numbers and words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import pandas as pd

from tradespace.figures.style import label
from tradespace.quantities import quantity
from tradespace.results import placeholder

Cell = str | float | int | None
NONE = "none"
"""Stands for a mass that never adds up, and for what would be reckoned from it."""
COUNT = 9
"""Digits of a whole number: all of them."""


@dataclass(frozen=True)
class Column:
    """A heading, the unit of the numbers below it, and how many digits of them are printed."""

    heading: str
    unit: str = ""
    digits: int = 3
    printed: bool = True
    """Whether it stands in the printed table too, and not in the file alone."""
    kind: str = ""
    """``unit`` for units, ``source`` for keys of the bibliography."""

    @property
    def titled(self) -> str:
        """Heading with its unit in brackets."""
        return self.heading if self.unit in {"", "1"} else f"{self.heading} [{self.unit}]"


@dataclass(frozen=True)
class ResultTable:
    """Rows of cells: text, numbers in the unit of their column, or nothing."""

    key: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    grouped: bool = False
    """Whether the first column is a heading over the rows that share it."""
    printed_rows: tuple[bool, ...] = ()
    """Which rows stand in the printed table too; empty for all of them."""

    @property
    def in_print(self) -> list[tuple[Cell, ...]]:
        """Rows of the printed table."""
        chosen = self.printed_rows or (True,) * len(self.rows)
        return [row for row, wanted in zip(self.rows, chosen, strict=True) if wanted]


def columns_of(*headings: str | Column) -> tuple[Column, ...]:
    """Columns, those of words given by their heading alone; a heading in brackets is for the file only.

    Examples
    --------
    >>> [(one.heading, one.printed) for one in columns_of("Input", "(Remark)")]
    [('Input', True), ('Remark', False)]
    """
    return tuple(
        one if isinstance(one, Column) else Column(one.strip("()"), printed=not one.startswith("("))
        for one in headings
    )


def count(heading: str, *, printed: bool = True) -> Column:
    """A column of whole numbers."""
    return Column(heading, digits=COUNT, printed=printed)


def of_quantity(name: str, digits: int = 3, *, printed: bool = True, heading: str = "") -> Column:
    """A column of a quantity in its display unit."""
    return Column(heading or label(name), quantity(name).display_unit, digits, printed)


def number_of(row: pd.Series | None, name: str) -> Cell:
    """A column of a design in its display unit; words or nothing where there is no number."""
    if row is None or name not in row.index or pd.isna(row[name]):
        return None
    words = placeholder(row, name)
    return NONE if words in {"-", "no finite mass"} else words or quantity(name).shown(float(row[name]))


def finite(value: Any) -> float | None:
    """A number, or nothing."""
    return float(value) if math.isfinite(float(value)) else None
