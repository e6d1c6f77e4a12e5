"""Checking that numbers lie where a formula holds; the message names the value, the limit and the unit."""

from __future__ import annotations

import math

import numpy as np

from tradespace.errors import DomainError
from tradespace.physics.compiled import ArrayLike, FloatArray

__all__ = ["above", "at_least", "floats", "require_each", "share", "within"]


def floats(numbers: ArrayLike) -> FloatArray:
    """Any array-like as an array of floats."""
    return np.asarray(numbers, dtype=np.float64)


def require_each(condition: ArrayLike, name: str, unit: str, numbers: ArrayLike, limit: str) -> None:
    """Raise with the first number for which the condition fails.

    Parameters
    ----------
    condition : array_like
        True where the number is allowed; broadcast against the numbers.
    name, unit : str
        What the number is, and its unit.
    numbers : array_like
        The numbers that were checked.
    limit : str
        The rest of the sentence: what is allowed, and what to do.

    Raises
    ------
    DomainError
        If any element of the condition is false.
    """
    allowed, values = np.broadcast_arrays(np.asarray(condition, dtype=bool), floats(numbers))
    if not allowed.all():
        first = values[~allowed].flat[0]
        text = f"{first:.6g} {unit}".strip() if unit != "1" else f"{first:.6g}"
        raise DomainError(f"{name} {text} {limit}")


def within(name: str, unit: str, numbers: ArrayLike, low: float, high: float, advice: str = "") -> FloatArray:
    """The numbers as floats, all of them between two limits (both allowed).

    Raises
    ------
    DomainError
        If a number lies outside.

    Examples
    --------
    >>> within("temperature", "K", 20.0, 150.0, 1000.0)
    Traceback (most recent call last):
    tradespace.errors.DomainError: temperature 20 K lies outside 150 to 1000 K
    """
    values = floats(numbers)
    end = "" if unit == "1" else f" {unit}"
    limit = f"lies outside {low:.6g} to {high:.6g}{end}" + (f"; {advice}" if advice else "")
    require_each((values >= low) & (values <= high), name, unit, values, limit)
    return values


def above(name: str, unit: str, numbers: ArrayLike, low: float = 0.0) -> FloatArray:
    """The numbers as floats, all of them finite and above a limit.

    Raises
    ------
    DomainError
        If a number is not above it.
    """
    values = floats(numbers)
    end = "" if unit == "1" else f" {unit}"
    require_each(
        (values > low) & (values < math.inf), name, unit, values, f"must be above {low:g}{end} and finite"
    )
    return values


def at_least(name: str, unit: str, numbers: ArrayLike, low: float = 0.0) -> FloatArray:
    """The numbers as floats, all of them finite and not below a limit.

    Raises
    ------
    DomainError
        If a number is below it.
    """
    values = floats(numbers)
    end = "" if unit == "1" else f" {unit}"
    require_each(
        (values >= low) & (values < math.inf), name, unit, values, f"must be {low:g}{end} or more and finite"
    )
    return values


def share(name: str, numbers: ArrayLike) -> FloatArray:
    """The numbers as floats, all of them above 0 and at most 1.

    Raises
    ------
    DomainError
        If a number lies outside.
    """
    values = floats(numbers)
    require_each((values > 0) & (values <= 1), name, "1", values, "lies outside 0 to 1 (0 excluded)")
    return values
