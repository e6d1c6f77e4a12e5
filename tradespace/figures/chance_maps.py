"""Where a design closes with an asked chance, and which architecture to prefer there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.certainty import CONDITION, asked_words, key, ordered
from tradespace.figures.choice import EDGE, crosses_edge
from tradespace.figures.crossing import LETTERED, add_crossing, letter, winner_colours
from tradespace.figures.maps import star
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Certainty, Results

EVEN = 0.5
NOTHING = "nothing closes with that chance"
SHADES = ("#F7F7F7", "#D1E5F0", "#92C5DE", "#4393C3", "#2166AC")
"""White to blue, the half of the scale of margins that stands for closing."""


def grid(part: pd.DataFrame) -> tuple[FloatArray, FloatArray, dict[str, FloatArray]]:
    """Both axes [SI] and the fields of one architecture, shape (y, x) each."""
    part = part.sort_values(["y", "x"])
    x, y = (np.unique(part[side].to_numpy(dtype=np.float64)) for side in "xy")
    fields = {
        name: part[name].to_numpy(dtype=np.float64).reshape(y.size, x.size)
        for name in ("chance", "margin", "merit")
    }
    return x, y, fields


def scales(drawn: go.Figure, results: Results, axes: tuple[str, str], x: FloatArray, y: FloatArray) -> None:
    """Both scales over the points of the plane."""
    for name, points, update in ((axes[0], x, drawn.update_xaxes), (axes[1], y, drawn.update_yaxes)):
        values = style.shown(name, points)
        if style.is_logarithmic(values):
            update(showgrid=False, **style.log_axis(values, 0.0))
        else:
            update(showgrid=False, range=[float(values[0]), float(values[-1])])


def contour(x: Any, y: Any, field: FloatArray, level: float, line: dict[str, Any], name: str) -> go.Contour:
    """One line of equal value."""
    return go.Contour(
        x=x, y=y, z=field, showscale=False, hoverinfo="skip", showlegend=False, name=name, meta={"drawing_only": True},
        contours={"start": level, "end": level, "size": 1, "coloring": "none"}, line=line,
    )  # fmt: skip


def boundaries(found: Certainty) -> list[tuple[str, str, float, dict[str, Any]]]:
    """Words, field, level and line of every boundary of the chance map."""
    lines = [
        ("nominal boundary", "margin", EDGE, {"color": style.BLACK, "width": 2.5}),
        (f"{asked_words(found)} close", "chance", found.asked, {"color": style.VERMILLION, "width": 3}),
    ]
    if abs(found.asked - EVEN) > 0.01:
        even = ("50 % close", "chance", EVEN, {"color": style.VERMILLION, "width": 2, "dash": "dot"})
        lines.insert(1, even)
    return lines


@figure(
    "chance_map", title="Where each architecture closes with the asked chance", section="certainty", width=180
)
def chance_map(results: Results) -> go.Figure | None:
    """Chance over two variables, one panel per architecture, with its boundaries over the nominal one."""
    found = results.certainty
    if found is None or found.plane.empty:
        return None
    names = ordered(results, found.plane)
    axes = str(found.plane["first"].iloc[0]), str(found.plane["second"].iloc[0])
    drawn = style.panels([style.title_of(results, name) for name in names])
    lines, words, seen = boundaries(found), [], set()
    for index, name in enumerate(names):
        spot = style.place(index, 2)
        x, y, fields = grid(found.plane[found.plane["architecture"] == name])
        across, up = style.shown(axes[0], x), style.shown(axes[1], y)
        drawn.add_trace(
            go.Heatmap(
                x=across, y=up, z=(100.0 * fields["chance"]).astype(np.float32), coloraxis="coloraxis",
                meta={"value": "chance of closing in per cent"}, name=style.escape(style.title_of(results, name)),
                hovertemplate="%{x:.4g}, %{y:.4g}<br>closes with %{z:.3g} %<extra></extra>",
            ),
            **spot,
        )  # fmt: skip
        for title, field, level, line in lines:
            values = fields[field]
            if crosses_edge(values) if field == "margin" else bool(values.min() < level <= values.max()):
                drawn.add_trace(contour(across, up, values, level, line, title), **spot)
                if title not in seen:
                    drawn.add_trace(key(title, line, across[0], up[0]), **spot)
                    seen.add(title)
        row = results.best(name) if set(axes) <= set(results.designs.columns) else None
        if row is not None:
            first = "star" not in seen
            seen.add("star")
            x_best, y_best = ([style.shown(axis, float(row[axis]))] for axis in axes)
            drawn.add_trace(star(x_best, y_best, "best closing design", legend=first), **spot)
        sure = float((fields["chance"] >= found.asked).mean())
        words.append(
            f"{style.title_of(results, name)} {share(sure)} (nominal {share(float((fields['margin'] >= 0.0).mean()))})"
        )
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(SHADES), "cmin": 0, "cmax": 100,
            "colorbar": {"title": {"text": "chance of closing (%)", "side": "right"}, "thickness": 14, "len": 0.9},
        }
    )  # fmt: skip
    style.label_outer(drawn, len(names), style.axis_title(axes[0]), style.axis_title(axes[1]))
    scales(drawn, results, axes, x, y)
    least, most = (int(getattr(found.plane["samples"], end)()) for end in ("min", "max"))
    return captioned(
        drawn,
        f"{least} draws in every cell, {most} near a boundary; all else as in the design examined. Share of the "
        f"cells that closes with {asked_words(found)}: {'; '.join(words)}." + CONDITION,
    )


def share(value: float) -> str:
    """A share of cells; none where there is none."""
    return style.percent(value) if value > 0.0 else "none"


@figure(
    "preferred_map", title="Which architecture to prefer where, with the asked chance", section="certainty"
)
def preferred_map(results: Results) -> go.Figure | None:
    """Best nominal figure of merit among those that close with the asked chance, and where two break even."""
    found = results.certainty
    if found is None or found.plane.empty:
        return None
    names = ordered(results, found.plane)
    if len(names) < 2:
        return None
    axes = str(found.plane["first"].iloc[0]), str(found.plane["second"].iloc[0])
    sign = 1.0 if results.study.figure_of_merit_better == "lower" else -1.0
    merits, sure = {}, {}
    for name in names:
        x, y, fields = grid(found.plane[found.plane["architecture"] == name])
        merits[name], sure[name] = sign * fields["merit"], fields["chance"] >= found.asked
    stack = np.stack([np.where(sure[name], merits[name], np.inf) for name in names])
    winner = np.where(np.isfinite(stack.min(axis=0)), stack.argmin(axis=0), len(names)).astype(np.int64)
    if not (winner < len(names)).any():  # the map of chances says that nothing closes so surely
        return None
    across, up = style.shown(axes[0], x), style.shown(axes[1], y)
    drawn = style.blank(520)
    add_winners(drawn, results, axes, across, up, names, winner)
    crossed = []
    for one, two in neighbours(winner, len(names)):
        both = sure[names[one]] & sure[names[two]]
        first, second = (np.where(both, merits[names[place]], np.nan) for place in (one, two))
        others = np.where(np.isin(np.arange(len(names))[:, None, None], (one, two)), np.inf, stack).min(
            axis=0
        )
        ahead = np.minimum(first, second) <= others
        first, second = (np.where(ahead, field, np.nan) for field in (first, second))
        if add_crossing(drawn, across, up, first, second, key=False):
            crossed.append(f"{style.title_of(results, names[one])} and {style.title_of(results, names[two])}")
    if crossed:
        drawn.add_trace(key("break-even line", {"color": style.BLACK, "width": 3}, across[0], up[0]))
    for name, side in zip(axes, (drawn.update_xaxes, drawn.update_yaxes), strict=True):
        side(title_text=style.axis_title(name))
    scales(drawn, results, axes, x, y)
    drawn.update_layout(legend={"itemclick": False, "itemdoubleclick": False, "itemsizing": "constant"})
    return captioned(drawn, preferred_words(results, found, names, winner, crossed))


def add_winners(
    drawn: go.Figure,
    results: Results,
    axes: tuple[str, str],
    x: Any,
    y: Any,
    names: list[str],
    winner: np.ndarray,
) -> None:
    """Cells in the colour of the architecture that is preferred there, with letters and keys."""
    colours = [*winner_colours(results, names, winner.astype(np.float64)), style.GREY]
    titles = [*(style.escape(style.title_of(results, name)) for name in names), NOTHING]
    drawn.add_trace(
        go.Heatmap(
            x=x, y=y, z=winner, text=np.array(titles, dtype=object)[winner], showscale=False, zmin=-0.5,
            zmax=len(names) + 0.5, colorscale=style.steps(colours), name="preferred architecture",
            hovertemplate="%{x:.4g}, %{y:.4g}<br>%{text}<extra></extra>", meta={"value": "preferred architecture"},
        )
    )  # fmt: skip
    for place, title in enumerate(titles):
        here = winner == place
        if not here.any():
            continue
        line, column = (int(side[len(side) // 2]) for side in np.nonzero(here))
        lettered = place < len(names)
        if lettered and float(here.mean()) > LETTERED:
            drawn.add_annotation(letter(x[column], y[line], style.initial(place), axes, results))
        drawn.add_trace(
            go.Scatter(
                x=[x[column]], y=[y[line]], mode="markers", hoverinfo="skip", meta={"drawing_only": True},
                name=f"{style.initial(place)}: {title}" if lettered else title,
                marker={"symbol": "square", "size": 3, "color": colours[place]},
            )
        )  # fmt: skip


def neighbours(winner: np.ndarray, count: int) -> list[tuple[int, int]]:
    """Pairs of architectures that hold cells side by side."""
    sides = [(winner[:, 1:], winner[:, :-1]), (winner[1:], winner[:-1])]
    pairs = {
        (int(min(one, two)), int(max(one, two)))
        for first, second in sides
        for one, two in zip(first.ravel(), second.ravel(), strict=True)
        if one != two and max(one, two) < count
    }
    return sorted(pairs)


def preferred_words(
    results: Results, found: Certainty, names: list[str], winner: np.ndarray, crossed: list[str]
) -> str:
    """Who is preferred where."""
    merit = style.words(results.study.figure_of_merit)
    parts = [
        f"{style.title_of(results, name)} in {style.percent(float(np.mean(winner == place)))}"
        for place, name in enumerate(names)
        if (winner == place).any()
    ]
    text = (
        f"Best nominal {merit} among those of {len(names)} architectures that close with {asked_words(found)}"
    )
    text += f": {'; '.join(parts)} of the cells." if parts else ": none anywhere."
    nothing = float(np.mean(winner == len(names)))
    if nothing > 0.0:
        text += f" Nothing closes with that chance in {style.percent(nothing)}."
    if crossed:
        text += f" On the black lines two break even: {'; '.join(crossed)}; at every other border one stops closing."
    elif len(parts) > 1:
        text += " At every border one stops closing with that chance: no two break even."
    return text + CONDITION
