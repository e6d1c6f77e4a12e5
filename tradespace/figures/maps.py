"""Maps over two swept variables: how far from closing, and which link binds."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import (
    CLIP,
    EDGE,
    Cells,
    along,
    cell_edges,
    cells,
    crosses_edge,
    drawn_architectures,
    fold,
    left_out_words,
    map_axes,
    one_at_a_time,
    other_axes,
    points,
    scattered,
    swept,
)
from tradespace.figures.regions import name_region
from tradespace.figures.registry import captioned, figure
from tradespace.results import LINKS, placeholder

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from tradespace.results import Results


def axis_of(results: Results, name: str) -> dict[str, Any]:
    """Scale of the axis of a swept variable, in display units."""
    ends_apart = scattered(results) or fold(results, name) > 1
    values = cell_edges(results, name) if ends_apart else points(results, name)
    shown = style.shown(name, values)
    if style.is_logarithmic(values):
        return style.log_axis(shown, 0.0)
    return {"range": [float(shown[0]), float(shown[-1])]}


def logarithmic(results: Results, axes: tuple[str, str]) -> tuple[bool, bool]:
    """Which of both axes are logarithmic."""
    first, second = (axis_of(results, axis).get("type") == "log" for axis in axes)
    return first, second


def with_scales(drawn: go.Figure, results: Results, axes: tuple[str, str], count: int) -> go.Figure:
    """Set both scales and outer titles of a map."""
    drawn.update_xaxes(showgrid=False, **axis_of(results, axes[0]))
    drawn.update_yaxes(showgrid=False, **axis_of(results, axes[1]))
    style.label_outer(drawn, count, style.axis_title(axes[0]), style.axis_title(axes[1]))
    return drawn


def folded_words(results: Results) -> str:
    """What was done with swept variables that the map does not show."""
    others = other_axes(results)
    names = ", ".join(style.words(name) for name in others)
    if scattered(results):
        return f" Each cell stands for the best of its designs, whatever their {names}." if others else ""
    return fine_words(results, map_axes(results)) + (
        f" Each cell shows the best margin over {names}." if others else ""
    )


def fine_words(results: Results, axes: Sequence[str]) -> str:
    """That neighbouring points of a very fine sweep share a cell; empty when each has its own."""
    together = [fold(results, name) for name in axes]
    if max(together, default=1) == 1:
        return ""
    return (
        f" The sweep is finer than can be drawn: a cell holds {' × '.join(str(one) for one in together)} of its points "
        "and shows the best of their designs, so it closes when one of them does."
    )


def closing_words(results: Results, names: list[str]) -> str:
    """How much of the sweep closes, for some architectures."""
    counts = results.counts()
    parts = []
    for name in names:
        total, closing = int(counts["designs"][name]), int(counts["closing"][name])
        part = style.percent(closing / total) if closing else "none"
        parts.append(f"{style.title_of(results, name)} {part}")
    return "Share of the swept designs that closes: " + "; ".join(parts) + "."


def best_marker(results: Results, architecture: str, axes: tuple[str, ...]) -> pd.Series | None:
    """The best closing design, when it lies on the axes."""
    row = results.best(architecture)
    return row if row is not None and all(name in row.index for name in axes) else None


def star(x: Any, y: Any, name: str, *, legend: bool) -> go.Scatter:
    """The mark of a best design."""
    return go.Scatter(
        x=x,
        y=y,
        mode="markers",
        name=name,
        legendgroup="best",
        showlegend=legend,
        cliponaxis=False,
        marker={
            "symbol": "star",
            "size": 15,
            "color": style.ORANGE,
            "line": {"color": style.BLACK, "width": 1.2},
        },
    )


def nowhere_words(results: Results, name: str) -> str:
    """What stands in the way of an architecture of which no design closes; empty when one does."""
    rows = results.designs[results.designs["architecture"] == name]
    if rows.empty or rows["closes"].any():
        return ""
    row = results.full(rows.iloc[int(np.argmax(rows["margin"].to_numpy(dtype=np.float64)))])
    if placeholder(row, "dry_mass"):
        return "closes nowhere: no finite mass"
    return f"closes nowhere: {style.escape(str(row['limited_by']))}, at best {style.number(float(row['margin']), 2)}"


def margin_colours() -> list[list[float | str]]:
    """Red to blue with the neutral colour at 0 and its shades close together there, where designs are decided."""
    half = len(style.TOL_RED_BLUE) // 2
    steps = [shade / half for shade in range(-half, half + 1)]
    margins = [CLIP * abs(step) ** 3 * (1 if step > 0 else -1) for step in steps]
    return [
        [0.5 * (margin / CLIP + 1), colour]
        for margin, colour in zip(margins, style.TOL_RED_BLUE, strict=True)
    ]


def margin_layers(found: Cells, x: Any, y: Any, title: str) -> list[Any]:
    """Margin as colour, and the line on which it is zero."""
    field = np.clip(found.margin, -CLIP, CLIP)
    heat = go.Heatmap(
        x=x,
        y=y,
        z=field.astype(np.float32),
        meta={"value": "smallest margin, cut at -1 and 1"},
        coloraxis="coloraxis",
        name=title,
        hovertemplate="%{x:.4g}, %{y:.4g}<br>smallest margin %{z:.3f}<extra></extra>",
    )
    line = go.Contour(
        x=x,
        y=y,
        z=field.astype(np.float32),
        showscale=False,
        hoverinfo="skip",
        showlegend=False,
        name="closure boundary",
        meta={"drawing_only": True},
        contours={"start": EDGE, "end": EDGE, "size": 1, "coloring": "none"},
        line={"color": style.BLACK, "width": 3},
    )
    return [heat, line]


@figure("closure_map", title="Where each architecture closes", section="closure", width=180)
def closure_map(results: Results) -> go.Figure | None:
    """Smallest margin over the map axes, one panel per architecture, with the closure boundary.

    Of scattered designs the share that closes, of variables moved one at a time the margin over each.
    """
    from tradespace.figures.scattered import closing_share_map, margin_one_at_a_time

    found_axes = map_axes(results)
    if one_at_a_time(results) and swept(results):
        return margin_one_at_a_time(results, swept(results))
    if len(found_axes) > 1 and scattered(results):
        return closing_share_map(results, (found_axes[0], found_axes[1]))
    if len(found_axes) < 2:
        return margin_lines(results, found_axes[0]) if found_axes else None
    axes = (found_axes[0], found_axes[1])
    names = drawn_architectures(results)
    drawn = style.panels([style.title_of(results, name) for name in names])
    legend, logs = {"line": True, "best": True}, logarithmic(results, axes)
    for index, name in enumerate(names):
        found, spot = cells(results, name, axes), style.place(index, 2)
        x, y = style.shown(axes[0], found.x), style.shown(axes[1], found.y)
        for layer in margin_layers(found, x, y, style.escape(style.title_of(results, name))):
            drawn.add_trace(layer, **spot)
        if crosses_edge(found.margin):
            drawn.add_trace(boundary_key(x[0], y[0], legend.pop("line", False)), **spot)
        words = nowhere_words(results, name)
        if words:
            drawn.add_annotation(
                text=words, x=0.5, y=0.5, xref="x domain", yref="y domain", showarrow=False,
                bgcolor=style.WHITE, bordercolor=style.BLACK, borderpad=3, font={"size": 11}, **spot,
            )  # fmt: skip
        elif crosses_edge(found.margin):
            name_region(drawn, (x, y), logs, found.margin >= EDGE, "closes", spot)
        row = best_marker(results, name, axes)
        if row is not None:
            x_best, y_best = ([style.shown(axis, float(row[axis]))] for axis in axes)
            drawn.add_trace(
                star(x_best, y_best, "best closing design", legend=legend.pop("best", False)), **spot
            )
    drawn.update_layout(
        coloraxis={
            "colorscale": margin_colours(),
            "cmin": -CLIP,
            "cmax": CLIP,
            "cmid": 0,
            "colorbar": {
                "title": {"text": "smallest margin (–)", "side": "right"},
                "thickness": 14,
                "len": 0.9,
                "tickvals": [-1, -0.5, 0, 0.5, 1],
                "ticktext": ["−1 or less", "−0.5", "0", "0.5", "1 or more"],
            },
        }
    )
    caption = (
        "Smallest margin over all links and hops, available over required minus 1: blue closes, red does "
        "not, "
        "white is the edge, and shades lie close together there."
        + folded_words(results)
        + " "
        + closing_words(results, names)
        + left_out_words(results, names)
    )
    return captioned(with_scales(drawn, results, axes, len(names)), caption)


def boundary_key(x: float, y: float, legend: bool) -> go.Scatter:
    """Legend entry of the closure boundary."""
    return go.Scatter(
        x=[x],
        y=[y],
        mode="lines",
        name="closure boundary, margin 0",
        meta={"drawing_only": True},
        showlegend=legend,
        hoverinfo="skip",
        line={"color": style.BLACK, "width": 3},
    )


def margin_lines(results: Results, axis: str) -> go.Figure:
    """Smallest margin against the only swept variable."""
    drawn = style.panels([""], 420)
    grid = points(results, axis)
    names = drawn_architectures(results)
    for name in names:
        rows = along(results, results.designs[results.designs["architecture"] == name], axis)
        best = rows.groupby(axis)["margin"].max()
        colour, symbol, dash = style.looks(results, name)
        drawn.add_trace(
            go.Scatter(
                x=style.shown(axis, best.index.to_numpy(dtype=np.float64)),
                y=np.clip(best.to_numpy(), -CLIP, 3 * CLIP),
                mode="lines+markers",
                name=style.escape(style.title_of(results, name)),
                line={"color": colour, "dash": dash},
                marker={"symbol": symbol, "size": 7},
            )
        )
    drawn.add_hline(y=0, line={"color": style.BLACK, "width": 3})
    if len(grid) > 1:
        drawn.update_xaxes(**axis_of(results, axis))
    drawn.update_xaxes(title_text=style.axis_title(axis))
    drawn.update_yaxes(title_text="Smallest margin, cut at −1 and 3 (–)")
    return captioned(
        drawn,
        f"Designs above the line close. {closing_words(results, names)}{left_out_words(results, names)}",
    )


@figure("limiting_link_map", title="Which link binds", section="closure", width=180)
def limiting_link_map(results: Results) -> go.Figure | None:
    """The link with the smallest margin over the map axes, one panel per architecture."""
    found_axes = map_axes(results)
    if len(found_axes) < 2:
        return None
    axes = (found_axes[0], found_axes[1])
    names = drawn_architectures(results)
    limited = results.designs["limited_by"].astype("category").cat
    links, numbers = limited.categories.to_numpy(dtype=object), limited.codes.to_numpy()
    drawn = style.panels([style.title_of(results, name) for name in names])
    present: dict[str, int] = {}
    logs = logarithmic(results, axes)
    keys: dict[str, tuple[float, float, dict[str, int]]] = {}
    for index, name in enumerate(names):
        found, spot = cells(results, name, axes), style.place(index, 2)
        x, y = style.shown(axes[0], found.x), style.shown(axes[1], found.y)
        words = np.where(found.row >= 0, links[numbers[found.row]], "")
        codes = np.full(words.shape, np.nan, dtype=np.float32)
        for code, link in enumerate(LINKS):
            here = words == link
            codes[here] = code
            present[link] = present.get(link, 0) + int(here.sum())
            if here.any():
                line, column = (int(side[len(side) // 2]) for side in np.nonzero(here))
                keys.setdefault(link, (float(x[column]), float(y[line]), spot))
                name_region(drawn, (x, y), logs, here, link, spot)
        drawn.add_trace(
            go.Heatmap(
                x=x,
                y=y,
                z=codes,
                text=words.astype(object),
                meta={"value": "limited by"},
                coloraxis="coloraxis",
                name=style.escape(style.title_of(results, name)),
                hovertemplate="%{x:.4g}, %{y:.4g}<br>limited by %{text}<extra></extra>",
            ),
            **spot,
        )
        if crosses_edge(found.margin):
            drawn.add_trace(margin_layers(found, x, y, name)[1], **spot)
    colours = [*style.TOL_MUTED, style.GREY][: len(LINKS)]
    for link, colour in zip(LINKS, colours, strict=True):
        if link in keys:  # a mark in its own colour on a cell of that colour: seen in the legend alone
            across, up, spot = keys[link]
            mark = {"symbol": "square", "size": 3, "color": colour}
            drawn.add_trace(
                go.Scatter(
                    x=[across],
                    y=[up],
                    mode="markers",
                    marker=mark,
                    name=link,
                    hoverinfo="skip",
                    meta={"drawing_only": True},
                ),
                **spot,
            )
    drawn.update_layout(
        coloraxis={
            "colorscale": style.steps(colours),
            "cmin": -0.5,
            "cmax": len(LINKS) - 0.5,
            "showscale": False,
        },
        legend={"itemclick": False, "itemdoubleclick": False, "itemsizing": "constant"},
    )
    return captioned(
        with_scales(drawn, results, axes, len(names)),
        binding_words(results, present) + left_out_words(results, names),
    )


def binding_words(results: Results, present: dict[str, int]) -> str:
    """Which links bind most of the map."""
    total = max(sum(present.values()), 1)
    ranked = sorted(((count, link) for link, count in present.items() if count), reverse=True)
    parts = [f"{link} in {style.percent(count / total)}" for count, link in itertools.islice(ranked, 4)]
    return (
        "Link with the smallest margin, the one that binds first, whether or not the design closes "
        "(black line: closure boundary). Over all panels it is "
        + ", ".join(parts)
        + " of the cells."
        + folded_words(results)
    )
