"""How sure we are: the command uncertainty."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import counting_bar, print_json, print_table, rows_of
from tradespace.errors import TradespaceError, printable
from tradespace.quantities import display, json_key, quantities, quantity

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Certainty
    from tradespace.study import Study

FORMATS = (".html",)
LINKS_SHOWN, INPUTS_SHOWN = 2, 4
AMONG = {"all": "all draws", "closing": "draws that close"}


@click.command(epilog=example("tradespace uncertainty ceres_ice_unknown --samples 256"))
@click.argument("study", shell_complete=complete_study)
@click.option("--architecture", metavar="NAME", help="Only this one, with all its percentiles.")
@click.option("--samples", type=int, metavar="N", help="Draws for each chance, a power of two.")
@click.option(
    "--design", "which", default="best", metavar="best|baseline|NUMBER",
    help="Which design is examined: the best of the sweep, the study's own, or one by its number in the plan.",
)  # fmt: skip
@click.option(
    "--map", "axes", nargs=2, metavar="A B", help="Swept variables of the maps, if not the study's own."
)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.html", help="Write the figures as a page."
)
@json_option
def uncertainty(
    study: str,
    architecture: str | None,
    samples: int | None,
    which: str,
    axes: tuple[str, str] | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Say how likely the designs of STUDY close, and what that hangs on.

    The chance of closing with its interval, percentiles, the inputs that carry the variance, the robust optimum, and
    the smallest value of the variable of [solve], all with the chance asked for in [uncertainty].
    """
    asked = load(study)
    if out is not None and out.suffix.lower() not in FORMATS:
        raise TradespaceError(f"--out {printable(out)}: the name must end in {FORMATS[0]}")
    from tradespace import uncertainty as room
    from tradespace.evaluate import mission_of

    names = None if architecture is None else [room.known_architecture(asked, architecture, study)]
    mission = mission_of(asked)
    with counting_bar("architectures, twice", lambda rate: f"{rate:,.0f} designs/s") as progress:
        found = room.doubts(
            asked, mission, architectures=names, samples=samples, which=which, axes=axes, progress=progress
        )
    written = []
    if out is not None:
        from tradespace.report import certainty as page

        written.append(page.write_page(asked, mission, found, out))
    if as_json:
        print_json({**certainty_content(asked, found), "written": [str(path) for path in written]})
        return
    print_certainty(asked, found, whole=architecture is not None)
    for path in written:
        click.echo(f"wrote {printable(path)}")


def percent(share: float) -> str:
    """A chance in per cent, with the digits that the ends 0 and 100 % need.

    Examples
    --------
    >>> percent(0.834), percent(0.9995), percent(0.0), percent(float("nan"))
    ('83.4 %', '99.95 %', '0 %', '-')
    """
    if share != share:  # noqa: PLR0124  (not a number)
        return "-"
    away = min(share, 1.0 - share)
    digits = 1 if away >= 0.01 or away in {0.0, 1.0} else 2
    return f"{100.0 * share:.{digits}f}".rstrip("0").rstrip(".") + " %"


def chance_words(row: dict[str, Any]) -> str:
    """A chance with its interval."""
    if row["chance"] != row["chance"]:
        return "-"
    return f"{percent(row['chance'])} ({percent(row['low'])} to {percent(row['high'])})"


def print_certainty(asked: Study, found: Certainty, *, whole: bool) -> None:
    """All tables for people."""
    from tradespace.uncertainty import RULE
    from tradespace.uncertainty.drivers import RULE as SHARE_RULE
    from tradespace.uncertainty.robust import RULE as ROBUST_RULE

    inputs = asked.uncertain.inputs
    stated = (
        "stated in the study" if all(item.stated for item in inputs) else "every one with a range of its own"
    )
    click.echo(printable(f"{asked.title}: {len(inputs)} uncertain inputs, {stated}; {found.samples} draws"))
    click.echo()
    print_chances(asked, found)
    if whole:
        click.echo()
        print_percentiles(found)
    print_drivers(found)
    print_optima(asked, found)
    print_solutions(found)
    click.echo(f"\n{RULE}.\n{SHARE_RULE}.")
    if len(found.optima):
        click.echo(f"{ROBUST_RULE}.")
    click.echo(f"{found.evaluated:,} designs evaluated; --json gives every row and digit.".replace(",", " "))


