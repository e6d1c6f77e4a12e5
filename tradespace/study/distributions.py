"""Reading what an uncertain input may be: the numbers of its distribution."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from tradespace.errors import UnitError
from tradespace.quantities import Quantity
from tradespace.study.document import EntryError, shown
from tradespace.study.values import bounds, hint, quantity_value
from tradespace.units import parse_quantity

SUM_SLACK = 1e-6
"""How far chances written with a few digits may miss one."""

Numbers = tuple[float, ...]


def distribution_numbers(item: Quantity, raw: Mapping[str, Any]) -> tuple[str, Numbers]:
    """Kind and numbers [SI] of a distribution as a study states it.

    Raises
    ------
    EntryError
        If there is no such distribution.
    """
    kind = raw.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        what = "kind is missing" if kind is None else f"kind {shown(kind)} is unknown"
        words = hint(kind, KINDS) if isinstance(kind, str) else ""
        raise EntryError(f"{what}{words or '; allowed: ' + ', '.join(KINDS)}")
    wanted, reader = KINDS[kind]
    for key in raw:
        if key not in (*wanted, "kind"):
            raise EntryError(f"unknown key {shown(key)} for {kind}; allowed: {', '.join(wanted)}")
    missing = [key for key in wanted if key not in raw]
    if missing:
        raise EntryError(f"{missing[0]} is missing; a {kind} distribution needs {' and '.join(wanted)}")
    return kind, reader(item, raw)


def share(what: str, raw: object) -> float:
    """A probability.

    Raises
    ------
    EntryError
        If it is none.
    """
    try:
        found = parse_quantity(raw, "1")
    except UnitError as error:
        raise EntryError(f"{what}: {error}") from error
    if not 0.0 <= found <= 1.0:
        raise EntryError(f"{what} {shown(raw)} must be from 0 to 1")
    return found


def _value(item: Quantity, raw: Mapping[str, Any], key: str) -> float:
    try:
        return quantity_value(item, raw[key])
    except EntryError as error:
        raise EntryError(f"{key}: {error}") from error


def _ends(item: Quantity, raw: Mapping[str, Any]) -> tuple[float, float]:
    low, high = _value(item, raw, "low"), _value(item, raw, "high")
    if low >= high:
        raise EntryError(f"low {shown(raw['low'])} is not below high {shown(raw['high'])}")
    return low, high


def _triangular(item: Quantity, raw: Mapping[str, Any]) -> Numbers:
    (low, high), mode = _ends(item, raw), _value(item, raw, "mode")
    if not low <= mode <= high:
        raise EntryError(
            f"mode {shown(raw['mode'])} lies outside low {shown(raw['low'])} to high {shown(raw['high'])}; "
            "move it between them"
        )
    return low, mode, high


def _normal(item: Quantity, raw: Mapping[str, Any]) -> Numbers:
    mean, width = _value(item, raw, "mean"), raw["deviation"]
    if item.unit == "K" and isinstance(width, str) and width.rstrip().endswith("degC"):
        width = width.rstrip().removesuffix("degC") + "K"  # a difference has no zero point
    try:
        deviation = parse_quantity(width, item.unit)
    except UnitError as error:
        raise EntryError(f"deviation: {error}") from error
    if deviation <= 0.0:
        raise EntryError(f"deviation {shown(raw['deviation'])} must be above zero")
    return mean, deviation


def _lognormal(item: Quantity, raw: Mapping[str, Any]) -> Numbers:
    if item.low is None or item.low < 0.0:
        raise EntryError(
            f"a lognormal is never below zero, but {item.name} may be ({bounds(item)}); use normal or triangular"
        )
    median, factor = _value(item, raw, "median"), raw["factor"]
    if isinstance(factor, bool) or not isinstance(factor, int | float) or not 1.0 < factor < math.inf:
        raise EntryError(
            f"factor {shown(factor)} must be a number above 1: the 84th percentile over the median, such as 1.5"
        )
    if median <= 0.0:
        raise EntryError(f"median {shown(raw['median'])} must be above zero")
    return median, float(factor)


def _discrete(item: Quantity, raw: Mapping[str, Any]) -> Numbers:
    entries, chances = raw["values"], raw["chances"]
    if not isinstance(entries, list) or not isinstance(chances, list) or not entries:
        raise EntryError("values and chances must be lists with at least one entry")
    if len(entries) != len(chances):
        raise EntryError(f"has {len(entries)} values but {len(chances)} chances; give one for each")
    values = [quantity_value(item, entry) for entry in entries]
    weights = [share("chance", chance) for chance in chances]
    if len(set(values)) < len(values):
        raise EntryError("a value is listed twice")
    if abs(math.fsum(weights) - 1.0) > SUM_SLACK:
        raise EntryError(f"chances sum to {math.fsum(weights):.6g}; they must sum to 1")
    order = sorted(range(len(values)), key=values.__getitem__)
    return (*(values[place] for place in order), *(weights[place] for place in order))


KINDS: dict[str, tuple[tuple[str, ...], Callable[[Quantity, Mapping[str, Any]], Numbers]]] = {
    "uniform": (("low", "high"), _ends),
    "triangular": (("low", "mode", "high"), _triangular),
    "normal": (("mean", "deviation"), _normal),
    "lognormal": (("median", "factor"), _lognormal),
    "discrete": (("values", "chances"), _discrete),
}
"""Kinds of distribution with the keys of each beside ``kind``, all of them needed, and what reads them."""
