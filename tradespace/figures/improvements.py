"""What it would take: the plane of two inputs and the curve on which a design begins to close."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from tradespace.results import Improvements, Results


def asked(results: Results) -> Sequence[str]:
    """Architectures for which the plane of two inputs was worked out."""
    found = results.improvements
    return [] if found is None else list(dict.fromkeys(found.plane["architecture"].astype(str)))


@figure(
    "closing_boundary",
    title="Where it begins to close: {}",
    section="improvements",
    variants=asked,
)
def closing_boundary(results: Results, architecture: str) -> go.Figure | None:
    """Closing and failing parts of the plane of two inputs, the curve between them, and the design as it stands."""
    found = results.improvements
    if found is None:
        return None
    plane = found.plane[found.plane["architecture"] == architecture]
    names = str(plane["first"].iloc[0]), str(plane["second"].iloc[0])
    x, y = (np.unique(plane[side].to_numpy(dtype=np.float64)) for side in ("x", "y"))
    margin = plane["margin"].to_numpy(dtype=np.float64).reshape(len(y), len(x))
    drawn = style.blank(480)
    drawn.add_trace(
        go.Heatmap(
            x=style.shown(names[0], x),
            y=style.shown(names[1], y),
            z=(margin >= 0.0).astype(np.int8),
            text=np.where(margin >= 0.0, "closes", "does not close").astype(object),
            customdata=100.0 * margin,
            zmin=-0.5,
            zmax=1.5,
            showscale=False,
            colorscale=style.steps([style.TOL_RED_BLUE[3], style.TOL_RED_BLUE[5]]),
            hovertemplate="%{x:.4g}, %{y:.4g}<br>%{text}, smallest margin %{customdata:.3g} %<extra></extra>",
            name="closes",
            meta={"value": "1 closes, 0 does not close"},
        )
    )
    _add_curve(drawn, found, architecture, names)
    today = _add_today(drawn, found, architecture, names)
    _label_parts(drawn, names, x, y, margin >= 0.0)
    for side, name, points in (("x", names[0], x), ("y", names[1], y)):
        values = style.shown(name, points)
        scale: dict[str, Any] = {"range": [float(values[0]), float(values[-1])]}
        if style.is_logarithmic(values):
            scale = style.log_axis(values, 0.0)
        drawn.update_layout(
            {f"{side}axis": {"title": {"text": style.axis_title(name)}, "showgrid": False, **scale}}
        )
    title = style.title_of(results, architecture)
    share = style.percent(float((margin >= 0.0).mean()))
    words = (
        f"{title}: the design closes in {share} of this plane of {style.words(names[0])} and {style.words(names[1])}, "
        f"the two inputs that get there first alone; all others stay as they are{today}."
    )
    return captioned(drawn, words)


def _add_curve(drawn: go.Figure, found: Improvements, architecture: str, names: tuple[str, str]) -> None:
    """The curve, stretch by stretch; the ends are points at which the engine closes and hardly so."""
    curve = found.curve[found.curve["architecture"] == architecture]
    if curve.empty:
        return
    ends = [
        style.shown(name, curve[side].to_numpy(dtype=np.float64))
        for name, side in zip(names, "xy", strict=True)
    ]
    gaps = [np.full((len(end) // 2, 3), np.nan) for end in ends]
    for gap, end in zip(gaps, ends, strict=True):
        gap[:, :2] = np.reshape(end, (-1, 2))
    drawn.add_trace(
        go.Scatter(
            x=gaps[0].ravel(),
            y=gaps[1].ravel(),
            mode="lines",
            name="begins to close",
            line={"color": style.BLACK, "width": 2.5},
            hovertemplate="%{x:.4g}, %{y:.4g}<extra>begins to close</extra>",
        )
    )


def _add_today(drawn: go.Figure, found: Improvements, architecture: str, names: tuple[str, str]) -> str:
    """The design as it stands, and the values at which each input alone is enough; in words too."""
    rows = (
        found.reached[found.reached["architecture"] == architecture]
        .drop_duplicates("quantity")
        .set_index("quantity")
    )
    if not set(names) <= set(rows.index):
        return ""
    today = rows.loc[list(names), "today"].to_numpy(dtype=np.float64)
    alone = rows.loc[list(names), "value"].to_numpy(dtype=np.float64)
    marks = (
        ("today", [today[0]], [today[1]], "circle", style.ORANGE),
        ("one input alone", [alone[0], today[0]], [today[1], alone[1]], "diamond", style.WHITE),
    )
    for name, x, y, symbol, colour in marks:
        drawn.add_trace(
            go.Scatter(
                x=style.shown(names[0], np.array(x)),
                y=style.shown(names[1], np.array(y)),
                mode="markers",
                name=name,
                cliponaxis=False,
                hovertemplate="%{x:.4g}, %{y:.4g}<extra>" + name + "</extra>",
                marker={
                    "symbol": symbol,
                    "size": 12,
                    "color": colour,
                    "line": {"color": style.BLACK, "width": 1.5},
                },
            )
        )
    told = [
        f"{style.words(name)} {style.quantity_text(name, now)} today, {style.quantity_text(name, value, 4)} alone"
        for name, now, value in zip(names, today, alone, strict=True)
    ]
    return f" ({'; '.join(told)})"


def _label_parts(
    drawn: go.Figure, names: tuple[str, str], x: np.ndarray, y: np.ndarray, closes: np.ndarray
) -> None:
    """Words in both parts of the plane, so that it reads without colour."""
    for part, words in ((closes, "closes"), (~closes, "does not close")):
        if part.any():
            line, column = (int(side[len(side) // 2]) for side in np.nonzero(part))
            drawn.add_trace(
                go.Scatter(
                    x=[float(style.shown(names[0], x[column]))],
                    y=[float(style.shown(names[1], y[line]))],
                    mode="text",
                    text=[words],
                    showlegend=False,
                    hoverinfo="skip",
                    textfont={"size": 13, "color": style.INK},
                    name=words,
                )
            )


def leading(found: Improvements, architecture: str) -> pd.DataFrame:
    """Rows of one architecture, ranked."""
    rows: pd.DataFrame = found.reached[found.reached["architecture"] == architecture]
    return rows.sort_values(["question", "rank"], kind="stable")
