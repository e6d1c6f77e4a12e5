"""What a file of readings says before anything is judged: text, facts and columns with the lines they stand on."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tradespace.bench.channels import WORDS, Channel, channels
from tradespace.bench.instruments import Part
from tradespace.errors import ReadingsError, UnitError, nearest, printable
from tradespace.physics.compiled import FloatArray
from tradespace.units import conversion

LARGEST_FILE = 64_000_000
"""Bytes of a file of readings."""
LONGEST_SHOWN = 60
UNCERTAINTY = "_uncertainty"
NOT_READ = frozenset({"", "nan", "na", "n/a", "-", "--"})
"""Cells of a reading that was not taken."""
QUANTITY = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


@dataclass(frozen=True)
class Stated:
    """How well the file says a channel is known; one number for both parts, or each by itself."""

    total: Part | None = None
    random: Part | None = None
    systematic: Part | None = None


@dataclass
class Raw:
    """A file of readings as written, in SI."""

    label: str
    title: str = ""
    notes: str = ""
    invented: bool = False
    words: dict[str, str] = field(default_factory=dict)
    facts: dict[str, float] = field(default_factory=dict)
    columns: dict[str, FloatArray] = field(default_factory=dict)
    stated: dict[str, Stated] = field(default_factory=dict)
    rows: FloatArray = field(default_factory=lambda: np.zeros(0))
    lines: dict[str, int] = field(default_factory=dict)
    """Line of each fact, word and column."""
    remarks: list[str] = field(default_factory=list)
    left_out: list[int] = field(default_factory=list)
    """Lines that could not be read as a row at all."""
    attached: bytes = b""
    """The table beside the file, where there is one."""

    def wrong(self, line: int, message: str) -> ReadingsError:
        """An error with the place it stands at."""
        return ReadingsError(
            printable(f"{self.label}:{line}: {message}" if line else f"{self.label}: {message}")
        )

    def word(self, name: str, text: object, line: int) -> None:
        """Take a fact in words."""
        allowed = WORDS[name]
        if not isinstance(text, str) or text.strip() not in allowed:
            close = nearest(str(text), allowed)
            hint = f"did you mean {close[0]!r}?" if close else f"allowed: {', '.join(allowed)}"
            raise self.wrong(line, f"{name}: {shown(text)} is not known; {hint}")
        self.words[name], self.lines[name] = text.strip(), line

    def fact(self, name: str, text: object, line: int) -> None:
        """Take a channel that stands once."""
        if name in self.facts or name in self.columns:
            raise self.wrong(line, f"{name} is given twice; keep one")
        try:
            found = quantity(text, channels()[name])
        except UnitError as error:
            raise self.wrong(line, f"{name}: {error}") from error
        self.facts[name], self.lines[name] = found, line


def shown(value: object) -> str:
    """A value as the user wrote it, shortened."""
    text = printable(f'"{value}"' if isinstance(value, str) else repr(value))
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def factor_of(unit: str, channel: Channel) -> tuple[float, float]:
    """Factor and offset that bring a number in this unit into the SI unit of the channel.

    Raises
    ------
    UnitError
        If the unit is missing, unknown or of another kind.
    """
    written = "" if unit in {"-", "1"} else unit
    if not written and channel.unit != "1":
        raise UnitError(f"has no unit; write one like {channel.display_unit!r}")
    if channel.name == "coolant_rise" and written == "degC":  # a difference
        return 1.0, 0.0
    return conversion(written or "1", channel.unit)


def quantity(text: object, channel: Channel) -> float:
    """A number with its unit, or a bare number or switch where there is no unit [SI].

    Raises
    ------
    UnitError
        If it cannot be read.
    """
    if isinstance(text, bool):
        if channel.name == "lit":
            return float(text)
        raise UnitError(f"{shown(text)} is not a number with a unit")
    if isinstance(text, int | float):
        written, unit = repr(text), ""
    elif isinstance(text, str) and (match := QUANTITY.match(text)) is not None:
        written, unit = match.group(1), match.group(2)
    else:
        raise UnitError(
            f'{shown(text)} is not a number with a unit; write it like "1 {channel.display_unit}"'
        )
    if not unit and channel.unit != "1":
        raise UnitError(f'{shown(text)} has no unit; write it like "{written} {channel.display_unit}"')
    factor, offset = factor_of(unit, channel)
    try:
        number = float(written) * factor + offset
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise UnitError(f"{shown(text)} is not a finite number")
    return number


def part_of(text: object, channel: Channel) -> Part:
    """A standard uncertainty from text such as ``2 %`` or ``0.02 N``; a percentage is one of the reading.

    Raises
    ------
    UnitError
        If it cannot be read or is negative.
    """
    match = QUANTITY.match(text) if isinstance(text, str) else None
    if match is None and isinstance(text, int | float) and not isinstance(text, bool) and channel.unit == "1":
        match = QUANTITY.match(repr(text))
    if match is None:
        raise UnitError(
            f'{shown(text)} is not an uncertainty; write "2 %" of the reading or an amount like '
            f'"0.02 {channel.display_unit}"'
        )
    number, unit = float(match.group(1)), match.group(2)
    if number < 0.0 or not math.isfinite(number):
        raise UnitError(f"the uncertainty {shown(text)} must not be negative")
    if unit == "%":
        return Part(relative=number * conversion("%", "1")[0])
    return Part(absolute=number * factor_of(unit, channel)[0])


def read_bytes(path: Path) -> bytes:
    """The bytes of a file of readings.

    Raises
    ------
    ReadingsError
        If there is no such file, or it is a folder, unreadable, empty or too large.
    """
    label = printable(str(path))
    try:
        if path.is_dir():
            raise ReadingsError(f"{label}: is a folder; give the file of readings itself")
        if not path.exists():
            raise ReadingsError(f"{label}: no such file of readings; see: tradespace list readings")
        if not path.is_file():
            raise ReadingsError(f"{label}: is not a regular file")
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise ReadingsError(
                f"{label}: has {size:,} bytes; at most {LARGEST_FILE:,} are read, so average or thin out the points"
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, ReadingsError):
            raise
        raise ReadingsError(
            f"{label}: cannot be read ({getattr(error, 'strerror', None) or error})"
        ) from error


def decoded(data: bytes, label: str) -> str:
    """The text of a file of readings, line ends made equal.

    Raises
    ------
    ReadingsError
        If it is empty or not text.
    """
    label = printable(label)
    if not data.strip():
        raise ReadingsError(f"{label}: is empty; write a row of names, a row of units, then the readings")
    if b"\x00" in data:
        line = data[: data.index(b"\x00")].count(b"\n") + 1
        raise ReadingsError(f"{label}:{line}: contains a NUL byte; readings are plain text (CSV or TOML)")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise ReadingsError(f"{label}:{line}: is not UTF-8 text; save the file as CSV in UTF-8") from error
    return text.replace("\r\n", "\n").replace("\r", "\n")
