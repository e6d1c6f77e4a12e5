"""The verdict in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace.figures.choice import standing_design
from tradespace.figures.style import closes as verb
from tradespace.figures.style import number, percent, quantity_text, refuels, title_of
from tradespace.figures.style import words as words_of
from tradespace.results import placeholder

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results


@dataclass(frozen=True)
class Standing:
    """Where one architecture stands."""

    name: str
    title: str
    refuels: bool
    designs: int
    closing: int
    row: pd.Series | None
    """Best closing design, else the one nearest to closing."""
    closes: bool


def standings(results: Results) -> list[Standing]:
    """Architectures, best first: closing ones by figure of merit, then the others by margin."""
    counts = results.counts()
    found = []
    for name in results.architectures:
        row, closes = standing_design(results, name)
        total, closing = int(counts["designs"][name]), int(counts["closing"][name])
        found.append(
            Standing(name, title_of(results, name), refuels(results, name), total, closing, row, closes)
        )
    return sorted(found, key=lambda one: rank(results, one))


def rank(results: Results, one: Standing) -> tuple[int, float]:
    """Sorting key of a standing."""
    if one.row is None:
        return (2, 0.0)
    if not one.closes:
        return (1, -float(one.row["margin"]))
    sign = 1.0 if results.study.figure_of_merit_better == "lower" else -1.0
    merit = sign * float(one.row[results.study.figure_of_merit])
    return (0, merit if np.isfinite(merit) else np.inf)


def listed(words: list[str]) -> str:
    """Words joined as in a sentence.

    Examples
    --------
    >>> listed(["steam", "gas", "ions"])
    'steam, gas and ions'
    """
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1] if words else "none"


def at_hop(row: pd.Series) -> str:
    """The hop at which a design is tightest."""
    place = float(row.get("limited_at", float("nan")))
    return f" at hop {int(place)}" if np.isfinite(place) and place >= 1 else ""


def shortfall(one: Standing) -> str:
    """What a design that does not close lacks."""
    if one.row is None:
        return f"{one.title} has no design"
    margin = float(one.row["margin"])
    if margin >= 0:
        return f"{one.title} is held back by {one.row['limited_by']}"
    if placeholder(one.row, "dry_mass"):
        return f"{one.title} has no finite mass"
    return f"{one.title} falls {percent(min(-margin, 1.0))} short in {one.row['limited_by']}{at_hop(one.row)}"


def merit(results: Results, one: Standing) -> str:
    """Figure of merit of a standing in words."""
    name = results.study.figure_of_merit
    return "" if one.row is None else quantity_text(name, float(one.row[name]))


def carried_words(results: Results, ranked: list[Standing]) -> str:
    """How the craft that do not refuel fare."""
    carried = [one for one in ranked if not one.refuels]
    if not carried:
        return ""
    closing = [f"{one.title} ({merit(results, one)})" for one in carried if one.closes]
    short = [shortfall(one) for one in carried if not one.closes]
    if not closing:
        return f" Of the craft that carry all their propellant none closes: {'; '.join(short)}."
    more = f"; {'; '.join(short)}" if short else ""
    return f" Of the craft that carry all their propellant, {listed(closing)} {verb(len(closing))}{more}."


def at_conditions(results: Results) -> str:
    """The values at which the best design was sought, where a study sweeps what the designer cannot choose."""
    held = [f"{words_of(name)} {quantity_text(name, point)}" for name, point in results.conditions().items()]
    return f", at {listed(held)}," if held else ""


def verdict(results: Results) -> tuple[str, bool]:
    """The answer, the comparison, and whether any architecture that refuels closes."""
    ranked = standings(results)
    water = [one for one in ranked if one.refuels]
    closing = [one for one in water if one.closes]
    beside = carried_words(results, ranked)
    if not water:
        return f"No architecture in this study refuels on the way.{beside}", False
    if not closing:
        count = sum(one.designs for one in water)
        return (
            f"No: none of the {count} designs of the {len(water)} architectures that refuel closes this "
            "mission; nearest, "
            f"{shortfall(water[0])}.{beside}"
        ), False
    best = closing[0]
    row = best.row
    assert row is not None
    figure = words_of(results.study.figure_of_merit)
    who = f"all {len(water)}" if len(closing) == len(water) > 1 else f"{len(closing)} of the {len(water)}"
    names = (
        ""
        if len(closing) == len(water) or len(closing) == 1
        else f" ({listed([one.title for one in closing])})"
    )
    return (
        f"Yes: {who} architectures that refuel {verb(len(closing))} this "
        f"mission{names}; best by {figure}{at_conditions(results)} is {best.title} with "
        f"{merit(results, best)}, limited by {row['limited_by']}{at_hop(row)} (margin "
        f"{number(float(row['margin']), 2)}).{chances(results, row)}{beside}"
    ), True


def chances(results: Results, row: pd.Series) -> str:
    """How likely a design is to get through, and how far it is to be expected to get."""
    if results.mission.kind == "burn" or not np.isfinite(float(row.get("survival", np.nan))):
        return ""
    hops, end = results.mission.hops, percent(float(row["survival"]))
    if results.mission.kind == "surface":
        return (
            f" The chance that it completes all {hops} hops is {end}, with what is assumed of hops and sites."
        )
    return (
        f" The chance that it completes the route is {end}, with what is assumed of hops and sites: of {hops} stops "
        f"ahead, {number(float(row['expected_bodies']), 2)} are to be expected."
    )


def reference_words(results: Results) -> str:
    """How the reference design, without any sweep, stands."""
    rows = results.baseline
    closing = [title_of(results, str(name)) for name in rows[rows["closes"].astype(bool)]["architecture"]]
    if not closing:
        return "With the study's own values, before any sweep, no architecture closes."
    return f"With the study's own values, before any sweep, {listed(closing)} {verb(len(closing))}."
