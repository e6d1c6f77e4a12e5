"""Which design stands for an architecture, and the sweep folded onto two axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import sampling
from tradespace.comparison import first_shown, standings
from tradespace.comparison import standing_design as standing_design  # noqa: PLC0414  (where figures look for it)
from tradespace.figures import style

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

EDGE = -1e-9
"""Margin at which the closure boundary is drawn: a link that has exactly what it needs closes [1]."""
PANELS = 6
"""Architectures for which a figure of panels or lines has room."""
PER_CELL = 10
"""Scattered designs that a cell of a map should hold."""
FEWEST_CELLS, MOST_CELLS = 4, 40
"""Cells along an axis of a map of scattered designs."""
MAP_CELLS, LINE_CELLS = 100, 1000
"""Cells a map or a line of a fine sweep has at most along an axis; more points than these are folded together."""
WIDE = 20
"""Ratio of the ends of a listed variable from which its axis is divided by equal ratios."""
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


def is_grid(results: Results) -> bool:
    """Whether the designs are all combinations of the swept points."""
    return results.study.plan.kind == "grid"


def one_at_a_time(results: Results) -> bool:
    """Whether each swept variable was moved alone."""
    return results.study.plan.kind == "one_at_a_time"


def scattered(results: Results) -> bool:
    """Whether designs lie anywhere among the swept variables, so that a map has to count them by cells."""
    return not is_grid(results) and not one_at_a_time(results)


def divisions(results: Results) -> int:
    """Cells along each axis of a map of scattered designs, so many that a cell holds about ten of them."""
    designs = len(results.designs) / max(len(results.architectures), 1)
    across = designs if len(swept(results)) < 2 else np.sqrt(designs / PER_CELL)
    return int(np.clip(across, FEWEST_CELLS, MOST_CELLS))


def swept_points(results: Results, name: str) -> FloatArray:
    """Every swept point of a variable in SI, ascending."""
    for variable in results.study.sweep:
        if variable.name == name:
            return np.unique(np.asarray(variable.points, dtype=np.float64))
    return np.unique(results.designs[name].to_numpy(dtype=np.float64))


def fold(results: Results, name: str, most: int = MAP_CELLS) -> int:
    """Neighbouring points of a variable that share a cell: one unless a regular sweep is finer than can be drawn."""
    if scattered(results):
        return 1
    return -(-len(swept_points(results, name)) // most)


def folded_edges(found: FloatArray, together: int) -> FloatArray:
    """Ends of cells that hold so many neighbouring points each; the last cell may hold fewer."""
    last, first = found[together - 1 : -1 : together], found[together::together]
    middle = np.sqrt(last * first) if style.is_logarithmic(found) else 0.5 * (last + first)
    return np.array([found[0], *middle, found[-1]])


def cell_edges(results: Results, name: str, most: int = MAP_CELLS) -> FloatArray:
    """Ends of the cells along the axis of a variable in SI, one more than there are cells."""
    together = fold(results, name, most)
    if together > 1:
        return folded_edges(swept_points(results, name), together)
    for variable in results.study.sweep:
        if variable.name != name or not scattered(results):
            continue
        found = np.unique(np.asarray(variable.points, dtype=np.float64))
        count = divisions(results)
        if variable.spacing == "listed" and len(found) <= count:
            break
        low, high = float(found[0]), float(found[-1])
        wide = variable.spacing == "listed" and low > 0.0 and high > WIDE * low
        if variable.spacing == "log" or wide:
            return np.geomspace(low, high, count + 1)
        return np.linspace(low, high, count + 1)
    centres = points(results, name, most)
    if len(centres) < 2:
        return np.array([centres[0], centres[0]])
    middle = 0.5 * (centres[1:] + centres[:-1])
    return np.array([centres[0], *middle, centres[-1]])


def points(results: Results, name: str, most: int = MAP_CELLS) -> FloatArray:
    """Swept points of a variable in SI, ascending.

    Of scattered designs the middles of the cells that count them, of a sweep finer than can be drawn those of the cells
    that hold several points each.
    """
    if fold(results, name, most) > 1:
        return middles(cell_edges(results, name, most))
    for variable in results.study.sweep:
        if variable.name == name:
            found = np.unique(np.asarray(variable.points, dtype=np.float64))
            if not scattered(results) or (variable.spacing == "listed" and len(found) <= divisions(results)):
                break
            return middles(cell_edges(results, name))
    else:
        return np.unique(results.designs[name].to_numpy(dtype=np.float64))
    if one_at_a_time(results) and name in results.study.values:
        return np.unique([*found, results.study.values[name]])
    return found


def middles(edges: FloatArray) -> FloatArray:
    """Middles of cells, on the scale on which they are spread."""
    if style.is_logarithmic(edges):
        return np.sqrt(edges[1:] * edges[:-1])
    return 0.5 * (edges[1:] + edges[:-1])


def cell_places(results: Results, name: str, values: FloatArray, most: int = MAP_CELLS) -> NDArray[np.int64]:
    """Index of the cell along the axis of a variable in which each value lies."""
    inner = cell_edges(results, name, most)[1:-1]
    return np.searchsorted(inner, values).astype(np.int64)


def along(results: Results, rows: pd.DataFrame, name: str) -> pd.DataFrame:
    """Designs ready to be grouped by a swept variable.

    Scattered ones are moved to the middles of the cells, and of those moved one at a time only the ones in which
    no other variable moved are left. A sweep with more points than a line has room for is folded.
    """
    if one_at_a_time(results):
        for other, own in sampling.baseline(results.study).items():
            if other != name:
                rows = rows[rows[other].to_numpy(dtype=np.float64) == own]
    if scattered(results) or fold(results, name, LINE_CELLS) > 1:
        centres = points(results, name, LINE_CELLS)
        places = cell_places(results, name, rows[name].to_numpy(dtype=np.float64), LINE_CELLS)
        return rows.assign(**{name: centres[places]})
    return rows


def swept(results: Results) -> list[str]:
    """Names of the swept variables that have more than one point."""
    return [variable.name for variable in results.study.sweep if len(variable.points) > 1]


def map_axes(results: Results) -> list[str]:
    """At most two swept variables over which maps are drawn; none where variables were moved one at a time."""
    if one_at_a_time(results):
        return []
    names = [name for name in results.study.map_axes if name in swept(results)]
    names += [name for name in swept(results) if name not in names]
    return names[:2]


def other_axes(results: Results) -> list[str]:
    """Swept variables that a map does not show."""
    return [name for name in swept(results) if name not in map_axes(results)]


def cells(results: Results, architecture: str, axes: tuple[str, str]) -> Cells:
    """Fold the designs of an architecture onto two axes, keeping the best of each cell."""
    x, y = points(results, axes[0]), points(results, axes[1])
    positions = np.flatnonzero((results.designs["architecture"] == architecture).to_numpy())
    rows = results.designs.iloc[positions]
    column = cell_places(results, axes[0], rows[axes[0]].to_numpy(dtype=np.float64))
    line = cell_places(results, axes[1], rows[axes[1]].to_numpy(dtype=np.float64))
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


def can_be_flown(results: Results) -> bool:
    """Whether the study can be asked again, for designs beside those of the table."""
    return "cell_kind" in results.study.options


def own_inputs(results: Results, row: pd.Series) -> dict[str, FloatArray]:
    """The swept inputs of a design, as the engine takes them [SI]."""
    return {
        variable.name: np.array([value_of(results, row, variable.name)]) for variable in results.study.sweep
    }


def leader(results: Results) -> str | None:
    """The architecture for figures of one design: the first that refuels and closes, else the first that closes.

    Where nothing closes the one nearest to closing that refuels, or else any; None for none.
    """
    able = [one for one in standings(results) if one.row is not None]
    ranked = sorted(able, key=lambda one: (not one.closes, not one.refuels))
    return ranked[0].name if ranked else None


def leader_words(results: Results, name: str) -> str:
    """What a figure of one design calls it."""
    _, closes = standing_design(results, name)
    among = " among craft that refuel" if style.refuels(results, name) else ""
    state = "" if closes else ", which does not close"
    return f"The best design{among} ({style.title_of(results, name)}{state})"
