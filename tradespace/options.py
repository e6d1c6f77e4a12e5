"""Choices a study makes by name: each option sets several quantities at once, from ``data/options``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from tradespace.errors import unknown_name
from tradespace.quantities import quantity
from tradespace.tables import read_table
from tradespace.units import convert

if TYPE_CHECKING:
    from collections.abc import Mapping

TABLE = "choices.csv"


@dataclass(frozen=True)
class Setting:
    """What an option makes of one quantity, in SI."""

    quantity: str
    value: float
    low: float
    high: float
    grade: str
    source: str
    where: str
    description: str


@dataclass(frozen=True)
class Option:
    """One of the answers to a choice."""

    choice: str
    name: str
    title: str
    settings: Mapping[str, Setting]
    """By name of the quantity; what a study gives itself goes before them."""


@dataclass(frozen=True)
class Choice:
    """A question that a study answers with a name instead of a number."""

    name: str
    section: str
    title: str
    description: str
    options: Mapping[str, Option]
    """By name, the one taken unless a study says otherwise first."""

    @property
    def default(self) -> str:
        """The option taken unless the study names another."""
        return next(iter(self.options))


@cache
def choices() -> Mapping[str, Choice]:
    """All choices by name, in the order of the table.

    Examples
    --------
    >>> choices()["array_family"].default
    'flexible_blanket'
    """
    found = {}
    for row in read_table(TABLE).rows:
        found[row["name"]] = Choice(
            row["name"], row["section"], row["title"], row["description"], _options(row["name"])
        )
    return MappingProxyType(found)


def _options(choice: str) -> Mapping[str, Option]:
    titles: dict[str, str] = {}
    settings: dict[str, dict[str, Setting]] = {}
    for row in read_table(f"options/{choice}.csv").rows:
        titles.setdefault(row["option"], row["title"])
        own = settings.setdefault(row["option"], {})
        if not row["quantity"]:
            continue
        target = quantity(row["quantity"])
        cells = (row["value"], row["low"] or row["value"], row["high"] or row["value"])
        value, low, high = (float(convert(float(cell), row["unit"], target.unit)) for cell in cells)
        words = (row[key] for key in ("grade", "source", "where", "description"))
        own[target.name] = Setting(target.name, value, low, high, *words)
    return MappingProxyType(
        {name: Option(choice, name, titles[name], MappingProxyType(own)) for name, own in settings.items()}
    )


def option(choice: str, name: str) -> Option:
    """One option of a choice.

    Raises
    ------
    UnknownNameError
        If there is no such choice, or it has no such option.

    Examples
    --------
    >>> option("array_family", "flexible_blanket").choice
    'array_family'
    """
    known = choices()
    if choice not in known:
        raise unknown_name("choice", choice, known, "tradespace list options")
    if name not in known[choice].options:
        raise unknown_name(choice.replace("_", " "), name, known[choice].options, "tradespace list options")
    return known[choice].options[name]


def settings_of(chosen: Mapping[str, str]) -> dict[str, Setting]:
    """What the options of a study set, by name of the quantity.

    Parameters
    ----------
    chosen : mapping of str to str
        Option by choice; a choice that is left out keeps its default.
    """
    found: dict[str, Setting] = {}
    for name, choice in choices().items():
        found |= option(name, chosen.get(name, choice.default)).settings
    return found
