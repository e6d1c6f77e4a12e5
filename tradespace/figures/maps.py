"""Maps over two swept variables: how far from closing, and which link binds."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import CLIP, Cells, cells, map_axes, other_axes, points
from tradespace.figures.registry import captioned, figure
from tradespace.results import LINKS

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results


def axis_of(results: Results, name: str) -> dict[str, Any]:
    """Scale of the axis of a swept variable, in display units."""
    values = points(results, name)
    shown = style.shown(name, values)
    if style.is_logarithmic(values):
        return style.log_axis(shown) | {"range": [float(np.log10(shown[0])), float(np.log10(shown[-1]))]}
    return {"range": [float(shown[0]), float(shown[-1])]}


def with_scales(drawn: go.Figure, results: Results, axes: tuple[str, str], count: int) -> go.Figure:
    """Set both scales and outer titles of a map."""
    drawn.update_xaxes(showgrid=False, **axis_of(results, axes[0]))
    drawn.update_yaxes(showgrid=False, **axis_of(results, axes[1]))
    style.label_outer(drawn, count, style.axis_title(axes[0]), style.axis_title(axes[1]))
    return drawn


def folded_words(results: Results) -> str:
    """What was done with swept variables that the map does not show."""
    others = other_axes(results)
    if not others:
        return ""
    names = ", ".join(style.label(name).lower() for name in others)
    return f" Each cell shows the best margin over {names}."


def closing_words(results: Results) -> str:
    """How much of the sweep closes, per architecture."""
    counts = results.counts()
    parts = []
    for name in results.architectures:
        total, closing = int(counts.loc[name, "designs"]), int(counts.loc[name, "closing"])
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
        x=x, y=y, mode="markers", name=name, legendgroup="best", showlegend=legend,
        marker={"symbol": "star", "size": 15, "color": style.ORANGE, "line": {"color": style.BLACK, "width": 1.2}},
    )  # fmt: skip


def margin_layers(found: Cells, x: Any, y: Any, title: str) -> list[Any]:
    """Margin as colour, and the line on which it is zero."""
    field = np.clip(found.margin, -CLIP, CLIP).astype(np.float32)
    heat = go.Heatmap(
        x=x, y=y, z=field, coloraxis="coloraxis", name=title,
        hovertemplate="%{x:.4g}, %{y:.4g}<br>smallest margin %{z:.3f}<extra></extra>",
    )  # fmt: skip
    line = go.Contour(
        x=x, y=y, z=field, showscale=False, hoverinfo="skip", showlegend=False, name="closure boundary",
        contours={"start": 0, "end": 0, "size": 1, "coloring": "none"}, line={"color": style.BLACK, "width": 3},
    )  # fmt: skip
    return [heat, line]


@figure("closure_map", title="Where each architecture closes", section="closure", width=180)
def closure_map(results: Results) -> go.Figure | None:
    """Smallest margin over the map axes, one panel per architecture, with the closure boundary."""
    axes = map_axes(results)
    if not axes:
        return None
    if len(axes) == 1:
        return margin_lines(results, axes[0])
    names = results.architectures
    drawn = style.panels([style.title_of(results, name) for name in names])
    legend = {"line": True, "best": True}
    for index, name in enumerate(names):
        found, spot = cells(results, name, axes), style.place(index, 2)
        x, y = style.shown(axes[0], found.x), style.shown(axes[1], found.y)
        for layer in margin_layers(found, x, y, style.escape(style.title_of(results, name))):
            drawn.add_trace(layer, **spot)
        if np.nanmin(found.margin) < 0 < np.nanmax(found.margin):
            drawn.add_trace(boundary_key(x[0], y[0], legend.pop("line", False)), **spot)
        row = best_marker(results, name, axes)
        if row is not None:
            mark = [[style.shown(axis, float(row[axis]))] for axis in axes]
            drawn.add_trace(star(*mark, "best closing design", legend=legend.pop("best", False)), **spot)
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(style.TOL_RED_BLUE), "cmin": -CLIP, "cmax": CLIP, "cmid": 0,
            "colorbar": {
                "title": {"text": "smallest margin (–)", "side": "right"}, "thickness": 14, "len": 0.9,
                "tickvals": [-1, -0.5, 0, 0.5, 1], "ticktext": ["−1 or less", "−0.5", "0", "0.5", "1 or more"],
            },
        }
    )  # fmt: skip
    caption = (
        "Smallest margin over all links and hops, available over required minus 1: blue closes, red does not, "
        "white is the edge." + folded_words(results) + " " + closing_words(results)
    )
    return captioned(with_scales(drawn, results, axes, len(names)), caption)


def boundary_key(x: float, y: float, legend: bool) -> go.Scatter:
    """Legend entry of the closure boundary."""
    return go.Scatter(
        x=[x], y=[y], mode="lines", name="closure boundary, margin 0", showlegend=legend, hoverinfo="skip",
        line={"color": style.BLACK, "width": 3},
    )  # fmt: skip


def margin_lines(results: Results, axis: str) -> go.Figure:
    """Smallest margin against the only swept variable."""
    drawn = style.panels([""], 420)
    grid = points(results, axis)
    for name in results.architectures:
        rows = results.designs[results.designs["architecture"] == name].sort_values(axis)
        best = rows.groupby(axis)["margin"].max()
        colour, symbol, dash = style.looks(results, name)
        drawn.add_trace(
            go.Scatter(
                x=style.shown(axis, best.index.to_numpy(dtype=np.float64)), y=np.clip(best.to_numpy(), -CLIP, 3 * CLIP),
                mode="lines+markers", name=style.escape(style.title_of(results, name)),
                line={"color": colour, "dash": dash}, marker={"symbol": symbol, "size": 7},
            )
        )  # fmt: skip
    drawn.add_hline(y=0, line={"color": style.BLACK, "width": 3})
    if len(grid) > 1:
        drawn.update_xaxes(**axis_of(results, axis))
    drawn.update_xaxes(title_text=style.axis_title(axis))
    drawn.update_yaxes(title_text="Smallest margin, cut at −1 and 3 (–)")
    return captioned(drawn, f"Designs above the line close. {closing_words(results)}")


@figure("limiting_link_map", title="Which link binds", section="closure", width=180)
def limiting_link_map(results: Results) -> go.Figure | None:
    """The link with the smallest margin over the map axes, one panel per architecture."""
    axes = map_axes(results)
    if len(axes) < 2:
        return None
    names, limited = results.architectures, results.designs["limited_by"].astype(str).to_numpy()
    drawn = style.panels([style.title_of(results, name) for name in names])
    present: dict[str, int] = {}
    for index, name in enumerate(names):
        found, spot = cells(results, name, axes), style.place(index, 2)
        words = np.where(found.row >= 0, limited[found.row], "")
        codes = np.full(words.shape, np.nan, dtype=np.float32)
        for code, link in enumerate(LINKS):
            here = words == link
            codes[here] = code
            present[link] = present.get(link, 0) + int(here.sum())
        x, y = style.shown(axes[0], found.x), style.shown(axes[1], found.y)
        drawn.add_trace(
            go.Heatmap(
                x=x, y=y, z=codes, text=words.tolist(), coloraxis="coloraxis", name=style.escape(style.title_of(results, name)),
                hovertemplate="%{x:.4g}, %{y:.4g}<br>limited by %{text}<extra></extra>",
            ),
            **spot,
        )  # fmt: skip
        if np.nanmin(found.margin) < 0 < np.nanmax(found.margin):
            drawn.add_trace(margin_layers(found, x, y, name)[1], **spot)
    colours = list(style.TOL_MUTED[: len(LINKS)])
    for link, colour in zip(LINKS, colours, strict=True):
        if present.get(link):
            key = {"symbol": "square", "size": 12, "color": colour}
            drawn.add_trace(
                go.Scatter(x=[x[0]], y=[y[0]], mode="markers", marker=key, name=link, hoverinfo="skip", visible="legendonly")
            )
    drawn.update_layout(
        coloraxis={"colorscale": style.steps(colours), "cmin": -0.5, "cmax": len(LINKS) - 0.5, "showscale": False},
        legend={"itemclick": False, "itemdoubleclick": False},
    )
    return captioned(with_scales(drawn, results, axes, len(names)), binding_words(results, present))


def binding_words(results: Results, present: dict[str, int]) -> str:
    """Which links bind most of the map."""
    total = max(sum(present.values()), 1)
    ranked = sorted(((count, link) for link, count in present.items() if count), reverse=True)
    parts = [f"{link} in {style.percent(count / total)}" for count, link in itertools.islice(ranked, 4)]
    return (
        "Link with the smallest margin, the one that binds first, whether or not the design closes "
        "(black line: closure boundary). Over all panels it is " + ", ".join(parts) + " of the cells." + folded_words(results)
    )


@figure("power_efficiency_map", title="Array power and stack efficiency", section="power", width=180)
def power_efficiency_map(results: Results) -> go.Figure | None:
    """Refuel time as iso-lines over array power at 1 au and stack efficiency, with the closure boundary."""
    if results.sensitivity is None:
        return None
    maps = [item for item in results.sensitivity.power_maps if np.isfinite(item.refuel_time).any()]
    if not maps:
        return None
    titles = [style.title_of(results, item.architecture) for item in maps]
    drawn = style.panels(titles)
    days = [thinned(style.shown("refuel_time", item.refuel_time)) for item in maps]
    finite = np.concatenate([field[np.isfinite(field) & (field > 0)] for field in days])
    low, high = np.log10(np.percentile(finite, 1)), np.log10(np.percentile(finite, 99))
    ticks = style.log_ticks(float(10**low), float(10**high))
    for index, (item, field) in enumerate(zip(maps, days, strict=True)):
        spot = style.place(index, 2)
        x = thinned_axis(style.shown("array_power", item.array_power))
        y = thinned_axis(style.shown("stack_efficiency", item.stack_efficiency))
        for layer in time_layers(x, y, field, ticks):
            drawn.add_trace(layer, **spot)
        margin = np.clip(thinned(item.margin), -CLIP, CLIP).astype(np.float32)
        if np.nanmin(margin) < 0 < np.nanmax(margin):
            drawn.add_trace(
                go.Contour(
                    x=x, y=y, z=margin, showscale=False, hoverinfo="skip", name="closure boundary",
                    contours={"start": 0, "end": 0, "size": 1, "coloring": "none"},
                    line={"color": style.BLUE, "width": 4, "dash": "dash"},
                ),
                **spot,
            )  # fmt: skip
    drawn.add_trace(
        go.Scatter(
            x=[x[0]], y=[y[0]], mode="lines", name="closure boundary, margin 0", hoverinfo="skip",
            line={"color": style.BLUE, "width": 4, "dash": "dash"},
        )
    )  # fmt: skip
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(style.TOL_YELLOW_BROWN), "cmin": low, "cmax": high,
            "colorbar": {
                "title": {"text": "longest refuelling (d)", "side": "right"}, "thickness": 14, "len": 0.9,
                "tickvals": [float(np.log10(tick)) for tick in ticks], "ticktext": [style.number(tick) for tick in ticks],
            },
        }
    )  # fmt: skip
    powers = style.shown("array_power", maps[0].array_power)
    if style.is_logarithmic(powers):
        drawn.update_xaxes(**style.log_axis(powers))
    style.label_outer(drawn, len(maps), style.axis_title("array_power"), style.axis_title("stack_efficiency"))
    drawn.update_xaxes(showgrid=False)
    drawn.update_yaxes(showgrid=False)
    return captioned(drawn, power_words(results))


MOST = 40
"""Points a side of a power map that are drawn."""


def thinned_axis(values: Any) -> Any:
    """Every so many points, so that a page stays small."""
    every = max(1, -(-len(values) // MOST))
    return values[::every]


def thinned(field: Any) -> Any:
    """A map thinned on both axes."""
    rows, columns = (max(1, -(-size // MOST)) for size in field.shape)
    return np.asarray(field, dtype=np.float64)[::rows, ::columns]


def time_layers(x: Any, y: Any, field: Any, ticks: list[float]) -> list[Any]:
    """Refuel time as colour, and its iso-lines labelled in days."""
    positive = np.where(np.isfinite(field) & (field > 0), field, np.nan)
    layers: list[Any] = [
        go.Heatmap(
            x=x, y=y, z=np.log10(positive).astype(np.float32), coloraxis="coloraxis", zsmooth="best", hoverinfo="skip",
            name="longest refuelling",
        )
    ]  # fmt: skip
    for tick in ticks:
        if np.nanmin(positive) < tick < np.nanmax(positive):
            layers.append(
                go.Contour(
                    x=x, y=y, z=positive.astype(np.float32), showscale=False, showlegend=False,
                    name=f"{style.number(tick)} d", hovertemplate="%{x:.3g} kW, %{y:.3g} %<br>%{z:.3g} d<extra></extra>",
                    contours={
                        "start": tick, "end": tick, "size": 1, "coloring": "none", "showlabels": True,
                        "labelfont": {"size": 12, "color": style.BLACK},
                    },
                    line={"color": style.BLACK, "width": 1.2},
                )
            )  # fmt: skip
    return layers


def power_words(results: Results) -> str:
    """Shortest refuelling on each map that closes."""
    parts = []
    for item in results.sensitivity.power_maps if results.sensitivity else ():
        closing = (item.margin >= 0) & np.isfinite(item.refuel_time)
        title = style.title_of(results, item.architecture)
        if not closing.any():
            parts.append(f"{title} closes nowhere on this map")
            continue
        least = float(np.min(item.array_power[np.nonzero(closing)[1]]))
        shortest = style.quantity_text("refuel_time", float(item.refuel_time[closing].min()), 2)
        parts.append(f"{title} closes from {style.quantity_text('array_power', least, 2)} and refuels in {shortest} at best")
    return (
        "Thin lines join equal refuelling times (longest stop of the route, labelled in days); all else is the "
        "reference design. " + "; ".join(parts) + "."
    )

