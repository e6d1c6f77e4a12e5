"""Where designs close when they are no grid: shares of the closing ones by cells, and one variable at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace import sampling
from tradespace.figures import style
from tradespace.figures.choice import (
    CLIP,
    along,
    cell_edges,
    cell_places,
    drawn_architectures,
    left_out_words,
    other_axes,
    points,
)
from tradespace.figures.maps import axis_of, best_marker, closing_words, nowhere_words, star, with_scales
from tradespace.figures.registry import captioned

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

COUNTED = 8
"""Cells along an axis for which a map has room for their counts in words."""
DOTTED = 400
"""Designs of an architecture that a map can show one by one."""


@dataclass(frozen=True)
class Counted:
    """How many designs of an architecture lie in each cell of a map, and how many of them close."""

    x: FloatArray
    """Middles of the cells along the first axis, SI."""
    y: FloatArray
    """Middles of the cells along the second axis, SI."""
    designs: NDArray[np.int64]
    """Shape (y, x)."""
    closing: NDArray[np.int64]
    """Shape (y, x)."""

    @property
    def share(self) -> FloatArray:
        """Share of the designs of each cell that closes, NaN where there are none."""
        return np.where(self.designs > 0, self.closing / np.maximum(self.designs, 1), np.nan)


def counted(results: Results, architecture: str, axes: tuple[str, str]) -> Counted:
    """Count the designs of an architecture by cells of two swept variables."""
    rows = results.designs[results.designs["architecture"] == architecture]
    places = [cell_places(results, axis, rows[axis].to_numpy(dtype=np.float64)) for axis in axes]
    size = [len(cell_edges(results, axis)) - 1 for axis in axes]
    if size == [1, 1]:
        size = [len(points(results, axis)) for axis in axes]
    spot = places[1] * size[0] + places[0]
    closes = rows["closes"].to_numpy(dtype=bool)
    total, closing = (
        np.bincount(one, minlength=size[0] * size[1]).reshape(size[1], size[0])
        for one in (spot, spot[closes])
    )
    return Counted(points(results, axes[0]), points(results, axes[1]), total, closing)


def designs_shown(results: Results, name: str, axes: tuple[str, str]) -> list[go.Scatter]:
    """Every design as a mark, filled where it closes; none when there are too many to tell apart."""
    rows = results.designs[results.designs["architecture"] == name]
    if len(rows) > DOTTED:
        return []
    found = []
    for closes, symbol, words in ((True, "circle", "design that closes"), (False, "circle-open", "does not")):
        part = rows[rows["closes"].to_numpy(dtype=bool) == closes]
        found.append(
            go.Scatter(
                x=style.shown(axes[0], part[axes[0]].to_numpy(dtype=np.float64)),
                y=style.shown(axes[1], part[axes[1]].to_numpy(dtype=np.float64)),
                mode="markers",
                name=words,
                legendgroup=words,
                showlegend=False,
                marker={"symbol": symbol, "size": 5, "color": style.BLACK, "opacity": 0.7},
                hovertemplate="%{x:.4g}, %{y:.4g}<extra>" + words + "</extra>",
            )
        )
    return found


def closing_share_map(results: Results, axes: tuple[str, str]) -> go.Figure:
    """Share of the designs of each cell that closes, one panel per architecture, of designs that are no grid."""
    names = drawn_architectures(results)
    drawn = style.panels([style.title_of(results, name) for name in names])
    fewest, most, best_shown, marks_shown = np.inf, 0, False, False
    for index, name in enumerate(names):
        found, spot = counted(results, name, axes), style.place(index, 2)
        fewest, most = min(fewest, int(found.designs.min())), max(most, int(found.designs.max()))
        words = np.char.add(np.char.add(found.closing.astype(str), " of "), found.designs.astype(str))
        drawn.add_trace(
            go.Heatmap(
                x=style.shown(axes[0], found.x),
                y=style.shown(axes[1], found.y),
                z=np.round(found.share, 4),
                text=words.astype(object),
                texttemplate="%{text}" if max(found.designs.shape) <= COUNTED else None,
                textfont={"size": 10},
                meta={"value": "designs that close, of those in the cell"},
                coloraxis="coloraxis",
                name=style.escape(style.title_of(results, name)),
                hovertemplate="%{x:.4g}, %{y:.4g}<br>%{text} close<extra></extra>",
            ),
            **spot,
        )
        marks = designs_shown(results, name, axes) if max(found.designs.shape) > COUNTED else []
        for mark in marks:
            mark.showlegend = not marks_shown
            drawn.add_trace(mark, **spot)
        marks_shown = marks_shown or bool(marks)
        text = nowhere_words(results, name)
        if text:
            drawn.add_annotation(
                text=text, x=0.5, y=0.5, xref="x domain", yref="y domain", showarrow=False,
                bgcolor=style.WHITE, bordercolor=style.BLACK, borderpad=3, font={"size": 11}, **spot,
            )  # fmt: skip
        row = best_marker(results, name, axes)
        if row is not None:
            x_best, y_best = ([style.shown(axis, float(row[axis]))] for axis in axes)
            drawn.add_trace(star(x_best, y_best, "best closing design", legend=not best_shown), **spot)
            best_shown = True
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(style.TOL_RED_BLUE),
            "cmin": 0,
            "cmax": 1,
            "colorbar": {
                "title": {"text": "share of the designs that closes", "side": "right"},
                "thickness": 14,
                "len": 0.9,
                "tickvals": [0, 0.25, 0.5, 0.75, 1],
                "ticktext": ["0", "25 %", "50 %", "75 %", "100 %"],
            },
        }
    )
    return captioned(
        with_scales(drawn, results, axes, len(names)),
        share_words(results, names, int(fewest), most),
    )


def share_words(results: Results, names: list[str], fewest: int, most: int) -> str:
    """What a map of shares shows, from how many designs."""
    others = ", ".join(style.words(name) for name in other_axes(results))
    per_cell = f"{fewest}" if fewest == most else f"{fewest} to {most}"
    return (
        "These designs are no grid: each cell is coloured by the share of the designs in it that closes, "
        f"{per_cell} of them for each architecture; cells without a design are blank."
        + (f" Within a cell they differ in {others} as well." if others else "")
        + f" {closing_words(results, names)}{left_out_words(results, names)}"
    )


def margin_one_at_a_time(results: Results, variables: list[str]) -> go.Figure:
    """Smallest margin against each swept variable, the others at their own values; one panel per variable."""
    names = drawn_architectures(results)
    drawn = style.panels([style.words(variable).capitalize() for variable in variables])
    own = sampling.baseline(results.study)
    for index, variable in enumerate(variables):
        spot = style.place(index, 2)
        for name in names:
            rows = along(results, results.designs[results.designs["architecture"] == name], variable)
            best = rows.groupby(variable)["margin"].max()
            colour, symbol, dash = style.looks(results, name)
            drawn.add_trace(
                go.Scatter(
                    x=style.shown(variable, best.index.to_numpy(dtype=np.float64)),
                    y=np.clip(best.to_numpy(), -CLIP, 3 * CLIP),
                    mode="lines+markers",
                    name=style.escape(style.title_of(results, name)),
                    legendgroup=name,
                    showlegend=index == 0,
                    line={"color": colour, "dash": dash},
                    marker={"symbol": symbol, "size": 6},
                ),
                **spot,
            )
        style.line_across(drawn, spot, {"color": style.BLACK, "width": 2}, y=0)
        drawn.update_xaxes(title_text=style.axis_title(variable), **axis_of(results, variable), **spot)
        if spot["col"] == 1:
            drawn.update_yaxes(title_text="Smallest margin (–)", **spot)
    style.one_scale(drawn, "y")
    held = ", ".join(f"{style.words(name)} {style.quantity_text(name, value)}" for name, value in own.items())
    return captioned(
        drawn,
        "Each swept variable alone, the others held at "
        + held
        + "; designs above the line close; margins are cut at −1 and 3. "
        + closing_words(results, names)
        + left_out_words(results, names),
    )
