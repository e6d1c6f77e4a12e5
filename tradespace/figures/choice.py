"""Which design stands for an architecture, and the sweep folded onto two axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.comparison import first_shown
from tradespace.comparison import standing_design as standing_design  # noqa: PLC0414  (where figures look for it)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

EDGE = -1e-9
"""Margin at which the closure boundary is drawn: a link that has exactly what it needs closes [1]."""
PANELS = 6
"""Architectures for which a figure of panels or lines has room."""
CLIP = 1.0
"""Margins beyond this are drawn in the last colour [1]."""


@dataclass(frozen=True)
class Cells:
    """The best design of each cell of a map."""

    architecture: str
    x: FloatArray
    """Points of the first axis, SI."""
    y: FloatArray
    """Points of the second axis, SI."""
    margin: FloatArray
    """Best smallest margin over whatever else was swept, shape (y, x)."""
    row: NDArray[np.int64]
    """Position in the table of designs of that design, -1 for none, shape (y, x)."""


def points(results: Results, name: str) -> FloatArray:
    """Swept points of a variable in SI, ascending."""
    for variable in results.study.sweep:
        if variable.name == name:
            return np.unique(np.asarray(variable.points, dtype=np.float64))
    return np.unique(results.designs[name].to_numpy(dtype=np.float64))


def swept(results: Results) -> list[str]:
    """Names of the swept variables that have more than one point."""
    return [variable.name for variable in results.study.sweep if len(variable.points) > 1]


def map_axes(results: Results) -> list[str]:
    """At most two swept variables over which maps are drawn."""
    names = [name for name in results.study.map_axes if name in swept(results)]
    names += [name for name in swept(results) if name not in names]
    return names[:2]


def other_axes(results: Results) -> list[str]:
    """Swept variables that a map does not show."""
    return [name for name in swept(results) if name not in map_axes(results)]


def nearest_place(values: FloatArray, grid: FloatArray) -> NDArray[np.int64]:
    """Index of the nearest grid point of each value."""
    middle = 0.5 * (grid[1:] + grid[:-1])
    return np.searchsorted(middle, values).astype(np.int64)


def cells(results: Results, architecture: str, axes: tuple[str, str]) -> Cells:
    """Fold the designs of an architecture onto two axes, keeping the best of each cell."""
    x, y = points(results, axes[0]), points(results, axes[1])
    positions = np.flatnonzero((results.designs["architecture"] == architecture).to_numpy())
    rows = results.designs.iloc[positions]
    column = nearest_place(rows[axes[0]].to_numpy(dtype=np.float64), x)
    line = nearest_place(rows[axes[1]].to_numpy(dtype=np.float64), y)
    rank = np.nan_to_num(rows["margin"].to_numpy(dtype=np.float64), nan=-np.inf)
    order = np.argsort(rank, kind="stable")  # the best is written last
    best = np.full((len(y), len(x)), -1, dtype=np.int64)
    best[line[order], column[order]] = positions[order]
    margin = np.full(best.shape, np.nan)
    filled = best >= 0
    margin[filled] = results.designs["margin"].to_numpy(dtype=np.float64)[best[filled]]
    return Cells(architecture, x, y, margin, best)


def crosses_edge(margin: FloatArray) -> bool:
    """Whether a field of margins holds both designs that close and designs that do not."""
    known = np.isfinite(margin)
    return bool(known.any() and np.min(margin[known]) < EDGE < np.max(margin[known]))


def longest_drawn(results: Results) -> float:
    """Times beyond this are not told apart in figures: three times what the route may last [s]."""
    return 3.0 * (results.study.horizon - results.study.start_date)


def standing_rows(results: Results) -> dict[str, pd.Series]:
    """The design that stands for each architecture that has one."""
    found = {}
    for name in results.architectures:
        row, _ = standing_design(results, name)
        if row is not None:
            found[name] = row
    return found


def value_of(results: Results, row: pd.Series, name: str) -> float:
    """A quantity of a design in SI: its own column, else the study's value; NaN when there is none."""
    if name in row.index and pd.notna(row[name]):
        return float(row[name])
    if name in results.study.values:
        return float(results.study.values[name])
    baseline = results.baseline[results.baseline["architecture"] == row["architecture"]]
    if name in baseline.columns and not baseline.empty and pd.notna(baseline.iloc[0][name]):
        return float(baseline.iloc[0][name])
    return float("nan")


def drawn_architectures(results: Results, among: list[str] | None = None, most: int = PANELS) -> list[str]:
    """The architectures a figure of panels or lines draws: all, or as many as it has room for."""
    return first_shown(results, list(results.architectures if among is None else among), most)


def left_out_words(results: Results, drawn: list[str], among: list[str] | None = None) -> str:
    """How many architectures a figure does not draw, why, and where their numbers are; empty when it draws all."""
    asked = list(results.architectures if among is None else among)
    missing = [name for name in asked if name not in drawn]
    if not missing:
        return ""
    return (
        f" Drawn: {len(drawn)} of {len(asked)} architectures, those that close by rank, then craft that do not refuel, "
        f"then those nearest to closing; the other {len(missing)} are named, with their numbers, in the tables under "
        "Verdict and The architectures side by side."
    )
