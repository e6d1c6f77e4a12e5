"""Where the models were measured or fitted: what lies outside is flagged in the answers, never refused."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from tradespace.quantities import quantity
from tradespace.tables import read_table
from tradespace.units import convert

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray

TABLE = "validity.csv"
INSIDE = "none"
"""What ``extrapolated_by`` says of a design whose inputs all lie inside."""
ROUNDING = 1e-9
PARTS = ("all", "refuelling", "splitting")
"""All craft, those that mine water, and those of them that split it; each holds the ones after it."""


@dataclass(frozen=True)
class ValidRange:
    """The range of one input for which a model has data behind it, in SI."""

    quantity: str
    choice: str
    """Applies only when this choice has taken the option below; empty for always."""
    option: str
    architecture: str
    """Applies only to this architecture; empty for all."""
    low: float
    high: float
    model: str
    source: str
    where: str
    concerns: str
    """What a craft has to do for the range to matter to it: one of :data:`PARTS`."""


@cache
def valid_ranges() -> tuple[ValidRange, ...]:
    """Every range of the table, in its order.

    Examples
    --------
    >>> any(one.quantity == "current_density" for one in valid_ranges())
    True
    """
    found = []
    for row in read_table(TABLE).rows:
        unit = quantity(row["quantity"]).unit
        low, high = (
            float(convert(float(row[end]), row["unit"], unit)) if row[end] else sign * math.inf
            for end, sign in (("low", -1.0), ("high", 1.0))
        )
        words = (row[key] for key in ("model", "source", "where", "concerns"))
        found.append(
            ValidRange(row["quantity"], row["choice"], row["option"], row["architecture"], low, high, *words)
        )
    return tuple(found)


def applying(options: Mapping[str, str], architecture: str, part: str) -> list[ValidRange]:
    """The ranges that concern an architecture, which does one of :data:`PARTS`, under the options taken."""
    return [
        one
        for one in valid_ranges()
        if (not one.choice or options.get(one.choice) == one.option)
        and one.architecture in {"", architecture}
        and PARTS.index(one.concerns) <= PARTS.index(part)
    ]


@cache
def names() -> tuple[str, ...]:
    """What ``extrapolated_by`` can say: nothing, or an input that has a valid range.

    Examples
    --------
    >>> names()[0]
    'none'
    """
    return (INSIDE, *dict.fromkeys(one.quantity for one in valid_ranges()))


def first_outside(
    values: Mapping[str, ArrayLike], options: Mapping[str, str], architecture: str, part: str, count: int
) -> NDArray[np.intp]:
    """Which input leaves the range of its model first, per design.

    Parameters
    ----------
    values : mapping of str to array_like, shape () or (count,)
        Inputs by name [SI].
    options : mapping of str to str
        The option taken for each choice.
    architecture : str
        The thruster.
    part : str
        ``all``, ``refuelling`` when it mines water at its stops, ``splitting`` when it also splits it.
    count : int
        Number of designs.

    Returns
    -------
    ndarray of int, shape (count,)
        Place in :func:`names`; 0 means that all lie inside.
    """
    places = np.zeros(count, dtype=np.intp)
    for one in applying(options, architecture, part):
        if one.quantity in values:
            value = np.asarray(values[one.quantity], dtype=np.float64)
            slack = ROUNDING * np.abs(value)
            outside = (value < one.low - slack) | (value > one.high + slack)
            places[np.broadcast_to(outside, count) & (places == 0)] = names().index(one.quantity)
    return places
