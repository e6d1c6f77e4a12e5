"""Tables of what the answer rests on and what moves it: inputs, choices, steps, chances and checks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tradespace import stackup
from tradespace.figures.moving import step_words
from tradespace.figures.style import label, title_of
from tradespace.findings.table import Cell, Column, ResultTable, columns_of, count, finite
from tradespace.options import choices
from tradespace.quantities import quantities, quantity
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.results import Results

MOST_IMPROVEMENTS = 8
"""Inputs listed for each architecture and question."""
METRICS = {
    "refuel_time_mean": ("Refuelling", "s", "d"),
    "hop_time": ("Time per hop", "s", "yr"),
    "wet_mass": ("Mass", "kg", "kg"),
}
"""What the stack-up follows: heading, unit inside and unit in print."""


def improvements(results: Results) -> ResultTable:
    """The value of each input alone at which a design closes, or stops closing."""
    columns = columns_of(
        "Architecture", "Question", "Input", Column("Unit", kind="unit"), Column("Today", digits=4),
        Column("Value", digits=4), "(Range low)", "(Range high)", "Inside", "(Limited there by)", "(Remark)",
    )  # fmt: skip
    found = results.improvements
    rows: list[tuple[Cell, ...]] = []
    if found is not None and len(found.reached):
        for (name, question), part in found.reached.groupby(
            ["architecture", "question"], sort=False, observed=True
        ):
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
    columns = columns_of(
        "Architecture", "One step of", "Calendar", Column("Days per hop", "d"), Column("Payload capacity", "kg"),
        "Jump", "(Remark)",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    if results.sensitivity is not None and len(results.sensitivity.exchange):
        for row in results.sensitivity.exchange.to_dict("records"):
            numbers = [finite(row[key]) for key in ("days_per_hop", "payload_kg")]
            if numbers == [None, None]:
                continue
            step = step_words(str(row["quantity"]), str(row["step"]))
            about = (title_of(results, str(row["architecture"])), step)
            jump = "yes" if row["jump"] else "no"
            rows.append((*about, str(row["calendar"]), *numbers, jump, str(row["note"] or "")))
    caption = (
        "Exchange rates of the reference designs. Frozen keeps every departure on its date and gives the slope; free "
        "lets departures move, so that it can jump."
    )
    return ResultTable(
        "exchange", caption, columns, tuple(rows), grouped=True, printed_rows=best_only(results, rows)
    )


def stack_up(results: Results) -> ResultTable:
    """What naive estimates leave out, for the architectures that refuel."""
    columns = [Column("Architecture"), Column("Effect")]
    for heading, _, unit in METRICS.values():
        columns += [Column(heading, unit), Column(f"{heading}, factor of the step", printed=False)]
    columns += [Column("Closes"), Column("Limited by")]
    rows: list[tuple[Cell, ...]] = []
    if results.sensitivity is not None and len(results.sensitivity.stackup):
        for row in results.sensitivity.stackup.to_dict("records"):
            cells: list[Cell] = []
            for metric, (_, si, unit) in METRICS.items():
                cells += [finite(convert(float(row[metric]), si, unit)), finite(row[f"{metric}_step"])]
            about = (title_of(results, str(row["architecture"])), str(row["title"]))
            rows.append((*about, *cells, "yes" if row["closes"] else "no", str(row["limited_by"])))
    first = "The reference designs from a naive estimate to the study's own, one effect after the other."
    caption = f"{first} {stackup.ORDER}"
    return ResultTable(
        "stackup", caption, tuple(columns), tuple(rows), grouped=True, printed_rows=best_only(results, rows)
    )


def best_only(results: Results, rows: list[tuple[Cell, ...]]) -> tuple[bool, ...]:
    """Marks the rows of the best architectures that refuel, which the figures show too."""
    from tradespace.figures.waterfall import best_fed

    titles = {title_of(results, name) for name in best_fed(results)}
    return tuple(row[0] in titles for row in rows)


def chances(results: Results) -> ResultTable:
    """How likely the designs close."""
    columns = columns_of(
        "Architecture", "Calendar", count("Draws", printed=False), count("Closing draws"), Column("Chance", "%"),
        Column("From", "%"), Column("To", "%"), "Nominal",
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
    study, taken = results.study, results.study.settings
    columns = columns_of(
        "Section", "Quantity", *(Column(name, digits=4) for name in ("Value", "Low", "High")),
        Column("Unit", kind="unit"), "Grade", Column("Source", kind="source"), "(Where)", "(Swept from)", "(Swept to)",
        "(Name)",
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
        first = (item.section.capitalize(), label(item.name))
        rows.append((*first, *numbers, item.display_unit, *about, *ends, item.name))
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
    columns = columns_of("Choice", "Option taken", "Sets")
    return ResultTable("choices", "Choices of the study and the quantities they set.", columns, tuple(rows))


def checks(_results: Results) -> ResultTable:
    """Our values beside published ones, by link."""
    from tradespace.validation import known_outcomes, summaries

    columns = columns_of(
        "Link", *map(count, ("Checks", "Published", "Seen", "From memory", "Computed", "Practice", "Not run")),
        Column("Worst error over tolerance", digits=2), "All hold",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in summaries(known_outcomes()):
        counts = (one.checks, one.published, one.seen, one.memory, one.computed, one.practice, one.not_run)
        worst = None if one.worst is None else finite(one.worst.share)
        rows.append((one.link.capitalize(), *counts, worst, "yes" if one.holds else "no"))
    caption = (
        "Values of this version beside values from outside, by link. Published: printed in the source named, read "
        "there (seen) or recalled from it; computed: an independent program or a closed form."
    )
    return ResultTable("checks", caption, columns, tuple(rows))
