"""The published studies as ``tradespace validate`` prints them: both numbers side by side, and why they differ."""

from __future__ import annotations

import shutil
import sys
import textwrap
from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.printing import print_table
from tradespace.errors import printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tradespace.validation import StudyOutcome

STUDIES = "studies"
"""Name by which the published studies are asked for, beside the links of the chain."""
WIDTH, INDENT, PERCENT = 100, 4, 100.0


def print_studies(outcomes: Sequence[StudyOutcome]) -> None:
    """Each published study with its numbers, ours beside them, and a sentence where they differ."""
    if not outcomes:
        return
    from tradespace.validation import study_title

    click.echo("\nPublished studies, run with their own inputs")
    for study, group in groupby(outcomes, key=lambda outcome: outcome.check.study):
        found = list(group)
        rows = [
            [
                one.check.quantity, f"{one.check.value:g} {unit(one.check.unit)}".strip(), told(one), apart(one),
                holds(one), one.check.kind,
            ]
            for one in found
        ]  # fmt: skip
        click.echo()
        print_table(
            ("quantity", "published", "ours", "apart", "holds", "where from"), rows, title=study_title(study)
        )
        for one in found:
            text = one.remark or one.check.note
            if text:
                _print_note(f"{one.check.quantity}: {text} ({one.check.source.replace('_', ' ')})")


def _print_note(words: str) -> None:
    text = printable(words)
    if not sys.stdout.isatty():
        click.echo(" " * INDENT + text)
        return
    width = min(shutil.get_terminal_size((WIDTH, 1)).columns, WIDTH)
    indent = " " * INDENT
    click.echo(textwrap.fill(text, width, initial_indent=indent, subsequent_indent=2 * indent))


def unit(name: str) -> str:
    """A unit after a number; pure numbers have none."""
    return "" if name == "1" else name


def told(outcome: StudyOutcome) -> str:
    """Our value with its unit."""
    if outcome.ours is None:
        return "-"
    return f"{outcome.ours:.4g} {unit(outcome.check.unit)}".strip()


def apart(outcome: StudyOutcome) -> str:
    """How far ours lies from the published value."""
    return "-" if outcome.relative_error is None else f"{PERCENT * outcome.relative_error:+.2g} %"


def holds(outcome: StudyOutcome) -> str:
    """Whether it agrees; ``shown`` where the two are only set side by side."""
    if outcome.holds is None:
        return "shown" if outcome.ours is not None else "-"
    return "yes" if outcome.holds else "NO"


def print_missed_studies(outcomes: Sequence[StudyOutcome]) -> None:
    """A line for each number that misses its tolerance."""
    missed = [one for one in outcomes if one.holds is False]
    if not missed:
        return
    click.echo(f"{len(missed)} of {len(outcomes)} numbers of published studies miss:")
    for one in missed:
        why = one.remark or f"ours {told(one)}, published {one.check.value:g} {unit(one.check.unit)}"
        click.echo(printable(f"  {one.check.study}: {one.check.quantity}: {why}"))


def study_content(outcome: StudyOutcome) -> dict[str, Any]:
    """One number of a published study for JSON."""
    check = outcome.check
    return {
        "study": check.study, "id": check.name, "quantity": check.quantity, "architecture": check.architecture,
        "changes": check.changes, "body": check.body, "output": check.output, "published": check.value,
        "ours": outcome.ours, "unit": check.unit, "relative_error": outcome.relative_error,
        "tolerance": check.tolerance, "tolerance_kind": check.tolerance_kind, "source": check.source,
        "where": check.where, "kind": check.kind, "note": check.note, "holds": outcome.holds,
        "remark": outcome.remark,
    }  # fmt: skip
