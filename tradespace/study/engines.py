"""The thrusters of a study: registered ones, and engines given by numbers."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any, cast

from tradespace.errors import TradespaceError, UnitError
from tradespace.study.document import Document, Path_, shown
from tradespace.study.values import hint
from tradespace.units import parse_quantity

if TYPE_CHECKING:
    from tradespace.thrusters.architecture import Architecture
    from tradespace.thrusters.contract import Thruster

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


def read_architectures(document: Document) -> dict[str, Architecture]:
    """The included architectures by name, in order: listed (or all registered) ones, then those the study makes."""
    from tradespace import thrusters
    from tradespace.study.crafts import made_architectures
    from tradespace.thrusters.architecture import Architecture

    known: dict[str, Architecture] = {
        name: Architecture(name, item) for name, item in thrusters.registry().items()
    }
    engines: dict[str, Thruster] = dict(thrusters.registry())
    own: dict[str, Architecture] = {}
    for number, item in enumerate(sections(document, "thruster")):
        thruster = _given_thruster(document, number, item, {*known, *own})
        if thruster is not None:
            engines[thruster.name] = thruster
            own[thruster.name] = Architecture(thruster.name, thruster)
    made = made_architectures(document, engines, {*known, *own})
    based = {item.thruster.name for item in made.values()}
    own = {name: item for name, item in own.items() if name not in based} | made
    return chosen(document, known, own)


def sections(document: Document, name: str) -> list[object]:
    """All sections of a kind that may come more than once."""
    raw = document.tree.get(name, [])
    if not isinstance(raw, list):
        document.problem((name,), f"must be written [[{name}]], once for each")
        return []
    return raw


def chosen(
    document: Document, known: dict[str, Architecture], own: dict[str, Architecture]
) -> dict[str, Architecture]:
    """The architectures that the study lists, and those that it makes itself."""
    table = document.table("architectures")
    for key in set(table) - {"include"}:
        document.problem(("architectures", key), "unknown key; allowed: include")
    everything = {**known, **own}
    names = table.get("include", list(known))
    path = ("architectures", "include")
    if not isinstance(names, list) or not (names or own):
        document.problem(path, f"{shown(names)} must be a list of at least one architecture")
        return own
    found: dict[str, Architecture] = {}
    for name in names:
        if not isinstance(name, str) or name not in everything:
            if not document.problems:  # one that could not be read is reported there
                words = hint(str(name), everything, "tradespace list thrusters")
                users = [item.name for item in own.values() if item.thruster.name == name]
                if users:
                    words = f'; the [[thruster]] of that name is flown as "{users[0]}"; list that'
                document.problem(path, f"unknown architecture {shown(name)}{words}")
        elif name in found:
            document.problem(path, f"{shown(name)} is listed twice")
        else:
            found[name] = everything[name]
    return {**found, **{name: item for name, item in own.items() if name not in found}}
