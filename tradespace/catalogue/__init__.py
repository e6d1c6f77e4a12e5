"""Which bodies are known: rows of the catalogue by name, and the tabulated ellipses of small bodies.

Shipped rows come first, then those the user has imported (:mod:`tradespace.catalogue.own`). An imported row with the
identifier of a shipped one takes its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from tradespace.catalogue.own import ELEMENT_COLUMNS as COLUMNS
from tradespace.catalogue.own import ORIGIN, SHIPPED, Row, Stamp, read_own, stamp
from tradespace.catalogue.tables import CATALOGUE, ELEMENTS
from tradespace.errors import unknown_name
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table
from tradespace.units import convert, julian_date

__all__ = ["CATALOGUE", "ELEMENTS", "catalogue_row", "catalogue_rows", "elements", "shipped_rows", "stamp"]


@dataclass(frozen=True)
class _Known:
    """All rows, the row of each name in lower case, and the ellipses of each small body."""

    rows: tuple[Row, ...]
    index: dict[str, Row]
    ellipses: dict[str, FloatArray]


@cache
def shipped_rows() -> tuple[Row, ...]:
    """Rows of the shipped catalogue, in its order.

    Examples
    --------
    >>> shipped_rows()[0]["name"]
    'Ceres'
    """
    return tuple({**row, ORIGIN: SHIPPED} for row in read_table(CATALOGUE).rows)


@lru_cache(maxsize=4)
def _read(mark: Stamp) -> _Known:
    """Shipped and imported bodies together, for one state of the user's files."""
    shipped, ellipses = shipped_rows(), _shipped_ellipses()
    own = read_own(mark)
    if own.rows:
        taken = {row["id"] for row in own.rows}
        shipped = tuple(row for row in shipped if row["id"] not in taken)
        ellipses = {**ellipses, **_ellipses(own.elements)}
    rows = (*shipped, *own.rows)
    return _Known(rows, _index(rows), ellipses)


def _index(rows: tuple[Row, ...]) -> dict[str, Row]:
    """Rows by every name a body has, in lower case; identifiers win over names and aliases."""
    index: dict[str, Row] = {}
    for row in rows:
        index[row["id"].casefold()] = row
    for row in rows:
        for name in (row["name"], *row["aliases"].split(";")):
            if name:
                index.setdefault(name.casefold(), row)
    return index


def catalogue_rows() -> tuple[Row, ...]:
    """All rows of the catalogue, shipped ones first, then imported ones; ``origin`` says which.

    Raises
    ------
    OutputError
        If the user's own catalogue cannot be read.

    Examples
    --------
    >>> sum(row["origin"] == "shipped" for row in catalogue_rows())
    111
    """
    return _read(stamp()).rows


def catalogue_row(name: str) -> dict[str, str]:
    """Row of the body catalogue with this identifier, name or alias, whatever its case.

    Raises
    ------
    UnknownNameError
        If no body has that name.

    Examples
    --------
    >>> catalogue_row("24 themis")["id"]
    '24'
    """
    known = _read(stamp())
    row = known.index.get(" ".join(str(name).split()).casefold())
    if row is None:
        names = [text for entry in known.rows for text in (entry["name"], entry["id"])]
        raise unknown_name("body", str(name), names, "tradespace list bodies")
    return row


def elements(identifier: str) -> FloatArray:
    """Tabulated ellipses of a small body, shape (n, 7).

    Columns: epoch (seconds past J2000), semi-major axis [m], eccentricity, inclination, ascending node, argument
    of perihelion and mean anomaly [rad], on the ecliptic of J2000, in ascending order of epoch. An imported body
    has one row.

    Raises
    ------
    KeyError
        If no ellipse of that identifier is tabulated.

    Examples
    --------
    >>> elements("24").shape
    (46, 7)
    """
    return _elements()[identifier]


def _elements() -> dict[str, FloatArray]:
    """Tabulated ellipses of every small body in SI."""
    return _read(stamp()).ellipses


@cache
def _shipped_ellipses() -> dict[str, FloatArray]:
    return _ellipses(read_table(ELEMENTS).rows)


def _ellipses(table: tuple[Row, ...]) -> dict[str, FloatArray]:
    """Rows of a table of elements in SI, one array per body in ascending order of epoch."""
    units = read_table(ELEMENTS).units
    names = [row["id"] for row in table]
    values = np.array([[float(row[name]) for name, _ in COLUMNS] for row in table]).reshape(-1, len(COLUMNS))
    values[:, 0] -= julian_date(0.0)
    for column, (label, unit) in enumerate(COLUMNS):
        values[:, column] = convert(values[:, column], units[label], unit)
    places: dict[str, list[int]] = {}
    for place, name in enumerate(names):
        places.setdefault(name, []).append(place)
    arrays: dict[str, FloatArray] = {}
    for name, rows in places.items():
        own = values[rows]
        arrays[name] = own[np.argsort(own[:, 0], kind="stable")]
    return arrays
