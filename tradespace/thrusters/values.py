"""The numbers of the architectures, read from ``data/thrusters.csv``."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache

import numpy as np

from tradespace.constants import Value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table
from tradespace.units import convert

TABLE = "thrusters.csv"
COVERED = (
    "specific_impulse specific_impulse_change power_per_thrust_factor heater_efficiency anode_efficiency "
    "total_efficiency demonstrated_specific_impulse"
).split()
"""Rows whose range is already told by the two what-if quantities."""

_CHANGED: ContextVar[tuple[str, str, float] | None] = ContextVar("changed", default=None)


@cache
def architecture_values(architecture: str) -> dict[str, Value]:
    """Every value of one architecture, in SI with its range, grade and source."""
    values: dict[str, Value] = {}
    for row in read_table(TABLE).rows:
        if row["architecture"] != architecture:
            continue
        cells = (row["value"], row["low"] or row["value"], row["high"] or row["value"])
        numbers = [float(convert(float(cell), row["unit"], row["si_unit"])) for cell in cells]
        values[row["name"]] = Value(
            row["name"], numbers[0], row["si_unit"], numbers[1], numbers[2],
            row["grade"], row["source"], row["where"], row["description"],
        )  # fmt: skip
    return values


def number(architecture: str, name: str) -> float:
    """The SI value of one row.

    Raises
    ------
    UnknownNameError
        If the architecture has no such row.

    Examples
    --------
    >>> number("water_hall", "thrust_each")
    0.02
    """
    values = architecture_values(architecture)
    if name not in values:
        raise unknown_name(f"value of {architecture}", name, values)
    changed = _CHANGED.get()
    if changed is not None and changed[:2] == (architecture, name):
        return changed[2]
    return values[name].value


@contextmanager
def one_changed(architecture: str, name: str, value: float) -> Iterator[None]:
    """Let one row of the table have another value while the body runs, for questions of sensitivity."""
    token = _CHANGED.set((architecture, name, value))
    try:
        yield
    finally:
        _CHANGED.reset(token)


def rows_with_a_range(architecture: str) -> dict[str, tuple[float, float]]:
    """Rows of an architecture that have a range of their own, with its ends in SI."""
    values = architecture_values(architecture)
    return {
        name: (row.low, row.high)
        for name, row in values.items()
        if row.high > row.low and name not in COVERED
    }


def table_ranges(architecture: str) -> dict[str, tuple[float, float]]:
    """Low and high of the two what-if quantities, from the table."""
    values = architecture_values(architecture)
    names = ("specific_impulse_change", "power_per_thrust_factor")
    return {name: (values[name].low, values[name].high) for name in names}


def spread(*arrays: FloatArray | float) -> list[FloatArray]:
    """The arguments broadcast against each other as float arrays."""
    return [np.array(item) for item in np.broadcast_arrays(*(np.asarray(array, float) for array in arrays))]
