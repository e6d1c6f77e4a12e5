"""The section ``[search]``: among which bodies a tour is sought, how long it may be and what it is worth."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

from tradespace.errors import TradespaceError, UnitError
from tradespace.study.document import Document, shown
from tradespace.study.model import Search
from tradespace.study.route import Route, read_body
from tradespace.study.values import hint
from tradespace.tour import MERITS, Aim
from tradespace.units import parse_quantity

if TYPE_CHECKING:
    from tradespace.bodies import Body

SECTION = "search"
FILTERS = ("water", "group", "near", "within", "radius")
KEYS = (
    "bodies", *FILTERS, "start", "architecture", "hops", "figure_of_merit", "expected", "beam", "runners_up",
    "revisits",
)  # fmt: skip
MOST = {"hops": 50, "beam": 1_000_000, "runners_up": 1000, "bodies": 500}
ANY = "any"


def read_search(document: Document, kind: str, route: Route, architectures: Collection[str]) -> Search | None:
    """The request to search for a tour; None when the study has none."""
    if SECTION not in document.tree:
        return None
    table = document.table(SECTION)
    if kind != "tour":
        document.problem((SECTION,), f'is for a study of kind "tour"; this one is a "{kind}"')
        return None
    for key in table:
        if key not in KEYS:
            document.problem(
                (SECTION, key), f"unknown key{hint(key, KEYS) or '; allowed: ' + ', '.join(KEYS)}"
            )
    before = len(document.problems)
    start = _start(document, table, route)
    names = _candidates(document, table)
    if start and names and start not in names:
        names = (start, *names)
    if names and len(names) < 2 and len(document.problems) == before:
        document.problem(
            (SECTION,), f"names a single body, {names[0]}; a tour needs at least two, start body included"
        )
    architecture = table.get("architecture", "")
    if architecture and architecture not in architectures:
        words = hint(str(architecture), architectures) or f"; allowed: {', '.join(architectures)}"
        document.problem((SECTION, "architecture"), f"{shown(architecture)} is not in this study{words}")
    return Search(_aim(document, table), names, start, str(architecture))


def _aim(document: Document, table: dict[str, Any]) -> Aim:
    """How far the search goes and what a tour is worth."""
    merit = table.get("figure_of_merit", MERITS[0])
    if merit not in MERITS:
        words = hint(str(merit), MERITS) or f"; allowed: {', '.join(MERITS)}"
        document.problem((SECTION, "figure_of_merit"), f"{shown(merit)} is unknown{words}")
        merit = MERITS[0]
    if "hops" not in table:
        document.problem((SECTION, "hops"), "is missing; give the most hops a tour may have, such as 5")
    counts = {
        name: _count(document, name, table.get(name, default), 0 if name == "runners_up" else 1)
        for name, default in (("hops", 1), ("beam", Aim.beam), ("runners_up", Aim.runners_up))
    }
    flags = {name: table.get(name, False) for name in ("expected", "revisits")}
    for name, flag in flags.items():
        if not isinstance(flag, bool):
            document.problem((SECTION, name), f"{shown(flag)} must be true or false")
    return Aim(
        counts["hops"], str(merit), flags["expected"] is True, counts["beam"], counts["runners_up"],
        flags["revisits"] is True,
    )  # fmt: skip


def _count(document: Document, name: str, raw: object, least: int) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int) or not least <= raw <= MOST[name]:
        document.problem(
            (SECTION, name), f"{shown(raw)} must be a whole number from {least} to {MOST[name]:,}"
        )
        return 1
    return raw


def _start(document: Document, table: dict[str, Any], route: Route) -> str:
    """The body on which every tour starts, empty for any."""
    raw = table.get("start", route.start_body)
    if raw == ANY or not raw:
        return ""
    body = read_body(document, (SECTION, "start"), raw)
    return "" if body is None else str(body.name)


def _candidates(document: Document, table: dict[str, Any]) -> tuple[str, ...]:
    """Listed bodies and those the filter lets through, each once, by name."""
    if not {"bodies", *FILTERS} & set(table):
        document.problem(
            (SECTION, "bodies"),
            'is missing; list bodies, such as ["24 Themis", "90 Antiope"], or filter them by '
            f"{', '.join(FILTERS)}",
        )
        return ()
    before = len(document.problems)
    names: list[str] = []
    listed = table.get("bodies", [])
    path = (SECTION, "bodies")
    if not isinstance(listed, list) or ("bodies" in table and not listed):
        document.problem(path, f"{shown(listed)} must be a list of at least one body")
    else:
        found = [read_body(document, path, item) for item in listed]
        names += [body.name for body in found if body is not None]
    if set(FILTERS) & set(table):
        names += [body.name for body in _filtered(document, table)]
    unique = tuple(dict.fromkeys(names))
    if not unique and len(document.problems) == before:
        document.problem((SECTION,), "the filter lets no body through; see: tradespace list bodies")
    if len(unique) > MOST["bodies"]:
        document.problem(
            (SECTION,),
            f"names {len(unique):,} bodies; at most {MOST['bodies']} are allowed, filter them more",
        )
    return unique


def _filtered(document: Document, table: dict[str, Any]) -> list[Body]:
    """Bodies with an orbit of their own around the Sun that pass every filter given, as in ``list bodies``."""
    from tradespace.bodies import selection

    before = len(document.problems)
    water, groups, limits = (_read(document, table, key) for key in ("water", "group", "radius"))
    near, within = (_length(document, table, key) for key in ("near", "within"))
    if "within" in table and "near" not in table:
        document.problem((SECTION, "within"), 'goes with near, such as near = "3.1 au", within = "0.2 au"')
    if len(document.problems) > before:
        return []
    asked = selection.Selection(
        water=water or frozenset(),
        groups=groups or frozenset(),
        near=near,
        within=within,
        radius=limits or (),
    )
    return [
        body
        for body in selection.select(asked)
        if body.parent == "Sun" and (body.group != "planet" or "planet" in asked.groups)
    ]


def _read(document: Document, table: dict[str, Any], key: str) -> Any:
    """One condition of the filter, given as text or a list of texts; None when it is not given or cannot be read."""
    from tradespace.bodies import selection

    if key not in table:
        return None
    raw = [table[key]] if isinstance(table[key], str) else table[key]
    if not isinstance(raw, list) or not raw or not all(isinstance(item, str) for item in raw):
        document.problem((SECTION, key), f"{shown(table[key])} must be text or a list of texts")
        return None
    try:
        if key == "water":
            return selection.water_classes(raw)
        if key == "group":
            return selection.body_groups(raw)
        return tuple(selection.parse_limit(item, "m") for item in raw)
    except TradespaceError as error:
        document.problem(
            (SECTION, key), str(error).removesuffix("'m'") + ("'km'" if str(error).endswith("'m'") else "")
        )
        return None


def _length(document: Document, table: dict[str, Any], key: str) -> float | None:
    """A distance above zero [m]; None when it is not given or cannot be read."""
    if key not in table:
        return None
    try:
        length = parse_quantity(table[key], "m")
    except UnitError as error:
        document.problem(
            (SECTION, key), str(error).removesuffix("'m'") + ("'au'" if str(error).endswith("'m'") else "")
        )
        return None
    if length <= 0.0:
        document.problem((SECTION, key), f"{shown(table[key])} must be above zero")
        return None
    return length
