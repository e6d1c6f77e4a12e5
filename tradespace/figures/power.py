"""Refuelling time: over array power and stack efficiency, and against the size of the array."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import (
    CLIP,
    EDGE,
    LINE_CELLS,
    along,
    crosses_edge,
    drawn_architectures,
    left_out_words,
    longest_drawn,
    one_at_a_time,
    points,
    scattered,
    swept,
)
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from tradespace.results import PowerMap, Results

MOST = 40
"""Points a side of a power map that are drawn."""


@figure("power_efficiency_map", title="Array power and stack efficiency", section="power", width=180)
def power_efficiency_map(results: Results) -> go.Figure | None:
    """Refuel time as iso-lines over array power at 1 au and stack efficiency, with the closure boundary."""
    if results.sensitivity is None:
        return None
    mapped = [item.architecture for item in results.sensitivity.power_maps if refuels_somewhere(item)]
    names = drawn_architectures(results, mapped)
    maps = [item for item in results.sensitivity.power_maps if item.architecture in names]
    if not maps:
        return None
    titles = [style.title_of(results, item.architecture) for item in maps]
    drawn = style.panels(titles)
    limit = float(style.shown("refuel_time", longest_drawn(results)))
    days = [np.minimum(thinned(style.shown("refuel_time", item.refuel_time)), limit) for item in maps]
    finite = np.concatenate([field[np.isfinite(field) & (field > 0)] for field in days])
    low, high = np.log10(np.percentile(finite, 1)), np.log10(np.percentile(finite, 99))
    ticks = style.log_ticks(float(10**low), float(10**high))
    for index, (item, field) in enumerate(zip(maps, days, strict=True)):
        spot = style.place(index, 2)
        x = style.shown("array_power", item.array_power[kept(len(item.array_power))])
        y = style.shown("stack_efficiency", item.stack_efficiency[kept(len(item.stack_efficiency))])
        for layer in time_layers(
            x, y, field, limit, style.escape(style.title_of(results, item.architecture))
        ):
            drawn.add_trace(layer, **spot)
        margin = np.clip(thinned(item.margin), -CLIP, CLIP)
        if crosses_edge(margin):
            drawn.add_trace(
                go.Contour(
                    x=x,
                    y=y,
                    z=margin,
                    showscale=False,
                    showlegend=False,
                    hoverinfo="skip",
                    name=style.escape(style.title_of(results, item.architecture)),
                    meta={"value": "smallest margin, cut at -1 and 1"},
                    contours={"start": EDGE, "end": EDGE, "size": 1, "coloring": "none"},
                    line={"color": style.BLUE, "width": 4, "dash": "dash"},
                ),
                **spot,
            )
    drawn.add_trace(
        go.Scatter(
            x=[x[0]],
            y=[y[0]],
            mode="lines",
            name="closure boundary, margin 0",
            meta={"drawing_only": True},
            hoverinfo="skip",
            line={"color": style.BLUE, "width": 4, "dash": "dash"},
        )
    )
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(style.TOL_YELLOW_BROWN),
            "cmin": low,
            "cmax": high,
            "colorbar": {
                "title": {"text": "longest refuelling (d)", "side": "right"},
                "thickness": 14,
                "len": 0.9,
                "tickvals": [float(np.log10(tick)) for tick in ticks],
                "ticktext": [style.number(tick) for tick in ticks],
            },
        }
    )
    powers = style.shown("array_power", maps[0].array_power)
    if style.is_logarithmic(powers):
        drawn.update_xaxes(**style.log_axis(powers, 0.0))
    else:
        drawn.update_xaxes(range=[float(powers[0]), float(powers[-1])])
    efficiencies = style.shown("stack_efficiency", maps[0].stack_efficiency)
    drawn.update_yaxes(range=[float(efficiencies[0]), float(efficiencies[-1])])
    style.label_outer(drawn, len(maps), style.axis_title("array_power"), style.axis_title("stack_efficiency"))
    drawn.update_xaxes(showgrid=False)
    drawn.update_yaxes(showgrid=False)
    return captioned(drawn, power_words(results, names) + left_out_words(results, names, mapped))


def refuels_somewhere(item: PowerMap) -> bool:
    """Whether a map holds any refuelling time at all."""
    return bool((np.isfinite(item.refuel_time) & (item.refuel_time > 0)).any())


def kept(size: int) -> Any:
    """Places of at most so many points, both ends among them, so that a page stays small."""
    return np.unique(np.linspace(0, size - 1, min(size, MOST)).round().astype(np.int64))


def thinned(field: Any) -> Any:
    """A map thinned on both axes."""
    return np.asarray(field, dtype=np.float64)[np.ix_(*(kept(size) for size in field.shape))]


def time_layers(x: Any, y: Any, field: Any, limit: float, title: str) -> list[Any]:
    """Refuel time as colour, and its iso-lines labelled in days."""
    positive = np.where(np.isfinite(field) & (field > 0), field, np.nan)
    layers: list[Any] = [
        go.Heatmap(
            x=x,
            y=y,
            z=np.log10(positive).astype(np.float32),
            coloraxis="coloraxis",
            zsmooth="best",
            hoverinfo="skip",
            name=title,
            meta={"value": "longest refuelling (d)", "logarithm": True},
        )
    ]
    low, high = float(np.nanmin(positive)), float(np.nanmax(positive))
    layers += [
        iso_line(x, y, positive, tick) for tick in style.log_ticks(low, high) if low < tick < min(high, limit)
    ]
    return layers


def iso_line(x: Any, y: Any, days: Any, tick: float) -> go.Contour:
    """The line of one refuelling time, labelled with it."""
    return go.Contour(
        x=x,
        y=y,
        z=days.astype(np.float32),
        showscale=False,
        showlegend=False,
        name=f"{style.number(tick)} d",
        meta={"drawing_only": True},
        hovertemplate="%{x:.3g} kW, %{y:.3g} %<br>%{z:.3g} d<extra></extra>",
        contours={
            "start": tick,
            "end": tick,
            "size": 1,
            "coloring": "none",
            "showlabels": True,
            "labelfont": {"size": 12, "color": style.BLACK},
        },
        line={"color": style.BLACK, "width": 1.2},
    )


def power_words(results: Results, names: list[str]) -> str:
    """Shortest refuelling on each map that closes."""
    parts = []
    for item in results.sensitivity.power_maps if results.sensitivity else ():
        if item.architecture not in names:
            continue
        closing = (item.margin >= EDGE) & np.isfinite(item.refuel_time)
        title = style.title_of(results, item.architecture)
        if not closing.any():
            parts.append(f"{title} closes nowhere on this map")
            continue
        least = float(np.min(item.array_power[np.nonzero(closing)[1]]))
        shortest = style.quantity_text("refuel_time", float(item.refuel_time[closing].min()), 2)
        parts.append(
            f"{title} closes from {style.quantity_text('array_power', least, 2)} and refuels in "
            f"{shortest} at best"
        )
    return (
        "Thin lines join equal refuelling times (longest stop of the route, labelled in days); all else "
        "is the "
        "reference design. Stack efficiency is on the higher heating value (HHV). " + "; ".join(parts) + "."
    )


def with_words(results: Results) -> str:
    """Which designs a point of a line stands for."""
    if scattered(results):
        return "of each slice of the swept arrays"
    return "with that array" + (" and no other change" if one_at_a_time(results) else "")


@figure("refuel_time", title="Refuelling time and the size of the array", section="power")
def refuel_time(results: Results) -> go.Figure | None:
    """Longest refuelling against array area or power, log-log, one line per architecture that refuels."""
    axis = next((name for name in ("array_power", "array_area") if name in swept(results)), None)
    water = [name for name in results.architectures if style.refuels(results, name)]
    names = drawn_architectures(results, water)
    if axis is None or not names:
        return None
    grid = points(results, axis, LINE_CELLS)
    drawn = style.blank(460)
    everything: list[float] = []
    findings = []
    for name in names:
        rows = along(results, results.designs[results.designs["architecture"] == name], axis)
        usable = rows[(rows["refuel_time"] > 0) & (rows["refuel_time"] < longest_drawn(results))]
        if usable.empty:
            findings.append(f"{style.title_of(results, name)} not within three times the length of the route")
            continue
        shortest = usable.groupby(axis)["refuel_time"].min()
        closes = rows.groupby(axis)["closes"].any().reindex(shortest.index)
        x = style.shown(axis, shortest.index.to_numpy(dtype=np.float64))
        y = style.shown("refuel_time", shortest.to_numpy(dtype=np.float64))
        everything += [float(value) for value in y]
        colour, symbol, dash = style.looks(results, name)
        drawn.add_trace(
            go.Scatter(
                x=x,
                y=y,
                mode="lines",
                line={"color": colour, "dash": dash, "width": 2},
                legendgroup=name,
                name=style.escape(style.title_of(results, name)),
                hovertemplate="%{x:.4g}, %{y:.4g} d<extra></extra>",
            )
        )
        drawn.add_trace(closing_marks(x, y, closes.to_numpy(dtype=bool), (colour, symbol), name))
        findings.append(
            f"{style.title_of(results, name)} from {style.number(float(y.max()), 2)} to "
            f"{style.number(float(y.min()), 2)} d"
        )
    if not everything:
        return None
    drawn.update_xaxes(title_text=style.axis_title(axis), **style.log_axis(style.shown(axis, grid)))
    drawn.update_yaxes(title_text=style.axis_title("refuel_time"), **style.log_axis(everything))
    caption = (
        f"Shortest refuelling among all designs {with_words(results)} (longest stop of the route). Filled "
        "marks: at least one such "
        "design closes; open marks: none does. Over the sweep: " + "; ".join(findings) + "."
    ) + left_out_words(results, names, water)
    return captioned(drawn, caption)


def closing_marks(
    x: np.ndarray, y: np.ndarray, closes: np.ndarray, looks: tuple[str, str], name: str
) -> go.Scatter:
    """Filled marks where some design closes, open ones elsewhere, a dozen along the line."""
    every = max(1, len(x) // 12)
    return go.Scatter(
        x=x[::every],
        y=y[::every],
        mode="markers",
        legendgroup=name,
        showlegend=False,
        hoverinfo="skip",
        meta={"drawing_only": True},
        name=f"marks of {style.escape(name)}",
        marker={
            "symbol": [looks[1] if one else f"{looks[1]}-open" for one in closes[::every]],
            "size": 9,
            "color": looks[0],
        },
    )
