"""The numbers of the thrusters, read from ``data/thrusters``: one table each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from contextvars import ContextVar
from functools import cache
from types import MappingProxyType

import numpy as np

from tradespace.constants import GRADES, Value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import FloatArray
from tradespace.tables import DATA, read_table
from tradespace.units import convert

FOLDER = "thrusters"
COVERED = (
    "specific_impulse specific_impulse_change power_per_thrust_factor heater_efficiency anode_efficiency "
    "receiver_efficiency thrust_efficiency total_efficiency demonstrated_specific_impulse demonstrated_thrust "
    "demonstrated_efficiency demonstrated_life specific_mass readiness"
).split()
"""Rows whose range is already told by the two what-if quantities, or that only tell what has been shown."""

Key = tuple[str, str]
"""A thruster and a row of its table."""
_NOTHING: Mapping[Key, FloatArray | float] = MappingProxyType({})
_CHANGED: ContextVar[Mapping[Key, FloatArray | float]] = ContextVar("changed", default=_NOTHING)


def tables() -> list[str]:
    """Names of the thrusters that have a table, the shared one among them."""
    return sorted(path.stem for path in (DATA / FOLDER).glob("*.csv"))


@cache
def architecture_values(thruster: str) -> dict[str, Value]:
    """Every value of one thruster, in SI with its range, grade and source; none for one without a table."""
    values: dict[str, Value] = {}
    if thruster not in tables():
        return values
    for row in read_table(f"{FOLDER}/{thruster}.csv").rows:
        cells = (row["value"], row["low"] or row["value"], row["high"] or row["value"])
        numbers = [float(convert(float(cell), row["unit"], row["si_unit"])) for cell in cells]
        values[row["name"]] = Value(
            row["name"], numbers[0], row["si_unit"], numbers[1], numbers[2],
            row["grade"], row["source"], row["where"], row["description"],
        )  # fmt: skip
    return values


def number(thruster: str, name: str) -> float:
    """The SI value of one row; an array where a question of sensitivity varies it.

    Raises
    ------
    UnknownNameError
        If the thruster has no such row.

    Examples
    --------
    >>> number("water_hall", "demonstrated_thrust")
    0.02
    """
    values = architecture_values(thruster)
    if name not in values:
        raise unknown_name(f"value of {thruster}", name, values)
    found = _CHANGED.get().get((thruster, name))
    return values[name].value if found is None else found  # type: ignore[return-value]


def stated(thruster: str, name: str) -> FloatArray | float | None:
    """What a study, or a question of sensitivity, gives for a row of a thruster's table [SI]; None where neither does.

    For rows that only tell what a model gives: the model is asked unless a value is given.

    Examples
    --------
    >>> stated("electrolysis_bipropellant", "specific_impulse") is None
    True
    """
    return _CHANGED.get().get((thruster, name))


@contextmanager
def changed(values: Mapping[Key, FloatArray | float], *, weak: bool = False) -> Iterator[None]:
    """Let rows of the tables have other values while the body runs.

    Parameters
    ----------
    values : mapping of (thruster, row) to float or ndarray
        New values [SI]; arrays broadcast with the conditions.
    weak : bool
        Rows that are changed already keep those values.
    """
    now = _CHANGED.get()
    token = _CHANGED.set({**values, **now} if weak else {**now, **values})
    try:
        yield
    finally:
        _CHANGED.reset(token)


def one_changed(thruster: str, name: str, value: FloatArray | float) -> AbstractContextManager[None]:
    """Let one row of a table have another value while the body runs, for questions of sensitivity."""
    return changed({(thruster, name): value})


def rows_with_a_range(thruster: str) -> dict[str, tuple[float, float]]:
    """Rows of a thruster that have a range of their own, with its ends in SI."""
    values = architecture_values(thruster)
    return {
        name: (row.low, row.high)
        for name, row in values.items()
        if row.high > row.low and name not in COVERED
    }


def table_ranges(thruster: str) -> dict[str, tuple[float, float]]:
    """Low and high of the two what-if quantities, from the table."""
    values = architecture_values(thruster)
    names = ("specific_impulse_change", "power_per_thrust_factor")
    return {name: (values[name].low, values[name].high) for name in names}


def weakest_grade(thruster: str, rows: tuple[str, ...]) -> str:
    """The weakest grade among rows of a thruster's table; ``assumed`` where there is no such table."""
    values = architecture_values(thruster)
    grades = [values[row].grade for row in rows if row in values]
    return max(grades, key=GRADES.index) if grades else "assumed"


def spread(*arrays: FloatArray | float) -> list[FloatArray]:
    """The arguments broadcast against each other as float arrays, not to be written to."""
    return list(np.broadcast_arrays(*(np.asarray(array, float) for array in arrays)))
