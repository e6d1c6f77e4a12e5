"""The command that adds the effects naive estimates leave out, one at a time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import print_json, print_table, rows_of
from tradespace.errors import TradespaceError, printable, unknown_name
from tradespace.quantities import json_key, quantities

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.study import Study

FORMATS = (".html", ".pdf", ".svg", ".csv")
FIRST = ("effect", "refuels", "x", "per hop", "x", "mass", "x", "closes")
SECOND = ("effect", "refuels", "hop", "mass", "refuels", "hop", "mass", "closes alone")


@click.command(
    epilog=example("tradespace stackup outer_belt_ice_tour --architecture electrolysis_bipropellant")
)
@click.argument("study", shell_complete=complete_study)
@click.option("--architecture", metavar="NAME", help="Only this one; otherwise all that refuel.")
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE",
    help="Write a page (.html), or the waterfall of each architecture (.pdf, .svg, .csv).",
)  # fmt: skip
@json_option
def stackup(study: str, architecture: str | None, out: Path | None, as_json: bool) -> None:
    """Say what each effect that naive estimates leave out is worth in STUDY.

    From ideal thrusters, full sun and free water to the reference design, one effect at a time.
    """
    asked = load(study)
    if architecture is not None and architecture not in asked.architectures:
        raise unknown_name("architecture", architecture, asked.architectures, f"tradespace check {study}")
    if out is not None and out.suffix.lower() not in FORMATS:
        raise TradespaceError(f"--out {printable(out)}: the name must end in one of {', '.join(FORMATS)}")
    from tradespace import stackup as steps

    table = steps.stack_up(asked, None, architecture)
    if table.empty:
        raise TradespaceError(
            f"no architecture of {asked.name} refuels; name another one with --architecture"
        )
    written = [] if out is None else write_out(asked, table, out)
    if as_json:
        print_json({**content(asked, table), "written": [str(path) for path in written]})
        return
    for number, (name, rows) in enumerate(table.groupby("architecture", sort=False)):
        if number:
            click.echo()
        print_stack(asked.thrusters[str(name)].title, rows)
    click.echo()
    click.echo(steps.ORDER)
    skipped = [name for name in steps.effects() if name not in steps.switched_on(asked)]
    if skipped:
        click.echo(f"left out by the study itself: {', '.join(skipped)}")
    for path in written:
        click.echo(f"wrote {printable(path)}")


def print_stack(title: str, rows: pd.DataFrame) -> None:
    """One architecture: the steps one after the other, then products and each effect alone."""
    from tradespace import stackup as steps

    found = rows_of(rows)
    print_table(
        FIRST,
        [
            (row["title"],
             *(words for metric in steps.METRICS
               for words in (steps.said(metric, row[metric], 3), steps.factor_said(row[f"{metric}_step"]))),
             steps.verdict_said(row["closes"], row["limited_by"], row["limited_at"]))
            for row in found
        ],
        title=f"{title}: one effect after the other, each with its own multiplier",
    )  # fmt: skip
    click.echo(steps.closing_words(rows))
    click.echo()
    print_table(
        SECOND,
        [
            (row["title"],
             *(steps.factor_said(row[f"{metric}_{kind}"])
               for kind in ("total", "alone_step") for metric in steps.METRICS),
             steps.verdict_said(row["closes_alone"], row["limited_by_alone"], row["limited_at_alone"]))
            for row in found
        ],
        title="Multiples of the naive estimate: with all effects so far (left), with that one alone (right)",
    )  # fmt: skip


def content(asked: Study, table: pd.DataFrame) -> dict[str, Any]:
    """What JSON says: numbers in display units, null where there is none."""
    from tradespace import stackup as steps

    return {
        "study": asked.name,
        "order": list(steps.switched_on(asked)),
        "note": steps.ORDER,
        "architectures": {
            str(name): [_step(row) for row in rows_of(rows)]
            for name, rows in table.groupby("architecture", sort=False)
        },
    }


def _step(row: dict[str, Any]) -> dict[str, Any]:
    from tradespace import stackup as steps

    known = quantities()
    found: dict[str, Any] = {"effect": row["effect"], "title": row["title"]}
    for ending, values in (("", found), ("_alone", found.setdefault("alone", {}))):
        for metric in steps.METRICS:
            like = steps.LIKE.get(metric, metric)
            key = json_key(like).replace(like, metric)
            values[key] = known[like].shown(float(row[f"{metric}{ending}"]))
            values[f"{metric}_multiplier"] = row[f"{metric}{ending}_step"]
            if not ending:
                values[f"{metric}_product"] = row[f"{metric}_total"]
        for name in ("closes", "limited_by", "limited_at", "margin"):
            values[name] = row[f"{name}{ending}"]
    found["alone"] = found.pop("alone")
    return found


def write_out(asked: Study, table: pd.DataFrame, out: Path) -> list[Path]:
    """The page, or one file per architecture."""
    from tradespace.report import stacking

    if out.suffix.lower() == ".html":
        return [stacking.write_page(asked, table, out)]
    return stacking.write_waterfalls(asked, table, out)
