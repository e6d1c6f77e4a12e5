"""Points put together in groups of like conditions, with the noise that is left of their mean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

BoolArray = NDArray[np.bool_]
VALUES = "bench_fit_values.csv"
MOST_INFLATION = 30.0
LEAST_IN_GROUP = 5
"""Points of a group where there are enough of them: fewer hide how alike neighbours err."""
FEWEST = 4


@dataclass(frozen=True, eq=False)
class Groups:
    """Which point belongs to which group."""

    member: FloatArray
    """Group of every point, -1 for none, shape (n,)."""
    counts: FloatArray
    """Points of each group, shape (k,)."""

    def mean(self, column: FloatArray) -> FloatArray:
        """Mean of a column over the points of each group, shape (k,)."""
        used = self.member >= 0
        sums = np.bincount(self.member[used].astype(int), weights=column[used], minlength=self.counts.size)
        return np.asarray(sums / self.counts)

    def noise(self, column: FloatArray, random: FloatArray, along: FloatArray) -> FloatArray:
        """Variance of each group's mean, from the stated random errors or the scatter, whichever is larger.

        Neighbours in time that err alike count for less: the variance is inflated by their correlation.

        Parameters
        ----------
        column, random : ndarray, shape (n,)
            Readings and their stated random deviations.
        along : ndarray, shape (n,)
            Condition by which the groups were made, for a slope within each of them.
        """
        used = self.member >= 0
        member = self.member[used].astype(int)
        away = column[used] - self.mean(column)[member]
        across = along[used] - self.mean(along)[member]
        spread = float((across**2).sum())
        away = away - across * (float((across * away).sum()) / spread if spread > 0.0 else 0.0)
        freedom = max(away.size - self.counts.size - 1, 1)
        scatter = float((away**2).sum()) / freedom
        same = member[1:] == member[:-1]
        pairs = away[1:] * away[:-1] * same
        likeness = (
            float(pairs.sum()) / max(float((away[1:] ** 2 * same).sum()), 1e-300) if same.any() else 0.0
        )
        likeness += (
            1.0 / max(float(self.counts.mean()) - 1.0, 2.0) if same.any() else 0.0
        )  # few points hide some of it
        likeness = min(max(likeness, 0.0), 0.95)
        inflation = min((1.0 + likeness) / (1.0 - likeness), MOST_INFLATION)
        stated = self.mean(random**2)
        return np.asarray(np.maximum(stated, scatter) * np.minimum(inflation / self.counts, 1.0))


def grouped(key: FloatArray, use: BoolArray) -> Groups:
    """Groups of equal size of the points in use, by the order of a condition.

    Parameters
    ----------
    key : ndarray, shape (n,)
        The condition, such as a current density.
    use : ndarray of bool, shape (n,)
        Points that count.
    """
    places = np.flatnonzero(use & np.isfinite(key))
    member = np.full(key.size, -1)
    most = min(int(value("bins", VALUES)), max(places.size // LEAST_IN_GROUP, min(places.size, FEWEST)))
    order = places[np.argsort(key[places], kind="stable")]
    member[order] = (np.arange(order.size) * most) // max(order.size, 1)
    counts = np.bincount(member[member >= 0], minlength=most).astype(np.float64)
    return Groups(member, counts)


def varies(column: FloatArray) -> bool:
    """Whether a column was read more than once and changes."""
    known = column[np.isfinite(column)]
    return bool(known.size > 1 and np.ptp(known) > 0.0)


def run_position(time: FloatArray, points: int) -> FloatArray:
    """Where in the run each point was taken, from -1 to 1, shape (n,)."""
    if not np.isfinite(time).all() or float(np.ptp(time)) <= 0.0:
        return np.linspace(-1.0, 1.0, points) if points > 1 else np.zeros(points)
    return np.asarray(2.0 * (time - time.min()) / np.ptp(time) - 1.0)
