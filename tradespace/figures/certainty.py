"""How sure we are: chances of closing, alone and along one variable, and the spread of the figure of merit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Certainty, Results

MARKED = (0.05, 0.25, 0.5, 0.75, 0.95)
CONDITION = " Every chance is conditional on the stated distributions and on the models."


def ordered(results: Results, table: pd.DataFrame) -> list[str]:
    """Architectures of a table in the study's order."""
    found = set(table["architecture"].astype(str)) if len(table) else set()
    return [name for name in results.architectures if name in found]


def asked_words(found: Certainty) -> str:
    """The asked chance in words."""
    return style.percent(found.asked)


@figure("closing_chance", title="How likely each architecture closes", section="certainty")
def closing_chance(results: Results) -> go.Figure | None:
    """Chance of closing with its interval, calendar free and frozen, and the asked chance."""
    found = results.certainty
    if found is None or found.chance.empty:
        return None
    names = ordered(results, found.chance)[::-1]
    drawn = style.blank(170 + 36 * len(names))
    titles = {name: style.wrapped(style.title_of(results, name), 34) for name in names}
    for calendar, colour in (("frozen", style.SKY), ("free", style.BLUE)):
        part = found.chance[found.chance["calendar"] == calendar].set_index("architecture")
        kept = [name for name in names if name in part.index]
        if not kept:
            continue
        part = part.loc[kept]
        value, low, high = (100.0 * part[one].to_numpy(dtype=np.float64) for one in ("chance", "low", "high"))
        drawn.add_trace(
            go.Bar(
                x=value, y=[titles[name] for name in kept], orientation="h", name=f"calendar {calendar}",
                marker={"color": colour},
                error_x={"array": high - value, "arrayminus": value - low, "thickness": 1.5, "color": style.BLACK},
                hovertemplate="%{x:.3g} %<extra></extra>",
            )
        )  # fmt: skip
    line = {"color": style.BLACK, "dash": "dash", "width": 1.5}
    drawn.add_vline(x=100.0 * found.asked, line=line)
    drawn.add_trace(key(f"asked: {asked_words(found)}", line, 100.0 * found.asked, titles[names[0]]))
    drawn.update_xaxes(title_text="Chance of closing (%)", range=[0, 100])
    drawn.update_yaxes(type="category", showgrid=False)
    drawn.update_layout(barmode="group", bargap=0.25, legend={"traceorder": "reversed"})
    words = [
        f"{style.title_of(results, str(row['architecture']))} {style.percent(float(row['chance']))}"
        for row in found.chance[found.chance["calendar"] == "free"].to_dict("records")
    ]
    return captioned(
        drawn,
        f"Share of {found.samples} draws of the uncertain inputs in which the design of each architecture closes, with "
        f"its 95 % interval; calendar free: {'; '.join(words)}. Frozen keeps the departures of the nominal design."
        + CONDITION,
    )


def key(name: str, line: dict[str, Any], x: Any, y: Any) -> go.Scatter:
    """A line seen in the legend alone: a single point of it."""
    return go.Scatter(
        x=[x], y=[y], mode="lines", name=name, line=line, hoverinfo="skip", meta={"drawing_only": True}
    )


@figure("merit_spread", title="How the figure of merit is spread", section="certainty")
def merit_spread(results: Results) -> go.Figure | None:
    """Cumulative share of the closing draws against the figure of merit, with percentiles marked."""
    found, merit = results.certainty, results.study.figure_of_merit
    if found is None or found.percentiles.empty:
        return None
    table = found.percentiles
    rows = table[(table["metric"] == merit) & (table["calendar"] == "free") & (table["among"] == "closing")]
    names = ordered(results, rows)
    if not names:
        return None
    drawn, words = style.blank(440), []
    for name in names:
        part = rows[rows["architecture"] == name].sort_values("share")
        share = part["share"].to_numpy(dtype=np.float64)
        value = style.shown(merit, part["value"].to_numpy(dtype=np.float64))
        colour, symbol, dash = style.looks(results, name)
        marks = [int(np.argmin(np.abs(share - one))) for one in MARKED]
        title = style.escape(style.title_of(results, name))
        size = np.zeros(share.size)
        size[marks] = 9.0
        drawn.add_trace(
            go.Scatter(
                x=value, y=100.0 * share, mode="lines+markers", name=title,
                line={"color": colour, "dash": dash, "width": 2},
                marker={"symbol": symbol, "size": size, "color": colour, "line": {"width": 0}, "opacity": 1},
                hovertemplate="%{x:.4g}: %{y:.3g} % of the closing draws<extra></extra>",
            )
        )  # fmt: skip
        low, middle, high = (float(part["value"].iloc[marks[place]]) for place in (0, 2, 4))
        words.append(
            f"{style.title_of(results, name)} {style.quantity_text(merit, middle)} "
            f"({style.quantity_text(merit, low)} to {style.quantity_text(merit, high)})"
        )
    drawn.update_xaxes(title_text=style.axis_title(merit))
    drawn.update_layout(legend={"itemsizing": "constant"})
    drawn.update_yaxes(
        title_text="Share of the draws that close (%)", range=[0, 100], tickvals=[5, 25, 50, 75, 95]
    )
    return captioned(
        drawn,
        f"Draws that close, calendar free; marks at 5, 25, 50, 75 and 95 %. Median (5 to 95 %): {'; '.join(words)}."
        + CONDITION,
    )


