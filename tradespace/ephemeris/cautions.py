"""What to keep in mind about a path that is less certain than the others."""

from __future__ import annotations

from functools import cache

from tradespace.catalogue import catalogue_row
from tradespace.catalogue.own import ORIGIN, SHIPPED, Row
from tradespace.ephemeris.moons import heliocentric_body
from tradespace.tables import read_table
from tradespace.units import format_date, parse_date

CAUTIONS = "position_cautions.csv"


@cache
def _cautions() -> dict[str, tuple[tuple[float | None, str], ...]]:
    """Beginning (if not always) and text of each caution by body."""
    found: dict[str, tuple[tuple[float | None, str], ...]] = {}
    for row in read_table(CAUTIONS).rows:
        begins = parse_date(row["begins"]) if row["begins"] else None
        found[row["id"]] = (*found.get(row["id"], ()), (begins, row["text"]))
    return found


def caution(name: str, date: float) -> str | None:
    """What makes the position of a body on a date less certain than the tables say, or None.

    An imported body follows one ellipse on all its dates, which is said of it whatever the date; what is known of a
    shipped one counts no more once an imported orbit has taken its place.

    Parameters
    ----------
    name : str
        Identifier, name or alias; a moon is as certain as its planet.
    date : float
        Seconds past J2000.

    Returns
    -------
    str or None
        One line for a reader.

    Raises
    ------
    UnknownNameError
        If no body has that name.

    Examples
    --------
    >>> print(caution("Ryugu", parse_date("2035-01-01")))
    Ryugu on 2035-01-01: it passes the Earth at 0.047 au on 2033-12-21; around and after that its path, from an orbit
    of 2019, is less certain
    >>> caution("Ryugu", parse_date("2030-01-01")) is None
    True
    """
    row = catalogue_row(heliocentric_body(name))
    texts = _of_shipped(row["id"], float(date)) if row[ORIGIN] == SHIPPED else _of_imported(row)
    return f"{row['name']} on {format_date(date)}: {'; also, '.join(texts)}" if texts else None


def _of_shipped(identifier: str, date: float) -> list[str]:
    return [text for begins, text in _cautions().get(identifier, ()) if begins is None or date >= begins]


def _of_imported(row: Row) -> list[str]:
    return [text for text in (row["elements_where"], row["caution"]) if text]
