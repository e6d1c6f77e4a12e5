"""The Sun, the orbits of the bodies of a tour seen from the north, and the flights of a design between them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace import constants, ephemeris
from tradespace.dashboard.drawings import Drawing, axis, layout, plain
from tradespace.errors import TradespaceError
from tradespace.figures import style
from tradespace.itinerary import Leg, legs
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.dashboard.explorer import Design, Explorer
    from tradespace.physics.compiled import FloatArray

ORBIT, FLIGHT = 181, 61
"""Points of an orbit and of a flight."""
LINES = (style.BLUE, style.VERMILLION, style.GREEN, style.PURPLE, style.SKY, style.ORANGE)


@lru_cache(maxsize=64)
def orbit(body: str, date: float) -> tuple[list[float | None], list[float | None]]:
    """One round of a body from a date on, as far as its orbit is known [au]."""
    dates = date + np.linspace(0.0, ephemeris.year(body), ORBIT)
    first, last = ephemeris.coverage(body)
    where = ephemeris.states([body], np.clip(dates, first, last))[0]
    return _flat(where[:, :3])


def _flat(positions: FloatArray) -> tuple[list[float | None], list[float | None]]:
    across, up = (convert(positions[:, side], "m", "au") for side in (0, 1))
    return plain(across), plain(up)


def arc(first: FloatArray, second: FloatArray, span: float) -> FloatArray | None:
    """Points of the orbit around the Sun that joins two positions in a time; None where there is none.

    Parameters
    ----------
    first, second : ndarray, shape (3,)
        [m].
    span : float
        [s].
    """
    from tradespace.physics.lambert import lambert

    mass = constants.value("gravitational_parameter_sun")
    try:
        speed, _ = lambert(mass, first, second, span)
    except TradespaceError:
        return None
    turn = np.cross(first, speed)
    distance = float(np.linalg.norm(first))
    toward = np.cross(speed, turn) / mass - first / distance
    shape = float(np.linalg.norm(toward))
    pole = turn / np.linalg.norm(turn)
    axis_one = toward / shape if shape > 0.0 else first / distance
    axis_two = np.cross(pole, axis_one)
    start, end = (
        float(np.arctan2(np.dot(where, axis_two), np.dot(where, axis_one))) for where in (first, second)
    )
    angles = np.linspace(start, end if end > start else end + 2.0 * np.pi, FLIGHT)
    radius = float(np.dot(turn, turn)) / mass / (1.0 + shape * np.cos(angles))
    return np.asarray(
        radius[:, None] * (np.cos(angles)[:, None] * axis_one + np.sin(angles)[:, None] * axis_two)
    )


def hops_around(explorer: Explorer) -> list[Leg]:
    """The hops of a tour that lead around the Sun."""
    if explorer.mission.kind != "tour":
        return []
    return [leg for leg in legs(explorer.study, explorer.mission) if leg.kind == "around the Sun"]


def goes_around_the_sun(explorer: Explorer) -> bool:
    """Whether there is a way to draw."""
    return bool(hops_around(explorer))


def tour_map(explorer: Explorer, design: Design) -> Drawing | None:
    """Orbits and flights of a tour; None where no hop leads around the Sun."""
    hops = hops_around(explorer)
    if not hops:
        return None
    row = explorer.row(design)
    bodies: dict[str, str] = {}
    traces: list[Drawing] = [
        {
            "type": "scatter", "x": [0], "y": [0], "mode": "markers", "name": "Sun", "hoverinfo": "name",
            "marker": {"symbol": "star", "size": 15, "color": style.ORANGE, "line": {"color": style.BLACK, "width": 1}},
        }
    ]  # fmt: skip
    for place in explorer.study.places:
        bodies.setdefault(ephemeris.heliocentric_body(place.body), place.label)
    for number, (body, name) in enumerate(bodies.items()):
        x, y = orbit(body, explorer.mission.start_date)
        dash = style.DASHES[(number + 1) % len(style.DASHES)]
        traces.append(
            {
                "type": "scatter", "x": x, "y": y, "mode": "lines", "name": f"orbit of {style.escape(name)}",
                "line": {"color": "#6b7280", "width": 1.3, "dash": dash}, "hoverinfo": "name",
            }
        )  # fmt: skip
    for number, leg in enumerate(hops):
        traces += flight(explorer, row, leg.hop, leg.route, LINES[number % len(LINES)])
    largest = max(
        (abs(value) for trace in traces for value in (*trace["x"], *trace["y"]) if value is not None),
        default=1.0,
    )
    ends = [-1.1 * largest, 1.1 * largest]
    return {
        "data": traces,
        "layout": layout(
            xaxis=axis("Toward the March equinox (au)", range=ends, constrain="domain"),
            yaxis=axis("In the ecliptic, 90° from it (au)", range=ends, scaleanchor="x", constrain="domain"),
            margin={"l": 56, "r": 10, "t": 8, "b": 130}, showlegend=True,
            legend={"orientation": "h", "x": 0, "y": -0.16, "yanchor": "top", "traceorder": "normal"},
        ),
    }  # fmt: skip


def flight(explorer: Explorer, row: pd.Series, hop: int, route: str, colour: str) -> list[Drawing]:
    """The flight of a hop with a mark at each end; nothing where its dates lie beyond what is known of the bodies."""
    places = explorer.study.places[hop - 1 : hop + 1]
    here, there = (ephemeris.heliocentric_body(place.body) for place in places)
    leaving, landing = (float(row[f"{name}_{hop}"]) for name in ("departure_date", "landing_date"))
    known = (ephemeris.coverage(here), ephemeris.coverage(there))
    if not (known[0][0] <= leaving <= known[0][1] and known[1][0] <= landing <= known[1][1]):
        return []
    first, second = (
        ephemeris.states([body], [date])[0, 0, :3] for body, date in ((here, leaving), (there, landing))
    )
    path = arc(first, second, landing - leaving)
    if path is None:
        return []
    x, y = _flat(path)
    words = f"hop {hop}: {style.escape(route)}"
    dates: list[Any] = [
        f"leaves {format_date(leaving)}",
        *[""] * (len(x) - 2),
        f"lands {format_date(landing)}",
    ]
    line = {"type": "scatter", "x": x, "y": y, "mode": "lines", "name": words, "legendgroup": words,
            "line": {"color": colour, "width": 3.2}, "hoverinfo": "name"}  # fmt: skip
    ends = {
        "type": "scatter", "x": [x[0], x[-1]], "y": [y[0], y[-1]], "mode": "markers", "name": words,
        "legendgroup": words, "showlegend": False, "text": [dates[0], dates[-1]],
        "hovertemplate": "%{text}<extra>" + words + "</extra>",
        "marker": {"symbol": ["circle-open", "circle"], "size": 10, "color": colour,
                   "line": {"color": colour, "width": 2.4}},
    }  # fmt: skip
    return [line, ends]
