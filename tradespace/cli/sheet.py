"""The baseline sheet: one design per architecture, link by link, in words and numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import (
    closing_tone,
    margin_tone,
    print_heading,
    print_json,
    print_pairs,
    print_table,
    print_toned,
    rows_of,
)
from tradespace.errors import printable, unknown_name
from tradespace.quantities import display, json_key, quantities
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

TOTALS = ("dry_mass", "propellant_mass", "wet_mass", "start_mass", "launch_mass", "payload_capacity")
POWER = (
    "array_area", "array_power", "start_power", "payload_power", "keep_alive_power", "net_power",
    "cell_voltage", "split_energy", "extraction_energy", "energy_per_hop",
    "specific_impulse", "thrust", "radiator_area",
)  # fmt: skip
OUTCOME = (
    "mission_time", "hops_per_year", "hops_per_sunlit_year", "survival", "expected_bodies",
    "refuel_time", "refuel_time_mean", "water_per_hop", "delta_v_total",
    "buffer_mass", "tank_volume", "window_slack_d", "extrapolated_by",
)  # fmt: skip
OVERVIEW = ("start_mass", "specific_impulse", "refuel_time", "mission_time")
WIDTH = 100
MOST = 7
"""Characters of a line of the tables of hops, and hops whose margins one line holds."""

Row = dict[str, Any]


@click.command(epilog=example("tradespace baseline ceres_surface_hopper --architecture steam_resistojet"))
@click.argument("study", shell_complete=complete_study)
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

    mission = evaluate.mission_of(asked)
    rows = rows_of(evaluate.baseline(asked, mission, architecture))
    if as_json:
        sheets = {str(row["architecture"]): sheet_content(asked, mission, row) for row in rows}
        print_json({"study": asked.name, "architectures": sheets})
        return
    if len(rows) > 1:
        print_overview(rows)
    for number, row in enumerate(rows):
        if number or len(rows) > 1:
            click.echo()
        print_sheet(asked, mission, row)


def print_overview(rows: list[Row]) -> None:
    """The reference design of every architecture on one line, those that close first."""
    ordered = sorted(rows, key=lambda row: (not row["closes"], -float(row["margin"])))
    lines = [
        (
            row["architecture"],
            "yes" if row["closes"] else f"no: {row['limited_by']} at hop {int(row['limited_at'])}",
            display("margin", row["margin"]),
            *(told(row, name) if name in row else "-" for name in OVERVIEW),
        )
        for row in ordered
    ]
    print_table(
        ("architecture", "closes", "margin", *(name.replace("_", " ") for name in OVERVIEW)),
        lines,
        title="The reference design of each architecture",
        tones={"closes": closing_tone, "margin": margin_tone},
    )


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


def hops_of(asked: Study, mission: Mission, row: Row) -> list[dict[str, Any]]:
    """The timeline, hop by hop, as it is written to JSON: dates as text, numbers in display units."""
    from tradespace.itinerary import BURNS, DATES, legs, value

    known = quantities()
    found = []
    for leg in legs(asked, mission):
        hop = leg.hop
        entry: dict[str, Any] = {
            "hop": hop, "from": leg.here, "to": leg.there, "stop": leg.stop, "leg": leg.kind,
            "priced_as": BURNS.get(value(row, "pricing", hop, mission)),
        }  # fmt: skip
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


def sheet_content(asked: Study, mission: Mission, row: Row) -> dict[str, Any]:
    """One architecture's sheet for JSON, in display units."""
    content: dict[str, Any] = {"verdict": verdict(row), "closes": bool(row["closes"])}
    content |= {"extrapolated": bool(row["extrapolated"]), "extrapolated_by": str(row["extrapolated_by"])}
    content |= {"limited_by": str(row["limited_by"]), "limited_at": int(row["limited_at"])}
    for name, item in quantities().items():
        if name in row and name not in content:
            content[json_key(name)] = item.shown(float(row[name]))
    content["hops"] = hops_of(asked, mission, row)
    return content


def print_sheet(asked: Study, mission: Mission, row: Row) -> None:
    """One architecture's sheet as text."""
    name = str(row["architecture"])
    print_heading(f"{asked.title} - {asked.thrusters[name].title}")
    print_toned(f"Verdict: {verdict(row)}", "good" if row["closes"] else "bad")
    click.echo()
    print_table(("dry mass item", "mass", "share"), masses(row))
    click.echo()
    print_pairs(_present(row, TOTALS))
    click.echo()
    print_heading("Power and energy")
    print_pairs(_present(row, POWER))
    click.echo()
    print_heading("Mission")
    print_pairs(_present(row, OUTCOME))
    print_hops(asked, mission, row)
    click.echo()
    print_heading("Margins (available over required, minus 1)")
    print_margins(asked, row)


def print_margins(asked: Study, row: Row) -> None:
    """The margin of every link, on every hop where a line holds them all."""
    hops = range(1, asked.hops + 1)
    lines: list[tuple[object, ...]] = []
    for link in links(row):
        values = [float(row[f"margin_{link}_{hop}"]) for hop in hops]
        least = display(f"margin_{link}", row[f"margin_{link}"])
        each = [display(f"margin_{link}", value) for value in values]
        lines.append(
            (link, least, *each) if asked.hops <= MOST else (link, least, 1 + values.index(min(values)))
        )
    headings = [f"hop {hop}" for hop in hops] if asked.hops <= MOST else ["at hop"]
    tones = {heading: margin_tone for heading in ("least", *headings) if heading != "at hop"}
    print_table(("link", "least", *headings), lines, tones=tones)


def print_hops(asked: Study, mission: Mission, row: Row) -> None:
    """The campaign hop by hop, and what it has taken at each landing."""
    from tradespace.itinerary import LEG_ITEMS, STOP_ITEMS, TOTAL_ITEMS, cells, legs, present

    route = legs(asked, mission)
    own = present(row, {**STOP_ITEMS, **LEG_ITEMS}, mission)
    if asked.kind == "surface":
        own.pop("own_survival", None)
    parts = (
        ("Timeline, hop by hop", own),
        ("Since the start, at each landing", present(row, TOTAL_ITEMS, mission)),
    )
    for title, items in parts:
        click.echo()
        print_heading(title)
        lines = cells(row, list(items), route, mission, display)
        if asked.kind == "surface":
            click.echo(f"on {asked.start_body}, in days since {format_date(asked.start_date)}")
            print_table(
                ("hop", *(words.lower() for words in items.values())),
                [(leg.hop, *line) for leg, line in zip(route, zip(*lines, strict=True), strict=True)],
            )
            continue
        rows = [[words.lower(), *line] for words, line in zip(items.values(), lines, strict=True)]
        ends = [["from", *(leg.here for leg in route)], ["to", *(leg.there for leg in route)]]
        kinds = [["stop", *(leg.stop for leg in route)], ["leg", *(leg.kind for leg in route)]]
        print_side_by_side(ends + (kinds if items is own else []) + rows, asked.hops)


def print_side_by_side(rows: list[list[str]], hops: int) -> None:
    """Hops beside one another, as many as a line holds, the rest below."""
    widths = [max(6, *(len(printable(line[place])) for line in rows)) for place in range(hops + 1)]
    first = 1
    while first <= hops:
        last = first + 1
        while last <= hops and widths[0] + sum(2 + width for width in widths[first : last + 1]) <= WIDTH:
            last += 1
        if first > 1:
            click.echo()
        print_table(
            ("", *(f"hop {hop}" for hop in range(first, last))),
            [(line[0], *line[first:last]) for line in rows],
        )
        first = last
