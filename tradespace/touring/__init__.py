"""A study's craft let loose among its candidate bodies: the best tours, beside the hand-made one."""

from __future__ import annotations

import dataclasses
import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace.constants import value
from tradespace.errors import StudyError, TradespaceError, TransferError
from tradespace.evaluate import mission_of
from tradespace.quantities import display
from tradespace.study.route import WITH_DENSE_AIR, WITHOUT_SURFACE
from tradespace.tour import Chart, Found, Tour
from tradespace.touring.chart import VALUES, FineCurves, PairProgress, make_chart, places_of
from tradespace.touring.craft import Vehicle, best_architecture, sized_vehicle
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.study import Place, Search, Study

__all__ = ["Progress", "Tours", "Vehicle", "make_chart", "search", "sized_vehicle", "usable"]

Progress = Callable[[str, int, int, int], None]
"""Called with what is under way (``curves`` or ``hops``), done, in all, and how many of the hops closed."""


@dataclass(frozen=True, eq=False)
class Tours:
    """What the search for a tour found, with the study and the craft it is about."""

    study: Study
    search: Search
    vehicle: Vehicle
    chart: Chart
    found: Found
    hand_made: Tour
    """The study's own route with the same craft, as far as it closes; no hops if the first does not."""
    hand_made_limit: str
    """What stops the study's own route, in words; empty when it closes."""
    left_out: dict[str, str]
    """Candidates that could not be tried, and why."""
    curve_seconds: float
    """Time spent on departure curves [s]."""
    search_seconds: float
    """Time spent on the search itself [s]."""

    @property
    def best(self) -> Tour:
        """The best tour found."""
        return self.found.tours[0]


def search(study: Study, *, workers: int | None = None, progress: Progress | None = None) -> Tours:
    """Search the best tours for the craft of a study.

    Parameters
    ----------
    study : Study
        With a section ``[search]``.
    workers : int, optional
        Threads of the search; the answer does not depend on them.
    progress : callable, optional
        Called now and then with what is under way, done, in all, and the hops that closed.

    Returns
    -------
    Tours
        At least one tour.

    Raises
    ------
    StudyError
        If the study does not ask for a search, or fewer than two candidates are usable.
    TransferError
        If no hop from a start body closes.
    """
    from tradespace.tour import search as beam

    asked = study.search
    if asked is None:
        raise StudyError(
            f"study {study.name} has no section [search]; add one with bodies = [...] and hops = 5"
        )
    names, left_out = usable(study, asked)
    mission = mission_of(study)
    vehicle = sized_vehicle(study, mission, asked.architecture or best_architecture(study, mission))
    begun = time.perf_counter()
    chart = make_chart(study, names, pairs_told(progress))
    ready = time.perf_counter()
    starts = None if not asked.start else (names.index(asked.start),)
    aim = dataclasses.replace(asked.aim, runners_up=asked.aim.runners_up + int(value("spare_tours", VALUES)))
    found = beam.search_tours(
        vehicle.design, vehicle.craft, chart, aim, starts, workers=workers, progress=hops_told(progress)
    )
    seconds = time.perf_counter() - ready
    if not found.tours:
        raise TransferError(nothing_closes(asked, found))
    found = on_fine_curves(study, asked, vehicle, found)
    if not found.tours:
        raise TransferError(
            "the tours found on coarse departure curves do not close on fine ones; give the craft more margin"
        )
    hand_made, limit = own_route(study, asked, vehicle)
    return Tours(study, asked, vehicle, chart, found, hand_made, limit, left_out, ready - begun, seconds)


def usable(study: Study, asked: Search) -> tuple[tuple[str, ...], dict[str, str]]:
    """Candidates a craft can land on and whose position is known, in the order of their names; and the others.

    Raises
    ------
    StudyError
        If fewer than two are left, or the start body is not among them.
    """
    names: list[str] = []
    left_out: dict[str, str] = {}
    for name, place in zip(asked.bodies, places_of(study, asked.bodies), strict=True):
        reason = _no_stop(place) or _without_position(study, name)
        if reason:
            left_out[name] = reason
        else:
            names.append(name)
    if asked.start in left_out:
        raise StudyError(f"no tour can start on {asked.start}: {left_out[asked.start]}")
    if len(names) < 2:
        why = "; ".join(f"{name}: {reason}" for name, reason in list(left_out.items())[:3])
        raise StudyError(f"a tour needs at least two usable bodies, {len(names)} left ({why})")
    return tuple(sorted(names, key=lambda name: (name.casefold(), name))), left_out


