"""The command that lets a study's craft find its own tour."""

from __future__ import annotations

import contextlib
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import print_json, print_table, rate_bar
from tradespace.errors import printable
from tradespace.quantities import display
from tradespace.units import format_date

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tradespace.touring import Tours

WORDS = {"curves": ("departure curves", "bodies"), "hops": ("tours", "hops")}


@contextlib.contextmanager
def progress_bar() -> Iterator[Callable[[str, int, int, int], None] | None]:
    """A bar on stderr for the curves and then for the search; nothing when stderr is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    bar = rate_bar()
    with bar:
        task = bar.add_task("a first run compiles the engine", total=None, rate="")
        begun: dict[str, tuple[float, int]] = {}

        def show(what: str, done: int, everything: int, closing: int) -> None:
            start, first = begun.setdefault(what, (time.monotonic(), done))
            seconds = time.monotonic() - start
            title, unit = WORDS[what]
            rate = f"{(done - first) / seconds:,.0f} {unit}/s" if seconds > 0.0 else ""
            closed = f", {closing:,} hops close" if closing else ""
            bar.update(task, completed=done, total=everything, description=title + closed, rate=rate)

        yield show


@click.command(epilog=example("tradespace tour outer_belt_ice_tour --out tours"))
@click.argument("study", shell_complete=complete_study)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR",
    help="Write the tours as a page, CSV and JSON, and the best one as a study.",
)  # fmt: skip
@click.option(
    "--overwrite", is_flag=True, help="Replace what the search of another study left in that folder."
)
@click.option(
    "--workers", type=click.IntRange(min=1, max=256), metavar="N", help="Threads; default one per processor."
)
@json_option
def tour(study: str, out: Path | None, overwrite: bool, workers: int | None, as_json: bool) -> None:
    """Search which bodies, in which order, the craft of STUDY should visit."""
    asked = load(study)
    from tradespace import touring
    from tradespace.touring import folder

    if out is not None:
        folder.check_folder(out, asked, overwrite)
    with progress_bar() as progress:
        tours = touring.search(asked, workers=workers, progress=progress)
    written = [] if out is None else write_all(tours, out, overwrite)
    if as_json:
        print_json({**folder.content(tours), "written": [str(path) for path in written]})
        return
    print_tours(tours)
    for path in written:
        click.echo(f"wrote {printable(path)}")
    if out is not None:
        click.echo(f"next: tradespace run {printable(out / folder.STUDY)}")


def write_all(tours: Tours, out: Path, overwrite: bool) -> list[Path]:
    """Tables, study and the page of the tours."""
    from tradespace.report.tours import PAGE, tour_page
    from tradespace.touring import folder

    return folder.write_tours(tours, out, overwrite=overwrite, pages={PAGE: tour_page(tours)})


def print_tours(tours: Tours) -> None:
    """The best tour with its hops, the runners-up, the study's own route, and what kept other bodies out."""
    from tradespace.touring import folder, tables

    click.echo(tables.best_in_words(tours))
    click.echo(tables.own_in_words(tours))
    click.echo()
    print_table(HOP_HEADINGS, _hop_rows(tables.hop_table(tours.best)), title="Hops of the best tour")
    click.echo()
    heading = tables.merit_heading(tours)
    rows = [
        (place, " > ".join(one.names), tables.shown_merit(tours, one.merit), format_date(one.end_date),
         display("propellant_used", one.water), display("delta_v_total", float(one.hops["delta_v"].sum())),
         display("survival", one.survival))
        for place, one in enumerate(tours.found.tours[1:], start=2)
    ]  # fmt: skip
    if rows:
        print_table(
            ("rank", "runner-up", heading, "ends", "propellant", "delta-v", "survival"),
            rows,
            title="Runners-up",
        )
        click.echo()
    outside = tables.never_reached(tours)
    if outside:
        print_table(("never reached", "hops tried, by the link that failed"), outside)
        click.echo()
    click.echo(tables.search_in_words(tours))
    if tours.left_out:
        click.echo(tables.left_out_in_words(tours))
    click.echo(_resized(tours, folder.resized(tours)))
    click.echo(tables.CAUTION)


HOP_HEADINGS = (
    "hop", "from", "to", "arrives", "refuels", "departs", "lands", "delta-v", "water mined", "propellant", "energy",
    "least margin", "survival", "elapsed",
)  # fmt: skip


def _hop_rows(frame: Any) -> list[tuple[object, ...]]:
    return [
        (row.hop, row.departure_body, row.arrival_body, format_date(row.arrival_date),
         display("refuel_time", row.refuel_time), format_date(row.departure_date), format_date(row.landing_date),
         display("delta_v", row.delta_v), display("water_mined", row.water_mined),
         display("propellant_used", row.propellant_used), display("energy", row.energy),
         f"{display('margin', row.margin)} ({row.limited_by})", display("survival", row.survival),
         display("elapsed", row.elapsed, 3))
        for row in frame.itertuples(index=False)
    ]  # fmt: skip


def _resized(tours: Tours, found: dict[str, Any]) -> str:
    """What a craft sized for the best tour would be."""
    mass = display("start_mass", found["start_mass_kg"])
    old = display("start_mass", found["start_mass_of_the_search_kg"])
    margin = (
        f"margin {display('margin', found['margin'])}, {found['limited_by']} at hop {found['limited_at']}"
    )
    closes = "closes" if found["closes"] else "does not close"
    return (
        f"The {tours.vehicle.architecture} craft of the search stands at the start with {old}; sized anew for the best "
        f"tour it would have {mass} and {closes} ({margin})."
    )
