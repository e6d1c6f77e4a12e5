"""Rates of the curves of all ordered pairs, beside the same transfers solved one by one; prints, judges no clock.

``python tests/benchmarks/bench_windows.py [BODIES] [all]``: so many bodies of the catalogue (all of them unless
given), prograde transfers of less than a turn, or with ``all`` both senses and up to one full turn.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from collections.abc import Sequence

import numpy as np
from boinor.core.iod import izzo

from tradespace import windows
from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.ephemeris import state
from tradespace.physics.lambert import lambert
from tradespace.tables import read_table
from tradespace.units import parse_date

DAY = 86400.0
DATES, STEP, FLIGHTS = 183, 20 * DAY, 60
FIRST = "2030-01-01"
FEW = 2000  # transfers solved one by one
MEGA = 1e6


def heliocentric_bodies() -> list[str]:
    """Bodies of the shipped catalogue that circle the Sun, the barycentre of Earth and Moon left out."""
    rows = read_table("bodies.csv").rows
    return [row["id"] for row in rows if row["parent"] == "Sun" and row["id"] != "earthmoon"]


def pair_rates(names: Sequence[str], kinds: Sequence[str], dates: int = DATES) -> dict[str, float]:
    """Transfers, wall and processor time of all pairs, computed and read back [s]."""
    first = parse_date(FIRST)
    windows.all_pairs(names[:2], first, first, cached=False)  # compiled, or read from the cache of kernels
    numbers: dict[str, float] = {}
    for what in ("computed", "read"):
        wall, busy = time.perf_counter(), time.process_time()
        curves = windows.all_pairs(names, first, first + (dates - 1) * STEP, STEP, FLIGHTS, kinds=kinds)
        numbers[f"{what}_wall"] = time.perf_counter() - wall
        numbers[f"{what}_busy"] = time.process_time() - busy
        if what == "computed":
            numbers |= {
                "transfers": curves.transfers,
                "solved": curves.solved,
                "without": len(curves.without),
            }
    numbers["megabytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / MEGA
    return numbers


def single_rates(few: int = FEW) -> dict[str, float]:
    """Transfers per second when each is one call: the library's own solver, and our own scalar face."""
    sun, first = value("gravitational_parameter_sun"), parse_date(FIRST)
    dates = first + STEP * np.arange(few) / few
    flights = np.random.default_rng(0).uniform(120.0, 500.0, few) * DAY
    start, end = state("Earth", dates)[0], state("Mars", dates + flights)[0]
    rates = {}
    for name, solve in (
        ("library", lambda n: izzo(sun, start[n], end[n], flights[n], 0, True, True, 35, 1e-10)),
        ("face", lambda n: lambert(sun, start[n], end[n], flights[n])),
    ):
        solve(0)
        begun = time.perf_counter()
        for n in range(few):
            solve(n)
        rates[name] = few / (time.perf_counter() - begun)
    return rates


def report(names: Sequence[str], kinds: Sequence[str], dates: int = DATES, few: int = FEW) -> list[str]:
    """One line per rate."""
    numbers, single = pair_rates(names, kinds, dates), single_rates(few)
    rate = numbers["transfers"] / numbers["computed_wall"]
    cores = os.cpu_count() or 1
    per_core = numbers["transfers"] / numbers["computed_busy"]
    return [
        (
            f"{len(names)} bodies, {dates} departures, {FLIGHTS} flight times, {len(kinds)} kinds: "
            f"{numbers['transfers'] / MEGA:.1f} million transfers compared, "
            f"{numbers['solved'] / MEGA:.1f} million solved "
            "(with refinement; the others were too dear by a lower bound, or too short for their turns)"
        ),
        (
            f"computed in {numbers['computed_wall']:.1f} s on {cores} cores "
            f"({numbers['computed_busy']:.1f} s of processor time): {rate / MEGA:.2f} million transfers/s, "
            f"{per_core / MEGA:.2f} million per second of one core"
        ),
        f"solved: {numbers['solved'] / numbers['computed_wall'] / MEGA:.2f} million/s",
        (
            f"read back from the cache in {numbers['read_wall']:.1f} s; peak memory {numbers['megabytes']:.0f} MB; "
            f"{numbers['without']:.0f} pairs without a hop"
        ),
        (
            f"one by one: the library's solver {single['library']:.0f}/s, our scalar face {single['face']:.0f}/s; "
            f"all pairs at once are {rate / single['library']:.0f} and {rate / single['face']:.0f} times faster"
        ),
    ]


def main(arguments: Sequence[str]) -> None:
    """Print one line per rate, with a cache of its own."""
    words = list(arguments)
    kinds = windows.transfer_kinds()
    if "all" in words:
        words.remove("all")
        kinds = windows.transfer_kinds(retrograde=True, revolutions=1)
    names = heliocentric_bodies()[: int(words[0]) if words else None]
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        print(f"from {catalogue_row(names[0])['name']} to {catalogue_row(names[-1])['name']}")
        for line in report(names, kinds):
            print(line)


if __name__ == "__main__":
    main(sys.argv[1:])
