"""The user's own bodies: two files in a folder of theirs, checked when read, replaced whole when written."""

from __future__ import annotations

import csv
import io
import math
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple, NoReturn

from tradespace.catalogue.tables import CATALOGUE, ELEMENTS
from tradespace.constants import GRADES
from tradespace.errors import OutputError, UnitError, printable
from tradespace.tables import UNIT_ROW, read_table
from tradespace.units import parse_date

Row = dict[str, str]
FOLDER_VARIABLE = "TRADESPACE_CATALOGUE"
ORIGIN = "origin"
SHIPPED = "shipped"
SHOWN = 60
ELEMENT_COLUMNS = (
    ("epoch", "s"),
    ("semi_major_axis", "m"),
    ("eccentricity", "1"),
    ("inclination", "rad"),
    ("ascending_node", "rad"),
    ("argument_of_perihelion", "rad"),
    ("mean_anomaly", "rad"),
)
GROUPS = (
    "main_belt", "hilda", "jupiter_trojan", "main_belt_comet", "nea", "planet", "moon",
    "mars_crosser", "centaur", "trans_neptunian", "comet", "other",
)  # fmt: skip
WATER_CLASSES = (
    "surface_ice_detected", "water_vapour_detected", "hydrated_3um", "inferred", "none", "unknown",
)  # fmt: skip
LARGEST = sys.float_info.max
ABOVE_ZERO = math.ulp(0.0), LARGEST, "above zero"
FRACTION = 0.0, 1.0, "from 0 to 1"
FINITE = -LARGEST, LARGEST, "finite"
BODY_LIMITS = {
    **dict.fromkeys(
        ("radius", "radius_low", "radius_high", "gm", "gm_low", "gm_high", "rotation_period"), ABOVE_ZERO
    ),
    **dict.fromkeys(
        ("geometric_albedo", "bond_albedo", "water_fraction_low", "water_fraction_high"), FRACTION
    ),
    **dict.fromkeys(
        ("absolute_magnitude", "slope_parameter", "elements_uncertainty", "closest_earth"), FINITE
    ),
}
ELEMENT_LIMITS = {
    **{name: FINITE for name, _ in ELEMENT_COLUMNS},
    "semi_major_axis": ABOVE_ZERO,
    "eccentricity": (0.0, math.nextafter(1.0, 0.0), "at least 0 and below 1"),
}


class Stamp(NamedTuple):
    """State of the user's files: changes whenever one of them does."""

    folder: str
    bodies: tuple[int, int, int] | None
    elements: tuple[int, int, int] | None


@dataclass(frozen=True)
class Own:
    """Imported bodies and their ellipses, as text."""

    rows: tuple[Row, ...] = ()
    elements: tuple[Row, ...] = ()


def folder() -> Path:
    """Folder of the user's own catalogue: ``$TRADESPACE_CATALOGUE``, or ``tradespace`` among the user's data.

    Examples
    --------
    >>> folder().name != ""
    True
    """
    return Path(_folder())


def _folder() -> str:
    given = os.environ.get(FOLDER_VARIABLE)
    if given:
        return os.path.expanduser(given)  # noqa: PTH111  (never raises)
    base = os.environ.get("XDG_DATA_HOME", "")
    if not base.startswith(os.sep):
        base = os.path.expanduser("~/.local/share")  # noqa: PTH111
    return f"{base}{os.sep}tradespace"


def stamp() -> Stamp:
    """State of the user's files now; equal stamps mean an unchanged catalogue.

    Examples
    --------
    >>> stamp() == stamp()
    True
    """
    where = _folder()
    bodies = _mark(f"{where}{os.sep}{CATALOGUE}")
    return Stamp(where, bodies, bodies and _mark(f"{where}{os.sep}{ELEMENTS}"))


def _mark(path: str) -> tuple[int, int, int] | None:
    try:
        found = os.stat(path)  # noqa: PTH116  (asked often)
    except (OSError, ValueError):
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def read_own(mark: Stamp) -> Own:
    """The user's own catalogue, every cell checked.

    Raises
    ------
    OutputError
        If a file is damaged; the message names the file, the line and what is wrong there.
    """
    if mark.bodies is None:
        return Own()
    where = Path(mark.folder)
    rows = _checked_bodies(where / CATALOGUE)
    known = {row["id"] for row in rows}
    table = _checked_elements(where / ELEMENTS, known) if known else ()
    missing = known - {row["id"] for row in table}
    if missing:
        _refuse(where / ELEMENTS, 1, f"no ellipse of {sorted(missing)[0]!r}")
    return Own(rows, table)


def _refuse(path: Path, line: int, what: str) -> NoReturn:
    raise OutputError(
        f"{path}:{line}: {printable(what)}; mend the file, or start again with: tradespace forget --all"
    )


def _shown(text: str) -> str:
    return repr(text if len(text) <= SHOWN else text[: SHOWN - 3] + "...")


