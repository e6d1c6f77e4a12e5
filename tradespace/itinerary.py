"""The campaign of one design hop by hop: its stops, its legs and its running totals, for sheet, report and CSV."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tradespace import constants
from tradespace.campaign.records import IMPULSIVE, SPIRAL, SPREAD
from tradespace.results import placeholder
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

SETTINGS = "engine_settings.csv"
DATES = ("arrival_date", "ready_date", "departure_date", "landing_date", "window_date")
BURNS = {IMPULSIVE: "short burns", SPREAD: "long burns", SPIRAL: "slow spiral"}
"""How the cruise burns of a hop are priced, in words."""
STOP_ITEMS = {
    "arrival_date": "Arrival",
    "refuel_time": "Refuelling",
    "water_mined": "Water mined",
    "ready_date": "Ready",
    "wait": "Waiting",
    "propellant_loaded": "Propellant loaded",
    "departure_mass": "Mass at launch",
}
LEG_ITEMS = {
    "departure_date": "Departure",
    "window_date": "Middle of the leaving burn",
    "time_of_flight": "Flight",
    "landing_date": "Landing",
    "launch_delta_v": "Launch burn",
    "departure_delta_v": "Leaving burn",
    "arrival_delta_v": "Arriving burn",
    "landing_delta_v": "Landing burn",
    "pricing": "Priced as",
    "burn_time": "Longer burn",
    "propellant_used": "Propellant used",
    "energy": "Energy",
    "own_survival": "Chance of this hop",
}
TOTAL_ITEMS = {
    "elapsed": "Elapsed",
    "water_so_far": "Water mined",
    "energy_so_far": "Energy",
    "delta_v_so_far": "Velocity change with margin",
    "survival": "Chance to get here",
}
WITHOUT_MASS = {"propellant_loaded", "water_so_far", "energy", "energy_so_far"}
"""Per-hop columns, besides those known to the table of answers, that mean nothing without a finite mass."""

Words = Callable[[str, float], str]
"""A quantity and its SI value to words with a unit."""


@dataclass(frozen=True)
class Leg:
    """One hop of the route, the same for every design."""

    hop: int
    """From 1."""
    here: str
    there: str
    mines: bool
    """Whether there is water to be had where the hop begins."""
    lands: bool
    """Whether the craft stands on ground there."""
    kind: str
    """``around the Sun``, ``about one planet`` or ``ballistic hop``."""

    @property
    def route(self) -> str:
        """Both ends in words."""
        return f"{self.here} to {self.there}"

    @property
    def stop(self) -> str:
        """What the craft does where the hop begins."""
        return "on the ground" if self.lands else "parking orbit"


def legs(study: Study, mission: Mission) -> list[Leg]:
    """The hops of a route in order."""
    found = []
    for number, (here, there) in enumerate(zip(mission.stops[:-1], mission.stops[1:], strict=True)):
        kind = "one burn" if mission.kind == "burn" else "ballistic hop"
        if mission.kind == "tour":
            within = mission.windows[number].system is not None
            kind = "about one planet" if within else "around the Sun"
        names = study.stops[number : number + 2] if mission.kind == "tour" else (here.name, there.name)
        found.append(Leg(number + 1, str(names[0]), str(names[1]), here.mines, here.lands, kind))
    return found


def present(row: Any, items: dict[str, str], mission: Mission) -> dict[str, str]:
    """The items a design has a number for, as they are called on this route."""
    landing = {} if all(stop.lands for stop in mission.stops) else {"landing_date": "Landing, or in orbit"}
    hops = range(1, mission.hops + 1)
    return {
        name: landing.get(name, words)
        for name, words in items.items()
        if any(math.isfinite(value(row, name, hop, mission)) for hop in hops)
        and (mission.kind, name) != ("surface", "ready_date")  # a hop on one body starts when it is ready
    }


def value(row: Any, name: str, hop: int, mission: Mission) -> float:
    """A per-hop column of a design [SI]; totals a surface route has no column for are added up; NaN for none."""
    if name == "window_date" and not (mission.windows and mission.windows[hop - 1].system is None):
        return math.nan
    found = row.get(f"{name}_{hop}")
    if found is not None:
        return float(found)
    if name == "elapsed":
        return float(row.get(f"landing_date_{hop}", math.nan)) - mission.start_date
    if name == "own_survival":
        before = row.get(f"survival_{hop - 1}", 1.0)
        return float(row.get(f"survival_{hop}", math.nan)) / float(before) if before else math.nan
    if name == "water_so_far":
        return math.fsum(float(row.get(f"water_mined_{one}", math.nan)) for one in range(1, hop + 1))
    return math.nan


def told(row: Any, name: str, hop: int, mission: Mission, words: Words) -> str:
    """A per-hop column in words: dates, prices, amounts with units, or what stands for none.

    On a surface route dates are days since the start.
    """
    number = value(row, name, hop, mission)
    if name in {*DATES, "elapsed"} and mission.kind == "surface" and math.isfinite(number):
        since = number if name == "elapsed" else number - mission.start_date
        return f"{float(convert(since, 's', 'd')):.1f} d"
    if name in DATES and math.isfinite(number):
        return format_date(number)
    if name == "pricing":
        return BURNS.get(number, "")
    if name == "refuel_time" and number >= 0.999 * constants.value("refuelling_cap", SETTINGS):
        return "never"
    stands = placeholder(row, "water_mined" if name in WITHOUT_MASS else name)
    return stands or words("survival" if name == "own_survival" else name, number)


def cells(
    row: Any, items: Sequence[str], route: Sequence[Leg], mission: Mission, words: Words
) -> list[list[str]]:
    """One list of words per item, one entry per hop."""
    return [[told(row, name, leg.hop, mission, words) for leg in route] for name in items]
