"""The quantities of a study: given values, ranges, the sweep and the solve request."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from tradespace.errors import UnitError, nearest
from tradespace.options import Setting, choices
from tradespace.quantities import REPLACES, Quantity, display, quantities
from tradespace.study.document import Document, EntryError, Path_, shown
from tradespace.study.model import Solve
from tradespace.units import parse_quantity

REQUEST = re.compile(r"^\s*([A-Za-z_]\w*)\s*(<=|>=)\s*(.+?)\s*$")
REQUIRED = ("array_area",)
"""Inputs that a study must give although the table has a default for them."""
SPARED = {
    "tour": ("hop_distance",),
    "surface": ("hop_delta_v_capacity",),
    "burn": ("hop_distance", "hop_delta_v_capacity"),
}
"""Inputs without a default that a study of a kind need not give."""


def inputs() -> dict[str, Quantity]:
    """Quantities that a study may give or sweep."""
    return {name: item for name, item in quantities().items() if item.role in {"input", "derived"}}


def sections() -> tuple[str, ...]:
    """Sections of a study that hold quantities, in the order of the table."""
    return tuple(dict.fromkeys(item.section for item in inputs().values()))


def hint(name: str, known: Any, command: str = "") -> str:
    """The nearest known names, for the end of a message."""
    close = nearest(name, known)
    words = f" did you mean {' or '.join(repr(item) for item in close)}?" if close else ""
    words += f" see: {command}" if command else ""
    return f";{words}" if words else ""


def bounds(item: Quantity) -> str:
    """What a quantity may be, in words and display units."""
    low = "no lower limit" if item.low is None else display(item.name, item.low)
    high = "no upper limit" if item.high is None else display(item.name, item.high)
    return f"allowed {low} to {high}"


def quantity_value(item: Quantity, raw: object) -> float:
    """One value in SI within its bounds.

    Raises
    ------
    EntryError
        If it cannot be read or is out of bounds.
    """
    try:
        value = parse_quantity(raw, item.unit)
    except UnitError as error:
        message = str(error)
        if item.display_unit != item.unit and message.endswith(f"{item.unit!r}"):
            message = message.removesuffix(f"{item.unit!r}") + repr(item.display_unit)
        raise EntryError(message) from error
    if not item.within(value):
        raise EntryError(f"{shown(raw)} is out of bounds; {bounds(item)}{_percent_hint(item, raw)}")
    return value


def read_quantity(document: Document, path: Path_, item: Quantity, raw: object) -> float | None:
    """One value in SI within its bounds, or None and a problem."""
    try:
        return quantity_value(item, raw)
    except EntryError as error:
        document.problem(path, str(error))
        return None


def _percent_hint(item: Quantity, raw: object) -> str:
    """A share written as the bare number of its percentage, for the end of a message."""
    if item.display_unit != "%":
        return ""
    try:
        meant = parse_quantity(f"{raw} %", item.unit)
    except UnitError:
        return ""
    return f'; did you mean "{raw} %"?' if item.within(meant) else ""


def read_sections(document: Document, other_keys: dict[str, set[str]]) -> dict[str, float]:
    """Every quantity given in its section.

    Parameters
    ----------
    document : Document
        The study file.
    other_keys : dict
        Keys of each section that are not quantities and are read elsewhere.
    """
    known = inputs()
    values: dict[str, float] = {}
    for section in sections():
        here = [name for name, item in known.items() if item.section == section]
        for key, raw in document.table(section).items():
            if key in other_keys.get(section, set()):
                continue
            path = (section, key)
            item = known.get(key)
            if item is None:
                allowed = [*other_keys.get(section, set()), *here]
                words = hint(key, allowed) or hint(key, known)
                document.problem(path, f"unknown key{words or ';'} see: tradespace list quantities")
            elif item.section != section:
                document.problem(path, f"belongs in the section [{item.section}]")
            else:
                value = read_quantity(document, path, item, raw)
                if value is not None:
                    values[key] = value
    return values


def read_ranges(document: Document) -> dict[str, tuple[float, float]]:
    """Low and high given in the section ``[ranges]``."""
    known = inputs()
    found: dict[str, tuple[float, float]] = {}
    for key, raw in document.table("ranges").items():
        path = ("ranges", key)
        if key not in known:
            document.problem(path, f"unknown quantity{hint(key, known, 'tradespace list quantities')}")
        elif not isinstance(raw, list) or len(raw) != 2:
            document.problem(path, f"{shown(raw)} must be a list of two values, low and high")
        else:
            low, high = (read_quantity(document, path, known[key], item) for item in raw)
            if low is None or high is None:
                continue
            if low >= high:
                document.problem(
                    path, f"the low end {shown(raw[0])} is not below the high end {shown(raw[1])}"
                )
            else:
                found[key] = (low, high)
    return found


def read_options(document: Document) -> dict[str, str]:
    """The option taken for every choice: the one the study names in the choice's section, or the default."""
    chosen: dict[str, str] = {}
    for name, choice in choices().items():
        raw = document.table(choice.section).get(name, choice.default)
        if isinstance(raw, str) and raw in choice.options:
            chosen[name] = str(raw)
        else:
            words = hint(str(raw), choice.options) or f"; allowed: {', '.join(choice.options)}"
            document.problem((choice.section, name), f"{shown(raw)} is unknown{words}")
    return chosen


