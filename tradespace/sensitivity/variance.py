"""Shares of the variance: Sobol' first and total indices of any model, with bootstrap intervals of our own.

Of a base of n points, three kinds of points are run: A and B, independent of each other, and for each of the d inputs
A with that input taken from B; n (d + 2) runs in all (saltelli_2010). Shares are ratios of means over the n rows, so
a bootstrap resample is a set of weights on the rows, and many resamples at once are one product of two matrices.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.errors import DomainError
from tradespace.processors import processors
from tradespace.sampling import unit_points
from tradespace.sensitivity.tables import long_table

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray

SETTINGS = "sensitivity_settings.csv"
Model = Callable[["FloatArray"], Mapping[str, "FloatArray"]]
"""Takes points of the unit cube, shape (n, d), and gives each metric, shape (n,)."""
LEAST_BASE = 8
STILL = 1e-24
"""Variance over squared mean below which a metric does not vary but for rounding [1]."""
MOST_DIMENSIONS = 10_000


@dataclass(frozen=True)
class Base:
    """The two independent halves of the base points."""

    first: FloatArray
    """A, shape (n, d)."""
    second: FloatArray
    """B, shape (n, d)."""


@dataclass(frozen=True)
class Shares:
    """First and total indices of every metric with their intervals; shape (metrics, inputs) each."""

    metrics: tuple[str, ...]
    inputs: tuple[str, ...]
    first: FloatArray
    first_low: FloatArray
    first_high: FloatArray
    total: FloatArray
    total_low: FloatArray
    total_high: FloatArray
    variance: FloatArray
    """Of each metric, in its own unit squared, shape (metrics,)."""
    still: tuple[str, ...]
    """Metrics that do not vary, for which there is nothing to share out."""
    runs: int
    level: float
    """Confidence of the intervals [1]."""

    def table(self) -> pd.DataFrame:
        """One row for each metric and input."""
        names = ("first", "first_low", "first_high", "total", "total_low", "total_high")
        return long_table(self.metrics, self.inputs, {name: getattr(self, name) for name in names})


def base_points(dimensions: int, base: int, seed: int) -> Base:
    """Two independent sets of points from one scrambled Sobol' sequence of twice the dimensions.

    Parameters
    ----------
    dimensions : int
        Inputs.
    base : int
        Points in each set, a power of two.
    seed : int
        Of the scrambling; 0 is a seed like any other.

    Raises
    ------
    DomainError
        If the base is no power of two, or there is no input.
    """
    if base < LEAST_BASE or base & (base - 1):
        below = 1 << max(base.bit_length() - 1, 3)
        words = f"{below} or {2 * below}" if base >= LEAST_BASE else str(LEAST_BASE)
        raise DomainError(
            f"base samples {base}: they must be a power of two, at least {LEAST_BASE}; take {words}"
        )
    if not 1 <= dimensions <= MOST_DIMENSIONS:
        raise DomainError(f"dimensions {dimensions}: the inputs must number 1 to {MOST_DIMENSIONS}")
    points = unit_points(base, 2 * dimensions, seed)
    return Base(points[:, :dimensions], points[:, dimensions:])


def mixed(points: Base, place: int) -> FloatArray:
    """A with one input taken from B."""
    found = points.first.copy()
    found[:, place] = points.second[:, place]
    return found


def indices(
    model: Model,
    dimensions: int,
    base: int,
    seed: int,
    *,
    names: Sequence[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Shares:
    """First and total Sobol' indices of a model with independent inputs.

    Parameters
    ----------
    model : callable
        Takes points of the unit cube, shape (n, d), and gives every metric by name, shape (n,); it is called from
        several threads at once.
    dimensions : int
        Inputs d; the model is run ``base * (d + 2)`` times.
    base : int
        Base points n, a power of two.
    seed : int
        Seed of points and resamples.
    names : sequence of str, optional
        What the inputs are called; their numbers when not given.
    progress : callable, optional
        Called with the runs done and the runs in all.

    Raises
    ------
    DomainError
        If a metric is not finite in some runs, or the base is no power of two.
    """
    labels = tuple(names) if names is not None else tuple(str(number) for number in range(dimensions))
    return shares(evaluated(model, base_points(dimensions, base, seed), progress), labels, seed)


def evaluated(
    model: Model, points: Base, progress: Callable[[int, int], None] | None = None
) -> dict[str, FloatArray]:
    """Every metric of the runs of A, of B, and of A with each input in turn from B, shape (d + 2, n).

    Parameters
    ----------
    model : callable
        As for :func:`indices`; called from several threads, with n points each time.
    points : Base
        Base points.
    progress : callable, optional
        Called with the runs done and the runs in all.
    """
    base, dimensions = points.first.shape
    answers: dict[str, FloatArray] = {}

    def run(place: int) -> Mapping[str, FloatArray]:
        return model(mixed(points, place) if place >= 0 else (points.first, points.second)[place + 2])

    with ThreadPoolExecutor(processors()) as pool:
        for line, found in enumerate(pool.map(run, range(-2, dimensions))):
            for name, column in found.items():
                if name not in answers:
                    answers[name] = np.empty((dimensions + 2, base))
                answers[name][line] = column
            if progress is not None:
                progress((line + 1) * base, (dimensions + 2) * base)
    return answers


def require_finite(metric: str, values: FloatArray) -> None:
    """Refuse a metric that is not a number somewhere: one such run would silently make all indices meaningless.

    Raises
    ------
    DomainError
        With the count and the name.
    """
    bad = values.size - int(np.isfinite(values).sum())
    if bad:
        raise DomainError(
            f"{metric}: {bad} of {values.size} runs are not finite; shares of variance need finite numbers, so narrow "
            "the inputs or take another metric"
        )


def shares(answers: Mapping[str, FloatArray], inputs: Sequence[str], seed: int) -> Shares:
    """Indices and intervals from the runs.

    Parameters
    ----------
    answers : mapping of str to ndarray, shape (d + 2, n)
        Runs of A, of B, and of A with each input in turn from B, for every metric.
    inputs : sequence of str
        Names of the inputs, d of them.
    seed : int
        Seed of the resamples.
    """
    for name, values in answers.items():
        require_finite(name, values)
    spread = {name: _variance_of(values) for name, values in answers.items()}
    kept = tuple(name for name, (_, still) in spread.items() if not still)
    shape = (len(kept), len(inputs))
    level = constants.value("interval_level", SETTINGS)
    names = ("first", "first_low", "first_high", "total", "total_low", "total_high")
    found: dict[str, FloatArray] = {name: np.empty(shape) for name in names}
    for lines in _groups(answers, kept):
        rows = np.concatenate([_terms(answers[kept[line]]) for line in lines], axis=1)
        point = _ratios(rows.mean(axis=0)[None, :], len(lines))
        drawn = _resampled(rows, len(lines), seed)
        for key, value, many in zip(("first", "total"), point, drawn, strict=True):
            found[key][lines] = value[0]
            ends = np.quantile(many, [0.5 - 0.5 * level, 0.5 + 0.5 * level], axis=0)
            found[f"{key}_low"][lines], found[f"{key}_high"][lines] = ends
    variance = np.array([spread[name][0] for name in kept])
    still = tuple(name for name in answers if name not in kept)
    runs = next(iter(answers.values())).size if answers else 0
    first, first_low, first_high, total, total_low, total_high = (found[name] for name in names)
    return Shares(
        kept, tuple(inputs), first, first_low, first_high, total, total_low, total_high, variance, still, runs,
        level,
    )  # fmt: skip


def _groups(answers: Mapping[str, FloatArray], kept: tuple[str, ...]) -> list[list[int]]:
    """Metrics that are resampled together, as many as memory is to hold."""
    most = int(constants.value("bootstrap_terms", SETTINGS))
    each = 2 * max((answers[name].size for name in kept), default=1)
    size = max(1, most // each)
    return [list(range(start, min(start + size, len(kept)))) for start in range(0, len(kept), size)]


def _variance_of(values: FloatArray) -> tuple[float, bool]:
    """Variance over A and B, and whether that is nothing but rounding."""
    both = values[:2]
    variance = float(both.var())
    return variance, variance <= STILL * float(np.max(np.abs(both))) ** 2


def _terms(values: FloatArray) -> FloatArray:
    """What is averaged over the rows, shape (n, 2 + 2 d): mean, square, then a product and a square for each input.

    The mean of all is taken away first, which leaves the indices as they are and their error smaller.
    First order b (c - a) (saltelli_2010), total order (a - c)^2 / 2 (jansen_1999).
    """
    centred = values - values[:2].mean()
    a, b, changed = centred[0], centred[1], centred[2:]
    count = len(changed)
    rows = np.empty((values.shape[1], 2 + 2 * count))
    rows[:, 0] = 0.5 * (a + b)
    rows[:, 1] = 0.5 * (a * a + b * b)
    rows[:, 2 : 2 + count] = (b * (changed - a)).T
    rows[:, 2 + count :] = (0.5 * (changed - a) ** 2).T
    return rows


def _ratios(means: FloatArray, metrics: int) -> tuple[FloatArray, FloatArray]:
    """First and total indices from means of the terms, shape (k, metrics, d) each."""
    each = means.reshape(len(means), metrics, -1)
    variance = each[:, :, 1] - each[:, :, 0] ** 2
    safe = np.where(variance > 0.0, variance, np.inf)[:, :, None]
    first, total = np.split(each[:, :, 2:], 2, axis=2)
    return first / safe, total / safe


def _resampled(rows: FloatArray, metrics: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Indices of resamples of the rows, shape (resamples, metrics, d), some at a time so that memory stays bounded."""
    resamples = int(constants.value("bootstrap_resamples", SETTINGS))
    block = max(1, int(constants.value("bootstrap_block", SETTINGS)) // len(rows))
    source = np.random.default_rng([seed, 1])
    first, total = [], []
    for start in range(0, resamples, block):
        size = min(block, resamples - start)
        picks = source.integers(0, len(rows), size=(size, len(rows)))
        picks += len(rows) * np.arange(size)[:, None]
        weights = np.bincount(picks.ravel(), minlength=size * len(rows)).reshape(size, len(rows))
        pair = _ratios(weights.astype(np.float64) @ rows / len(rows), metrics)
        first.append(pair[0])
        total.append(pair[1])
    return np.concatenate(first), np.concatenate(total)
