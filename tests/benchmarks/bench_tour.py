"""Rate of a tour search over cached curves, beside evaluating tours one at a time; prints, judges no clock.

``python tests/benchmarks/bench_tour.py [BODIES] [HOPS] [WORKERS]``: 60 bodies, 5 hops and 2 workers unless given. The
craft is invented and far stronger than any that could be built, so that there is much to search.
"""

from __future__ import annotations

import dataclasses
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomlkit

from tradespace import evaluate, parse_study, touring
from tradespace.catalogue import catalogue_row
from tradespace.study import Study
from tradespace.tables import read_table
from tradespace.tour import Tour
from tradespace.touring import tables
from tradespace.touring.chart import places_of

OUTER_BELT = Path(__file__).parents[2] / "studies" / "outer_belt_ice_tour.toml"
GROUPS = ("main_belt", "main_belt_comet", "hilda", "nea", "jupiter_trojan")
FIRST = ("Themis", "Antiope")
ONE_BY_ONE = 3  # tours evaluated one at a time
CRAFT = {
    "start": {"date": "2027-01-01", "launch_mass": "40000 kg"},
    "route": {"horizon": "2045-12-31", "maximum_wait": "900 d"},
    "craft": {"hop_delta_v_capacity": "6 km/s", "storage_volume": "200 m3", "design_life": "25 yr"},
    "sunlight": {"array_area": "900 m2"},
}
ENGINE = {
    "specific_impulse": "900 s", "thrust": "60 N", "power_per_thrust": "4.5 W/mN", "throughput_life": "400000 kg",
}  # fmt: skip


def candidates(count: int) -> list[str]:
    """So many bodies whose spin and size are known, Themis and Antiope first."""
    rows = read_table("bodies.csv").rows
    known = [
        row["id"]
        for group in GROUPS
        for row in rows
        if row["group"] == group
        and row["parent"] == "Sun"
        and row["rotation_period"]
        and row["name"] not in FIRST
    ]
    return [*FIRST, *(str(catalogue_row(one)["name"]) for one in known)][:count]


def asked(bodies: Sequence[str], hops: int) -> Study:
    """The shipped tour with an invented craft that can go almost anywhere."""
    text: Any = tomlkit.parse(OUTER_BELT.read_text(encoding="utf-8"))
    for section, values in CRAFT.items():
        for name, words in values.items():
            text[section][name] = words
    for name, words in ENGINE.items():
        text["thruster"][0][name] = words
    text["search"] = {"bodies": list(bodies), "hops": hops, "architecture": "electrothermal_engine"}
    return parse_study(str(tomlkit.dumps(text)), "bench")


def seconds_one_by_one(study: Study, tours: Sequence[Tour]) -> float:
    """Time to evaluate tours as studies of their own, one at a time [s]; their curves come from the cache."""
    begun = time.perf_counter()
    for tour in tours:
        own = dataclasses.replace(study, places=places_of(study, tour.names), hops=len(tour.names) - 1)
        evaluate.baseline(own, evaluate.mission_of(own), "electrothermal_engine")
    return time.perf_counter() - begun


def report(count: int, hops: int, workers: int) -> list[str]:
    """One line per rate."""
    study = asked(candidates(count), hops)
    touring.search(study, workers=workers)  # compiled, and the curves into the cache
    wall, busy = time.perf_counter(), time.process_time()
    tours = touring.search(study, workers=workers)
    wall, busy = time.perf_counter() - wall, time.process_time() - busy
    tried = sum(level.tried for level in tours.found.levels)
    few = tours.found.tours[:ONE_BY_ONE]
    single = seconds_one_by_one(study, few)
    flown = sum(len(one.names) - 1 for one in few)
    rate = tried / tours.search_seconds
    return [
        (
            f"{len(tours.chart.names)} bodies, up to {hops} hops, beam of {tours.search.aim.beam}, {workers} workers: "
            f"{tried} hops flown in {tours.search_seconds:.2f} s, {rate:.0f} hops/s; curves read in "
            f"{tours.curve_seconds:.2f} s; all in {wall:.2f} s ({busy:.2f} s of processor time)"
        ),
        (
            f"one tour at a time, each a study of its own: {flown} hops in {single:.2f} s, "
            f"{flown / single:.1f} hops/s; the search is {rate * single / flown:.0f} times faster"
        ),
        tables.best_in_words(tours),
    ]


def main(arguments: Sequence[str]) -> None:
    """Print one line per rate."""
    count, hops, workers = [*map(int, arguments), *(60, 5, 2)[len(arguments) :]]
    for line in report(count, hops, workers):
        print(line)


if __name__ == "__main__":
    main(sys.argv[1:])