def all_ranges(
    values: dict[str, float], overrides: dict[str, tuple[float, float]], settings: Mapping[str, Setting]
) -> dict[str, tuple[float, float]]:
    """Ranges for the sensitivity: the study's own, else those of its options, else those of the table.

    Where the study gives another value than the table's default and that value lies outside the table's
    range, the range keeps its width relative to the value. Quantities that a given one replaces, and
    ranges of no width, are left out.
    """
    replaced = {name for derived, names in REPLACES.items() if derived in values for name in names}
    found: dict[str, tuple[float, float]] = {}
    for name, item in inputs().items():
        if name in overrides:
            found[name] = overrides[name]
            continue
        low, high, default = item.default_low, item.default_high, item.default
        if name in settings:
            low, high, default = settings[name].low, settings[name].high, settings[name].value
        if name in replaced or name not in values or low is None or high is None or low >= high:
            continue
        if not low <= values[name] <= high:
            if not default or not values[name]:
                continue
            low, high = sorted((values[name] * low / default, values[name] * high / default))
            low = low if item.low is None else max(low, item.low)
            high = high if item.high is None else min(high, item.high)
        found[name] = (low, high)
    return found


def check_replaced(document: Document, given: set[str], swept: set[str]) -> None:
    """Refuse a study in which a derived quantity leaves a given or swept input without effect."""
    for derived, names in REPLACES.items():
        for name in names:
            if derived in swept and name in swept:
                document.problem(
                    ("sweep", name), f"cannot be swept together with {derived}, which replaces it; sweep one"
                )
            elif derived in given and name in swept:
                document.problem(
                    ("sweep", name), f"has no effect, because {derived} is given and replaces it"
                )
            elif derived in given and name in given and derived not in swept:
                section = inputs()[name].section
                document.problem(
                    (section, name), f"is replaced by {derived}, which is given too; give one of them"
                )


def check_required(document: Document, kind: str, have: set[str]) -> None:
    """Name the quantities that have no default and are neither given nor swept."""
    spared = set(SPARED[kind])
    if kind == "burn" and "water_on_board" not in have:
        document.problem(
            ("start", "water_on_board"), 'is missing; give the propellant on board, such as "1 kg"'
        )
    for derived, names in REPLACES.items():
        if derived in have:
            spared.update(names)
    for name, item in inputs().items():
        needed = (item.role == "input" and item.default is None) or name in REQUIRED
        if needed and name not in have and name not in spared:
            instead = "".join(f" (or {derived})" for derived, names in REPLACES.items() if names == (name,))
            document.problem(
                (item.section, name),
                f'is missing{instead}; give it with a unit, such as "1 {item.display_unit}"',
            )


def read_solve(document: Document) -> Solve | None:
    """The request to solve for one variable."""
    table = document.table("solve")
    if not table:
        return None
    known = inputs()
    for key in set(table) - {"solve", "until"}:
        document.problem(("solve", key), "unknown key; allowed: solve, until")
    variable, until = table.get("solve"), table.get("until")
    if not isinstance(variable, str) or variable not in known:
        document.problem(
            ("solve", "solve"), f"{shown(variable)} is not an input quantity{hint(str(variable), known)}"
        )
        return None
    match = REQUEST.match(until) if isinstance(until, str) else None
    if match is None:
        document.problem(
            ("solve", "until"),
            f'{shown(until)} must be a column, <= or >=, and a value, such as "refuel_time <= 300 d"',
        )
        return None
    column, relation, text = match.groups()
    outputs = {
        name: item
        for name, item in quantities().items()
        if item.role == "output"
        and item.section != "hop"
        and name not in {"limited_by", "limited_at", "closes"}
    }
    if column not in outputs:
        document.problem(("solve", "until"), f"unknown output column {shown(column)}{hint(column, outputs)}")
        return None
    limit = read_quantity(document, ("solve", "until"), outputs[column], text)
    return None if limit is None else Solve(variable, column, relation, limit)
