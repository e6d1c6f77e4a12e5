"""Reading a list of designs: a table of comma-separated values beside the study or inside it."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tradespace.errors import StudyError, UnitError
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import Quantity
from tradespace.study.document import Document, EntryError, shown
from tradespace.study.enclosed import content_of, enclosed
from tradespace.study.values import bounds, hint, inputs
from tradespace.units import conversion

LARGEST_LIST = 64_000_000
"""Bytes of a list; larger ones are better made by a plan."""
HEADER = re.compile(r"^\s*([A-Za-z_]\w*)\s*(?:\[([^\[\]]*)\])?\s*$")


@dataclass(frozen=True)
class Listed:
    """The designs of a list."""

    columns: dict[str, FloatArray]
    """SI values by quantity."""


def read_listed(document: Document, folder: Path | None) -> tuple[Listed | None, str]:
    """The designs of a list, and the text of the study with the list inside it.

    A list read from a file is put into the text in place of the file's name, so that the text alone says
    which designs were asked for, and the study's hash covers them.
    """
    table, text = document.table("plan"), document.text
    if ("file" in table) == ("table" in table):
        what = "give only one of file and table" if "file" in table else "the list is missing"
        document.problem(("plan", "kind"), f'{what}; write file = "designs.csv", a file beside the study')
        return None, text
    key = "file" if "file" in table else "table"
    raw = document.words(("plan", key), table[key], longest=400 if key == "file" else LARGEST_LIST)
    if not raw:
        return None, text
    label, content = "table", raw
    try:
        if key == "file":
            label, content = raw, content_of(raw, folder, "table", LARGEST_LIST, "list of designs")
            text = enclosed(document, text, "plan", "table", raw, content, "a list")
        document.listed_at = ("plan", key)
        return Listed(_columns(content, label)), text
    except (EntryError, StudyError) as error:
        document.problem(("plan", key), str(error))
        return None, text


def _columns(content: str, label: str) -> dict[str, FloatArray]:
    """The columns of a list in SI."""
    reader = csv.reader(io.StringIO(content), strict=True)
    head: list[str] = []
    rows: list[list[str]] = []
    places: list[int] = []
    try:
        for row in reader:
            if not any(cell.strip() for cell in row):
                continue
            if not head:
                head = row
                known = _header(head, f"{label}, line {reader.line_num}")
                continue
            if len(row) != len(head):
                raise EntryError(
                    f"{label}, line {reader.line_num}: has {len(row)} cells where the header has {len(head)}"
                )
            rows.append(row)
            places.append(reader.line_num)
    except csv.Error as error:
        raise EntryError(f"{label}, line {reader.line_num}: not comma-separated values ({error})") from error
    if not rows:
        raise EntryError(f"{label}: holds no design; write a header, then one design on each line")
    found: dict[str, FloatArray] = {}
    for place, (item, factor, offset) in enumerate(known):
        cells = [row[place] for row in rows]
        where = f"{label}, line {{}}, column {shown(head[place].strip())}"
        values = _numbers(cells, places, where) * factor + offset
        _check_bounds(item, values, cells, places, where)
        found[item.name] = values
    return found


def _header(cells: list[str], where: str) -> list[tuple[Quantity, float, float]]:
    """The quantity of each column, with factor and offset into SI."""
    known = inputs()
    found: list[tuple[Quantity, float, float]] = []
    for number, cell in enumerate(cells, start=1):
        place = f"{where}, column {number}"
        match = HEADER.match(cell)
        if match is None:
            raise EntryError(
                f'{place}: {shown(cell)} is not a quantity with its unit; write a header such as "array_area [m2]"'
                + ("; cells are separated by commas" if ";" in cell or "\t" in cell else "")
            )
        name, unit = match.group(1), (match.group(2) or "").strip()
        if name not in known:
            raise EntryError(
                f"{place}: unknown quantity {name!r}{hint(name, known, 'tradespace list quantities')}"
            )
        item = known[name]
        if any(item is other for other, _, _ in found):
            raise EntryError(f"{place}: {name} stands in two columns; drop one")
        if not unit and item.unit != "1":
            raise EntryError(f"{place}: {name} has no unit; write the header {name} [{item.display_unit}]")
        try:
            factor, offset = conversion(unit or "1", item.unit)
        except UnitError as error:
            raise EntryError(f"{place}: {name}: {error}") from error
        found.append((item, factor, offset))
    return found


def _numbers(cells: list[str], places: list[int], where: str) -> FloatArray:
    """Cells as numbers."""
    try:
        values = np.array(cells, dtype=np.float64)
        if bool(np.isfinite(values).all()) and "_" not in "".join(cells):
            return values
    except ValueError:
        pass
    for cell, place in zip(cells, places, strict=True):
        if not cell.strip():
            raise EntryError(f"{where.format(place)}: the cell is empty; every design needs a value")
        try:
            good = "_" not in cell and np.isfinite(float(cell))
        except ValueError:
            good = False
        if not good:
            raise EntryError(
                f"{where.format(place)}: {shown(cell)} is not a number (the unit stands in the header)"
            )
    raise AssertionError


def _check_bounds(
    item: Quantity, values: FloatArray, cells: list[str], places: list[int], where: str
) -> None:
    """Refuse a value that a study could not give."""
    if item.within(float(values.min())) and item.within(float(values.max())):
        return
    bad = next(number for number, value in enumerate(values) if not item.within(float(value)))
    raise EntryError(f"{where.format(places[bad])}: {shown(cells[bad])} is out of bounds; {bounds(item)}")
