"""Two finished runs side by side: what was asked otherwise, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.quantities import display, json_key, quantities
from tradespace.sweep.ledger import read_ledger
from tradespace.sweep.parts import Parts
from tradespace.sweep.query import Run, about
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.study import Study, SweptVariable

PLAIN = ("title", "kind", "seed", "figure_of_merit", "figure_of_merit_better", "start_body", "hops")
SAME = "-"


@dataclass(frozen=True)
class Difference:
    """One thing that was asked otherwise."""

    what: str
    first: str
    second: str


@dataclass(frozen=True)
class Side:
    """An architecture in one of the runs."""

    designs: int
    closing: int
    best: dict[str, Any] | None
    """The best closing design in display units; None when none closes."""
    merit: float | None
    """Its figure of merit in display units."""


@dataclass(frozen=True)
class Pair:
    """An architecture in both runs; None on the side where it was not asked."""

    architecture: str
    first: Side | None
    second: Side | None
    change: float | None
    """Figure of merit of the second best design less that of the first; None where that makes no sense."""
    opened: int | None
    """Designs that close in the second run only; None when the runs are not about the same designs."""
    closed: int | None
    """Designs that close in the first run only."""


@dataclass(frozen=True)
class Comparison:
    """Two runs."""

    differences: tuple[Difference, ...]
    pairs: tuple[Pair, ...]
    same_designs: bool
    """Whether both evaluated the same designs."""
    merits: tuple[str, str]


def compare_runs(first: Path, second: Path) -> Comparison:
    """Set two finished runs side by side.

    Parameters
    ----------
    first, second : Path
        Folders of the runs.

    Raises
    ------
    OutputError
        If one is no finished run, or is damaged.
    """
    runs = (Run(first), Run(second))
    studies = (runs[0].study, runs[1].study)
    told = (about(first), about(second))
    same = _same_designs(*studies)
    sides = [_sides(run, content) for run, content in zip(runs, told, strict=True)]
    flips = _flips(runs, studies) if same else {}
    names = dict.fromkeys((*studies[0].architectures, *studies[1].architectures))
    merits = (studies[0].figure_of_merit, studies[1].figure_of_merit)
    pairs = []
    for name in names:
        one, two = sides[0].get(name), sides[1].get(name)
        change = None
        if merits[0] == merits[1] and one and two and one.merit is not None and two.merit is not None:
            change = two.merit - one.merit
        opened, closed = flips.get(name, (None, None))
        pairs.append(Pair(name, one, two, change, opened, closed))
    found = differences(*studies) + _made_otherwise(runs, told)
    return Comparison(tuple(found), tuple(pairs), same, merits)


def differences(first: Study, second: Study) -> list[Difference]:
    """What two studies ask otherwise."""
    found = [
        Difference(name.replace("_", " "), str(getattr(first, name)), str(getattr(second, name)))
        for name in ("name", *PLAIN)
        if getattr(first, name) != getattr(second, name)
    ]
    for name, dates in (("start date", "start_date"), ("horizon", "horizon")):
        one, two = (format_date(getattr(study, dates)) for study in (first, second))
        if one != two:
            found.append(Difference(name, one, two))
    if first.route != second.route:
        found.append(Difference("route", first.route, second.route))
    if first.architectures != second.architectures:
        found.append(
            Difference("architectures", ", ".join(first.architectures), ", ".join(second.architectures))
        )
    found += _mappings("", first.options, second.options, lambda _, value: str(value))
    found += _mappings("effect ", first.effects, second.effects, lambda _, value: "yes" if value else "no")
    found += _mappings("", first.values, second.values, display)
    one_plan, two_plan = _plan(first), _plan(second)
    if one_plan != two_plan:
        found.append(Difference("plan", one_plan, two_plan))
    swept = [{variable.name: variable for variable in study.sweep} for study in (first, second)]
    for name in dict.fromkeys((*swept[0], *swept[1])):
        sides = [group.get(name) for group in swept]
        if not _same_points(*sides):
            found.append(Difference(f"sweep of {name}", *(_swept(item) for item in sides)))
    return found


def _mappings(prefix: str, first: Any, second: Any, words: Any) -> list[Difference]:
    found = []
    for name in dict.fromkeys((*first, *second)):
        one, two = first.get(name), second.get(name)
        if one != two:
            sides = [SAME if value is None else words(name, value) for value in (one, two)]
            if sides[0] == sides[1]:  # apart only in digits that are not shown
                sides = [repr(one), repr(two)]
            found.append(Difference(f"{prefix}{name}", *sides))
    return found


def _plan(study: Study) -> str:
    plan = study.plan
    return f"{plan.kind}, {plan.designs} designs" if plan.designs else plan.kind


def _swept(variable: SweptVariable | None) -> str:
    if variable is None:
        return "not swept"
    points = variable.points
    ends = " to ".join(display(variable.name, float(point)) for point in (points[0], points[-1]))
    return f"{len(points)} points, {ends}, {variable.spacing}"


def _same_points(first: SweptVariable | None, second: SweptVariable | None) -> bool:
    if first is None or second is None:
        return first is second
    return first.spacing == second.spacing and np.array_equal(first.points, second.points)


def _same_designs(first: Study, second: Study) -> bool:
    """Whether two studies are about the same swept values in the same order."""
    from tradespace import sampling

    names = [[variable.name for variable in study.sweep] for study in (first, second)]
    if names[0] != names[1] or first.plan.kind != second.plan.kind:
        return False
    count = sampling.designs_per_architecture(first)
    if count != sampling.designs_per_architecture(second):
        return False
    if not all(map(_same_points, first.sweep, second.sweep)):
        return False
    if first.plan.kind == "grid":
        return True
    some = min(count, 1000)
    for start in (0, count - some):
        pair = [sampling.designs_between(study, start, start + some) for study in (first, second)]
        if not all(np.array_equal(pair[0][name], pair[1][name]) for name in names[0]):
            return False
    return True


def _sides(run: Run, content: dict[str, Any]) -> dict[str, Side]:
    """Each architecture of a run."""
    from tradespace import sampling

    study = run.study
    count = sampling.designs_per_architecture(study)
    closing = _closing(run, count)
    key = json_key(study.figure_of_merit)
    found = {}
    for name in study.architectures:
        best = content["best"].get(name)
        found[name] = Side(count, closing[name], best, None if best is None else best.get(key))
    return found


def _closing(run: Run, count: int) -> dict[str, int]:
    ledger = read_ledger(run.folder)
    names = run.study.architectures
    if ledger is not None:
        return {name: sum(part.closing for part in ledger[1] if part.architecture == name) for name in names}
    closes = _closes(run, count)
    return {name: int(closes[place].sum()) for place, name in enumerate(names)}


def _closes(run: Run, count: int) -> np.ndarray:
    """Whether each design closes, shape (architectures, designs)."""
    column = Parts(run.folder).column("closes").to_numpy(dtype=bool)
    return column.reshape(len(run.study.architectures), count)


def _flips(runs: tuple[Run, Run], studies: tuple[Study, Study]) -> dict[str, tuple[int, int]]:
    """For each architecture of both runs, designs that close in the second only and in the first only."""
    from tradespace import sampling

    count = sampling.designs_per_architecture(studies[0])
    one, two = (_closes(run, count) for run in runs)
    found = {}
    for place, name in enumerate(studies[0].architectures):
        if name in studies[1].architectures:
            before, after = one[place], two[studies[1].architectures.index(name)]
            found[name] = (int((after & ~before).sum()), int((before & ~after).sum()))
    return found


def _made_otherwise(runs: tuple[Run, Run], told: tuple[dict[str, Any], dict[str, Any]]) -> list[Difference]:
    """Versions and code that differ."""
    first, second = (content.get("versions") or {} for content in told)
    found = _mappings("version of ", first, second, lambda _, value: str(value))
    ledgers = [read_ledger(run.folder) for run in runs]
    marks = ["unknown" if ledger is None else str(ledger[0].get("source_mark"))[:12] for ledger in ledgers]
    if marks[0] != marks[1]:
        found.append(Difference("code and data of tradespace", *marks))
    return found


def merit_words(name: str, value: float | None) -> str:
    """A figure of merit in display units; a dash when there is none."""
    if value is None:
        return SAME
    unit = quantities()[name].display_unit
    return f"{value:.5g}" if unit in {"", "1"} else f"{value:.5g} {unit}"
