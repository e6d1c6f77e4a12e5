"""Checking that numbers lie where a formula holds; the message names the value, the limit and the unit."""

from __future__ import annotations

import math

import numpy as np

from tradespace.errors import DomainError
from tradespace.physics.compiled import ArrayLike, FloatArray

__all__ = [
    "above", "at_least", "finite", "floats", "not_above", "require_each", "share", "whole", "within",
]  # fmt: skip


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
        The argument as in the signature (underscores become spaces), and its unit.
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
        raise DomainError(f"{_said(name, unit, values[~allowed].flat[0])} {limit}")


def _said(name: str, unit: str, number: float) -> str:
    """A name with its value and unit."""
    return f"{name.replace('_', ' ')} {number:.10g}" + _end(unit)


def _end(unit: str) -> str:
    """The unit after a number; pure numbers have none."""
    return f" {unit}" if unit not in {"", "1"} else ""


def within(
    name: str, unit: str, numbers: ArrayLike, low: float, high: float, advice: str = "", *,
    open_low: bool = False, open_high: bool = False,
) -> FloatArray:  # fmt: skip
    """The numbers as floats, all of them between two limits; both are allowed unless they are said to be open.

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
    left_out = [f"{end:.6g}" for end, is_open in ((low, open_low), (high, open_high)) if is_open]
    limit = f"lies outside {low:.6g} to {high:.6g}{_end(unit)}"
    limit += f" ({' and '.join(left_out)} excluded)" if left_out else ""
    limit += f"; {advice}" if advice else ""
    over = (values > low) if open_low else (values >= low)
    under = (values < high) if open_high else (values <= high)
    require_each(over & under, name, unit, values, limit)
    return values


def finite(name: str, unit: str, numbers: ArrayLike) -> FloatArray:
    """The numbers as floats, all of them finite.

    Raises
    ------
    DomainError
        If a number is not finite.

    Examples
    --------
    >>> finite("mean_anomaly", "rad", float("nan"))
    Traceback (most recent call last):
    tradespace.errors.DomainError: mean anomaly nan rad must be finite
    """
    values = floats(numbers)
    require_each(np.isfinite(values), name, unit, values, "must be finite")
    return values


def whole(name: str, numbers: ArrayLike, low: int = 0) -> FloatArray:
    """The numbers as floats, all of them whole and not below a limit.

    Raises
    ------
    DomainError
        If a number is not whole, or below the limit.
    """
    values = floats(numbers)
    good = np.isfinite(values) & (values >= low) & (np.floor(values) == values)
    require_each(good, name, "1", values, f"must be a whole number, {low} or more")
    return values


def not_above(name: str, unit: str, numbers: ArrayLike, other: str, limits: ArrayLike) -> None:
    """Check one argument against another; the message gives both with their values.

    Parameters
    ----------
    name, unit : str
        The argument that may not be larger, and the unit of both.
    numbers : array_like
        Its values.
    other : str
        The argument that limits it.
    limits : array_like
        Values of that, broadcast against the numbers.

    Raises
    ------
    DomainError
        If a number is above its limit, or either is not a number.

    Examples
    --------
    >>> not_above("final_mass", "kg", 5.0, "initial_mass", 4.0)
    Traceback (most recent call last):
    tradespace.errors.DomainError: final mass 5 kg must not be above the initial mass 4 kg
    """
    values, most = np.broadcast_arrays(floats(numbers), floats(limits))
    bad = ~(values <= most)
    if bad.any():
        limit = _said(other, unit, most[bad].flat[0])
        raise DomainError(f"{_said(name, unit, values[bad].flat[0])} must not be above the {limit}")


def above(name: str, unit: str, numbers: ArrayLike, low: float = 0.0) -> FloatArray:
    """The numbers as floats, all of them finite and above a limit.

    Raises
    ------
    DomainError
        If a number is not above it.
    """
    values = floats(numbers)
    limit = f"must be above {low:g}{_end(unit)} and finite"
    require_each((values > low) & (values < math.inf), name, unit, values, limit)
    return values


def at_least(name: str, unit: str, numbers: ArrayLike, low: float = 0.0) -> FloatArray:
    """The numbers as floats, all of them finite and not below a limit.

    Raises
    ------
    DomainError
        If a number is below it.
    """
    values = floats(numbers)
    limit = f"must be {low:g}{_end(unit)} or more and finite"
    require_each((values >= low) & (values < math.inf), name, unit, values, limit)
    return values


def share(name: str, numbers: ArrayLike) -> FloatArray:
    """The numbers as floats, all of them above 0 and at most 1.

    Raises
    ------
    DomainError
        If a number lies outside.
    """
    return within(name, "1", numbers, 0.0, 1.0, open_low=True)
