"""The Minor Planet Center's catalogue of orbits: fixed columns, read many lines at once.

Columns after the Center's public description of its export format for minor-planet orbits. A chunk of the file is
cut into a matrix of characters by the places of its line ends, so that 1.4 million lines take seconds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from tradespace.bodies.found import Collected, Found, Keep, Lines
from tradespace.bodies.packed import PackedError, unpacked, unpacked_date
from tradespace.physics.compiled import FloatArray
from tradespace.units import julian_date, parse_date

Bytes = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]
NEWLINE, RETURN, SPACE = 10, 13, 32
COLUMNS = {
    "packed": (0, 7), "magnitude": (8, 13), "slope": (14, 19), "epoch": (20, 25), "anomaly": (26, 35),
    "perihelion": (37, 46), "node": (48, 57), "inclination": (59, 68), "eccentricity": (70, 79), "axis": (92, 103),
    "uncertainty": (105, 106), "readable": (166, 194),
}  # fmt: skip
WORDS = {
    "magnitude": "absolute magnitude", "slope": "slope parameter", "anomaly": "mean anomaly",
    "perihelion": "argument of perihelion", "node": "ascending node", "inclination": "inclination",
    "eccentricity": "eccentricity", "axis": "semi-major axis",
}  # fmt: skip
NEEDED = ("anomaly", "perihelion", "node", "inclination", "eccentricity", "axis")
LEAST_LENGTH = 103
HEADER_END = b"-----"
LARGEST_HEADER = 1 << 16
NUMERIC = np.zeros(256, dtype=bool)
NUMERIC[list(b" +-.0123456789")] = True


def header_length(start: bytes) -> int:
    r"""Bytes of the header: all up to the line of dashes, or nothing.

    Examples
    --------
    >>> header_length(b"some words\n-------\n00001 ")
    19
    """
    if _reads(start.lstrip().partition(b"\n")[0]):
        return 0
    place = start[:LARGEST_HEADER].find(b"\n" + HEADER_END)
    if place < 0:
        return 0
    end = start.find(b"\n", place + 1)
    return len(start) if end < 0 else end + 1


def looks_like(start: bytes) -> bool:
    """Whether the beginning of a file is such a catalogue.

    Examples
    --------
    >>> looks_like(b"{}")
    False
    """
    if b"MPCORB" in start[:LARGEST_HEADER] and header_length(start):
        return True
    lines = [line for line in start[header_length(start) :].split(b"\n")[:200] if line.strip()]
    return any(_reads(line) for line in lines[:50])


def _reads(line: bytes) -> bool:
    if len(line) < LEAST_LENGTH:
        return False
    try:
        unpacked(line[:7].decode("ascii", "replace"))
        for name in ("eccentricity", "axis"):
            float(line[slice(*COLUMNS[name])])
    except ValueError:
        return False
    return True


def read(chunks: Iterable[bytes], keep: Keep, lines: Lines) -> dict[str, Found]:
    """Bodies of a catalogue of orbits by identifier.

    Parameters
    ----------
    chunks : iterable of bytes
        The file, cut anywhere.
    keep : Keep
        Which bodies to keep.
    lines : Lines
        Where to count what is left out and what cannot be read.

    Raises
    ------
    OutputError
        If more bodies pass than a catalogue takes.
    """
    found = Collected(lines)
    rest, number, is_first = b"", 0, True
    for chunk in chunks:
        rest += chunk
        if is_first:
            if len(rest) < LARGEST_HEADER:
                continue
            number, rest, is_first = _without_header(rest)
        end = rest.rfind(b"\n") + 1
        if end:
            number += _block(rest[:end], number, keep, found)
            rest = rest[end:]
    if is_first:
        number, rest, _ = _without_header(rest)
    if rest:
        _block(rest + b"\n", number, keep, found)
    return found.bodies


def _without_header(start: bytes) -> tuple[int, bytes, bool]:
    """Lines of the header, what follows it, and that it is done with."""
    length = header_length(start)
    return start.count(b"\n", 0, length), start[length:], False


def _block(text: bytes, before: int, keep: Keep, found: Collected) -> int:
    """Read whole lines; ``before`` lines of the file came earlier. Returns how many these are."""
    data = np.frombuffer(text, dtype=np.uint8)
    ends = np.flatnonzero(data == NEWLINE)
    starts = np.concatenate(([0], ends[:-1] + 1))
    lengths = ends - starts
    lengths = lengths - ((lengths > 0) & (data[np.maximum(ends - 1, 0)] == RETURN))
    faults: list[tuple[int, str]] = []
    short = np.flatnonzero((lengths > 0) & (lengths < LEAST_LENGTH))
    faults += [
        (int(index), "is too short for an orbit")
        for index in short
        if text[starts[index] : ends[index]].strip()
    ]
    whole = np.flatnonzero(lengths >= LEAST_LENGTH)
    found.lines.seen += len(whole) + len(faults)
    if len(whole):
        faults += [
            (int(whole[index]), fault)
            for index, fault in _whole_lines(text, data, starts[whole], lengths[whole], keep, found)
        ]
    for index, fault in sorted(faults):
        line = text[starts[index] : ends[index]].decode("utf-8", "replace")
        found.lines.reject(before + index + 1, line, fault)
    return len(ends)


def _cut(data: Bytes, starts: npt.NDArray[np.int64], lengths: npt.NDArray[np.int64], name: str) -> Bytes:
    """Matrix of the characters of one field, blank past the end of a line."""
    first, last = COLUMNS[name]
    places = starts[:, None] + np.arange(first, last)
    inside = np.arange(first, last) < lengths[:, None]
    return np.where(inside, data[np.minimum(places, len(data) - 1)], SPACE).astype(np.uint8)


def _texts(field: Bytes) -> npt.NDArray[np.bytes_]:
    return np.ascontiguousarray(field).view(f"S{field.shape[1]}").ravel()


def _numbers(field: Bytes) -> tuple[FloatArray, Flags]:
    """Numbers of a field, NaN where it is blank or bad, and which are bad."""
    empty = (field == SPACE).all(axis=1)
    bad: Flags = np.asarray(~NUMERIC[field].all(axis=1))
    texts = _texts(field).copy()
    texts[empty | bad] = b"nan"
    try:
        return texts.astype(np.float64), bad
    except ValueError:
        values = np.full(len(texts), math.nan)
        for index, text in enumerate(texts):
            try:
                values[index] = float(text)
            except ValueError:
                bad[index] = True
        return values, bad


def _epochs(field: Bytes) -> tuple[FloatArray, Flags]:
    """Julian dates of packed dates; a file has few different ones."""
    names, place = np.unique(_texts(field), return_inverse=True)
    days = np.full(len(names), math.nan)
    for index, name in enumerate(names):
        try:
            days[index] = julian_date(parse_date(unpacked_date(name.decode("ascii"))))
        except (PackedError, UnicodeDecodeError):
            continue
    return days[place], np.isnan(days)[place]


def _whole_lines(
    text: bytes, data: Bytes, starts: npt.NDArray[np.int64], lengths: npt.NDArray[np.int64], keep: Keep,
    found: Collected,
) -> list[tuple[int, str]]:  # fmt: skip
    """Keep bodies of lines long enough to hold an orbit; returns places and faults of those that do not."""
    fault: dict[int, str] = {}

    def reject(flags: Flags, words: str) -> None:
        for index in np.flatnonzero(flags).tolist():
            fault.setdefault(index, words)

    values: dict[str, FloatArray] = {}
    for name in (*NEEDED, "magnitude", "slope"):
        values[name], wrong = _numbers(_cut(data, starts, lengths, name))
        reject(wrong, f"no number for the {WORDS[name]}")
        if name in NEEDED:
            reject(np.isnan(values[name]), f"the {WORDS[name]} is blank")
    values["epoch"], wrong = _epochs(_cut(data, starts, lengths, "epoch"))
    reject(wrong, "no packed date for the epoch")
    axis, shape = values["axis"], values["eccentricity"]
    is_open = shape >= 1.0
    reject(~is_open & ~((axis > 0.0) & (shape >= 0.0)), "no ellipse")
    good = np.ones(len(starts), dtype=bool)
    good[list(fault)] = False
    found.lines.open_orbits += int((good & is_open).sum())
    good &= ~is_open
    kept = good & keep.passes(axis, shape, values["magnitude"])
    found.lines.left_out += int((good & ~kept).sum())
    for index in np.flatnonzero(kept).tolist():
        line = text[starts[index] : starts[index] + lengths[index]]
        try:
            found.add(_body(line, {name: float(column[index]) for name, column in values.items()}))
        except PackedError as error:
            fault[index] = str(error)
    return list(fault.items())


def _body(line: bytes, values: dict[str, float]) -> Found:
    """One body of a line whose numbers are read."""
    identifier = unpacked(line[slice(*COLUMNS["packed"])].decode("ascii", "replace"))
    name = _name(line[slice(*COLUMNS["readable"])], identifier)
    return Found(
        id=identifier, name=name, designation="" if identifier.isdigit() else identifier,
        epoch=values["epoch"], semi_major_axis=values["axis"], eccentricity=values["eccentricity"],
        inclination=values["inclination"], ascending_node=values["node"],
        argument_of_perihelion=values["perihelion"], mean_anomaly=values["anomaly"],
        absolute_magnitude=values["magnitude"], slope_parameter=values["slope"],
        uncertainty_class=line[slice(*COLUMNS["uncertainty"])].decode("ascii", "replace").strip(),
    )  # fmt: skip


def _name(readable: bytes, identifier: str) -> str:
    """Name in the readable column, without the number."""
    try:
        text = readable.decode("utf-8")
    except UnicodeDecodeError:
        text = readable.decode("latin-1")
    text = " ".join(text.replace(f"({identifier})", "").split())
    return text or identifier