def print_chances(asked: Study, found: Certainty) -> None:
    """A row for each architecture and calendar."""
    from tradespace.uncertainty import percentiles_of

    merit = asked.figure_of_merit
    middle = percentiles_of(found.percentiles, merit, "closing", (0.05, 0.5, 0.95))
    rows = []
    for row in rows_of(found.chance):
        key = (row["architecture"], row["calendar"])
        spread = [display(merit, value) for value in middle.get(key, [])]
        rows.append(
            (row["architecture"], row["calendar"], chance_words(row), "closes" if row["nominal_closes"] else "fails",
             limit_words(found.limits, key), *(spread or ["-"] * 3))
        )  # fmt: skip
    headings = (
        "architecture",
        "calendar",
        "closes with",
        "nominal",
        "limited by",
        f"{merit}: 5 %",
        "50 %",
        "95 %",
    )
    print_table(
        headings, rows, title=f"Chance of closing ({design_words(found)}); {merit} of the draws that close"
    )


def design_words(found: Certainty) -> str:
    """Which designs are examined."""
    return " or ".join(dict.fromkeys(found.chance["design"].astype(str)))


def limit_words(table: pd.DataFrame, key: tuple[str, str]) -> str:
    """The links that bind most often."""
    rows = table[(table["architecture"] == key[0]) & (table["calendar"] == key[1])].head(LINKS_SHOWN)
    return ", ".join(f"{row['link']} {percent(row['binding'])}" for row in rows_of(rows))


def print_percentiles(found: Certainty) -> None:
    """Every figure at five shares."""
    from tradespace.uncertainty import SHOWN, percentiles_of

    metrics = list(dict.fromkeys(found.percentiles["metric"].astype(str)))
    rows = []
    for among, words in AMONG.items():
        for metric in metrics:
            for (_, calendar), values in percentiles_of(found.percentiles, metric, among, SHOWN).items():
                rows.append((metric, words, calendar, *(never_or(metric, value) for value in values)))
    headings = ("figure", "among", "calendar", *(f"{100.0 * share:.0f} %" for share in SHOWN))
    print_table(headings, rows, title="Percentiles")


def never_or(metric: str, value: float) -> str:
    """A value with its unit, or "never" for a time that stands for none."""
    from tradespace.results import placeholder

    words = placeholder({"refuel_time": value}, metric) if metric.endswith("_time") else ""
    return words or display(metric, value)


def print_drivers(found: Certainty) -> None:
    """The inputs that carry most of the variance of margin and closing."""
    rows = []
    free = found.drivers[found.drivers["calendar"] == "free"] if len(found.drivers) else found.drivers
    for (name, metric), part in free.groupby(["architecture", "metric"], sort=False):
        key = "total" if part["total"].notna().any() else "rank_share"
        if not (part[key] > 0.0).any():
            continue
        first = part.sort_values(key, ascending=False, kind="stable").head(INPUTS_SHOWN)
        words = "total" if key == "total" else "rank"
        rows.append(
            (
                name,
                metric,
                words,
                ", ".join(f"{row['quantity']} {percent(row[key])}" for row in rows_of(first)),
            )
        )
    if rows:
        click.echo()
        print_table(
            ("architecture", "of", "share", f"the {INPUTS_SHOWN} largest"), rows,
            title="Inputs that carry the variance, calendar free",
        )  # fmt: skip


