"""Bodies of the user's own: from a file of orbits or a look-up into two small files of theirs."""

from __future__ import annotations

import gzip
import io
import math
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, cast

import numpy as np

from tradespace.bodies import orbit_file, query_file
from tradespace.bodies.found import Found, Keep, Lines, Progress, groups
from tradespace.bodies.merging import Merge
from tradespace.catalogue.own import Own, read_own, stamp, write_own
from tradespace.constants import value
from tradespace.errors import OutputError
from tradespace.units import parse_quantity

FORMATS = {
    "mpcorb": "orbit catalogue of the Minor Planet Center",
    "sbdb-csv": "CSV of JPL's small-body database",
    "sbdb-json": "JSON of JPL's small-body database",
}
SOURCES = {"mpcorb": "mpc_orbit_format", "sbdb-csv": "jpl_sbdb_query", "sbdb-json": "jpl_sbdb_query"}
CHUNK = 1 << 24
BEGINNING = 1 << 16
ZIPPED = b"\x1f\x8b"
LONGEST_SPAN = "100 yr"


@dataclass
class Imported:
    """What an import did."""

    source: str
    format: str
    lines: Lines
    added: list[str] = field(default_factory=list)
    """Labels of bodies that are new."""
    updated: list[str] = field(default_factory=list)
    """Those imported before."""
    replaced: list[str] = field(default_factory=list)
    """Shipped ones that now follow the file."""
    kept: list[str] = field(default_factory=list)
    """Shipped ones that stay as shipped."""
    without_size: int = 0
    """Bodies of which neither diameter nor brightness is given."""
    valid: tuple[str, str] = ("", "")
    """First and last date on which any of the positions is relied on."""
    span: float = math.nan
    """How long before and after its epoch an ellipse is relied on [s]."""
    folder: Path | None = None
    """Where the bodies were written; None if there was nothing to write."""

    @property
    def form_title(self) -> str:
        """What the format is called."""
        return FORMATS[self.format]


def import_file(
    path: str | Path,
    *,
    form: str | None = None,
    keep: Keep | None = None,
    replace: bool = False,
    valid_for: float | None = None,
    progress: Progress | None = None,
) -> Imported:
    """Read a file of orbits into the user's own catalogue.

    Parameters
    ----------
    path : str or Path
        Orbit catalogue of the Minor Planet Center, or CSV or JSON of JPL's small-body database; may be gzipped.
    form : str, optional
        ``mpcorb``, ``sbdb-csv`` or ``sbdb-json``; found from the content by default.
    keep : Keep, optional
        Which bodies to keep; all by default.
    replace : bool
        Whether bodies of the file take the place of shipped ones.
    valid_for : float, optional
        How long before and after its epoch an ellipse is relied on [s].
    progress : callable, optional
        Told the bytes read and their number.

    Returns
    -------
    Imported
        What was done.

    Raises
    ------
    OutputError
        If the file cannot be read, is of no known format, or holds no body to keep; nothing is written then.
    """
    path, lines = Path(path), Lines()
    span = checked_span(valid_for)
    try:
        start = _beginning(path)
        form = form or detected(start)
        with _opened(path, progress) as stream:
            found = _read(stream, form, keep or Keep(), lines)
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise OutputError(f"{path}: the compressed data is damaged or cut short; fetch it again") from error
    except OutputError as error:
        raise OutputError(f"{path}: {error}") from error
    except OSError as error:
        raise OutputError(f"cannot read {path}: {error.strerror or error}") from error
    if not found:
        raise OutputError(f"{path}: {_nothing(lines)}")
    return store(found, lines, source=path.name, form=form, replace=replace, span=span)


def checked_span(valid_for: float | None) -> float:
    """How long an ellipse is relied on [s]: as given, or the usual time.

    Raises
    ------
    OutputError
        If it is not longer than zero, or unreasonably long.
    """
    if valid_for is None:
        return value("imported_span", "orbits.csv")
    if not 0.0 < valid_for <= parse_quantity(LONGEST_SPAN, "s"):
        raise OutputError(f"an ellipse can be relied on for longer than zero and at most {LONGEST_SPAN}")
    return valid_for


def _nothing(lines: Lines) -> str:
    """Why a file gave no body."""
    if lines.bad and not lines.left_out:
        return f"no line can be read as an orbit; nothing was written; first {lines.first_bad}"
    if lines.left_out:
        return f"none of its {lines.seen} bodies passes the filters; nothing was written"
    if lines.open_orbits:
        return "its bodies leave the solar system, which no ellipse describes; nothing was written"
    return "holds no bodies; nothing was written"


