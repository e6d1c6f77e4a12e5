"""Reconciled facts for people and for files: means with k = 2, and every point as comma-separated values."""

from __future__ import annotations

import csv
import io
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.bench import CAUTION
from tradespace.bench.channels import channels
from tradespace.bench.reconciling import Measure, measures
from tradespace.bench.reconciling import summary as means
from tradespace.bench.records import Reconciled
from tradespace.errors import OutputError
from tradespace.units import conversion

DIGITS = 5
HALF = 0.5
LARGE = 10_000.0
LARGER = {"mN": "N", "mg/s": "g/s", "W": "kW"}
"""Unit in place of the usual one for a value of five digits or more."""


@dataclass(frozen=True)
class Fact:
    """The mean of one measure over the points."""

    measure: Measure
    value: float
    """[SI]."""
    expanded: float
    """Two standard uncertainties (k = 2) [SI]."""
    points: int

    @property
    def name(self) -> str:
        """Name of the measure."""
        return self.measure.name

    @property
    def unit(self) -> str:
        """Unit that people use: the usual one, or the next larger one for a large value."""
        usual = self.measure.display_unit
        factor, _ = conversion(self.measure.unit, usual)
        return LARGER.get(usual, usual) if abs(self.value * factor) >= LARGE else usual

    @property
    def shown(self) -> tuple[float, float]:
        """Value and k = 2 uncertainty in the unit people use."""
        factor, offset = conversion(self.measure.unit, self.unit)
        return self.value * factor + offset, self.expanded * factor

    def cells(self) -> tuple[str, str, str, str]:
        """Words, value with unit, k = 2 with unit, points."""
        value, expanded = self.shown
        unit = "" if self.unit == "1" else f" {self.unit}"
        words = self.name.replace("_", " ")
        return words, f"{rounded(value, expanded)}{unit}", f"{expanded:.2g}{unit}", str(self.points)

    def content(self) -> dict[str, Any]:
        """The same in SI, for machines."""
        return {
            "value": self.value, "deviation": 0.5 * self.expanded, "unit": self.measure.unit, "points": self.points,
            "description": self.measure.description,
        }  # fmt: skip


def rounded(value: float, expanded: float) -> str:
    """A number to the digit that its uncertainty leaves standing.

    Examples
    --------
    >>> rounded(1.234567, 0.02), rounded(1.234567, 0.0), rounded(123456.0, 700.0)
    ('1.235', '1.2346', '123460')
    """
    if not np.isfinite(expanded) or expanded <= 0.0 or value == 0.0:
        return f"{value:.{DIGITS}g}"
    place = int(np.floor(np.log10(expanded))) - 1
    digits = max(-place, 0)
    return f"{round(value, -place):.{digits}f}"


def burns_and_not(found: Reconciled) -> bool:
    """Whether some points burn and others do not."""
    lit = found.readings.column("lit")
    return bool((lit > HALF).any() and (lit <= HALF).any())


def summary(found: Reconciled) -> list[Fact]:
    """Means of all facts that are known, in the order of the table; of the points that burn where not all do."""
    table = measures()
    burning = True if burns_and_not(found) else None
    return [
        Fact(table[name], mean.value, mean.expanded, mean.points)
        for name, mean in means(found, burning).items()
    ]


def write_reconciled(found: Reconciled, path: Path) -> Path:
    """Every point with value and standard uncertainty (k = 1) of every measure, after a caution, names and units.

    Raises
    ------
    OutputError
        If the file cannot be written whole.
    """
    head, units, columns = ["line"], ["1"], [found.readings.rows.astype(np.float64)]
    if found.readings.has("time"):
        head.append("time")
        units.append(channels()["time"].unit)
        columns.append(found.readings.column("time"))
    for name, measure in measures().items():
        if name not in found.columns:
            continue
        factor, offset = conversion(measure.unit, measure.display_unit)
        head += [name, f"{name}_uncertainty"]
        units += [measure.display_unit] * 2
        columns += [found.column(name) * factor + offset, found.deviation(name) * factor]
    text = io.StringIO()
    text.write(f"# {CAUTION}\n")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([head, units])
    for row in np.stack(columns, axis=1):
        writer.writerow(["" if not np.isfinite(number) else f"{number:.8g}" for number in row])
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        temporary.write_text(text.getvalue(), encoding="utf-8", newline="\n")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OutputError(
            f"cannot write {path}: {error.strerror}; choose another place with --out"
        ) from error
    return path
