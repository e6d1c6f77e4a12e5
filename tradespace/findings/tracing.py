"""Which formulas answer a study: the reference designs are flown once in plain Python and every call is written down.

Meant to be started as a process of its own with compilation off, since compiled code tells nobody whom it calls.
"""

from __future__ import annotations

import ast
import contextlib
import inspect
import json
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Any

from tradespace.constants import value
from tradespace.errors import TradespaceError
from tradespace.tables import DATA

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

PACKAGE = DATA.parent
READERS = ("value", "series")
"""Functions that read one row of a table by its name."""
DATES = 8
"""Departure dates of each leg for which the search of windows is followed."""


@contextlib.contextmanager
def followed() -> Iterator[dict[CodeType, None]]:
    """Every function of the package that is called inside, in the order of its first call."""
    seen: dict[CodeType, None] = {}

    def note(frame: Any, event: str, _argument: Any) -> None:
        if event == "call":
            seen.setdefault(frame.f_code)

    threading.setprofile(note)
    sys.setprofile(note)
    try:
        yield seen
    finally:
        sys.setprofile(None)
        threading.setprofile(None)


def fly(study: Study, mission: Mission) -> None:
    """Look up what the legs start from for a few dates, then fly the reference design of every architecture."""
    import numpy as np

    from tradespace import ephemeris, evaluate, windows
    from tradespace.evaluate import question

    step = value("window_step", "orbits.csv")
    dates = study.start_date + step * np.arange(DATES, dtype=np.float64)
    for place in dict.fromkeys(study.places):
        question.stop_of(study, place, dates)
    pairs = zip(study.places[:-1], study.places[1:], strict=True) if study.kind == "tour" else ()
    for here, there in dict.fromkeys(pairs):
        first, second = (ephemeris.heliocentric_body(place.body) for place in (here, there))
        with contextlib.suppress(TradespaceError):  # a leg that has no departure within these few dates
            if first == second or study.flight_time is None:
                question.leg_of(study, here, there)
            else:
                windows.window_curve(first, second, study.start_date, float(dates[-1]), *study.flight_time)
    evaluate.baseline(study, mission)


def rows_read(path: Path, codes: list[CodeType]) -> set[tuple[str, str]]:
    """Rows of value tables that some functions of a module read: table and row name.

    A function reads a row itself, or a name of its module that was read from a row when the module was imported.
    """
    tree = ast.parse(path.read_text(encoding="utf-8"))
    named = {
        target.id: item.value
        for item in tree.body
        if isinstance(item, ast.Assign)
        for target in item.targets
        if isinstance(target, ast.Name)
    }
    words = {name: node.value for name, node in named.items() if isinstance(node, ast.Constant)}
    used = {name for code in codes for name in code.co_names} & set(named)
    fresh = used
    while fresh:  # names made of other names
        fresh = {
            node.id
            for name in fresh
            for node in ast.walk(named[name])
            if isinstance(node, ast.Name) and node.id in named
        } - used
        used = used | fresh
    lines = {code.co_firstlineno for code in codes}
    bodies: list[ast.AST] = [named[name] for name in used]
    bodies += [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        and {node.lineno, *(item.lineno for item in node.decorator_list)} & lines
    ]
    return {row for body in bodies for row in _rows(body, words)}


def _rows(body: ast.AST, words: dict[str, Any]) -> Iterator[tuple[str, str]]:
    for node in ast.walk(body):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name not in READERS:
            continue
        cells = [
            str(item.value) if isinstance(item, ast.Constant) else str(words.get(getattr(item, "id", ""), ""))
            for item in (*node.args, *(key.value for key in node.keywords))
        ]
        table = cells[1] if len(cells) > 1 else "constants.csv"
        if cells[0] and table.endswith(".csv"):
            yield table, cells[0]


def account(codes: dict[CodeType, None]) -> dict[str, Any]:
    """Functions as ``[module, name]`` in the order of their first call, and the rows of value tables behind them."""
    files: dict[Path, list[CodeType]] = {}
    called: dict[tuple[str, str], None] = {}
    for code in codes:
        path = Path(code.co_filename)
        if not path.is_relative_to(PACKAGE) or not code.co_flags & inspect.CO_OPTIMIZED:
            continue  # another library, or a module or class on its first import
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        module = ".".join(("tradespace", *(part for part in parts if part != "__init__")))
        files.setdefault(path, []).append(code)
        if "<" not in code.co_qualname:
            called.setdefault((module, code.co_qualname))
    rows = {row for path, found in files.items() for row in rows_read(path, found)}
    return {"functions": [list(item) for item in called], "rows": sorted(list(item) for item in rows)}


def main(folder: str) -> None:
    """Write the account of a run as JSON to the standard output."""
    from tradespace.study import parse_study
    from tradespace.sweep.evidence import EVIDENCE
    from tradespace.sweep.mission_file import read_mission

    evidence = Path(folder) / EVIDENCE
    study = parse_study((evidence / "study.toml").read_text(encoding="utf-8"), folder)
    mission = read_mission(evidence / "mission.npz")
    with followed() as codes:
        fly(study, mission)
    sys.stdout.write(json.dumps(account(codes)))


if __name__ == "__main__":
    main(sys.argv[1])