def print_optima(asked: Study, found: Certainty) -> None:
    """Nominal and robust optimum side by side."""
    if not len(found.optima):
        return
    merit, swept = asked.figure_of_merit, asked.swept
    rows = [
        (row["architecture"], row["kind"], display(merit, row["merit"]) if row["samples"] else "-",
         display(merit, row["median"]) if row["samples"] else "-", chance_words(row),
         *(display(name, row[name]) if row["samples"] else "-" for name in swept), row["note"])
        for row in rows_of(found.optima)
    ]  # fmt: skip
    click.echo()
    print_table(
        ("architecture", "optimum", merit, "median", "closes with", *swept, "note"), rows,
        title=f"Best by nominal {merit}: of all that close, and of those that close with {percent(found.asked)}",
    )  # fmt: skip


def print_solutions(found: Certainty) -> None:
    """The smallest value that will do."""
    if not len(found.solutions):
        return
    rows = [
        (row["architecture"], row["condition"],
         *(display(row["variable"], row[key]) if row[key] == row[key] else "-" for key in ("nominal", "value")),
         chance_words(row), row["note"])
        for row in rows_of(found.solutions)
    ]  # fmt: skip
    variable = str(found.solutions["variable"].iloc[0])
    click.echo()
    print_table(
        ("architecture", "until it", "nominal", f"with {percent(found.asked)}", "chance there", "note"), rows,
        title=f"Smallest {variable}, all else as in the design examined",
    )  # fmt: skip


def certainty_content(asked: Study, found: Certainty) -> dict[str, Any]:
    """Everything for JSON, values in display units."""
    from tradespace.uncertainty import RULE, SHOWN

    known = quantities()
    inputs = [
        {"quantity": item.name, "kind": item.kind, "grade": item.grade, "stated": item.stated}
        for item in asked.uncertain.inputs
    ]
    places = found.percentiles["share"].round(6).isin([round(share, 6) for share in SHOWN])
    percentiles = [
        {**row, "value": known[row["metric"]].shown(row["value"]), "unit": known[row["metric"]].display_unit}
        for row in rows_of(found.percentiles[places])
    ]
    return {
        "study": asked.name, "rule": RULE, "asked_chance": found.asked, "samples": found.samples,
        "designs_evaluated": found.evaluated, "inputs": inputs, "correlated": asked.uncertain.correlation is not None,
        "chances": rows_of(found.chance), "percentiles": percentiles, "limits": rows_of(found.limits),
        "variance": rows_of(found.drivers), "optima": [optimum_content(asked, row) for row in rows_of(found.optima)],
        "solutions": [line_content(row, ("nominal", "value")) for row in rows_of(found.solutions)],
        "curve": [line_content(row, ("value",)) for row in rows_of(found.curve)],
        "map": [cell_content(asked, row) for row in rows_of(found.plane)],
    }  # fmt: skip


def optimum_content(asked: Study, row: dict[str, Any]) -> dict[str, Any]:
    """An optimum in display units."""
    item = quantity(asked.figure_of_merit)
    kept = {key: cell for key, cell in row.items() if key not in asked.swept}
    kept |= {key: item.shown(float(row[key])) for key in ("merit", "median")}
    kept["unit"] = item.display_unit
    return kept | {json_key(name): quantity(name).shown(float(row[name])) for name in asked.swept}


def line_content(row: dict[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    """Values of a variable in its display unit."""
    item = quantity(row["variable"])
    return {**row, **{key: item.shown(float(row[key])) for key in keys}, "unit": item.display_unit}


def cell_content(asked: Study, row: dict[str, Any]) -> dict[str, Any]:
    """A cell of a map in display units."""
    kept = {key: row[key] for key in ("architecture", "chance", "margin", "samples")}
    kept["merit"] = quantity(asked.figure_of_merit).shown(float(row["merit"]))
    ends = ((row["first"], row["x"]), (row["second"], row["y"]))
    return kept | {json_key(name): quantity(name).shown(float(value)) for name, value in ends}
