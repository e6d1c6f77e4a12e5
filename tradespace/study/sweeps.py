"""Reading which variables a study sweeps, and over which points."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.quantities import Quantity
from tradespace.study.document import Document, Path_, shown
from tradespace.study.model import Plan, SweptVariable
from tradespace.study.plans import RANDOM, Planned
from tradespace.study.values import hint, inputs, read_quantity

LARGEST_SWEEP = 200_000_000
LARGEST_COUNT = 20_000_000
"""Points of one variable."""
MIDDLE = 3
"""Points of a variable that is drawn from everywhere between its ends: the ends and the middle stand for it."""
SPACINGS = ("linear", "log")


def _listed(document: Document, path: Path_, item: Quantity, raw: dict[str, Any]) -> tuple[int, Any]:
    """Count and values of a swept variable given as a list."""
    entries = raw["values"]
    if len(raw) > 1 or not isinstance(entries, list) or not entries:
        document.problem(path, "values must be a list with at least one entry, and stand alone")
        return 0, None
    found = [read_quantity(document, path, item, entry) for entry in entries]
    if len(set(found)) < len(found) and None not in found:
        document.problem(path, "a value is listed twice")
    return len(found), ("listed", found)


def _points(
    document: Document, path: Path_, item: Quantity, raw: dict[str, Any], plan: Plan
) -> tuple[int, Any]:
    """Count of a swept variable and what is needed to place its points; (0, None) after a problem."""
    unknown = set(raw) - {"low", "high", "count", "spacing", "values"}
    least = MIDDLE if plan.kind in RANDOM else plan.points
    missing = [key for key in ("low", "high", "count") if key not in raw and not (key == "count" and least)]
    if unknown:
        allowed = "allowed: low, high, count, spacing, values"
        document.problem(path, f"unknown key {shown(min(unknown))}; {allowed}")
        return 0, None
    if "values" in raw:
        return _listed(document, path, item, raw)
    if missing:
        also = ", or points in [plan]" if plan.kind == "one_at_a_time" and missing == ["count"] else ""
        document.problem(path, f"{missing[0]} is missing; give low, high and count, or values{also}")
        return 0, None
    count, spacing = raw.get("count", least), raw.get("spacing", "linear")
    if isinstance(count, bool) or not isinstance(count, int) or count < 2:
        document.problem(path, f"count {shown(count)} must be a whole number of at least 2")
        return 0, None
    if spacing not in SPACINGS:
        document.problem(path, f"spacing {shown(spacing)} is unknown; allowed: linear, log")
    low, high = (read_quantity(document, path, item, raw[key]) for key in ("low", "high"))
    if low is not None and high is not None:
        if low >= high:
            document.problem(path, f"low {shown(raw['low'])} is not below high {shown(raw['high'])}")
        elif spacing == "log" and low <= 0.0:
            document.problem(path, f"low {shown(raw['low'])} must be above zero for log spacing")
    return count, (spacing, (low, high))


def _spread(spacing: str, limits: Any, count: int) -> FloatArray:
    if spacing == "listed":
        return np.asarray(limits, dtype=np.float64)
    low, high = limits
    if spacing == "log":
        points = np.exp(np.linspace(math.log(low), math.log(high), count))
        points[0], points[-1] = low, high
        return np.asarray(points, dtype=np.float64)
    return np.linspace(low, high, count, dtype=np.float64)


def read_sweep(document: Document, planned: Planned, architectures: int) -> tuple[SweptVariable, ...]:
    """The swept variables; nothing is allocated before the number of designs is known to be allowed."""
    known, plan = inputs(), planned.plan
    if plan.kind == "list":
        return _of_a_list(document, planned, architectures)
    found: list[tuple[str, int, Any]] = []
    for key, raw in document.table("sweep").items():
        path = ("sweep", key)
        if key not in known:
            document.problem(path, f"unknown quantity{hint(key, known, 'tradespace list quantities')}")
        elif not isinstance(raw, dict):
            document.problem(
                path, f"{shown(raw)} must be {{ low = ..., high = ..., count = ... }} or {{ values = [...] }}"
            )
        else:
            count, points = _points(document, path, known[key], raw, plan)
            found.append((key, count, points))
    counts = [count for _, count, _ in found if count]
    _check_count(document, plan, counts, architectures)
    if document.problems:
        return ()
    return tuple(
        SweptVariable(key, _spread(points[0], points[1], count), points[0]) for key, count, points in found
    )


def _of_a_list(document: Document, planned: Planned, architectures: int) -> tuple[SweptVariable, ...]:
    """The columns of a list as swept variables, each with the values that occur."""
    if document.table("sweep"):
        document.problem(("sweep",), 'has no effect, because plan.kind = "list" gives the designs; drop it')
    columns = {} if planned.listed is None else planned.listed.columns
    rows = max((len(values) for values in columns.values()), default=0)
    _check_largest(document, rows, architectures, "shorten the list or include fewer architectures")
    return tuple(SweptVariable(name, np.unique(values), "listed") for name, values in columns.items())


def _check_count(document: Document, plan: Plan, counts: list[int], architectures: int) -> None:
    """Refuse a plan of too many designs, or of too few."""
    if plan.kind != "grid" and not document.table("sweep"):
        document.problem(
            ("plan", "kind"), f"a plan of kind {plan.kind!r} needs something to vary; add a section [sweep]"
        )
    elif plan.kind in RANDOM:
        if 0 < plan.designs < len(counts) + 1:
            document.problem(
                ("plan", "designs"),
                f"{plan.designs} designs are too few for {len(counts)} swept variables; at least "
                f"{len(counts) + 1} are needed",
            )
        _check_largest(
            document, plan.designs, architectures, "lower plan.designs or include fewer architectures"
        )
        return
    designs = 1 + sum(counts) if plan.kind == "one_at_a_time" else math.prod(counts)
    _check_largest(
        document, designs, architectures, "lower a count, or sweep fewer variables or architectures"
    )
    if max(counts, default=0) > LARGEST_COUNT:
        document.problem(
            ("sweep",),
            f"asks for {_counted(max(counts))} points of one variable, more than the limit of "
            f"{LARGEST_COUNT:,}; lower its count",
        )


def _check_largest(document: Document, designs: int, architectures: int, step: str) -> None:
    """Refuse more designs than a run may have."""
    designs *= max(architectures, 1)
    if designs > LARGEST_SWEEP:
        document.problem(
            ("plan", "designs") if "designs" in document.table("plan") else ("sweep",),
            f"asks for {_counted(designs)} designs ({architectures} architectures included), more than the "
            f"limit of {LARGEST_SWEEP:,}; {step}",
        )


def check_conditions(document: Document, plan: Plan, conditions: tuple[str, ...]) -> None:
    """Refuse a plan in which no design need stand at the own value of a condition."""
    for name in conditions if plan.kind in RANDOM else ():
        raw = document.table("sweep").get(name)
        if isinstance(raw, dict) and "values" not in raw:
            document.problem(
                ("study", "conditions"),
                f"{name} is drawn anywhere between its ends by a plan of kind {plan.kind!r}, so no design stands at "
                "its own value; sweep it over values = [...], or make it uncertain in [uncertain] instead",
            )


def _counted(number: int) -> str:
    """A count in full, or as a power of ten when it is very long."""
    return (
        f"{number:,}"
        if number < 10**15
        else f"about 10^{len(str(number)) - 1}"
        if number < 10**300
        else "far over 10^300"
    )
