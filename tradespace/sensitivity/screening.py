"""Screening after Morris: which of many inputs move a metric at all, and which do so unevenly or together.

A trajectory changes each input once, in random order, by half of its range of probability, up or down; what a metric
changes over that step is an elementary effect. Four levels, in the middle of each quarter, are used, so that no input
is ever at the very end of its distribution.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace.errors import DomainError
from tradespace.sensitivity.tables import long_table
from tradespace.sensitivity.variance import MOST_DIMENSIONS, Model, require_finite

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray

LEVELS = 4
STEP = 0.5
"""Half the levels, as a share of probability [1]."""
LEAST_TRAJECTORIES = 2


@dataclass(frozen=True)
class Screening:
    """Elementary effects of every input on every metric; shape (metrics, inputs) each."""

    metrics: tuple[str, ...]
    inputs: tuple[str, ...]
    strength: FloatArray
    """Mean of the absolute effects (mu*), in the unit of the metric per whole range of probability."""
    unevenness: FloatArray
    """Standard deviation of the effects (sigma), in the same unit: curvature, or working together with others."""
    direction: FloatArray
    """Mean of the effects with their sign (mu), in the same unit."""
    error: FloatArray
    """Standard error of the strength, in the same unit."""
    runs: int
    trajectories: int

    def table(self) -> pd.DataFrame:
        """One row for each metric and input."""
        names = ("strength", "unevenness", "direction", "error")
        return long_table(self.metrics, self.inputs, {name: getattr(self, name) for name in names})


def trajectories(dimensions: int, count: int, seed: int) -> tuple[FloatArray, np.ndarray, FloatArray]:
    """Random walks through the unit cube in which each input moves once.

    Parameters
    ----------
    dimensions : int
        Inputs d.
    count : int
        Trajectories r.
    seed : int
        0 is a seed like any other.

    Returns
    -------
    tuple
        Points, shape (r, d + 1, d); which input moves at each step, shape (r, d); and the signed step, shape (r, d),
        in the order of the inputs.

    Raises
    ------
    DomainError
        If there are too few trajectories or no inputs.
    """
    if count < LEAST_TRAJECTORIES:
        raise DomainError(f"trajectories {count}: at least {LEAST_TRAJECTORIES} are needed for a spread")
    if not 1 <= dimensions <= MOST_DIMENSIONS:
        raise DomainError(f"dimensions {dimensions}: the inputs must number 1 to {MOST_DIMENSIONS}")
    source = np.random.default_rng(seed)
    start = (source.integers(0, LEVELS, size=(count, dimensions)) + 0.5) / LEVELS
    step = np.where(start < 0.5, STEP, -STEP)
    order = source.permuted(np.tile(np.arange(dimensions), (count, 1)), axis=1)
    turn = np.argsort(order, axis=1)  # when each input moves
    moved = np.arange(dimensions + 1)[None, :, None] > turn[:, None, :]
    return start[:, None, :] + np.where(moved, step[:, None, :], 0.0), order, step


def screening(
    model: Model,
    dimensions: int,
    count: int,
    seed: int,
    *,
    names: Sequence[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Screening:
    """Elementary effects of a model (morris_1991), with the mean of their absolute values (campolongo_2007).

    Parameters
    ----------
    model : callable
        Takes points of the unit cube, shape (n, d), and gives every metric by name, shape (n,).
    dimensions : int
        Inputs d; the model is run ``count * (d + 1)`` times.
    count : int
        Trajectories.
    seed : int
        Seed of the trajectories.
    names : sequence of str, optional
        What the inputs are called; their numbers when not given.
    progress : callable, optional
        Called with the runs done and the runs in all.

    Raises
    ------
    DomainError
        If a metric is not finite in some runs.

    Examples
    --------
    >>> found = screening(lambda u: {"y": 3.0 * u[:, 0] - 2.0 * u[:, 1]}, 2, 8, seed=0)
    >>> [round(float(value), 9) for value in found.strength[0]], round(float(found.unevenness.max()), 9)
    ([3.0, 2.0], 0.0)
    """
    points, order, step = trajectories(dimensions, count, seed)
    answers = model(points.reshape(-1, dimensions))
    if progress is not None:
        progress(len(points) * (dimensions + 1), len(points) * (dimensions + 1))
    labels = tuple(names) if names is not None else tuple(str(number) for number in range(dimensions))
    effects = elementary_effects(answers, order, step)
    values = np.stack([effects[name] for name in effects]) if effects else np.empty((0, count, dimensions))
    size = np.abs(values)
    return Screening(
        tuple(effects),
        labels,
        size.mean(axis=1),
        values.std(axis=1, ddof=1),
        values.mean(axis=1),
        size.std(axis=1, ddof=1) / np.sqrt(count),
        points.shape[0] * points.shape[1],
        count,
    )


def elementary_effects(
    answers: Mapping[str, FloatArray], order: np.ndarray, step: FloatArray
) -> dict[str, FloatArray]:
    """Change of every metric over each step for a whole range of probability, shape (r, d), inputs in order."""
    count, dimensions = order.shape
    found = {}
    for name, column in answers.items():
        require_finite(name, np.asarray(column))
        change = np.diff(np.asarray(column).reshape(count, dimensions + 1), axis=1)
        placed = np.empty_like(change)
        np.put_along_axis(placed, order, change, axis=1)
        found[name] = placed / step
    return found
