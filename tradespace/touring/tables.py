"""Tours as tables in SI and in display units, and as sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace.campaign import MARGINS
from tradespace.quantities import display, json_key, plain_number, quantities
from tradespace.tour import Tour
from tradespace.tour.merit import least_margins
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.touring import Tours

FROM_RECORD = (
    "arrival_date refuel_time ready_date wait departure_date time_of_flight landing_date delta_v launch_delta_v "
    "landing_delta_v departure_delta_v arrival_delta_v v_inf_departure v_inf_arrival pricing propellant_loaded "
    "propellant_used water_mined energy departure_mass survival elapsed water_so_far energy_so_far delta_v_so_far"
).split()
UNITS_OF = {
    "propellant_so_far": "propellant_used",
    "end_date": "landing_date",
}
"""Quantities whose units columns of another name have."""
MERIT_WORDS = {
    "bodies_visited": ("bodies reached", "", "reaches the most bodies"),
    "water_processed": ("water processed", "kg", "processes the most water"),
    "payload_years": ("payload-years on bodies", "kg yr", "keeps the payload at work on bodies the longest"),
}
MOST_NAMED = 6
CAUTION = (
    "Departures are read from curves of the cheapest transfer of each date, so a dearer but shorter flight is not "
    "tried; the craft stays as sized for the study's own route."
)


def hop_table(tour: Tour) -> pd.DataFrame:
    """One row per hop of a tour, in SI; survival, elapsed time and what is so far run from the start."""
    hops = tour.hops
    columns: dict[str, Any] = {
        "hop": np.arange(1, len(hops) + 1),
        "departure_body": list(tour.names[:-1]),
        "arrival_body": list(tour.names[1:]),
        **{name: hops[name].astype(np.float64) for name in FROM_RECORD},
    }
    margins, links = least_margins(hops)
    columns["margin"] = margins
    columns["limited_by"] = [MARGINS[link] for link in links]
    columns["propellant_so_far"] = np.cumsum(hops["propellant_used"])
    return pd.DataFrame(columns)


def tour_table(tours: Tours) -> pd.DataFrame:
    """One row per tour found, the best first, in SI."""
    rows = []
    for rank, tour in enumerate(tours.found.tours, start=1):
        row = {"rank": rank, "bodies": " > ".join(tour.names), **scores(tours, tour)}
        rows.append(row)
    return pd.DataFrame(rows)


def scores(tours: Tours, tour: Tour) -> dict[str, Any]:
    """What a tour comes to, in SI."""
    hops = tour.hops
    return {
        tours.search.aim.figure_of_merit: tour.merit,
        "hops": len(hops),
        "end_date": tour.end_date,
        "mission_time": tour.end_date - tours.study.start_date,
        "water_mined": float(hops["water_mined"].sum()),
        "propellant_used": tour.water,
        "delta_v_total": float(hops["delta_v"].sum()),
        "energy": float(hops["energy"].sum()),
        "survival": tour.survival,
    }


def body_table(tours: Tours) -> pd.DataFrame:
    """One row per candidate: hops tried to it, those that closed, and those that did not by binding link."""
    rows = []
    for name in tours.search.bodies:
        reason = tours.left_out.get(name, "")
        failures = tours.found.failures.get(name, {})
        rows.append(
            {
                "body": name,
                "hops_tried": tours.found.attempts.get(name, 0),
                "hops_closing": tours.found.arrivals.get(name, 0),
                **{f"limited_by_{link}": failures.get(link, 0) for link in MARGINS},
                "left_out": reason,
            }
        )
    return pd.DataFrame(rows)


def displayed(frame: pd.DataFrame) -> pd.DataFrame:
    """A table with dates in ISO form and every known quantity in its display unit, which the heading names."""
    known = quantities()
    columns: dict[str, Any] = {}
    for name in frame.columns:
        quantity = UNITS_OF.get(name, name)
        if name.endswith("_date"):
            columns[name] = [format_date(value) if value == value else "" for value in frame[name]]  # noqa: PLR0124
        elif quantity in known and known[quantity].display_unit not in {"", "1"}:
            key = json_key(quantity)
            suffix = key.removeprefix(quantity)
            columns[name + suffix] = [known[quantity].shown(float(value)) for value in frame[name]]
        else:
            columns[name] = list(frame[name])
    return pd.DataFrame(columns)


def shown_merit(tours: Tours, merit: float) -> str:
    """The figure of merit with its unit."""
    _, unit, _ = MERIT_WORDS[tours.search.aim.figure_of_merit]
    return f"{plain_number(merit)} {unit}".rstrip()


def merit_heading(tours: Tours) -> str:
    """The figure of merit in words."""
    words = MERIT_WORDS[tours.search.aim.figure_of_merit][0]
    return f"expected {words}" if tours.search.aim.expected else words


def best_in_words(tours: Tours) -> str:
    """The best tour in one sentence."""
    best = tours.best
    hops = best.hops
    years = display("mission_time", best.end_date - tours.study.start_date, 3)
    return (
        f"Best tour: {' > '.join(best.names)}, {merit_heading(tours)} {shown_merit(tours, best.merit)} in {years}, "
        f"the last landing on {format_date(best.end_date)}, with {display('delta_v_total', hops['delta_v'].sum())} "
        f"and {display('propellant_used', best.water)} of propellant in {counted(len(hops), 'hop')}."
    )


def own_in_words(tours: Tours) -> str:
    """How the study's own route does with the same craft."""
    own = tours.hand_made
    route = " > ".join(tours.study.stops)
    score = f"{merit_heading(tours)} {shown_merit(tours, own.merit)}"
    if not tours.hand_made_limit:
        return f"The study's own route {route}: {score}, the last landing on {format_date(own.end_date)}."
    return f"The study's own route {route} does not close: {tours.hand_made_limit}; until there {score}."


