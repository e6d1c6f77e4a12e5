"""A new study file: what it may be called, and writing it without ever touching one that is there."""

from __future__ import annotations

import re
from pathlib import Path

from tradespace.errors import OutputError, StudyError, printable

NAME = re.compile(r"[A-Za-z0-9_]{1,80}")


def require_name(name: str) -> None:
    """Say what a study may be called.

    Raises
    ------
    StudyError
        If the name cannot name a study.
    """
    if not NAME.fullmatch(name):
        raise StudyError(
            f"{printable(name)[:80]!r} cannot name a study; use 1 to 80 letters, digits and underscores"
        )


def write_new(path: Path, text: str) -> None:
    """Write a study file that is whole or not there.

    Raises
    ------
    OutputError
        If there is one already, or it cannot be written.
    """
    try:
        handle = path.open("x", encoding="utf-8", newline="\n")
    except FileExistsError as error:
        raise OutputError(f"{path} exists already; choose another name") from error
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror}") from error
    try:
        with handle:
            handle.write(text)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise OutputError(f"cannot write {path}: {error.strerror}") from error
