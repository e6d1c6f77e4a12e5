"""The table of answers: one row per design, and what is needed to read it without evaluating again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

LINKS = ("mass", "power", "thrust", "heat", "storage", "water", "lifetime", "time", "window")


@dataclass(frozen=True)
class PowerMap:
    """Refuel time and smallest margin over array power and stack efficiency, for one architecture."""

    architecture: str
    array_power: FloatArray
    """At 1 au, new [W], shape (x,)."""
    stack_efficiency: FloatArray
    """On the higher heating value, stack only [1], shape (y,)."""
    refuel_time: FloatArray
    """Longest refuelling of the route [s], shape (y, x)."""
    margin: FloatArray
    """Smallest margin [1], shape (y, x)."""


@dataclass(frozen=True)
class Sensitivity:
    """What moves the answer."""

    tornado: pd.DataFrame
    """Columns architecture, quantity, low, high (SI), metric, at_low, at_baseline, at_high (SI)."""
    exchange: pd.DataFrame
    """Columns architecture, quantity, step (words), calendar (frozen or free), days_per_hop, payload_kg, jump, note."""
    power_maps: tuple[PowerMap, ...]
    solutions: pd.DataFrame
    """Columns architecture, variable, value (SI, NaN when none), reached, closes, note; empty when not asked."""


@dataclass(frozen=True)
class Results:
    """Designs and their answers, in SI, with the study they answer."""

    study: Study
    mission: Mission
    designs: pd.DataFrame
    """One row per design: architecture, swept variables, output columns, per-hop columns ``<name>_<hop>``."""
    baseline: pd.DataFrame
    """The same columns (all inputs too) for the study's reference design, one row per architecture."""
    seconds: float
    versions: dict[str, str]
    sensitivity: Sensitivity | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def architectures(self) -> list[str]:
        """Names in the study's order."""
        return list(self.study.architectures)

    def best(self, architecture: str) -> pd.Series | None:
        """The best closing design of an architecture by the study's figure of merit; None if none closes."""
        rows = self.designs[(self.designs["architecture"] == architecture) & self.designs["closes"]]
        return best_row(rows, self.study.figure_of_merit, self.study.figure_of_merit_better)

    def counts(self) -> pd.DataFrame:
        """Designs and closing designs per architecture."""
        grouped = self.designs.groupby("architecture", observed=False)["closes"]
        return pd.DataFrame({"designs": grouped.size(), "closing": grouped.sum()}).reindex(self.architectures)


def best_row(rows: pd.DataFrame, figure: str, better: str) -> pd.Series | None:
    """The row with the best figure of merit; ties go to the larger margin, then to the earlier row."""
    if rows.empty:
        return None
    sign = 1.0 if better == "lower" else -1.0
    merit = sign * rows[figure].to_numpy(dtype=np.float64)
    order = np.lexsort((np.arange(len(rows)), -rows["margin"].to_numpy(dtype=np.float64), np.round(merit, 9)))
    return rows.iloc[int(order[0])]
