"""The verdict in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tradespace.comparison import Standing, mark_words, standings
from tradespace.figures.choice import drawn_architectures
from tradespace.figures.style import closes as verb
from tradespace.figures.style import number, percent, quantity_text, title_of
from tradespace.figures.style import words as words_of
from tradespace.report.certainty import chance_phrase
from tradespace.results import placeholder

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

NAMED = 4
"""Closing architectures that the verdict names; more than these are left to the table below it."""


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
    who = f"all {len(water)}" if len(closing) == len(water) > 1 else f"{len(closing)} of the {len(water)}"
    few = len(closing) < len(water) and 1 < len(closing) <= NAMED
    names = f" ({listed([one.title for one in closing])})" if few else ""
    return (
        f"Yes: {who} architectures that refuel {verb(len(closing))} this mission{names}; "
        f"{best_words(results, closing)}{beside}"
    ), True


def best_words(results: Results, closing: list[Standing]) -> str:
    """The best of those whose performance has been shown, then the one that would win on what is assumed."""
    figure = words_of(results.study.figure_of_merit)
    first = closing[0]
    best = next((one for one in closing if one.demonstrated), None)
    if best is None:
        return (
            f"none of these rests on demonstrated performance; best by {figure}{at_conditions(results)} is "
            f"{result_words(results, first)}{chances(results, first)}"
        )
    if best is first:
        return f"best by {figure}{at_conditions(results)} is {result_words(results, best)}{chances(results, best)}"
    return (
        f"best by {figure}{at_conditions(results)} of those whose performance has been demonstrated is "
        f"{result_words(results, best)}{chances(results, best)} Ahead of it on what has not been demonstrated: "
        f"{result_words(results, first)}"
    )


def result_words(results: Results, one: Standing) -> str:
    """A closing architecture with its figure of merit and what limits it."""
    assert one.row is not None
    sure = chance_phrase(results, one.name)
    return (
        f"{one.title} with {merit(results, one)}, limited by {one.row['limited_by']}{at_hop(one.row)} (margin "
        f"{number(float(one.row['margin']), 2)})." + (f" {sure}." if sure else "")
    )


def chances(results: Results, one: Standing) -> str:
    """How likely a design is to get through, and how far it is to be expected to get."""
    row = one.row
    assert row is not None
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


def left_out_note(results: Results) -> str:
    """Which architectures the panels and lines of the figures leave out, and where their numbers are; or nothing."""
    drawn = drawn_architectures(results)
    missing = [one.title for one in standings(results) if one.name not in drawn]
    if not missing:
        return ""
    return (
        f"Figures of panels and lines have room for {len(drawn)} architectures: those that close by rank, then craft "
        f"that do not refuel, then those nearest to closing. Left out of them, by rank: {'; '.join(missing)}. Their "
        "numbers are in the table above and in The architectures side by side, their hops in Hop by hop."
    )


def mark_note(results: Results) -> str:
    """What the marks beside titles mean; empty when every architecture rests on what has been demonstrated."""
    words = mark_words(results)
    return f"Marks beside a title. {words} Unmarked: measured, reviewed or computed." if words else ""
