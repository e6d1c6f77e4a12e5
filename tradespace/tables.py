"""Reading the CSV tables in ``tradespace/data``: the one place that opens them."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tradespace.errors import TradespaceError

DATA = Path(__file__).parent / "data"
UNIT_ROW = "unit:"


@dataclass(frozen=True)
class Table:
    """Rows of one CSV file as text, with the unit of each column where the file states it."""

    path: Path
    columns: tuple[str, ...]
    units: dict[str, str]
    rows: tuple[dict[str, str], ...]


@cache
def read_table(name: str) -> Table:
    """Read ``tradespace/data/<name>``; blank cells stay empty strings.

    Parameters
    ----------
    name : str
        Path below ``tradespace/data``, for example ``"quantities.csv"``. A second row whose first cell
        is ``unit:`` followed by the unit gives the units of the columns.

    Raises
    ------
    TradespaceError
        If the file is missing or a row has the wrong number of cells.

    Examples
    --------
    >>> "solar_constant" in {row["name"] for row in read_table("constants.csv").rows}
    True
    """
    path = DATA / name
    if not path.is_file():
        raise TradespaceError(f"the table {name!r} is missing from the installation; reinstall tradespace")
    with path.open(newline="", encoding="utf-8") as handle:
        lines = [row for row in csv.reader(handle) if row and not row[0].startswith("#")]
    header = lines[0]
    units: dict[str, str] = {}
    body = lines[1:]
    if body and body[0][0].startswith(UNIT_ROW):
        first = body[0][0].removeprefix(UNIT_ROW).strip()
        units = {key: cell.strip() for key, cell in zip(header, [first, *body[0][1:]], strict=True)}
        body = body[1:]
    for number, row in enumerate(body, start=2):
        if len(row) != len(header):
            raise TradespaceError(f"{name}: data row {number} has {len(row)} cells, not {len(header)}")
    rows = tuple(dict(zip(header, (cell.strip() for cell in row), strict=True)) for row in body)
    return Table(path, tuple(header), units, rows)
