"""The tables of the report, each from the results or from the data files."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from tradespace.comparison import Standing
from tradespace.constants import value
from tradespace.errors import TradespaceError
from tradespace.figures.choice import swept
from tradespace.figures.moving import step_words
from tradespace.figures.style import label, number, pretty_unit, quantity_text, shown, title_of
from tradespace.figures.style import words as words_of
from tradespace.options import Choice, choices
from tradespace.quantities import Quantity, quantities, quantity
from tradespace.report.page import Markup, Row, paragraph, table, tag, text, yes_no
from tradespace.report.words import at_hop
from tradespace.results import SETTINGS, placeholder
from tradespace.sampling import swept_words
from tradespace.tables import read_table
from tradespace.units import convert
from tradespace.validity import INSIDE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tradespace.results import Results

CHANCES = {
    "tour": ("survival", "expected_bodies", "window_slack_d"),
    "surface": ("survival", "hops_per_sunlit_year"),
    "burn": ("delta_v_available",),
}
"""Columns of the ranking by kind of study; hops on one body wait for no date, and a burn goes nowhere."""
CHANCE_WORDS = {
    "tour": (
        " Chance to complete: water found at every stop it mines and every hop flown; expected stops count each stop "
        "ahead with the chance to reach it. Both follow from assumed chances, see Assumptions."
    ),
    "surface": (
        " Chance to complete: water found at every site and every hop flown, with assumed chances, see Assumptions."
    ),
    "burn": "",
}


LONGEST_SLACK = float(convert(value("refuelling_cap", SETTINGS), "s", "d"))
"""A slack further below zero than this stands for no date at all [d]."""


def cell(row: pd.Series | None, name: str) -> str:
    """A column of a design with its unit, or a dash."""
    if row is None or name not in row.index or pd.isna(row[name]):
        return "–"
    if name == "window_slack_d" and float(row[name]) < -LONGEST_SLACK:
        return "none"
    return placeholder(row, name) or quantity_text(name, float(row[name]))


def ranking(results: Results, ranked: list[Standing]) -> Markup:
    """All architectures side by side, the ones that carry everything shaded."""
    merit = results.study.figure_of_merit
    columns = [
        name
        for name in (merit, "start_mass", "refuel_time", "mission_time", *CHANCES[results.mission.kind])
        if name in results.names
    ]
    if all(curve.system is not None for curve in results.mission.windows):  # no leg waits for a date
        columns = [name for name in columns if name != "window_slack_d"]
    columns = list(dict.fromkeys(columns))
    headings = [
        "Architecture",
        "Propellant",
        "Closing",
        *(label(name) for name in columns),
        "Limited by",
        "Margin",
    ]
    rows = []
    for one in ranked:
        closing = Markup(
            f'<span class="{"yes" if one.closing else "no"}">{one.closing} of {one.designs}</span>'
        )
        limited = "–" if one.row is None else f"{one.row['limited_by']}{at_hop(one.row)}"
        margin = "–" if one.row is None else number(float(one.row["margin"]), 2)
        empty = () if one.closes else ("survival", "expected_bodies")
        empty = empty if one.refuels else (*empty, "refuel_time")
        values = ["–" if name in empty else cell(one.row, name) for name in columns]
        title = one.title if one.closes else Markup(f"{text(one.title)} {tag('does not close')}")
        rows.append(
            Row(
                [
                    title,
                    "refuels" if one.refuels else "carries all",
                    closing,
                    *values,
                    limited,
                    margin,
                ],
                "" if one.refuels else "apart",
            )
        )
    caption = (
        f"Best closing design of each architecture by {words_of(merit)} ({quantity(merit).better} is "
        "better); where none closes, "
        "the design nearest to closing. Shaded: craft that leave with all their propellant."
    ) + ("" if "survival" not in columns else CHANCE_WORDS[results.mission.kind])
    return table(
        caption, headings, rows, numeric=[2, *range(3, 3 + len(columns)), 4 + len(columns)], look="dense"
    )


def best_designs(results: Results, ranked: list[Standing]) -> Markup:
    """Swept values and main results of the designs that stand for each architecture."""
    names = [
        *swept(results),
        "dry_mass",
        "wet_mass",
        "payload_capacity",
        "specific_impulse",
        "energy_per_hop",
        "water_per_hop",
        "hops_per_year",
    ]
    names = [name for name in names if name in results.names]
    rows = [
        Row(
            [one.title, *(cell(one.row, name) for name in names), beyond(one.row)],
            "" if one.refuels else "apart",
        )
        for one in ranked
    ]
    return table(
        "The same designs in more numbers. Beyond the data: an input outside the range in which its model was "
        "measured or fitted.",
        ["Architecture", *(label(name) for name in names), "Beyond the data"],
        rows,
        range(1, len(names) + 1),
        look="dense",
    )


def beyond(row: pd.Series | None) -> str:
    """The first input of a design that lies outside the data behind its model."""
    found = "" if row is None else str(row.get("extrapolated_by", INSIDE))
    return "–" if found in {"", INSIDE} else words_of(found)


def exchange_table(results: Results) -> Markup:
    """What one step of each input is worth, calendar frozen and free; jumps as jumps."""
    if results.sensitivity is None or results.sensitivity.exchange.empty:
        return paragraph("No exchange rates were computed for this run.")
    frame = results.sensitivity.exchange
    rows: list[Row] = []
    last = ""
    for keys, group in frame.groupby(["architecture", "quantity", "step"], sort=False):
        name, item, step = (str(key) for key in keys)
        if name != last:
            rows.append(Row([title_of(results, name)], group=True))
            last = name
        frozen, free = (group[group["calendar"] == kind] for kind in ("frozen", "free"))
        payload = next((float(one) for one in group["payload_kg"] if pd.notna(one)), float("nan"))
        notes = [str(note) for note in group["note"] if pd.notna(note) and str(note)]
        rows.append(
            Row(
                [
                    sentence(step_words(item, step)),
                    days(frozen),
                    days(free),
                    signed(payload, "kg"),
                    "; ".join(dict.fromkeys(notes)),
                ]
            )
        )
    headings = [
        "One step of",
        "Days per hop, calendar frozen",
        "Days per hop, calendar free",
        "Payload capacity",
        "Remark",
    ]
    caption = (
        "Frozen keeps every departure on the reference date, so it shows the slope; free lets departures "
        "move, so it can jump to "
        "another date: a jump is not a rate and is marked as one."
    )
    return table(caption, headings, rows, (1, 2, 3))


def sentence(words: str) -> str:
    """Words that begin with a capital."""
    return words[:1].upper() + words[1:]


def days(rows: pd.DataFrame) -> Markup | str:
    """Days per hop of one calendar, marked when it is a jump."""
    if rows.empty:
        return "–"
    words = signed(float(rows.iloc[0]["days_per_hop"]), "d")
    return Markup(f"{'' if words == '–' else words} {tag('jump')}") if bool(rows.iloc[0]["jump"]) else words


def signed(value: float, unit: str) -> str:
    """A change with its sign."""
    if not math.isfinite(value):
        return "–"
    return f"{'+' if value > 0 else ''}{number(value)} {unit}"


def solutions(results: Results) -> Markup | None:
    """The value of one variable that reaches the limit asked for."""
    solve = results.study.solve
    if solve is None or results.sensitivity is None or results.sensitivity.solutions.empty:
        return None
    rows = []
    for _, row in results.sensitivity.solutions.iterrows():
        value = float(row["value"])
        found = quantity_text(str(row["variable"]), value) if math.isfinite(value) else "none in bounds"
        reached = "–" if pd.isna(row["reached"]) else reached_words(solve.column, row["reached"])
        note = "" if pd.isna(row["note"]) else str(row["note"])
        rows.append(
            Row(
                [
                    title_of(results, str(row["architecture"])),
                    found,
                    reached,
                    yes_no(bool(row["closes"])),
                    note,
                ]
            )
        )
    limit = quantity_text(solve.column, float(solve.limit))
    caption = (
        f"{label(solve.variable)} at which {words_of(solve.column)} {solve.relation} {limit}; "
        "all else as in the reference design."
    )
    return table(
        caption,
        ["Architecture", label(solve.variable), "Reached", "Closes", "Remark"],
        rows,
        (1, 2),
    )


def reached_words(column: str, reached: Any) -> Markup | str:
    """What the solver arrived at: a number of the column, or yes and no."""
    if isinstance(reached, bool) or str(reached) in {"True", "False"}:
        return yes_no(str(reached) == "True")
    return quantity_text(column, float(reached))


def assumptions(results: Results) -> Markup:
    """Every input with its value, range, grade and source."""
    study = results.study
    sections: dict[str, list[Quantity]] = {}
    for item in quantities().values():
        if item.role in {"input", "derived"} and item.name in study.values:
            sections.setdefault(item.section, []).append(item)
    rows: list[Row] = []
    for section, items in sections.items():
        rows.append(Row([section.capitalize()], group=True))
        rows += [
            choice_row(study.options, choice) for choice in choices().values() if choice.section == section
        ]
        rows += [assumption(results, item) for item in items]
        if section == "route":
            rows += site_rows(results)
    headings = ["Quantity", "Value", "Range", "Unit", "Grade", "Source", "Where"]
    caption = (
        "Every input of the run. Given: written in the study file; otherwise the default of the data table, "
        "with its source."
    )
    return table(caption, headings, rows, (1, 2))


def site_rows(results: Results) -> list[Row]:
    """The chance that no water can be won, for each place the route mines."""
    study, found = results.study, {}
    for place, stop in zip(study.places[:-1], results.mission.stops[:-1], strict=True):
        if not stop.mines or stop.name in found:
            continue
        name = f"Chance that {stop.name} is dry"
        own = study.values.get("dry_site_probability", float("nan"))
        if stop.dry_given or math.isfinite(own):
            chance = stop.dry_probability if stop.dry_given else own
            cells = [
                name,
                number(100.0 * chance),
                "–",
                "%",
                tag("given in the study", "given"),
                "study file",
                "",
            ]
        else:
            evidence = evidence_of(place.body)
            span = site_range(evidence)
            cells = [name, number(100.0 * stop.dry_probability), span, "%", "assumed", "assumed here"]
            cells.append(f"by the evidence for water there: {evidence.replace('_', ' ')}")
        found[stop.name] = Row(cells)
    return list(found.values())


def evidence_of(name: str) -> str:
    """Kind of evidence for water on a body; words where the catalogue at hand does not hold it."""
    from tradespace import bodies

    try:
        return str(bodies.body(name).water_class)
    except TradespaceError:
        return "not in this catalogue"


def site_range(evidence: str) -> str:
    """Range of the chance for a kind of evidence."""
    for row in read_table("site_values.csv").rows:
        if row["name"] == f"dry_{evidence}":
            return f"{number(100.0 * float(row['low']))} to {number(100.0 * float(row['high']))}"
    return "–"


def choice_row(taken: Mapping[str, str], choice: Choice) -> Row:
    """The option taken for a choice, as a row of the table of inputs."""
    one = choice.options[taken.get(choice.name, choice.default)]
    name = Markup(f'<span title="{text(choice.description)}">{text(choice.title)}</span>')
    words = Markup(f'<span class="nb">{text(one.name.replace("_", " "))}</span>')
    sets = ", ".join(words_of(item) for item in one.settings)
    return Row(
        [name, words, "–", "", tag("choice", "given"), "", f"{one.title}; sets {sets}" if sets else one.title]
    )


def assumption(results: Results, item: Quantity) -> Row:
    """One input as a row."""
    study, given = results.study, item.name in results.study.given
    origin = study.settings.get(item.name, item)
    words = number(float(shown(item.name, study.values[item.name])), 4)
    low, high = study.ranges.get(item.name, (float("nan"), float("nan")))
    span = (
        "–"
        if not (math.isfinite(low) and math.isfinite(high)) or low == high
        else " to ".join(number(float(shown(item.name, end)), 4) for end in (low, high))
    )
    variable = next((one for one in study.sweep if one.name == item.name and len(one.points) > 1), None)
    value: Markup | str = words
    if variable is not None:
        ends = " to ".join(
            number(float(shown(item.name, end)), 4) for end in (min(variable.points), max(variable.points))
        )
        value = Markup(f"{words} {tag(f'swept {ends}, {swept_words(study, variable)}')}")
    name = Markup(f'<span title="{text(item.description)}">{text(label(item.name))}</span>')
    grade: Markup | str = tag("given in the study", "given") if given else origin.grade
    source = "study file" if given else origin.source.replace("_", " ")
    return Row(
        [
            name,
            value,
            span,
            Markup(f'<span class="nb">{text(pretty_unit(item.display_unit))}</span>'),
            grade,
            source,
            "" if given else origin.where,
        ]
    )


def thruster_table(results: Results) -> Markup:
    """What the architectures are and how far they have been shown to work."""
    rows = []
    for name in results.architectures:
        thruster = results.study.thrusters.get(name)
        if thruster is None:
            continue
        design = results.baseline[results.baseline["architecture"] == name]
        row = None if design.empty else design.iloc[0]
        rows.append(
            Row(
                [
                    thruster.title,
                    thruster.description,
                    "at each stop" if thruster.refuels else "never",
                    cell(row, "specific_impulse"),
                    cell(row, "thrust"),
                    thruster.maturity,
                ],
                "" if thruster.refuels else "apart",
            )
        )
    headings = [
        "Architecture",
        "What it is",
        "Refuels",
        "Specific impulse",
        "Thrust at the start",
        "Demonstrated",
    ]
    return table("Specific impulse and thrust of the reference design.", headings, rows, (3, 4))
