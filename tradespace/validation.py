"""Our values beside published ones: every row of ``data/published`` is a check."""

from __future__ import annotations

import importlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tradespace.errors import UnitError
from tradespace.tables import DATA, read_table
from tradespace.units import QUANTITY, from_si, parse_date, to_si

DATE = re.compile(r"\d{4}-\d{2}-\d{2}(T[\d:]+)?")
STEP = re.compile(r"\[(\d+)\]|\.?([A-Za-z_]\w*)")


@dataclass(frozen=True)
class Check:
    """One published scalar and how to compute ours."""

    link: str
    name: str
    quantity: str
    function: str
    inputs: dict[str, Any]
    output: str
    value: float
    unit: str
    tolerance: float
    tolerance_kind: str
    source: str
    where: str
    status: str
    note: str

    @property
    def needs_cantera(self) -> bool:
        """True for checks of the programs that make the property tables."""
        return self.note.startswith("needs cantera")

    def ours(self) -> float:
        """Our value, in the unit of the published one."""
        function = _resolve(self.function)
        result = function(**{key: _input(value) for key, value in self.inputs.items()})
        return float(from_si(float(_pick(result, self.output)), self.unit))

    def allowed(self) -> float:
        """Largest difference that passes, in the unit of the published value."""
        return self.tolerance * (abs(self.value) if self.tolerance_kind == "rel" else 1.0)

    def passes(self, ours: float) -> bool:
        """Whether our value agrees within the tolerance."""
        return bool(abs(ours - self.value) <= self.allowed() * (1.0 + 1e-12))


def checks() -> Iterator[Check]:
    """Every check of every link, in the order of the files.

    Examples
    --------
    >>> len(list(checks())) >= 60
    True
    """
    for path in sorted((DATA / "published").glob("*.csv")):
        for row in read_table(f"published/{path.name}").rows:
            yield Check(
                path.stem, row["id"], row["quantity"], row["function"], json.loads(row["inputs"] or "{}"),
                row["output"], float(row["value"]), row["unit"], float(row["tolerance"]), row["tolerance_kind"],
                row["source"], row["where"], row["status"], row["note"],
            )  # fmt: skip


def _resolve(path: str) -> Any:
    """The function at a dotted path below the package."""
    module, _, name = path.rpartition(".")
    return getattr(importlib.import_module(f"tradespace.{module}"), name)


def _input(value: Any) -> Any:
    """Strings that are dates or carry a unit become SI numbers; everything else stays."""
    if not isinstance(value, str):
        return value
    if DATE.fullmatch(value):
        return parse_date(value)
    match = QUANTITY.match(value)
    if match is None or not match.group(2):
        return value
    try:
        return float(to_si(float(match.group(1)), match.group(2)))
    except UnitError:
        return value


def _pick(result: Any, path: str) -> Any:
    """Follow a path such as ``[0][1]``, ``.name`` or ``key`` into a result."""
    for index, name in STEP.findall(path):
        if index:
            result = result[int(index)]
        elif isinstance(result, dict):
            result = result[name]
        else:
            result = getattr(result, name)
    return np.asarray(result).item()
