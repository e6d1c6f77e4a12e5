"""Designs that no other design beats in every figure of merit, for two to four figures, and the knee among them.

A design is beaten when another is at least as good in every figure and better in one. Designs equal in every figure do
not beat each other: all of them are on the front, and the first of them stands for the others in tables and pictures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.errors import StudyError, unknown_name
from tradespace.quantities import quantities, quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results
    from tradespace.study import Study

SETTINGS = "sensitivity_settings.csv"
FEWEST, MOST = 2, 4
BLOCK = 64
"""Rows so few that all pairs are compared at once."""
PIVOTS = 8
"""Rows of the front by which very many rows are thinned out first."""
FEW = 0.1
"""Share that must go at a time for thinning to be worth its while [1]."""
SIEVES = (0.002, 0.02)
"""Shares of the rows whose fronts are played against all others first [1]."""
TIMES = (
    "refuel_time refuel_time_mean mission_time hops_per_year hops_per_sunlit_year payload_per_year hops_in_life"
).split()
"""Figures that tell of time, beside which the start mass says more than the longest refuelling."""

REFUELLING = ("refuel_time", "refuel_time_mean", "energy_per_hop", "water_per_hop")
"""Figures that are nothing at all for a craft that does not refuel, which then stands apart from the front of all."""


@dataclass(frozen=True)
class Fronts:
    """Fronts of the closing designs of a run."""

    figures: tuple[str, ...]
    better: tuple[str, ...]
    """``lower`` or ``higher``, for each figure."""
    designs: pd.DataFrame
    """One row for each different design on the front of its architecture: architecture, design (its number), the
    figures and the swept variables (SI), equals (others with the same figures), overall (on the front of all), knee
    (of its architecture), best_knee (of the overall front)."""
    closing: int
    """Closing designs among which the fronts were sought."""
    apart: tuple[str, ...] = ()
    """Architectures left out of the front of all: they do not refuel, and a figure is about refuelling."""

    def of(self, architecture: str) -> pd.DataFrame:
        """The front of one architecture, in the order of the first figure."""
        return self.designs[self.designs["architecture"] == architecture]

    @property
    def overall(self) -> pd.DataFrame:
        """The front of all architectures together, in the order of the first figure."""
        rows = self.designs[self.designs["overall"]]
        return rows.sort_values(self.figures[0], kind="stable")


def figures_of(study: Study, asked: Sequence[str] = ()) -> tuple[str, ...]:
    """The figures asked for, checked; the study's own figure of merit and one more when none are.

    Raises
    ------
    StudyError
        If there are not two to four of them, one is named twice, or one is neither better low nor high.
    UnknownNameError
        If one is no quantity.
    """
    names = tuple(asked)
    if not names:
        merit = study.figure_of_merit
        names = (merit, "start_mass" if merit in TIMES else "refuel_time")
    for name in names:
        if name not in quantities():
            raise unknown_name("figure of merit", name, directed(), "tradespace list quantities")
        if not quantity(name).better:
            raise StudyError(
                f"{name} is neither better low nor better high; figures that are: {', '.join(directed()[:6])}, ..."
            )
    if len(set(names)) < len(names):
        raise StudyError(f"{', '.join(names)}: a figure is named twice; name each one once")
    if not FEWEST <= len(names) <= MOST:
        raise StudyError(
            f"{len(names)} figure{'s' * (len(names) != 1)} of merit ({', '.join(names)}); name {FEWEST} to {MOST} of "
            "them"
        )
    return names


def directed() -> list[str]:
    """Quantities that are better low or better high."""
    return [name for name, item in quantities().items() if item.better]


def fronts(results: Results, asked: Sequence[str] = (), architecture: str = "") -> Fronts:
    """Fronts of the closing designs of a run, for each architecture and for all together.

    Conditions of the study stand at their own values, as for its best designs. Only the columns needed are read.

    Parameters
    ----------
    results : Results
        What a run gave.
    asked : sequence of str
        Two to four figures of merit; the study's own and one more when none are given.
    architecture : str
        Only this one; all when empty.
    """
    names = figures_of(results.study, asked)
    missing = [name for name in names if name not in results.names]
    if missing:
        raise StudyError(
            f"{missing[0]} is no column of this run; a study of kind {results.study.kind} does not work it out"
        )
    if architecture and architecture not in results.architectures:
        raise unknown_name("architecture of this run", architecture, results.architectures)
    better = tuple(quantity(name).better for name in names)
    chosen = [architecture] if architecture else results.architectures
    columns = {name: results.column(name).to_numpy(dtype=np.float64) for name in names}
    pieces, closing = [], 0
    for name in chosen:
        rows = results.candidates(name)
        places = rows.index.to_numpy()[rows["closes"].to_numpy(dtype=bool)]
        closing += len(places)
        pieces.append(_front_rows(results, name, places, columns, better))
    table = pd.concat(pieces, ignore_index=True)
    values = oriented(table[list(names)].to_numpy(dtype=np.float64), better)
    apart = _apart(results, names, chosen)
    together = ~table["architecture"].isin(apart).to_numpy()
    overall = np.zeros(len(table), dtype=bool)
    overall[together] = non_dominated(values[together])
    table["overall"] = overall
    table["knee"] = False
    for name in chosen:
        own = np.flatnonzero((table["architecture"] == name).to_numpy())
        _mark(table, "knee", own, values)
    table["best_knee"] = False
    _mark(table, "best_knee", np.flatnonzero(table["overall"].to_numpy(dtype=bool)), values)
    there = set(table["architecture"])
    return Fronts(names, better, table, closing, tuple(name for name in apart if name in there))


def _apart(results: Results, figures: tuple[str, ...], chosen: list[str]) -> list[str]:
    """Craft that do not refuel, beside others that do, where a figure is about refuelling."""
    carried = [name for name in chosen if not results.study.thrusters[name].refuels]
    return carried if set(figures) & set(REFUELLING) and len(carried) < len(chosen) else []


def _mark(table: pd.DataFrame, column: str, places: NDArray[np.int64], values: FloatArray) -> None:
    found = knee(values[places])
    if found is not None:
        table.loc[table.index[places[found]], column] = True


def _front_rows(
    results: Results,
    architecture: str,
    places: NDArray[np.int64],
    columns: dict[str, FloatArray],
    better: tuple[str, ...],
) -> pd.DataFrame:
    """The different designs on the front of one architecture, in the order of the first figure."""
    values = np.stack([column[places] for column in columns.values()], axis=1)
    finite = np.isfinite(values).all(axis=1)
    places, values = places[finite], values[finite]
    on = np.flatnonzero(non_dominated(oriented(values, better)))
    _, first, count = np.unique(values[on], axis=0, return_index=True, return_counts=True)
    kept = places[on[first]]
    table: dict[str, object] = {
        "architecture": np.full(len(kept), architecture, dtype=object),
        "design": kept,
    }
    for variable in results.study.sweep:
        table[variable.name] = results.designs[variable.name].to_numpy(dtype=np.float64)[kept]
    for name, column in columns.items():
        table[name] = column[kept]
    table["equals"] = count - 1
    return pd.DataFrame(table)


def oriented(values: FloatArray, better: Sequence[str]) -> FloatArray:
    """Figures turned so that less is better in every column.

    Parameters
    ----------
    values : ndarray, shape (n, k)
        Figures.
    better : sequence of str
        ``lower`` or ``higher`` for each column.
    """
    return np.asarray(values * np.array([1.0 if side == "lower" else -1.0 for side in better]))


def non_dominated(values: FloatArray) -> NDArray[np.bool_]:
    """Which rows no other row beats, less being better in every column; rows that are equal stand or fall together.

    Exact for any rows: they are sorted, and the better half of each piece is played against the other half, one
    column fewer each time, down to two columns, where a sorted sweep decides (kung_1975).

    Parameters
    ----------
    values : ndarray, shape (n, k)
        Finite figures, k at least 1.

    Examples
    --------
    >>> non_dominated(np.array([[1.0, 3.0], [2.0, 2.0], [2.0, 3.0], [3.0, 1.0], [1.0, 3.0]])).tolist()
    [True, True, False, True, True]
    """
    values = np.asarray(values, dtype=np.float64) + 0.0  # one zero, not two
    count, width = values.shape
    found = np.zeros(count, dtype=bool)
    if count == 0:
        return found
    if width <= FEWEST:
        return _sweep(values)
    kept = _thinned(values)
    order = kept[np.lexsort(values[kept].T[::-1])]
    rows = values[order]
    fresh = np.ones(len(rows), dtype=bool)
    fresh[1:] = (rows[1:] != rows[:-1]).any(axis=1)
    single = rows[fresh]
    left = _sifted(single)
    best = np.zeros(len(single), dtype=bool)
    best[left] = _front(single[left])
    found[order] = best[np.cumsum(fresh) - 1]
    return found


def _thinned(values: FloatArray) -> NDArray[np.int64]:
    """Rows that a few good ones do not beat; of very many rows most go this way."""
    places = np.arange(len(values))
    for _ in range(PIVOTS):
        rows = values[places]
        if len(rows) <= BLOCK:
            break
        low = rows.min(axis=0)
        scale = np.where(np.ptp(rows, axis=0) > 0.0, np.median(rows, axis=0) - low, 1.0)
        pivot = rows[np.argmin(((rows - low) / np.where(scale > 0.0, scale, 1.0)).sum(axis=1))]
        beaten = (rows >= pivot).all(axis=1) & (rows > pivot).any(axis=1)
        places = places[~beaten]
        if beaten.sum() < FEW * len(rows):
            break
    return places


def _sweep(values: FloatArray) -> NDArray[np.bool_]:
    """Two columns or one: of rows with one first value those with the least last one, if less than all before."""
    order = np.argsort(values[:, 0])
    first, last = values[order, 0], values[order, -1]
    starts = np.flatnonzero(np.concatenate([[True], first[1:] != first[:-1]]))
    least = np.minimum.reduceat(last, starts)
    stands = np.concatenate([[True], least[1:] < np.minimum.accumulate(least)[:-1]])
    sizes = np.diff(np.append(starts, len(values)))
    best = np.repeat(stands, sizes) & (last == np.repeat(least, sizes))
    found = np.empty(len(values), dtype=bool)
    found[order] = best
    return found


def _sifted(rows: FloatArray) -> NDArray[np.int64]:
    """Rows, all different, that the front of some of them does not beat."""
    places = np.arange(len(rows))
    for share in SIEVES:
        if len(places) * share <= BLOCK:
            continue
        some = places[:: round(1.0 / share)]
        rest = np.setdiff1d(places, some, assume_unique=True)
        good = rows[some[_front(rows[some])]]
        rest = rest[~_beaten(good, rows[rest])]
        places = np.union1d(some, rest)
    return places


def _front(rows: FloatArray) -> NDArray[np.bool_]:
    """Three columns or more, sorted and all different: no row is beaten by one after it."""
    if len(rows) <= BLOCK:
        return ~_beaten_by_any(rows, rows)
    half = len(rows) // 2
    best = np.concatenate([_front(rows[:half]), _front(rows[half:])])
    left, right = np.flatnonzero(best[:half]), half + np.flatnonzero(best[half:])
    best[right] = ~_beaten(rows[left][:, 1:], rows[right][:, 1:])
    return best


def _beaten_by_any(good: FloatArray, rows: FloatArray) -> NDArray[np.bool_]:
    """Rows to which some other row is no worse in all columns and not equal."""
    below = (good[:, None, :] <= rows[None, :, :]).all(axis=2)
    same = (good[:, None, :] == rows[None, :, :]).all(axis=2)
    return np.asarray((below & ~same).any(axis=0))


def _beaten(good: FloatArray, rows: FloatArray) -> NDArray[np.bool_]:
    """Rows to which some good row is no worse in every column; equal counts, as no two rows are the same."""
    if good.size == 0 or rows.size == 0:
        return np.zeros(len(rows), dtype=bool)
    if good.shape[1] == FEWEST:
        return _beaten_in_two(good, rows)
    if len(good) * len(rows) <= BLOCK * BLOCK:
        return np.asarray((good[:, None, :] <= rows[None, :, :]).all(axis=2).any(axis=0))
    middle = np.median(np.concatenate([good[:, 0], rows[:, 0]]))
    early, late = good[:, 0] <= middle, rows[:, 0] > middle
    if (
        early.all() and not late.any()
    ) or not early.any():  # one value holds more than half: the least of it splits
        early, late = good[:, 0] < middle, rows[:, 0] >= middle
    if (early.all() and not late.any()) or (not early.any() and late.all()):
        return _in_blocks(good, rows)
    found = np.zeros(len(rows), dtype=bool)
    found[late] = _beaten(good[early][:, 1:], rows[late][:, 1:])
    found[~late] = _beaten(good[early], rows[~late])
    open_ = np.flatnonzero(late & ~found)
    found[open_] = _beaten(good[~early], rows[open_])
    return found


def _in_blocks(good: FloatArray, rows: FloatArray) -> NDArray[np.bool_]:
    """All pairs, some rows at a time: where the first column has one value only, it decides nothing."""
    if np.ptp(good[:, 0]) == 0.0 and np.ptp(rows[:, 0]) == 0.0:
        if good[0, 0] <= rows[0, 0]:
            return _beaten(good[:, 1:], rows[:, 1:])
        return np.zeros(len(rows), dtype=bool)
    found = np.zeros(len(rows), dtype=bool)
    for start in range(0, len(rows), BLOCK):
        part = rows[start : start + BLOCK]
        found[start : start + BLOCK] = (good[:, None, :] <= part[None, :, :]).all(axis=2).any(axis=0)
    return found


def _beaten_in_two(good: FloatArray, rows: FloatArray) -> NDArray[np.bool_]:
    """Two columns: the least second value among good rows up to a row's first value decides."""
    order = np.argsort(good[:, 0], kind="stable")
    least = np.minimum.accumulate(good[order, 1])
    place = np.searchsorted(good[order, 0], rows[:, 0], side="right") - 1
    return np.asarray((place >= 0) & (least[np.maximum(place, 0)] <= rows[:, 1]))


