"""The calibration file: what a bench has told of a cell and an engine, in a form that a study reads."""

from __future__ import annotations

import json
import math
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.errors import CalibrationError, OutputError, nearest, printable
from tradespace.options import choices
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantities

FORMAT = 1
SECTIONS = ("calibration", "values", "covariance", "derived", "checks", "rules")
VALUE_KEYS = ("value", "low", "high", "deviation", "unit", "informed")
LARGEST_FILE = 1_000_000
SYMMETRY = 1e-9
NEGATIVE = -1e-9
"""Smallest eigenvalue of a correlation that rounding of the file explains."""


@dataclass(frozen=True)
class CalibratedValue:
    """One quantity of a study as a bench has it, in SI."""

    name: str
    value: float
    low: float
    """Lower end of the 95 % interval."""
    high: float
    """Upper end of the 95 % interval."""
    deviation: float
    """Standard deviation."""
    informed: bool
    """Whether the readings told more of it than was assumed before."""


@dataclass(frozen=True, eq=False)
class Calibration:
    """What a bench has told, with where it comes from."""

    title: str
    values: Mapping[str, CalibratedValue]
    """Quantities of a study."""
    covariance: FloatArray
    """Of the values in their order [SI], shape (n, n)."""
    cell_kind: str = ""
    """Kind of the cell that was measured; empty where no cell was."""
    readings: str = ""
    """Name of the readings file."""
    readings_hash: str = ""
    points: int = 0
    date: str = ""
    """Day on which the file was written."""
    version: str = ""
    invented: bool = False
    derived: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """Numbers that the values imply at the bench, with standard deviations [SI]."""
    checks: tuple[tuple[str, str, str], ...] = ()
    """Name, verdict and sentence of every consistency check."""
    rules: tuple[str, ...] = ()
    """How the values are carried from the bench to a flight."""

    @property
    def names(self) -> tuple[str, ...]:
        """Quantities of a study, in order."""
        return tuple(self.values)

    @property
    def correlation(self) -> FloatArray:
        """Of the values in their order [1], shape (n, n)."""
        width = np.sqrt(np.diag(self.covariance))
        scale = np.where(width > 0.0, width, 1.0)
        found = self.covariance / np.outer(scale, scale)
        np.fill_diagonal(found, 1.0)
        return np.asarray(np.clip(found, -1.0, 1.0))


