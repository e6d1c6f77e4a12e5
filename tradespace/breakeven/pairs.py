"""Two inputs together: the curve in their plane on which the smallest margin is zero."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.breakeven.search import Goal, search
from tradespace.breakeven.subjects import SETTINGS, Question, Subject, subject
from tradespace.breakeven.trials import Bench
from tradespace.errors import TradespaceError
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import REPLACES

if TYPE_CHECKING:
    from numpy.typing import NDArray

CLOSING = Goal(0.0, rising=True)
DECADE = 10.0
EMPTY_PLANE = pd.DataFrame(columns=["architecture", "first", "second", "x", "y", "margin"])
EMPTY_CURVE = pd.DataFrame(columns=["architecture", "stretch", "x", "y", "jump"])


@dataclass(frozen=True)
class Boundary:
    """The plane of two inputs and the curve on which a design begins to close [SI]."""

    architecture: str
    first: Subject
    second: Subject
    x: FloatArray
    """Values of the first input, shape (m,)."""
    y: FloatArray
    """Values of the second input, shape (n,)."""
    margin: FloatArray
    """Smallest margin over the plane [1], shape (n, m)."""
    points: FloatArray
    """Points of the curve on the side that closes, shape (k, 2)."""
    beyond: FloatArray
    """The neighbours that do not close, shape (k, 2)."""
    height: FloatArray
    """Smallest margin at the points [1], shape (k,)."""
    jump: NDArray[np.bool_]
    """Whether the margin jumps there, shape (k,)."""
    segments: NDArray[np.int64]
    """Pairs of points that the curve joins, shape (s, 2)."""
    evaluated: int

    def plane_table(self) -> pd.DataFrame:
        """The plane as a table, one row for each point of the grid."""
        across, up = np.meshgrid(self.x, self.y)
        same = [self.architecture, self.first.name, self.second.name]
        rows = zip(across.ravel(), up.ravel(), self.margin.ravel(), strict=True)
        return pd.DataFrame([(*same, *row) for row in rows], columns=EMPTY_PLANE.columns)

    def curve_table(self) -> pd.DataFrame:
        """The curve as a table, two rows for each stretch."""
        rows = [
            (self.architecture, stretch, *self.points[end], bool(self.jump[end]))
            for stretch, ends in enumerate(self.segments)
            for end in ends
        ]
        return pd.DataFrame(rows, columns=EMPTY_CURVE.columns)


def clash(one: str, other: str) -> bool:
    """Whether one of two inputs leaves the other without effect."""
    return other in REPLACES.get(one, ()) or one in REPLACES.get(other, ())


def best_pair(reached: pd.DataFrame) -> tuple[str, str] | None:
    """The two highest-ranked inputs of a table that can be moved together; None where there are no two.

    Parameters
    ----------
    reached : DataFrame
        Rows of :attr:`BreakEven.reached` for one question, ranked.
    """
    names = [str(name) for name in reached["quantity"]]
    return next(
        ((one, other) for place, other in enumerate(names) for one in names[:place] if not clash(one, other)),
        None,
    )


def _span(item: Subject, alone: float | None) -> FloatArray:
    """Values of an input over its range, today's value and the one that does it alone among them."""
    factor, room = constants.value("pair_factor", SETTINGS), constants.value("pair_room", SETTINGS)
    ends = [item.today, item.low, item.high]
    if alone is not None:
        ends.append(alone)
    elif not item.has_range:
        ends += [item.today / factor, item.today * factor] if item.today else [item.least, item.most]
    pad = room * (max(ends) - min(ends))
    return _spread(max(item.least, min(ends) - pad), min(item.most, max(ends) + pad))


def _spread(low: float, high: float) -> FloatArray:
    """Points between two values, by equal ratios where they lie more than a decade apart."""
    points = int(constants.value("pair_points", SETTINGS))
    if low > 0.0 and high / low > DECADE:
        return np.asarray(np.geomspace(low, high, points))
    return np.linspace(low, high, points)