def knee(values: FloatArray) -> int | None:
    """The row of a front past which a little more of one figure costs much of another; None where there is none.

    Figures are scaled to run from 0 (best on the front) to 1 (worst). For two, the row farthest below the straight line
    between the two ends (das_1999). For more, the row whose least trade-off is largest: moving to any other row, what
    the other figures lose over what some gain (rachmawati_2009).

    Parameters
    ----------
    values : ndarray, shape (n, k)
        A front, less being better in every column.

    Examples
    --------
    >>> knee(np.array([[0.0, 1.0], [0.2, 0.3], [1.0, 0.0]])), knee(np.array([[0.0, 1.0], [1.0, 0.0]]))
    (1, None)
    """
    if len(values) <= FEWEST:
        return None
    span = np.ptp(values, axis=0)
    used = span > 0.0
    if used.sum() < FEWEST:
        return None
    scaled = (values[:, used] - values[:, used].min(axis=0)) / span[used]
    if scaled.shape[1] == FEWEST:
        below = 1.0 - scaled.sum(axis=1)
        place = int(np.argmax(below))
        return place if below[place] > constants.value("knee_least", SETTINGS) else None
    return _least_trade(scaled)


def _least_trade(scaled: FloatArray) -> int | None:
    """The row whose least loss over gain on the way to any other row is largest; 1 or less is no knee."""
    most = int(constants.value("knee_rows", SETTINGS))
    chosen = np.unique(np.linspace(0, len(scaled) - 1, min(most, len(scaled))).astype(np.int64))
    others = scaled[chosen]
    best, place = 1.0 + constants.value("knee_least", SETTINGS), None
    for row in chosen:
        change = others - scaled[row]
        loss, gain = np.maximum(change, 0.0).sum(axis=1), np.maximum(-change, 0.0).sum(axis=1)
        trade = np.divide(loss, gain, out=np.full(len(others), np.inf), where=gain > 0.0)
        least = float(trade.min())
        if np.isfinite(least) and least > best:
            best, place = least, int(row)
    return place
