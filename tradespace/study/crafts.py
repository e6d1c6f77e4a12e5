"""The architectures a study makes itself: a thruster with storage, excess, landing engine and values of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tradespace.errors import TradespaceError, UnitError
from tradespace.study.document import Document, Path_, shown
from tradespace.study.engines import sections
from tradespace.study.values import hint
from tradespace.units import parse_quantity

if TYPE_CHECKING:
    from tradespace.thrusters.architecture import Architecture
    from tradespace.thrusters.contract import Thruster

WORDS = ("name", "title", "thruster", "storage", "excess", "landing_engine")
KEYS = (*WORDS, "mixture_ratio", "values")
NEEDED = ("name", "thruster")


def made_architectures(
    document: Document, engines: Mapping[str, Thruster], taken: set[str]
) -> dict[str, Architecture]:
    """All architectures that a study makes, by name in order."""
    made: dict[str, Architecture] = {}
    for number, raw in enumerate(sections(document, "architecture")):
        one = made_architecture(document, ("architecture", number), raw, engines, {*taken, *made})
        if one is not None:
            made[one.name] = one
    return made


def made_architecture(
    document: Document, base: Path_, raw: object, engines: Mapping[str, Thruster], taken: set[str]
) -> Architecture | None:
    """One architecture; None with a problem noted when it cannot be read."""
    from tradespace.thrusters.architecture import Architecture

    before = len(document.problems)
    if not isinstance(raw, dict):
        document.problem(base, "must be a section, written [[architecture]]")
        return None
    for key in raw:
        if key not in KEYS:
            document.problem((*base, key), f"unknown key{hint(key, KEYS) or '; allowed: ' + ', '.join(KEYS)}")
    for key in NEEDED:
        if key not in raw:
            document.problem((*base, key), "is missing")
    words: dict[str, Any] = {key: document.words((*base, key), raw[key]) for key in WORDS if key in raw}
    _check_names(document, base, words, engines, taken)
    ratio = _ratio(document, (*base, "mixture_ratio"), raw.get("mixture_ratio"))
    own = _own_values(document, (*base, "values"), raw.get("values", {}), words.get("thruster", ""))
    if len(document.problems) > before:
        return None
    thruster = engines[words.pop("thruster")]
    try:
        return Architecture(words.pop("name"), thruster, mixture_ratio=ratio, own=own, **words)
    except TradespaceError as error:
        document.problem(base, str(error))
        return None


def _check_names(
    document: Document,
    base: Path_,
    words: Mapping[str, str],
    engines: Mapping[str, Thruster],
    taken: set[str],
) -> None:
    name, thruster = words.get("name", ""), words.get("thruster", "")
    if name and not name.replace("_", "").isalnum():
        document.problem((*base, "name"), f"{shown(name)} may hold letters, digits and underscores only")
    elif name in taken:
        document.problem((*base, "name"), f"{shown(name)} is the name of another one; choose a new one")
    if thruster and thruster not in engines:
        told = hint(thruster, engines, "tradespace list thrusters")
        document.problem((*base, "thruster"), f"unknown thruster {shown(thruster)}{told}")


def _ratio(document: Document, path: Path_, raw: object) -> float | None:
    """A mixture ratio of its own, within the bounds of the quantity."""
    from tradespace.quantities import quantity

    if raw is None:
        return None
    bounds = quantity("mixture_ratio")
    try:
        ratio = parse_quantity(raw, bounds.unit)
    except UnitError as error:
        document.problem(path, str(error))
        return None
    if bounds.low is not None and bounds.high is not None and not bounds.low <= ratio <= bounds.high:
        document.problem(path, f"{shown(raw)} must lie between {bounds.low:g} and {bounds.high:g}")
    return ratio


def _own_values(document: Document, path: Path_, raw: object, thruster: str) -> dict[str, float]:
    """Rows of the thruster's table that the study gives [SI]."""
    from tradespace.thrusters.values import architecture_values

    if not isinstance(raw, dict):
        document.problem(path, f"{shown(raw)} must be a table of values of the thruster, in braces")
        return {}
    rows = architecture_values(thruster)
    found: dict[str, float] = {}
    for key, given in raw.items():
        if key not in rows:
            document.problem((*path, key), f"unknown value of {thruster}{hint(key, rows)}")
            continue
        amount = _amount(document, (*path, key), given, rows[key].unit)
        if amount is not None:
            found[key] = amount
    return found


def _amount(document: Document, path: Path_, raw: Any, unit: str) -> float | None:
    try:
        return float(parse_quantity(raw, unit))
    except UnitError as error:
        document.problem(path, str(error))
        return None
