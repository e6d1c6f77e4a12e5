"""Which single reading, if it alone were wrong, would make every condition hold, and what it would have to be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tradespace.bench.channels import channels
from tradespace.bench.conditions import Condition, conditions
from tradespace.bench.filled import BoolArray, fill
from tradespace.bench.reconciling import reconcile
from tradespace.bench.records import Readings, Reconciled

_FACTORS = np.concatenate([np.geomspace(1.0 / 30, 1.0, 100), np.geomspace(1.0, 30.0, 100)[1:]])
TOLD = ("choked throat",)
"""Conditions that say which formula holds and break nothing."""
_LEFT = ("time", "lit", "tare_force", "half_angle", "electrode_gap", "water_lost")


@dataclass(frozen=True)
class Culprit:
    """A reading that would set everything right."""

    channel: str
    value: float
    """What it would have to be [SI]."""
    factor: float
    """Over what was read [1]."""
    words: str


def culprits(facts: Reconciled, broken: list[Condition]) -> tuple[Culprit, ...]:
    """Readings of which any single one, if it alone were wrong, would reconcile the set, the smallest change first.

    Each reading in turn is given every value from a thirtieth to thirty times its own,
    inside the bounds of its channel,
    with all others as they were read, at the middle of the points that fail.
    """
    grave = [one for one in broken if one.name not in TOLD]
    if not grave:
        return ()
    middle = _middle(facts.readings, grave[0].fails)
    names = [name for name in middle.columns if _free(name, middle)]
    if not names:
        return ()
    tried = _tried(middle, names)
    judged = [one for one in conditions(reconcile(tried)) if one.name not in TOLD]
    good = ~np.any([one.fails for one in judged], axis=0)
    for one in grave:  # what can no longer be told apart is not set right
        again = next(other for other in judged if other.name == one.name)
        if one.name in ("thrust against the flow", "thrust against the surroundings"):
            good &= again.known
    size, found = _FACTORS.size, []
    for place, name in enumerate(names):
        row = channels()[name]
        value = float(middle.columns[name][0])
        numbers = value * _FACTORS
        allowed = good[place * size : (place + 1) * size] & (numbers >= row.low) & (numbers <= row.high)
        if not allowed.any():
            continue
        choices = _FACTORS[allowed]
        best = float(choices[np.argmin(np.abs(np.log(choices)))])
        found.append(_culprit(name, value, best, tried_low=bool(best < 1.0)))
    return tuple(sorted(found, key=lambda one: abs(np.log(one.factor))))


def _culprit(name: str, value: float, factor: float, *, tried_low: bool) -> Culprit:
    row = channels()[name]
    end = "at most" if tried_low else "at least"
    words = f"{name.replace('_', ' ')} (read {row.shown(value)}, would have to be {end} {row.shown(value * factor)})"
    return Culprit(name, value * factor, factor, words)


def _free(name: str, middle: Readings) -> bool:
    """Whether a channel can be doubted on its own."""
    if name in _LEFT or name not in channels():
        return False
    value = float(middle.columns[name][0])
    return bool(np.isfinite(value)) and value != 0.0


def _middle(readings: Readings, rows: BoolArray) -> Readings:
    """One point in the middle of some, the water lost as its rate."""
    filled = fill(readings)
    columns, random, systematic = {}, {}, {}
    for name in (*readings.columns, "water_rate"):
        column = filled.columns[name] if name == "water_rate" else readings.column(name)
        if not np.isfinite(column[rows]).any():
            continue
        columns[name] = np.array([np.nanmedian(column[rows])])
        if name == "water_rate" and name not in readings.columns:
            parts = filled.random[name], filled.systematic[name]
        else:
            parts = readings.random[name], readings.systematic[name]
        random[name], systematic[name] = (
            np.array([np.nan_to_num(np.nanmedian(part[rows]))]) for part in parts
        )
    columns.pop("water_lost", None)
    return replace(
        readings,
        columns=columns,
        random=random,
        systematic=systematic,
        rows=np.zeros(1),
        remarks=(),
        by_class=frozenset(),
    )


def _tried(middle: Readings, names: list[str]) -> Readings:
    """One point for every factor on every reading."""
    size = len(names) * _FACTORS.size
    columns = {name: np.full(size, float(column[0])) for name, column in middle.columns.items()}
    parts = [
        {name: np.full(size, float(column[0])) for name, column in source.items()}
        for source in (middle.random, middle.systematic)
    ]
    for place, name in enumerate(names):
        rows = slice(place * _FACTORS.size, (place + 1) * _FACTORS.size)
        columns[name][rows] *= _FACTORS
        for source in parts:
            source[name][rows] *= _FACTORS
    return replace(middle, columns=columns, random=parts[0], systematic=parts[1], rows=np.zeros(size))
