"""The tour seen from the north pole of the ecliptic: orbits, stays and transfers to scale, with their dates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace import ephemeris
from tradespace.constants import value
from tradespace.errors import EphemerisError, TransferError, UnknownNameError
from tradespace.figures import style
from tradespace.figures.calendar import hop_value
from tradespace.figures.choice import leader, leader_words, standing_design
from tradespace.figures.registry import captioned, figure
from tradespace.itinerary import legs
from tradespace.physics.kepler import eccentric_anomaly
from tradespace.physics.lambert import lambert
from tradespace.units import convert, format_date
from tradespace.windows import KINDS

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

PLANETS = ("Earth", "Mars", "Jupiter", "Saturn")
"""Orbits drawn for orientation, as far as they lie inside the picture."""
OUTER = 1.12
"""Radius of the picture over the largest distance from the Sun on the tour [1]."""
POINTS = 181
"""Points of an orbit."""
PER_ARC = 61
"""Points of a transfer or a stay."""
LABEL_AT = 34
"""Distance of a date from its mark, outward [px]."""
DATED = 12
"""Marks that have room for their dates; of more every departure is numbered alone."""
SIDE = 470
"""Room for the picture [px]."""


@dataclass(frozen=True)
class Ellipse:
    """A bound orbit around the Sun, from a state on it."""

    semi_major_axis: float
    """[m]."""
    eccentricity: float
    first: FloatArray
    """Towards the perihelion, length one."""
    second: FloatArray
    """A quarter of a turn ahead of it, length one."""
    anomaly: float
    """Mean anomaly of the state [rad]."""

    def at(self, mean_anomaly: FloatArray) -> FloatArray:
        """Positions [m], shape (n, 3)."""
        turned = np.asarray(eccentric_anomaly(np.mod(mean_anomaly, 2.0 * math.pi), self.eccentricity))
        along = self.semi_major_axis * (np.cos(turned) - self.eccentricity)
        across = self.semi_major_axis * math.sqrt(1.0 - self.eccentricity**2) * np.sin(turned)
        return np.asarray(along[:, None] * self.first + across[:, None] * self.second)

    def after(self, times: FloatArray) -> FloatArray:
        """Positions so long after the state [m], shape (n, 3)."""
        motion = math.sqrt(value("gravitational_parameter_sun") / self.semi_major_axis**3)
        return self.at(self.anomaly + motion * np.asarray(times, dtype=np.float64))

    @property
    def whole(self) -> FloatArray:
        """Once around [m], shape (n, 3)."""
        return self.at(np.linspace(0.0, 2.0 * math.pi, POINTS))


def ellipse(position: FloatArray, velocity: FloatArray) -> Ellipse | None:
    """The orbit around the Sun through a state; None when it is not bound.

    Parameters
    ----------
    position, velocity : ndarray, shape (3,)
        Heliocentric, ecliptic of J2000 [m] and [m/s].
    """
    mass = value("gravitational_parameter_sun")
    distance = float(np.linalg.norm(position))
    energy = 0.5 * float(velocity @ velocity) - mass / distance
    if energy >= 0.0:
        return None
    axis = -0.5 * mass / energy
    normal = np.cross(position, velocity)
    towards = np.cross(velocity, normal) / mass - position / distance
    eccentricity = float(np.linalg.norm(towards))
    first = towards / eccentricity if eccentricity > 0.0 else position / distance
    second = np.cross(normal / np.linalg.norm(normal), first)
    turned = math.atan2(
        float(position @ second) / (axis * math.sqrt(1.0 - eccentricity**2)),
        float(position @ first) / axis + eccentricity,
    )
    return Ellipse(axis, eccentricity, first, second, turned - eccentricity * math.sin(turned))


@dataclass(frozen=True)
class Flight:
    """One hop around the Sun, with short burns on the dates of its window."""

    hop: int
    here: str
    there: str
    departure: float
    """Seconds past J2000."""
    arrival: float
    """Seconds past J2000."""
    path: FloatArray
    """Positions equally apart in time [m], shape (n, 3); empty for an orbit that is not bound."""


def flights(results: Results, row: pd.Series) -> list[Flight]:
    """The hops of a design around the Sun, those about one planet left out.

    Raises
    ------
    UnknownNameError, EphemerisError, TransferError
        If a body has no place in the catalogue, no position on a date, or no transfer joins two dates.
    """
    found = []
    for hop, curve in enumerate(results.mission.windows, start=1):
        date = hop_value(row, "window_date", hop)
        if curve.system is not None or not math.isfinite(date):
            continue
        length = float(np.interp(date, curve.departure, curve.time_of_flight))
        kind = KINDS[int(curve.kind[int(np.argmin(np.abs(curve.departure - date)))])].split()
        start, end = (
            ephemeris.state(name, moment)[0][0]
            for name, moment in ((curve.departure_body, date), (curve.arrival_body, date + length))
        )
        turns = int(kind[1]) if len(kind) > 1 else 0
        speed, _ = lambert(
            value("gravitational_parameter_sun"), start, end, length, turns, kind[0] == "prograde",
            kind[-1] != "high",
        )  # fmt: skip
        orbit = ellipse(start, np.asarray(speed))
        times = np.linspace(0.0, length, PER_ARC)
        path = np.zeros((0, 3)) if orbit is None else orbit.after(times)
        found.append(Flight(hop, curve.departure_body, curve.arrival_body, date, date + length, path))
    return found


@figure("tour_map", title="The tour around the Sun", section="calendar")
def tour_map(results: Results) -> go.Figure | None:
    """Orbits of the bodies, stays on them and transfers between them, from the north pole of the ecliptic."""
    name = leader(results)
    if name is None or not any(curve.system is None for curve in results.mission.windows):
        return None
    row, _ = standing_design(results, name)
    try:
        flown = [] if row is None else flights(results, row)
        if row is None or not flown:
            return None
        return draw(results, name, row, flown)
    except (UnknownNameError, EphemerisError, TransferError):
        return None


def draw(results: Results, name: str, row: pd.Series, flown: list[Flight]) -> go.Figure:
    """The picture of one design."""
    drawn = style.blank(SIDE + 170)
    bodies = list(dict.fromkeys(body for one in flown for body in (one.here, one.there)))
    orbits = {body: orbit_of(body, flown[0].departure) for body in bodies}
    paths = [one.path for one in flown] + [orbit for orbit in orbits.values() if len(orbit)]
    radius = OUTER * max(float(np.linalg.norm(path[:, :2], axis=1).max()) for path in paths if len(path))
    for planet in PLANETS:
        if planet not in bodies:
            add_planet(drawn, planet, flown[0].departure, radius)
    for place, (body, orbit) in enumerate(orbits.items()):
        colour, dash = style.OKABE_ITO[place % 6], style.DASHES[1:][place % 5]
        drawn.add_trace(line(orbit, f"orbit of {style.escape(body)}", colour, 1.6, dash))
    add_stays(drawn, results, row, flown)
    for place, one in enumerate(flown):
        if len(one.path):
            drawn.add_trace(transfer(one, legend=place == 0))
    add_marks(drawn, results, flown)
    drawn.add_trace(
        go.Scatter(
            x=[0.0], y=[0.0], mode="markers", name="the Sun", hoverinfo="skip",
            marker={"symbol": "star", "size": 14, "color": style.ORANGE, "line": {"width": 1, "color": style.BLACK}},
        )
    )  # fmt: skip
    ends = float(convert(radius, "m", "au"))
    drawn.update_xaxes(title_text="Towards the vernal equinox (au)", range=[-ends, ends], constrain="domain")
    drawn.update_yaxes(
        title_text="90° ahead of it in the ecliptic (au)", range=[-ends, ends], scaleanchor="x",
        constrain="domain",
    )  # fmt: skip
    drawn.update_layout(
        legend={"y": -58 / SIDE, "yanchor": "top", "font": {"size": 11}}, margin={"t": 20, "b": 150}
    )
    return captioned(drawn, tour_words(results, name, flown))


def in_au(path: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Both coordinates in the plane of the ecliptic [au]."""
    return tuple(np.round(convert(path[:, axis], "m", "au"), 4) for axis in (0, 1))


