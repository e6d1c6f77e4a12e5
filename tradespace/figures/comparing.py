"""The architectures side by side: impulse against power, and what a hop costs each of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from tradespace.comparison import MARKS, Compared, compare, mark_words
from tradespace.constants import value
from tradespace.figures import style
from tradespace.figures.choice import longest_drawn
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from tradespace.results import Results

FEEDS = {
    "water": ("fed with water", style.BLUE, "circle"),
    "gases": ("burns split water", style.VERMILLION, "square"),
    "hydrogen": ("fed with hydrogen", style.GREEN, "diamond"),
    "oxygen": ("fed with oxygen", style.PURPLE, "triangle-up"),
    "own": ("carries its propellant", style.BLACK, "cross"),
}
"""Kinds of feed with words, colour and marker."""
EFFICIENCIES = (1.0, 0.5, 0.2, 0.1, 0.05)
"""Lines of equal jet energy over energy spent [1]."""
LEAST_LIVE = 0.01
"""Power below this share of that in the jet stands for none [1]."""
NARROW = 5.0
"""Values that differ by less than this factor are drawn on a linear axis [1]."""
SIDES = ("top center", "bottom center")
NEAR = 0.2  # decades
STRIPS = ("refuel_time", "water_per_hop", "energy_per_hop", "payload_per_year")


def points_of(results: Results) -> list[tuple[Compared, float, float, float]]:
    """Architectures with power per thrust, specific impulse of the jet and on mined water, in display units."""
    found = []
    for one in compare(results).rows:
        row = one.standing.row
        if row is None:
            continue
        jet = float(row.get("propellant_specific_impulse", one.numbers["specific_impulse"]))
        power = one.numbers["total_power_per_thrust"]
        mined = one.numbers["mined_specific_impulse"]
        if jet > 0.0 and math.isfinite(jet) and LEAST_LIVE * carried_by(jet) < power < math.inf:
            shown = float(style.shown("total_power_per_thrust", power))
            found.append((one, shown, jet, mined))
    return found


def carried_by(impulse: float) -> float:
    """Power in a jet per thrust [W/N]."""
    return 0.5 * value("standard_gravity") * impulse


def powerless_words(results: Results) -> str:
    """Which architectures take hardly any power, their propellant bringing its own; empty when all take some."""
    found = {one.place for one, *_ in points_of(results)}
    names = [
        one.standing.title
        for one in compare(results).rows
        if one.place not in found and one.numbers["specific_impulse"] > 0.0
    ]
    return f" Hardly any power, and not drawn: {'; '.join(names)}." if names else ""


def feed_of(results: Results, one: Compared) -> str:
    """Kind of feed of an architecture."""
    craft = results.study.thrusters.get(one.standing.name)
    feed = str(getattr(getattr(craft, "thruster", craft), "feed", ""))
    return feed if feed in FEEDS else "water" if one.standing.refuels else "own"


@figure("impulse_power", title="Specific impulse and power per thrust", section="comparison", width=180)
def impulse_power(results: Results) -> go.Figure | None:
    """Specific impulse against power per thrust with lines of equal efficiency, one numbered mark per architecture."""
    found = points_of(results)
    if not found:
        return None
    drawn = style.blank(620)
    powers = [power for _, power, _, _ in found]
    impulses = [jet for _, _, jet, _ in found] + [
        mined for *_, jet, mined in found if math.isfinite(mined) and mined > 0 and mined < jet
    ]
    ends = min(powers) / 1.6, max(powers) * 1.6
    heights = min(impulses) / 1.5, max(impulses) * 1.5
    add_efficiency_lines(drawn, ends, heights)
    add_losses(drawn, found)
    sides = label_sides(found)
    for feed, (words, colour, symbol) in FEEDS.items():
        for shown in (True, False):
            part = [
                item for item in found
                if feed_of(results, item[0]) == feed and item[0].evidence.demonstrated is shown
            ]  # fmt: skip
            if part:
                drawn.add_trace(marks(part, (words, colour, symbol), sides, shown=shown))
    for axis, title, span in (
        ("xaxis", style.axis_title("total_power_per_thrust"), ends),
        ("yaxis", "Specific impulse of the jet (s)", heights),
    ):
        drawn.update_layout({axis: {"title": {"text": title}, **style.log_axis(span, 0.0)}})
    return captioned(drawn, impulse_words(results, found))


def add_efficiency_lines(drawn: go.Figure, ends: tuple[float, float], heights: tuple[float, float]) -> None:
    """Lines on which the jet holds the same share of the energy spent, labelled at their upper end."""
    gravity = value("standard_gravity")
    unit = float(style.shown("total_power_per_thrust", 1.0))
    across = np.geomspace(*ends, 40)
    for share in EFFICIENCIES:
        impulse = 2.0 * share * across / unit / gravity
        inside = (impulse >= heights[0]) & (impulse <= heights[1])
        if inside.sum() < 2:
            continue
        drawn.add_trace(
            go.Scatter(
                x=across[inside],
                y=impulse[inside],
                mode="lines+text",
                text=[""] * (int(inside.sum()) - 1) + [style.percent(share)],
                textposition="top left" if inside[-1] else "middle right",
                cliponaxis=False,
                textfont={"size": 11},
                line={"color": style.TOL_MUTED[1], "width": 1, "dash": "dot"},
                name="jet energy over energy spent",
                legendgroup="share",
                showlegend=share == EFFICIENCIES[0],
                meta={"drawing_only": True},
                hoverinfo="skip",
            )
        )


def add_losses(drawn: go.Figure, found: list[tuple[Compared, float, float, float]]) -> None:
    """A line from the impulse of the jet down to that of a kilogram mined, where part of the water gives no thrust."""
    x: list[float | None] = []
    y: list[float | None] = []
    for _, power, jet, mined in found:
        if math.isfinite(mined) and 0.0 < mined < 0.999 * jet:
            x += [power, power, None]
            y += [jet, mined, None]
    if x:
        drawn.add_trace(
            go.Scatter(
                x=x,
                y=y,
                mode="lines+markers",
                line={"color": style.BLACK, "width": 1.4},
                marker={"symbol": "line-ew-open", "size": 11, "color": style.BLACK},
                name="down to the impulse of all the water mined",
                hoverinfo="skip",
            )
        )


def marks(
    part: list[tuple[Compared, float, float, float]],
    looks: tuple[str, str, str],
    sides: dict[int, str],
    *,
    shown: bool,
) -> go.Scatter:
    """Numbered marks of one kind, filled where the performance has been demonstrated."""
    words, colour, symbol = looks
    return go.Scatter(
        x=[power for _, power, _, _ in part],
        y=[jet for _, _, jet, _ in part],
        mode="markers+text",
        text=[f"{one.place}" + ("" if shown else sign(one)) for one, *_ in part],
        textposition=[sides[one.place] for one, *_ in part],
        textfont={"size": 12},
        customdata=[style.escape(one.standing.title) for one, *_ in part],
        name=f"{words}, {'demonstrated' if shown else 'not demonstrated'}",
        cliponaxis=False,
        marker={
            "symbol": symbol if shown else f"{symbol}-open",
            "size": 12,
            "color": colour,
            "line": {"color": style.BLACK if shown else colour, "width": 1 if shown else 2.5},
        },
        hovertemplate="%{customdata}<br>%{x:.3g} W/mN, %{y:.4g} s<extra></extra>",
    )


def label_sides(found: list[tuple[Compared, float, float, float]]) -> dict[int, str]:
    """Side of its mark on which each number stands: outwards in a crowd, and above and below by turns within it."""
    sides: dict[int, str] = {}
    within = 0
    for one, power, jet, _ in sorted(found, key=lambda item: item[1]):
        near = [
            other
            for rival, other, speed, _ in found
            if rival is not one
            and abs(math.log10(power / other)) < NEAR
            and abs(math.log10(jet / speed)) < NEAR
        ]
        if all(other < power for other in near):
            sides[one.place] = "middle right"
        elif all(other >= power for other in near):
            sides[one.place] = "middle left"
        else:
            sides[one.place] = SIDES[within % len(SIDES)]
            within += 1
    return sides


def sign(one: Compared) -> str:
    """Sign of evidence that is no demonstration."""
    return MARKS.get(one.evidence.grade, "")


def impulse_words(results: Results, found: list[tuple[Compared, float, float, float]]) -> str:
    """Which number is which, and what lies at the ends."""
    numbers = "; ".join(f"{one.place} {one.standing.title}" for one, *_ in found)
    thrifty = min(found, key=lambda item: item[1])[0].standing.title
    fastest = max(found, key=lambda item: item[2])[0].standing.title
    return (
        "Energy for splitting, storing and live power per impulse (mining left out) against the specific impulse of "
        "what leaves the nozzle. Filled marks: demonstrated performance; open marks with a sign: not demonstrated. "
        f"Least power per thrust: {thrifty}; highest specific impulse: {fastest}. Numbers: {numbers}."
        f"{powerless_words(results)} " + mark_words(results)
    ).strip()


@figure("side_by_side", title="What a hop costs each architecture", section="comparison", width=180)
def side_by_side(results: Results) -> go.Figure | None:
    """Refuelling time, water, energy and payload of every architecture as bars on shared rows."""
    rows = [one for one in compare(results).rows if one.standing.row is not None]
    names = [
        name for name in STRIPS
        if any(math.isfinite(one.numbers[name]) and one.numbers[name] > 0.0 for one in rows)
    ]  # fmt: skip
    if not rows or not names:
        return None
    drawn = make_subplots(
        rows=1, cols=len(names), shared_yaxes=True, horizontal_spacing=0.035, figure=style.Sheet()
    )
    style.styled(drawn, 30 * len(rows) + 130)
    labels = [
        style.wrapped(f"{one.place} {one.standing.title}", 46 if len(rows) > len(FEEDS) else 30)
        for one in rows
    ]
    notes: list[dict[str, Any]] = []
    for column, name in enumerate(names, start=1):
        notes += add_strip(drawn, results, rows, labels, name, column)
    drawn.update_layout(annotations=notes)
    drawn.update_layout(barmode="overlay", bargap=0.3, legend={"traceorder": "normal"})
    drawn.update_yaxes(
        type="category",
        categoryorder="array",
        categoryarray=labels,
        range=[len(rows) - 0.5, -0.5],
        showgrid=False,
        tickfont={"size": 11},
    )
    return captioned(drawn, strip_words(results, rows, names))


def add_strip(
    drawn: go.Figure, results: Results, rows: list[Compared], labels: list[str], name: str, column: int
) -> list[dict[str, Any]]:
    """Bars of one quantity; what has no end, or no value, as notes in words."""
    longest = longest_drawn(results) if name == "refuel_time" else math.inf
    shown = {
        place: float(style.shown(name, one.numbers[name]))
        for place, one in enumerate(rows)
        if math.isfinite(one.numbers[name]) and 0.0 < one.numbers[name] <= longest
    }
    spot = {"row": 1, "col": column}
    most = max(shown.values(), default=1.0)
    linear = most < NARROW * min(shown.values(), default=most)
    low = 0.0 if linear else min(shown.values()) / 2.0
    kinds = [
        ("closes, demonstrated", style.BLUE, "", True, True),
        ("closes, not demonstrated", style.BLUE, "/", True, False),
        ("does not close, demonstrated", style.GREY, "", False, True),
        ("does not close, not demonstrated", style.GREY, "/", False, False),
    ]
    for words, colour, pattern, closes, proven in kinds:
        part = [
            place for place, one in enumerate(rows)
            if place in shown and one.standing.closes is closes and one.evidence.demonstrated is proven
        ]  # fmt: skip
        if part:
            seen = any(trace.legendgroup == words for trace in drawn.data)
            drawn.add_trace(
                strip_bars(
                    [labels[place] for place in part], [shown[place] for place in part], low,
                    (words, colour, pattern), legend=not seen,
                ),
                **spot,
            )  # fmt: skip
    scale: dict[str, Any] = {"range": [0, 1.15 * most]} if linear else style.log_axis([low, 1.3 * most], 0.0)
    ticks = [tick for tick in scale.get("tickvals", []) if math.log10(tick) % 1.0 < 1e-9] or scale.get(
        "tickvals"
    )
    if ticks:
        scale |= {"tickvals": ticks, "ticktext": [style.number(float(tick), 1) for tick in ticks]}
    title = style.label(name).replace(" per ", " per<br>") + f"<br>({unit_of(name)})"
    drawn.update_xaxes(title_text=title, title_font={"size": 12}, tickfont={"size": 10}, **scale, **spot)
    if not shown:
        drawn.update_xaxes(type="linear", range=[0, 1], showticklabels=False, **spot)
    return [
        {
            "x": 0, "xref": "x domain" if column == 1 else f"x{column} domain", "xanchor": "left",
            "y": labels[place], "yref": "y", "showarrow": False, "font": {"size": 11},
            "text": "never" if one.numbers[name] > longest or one.numbers[name] == math.inf else "–",
        }
        for place, one in enumerate(rows)
        if place not in shown
    ]  # fmt: skip


def unit_of(name: str) -> str:
    """Display unit of a quantity for the title of an axis."""
    return style.axis_title(name).rpartition(" (")[2].rstrip(")")


def strip_bars(
    labels: list[str], lengths: list[float], low: float, looks: tuple[str, str, str], *, legend: bool
) -> go.Bar:
    """Bars of one kind on a logarithmic axis, from its lower end."""
    words, colour, pattern = looks
    return go.Bar(
        y=labels,
        x=[length - low for length in lengths],
        base=low,
        orientation="h",
        name=words,
        legendgroup=words,
        showlegend=legend,
        customdata=lengths,
        marker={
            "color": colour,
            "pattern": {"fillmode": "overlay", "shape": pattern, "fgcolor": style.BLACK, "size": 6, "solidity": 0.25},
            "line": {"color": style.BLACK, "width": 0.8},
        },
        hovertemplate="%{y}<br>%{customdata:.4g}<extra>" + words + "</extra>",
    )  # fmt: skip


def strip_words(results: Results, rows: list[Compared], names: list[str]) -> str:
    """The leader of each strip among the designs that close, demonstrated ones first."""
    parts = []
    for name in names:
        better = style.better_of(name)
        usable = [
            one for one in rows
            if one.standing.closes and one.standing.refuels and 0.0 < one.numbers[name] < math.inf
        ]  # fmt: skip
        pool = [one for one in usable if one.evidence.demonstrated] or usable
        if pool:
            order = sorted(pool, key=lambda one, name=name: one.numbers[name])  # type: ignore[misc]
            best = order[-1] if better == "higher" else order[0]
            shown = style.quantity_text(name, best.numbers[name])
            parts.append(f"{style.words(name)} {best.standing.title} ({shown})")
    lead = (
        "Rows stand in the order of the ranking; axes are logarithmic where values lie far apart. Never: it does not "
        "end within three times the length of the route. "
    )
    best_words = f"Best of those that refuel and close, demonstrated before others: {'; '.join(parts)}." if parts else (
        "No architecture that refuels closes."
    )  # fmt: skip
    return f"{lead}{best_words} {mark_words(results)}".strip()
