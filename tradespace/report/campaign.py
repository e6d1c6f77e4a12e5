"""The campaign section: every hop of the designs that stand, what the route has taken so far, and both as CSV."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace.campaign.records import IMPULSIVE, SPIRAL, SPREAD
from tradespace.comparison import Standing, standings
from tradespace.errors import OutputError
from tradespace.figures.style import quantity_text
from tradespace.itinerary import (
    BURNS,
    DATES,
    LEG_ITEMS,
    STOP_ITEMS,
    TOTAL_ITEMS,
    Leg,
    cells,
    legs,
    present,
    value,
)
from tradespace.quantities import quantities
from tradespace.report.page import Markup, Row, details, paragraph, table, text
from tradespace.units import format_date

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

ACROSS = 5
"""Hops that stand beside one another; longer routes run down the page."""
CSV_NAME = "campaign.csv"
DIGITS = 10
SHOWN = 4
PRICES = {
    IMPULSIVE: "Short burns: both take a small share of the flight and are priced as if they took no time.",
    SPREAD: "Long burns: a leg around the Sun pays a factor for the arc along which it thrusts.",
    SPIRAL: (
        "Slow spiral: within a planet's system the thrust is so low that the craft winds its way from one circle to "
        "the other, which costs about the difference of both orbital speeds."
    ),
}
"""What the words for the price of a hop mean."""


def campaign_parts(results: Results, ranked: list[Standing]) -> list[Markup]:
    """Words, then two tables for each architecture: the best that refuels in view, the others folded."""
    shown = [one for one in ranked if one.row is not None]
    shown.sort(key=lambda one: not (one.refuels and one.closes))
    if not shown:
        return []
    parts = [paragraph(words) for words in (*explanations(results, shown), *less_certain(results, shown))]
    for place, one in enumerate(shown):
        inside = Markup("\n".join(both_tables(results, one)))
        words = f"{one.title}{'' if one.closes else ' (does not close)'}"
        parts.append(details(words, inside) if place else Markup(f"<h3>{text(words)}</h3>\n{inside}"))
    return parts


def explanations(results: Results, shown: list[Standing]) -> list[str]:
    """What the tables below mean."""
    if results.mission.kind == "surface":
        return ["Dates are days since the start. A hop begins with the stop at which its propellant is made."]
    rows = [one.row for one in shown if one.row is not None]
    hops = range(1, results.mission.hops + 1)
    kinds = {value(row, "pricing", hop, results.mission) for row in rows for hop in hops}
    words = (
        "A hop begins with the stop at which its propellant is made. Burns on a leg around the Sun are centred on the "
        "dates of the window curve: the craft leaves half of the first burn before its date and arrives half of the "
        "second one after. Velocity changes at both ends are as this craft flies them, without margin; the totals "
        "hold the margin. "
    )
    known = [kind for kind in BURNS if kind in kinds]
    return [words + " ".join(PRICES[kind] for kind in known)] if known else [words]


def less_certain(results: Results, shown: list[Standing]) -> list[str]:
    """What makes the places of bodies less certain on the dates of these designs, each said once."""
    from tradespace import ephemeris
    from tradespace.errors import TradespaceError

    found: dict[str, None] = {}
    for one in shown:
        for hop in range(1, results.mission.hops + 1) if one.row is not None else ():
            for place, name in ((hop - 1, "arrival_date"), (hop, "landing_date")):
                date = value(one.row, name, hop, results.mission)
                try:
                    words = ephemeris.caution(results.study.places[place].body, date)
                except TradespaceError:  # a body that has since been removed from the user's own catalogue
                    continue
                if words:
                    found.setdefault(words, None)
    return list(found)


def both_tables(results: Results, one: Standing) -> list[Markup]:
    """The hops of one design, and its running totals."""
    if one.row is None:
        return []
    route = legs(results.study, results.mission)
    row: Any = one.row
    stop = present(row, STOP_ITEMS, results.mission)
    way = present(row, LEG_ITEMS, results.mission)
    total = present(row, TOTAL_ITEMS, results.mission)
    if len(route) <= ACROSS:
        headings = ["Quantity", *(f"Hop {leg.hop}: {leg.route}" for leg in route)]
        groups = [("At the stop", stop), ("On the way", way)]
        rows = []
        for group, items in groups:
            rows.append(Row([group], group=True))
            rows.append(Row(kind_row(group, route)))
            rows += item_rows(results, row, items, route)
        return [
            table("Hop by hop.", headings, rows, range(1, len(headings))),
            table(
                "Since the start, at each landing.",
                headings,
                item_rows(results, row, total, route),
                range(1, len(headings)),
            ),
        ]
    found = []
    for caption, items in (
        ("Hop by hop.", {**stop, **way}),
        ("Since the start, at each landing.", total),
    ):
        columns = cells(row, list(items), route, results.mission, words_of)
        rows = [
            Row([f"{leg.hop}" if results.mission.kind == "surface" else f"{leg.hop}: {leg.route}", *line])
            for leg, line in zip(route, zip(*columns, strict=True), strict=True)
        ]
        found.append(table(caption, ["Hop", *items.values()], rows, range(1, len(items) + 1)))
    return found


def words_of(name: str, number: float) -> str:
    """A value with its unit, in as many digits as dates and masses need."""
    return quantity_text(name, number, SHOWN)


def kind_row(group: str, route: list[Leg]) -> list[str]:
    """What kind of stop or leg each hop has."""
    if group == "At the stop":
        return ["Stop", *(leg.stop for leg in route)]
    return ["Leg", *(leg.kind for leg in route)]


def item_rows(results: Results, row: Any, items: dict[str, str], route: list[Leg]) -> list[Row]:
    """One row per item, one column per hop."""
    lines = cells(row, list(items), route, results.mission, words_of)
    return [Row([words, *line]) for words, line in zip(items.values(), lines, strict=True)]


def columns(results: Results) -> list[str]:
    """Per-hop columns of the table of answers, and the totals a surface route is given here."""
    known = set(results.names)
    names = [
        name
        for name, item in quantities().items()
        if item.section in {"hop", "result"} and f"{name}_1" in known
    ]
    return list(dict.fromkeys([*names, "elapsed", "water_so_far"]))


def csv_heading(name: str) -> str:
    """Name and unit of a column of the file."""
    if name in DATES:
        return f"{name} [calendar date]"
    return f"{name} [{quantities()[name].display_unit}]"


def csv_rows(results: Results, ranked: list[Standing]) -> Iterator[list[str]]:
    """The heading, then one row per architecture and hop."""
    names = columns(results)
    first = ["architecture", "closes", "hop", "from", "to", "stop", "leg", "priced_as"]
    yield [*first, *(csv_heading(name) for name in names)]
    route = legs(results.study, results.mission)
    for one in ranked:
        if one.row is None:
            continue
        for leg in route:
            price = BURNS.get(value(one.row, "pricing", leg.hop, results.mission), "")
            about = [one.name, "yes" if one.closes else "no", str(leg.hop), leg.here, leg.there, leg.stop]
            yield [*about, leg.kind, price, *(csv_cell(results, one.row, name, leg.hop) for name in names)]


def csv_cell(results: Results, row: pd.Series, name: str, hop: int) -> str:
    """A number in the display unit, or a calendar date; nothing where there is none."""
    number = value(row, name, hop, results.mission)
    if not math.isfinite(number):
        return ""
    return format_date(number) if name in DATES else f"{quantities()[name].shown(number):.{DIGITS}g}"


def write_campaign(results: Results, path: str | Path) -> Path:
    """Write every hop of the designs that stand for each architecture as CSV, under a temporary name first.

    Parameters
    ----------
    results : Results
        What a run gave.
    path : str or Path
        File to write; its folder is made if it is missing.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    target = Path(path)
    temporary = target.with_name(f".{target.name}.writing")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("w", encoding="utf-8", newline="") as handle:
            csv.writer(handle, lineterminator="\n").writerows(csv_rows(results, standings(results)))
        temporary.replace(target)
    except OSError as error:
        raise OutputError(f"cannot write {target}: {error.strerror or error}") from error
    return target
