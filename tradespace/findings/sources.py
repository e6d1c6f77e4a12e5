"""Which entries of the bibliography stand behind a run, and for what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tradespace.catalogue import catalogue_row
from tradespace.errors import TradespaceError
from tradespace.quantities import quantities
from tradespace.tables import read_table
from tradespace.thrusters import values as numbers

if TYPE_CHECKING:
    from tradespace.findings.models import Account
    from tradespace.results import Results

UNCHECKED = ("from memory", "check before citing", "second hand", "not checked")
"""Words of a remark that say the source itself was not read."""
PALETTES = ("okabe_ito_2008", "tol_2021")
SHARED = "shared"


@dataclass(frozen=True)
class Source:
    """An entry of the bibliography and what it is there for."""

    key: str
    kind: str
    authors: str
    year: str
    title: str
    where: str
    note: str
    used_for: tuple[str, ...]
    """``inputs``, ``options``, ``thrusters``, ``bodies``, ``methods``, ``figures``, ``models`` or ``values of the
    models``."""

    @property
    def unchecked(self) -> bool:
        """Whether its remark says that it was not read by whoever wrote the table."""
        return any(words in self.note for words in UNCHECKED)


def sources_used(results: Results, account: Account | None = None) -> list[Source]:
    """The sources behind a run by key; those of its models too when they were followed.

    Parameters
    ----------
    results : Results
        What a run gave.
    account : Account, optional
        The models that answered it.
    """
    reasons: dict[str, dict[str, None]] = {}
    for reason, cells in behind(results, account):
        for cell in cells:
            for key in cell.split(";"):
                reasons.setdefault(key.strip(), {}).setdefault(reason)
    return [
        source_of(row, tuple(reasons[row["key"]]))
        for row in read_table("sources.csv").rows
        if row["key"] in reasons
    ]


def source_of(row: Mapping[str, str], used_for: tuple[str, ...] = ()) -> Source:
    """A row of the bibliography as a source."""
    texts = {name: row[name] for name in ("key", "kind", "authors", "year", "title", "where", "note")}
    return Source(**texts, used_for=used_for)


def behind(results: Results, account: Account | None) -> Iterator[tuple[str, Iterable[str]]]:
    """What sources are used for, with cells that name some."""
    study = results.study
    taken = study.settings
    used = [name for name in quantities() if name in study.values and name not in study.given]
    yield "inputs", (quantities()[name].source for name in used if name not in taken)
    yield "options", (taken[name].source for name in used if name in taken)
    yield "thrusters", thruster_cells(study)
    yield "bodies", body_cells(study)
    yield "methods", method_keys(results)
    yield "figures", PALETTES
    if account is not None:
        yield "models", (key for one in account.models for key in one.keys)
        yield "values of the models", row_cells(account.rows)


def thruster_cells(study: Any) -> Iterator[str]:
    """Sources of the numbers of each architecture, and those named in its words."""
    for craft in study.thrusters.values():
        own = getattr(craft, "thruster", craft)
        yield from (row.source for row in numbers.architecture_values(str(own.name)).values())
        yield from re.findall(r"[A-Za-z0-9_]+", f"{craft.maturity} {craft.description}")
    yield from (row.source for row in numbers.architecture_values(SHARED).values())


def body_cells(study: Any) -> Iterator[str]:
    """Sources of what the catalogue says of the bodies on the route."""
    for name in dict.fromkeys(place.body for place in study.places):
        try:
            row = catalogue_row(name)
        except TradespaceError:  # a body that has since been removed from the user's own catalogue
            continue
        yield from (cell for column, cell in row.items() if column.endswith("_source"))
        moons = (moon for moon in read_table("moons.csv").rows if moon["id"] == row["id"])
        yield from (moon[column] for moon in moons for column in ("orbit_source", "rotation_source"))


def method_keys(results: Results) -> Iterator[str]:
    """Sources of the statistics in the results."""
    found = results.sensitivity
    if found is not None and found.drivers is not None:
        yield from ("campolongo_2007", "saltelli_2010")
    if results.certainty is not None:
        yield from ("clopper1934", "johnson2000")
    if bool(results.designs["closes"].any()):
        yield "das_1999"  # the knee of a front


def row_cells(rows: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Sources of rows of value tables."""
    for table, name in rows:
        try:
            yield next(row.get("source", "") for row in read_table(table).rows if row.get("name") == name)
        except (StopIteration, TradespaceError):
            continue
