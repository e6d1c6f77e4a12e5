"""What drives the answer: elasticities, the plane of a screening, and shares of the variance with their intervals."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.registry import captioned, figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tradespace.results import Drivers, Results

BARS = 10
"""Inputs shown of each answer."""
NAMED = 8
"""Inputs named beside their marks on a plane, where there is room."""
LETTER, LINE = 0.0145, 0.05
"""Width of a letter and height of a line, as shares of a panel [1]."""
COLOURS = {"frozen": style.BLUE, "free": style.ORANGE}
MARKS = {"frozen": "circle", "free": "diamond-open"}
ALIKE = 0.02
"""Difference over the largest number of an answer up to which two calendars look the same [1]."""
PANELS = 6
"""Answers for which one figure has room."""


def asked(results: Results) -> Sequence[str]:
    """Architectures for which it was worked out what drives them."""
    found = drivers_of(results)
    return [] if found is None else list(dict.fromkeys(found.variance["architecture"].astype(str)))


def drivers_of(results: Results) -> Drivers | None:
    """What was worked out, or None."""
    return None if results.sensitivity is None else results.sensitivity.drivers


def input_label(name: str, width: int = 26) -> str:
    """An input in words, in lines short enough for the room beside a bar."""
    return style.wrapped(style.words(name), width)


def calendars(rows: pd.DataFrame) -> list[str]:
    """Calendars for which there are numbers, frozen first."""
    return [name for name in ("frozen", "free") if (rows["calendar"] == name).any()]


def told_apart(rows: pd.DataFrame, column: str) -> pd.DataFrame:
    """The rows without those of the frozen calendar where it tells the same as the free one."""
    both = rows.pivot_table(index=["metric", "quantity"], columns="calendar", values=column, observed=True)
    if not {"frozen", "free"} <= set(both.columns):
        return rows
    both = both.dropna()
    size = both["free"].abs().groupby(level="metric").transform("max")
    same = bool(((both["frozen"] - both["free"]).abs() <= ALIKE * size).all())
    return rows[rows["calendar"] == "free"] if same else rows


def calendar_words(shown: pd.DataFrame, rows: pd.DataFrame) -> str:
    """What frozen and free mean, where both are drawn, or that they are the same."""
    if len(calendars(rows)) == 1:
        return ""
    if len(calendars(shown)) == 1:
        return (
            " Departures frozen on the dates of the reference design change nothing here that could be seen."
        )
    return " Frozen keeps every departure on the date of the reference design; free lets each design choose its dates."


@figure("elasticities", title="Percent for percent: {}", section="driving", variants=asked, width=180)
def elasticities(results: Results, architecture: str) -> go.Figure | None:
    """Elasticity of each answer to the inputs it follows most, one panel per answer."""
    found = drivers_of(results)
    if found is None:
        return None
    table = found.elasticities[found.elasticities["architecture"] == architecture]
    smooth = told_apart(table[np.isfinite(table["elasticity"].to_numpy(dtype=np.float64))], "elasticity")
    metrics = list(dict.fromkeys(smooth["metric"].astype(str)))[:PANELS]
    if not metrics:
        return None
    drawn = style.panels(
        [style.label(name) for name in metrics], 34 * BARS + 60, horizontal_spacing=0.26, gap=96
    )
    told: set[str] = set()
    findings = []
    for index, metric in enumerate(metrics):
        rows = smooth[smooth["metric"] == metric]
        names = strongest(rows, "elasticity")
        findings.append(f"{style.words(metric)}: {style.words(names[-1])}")
        for calendar in calendars(rows):
            part = rows[rows["calendar"] == calendar].drop_duplicates("quantity").set_index("quantity")
            part = part.reindex([name for name in names if name in part.index])
            drawn.add_trace(
                go.Bar(
                    y=[input_label(str(name)) for name in part.index],
                    x=part["elasticity"],
                    orientation="h",
                    name=f"calendar {calendar}",
                    legendgroup=calendar,
                    showlegend=calendar not in told and len(calendars(smooth)) > 1,
                    marker=bar_look(calendar),
                    hovertemplate="%{y}<br>%{x:.3f} % for 1 %<extra></extra>",
                ),
                **style.place(index, 2),
            )
            told.add(calendar)
        style.line_across(drawn, style.place(index, 2), {"color": style.BLACK, "width": 1}, x=0.0)
    drawn.update_layout(barmode="group", bargap=0.25)
    drawn.update_xaxes(title_text="Elasticity (–)")
    drawn.update_yaxes(showgrid=False, tickfont={"size": 11}, type="category")
    words = (
        f"{style.title_of(results, architecture)}: by how many percent an answer moves when an input alone grows by "
        f"one percent, at the reference design; the {BARS} strongest. Strongest: {'; '.join(findings)}."
        f"{calendar_words(smooth, table)}{rough_words(table)}"
    )
    return captioned(drawn, words)


def bar_look(calendar: str) -> dict[str, Any]:
    """Colour and pattern of a bar, so that colour is not all that tells the calendars apart."""
    return {
        "color": COLOURS[calendar],
        "pattern": {
            "shape": "/" if calendar == "free" else "",
            "fillmode": "overlay",
            "fgcolor": style.WHITE,
        },
        "line": {"color": style.BLACK, "width": 0.6},
    }


def rough_words(table: pd.DataFrame) -> str:
    """Inputs to which some answer has no elasticity, with the reason that is told most."""
    rough = table[~np.isfinite(table["elasticity"].to_numpy(dtype=np.float64))]
    if rough.empty:
        return ""
    names = list(dict.fromkeys(rough["quantity"].astype(str)))
    first = rough.iloc[0]
    shown = ", ".join(style.words(name) for name in names[:3]) + (" and others" if len(names) > 3 else "")
    return (
        f" No elasticity, because an answer bends, jumps or has no finite value there: {shown} (for one, "
        f"{style.words(str(first['metric']))} to {style.words(str(first['quantity']))}: {first['note']})."
    )


def strongest(rows: pd.DataFrame, column: str) -> list[str]:
    """Inputs with the largest numbers in either calendar, the largest last, as bars are stacked upward."""
    size = rows[column].abs().groupby(rows["quantity"].astype(str)).max()
    kept = size[size > 0.0].sort_values(kind="stable").tail(BARS)
    return [str(name) for name in kept.index]


@figure(
    "screening",
    title="Which inputs move it, alone or together: {}",
    section="driving",
    variants=asked,
    width=180,
)
def screening(results: Results, architecture: str) -> go.Figure | None:
    """Strength against unevenness of every uncertain input, one panel per answer."""
    found = drivers_of(results)
    if found is None:
        return None
    whole = found.screening[found.screening["architecture"] == architecture]
    table = told_apart(whole[whole["strength"] > 0.0], "strength")
    metrics = [name for name in dict.fromkeys(table["metric"].astype(str)) if name != "closes"][:PANELS]
    if not metrics:
        return None
    drawn = style.panels([style.label(name) for name in metrics], 330, horizontal_spacing=0.12, gap=96)
    told: set[str] = set()
    for index, metric in enumerate(metrics):
        rows = table[table["metric"] == metric]
        spot, unit = style.place(index, 2), axis_unit(metric)
        wide, high = (
            1.25 * float(style.shown(metric, rows[key].max())) for key in ("strength", "unevenness")
        )
        edges = wide, max(high, LINE * wide)
        for calendar in calendars(rows):
            part = rows[rows["calendar"] == calendar].sort_values("strength", kind="stable", ascending=False)
            marks = screening_marks(part, metric, calendar, edges, named=calendar == calendars(rows)[-1])
            marks.showlegend = calendar not in told and len(calendars(table)) > 1
            drawn.add_trace(marks, **spot)
            told.add(calendar)
        line = {"color": style.GREY, "width": 1.5, "dash": "dash"}
        drawn.add_shape(
            type="line", x0=0.0, y0=0.0, x1=min(edges), y1=min(edges), layer="below", line=line, **spot
        )
        drawn.update_xaxes(title_text=f"Strength ({unit})", range=[-0.03 * edges[0], edges[0]], **spot)
        drawn.update_yaxes(title_text=f"Unevenness ({unit})", range=[-0.03 * edges[1], edges[1]], **spot)
    words = (
        f"{style.title_of(results, architecture)}: every uncertain input is moved by half of its range of probability "
        "while all others lie anywhere in theirs. Strength: mean size of the change of the answer for the whole range; "
        "unevenness: its standard deviation. Marks on or above the dashed line bend the answer or work together with "
        "others; marks near the bottom act alone and evenly."
        f"{calendar_words(table, whole)}{about_words(found, architecture, 'screening')}"
    )
    return captioned(drawn, words)


def axis_unit(metric: str) -> str:
    """Display unit of an answer."""
    from tradespace.quantities import quantity

    return style.pretty_unit(quantity(metric).display_unit)


def screening_marks(
    part: pd.DataFrame, metric: str, calendar: str, edges: tuple[float, float], *, named: bool
) -> go.Scatter:
    """One mark per input, the strongest with their names."""
    names = [style.words(str(name)) for name in part["quantity"]]
    x, y = (style.shown(metric, part[key].to_numpy(dtype=np.float64)) for key in ("strength", "unevenness"))
    sides = label_sides(
        [(float(a) / edges[0], float(b) / edges[1]) for a, b in zip(x, y, strict=True)], names
    )
    return go.Scatter(
        x=x,
        y=y,
        mode="markers+text" if named else "markers",
        text=[style.escape(name) if side else "" for name, side in zip(names, sides, strict=True)],
        hovertext=[style.escape(name) for name in names],
        textposition=[side or "top center" for side in sides],
        textfont={"size": 10},
        name=f"calendar {calendar}",
        legendgroup=calendar,
        marker={
            "symbol": MARKS[calendar],
            "size": 8,
            "color": COLOURS[calendar],
            "line": {"width": 1.5, "color": COLOURS[calendar]},
        },
        hovertemplate="%{hovertext}<br>strength %{x:.3g}, unevenness %{y:.3g}<extra>calendar "
        + calendar
        + "</extra>",
    )


def label_sides(marks: list[tuple[float, float]], names: list[str]) -> list[str]:
    """On which side of the strongest marks their names stand, so that none covers another; empty for no name.

    Parameters
    ----------
    marks : list of tuple
        Places as shares of the panel, the strongest first.
    names : list of str
        What stands there.
    """
    taken: list[tuple[float, float, float, float]] = []
    sides = []
    for place, ((x, y), name) in enumerate(zip(marks, names, strict=True)):
        others = [(a, a, b, b) for a, b in marks[: 2 * NAMED] if (a, b) != (x, y)]
        chosen = ""
        for side, box in label_boxes(x, y, name) if place < NAMED else ():
            inside = box[0] > 0.0 and box[1] < 1.0 and box[2] > -LINE
            if inside and not any(overlaps(box, other) for other in (*taken, *others)):
                chosen = side
                taken.append(box)
                break
        sides.append(chosen)
    return sides


def label_boxes(x: float, y: float, name: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Where a name could stand beside a mark, best first: its side, and left, right, low, high of it."""
    wide, tall = LETTER * len(name), LINE
    corners = (
        ("middle right", x + LETTER, y - 0.5 * tall),
        ("top center", x - 0.5 * wide, y + 0.4 * tall),
        ("bottom center", x - 0.5 * wide, y - 1.4 * tall),
        ("middle left", x - wide - LETTER, y - 0.5 * tall),
    )
    return [(side, (left, left + wide, low, low + tall)) for side, left, low in corners]


