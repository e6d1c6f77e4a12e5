"""Commands about bodies: one of them with all its numbers, and the list with its filters."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.completing import complete_body
from tradespace.cli.printing import print_json, print_pairs, print_table
from tradespace.errors import TradespaceError, UnitError, printable
from tradespace.units import convert, format_date, from_si, parse_quantity

if TYPE_CHECKING:
    from tradespace.bodies import Body

Rows = list[dict[str, Any]]
OTHER_SOURCES = {"rendezvous": "shoemaker_1978"}
SHOWN_IN_LIST = (
    "body", "group", "a_au", "e", "i_deg", "radius_km", "gravity_m_s2", "escape_m_s", "rotation_h", "water",
    "water_range", "size_grade", "water_grade", "origin",
)  # fmt: skip
NEAR = click.option(
    "--near", metavar="DISTANCE",
    help='Semi-major axis round the Sun, such as "3.1 au" (the planet\'s for a moon).',
)  # fmt: skip
WITHIN = click.option("--within", metavar="DISTANCE", help='How far from it still counts; default "0.2 au".')
GROUP = click.option(
    "--group",
    "groups",
    multiple=True,
    metavar="GROUP",
    help="Such as main_belt, nea or moon; may be repeated.",
)
FILTERS = (
    click.option(
        "--water", multiple=True, metavar="KIND",
        help="ice, vapour, hydrated, inferred, none, unknown, or any evidence; may be repeated.",
    ),
    GROUP,
    NEAR,
    WITHIN,
    click.option("--parent", metavar="BODY", help="What the body orbits, such as Saturn."),
    click.option("--radius", multiple=True, metavar="LIMIT", help='Such as ">= 10 km"; may be repeated.'),
    click.option("--name", metavar="TEXT", help="Text in the name or designation."),
)  # fmt: skip


def body_filters(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that choose bodies to a command."""
    for option in reversed(FILTERS):
        command = option(command)
    return command


def distance(text: str | None, option: str) -> float | None:
    """A distance above zero given with an option [m]."""
    if text is None:
        return None
    try:
        number = parse_quantity(text, "m")
    except UnitError as error:
        words = str(error).replace('"1 m"', '"3.1 au"')
        if text.strip() and words.endswith(f'"{text.strip()} m"'):
            words = words.removesuffix(f'"{text.strip()} m"') + f'"{text.strip()} au"'
        raise UnitError(f"{option}: {words}") from error
    if number <= 0.0:
        raise UnitError(f"{option}: {text!r} must be above zero")
    return number


def listed_bodies(wanted: dict[str, Any]) -> Rows:
    """Rows of the bodies that meet the filters of the command line."""
    return [_row(item) for item in chosen_bodies(wanted)]


def chosen_bodies(wanted: dict[str, Any]) -> list[Body]:
    """Bodies that meet the filters of the command line."""
    from tradespace.bodies.selection import Selection, body_groups, parse_limit, select, water_classes

    if wanted["within"] is not None and wanted["near"] is None:
        raise UnitError('--within needs --near, such as --near "3.1 au"')
    limits = []
    for text in wanted["radius"]:
        try:
            limits.append(parse_limit(text, "m"))
        except UnitError as error:
            raise UnitError(f"--radius: {error}") from error
    return select(
        Selection(
            water=water_classes(wanted["water"]),
            groups=body_groups(wanted["groups"]),
            near=distance(wanted["near"], "--near"),
            within=distance(wanted["within"], "--within"),
            parent=wanted["parent"] or "",
            radius=tuple(limits),
            name=wanted["name"] or "",
        )
    )


def _share(item: Body) -> str:
    low, high = item.water_fraction_low, item.water_fraction_high
    if math.isnan(low) or high == 0.0:
        return "-"
    return f"{convert(low, '1', '%'):.3g}-{convert(high, '1', '%'):.3g} %"


def _row(item: Body) -> dict[str, Any]:
    """One body in the list, in display units."""
    from tradespace.bodies import orbit

    axis, eccentricity, inclination = orbit(item)
    return {
        "body": item.label,
        "group": item.group,
        "parent": item.parent,
        "a_au": float(from_si(axis, "au")),
        "e": eccentricity,
        "i_deg": float(from_si(inclination, "deg")),
        "radius_km": float(from_si(item.radius, "km")),
        "gravity_m_s2": item.surface_gravity,
        "escape_m_s": item.escape_speed,
        "rotation_h": float(from_si(item.rotation_period, "h")),
        "spectral_type": item.spectral_type,
        "water": item.water_class,
        "water_low": item.water_fraction_low,
        "water_high": item.water_fraction_high,
        "water_range": _share(item),
        "size_grade": item.grades["radius"] or "-",
        "water_grade": item.grades["water"] or "-",
        "origin": "shipped" if item.is_shipped else "imported",
    }


