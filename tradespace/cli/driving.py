"""What moves the answer, by rates, elasticities, screening or shares of the variance: the command sensitivity."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import counting_bar, print_json, print_table, rows_of
from tradespace.cli.running import rates
from tradespace.errors import StudyError, unknown_name
from tradespace.quantities import display, quantity

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.sensitivity.driving import Progress
    from tradespace.study import Study

METHODS = ("rates", "elasticities", "screening", "variance")
SHOWN = 12
"""Rows printed for each answer; all of them with --json."""
WORDS = {
    "elasticities": "Elasticities: percent of the answer for one percent of the input, about the reference design",
    "screening": "Screening: change of the answer over the whole range of an input, others anywhere in theirs",
    "variance": "Shares of the variance: of the input alone (first), and with all it works together with (total)",
}


@click.command(epilog=example("tradespace sensitivity runs/belt --method screening"))
@click.argument("study", metavar="STUDY|RUN", shell_complete=complete_study)
@click.option(
    "--method",
    type=click.Choice(METHODS),
    default="rates",
    help="rates: one input at a time and exchange rates; elasticities: percent for percent; screening: all uncertain "
    "inputs moved about; variance: what share of the variance each input carries.",
)
@click.option("--architecture", metavar="NAME", default="", help="This one instead of the best that closes.")
@click.option(
    "--samples",
    metavar="N",
    type=click.IntRange(2),
    help="Base samples (variance) or trajectories (screening).",
)
@click.option(
    "--inputs",
    "most",
    metavar="N",
    type=click.IntRange(1),
    help="How many inputs, the strongest by screening, the variance is shared among.",
)
@json_option
def sensitivity(
    study: str, method: str, architecture: str, samples: int | None, most: int | None, as_json: bool
) -> None:  # fmt: skip
    """Say what moves the answer of a STUDY or a RUN.

    A RUN is the folder of a finished run; its rates are printed as they were stored, without evaluating again. The
    other methods evaluate about the reference design of one architecture, with departures kept on the dates of that
    design (frozen) and free.
    """
    if method == "rates":
        if samples is not None or most is not None or architecture:
            raise StudyError(
                "--architecture, --samples and --inputs belong to another method; add --method elasticities, "
                "screening or variance"
            )
        rates(study, as_json)
        return
    if method != "variance" and most is not None:
        raise StudyError("--inputs belongs to the variance; add --method variance")
    if method == "elasticities" and samples is not None:
        raise StudyError("--samples belongs to screening and variance; elasticities need no samples")
    asked, mission = _question(study)
    name = _architecture(asked, mission, architecture)
    with counting_bar("evaluating", lambda rate: f"{rate:,.0f} runs a second") as bar:
        progress = None if bar is None else lambda done, total: bar(done, total, done)
        table, notes = _worked_out(asked, mission, name, method, samples or 0, most or 0, progress)
    if as_json:
        print_json(content(asked, name, method, table, notes))
        return
    click.echo(f"{WORDS[method]}; {name}")
    for calendar in dict.fromkeys(table["calendar"]):
        part = table[table["calendar"] == calendar]
        if len(set(table["calendar"])) > 1:
            click.echo(f"\ncalendar {calendar}")
        for metric in dict.fromkeys(part["metric"]):
            click.echo()
            _print_metric(method, str(metric), part[part["metric"] == metric])
    for note in notes:
        click.echo(f"note: {note}")


def _question(text: str) -> tuple[Study, Mission]:
    from tradespace import evaluate, sweep

    if Path(text).is_dir():
        results = sweep.read_run(Path(text))
        return results.study, results.mission
    asked = load(text)
    return asked, evaluate.mission_of(asked)


def _architecture(study: Study, mission: Mission, asked: str) -> str:
    from tradespace import evaluate
    from tradespace import sensitivity as moves

    if not asked:
        return moves.driving_architectures(study, evaluate.baseline(study, mission))[0]
    if asked not in study.architectures:
        raise unknown_name("architecture of this study", asked, study.architectures)
    return asked


def _worked_out(
    study: Study, mission: Mission, name: str, method: str, samples: int, most: int, progress: Progress | None
) -> tuple[pd.DataFrame, list[str]]:
    """The table of one method with remarks in words."""
    from tradespace.sensitivity import driving, elasticities

    if method == "elasticities":
        return elasticities(study, mission, name), []
    if method == "screening":
        table, about, _ = driving.drive_screening(
            study, mission, name, trajectories=samples, progress=progress
        )
    else:
        table, about = driving.drive_variance(
            study, mission, name, samples=samples, most=most, progress=progress
        )
    notes = [
        f"{row['calendar']}: {row['runs']} runs" + (f"; {row['note']}" if row["note"] else "")
        for row in rows_of(about)
    ]
    return table, notes


def _print_metric(method: str, metric: str, rows: pd.DataFrame) -> None:
    title = metric.replace("_", " ")
    if method == "elasticities":
        smooth = rows.reindex(rows["elasticity"].abs().sort_values(ascending=False, kind="stable").index)
        print_table(
            (title, "value", "elasticity", ""),
            [
                (row["quantity"], display(row["quantity"], row["value"]),
                 "-" if row["note"] else f"{row['elasticity']:+.3f}", row["note"])
                for row in [*rows_of(smooth[smooth["note"] == ""])[:SHOWN], *rows_of(rows[rows["note"] != ""])[:SHOWN]]
            ],
        )  # fmt: skip
        return
    if method == "screening":
        strongest = rows.sort_values("strength", ascending=False, kind="stable")
        cells = ("strength", "error", "unevenness", "direction")
        print_table(
            (title, *cells),
            [
                (row["quantity"], *(_change(metric, row[key]) for key in cells))
                for row in rows_of(strongest)[:SHOWN] if row["strength"] > 0.0
            ],
        )  # fmt: skip
        return
    largest = rows.sort_values("total", ascending=False, kind="stable")
    print_table(
        (title, "first", "interval", "total", "interval"),
        [
            (row["quantity"], *(word for key in ("first", "total") for word in (
                f"{row[key]:.3f}", f"{row[f'{key}_low']:.3f} to {row[f'{key}_high']:.3f}")))
            for row in rows_of(largest)[:SHOWN]
        ],
    )  # fmt: skip


def _change(metric: str, value: float) -> str:
    """A change of an answer, in its display unit."""
    return "yes or no in " + f"{value:.0%}" if metric == "closes" else display(metric, value)


def content(study: Study, name: str, method: str, table: pd.DataFrame, notes: list[str]) -> dict[str, Any]:
    """One object; effects in the display unit of the answer, which stands beside them."""
    rows = []
    for row in rows_of(table):
        metric = quantity(row["metric"])
        if method == "screening":
            row |= {key: metric.shown(row[key]) for key in ("strength", "unevenness", "direction", "error")}
            row["unit"] = metric.display_unit
        if method == "elasticities":
            item = quantity(row["quantity"])
            row |= {"value": item.shown(row["value"]), "unit": item.display_unit}
        rows.append({key: cell for key, cell in row.items() if key != "architecture"})
    return {"study": study.name, "architecture": name, "method": method, "rows": rows, "notes": notes}
