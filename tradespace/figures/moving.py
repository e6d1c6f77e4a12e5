"""What moves the answer: one input at a time, and what one step is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from tradespace.errors import UnknownNameError
from tradespace.figures import style
from tradespace.figures.choice import drawn_architectures, left_out_words
from tradespace.figures.registry import captioned, figure
from tradespace.quantities import quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tradespace.results import Results

BARS = 8
"""Inputs shown per architecture."""
LEAST = 1e-3
"""Swings smaller than this share of the reference are not drawn [1]."""


def metrics(results: Results) -> Sequence[str]:
    """Outputs for which a tornado was computed."""
    table = results.sensitivity.tornado if results.sensitivity is not None else None
    return [] if table is None or table.empty else list(dict.fromkeys(table["metric"].astype(str)))


def widest(rows: pd.DataFrame) -> pd.DataFrame:
    """The rows with the widest swing, the widest last, as bars are stacked upward."""
    numbers = rows[["at_low", "at_baseline", "at_high"]].to_numpy(dtype=np.float64)
    usable = np.isfinite(numbers[:, 1]) & np.isfinite(numbers).any(axis=1)
    moved = np.nanmax(
        np.abs(np.where(np.isfinite(numbers), numbers - numbers[:, [1]], 0.0)), axis=1, initial=0.0
    )
    seen = moved > LEAST * np.abs(np.nan_to_num(numbers[:, 1]))
    ranked: pd.DataFrame = rows.assign(swing=moved)[usable & seen]
    widest_last: pd.DataFrame = ranked.sort_values("swing", kind="stable").tail(BARS)
    return widest_last


def input_words(row: pd.Series) -> str:
    """An input and the two values it was given."""
    name = str(row["quantity"])
    try:
        unit = style.pretty_unit(quantity(name).display_unit)
        low, high = (style.number(float(style.shown(name, float(row[end])))) for end in ("low", "high"))
    except UnknownNameError:
        return style.wrapped(name.replace("_", " "), 24)
    unit = "" if unit == "–" else f" {unit}"
    return style.wrapped(style.words(name), 26) + f"<br>{low} to {high}{unit}"


@figure("tornado", title="What moves the answer: {}", section="moving", variants=metrics, width=180)
def tornado(results: Results, metric: str) -> go.Figure | None:
    """Change of one output when each input goes to the ends of its range, one panel per architecture."""
    if results.sensitivity is None:
        return None
    table = results.sensitivity.tornado
    table = table[table["metric"] == metric]
    moved = {name: widest(table[table["architecture"] == name]) for name in results.architectures}
    able = [name for name, rows in moved.items() if not rows.empty]
    chosen = {name: moved[name] for name in drawn_architectures(results, able)}
    if not chosen:
        return None
    drawn = style.panels(
        [style.title_of(results, name) for name in chosen],
        max(46 * max(len(rows) for rows in chosen.values()) + 40, 130),
        horizontal_spacing=0.24,
        gap=108,
    )
    findings = []
    for index, (name, rows) in enumerate(chosen.items()):
        spot = style.place(index, 2)
        labels = [input_words(row) for _, row in rows.iterrows()]
        base = style.shown(metric, rows["at_baseline"].to_numpy(dtype=np.float64))
        for end, colour, pattern in (("low", style.SKY, ""), ("high", style.VERMILLION, "/")):
            reached = style.shown(metric, rows[f"at_{end}"].to_numpy(dtype=np.float64))
            drawn.add_trace(
                go.Bar(
                    y=labels,
                    x=np.round(reached - base, 9),
                    base=base,
                    orientation="h",
                    name=f"input at its {end} end",
                    legendgroup=end,
                    showlegend=index == 0,
                    customdata=reached,
                    marker={
                        "color": colour,
                        "pattern": {"fillmode": "overlay", "shape": pattern, "fgcolor": style.WHITE},
                        "line": {"color": style.BLACK, "width": 0.6},
                    },
                    hovertemplate="%{y}<br>%{customdata:.4g}<extra>" + end + " end</extra>",
                ),
                **spot,
            )
        style.line_across(drawn, spot, {"color": style.BLACK, "width": 1.5}, x=float(base[-1]))
        top = rows.iloc[-1]
        findings.append(f"{style.title_of(results, name)}: {style.words(str(top['quantity']))}")
    drawn.update_layout(barmode="overlay", bargap=0.25)
    drawn.update_xaxes(title_text=style.axis_title(metric))
    drawn.update_yaxes(showgrid=False, tickfont={"size": 11}, type="category")
    better = {"lower": " Lower is better.", "higher": " Higher is better."}.get(quantity(metric).better, "")
    caption = (
        f"{style.label(metric)} of the reference design (line) when one input at a time goes to the low "
        "or the high "
        f"end of its range; the {BARS} widest are shown.{better} The widest bar belongs to: "
        + "; ".join(findings)
        + "."
        + left_out_words(results, list(chosen), able)
    )
    return captioned(drawn, caption)


@figure("exchange_rates", title="What one step is worth, in days per hop", section="moving", width=180)
def exchange_rates(results: Results) -> go.Figure | None:
    """Days per hop gained or lost by one step of each input, calendar frozen and free."""
    if results.sensitivity is None or results.sensitivity.exchange.empty:
        return None
    table = results.sensitivity.exchange
    known = np.isfinite(table["days_per_hop"].to_numpy(dtype=np.float64)) | table["jump"].to_numpy(dtype=bool)
    table = table[known]
    moved = table[table["jump"].to_numpy(dtype=bool) | (table["days_per_hop"] != 0.0)]
    able = [name for name in results.architectures if (moved["architecture"] == name).any()]
    names = drawn_architectures(results, able)
    if not names:
        return None
    longest = max(table[table["architecture"] == name]["step"].nunique() for name in names)
    drawn = style.panels(
        [style.title_of(results, name) for name in names], 38 * longest + 70, horizontal_spacing=0.32, gap=108
    )
    shown: set[str] = set()
    edge = axis_end(table)
    for index, name in enumerate(names):
        rows = table[table["architecture"] == name]
        for calendar, symbol, colour in (
            ("frozen", "circle", style.BLUE),
            ("free", "diamond-open", style.VERMILLION),
        ):
            part = rows[rows["calendar"] == calendar]
            if part.empty:
                continue
            drawn.add_trace(
                exchange_marks(part, calendar, (symbol, colour), edge, legend=calendar not in shown),
                **style.place(index, 2),
            )
            shown.add(calendar)
    drawn.update_xaxes(
        title_text="Change of the time per hop (d)",
        zeroline=True,
        zerolinecolor=style.BLACK,
        range=[-1.1 * edge, 1.1 * edge],
    )
    drawn.update_yaxes(tickfont={"size": 11}, type="category", autorange="reversed")
    return captioned(drawn, exchange_words(results, table) + left_out_words(results, names, able))


def exchange_marks(
    part: pd.DataFrame, calendar: str, looks: tuple[str, str], edge: float, *, legend: bool
) -> go.Scatter:
    """One mark per step; a jump is a cross, at the end of the axis when it leaves it and at zero "
    "without days.
    """
    jump = part["jump"].to_numpy(dtype=bool)
    days = part["days_per_hop"].to_numpy(dtype=np.float64)
    drawn_at = np.clip(np.nan_to_num(days), -edge, edge)
    return go.Scatter(
        x=drawn_at,
        y=[
            style.wrapped(step_words(str(q), str(s)), 30)
            for q, s in zip(part["quantity"], part["step"], strict=True)
        ],
        customdata=[style.number(float(one)) for one in days],
        mode="markers+text",
        name=f"calendar {calendar}",
        legendgroup=calendar,
        showlegend=legend,
        text=[mark_words(float(one), bool(leap), edge) for one, leap in zip(days, jump, strict=True)],
        textposition=["top left" if one > 0 else "top right" for one in drawn_at],
        textfont={"size": 11},
        marker={
            "symbol": ["x" if leap else looks[0] for leap in jump],
            "size": 11,
            "color": looks[1],
            "line": {"width": 2, "color": looks[1]},
        },
        hovertemplate="%{y}<br>%{customdata} d per hop<extra>calendar " + calendar + "</extra>",
    )


def step_words(name: str, step: str) -> str:
    """An input and the step it took; a step that names its input stands alone."""
    return step if step.startswith("per ") else f"{style.words(name)}, {step}"


def axis_end(table: pd.DataFrame) -> float:
    """Longest change that is a rate and not a jump, with some room [d]."""
    days = np.abs(table["days_per_hop"].to_numpy(dtype=np.float64))
    rates = days[np.isfinite(days) & ~table["jump"].to_numpy(dtype=bool)]
    longest = float(rates.max()) if rates.size else 0.0
    return 1.3 * longest if longest > 0 else 1.0


def mark_words(days: float, jump: bool, edge: float) -> str:
    """Words beside a mark: that it is a jump, and how far it goes when it leaves the axis."""
    size = f"{style.number(days, 2)} d" if abs(days) > edge else ""
    return f"jump {size}".strip() if jump else size


def exchange_words(results: Results, table: pd.DataFrame) -> str:
    """The step that is worth most."""
    frozen = table[table["calendar"] == "frozen"]
    frozen = table if frozen.empty else frozen
    days = np.nan_to_num(np.abs(frozen["days_per_hop"].to_numpy(dtype=np.float64)))
    row = frozen.iloc[int(np.argmax(days))]
    jumps = int(table["jump"].to_numpy(dtype=bool).sum())
    leaps = (
        f"{jumps} of these steps jump{'s' if jumps == 1 else ''}" if jumps else "None of these steps jumps"
    )
    if not results.mission.windows:
        return (
            "Surface hops keep no calendar. Frozen shows refuelling days; free shows days of the whole route over its "
            "hops, the minimum dwell included, which hides refuelling that is shorter. Largest: "
            f"{style.number(float(row['days_per_hop']), 2)} days per hop for "
            f"{style.title_of(results, str(row['architecture']))}, "
            f"{step_words(str(row['quantity']), str(row['step']))}. Architectures that no step moves, or whose "
            "refuelling never ends, are left out."
        )
    return (
        "Frozen keeps every departure on the date of the reference design; free lets each departure move to "
        "the next date that fits. Largest with the calendar frozen: "
        f"{style.number(float(row['days_per_hop']), 2)} days per hop for "
        f"{style.title_of(results, str(row['architecture']))}, "
        f"{step_words(str(row['quantity']), str(row['step']))}. "
        f"{leaps} to another departure date. Architectures that no step moves, or whose refuelling never ends, "
        "are left out."
    )
