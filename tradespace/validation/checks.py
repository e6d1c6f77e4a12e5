"""The checks: every row of ``data/published`` is one published scalar and how to compute ours."""

from __future__ import annotations

import functools
import importlib
import inspect
import json
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tradespace.errors import UnitError
from tradespace.tables import DATA, read_table
from tradespace.units import QUANTITY, from_si, parse_date, to_si

DATE = re.compile(r"\d{4}-\d{2}-\d{2}(T[\d:]+)?")
STEP = re.compile(r"\[(\d+)\]|\.?([A-Za-z_]\w*)")
ARGUMENT = re.compile(r"^([a-z]\w*(?:, [a-z]\w*)*) : .*\n((?:[ \t]+.*\n?)+)", re.MULTILINE)
UNIT = re.compile(r"\[([^\[\]]+)\]")
KINDS = {
    "seen": "published, seen", "memory": "published, from memory", "computed": "computed",
    "practice": "common practice",
}  # fmt: skip
"""Words for the statuses: only the first two are printed in the source named beside the value."""
LIBRARIES = ("cantera", "CoolProp")
PUBLISHED = ("seen", "memory")
MAKERS = "data.make."
SLOW = ("windows.best_transfer", MAKERS)
"""Searches of launch windows and the programs that make tables take seconds; the other formulas no time at all."""


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
    def key(self) -> str:
        """Link and row, unique among all checks."""
        return f"{self.link}/{self.name}"

    @property
    def kind(self) -> str:
        """Where the published value comes from, in words."""
        return KINDS[self.status]

    @property
    def is_published(self) -> bool:
        """Whether the value is printed in its source, and our model was not set to it."""
        return self.status in PUBLISHED and not self.note.startswith("calibration")

    @property
    def is_slow(self) -> bool:
        """Whether computing ours takes seconds."""
        return self.function.startswith(SLOW)

    @property
    def conditions(self) -> str:
        """The inputs in words, with their units, and which part of the answer is meant."""
        units = argument_units(self.function)
        words = [
            f"{key.replace('_', ' ')} {_words(value, units.get(key, ''))}"
            for key, value in self.inputs.items()
        ]
        part = _part_words(self.output, answer_names(self.function))
        return ", ".join(words) + (f"; gives {part}" if part else "")

    @property
    def needed_library(self) -> str:
        """The library a check of the programs that make the property tables needs, beyond those of the package."""
        return next((name for name in LIBRARIES if self.note.lower().startswith(f"needs {name.lower()}")), "")

    def ours(self) -> float:
        """Our value, in the unit of the published one."""
        result = _answer(self.function, json.dumps(self.inputs))
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


def resolve(path: str) -> Any:
    """The function at a dotted path below the package.

    Raises
    ------
    ModuleNotFoundError, AttributeError
        If there is none.
    """
    module, _, name = path.rpartition(".")
    return getattr(importlib.import_module(f"tradespace.{module}"), name)


@functools.cache
def _answer(function: str, inputs: str) -> Any:
    """What a function answers to the inputs of a row; rows that pick from the same answer share it."""
    return resolve(function)(**{key: _input(value) for key, value in json.loads(inputs).items()})


@functools.cache
def argument_units(function: str) -> dict[str, str]:
    """SI unit of each argument, from the docstring; empty where the docstring names none.

    Examples
    --------
    >>> argument_units("physics.sunlight.solar_flux")["distance"]
    'm'
    """
    units: dict[str, str] = {}
    for names, below in ARGUMENT.findall(_section(function, "Parameters")):
        found = UNIT.search(below)
        if found:
            units |= dict.fromkeys(names.split(", "), found.group(1))
    return units


@functools.cache
def answer_names(function: str) -> tuple[str, ...]:
    """Names of the parts of an answer, from the docstring; empty where the docstring names none.

    Examples
    --------
    >>> answer_names("physics.transfer.hohmann_transfer")
    ('first_burn', 'second_burn', 'time_of_flight')
    """
    return tuple(name for name, _ in ARGUMENT.findall(_section(function, "Returns")))


def _section(function: str, heading: str) -> str:
    """A section of the docstring of a function."""
    if function.startswith(MAKERS):  # their bare numbers are pure; a report should not wait for their imports
        return ""
    text = inspect.getdoc(resolve(function)) or ""
    start = text.find(f"{heading}\n---")
    return text[start:].split("\n\n", 1)[0] + "\n" if start >= 0 else ""


def _part_words(path: str, names: Sequence[str]) -> str:
    """The part of an answer that a path picks, counted from one where it has no name."""
    words = []
    for place, (index, name) in enumerate(STEP.findall(path)):
        named = place == 0 and index and int(index) < len(names)
        words.append(names[int(index)] if named else f"part {int(index) + 1}" if index else name)
    return ", ".join(words).replace("_", " ")


def _words(value: Any, unit: str) -> str:
    """An input as people read it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    end = f" {unit}" if unit not in {"", "1", "text"} else ""
    if isinstance(value, list | tuple):
        return f"({', '.join(_words(item, '') for item in value)}){end}"
    if isinstance(value, float) and math.isinf(value):
        return "without limit"
    return f"{value:.10g}{end}" if isinstance(value, int | float) else str(value)


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
