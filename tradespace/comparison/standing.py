"""Which design stands for each architecture, and the order in which the architectures stand."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from tradespace.comparison.evidence import evidence_of, refuels, title_of

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

Answer = TypeVar("Answer")
REFERENCES = 2
"""Craft that do not refuel which keep a place among the first shown."""


@dataclass(frozen=True)
class Standing:
    """Where one architecture stands."""

    name: str
    title: str
    """With the mark of its evidence."""
    refuels: bool
    designs: int
    closing: int
    row: pd.Series | None
    """Best closing design, else the one nearest to closing."""
    closes: bool
    demonstrated: bool
    """Whether what its rank rests on has been shown."""


def remembered(function: Callable[..., Answer]) -> Callable[..., Answer]:
    """Keep the answers of a function of results for as long as those results live.

    A table of a million designs is searched once for each architecture and not once for each figure.
    """
    kept: dict[int, tuple[weakref.ref[Any], dict[tuple[Any, ...], Answer]]] = {}

    @wraps(function)
    def asked(results: Results, *rest: Any) -> Answer:
        key = id(results)
        held = kept.get(key)
        if held is None or held[0]() is not results:
            held = (weakref.ref(results, lambda _: kept.pop(key, None)), {})
            kept[key] = held
        if rest not in held[1]:
            held[1][rest] = function(results, *rest)
        return held[1][rest]

    return asked


@remembered
def standing_design(results: Results, architecture: str) -> tuple[pd.Series | None, bool]:
    """The design that stands for an architecture, and whether it closes.

    The best closing design; if none closes, the one nearest to closing; without a sweep, the reference.
    """
    best = results.best(architecture)
    if best is not None:
        return best, True
    reference = results.baseline[results.baseline["architecture"] == architecture]
    for rows in (results.candidates(architecture), reference):
        margin = rows["margin"].to_numpy(dtype=np.float64)
        if rows.empty or not np.isfinite(margin).any():
            continue
        row = rows.iloc[int(np.nanargmax(margin))]
        return row if rows is reference else results.full(row), bool(row["closes"])
    return None, False


@remembered
def standings(results: Results) -> list[Standing]:
    """Architectures, best first: closing ones by figure of merit, then the others by margin."""
    counts = results.counts()
    found = []
    for name in results.architectures:
        row, closes = standing_design(results, name)
        total, closing = int(counts["designs"][name]), int(counts["closing"][name])
        shown = evidence_of(results, name).demonstrated
        found.append(
            Standing(
                name, title_of(results, name), refuels(results, name), total, closing, row, closes, shown
            )
        )
    return sorted(found, key=lambda one: rank(results, one))


def rank(results: Results, one: Standing) -> tuple[int, float]:
    """Sorting key of a standing."""
    if one.row is None:
        return (2, 0.0)
    if not one.closes:
        return (1, -float(one.row["margin"]))
    sign = 1.0 if results.study.figure_of_merit_better == "lower" else -1.0
    merit = sign * float(one.row[results.study.figure_of_merit])
    return (0, merit if np.isfinite(merit) else np.inf)


def first_shown(results: Results, among: list[str], most: int) -> list[str]:
    """The architectures for which a picture has room, in the study's order.

    Those that close by rank (the best demonstrated one in any case), then craft that do not refuel, then those
    nearest to closing.

    Parameters
    ----------
    results : Results
        What a run gave.
    among : list of str
        Architectures the picture is about.
    most : int
        Room.
    """
    if len(among) <= most:
        return [name for name in results.architectures if name in among]
    ranked = [one for one in standings(results) if one.name in among]
    closing = [one for one in ranked if one.closes and one.refuels]
    carried = [one for one in ranked if not one.refuels][:REFERENCES]
    best = [one for one in closing if one.demonstrated][:1]
    order = [*best, *closing[: most - len(carried) - len(best)], *carried, *closing, *ranked]
    chosen = list(dict.fromkeys(one.name for one in order))[:most]
    return [name for name in results.architectures if name in chosen]
