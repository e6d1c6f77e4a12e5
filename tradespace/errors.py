"""The family of errors a user can meet; each carries one clear line."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class TradespaceError(Exception):
    """Anything the user can mend: the message says what, the value, the limit and the next step."""


class DomainError(TradespaceError, ValueError):
    """A number lies outside the range in which a formula holds."""


class UnitError(TradespaceError, ValueError):
    """A quantity string has no unit, an unknown unit, or one of the wrong kind."""


class UnknownNameError(TradespaceError, KeyError):
    """A name that no table knows."""

    def __str__(self) -> str:
        return str(self.args[0])


class StudyError(TradespaceError, ValueError):
    """A study file that cannot be run as written."""


class ReadingsError(TradespaceError, ValueError):
    """A file of bench readings cannot be read; the message names the line and what to change."""


class CalibrationError(TradespaceError, ValueError):
    """A calibration file cannot be read or does not fit what is asked of it."""


class EphemerisError(TradespaceError, ValueError):
    """A date or body for which no position is known."""


class TransferError(TradespaceError, ValueError):
    """No transfer exists between these bodies on these dates."""


class OutputError(TradespaceError, OSError):
    """A file or folder that cannot be written or read."""


def printable(text: object) -> str:
    r"""Text on one line, with control characters written out, so that no file can steer a terminal.

    Examples
    --------
    >>> print(printable("two" + chr(10) + "lines" + chr(27) + "[31m"))
    two\nlines\x1b[31m
    """
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in str(text))


def nearest(name: str, known: Iterable[str], count: int = 3) -> list[str]:
    """Known names that resemble a mistyped one, best first.

    Parameters
    ----------
    name : str
        What was typed.
    known : iterable of str
        What could have been meant.
    count : int
        How many to give at most.

    Examples
    --------
    >>> nearest("Antiope2", ["Themis", "Antiope", "Ceres"])
    ['Antiope']
    """
    folded: dict[str, str] = {}
    for item in known:
        folded.setdefault(item.casefold(), item)
    close = difflib.get_close_matches(name.casefold(), list(folded), n=count, cutoff=0.6)
    inside = [key for key in folded if name and name.casefold() in key and key not in close]
    return [folded[key] for key in (close + inside)[:count]]


def unknown_name(kind: str, name: str, known: Iterable[str], command: str = "") -> UnknownNameError:
    """An error that names the nearest known names and where to see them all.

    Examples
    --------
    >>> print(unknown_name("body", "Antiope2", ["Themis", "Antiope"], "tradespace list bodies"))
    unknown body 'Antiope2'; did you mean 'Antiope'? see: tradespace list bodies
    """
    known = list(known)
    close = nearest(name, known)
    if not close and not command:
        return UnknownNameError(f"unknown {kind} {name!r}; allowed: {', '.join(known)}")
    hint = f"; did you mean {' or '.join(repr(item) for item in close)}?" if close else ";"
    return UnknownNameError(f"unknown {kind} {name!r}{hint}" + (f" see: {command}" if command else ""))