@click.command("body", epilog=example("tradespace body Ceres"))
@click.argument("name", shell_complete=complete_body)
@json_option
def body_(name: str, as_json: bool) -> None:
    """Show one body with all its numbers, grades and sources."""
    from tradespace.bodies import body

    item = body(name)
    numbers = _numbers(item)
    if as_json:
        print_json(
            {"body": item.label, "id": item.id, "aliases": list(item.aliases), "group": item.group,
             "parent": item.parent, "orbit_class": item.orbit_class, "spectral_type": item.spectral_type,
             "water": item.water_class, "water_detail": item.water_detail, "origin": item.origin,
             "position_known": _dates(item), "numbers": numbers, "cautions": list(item.cautions)}
        )  # fmt: skip
        return
    pairs = [
        ("body", item.label), ("also", ", ".join(item.aliases) or "-"),
        ("group", f"{item.group} {item.orbit_class}".strip()), ("orbits", item.parent),
        ("type", item.spectral_type or "-"), ("water", f"{item.water_class}: {item.water_detail or 'no detail'}"),
        ("position", " to ".join(_dates(item)) or f"with {item.parent}"), ("origin", item.origin),
    ]  # fmt: skip
    print_pairs(pairs)
    click.echo()
    print_table(
        ("quantity", "value", "from", "to", "unit", "grade", "source", "where"),
        [[_cell(value) for value in row.values()] for row in numbers],
    )
    for caution in item.cautions:
        click.echo(f"caution: {printable(caution)}")
    click.echo("the sources in full: tradespace list sources")


def _cell(value: object) -> str:
    if value is None or value != value:  # noqa: PLR0124  (not a number)
        return "-"
    return f"{value:.6g}" if isinstance(value, float) else str(value) or "-"


def _dates(item: Body) -> list[str]:
    return [format_date(moment) for moment in item.valid if math.isfinite(moment)]


def _numbers(item: Body) -> Rows:
    """Every number of a body with its range, grade and source."""
    from tradespace.bodies import body, orbit
    from tradespace.ephemeris import orbit_of

    rows: Rows = []

    def add(
        name: str,
        number: float,
        unit: str,
        group: str,
        grade: str = "",
        ends: tuple[float, float] = (math.nan,) * 2,
        owner: Body = item,
    ) -> None:
        if math.isfinite(number):
            rows.append(
                {"quantity": name, "value": float(from_si(number, unit)), "low": float(from_si(ends[0], unit)),
                 "high": float(from_si(ends[1], unit)), "unit": unit, "grade": grade,
                 "source": OTHER_SOURCES.get(group) or owner.sources.get(group, ""),
                 "where": owner.notes.get(group, "")}
            )  # fmt: skip

    axis, eccentricity, inclination = orbit(item)
    whose = "" if item.parent == "Sun" else f" of {item.parent}"
    carrier = item if item.parent == "Sun" else body(item.parent)
    add(f"semi-major axis{whose}", axis, "au", "elements", owner=carrier)
    add(f"eccentricity{whose}", eccentricity, "1", "elements", owner=carrier)
    add(f"inclination{whose}", inclination, "deg", "elements", owner=carrier)
    if item.parent != "Sun":
        own = orbit_of(item.id)
        add(f"orbit about {item.parent}", own.semi_major_axis, "km", "elements")
        add(f"eccentricity about {item.parent}", own.eccentricity, "1", "elements")
        add(
            f"inclination to the equator of {item.parent}",
            own.inclination_to_parent_equator,
            "deg",
            "elements",
        )
        add(f"period about {item.parent}", own.period, "d", "elements")
    add("position error", item.elements_uncertainty, "au", "elements")
    add("rendezvous delta-v", _rendezvous(item), "km/s", "rendezvous", "computed")
    add("closest to the Earth by 2050", item.closest_earth, "au", "elements", "computed")
    add("radius", item.radius, "km", "physical", item.grades["radius"], item.radius_range)
    mass = item.gravitational_parameter_range
    add("gravitational parameter", item.gravitational_parameter, "km3/s2", "gm", item.grades["gm"], mass)
    add("surface gravity", item.surface_gravity, "m/s2", "gm", item.grades["gm"])
    add("escape speed", item.escape_speed, "m/s", "gm", item.grades["gm"])
    add("density", item.density, "g/cm3", "gm", item.grades["gm"])
    add("rotation period", item.rotation_period, "h", "physical")
    add("absolute magnitude", item.absolute_magnitude, "1", "elements")
    add("geometric albedo", item.geometric_albedo, "1", "physical")
    add("bond albedo", item.bond_albedo, "1", "physical", item.grades["bond_albedo"])
    share = item.water_fraction_low, item.water_fraction_high
    add("water by mass", sum(share) / 2.0, "%", "water", item.grades["water"], share)
    return rows


def _rendezvous(item: Body) -> float:
    """Ranking figure of a near-Earth asteroid from low Earth orbit [m/s], NaN for other bodies."""
    from tradespace.bodies import orbit
    from tradespace.errors import DomainError
    from tradespace.physics.transfer import asteroid_rendezvous_delta_v

    if item.group != "nea":
        return math.nan
    try:
        return float(asteroid_rendezvous_delta_v(*orbit(item)))
    except DomainError:
        return math.nan


def refuse_filters(what: str, wanted: dict[str, Any]) -> None:
    """Complain about a filter of bodies on another list.

    Raises
    ------
    TradespaceError
        If one is given.
    """
    given = [name for name, value in wanted.items() if value]
    if given:
        option = "group" if given[0] == "groups" else given[0]
        raise TradespaceError(f"--{option} chooses bodies, not {what}; see: tradespace list bodies --help")
