"""Designs that no other beats in two figures of merit: the front of each architecture and of all together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace import pareto
from tradespace.figures import style
from tradespace.figures.choice import drawn_architectures, left_out_words
from tradespace.figures.registry import captioned, figure
from tradespace.quantities import quantity

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.pareto import Fronts
    from tradespace.results import Results

HANDFUL = 6
"""Closing designs from which a front is worth drawing."""
MOST = 250
"""Designs drawn of one front; of more some evenly along it, the ends and the knee among them."""
WIDE = 8.0
"""Ratio of the largest to the least from which an axis is logarithmic [1]."""


@figure("fronts", title="Best in two figures at once", section="designs", width=180)
def fronts(results: Results) -> go.Figure | None:
    """The front of each architecture, the front of all together behind them, and the knees."""
    if int(results.designs["closes"].sum()) < HANDFUL:
        return None
    names = pareto.figures_of(results.study)
    if any(name not in results.names for name in names):
        return None
    found = pareto.fronts(results)
    able = [name for name in results.architectures if len(found.of(name))]
    chosen = drawn_architectures(results, able)
    if len(found.designs) < 2 or not chosen:
        return None
    drawn = style.blank(520)
    add_overall(drawn, found)
    for name in chosen:
        add_front(drawn, results, found, name)
    add_knees(drawn, results, found, chosen)
    for side, name in zip("xy", names, strict=True):
        values = style.shown(name, found.designs[name].to_numpy(dtype=np.float64))
        axis: dict[str, Any] = {"title": {"text": front_axis(name)}}
        if values.min() > 0.0 and values.max() > WIDE * values.min():
            axis |= style.log_axis(values, 0.06)
        drawn.update_layout({f"{side}axis": axis})
    return captioned(drawn, front_words(results, found, chosen, able))


def front_axis(name: str) -> str:
    """Name, better direction and display unit of a figure."""
    unit = style.pretty_unit(quantity(name).display_unit)
    return f"{style.label(name)}, {quantity(name).better} is better ({unit})"


def thinned(rows: pd.DataFrame) -> pd.DataFrame:
    """Some rows evenly along a long front, its ends and its knee among them."""
    if len(rows) <= MOST:
        return rows
    places = np.unique(np.linspace(0, len(rows) - 1, MOST).astype(np.int64))
    kept = np.zeros(len(rows), dtype=bool)
    kept[places] = True
    chosen: pd.DataFrame = rows[kept | rows["knee"].to_numpy(dtype=bool)]
    return chosen


def points(found: Fronts, rows: pd.DataFrame) -> list[np.ndarray]:
    """Both figures in their display units."""
    return [style.shown(name, rows[name].to_numpy(dtype=np.float64)) for name in found.figures]


def add_overall(drawn: go.Figure, found: Fronts) -> None:
    """A broad band behind the designs that are on the front of all."""
    x, y = points(found, thinned(found.overall))
    drawn.add_trace(
        go.Scatter(
            x=x, y=y, mode="lines+markers", name="front of all architectures",
            line={"color": style.GREY, "width": 9}, marker={"color": style.GREY, "size": 15},
            hoverinfo="skip",
        )
    )  # fmt: skip


def add_front(drawn: go.Figure, results: Results, found: Fronts, name: str) -> None:
    """Line and marks of one architecture."""
    colour, symbol, dash = style.looks(results, name)
    rows = thinned(found.of(name))
    x, y = points(found, rows)
    title = style.title_of(results, name)
    drawn.add_trace(
        go.Scatter(
            x=x,
            y=y,
            mode="lines+markers",
            name=style.escape(title),
            line={"color": colour, "dash": dash, "width": 1.5},
            marker={
                "symbol": symbol,
                "size": 7,
                "color": colour,
                "line": {"color": style.WHITE, "width": 0.5},
            },
            customdata=[design_words(results, row) for _, row in rows.iterrows()],
            hovertemplate="%{x:.4g}, %{y:.4g}<br>%{customdata}<extra></extra>",
        )
    )


def design_words(results: Results, row: pd.Series) -> str:
    """The swept variables of a design."""
    shown = [
        f"{style.words(variable.name)} {style.quantity_text(variable.name, float(row[variable.name]))}"
        for variable in results.study.sweep
    ]
    return "<br>".join(style.escape(one) for one in shown)


def add_knees(drawn: go.Figure, results: Results, found: Fronts, chosen: list[str]) -> None:
    """A ring about the knee of each front drawn; that of all has words."""
    rows = found.designs[
        (found.designs["knee"] & found.designs["architecture"].isin(chosen)) | found.designs["best_knee"]
    ]
    if rows.empty:
        return
    x, y = points(found, rows)
    drawn.add_trace(
        go.Scatter(
            x=x, y=y, mode="markers+text", name="knee of a front",
            text=["knee of all" if best else "" for best in rows["best_knee"]], textposition="top right",
            marker={"symbol": "circle-open", "size": 17, "color": style.BLACK, "line": {"width": 2}},
            hoverinfo="skip",
        )
    )  # fmt: skip


def front_words(results: Results, found: Fronts, chosen: list[str], able: list[str]) -> str:
    """How many designs are on the front of all, whose they are, and where its knee is."""
    front = found.overall
    owners = front["architecture"].value_counts(sort=True)
    whose = "; ".join(f"{style.title_of(results, str(name))} {count}" for name, count in owners.items())
    knees = front[front["best_knee"]]
    knee = " The front of all has no knee."
    if len(knees):
        row = knees.iloc[0]
        both = " and ".join(
            f"{style.words(name)} {style.quantity_text(name, float(row[name]))}" for name in found.figures
        )
        knee = (
            f" Its knee, farthest from the straight line between its ends: {both}, "
            f"{style.title_of(results, str(row['architecture']))}."
        )
    apart = " Craft that do not refuel stand apart from it." if found.apart else ""
    some = f" Of a front longer than {MOST} designs some are drawn." if len(found.designs) > MOST else ""
    return (
        f"Closing designs that no other closing design of the same architecture beats in both figures. On the front of "
        f"all (band): {len(front)} of {found.closing} closing designs ({whose}).{apart}{knee} Designs equal in both "
        f"figures are drawn once.{some}{left_out_words(results, chosen, able)}"
    )