def detected(start: bytes) -> str:
    """Format of a file from its beginning.

    Raises
    ------
    OutputError
        If it is none of the known ones.

    Examples
    --------
    >>> detected(b'{"fields": [')
    'sbdb-json'
    """
    bare = start.removeprefix(b"\xef\xbb\xbf").lstrip()
    if not bare:
        raise OutputError("is empty")
    if bare[:1] == b"<":
        raise OutputError("is a web page, not data; fetch the file itself")
    if bare[:1] in {b"{", b"["}:
        return "sbdb-json"
    if orbit_file.looks_like(start):
        return "mpcorb"
    if query_file.looks_like_csv(bare.decode("utf-8", "replace")):
        return "sbdb-csv"
    raise OutputError(f"is neither {', '.join(list(FORMATS.values())[:-1])} nor {FORMATS['sbdb-json']}")


def _beginning(path: Path) -> bytes:
    with path.open("rb") as raw:
        start = raw.read(2)
        raw.seek(0)
        if start != ZIPPED:
            return raw.read(BEGINNING)
        with gzip.GzipFile(fileobj=raw) as stream:
            return stream.read(BEGINNING)


class _Watched(io.RawIOBase):
    """A file that tells how much of it has been read."""

    def __init__(self, raw: IO[bytes], size: int, progress: Progress | None) -> None:
        self.raw, self.size, self.progress = raw, size, progress

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: bytearray | memoryview) -> int:  # type: ignore[override]
        data = self.raw.read(len(buffer))
        buffer[: len(data)] = data
        if self.progress is not None:
            self.progress(self.raw.tell(), self.size)
        return len(data)

    def close(self) -> None:
        self.raw.close()
        super().close()


def _opened(path: Path, progress: Progress | None) -> IO[bytes]:
    """The bytes of a file, unzipped where they are zipped."""
    raw = path.open("rb")
    watched = io.BufferedReader(_Watched(raw, path.stat().st_size, progress), 1 << 20)
    if watched.peek(2)[:2] != ZIPPED:
        return watched
    return cast("IO[bytes]", gzip.GzipFile(fileobj=watched))


def _read(stream: IO[bytes], form: str, keep: Keep, lines: Lines) -> dict[str, Found]:
    if form == "mpcorb":
        return orbit_file.read(iter(lambda: stream.read(CHUNK), b""), keep, lines)
    if form == "sbdb-json":
        text = stream.read().decode("utf-8-sig", "replace")
        return query_file.read(query_file.json_rows(text), keep, lines, "row")
    text_lines = io.TextIOWrapper(stream, "utf-8-sig", "surrogateescape", newline="")
    return query_file.read(query_file.csv_rows(_readable(text_lines)), keep, lines, "line")


def _readable(text: Iterable[str]) -> Iterator[str]:
    """Lines whose bytes are not UTF-8 taken for Latin-1."""
    for line in text:
        if line.isascii():
            yield line
            continue
        data = line.encode("utf-8", "surrogateescape")
        try:
            yield data.decode("utf-8")
        except UnicodeDecodeError:
            yield data.decode("latin-1")


def store(
    found: dict[str, Found], lines: Lines, *, source: str, form: str, replace: bool, span: float
) -> Imported:
    """Put bodies into the user's own catalogue.

    Raises
    ------
    OutputError
        If the catalogue cannot be read or written.
    """
    own = read_own(stamp())
    today = datetime.now(UTC).date().isoformat()
    merge = Merge(own, replace=replace, span=span, origin=f"{source}, {today}", source=SOURCES[form])
    done = Imported(source, form, lines, span=span)
    books = {"added": done.added, "updated": done.updated, "replaced": done.replaced, "kept": done.kept}
    dates: list[str] = []
    kinds = groups(
        np.array([body.semi_major_axis for body in found.values()]),
        np.array([body.eccentricity for body in found.values()]),
    )
    for body, kind in zip(found.values(), kinds, strict=True):
        what, row = merge.add(body, str(kind))
        books[what].append(row["name"])
        if what != "kept":
            dates += [row["valid_from"], row["valid_until"]]
            done.without_size += not row["radius"]
    if dates:
        done.valid = min(dates), max(dates)
        done.folder = write_own(Own(tuple(merge.rows.values()), tuple(merge.ellipses.values())))
    return done
