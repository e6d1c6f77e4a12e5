"""The thrusters of a study: registered ones, and engines given by numbers."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, cast

from tradespace.errors import TradespaceError, UnitError
from tradespace.study.document import Document, Path_, shown
from tradespace.study.values import hint
from tradespace.thrusters.contract import Thruster
from tradespace.units import parse_quantity

THRUSTER_UNITS = {
    "specific_impulse": "s",
    "thrust": "N",
    "power_per_thrust": "W/N",
    "throughput_life": "kg",
    "mass": "kg",
}
THRUSTER_WORDS = ("title", "storage", "refuels")
NEEDED = ("name", "specific_impulse", "thrust", "power_per_thrust", "throughput_life")
MAY_BE_ZERO = {"power_per_thrust", "mass"}
STORAGES = ("water", "gas")


def _given_thruster(document: Document, number: int, raw: object, taken: set[str]) -> Thruster | None:
    """One engine given by numbers."""
    from tradespace.thrusters.given import GivenThruster

    base: Path_ = ("thruster", number)
    before = len(document.problems)
    if not isinstance(raw, dict):
        document.problem(base, "must be a section, written [[thruster]]")
        return None
    known = {item.name for item in fields(GivenThruster)} & {*NEEDED, *THRUSTER_UNITS, *THRUSTER_WORDS}
    numbers = {key: _thruster_entry(document, (*base, key), key, value, known) for key, value in raw.items()}
    for key in NEEDED:
        if key not in raw:
            document.problem((*base, key), "is missing")
    name = numbers.get("name", "")
    if name and not name.replace("_", "").isalnum():
        document.problem((*base, "name"), f"{shown(name)} may hold letters, digits and underscores only")
    elif name in taken:
        document.problem((*base, "name"), f"{shown(name)} is the name of another thruster; choose a new one")
    if len(document.problems) > before:
        return None
    try:
        made = cast("Thruster", GivenThruster(**{"title": name, **numbers}))
    except TradespaceError as error:
        document.problem(base, str(error))
        return None
    return made


def _thruster_entry(document: Document, path: Path_, key: str, value: object, known: set[str]) -> Any:
    """One checked entry of an engine given by numbers."""
    if key not in known:
        document.problem(path, f"unknown key{hint(key, known) or '; allowed: ' + ', '.join(sorted(known))}")
    elif key in THRUSTER_UNITS:
        return _thruster_number(document, path, key, value)
    elif key == "refuels":
        if not isinstance(value, bool):
            document.problem(path, f"{shown(value)} must be true or false")
    elif key == "storage":
        if value not in STORAGES:
            document.problem(path, f'{shown(value)} is unknown; allowed: "water", "gas"')
    else:
        return document.words(path, value)
    return value


def _thruster_number(document: Document, path: Path_, key: str, raw: object) -> float:
    try:
        value = parse_quantity(raw, THRUSTER_UNITS[key])
    except UnitError as error:
        document.problem(path, str(error))
        return 0.0
    if value < 0.0 or (value == 0.0 and key not in MAY_BE_ZERO):
        document.problem(
            path, f"{shown(raw)} must be {'zero or above' if key in MAY_BE_ZERO else 'above zero'}"
        )
    return value


def read_thrusters(document: Document) -> dict[str, Thruster]:
    """The included architectures by name, in order: listed (or all registered) ones, then given ones."""
    from tradespace import thrusters

    registered = dict(thrusters.registry())
    given: dict[str, Thruster] = {}
    raw = document.tree.get("thruster", [])
    if not isinstance(raw, list):
        document.problem(("thruster",), "must be written [[thruster]], once for each engine")
        raw = []
    for number, item in enumerate(raw):
        thruster = _given_thruster(document, number, item, {*registered, *given})
        if thruster is not None:
            given[thruster.name] = thruster
    table = document.table("architectures")
    for key in set(table) - {"include"}:
        document.problem(("architectures", key), "unknown key; allowed: include")
    known = {**registered, **given}
    names = table.get("include", list(registered))
    path = ("architectures", "include")
    if not isinstance(names, list) or not (names or given):
        document.problem(path, f"{shown(names)} must be a list of at least one architecture")
        return given
    chosen: dict[str, Thruster] = {}
    for name in names:
        if not isinstance(name, str) or name not in known:
            if not document.problems:  # a given thruster that could not be read is reported there
                words = hint(str(name), known, "tradespace list thrusters")
                document.problem(path, f"unknown architecture {shown(name)}{words}")
        elif name in chosen:
            document.problem(path, f"{shown(name)} is listed twice")
        else:
            chosen[name] = known[name]
    return {**chosen, **{name: item for name, item in given.items() if name not in chosen}}
