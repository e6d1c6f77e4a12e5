"""The readings of an invented bench that come with the package."""

from __future__ import annotations

from pathlib import Path

from tradespace.errors import unknown_name
from tradespace.tables import DATA

FOLDER = DATA / "bench"
TABLE = "_table"
"""End of the name of a table that belongs to another file."""


def demo_names() -> tuple[str, ...]:
    """Names of the shipped readings, all of them of an invented bench."""
    found = [path.stem for path in FOLDER.iterdir()] if FOLDER.is_dir() else []
    return tuple(sorted(name for name in found if not name.endswith(TABLE)))


def demo_path(name: str) -> Path:
    """The file of shipped readings.

    Raises
    ------
    UnknownNameError
        If no readings of that name come with the package.
    """
    found = [FOLDER / f"{name}{ending}" for ending in (".toml", ".csv")]
    existing = [path for path in found if path.is_file()] if name in demo_names() else []
    if not existing:
        raise unknown_name("readings", name, demo_names())
    return existing[0]
