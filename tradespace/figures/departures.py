"""The departure dates on offer: what each leg costs on each date, and the dates that were chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace.evaluate.engine import priced_ends
from tradespace.figures import style
from tradespace.figures.calendar import hop_value, moment
from tradespace.figures.choice import drawn_architectures, left_out_words, standing_design, value_of
from tradespace.figures.registry import captioned, figure
from tradespace.itinerary import Leg, legs
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

POINTS = 1200
"""Departure dates drawn per curve at most."""


@figure("hop_windows", title="Departure dates on offer", section="calendar", width=180)
def hop_windows(results: Results) -> go.Figure | None:
    """Cheapest hop against departure date for each leg around the Sun, with the capacity and the dates chosen."""
    curves = {
        hop: curve for hop, curve in enumerate(results.mission.windows, start=1) if curve.system is None
    }
    if not curves:
        return None
    titles = [f"Hop {hop}: {leg.route}" for hop, leg in legs_of(results).items() if hop in curves]
    drawn = style.panels(titles, 250, columns=1)
    capacity = capacities(results)
    for place, (hop, curve) in enumerate(curves.items(), start=1):
        every = max(1, -(-len(curve.departure) // POINTS))
        speed = style.shown("delta_v", offered(results, hop))[::every]
        spot = {"row": place, "col": 1}
        drawn.add_trace(
            go.Scatter(
                x=[moment(date) for date in curve.departure[::every]],
                y=np.round(speed, 4),
                mode="lines",
                name="cheapest hop on that date, short burns",
                legendgroup="curve",
                showlegend=place == 1,
                line={"color": style.BLACK, "width": 1.6},
                hovertemplate="%{x|%Y-%m-%d}<br>%{y:.3f} km/s<extra></extra>",
            ),
            **spot,
        )
        for value in capacity:
            style.line_across(drawn, spot, {"color": style.VERMILLION, "width": 2, "dash": "dash"}, y=value)
        highest = max([*capacity, *chosen_dates(drawn, results, hop, spot)], default=0.0)
        finite = speed[np.isfinite(speed)]
        if finite.size:
            top = max(float(np.percentile(finite, 60)), 1.25 * highest, 1.05 * float(finite.min()))
            drawn.update_yaxes(range=[0, top], **spot)
    if capacity:
        drawn.add_trace(
            go.Scatter(
                x=[moment(next(iter(curves.values())).departure[0])],
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
    drawn.update_yaxes(title_text="Both cruise burns<br>(km/s)")
    return captioned(
        drawn, window_words(results, capacity) + left_out_words(results, drawn_architectures(results))
    )


def legs_of(results: Results) -> dict[int, Leg]:
    """The hops of the route by number."""
    return {leg.hop: leg for leg in legs(results.study, results.mission)}


def offered(results: Results, hop: int) -> FloatArray:
    """Both cruise burns of the cheapest hop on each date with short burns [m/s]; a planet's pull helps at its ends."""
    mission = results.mission
    sums, _ = priced_ends(mission.windows[hop - 1], mission.stops[hop - 1], mission.stops[hop])
    return np.asarray(sums, dtype=np.float64)


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


def chosen_dates(drawn: go.Figure, results: Results, hop: int, spot: dict[str, int]) -> list[float]:
    """Mark the date and the price of each architecture's hop; the prices marked [km/s]."""
    marked = []
    for name in drawn_architectures(results):
        row, closes = standing_design(results, name)
        if row is None:
            continue
        date = hop_value(row, "window_date", hop)
        speed = hop_value(row, "departure_delta_v", hop) + hop_value(row, "arrival_delta_v", hop)
        if not (np.isfinite(date) and np.isfinite(speed)):
            continue
        colour, symbol, _ = style.looks(results, name)
        paid = float(style.shown("delta_v", speed))
        marked.append(paid)
        drawn.add_trace(
            go.Scatter(
                x=[moment(date)],
                y=[paid],
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
                hovertemplate="%{x|%Y-%m-%d}<br>pays %{y:.3f} km/s<extra></extra>",
            ),
            **spot,
        )
    return marked


def window_words(results: Results, capacity: list[float]) -> str:
    """Share of dates that fit, hop by hop, and the cheapest date; what the marks mean."""
    parts = []
    within = []
    for hop, curve in enumerate(results.mission.windows, start=1):
        if curve.system is not None:
            within.append(f"hop {hop}")
            continue
        speed = offered(results, hop)
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
    inside = f" {', '.join(within).capitalize()}: about one planet, where any date will do." if within else ""
    return (
        f"{text[:1].upper()}{text[1:]}.{inside} Marks stand on the date of the curve on which a craft's burns are "
        "centred and at what it pays: above the curve where its burns are long. An open mark belongs to a design that "
        "does not close."
    )
