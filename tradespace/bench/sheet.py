"""Readings as comma-separated values: lines of facts, a row of names, a row of units, then numbers."""

from __future__ import annotations

import csv
import math
import re

import numpy as np

from tradespace.bench.channels import WORDS, Channel, channels
from tradespace.bench.instruments import Part
from tradespace.bench.raw import NOT_READ, UNCERTAINTY, Raw, Stated, factor_of, part_of, shown
from tradespace.errors import UnitError, nearest
from tradespace.physics.compiled import FloatArray
from tradespace.units import conversion

FACT = re.compile(r"^#+\s*([A-Za-z]\w*)\s*=\s*(.*?)\s*$")
FREE = ("title", "notes", "invented")
NOTES = "notes"
MOST_POINTS = 1_000_000


def read_sheet(text: str, label: str) -> Raw:
    """What a file of comma-separated values says.

    Raises
    ------
    ReadingsError
        If it cannot be read; the message names the line.
    """
    raw = Raw(label)
    lines, places = _without_comments(raw, text)
    if not lines:
        raise raw.wrong(0, "holds no readings; write a row of names, a row of units, then the readings")
    reader = csv.reader(lines, strict=True)
    rows: list[list[str]] = []
    numbers: list[int] = []
    try:
        for row in reader:
            rows.append(row)
            numbers.append(places[reader.line_num - 1])
    except csv.Error as error:
        raise raw.wrong(
            places[min(reader.line_num, len(places)) - 1], f"not comma-separated values ({error})"
        ) from error
    names = _names(raw, rows[0], numbers[0])
    if len(rows) < 2:
        raise raw.wrong(numbers[0], "no row of units and no reading follows the names")
    units = _units(raw, names, rows[1], numbers[1])
    body, kept = _body(raw, names, rows[2:], numbers[2:])
    raw.rows = np.array(kept, dtype=np.float64)
    for place, (name, unit) in enumerate(zip(names, units, strict=True)):
        if name not in FREE:
            _column(raw, name, unit, [row[place].strip() for row in body], kept, numbers[1])
    return raw


def _without_comments(raw: Raw, text: str) -> tuple[list[str], list[int]]:
    """The lines that hold cells, with their numbers; facts written in comments above them are taken."""
    lines: list[str] = []
    places: list[int] = []
    for number, line in enumerate(text.split("\n"), start=1):
        if line.startswith("#"):
            match = FACT.match(line)
            if match is not None and not lines:
                _fact_line(raw, match.group(1), match.group(2), number)
        elif line.strip(" ,\t"):
            lines.append(line)
            places.append(number)
    return lines, places


def _fact_line(raw: Raw, name: str, written: str, line: int) -> None:
    """Take a line like ``# throat_diameter = 1.5 mm``."""
    text = written.strip("\"'")
    if name == "title":
        raw.title = text
    elif name == NOTES:
        raw.notes = f"{raw.notes}\n{text}".strip()
    elif name == "invented":
        if text not in {"true", "false"}:
            raise raw.wrong(line, f"invented: {shown(text)} must be true or false")
        raw.invented = text == "true"
    elif name in WORDS:
        raw.word(name, text, line)
    elif name in channels():
        raw.fact(name, text, line)
    elif name.removesuffix(UNCERTAINTY) in channels():
        base = name.removesuffix(UNCERTAINTY)
        try:
            raw.stated[base] = Stated(total=part_of(text, channels()[base]))
        except UnitError as error:
            raise raw.wrong(line, f"{name}: {error}") from error
    elif close := nearest(name, [*channels(), *WORDS, *FREE], 1):
        raise raw.wrong(line, f"unknown fact {name!r}; did you mean {close[0]!r}?")


def _names(raw: Raw, cells: list[str], line: int) -> list[str]:
    """The columns."""
    names = [cell.strip() for cell in cells]
    if all(_is_number(name) for name in names):
        raise raw.wrong(
            line, "the row of names is missing; the first row names the channels, such as time,current"
        )
    if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
        raise raw.wrong(line, "cells are separated by commas, not by semicolons or tabs")
    for number, name in enumerate(names, start=1):
        if (
            name not in channels()
            and name not in WORDS
            and name not in FREE
            and _base(name) not in channels()
        ):
            words = name.split("[")[0].split("(")[0].strip()
            close = nearest(words, [*channels(), *WORDS], 2)
            hint = (
                f"did you mean {' or '.join(repr(item) for item in close)}?"
                if close
                else "see: tradespace list channels"
            )
            beside = "; units stand in the row below the names" if words != name else ""
            raise raw.wrong(line, f"column {number}: unknown channel {shown(name)}; {hint}{beside}")
        if names.index(name) != number - 1:
            raise raw.wrong(
                line, f"column {number}: {name} stands in column {names.index(name) + 1} already; drop one"
            )
        if name in raw.facts or name in raw.words:
            raise raw.wrong(
                line, f"column {number}: {name} is a fact in line {raw.lines[name]} already; keep one"
            )
    for name in names:
        if name.endswith(UNCERTAINTY) and _base(name) not in [*names, *raw.facts]:
            raise raw.wrong(line, f"{name} stands without a column {_base(name)}")
    return names


