"""What the best designs are made of, and how much room they have."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go

from tradespace.comparison import standings
from tradespace.figures import style
from tradespace.figures.choice import (
    drawn_architectures,
    left_out_words,
    standing_design,
    standing_rows,
    value_of,
)
from tradespace.figures.registry import captioned, figure
from tradespace.results import LINKS, placeholder

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.results import Results

ITEMS = (
    "payload_mass",
    "structure_mass",
    "array_mass",
    "battery_mass",
    "electrolyser_mass",
    "extraction_mass",
    "tank_mass",
    "thruster_mass",
    "landing_engine_mass",
    "thermal_mass",
)
HATCHES = ("", "-", "", "\\", "x", "|", "+", "", "/", ".")
"""Patterns of the items, so that neighbours differ in grey too."""
LIGHT = frozenset({style.GREY, style.SKY, style.TOL_MUTED[2], style.TOL_MUTED[4]})
"""Colours on which a pattern is black; white on all others."""
ROOMY = 8
"""Rows that leave room for titles in several lines."""
NOT_CLOSING = "(does not close)"
NAMED = 6
"""Architectures that a caption names; of more it gives the number."""
WIDEST = 3.0
"""Mass axis ends at this many times the launch mass [1]."""


def state_words(results: Results) -> str:
    """Which architectures are shown by a design that does not close."""
    open_names = [name for name in results.architectures if not standing_design(results, name)[1]]
    if len(open_names) > NAMED:
        return f" {len(open_names)} architectures are shown by a design that does not close."
    titles = "; ".join(style.title_of(results, name) for name in open_names)
    return f" Shown by a design that does not close: {titles}." if titles else ""


def row_labels(results: Results, names: list[str]) -> list[str]:
    """Titles for a category axis, with a word on those that do not close."""
    if len(names) > ROOMY:
        return [
            style.wrapped(
                style.title_of(results, name)
                + ("" if standing_design(results, name)[1] else f" {NOT_CLOSING}"),
                38,
            )
            for name in names
        ]
    return [
        style.wrapped(style.title_of(results, name), 24)
        + ("" if standing_design(results, name)[1] else f"<br>{NOT_CLOSING}")
        for name in names
    ]


def crowded(names: list[str]) -> dict[str, Any]:
    """Smaller words on a category axis that holds many rows."""
    return {"tickfont": {"size": 11}} if len(names) > ROOMY else {}


def ranked_rows(results: Results) -> dict[str, pd.Series]:
    """The design that stands for each architecture.

    Where there are many, the best come first and those without a finite mass are left out.
    """
    rows = standing_rows(results)
    if len(rows) <= ROOMY:
        return rows
    order = [one.name for one in standings(results) if one.name in rows]
    return {name: rows[name] for name in order if not placeholder(rows[name], "dry_mass")}


def massless_words(results: Results, rows: dict[str, pd.Series]) -> str:
    """Which architectures have no bar because their masses never add up; empty when all have one."""
    missing = [name for name in standing_rows(results) if name not in rows]
    titles = "; ".join(style.title_of(results, name) for name in missing)
    return f" Without a finite mass, and not drawn: {titles}." if titles else ""


@figure("mass_breakdown", title="Where the mass goes", section="designs", width=180)
def mass_breakdown(results: Results) -> go.Figure | None:
    """Stacked mass of the design that stands for each architecture; margins and propellant apart."""
    rows = ranked_rows(results)
    if not rows:
        return None
    names = list(rows)
    labels = row_labels(results, names)
    rows_height = (62 if len(names) <= ROOMY else 36) * len(names)
    drawn = style.blank(rows_height + 220)
    colours = (style.BLACK, *style.TOL_MUTED)
    layers = [(item, colours[place], HATCHES[place]) for place, item in enumerate(ITEMS)]
    layers += [("growth_mass", style.GREY, "x"), ("propellant_mass", style.SKY, "/")]
    wet = dict.fromkeys(names, 0.0)
    for item, colour, pattern in layers:
        masses = [np.nan_to_num(value_of(results, rows[name], item), nan=0.0, posinf=0.0) for name in names]
        if not np.any(masses):
            continue
        wet = {name: wet[name] + mass for name, mass in zip(names, masses, strict=True)}
        words = {
            "growth_mass": "growth and system margin",
            "propellant_mass": "propellant, tanks full",
        }
        drawn.add_trace(
            go.Bar(
                y=labels,
                x=np.round(masses, 3),
                orientation="h",
                name=words.get(item, style.words(item).removesuffix(" mass")),
                marker={
                    "color": colour,
                    "pattern": {
                        "fillmode": "overlay",
                        "shape": pattern,
                        "fgcolor": style.BLACK if colour in LIGHT else style.WHITE,
                        "size": 6,
                        "solidity": 0.2,
                    },
                    "line": {"color": style.WHITE, "width": 0.8},
                },
                hovertemplate="%{x:.4g} kg<extra>" + words.get(item, item.replace("_", " ")) + "</extra>",
            )
        )
    endless = {name: bool(placeholder(rows[name], "wet_mass")) for name in names}
    starts = [float(rows[name]["start_mass"]) for name in names]
    launch = [value_of(results, rows[name], "launch_mass") for name in names]
    limit = float(np.nanmax(launch)) if np.isfinite(launch).any() else float("nan")
    heaviest = max(*wet.values(), *[start for start in starts if np.isfinite(start)], 0.0)
    end = 1.05 * max(min(heaviest, WIDEST * limit), limit) if np.isfinite(limit) else 1.05 * heaviest
    inside = [start if np.isfinite(start) and start <= end else np.nan for start in starts]
    if np.isfinite(inside).any():
        drawn.add_trace(
            go.Scatter(
                x=inside,
                y=labels,
                mode="markers",
                name="mass at the start date",
                marker={
                    "symbol": "diamond",
                    "size": 13,
                    "color": style.ORANGE,
                    "line": {"color": style.BLACK, "width": 1.4},
                },
                hovertemplate="%{x:.4g} kg at the start date<extra></extra>",
            )
        )
    if np.isfinite(limit):
        drawn.add_vline(
            x=limit,
            line={"color": style.BLACK, "width": 2, "dash": "dash"},
            annotation_text="launch mass allowed",
            annotation_position="top",
            annotation_font_size=12,
        )
    for name, text in zip(names, labels, strict=True):
        if wet[name] > end:
            drawn.add_annotation(
                x=end,
                y=text,
                text="no finite mass ▶" if endless[name] else f"to {style.number(wet[name])} kg ▶",
                showarrow=False,
                xanchor="right",
                bgcolor=style.WHITE,
                bordercolor=style.BLACK,
                borderpad=2,
                font={"size": 11},
            )
    drawn.update_layout(
        barmode="stack", legend={"y": -65 / rows_height, "yanchor": "top", "traceorder": "normal"}
    )
    drawn.update_layout(margin={"t": 40, "b": 150})
    drawn.update_xaxes(title_text="Mass (kg)", range=[0, end])
    drawn.update_yaxes(showgrid=False, autorange="reversed", type="category", **crowded(names))
    return captioned(
        drawn,
        mass_words(results, names, {name: mass for name, mass in wet.items() if not endless[name]}, starts)
        + state_words(results)
        + massless_words(results, rows),
    )


def mass_words(results: Results, names: list[str], wet: dict[str, float], starts: list[float]) -> str:
    """Lightest at the start of those that close, and how mass at the start compares with full tanks."""
    closing = [
        (start, name)
        for start, name in zip(starts, names, strict=True)
        if np.isfinite(start) and standing_design(results, name)[1]
    ]
    lightest = min(closing, default=(float("nan"), names[0]))
    heaviest = max(((mass, name) for name, mass in wet.items()), default=(float("nan"), names[0]))
    light = (
        f"Lightest at the start of those that close: {style.title_of(results, lightest[1])}, "
        f"{style.number(lightest[0])} kg; heaviest"
        if closing
        else "None of them closes. Heaviest"
    )
    return (
        f"Best closing design of each architecture by {style.words(results.study.figure_of_merit)}; bars "
        "end at the mass with full tanks, the diamond is the mass at the start date. "
        f"{light} when full: {style.title_of(results, heaviest[1])}, {style.number(heaviest[0])} kg."
    )


@figure("margins", title="Room left on each link", section="designs", width=180)
def margins(results: Results) -> go.Figure | None:
    """Margin of every link for the design that stands for each architecture."""
    every = standing_rows(results)
    if not every:
        return None
    rows = {name: every[name] for name in drawn_architectures(results, list(every))}
    titles = [
        style.title_of(results, name) + ("" if standing_design(results, name)[1] else " (does not close)")
        for name in rows
    ]
    drawn = style.panels(titles, 290)
    low, high = -1.0, 2.0
    findings = []
    for index, (name, row) in enumerate(rows.items()):
        links = [
            link
            for link in LINKS
            if f"margin_{link}" in row.index and np.isfinite(float(row[f"margin_{link}"]))
        ]
        values = np.array([float(row[f"margin_{link}"]) for link in links])
        short = values < 0
        drawn.add_trace(
            go.Bar(
                y=links,
                x=np.clip(values, low, high),
                orientation="h",
                showlegend=False,
                name=style.escape(style.title_of(results, name)),
                marker={
                    "color": [style.VERMILLION if one else style.BLUE for one in short],
                    "pattern": {
                        "fillmode": "overlay",
                        "shape": ["/" if one else "" for one in short],
                        "fgcolor": style.WHITE,
                    },
                },
                text=[style.number(value, 2) if value < 9.9995 else "≥ 10" for value in values],
                textposition="outside",
                textfont={"size": 11},
                cliponaxis=False,
                customdata=values,
                hovertemplate="%{y}: %{customdata:.4g}<extra></extra>",
            ),
            **style.place(index, 2),
        )
        least = f"{row['limited_by']} {style.number(float(row['margin']), 2)}"
        findings.append(f"{style.title_of(results, name)} {least}")
    drawn.update_xaxes(
        range=[low - 0.25, high + 0.5],
        tickvals=[-1, 0, 1, 2],
        ticktext=["−1", "0", "1", "≥ 2"],
        zeroline=True,
        zerolinecolor=style.BLACK,
        zerolinewidth=2,
    )
    style.label_outer(drawn, len(rows), "Margin, available over required minus 1 (–)", "Link")
    drawn.update_yaxes(
        categoryorder="array",
        categoryarray=list(LINKS),
        autorange="reversed",
        type="category",
        showgrid=False,
    )
    caption = (
        "Least margin of each link over the route; bars are cut at 2, figures are not. Tightest: "
        + "; ".join(findings)
        + "."
        + left_out_words(results, list(rows), list(every))
    )
    return captioned(drawn, caption)
