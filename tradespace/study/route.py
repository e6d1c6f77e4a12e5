"""Where a study starts, where it goes and by when."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from tradespace.errors import TradespaceError, UnitError, UnknownNameError
from tradespace.options import choices
from tradespace.quantities import quantity
from tradespace.study.document import Document, Path_, shown
from tradespace.study.model import Place
from tradespace.study.values import hint, read_quantity
from tradespace.units import format_date, parse_date, parse_quantity

MOST_HOPS = 1000
WITHOUT_SURFACE = ("jupiter", "saturn")
WITH_DENSE_AIR = ("venus", "earth", "titan")
KINDS = ("tour", "surface", "burn")
PLACE_KEYS = ("body", "orbit", "dry_site_probability", "extraction_energy", "water_source", "rotation_period")
LARGEST_ALTITUDE = 1e10  # m
ROUTE_KEYS = {
    "tour": {"stops", "horizon", "flight_time"},
    "surface": {"hops", "mission_duration"},
    "burn": {"mission_duration"},
}


@dataclass(frozen=True)
class Route:
    """Stops and dates of a study."""

    start_body: str
    start_date: float
    places: tuple[Place, ...]
    horizon: float
    flight_time: tuple[float, float] | None


def read_date(document: Document, path: Path_, raw: object) -> float | None:
    """Seconds past J2000, or None and a problem."""
    try:
        return parse_date(raw)
    except (UnitError, OverflowError) as error:
        document.problem(path, str(error))
        return None


def read_time(document: Document, path: Path_, raw: object) -> float | None:
    """A time span above zero [s], or None and a problem."""
    try:
        value = parse_quantity(raw, "s")
    except UnitError as error:
        document.problem(path, str(error).removesuffix("'s'") + ("'d'" if str(error).endswith("'s'") else ""))
        return None
    if value <= 0.0:
        document.problem(path, f"{shown(raw)} must be longer than zero")
        return None
    return value


def read_body(document: Document, path: Path_, raw: object) -> Any:
    """A catalogue body, or None and a problem."""
    from tradespace import bodies

    if not isinstance(raw, str):
        document.problem(path, f"{shown(raw)} must be the name of a body in quotation marks")
        return None
    try:
        return bodies.body(raw)
    except UnknownNameError as error:
        message = str(error)
        document.problem(path, message if len(message) < 300 else f"unknown body {shown(raw)}")
        return None


def _check_body(
    document: Document,
    where: Path_,
    place: Place,
    dates: tuple[tuple[Path_, float | None], ...],
    *,
    surface: bool,
) -> None:
    """Whether a body is known well enough to stop at, and its positions on the dates."""
    from tradespace import bodies, ephemeris

    body = bodies.body(place.body)
    example = f'{{ body = "{body.name}", orbit = "400 km" }}'
    for attribute in ("radius", "gravitational_parameter"):
        if not math.isfinite(getattr(body, attribute)):
            words = attribute.replace("_", " ")
            document.problem(where, f"the {words} of {body.name} is not known; choose another body")
    if place.orbit is None and place.rotation_period is None and not math.isfinite(body.rotation_period):
        given = 'rotation_period = "8 h"'
        example_of_it = given if where[0] == "start" else f'{{ body = "{body.name}", {given} }}'
        document.problem(
            where,
            f"the rotation period of {body.name} is not known; choose another body or give one: {example_of_it}",
        )
    if place.orbit is not None and body.group != "planet":
        document.problem(
            where, f"{body.name} is no planet; a parking orbit is for planets, so leave out its orbit"
        )
    if place.orbit is None and body.name.casefold() in WITHOUT_SURFACE:
        otherwise = "choose another body" if surface else f"stop in an orbit: {example}"
        document.problem(where, f"{body.name} has no surface to land on; {otherwise}")
    elif place.orbit is None and body.name.casefold() in WITH_DENSE_AIR:
        if surface:
            message = (
                f"{body.name} has an atmosphere, in which there are no ballistic hops; choose another body"
            )
        else:
            otherwise = "choose another body" if body.group == "moon" else f"stop in an orbit: {example}"
            message = f"{body.name} has an atmosphere, in which landings are not modelled; {otherwise}"
        document.problem(where, message)
    try:
        first, last = ephemeris.coverage(ephemeris.heliocentric_body(body.id))
    except TradespaceError as error:
        document.problem(where, str(error))
        return
    for path, date in dates:
        if date is not None and not first <= date <= last:
            document.problem(
                path,
                f"{format_date(date)} lies outside the dates on which the position of {body.name} is known; "
                f"allowed {format_date(first)} to {format_date(last)}",
            )


def _read_orbit(document: Document, path: Path_, raw: object) -> float | None:
    """Altitude of a parking orbit [m], or None and a problem."""
    try:
        value = parse_quantity(raw, "m")
    except UnitError as error:
        document.problem(path, str(error).replace("'m'", "'km'").replace(' m"', ' km"'))
        return None
    if not 0.0 < value < LARGEST_ALTITUDE:
        document.problem(path, f"{shown(raw)} must be an altitude above 0 and below 10 million km")
        return None
    return value


def read_place(document: Document, path: Path_, raw: object) -> Place | None:
    """One stop, written as the name of a body or as a table with its particulars; None and a problem otherwise."""
    table = raw if isinstance(raw, dict) else {"body": raw}
    for key in table:
        if key not in PLACE_KEYS:
            document.problem(
                path,
                f"unknown key {shown(key)}{hint(key, PLACE_KEYS) or '; allowed: ' + ', '.join(PLACE_KEYS)}",
            )
    if "body" not in table:
        document.problem(path, 'a stop needs its body, such as { body = "Mars", orbit = "400 km" }')
        return None
    body = read_body(document, path, table["body"])
    if body is None:
        return None
    orbit = _read_orbit(document, path, table["orbit"]) if "orbit" in table else None
    numbers: dict[str, float | None] = {}
    for key in ("dry_site_probability", "extraction_energy"):
        numbers[key] = read_quantity(document, path, quantity(key), table[key]) if key in table else None
    source = table.get("water_source")
    known = choices()["water_source"].options
    if source is not None and (not isinstance(source, str) or source not in known):
        document.problem(
            path, f"unknown water source {shown(source)}{hint(str(source), known, 'tradespace list options')}"
        )
        source = None
    wet = [key for key in PLACE_KEYS[2:] if key in table]
    if orbit is not None and wet:
        document.problem(path, f"there is no water in an orbit about {body.name}; leave out {', '.join(wet)}")
    rotation = read_time(document, path, table["rotation_period"]) if "rotation_period" in table else None
    return Place(
        body.name, orbit, numbers["dry_site_probability"], numbers["extraction_energy"], source, rotation
    )


def _read_stops(document: Document, raw: object, start: Place | None) -> list[Place | None]:
    """The stops of a tour after the start."""
    path = ("route", "stops")
    if not isinstance(raw, list) or not raw:
        what = (
            "is missing"
            if raw is None
            else "is empty"
            if raw == []
            else f"{shown(raw)} must be a list of bodies"
        )
        document.problem(path, f'{what}; list at least one body to hop to, such as ["90 Antiope"]')
        return []
    if len(raw) > MOST_HOPS:
        document.problem(path, f"has {len(raw)} hops; at most {MOST_HOPS} are allowed")
        return []
    stops = [read_place(document, path, item) for item in raw]
    for before, after in zip([start, *stops], stops, strict=False):
        if before is not None and after is not None and _same(before, after):
            document.problem(
                path, f"a hop from {before.label} to itself; each stop must differ from the one before it"
            )
            break
    return stops


def _same(one: Place, other: Place) -> bool:
    return (one.body, one.orbit) == (other.body, other.orbit)


def _needs_flight_time(document: Document, places: list[Place]) -> bool:
    """Whether a leg goes around the Sun; legs between a planet's ground and its own surroundings are refused."""
    from tradespace import ephemeris

    around = False
    for here, there in pairwise(places):
        hosts = [ephemeris.heliocentric_body(place.body) for place in (here, there)]
        if hosts[0] != hosts[1]:
            around = True
            continue
        for place in (here, there):
            if place.orbit is None and ephemeris.heliocentric_body(place.body) == place_id(place):
                document.problem(
                    ("route", "stops"),
                    f"a leg between the ground of {place.body} and {(there if place is here else here).label} is not "
                    f'modelled; stop in an orbit: {{ body = "{place.body}", orbit = "400 km" }}',
                )
    return around


