"""The lists of what there is: bodies, thrusters, quantities, options, studies and sources."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from tradespace.cli.asking import example, json_option, shipped_studies
from tradespace.cli.cataloguing import SHOWN_IN_LIST, body_filters, listed_bodies, refuse_filters
from tradespace.cli.comparing import readiness_words
from tradespace.cli.printing import print_json, print_table
from tradespace.quantities import display, quantities
from tradespace.tables import read_table

Rows = list[dict[str, Any]]


def _thrusters() -> Rows:
    from tradespace import thrusters
    from tradespace.comparison.evidence import evidence

    rows: Rows = []
    for name, item in thrusters.registry().items():
        found = evidence(item)
        level = found.shown.get("readiness")
        rows.append(
            {"thruster": name, "title": item.title, "refuels": item.refuels, "feed": item.feed,
             "storage": ", ".join(item.storages), "rests_on": found.mark or found.grade,
             "readiness": None if level is None else readiness_words(level.value), "maturity": item.maturity}
        )  # fmt: skip
    return rows


def _quantities() -> Rows:
    rows: Rows = []
    for name, item in quantities().items():
        bounds = "" if item.low is None else f"{display(name, item.low)} to {display(name, item.high)}"
        default = None if item.default is None else display(name, item.default)
        rows.append(
            {"quantity": name, "unit": item.display_unit, "role": item.role, "section": item.section,
             "default": default, "allowed": bounds, "grade": item.grade, "source": item.source,
             "description": item.description}
        )  # fmt: skip
    return rows


def _options() -> Rows:
    from tradespace.options import choices

    rows: Rows = []
    for choice in choices().values():
        for name, item in choice.options.items():
            sets = ", ".join(
                f"{one.quantity} {display(one.quantity, one.value)}" for one in item.settings.values()
            )
            rows.append(
                {"choice": choice.name, "section": choice.section, "option": name,
                 "default": name == choice.default, "title": item.title, "sets": sets or "nothing"}
            )  # fmt: skip
    return rows


def _studies() -> Rows:
    import tomllib

    rows: Rows = []
    for name, path in shipped_studies().items():
        try:
            title = tomllib.loads(path.read_text(encoding="utf-8"))["study"]["title"]
        except (OSError, ValueError, KeyError, TypeError):
            title = "(cannot be read)"
        rows.append({"study": name, "title": title, "file": str(path)})
    return rows


def _sources() -> Rows:
    return [dict(row) for row in read_table("sources.csv").rows]


def _readings() -> Rows:
    from tradespace.bench.demo import demo_names, demo_path
    from tradespace.bench.readings import read_readings

    rows: Rows = []
    for name in demo_names():
        found = read_readings(demo_path(name))
        rows.append(
            {"readings": name, "points": found.points, "invented": found.invented, "title": found.title,
             "file": str(demo_path(name))}
        )  # fmt: skip
    return rows


def _channels() -> Rows:
    from tradespace.bench.channels import channels
    from tradespace.bench.instruments import instruments

    return [
        {"channel": name, "unit": item.display_unit, "allowed": item.bounds,
         "instrument": instruments()[item.instrument].title, "description": item.description}
        for name, item in channels().items()
    ]  # fmt: skip


BODIES = "bodies"
LISTS: dict[str, Callable[[], Rows]] = {
    "thrusters": _thrusters,
    "quantities": _quantities,
    "options": _options,
    "studies": _studies,
    "readings": _readings,
    "channels": _channels,
    "sources": _sources,
}


@click.command("list", epilog=example('tradespace list bodies --near "3.1 au" --water ice'))
@click.argument("what", type=click.Choice([BODIES, *LISTS]))
@body_filters
@json_option
def list_(what: str, as_json: bool, **wanted: Any) -> None:
    """List what there is: bodies, thrusters, quantities and the like; the filters choose bodies."""
    if what == BODIES:
        rows = listed_bodies(wanted)
    else:
        refuse_filters(what, wanted)
        rows = LISTS[what]()
    if as_json:
        print_json({what: rows})
        return
    if not rows:
        click.echo(f"no {what} found {'that meet the filters' if any(wanted.values()) else 'here'}")
        return
    shown = SHOWN_IN_LIST if what == BODIES else tuple(rows[0])
    print_table(
        [key.replace("_", " ") for key in shown], [[_cell(row[key]) for key in shown] for row in rows]
    )


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value != value:  # noqa: PLR0124  (not a number)
        return "-"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
