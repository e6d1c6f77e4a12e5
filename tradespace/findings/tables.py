"""The tables of a run with their numbers, for print and for CSV; the words are written by whoever prints them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from tradespace import itinerary, stackup
from tradespace.comparison import standings
from tradespace.figures.choice import swept, value_of
from tradespace.figures.designs import ITEMS
from tradespace.figures.moving import step_words
from tradespace.figures.style import label, title_of
from tradespace.options import choices, settings_of
from tradespace.quantities import quantities, quantity
from tradespace.results import placeholder
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.comparison import Standing
    from tradespace.results import Results

Cell = str | float | int | None
NONE = "none"
"""Stands for a mass that never adds up, and for what would be reckoned from it."""
MOST_IMPROVEMENTS = 8
"""Inputs listed for each architecture and question."""


@dataclass(frozen=True)
class Column:
    """A heading, the unit of the numbers below it, and how many digits of them are printed."""

    heading: str
    unit: str = ""
    digits: int = 3
    printed: bool = True
    """Whether it stands in the printed table too, and not in the file alone."""
    kind: str = ""
    """``unit`` for units, ``source`` for keys of the bibliography."""

    @property
    def titled(self) -> str:
        """Heading with its unit in brackets."""
        return self.heading if self.unit in {"", "1"} else f"{self.heading} [{self.unit}]"


@dataclass(frozen=True)
class ResultTable:
    """Rows of cells: text, numbers in the unit of their column, or nothing."""

    key: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    grouped: bool = False
    """Whether the first column is a heading over the rows that share it."""
    printed_rows: tuple[bool, ...] = ()
    """Which rows stand in the printed table too; empty for all of them."""

    @property
    def in_print(self) -> list[tuple[Cell, ...]]:
        """Rows of the printed table."""
        chosen = self.printed_rows or (True,) * len(self.rows)
        return [row for row, wanted in zip(self.rows, chosen, strict=True) if wanted]


def result_tables(results: Results) -> list[ResultTable]:
    """Every table of a run that has rows, in the order in which a paper would show them.

    Parameters
    ----------
    results : Results
        What a run gave.
    """
    makers: tuple[Callable[[Results], ResultTable], ...] = (
        ranking, designs, masses, hops, thrusters, improvements, exchange, stack_up, chances, assumptions, choices_taken,
        checks,
    )  # fmt: skip
    return [found for found in (make(results) for make in makers) if found.rows]


def of_quantity(name: str, digits: int = 3, *, printed: bool = True, heading: str = "") -> Column:
    """A column of a quantity in its display unit."""
    return Column(heading or label(name), quantity(name).display_unit, digits, printed)


def number_of(row: pd.Series | None, name: str) -> Cell:
    """A column of a design in its display unit; words or nothing where there is no number."""
    if row is None or name not in row.index or pd.isna(row[name]):
        return None
    words = placeholder(row, name)
    return NONE if words in {"-", "no finite mass"} else words or quantity(name).shown(float(row[name]))


def ranking(results: Results) -> ResultTable:
    """Where each architecture stands."""
    merit = results.study.figure_of_merit
    names = [merit, "start_mass", "refuel_time", "mission_time", "survival"]
    names = [name for name in dict.fromkeys(names) if name in results.names]
    columns = [
        Column("Architecture"),
        Column("Propellant", printed=False),
        Column("Designs", digits=9, printed=False),
        Column("Closing", digits=9),
        *(of_quantity(name) for name in names),
        Column("Limited by"),
        Column("At hop", digits=9, printed=False),
        Column("Margin", digits=2),
    ]
    rows: list[tuple[Cell, ...]] = []
    for one in standings(results):
        fed = "refuels" if one.refuels else "carries all"
        cells = [number_of(one.row, name) for name in names]
        limit = (None, None) if one.row is None else (str(one.row["limited_by"]), int(one.row["limited_at"]))
        margin = None if one.row is None else float(one.row["margin"])
        rows.append((one.title, fed, one.designs, one.closing, *cells, *limit, margin))
    caption = (
        f"The architectures by {label(merit).lower()} ({quantity(merit).better} is better): of each the best design that "
        "closes, or where none closes (closing 0) the design nearest to closing. None: every kilogram asks for more than "
        "a kilogram, so that there is no finite mass."
    )
    return ResultTable("ranking", caption, tuple(columns), tuple(rows))


def shown(results: Results) -> list[Standing]:
    """Standings that have a design, those that close first as they are ranked."""
    return [one for one in standings(results) if one.row is not None]


def design_table(
    results: Results, key: str, caption: str, names: Sequence[str], printed: Sequence[str], headings: Mapping[str, str]
) -> ResultTable:
    """Some columns of the design that stands for each architecture."""
    known = {*results.names, *results.study.values}
    names = [name for name in dict.fromkeys(names) if name in known]
    columns = [Column("Architecture"), Column("Closes", printed=False)]
    columns += [of_quantity(name, printed=name in printed, heading=headings.get(name, "")) for name in names]
    rows: list[tuple[Cell, ...]] = []
    finite_mass = []
    for one in shown(results):
        assert one.row is not None
        cells = [value_cell(results, one.row, name) for name in names]
        rows.append((one.title, "yes" if one.closes else "no", *cells))
        finite_mass.append(not placeholder(one.row, "dry_mass"))
    if not all(finite_mass):
        caption = f"{caption} Not printed: {finite_mass.count(False)} without a finite mass."
    return ResultTable(key, caption, tuple(columns), tuple(rows), printed_rows=tuple(finite_mass))


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
    columns = [Column("Architecture"), Column("Closes", printed=False), Column("Hop", digits=9), Column("From", printed=False)]
    columns.append(Column("To"))
    dates = itinerary.DATES if mission.kind != "surface" else ()
    columns += [
        Column(label(name), printed=name in printed) if name in dates else of_quantity(name, printed=name in printed)
        for name in names
    ]
    rows: list[tuple[Cell, ...]] = []
    for one in shown(results):
        for leg in itinerary.legs(results.study, mission):
            cells = [hop_cell(results, one.row, name, leg.hop) for name in names]
            rows.append((one.title, "yes" if one.closes else "no", leg.hop, leg.here, leg.there, *cells))
    caption = "Hop by hop, for the designs of the ranking that close (for all of them where none does)."
    some = any(row[1] == "yes" for row in rows)
    printed_rows = tuple(not some or row[1] == "yes" for row in rows)
    return ResultTable("hops", caption, tuple(columns), tuple(rows), grouped=True, printed_rows=printed_rows)


def hop_cell(results: Results, row: Any, name: str, hop: int) -> Cell:
    """A per-hop number in its display unit, a calendar date, or what stands for none."""
    number = itinerary.value(row, name, hop, results.mission)
    if not math.isfinite(number):
        return None
    if name in itinerary.DATES:
        if results.mission.kind != "surface":
            return format_date(number)
        return quantity(name).shown(number)
    words = placeholder(row, "water_mined" if name in itinerary.WITHOUT_MASS else name)
    return NONE if words in {"-", "no finite mass"} else words or quantity(name).shown(number)


def thrusters(results: Results) -> ResultTable:
    """What the architectures are."""
    columns = (
        Column("Architecture"), Column("What it is"), Column("Refuels", printed=False),
        of_quantity("specific_impulse"), of_quantity("thrust", printed=False), Column("Demonstrated", printed=False),
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


def improvements(results: Results) -> ResultTable:
    """The value of each input alone at which a design closes, or stops closing."""
    columns = (
        Column("Architecture"), Column("Question"), Column("Input"), Column("Unit", kind="unit"), Column("Today", digits=4),
        Column("Value", digits=4), Column("Range low", printed=False), Column("Range high", printed=False),
        Column("Inside"), Column("Limited there by", printed=False), Column("Remark", printed=False),
    )  # fmt: skip
    found = results.improvements
    rows: list[tuple[Cell, ...]] = []
    if found is not None and len(found.reached):
        for (name, question), part in found.reached.groupby(["architecture", "question"], sort=False, observed=True):
            for row in part.sort_values("rank", kind="stable").head(MOST_IMPROVEMENTS).to_dict("records"):
                item = quantity(str(row["quantity"]))
                numbers = [item.shown(float(row[key])) for key in ("today", "value", "low", "high")]
                about = (title_of(results, str(name)), str(question), label(item.name), item.display_unit)
                rows.append((*about, *numbers, str(row["inside"]), str(row["limited_by"]), str(row["note"])))
    caption = (
        "What each input alone would have to become for the design to close, to close with room to spare, or to stop "
        f"closing: the {MOST_IMPROVEMENTS} nearest of each."
    )
    return ResultTable("improvements", caption, columns, tuple(rows), grouped=True)


def exchange(results: Results) -> ResultTable:
    """What one step of each input is worth."""
    columns = (
        Column("Architecture"), Column("One step of"), Column("Calendar"), Column("Days per hop", "d"),
        Column("Payload capacity", "kg"), Column("Jump"), Column("Remark", printed=False),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    if results.sensitivity is not None and len(results.sensitivity.exchange):
        for row in results.sensitivity.exchange.to_dict("records"):
            finite = [float(row[key]) if pd.notna(row[key]) else math.nan for key in ("days_per_hop", "payload_kg")]
            if not any(math.isfinite(one) for one in finite):
                continue
            numbers = [one if math.isfinite(one) else None for one in finite]
            about = (title_of(results, str(row["architecture"])), step_words(str(row["quantity"]), str(row["step"])))
            jump = "yes" if row["jump"] else "no"
            rows.append((*about, str(row["calendar"]), *numbers, jump, str(row["note"] or "")))
    caption = (
        "Exchange rates of the reference designs. Frozen keeps every departure on its date and gives the slope; free "
        "lets departures move, so that it can jump."
    )
    return ResultTable("exchange", caption, columns, tuple(rows), grouped=True, printed_rows=best_only(results, rows))


def stack_up(results: Results) -> ResultTable:
    """What naive estimates leave out, for the architectures that refuel."""
    metrics = {"refuel_time_mean": ("Refuelling", "s", "d"), "hop_time": ("Time per hop", "s", "yr"), "wet_mass": ("Mass", "kg", "kg")}
    columns = [Column("Architecture"), Column("Effect")]
    for heading, _, unit in metrics.values():
        columns += [Column(heading, unit), Column(f"{heading}, factor of the step", printed=False)]
    columns += [Column("Closes"), Column("Limited by")]
    rows: list[tuple[Cell, ...]] = []
    if results.sensitivity is not None and len(results.sensitivity.stackup):
        for row in results.sensitivity.stackup.to_dict("records"):
            cells: list[Cell] = []
            for metric, (_, si, unit) in metrics.items():
                cells += [finite(convert(float(row[metric]), si, unit)), finite(row[f"{metric}_step"])]
            about = (title_of(results, str(row["architecture"])), str(row["title"]))
            rows.append((*about, *cells, "yes" if row["closes"] else "no", str(row["limited_by"])))
    caption = f"The reference designs from a naive estimate to the study's own, one effect after the other. {stackup.ORDER}"
    return ResultTable("stackup", caption, tuple(columns), tuple(rows), grouped=True, printed_rows=best_only(results, rows))


def best_only(results: Results, rows: list[tuple[Cell, ...]]) -> tuple[bool, ...]:
    """Marks the rows of the best architectures that refuel, which the figures show too."""
    from tradespace.figures.waterfall import best_fed

    titles = {title_of(results, name) for name in best_fed(results)}
    return tuple(row[0] in titles for row in rows)


def finite(value: Any) -> float | None:
    """A number, or nothing."""
    return float(value) if math.isfinite(float(value)) else None


def chances(results: Results) -> ResultTable:
    """How likely the designs close."""
    columns = (
        Column("Architecture"), Column("Calendar"), Column("Draws", digits=9, printed=False), Column("Closing draws", digits=9),
        Column("Chance", "%"), Column("From", "%"), Column("To", "%"), Column("Nominal"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    samples = 0
    if results.certainty is not None:
        samples = results.certainty.samples
        for row in results.certainty.chance.to_dict("records"):
            shares = [100.0 * float(row[key]) for key in ("chance", "low", "high")]
            about = (title_of(results, str(row["architecture"])), str(row["calendar"]))
            counts = (int(row["samples"]), int(row["closing"]))
            rows.append((*about, *counts, *shares, "closes" if row["nominal_closes"] else "fails"))
    caption = (
        f"Chance that the designs close when every uncertain input is drawn ({samples} draws), with exact binomial "
        "intervals at 95 %. Free: each draw chooses its departures; frozen: it keeps those of the nominal design."
    )
    return ResultTable("chances", caption, columns, tuple(rows), grouped=True)


def assumptions(results: Results) -> ResultTable:
    """Every input with its value, range, grade and source."""
    study, taken = results.study, settings_of(results.study.options)
    columns = (
        Column("Section"), Column("Quantity"), Column("Value", digits=4), Column("Low", digits=4),
        Column("High", digits=4), Column("Unit", kind="unit"), Column("Grade"), Column("Source", kind="source"), Column("Where", printed=False),
        Column("Swept from", printed=False), Column("Swept to", printed=False), Column("Name", printed=False),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for item in quantities().values():
        if item.role not in {"input", "derived"} or item.name not in study.values:
            continue
        origin, given = taken.get(item.name, item), item.name in study.given
        low, high = study.ranges.get(item.name, (math.nan, math.nan))
        numbers = [finite(item.shown(one)) for one in (study.values[item.name], low, high)]
        points = next((one.points for one in study.sweep if one.name == item.name), ())
        ends = [item.shown(float(end(points))) if len(points) else None for end in (min, max)]
        about = ("given", "study", "") if given else (origin.grade, origin.source, origin.where)
        rows.append((item.section.capitalize(), label(item.name), *numbers, item.display_unit, *about, *ends, item.name))
    caption = (
        "Every input of the run. Given: written in the study; otherwise the default of the data tables with the source "
        "behind it."
    )
    return ResultTable("assumptions", caption, columns, tuple(rows), grouped=True)


def choices_taken(results: Results) -> ResultTable:
    """The option taken for every choice."""
    rows = []
    for choice in choices().values():
        one = choice.options[results.study.options.get(choice.name, choice.default)]
        rows.append((choice.title, one.title, ", ".join(label(name).lower() for name in one.settings)))
    columns = (Column("Choice"), Column("Option taken"), Column("Sets"))
    return ResultTable("choices", "Choices of the study and the quantities they set.", columns, tuple(rows))


def checks(_results: Results) -> ResultTable:
    """Our values beside published ones, by link."""
    from tradespace.validation import known_outcomes, summaries

    columns = (
        Column("Link"), *(Column(name, digits=9) for name in ("Checks", "Published", "Seen", "From memory", "Computed")),
        Column("Practice", digits=9), Column("Not run", digits=9), Column("Worst error over tolerance", digits=2), Column("All hold"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in summaries(known_outcomes()):
        counts = (one.checks, one.published, one.seen, one.memory, one.computed, one.practice, one.not_run)
        worst = None if one.worst is None else finite(one.worst.share)
        rows.append((one.link.capitalize(), *counts, worst, "yes" if one.holds else "no"))
    caption = (
        "Values of this version beside values from outside, by link. Published: printed in the source named, read there "
        "(seen) or recalled from it; computed: an independent program or a closed form."
    )
    return ResultTable("checks", caption, columns, tuple(rows))


