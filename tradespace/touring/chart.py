"""Candidate stops, the distances of each from the Sun, and the departure curves between them."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tradespace.constants import value
from tradespace.errors import TradespaceError, TransferError
from tradespace.evaluate.engine import leg_records, priced_ends, stop_records
from tradespace.evaluate.question import SETTINGS, leg_of, stop_of
from tradespace.mission import Stop, WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.tour import Chart

if TYPE_CHECKING:
    from tradespace.study import Place, Study

VALUES = "search_values.csv"
PairProgress = Callable[[int, int], None]
"""Called with bodies done and bodies in all."""
Curves = dict[tuple[int, int], WindowCurve]
"""Curves by the numbers of their stops; on dates without a transfer they are not numbers."""


def places_of(study: Study, names: tuple[str, ...]) -> tuple[Place, ...]:
    """Candidates as stops: with the particulars the study's own route gives them, else plain."""
    from tradespace.study import Place

    own: dict[str, Place] = {}
    for place in study.places:
        own.setdefault(place.body, place)
    return tuple(own.get(name, Place(name)) for name in names)


def make_chart(study: Study, names: tuple[str, ...], progress: PairProgress | None = None) -> Chart:
    """The chart of some candidates, their departure curves read from the cache where they are in it.

    Parameters
    ----------
    study : Study
        For its dates, flight times and stops.
    names : tuple of str
        Bodies.
    progress : callable, optional
        Called now and then with bodies done and bodies in all.

    Raises
    ------
    TransferError
        If no pair has a transfer.
    """
    places = places_of(study, names)
    dates = _window_dates(study)
    curves = _around_the_sun(study, places, dates, progress)
    for here in range(len(places)):
        for there in range(len(places)):
            if here != there and (here, there) not in curves:
                curve = _within(study, places[here], places[there], dates)
                if curve is not None:
                    curves[here, there] = curve
    if not curves:
        raise TransferError("no pair of the candidates has a transfer with the flight times allowed")
    return charted(study, places, curves)


def charted(study: Study, places: tuple[Place, ...], curves: Curves) -> Chart:
    """The chart of some stops whose departure curves are known.

    Parameters
    ----------
    study : Study
        For its dates.
    places : tuple of Place
        Stops, b of them.
    curves : dict
        Curves by the numbers of their stops, all with the same spacing of dates.
    """
    step = value("distance_step", SETTINGS)
    count = int(np.ceil((study.horizon - study.start_date) / step)) + 2
    days: FloatArray = study.start_date + step * np.arange(count, dtype=np.float64)
    stops = [stop_of(study, place, days) for place in places]
    size = len(places), len(places), max(curve.departure.size for curve in curves.values())
    tables = np.full((5, *size), np.nan)
    legs: NDArray[Any] = np.zeros(size[:2], dtype=leg_records((), 0).dtype)
    for (here, there), curve in curves.items():
        columns = (
            curve.v_inf_departure, curve.v_inf_arrival, curve.time_of_flight,
            *_priced(curve, stops[here], stops[there]),
        )  # fmt: skip
        for table, column in zip(tables, columns, strict=True):
            table[here, there, : column.size] = column
        legs[here, there] = leg_records((curve,), 1)[0]
    any_curve = next(iter(curves.values()))
    return Chart(
        tuple(place.body for place in places), stop_records(stops), legs, float(days[0]), float(days[1] - days[0]),
        np.ascontiguousarray([stop.distances for stop in stops], dtype=np.float64),
        float(any_curve.departure[1] - any_curve.departure[0]), tables[0], tables[1], tables[2], tables[3], tables[4],
        study.start_date, study.horizon,
    )  # fmt: skip


