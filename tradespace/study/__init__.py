"""What is asked: a study file read, checked and turned into SI values."""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Mapping
from pathlib import Path

from tradespace.options import Setting, choices, settings_of
from tradespace.quantities import display, quantities
from tradespace.study import values as reading
from tradespace.study.calibrated import (
    bench_distributions,
    check_calibrated,
    read_calibrated,
    settings_of_bench,
)
from tradespace.study.crafts import check_kept_as_gas
from tradespace.study.document import Document, parse_document, read_text, shown
from tradespace.study.effects import check_left_out, read_effects
from tradespace.study.engines import read_architectures
from tradespace.study.model import (
    Distribution,
    Place,
    Plan,
    Search,
    Solve,
    Study,
    SweptVariable,
    Uncertain,
)
from tradespace.study.plans import read_plan
from tradespace.study.route import KINDS, ROUTE_KEYS, read_route
from tradespace.study.search import read_search
from tradespace.study.sweeps import LARGEST_SWEEP, check_conditions, read_sweep
from tradespace.study.uncertain import Grounds, fixed_inputs, read_uncertain

__all__ = [
    "LARGEST_SWEEP",
    "Distribution",
    "Place",
    "Plan",
    "Search",
    "Solve",
    "Study",
    "SweptVariable",
    "Uncertain",
    "load_study",
    "parse_study",
]

NAME = re.compile(r"[A-Za-z0-9_]{1,80}")
STUDY_KEYS = ("name", "title", "question", "note", "kind", "seed", "figure_of_merit", "map", "conditions")
LARGEST_SEED = 2**63 - 1
REPLACED_BY_MIDDLE = ("array_power",)
"""Derived quantities that the reference design takes from the middle of their sweep."""
OTHER_SECTIONS = (
    "study",
    "start",
    "route",
    "ranges",
    "architectures",
    "thruster",
    "architecture",
    "effects",
    "plan",
    "sweep",
    "uncertain",
    "uncertainty",
    "solve",
    "search",
    "calibration",
)


def load_study(path: str | Path) -> Study:
    """Read and check a study file.

    Parameters
    ----------
    path : str or Path
        A TOML file.

    Raises
    ------
    StudyError
        If the file cannot be read or cannot be run as written; the message gives file, line, key, what was
        written and what is allowed.
    """
    file = Path(path)
    return _study(parse_document(read_text(file), str(file)), file, file.parent)


def parse_study(text: str, name: str = "study", folder: Path | None = None) -> Study:
    """Read and check a study given as text.

    Parameters
    ----------
    text : str
        The contents of a study file.
    name : str
        What to call it in messages.
    folder : Path or None
        Where a file that the study names is looked for.

    Raises
    ------
    StudyError
        If the text cannot be run as written.
    """
    return _study(parse_document(text, name), None, folder)


def _study(document: Document, path: Path | None, folder: Path | None) -> Study:
    known = (*dict.fromkeys((*OTHER_SECTIONS[:3], *reading.sections(), *OTHER_SECTIONS[3:])),)
    for section in document.tree:
        if section not in known:
            words = reading.hint(section, known) or f"; allowed: {', '.join(known)}"
            document.problem((section,), f"unknown section{words}")
    head = document.table("study", required=True)
    kind = _kind(document, head)
    route = read_route(document, kind)
    others = {
        "start": {"body", "date", "orbit", "rotation_period"},
        "route": set().union(*ROUTE_KEYS.values()),
    }
    for name, choice in choices().items():
        others.setdefault(choice.section, set()).add(name)
    values = reading.read_sections(document, others)
    chosen = reading.read_options(document)
    overrides = reading.read_ranges(document)
    thrusters = read_architectures(document)
    planned = read_plan(document, folder)
    calibration, text = read_calibrated(document, folder, planned.text)
    sweep = read_sweep(document, planned, len(thrusters))
    columns = document.table("sweep") if planned.listed is None else planned.listed.columns
    swept = {name for name in columns if name in reading.inputs()}
    given = {
        name for section in reading.sections() for name in document.table(section) if name in reading.inputs()
    }
    _check_surface_only(document, kind, swept)
    check_calibrated(document, calibration, given, chosen)
    reading.check_replaced(document, given, swept)
    reading.check_required(document, kind, given | swept)
    solve = reading.read_solve(document)
    merit, better = _merit(document, head)
    axes = _map_axes(document, head, tuple(variable.name for variable in sweep), tuple(swept))
    if kind == "surface":
        _check_hop_distance(document, route.start_body, values, sweep)
    conditions = _conditions(document, head, tuple(swept))
    check_conditions(document, planned.plan, conditions)
    name, title, question, note, seed = _heading(document, head)
    search = read_search(document, kind, route, thrusters)
    effects = read_effects(document)
    check_left_out(document, effects, swept)
    check_kept_as_gas(document, chosen)
    document.finish()
    settings = {**settings_of(chosen), **settings_of_bench(calibration)}
    complete = complete_values(values, sweep, kind, settings)
    ranges = reading.all_ranges(complete, overrides, settings)
    solved = "" if solve is None else solve.variable
    fixed = fixed_inputs(tuple(swept), conditions, given, effects, solved, kind)
    measured = bench_distributions(calibration, fixed)
    grounds = Grounds(complete, ranges, overrides, settings, fixed, conditions)
    uncertain = read_uncertain(document, grounds, measured, calibration)
    document.finish()
    return Study(
        name=name, title=title, question=question, note=note, kind=kind, seed=seed,
        figure_of_merit=merit, figure_of_merit_better=better, map_axes=axes, conditions=conditions,
        start_body=route.start_body, start_date=route.start_date, places=route.places,
        hops=len(route.places) - 1, horizon=route.horizon, flight_time=route.flight_time,
        values=complete, given=frozenset(given | swept), options=chosen,
        ranges=ranges,
        architectures=tuple(thrusters), thrusters=thrusters, sweep=sweep, plan=planned.plan,
        uncertain=uncertain, solve=solve, search=search,
        effects=effects, calibration=calibration, settings=settings,
        text=text, path=path, hash=hashlib.sha256(text.encode()).hexdigest(),
    )  # fmt: skip


