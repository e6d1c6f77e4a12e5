"""Where one architecture overtakes another on a surface route."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.choice import (
    LINE_CELLS,
    MAP_CELLS,
    along,
    cell_places,
    drawn_architectures,
    left_out_words,
    map_axes,
    one_at_a_time,
    points,
    scattered,
    swept,
    swept_points,
)
from tradespace.figures.maps import axis_of, fine_words
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

DEAREST = ("extraction_energy", "ice_fraction", "extraction_efficiency")
SPLITTING = ("stack_efficiency", "current_density")
UNPUT = "nothing closes"
AREAS = (*style.OKABE_ITO, *style.TOL_MUTED)
LETTERED = 0.02
"""Share of the map from which an architecture has room for its letter [1]."""


def crossing_axes(results: Results) -> tuple[str, str] | None:
    """Extraction against splitting when both were swept, else the map axes."""
    names = [] if one_at_a_time(results) else swept(results)
    first = next((name for name in DEAREST if name in names), None)
    second = next((name for name in SPLITTING if name in names), None)
    if first and second:
        return first, second
    axes = map_axes(results)
    return (axes[0], axes[1]) if len(axes) > 1 else None


def merits(
    results: Results, axes: tuple[str, str], names: list[str], most: int = MAP_CELLS
) -> dict[str, FloatArray]:
    """Figure of merit of closing designs per cell and architecture, lower is better, NaN for none.

    Every other swept variable is held at the point nearest the study's own value.
    """
    sign = 1.0 if results.study.figure_of_merit_better == "lower" else -1.0
    column = results.study.figure_of_merit
    values = sign * results.designs[column].to_numpy(dtype=np.float64)
    values[~results.designs["closes"].to_numpy(dtype=bool)] = np.nan
    for other, point in held_points(results, axes).items():
        values[~np.isclose(results.designs[other].to_numpy(dtype=np.float64), point, rtol=1e-9)] = np.nan
    x, y = (points(results, axis, most) for axis in axes)
    found = {}
    for name in names:
        here = np.flatnonzero((results.designs["architecture"] == name).to_numpy() & np.isfinite(values))
        spot = tuple(
            cell_places(results, axis, results.designs[axis].to_numpy(dtype=np.float64)[here], most)
            for axis in reversed(axes)
        )
        field = np.full((len(y), len(x)), np.inf)
        np.minimum.at(field, spot, values[here])
        found[name] = np.where(np.isfinite(field), field, np.nan)
    return found


def rivals(fields: dict[str, FloatArray]) -> list[tuple[str, str]]:
    """Pairs of architectures, those that hold or fill most cells first."""
    names = list(fields)
    stack = np.stack([np.nan_to_num(fields[name], nan=np.inf) for name in names])
    held = np.where(np.isfinite(stack.min(axis=0)), stack.argmin(axis=0), -1)
    filled = [
        int((held == place).sum()) * held.size + int(np.isfinite(stack[place]).sum())
        for place in range(len(names))
    ]
    pairs = [
        (one, two) for one, two in itertools.combinations(range(len(names)), 2) if filled[one] and filled[two]
    ]
    pairs.sort(key=lambda pair: filled[pair[0]] + filled[pair[1]], reverse=True)
    return [(names[one], names[two]) for one, two in pairs]


def leading(fields: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """The same fields where none but the two best of a cell are known, so that crossings are those of the leaders."""
    stack = np.stack([np.nan_to_num(field, nan=np.inf) for field in fields.values()])
    second = np.sort(stack, axis=0)[min(1, len(stack) - 1)]
    return {name: np.where(field <= second, field, np.nan) for name, field in fields.items()}


def rivals_of(results: Results) -> list[str]:
    """Architectures that refuel; the others pay nothing for water and have no place on these axes."""
    return [name for name in results.architectures if style.refuels(results, name)]


@figure("crossing_map", title="Which architecture is better where", section="crossing")
def crossing_map(results: Results) -> go.Figure | None:
    """The architecture with the best figure of merit over two swept variables, and where two cross."""
    axes = crossing_axes(results)
    names = rivals_of(results)
    if results.mission.kind != "surface" or axes is None or len(names) < 2:
        return None
    fields = merits(results, axes, names)
    stack = np.stack([np.nan_to_num(fields[name], nan=np.inf) for name in names])
    closes = np.isfinite(stack.min(axis=0))
    winner = np.where(closes, stack.argmin(axis=0), len(names))
    words = np.array([*(style.escape(style.title_of(results, name)) for name in names), UNPUT])[
        winner.astype(np.int64)
    ]
    colours = [*winner_colours(results, names, winner), style.GREY]
    x, y = style.shown(axes[0], points(results, axes[0])), style.shown(axes[1], points(results, axes[1]))
    drawn = style.blank(500)
    drawn.add_trace(
        go.Heatmap(
            x=x,
            y=y,
            z=winner,
            text=words.astype(object),
            showscale=False,
            zmin=-0.5,
            zmax=len(names) + 0.5,
            colorscale=style.steps(colours),
            hovertemplate="%{x:.4g}, %{y:.4g}<br>%{text}<extra></extra>",
            name="best architecture",
            meta={"value": "best architecture"},
        )
    )
    for place, title in enumerate([*(style.title_of(results, name) for name in names), UNPUT]):
        if (winner == place).any():
            line, column = (int(side[len(side) // 2]) for side in np.nonzero(winner == place))
            if place < len(names) and float(np.mean(winner == place)) > LETTERED:
                drawn.add_annotation(letter(x[column], y[line], style.initial(place), axes, results))
            drawn.add_trace(
                go.Scatter(
                    x=[x[column]],
                    y=[y[line]],
                    mode="markers",
                    name=f"{style.initial(place)}: {style.escape(title)}" if place < len(names) else title,
                    hoverinfo="skip",
                    meta={"drawing_only": True},
                    marker={"symbol": "square", "size": 3, "color": colours[place]},
                )
            )
    pairs = rivals(fields)
    ahead = leading(fields)
    crossed = next(
        (pair for pair in pairs if add_crossing(drawn, x, y, ahead[pair[0]], ahead[pair[1]])), None
    )
    drawn.update_xaxes(title_text=style.axis_title(axes[0]), showgrid=False, **axis_of(results, axes[0]))
    drawn.update_yaxes(title_text=style.axis_title(axes[1]), showgrid=False, **axis_of(results, axes[1]))
    drawn.update_layout(legend={"itemclick": False, "itemdoubleclick": False, "itemsizing": "constant"})
    return captioned(drawn, winner_words(results, winner, pairs, crossed))


def winner_colours(results: Results, names: list[str], winner: FloatArray) -> list[str]:
    """A colour for each architecture, no two of those that hold cells alike as long as there are enough."""
    shares = {name: float(np.mean(winner == place)) for place, name in enumerate(names)}
    found: dict[str, str] = {}
    for name in sorted(names, key=lambda one: -shares[one]):
        own = style.looks(results, name)[0]
        free = [colour for colour in (own, *AREAS) if colour not in found.values()]
        found[name] = free[0] if free and shares[name] > 0.0 else own
    return [found[name] for name in names]


def letter(x: float, y: float, word: str, axes: tuple[str, str], results: Results) -> dict[str, Any]:
    """A letter on a map; annotations want the logarithm where an axis is logarithmic."""
    spot = [
        float(np.log10(value)) if axis_of(results, axis).get("type") == "log" else float(value)
        for value, axis in zip((x, y), axes, strict=True)
    ]
    look = {"showarrow": False, "bgcolor": style.WHITE, "borderpad": 2, "font": {"size": 13}}
    return {"x": spot[0], "y": spot[1], "text": f"<b>{word}</b>", **look}


def add_crossing(
    drawn: go.Figure, x: Any, y: Any, first: FloatArray, second: FloatArray, *, key: bool = True
) -> bool:
    """Draw the line on which two fields are equal, with a key in the legend if asked; False when they never are."""
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = (first - second) / (np.abs(first) + np.abs(second))
    if not np.isfinite(gap).any() or not np.nanmin(gap) < 0 < np.nanmax(gap):
        return False
    line = {"color": style.BLACK, "width": 3}
    drawn.add_trace(
        go.Contour(
            x=x, y=y, z=gap.astype(np.float32), showscale=False, hoverinfo="skip", line=line, name="equal",
            showlegend=False, meta={"drawing_only": True},
            contours={"start": 0, "end": 0, "size": 1, "coloring": "none"},
        )
    )  # fmt: skip
    if key:
        drawn.add_trace(
            go.Scatter(
                x=[x[0]], y=[y[0]], mode="lines", line=line, name="line on which the two are equal", hoverinfo="skip",
                meta={"drawing_only": True},
            )
        )  # fmt: skip
    return True


def winner_words(
    results: Results, winner: FloatArray, pairs: list[tuple[str, str]], crossed: tuple[str, str] | None
) -> str:
    """Who holds how much of the map."""
    names = rivals_of(results)
    parts = []
    for place, name in enumerate(names):
        share = float(np.mean(winner == place))
        if share > 0:
            parts.append(f"{style.title_of(results, name)} is best in {style.percent(share)}")
    nothing = float(np.mean(winner == len(names)))
    if nothing > 0:
        parts.append(f"nothing closes in {style.percent(nothing)}")
    merit = style.words(results.study.figure_of_merit)
    text = (
        f"Better by {merit} among the architectures that refuel{held_words(results, crossing_axes(results) or ())}: "
        + ", ".join(parts)
        + " of the cells."
        + ("" if scattered(results) else fine_words(results, crossing_axes(results) or ()))
    )
    if crossed is not None:
        one, two = (style.title_of(results, name) for name in crossed)
        text += f" On the black line {one} and {two} are equal. {crossing_words(results)}"
    elif pairs:
        one, two = (style.title_of(results, name) for name in pairs[0])
        text += f" {one} and {two} do not cross inside this sweep."
    return text


def crossing_words(results: Results) -> str:
    """Where the two leading architectures cross, in numbers; empty when they do not."""
    axes = crossing_axes(results)
    names = rivals_of(results)
    if results.mission.kind != "surface" or axes is None or len(names) < 2:
        return ""
    fields = merits(results, axes, names, LINE_CELLS)  # as fine as they were swept
    x, y = (points(results, axis, LINE_CELLS) for axis in axes)
    ahead = leading(fields)
    for one, two in rivals(fields):
        gap = ahead[one] - ahead[two]
        found = []
        for column in range(len(x)):
            line = gap[:, column]
            for row in np.flatnonzero(line[:-1] * line[1:] < 0.0):
                share = line[row] / (line[row] - line[row + 1])
                found.append(
                    (float(x[column]), float(y[row] + share * (y[row + 1] - y[row])), line[row] < 0.0)
                )
        if found:
            ends = [found[0], found[-1]]
            low = style.title_of(results, one if found[0][2] else two)
            high = style.title_of(results, two if found[0][2] else one)
            told = " and ".join(
                f"{style.quantity_text(axes[1], where)} at {style.quantity_text(axes[0], at)}"
                for at, where, _ in ends
            )
            return (
                f"{low} does better below a {style.words(axes[1])} of {told} ({style.words(axes[0])}), {high} above it"
                f"{held_words(results, axes)}."
            )
    return ""


@figure("refuel_crossing", title="Refuelling time and the price of water", section="crossing")
def refuel_crossing(results: Results) -> go.Figure | None:
    """Refuelling time against extraction energy, one line per architecture, with the crossing marked."""
    axis = next((name for name in DEAREST if name in swept(results)), None)
    if results.mission.kind != "surface" or axis is None:
        return None
    rows = held_rows(results, axis)
    able = [
        name
        for name in rivals_of(results)
        if results.designs[results.designs["architecture"] == name]["closes"].any()
    ]
    drawn = style.blank(460)
    lines: dict[str, pd.Series] = {}
    shown = drawn_architectures(results, able)
    for name in shown:
        part = rows[(rows["architecture"] == name) & (rows["refuel_time"] > 0)]
        part = part[np.isfinite(part["refuel_time"].to_numpy(dtype=np.float64))]
        if part.empty:
            continue
        lines[name] = part.groupby(axis)["refuel_time"].min()
        colour, symbol, dash = style.looks(results, name)
        x = style.shown(axis, lines[name].index.to_numpy(dtype=np.float64))
        y = style.shown("refuel_time", lines[name].to_numpy(dtype=np.float64))
        drawn.add_trace(
            go.Scatter(
                x=x,
                y=y,
                mode="lines+markers",
                name=style.escape(style.title_of(results, name)),
                line={"color": colour, "dash": dash, "width": 2},
                marker={"symbol": symbol, "size": 8, "maxdisplayed": 12},
                hovertemplate="%{x:.4g}, %{y:.4g} d<extra></extra>",
            )
        )
    if not lines:
        return None
    words = mark_crossings(drawn, results, lines, axis)
    everything = np.concatenate(
        [style.shown("refuel_time", line.to_numpy(dtype=np.float64)) for line in lines.values()]
    )
    drawn.update_xaxes(title_text=style.axis_title(axis), **axis_of(results, axis))
    drawn.update_yaxes(title_text=style.axis_title("refuel_time"), **style.log_axis(everything))
    return captioned(
        drawn,
        words
        + f" Architectures with a closing design only{held_words(results, (axis,))}."
        + left_out_words(results, shown, able),
    )


def held_points(results: Results, axes: tuple[str, ...]) -> dict[str, float]:
    """Swept variables that are no axis, each at the swept point nearest the study's own value [SI].

    None is held among scattered designs, of which none need lie there: the best of a cell counts.
    """
    found = {}
    for name in swept(results):
        if name not in axes and not scattered(results):
            grid = swept_points(results, name)
            own = float(results.study.values.get(name, grid[len(grid) // 2]))
            found[name] = float(grid[np.argmin(np.abs(grid - own))])
    return found


def held_words(results: Results, axes: tuple[str, ...]) -> str:
    """Where the other swept variables are held, for a caption."""
    if scattered(results):
        return ", the best of the designs of each cell" if len(swept(results)) > len(axes) else ""
    held = [
        f"{style.words(name)} {style.quantity_text(name, point)}"
        for name, point in held_points(results, axes).items()
    ]
    return ", at " + ", ".join(held) if held else ""


def held_rows(results: Results, axis: str) -> pd.DataFrame:
    """Designs in which every other swept variable is held."""
    rows = results.designs
    for name, point in held_points(results, (axis,)).items():
        rows = rows[np.isclose(rows[name].to_numpy(dtype=np.float64), point, rtol=1e-9)]
    return along(results, rows, axis)


def mark_crossings(drawn: go.Figure, results: Results, lines: dict[str, pd.Series], axis: str) -> str:
    """Mark where two lines cross, and say so."""
    names, words = list(lines), []
    x_marks: list[float] = []
    y_marks: list[float] = []
    for place, first in enumerate(names):
        for second in names[place + 1 :]:
            shared = lines[first].index.intersection(lines[second].index)
            x = shared.to_numpy(dtype=np.float64)
            a, b = (np.log(lines[name].loc[shared].to_numpy(dtype=np.float64)) for name in (first, second))
            gap = a - b
            for k in np.flatnonzero(gap[:-1] * gap[1:] < 0):
                share = gap[k] / (gap[k] - gap[k + 1])
                cross = float(x[k] + share * (x[k + 1] - x[k]))
                x_marks.append(float(style.shown(axis, cross)))
                y_marks.append(float(style.shown("refuel_time", np.exp(a[k] + share * (a[k + 1] - a[k])))))
                lower, upper = (first, second) if gap[k] < 0 else (second, first)
                words.append(
                    f"below {style.quantity_text(axis, cross)} {style.title_of(results, lower)} refuels "
                    "sooner, "
                    f"above it {style.title_of(results, upper)}"
                )
    if not x_marks:
        return "No two of these lines cross inside the sweep."
    drawn.add_trace(
        go.Scatter(
            x=x_marks,
            y=y_marks,
            mode="markers",
            name="crossing",
            marker={"symbol": "circle-open", "size": 18, "color": style.BLACK, "line": {"width": 2.5}},
            hovertemplate="crossing at %{x:.4g}, %{y:.4g} d<extra></extra>",
        )
    )
    text = "; ".join(words)
    return text[:1].upper() + text[1:] + "."
