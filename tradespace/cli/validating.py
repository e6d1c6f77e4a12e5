"""The command that sets our values beside published ones."""

from __future__ import annotations

import contextlib
import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.printing import number, print_json, print_table
from tradespace.cli.published import STUDIES, print_missed_studies, print_studies, study_content
from tradespace.errors import printable, unknown_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tradespace.validation import LinkSummary, Model, Outcome

MISSED = 1
WIDTH, QUANTITY_WIDTH, INDENT = 100, 35, 4
"""Columns of a wide terminal, of the quantity on it, and of what stands below."""
WIDTHS = (18, 15, 11, 10, 5)
NARROW = ("link", "checks", "published")
HEADINGS = ("quantity", "published", "ours", "error", "allowed", "holds")


@click.command(epilog=example("tradespace validate --link electrolysis"))
@click.option("--link", metavar="LINK", help="Only this link of the chain, such as storage, or studies.")
@json_option
def validate(link: str | None, as_json: bool) -> None:
    """Set our values beside published ones, with source and error.

    Ends with 1 if one misses its tolerance. Published studies, run with their own inputs, and models for which nobody
    has published a value come last.
    The first run of a version compiles the formulas and takes a minute or two.
    """
    from tradespace import validation

    names = [*validation.link_names(), STUDIES]
    if link is not None and link not in names:
        raise unknown_name("link", link, names)
    chosen = [check for check in validation.checks() if link in {None, check.link}]
    models = [model for model in validation.models() if link in {None, model.link}]
    with _progress(len(chosen)) as progress:
        outcomes = validation.evaluate(chosen, progress)
    validation.keep(outcomes)
    studies = validation.study_outcomes(validation.study_checks() if link in {None, STUDIES} else ())
    groups = validation.summaries(outcomes)
    missed = [outcome for outcome in outcomes if outcome.holds is False]
    if as_json:
        content = _content(outcomes, groups, models)
        content["studies"] = [study_content(one) for one in studies]
        content["holds"] = content["holds"] and all(one.holds is not False for one in studies)
        print_json(content)
    else:
        for group in groups:
            _print_link(group, [outcome for outcome in outcomes if outcome.check.link == group.link])
        if groups:
            _print_totals(groups, validation.summary("all", outcomes))
        print_studies(studies)
        _print_models(models)
        _print_misses(missed, len(outcomes))
        print_missed_studies(studies)
    if missed or any(one.holds is False for one in studies):
        raise click.exceptions.Exit(MISSED)


@contextlib.contextmanager
def _progress(total: int) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on stderr; nothing when stderr is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("checks"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=total)
        yield lambda done, _everything: bar.update(task, completed=done)


def _cells(outcome: Outcome) -> list[str]:
    from tradespace.validation import words

    check = outcome.check
    return [
        words.value_words(check.value, check.unit),
        words.told(outcome),
        words.error_words(outcome),
        words.allowed_words(outcome),
        words.holds_words(outcome.holds),
    ]


def summary_words(group: LinkSummary) -> str:
    """One link in a sentence."""
    from tradespace.validation import words

    worst = "" if group.worst is None else f"; worst error {words.share_words(group.worst)} of its tolerance"
    not_run = f", {group.not_run} not run" if group.not_run else ""
    end = "all hold" if group.holds else f"{group.missed} MISS"
    return (
        f"{group.link}: {group.checks} checks, {group.published} published ({group.seen} seen, "
        f"{group.memory} from memory){worst}; {end}{not_run}"
    )


def _print_link(group: LinkSummary, outcomes: Sequence[Outcome]) -> None:
    """The checks of a link: drawn on a terminal, one line each elsewhere."""
    if not sys.stdout.isatty():
        print_table(
            (*HEADINGS, "source", "conditions"),
            [
                [outcome.check.quantity, *_cells(outcome), _end(outcome), outcome.check.conditions or "-"]
                for outcome in outcomes
            ],
            title=summary_words(group),
        )
        click.echo()
        return
    from rich.console import Console
    from rich.text import Text

    console, width = Console(), _width()
    console.print(Text(summary_words(group), style="bold"))
    console.print(Text("\n".join(_lines(("", *HEADINGS[1:]), HEADINGS[0], width)), style="underline"))
    for outcome in outcomes:
        cells = ("", *_cells(outcome))
        look = {True: "", False: "bold red", None: "yellow"}[outcome.holds]
        row = "\n".join(_lines(cells, printable(outcome.check.quantity), width))
        console.print(Text(row, style=look), soft_wrap=True)
        below = [printable(line) for line in (outcome.check.conditions, _end(outcome)) if line]
        for line in below:
            for piece in textwrap.wrap(line, width - INDENT):
                console.print(Text(" " * INDENT + piece, style="dim"), soft_wrap=True)
    console.print()


def _width() -> int:
    """Columns to write in: those of the terminal, up to a readable number; that number where there is none."""
    return min(shutil.get_terminal_size((WIDTH, 1)).columns, WIDTH) if sys.stdout.isatty() else WIDTH