def complete_values(
    given: dict[str, float], sweep: tuple[SweptVariable, ...], kind: str, settings: Mapping[str, Setting]
) -> dict[str, float]:
    """Given values, those of the options and defaults for the rest, and for a swept input without any its middle."""
    values = dict(given)
    middles = {variable.name: float(variable.points[len(variable.points) // 2]) for variable in sweep}
    for name, item in reading.inputs().items():
        if name in values:
            continue
        default = settings[name].value if name in settings else item.default
        unset = default is None or name in reading.REQUIRED
        if name in middles and (name in REPLACED_BY_MIDDLE or (item.role == "input" and unset)):
            values[name] = middles[name]
        elif default is not None and (item.role == "input" or name in settings):
            values[name] = default
    if kind != "surface":
        values.pop("hop_distance", None)
    return values


def _kind(document: Document, head: dict[str, object]) -> str:
    kind = head.get("kind")
    if isinstance(kind, str) and kind in KINDS:
        return kind
    if head:
        what = "is missing" if kind is None else f"{shown(kind)} is unknown"
        document.problem(("study", "kind"), f'{what}; allowed: "tour", "surface", "burn"')
    return "surface" if "hops" in document.table("route") else "tour"


def _check_surface_only(document: Document, kind: str, swept: set[str]) -> None:
    """Only hops on one body have a distance."""
    for section, names in (("route", document.table("route")), ("sweep", swept)):
        if kind != "surface" and "hop_distance" in names:
            document.problem(
                (section, "hop_distance"), f'is for a study of kind "surface"; this one is a "{kind}"'
            )


def _heading(document: Document, head: dict[str, object]) -> tuple[str, str, str, str, int]:
    """Name, title, question, note and seed."""
    for key in head:
        if key not in STUDY_KEYS:
            words = reading.hint(key, STUDY_KEYS) or f"; allowed: {', '.join(STUDY_KEYS)}"
            document.problem(("study", key), f"unknown key{words}")
    name = head.get("name")
    if head and (not isinstance(name, str) or not NAME.fullmatch(name)):
        what = "is missing" if name is None else f"{shown(name)} is not allowed"
        document.problem(("study", "name"), f"{what}; use 1 to 80 letters, digits and underscores")
    texts = [
        document.words(("study", key), head.get(key, ""), longest=4000)
        for key in ("title", "question", "note")
    ]
    seed = head.get("seed", 0)
    if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed <= LARGEST_SEED:
        document.problem(("study", "seed"), f"{shown(seed)} must be a whole number from 0 to {LARGEST_SEED}")
        seed = 0
    return str(name), texts[0] or str(name), texts[1], texts[2], int(seed)


def _merit(document: Document, head: dict[str, object]) -> tuple[str, str]:
    """The figure of merit and which direction is better."""
    merit = head.get("figure_of_merit", "mission_time")
    known = {name: item for name, item in quantities().items() if item.role == "output" and item.better}
    if not isinstance(merit, str) or merit not in known:
        words = reading.hint(str(merit), known, "tradespace list quantities")
        document.problem(
            ("study", "figure_of_merit"),
            f"{shown(merit)} is not an output that can be better or worse{words}",
        )
        return "", ""
    return merit, known[merit].better


def _check_hop_distance(
    document: Document, body: str, values: dict[str, float], sweep: tuple[SweptVariable, ...]
) -> None:
    """A ballistic hop goes less than half way around the body."""
    from tradespace import bodies

    asked = [
        values.get("hop_distance", 0.0),
        *(p for v in sweep if v.name == "hop_distance" for p in v.points),
    ]
    if not body or not math.isfinite(bodies.body(body).radius):
        return
    longest = math.pi * bodies.body(body).radius
    if max(asked) >= longest:
        section = "route" if asked[0] >= longest else "sweep"
        document.problem(
            (section, "hop_distance"),
            f"{display('hop_distance', max(asked))} is not a hop on {body}; half its circumference, "
            f"{display('hop_distance', longest)}, is the limit",
        )


def _conditions(document: Document, head: dict[str, object], named: tuple[str, ...]) -> tuple[str, ...]:
    """Swept inputs that are not the designer's to choose."""
    found = head.get("conditions", [])
    if not isinstance(found, list) or not all(isinstance(item, str) for item in found):
        document.problem(("study", "conditions"), f"{shown(found)} must be a list of swept variables")
        return ()
    for item in found:
        if item not in named:
            document.problem(
                ("study", "conditions"), f"{shown(item)} is not swept{reading.hint(item, named)}"
            )
    return tuple(dict.fromkeys(found))


def _map_axes(
    document: Document, head: dict[str, object], swept: tuple[str, ...], named: tuple[str, ...]
) -> tuple[str, ...]:
    """The axes of the closure map: the study's own, or the first two swept variables."""
    axes = head.get("map")
    if axes is None:
        return swept[:2]
    if not isinstance(axes, list) or len(axes) != 2 or not all(isinstance(axis, str) for axis in axes):
        document.problem(("study", "map"), f"{shown(axes)} must be a list of two swept variables")
    elif axes[0] == axes[1]:
        document.problem(("study", "map"), f"names {shown(axes[0])} twice")
    else:
        for axis in axes:
            if axis not in named:
                document.problem(("study", "map"), f"{shown(axis)} is not swept{reading.hint(axis, named)}")
        return tuple(axes)
    return ()
