"""Where a study starts, where it goes and by when, and with which thrusters."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any, cast

from tradespace.errors import TradespaceError, UnitError, UnknownNameError
from tradespace.study.document import Document, Path_, shown
from tradespace.study.values import hint
from tradespace.thrusters.contract import Thruster
from tradespace.units import format_date, parse_date, parse_quantity

MOST_HOPS = 1000
WITHOUT_SURFACE = ("jupiter", "saturn")
WITH_DENSE_AIR = ("venus", "earth", "titan")
KINDS = ("tour", "surface")
ROUTE_KEYS = {
    "tour": {"stops", "horizon", "flight_time"},
    "surface": {"hops", "mission_duration"},
}
THRUSTER_UNITS = {
    "specific_impulse": "s",
    "thrust": "N",
    "power_per_thrust": "W/N",
    "throughput_life": "kg",
    "mass": "kg",
}
THRUSTER_WORDS = ("title", "storage", "refuels")
NEEDED = ("name", "specific_impulse", "thrust", "power_per_thrust", "throughput_life")
MAY_BE_ZERO = {"power_per_thrust", "mass"}
STORAGES = ("water", "gas")


@dataclass(frozen=True)
class Route:
    """Stops and dates of a study."""

    start_body: str
    start_date: float
    stops: tuple[str, ...]
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
    body: Any,
    dates: tuple[tuple[Path_, float | None], ...],
    *,
    surface: bool = False,
) -> None:
    """Whether a body is known well enough to stand on, and its positions on the dates.

    A moon may carry a surface study: it is as far from the Sun as its planet.
    """
    from tradespace import ephemeris

    for attribute in ("radius", "gravitational_parameter", "rotation_period"):
        if not math.isfinite(getattr(body, attribute)):
            words = attribute.replace("_", " ")
            document.problem(where, f"the {words} of {body.name} is not known; choose another body")
    if body.name.casefold() in WITHOUT_SURFACE:
        document.problem(where, f"{body.name} has no surface to land on; choose another body")
    if surface and body.name.casefold() in WITH_DENSE_AIR:
        document.problem(
            where, f"{body.name} has an atmosphere, in which there are no ballistic hops; choose another body"
        )
    try:
        first, last = ephemeris.coverage(body.parent if surface and body.group == "moon" else body.id)
    except TradespaceError as error:
        moon = f"{body.name} is a moon of {body.parent}; moons cannot be part of a route yet, choose another body"
        document.problem(where, moon if body.group == "moon" else str(error))
        return
    for path, date in dates:
        if date is not None and not first <= date <= last:
            document.problem(
                path,
                f"{format_date(date)} lies outside the dates on which the position of {body.name} is known; "
                f"allowed {format_date(first)} to {format_date(last)}",
            )


def _read_stops(document: Document, raw: object, start: Any) -> list[Any]:
    """The bodies of a tour after the start body."""
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
    stops = [read_body(document, path, item) for item in raw]
    for before, after in zip([start, *stops], stops, strict=False):
        if before is not None and after is not None and before.id == after.id:
            document.problem(
                path, f"a hop from {before.name} to itself; each stop must differ from the one before it"
            )
            break
    return stops


def _read_flight_time(document: Document, raw: object) -> tuple[float, float] | None:
    path = ("route", "flight_time")
    if not isinstance(raw, list) or len(raw) != 2:
        what = "is missing" if raw is None else f"{shown(raw)} is not a pair"
        document.problem(path, f'{what}; give the shortest and longest flight, such as ["200 d", "1500 d"]')
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


def _tour(document: Document, table: dict[str, Any], start: Any, date: float | None) -> Route:
    stops = _read_stops(document, table.get("stops"), start)
    flight_time = _read_flight_time(document, table.get("flight_time"))
    path = ("route", "horizon")
    horizon = None
    if "horizon" in table:
        horizon = read_date(document, path, table["horizon"])
    else:
        document.problem(path, 'is missing; give the last date of the tour, such as "2041-12-31"')
    if horizon is not None and date is not None and horizon <= date:
        document.problem(path, f"{format_date(horizon)} is not after the start date {format_date(date)}")
    dates = ((("start", "date"), date), (path, horizon))
    seen: set[str] = set()
    for where, body in ((("start", "body"), start), *((("route", "stops"), stop) for stop in stops)):
        if body is not None and body.id not in seen:
            seen.add(body.id)
            _check_body(document, where, body, dates)
    names = tuple(body.name for body in [start, *stops] if body is not None)
    return Route(start.name if start else "", date or 0.0, names, horizon or 0.0, flight_time)


def _surface(document: Document, table: dict[str, Any], start: Any, date: float | None) -> Route:
    hops = table.get("hops")
    if isinstance(hops, bool) or not isinstance(hops, int) or not 1 <= hops <= MOST_HOPS:
        what = "is missing" if hops is None else shown(hops) + " is not allowed"
        document.problem(("route", "hops"), f"{what}; give a whole number of hops, 1 to {MOST_HOPS}")
        hops = 0
    path = ("route", "mission_duration")
    duration = None
    if "mission_duration" in table:
        duration = read_time(document, path, table["mission_duration"])
    else:
        document.problem(path, 'is missing; give the time allowed on the surface, such as "3 yr"')
    horizon = None if duration is None or date is None else date + duration
    if start is not None:
        dates = ((("start", "date"), date), (path, horizon))
        _check_body(document, ("start", "body"), start, dates, surface=True)
    name = start.name if start else ""
    return Route(name, date or 0.0, (name,) * (hops + 1), horizon or 0.0, None)


def read_route(document: Document, kind: str) -> Route:
    """The start and the route of a study."""
    begin, table = document.table("start", required=True), document.table("route", required=True)
    start, date = None, None
    for key in ("body", "date"):
        if begin and key not in begin:
            document.problem(("start", key), "is missing")
    if "body" in begin:
        start = read_body(document, ("start", "body"), begin["body"])
    if "date" in begin:
        date = read_date(document, ("start", "date"), begin["date"])
    for other in KINDS:
        for key in ROUTE_KEYS[other] & set(table):
            if other != kind:
                document.problem(("route", key), f'is for a study of kind "{other}"; this one is a "{kind}"')
    if not table:
        return Route("", 0.0, (), 0.0, None)
    return (_tour if kind == "tour" else _surface)(document, table, start, date)


def _given_thruster(document: Document, number: int, raw: object, taken: set[str]) -> Thruster | None:
    """One engine given by numbers."""
    from tradespace.thrusters.given import GivenThruster

    base: Path_ = ("thruster", number)
    before = len(document.problems)
    if not isinstance(raw, dict):
        document.problem(base, "must be a section, written [[thruster]]")
        return None
    known = {item.name for item in fields(GivenThruster)} & {*NEEDED, *THRUSTER_UNITS, *THRUSTER_WORDS}
    numbers = {key: _thruster_entry(document, (*base, key), key, value, known) for key, value in raw.items()}
    for key in NEEDED:
        if key not in raw:
            document.problem((*base, key), "is missing")
    name = numbers.get("name", "")
    if name and not name.replace("_", "").isalnum():
        document.problem((*base, "name"), f"{shown(name)} may hold letters, digits and underscores only")
    elif name in taken:
        document.problem((*base, "name"), f"{shown(name)} is the name of another thruster; choose a new one")
    if len(document.problems) > before:
        return None
    try:
        made = cast("Thruster", GivenThruster(**{"title": name, **numbers}))
    except TradespaceError as error:
        document.problem(base, str(error))
        return None
    return made


def _thruster_entry(document: Document, path: Path_, key: str, value: object, known: set[str]) -> Any:
    """One checked entry of an engine given by numbers."""
    if key not in known:
        document.problem(path, f"unknown key{hint(key, known) or '; allowed: ' + ', '.join(sorted(known))}")
    elif key in THRUSTER_UNITS:
        return _thruster_number(document, path, key, value)
    elif key == "refuels":
        if not isinstance(value, bool):
            document.problem(path, f"{shown(value)} must be true or false")
    elif key == "storage":
        if value not in STORAGES:
            document.problem(path, f'{shown(value)} is unknown; allowed: "water", "gas"')
    else:
        return document.words(path, value)
    return value


def _thruster_number(document: Document, path: Path_, key: str, raw: object) -> float:
    try:
        value = parse_quantity(raw, THRUSTER_UNITS[key])
    except UnitError as error:
        document.problem(path, str(error))
        return 0.0
    if value < 0.0 or (value == 0.0 and key not in MAY_BE_ZERO):
        document.problem(
            path, f"{shown(raw)} must be {'zero or above' if key in MAY_BE_ZERO else 'above zero'}"
        )
    return value


def read_thrusters(document: Document) -> dict[str, Thruster]:
    """The included architectures by name, in order: listed (or all registered) ones, then given ones."""
    from tradespace import thrusters

    registered = dict(thrusters.registry())
    given: dict[str, Thruster] = {}
    raw = document.tree.get("thruster", [])
    if not isinstance(raw, list):
        document.problem(("thruster",), "must be written [[thruster]], once for each engine")
        raw = []
    for number, item in enumerate(raw):
        thruster = _given_thruster(document, number, item, {*registered, *given})
        if thruster is not None:
            given[thruster.name] = thruster
    table = document.table("architectures")
    for key in set(table) - {"include"}:
        document.problem(("architectures", key), "unknown key; allowed: include")
    known = {**registered, **given}
    names = table.get("include", list(registered))
    path = ("architectures", "include")
    if not isinstance(names, list) or not (names or given):
        document.problem(path, f"{shown(names)} must be a list of at least one architecture")
        return given
    chosen: dict[str, Thruster] = {}
    for name in names:
        if not isinstance(name, str) or name not in known:
            if not document.problems:  # a given thruster that could not be read is reported there
                words = hint(str(name), known, "tradespace list thrusters")
                document.problem(path, f"unknown architecture {shown(name)}{words}")
        elif name in chosen:
            document.problem(path, f"{shown(name)} is listed twice")
        else:
            chosen[name] = known[name]
    return {**chosen, **{name: item for name, item in given.items() if name not in chosen}}