@figure("chance_curve", title="Chance of closing along one variable", section="certainty")
def chance_curve(results: Results) -> go.Figure | None:
    """Chance against the variable of the solver, one line per architecture, with the asked chance."""
    found = results.certainty
    if found is None or found.curve.empty:
        return None
    variable = str(found.curve["variable"].iloc[0])
    drawn, names = style.blank(460), ordered(results, found.curve)
    for name in names:
        part = found.curve[found.curve["architecture"] == name].sort_values("value")
        colour, symbol, dash = style.looks(results, name)
        value, low, high = (
            100.0 * part[column].to_numpy(dtype=np.float64) for column in ("chance", "low", "high")
        )
        drawn.add_trace(
            go.Scatter(
                x=style.shown(variable, part["value"].to_numpy(dtype=np.float64)),
                y=value,
                mode="lines+markers",
                name=style.escape(style.title_of(results, name)),
                line={"color": colour, "dash": dash, "width": 2},
                marker={"symbol": symbol, "size": 7},
                error_y={
                    "array": high - value, "arrayminus": value - low, "color": colour, "thickness": 0.8, "width": 2
                },
                hovertemplate="%{x:.4g}: %{y:.3g} %<extra></extra>",
            )
        )  # fmt: skip
    line = {"color": style.BLACK, "dash": "dash", "width": 1.5}
    drawn.add_hline(y=100.0 * found.asked, line=line)
    start = float(style.shown(variable, float(found.curve["value"].min())))
    drawn.add_trace(key(f"asked: {asked_words(found)}", line, start, 100.0 * found.asked))
    marked = mark_solutions(drawn, found, variable)
    points = style.shown(variable, np.unique(found.curve["value"].to_numpy(dtype=np.float64)))
    scale = style.log_axis(points) if style.is_logarithmic(points) else {}
    drawn.update_xaxes(title_text=style.axis_title(variable), **scale)
    drawn.update_yaxes(title_text="Chance of closing (%)", range=[-2, 102])
    return captioned(
        drawn,
        f"All else as in the design examined; bars: 95 % intervals. {solution_words(results, found, variable)}"
        + (" Diamonds: the smallest value with the asked chance." if marked else "")
        + CONDITION,
    )


def mark_solutions(drawn: go.Figure, found: Certainty, variable: str) -> bool:
    """Mark the smallest value that closes with the asked chance; False when there is none."""
    rows = found.solutions[(found.solutions["condition"] == "closes") & found.solutions["value"].notna()]
    if rows.empty:
        return False
    drawn.add_trace(
        go.Scatter(
            x=style.shown(variable, rows["value"].to_numpy(dtype=np.float64)),
            y=100.0 * rows["chance"].to_numpy(dtype=np.float64),
            mode="markers",
            name="smallest with that chance",
            marker={
                "symbol": "diamond", "size": 12, "color": style.WHITE, "line": {"color": style.BLACK, "width": 1.5}
            },
            hovertemplate="%{x:.4g}: %{y:.3g} %<extra></extra>",
        )
    )  # fmt: skip
    return True


def solution_words(results: Results, found: Certainty, variable: str) -> str:
    """The smallest values, nominal and with the asked chance."""
    parts = []
    for row in found.solutions[found.solutions["condition"] == "closes"].to_dict("records"):
        ends = [
            style.quantity_text(variable, float(row[end])) if np.isfinite(row[end]) else "none"
            for end in ("nominal", "value")
        ]
        parts.append(f"{style.title_of(results, str(row['architecture']))} {' and '.join(ends)}")
    return (
        f"Smallest {style.words(variable)} that closes at nominal values, and with {asked_words(found)}: "
        f"{'; '.join(parts)}."
    )