def _lines(cells: Sequence[str], quantity: str, width: int = WIDTH) -> list[str]:
    """A quantity, wrapped, with its numbers to the right of its first line, or below it where that is too narrow."""
    numbers = "".join(f" {printable(cell):>{column}}" for cell, column in zip(cells[1:], WIDTHS, strict=True))
    if width < WIDTH:
        return [*(textwrap.wrap(quantity, width) or [""]), f"{' ' * INDENT}{numbers}"]
    first, *more = textwrap.wrap(quantity, QUANTITY_WIDTH) or [""]
    return [f"{first:<{QUANTITY_WIDTH}}{numbers}", *(f"  {line}" for line in more)]


def _end(outcome: Outcome) -> str:
    from tradespace.validation import words

    return words.source_words(outcome) + (f" ({outcome.remark})" if outcome.remark else "")


def _print_totals(groups: Sequence[LinkSummary], total: LinkSummary) -> None:
    from tradespace.validation import words

    everyone = (*groups, total)
    columns: dict[str, list[object]] = {
        "link": [group.link for group in everyone],
        "checks": [group.checks for group in everyone],
        "published": [group.published for group in everyone],
        "seen": [group.seen for group in everyone],
        "memory": [group.memory for group in everyone],
        "computed": [group.computed for group in everyone],
        "practice": [group.practice for group in everyone],
    }
    if _width() < WIDTH:
        columns = {name: columns[name] for name in NARROW}
    if total.not_run:
        columns["not run"] = [group.not_run for group in everyone]
    columns["worst"] = [words.share_words(group.worst) for group in everyone]
    columns["holds"] = [words.holds_words(group.holds) for group in everyone]
    rows = list(zip(*columns.values(), strict=True))
    print_table(list(columns), rows, title="Checks by link; worst: largest error over its tolerance")


def _print_models(models: Sequence[Model]) -> None:
    """Two lines each, so that long titles fit."""
    if not models:
        return
    from tradespace.validation import words

    click.echo(
        "\n"
        + textwrap.fill(
            "No published value, graded estimated: central value, range, and the test that holds the model",
            _width(),
        )
    )
    for model in models:
        span = f"{number(model.low)} to {number(model.high)}"
        value = words.value_words(model.value, model.unit)
        click.echo(textwrap.fill(printable(f"{model.link}: {model.title}"), _width()))
        below = printable(f"{value} ({span}); held by {model.tested_by.partition('::')[2]}")
        indent = " " * INDENT
        click.echo(
            textwrap.fill(below, _width(), initial_indent=indent, subsequent_indent=indent)
            if sys.stdout.isatty()
            else indent + below
        )


def _print_misses(missed: Sequence[Outcome], count: int) -> None:
    from tradespace.validation import words

    if not count:
        return
    click.echo()
    if not missed:
        click.echo(f"{count} checks: none misses its tolerance")
        return
    click.echo(f"{len(missed)} of {count} checks miss their tolerance:")
    for outcome in missed:
        check = outcome.check
        why = (
            outcome.remark
            or f"ours {words.told(outcome)}, published {words.value_words(check.value, check.unit)}"
        )
        click.echo(
            printable(f"  {check.key}: {check.quantity}: {why}, allowed {words.allowed_words(outcome)}")
        )


def _content(
    outcomes: Sequence[Outcome], groups: Sequence[LinkSummary], models: Sequence[Model]
) -> dict[str, Any]:
    return {
        "checks": [_check_content(outcome) for outcome in outcomes],
        "links": {group.link: _link_content(group) for group in groups},
        "holds": all(group.holds for group in groups),
        "no_published_value": [
            {
                "link": model.link, "id": model.name, "model": model.title, "function": model.function,
                "value": model.value, "unit": model.unit, "low": model.low, "high": model.high,
                "grade": model.grade, "tested_by": model.tested_by, "note": model.note,
            }
            for model in models
        ],
    }  # fmt: skip


def _check_content(outcome: Outcome) -> dict[str, Any]:
    check = outcome.check
    return {
        "link": check.link, "id": check.name, "quantity": check.quantity, "function": check.function,
        "inputs": check.inputs, "conditions": check.conditions, "published": check.value, "ours": outcome.ours,
        "unit": check.unit, "relative_error": outcome.relative_error, "tolerance": check.tolerance,
        "tolerance_kind": check.tolerance_kind, "error_over_tolerance": outcome.share,
        "source": check.source, "where": check.where, "kind": check.kind, "note": check.note,
        "holds": outcome.holds, "remark": outcome.remark,
    }  # fmt: skip


def _link_content(group: LinkSummary) -> dict[str, Any]:
    worst = group.worst
    return {
        "checks": group.checks, "published": group.published, "seen": group.seen, "from_memory": group.memory,
        "computed": group.computed, "common_practice": group.practice, "not_run": group.not_run,
        "missed": group.missed, "worst_check": None if worst is None else worst.check.name,
        "worst_error_over_tolerance": None if worst is None else worst.share, "holds": group.holds,
    }  # fmt: skip
