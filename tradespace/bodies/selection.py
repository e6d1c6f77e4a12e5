"""Choosing bodies by water, place, size and name."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from tradespace.bodies import Body, bodies, body, orbit
from tradespace.bodies.found import VALUES
from tradespace.catalogue.own import GROUPS
from tradespace.constants import value
from tradespace.errors import UnitError, unknown_name
from tradespace.units import parse_quantity

WATER = {
    "ice": "surface_ice_detected",
    "vapour": "water_vapour_detected",
    "hydrated": "hydrated_3um",
    "inferred": "inferred",
    "none": "none",
    "unknown": "unknown",
}
ANY = "any"
EVIDENCE = ("ice", "vapour", "hydrated", "inferred")
"""What ``any`` stands for."""
COMPARED: dict[str, Callable[[float, float], bool]] = {
    ">=": operator.ge, "<=": operator.le, ">": operator.gt, "<": operator.lt,
}  # fmt: skip
LIMIT = re.compile(r"\s*(>=|<=|>|<)\s*(.*)", re.S)


@dataclass(frozen=True)
class Limit:
    """A comparison with a number in SI, such as a radius of at least 10 km."""

    relation: str
    number: float

    def holds(self, number: float) -> bool:
        """Whether a number keeps it; an unknown number (NaN) never does.

        Examples
        --------
        >>> Limit(">=", 1e4).holds(2e4), Limit(">=", 1e4).holds(float("nan"))
        (True, False)
        """
        return COMPARED[self.relation](number, self.number)


def parse_limit(text: str, unit: str) -> Limit:
    """Read a comparison such as ``">= 10 km"``.

    Raises
    ------
    UnitError
        If the relation is missing, or the number or its unit cannot be read.

    Examples
    --------
    >>> parse_limit(">= 10 km", "m")
    Limit(relation='>=', number=10000.0)
    """
    found = LIMIT.fullmatch(text)
    if found is None:
        raise UnitError(
            f'cannot read {text[:40]!r} as a limit; write it with >=, <=, > or <, such as ">= 10 km"'
        )
    return Limit(found[1], parse_quantity(found[2], unit))


def water_classes(words: Iterable[str]) -> frozenset[str]:
    """Classes of water evidence from short words, each of which may hold several with commas.

    Raises
    ------
    UnknownNameError
        If a word is unknown.

    Examples
    --------
    >>> sorted(water_classes(["ice,hydrated"]))
    ['hydrated_3um', 'surface_ice_detected']
    """
    chosen: set[str] = set()
    for word in _split(words):
        if word == ANY:
            chosen |= {WATER[name] for name in EVIDENCE}
        elif word in WATER.values():
            chosen.add(word)
        elif word in WATER:
            chosen.add(WATER[word])
        else:
            raise unknown_name("kind of water", word, [*WATER, ANY])
    return frozenset(chosen)


def body_groups(words: Iterable[str]) -> frozenset[str]:
    """Groups of bodies from their names, each of which may hold several with commas.

    Raises
    ------
    UnknownNameError
        If a group is unknown.

    Examples
    --------
    >>> sorted(body_groups(["hilda", "nea"]))
    ['hilda', 'nea']
    """
    chosen = frozenset(_split(words))
    for word in chosen:
        if word not in GROUPS:
            raise unknown_name("group", word, GROUPS)
    return chosen


def _split(words: Iterable[str]) -> list[str]:
    return [part.strip() for word in words for part in word.split(",") if part.strip()]


@dataclass(frozen=True)
class Selection:
    """Conditions on bodies, all of which must hold; one that is not set always holds."""

    water: frozenset[str] = frozenset()
    """Classes of water evidence."""
    groups: frozenset[str] = frozenset()
    near: float | None = None
    """Semi-major axis round the Sun, the planet's for a moon [m]."""
    within: float | None = None
    """How far from it [m]."""
    parent: str = ""
    """What the body orbits."""
    radius: tuple[Limit, ...] = ()
    name: str = ""
    """Text in the name, the identifier or an alias."""

    @property
    def width(self) -> float:
        """How near counts as near [m]."""
        return value("near_window", VALUES) if self.within is None else self.within

    def holds(self, item: Body) -> bool:
        """Whether a body meets all conditions.

        Examples
        --------
        >>> Selection(parent="Mars").holds(body("Phobos"))
        True
        """
        if self.water and item.water_class not in self.water:
            return False
        if self.groups and item.group not in self.groups:
            return False
        if self.parent and item.parent.casefold() != self.parent.casefold():
            return False
        if not all(limit.holds(item.radius) for limit in self.radius):
            return False
        if self.name and not any(self.name.casefold() in text.casefold() for text in _texts(item)):
            return False
        return self.near is None or abs(orbit(item)[0] - self.near) <= self.width


def _texts(item: Body) -> tuple[str, ...]:
    return (item.id, item.name, item.label, *item.aliases)


def select(selection: Selection) -> list[Body]:
    """Bodies that meet the conditions: outwards from the Sun, or with ``near`` the nearest orbit first.

    Raises
    ------
    UnknownNameError
        If no body has the name of the parent.

    Examples
    --------
    >>> [item.name for item in select(Selection(parent="Mars"))]
    ['Phobos', 'Deimos']
    """
    if selection.parent and selection.parent.casefold() != "sun":
        body(selection.parent)
    chosen = [item for item in bodies() if selection.holds(item)]

    def place(item: Body) -> tuple[float, bool]:
        axis = orbit(item)[0]
        far = axis if selection.near is None else abs(axis - selection.near)
        return (math.inf if math.isnan(far) else far), item.parent != "Sun"

    return sorted(chosen, key=place)