def overlaps(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Whether two boxes (left, right, low, high) share a point."""
    return one[0] <= other[1] and other[0] <= one[1] and one[2] <= other[3] and other[2] <= one[3]


@figure(
    "variance_shares", title="What carries the variance: {}", section="driving", variants=asked, width=180
)
def variance_shares(results: Results, architecture: str) -> go.Figure | None:
    """First and total share of the variance of each answer with intervals, one panel per answer."""
    found = drivers_of(results)
    if found is None:
        return None
    table = found.variance[found.variance["architecture"] == architecture]
    calendar = calendars(table)[-1] if len(table) else ""
    rows = table[table["calendar"] == calendar]
    metrics = list(dict.fromkeys(rows["metric"].astype(str)))[:PANELS]
    if not metrics:
        return None
    drawn = style.panels(
        [style.label(name) for name in metrics], 34 * BARS + 60, horizontal_spacing=0.26, gap=96
    )
    findings = []
    for index, metric in enumerate(metrics):
        part = rows[rows["metric"] == metric].set_index("quantity")
        names = strongest(part.reset_index(), "total")
        part = part.loc[names]
        top = part.iloc[-1]
        findings.append(
            f"{style.words(metric)}: {style.words(names[-1])} ({style.percent(float(top['total']))})"
        )
        for kind, colour, pattern in (("total", style.SKY, ""), ("first", style.VERMILLION, "/")):
            value = part[kind].to_numpy(dtype=np.float64)
            drawn.add_trace(
                go.Bar(
                    y=[input_label(name) for name in names],
                    x=100.0 * np.maximum(value, 0.0),
                    orientation="h",
                    name={"total": "together with all others", "first": "of the input alone"}[kind],
                    legendgroup=kind,
                    showlegend=index == 0,
                    error_x={
                        "type": "data",
                        "symmetric": False,
                        "array": 100.0 * (part[f"{kind}_high"] - value),
                        "arrayminus": 100.0 * np.maximum(np.minimum(value - part[f"{kind}_low"], value), 0.0),
                        "thickness": 1.2,
                        "width": 3,
                        "color": style.BLACK,
                    },
                    marker={
                        "color": colour,
                        "pattern": {"fillmode": "overlay", "shape": pattern, "fgcolor": style.WHITE},
                        "line": {"color": style.BLACK, "width": 0.6},
                    },
                    hovertemplate="%{y}<br>%{x:.1f} % of the variance<extra></extra>",
                ),
                **style.place(index, 2),
            )
    drawn.update_layout(barmode="group", bargap=0.25)
    drawn.update_xaxes(title_text="Share of the variance (%)", rangemode="tozero")
    drawn.update_yaxes(showgrid=False, tickfont={"size": 11}, type="category")
    free = ", with the calendar free" if len(calendars(table)) > 1 else ""
    words = (
        f"{style.title_of(results, architecture)}: share of the variance of each answer that an input carries alone, "
        f"and together with all others{free}; lines are intervals at 95 %, of random samples and so on "
        f"the safe side. Largest: {'; '.join(findings)}.{moved_words(table)}"
        f"{about_words(found, architecture, 'variance', calendar)}"
    )
    return captioned(drawn, words)


def moved_words(table: pd.DataFrame) -> str:
    """What the calendar changes: the share that differs most between frozen and free; empty where there is one."""
    if len(calendars(table)) == 1:
        return ""
    both = table.pivot_table(index=["metric", "quantity"], columns="calendar", values="total", observed=True)
    both = both.dropna()
    if both.empty:
        return ""
    gap = (both["frozen"] - both["free"]).abs()
    row = both.iloc[int(np.argmax(gap.to_numpy()))]
    metric, name = both.index[int(np.argmax(gap.to_numpy()))]
    return (
        f" With departures frozen on the dates of the reference design the largest change is that of "
        f"{style.words(str(name))} for {style.words(str(metric))}: {style.percent(float(row['frozen']))} instead of "
        f"{style.percent(float(row['free']))}."
    )


def about_words(found: Drivers, architecture: str, method: str, calendar: str = "") -> str:
    """Runs behind a figure, and what its numbers stand for."""
    rows = found.about[(found.about["architecture"] == architecture) & (found.about["method"] == method)]
    if calendar:
        rows = rows[rows["calendar"] == calendar]
    if rows.empty:
        return ""
    row = rows.iloc[-1]
    note = str(row["note"])
    return f" {int(rows['runs'].sum())} runs{'; ' + note if note else ''}."
