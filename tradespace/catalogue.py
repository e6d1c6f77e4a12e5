"""Which bodies are known: rows of the catalogue by name, and the tabulated ellipses of small bodies."""

from __future__ import annotations

from functools import cache

import numpy as np

from tradespace.errors import unknown_name
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table
from tradespace.units import convert, julian_date

CATALOGUE = "bodies.csv"
ELEMENTS = "body_elements.csv"
COLUMNS = (
    ("epoch", "s"),
    ("semi_major_axis", "m"),
    ("eccentricity", "1"),
    ("inclination", "rad"),
    ("ascending_node", "rad"),
    ("argument_of_perihelion", "rad"),
    ("mean_anomaly", "rad"),
)


@cache
def _index() -> dict[str, dict[str, str]]:
    """Catalogue rows by every name a body has, in lower case; identifiers win over names and aliases."""
    rows = read_table(CATALOGUE).rows
    index: dict[str, dict[str, str]] = {}
    for row in rows:
        index[row["id"].casefold()] = row
    for row in rows:
        for name in (row["name"], *row["aliases"].split(";")):
            if name:
                index.setdefault(name.casefold(), row)
    return index


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
    row = _index().get(" ".join(str(name).split()).casefold())
    if row is None:
        known = [text for entry in read_table(CATALOGUE).rows for text in (entry["name"], entry["id"])]
        raise unknown_name("body", str(name), known, "tradespace list bodies")
    return row


def elements(identifier: str) -> FloatArray:
    """Tabulated ellipses of a small body, shape (n, 7).

    Columns: epoch (seconds past J2000), semi-major axis [m], eccentricity, inclination, ascending node, argument
    of perihelion and mean anomaly [rad], on the ecliptic of J2000, in ascending order of epoch.

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


@cache
def _elements() -> dict[str, FloatArray]:
    """Tabulated ellipses of each small body in SI, one row per epoch in ascending order."""
    table = read_table(ELEMENTS)
    collected: dict[str, list[list[float]]] = {}
    for row in table.rows:
        collected.setdefault(row["id"], []).append([float(row[name]) for name, _ in COLUMNS])
    arrays: dict[str, FloatArray] = {}
    origin = julian_date(0.0)
    for name, rows in collected.items():
        array = np.array(sorted(rows))
        array[:, 0] -= origin
        for column, (label, unit) in enumerate(COLUMNS):
            array[:, column] = convert(array[:, column], table.units[label], unit)
        arrays[name] = array
    return arrays
