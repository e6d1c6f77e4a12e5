"""Channels as the formulas need them: what was not read is filled from stated assumptions, with their ranges."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from tradespace.bench.records import Readings
from tradespace.bench.slopes import running_slope
from tradespace.constants import table_values, value
from tradespace.physics.compiled import FloatArray

VALUES = "bench_values.csv"
BoolArray = NDArray[np.bool_]
Columns = Mapping[str, FloatArray]
"""Channel or measure to SI values, shape (n,)."""

_ATMOSPHERE = value("standard_atmosphere")
ENGINE = ("chamber_pressure", "thrust", "balance_force", "mass_flow", "wall_heat", "throat_diameter")
"""Channels that speak of an engine."""


class Channels(dict[str, FloatArray]):
    """Columns of a file; a channel that was not read gives not-a-number everywhere."""

    def __init__(self, columns: Columns, points: int) -> None:
        super().__init__(columns)
        self.unknown = np.full(points, np.nan)

    def __missing__(self, name: str) -> FloatArray:
        return self.unknown

    def changed(self, name: str, column: FloatArray) -> Channels:
        """The same with one column put in the place of another."""
        return Channels({**self, name: column}, self.unknown.size)


@dataclass(frozen=True, eq=False)
class Filled:
    """Readings with what was assumed beside them, all with their two kinds of uncertainty."""

    columns: Channels
    random: Channels
    systematic: Channels
    assumed: frozenset[str]
    """Channels that were not read."""
    words: Mapping[str, str]

    @property
    def points(self) -> int:
        """How many points there are."""
        return self.columns.unknown.size


def has_engine(readings: Readings) -> bool:
    """Whether the readings speak of an engine at all; if not, cooling water is that of the cell."""
    return readings.has("chamber_pressure") or any(
        readings.has(name) for name in ENGINE if name != "throat_diameter"
    )


@cache
def assumption(name: str) -> tuple[float, float]:
    """A value of the table of assumptions and its standard uncertainty, a quarter of its range [SI]."""
    row = table_values(VALUES)[name]
    return row.value, 0.25 * (row.high - row.low)


def fill(readings: Readings) -> Filled:
    """Readings with the slope of the water lost worked out and what is missing put in from the table of assumptions.

    Parameters
    ----------
    readings : Readings
        As they were read.

    Returns
    -------
    Filled
        Every channel the formulas ask for, at every point.
    """
    size = readings.points
    columns, random, systematic = (
        Channels({name: np.asarray(column, dtype=np.float64) for name, column in source.items()}, size)
        for source in (readings.columns, readings.random, readings.systematic)
    )
    for source in (random, systematic):
        source.unknown = np.zeros(size)
    assumed: set[str] = set()

    def put(name: str, column: FloatArray | float, spread: FloatArray | float) -> None:
        """Fill the gaps of a channel, with an uncertainty that all points share."""
        known = columns[name]
        gaps = ~np.isfinite(known)
        if not gaps.any():
            return
        if gaps.all():
            assumed.add(name)
        columns[name] = np.where(gaps, column, known)
        systematic[name] = np.where(gaps, spread, systematic[name])
        random[name] = np.where(gaps, 0.0, random[name])

    if readings.has("water_lost") and not readings.has("water_rate"):
        columns["water_rate"], random["water_rate"], systematic["water_rate"] = running_slope(
            readings.column("time"), columns["water_lost"], random["water_lost"], systematic["water_lost"],
            columns["current"],
        )  # fmt: skip
    _fill_conditions(columns, systematic, put)
    for name in ("vapour_carried", "heat_not_caught", "charge_assumed"):
        columns[name] = np.full(size, np.nan)
        put(name, *assumption(name))
        assumed.discard(name)
    put("lit", 1.0, 0.0)
    return Filled(columns, random, systematic, frozenset(assumed), readings.words)


def _fill_conditions(
    columns: Channels,
    systematic: Channels,
    put: Callable[[str, FloatArray | float, FloatArray | float], None],
) -> None:
    """Temperatures and pressures that were not read."""
    room, spread = assumption("room_temperature")
    put("cell_temperature", room, spread)
    put("meter_temperature", room, spread)
    put("feed_temperature", columns["meter_temperature"], np.maximum(systematic["meter_temperature"], spread))
    around = np.where(np.isfinite(columns["ambient_pressure"]), columns["ambient_pressure"], _ATMOSPHERE)
    over, doubt = assumption("cell_over_ambient")
    in_air = np.where(around > 0.5 * _ATMOSPHERE, around, _ATMOSPHERE)  # a cell does not stand in the vacuum
    put("meter_pressure", over * in_air, doubt * in_air)
    put("cell_pressure", over * in_air, doubt * in_air)
