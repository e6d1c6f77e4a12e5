"""One campaign in full: what the craft does, and below it what is on board, in the gas tanks and in the battery."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from tradespace.figures import style
from tradespace.figures.calendar import BANDS, moment, spans_of
from tradespace.figures.choice import can_be_flown, leader, leader_words, longest_drawn, standing_design
from tradespace.figures.history import History, history
from tradespace.figures.registry import captioned, figure
from tradespace.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

DOING, TRACE, GAP = 46, 150, 22
"""Heights of the row of bands, of a panel of lines and of the space between them [px]."""
ABOVE, BELOW = 96, 70
"""Room for the legend and for the axis [px]."""
NAMES = {"refuelling": "charging and filling", "coasting flight": "coast", "cruise burn": "burn"}
"""Shorter words for the bands."""
APART = 0.07
"""Landings nearer than this share of the axis have no room for words above them [1]."""
HOPS = 40
"""Hops drawn at most, the first ones, so that bands can be told apart."""


@figure(
    "campaign_state",
    title="The campaign of one design, with what it has on board",
    section="calendar",
    width=180,
)
def campaign_state(results: Results) -> go.Figure | None:
    """Bands of what the craft does over lines of propellant on board, gas pressure and battery."""
    name = leader(results)
    if name is None or not can_be_flown(results) or results.mission.kind == "burn":
        return None
    row, _ = standing_design(results, name)
    if row is None:
        return None
    last = float(row.get(f"landing_date_{results.mission.hops}", float("nan")))
    if not np.isfinite(last) or last - results.mission.start_date > longest_drawn(results):
        return None
    found = history(results, name, row, HOPS)
    panels = panels_of(results, found)
    drawn, spots = frame(len(panels))
    add_bands(drawn, results, row)
    for place, panel in zip(spots, panels, strict=True):
        panel(drawn, place)
    finish(drawn, results, row, len(panels))
    return captioned(drawn, state_words(results, name, found))


def frame(count: int) -> tuple[go.Figure, list[dict[str, int]]]:
    """An empty figure with a row for the bands and so many panels below it on one axis of time."""
    inside = DOING + count * (TRACE + GAP)
    drawn = make_subplots(rows=1 + count, cols=1, figure=style.Sheet())
    style.styled(drawn, inside + ABOVE + BELOW)
    drawn.update_layout(
        margin={"l": 78, "r": 20, "t": ABOVE, "b": BELOW},
        legend={"y": 1.0 + 8 / inside, "traceorder": "normal"},
        barmode="overlay",
        bargap=0.0,
    )
    top = inside
    for place in range(1 + count):
        height = DOING if place == 0 else TRACE
        drawn.update_yaxes(domain=[(top - height) / inside, top / inside], row=place + 1, col=1)
        top -= height + GAP
    return drawn, [{"row": place + 2, "col": 1} for place in range(count)]


def times(results: Results, dates: Any) -> list[Any]:
    """Dates as the axis wants them: calendar dates, or days since the start on one body."""
    if results.mission.kind == "surface":
        days = convert(np.asarray(dates, dtype=np.float64) - results.mission.start_date, "s", "d")
        return [round(float(day), 6) for day in np.atleast_1d(days)]
    return [moment(float(date)) for date in np.atleast_1d(np.asarray(dates, dtype=np.float64))]


def add_bands(drawn: go.Figure, results: Results, row: pd.Series) -> None:
    """What the craft does, one bar after another."""
    spans = [
        span for hop in range(1, min(results.mission.hops, HOPS) + 1) for span in spans_of(results, row, hop)
    ]
    surface = results.mission.kind == "surface"
    for kind, colour, pattern in BANDS:
        some = [(start, end) for one, start, end in spans if one == kind]
        if not some:
            continue
        unit = "d" if surface else "ms"
        drawn.add_trace(
            go.Bar(
                y=[""] * len(some), base=times(results, [start for start, _ in some]),
                x=[float(convert(end - start, "s", unit)) for start, end in some], orientation="h",
                name=NAMES.get(kind, kind),
                customdata=[style.number(float(convert(end - start, "s", "d"))) for start, end in some],
                hovertemplate="%{customdata} d<extra>" + NAMES.get(kind, kind) + "</extra>",
                marker={
                    "color": colour,
                    "pattern": {"fillmode": "overlay", "shape": pattern, "size": 7, "solidity": 0.25,
                                "fgcolor": style.WHITE if pattern in {"/", "x"} else style.BLACK},
                    "line": {"color": style.BLACK, "width": 0.8},
                },
            ),
            row=1, col=1,
        )  # fmt: skip
    drawn.update_yaxes(showticklabels=False, showgrid=False, type="category", ticks="", row=1, col=1)


def panels_of(results: Results, found: History) -> list[Any]:
    """What is drawn below the bands, as functions of the figure and the place."""

    def load(drawn: go.Figure, spot: dict[str, int]) -> None:
        line(drawn, results, (found.dates, found.on_board), ("on board", style.BLUE, "solid"), spot)
        drawn.update_yaxes(title_text="On board<br>(kg)", range=[0.0, 1.12 * max(found.full, 1e-9)], **spot)
        note(drawn, f"tanks hold {style.quantity_text('propellant_mass', found.full)}", spot)

    def gas(drawn: go.Figure, spot: dict[str, int]) -> None:
        bars = style.shown("storage_pressure", found.pressure)
        line(drawn, results, (found.gas_dates, bars), ("gas pressure", style.VERMILLION, "dash"), spot)
        most = float(style.shown("storage_pressure", found.filling_pressure))
        drawn.update_yaxes(title_text="Gas tanks<br>(bar)", range=[0.0, 1.12 * most], **spot)
        note(drawn, f"filled to {style.quantity_text('storage_pressure', found.filling_pressure)}", spot)

    def battery(drawn: go.Figure, spot: dict[str, int]) -> None:
        both = (
            ("battery by day", found.battery, "solid"),
            ("battery after a night", found.after_night, "dot"),
        )
        for place, (words, values, dash) in enumerate(both):
            fill = {"fill": "tonexty", "fillcolor": "rgba(0,158,115,0.25)"} if place else {}
            line(
                drawn,
                results,
                (found.battery_dates, 100.0 * values),
                (words, style.GREEN, dash),
                spot,
                **fill,
            )
        drawn.update_yaxes(title_text="Battery<br>(% of new)", range=[0.0, 108.0], **spot)
        energy = style.number(float(convert(found.battery_energy, "J", "kWh")))
        note(drawn, f"new: {energy}{style.NARROW}kWh", spot, at=0.02, anchor="bottom")

    chosen = [load]
    if found.pressure.size:
        chosen.append(gas)
    if found.battery_energy > 0.0:
        chosen.append(battery)
    return chosen


def line(
    drawn: go.Figure,
    results: Results,
    values: tuple[FloatArray, FloatArray],
    looks: tuple[str, str, str],
    spot: dict[str, int],
    **more: Any,
) -> None:
    """Known states joined by straight lines."""
    words, colour, dash = looks
    drawn.add_trace(
        go.Scatter(
            x=times(results, values[0]), y=np.round(values[1], 3), mode="lines", name=words, showlegend=False,
            line={"color": colour, "width": 2.2, "dash": dash},
            hovertemplate="%{y:.4g}<extra>" + words + "</extra>", **more,
        ),
        **spot,
    )  # fmt: skip


def note(drawn: go.Figure, words: str, spot: dict[str, int], at: float = 0.98, anchor: str = "top") -> None:
    """A few words in a corner of a panel."""
    drawn.add_annotation(
        text=words, x=0.995, xref="x domain", xanchor="right", y=at, yref="y domain", yanchor=anchor, showarrow=False,
        font={"size": 11}, bgcolor="rgba(255,255,255,0.75)", **spot,
    )  # fmt: skip


def finish(drawn: go.Figure, results: Results, row: pd.Series, count: int) -> None:
    """One axis of time for all panels, and a thin line at every landing of a tour."""
    hops = min(results.mission.hops, HOPS)
    start, last = results.mission.start_date, float(row[f"landing_date_{hops}"])
    room = 0.02 * (last - start)
    ends = times(results, [start - room, last + room])
    surface = results.mission.kind == "surface"
    drawn.update_xaxes(range=ends, showticklabels=False, **({} if surface else {"type": "date"}))
    style.one_scale(drawn, "x")
    title = "Time since the start (d)" if surface else "Date (calendar year)"
    drawn.update_xaxes(title_text=title, showticklabels=True, row=count + 1, col=1)
    dates = [float(row[f"landing_date_{hop}"]) for hop in range(1, hops + 1)]
    near = bool(np.any(np.diff(dates) < APART * (last - start)))
    for hop, date in enumerate([] if near else dates, start=1):
        (at,) = times(results, [date])
        drawn.add_annotation(
            x=at, y=1.0, yref="paper", yanchor="bottom", text=f"landing {hop}",
            showarrow=False, font={"size": 10}, xanchor="right" if hop == hops else "center",
        )  # fmt: skip


def state_words(results: Results, name: str, found: History) -> str:
    """What is known, what joins it, and what the lowest states are."""
    text = (
        f"{leader_words(results, name)}. Known from the engine: what is on board at every arrival, when tanks are "
        f"full, and before and after each burn; straight lines join these. On board is propellant, or the water for "
        f"it; at most {style.quantity_text('propellant_mass', float(found.on_board.max()))}, at the last landing "
        f"{style.quantity_text('propellant_mass', float(found.on_board[-1]))}."
    )
    if found.pressure.size and found.gas_share < 1.0:
        text += (
            f" The gas tanks hold {style.percent(found.gas_share)} of a full load, for launch and landing; their "
            "pressure is that of real gas at one temperature: full at launch, made again on the way for the landing. "
            "What an engine that burns in pulses fills and empties during a burn is not followed."
        )
    elif found.pressure.size:
        text += " Pressure is that of the load as real gas in tanks of one temperature; their heating is left out."
    else:
        text += " It keeps no compressed gas, so there is no tank pressure to follow."
    if found.battery_energy > 0.0:
        least = float(found.after_night.min())
        text += (
            " Battery: by day charged to what wear has left of it (upper line); at a stop every night takes it to the "
            f"lower line, at worst {style.percent(least)} of new; the nights are too many to be drawn one by one. In "
            "flight it stays charged."
        )
    if results.mission.hops > HOPS:
        text += f" The first {HOPS} of {results.mission.hops} hops are drawn."
    return text
