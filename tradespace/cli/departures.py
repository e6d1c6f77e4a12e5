"""Rows of departures: in the units people use, printed and written."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.printing import print_table
from tradespace.errors import OutputError, printable
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.windows import Opportunity


def window_row(item: Opportunity) -> dict[str, Any]:
    """One opportunity in the units people use."""
    from tradespace.windows import KINDS

    return {
        "departure": format_date(item.departure),
        "arrival": format_date(item.departure + item.time_of_flight),
        "time_of_flight_d": float(convert(item.time_of_flight, "s", "d")),
        "c3_km2_s2": float(convert(item.v_inf_departure**2, "m2/s2", "km2/s2")),
        "v_inf_departure_km_s": float(convert(item.v_inf_departure, "m/s", "km/s")),
        "v_inf_arrival_km_s": float(convert(item.v_inf_arrival, "m/s", "km/s")),
        "v_inf_sum_km_s": float(convert(item.v_inf_sum, "m/s", "km/s")),
        "kind": KINDS[item.kind],
        "opens": format_date(item.opens),
        "closes": format_date(item.closes),
        "width_d": float(convert(item.width, "s", "d")),
        "cut": item.cut,
    }


WINDOW = {
    "departure": "departure",
    "arrival": "arrival",
    "time_of_flight_d": "flight d",
    "c3_km2_s2": "C3 km2/s2",
    "v_inf_departure_km_s": "leaving km/s",
    "v_inf_arrival_km_s": "meeting km/s",
    "v_inf_sum_km_s": "sum km/s",
    "kind": "kind",
    "width_d": "open d",
}
"""Columns printed, and their headings."""
DECIMALS = {"time_of_flight_d": 0, "width_d": 0, "c3_km2_s2": 2}


def print_rows(rows: list[dict[str, Any]], columns: dict[str, str], title: str) -> None:
    """Print chosen columns; a plus marks a width that reaches the end of the dates searched."""

    def shown(name: str, cell: Any, cut: bool) -> str:
        if not isinstance(cell, float):
            return str(cell)
        mark = "+" if cut and name == "width_d" else ""
        return f"{cell:.{DECIMALS.get(name, 3)}f}{mark}"

    print_table(
        list(columns.values()),
        [[shown(name, row[name], bool(row.get("cut"))) for name in columns] for row in rows],
        title,
    )


MOST_CAUTIONS = 5


def cautions(places: Iterable[tuple[str, float]]) -> list[str]:
    """What to keep in mind about the paths of some bodies on some dates: for each body that of its last date."""
    from tradespace.ephemeris import caution

    latest: dict[str, float] = {}
    for name, date in places:
        latest[name] = max(date, latest.get(name, date))
    found = (caution(name, date) for name, date in latest.items())
    return [text for text in found if text]


def print_cautions(texts: list[str]) -> None:
    """One line each; of many bodies the first few."""
    for text in texts[:MOST_CAUTIONS]:
        click.echo(f"caution: {printable(text)}")
    if len(texts) > MOST_CAUTIONS:
        click.echo(f"cautions about {len(texts) - MOST_CAUTIONS} more bodies: add --json")


def write_rows(target: str, rows: list[dict[str, Any]], *pair: str) -> str:
    """All rows as a table with units in the names of its columns."""
    path = Path(target)
    whole = [({"from": pair[0], "to": pair[1]} if pair else {}) | row for row in rows]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w", newline="", encoding="utf-8") as handle:
            writer = csv.DictWriter(handle, list(whole[0]) if whole else ["from", "to"])
            writer.writeheader()
            for row in whole:
                writer.writerow(
                    {key: f"{value:.9g}" if isinstance(value, float) else value for key, value in row.items()}
                )
    except OSError as error:
        raise OutputError(f"cannot write {printable(path)}: {error.strerror or error}") from error
    return str(path)
