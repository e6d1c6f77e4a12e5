"""When things happen: the bands of each campaign."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from tradespace.campaign.records import SPIRAL
from tradespace.figures import style
from tradespace.figures.choice import standing_design
from tradespace.figures.designs import ROOMY, crowded, massless_words, ranked_rows, row_labels, state_words
from tradespace.figures.registry import captioned, figure
from tradespace.units import J2000, convert

if TYPE_CHECKING:
    from tradespace.results import Results

BANDS = (
    ("refuelling", style.ORANGE, ""),
    ("dwell after refuelling", style.TOL_MUTED[2], "-"),
    ("waiting for the departure date", style.GREY, "."),
    ("coasting flight", style.BLUE, "/"),
    ("cruise burn", style.VERMILLION, "x"),
)
"""What a campaign spends its time on, with colour and pattern; in the order of :func:`spans_of`."""
ROW, THIN_ROW, GAP = 68, 40, 0.35
BAR = ROW * (1.0 - GAP)
"""Height of a row (thin where there are many) and of its bar [px], and the share of a row between bars."""
APART = 0.07
"""Landings nearer than this share of the time axis have no room for words above them."""


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
    rows = ranked_rows(results)
    names = list(rows)
    if not names:
        return None
    surface = results.mission.kind == "surface"
    beside = " " if len(names) > ROOMY else "<br>"
    labels = [
        text + survival_words(rows[name]).replace("<br>", beside)
        for name, text in zip(names, row_labels(results, names), strict=True)
    ]
    drawn = style.blank(round(height_of(names) * (len(names) + 0.25)) + 110)
    found: dict[str, list[tuple[str, float, float, str]]] = {kind: [] for kind, _, _ in BANDS}
    for name, text in zip(names, labels, strict=True):
        for hop in range(1, results.mission.hops + 1):
            for kind, start, end in spans_of(results, rows[name], hop):
                length = style.number(float(convert(end - start, "s", "d")))
                found[kind].append(
                    (text, start, end, f"hop {hop}, {length} d{chance_words(rows[name], hop)}")
                )
    origin = results.mission.start_date if surface else None
    reached = False
    for kind, colour, pattern in BANDS:
        if found[kind]:
            reached = True
            drawn.add_trace(
                band(
                    [(start, end) for _, start, end, _ in found[kind]],
                    [text for text, *_ in found[kind]],
                    [words for *_, words in found[kind]],
                    (kind, colour, pattern),
                    origin=origin,
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
    drawn.update_layout(barmode="overlay", bargap=GAP)
    drawn.update_yaxes(showgrid=False, range=[len(names) - 0.5, -0.75], type="category", **crowded(names))
    if len(names) > ROOMY:  # the first band does not hold every row
        drawn.update_yaxes(categoryorder="array", categoryarray=labels)
    for name, text in zip(names, labels, strict=True) if len(names) <= ROOMY else ():
        mark_chances(drawn, results, rows[name], text)
    return captioned(
        drawn, timeline_words(results, names) + state_words(results) + massless_words(results, rows)
    )


def height_of(names: list[str]) -> int:
    """Height of a row [px]."""
    return ROW if len(names) <= ROOMY else THIN_ROW


def spans_of(results: Results, row: pd.Series, hop: int) -> list[tuple[str, float, float]]:
    """What the craft does on one hop, as kinds of band with their ends [s]."""
    arrival, ready, departure, landing = (
        hop_value(row, name, hop) for name in ("arrival_date", "ready_date", "departure_date", "landing_date")
    )
    filled = min(arrival + np.nan_to_num(hop_value(row, "refuel_time", hop)), ready)
    first, second = burns_of(results, row, hop)
    spans = [
        ("refuelling", arrival, filled),
        ("dwell after refuelling", filled, ready),
        ("waiting for the departure date", ready, departure),
        ("coasting flight", departure + first, landing - second),
        ("cruise burn", departure, departure + first),
        ("cruise burn", landing - second, landing),
    ]
    return [
        (kind, start, end)
        for kind, start, end in spans
        if np.isfinite(start) and np.isfinite(end) and end > start
    ]


def burns_of(results: Results, row: pd.Series, hop: int) -> tuple[float, float]:
    """How long the cruise burns at both ends of a hop take [s].

    The first is centred on the date of the window curve; both together are what the flight is longer than that of the
    curve. A spiral thrusts all the way.
    """
    longest, flight = hop_value(row, "burn_time", hop), hop_value(row, "time_of_flight", hop)
    if not (np.isfinite(longest) and results.mission.windows):
        return 0.0, 0.0
    curve = results.mission.windows[hop - 1]
    if curve.system is not None:
        return (flight, 0.0) if hop_value(row, "pricing", hop) == SPIRAL else (0.0, 0.0)
    date = hop_value(row, "window_date", hop)
    first = float(np.clip(2.0 * (date - hop_value(row, "departure_date", hop)), 0.0, longest))
    arc = float(np.interp(date, curve.departure, curve.time_of_flight))
    second = float(np.clip(2.0 * (flight - arc) - first, 0.0, longest))
    return first, second


def mark_chances(drawn: go.Figure, results: Results, row: pd.Series, label: str) -> None:
    """Write the chance to have come so far above each landing of a design that closes, where there is room."""
    hops = range(1, results.mission.hops + 1)
    dates = [hop_value(row, "landing_date", hop) for hop in hops]
    chances = [hop_value(row, "survival", hop) for hop in hops]
    room = APART * (results.mission.horizon - results.mission.start_date)
    if results.mission.kind == "surface" or not bool(row["closes"]) or not np.all(np.isfinite(chances)):
        return
    if np.any(np.diff(dates) < room):
        return
    for date, chance in zip(dates, chances, strict=True):
        drawn.add_annotation(
            x=moment(date),
            y=label,
            yshift=0.5 * BAR + 8,
            text=style.percent(chance),
            showarrow=False,
            font={"size": 11},
        )


def survival_words(row: pd.Series) -> str:
    """The chance to complete the route, for a label."""
    chance = float(row.get("survival", float("nan"))) if bool(row["closes"]) else float("nan")
    return f"<br>chance {style.percent(chance)}" if np.isfinite(chance) else ""


def chance_words(row: pd.Series, hop: int) -> str:
    """The chance to land from a hop, for a hover box."""
    chance = hop_value(row, "survival", hop)
    return f", chance to land {style.percent(chance)}" if np.isfinite(chance) else ""


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
                "fgcolor": style.WHITE if looks[2] in {"/", "x"} else style.BLACK,
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
    chance = " Chance: to complete the route; above a landing, to have come so far." if parts else ""
    chance = chance if len(names) <= ROOMY else " Chance: to complete the route." if parts else ""
    return (
        f"Best design of each architecture; bars that reach the right edge go on beyond it. {found}.{chance}"
    )