def place_id(place: Place) -> str:
    """Identifier of the body of a stop."""
    from tradespace import bodies

    return bodies.body(place.body).id


def _read_flight_time(document: Document, raw: object, route: str) -> tuple[float, float] | None:
    path = ("route", "flight_time")
    if not isinstance(raw, list) or len(raw) != 2:
        what = "is missing" if raw is None else f"{shown(raw)} is not a pair"
        reason = f" for the legs around the Sun of {route}" if raw is None and route else ""
        document.problem(
            path, f'{what}; give the shortest and longest flight{reason}, such as ["200 d", "1500 d"]'
        )
        return None
    short, long = (read_time(document, path, item) for item in raw)
    if short is None or long is None:
        return None
    if short >= long:
        document.problem(
            path, f"the shortest flight {shown(raw[0])} is not below the longest {shown(raw[1])}"
        )
        return None
    return short, long


def _tour(document: Document, table: dict[str, Any], start: Place | None, date: float | None) -> Route:
    stops = _read_stops(document, table.get("stops"), start)
    places = [place for place in [start, *stops] if place is not None]
    around = _needs_flight_time(document, places)
    flight_time = None
    if around or "flight_time" in table:
        planets = " > ".join(place.label for place in places)
        flight_time = _read_flight_time(document, table.get("flight_time"), planets if around else "")
    path = ("route", "horizon")
    horizon = None
    if "horizon" in table:
        horizon = read_date(document, path, table["horizon"])
    else:
        document.problem(path, 'is missing; give the last date of the tour, such as "2041-12-31"')
    if horizon is not None and date is not None and horizon <= date:
        document.problem(path, f"{format_date(horizon)} is not after the start date {format_date(date)}")
    dates = ((("start", "date"), date), (path, horizon))
    seen: set[tuple[str, float | None]] = set()
    for where, place in ((("start", "body"), start), *((("route", "stops"), stop) for stop in stops)):
        if place is not None and (place.body, place.orbit) not in seen:
            seen.add((place.body, place.orbit))
            _check_body(document, where, place, dates, surface=False)
    return Route(start.body if start else "", date or 0.0, tuple(places), horizon or 0.0, flight_time)