def orbit_of(body: str, date: float) -> FloatArray:
    """Once around, on the ellipse that a body follows on a date [m]; empty when that is none."""
    position, velocity = ephemeris.state(body, date)
    found = ellipse(position[0], velocity[0])
    return np.zeros((0, 3)) if found is None else found.whole


def line(path: FloatArray, name: str, colour: str, width: float, dash: str, **more: Any) -> go.Scatter:
    """A path as a line."""
    x, y = in_au(path)
    look = {"color": colour, "width": width, "dash": dash}
    return go.Scatter(x=x, y=y, mode="lines", name=name, line=look, **{"hoverinfo": "skip", **more})


def add_planet(drawn: go.Figure, planet: str, date: float, radius: float) -> None:
    """The orbit of a planet for orientation, with its name, if it lies inside the picture."""
    try:
        orbit = orbit_of(planet, date)
    except EphemerisError:
        return
    if not len(orbit) or float(np.linalg.norm(orbit[:, :2], axis=1).max()) > radius:
        return
    drawn.add_trace(
        line(orbit, planet, style.GREY, 1.2, "solid", showlegend=False, meta={"drawing_only": True})
    )
    x, y = in_au(orbit[[int(np.argmin(orbit[:, 1]))]])
    drawn.add_annotation(
        x=float(x[0]),
        y=float(y[0]),
        text=planet,
        showarrow=False,
        yshift=8,
        font={"size": 10, "color": style.INK},
    )