def _base(name: str) -> str:
    return name.removesuffix(UNCERTAINTY) if name.endswith(UNCERTAINTY) else ""


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return text.strip().lower() not in NOT_READ


def _channel(name: str) -> Channel | None:
    return channels().get(_base(name) or name)


def _units(raw: Raw, names: list[str], cells: list[str], line: int) -> list[str]:
    """The unit of each column."""
    units = [cell.strip() for cell in cells]
    units += [""] * (len(names) - len(units))
    for name, unit in zip(names, units, strict=False):
        found = _channel(name)
        if found is not None and _is_number(unit) and not (unit == "1" and found.unit == "1"):
            wanted = ",".join(item.display_unit if (item := _channel(each)) else "" for each in names[:6])
            raise raw.wrong(
                line, f'the row of units is missing; write one below the names, such as "{wanted}"'
            )
    if len(units) != len(names):
        raise raw.wrong(line, f"has {len(units)} units where {len(names)} columns have names")
    for number, (name, unit) in enumerate(zip(names, units, strict=True), start=1):
        found = _channel(name)
        if found is None or (_base(name) and unit == "%"):
            continue
        try:
            factor_of(unit, found)
        except UnitError as error:
            raise raw.wrong(line, f"column {number}: {name}: {error}") from error
    return units


def _body(
    raw: Raw, names: list[str], rows: list[list[str]], numbers: list[int]
) -> tuple[list[list[str]], list[int]]:
    """The rows that have a cell for every column."""
    count = len(names)
    if len(rows) > MOST_POINTS:
        raise raw.wrong(
            numbers[MOST_POINTS],
            f"has {len(rows):,} points; at most {MOST_POINTS:,} are read, so average or thin them out",
        )
    body: list[list[str]] = []
    kept: list[int] = []
    for row, number in zip(rows, numbers, strict=True):
        if len(row) < count:
            raw.left_out.append(number)
            continue
        if len(row) > count and any(cell.strip() for cell in row[count:]):
            raise raw.wrong(
                number,
                f"has {len(row)} cells where {count} columns have names; write decimals with a point, not a comma",
            )
        body.append(row)
        kept.append(number)
    return body, kept


def _column(raw: Raw, name: str, unit: str, cells: list[str], lines: list[int], unit_line: int) -> None:
    """Take one column."""
    if name in WORDS:
        for cell, line in zip(cells, lines, strict=True):
            if name not in raw.words or cell != raw.words[name]:
                raw_word = raw.words.get(name)
                raw.word(name, cell, line)
                if raw_word is not None:
                    raise raw.wrong(
                        line, f"{name} changes from {raw_word!r} to {cell!r}; write one file for each"
                    )
        return
    found = _channel(name)
    assert found is not None
    values = _numbers(raw, name, cells, lines)
    if not _base(name):
        factor, offset = factor_of(unit, found)
        raw.columns[name] = values * factor + offset
        raw.lines[name] = unit_line
        return
    below = np.flatnonzero(values < 0.0)
    if below.size:
        raise raw.wrong(lines[below[0]], f"{name}: {shown(cells[below[0]])} must not be negative")
    raw.stated[_base(name)] = _stated_column(raw, found, unit, values)


def _stated_column(raw: Raw, channel: Channel, unit: str, values: FloatArray) -> Stated:
    """An uncertainty given row by row; its channel may stand in a later column, so a share is kept as one."""
    if unit == "%":
        return Stated(total=Part(relative=values * conversion("%", "1")[0]))
    return Stated(total=Part(absolute=values * factor_of(unit, channel)[0]))


def _numbers(raw: Raw, name: str, cells: list[str], lines: list[int]) -> FloatArray:
    """Cells as numbers; a reading that was not taken is not a number."""
    try:
        values = np.array(cells, dtype=np.float64)
        if not bool(np.isinf(values).any()) and "_" not in "".join(cells):
            return values
    except ValueError:
        pass
    values = np.full(len(cells), np.nan)
    for place, cell in enumerate(cells):
        if cell.lower() in NOT_READ:
            continue
        try:
            number = math.nan if "_" in cell else float(cell)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise raw.wrong(
                lines[place],
                f"{name}: {shown(cell)} is not a number (the unit stands below the name; "
                "leave the cell empty if not read)",
            )
        values[place] = number
    return values
