"""From the naive estimate to the study's own design: what each neglected effect multiplies."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace import stackup
from tradespace.figures import style
from tradespace.figures.choice import standing_design
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

MOST = 3
"""Architectures that are drawn."""
TIME, HOP, MASS = stackup.METRICS
ROOM = 0.3
"""Decades to the right of the longest bar, for the words beside it."""
LINE = 21
"""Height of a step [px]."""
CHANGES = (("adds", style.VERMILLION, ""), ("saves", style.SKY, "/"))


def best_fed(results: Results) -> Sequence[str]:
    """The best architectures that refuel and have a stack-up, those whose designs close first."""
    table = results.sensitivity.stackup if results.sensitivity is not None else None
    if table is None or table.empty:
        return []
    known = set(table["architecture"].astype(str))
    ranked = []
    for place, name in enumerate(results.architectures):
        row, closes = standing_design(results, name)
        if name in known and row is not None:
            sign = 1.0 if results.study.figure_of_merit_better == "lower" else -1.0
            merit = sign * float(row[results.study.figure_of_merit]) if closes else -float(row["margin"])
            ranked.append((not closes, merit, place, name))
    return [name for *_, name in sorted(ranked)[:MOST]]


@figure("stackup", title="What naive estimates leave out: {}", section="stackup", variants=best_fed)
def stackup_figure(results: Results, architecture: str) -> go.Figure | None:
    """Refuelling, time per hop and mass of the reference design, one neglected effect after the other."""
    if results.sensitivity is None:
        return None
    table = results.sensitivity.stackup
    return waterfall(table[table["architecture"] == architecture], style.title_of(results, architecture))


def waterfall(table: pd.DataFrame, title: str) -> go.Figure:
    """The waterfall of one architecture.

    Parameters
    ----------
    table : DataFrame
        The rows of :func:`tradespace.stackup.stack_up` that belong to it.
    title : str
        What it is called in words.
    """
    names = [style.escape(words) for words in table["title"]]
    drawn = style.panels(
        ["Refuelling (bars) and whole hop (diamonds)", "Mass with full tanks"],
        LINE * len(names) + 70,
        columns=1,
        gap=96,
    )
    hops = np.asarray(style.shown("refuel_time", table[HOP].to_numpy(dtype=np.float64)))
    times = np.asarray(style.shown("refuel_time_mean", table[TIME].to_numpy(dtype=np.float64)))
    masses = np.asarray(style.shown("wet_mass", table[MASS].to_numpy(dtype=np.float64)))
    for row, (metric, values, beside) in enumerate(
        ((TIME, times, hops), (MASS, masses, np.zeros(0))), start=1
    ):
        edge = axis_of([*values, *beside])
        steps = bars(names, values, legend=row == 1)
        for trace in (*steps, *ends(table, names, values, legend=row == 1)):
            drawn.add_trace(trace, row=row, col=1)
        if beside.size:
            drawn.add_trace(markers(names, beside), row=row, col=1)
        drawn.update_xaxes(**edge, row=row, col=1)
        if edge:
            drawn.add_trace(multipliers(table, names, metric, 10.0 ** edge["range"][1]), row=row, col=1)
    drawn.update_xaxes(title_text="Time per hop (d)", row=1, col=1)
    drawn.update_xaxes(title_text=style.axis_title("wet_mass"), row=2, col=1)
    drawn.update_yaxes(
        type="category",
        categoryorder="array",
        categoryarray=names[::-1],
        tickfont={"size": 11},
        showgrid=False,
    )
    drawn.update_layout(bargap=0.3, barmode="overlay")
    return captioned(drawn, words_of(table, title))


def axis_of(values: Sequence[float]) -> dict[str, Any]:
    """A logarithmic axis over the positive values, with room for the words."""
    axis = style.log_axis(np.asarray(values), 0.06)
    if axis:
        low, high = axis["range"]
        axis["range"] = [low, high + max(ROOM, 0.22 * (high - low))]
    return axis


def bars(names: list[str], values: FloatArray, *, legend: bool) -> list[go.Bar]:
    """One bar per step that can be drawn, from the value before it to its own."""
    found = []
    for number, (words, colour, shape) in enumerate(CHANGES):
        rows = [
            place
            for place in range(1, len(names))
            if drawable(values[place - 1 : place + 1]) and (values[place] < values[place - 1]) == bool(number)
        ]
        if not rows:
            continue
        before = np.array([values[place - 1] for place in rows])
        after = np.array([values[place] for place in rows])
        found.append(
            go.Bar(
                y=[names[place] for place in rows],
                x=after - before,
                base=before,
                orientation="h",
                name=f"effect {words}",
                legendgroup=words,
                showlegend=legend,
                customdata=after,
                marker={
                    "color": colour,
                    "pattern": {"fillmode": "overlay", "shape": shape, "fgcolor": style.WHITE},
                    "line": {"color": style.BLACK, "width": 0.6},
                },
                hovertemplate="%{y}<br>%{customdata:.4g}<extra></extra>",
            )
        )
    return found


def drawable(values: FloatArray) -> bool:
    """Whether values have a place on a logarithmic axis."""
    return bool(np.isfinite(values).all() and (np.asarray(values) > 0.0).all())


def ends(table: pd.DataFrame, names: list[str], values: FloatArray, *, legend: bool) -> list[go.Scatter]:
    """Where each step ends: a dot where it closes, a cross where it does not."""
    closes = table["closes"].to_numpy(dtype=bool)
    found = []
    for words, symbol, chosen in (("closes", "circle", closes), ("does not close", "x", ~closes)):
        rows = [place for place in range(len(names)) if chosen[place] and drawable(values[place : place + 1])]
        if not rows:
            continue
        found.append(
            go.Scatter(
                x=[values[place] for place in rows],
                y=[names[place] for place in rows],
                mode="markers",
                name=words,
                legendgroup=words,
                showlegend=legend,
                marker={"symbol": symbol, "size": 7, "color": style.BLACK},
                hovertemplate="%{y}<br>%{x:.4g}<extra>" + words + "</extra>",
            )
        )
    return found


def markers(names: list[str], hops: FloatArray) -> go.Scatter:
    """The whole time per hop at each step."""
    rows = [place for place in range(len(names)) if drawable(hops[place : place + 1])]
    return go.Scatter(
        x=[hops[place] for place in rows],
        y=[names[place] for place in rows],
        mode="markers",
        name="whole hop, wait and flight",
        showlegend=bool(rows),
        marker={"symbol": "diamond-open", "size": 8, "color": style.BLUE, "line": {"width": 1.6}},
        hovertemplate="%{y}<br>%{x:.4g} d<extra>whole hop</extra>",
    )


def multipliers(table: pd.DataFrame, names: list[str], metric: str, edge: float) -> go.Scatter:
    """A column of words at the right edge: the value at the start, then multipliers, or why there is none."""
    values = table[metric].to_numpy(dtype=np.float64)
    factors = table[f"{metric}_step"].to_numpy(dtype=np.float64)
    return go.Scatter(
        x=[edge] * len(names),
        y=names,
        mode="text",
        text=[beside(metric, *pair) for pair in zip(values, factors, strict=True)],
        textposition="middle left",
        textfont={"size": 11, "color": style.INK},
        hoverinfo="skip",
        showlegend=False,
        meta={"drawing_only": True},
    )


def beside(metric: str, value: float, factor: float) -> str:
    """Words for a step."""
    if math.isfinite(factor):
        return f"×{style.number(factor)}"
    if value == 0.0:
        return "none"
    return style.quantity_text(stackup.LIKE.get(metric, metric), value) if math.isfinite(value) else "no end"


def words_of(table: pd.DataFrame, title: str) -> str:
    """What the waterfall shows, in words."""
    first, last = table.iloc[0], table.iloc[-1]
    steps = table.iloc[1:]
    start = (
        f"{title}: the reference design from its naive estimate (ideal specific impulse, cells of 80 %, full sun at "
        f"1 au, free water, no tanks, no margins) to the study's own, one effect after the other. Refuelling goes "
        f"from {stackup.said(TIME, first[TIME])} to {stackup.said(TIME, last[TIME])} a hop, the whole hop from "
        f"{stackup.said(HOP, first[HOP])} to {stackup.said(HOP, last[HOP])}, the mass from "
        f"{stackup.said(MASS, first[MASS])} to {stackup.said(MASS, last[MASS])}."
    )
    parts = [start]
    factors = steps[f"{TIME}_step"].to_numpy(dtype=np.float64)
    known = np.where(np.isfinite(factors), factors, 0.0)
    if known.max(initial=0.0) > 1.0:
        top = steps.iloc[int(known.argmax())]
        parts.append(
            f"Largest multiplier of refuelling: {str(top['title']).lower()}, ×{style.number(float(known.max()))}."
        )
    parts.append(stackup.closing_words(table))
    parts.append("The order matters; the table has each effect alone.")
    return " ".join(parts)
