"""Designs that no other beats in all figures of merit at once: the command pareto."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.completing import complete_run
from tradespace.cli.printing import print_json, print_table, rows_of
from tradespace.errors import OutputError, printable
from tradespace.quantities import display, json_key, quantity

if TYPE_CHECKING:
    from tradespace.pareto import Fronts
    from tradespace.results import Results

SHOWN = 24
"""Rows printed of the front of all; more with --json or --csv."""


@click.command(epilog=example("tradespace pareto runs/belt --figures mission_time,start_mass"))
@click.argument("folder", metavar="RUN", type=click.Path(path_type=Path), shell_complete=complete_run)
@click.option(
    "--figures", metavar="A,B[,C,D]", help="Two to four figures of merit; else the study's own and one more."
)
@click.option("--architecture", metavar="NAME", default="", help="Only this one.")
@click.option("--csv", "table", metavar="FILE", type=click.Path(path_type=Path), help="Also write every row.")
@json_option
def pareto(folder: Path, figures: str | None, architecture: str, table: Path | None, as_json: bool) -> None:
    """Show the closing designs of a RUN that none beats in all figures of merit at once.

    For every architecture, and for all of them together. The knee is the design past which a little more of one figure
    costs much of another.
    """
    from tradespace import pareto as merits
    from tradespace import sweep

    results = sweep.read_run(folder)
    asked = [name.strip() for name in (figures or "").split(",") if name.strip()]
    found = merits.fronts(results, asked, architecture)
    if table is not None:
        write_csv(found, results, table)
    if as_json:
        print_json(content(found, results))
        return
    _print(found, results)
    if table is not None:
        click.echo(f"wrote {printable(table)}")


def _print(found: Fronts, results: Results) -> None:
    words = " and ".join(
        f"{name.replace('_', ' ')} ({side})" for name, side in zip(found.figures, found.better, strict=True)
    )
    if not found.closing:
        click.echo(f"no design of this run closes, so none can be best by {words}")
        return
    rows = [_summary(found, name) for name in dict.fromkeys(found.designs["architecture"])]
    print_table(
        ("architecture", "on its front", "of these on the front of all",
         *(f"knee: {name.replace('_', ' ')}" for name in found.figures)),
        rows,
        title=f"Best by {words}, among {found.closing} designs that close",
    )  # fmt: skip
    click.echo()
    swept = [variable.name for variable in results.study.sweep]
    front = rows_of(found.overall)
    print_table(
        ("architecture", *(name.replace("_", " ") for name in (*found.figures, *swept)), "equals", ""),
        [
            (row["architecture"], *(display(name, row[name]) for name in (*found.figures, *swept)),
             row["equals"], "knee" if row["best_knee"] else "")
            for row in _thinned(front)
        ],
        title="The front of all architectures together",
    )  # fmt: skip
    if found.apart:
        click.echo(f"apart from it, as they do not refuel: {', '.join(found.apart)}")
    if len(front) > SHOWN:
        click.echo(
            f"{SHOWN} of {len(front)} shown, evenly along the front; all of them with --json or --csv FILE"
        )


def _thinned(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Some rows evenly along the front, its ends and its knee among them."""
    if len(rows) <= SHOWN:
        return rows
    chosen = {round(place * (len(rows) - 1) / (SHOWN - 1)) for place in range(SHOWN)}
    knees = [place for place, row in enumerate(rows) if row["best_knee"]]
    for place in knees:
        chosen = {*sorted(chosen - {min(chosen - {0}, key=lambda other: abs(other - place))}), place}
    return [rows[place] for place in sorted(chosen)]


def _summary(found: Fronts, architecture: str) -> list[object]:
    """One architecture: how many there are, and its knee."""
    rows = found.of(architecture)
    knees = rows[rows["knee"]]
    shown = (
        [display(name, float(knees.iloc[0][name])) for name in found.figures]
        if len(knees)
        else ["none" if len(rows) else "-"] * len(found.figures)
    )
    return [architecture, len(rows), int(rows["overall"].sum()), *shown]


def content(found: Fronts, results: Results) -> dict[str, Any]:
    """Everything as one object, values in the unit in their key."""
    return {
        "study": results.study.name,
        "figures": list(found.figures),
        "better": list(found.better),
        "closing": found.closing,
        "apart": list(found.apart),
        "front": [
            {
                "architecture": row["architecture"],
                "design": row["design"],
                **{json_key(name): quantity(name).shown(row[name]) for name in _columns(found, results)},
                "equals": row["equals"],
                "on_front_of_all": bool(row["overall"]),
                "knee": bool(row["knee"]),
                "knee_of_all": bool(row["best_knee"]),
            }
            for row in rows_of(found.designs)
        ],
    }


def _columns(found: Fronts, results: Results) -> list[str]:
    return list(dict.fromkeys([*found.figures, *(variable.name for variable in results.study.sweep)]))


def _heading(name: str) -> str:
    """Name and unit, as a plan of the kind ``list`` reads them."""
    unit = quantity(name).display_unit
    return name if unit in {"", "1"} else f"{name} [{unit}]"


def write_csv(found: Fronts, results: Results, path: Path) -> None:
    """Every row of the fronts, values in the unit in the heading.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    rows = content(found, results)["front"]
    names = _columns(found, results)
    heads = {json_key(name): _heading(name) for name in names}
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            if rows:
                writer = csv.writer(file, lineterminator="\n")
                writer.writerow([heads.get(key, key) for key in rows[0]])
                writer.writerows(list(row.values()) for row in rows)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from error
