"""The tours a search found: when each visits which body, and what it does there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.calendar import moment
from tradespace.figures.registry import SEARCH, DrawnFigure, captioned, draw_figures, figure
from tradespace.units import convert, format_date

if TYPE_CHECKING:
    from tradespace.tour import Tour
    from tradespace.touring import Tours

SHOWN = 4
"""Tours drawn: the best and the first runners-up."""
STAYS = (
    ("refuelling", style.ORANGE, "circle"),
    ("dwell after refuelling", style.TOL_MUTED[2], "circle"),
    ("waiting for the departure date", style.GREY, "circle"),
)
"""What a craft does on a body, with the colour of its bar."""
LINES = (style.BLUE, style.VERMILLION, style.GREEN, style.PURPLE)
WIDE, NARROW = 11, 5
"""Width of the bars of the best tour and of the others [px]."""


def tours_figure(tours: Tours, source: str) -> DrawnFigure:
    """The registered figure with words of one's own about where its numbers come from.

    Parameters
    ----------
    tours : Tours
        What was found.
    source : str
        Where the numbers come from.
    """
    (drawn,) = draw_figures(tours, ["tours"])
    return replace(drawn, source=source)


@figure("tours", title="The best tour and the next ones", section="tours", width=180, of=SEARCH)
def best_tours(tours: Tours) -> go.Figure:
    """Dates across, bodies down: stays as bars and flights as lines, of the best tour and of the next ones."""
    drawn_tours = tours.found.tours[:SHOWN]
    names = list(dict.fromkeys(name for tour in drawn_tours for name in tour.names))
    rows = {name: len(names) - 1 - place for place, name in enumerate(names)}
    drawn = style.blank(46 * len(names) + 190)
    for rank, tour in reversed(list(enumerate(drawn_tours, start=1))):
        _flights(drawn, tour, rank, rows)
    for rank, tour in reversed(list(enumerate(drawn_tours, start=1))):
        _stays(drawn, tour, rank, rows)
    room = 0.03 * (tours.study.horizon - tours.study.start_date)
    ends = [moment(tours.study.start_date - room), moment(tours.study.horizon + room)]
    drawn.update_xaxes(title_text="Date (calendar year)", type="date", range=ends)
    drawn.update_yaxes(
        tickvals=list(rows.values()),
        ticktext=[style.escape(name) for name in rows],
        range=[-0.6, len(names) - 0.4],
        title_text="Body",
    )
    drawn.add_vline(x=moment(tours.study.horizon), line={"color": style.BLACK, "width": 2, "dash": "dash"})
    drawn.update_layout(
        legend={"traceorder": "normal", "y": 1.0 + 12 / (46 * len(names) + 80)}, margin={"t": 95}
    )
    return captioned(drawn, figure_words(tours))


def _offset(rank: int) -> float:
    """Tours beside each other on the row of a body they share."""
    return 0.16 - 0.13 * (rank - 1)


def _name(rank: int) -> str:
    return "best tour" if rank == 1 else f"rank {rank}"


def _flights(drawn: go.Figure, tour: Tour, rank: int, rows: dict[str, int]) -> None:
    """The flights of a tour as one broken line."""
    dates: list[str | None] = []
    heights: list[float | None] = []
    words: list[str] = []
    for hop, one, other in zip(tour.hops, tour.names[:-1], tour.names[1:], strict=True):
        dates += [moment(float(hop["departure_date"])), moment(float(hop["landing_date"])), None]
        heights += [rows[one] + _offset(rank), rows[other] + _offset(rank), None]
        text = (
            f"{one} to {other}<br>{style.quantity_text('delta_v', float(hop['delta_v']))}, "
            f"{style.quantity_text('time_of_flight', float(hop['time_of_flight']))}<br>"
            f"chance so far {style.percent(float(hop['survival']))}"
        )
        words += [text, text, ""]
    drawn.add_trace(
        go.Scatter(
            x=dates, y=heights, mode="lines", name=f"flights, {_name(rank)}", legendrank=10 + rank,
            text=words, hovertemplate="%{text}<br>%{x|%Y-%m-%d}<extra>" + _name(rank) + "</extra>",
            line={"color": LINES[rank - 1], "width": 3 if rank == 1 else 1.6, "dash": style.DASHES[rank - 1]},
        )
    )  # fmt: skip


def _stays(drawn: go.Figure, tour: Tour, rank: int, rows: dict[str, int]) -> None:
    """What a tour does on its bodies: one broken line per kind."""
    for kind, colour, _ in STAYS:
        dates: list[str | None] = []
        heights: list[float | None] = []
        words: list[str] = []
        for hop, name in zip(tour.hops, tour.names[:-1], strict=True):
            arrival, ready, departure = (
                float(hop[column]) for column in ("arrival_date", "ready_date", "departure_date")
            )
            filled = min(arrival + float(hop["refuel_time"]), ready)
            first, last = {
                STAYS[0][0]: (arrival, filled), STAYS[1][0]: (filled, ready), STAYS[2][0]: (ready, departure)
            }[kind]  # fmt: skip
            if last <= first:
                continue
            days = style.number(float(convert(last - first, "s", "d")))
            dates += [moment(first), moment(last), None]
            heights += [rows[name] + _offset(rank)] * 2 + [None]
            words += [f"{name}, {days} d"] * 2 + [""]
        if dates:
            drawn.add_trace(
                go.Scatter(
                    x=dates, y=heights, mode="lines", name=kind, legendgroup=kind, showlegend=rank == 1,
                    text=words, hovertemplate="%{text}<extra>" + kind + f", {_name(rank)}</extra>",
                    line={"color": colour, "width": WIDE if rank == 1 else NARROW},
                )
            )  # fmt: skip
    drawn.add_trace(
        go.Scatter(
            x=[moment(tour.end_date)], y=[rows[tour.names[-1]] + _offset(rank)], mode="markers",
            name=f"last landing, {_name(rank)}", showlegend=False,
            marker={"symbol": style.SYMBOLS[rank - 1], "size": 9, "color": LINES[rank - 1],
                    "line": {"color": style.BLACK, "width": 1}},
            hovertemplate="last landing %{x|%Y-%m-%d}<extra>" + _name(rank) + "</extra>",
        )
    )  # fmt: skip


def figure_words(tours: Tours) -> str:
    """How the best tour spends its time."""
    best = tours.best
    hops = best.hops
    total = best.end_date - tours.study.start_date
    flying = float(hops["time_of_flight"].sum()) / total
    waiting = float(hops["wait"].sum()) / total
    return (
        f"The best tour, {' - '.join(best.names)}, lands for the last time on {format_date(best.end_date)} with a "
        f"chance of {style.percent(best.survival)}. It flies {style.percent(flying)} of the time and waits for its "
        f"departure dates {style.percent(waiting)}; the rest is refuelling and dwell. Thick: the best tour; thin: "
        "runners-up, set a little lower on each body; the dashed upright is the horizon."
    )