def _text(value: object) -> str:
    """A text as TOML writes it: a JSON string is one."""
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f").replace("'''", "' ' '")


def calibration_text(calibration: Calibration) -> str:
    """A calibration as the text of its file; the same calibration gives the same text."""
    head = {
        "title": calibration.title, "cell_kind": calibration.cell_kind, "readings": calibration.readings,
        "readings_sha256": calibration.readings_hash, "date": calibration.date, "version": calibration.version,
    }  # fmt: skip
    lines = [
        "# A calibration of a cell or an engine from the readings of a bench. A study reads it:",
        "#   [calibration]",
        '#   file = "<this file>"',
        "# It describes readings that were taken and approves no set-up; local codes and licensed practice rule.",
        "",
        "[calibration]",
        f"format = {FORMAT}",
        *(f"{key} = {_text(value)}" for key, value in head.items() if value),
        f"points = {calibration.points}",
        f"invented = {str(calibration.invented).lower()}",
    ]
    for name, one in calibration.values.items():
        lines += ["", f"[values.{name}]", f"# {quantities()[name].description}"]
        lines += [f"{key} = {float(getattr(one, key))!r}" for key in ("value", "low", "high", "deviation")]
        lines += [f"unit = {_text(quantities()[name].unit)}", f"informed = {str(one.informed).lower()}"]
    names = ", ".join(_text(name) for name in calibration.names)
    lines += ["", "[covariance] # in the units above", f"names = [{names}]", "matrix = ["]
    lines += [f"  [{', '.join(repr(float(cell)) for cell in row)}]," for row in calibration.covariance]
    lines += ["]", "", "[derived] # what the values imply at the bench: value, standard deviation, SI"]
    lines += [f"{name} = [{value!r}, {width!r}]" for name, (value, width) in calibration.derived.items()]
    for name, verdict, words in calibration.checks:
        lines += ["", "[[checks]]", f"name = {_text(name)}", f"verdict = {_text(verdict)}"]
        lines += [f"words = {_text(words)}"]
    lines += ["", "[rules]", "text = ["]
    lines += [f"  {_text(rule)}," for rule in calibration.rules]
    return "\n".join([*lines, "]", ""])


def write_calibration(calibration: Calibration, path: Path) -> Path:
    """Write a calibration file, whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        temporary.write_text(calibration_text(calibration), encoding="utf-8", newline="\n")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OutputError(
            f"cannot write {path}: {error.strerror}; choose another place with --out"
        ) from error
    return path


def read_calibration(path: str | Path) -> Calibration:
    """Read a calibration file.

    Raises
    ------
    CalibrationError
        If it cannot be read, or does not hold what a calibration holds.
    """
    file = Path(path)
    label = printable(str(file))
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise CalibrationError(
                f"{label}: is larger than {LARGEST_FILE // 1_000_000} MB, no calibration file"
            )
        text = file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise CalibrationError(f"{label}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise CalibrationError(f"{label}: is not UTF-8 text; write it again with tradespace bench") from error
    return parse_calibration(text, label)


def parse_calibration(text: str, label: str = "calibration") -> Calibration:
    """A calibration from the text of its file.

    Raises
    ------
    CalibrationError
        If the text does not hold what a calibration holds.
    """
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CalibrationError(f"{label}: is not a calibration file ({printable(error)})") from error
    for section in tree:
        if section not in SECTIONS:
            raise CalibrationError(
                f"{label}: unknown section [{printable(section)}]{_hint(section, SECTIONS)}"
            )
    head = _table(tree, "calibration", label)
    if head.get("format") != FORMAT:
        raise CalibrationError(
            f"{label}: format {printable(head.get('format'))} is not {FORMAT}; write it again with tradespace bench"
        )
    values = {name: _value(name, raw, label) for name, raw in _table(tree, "values", label).items()}
    if not values:
        raise CalibrationError(f"{label}: [values] is missing or empty; write it again with tradespace bench")
    kind, kinds = str(head.get("cell_kind", "")), tuple(choices()["cell_kind"].options)
    if kind and kind not in kinds:
        raise CalibrationError(f"{label}: cell_kind {printable(kind)!r} is unknown{_hint(kind, kinds)}")
    return Calibration(
        title=printable(head.get("title", label)), values=values,
        covariance=_covariance(_table(tree, "covariance", label), values, label), cell_kind=kind,
        readings=printable(head.get("readings", "")), readings_hash=printable(head.get("readings_sha256", "")),
        points=int(head.get("points", 0)), date=printable(head.get("date", "")),
        version=printable(head.get("version", "")), invented=bool(head.get("invented", False)),
        derived=_derived(tree.get("derived", {}), label), checks=_checks(tree.get("checks", []), label),
        rules=tuple(printable(rule) for rule in _table(tree, "rules", label, empty=True).get("text", [])),
    )  # fmt: skip


def _hint(name: str, known: tuple[str, ...]) -> str:
    close = nearest(name, known)
    return f"; did you mean {' or '.join(map(repr, close))}?" if close else f"; allowed: {', '.join(known)}"


def _table(tree: Mapping[str, Any], name: str, label: str, *, empty: bool = False) -> Mapping[str, Any]:
    found = tree.get(name, {} if empty else None)
    if not isinstance(found, dict):
        raise CalibrationError(
            f"{label}: the section [{name}] is missing; write it again with tradespace bench"
        )
    return found


def _value(name: str, raw: object, label: str) -> CalibratedValue:
    """One entry of ``[values]`` in SI, within the bounds of its quantity."""
    where = f"{label}: values.{printable(name)}"
    known = {key: item for key, item in quantities().items() if item.role in {"input", "derived"}}
    if name not in known:
        raise CalibrationError(f"{where}: is not an input of a study{_hint(name, tuple(known))}")
    if not isinstance(raw, dict) or set(raw) - set(VALUE_KEYS) or set(VALUE_KEYS[:5]) - set(raw):
        raise CalibrationError(f"{where}: needs {', '.join(VALUE_KEYS)} and nothing else")
    item = known[name]
    if raw["unit"] != item.unit:
        raise CalibrationError(f"{where}.unit: {printable(raw['unit'])} must be {item.unit!r}")
    numbers = {key: _number(raw[key], f"{where}.{key}") for key in VALUE_KEYS[:4]}
    value, low, high = (numbers[key] for key in ("value", "low", "high"))
    if not low <= value <= high or numbers["deviation"] < 0.0:
        raise CalibrationError(
            f"{where}: value {value:g} must lie between low {low:g} and high {high:g}, "
            "and the deviation must not be negative"
        )
    if not item.within(value):
        raise CalibrationError(
            f"{where}: {value:g} {item.unit} is out of bounds; allowed {item.low} to {item.high} {item.unit}"
        )
    return CalibratedValue(name, value, low, high, numbers["deviation"], bool(raw.get("informed", True)))


def _number(raw: object, where: str) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
        raise CalibrationError(f"{where}: {printable(raw)} must be a finite number")
    return float(raw)


def _covariance(table: Mapping[str, Any], values: Mapping[str, CalibratedValue], label: str) -> FloatArray:
    """The covariance in SI; must belong to the values and be one."""
    where = f"{label}: covariance"
    names, rows = table.get("names"), table.get("matrix")
    if names != list(values):
        raise CalibrationError(f"{where}.names: must list the quantities of [values] in their order")
    square = isinstance(rows, list) and len(rows) == len(values)
    if not square or not all(isinstance(row, list) and len(row) == len(values) for row in rows or []):
        raise CalibrationError(f"{where}.matrix: must have {len(values)} rows of {len(values)} numbers")
    assert isinstance(rows, list)
    found = np.array([[_number(cell, f"{where}.matrix") for cell in row] for row in rows])
    width = np.array([one.deviation for one in values.values()])
    scale = np.where(width > 0.0, width, 1.0)
    unit = found / np.outer(scale, scale)
    if float(np.abs(unit - unit.T).max()) > SYMMETRY or float(np.linalg.eigvalsh(unit)[0]) < NEGATIVE:
        raise CalibrationError(
            f"{where}.matrix: is no covariance; write the file again with tradespace bench"
        )
    if float(np.abs(np.diag(unit) - np.where(width > 0.0, 1.0, 0.0)).max()) > 1e-3:
        raise CalibrationError(
            f"{where}.matrix: its diagonal is not the square of the deviations in [values]"
        )
    return np.asarray(found)


def _derived(table: object, label: str) -> dict[str, tuple[float, float]]:
    if not isinstance(table, dict):
        raise CalibrationError(f"{label}: [derived] must be a section")
    found = {}
    for name, raw in table.items():
        if not isinstance(raw, list) or len(raw) != 2:
            raise CalibrationError(f"{label}: derived.{printable(name)} must be [value, deviation]")
        first, second = (_number(part, f"{label}: derived.{printable(name)}") for part in raw)
        found[printable(name)] = (first, second)
    return found


def _checks(rows: object, label: str) -> tuple[tuple[str, str, str], ...]:
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise CalibrationError(f"{label}: [[checks]] must be a list of name, verdict and words")
    keys = ("name", "verdict", "words")
    return tuple(
        (printable(r.get(keys[0], "")), printable(r.get(keys[1], "")), printable(r.get(keys[2], "")))
        for r in rows
    )