def _lines(path: Path, needed: Iterable[str], units: dict[str, str]) -> Iterator[tuple[int, Row]]:
    """Data rows of a file of the user with their line numbers; its header and its units are checked."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        _refuse(path, error.object[: error.start].count(b"\n") + 1, "is not text in UTF-8")
    except FileNotFoundError:
        _refuse(path, 1, "is missing")
    except OSError as error:
        raise OutputError(f"cannot read {path}: {error.strerror}") from error
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        header = [cell.strip() for cell in next(reader, [])]
        lacking = [name for name in needed if name not in header]
        if lacking:
            _refuse(path, 1, f"the header has no column {lacking[0]!r}")
        if len(set(header)) < len(header):
            _refuse(path, 1, "a column is named twice")
        for cells in reader:
            if not any(cells):
                continue
            if len(cells) != len(header):
                _refuse(path, reader.line_num, f"{len(cells)} cells instead of {len(header)}")
            row = dict(zip(header, map(str.strip, cells), strict=True))
            if cells[0].startswith(UNIT_ROW):
                wrong = [name for name in header[1:] if name in units and row[name] != units[name]]
                if wrong:
                    name = wrong[0]
                    _refuse(path, reader.line_num, f"{name} must be in {units[name]!r}, not in {row[name]!r}")
                continue
            yield reader.line_num, row
    except csv.Error as error:
        _refuse(path, reader.line_num, str(error))


def _check_numbers(path: Path, line: int, row: Row, limits: dict[str, tuple[float, float, str]]) -> None:
    for name, (low, high, words) in limits.items():
        if cell := row[name]:
            try:
                number = float(cell)
            except ValueError:
                _refuse(path, line, f"{name} {_shown(cell)} is not a number")
            if not low <= number <= high:
                _refuse(path, line, f"{name} {_shown(cell)} must be {words}")


def _check_words(path: Path, line: int, row: Row, allowed: dict[str, tuple[str, ...]]) -> None:
    """Columns that hold one word out of a list, and the two dates."""
    for name, words in allowed.items():
        if row[name] not in words:
            listed = ", ".join(word for word in words if word)
            _refuse(path, line, f"{name} {_shown(row[name])} is unknown; allowed: {listed}")
    try:
        ordered = parse_date(row["valid_from"]) < parse_date(row["valid_until"])
    except (UnitError, OverflowError) as error:
        _refuse(path, line, str(error))
    if not ordered:
        _refuse(path, line, "valid_until is not after valid_from")


def _checked_bodies(path: Path) -> tuple[Row, ...]:
    """Rows of the user's ``bodies.csv``; a column that is not there is blank."""
    shipped = read_table(CATALOGUE)
    blank = dict.fromkeys((*shipped.columns, ORIGIN), "")
    allowed: dict[str, tuple[str, ...]] = {
        "group": tuple(name for name in GROUPS if name not in {"planet", "moon"}),
        "parent": ("Sun",),
        "water_class": WATER_CLASSES,
        **{name: ("", *GRADES) for name in blank if name.endswith("_grade")},
    }
    rows: dict[str, Row] = {}
    for line, cells in _lines(path, ("id", "name", "group", "valid_from", "valid_until"), shipped.units):
        row = {**blank, **cells}
        for name, usual in (("parent", "Sun"), ("water_class", "unknown"), (ORIGIN, "imported")):
            row[name] = row[name] or usual
        if not row["id"] or not row["name"]:
            _refuse(path, line, "a body without an identifier or a name")
        if row["id"] in rows:
            _refuse(path, line, f"{_shown(row['id'])} is there twice")
        _check_words(path, line, row, allowed)
        _check_numbers(path, line, row, BODY_LIMITS)
        rows[row["id"]] = row
    return tuple(rows.values())


def _checked_elements(path: Path, known: set[str]) -> tuple[Row, ...]:
    """Rows of the user's ``body_elements.csv`` that belong to a body."""
    names = [name for name, _ in ELEMENT_COLUMNS]
    rows: list[Row] = []
    for line, row in _lines(path, ("id", *names), read_table(ELEMENTS).units):
        if not all(row[name] for name in names):
            _refuse(path, line, "a cell is empty")
        _check_numbers(path, line, row, ELEMENT_LIMITS)
        if row["id"] in known:
            rows.append(row)
    return tuple(rows)


def write_own(own: Own) -> Path:
    """Replace the user's own catalogue, each file by another name first; returns the folder.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    where = folder()
    try:
        where.mkdir(parents=True, exist_ok=True)
        # ellipses first: one too many does no harm, one too few would
        _replace(where / ELEMENTS, read_table(ELEMENTS).columns, read_table(ELEMENTS).units, own.elements)
        columns = (*read_table(CATALOGUE).columns, ORIGIN)
        _replace(where / CATALOGUE, columns, read_table(CATALOGUE).units, own.rows)
    except OSError as error:
        raise OutputError(f"cannot write {error.filename or where}: {error.strerror}") from error
    return where


def _replace(path: Path, columns: Sequence[str], units: dict[str, str], rows: Iterable[Row]) -> None:
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with draft.open("w", encoding="utf-8", newline="") as handle:
            writer = csv.writer(handle, lineterminator="\n")
            writer.writerow(columns)
            writer.writerow([UNIT_ROW, *(units.get(name, "") for name in columns[1:])])
            writer.writerows([row.get(name, "") for name in columns] for row in rows)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def delete_own() -> list[Path]:
    """Delete the user's own catalogue, damaged or not; returns the files that were there.

    Raises
    ------
    OutputError
        If a file cannot be deleted.
    """
    gone: list[Path] = []
    for name in (CATALOGUE, ELEMENTS):
        path = folder() / name
        try:
            path.unlink()
            gone.append(path)
        except FileNotFoundError:
            continue
        except OSError as error:
            raise OutputError(f"cannot delete {path}: {error.strerror}") from error
    return gone
