"""The command that asks a finished run about its designs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.completing import complete_run
from tradespace.cli.printing import print_json, print_table
from tradespace.errors import OutputError, TradespaceError, printable
from tradespace.quantities import json_key, plain_number, quantities

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.sweep.query import Answer, Run

SHOWN = ("closes", "margin", "limited_by", "limited_at", "start_mass", "refuel_time", "mission_time")
DIGITS = 6

EXAMPLE = "tradespace query runs/belt --top 5 --where \"closes and start_mass <= '600 kg'\""


@click.command(epilog=example(EXAMPLE))
@click.argument("folder", metavar="RUN", type=click.Path(path_type=Path), shell_complete=complete_run)
@click.option("--where", default="", metavar="CLAUSE", help="Which designs; all of them without it.")
@click.option(
    "--top",
    default=10,
    show_default=True,
    type=click.IntRange(1, 1_000_000),
    metavar="N",
    help="At most so many.",
)
@click.option(
    "--by",
    default="",
    metavar="COLUMN",
    help="Best first by this column; default the study's figure of merit.",
)
@click.option(
    "--highest/--lowest", "highest", default=None, help="Which end first; default whichever is better."
)
@click.option(
    "--columns", default="", metavar="NAMES", help="Columns to give, with commas between; 'all' for all."
)
@click.option("--si", "in_si", is_flag=True, help="Values in SI instead of display units.")
@click.option(
    "--csv", "csv", type=click.Path(path_type=Path), metavar="FILE", help="Write them to a CSV file."
)
@click.option(
    "--verify", is_flag=True, help="First compare every file with its checksum, however large the run is."
)
@json_option
def query(
    folder: Path, where: str, top: int, by: str, highest: bool | None, columns: str, in_si: bool, csv: Path | None,
    verify: bool, as_json: bool,
) -> None:  # fmt: skip
    """Find designs of a finished RUN.

    CLAUSE is a WHERE clause of SQL over the columns. Numbers are SI; a quantity with its unit stands in quotes,
    behind the column it is compared with.
    """
    from tradespace.sweep.query import Run

    run = Run(folder, verify=verify)
    study = run.study
    key = by or study.figure_of_merit
    if highest is None:
        known = quantities()[key].better if key in quantities() else ""
        highest = (
            known or (study.figure_of_merit_better if key == study.figure_of_merit else "lower")
        ) == "higher"
    found = run.ask(where, _columns(run, key, columns), key, highest=highest, top=top)
    if csv is not None:
        _write_csv(found, csv, in_si=in_si)
    if as_json:
        print_json(content(folder, where, key, found, in_si=in_si))
        return
    if csv is not None:
        click.echo(f"wrote {printable(csv)}")
    else:
        shown = headed(found.rows, in_si=in_si)
        print_table(
            list(shown.columns),
            [[_cell(cell) for cell in row] for row in shown.itertuples(index=False, name=None)],
        )
    order = "highest" if highest else "lowest"
    click.echo(
        f"{found.matching} of {found.designs} designs; {len(found.rows)} shown, {order} {printable(key)} first"
    )


def _columns(run: Run, key: str, asked: str) -> list[str]:
    if asked.strip() == "all":
        return run.names
    names = [name.strip() for name in asked.split(",") if name.strip()]
    if names:
        return names
    swept = [variable.name for variable in run.study.sweep]
    return [
        name
        for name in dict.fromkeys(("architecture", *swept, key, *SHOWN))
        if name in run.names or name == key
    ]


def unit_of(column: str, *, in_si: bool) -> str:
    """The unit in which a column is given; empty when it has none."""
    from tradespace.sweep.query import quantity_of

    item = quantity_of(column)
    unit = "" if item is None else item.unit if in_si else item.display_unit
    return "" if unit == "1" else unit


def headed(rows: pd.DataFrame, *, in_si: bool) -> pd.DataFrame:
    """Rows with their values in the unit that their heading names."""
    import pandas as pd

    shown = {}
    for name in rows.columns:
        unit = unit_of(name, in_si=in_si)
        shown[f"{name} [{unit}]" if unit else name] = _values(rows, name, in_si=in_si)
    return pd.DataFrame(shown)


def _values(rows: pd.DataFrame, name: str, *, in_si: bool) -> Any:
    from tradespace.sweep.query import quantity_of
    from tradespace.units import convert

    item, column = quantity_of(name), rows[name]
    if item is None or in_si or item.unit == item.display_unit or column.dtype.kind != "f":
        return column
    return convert(column.to_numpy(), item.unit, item.display_unit)


def _cell(cell: Any) -> str:
    if isinstance(cell, bool) or type(cell).__name__ == "bool":
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return "-" if cell != cell else plain_number(cell, DIGITS)  # noqa: PLR0124  (not a number)
    return str(cell)


def _write_csv(found: Answer, path: Path, *, in_si: bool) -> None:
    if path.is_dir():
        raise OutputError(f"{path} is a folder, not a file; choose another --csv")
    try:
        headed(found.rows, in_si=in_si).to_csv(path, index=False)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}; choose another --csv") from error


def content(folder: Path, where: str, key: str, found: Answer, *, in_si: bool) -> dict[str, Any]:
    """The answer as one object; the unit of a value is in its key, or with SI beside the rows."""
    names = {name: name if in_si else _key(name) for name in found.rows.columns}
    rows = {names[name]: list(_values(found.rows, name, in_si=in_si)) for name in found.rows.columns}
    about: dict[str, Any] = {
        "run": str(folder), "where": where, "by": key, "designs": found.designs, "matching": found.matching,
    }  # fmt: skip
    if in_si:
        about["units"] = {name: unit_of(name, in_si=True) for name in names}
    return {**about, "rows": [dict(zip(rows, row, strict=True)) for row in zip(*rows.values(), strict=True)]}


def _key(name: str) -> str:
    try:
        return json_key(name)
    except TradespaceError:
        stem, _, hop = name.rpartition("_")
        return f"{_key(stem)}_{hop}" if stem in quantities() else name