def add_stays(drawn: go.Figure, results: Results, row: pd.Series, flown: list[Flight]) -> None:
    """Where a body carries the craft while it refuels, dwells and waits."""
    first = True
    for one in flown:
        start = hop_value(row, "arrival_date", one.hop)
        begin, end = ephemeris.coverage(one.here)
        times = np.linspace(max(start, begin), min(one.departure, end), PER_ARC)
        if not times[-1] > times[0]:
            continue
        places, _ = ephemeris.state(one.here, times)
        drawn.add_trace(
            line(
                places, "stay: refuelling, dwell, waiting", style.ORANGE, 6, "solid", opacity=0.75,
                legendgroup="stay", showlegend=first, hoverinfo=None,
                text=[f"{style.escape(one.here)}, {format_date(float(date))}" for date in times],
                hovertemplate="%{text}<extra></extra>",
            )
        )  # fmt: skip
        first = False


def transfer(one: Flight, *, legend: bool) -> go.Scatter:
    """The arc of one flight."""
    dates = np.linspace(one.departure, one.arrival, len(one.path))
    route = f"{style.escape(one.here)} to {style.escape(one.there)}"
    return line(
        one.path, "transfer", style.BLACK, 2.6, "solid", legendgroup="transfer", showlegend=legend, hoverinfo=None,
        text=[f"{route}<br>{format_date(float(date))}" for date in dates], hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip


def add_marks(drawn: go.Figure, results: Results, flown: list[Flight]) -> None:
    """Departures and arrivals with their dates, written outward from the Sun and from one another."""
    for kind, symbol in (("departure", "circle"), ("arrival", "square")):
        some = [one for one in flown if len(one.path)]
        ends = np.array([one.path[0 if kind == "departure" else -1] for one in some]).reshape(-1, 3)
        x, y = in_au(ends)
        drawn.add_trace(
            go.Scatter(
                x=x, y=y, mode="markers", name=kind,
                text=[format_date(getattr(one, kind)) for one in some],
                marker={"symbol": symbol, "size": 10, "color": style.WHITE,
                        "line": {"width": 2.2, "color": style.BLACK}},
                hovertemplate="%{text}<extra>" + kind + "</extra>",
            )
        )  # fmt: skip
        for place, one in enumerate(some):
            if 2 * len(flown) <= DATED or kind == "departure":
                words = date_words(one, kind, dated=2 * len(flown) <= DATED)
                drawn.add_annotation(
                    **beside(float(x[place]), float(y[place]), words, inward=kind == "departure")
                )


def date_words(one: Flight, kind: str, *, dated: bool) -> str:
    """What stands beside a mark."""
    if not dated:
        return f"{one.hop}"
    body = one.here if kind == "departure" else one.there
    return f"{style.escape(body)}<br>{format_date(getattr(one, kind))}"


def beside(x: float, y: float, text: str, *, inward: bool) -> dict[str, Any]:
    """A label joined to its mark, outward from the Sun or towards it."""
    size = max(math.hypot(x, y), 1e-9)
    way = -LABEL_AT if inward else LABEL_AT
    return {
        "x": x, "y": y, "ax": way * x / size * 1.3, "ay": -way * y / size, "text": text, "showarrow": True,
        "arrowhead": 0, "arrowwidth": 0.8, "arrowcolor": style.INK, "font": {"size": 11},
        "bgcolor": "rgba(255,255,255,0.8)",
    }  # fmt: skip


def tour_words(results: Results, name: str, flown: list[Flight]) -> str:
    """The route with its dates, and what the arcs are."""
    names = {leg.hop: leg.route for leg in legs(results.study, results.mission)}
    parts = [
        f"{names[one.hop]} {format_date(one.departure)} to {format_date(one.arrival)}, "
        f"{style.number(swept_angle(one.path))}° around the Sun"
        for one in flown
    ]
    text = (
        f"{leader_words(results, name)}, seen from the north pole of the ecliptic, to scale: "
        f"{'; '.join(parts)}. Arcs and dates are those of the transfer with short burns in the middle of the long "
        "ones; orbits are the ellipses of the first departure."
    )
    if any(curve.system is not None for curve in results.mission.windows):
        text += " Legs about one planet are too short to be seen here."
    if any(not len(one.path) for one in flown):
        text += " A flight on an unbound orbit is not drawn."
    return text


def swept_angle(path: FloatArray) -> float:
    """Angle about the Sun along a path, in the plane of the ecliptic [deg]; zero for none."""
    if not len(path):
        return 0.0
    turned = np.unwrap(np.arctan2(path[:, 1], path[:, 0]))
    return float(convert(abs(turned[-1] - turned[0]), "rad", "deg"))