def _no_stop(place: Place) -> str:
    """Why nobody can land on a candidate, or too little is known of it; empty when it makes a stop."""
    from tradespace import bodies

    body = bodies.body(place.body)
    needed = {"radius": body.radius, "gravity": body.gravitational_parameter}
    if place.orbit is None:
        needed["rotation period"] = body.rotation_period
        if body.name.casefold() in WITHOUT_SURFACE:
            return "it has no surface to land on"
        if body.name.casefold() in WITH_DENSE_AIR:
            return "it has an atmosphere, in which landings are not modelled"
    unknown = [words for words, number in needed.items() if not math.isfinite(number)]
    return f"its {' and '.join(unknown)} is not known" if unknown else ""


def _without_position(study: Study, name: str) -> str:
    """Why the position of a body is of no use to the study; empty when it is."""
    from tradespace import ephemeris

    try:
        first, last = ephemeris.coverage(ephemeris.heliocentric_body(name))
    except TradespaceError as error:
        return str(error)
    if first <= study.start_date < last:
        return ""
    return (
        f"its position is known from {format_date(first)} to {format_date(last)}, "
        f"not on {format_date(study.start_date)}"
    )


def on_fine_curves(study: Study, asked: Search, vehicle: Vehicle, found: Found) -> Found:
    """The tours found, flown again on the curves the study itself uses; those that do not close there are dropped."""
    from tradespace.tour.merit import fly_tour, least_margins

    fine = FineCurves(study)
    flown: list[tuple[tuple[float, float, float, tuple[str, ...]], Tour]] = []
    for tour in found.tours:
        charted = fine.chart(tour.names)
        if charted is None:
            continue
        chart, route = charted
        again = fly_tour(vehicle.design, vehicle.craft, chart, asked.aim, route)
        if least_margins(again.hops)[0].min() >= 0.0:
            key = (-again.merit, again.end_date, again.water, tuple(name.casefold() for name in again.names))
            flown.append((key, again))
    flown.sort(key=lambda item: item[0])
    best = tuple(tour for _, tour in flown[: asked.aim.runners_up + 1])
    return dataclasses.replace(found, tours=best)


def own_route(study: Study, asked: Search, vehicle: Vehicle) -> tuple[Tour, str]:
    """The study's own route with the craft it was sized for, as far as it closes, and what stops it."""
    from tradespace.campaign import MARGINS
    from tradespace.tour.merit import least_margins, scored

    margins, links = least_margins(vehicle.hops)
    failing = np.flatnonzero(margins < 0.0)
    flown = int(failing[0]) if failing.size else study.hops
    limit = ""
    if failing.size:
        limit = (
            f"hop {flown + 1} to {study.stops[flown + 1]} is limited by {MARGINS[links[flown]]}, "
            f"margin {display('margin', margins[flown])}"
        )
    grounds = tuple(place.orbit is None for place in study.places[: flown + 1])
    bodies = tuple(place.body for place in study.places[: flown + 1])
    tour = scored(asked.aim, vehicle.design, study.horizon, bodies, vehicle.hops[:flown], grounds)
    return tour, limit


def nothing_closes(asked: Search, found: Found) -> str:
    """Why there is no tour at all, in a line."""
    origin = asked.start or "any of the candidates"
    near = found.nearest
    if near is None:
        return f"no hop from {origin} closes: no departure curve leads from there to another candidate"
    return (
        f"no hop from {origin} closes: nearest is {near.departure} to {near.arrival}, limited by "
        f"{near.limited_by} (margin {display('margin', near.margin)})"
    )


def pairs_told(progress: Progress | None) -> PairProgress | None:
    """Progress of the departure curves passed on."""
    if progress is None:
        return None
    return lambda done, total: progress("curves", done, total, 0)


def hops_told(progress: Progress | None) -> Callable[[int, int, int], None] | None:
    """Progress of the search passed on."""
    if progress is None:
        return None
    return lambda done, total, closing: progress("hops", done, total, closing)