def boundary(question: Question, names: tuple[str, str]) -> Boundary:
    """The curve in the plane of two inputs on which a design begins to close.

    The plane spans both ranges, today's values and the values at which each input does it alone; where nothing in it
    begins to close, it spans all that is allowed.

    Parameters
    ----------
    question : Question
        The design.
    names : tuple of str
        The two inputs, the first along x.

    Raises
    ------
    UnknownNameError
        If the design has no such input.
    TradespaceError
        If one input replaces the other, or they are the same.
    """
    if names[0] == names[1]:
        raise TradespaceError(f"a pair needs two inputs, and {names[0]!r} is named twice")
    if clash(*names):
        one, other = names if names[1] in REPLACES.get(names[0], ()) else names[::-1]
        raise TradespaceError(
            f"{one} replaces {other}, so they cannot be moved together; choose another pair"
        )
    pair = subject(question, names[0]), subject(question, names[1])
    bench, margin = Bench(question), float(question.reference["margin"])
    crossings, _ = search(bench, pair, Goal(0.0, rising=margin < 0.0), margin)
    alone = {item.subject.name: item.after for item in crossings}
    x, y = (_span(item, alone.get(item.name)) for item in pair)
    plane = _plane(bench, names, x, y)
    if np.all(plane >= 0.0) or np.all(plane < 0.0):
        x, y = (_spread(item.least, item.most) for item in pair)
        plane = _plane(bench, names, x, y)
    closes = plane >= 0.0
    edges, segments = _edges(closes)
    before, after = _narrowed(bench, names, *_ends(edges, x, y, closes))
    both = np.concatenate([before, after])
    short, height = np.split(_margins(bench, names, both[:, 0], both[:, 1]), 2)
    jump = np.maximum(np.abs(short), np.abs(height)) > constants.value("jump_margin", SETTINGS)
    return Boundary(
        question.architecture, *pair, x, y, plane, after, before, height, jump, segments, bench.evaluated
    )  # fmt: skip


def _plane(bench: Bench, names: tuple[str, str], x: FloatArray, y: FloatArray) -> FloatArray:
    """Smallest margin over a plane [1], shape (n, m)."""
    across, up = np.meshgrid(x, y)
    return _margins(bench, names, across.ravel(), up.ravel()).reshape(across.shape)


def _margins(bench: Bench, names: tuple[str, str], x: FloatArray, y: FloatArray) -> FloatArray:
    """Smallest margin at points of the plane, so many at a time."""
    most = int(constants.value("batch_designs", SETTINGS))
    if x.size == 0:
        return np.zeros(0)
    parts = [
        bench.answers({names[0]: x[start : start + most], names[1]: y[start : start + most]})["margin"]
        for start in range(0, x.size, most)
    ]
    return np.concatenate([part.to_numpy(dtype=np.float64) for part in parts])


Edge = tuple[int, int, int, int]
"""Row and column of both ends of an edge of the grid."""


def _edges(closes: NDArray[np.bool_]) -> tuple[list[Edge], NDArray[np.int64]]:
    """Edges of the grid on which closing changes, and which two of them the curve joins within a cell."""
    places: dict[Edge, int] = {}
    segments: list[tuple[int, int]] = []
    rows, columns = closes.shape
    for row in range(rows - 1):
        for column in range(columns - 1):
            here = [
                places.setdefault(edge, len(places))
                for edge in _around(row, column)
                if closes[edge[0], edge[1]] != closes[edge[2], edge[3]]
            ]
            segments += [(here[place], here[place + 1]) for place in range(0, len(here), 2)]
    return list(places), np.array(segments, dtype=np.int64).reshape(-1, 2)


def _around(row: int, column: int) -> tuple[Edge, Edge, Edge, Edge]:
    """The four edges of a cell, in turn about it."""
    return (
        (row, column, row, column + 1),
        (row, column + 1, row + 1, column + 1),
        (row + 1, column, row + 1, column + 1),
        (row, column, row + 1, column),
    )


def _ends(
    edges: list[Edge], x: FloatArray, y: FloatArray, closes: NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Ends of each edge in the plane: the one that does not close, and the one that does."""
    before, after = np.zeros((len(edges), 2)), np.zeros((len(edges), 2))
    for place, (row, column, other_row, other_column) in enumerate(edges):
        ends = (x[column], y[row]), (x[other_column], y[other_row])
        before[place], after[place] = ends[::-1] if closes[row, column] else ends
    return before, after


def _narrowed(
    bench: Bench, names: tuple[str, str], before: FloatArray, after: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The curve on each edge, between two neighbouring points, by repeated grids along the edge."""
    points, width = (
        int(constants.value("refine_points", SETTINGS)),
        constants.value("bracket_width", SETTINGS),
    )
    share = np.linspace(0.0, 1.0, points)[:, None, None]
    for _ in range(int(constants.value("refine_rounds", SETTINGS))):
        if len(after) == 0 or _widest(before, after) <= width:
            break
        line = before + share * (after - before)
        line[-1] = after
        inner = line[1:-1].reshape(-1, 2)
        margin = _margins(bench, names, inner[:, 0], inner[:, 1]).reshape(points - 2, len(after))
        closes = CLOSING.reached(margin)
        place = np.where(closes.any(axis=0), 1 + closes.argmax(axis=0), points - 1)
        each = np.arange(len(after))
        before, after = line[place - 1, each], line[place, each]
    return before, after


def _widest(before: FloatArray, after: FloatArray) -> float:
    """Width of the widest bracket as a share of its values."""
    size = np.maximum(np.abs(after), np.abs(before))
    return float(np.max(np.abs(after - before) / np.where(size > 0.0, size, 1.0), initial=0.0))
