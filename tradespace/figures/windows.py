"""Departure date against flight time: where a hop is cheap, and the cheapest flight of each date as its own key."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from tradespace import windows
from tradespace.errors import EphemerisError, TransferError, UnknownNameError
from tradespace.figures import style
from tradespace.figures.calendar import hop_value, moment
from tradespace.figures.choice import drawn_architectures, standing_design
from tradespace.figures.departures import capacities
from tradespace.figures.registry import DrawnFigure, captioned, figure
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.mission import WindowCurve
    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results
    from tradespace.windows import WindowMap

MOST_HOPS = 6
"""Hops drawn at most; a longer route keeps its curves in the figure of departure dates."""
FEW_HOPS, FINE, COARSE = 2, (241, 81), (161, 61)
"""Hops of a short route, and dates and flight times (about) of each map there and on longer ones."""
MAP, KEY, BETWEEN, TITLE, ABOVE = 270, 130, 34, 34, 96
"""Heights of a map, of the strip under it, of the space after each, of a title and of the legend [px]."""
BANDS = (*reversed(style.TOL_RED_BLUE[4:]), style.WHITE)
"""Cheap is dark; the last colour is beyond the scale."""
ROOM = 0.4
"""The darkest colour spans at least 1 - ROOM of a step above the cheapest transfer, at most 2 - ROOM."""
STEPS = (0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0)
VALUE = "sum of both speeds far away (km/s)"
DOTS = 240
"""Flight times of a curve drawn over a map at most."""
DATES = 800
"""Dates of the curve under a map at most: of more, the cheapest of each few neighbours is drawn."""
NEAR_HALF = math.pi / 3.0
"""Half a turn lies between neighbours only if both angles are this near to it; a jump from a whole turn to none is
no crossing [rad]."""
CHEAP_SHARE = 35.0
"""The scale reaches the cheapest transfers of this share of the dates [%]."""


@dataclass(frozen=True)
class Mark:
    """One departure to point out."""

    name: str
    departure: float
    """Seconds past J2000."""
    time_of_flight: float
    """[s]."""
    v_inf_sum: float
    """[m/s]."""
    colour: str = style.ORANGE
    symbol: str = "diamond"


@dataclass(frozen=True)
class Panel:
    """What is drawn for one pair of bodies."""

    title: str
    map: WindowMap
    curve: WindowCurve
    capacity: tuple[float, ...] = ()
    """Speeds whose line is the boundary of what can be flown [km/s]."""
    marks: tuple[Mark, ...] = field(default=())


@figure("window_maps", title="Departure date against flight time", section="calendar", width=180)
def window_maps(results: Results) -> go.Figure | None:
    """Cost of each hop over departure date and flight time, with the cheapest flight of each date below it."""
    panels = []
    limits = tuple(capacities(results))
    size = COARSE if results.mission.hops > FEW_HOPS else FINE
    for hop, curve in enumerate(results.mission.windows[:MOST_HOPS], start=1):
        found = map_of(curve, results.study.flight_time, *size)
        if found is not None:
            title = f"Hop {hop}: {found.departure_body} to {found.arrival_body}"
            ends = results.mission.stops[hop - 1 : hop + 1]
            plain = all(
                stop.orbit_mu == 0.0 for stop in ends
            )  # else what leaving and meeting cost is another sum
            panels.append(Panel(title, found, curve, limits if plain else (), tuple(chosen(results, hop))))
    return window_panels(panels) if panels else None


def map_of(
    curve: WindowCurve,
    flight_time: tuple[float, float] | None,
    columns: int | None = None,
    rows: int | None = None,
) -> WindowMap | None:
    """The map a curve belongs to; None for a leg about one planet, or bodies without positions on its dates."""
    if curve.system is not None:
        return None
    shortest, longest = flight_time or (None, None)
    try:
        return windows.window_map(
            curve.departure_body,
            curve.arrival_body,
            float(curve.departure[0]),
            float(curve.departure[-1]),
            shortest,
            longest,
            columns=columns,
            rows=rows,
        )
    except (UnknownNameError, EphemerisError, TransferError):
        return None


def chosen(results: Results, hop: int) -> list[Mark]:
    """The window taken by the design that stands for each architecture."""
    curve, marks = results.mission.windows[hop - 1], []
    for name in drawn_architectures(results):
        row, closes = standing_design(results, name)
        if row is None:
            continue
        date = hop_value(row, "window_date", hop)
        speed = hop_value(row, "v_inf_departure", hop) + hop_value(row, "v_inf_arrival", hop)
        if np.isfinite([date, speed]).all():
            place = int(np.argmin(np.abs(np.asarray(curve.departure) - date)))
            flight = float(curve.time_of_flight[place])  # of the window; burns may lengthen the hop itself
            colour, symbol, _ = style.looks(results, name)
            title = style.escape(style.title_of(results, name))
            marks.append(Mark(title, date, flight, speed, colour, symbol if closes else f"{symbol}-open"))
    return marks


def pair_figure(panel: Panel, source: str, width: int = 180) -> DrawnFigure:
    """The figure of one pair of bodies, ready for export."""
    drawn = window_panels([panel])
    caption = str(drawn.layout.meta["caption"])
    return DrawnFigure("windows", panel.title, "calendar", drawn, caption, source, width)


def window_panels(panels: Sequence[Panel]) -> go.Figure:
    """One map and one strip per pair, under one another, with one legend."""
    title = TITLE if len(panels) > 1 else 0
    unit = MAP + KEY + 2 * BETWEEN + title
    inside = unit * len(panels)
    drawn = make_subplots(rows=2 * len(panels), cols=1, figure=style.Sheet())
    style.styled(drawn, inside + ABOVE + 60)
    drawn.update_layout(
        margin={"l": 64, "r": 16, "t": ABOVE, "b": 60}, legend={"y": 1.0 + 4 / inside, "font": {"size": 12}}
    )
    for place, panel in enumerate(panels):
        top = inside - place * unit - title
        spots = {"row": 2 * place + 1, "col": 1}, {"row": 2 * place + 2, "col": 1}
        drawn.update_yaxes(domain=[(top - MAP) / inside, top / inside], **spots[0])
        low = top - MAP - BETWEEN - KEY
        drawn.update_yaxes(domain=[low / inside, (low + KEY) / inside], **spots[1])
        if title:
            drawn.add_annotation(
                text=style.wrapped(panel.title, 60), x=0, xref="paper", xanchor="left", y=top / inside,
                yref="paper", yanchor="bottom", showarrow=False, font={"size": 13, "color": style.INK},
            )  # fmt: skip
        levels = levels_of(panel)
        draw_map(drawn, panel, levels, spots[0], first=place == 0)
        draw_key(drawn, panel, levels, spots[1], first=place == 0)
    begin = min(float(panel.map.departure[0]) for panel in panels)
    end = max(float(panel.map.departure[-1]) for panel in panels)
    drawn.update_xaxes(type="date", range=[moment(begin), moment(end)])
    style.one_scale(drawn, "x")
    drawn.update_xaxes(title_text="Departure date (calendar year)", row=2 * len(panels), col=1)
    return captioned(drawn, " ".join(words(panel) for panel in panels) + how_to_read(panels))


def shown_speed(speed: FloatArray | float) -> Any:
    """In the unit of the axes, km/s."""
    return style.shown("delta_v", speed)


def levels_of(panel: Panel) -> list[float]:
    """Round speeds at which the colour changes, from the cheapest transfer to a share of the dates [km/s]."""
    costs = shown_speed(panel.map.v_inf_sum)
    known = costs[np.isfinite(costs)]
    curve = shown_speed(np.asarray(panel.curve.v_inf_sum))
    curve = curve[np.isfinite(curve)]
    both = np.concatenate([known, curve])
    least = float(both.min()) if both.size else 0.0
    most = float(np.percentile(curve, CHEAP_SHARE)) if curve.size else 2.0 * least
    most = max(most, 1.15 * least, *(1.1 * limit for limit in panel.capacity if limit < 3.0 * least + 1.0))
    count = len(BANDS) - 1
    step = next((step for step in STEPS if step * (count - 1) >= most - least), STEPS[-1])
    start = step * (math.floor(least / step + ROOM) + 1)
    return [round(start + step * place, 6) for place in range(count)]


def draw_map(
    drawn: go.Figure, panel: Panel, levels: list[float], spot: dict[str, int], *, first: bool
) -> None:
    """Colour by cost, the boundary of what can be flown, half a turn, and the marks."""
    found = panel.map
    x = [moment(date) for date in found.departure]
    days = np.round(convert(found.time_of_flight, "s", "d"), 2)
    cost = np.round(shown_speed(found.v_inf_sum).T, 3).astype(np.float32)
    spaced = {"start": levels[0], "end": levels[-1], "size": round(levels[1] - levels[0], 6)}
    drawn.add_trace(
        go.Contour(
            x=x, y=days, z=cost, name="cost over date and flight time", autocontour=False,
            contours={**spaced, "coloring": "fill", "showlabels": True,
                      "labelfont": {"size": 10, "color": style.BLACK}},
            colorscale=style.scale(BANDS), showscale=False, connectgaps=False,
            line={"width": 0.6, "color": style.BLACK, "smoothing": 0.6}, meta={"value": VALUE},
            hovertemplate="%{x|%Y-%m-%d}, %{y:.0f} d<br>%{z:.3f} km/s<extra></extra>",
        ),
        **spot,
    )  # fmt: skip
    strip = left_out(found.transfer_angle).T
    if strip.any():
        drawn.add_trace(
            go.Contour(
                x=x, y=days, z=strip.astype(np.uint8), name="half a turn: left out", legendgroup="half",
                showlegend=first, contours={"type": "constraint", "operation": "<", "value": 0.5},
                fillcolor=style.GREY, line={"width": 0.6, "color": style.GREY}, hoverinfo="skip",
                meta={"drawing_only": True},
            ),
            **spot,
        )  # fmt: skip
    for limit in panel.capacity:
        line = {"width": 3, "color": style.VERMILLION}
        drawn.add_trace(_iso_line(x, days, cost, limit, line), **spot)
    if panel.capacity and first:
        drawn.add_trace(
            go.Scatter(
                x=x[:1], y=days[:1], mode="lines", name="what the craft can fly", line=line,
                hoverinfo="skip", meta={"drawing_only": True},
            ),
            **spot,
        )  # fmt: skip
    curve = panel.curve
    every = max(1, -(-len(curve.departure) // DOTS))
    drawn.add_trace(
        go.Scatter(
            x=[moment(date) for date in curve.departure[::every]],
            y=np.round(convert(np.asarray(curve.time_of_flight)[::every], "s", "d"), 2), mode="markers",
            name="flight time of the cheapest", legendgroup="cheapest", showlegend=first,
            marker={"size": 3.5, "color": style.BLACK},
            hovertemplate="%{x|%Y-%m-%d}<br>%{y:.0f} d<extra></extra>",
        ),
        **spot,
    )  # fmt: skip
    _marks(drawn, panel, [float(convert(mark.time_of_flight, "s", "d")) for mark in panel.marks], spot, first)
    drawn.update_yaxes(title_text="Flight time (d)", range=[float(days[0]), float(days[-1])], **spot)
    drawn.update_xaxes(showticklabels=False, showgrid=False, **spot)


def draw_key(
    drawn: go.Figure, panel: Panel, levels: list[float], spot: dict[str, int], *, first: bool
) -> None:
    """The cheapest transfer of each date over the colours of the map: the key to them."""
    curve = panel.curve
    kept = cheapest_of_each(np.asarray(curve.v_inf_sum, dtype=np.float64), DATES)
    speed = np.round(shown_speed(np.asarray(curve.v_inf_sum)[kept]), 4)
    step = levels[1] - levels[0]
    low, high = levels[0] - 1.5 * step, levels[-1] + 1.5 * step
    x = [moment(date) for date in np.asarray(curve.departure)[kept]]
    for width, colour in ((5, style.WHITE), (2, style.BLACK)):
        halo = colour == style.WHITE
        drawn.add_trace(
            go.Scatter(
                x=x, y=speed, mode="lines", line={"width": width, "color": colour},
                name="cheapest of each date", legendgroup="curve", showlegend=first and not halo,
                meta={"drawing_only": True} if halo else None, hoverinfo="skip" if halo else None,
                hovertemplate=None if halo else "%{x|%Y-%m-%d}<br>%{y:.3f} km/s<extra></extra>",
            ),
            **spot,
        )  # fmt: skip
    edges = [low, *levels, high]
    style.bands_across(drawn, spot, list(zip(BANDS, edges[:-1], edges[1:], strict=True)))
    for limit in panel.capacity:
        style.line_across(drawn, spot, {"width": 3, "color": style.VERMILLION}, y=limit)
    _marks(drawn, panel, [float(shown_speed(mark.v_inf_sum)) for mark in panel.marks], spot, False)
    drawn.update_yaxes(
        title_text="Sum of both<br>speeds (km/s)", range=[low, high], showgrid=False, tickvals=levels,
        ticktext=[style.number(level) for level in levels], **spot,
    )  # fmt: skip
    drawn.update_xaxes(showgrid=False, **spot)


def cheapest_of_each(speed: FloatArray, most: int) -> NDArray[np.int64]:
    """Places of the least value of each run of neighbours, at most so many runs; of a run without any its first."""
    together = -(-len(speed) // most)
    starts = np.arange(0, len(speed), together)
    runs = [np.nan_to_num(speed[start : start + together], nan=np.inf) for start in starts]
    return starts + np.array([int(np.argmin(run)) for run in runs], dtype=np.int64)


def _iso_line(x: list[str], y: FloatArray, z: FloatArray, level: float, line: dict[str, Any]) -> go.Contour:
    """One line of equal value, which adds no numbers of its own."""
    return go.Contour(
        x=x, y=y, z=np.asarray(z, dtype=np.float32), autocontour=False, showscale=False, hoverinfo="skip",
        contours={"start": level, "end": level, "size": 1.0, "coloring": "lines"}, connectgaps=False,
        colorscale=[[0.0, line["color"]], [1.0, line["color"]]], line={"width": line["width"], "smoothing": 0.6},
        meta={"drawing_only": True},
    )  # fmt: skip


def left_out(angles: FloatArray) -> NDArray[np.bool_]:
    """Cells on or beside the strip around half a turn, however narrow it is between the cells."""
    off = angles - math.pi
    strip = windows.on_the_ridge(angles)
    for axis in (0, 1):
        one, other = (off[1:], off[:-1]) if axis == 0 else (off[:, 1:], off[:, :-1])
        crossed = (one * other <= 0.0) & (np.abs(one) < NEAR_HALF) & (np.abs(other) < NEAR_HALF)
        wide = np.zeros_like(strip)
        if axis == 0:
            wide[1:] |= crossed
            wide[:-1] |= crossed
        else:
            wide[:, 1:] |= crossed
            wide[:, :-1] |= crossed
        strip = strip | wide
    padded = np.pad(strip, 1)
    columns, rows = strip.shape
    return np.asarray(
        np.any([padded[i : i + columns, j : j + rows] for i in range(3) for j in range(3)], axis=0)
    )


def _marks(drawn: go.Figure, panel: Panel, heights: list[float], spot: dict[str, int], legend: bool) -> None:
    """The departures to point out."""
    for mark, height in zip(panel.marks, heights, strict=True):
        drawn.add_trace(
            go.Scatter(
                x=[moment(mark.departure)], y=[height], mode="markers", name=mark.name, legendgroup=mark.name,
                showlegend=legend and not any(trace.name == mark.name for trace in drawn.data),
                marker={"symbol": mark.symbol, "size": 12, "color": mark.colour,
                        "line": {"color": style.BLACK, "width": 1.4}},
                hovertemplate="%{x|%Y-%m-%d}<br>%{y:.3f}<extra></extra>",
            ),
            **spot,
        )  # fmt: skip


def words(panel: Panel) -> str:
    """The cheapest departure of a pair, and how many dates can be flown."""
    speed = np.asarray(panel.curve.v_inf_sum, dtype=np.float64)
    if not np.isfinite(speed).any():
        return f"{panel.title} has no departure in reach."
    best = int(np.nanargmin(speed))
    flight = float(convert(panel.curve.time_of_flight[best], "s", "d"))
    text = (
        f"{panel.title} is cheapest on {format_date(panel.curve.departure[best])}: "
        f"{style.quantity_text('delta_v', float(speed[best]))} in {style.number(flight)} d"
    )
    if panel.capacity:
        fits = np.mean(shown_speed(np.nan_to_num(speed, nan=np.inf)) <= max(panel.capacity))
        text += f"; {style.percent(float(fits))} of the dates lie inside what the craft can fly"
    return f"{text}."


def how_to_read(panels: Sequence[Panel]) -> str:
    """What colours and marks mean."""
    text = (
        " Colour is the sum of both speeds far away, dark where it is low; the strip under each map gives the"
        " cheapest transfer of each date and the key to the colours; across the grey strip flights change from"
        " less than half a turn around the Sun to more"
    )
    marks = [mark for panel in panels for mark in panel.marks]
    if marks:
        text += "; marks are the departures named above the figure"
    if any(mark.symbol.endswith("-open") for mark in marks):
        text += ", open where the design does not close"
    return f"{text}."
