"""What every search shares: the pair of bodies, the flight times allowed, states on dates."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tradespace.catalogue import catalogue_row
from tradespace.ephemeris import coverage, state
from tradespace.errors import TransferError
from tradespace.physics.compiled import FloatArray
from tradespace.units import format_date
from tradespace.windows.kinds import PATHS

DEFAULTS = "orbits.csv"
STAND_INS = {"earthmoon": "Earth"}
"""Barycentres of the catalogue, and the planet each stands for: both go around the Sun together."""


def check_pair(
    departure_body: str, arrival_body: str, first: float, last: float, whole: bool = False
) -> None:
    """Refuse equal bodies, moons, and dates in the wrong order (or equal ones, if a whole span is needed)."""
    start, end = catalogue_row(departure_body), catalogue_row(arrival_body)
    if start["id"] == end["id"]:
        raise TransferError(f"a transfer needs two different bodies, not {start['name']} twice")
    refuse_same_planet(start, end)
    for name in (departure_body, arrival_body):
        refuse_moon(name)
    if not (math.isfinite(first) and math.isfinite(last)):
        raise TransferError("dates must be finite numbers of seconds past J2000")
    if whole and last == first:
        raise TransferError(
            f"arrival on {format_date(last)} is no later than departure; choose a later arrival"
        )
    if last < first:
        raise TransferError(f"{format_date(last)} does not come after {format_date(first)}; swap the dates")


def refuse_same_planet(start: dict[str, str], end: dict[str, str]) -> None:
    """Refuse two different bodies (rows of the catalogue) that go around the Sun together.

    Raises
    ------
    TransferError
        If both belong to one planet.
    """
    planets = [
        row["parent"] if row["group"] == "moon" else STAND_INS.get(row["id"], row["name"])
        for row in (start, end)
    ]
    if planets[0] != planets[1]:
        return
    shared = f"the leg from {start['name']} to {end['name']} stays with {planets[0]} and has no windows around the Sun"
    if STAND_INS.keys() & {start["id"], end["id"]}:
        raise TransferError(f"{shared}; the barycentre stands for {planets[0]}, leave one of both out")
    raise TransferError(f"{shared}; make both stops of a study, which prices it")


def refuse_moon(name: str) -> None:
    """Refuse a body that circles a planet: around the Sun its planet stands for it.

    Raises
    ------
    TransferError
        If the body is a moon.
    """
    row = catalogue_row(name)
    if row["group"] == "moon":
        raise TransferError(
            f"{row['name']} is a moon of {row['parent']}, which stands for it around the Sun; "
            f"use {row['parent']!r} as the body to fly to"
        )


def check_kind(revolutions: int, path: str | None) -> None:
    """Refuse less than no turns, parts of a turn, and paths that do not exist."""
    if isinstance(revolutions, bool) or revolutions != int(revolutions) or revolutions < 0:
        raise TransferError(f"full turns must be 0, 1, 2, ..., not {revolutions!r}")
    if path not in {None, *PATHS}:
        raise TransferError(
            f"path {path!r} is unknown; choose {' or '.join(map(repr, PATHS))}, or leave it out"
        )


def paths(revolutions: int, path: str | None) -> tuple[str, ...]:
    """Orbits to try: one without a name if no full turn is made, else the one asked for or both."""
    if not revolutions:
        return ("",)
    return PATHS if path is None else (path,)


def spaced(first: float, last: float, step: float) -> FloatArray:
    """Evenly spaced numbers from first to last, both included, at most a step apart."""
    return np.linspace(
        first, last, max(1, math.ceil((last - first) / step - 1e-9)) + 1 if last > first else 1
    )


def track(body: str, dates: FloatArray) -> FloatArray:
    """States (n, 6) of a body."""
    return np.ascontiguousarray(np.hstack(state(body, dates)))


def coverage_mask(body: str, dates: FloatArray) -> NDArray[np.bool_]:
    """Whether the position of a body is known on each date."""
    first, last = coverage(body)
    return np.asarray((dates >= first) & (dates <= last))


def covered_track(body: str, dates: FloatArray) -> FloatArray:
    """States (n, 6) of a body, outside its coverage those of the nearest covered date."""
    return track(body, np.clip(dates, *coverage(body)))
