"""Tables of the designs that stand for each architecture: rank, numbers, masses and hops."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd

from tradespace import itinerary
from tradespace.comparison import standings
from tradespace.figures.choice import swept, value_of
from tradespace.figures.designs import ITEMS
from tradespace.figures.style import label, title_of
from tradespace.findings.table import (
    NONE,
    Cell,
    Column,
    ResultTable,
    columns_of,
    count,
    finite,
    number_of,
    of_quantity,
)
from tradespace.quantities import quantity
from tradespace.results import placeholder
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.comparison import Standing
    from tradespace.results import Results

MOST_PRINTED = 10
"""Designs of a printed table of many columns; its file has all of them."""


def ranking(results: Results) -> ResultTable:
    """Where each architecture stands."""
    merit = results.study.figure_of_merit
    names = [merit, "start_mass", "refuel_time", "mission_time", "survival"]
    names = [name for name in dict.fromkeys(names) if name in results.names]
    columns = columns_of(
        "Architecture", "(Propellant)", count("Designs", printed=False), count("Closing"), *map(of_quantity, names),
        "Limited by", count("At hop", printed=False), Column("Margin", digits=2),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in standings(results):
        fed = "refuels" if one.refuels else "carries all"
        cells = [number_of(one.row, name) for name in names]
        limit = (None, None) if one.row is None else (str(one.row["limited_by"]), int(one.row["limited_at"]))
        margin = None if one.row is None else float(one.row["margin"])
        rows.append((one.title, fed, one.designs, one.closing, *cells, *limit, margin))
    caption = (
        f"The architectures by {label(merit).lower()} ({quantity(merit).better} is better): of each the best design "
        "that closes, or where none closes (closing 0) the design nearest to closing. None: every kilogram asks for "
        "more than a kilogram, so that there is no finite mass."
    )
    return ResultTable("ranking", caption, columns, tuple(rows))


def shown(results: Results) -> list[Standing]:
    """Standings that have a design, those that close first as they are ranked."""
    return [one for one in standings(results) if one.row is not None]


def design_table(
    results: Results,
    key: str,
    caption: str,
    names: Sequence[str],
    printed: Sequence[str],
    headings: Mapping[str, str],
) -> ResultTable:
    """Some columns of the design that stands for each architecture."""
    known = {*results.names, *results.study.values}
    names = [name for name in dict.fromkeys(names) if name in known]
    columns = columns_of(
        "Architecture",
        "(Closes)",
        *(of_quantity(name, printed=name in printed, heading=headings.get(name, "")) for name in names),
    )
    rows: list[tuple[Cell, ...]] = []
    finite_mass = []
    for one in shown(results):
        assert one.row is not None
        cells = [value_cell(results, one.row, name) for name in names]
        rows.append((one.title, "yes" if one.closes else "no", *cells))
        finite_mass.append(not placeholder(one.row, "dry_mass"))
    printed_rows = tuple(there and place < MOST_PRINTED for place, there in enumerate(finite_mass))
    if not all(printed_rows):
        caption = f"{caption} The first {sum(printed_rows)} of the ranking; the file has all {len(rows)}."
    return ResultTable(key, caption, columns, tuple(rows), printed_rows=printed_rows)


def value_cell(results: Results, row: pd.Series, name: str) -> Cell:
    """A column of a design, or the study's own value where that is no column."""
    if name in row.index:
        return number_of(row, name)
    return finite(quantity(name).shown(value_of(results, row, name)))


def designs(results: Results) -> ResultTable:
    """Swept values and main results of the designs that stand."""
    first = [*swept(results), "dry_mass", "wet_mass", "payload_capacity", "specific_impulse", "water_per_hop"]
    names = [*first, "energy_per_hop", "refuel_time", "mission_time", "hops_per_year", "margin"]
    caption = "Design variables and main results of the designs of the ranking."
    return design_table(results, "designs", caption, names, first, {})


def masses(results: Results) -> ResultTable:
    """What those designs are made of."""
    names = ["payload_mass", *ITEMS[1:], "growth_mass", "dry_mass", "propellant_mass", "wet_mass"]
    caption = "Mass statement of the same designs; the dry mass holds growth and margin."
    headings = {name: label(name).removesuffix(" mass") for name in names}
    return design_table(results, "masses", caption, names, names, headings)


def hops(results: Results) -> ResultTable:
    """Every hop of the designs that stand."""
    mission, known = results.mission, set(results.names)
    printed = ["refuel_time", "departure_date", "time_of_flight", "delta_v", "propellant_used", "water_mined"]
    names = ["arrival_date", *printed[:2], "landing_date", "wait", *printed[2:], "departure_mass", "energy"]
    names = [name for name in names if f"{name}_1" in known]
    columns = columns_of(
        "Architecture", "(Closes)", count("Hop"), "(From)", "To",
        *(hop_column(results, name, printed=name in printed) for name in names),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in shown(results):
        for leg in itinerary.legs(results.study, mission):
            cells = [hop_cell(results, one.row, name, leg.hop) for name in names]
            rows.append((one.title, "yes" if one.closes else "no", leg.hop, leg.here, leg.there, *cells))
    caption = "Hop by hop, for those designs of the ranking that close (for all of them where none does)."
    some = any(row[1] == "yes" for row in rows)
    printed_rows = tuple(not some or row[1] == "yes" for row in rows)
    return ResultTable("hops", caption, columns, tuple(rows), grouped=True, printed_rows=printed_rows)


def hop_column(results: Results, name: str, *, printed: bool) -> Column:
    """A per-hop column as the campaign calls it; on a surface route dates are days since the start."""
    heading = {**itinerary.STOP_ITEMS, **itinerary.LEG_ITEMS}.get(name, label(name))
    if name not in itinerary.DATES:
        return of_quantity(name, printed=printed, heading=heading)
    surface = results.mission.kind == "surface"
    return Column(
        f"{heading}, since the start" if surface else heading, "d" if surface else "", printed=printed
    )


def hop_cell(results: Results, row: Any, name: str, hop: int) -> Cell:
    """A per-hop number in its display unit, a calendar date, or what stands for none."""
    number = itinerary.value(row, name, hop, results.mission)
    if not math.isfinite(number):
        return None
    if name in itinerary.DATES:
        if results.mission.kind != "surface":
            return format_date(number)
        return float(convert(number - results.mission.start_date, "s", "d"))
    words = placeholder(row, "water_mined" if name in itinerary.WITHOUT_MASS else name)
    return NONE if words in {"-", "no finite mass"} else words or quantity(name).shown(number)


def thrusters(results: Results) -> ResultTable:
    """What the architectures are."""
    columns = columns_of(
        "Architecture", "What it is", "(Refuels)", of_quantity("specific_impulse"),
        of_quantity("thrust", printed=False), "(Demonstrated)",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for name in results.architectures:
        craft = results.study.thrusters.get(name)
        design = results.baseline[results.baseline["architecture"] == name]
        row = None if design.empty else design.iloc[0]
        if craft is not None:
            fed = "at each stop" if craft.refuels else "never"
            numbers = (number_of(row, "specific_impulse"), number_of(row, "thrust"))
            rows.append((title_of(results, name), craft.description, fed, *numbers, craft.maturity))
    caption = "The architectures; specific impulse and thrust are those of the reference design."
    return ResultTable("architectures", caption, columns, tuple(rows))
