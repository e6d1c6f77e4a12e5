"""The part of the question all designs share, kept in one file: a run can be read without looking it up again."""

from __future__ import annotations

from dataclasses import astuple, fields
from pathlib import Path
from typing import Any

import numpy as np

from tradespace.mission import Mission, Stop, System, WindowCurve


def write_mission(mission: Mission, path: Path) -> None:
    """Write stops and window curves."""
    arrays: dict[str, Any] = {"kind": mission.kind, "dates": np.array([mission.start_date, mission.horizon])}
    groups: tuple[tuple[str, tuple[Any, ...]], ...] = (("stop", mission.stops), ("window", mission.windows))
    for group, rows in groups:
        for number, row in enumerate(rows):
            arrays |= _parts(f"{group}{number}", row)
    np.savez_compressed(path, **arrays)


def _parts(key: str, row: Stop | WindowCurve) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in fields(row):
        content = getattr(row, field.name)
        if content is not None:
            found[f"{key}_{field.name}"] = np.asarray(
                astuple(content) if isinstance(content, System) else content
            )
    return found


def read_mission(path: Path) -> Mission:
    """Read what :func:`write_mission` wrote.

    Raises
    ------
    OSError, ValueError, KeyError
        If the file is not there or holds something else.
    """
    with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
        content = {name: stored[name] for name in stored.files}
    stops, windows = (
        _rows(content, group, kind) for group, kind in (("stop", Stop), ("window", WindowCurve))
    )
    start, horizon = (float(date) for date in content["dates"])
    return Mission(str(content["kind"]), start, horizon, tuple(stops), tuple(windows))


def _rows(content: dict[str, Any], group: str, kind: type[Any]) -> list[Any]:
    rows: list[Any] = []
    first = fields(kind)[0].name
    while f"{group}{len(rows)}_{first}" in content:
        key = f"{group}{len(rows)}"
        rows.append(
            kind(**{
                field.name: _content(field.name, content[f"{key}_{field.name}"])
                for field in fields(kind)
                if f"{key}_{field.name}" in content
            })
        )  # fmt: skip
    return rows


def _content(name: str, stored: np.ndarray) -> Any:
    if name == "system":
        return System(*(float(number) for number in stored))
    return stored if stored.ndim else stored.item()
