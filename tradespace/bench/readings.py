"""From a file of bench readings to channels in SI with their uncertainties, bad rows left out and named."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from tradespace.bench.channels import ASSUMED, channels, default_words
from tradespace.bench.entries import read_entries
from tradespace.bench.instruments import NO_BAROMETER, Part, by_class, instruments
from tradespace.bench.raw import Raw, Stated, decoded, read_bytes
from tradespace.bench.records import Readings
from tradespace.bench.screening import (
    gauge_suspicion,
    held_readings,
    missing_readings,
    points_kept,
    time_gaps,
)
from tradespace.bench.sheet import read_sheet
from tradespace.constants import value
from tradespace.errors import ReadingsError, printable
from tradespace.physics.compiled import FloatArray

__all__ = ["parse_readings", "read_readings"]

ENTRIES, SHEET = ".toml", ".csv"


def read_readings(path: Path) -> Readings:
    """Read a file of bench readings.

    Parameters
    ----------
    path : Path
        A file of comma-separated values (``.csv``) or TOML (``.toml``).

    Returns
    -------
    Readings
        Every channel in SI, one value per point that was kept.

    Raises
    ------
    ReadingsError
        If the file cannot be read, or no point is left; the message names line, value and next step.
    """
    path = Path(path)
    data = read_bytes(path)
    form = path.suffix.lower()
    if form not in (ENTRIES, SHEET):
        raise ReadingsError(
            f"{printable(str(path))}: is neither a .csv nor a .toml file; save the readings as one of these"
        )
    raw = _read(decoded(data, str(path)), str(path), form, path.parent)
    return _readings(raw, path, hashlib.sha256(data + raw.attached).hexdigest())


def parse_readings(text: str, label: str = "readings.csv") -> Readings:
    """Read bench readings from text.

    Parameters
    ----------
    text : str
        What the file would hold.
    label : str
        Its name, for messages; ``.toml`` at its end says that the text is TOML.

    Returns
    -------
    Readings
        Every channel in SI, one value per point that was kept.

    Raises
    ------
    ReadingsError
        If the text cannot be read, or no point is left.

    Examples
    --------
    >>> read = parse_readings("current,stack_voltage" + chr(10) + "A,V" + chr(10) + "10,11.5")
    >>> read.points, float(read.column("stack_voltage")[0])
    (1, 11.5)
    """
    data = text.encode("utf-8", errors="surrogatepass")
    form = ENTRIES if label.lower().endswith(ENTRIES) else SHEET
    return _readings(_read(decoded(data, label), label, form, None), None, hashlib.sha256(data).hexdigest())


def _read(text: str, label: str, form: str, folder: Path | None) -> Raw:
    if form == ENTRIES:
        return read_entries(text, printable(label), folder)
    return read_sheet(text, printable(label))


def _readings(raw: Raw, path: Path | None, digest: str) -> Readings:
    """Judge what a file says."""
    columns, random, systematic = _columns(raw)
    words = default_words(raw.words)
    raw.remarks += [
        f"{name} is not stated; taken as {words[name]}"
        for name, channel in ASSUMED.items()
        if channel in columns and name not in raw.words
    ]
    _pressures(raw, words, columns, random, systematic)
    keep = points_kept(raw, columns)
    if not keep.any():
        reasons = "; ".join(remark for remark in raw.remarks if "left out" in remark)
        raise raw.wrong(0, f"no point is left: {reasons or 'no reading follows the row of units'}")
    missing_readings(raw, columns, keep)
    held_readings(raw, columns, keep)
    time_gaps(raw, columns)
    return Readings(
        title=raw.title or Path(raw.label).stem.replace("_", " "),
        notes=raw.notes,
        words=words,
        columns={name: column[keep] for name, column in columns.items()},
        random={name: column[keep] for name, column in random.items()},
        systematic={name: column[keep] for name, column in systematic.items()},
        by_class=frozenset(name for name in columns if name not in raw.stated),
        rows=raw.rows[keep],
        remarks=tuple(printable(remark) for remark in raw.remarks),
        invented=raw.invented,
        path=path,
        hash=digest,
    )


Columns = dict[str, FloatArray]


def _columns(raw: Raw) -> tuple[Columns, Columns, Columns]:
    """Every channel on every point, with both parts of its uncertainty; nothing judged yet."""
    columns = {name: np.full(raw.rows.size, fact) for name, fact in raw.facts.items()} | raw.columns
    for name, fact in raw.facts.items():
        low, high = channels()[name].low, channels()[name].high
        if not low <= fact <= high or (name == "lit" and fact not in {0.0, 1.0}):
            item = channels()[name]
            raise raw.wrong(
                raw.lines[name], f"{name}: {item.shown(fact)} is out of bounds; allowed {item.bounds}"
            )
    columns = {name: columns[name] for name in channels() if name in columns}
    random: Columns = {}
    systematic: Columns = {}
    for name, column in columns.items():
        random[name], systematic[name] = _deviations(name, column, raw.stated.get(name))
        if name in raw.facts or _constant(column):  # one reading, or none that varies: its error is shared
            one = raw.stated.get(name, Stated()).random is None
            if one:
                systematic[name] = np.hypot(random[name], systematic[name])
                random[name] = np.zeros(column.size)
    return columns, random, systematic


def _constant(column: FloatArray) -> bool:
    return column.size > 1 and bool(np.all(column == column[0]))


def _deviations(name: str, column: FloatArray, stated: Stated | None) -> tuple[FloatArray, FloatArray]:
    """Random and systematic part: as stated, or of the class of the instrument.

    One number for both is shared out between them as the class of the instrument has it.
    """
    random, systematic = by_class(name, column)
    if stated is None:
        return random, systematic
    if stated.total is not None:
        both = np.hypot(random, systematic)
        scatter = np.divide(random, both, out=np.zeros(column.size), where=both > 0.0)
        total = stated.total.of(column)
        absent = np.isnan(total)
        shared = total * np.sqrt(np.maximum(1.0 - scatter * scatter, 0.0))
        return np.where(absent, random, total * scatter), np.where(absent, systematic, shared)
    zero = Part()
    return (stated.random or zero).of(column), (stated.systematic or zero).of(column)


def _pressures(
    raw: Raw, words: dict[str, str], columns: Columns, random: Columns, systematic: Columns
) -> None:
    """Make the chamber pressure absolute, or ask whether it is."""
    if "chamber_pressure" not in columns:
        return
    standard = value("standard_atmosphere")
    if words["chamber_pressure_is"] == "absolute":
        deviation = np.hypot(random["chamber_pressure"], systematic["chamber_pressure"])
        gauge_suspicion(raw, columns, deviation, standard)
        return
    if "ambient_pressure" not in columns:
        size = raw.rows.size
        columns["ambient_pressure"] = np.full(size, standard)
        random["ambient_pressure"] = np.zeros(size)
        systematic["ambient_pressure"] = instruments()[NO_BAROMETER].systematic.of(np.full(size, standard))
        shown = channels()["ambient_pressure"].shown(standard)
        raw.remarks.append(
            f"ambient_pressure is not stated; one standard atmosphere ({shown}) is added to the gauge pressure"
        )
    columns["chamber_pressure"] = columns["chamber_pressure"] + columns["ambient_pressure"]
    for parts in (random, systematic):
        parts["chamber_pressure"] = np.hypot(parts["chamber_pressure"], parts["ambient_pressure"])
