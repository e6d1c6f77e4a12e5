"""Partial tours, and which of them a beam keeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray

Routes = NDArray[np.int64]


@dataclass(eq=False)
class Partial:
    """Partial tours of one length: one row each."""

    routes: Routes
    dates: FloatArray
    states: NDArray[Any]
    """Rows of the campaign's state record."""
    gained: FloatArray
    """Merit of the hops flown."""
    merit: FloatArray
    """Merit if the tour ended here."""
    survival: FloatArray
    water: FloatArray

    def __getitem__(self, rows: Any) -> Partial:
        return Partial(*(column[rows] for column in vars(self).values()))


def criteria(partial: Partial) -> tuple[Routes, FloatArray]:
    """Which partial tours compete (same bodies visited, same last body), and what of each should be small."""
    groups = np.concatenate([np.sort(partial.routes[:, :-1], axis=1), partial.routes[:, -1:]], axis=1)
    state = partial.states
    wear = [state[name] for name in ("throughput", "cell_hours", "burn_hours", "spent_delta_v", "landings")]
    costs = np.column_stack(
        [-partial.gained, -partial.survival, partial.dates, -(state["cruise"] + state["store"]), state["filled"],
         -state["filled"], *wear, partial.water]
    )  # fmt: skip
    return groups, costs


def dominated(groups: Routes, costs: FloatArray) -> NDArray[np.bool_]:
    """Rows for which an earlier row of the same group is at least as good in every cost.

    Parameters
    ----------
    groups : ndarray, shape (n, k)
        Rows that are equal compete.
    costs : ndarray, shape (n, c)
        What should be small.

    Examples
    --------
    >>> dominated(np.array([[1], [1], [2]]), np.array([[1.0, 2.0], [1.0, 3.0], [9.0, 9.0]])).tolist()
    [False, True, False]
    """
    count = len(groups)
    lost = np.zeros(count, dtype=np.bool_)
    if not count:
        return lost
    _, group = np.unique(groups, axis=0, return_inverse=True)
    order = np.argsort(group.ravel(), kind="stable")  # within a group the earlier rows stay earlier
    sorted_groups, sorted_costs = group.ravel()[order], costs[order]
    for back in range(1, int(np.bincount(sorted_groups).max())):
        same = sorted_groups[back:] == sorted_groups[:-back]
        worse = same & (sorted_costs[:-back] <= sorted_costs[back:]).all(axis=1)
        lost[order[back:][worse]] = True
    return lost
