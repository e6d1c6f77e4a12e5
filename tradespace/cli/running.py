"""Commands that evaluate designs: run, report and sensitivity."""

from __future__ import annotations

import contextlib
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.completing import complete_run
from tradespace.cli.printing import (
    closing_tone,
    margin_tone,
    print_heading,
    print_json,
    print_table,
    print_toned,
    rate_bar,
    rows_of,
)
from tradespace.errors import TradespaceError, printable
from tradespace.quantities import display, quantities, quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tradespace.mission import Mission
    from tradespace.results import Results, Sensitivity
    from tradespace.study import Study

FORMATS = ("pdf", "svg", "csv")
SHOWN = 8
MOST_WORKERS = 1024
SPREAD = ("at_low", "at_baseline", "at_high")


@contextlib.contextmanager
def progress_bar(total: int) -> Iterator[Callable[[int, int, int], None] | None]:
    """A bar on stderr with rate and time left; nothing when stderr is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    bar = rate_bar()
    with bar:
        task = bar.add_task("departure windows; a first run compiles the engine", total=total, rate="")
        before: list[tuple[float, int]] = []

        def show(done: int, everything: int, closing: int) -> None:
            before.append((time.monotonic(), done))
            seconds, designs = before[-1][0] - before[0][0], done - before[0][1]
            rate = f"{designs / seconds:,.0f} designs/s" if seconds > 0.0 else ""
            rest = "; what moves the answer, report" if done >= everything else ""
            bar.update(task, completed=done, description=f"{closing} close{rest}", rate=rate)

        yield show


@click.command(epilog=example("tradespace run outer_belt_ice_tour --out runs/belt"))
@click.argument("study", shell_complete=complete_study)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Folder of the run; default runs/<name>."
)
@click.option("--overwrite", is_flag=True, help="Replace a finished run in that folder.")
@click.option(
    "--resume", is_flag=True, help="Go on with an unfinished run; an error when there is none to go on with."
)
@click.option("--fresh", is_flag=True, help="Begin anew whatever unfinished run is there.")
@click.option(
    "--workers",
    type=click.IntRange(1, MOST_WORKERS),
    metavar="N",
    help="Workers on this machine; default one a processor.",
)
@click.option("--processes", is_flag=True, help="Worker processes instead of threads; the same answers.")
@click.option(
    "--cluster",
    metavar="ADDRESS",
    default="",
    help="Have the designs evaluated by the workers of a Dask scheduler, such as tcp://host:8786. It runs our code: "
    "use only a cluster you trust.",
)
@json_option
def run(
    study: str, out: Path | None, overwrite: bool, resume: bool, fresh: bool, workers: int | None, processes: bool,
    cluster: str, as_json: bool,
) -> None:  # fmt: skip
    """Evaluate every design of STUDY and write its report.

    A run that was interrupted goes on where it stopped when the same command is given again.
    """
    if resume and fresh:
        raise click.UsageError(
            "--resume goes on with an unfinished run and --fresh discards it: give one of them"
        )
    if cluster and (processes or workers):
        raise click.UsageError("--cluster has workers of its own: leave --workers and --processes out")
    asked = load(study)
    folder = out or Path("runs") / asked.name
    from tradespace import report as reports
    from tradespace import sampling, sweep
    from tradespace.sweep.certainty_file import write_certainty
    from tradespace.sweep.evidence import EVIDENCE
    from tradespace.uncertainty import with_certainty

    def finish(results: Results, place: Path) -> None:
        results = with_certainty(results)
        write_certainty(results.certainty, place / EVIDENCE)
        reports.write_report(results, place / "report.html")
        reports.write_campaign(results, place / reports.CSV_NAME)

    try:
        with progress_bar(sampling.design_count(asked)) as progress:
            results = sweep.run(
                asked,
                folder,
                overwrite=overwrite,
                progress=progress,
                analysis=analysed,
                finish=finish,
                resume=resume,
                fresh=fresh,
                workers=sweep.Workers(workers, processes, cluster),
            )
    except KeyboardInterrupt:
        click.echo("\nstopped; finished parts are kept: the same command goes on from there", err=True)
        raise click.exceptions.Exit(130) from None
    if as_json:
        print_json({**sweep.summary(results), "folder": str(folder)})
        return
    print_ranking(results)
    speed = results.designs_per_second
    rate = "" if speed is None else f", {speed:,.0f} designs per second"
    click.echo(
        f"{results.evaluated} designs evaluated in {results.seconds:.1f} s{rate}; "
        f"{results.setup_seconds:.1f} s before that for departure windows and the engine"
    )
    for note in results.notes:
        click.echo(note)
    click.echo(f"report: {printable(folder / 'report.html')}")


def analysed(study: Study, mission: Mission) -> Sensitivity:
    """What moves the answer, what each effect left out by naive estimates is worth, and what it would take to close."""
    from tradespace import breakeven, evaluate, stackup
    from tradespace import sensitivity as moves

    return replace(
        moves.analyse(study, mission),
        drivers=moves.drivers(study, mission, evaluate.baseline(study, mission)),
        stackup=stackup.stack_up(study, mission),
        improvements=breakeven.improvements(study, mission),
    )


def print_ranking(results: Results) -> None:
    """One row per architecture, the best first."""
    from tradespace.comparison import evidence_of, mark_words

    merit, better = results.study.figure_of_merit, results.study.figure_of_merit_better
    rows: list[tuple[tuple[float, float], list[object]]] = []
    counts: Any = results.counts()
    for name in results.architectures:
        best: Any = results.best(name)
        if best is None:
            choice: Any = results.candidates(name)
            row = choice.loc[choice["margin"].idxmax()]
        else:
            row = best
        value = float(row[merit])
        key = float("inf") if best is None else value if better == "lower" else -value
        shown = "none closes" if best is None else display(merit, value)
        limit = f"{row['limited_by']} at hop {int(row['limited_at'])}"
        designs, closing = (int(counts.loc[name, column]) for column in ("designs", "closing"))
        found = evidence_of(results, name)
        grade = found.mark or found.grade
        rows.append(
            (
                (key, -float(row["margin"])),
                [name, grade, designs, closing, shown, limit, display("margin", row["margin"])],
            )
        )
    rows.sort(key=lambda item: item[0])
    print_heading(results.study.title)
    print_closing([row for _, row in rows], merit, len(results.architectures))
    headings = ("architecture", "rests on", "designs", "closing", f"best {merit}", "limited by", "margin")
    tones = {"margin": margin_tone, f"best {merit}": lambda cell: closing_tone(cell) or "good"}
    print_table(headings, [row for _, row in rows], tones=tones)
    click.echo(
        f"best of the designs that close by {merit} ({better} is better); else the design nearest to closing"
    )
    words = mark_words(results)
    if words:
        click.echo(words)
    held = ", ".join(f"{name} = {display(name, point)}" for name, point in results.conditions().items())
    if held:
        click.echo(f"best and nearest at {held}: conditions, not choices")


def print_closing(rows: list[list[object]], merit: str, count: int) -> None:
    """One line: how many architectures close, and the best of them."""
    closing = [row for row in rows if row[3]]
    if closing:
        name, *_, shown, _, _ = closing[0]
        best = f"; best: {name}, {merit.replace('_', ' ')} {shown}"
        print_toned(f"{len(closing)} of {count} architectures close{best}", "good")
    else:
        name, *_, limit, margin = rows[0]
        print_toned(f"none of {count} architectures closes; nearest: {name}, {limit}, margin {margin}", "bad")
    click.echo()


@click.command(epilog=example("tradespace report runs/belt --figures pdf,csv"))
@click.argument("folder", metavar="RUN", type=click.Path(path_type=Path), shell_complete=complete_run)
@click.option("--figures", metavar="FORMATS", help="Also write the figures: any of pdf,svg,csv.")
@json_option
def report(folder: Path, figures: str | None, as_json: bool) -> None:
    """Write the report of a finished RUN again, and its figures."""
    wanted = [item.strip().lower() for item in (figures or "").split(",") if item.strip()]
    for item in wanted:
        if item not in FORMATS:
            raise TradespaceError(
                f"--figures: unknown format {printable(item)!r}; allowed: {', '.join(FORMATS)}"
            )
    from tradespace import report as reports

    written = reports.write_report_of_run(folder, figures=wanted)
    if as_json:
        print_json({"written": [str(path) for path in written]})
        return
    for path in written:
        click.echo(f"wrote {printable(path)}")


def rates(study: str, as_json: bool) -> None:
    """Print tornado, exchange rates and solutions of a study, or those that a finished run stored."""
    found = _sensitivity(study)
    if as_json:
        print_json(sensitivity_content(found))
        return
    print_table(
        ("architecture", "quantity", "low", "high", "metric", "at low", "at baseline", "at high"),
        [
            (row["architecture"], row["quantity"],
             *(display(row["quantity"], row[key]) for key in ("low", "high")),
             row["metric"], *(display(row["metric"], row[key]) for key in SPREAD))
            for row in largest_effects(found)
        ],
        title=f"One quantity at a time: the {SHOWN} largest effects on each metric (all of them with --json)",
    )  # fmt: skip
    click.echo()
    print_table(
        [name.replace("_", " ") for name in found.exchange.columns],
        [[_word(cell) for cell in row.values()] for row in rows_of(found.exchange)],
        title="Exchange rates",
    )
    if len(found.solutions):
        click.echo()
        print_table(
            ("architecture", "variable", "value", "reached", "closes", "note"),
            [
                (row["architecture"], row["variable"], display(row["variable"], row["value"]),
                 _word(row["reached"]), _word(row["closes"]), row["note"])
                for row in rows_of(found.solutions)
            ],
            title="Solved",
        )  # fmt: skip


def largest_effects(found: Sensitivity) -> list[dict[str, Any]]:
    """The first few rows of the tornado for each architecture and metric, largest spread first."""
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in rows_of(found.tornado):
        groups.setdefault((str(row["architecture"]), str(row["metric"])), []).append(row)
    chosen: list[dict[str, Any]] = []
    for rows in groups.values():
        chosen += sorted(rows, key=_spread, reverse=True)[:SHOWN]
    return chosen


def _spread(row: dict[str, Any]) -> float:
    """How far the metric moves, away from its value at the baseline too."""
    cells = [float(row[key]) for key in SPREAD]
    kept = [cell for cell in cells if cell == cell]  # noqa: PLR0124  (not a number)
    return max(kept) - min(kept) if kept else 0.0


def _sensitivity(text: str) -> Sensitivity:
    from tradespace import sensitivity as moves

    if Path(text).is_dir():
        from tradespace import sweep

        results = sweep.read_run(Path(text))
        return results.sensitivity or moves.analyse(results.study, results.mission)
    return moves.analyse(load(text))


def _word(cell: Any) -> str:
    if isinstance(cell, str):
        return cell
    if cell is None or cell != cell:  # noqa: PLR0124  (not a number)
        return "-"
    if isinstance(cell, float):
        return f"{cell:.4g}"
    return {"True": "yes", "False": "no"}.get(str(cell), str(cell))


def sensitivity_content(found: Sensitivity) -> dict[str, Any]:
    """Tornado, exchange rates and solutions, values in the unit that stands beside them."""
    known = quantities()
    tornado = []
    for row in rows_of(found.tornado):
        item, metric = quantity(row["quantity"]), known[row["metric"]]
        row |= {key: item.shown(float(row[key])) for key in ("low", "high")}
        row |= {key: metric.shown(float(row[key])) for key in SPREAD}
        tornado.append({**row, "unit": item.display_unit, "metric_unit": metric.display_unit})
    solutions = []
    for row in rows_of(found.solutions):
        item = known[row["variable"]]
        solutions.append({**row, "value": item.shown(float(row["value"])), "unit": item.display_unit})
    return {"tornado": tornado, "exchange": rows_of(found.exchange), "solutions": solutions}
