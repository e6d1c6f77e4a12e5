"""Single transfers, and the best one of an opportunity."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.ephemeris import coverage, state
from tradespace.errors import TransferError
from tradespace.physics.compiled import FloatArray
from tradespace.units import format_date
from tradespace.windows.curve import flight_range
from tradespace.windows.question import (
    DEFAULTS,
    check_kind,
    check_pair,
    coverage_mask,
    covered_track,
    paths,
    spaced,
    track,
)

AIMS: dict[str, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "c3": lambda departure, arrival: departure,  # the energy grows with the departure speed
    "arrival": lambda departure, arrival: arrival,
    "total": lambda departure, arrival: departure + arrival,
}
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
    """Heliocentric angle flown in the sense of the transfer, full turns included [rad]."""
    revolutions: int = 0
    """Full turns around the Sun on the way [1]."""
    prograde: bool = True
    """Whether the transfer turns in the sense of the planets."""
    path: str = ""
    """``"low"`` or ``"high"`` of the two orbits that make full turns; nothing where there is one orbit only."""

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
        """Half turns begun: 1 for less than half a turn, 2 for less than a turn, 3 and 4 with one turn more."""
        return 1 + math.floor(self.transfer_angle / math.pi)


def transfer_on(
    departure_body: str,
    arrival_body: str,
    depart: float,
    arrive: float,
    revolutions: int = 0,
    prograde: bool = True,
    path: str | None = None,
) -> Transfer:
    """The transfer that leaves and arrives on given dates.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    depart, arrive : float
        Seconds past J2000.
    revolutions : int
        Full turns around the Sun on the way.
    prograde : bool
        Whether the transfer turns in the sense of the planets.
    path : str, optional
        ``"low"`` or ``"high"``: with full turns there are two orbits, of which the low one as a rule dips
        towards the Sun first and the high one swings out first. The cheaper of both unless given.

    Raises
    ------
    TransferError
        If both bodies are the same or one is a moon, the arrival does not follow the departure, an option is
        unknown, or no transfer exists.
    EphemerisError
        If a date falls outside the coverage of a body.

    Examples
    --------
    >>> from tradespace.units import parse_date
    >>> insight = transfer_on("Earth", "Mars", parse_date("2018-05-05"), parse_date("2018-11-26"))
    >>> print(f"{insight.c3 / 1e6:.1f} km2/s2")
    8.2 km2/s2
    """
    check_pair(departure_body, arrival_body, depart, arrive, whole=True)
    check_kind(revolutions, path)
    dates, flights = np.array([float(depart)]), np.array([float(arrive) - float(depart)])
    found: list[Transfer] = []
    for way in paths(revolutions, path):
        speeds, angles = transfer_grid(
            departure_body, arrival_body, dates, flights, revolutions, prograde, way or "low"
        )
        if np.isfinite(speeds).all():
            found.append(
                Transfer(
                    catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"],
                    float(depart), float(arrive), float(speeds[0, 0, 0]), float(speeds[0, 0, 1]),
                    float(angles[0, 0]), int(revolutions), bool(prograde), way,
                )
            )  # fmt: skip
    if not found:
        turns = (
            f" with full turns: {revolutions}; allow a longer flight or fewer turns" if revolutions else ""
        )
        raise TransferError(
            f"no transfer leaves {departure_body} on {format_date(depart)} and "
            f"reaches {arrival_body} on {format_date(arrive)}{turns}"
        )
    return min(found, key=lambda transfer: transfer.v_inf_sum)


def best_transfer(
    departure_body: str,
    arrival_body: str,
    after: float,
    before: float,
    minimise: str = "c3",
    transfer_type: int | None = None,
    shortest: float | None = None,
    longest: float | None = None,
    revolutions: int = 0,
    prograde: bool = True,
    path: str | None = None,
) -> Transfer:
    """The best transfer among all departures in an interval, dates to a small part of a day.

    Departures and arrivals on which a body is not known are left out.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    after, before : float
        Earliest and latest departure, seconds past J2000.
    minimise : str
        ``"c3"`` (departure energy), ``"arrival"`` (arrival excess speed) or ``"total"`` (sum of both speeds).
    transfer_type : int, optional
        Half turns begun: 1 for less than half a turn, 2 for more, and two more for each full turn; both unless
        given.
    shortest, longest : float, optional
        Flight times allowed [s], with the same defaults as :func:`window_curve`; each full turn lengthens the
        longest by the period of the ellipse between the two semi-major axes.
    revolutions : int
        Full turns around the Sun on the way.
    prograde : bool
        Whether the transfer turns in the sense of the planets.
    path : str, optional
        ``"low"`` or ``"high"`` as in :func:`transfer_on`; the better of both unless given.

    Raises
    ------
    TransferError
        If the bodies are the same or one is a moon, dates are reversed, an option is unknown, or no transfer exists.
    EphemerisError
        If no departure in the interval, or no arrival after it, falls inside the coverage of its body.

    Notes
    -----
    Transfers within ``ridge_angle`` of half a turn are left out. In some years (type 1 in 2026) the energy of
    Earth-Mars transfers keeps falling towards half a turn, because the departure happens to lie near the line
    where both orbit planes cross; the answer then lies on the edge of that strip, not in a valley.
    """
    if minimise not in AIMS:
        raise TransferError(f"cannot minimise {minimise!r}; choose one of {', '.join(map(repr, AIMS))}")
    check_kind(revolutions, path)
    types = 2 * revolutions + 1, 2 * revolutions + 2
    if transfer_type is not None and transfer_type not in types:
        raise TransferError(
            f"transfer type {transfer_type!r} does not exist with full turns: {revolutions}; choose {types[0]} or "
            f"{types[1]}, or leave it out"
        )
    check_pair(departure_body, arrival_body, after, before)
    low, high = flight_range(departure_body, arrival_body, after, shortest, longest, revolutions)
    after, before = _covered(departure_body, after, before)
    _covered(arrival_body, after + low, before + high)
    found = [
        transfer
        for way in paths(revolutions, path)
        if (
            transfer := _best_of_kind(
                departure_body, arrival_body, (after, before), (low, high), AIMS[minimise], transfer_type,
                (revolutions, prograde, way),
            )
        )
    ]  # fmt: skip
    if not found:
        raise TransferError(
            f"no transfer from {departure_body} to {arrival_body} leaves between {format_date(after)} "
            f"and {format_date(before)} with the flight times and type allowed"
        )
    cost = AIMS[minimise]
    return min(found, key=lambda one: float(cost(np.array(one.v_inf_departure), np.array(one.v_inf_arrival))))


def _covered(body: str, first: float, last: float) -> tuple[float, float]:
    """The part of an interval on which the position of a body is known.

    Raises
    ------
    EphemerisError
        If there is none.
    """
    begin, end = coverage(body)
    if last < begin or first > end:
        state(body, first)  # says what is known
    return max(first, begin), min(last, end)


def _best_of_kind(
    departure_body: str,
    arrival_body: str,
    span: tuple[float, float],
    bounds: tuple[float, float],
    aim: Callable[[FloatArray, FloatArray], FloatArray],
    transfer_type: int | None,
    kind: tuple[int, bool, str],
) -> Transfer | None:
    """The best transfer of one kind (turns, sense, path): a grid, then smaller and smaller ones around its best."""
    (after, before), (low, high), (revolutions, prograde, path) = span, bounds, kind
    dates = spaced(after, before, value("window_step", DEFAULTS))
    step = float(dates[1] - dates[0]) if len(dates) > 1 else value("window_step", DEFAULTS)
    flights = np.append(np.arange(low, high, step), high)  # in step with the dates: landings coincide
    precision = value("search_precision", DEFAULTS)
    while True:
        speeds, angles = transfer_grid(
            departure_body, arrival_body, dates, flights, revolutions, prograde, path or "low", lenient=True
        )
        cost = _masked_cost(aim(speeds[..., 0], speeds[..., 1]), angles, transfer_type)
        cost[~coverage_mask(arrival_body, dates[:, None] + flights)] = np.inf
        if not np.isfinite(cost).any():
            return None
        row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
        best = float(dates[row]), float(flights[column])
        if step < precision:
            return transfer_on(
                departure_body, arrival_body, best[0], best[0] + best[1], revolutions, prograde, path or None
            )
        dates = np.unique(np.clip(best[0] + step * ZOOM, after, before))
        flights = np.unique(np.clip(best[1] + step * ZOOM, low, high))
        step *= SHRINK


def transfer_grid(
    departure_body: str,
    arrival_body: str,
    dates: FloatArray,
    flights: FloatArray,
    revolutions: int = 0,
    prograde: bool = True,
    path: str = "low",
    *,
    lenient: bool = False,
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
    revolutions : int
        Full turns around the Sun on the way.
    prograde : bool
        Whether the transfers turn in the sense of the planets.
    path : str
        ``"low"`` or ``"high"`` as in :func:`transfer_on`; without full turns there is one orbit only.
    lenient : bool
        Give a body outside its coverage the state of the nearest covered date, instead of refusing.

    Returns
    -------
    speeds : ndarray, shape (n, m, 2)
        Excess speed at departure and at arrival [m/s]; NaN where there is no transfer.
    angles : ndarray, shape (n, m)
        Heliocentric angle flown in the sense of the transfer, full turns included [rad].

    Raises
    ------
    TransferError
        If the path is unknown or there are less than no turns.
    EphemerisError
        If a date falls outside the coverage of a body.
    """
    from tradespace.physics.lambert import excess_speeds

    check_kind(revolutions, path)
    landings = np.round(dates[:, None] + flights[None, :], 3)
    unique, rows = np.unique(landings, return_inverse=True)
    rows = rows.reshape(landings.shape)
    followed = covered_track if lenient else track
    departures, arrivals = followed(departure_body, dates), followed(arrival_body, unique)
    departure_rows, columns = np.indices(landings.shape)
    speeds = excess_speeds(
        value("gravitational_parameter_sun"), departures, departure_rows.ravel(), arrivals, rows.ravel(),
        np.asarray(flights, dtype=np.float64)[columns].ravel(), revolutions, prograde, path == "low",
    ).reshape(*landings.shape, 2)  # fmt: skip
    start, end = departures[:, None, :3], arrivals[rows][..., :3]
    normal = np.cross(start, end)
    angles = np.arctan2(np.linalg.norm(normal, axis=-1), (start * end).sum(axis=-1))
    angles = np.where((normal[..., 2] < 0) == prograde, 2.0 * math.pi - angles, angles)
    return speeds, angles + 2.0 * math.pi * revolutions


def _masked_cost(cost: FloatArray, angles: FloatArray, transfer_type: int | None) -> FloatArray:
    """Cost with everything that is not asked for, or lies on the ridge, set to infinity."""
    within = angles % (2.0 * math.pi)
    allowed = np.isfinite(cost) & (np.abs(within - math.pi) >= value("ridge_angle", DEFAULTS))
    if transfer_type is not None:
        allowed &= (within < math.pi) == (transfer_type % 2 == 1)
    return np.where(allowed, cost, np.inf)
