"""Checks and array plumbing that the transfer formulas share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, overload

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import above, at_least, floats, require_each

UNITS = {"gravitational_parameter": "m3/s2", "central_gravitational_parameter": "m3/s2"}


def unit_of(name: str) -> str:
    """Unit of an argument by its name: lengths unless the name says otherwise."""
    if name in UNITS:
        return UNITS[name]
    for word, unit in (
        ("speed", "m/s"),
        ("velocity", "m/s"),
        ("period", "s"),
        ("weight", "1"),
        ("ratio", "1"),
    ):
        if word in name:
            return unit
    return "m"


def require_positive(**values: ArrayLike) -> None:
    """Raise unless every named value is positive and finite.

    Raises
    ------
    DomainError
        If any element is zero, negative, infinite or not a number.
    """
    for name, given in values.items():
        above(name, unit_of(name), given)


def require_not_negative(unit: str, **values: ArrayLike) -> None:
    """Raise unless every named value is zero or positive, and finite.

    Raises
    ------
    DomainError
        If any element is negative, infinite or not a number.
    """
    for name, given in values.items():
        at_least(name, unit, given)


def limit_at(condition: ArrayLike, limits: ArrayLike) -> str:
    """The limit, in digits, that belongs to the first element for which a condition fails."""
    allowed, values = np.broadcast_arrays(np.asarray(condition, dtype=bool), floats(limits))
    return "" if allowed.all() else f"{values[~allowed].flat[0]:.10g}"


def require_below(name: str, numbers: ArrayLike, other: str, limits: ArrayLike) -> None:
    """Raise unless one argument is below another; the message gives both with their values.

    Raises
    ------
    DomainError
        If any element is not below its limit, or either is not a number.
    """
    unit, lower = unit_of(name), floats(numbers) < floats(limits)
    limit = f"must be below the {other.replace('_', ' ')} {limit_at(lower, limits)} {unit}"
    require_each(lower, name, unit, numbers, limit)


@overload
def components(
    scalar: Callable[..., Any], *arguments: ArrayLike, count: Literal[2]
) -> tuple[FloatArray, FloatArray]: ...
@overload
def components(
    scalar: Callable[..., Any], *arguments: ArrayLike, count: Literal[3]
) -> tuple[FloatArray, FloatArray, FloatArray]: ...
@overload
def components(
    scalar: Callable[..., Any], *arguments: ArrayLike, count: Literal[4]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]: ...
@overload
def components(scalar: Callable[..., Any], *arguments: ArrayLike, count: int) -> tuple[FloatArray, ...]: ...
def components(scalar: Callable[..., Any], *arguments: ArrayLike, count: int) -> tuple[FloatArray, ...]:
    """Apply a kernel that returns ``count`` floats over broadcast arrays, one array per float."""
    arrays = [np.asarray(argument, dtype=np.float64) for argument in arguments]
    found = np.vectorize(scalar, otypes=[np.float64] * count)(*arrays)
    return tuple(np.asarray(array, dtype=np.float64) for array in found)