def search_in_words(tours: Tours) -> str:
    """How thoroughly it was searched."""
    levels = tours.found.levels
    tried = sum(level.tried for level in levels)
    hops = f"{tried:,} hops flown in {tours.search_seconds:.1f} s".replace(",", " ")
    if tours.found.exhaustive:
        return (
            f"{hops}; every order of the bodies was tried, so with this craft, these curves and this choice of "
            "departures no tour is better."
        )
    dropped = sum(level.dominated + level.cut for level in levels)
    beam = f"{tours.search.aim.beam:,}".replace(",", " ")
    return (
        f"{hops}; the beam of {beam} overflowed and dropped {dropped} partial tours, so a better tour may exist: "
        "try a wider beam."
    )


def left_out_in_words(tours: Tours) -> str:
    """How many candidates could not be tried at all; empty when all were."""
    reasons: dict[str, list[str]] = {}
    for name, reason in tours.left_out.items():
        reasons.setdefault(reason, []).append(name)
    words = "; ".join(
        f"{', '.join(names[:MOST_NAMED])}{', ...' if len(names) > MOST_NAMED else ''}: {reason}"
        for reason, names in reasons.items()
    )
    count = len(tours.left_out)
    return f"{count} of {counted(len(tours.search.bodies), 'candidate')} left out ({words})." if count else ""


def counted(number: int, word: str) -> str:
    """A number with its noun."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def never_reached(tours: Tours) -> list[tuple[str, str]]:
    """Candidates no hop reached, and what stood in the way."""
    rows: list[tuple[str, str]] = []
    for name in tours.search.bodies:
        if name in tours.left_out:
            rows.append((name, tours.left_out[name]))
        elif not tours.found.arrivals[name]:
            failures = sorted(tours.found.failures[name].items(), key=lambda item: -item[1])
            words = ", ".join(f"{link} {count}" for link, count in failures)
            none = "the start of every tour" if name == tours.search.start else "no hop could be tried"
            rows.append((name, f"limited by {words}" if words else none))
    return rows
