"""Readings as TOML: facts, uncertainties, and points one by one or in a table beside the file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.bench.channels import WORDS, channels
from tradespace.bench.raw import Raw, Stated, decoded, part_of, quantity, read_bytes, shown
from tradespace.bench.sheet import read_sheet
from tradespace.errors import ReadingsError, UnitError, nearest, printable

SECTIONS = ("title", "notes", "invented", "facts", "uncertainty", "points", "table")
HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_-]+)\s*\]")
KEY = re.compile(r"^\s*([A-Za-z0-9_-]+)\s*=")
PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")


def read_entries(text: str, label: str, folder: Path | None) -> Raw:
    """What a TOML file says.

    Raises
    ------
    ReadingsError
        If it cannot be read; the message names the line.
    """
    raw = Raw(label)
    tree, lines = _parsed(raw, text), _lines(text)
    for name in tree:
        if name not in SECTIONS:
            close = nearest(name, [*SECTIONS, *channels(), *WORDS], 1)
            where = " (facts stand in the section [facts])" if close and close[0] not in SECTIONS else ""
            hint = f"did you mean {close[0]!r}{where}?" if close else f"allowed: {', '.join(SECTIONS)}"
            raise raw.wrong(lines.get((name,), 0), f"unknown entry {name!r}; {hint}")
    raw.title, raw.notes = (_text(raw, tree, name, lines) for name in ("title", "notes"))
    invented = tree.get("invented", False)
    if not isinstance(invented, bool):
        raise raw.wrong(lines.get(("invented",), 0), f"invented: {shown(invented)} must be true or false")
    raw.invented = invented
    if "table" in tree:
        if "points" in tree:
            raise raw.wrong(lines.get(("table",), 0), "give either table or points, not both")
        raw = _with_table(raw, _text(raw, tree, "table", lines), folder, lines.get(("table",), 0))
    _facts(raw, _section(raw, tree, "facts", lines), lines)
    _points(raw, tree.get("points", []), lines)
    _uncertainty(raw, _section(raw, tree, "uncertainty", lines), lines)
    if not raw.rows.size and not raw.left_out:
        if not raw.facts or "table" in tree or "points" in tree:
            raise raw.wrong(0, "holds no point; write [[points]] or name a table")
        raw.rows = np.array([float(lines.get(("facts",), 1))])  # facts alone are one steady point
    return raw


Lines = Mapping[tuple[str | int, ...], int]


def _parsed(raw: Raw, text: str) -> dict[str, Any]:
    """The tree of the text."""
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise raw.wrong(0, "is nested too deeply to be readings") from error
    except ValueError as error:
        message = str(error)
        place = PLACE.search(message)
        what = printable(PLACE.sub("", message))[:200]
        line = int(place.group(1)) if place is not None and place.group(1) else max(1, len(text.splitlines()))
        raise raw.wrong(line if place is not None else 0, f"not valid TOML: {what}") from error


def _lines(text: str) -> Lines:
    """Where sections, points and their keys begin."""
    found: dict[tuple[str | int, ...], int] = {}
    section: tuple[str | int, ...] = ()
    count = -1
    for number, line in enumerate(text.split("\n"), start=1):
        if header := HEADER.match(line):
            section = (header.group(2),)
            found.setdefault(section, number)
            if header.group(1) == "[[":
                count += 1
                section = (*section, count)
            found.setdefault(section, number)
        elif key := KEY.match(line):
            found.setdefault((*section, key.group(1)), number)
    return found


def _text(raw: Raw, tree: Mapping[str, Any], name: str, lines: Lines) -> str:
    value = tree.get(name, "")
    if not isinstance(value, str):
        raise raw.wrong(lines.get((name,), 0), f"{name}: {shown(value)} must be text in quotation marks")
    return value


def _section(raw: Raw, tree: Mapping[str, Any], name: str, lines: Lines) -> Mapping[str, Any]:
    value = tree.get(name, {})
    if not isinstance(value, dict):
        raise raw.wrong(lines.get((name,), 0), f"{name} must be a section, written [{name}]")
    return value


def _with_table(above: Raw, name: str, folder: Path | None, line: int) -> Raw:
    """The table named in a TOML file, under the title and notes of that file."""
    if folder is None:
        raise above.wrong(
            line, f"table: {shown(name)} cannot be looked for, because these readings are not a file"
        )
    path = folder / name
    try:
        found = path.is_file()
    except ValueError:
        found = False
    if not found:
        raise above.wrong(line, f"table: {shown(name)} is not a file beside this one")
    data = read_bytes(path)
    raw = read_sheet(decoded(data, str(path)), str(path))
    raw.label, raw.attached = above.label, data
    raw.title, raw.notes = above.title or raw.title, "\n".join(filter(None, (above.notes, raw.notes)))
    raw.invented = above.invented or raw.invented
    return raw


def _facts(raw: Raw, section: Mapping[str, Any], lines: Lines) -> None:
    """Take the facts, in words and in numbers."""
    for name, value in section.items():
        line = lines.get(("facts", name), lines.get(("facts",), 0))
        if name in WORDS:
            raw.word(name, value, line)
        elif name in channels():
            raw.fact(name, value, line)
        else:
            raise _unknown(raw, "fact", name, [*channels(), *WORDS], line)


def _unknown(raw: Raw, what: str, name: str, known: list[str], line: int) -> ReadingsError:
    close = nearest(name, known, 2)
    hint = (
        f"did you mean {' or '.join(repr(item) for item in close)}?"
        if close
        else "see: tradespace list channels"
    )
    return raw.wrong(line, f"unknown {what} {name!r}; {hint}")


def _points(raw: Raw, points: object, lines: Lines) -> None:
    """Take the points one by one."""
    if not isinstance(points, list) or not all(isinstance(point, dict) for point in points):
        raise raw.wrong(lines.get(("points",), 0), "points must be sections, each written [[points]]")
    if not points:
        return
    place_of = [lines.get(("points", number), lines.get(("points",), 0)) for number in range(len(points))]
    columns: dict[str, Any] = {}
    for number, point in enumerate(points):
        for name, text in point.items():
            line = lines.get(("points", number, name), place_of[number])
            if name not in channels():
                raise _unknown(raw, "channel", name, list(channels()), line)
            if name in raw.facts:
                raise raw.wrong(line, f"{name} is a fact in line {raw.lines[name]} already; keep one")
            column = columns.setdefault(name, np.full(len(points), np.nan))
            raw.lines.setdefault(name, line)
            try:
                column[number] = quantity(text, channels()[name])
            except UnitError as error:
                raise raw.wrong(line, f"{name}: {error}") from error
    raw.columns |= columns
    raw.rows = np.array(place_of, dtype=np.float64)


def _uncertainty(raw: Raw, section: Mapping[str, Any], lines: Lines) -> None:
    """Take the stated uncertainties."""
    for name, value in section.items():
        line = lines.get(("uncertainty", name), lines.get(("uncertainty",), 0))
        if name not in channels():
            raise _unknown(raw, "channel", name, list(channels()), line)
        if name not in raw.columns and name not in raw.facts:
            raise raw.wrong(line, f"uncertainty of {name}, which these readings do not hold")
        given = value if isinstance(value, dict) else {"total": value}
        strange = [key for key in given if key not in ("total", "random", "systematic")]
        if strange or not given:
            raise raw.wrong(line, f"{name}: {shown(value)} must be text, or hold random and systematic")
        try:
            raw.stated[name] = Stated(**{key: part_of(text, channels()[name]) for key, text in given.items()})
        except UnitError as error:
            raise raw.wrong(line, f"{name}: {error}") from error