def _duration(
    document: Document, table: dict[str, Any], start: Place | None, date: float | None, *, surface: bool
) -> Route:
    """Hops on one body, or one burn in free space, within a span of time."""
    hops = table.get("hops") if surface else 1
    if isinstance(hops, bool) or not isinstance(hops, int) or not 1 <= hops <= MOST_HOPS:
        what = "is missing" if hops is None else shown(hops) + " is not allowed"
        document.problem(("route", "hops"), f"{what}; give a whole number of hops, 1 to {MOST_HOPS}")
        hops = 0
    path = ("route", "mission_duration")
    duration = None
    if "mission_duration" in table:
        duration = read_time(document, path, table["mission_duration"])
    else:
        what = "on the surface" if surface else "for the burn"
        document.problem(path, f'is missing; give the time allowed {what}, such as "3 yr"')
    horizon = None if duration is None or date is None else date + duration
    if start is None:
        return Route("", date or 0.0, (), horizon or 0.0, None)
    if start.orbit is not None and surface:
        document.problem(("start", "orbit"), 'is for a study of another kind; this one is a "surface"')
    if start.orbit is None and not surface:
        words = f'is missing; a study of kind "burn" stays in free space: give an altitude above {start.body}'
        document.problem(("start", "orbit"), f'{words}, such as "500 km"')
        return Route(start.body, date or 0.0, (start,) * (hops + 1), horizon or 0.0, None)
    dates = ((("start", "date"), date), (path, horizon))
    _check_body(document, ("start", "body"), start, dates, surface=surface)
    return Route(start.body, date or 0.0, (start,) * (hops + 1), horizon or 0.0, None)


def read_route(document: Document, kind: str) -> Route:
    """The start and the route of a study."""
    begin, table = document.table("start", required=True), document.table("route", required=True)
    start, date = None, None
    for key in ("body", "date"):
        if begin and key not in begin:
            document.problem(("start", key), "is missing")
    if "body" in begin:
        found = {key: begin[key] for key in ("body", "orbit", "rotation_period") if key in begin}
        start = read_place(document, ("start", "body"), found)
    if "date" in begin:
        date = read_date(document, ("start", "date"), begin["date"])
    for other in KINDS:
        for key in (ROUTE_KEYS[other] - ROUTE_KEYS[kind]) & set(table):
            if other != kind:
                document.problem(("route", key), f'is for a study of kind "{other}"; this one is a "{kind}"')
    if not table and "route" not in document.tree:
        return Route("", 0.0, (), 0.0, None)
    if kind == "tour":
        return _tour(document, table, start, date)
    return _duration(document, table, start, date, surface=kind == "surface")
