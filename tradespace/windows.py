"""Excess speeds of transfers against departure date, and the best transfer of an opportunity."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tradespace.constants import value
from tradespace.ephemeris import catalogue_row, state
from tradespace.errors import TransferError
from tradespace.mission import WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.units import convert, format_date

DEFAULTS = "orbits.csv"
AIMS: dict[str, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "c3": lambda departure, arrival: departure,  # the energy grows with the departure speed
    "arrival": lambda departure, arrival: arrival,
    "total": lambda departure, arrival: departure + arrival,
}
ROUNDS = 14
ZOOM = np.linspace(-1.0, 1.0, 9)
SHRINK = 0.375  # half again the spacing of the zoomed grid, so a valley between its points stays inside


@dataclass(frozen=True)
class Transfer:
    """One impulsive transfer between two bodies around the Sun."""

    departure_body: str
    arrival_body: str
    departure: float
    """Seconds past J2000."""
    arrival: float
    """Seconds past J2000."""
    v_inf_departure: float
    """Speed relative to the departure body, far away [m/s]."""
    v_inf_arrival: float
    """Speed relative to the arrival body, far away [m/s]."""
    transfer_angle: float
    """Heliocentric angle flown, in the sense of the planets [rad]."""

    @property
    def time_of_flight(self) -> float:
        """[s]."""
        return self.arrival - self.departure

    @property
    def c3(self) -> float:
        """Characteristic energy of the departure [m2/s2]."""
        return self.v_inf_departure**2

    @property
    def v_inf_sum(self) -> float:
        """Sum of both excess speeds [m/s]."""
        return self.v_inf_departure + self.v_inf_arrival

    @property
    def transfer_type(self) -> int:
        """1 if less than half a turn is flown, else 2."""
        return 1 if self.transfer_angle < math.pi else 2


def window_curve(
    departure_body: str,
    arrival_body: str,
    first: float,
    last: float,
    shortest: float | None = None,
    longest: float | None = None,
    step: float | None = None,
    flight_step: float | None = None,
) -> WindowCurve:
    """The cheapest transfer for each departure date: least sum of both excess speeds over the flight times.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    first, last : float
        First and last departure date, seconds past J2000.
    shortest, longest : float, optional
        Flight times allowed [s]; the defaults are the shares ``window_shortest`` and ``window_longest`` of
        the half period of the ellipse between the two semi-major axes.
    step : float, optional
        Spacing of departure dates [s]; ``window_step`` of the table of orbits unless given.
    flight_step : float, optional
        Spacing of the flight times tried [s], at most ``step``; the date step over the nearest whole number
        is used. The best of them is refined, so the step need only separate the valleys.

    Returns
    -------
    WindowCurve
        Departure dates, flight times and excess speeds.

    Raises
    ------
    TransferError
        If both bodies are the same, dates or flight times are reversed, or a date has no transfer.
    EphemerisError
        If a departure or an arrival falls outside the coverage of its body.

    Notes
    -----
    Prograde transfers of less than one turn, on both sides of half a turn. Within a few degrees of half a
    turn the plane of a transfer stands up and its cost is huge, so those never win.
    """
    from tradespace.physics.lambert import cheapest_flights_kernel

    step = value("window_step", DEFAULTS) if step is None else float(step)
    _check_pair(departure_body, arrival_body, first, last)
    low, high = _flight_bounds(departure_body, arrival_body, first, shortest, longest)
    if not step > 0:
        raise TransferError(f"the date step must be positive, not {step} s")
    ratio = max(1, round(step / (flight_step or step)))
    spacing = step / ratio
    count = int((last - first) / step + 1e-9) + 1
    flights = int((high - low) / spacing + 1e-9) + 1
    dates = np.asarray(first + step * np.arange(count), dtype=np.float64)
    landings = np.asarray(first + low + spacing * np.arange(ratio * (count - 1) + flights), dtype=np.float64)
    departures, arrivals = _track(departure_body, dates), _track(arrival_body, landings)
    sun = value("gravitational_parameter_sun")
    out = np.empty((count, 3))

    def run(part: slice) -> None:
        cheapest_flights_kernel(
            sun,
            departures[part],
            arrivals[ratio * part.start :],
            low,
            spacing,
            ratio,
            flights,
            ROUNDS,
            out[part],
        )

    _in_threads(run, count)
    if not np.isfinite(out).all():
        bad = format_date(float(dates[~np.isfinite(out).all(axis=1)][0]))
        raise TransferError(
            f"no transfer from {departure_body} to {arrival_body} leaves on {bad} with a flight time from "
            f"{convert(low, 's', 'd'):.0f} to {convert(high, 's', 'd'):.0f} d; allow other flight times"
        )
    return WindowCurve(
        catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"], dates,
        out[:, 0].copy(), out[:, 1].copy(), out[:, 2].copy(),
    )  # fmt: skip


def transfer_on(departure_body: str, arrival_body: str, depart: float, arrive: float) -> Transfer:
    """The prograde transfer that leaves and arrives on given dates.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    depart, arrive : float
        Seconds past J2000.

    Raises
    ------
    TransferError
        If both bodies are the same, the arrival does not follow the departure, or no transfer exists.
    EphemerisError
        If a date falls outside the coverage of a body.

    Examples
    --------
    >>> from tradespace.units import parse_date
    >>> insight = transfer_on("Earth", "Mars", parse_date("2018-05-05"), parse_date("2018-11-26"))
    >>> print(f"{insight.c3 / 1e6:.1f} km2/s2")
    8.2 km2/s2
    """
    _check_pair(departure_body, arrival_body, depart, arrive, whole=True)
    dates, flights = np.array([float(depart)]), np.array([float(arrive) - float(depart)])
    speeds, angles = transfer_grid(departure_body, arrival_body, dates, flights)
    if not np.isfinite(speeds).all():
        raise TransferError(
            f"no transfer leaves {departure_body} on {format_date(depart)} and "
            f"reaches {arrival_body} on {format_date(arrive)}"
        )
    return Transfer(
        catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"],
        float(depart), float(arrive), float(speeds[0, 0, 0]), float(speeds[0, 0, 1]), float(angles[0, 0]),
    )  # fmt: skip


def best_transfer(
    departure_body: str,
    arrival_body: str,
    after: float,
    before: float,
    minimise: str = "c3",
    transfer_type: int | None = None,
    shortest: float | None = None,
    longest: float | None = None,
) -> Transfer:
    """The best transfer among all departures in an interval, dates to a small part of a day.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    after, before : float
        Earliest and latest departure, seconds past J2000.
    minimise : str
        ``"c3"`` (departure energy), ``"arrival"`` (arrival excess speed) or ``"total"`` (sum of both speeds).
    transfer_type : int, optional
        1 for less than half a turn, 2 for more; both unless given.
    shortest, longest : float, optional
        Flight times allowed [s], with the same defaults as :func:`window_curve`.

    Raises
    ------
    TransferError
        If the bodies are the same, dates are reversed, an option is unknown, or no transfer exists.
    EphemerisError
        If a departure or an arrival falls outside the coverage of its body.

    Notes
    -----
    Transfers within ``ridge_angle`` of half a turn are left out. In some years (type 1 in 2026) the energy of
    Earth-Mars transfers keeps falling towards half a turn, because the departure happens to lie near the line
    where both orbit planes cross; the answer then lies on the edge of that strip, not in a valley.
    """
    if minimise not in AIMS:
        raise TransferError(f"cannot minimise {minimise!r}; choose one of {', '.join(map(repr, AIMS))}")
    if transfer_type not in {None, 1, 2}:
        raise TransferError(f"transfer type {transfer_type!r} is unknown; choose 1 or 2, or leave it out")
    _check_pair(departure_body, arrival_body, after, before)
    low, high = _flight_bounds(departure_body, arrival_body, after, shortest, longest)
    step = value("window_step", DEFAULTS)
    flights = _spaced(low, high, step)
    dates = _spaced(after, before, step)
    precision = value("search_precision", DEFAULTS)
    while True:
        speeds, angles = transfer_grid(departure_body, arrival_body, dates, flights)
        cost = _masked_cost(AIMS[minimise](speeds[..., 0], speeds[..., 1]), angles, transfer_type)
        if not np.isfinite(cost).any():
            raise TransferError(
                f"no transfer from {departure_body} to {arrival_body} leaves between {format_date(after)} "
                f"and {format_date(before)} with the flight times and type allowed"
            )
        row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
        best = float(dates[row]), float(flights[column])
        if step < precision:
            return transfer_on(departure_body, arrival_body, best[0], best[0] + best[1])
        dates = np.unique(np.clip(best[0] + step * ZOOM, after, before))
        flights = np.unique(np.clip(best[1] + step * ZOOM, low, high))
        step *= SHRINK


def transfer_grid(
    departure_body: str, arrival_body: str, dates: FloatArray, flights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Excess speeds and transfer angles over departure dates and flight times.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    dates : ndarray, shape (n,)
        Departure dates, seconds past J2000.
    flights : ndarray, shape (m,)
        Flight times [s].

    Returns
    -------
    speeds : ndarray, shape (n, m, 2)
        Excess speed at departure and at arrival [m/s]; NaN where there is no transfer.
    angles : ndarray, shape (n, m)
        Heliocentric angle flown, in the sense of the planets [rad].

    Raises
    ------
    EphemerisError
        If a date falls outside the coverage of a body.
    """
    from tradespace.physics.lambert import lambert_grid_kernel

    landings = np.round(dates[:, None] + flights[None, :], 3)
    unique, rows = np.unique(landings, return_inverse=True)
    rows = rows.reshape(landings.shape)
    departures, arrivals = _track(departure_body, dates), _track(arrival_body, unique)
    speeds = np.empty((*landings.shape, 2))
    sun = value("gravitational_parameter_sun")
    lambert_grid_kernel(sun, departures, arrivals, rows, np.array(flights, dtype=np.float64), speeds)
    start, end = departures[:, None, :3], arrivals[rows][..., :3]
    normal = np.cross(start, end)
    angles = np.arctan2(np.linalg.norm(normal, axis=-1), (start * end).sum(axis=-1))
    return speeds, np.where(normal[..., 2] < 0, 2.0 * math.pi - angles, angles)


