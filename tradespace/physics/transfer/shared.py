"""Checks and array plumbing that the transfer formulas share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, overload

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, require

UNITS = {"gravitational_parameter": "m3/s2", "central_gravitational_parameter": "m3/s2", "speed": "m/s"}


def require_positive(**values: ArrayLike) -> None:
    """Raise unless every named value is positive.

    Raises
    ------
    DomainError
        If any element is zero, negative or not a number.
    """
    for name, given in values.items():
        unit = UNITS.get(name, "s" if "period" in name else "m")
        require(np.asarray(given) > 0, f"{name} must be positive [{unit}]")


def require_not_negative(unit: str, **values: ArrayLike) -> None:
    """Raise unless every named value is zero or positive.

    Raises
    ------
    DomainError
        If any element is negative or not a number.
    """
    for name, given in values.items():
        require(np.asarray(given) >= 0, f"{name} must not be negative [{unit}]")


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
def components(scalar: Callable[..., Any], *arguments: ArrayLike, count: int) -> tuple[FloatArray, ...]:
    """Apply a kernel that returns ``count`` floats over broadcast arrays, one array per float."""
    arrays = [np.asarray(argument, dtype=np.float64) for argument in arguments]
    found = np.vectorize(scalar, otypes=[np.float64] * count)(*arrays)
    return tuple(np.asarray(array, dtype=np.float64) for array in found)
