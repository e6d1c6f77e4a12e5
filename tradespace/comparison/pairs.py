"""At which price of water one architecture takes less energy in all than another."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace.comparison.standing import standings
from tradespace.constants import value
from tradespace.physics.electric import break_even_water_energy

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

ALWAYS_FAST, ALWAYS_SLOW = "fast", "slow"
LEAST_CHANGE = 1e-3  # m/s, so that a route without any velocity change is the limit of small ones
LARGEST = 500.0  # logarithm of a load that stands for "no finite load"
SAME = 1e-9  # share by which two exhaust velocities that are the same may differ by rounding


@dataclass(frozen=True)
class BreakEven:
    """Two architectures, the one that needs more mined water first."""

    slow: str
    fast: str
    energy: float
    """Extraction energy above which the frugal one (``fast``) takes less in all [J/kg]; NaN where one always wins."""
    always: str
    """``fast`` or ``slow`` where one of them takes less at every price of water, else empty."""
    ahead: str
    """Name of the one that takes less at the study's own price of water; empty where that is not known."""


@dataclass(frozen=True)
class Appetite:
    """What one architecture takes for the velocity change asked."""

    name: str
    exhaust_velocity: float
    """Of the thruster fed with the water alone that would need as much of it [m/s]."""
    energy: float
    """Spent on each kilogram of mined water [J/kg]."""
    price: float
    """Extraction energy of the study [J/kg]."""


def route_delta_v(results: Results) -> float:
    """Velocity change of one hop at which architectures are set against each other [m/s].

    Mean over the hops of the best design that refuels, cruise with margin; on a surface route launch and landing.
    NaN where no design flies.
    """
    for one in sorted(standings(results), key=lambda item: not item.refuels):
        if one.row is None:
            continue
        hops = max(results.mission.hops, 1)
        names = ["launch_delta_v", "landing_delta_v"] if results.mission.kind == "surface" else ["delta_v"]
        parts = [_mean(one.row, name, hops) for name in names]
        change = sum(part for part in parts if math.isfinite(part))
        if change > 0.0:
            return change
    return float("nan")


def _mean(row: pd.Series, name: str, hops: int) -> float:
    """Mean of a per-hop column over the hops that have it."""
    cells = np.array([float(row.get(f"{name}_{hop}", math.nan)) for hop in range(1, hops + 1)])
    kept = cells[np.isfinite(cells)]
    return float(kept.mean()) if kept.size else float("nan")


def appetite(row: pd.Series, name: str, delta_v: float, price: float) -> Appetite | None:
    """Water and energy that one architecture takes, from its own design; None where its numbers are missing.

    What is mined and stays behind, or is let off without thrust, counts as mined: the exhaust velocity is that of a
    thruster on water alone that would have to mine as much for the same craft.
    """
    gravity = value("standard_gravity")
    carried = float(row.get("specific_impulse", math.nan)) * gravity
    mined = float(row.get("mined_specific_impulse", math.nan)) * gravity
    energy = float(row.get("spent_energy", math.nan))
    if not (carried > 0.0 and mined > 0.0 and energy >= 0.0 and math.isfinite(delta_v)):
        return None
    change = max(delta_v, LEAST_CHANGE)
    load = math.expm1(min(change / carried, LARGEST)) * carried / mined
    return Appetite(name, change / math.log1p(load), energy, price)


def break_evens(results: Results, delta_v: float | None = None) -> list[BreakEven]:
    """Every pair of architectures that refuel, with the extraction energy at which both take the same energy in all.

    Parameters
    ----------
    results : Results
        What a run gave.
    delta_v : float, optional
        Velocity change of a hop [m/s]; that of the route unless given.
    """
    change = route_delta_v(results) if delta_v is None else delta_v
    found = []
    for one in standings(results):
        if one.row is not None and one.refuels:
            eaten = appetite(one.row, one.name, change, price_of(results, one.row))
            found += [] if eaten is None else [eaten]
    found.sort(key=lambda one: one.exhaust_velocity)
    return [pair(slow, fast, change) for slow, fast in itertools.combinations(found, 2)]


def price_of(results: Results, row: pd.Series) -> float:
    """Extraction energy of a design [J/kg]; NaN when it is not told."""
    if "extraction_energy" in row.index:
        return float(row["extraction_energy"])
    rows = results.baseline[results.baseline["architecture"] == row["architecture"]]
    known = "extraction_energy" in rows and not rows.empty
    return float(rows.iloc[0]["extraction_energy"]) if known else float("nan")


def pair(slow: Appetite, fast: Appetite, delta_v: float) -> BreakEven:
    """Two architectures against each other, the one that needs more water first."""
    if fast.exhaust_velocity <= slow.exhaust_velocity * (1.0 + SAME):  # as frugal as each other
        winner, name = (ALWAYS_FAST, fast.name) if fast.energy < slow.energy else (ALWAYS_SLOW, slow.name)
        return BreakEven(slow.name, fast.name, float("nan"), winner, name)
    energy = float(
        break_even_water_energy(
            max(delta_v, LEAST_CHANGE), slow.exhaust_velocity, slow.energy, fast.exhaust_velocity, fast.energy
        )
    )
    if energy <= 0.0:
        return BreakEven(slow.name, fast.name, float("nan"), ALWAYS_FAST, fast.name)
    price = slow.price if math.isfinite(slow.price) else fast.price
    ahead = "" if not math.isfinite(price) else fast.name if price > energy else slow.name
    return BreakEven(slow.name, fast.name, energy, "", ahead)
