"""When things happen: the bands of each campaign, and the departure dates on offer."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import standing_design, standing_rows, value_of
from tradespace.figures.designs import row_labels, state_words
from tradespace.figures.registry import captioned, figure
from tradespace.units import J2000, convert, format_date

if TYPE_CHECKING:
    from tradespace.results import Results

BANDS = (
    ("arrival_date", "ready_date", "refuelling and dwell at the stop", style.ORANGE, ""),
    ("ready_date", "departure_date", "waiting for the departure date", style.GREY, "."),
    ("departure_date", "landing_date", "flight", style.BLUE, "/"),
)
POINTS = 1200
"""Departure dates drawn per curve at most."""


def moment(seconds: float) -> str:
    """A date and hour that a date axis understands; what ends after the last of them ends there."""
    last = datetime.max.replace(tzinfo=J2000.tzinfo)
    span = min(float(seconds), (last - J2000).total_seconds() - 1.0)
    return (J2000 + timedelta(seconds=span)).strftime("%Y-%m-%d %H:%M")


def hop_value(row: pd.Series, name: str, hop: int) -> float:
    """A per-hop column of a design; NaN when it is missing."""
    return float(row.get(f"{name}_{hop}", float("nan")))


@figure("timeline", title="The campaign, hop by hop", section="calendar", width=180)
def timeline(results: Results) -> go.Figure | None:
    """Bands of refuelling, waiting and flight of the design that stands for each architecture."""
    rows = standing_rows(results)
    names = list(rows)
    if not names:
        return None
    surface = results.mission.kind == "surface"
    labels = row_labels(results, names)
    drawn = style.styled(go.Figure(), 60 * len(names) + 170)
    reached = False
    for first, last, words, colour, pattern in BANDS:
        place: list[str] = []
        spans: list[tuple[float, float]] = []
        hops: list[str] = []
        for name, text in zip(names, labels, strict=True):
            row = rows[name]
            for hop in range(1, results.mission.hops + 1):
                start, end = hop_value(row, first, hop), hop_value(row, last, hop)
                if np.isfinite(start) and np.isfinite(end) and end > start:
                    place.append(text)
                    spans.append((start, end))
                    hops.append(f"hop {hop}, {style.number(float(convert(end - start, 's', 'd')))} d")
        if spans:
            reached = True
            drawn.add_trace(
                band(
                    spans,
                    place,
                    hops,
                    (words, colour, pattern),
                    origin=results.mission.start_date if surface else None,
                )
            )
    if not reached:
        return None
    if surface:
        drawn.update_xaxes(title_text="Time since the start (d)")
    else:
        room = 0.08 * (results.mission.horizon - results.mission.start_date)
        ends = [moment(results.mission.start_date - room), moment(results.mission.horizon + room)]
        drawn.update_xaxes(title_text="Date (calendar year)", type="date", range=ends)
        drawn.add_vline(
            x=moment(results.mission.horizon), line={"color": style.BLACK, "width": 2, "dash": "dash"}
        )
        drawn.add_annotation(
            x=moment(results.mission.horizon),
            y=1.0,
            yref="paper",
            yanchor="bottom",
            text="horizon",
            showarrow=False,
            xanchor="right",
        )
    drawn.update_layout(barmode="overlay", bargap=0.35)
    drawn.update_yaxes(showgrid=False, autorange="reversed", type="category")
    return captioned(drawn, timeline_words(results, names) + state_words(results))


def band(
    spans: list[tuple[float, float]],
    place: list[str],
    hops: list[str],
    looks: tuple[str, str, str],
    origin: float | None,
) -> go.Bar:
    """Bars of one kind, on a date axis (milliseconds long) or, with an origin, in days since it."""
    if origin is None:
        base: list[Any] = [moment(start) for start, _ in spans]
        length = [float(convert(end - start, "s", "ms")) for start, end in spans]
    else:
        base = [float(convert(start - origin, "s", "d")) for start, _ in spans]
        length = [float(convert(end - start, "s", "d")) for start, end in spans]
    return go.Bar(
        y=place,
        x=length,
        base=base,
        orientation="h",
        name=looks[0],
        customdata=hops,
        hovertemplate="%{customdata}<extra>" + looks[0] + "</extra>",
        marker={
            "color": looks[1],
            "pattern": {
                "fillmode": "overlay",
                "shape": looks[2],
                "fgcolor": style.WHITE if looks[2] == "/" else style.BLACK,
                "size": 7,
                "solidity": 0.25,
            },
            "line": {"color": style.BLACK, "width": 0.8},
        },
    )


def timeline_words(results: Results, names: list[str]) -> str:
    """How long the campaigns last and how that time is spent."""
    parts = []
    for name in names:
        row, closes = standing_design(results, name)
        if row is None or not closes:
            continue
        length = style.quantity_text("mission_time", float(row["mission_time"]), 3)
        waits = [hop_value(row, "wait", hop) for hop in range(1, results.mission.hops + 1)]
        waited = float(np.nansum(waits))
        total = float(row["mission_time"])
        share = f", {style.percent(waited / total)} of it waiting" if total > 0 and waited > 0 else ""
        parts.append(f"{style.title_of(results, name)} lands for the last time after {length}{share}")
    found = "; ".join(parts) if parts else "No architecture finishes the route"
    return f"Best design of each architecture; bars that reach the right edge go on beyond it. {found}."


@figure("hop_windows", title="Departure dates on offer", section="calendar", width=180)
def hop_windows(results: Results) -> go.Figure | None:
    """Cheapest velocity change of each hop against departure date, with the capacity and the dates chosen."""
    curves = results.mission.windows
    if not curves:
        return None
    titles = [
        f"Hop {hop}: {curve.departure_body} to {curve.arrival_body}"
        for hop, curve in enumerate(curves, start=1)
    ]
    drawn = style.panels(titles, 250, columns=1)
    capacity = capacities(results)
    highest = max(capacity) if capacity else float("inf")
    for index, curve in enumerate(curves):
        every = max(1, -(-len(curve.departure) // POINTS))
        speed = style.shown("delta_v", np.asarray(curve.v_inf_sum)[::every])
        spot = {"row": index + 1, "col": 1}
        drawn.add_trace(
            go.Scatter(
                x=[moment(date) for date in curve.departure[::every]],
                y=np.round(speed, 4),
                mode="lines",
                name="cheapest hop on that date",
                legendgroup="curve",
                showlegend=index == 0,
                line={"color": style.BLACK, "width": 1.6},
                hovertemplate="%{x|%Y-%m-%d}<br>%{y:.3f} km/s<extra></extra>",
            ),
            **spot,
        )
        for value in capacity:
            drawn.add_hline(y=value, line={"color": style.VERMILLION, "width": 2, "dash": "dash"}, **spot)
        chosen_dates(drawn, results, index + 1, spot)
        finite = speed[np.isfinite(speed)]
        if finite.size:
            top = max(float(np.percentile(finite, 60)), 1.6 * highest if np.isfinite(highest) else 0.0)
            drawn.update_yaxes(range=[0, top], **spot)
    if capacity:
        drawn.add_trace(
            go.Scatter(
                x=[moment(curves[0].departure[0])],
                y=[capacity[0]],
                mode="lines",
                name="capacity per hop after the margin",
                line={"color": style.VERMILLION, "width": 2, "dash": "dash"},
                hoverinfo="skip",
            )
        )
    drawn.update_xaxes(type="date", title_text=None)
    drawn.update_xaxes(title_text="Departure date (calendar year)", row=len(curves), col=1)
    drawn.update_xaxes(range=[moment(results.mission.start_date), moment(results.mission.horizon)])
    style.one_scale(drawn, "x")
    drawn.update_yaxes(title_text="Sum of both speeds<br>far away (km/s)")
    return captioned(drawn, window_words(results, capacity))


def capacities(results: Results) -> list[float]:
    """Velocity change a hop may cost before the margin, lowest and highest of the designs shown [km/s]."""
    found = set()
    for name in results.architectures:
        row, _ = standing_design(results, name)
        if row is None or not style.refuels(results, name):
            continue
        value = value_of(results, row, "hop_delta_v_capacity") / (
            1.0 + np.nan_to_num(value_of(results, row, "delta_v_margin"))
        )
        if np.isfinite(value):
            found.add(round(float(style.shown("delta_v", value)), 6))
    return sorted({min(found), max(found)}) if found else []


def chosen_dates(drawn: go.Figure, results: Results, hop: int, spot: dict[str, int]) -> None:
    """Mark the date on which each architecture's design departs."""
    for name in results.architectures:
        row, closes = standing_design(results, name)
        if row is None:
            continue
        date = hop_value(row, "window_date", hop)
        speed = hop_value(row, "v_inf_departure", hop) + hop_value(row, "v_inf_arrival", hop)
        if not (np.isfinite(date) and np.isfinite(speed)):
            continue
        colour, symbol, _ = style.looks(results, name)
        drawn.add_trace(
            go.Scatter(
                x=[moment(date)],
                y=[float(style.shown("delta_v", speed))],
                mode="markers",
                legendgroup=name,
                name=style.escape(style.title_of(results, name)),
                showlegend=not any(trace.legendgroup == name for trace in drawn.data),
                marker={
                    "symbol": symbol if closes else f"{symbol}-open",
                    "size": 12,
                    "color": colour,
                    "line": {"color": style.BLACK if closes else colour, "width": 1.2 if closes else 2.5},
                },
                hovertemplate="%{x|%Y-%m-%d}<br>%{y:.3f} km/s<extra></extra>",
            ),
            **spot,
        )


def window_words(results: Results, capacity: list[float]) -> str:
    """Share of dates that fit, hop by hop, and the cheapest date."""
    parts = []
    for hop, curve in enumerate(results.mission.windows, start=1):
        speed = np.asarray(curve.v_inf_sum, dtype=np.float64)
        if not np.isfinite(speed).any():
            parts.append(f"hop {hop} has no departure in reach")
            continue
        best = int(np.nanargmin(speed))
        cost = style.quantity_text("delta_v", float(speed[best]))
        words = f"hop {hop} is cheapest on {format_date(curve.departure[best])} at {cost}"
        if capacity:
            fits = float(np.mean(style.shown("delta_v", np.nan_to_num(speed, nan=np.inf)) <= capacity[-1]))
            words += f", and {style.percent(fits)} of the dates fit the capacity"
        parts.append(words)
    text = "; ".join(parts)
    return (
        text[:1].upper()
        + text[1:]
        + ". Marks are the dates chosen; an open mark belongs to a design that does not close."
    )