def _masked_cost(cost: FloatArray, angles: FloatArray, transfer_type: int | None) -> FloatArray:
    """Cost with everything that is not asked for, or lies on the ridge, set to infinity."""
    allowed = np.isfinite(cost) & (np.abs(angles - math.pi) >= value("ridge_angle", DEFAULTS))
    if transfer_type is not None:
        allowed &= (angles < math.pi) == (transfer_type == 1)
    return np.where(allowed, cost, np.inf)


def _check_pair(
    departure_body: str, arrival_body: str, first: float, last: float, whole: bool = False
) -> None:
    start, end = catalogue_row(departure_body), catalogue_row(arrival_body)
    if start["id"] == end["id"]:
        raise TransferError(f"a transfer needs two different bodies, not {start['name']} twice")
    if not (math.isfinite(first) and math.isfinite(last)):
        raise TransferError("dates must be finite numbers of seconds past J2000")
    if last < first or (whole and last == first):
        raise TransferError(f"{format_date(last)} does not come after {format_date(first)}; swap the dates")


def _flight_bounds(
    departure_body: str, arrival_body: str, date: float, shortest: float | None, longest: float | None
) -> tuple[float, float]:
    """Flight times to search: as given, or shares of half the period of the ellipse between both orbits."""
    sun = value("gravitational_parameter_sun")
    axes = []
    for body in (departure_body, arrival_body):
        track = _track(body, np.array([date]))[0]
        axes.append(1.0 / (2.0 / np.linalg.norm(track[:3]) - track[3:] @ track[3:] / sun))
    half = 0.5 * orbital_period_kernel(sun, float(0.5 * (axes[0] + axes[1])))
    low = value("window_shortest", DEFAULTS) * half if shortest is None else float(shortest)
    high = value("window_longest", DEFAULTS) * half if longest is None else float(longest)
    if not 0 < low <= high:
        raise TransferError(
            f"flight times from {convert(low, 's', 'd'):.1f} to {convert(high, 's', 'd'):.1f} d make no "
            "range; give a positive shortest and a longest beyond it"
        )
    return low, high


def _spaced(first: float, last: float, step: float) -> FloatArray:
    """Evenly spaced numbers from first to last, both included, at most a step apart."""
    return np.linspace(
        first, last, max(1, math.ceil((last - first) / step - 1e-9)) + 1 if last > first else 1
    )


def _track(body: str, dates: FloatArray) -> FloatArray:
    """States (n, 6) of a body."""
    return np.ascontiguousarray(np.hstack(state(body, dates)))


def _in_threads(run: Callable[[slice], None], count: int) -> None:
    """Run a kernel over chunks of rows in threads; the kernels release the interpreter lock."""
    workers = max(1, min(os.cpu_count() or 1, count))
    edges = np.linspace(0, count, workers + 1).astype(int)
    parts = [slice(int(a), int(b)) for a, b in pairwise(edges) if b > a]
    if len(parts) == 1:
        run(parts[0])
        return
    with ThreadPoolExecutor(len(parts)) as pool:
        list(pool.map(run, parts))