def _priced(curve: WindowCurve, here: Stop, there: Stop) -> tuple[FloatArray, FloatArray]:
    """Sum of both burns and the first of them as the engine prices them; not numbers where the curve is not."""
    known = np.isfinite(curve.v_inf_sum)
    filled = WindowCurve(
        curve.departure_body, curve.arrival_body, curve.departure, curve.time_of_flight,
        np.where(known, curve.v_inf_departure, 0.0), np.where(known, curve.v_inf_arrival, 0.0), system=curve.system,
    )  # fmt: skip
    both, first = priced_ends(filled, here, there)
    return np.where(known, both, np.nan), np.where(known, first, np.nan)


def _window_dates(study: Study) -> FloatArray:
    """Departure dates of the curves of a search."""
    step = value("pair_step", VALUES)
    dates: FloatArray = study.start_date + step * np.arange(
        int((study.horizon - study.start_date) / step) + 2, dtype=np.float64
    )
    return dates


def _around_the_sun(
    study: Study, places: tuple[Place, ...], dates: FloatArray, progress: PairProgress | None
) -> Curves:
    """Curves of all pairs of stops that circle the Sun apart; the planet of a moon or an orbit stands for it."""
    from tradespace import bodies, ephemeris, windows

    hosts = [bodies.body(ephemeris.heliocentric_body(place.body)).name for place in places]
    unique = tuple(dict.fromkeys(hosts))
    if len(unique) < 2:
        return {}
    if study.flight_time is None:
        raise TransferError(
            f"study {study.name} gives no flight times for flights around the Sun; add flight_time to [route]"
        )
    pairs = windows.all_pairs(
        unique, float(dates[0]), float(dates[-1]), float(dates[1] - dates[0]), int(value("pair_flights", VALUES)),
        shortest=study.flight_time[0], longest=study.flight_time[1],
        progress=None if progress is None else lambda done, total, _: progress(done, total),
    )  # fmt: skip
    curves: Curves = {}
    for here, one in enumerate(hosts):
        for there, other in enumerate(hosts):
            place = unique.index(one), unique.index(other)
            if one == other or not np.isfinite(pairs.time_of_flight[place]).any():
                continue
            curves[here, there] = WindowCurve(
                places[here].label, places[there].label, pairs.departure, pairs.time_of_flight[place],
                pairs.v_inf_departure[place], pairs.v_inf_arrival[place],
            )  # fmt: skip
    return curves


def _within(study: Study, here: Place, there: Place, dates: FloatArray) -> WindowCurve | None:
    """The leg between two stops in the system of one planet, on the dates given; None where there is none."""
    from tradespace import bodies, ephemeris

    hosts = {ephemeris.heliocentric_body(place.body) for place in (here, there)}
    ground = [place for place in (here, there) if place.orbit is None and bodies.body(place.body).id in hosts]
    if len(hosts) > 1 or ground:
        return None
    curve = leg_of(study, here, there)
    numbers = (curve.time_of_flight, curve.v_inf_departure, curve.v_inf_arrival)
    same = [np.full(dates.size, float(number[0])) for number in numbers]
    return WindowCurve(here.label, there.label, dates, same[0], same[1], same[2], system=curve.system)


class FineCurves:
    """The study's own, finer curves of single legs, each worked out once."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.known: dict[tuple[Place, Place], WindowCurve | None] = {}

    def chart(self, names: tuple[str, ...]) -> tuple[Chart, tuple[int, ...]] | None:
        """The chart of one tour, and the tour as numbers of its stops; None when a leg has no curve."""
        places = places_of(self.study, tuple(dict.fromkeys(names)))
        bodies = [place.body for place in places]
        route = tuple(bodies.index(name) for name in names)
        curves: Curves = {}
        for here, there in pairwise(route):
            curve = self._leg(places[here], places[there])
            if curve is None:
                return None
            curves[here, there] = curve
        return charted(self.study, places, curves), route

    def _leg(self, here: Place, there: Place) -> WindowCurve | None:
        if (here, there) not in self.known:
            try:
                self.known[here, there] = leg_of(self.study, here, there)
            except TradespaceError:
                self.known[here, there] = None
        return self.known[here, there]
