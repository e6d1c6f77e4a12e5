"""The baseline sheet: one design per architecture, link by link, in words and numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import json_option, load
from tradespace.cli.printing import print_json, print_pairs, print_table, rows_of
from tradespace.errors import printable, unknown_name
from tradespace.quantities import display, json_key, quantities
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.study import Study

DATES = ("arrival_date", "ready_date", "departure_date", "landing_date")
TOTALS = ("dry_mass", "propellant_mass", "wet_mass", "start_mass", "launch_mass", "payload_capacity")
POWER = (
    "array_area", "array_power", "start_power", "payload_power", "keep_alive_power", "net_power",
    "cell_voltage", "split_energy", "extraction_energy", "energy_per_hop",
    "specific_impulse", "thrust", "radiator_area",
)  # fmt: skip
OUTCOME = (
    "mission_time", "hops_per_year", "refuel_time", "refuel_time_mean", "water_per_hop", "delta_v_total",
    "buffer_mass", "tank_volume", "window_slack_d", "extrapolated_by",
)  # fmt: skip
TIMELINE = (
    "arrival_date", "ready_date", "departure_date", "landing_date", "refuel_time", "wait", "time_of_flight",
    "delta_v", "propellant_used", "departure_mass",
)  # fmt: skip

Row = dict[str, Any]


@click.command()
@click.argument("study")
@click.option("--architecture", metavar="NAME", help="Only this one.")
@json_option
def baseline(study: str, architecture: str | None, as_json: bool) -> None:
    """Print the sheet of the reference design of STUDY.

    Masses, power, timeline, margins and verdict, for each architecture.
    """
    asked = load(study)
    if architecture is not None and architecture not in asked.architectures:
        raise unknown_name("architecture", architecture, asked.architectures, f"tradespace check {study}")
    from tradespace import evaluate

    rows = rows_of(evaluate.baseline(asked, architecture=architecture))
    if as_json:
        sheets = {str(row["architecture"]): sheet_content(row, asked.hops) for row in rows}
        print_json({"study": asked.name, "architectures": sheets})
        return
    for number, row in enumerate(rows):
        if number:
            click.echo()
        print_sheet(asked, row)


def verdict(row: Row) -> str:
    """Whether a design closes and which link says so.

    Examples
    --------
    >>> verdict({"closes": False, "margin": -0.25, "limited_by": "power", "limited_at": 2, "dry_mass": 1.0})
    'does not close: power falls short by 25 % at hop 2'
    """
    place = f"at hop {int(row['limited_at'])}"
    share = 100.0 * abs(float(row["margin"]))
    if row["closes"]:
        return f"closes: the smallest margin is {share:.3g} % in {row['limited_by']} {place}"
    if told(row, "dry_mass") == "no finite mass":
        return "does not close: no finite mass, every kilogram of craft asks for more than another kilogram"
    return f"does not close: {row['limited_by']} falls short by {share:.3g} % {place}"


def _present(row: Row, names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name.removesuffix("_d").replace("_", " "), told(row, name)) for name in names if name in row]


def told(row: Row, name: str) -> str:
    """A value with its unit, or words where the number only stands in for "none"."""
    from tradespace.results import placeholder

    return placeholder(row, name) or display(name, row[name])


def masses(row: Row) -> list[tuple[str, str, str]]:
    """Items of the dry mass with their share of it."""
    names = [name for name, item in quantities().items() if item.section == "mass" and name in row]
    total = float(row["dry_mass"])
    endless = bool(told(row, "dry_mass") == "no finite mass")
    items = [name for name in ("payload_mass", *names) if name in row]
    items.sort(key=lambda name: -float(row[name]))
    return [
        (
            name.replace("_", " "),
            told(row, name),
            "" if endless else f"{100.0 * float(row[name]) / total:.1f} %",
        )
        for name in items
    ]


def links(row: Row) -> list[str]:
    """Links that have a margin in this row."""
    return [
        name.removeprefix("margin_")
        for name, item in quantities().items()
        if item.section == "margin" and name in row
    ]


def hops_of(row: Row, hops: int) -> list[dict[str, Any]]:
    """The timeline, hop by hop, as it is written to JSON: dates as text, numbers in display units."""
    known = quantities()
    found = []
    for hop in range(1, hops + 1):
        entry: dict[str, Any] = {"hop": hop}
        for name, item in known.items():
            column = f"{name}_{hop}"
            if column not in row:
                continue
            if name in DATES:
                entry[name] = format_date(row[column])
            else:
                entry[json_key(name)] = item.shown(float(row[column]))
        found.append(entry)
    return found


def sheet_content(row: Row, hops: int) -> dict[str, Any]:
    """One architecture's sheet for JSON, in display units."""
    content: dict[str, Any] = {"verdict": verdict(row), "closes": bool(row["closes"])}
    content |= {"extrapolated": bool(row["extrapolated"]), "extrapolated_by": str(row["extrapolated_by"])}
    content |= {"limited_by": str(row["limited_by"]), "limited_at": int(row["limited_at"])}
    for name, item in quantities().items():
        if name in row and name not in content:
            content[json_key(name)] = item.shown(float(row[name]))
    content["hops"] = hops_of(row, hops)
    return content


def print_sheet(asked: Study, row: Row) -> None:
    """One architecture's sheet as text."""
    name = str(row["architecture"])
    click.echo(printable(f"{asked.title} - {asked.thrusters[name].title}"))
    click.echo(f"Verdict: {verdict(row)}")
    click.echo()
    print_table(("dry mass item", "mass", "share"), masses(row))
    click.echo()
    print_pairs(_present(row, TOTALS))
    click.echo("\nPower and energy")
    print_pairs(_present(row, POWER))
    click.echo("\nMission")
    print_pairs(_present(row, OUTCOME))
    click.echo("\nTimeline")
    _print_timeline(asked, row)
    click.echo("\nMargins (available over required, minus 1)")
    rows = []
    for link in links(row):
        cells = [
            display(f"margin_{link}", row.get(f"margin_{link}_{hop}")) for hop in range(1, asked.hops + 1)
        ]
        rows.append((link, display(f"margin_{link}", row[f"margin_{link}"]), *cells))
    print_table(("link", "least", *(f"hop {hop}" for hop in range(1, asked.hops + 1))), rows)


def _print_timeline(asked: Study, row: Row) -> None:
    from tradespace.results import placeholder

    names = [name for name in TIMELINE if f"{name}_1" in row]
    rows = []
    for hop in range(1, asked.hops + 1):
        cells = [
            format_date(row[f"{name}_{hop}"])
            if name in DATES
            else placeholder(row, name) or display(name, row[f"{name}_{hop}"])
            for name in names
        ]
        route = f"{asked.stops[hop - 1]} > {asked.stops[hop]}" if asked.kind == "tour" else asked.start_body
        rows.append((hop, route, *cells))
    print_table(("hop", "route", *(name.replace("_", " ") for name in names)), rows)
