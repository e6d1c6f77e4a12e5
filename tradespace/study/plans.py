"""Reading how the designs of a study are chosen: the section ``[plan]``."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tradespace.study.document import Document, shown
from tradespace.study.listed import Listed, read_listed
from tradespace.study.model import Plan
from tradespace.study.values import hint

PLANS = {
    "grid": (),
    "latin_hypercube": ("designs",),
    "sobol": ("designs",),
    "one_at_a_time": ("points",),
    "list": ("file", "table"),
}
"""Kinds of plan with the keys of each beside ``kind``."""
RANDOM = ("latin_hypercube", "sobol")
"""Plans that place their designs anywhere between the ends of the swept variables."""


@dataclass(frozen=True)
class Planned:
    """A plan as it was read, and the text of its study with the list in it."""

    plan: Plan
    listed: Listed | None
    text: str


def power_of_two(number: int) -> bool:
    """Whether a whole number is a power of two."""
    return number > 0 and number & (number - 1) == 0


def neighbours(number: int) -> str:
    """The powers of two around a number, in words."""
    below = 1 << max(number.bit_length() - 1, 0)
    return f"{below} or {2 * below}"


def read_plan(document: Document, folder: Path | None) -> Planned:
    """The plan of a study; a grid unless it says otherwise.

    Parameters
    ----------
    document : Document
        The study file.
    folder : Path or None
        Where the file of a list is looked for; None when the study is a text without a place.
    """
    table = document.table("plan")
    unread = Planned(Plan(), None, document.text)
    if not table:
        return unread
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in PLANS:
        what = "is missing" if kind is None else f"{shown(kind)} is unknown"
        words = (hint(kind, PLANS) if isinstance(kind, str) else "") or f"; allowed: {', '.join(PLANS)}"
        document.problem(("plan", "kind"), what + words)
        return unread
    for key in table:
        if key != "kind" and key not in PLANS[kind]:
            owners = [name for name, keys in PLANS.items() if key in keys]
            allowed = ", ".join(("kind", *PLANS[kind]))
            words = f"is for {' and '.join(owners)}; this plan is {kind!r}" if owners else "unknown key"
            document.problem(
                ("plan", key), f"{words}{hint(key, PLANS[kind]) or f'; allowed here: {allowed}'}"
            )
    if kind == "list":
        listed, text = read_listed(document, folder)
        return Planned(Plan(kind, table={} if listed is None else listed.columns), listed, text)
    if kind in RANDOM:
        return Planned(Plan(kind, designs=_designs(document, kind)), None, document.text)
    if kind == "one_at_a_time" and "points" in table:
        return Planned(Plan(kind, points=_whole(document, "points", 2) or 2), None, document.text)
    return Planned(Plan(kind), None, document.text)


def _whole(document: Document, key: str, least: int) -> int:
    """A whole number of the plan, or 0 and a problem."""
    raw = document.table("plan").get(key)
    if isinstance(raw, bool) or not isinstance(raw, int) or raw < least:
        what = "is missing; give" if raw is None else f"{shown(raw)} must be"
        document.problem(("plan", key), f"{what} a whole number of at least {least}")
        return 0
    return raw


def _designs(document: Document, kind: str) -> int:
    """Designs for each architecture; of a Sobol' sequence a power of two."""
    designs = _whole(document, "designs", 2)
    if designs and kind == "sobol" and not power_of_two(designs):
        document.problem(
            ("plan", "designs"),
            f"{designs} is not a power of two, which a Sobol' sequence needs to be balanced; "
            f"write {neighbours(designs)}",
        )
    return designs
