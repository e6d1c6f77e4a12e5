"""The Sun, the orbits of the bodies of a tour seen from the north, and the flights of a design between them."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tradespace import ephemeris
from tradespace.dashboard.drawings import Drawing, axis, layout, plain
from tradespace.errors import TradespaceError
from tradespace.figures import style
from tradespace.figures.heliocentric import Flight, flights, orbit_of
from tradespace.itinerary import legs
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Design, Explorer
    from tradespace.physics.compiled import FloatArray

Line = tuple[list[float | None], list[float | None]]
LINES = (style.BLUE, style.VERMILLION, style.GREEN, style.PURPLE, style.SKY, style.ORANGE)
OUTER = 1.1
"""Half the side of the picture over the largest distance from its middle [1]."""


def flat(positions: FloatArray) -> Line:
    """Both coordinates in the plane of the ecliptic [au]."""
    across, up = (convert(positions[:, side], "m", "au") for side in (0, 1))
    return plain(across), plain(up)


@lru_cache(maxsize=64)
def orbit(body: str, date: float) -> Line:
    """Once around on the ellipse that a body follows on a date [au]; empty where it has none then."""
    try:
        return flat(orbit_of(body, date))
    except TradespaceError:
        return [], []


def flown(explorer: Explorer, design: Design) -> list[Flight]:
    """The flights of a design around the Sun; none where a date lies beyond what is known of the bodies."""
    try:
        return flights(explorer.results([design]), explorer.row(design))
    except TradespaceError:
        return []


def goes_around_the_sun(explorer: Explorer) -> bool:
    """Whether there is a way to draw."""
    return any(curve.system is None for curve in explorer.mission.windows)


def tour_map(explorer: Explorer, design: Design) -> Drawing | None:
    """Orbits and flights of a tour; None where no hop leads around the Sun."""
    if not goes_around_the_sun(explorer):
        return None
    date = explorer.mission.start_date
    bodies: dict[str, str] = {}
    for place in explorer.study.places:
        bodies.setdefault(ephemeris.heliocentric_body(place.body), place.label)
    sun = {"symbol": "star", "size": 15, "color": style.ORANGE, "line": {"color": style.BLACK, "width": 1}}
    traces: list[Drawing] = [
        {
            "type": "scatter",
            "x": [0],
            "y": [0],
            "mode": "markers",
            "name": "Sun",
            "hoverinfo": "name",
            "marker": sun,
        }
    ]
    for number, (body, name) in enumerate(bodies.items()):
        x, y = orbit(body, date)
        look = {"color": "#6b7280", "width": 1.3, "dash": style.DASHES[(number + 1) % len(style.DASHES)]}
        traces.append(
            {
                "type": "scatter", "x": x, "y": y, "mode": "lines", "name": f"orbit of {style.escape(name)}",
                "line": look, "hoverinfo": "name",
            }
        )  # fmt: skip
    routes = {leg.hop: leg.route for leg in legs(explorer.study, explorer.mission)}
    for number, one in enumerate(flown(explorer, design)):
        if len(one.path):
            traces += flight(one, routes[one.hop], LINES[number % len(LINES)])
    numbers = [value for trace in traces for value in (*trace["x"], *trace["y"]) if value is not None]
    end = OUTER * float(np.abs(numbers).max())
    ends = [-end, end]
    return {
        "data": traces,
        "layout": layout(
            xaxis=axis("Towards the vernal equinox (au)", range=ends, constrain="domain"),
            yaxis=axis("90° ahead of it in the ecliptic (au)", range=ends, scaleanchor="x", constrain="domain"),
            margin={"l": 56, "r": 10, "t": 8, "b": 130}, showlegend=True,
            legend={"orientation": "h", "x": 0, "y": -0.16, "yanchor": "top", "traceorder": "normal"},
        ),
    }  # fmt: skip


def flight(one: Flight, route: str, colour: str) -> list[Drawing]:
    """A transfer with a mark and a date at each end."""
    x, y = flat(one.path)
    words = f"hop {one.hop}: {style.escape(route)}"
    line = {
        "type": "scatter", "x": x, "y": y, "mode": "lines", "name": words, "legendgroup": words,
        "line": {"color": colour, "width": 3.2}, "hoverinfo": "name",
    }  # fmt: skip
    look = {
        "symbol": ["circle-open", "circle"], "size": 10, "color": colour, "line": {"color": colour, "width": 2.4},
    }  # fmt: skip
    ends = {
        "type": "scatter", "x": [x[0], x[-1]], "y": [y[0], y[-1]], "mode": "markers", "name": words,
        "legendgroup": words, "showlegend": False, "marker": look,
        "text": [f"leaves {format_date(one.departure)}", f"arrives {format_date(one.arrival)}"],
        "hovertemplate": "%{text}<extra>" + words + "</extra>",
    }  # fmt: skip
    return [line, ends]
