"""One row per architecture: what it makes of mined water, how long it takes, and when it has paid for itself."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace.comparison.evidence import Evidence, evidence_of
from tradespace.comparison.pairs import BreakEven, break_evens, price_of, route_delta_v
from tradespace.comparison.standing import Standing, remembered, standings
from tradespace.results import placeholder

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

NUMBERS = (
    "specific_impulse",
    "mined_specific_impulse",
    "total_power_per_thrust",
    "spent_energy",
    "jet_share",
    "energy_per_hop",
    "water_per_hop",
    "refuel_time",
    "hops_in_life",
    "payload_per_year",
)
"""Columns of the answers that are set side by side."""
MINING = ("extraction_mass", "electrolyser_mass")
POWER = ("array_mass", "fixed_source_mass", "battery_mass")
OF_WATER = ("mined_specific_impulse", "spent_energy", "jet_share", "refuel_time")
"""Numbers that mean nothing for a craft that mines no water."""


@dataclass(frozen=True)
class Compared:
    """One architecture in the comparison."""

    place: int
    """From 1, best first."""
    standing: Standing
    evidence: Evidence
    numbers: Mapping[str, float]
    """By name of :data:`NUMBERS`, SI; NaN where it has none."""
    refuelling_mass: float
    """Plant and power that only refuelling needs, with its share of growth and margin [kg]."""
    payback_hops: float
    """Hops after which it has mined more water than that; infinite for never."""
    start_mass_ratio: float
    """Start mass of the best craft that does not refuel over its own [1]; infinite where none of those closes."""


@dataclass(frozen=True)
class Comparison:
    """The architectures of a study side by side."""

    rows: tuple[Compared, ...]
    """The best first."""
    delta_v: float
    """Velocity change of a hop for the break-evens [m/s]."""
    price: float
    """Extraction energy of the study [J/kg]."""
    pairs: tuple[BreakEven, ...]
    carried: Standing | None
    """The best closing craft that does not refuel."""

    def order(self) -> list[str]:
        """Architectures of the break-evens from the one that mines most water to the most frugal."""
        firsts = list(dict.fromkeys(one.slow for one in self.pairs))
        return firsts + [one.fast for one in self.pairs[-1:]]


@remembered
def compare(results: Results) -> Comparison:
    """Set the architectures of a run side by side, each by the design that stands for it.

    Parameters
    ----------
    results : Results
        What a run gave.
    """
    ranked = standings(results)
    carried = next((one for one in ranked if not one.refuels and one.closes), None)
    rows = tuple(
        compared(results, one, place, None if carried is None else carried.row)
        for place, one in enumerate(ranked, start=1)
    )
    first = next((one.row for one in ranked if one.refuels and one.row is not None), None)
    price = float("nan") if first is None else price_of(results, first)
    change = route_delta_v(results)
    return Comparison(rows, change, price, tuple(break_evens(results, change)), carried)


def compared(results: Results, one: Standing, place: int, carried: pd.Series | None) -> Compared:
    """One architecture."""
    numbers = {name: number_of(one, name) for name in NUMBERS}
    mass = refuelling_mass(results, one)
    return Compared(
        place,
        one,
        evidence_of(results, one.name),
        numbers,
        mass,
        payback_hops(results, one, mass),
        start_mass_ratio(one, carried),
    )


def number_of(one: Standing, name: str) -> float:
    """A column of the design that stands for an architecture [SI]; infinite for never, NaN for none."""
    row = one.row
    if row is None or name not in row.index or (name in OF_WATER and not one.refuels):
        return float("nan")
    words = placeholder(row, name)
    if words:
        return math.inf if words == "never" else float("nan")
    return float(row[name])


def refuelling_mass(results: Results, one: Standing) -> float:
    """Mass of plant and power that only refuelling needs [kg].

    Extraction plant and electrolyser, and of array, source and battery the share of the day-and-night power that is
    left for refuelling once payload and keep-alive have theirs; all with the growth and margin of the dry mass.
    """
    row = one.row
    if row is None or not one.refuels or placeholder(row, "dry_mass"):
        return float("nan")
    net = _own(results, row, "net_power")
    kept = sum(np.nan_to_num(_own(results, row, name)) for name in ("keep_alive_power", "payload_power"))
    share = max(net, 0.0) / (max(net, 0.0) + kept) if math.isfinite(net) and kept + max(net, 0.0) > 0 else 1.0
    bare = sum(np.nan_to_num(_own(results, row, name)) for name in MINING)
    bare += share * sum(np.nan_to_num(_own(results, row, name)) for name in POWER)
    dry, growth = (_own(results, row, name) for name in ("dry_mass", "growth_mass"))
    carried = _own(results, row, "payload_mass")
    grown = dry - growth - np.nan_to_num(carried)  # payload comes with its own margin
    factor = 1.0 + growth / grown if math.isfinite(growth) and grown > 0 else 1.0
    return float(bare * factor)


def _own(results: Results, row: pd.Series, name: str) -> float:
    """A quantity of a design in SI, from its row, the reference design or the study; NaN when there is none."""
    if name in row.index:
        return float(row[name])
    rows = results.baseline[results.baseline["architecture"] == row["architecture"]]
    if name in rows.columns and not rows.empty:
        return float(rows.iloc[0][name])
    return float(results.study.values.get(name, math.nan))


def payback_hops(results: Results, one: Standing, mass: float) -> float:
    """Hops after which a craft has mined more than the mass that mining and splitting cost it.

    Within the route hop by hop, beyond it at the mean pace of the route. Never for a design that does not close.
    """
    if one.row is None or not one.closes or not math.isfinite(mass):
        return math.inf if one.refuels else math.nan
    hops = range(1, results.mission.hops + 1)
    mined = np.array([float(one.row.get(f"water_mined_{hop}", math.nan)) for hop in hops])
    mined = mined[np.isfinite(mined)]
    if not mined.size or mined.sum() <= 0.0:
        return math.inf
    so_far = np.cumsum(mined)
    if so_far[-1] >= mass:
        return float(np.interp(mass, [0.0, *so_far], np.arange(mined.size + 1)))
    return float(mass / mined.mean())


def start_mass_ratio(one: Standing, carried: pd.Series | None) -> float:
    """Start mass of the best closing craft that does not refuel over that of this one [1]."""
    if one.row is None or not one.closes or not one.refuels:
        return math.nan
    if carried is None:
        return math.inf
    return float(carried["start_mass"]) / float(one.row["start_mass"])
