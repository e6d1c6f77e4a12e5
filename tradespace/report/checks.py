"""Our values beside published ones: a summary by link, and every row folded below it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tradespace.report.page import Markup, Row, details, paragraph, table, text, yes_no
from tradespace.report.tables import sentence
from tradespace.tables import read_table
from tradespace.validation import known_outcomes, models, summaries, summary, words

if TYPE_CHECKING:
    from tradespace.validation import LinkSummary, Outcome


def check_parts() -> list[Markup]:
    """The section: verdict of the checks, links, rows, models without a published value, sources."""
    outcomes = known_outcomes()
    return [
        paragraph(lead(outcomes)),
        *missing_note(outcomes),
        *misses(outcomes),
        link_table(outcomes),
        *folded(outcomes),
        *model_table(),
        details("Sources of the checks", source_table(outcomes), "long"),
    ]


def lead(outcomes: Sequence[Outcome]) -> str:
    """What was compared, and how it went."""
    total = summary("all", list(outcomes))
    if total.worst is None:
        return "No value of this version has been set beside a published one."
    run = total.checks - total.not_run
    went = "every one agrees" if total.holds else f"all but {total.missed} agree"
    practice = f" and {total.practice} are common practice" if total.practice else ""
    return (
        f"The formulas behind these pages, in the version that wrote them, are set beside {total.checks} values from "
        f"outside: {total.published} are printed in the source named ({total.seen} read there, {total.memory} "
        f"recalled from it), {total.computed} come from an independent program or a closed form{practice}. Of the "
        f"{run} that were run, {went} within the tolerance set for it beforehand; the largest error takes "
        f"{words.share_words(total.worst)} of its tolerance ({total.worst.check.link}: {total.worst.check.quantity})."
    )


def missing_note(outcomes: Sequence[Outcome]) -> list[Markup]:
    """How many checks were not run, and how to run them."""
    count = sum(outcome.holds is None for outcome in outcomes)
    if not count:
        return []
    return [
        paragraph(
            f"{count} checks take seconds or need a further library and were not run for this page; tradespace "
            "validate runs them and keeps the answers for the next report.",
            look="note",
        )
    ]


def misses(outcomes: Sequence[Outcome]) -> list[Markup]:
    """The checks that do not hold, in full view."""
    missed = [outcome for outcome in outcomes if outcome.holds is False]
    if not missed:
        return []
    return [check_table(missed, "Checks that miss their tolerance.")]


def link_table(outcomes: Sequence[Outcome]) -> Markup:
    """One row per link."""
    rows = [link_row(group) for group in summaries(outcomes)]
    rows.append(link_row(summary("all links", list(outcomes)), "apart"))
    headings = ["Link", "Checks", "Published", "Seen", "From memory", "Computed", "Practice", "Not run"]
    caption = (
        "Checks by link. Published: printed in the source; seen: read there for this check. Worst: largest error over "
        "its tolerance."
    )
    return table(caption, [*headings, "Worst", "All hold"], rows, range(1, 9))


def link_row(group: LinkSummary, look: str = "") -> Row:
    """A link in numbers."""
    counts = [group.checks, group.published, group.seen, group.memory, group.computed, group.practice]
    name = group.link.capitalize()
    return Row([name, *counts, group.not_run, words.share_words(group.worst), yes_no(group.holds)], look)


def folded(outcomes: Sequence[Outcome]) -> list[Markup]:
    """Every check, folded away link by link."""
    found = []
    for group in summaries(outcomes):
        rows = [outcome for outcome in outcomes if outcome.check.link == group.link]
        head = (
            f"{group.link.capitalize()}, value by value: {group.checks} checks, {group.published} published"
        )
        caption = f"Checks of the link {group.link}: the value from outside, ours, and the difference."
        found.append(details(head, check_table(rows, caption), "long"))
    return found


def check_table(outcomes: Sequence[Outcome], caption: str) -> Markup:
    """Checks with their conditions, both values and their source."""
    rows = []
    for outcome in outcomes:
        check = outcome.check
        small = [
            check.conditions,
            f"{check.kind}: {check.source.replace('_', ' ')}, {check.where}",
            outcome.remark,
        ]
        rows.append(
            Row(
                [
                    above(sentence(check.quantity), small),
                    words.value_words(check.value, check.unit),
                    dashed(words.told(outcome)),
                    dashed(words.error_words(outcome)),
                    words.allowed_words(outcome),
                    "–" if outcome.holds is None else yes_no(outcome.holds),
                ]
            )
        )
    headings = ["Quantity, conditions, source", "Published", "Ours", "Error", "Allowed", "Holds"]
    return table(caption, headings, rows, range(1, 5))


def above(first: str, small: Sequence[str]) -> Markup:
    """Several lines in a cell, all but the first one small."""
    return Markup(text(first) + "".join(f"<small>{text(line)}</small>" for line in small if line))


def dashed(cell: str) -> str:
    """A typographic dash where there is no value."""
    return "–" if cell == "-" else cell


def model_table() -> list[Markup]:
    """Models for which nobody has published a value."""
    rows: list[Row] = []
    last = ""
    for model in models():
        if model.link != last:
            rows.append(Row([model.link.capitalize()], group=True))
            last = model.link
        span = f"{words.number_words(model.low)} to {words.number_words(model.high)}"
        rows.append(
            Row(
                [
                    sentence(model.title),
                    words.value_words(model.value, model.unit),
                    span,
                    model.grade,
                    model.note,
                ]
            )
        )
    if not rows:
        return []
    caption = (
        "No published value exists to check these against: the central value, its range, and what limits it. "
        "Tests hold each to its limits."
    )
    inside = table(caption, ["Model", "Value", "Range", "Grade", "Remark"], rows, (1, 2))
    return [details(f"Models without a published value: {sum(not row.group for row in rows)}", inside)]


def source_table(outcomes: Sequence[Outcome]) -> Markup:
    """The sources the checks name."""
    keys = {key for outcome in outcomes for key in outcome.check.source.split(";")}
    rows = [
        Row(
            [
                row["key"].replace("_", " "),
                row["authors"],
                row["year"],
                row["title"],
                row["where"],
                row["note"],
            ]
        )
        for row in read_table("sources.csv").rows
        if row["key"] in keys
    ]
    headings = ["Source", "Authors", "Year", "Title", "Where", "Remark"]
    return table("Sources of the published values, by key.", headings, rows)
