"""Reading a study file as text: what is not a study at all, where each key stands, what is wrong with it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tradespace.errors import StudyError, printable

LARGEST_FILE = 2_000_000
LONGEST_SHOWN = 60
PIECE = r"(?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')"
DOTTED = rf"{PIECE}(?:\s*\.\s*{PIECE})*"
HEADER = re.compile(rf"^\s*(\[\[?)\s*({DOTTED})\s*\]")
KEY = re.compile(rf"^\s*({DOTTED})\s*=")
TOKEN = re.compile(r"\"\"\"|'''|\"(?:\\.|[^\"\\])*\"|'[^']*'|[\[\]{}]|#")
PLACE = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")

Path_ = tuple[str | int, ...]


class EntryError(Exception):
    """What is wrong with an entry, in words; whoever knows where it stands makes a problem of it."""


def shown(value: object) -> str:
    """A value as the user wrote it, shortened."""
    text = printable(repr(value) if not isinstance(value, str) else f'"{value}"')
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def read_text(path: Path, largest: int = LARGEST_FILE, what: str = "study file") -> str:
    """The text of a study file, or of another that comes with it.

    Parameters
    ----------
    path : Path
        The file.
    largest : int
        Bytes it may have.
    what : str
        What it is, for messages.

    Raises
    ------
    StudyError
        If there is no such file, or it is a folder, unreadable, too large or not text.
    """
    label = printable(str(path))
    try:
        if path.is_dir():
            raise StudyError(f"{label}: is a folder; give the study file itself")
        if not path.exists():
            raise StudyError(f"{label}: no such study file; see: tradespace list studies")
        if not path.is_file():
            raise StudyError(f"{label}: is not a regular file")
        if path.stat().st_size > largest:
            raise StudyError(f"{label}: is larger than {largest // 1_000_000} MB, too large for a {what}")
        raw = path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, StudyError):
            raise
        reason = getattr(error, "strerror", None) or error
        raise StudyError(f"{label}: cannot be read ({reason})") from error
    if b"\x00" in raw:
        line = raw[: raw.index(b"\x00")].count(b"\n") + 1
        raise StudyError(f"{label}:{line}: contains a NUL byte; a study is a plain text file")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise StudyError(f"{label}:{line}: is not UTF-8 text; save the file as UTF-8") from error


def _pieces(dotted: str) -> tuple[str, ...]:
    return tuple(piece.strip("\"'") for piece in re.findall(PIECE, dotted))


class _Balance:
    """Follows brackets and multi-line strings, to know whether a line begins a new entry."""

    def __init__(self) -> None:
        self.depth = 0
        self.quote = ""

    @property
    def closed(self) -> bool:
        return self.depth == 0 and not self.quote

    def read(self, text: str) -> None:
        while text:
            if self.quote:
                end = text.find(self.quote)
                if end < 0:
                    return
                text, self.quote = text[end + 3 :], ""
            match = TOKEN.search(text)
            if match is None or match.group() == "#":
                return
            mark, text = match.group(), text[match.end() :]
            if mark in {'"""', "'''"}:
                self.quote = mark
            elif len(mark) == 1:
                self.depth += 1 if mark in "[{" else -1


def entry_lines(text: str) -> Iterator[tuple[Path_, int]]:
    r"""Where the headers and keys of a valid TOML text begin: paths with their line numbers.

    Examples
    --------
    >>> list(entry_lines("[a]\nb = [\n1]\n[[c]]\nd.e = 2"))
    [(('a',), 1), (('a', 'b'), 2), (('c', 0), 4), (('c', 0, 'd', 'e'), 5)]
    """
    section: Path_ = ()
    counts: dict[Path_, int] = {}
    balance = _Balance()
    for number, line in enumerate(text.split("\n"), start=1):
        rest = line
        if balance.closed:
            header, key = HEADER.match(line), KEY.match(line)
            if header is not None:
                section = _pieces(header.group(2))
                if header.group(1) == "[[":
                    counts[section] = counts.get(section, -1) + 1
                    section = (*section, counts[section])
                yield section, number
                continue
            if key is not None:
                yield (*section, *_pieces(key.group(1))), number
                rest = line[key.end() :]
        balance.read(rest)


@dataclass
class Document:
    """A parsed study file that remembers its lines and collects what is wrong."""

    label: str
    text: str
    tree: dict[str, Any]
    lines: dict[Path_, int]
    problems: list[tuple[bool, int, str]] = field(default_factory=list)
    """Whether the entry is absent (told last, since it may be there misspelt), its line, the message."""
    listed_at: Path_ = ()
    """Where the swept variables stand when they are the columns of a list."""

    def line(self, path: Path_) -> int:
        """Line of an entry, or of what contains it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return 0

    def problem(self, path: Path_, message: str) -> None:
        """Note that the entry at this path cannot stay as it is."""
        if self.listed_at and path[0] == "sweep" and len(path) > 1:
            path, message = self.listed_at, f"column {path[1]}: {message}"
        line = self.line(path)
        words = [str(piece + 1) if isinstance(piece, int) else piece for piece in path]
        where = f"{self.label}:{line}" if line else self.label
        absent = path not in self.lines
        self.problems.append((absent, line, printable(f"{where}: {'.'.join(words)}: {message}")))

    def table(self, name: str, required: bool = False) -> dict[str, Any]:
        """A section as a dictionary; empty when it is missing or not a section."""
        found = self.tree.get(name)
        if found is None:
            if required:
                self.problem((name,), f"the section [{name}] is missing")
            return {}
        if not isinstance(found, dict):
            self.problem((name,), f"must be a section, written [{name}]")
            return {}
        return found

    def words(self, path: Path_, value: object, longest: int = 400) -> str:
        """A piece of text, or an empty string and a problem."""
        if not isinstance(value, str):
            self.problem(path, f"{shown(value)} must be text in quotation marks")
            return ""
        if len(value) > longest:
            self.problem(path, f"is {len(value)} characters long; at most {longest} are allowed")
            return ""
        return value

    def finish(self) -> None:
        """Stop with the first problem, and the place of the others.

        Raises
        ------
        StudyError
            If any problem was noted.
        """
        if not self.problems:
            return
        ordered = sorted(self.problems, key=lambda item: item[:2])
        message = ordered[0][2]
        others = len(ordered) - 1
        if others:
            places = sorted({line for _, line, _ in ordered[1:] if line})
            lines = ", ".join(str(line) for line in places[:8]) + (", ..." if len(places) > 8 else "")
            message += f"\n(and {others} more{', see line ' + lines if lines else ''})"
        raise StudyError(message)


def parse_document(text: str, label: str) -> Document:
    """Parse TOML and find its lines.

    Raises
    ------
    StudyError
        If the text is not TOML; the message gives line and column.
    """
    label = printable(label)
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        raise StudyError(f"{label}:{line}: contains a NUL byte; a study is a plain text file")
    try:
        tree = tomllib.loads(text)
    except RecursionError as error:
        raise StudyError(f"{label}: is nested too deeply to be a study") from error
    except ValueError as error:
        message = str(error)
        place = PLACE.search(message)
        what = printable(PLACE.sub("", message))[:200]
        if place is not None and place.group(1):
            where = f"{label}:{place.group(1)}: column {place.group(2)}"
        elif place is not None:
            where = f"{label}:{max(1, len(text.splitlines()))}: end of file"
        else:
            where = label
        raise StudyError(f"{where}: not valid TOML: {what}") from error
    lines: dict[Path_, int] = {}
    for path, number in entry_lines(text):
        for length in range(1, len(path) + 1):
            lines.setdefault(path[:length], number)
    return Document(label, text, tree, lines)
