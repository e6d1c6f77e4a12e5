"""Drawings with panels side by side, stacked for print in one column and cut where they are taller than a page."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go

GAP = 96.0
"""Between two stacked panels, for the axis of the upper and the title of the lower [px]."""
LINE = 20.0
"""A line of the legend [px]."""
TITLE_LINE = 18.0
"""A line of the title of an axis [px]."""
WIDEST_TITLE = 30
"""Letters of a line of the title of an axis."""
LETTER = 7.0
"""Width of a letter of the legend [px]."""
SIGN = 50.0
"""Width of the sign before an entry of the legend [px]."""
TALLEST = 1300.0
"""Height of a drawing that still fits a page at the width of a column [px]."""
NARROW = 100
"""Printed width up to which panels are stacked [mm]."""
NEAR = 0.02
"""Boxes whose edges differ by less are one."""


@dataclass(frozen=True)
class Panel:
    """A box of a drawing with the axes along its sides."""

    box: tuple[float, float, float, float]
    """Left, right, bottom and top as shares of the plot."""
    x: tuple[str, ...]
    """Axes below or above, as traces call them: ``x``, ``x2`` and so on."""
    y: tuple[str, ...]


def narrowed(figure: go.Figure, width: float, pixels: float) -> list[go.Figure]:
    """Copies of a figure for a printed width: one, or several where the stacked panels do not fit a page.

    Parameters
    ----------
    figure : Figure
        As it is drawn for a wide page; it is not changed.
    width : float
        Printed width [mm].
    pixels : float
        Width of the drawing [px].
    """
    found = panels(figure)
    if width > NARROW or len({round(panel.box[0] / NEAR) for panel in found}) < 2:
        return [go.Figure(figure)]
    plot = plot_height(figure)
    heights = [(panel.box[3] - panel.box[2]) * plot for panel in found]
    return [part(figure, [found[one] for one in chosen], pixels) for chosen in pages(heights)]


def pages(heights: Sequence[float]) -> Iterator[list[int]]:
    """Places of panels that go on one page together, about evenly shared out.

    Examples
    --------
    >>> list(pages([300.0] * 6))
    [[0, 1, 2], [3, 4, 5]]
    """
    whole = sum(heights) + GAP * len(heights)
    most = max(1, math.ceil(len(heights) / math.ceil(whole / TALLEST)))
    for begin in range(0, len(heights), most):
        yield list(range(begin, min(begin + most, len(heights))))


def plot_height(figure: go.Figure) -> float:
    """Height of the area of the panels [px]."""
    margin = figure.layout.margin
    return max(float(figure.layout.height or 450) - float(margin.t or 0) - float(margin.b or 0), 1.0)


def axis(figure: go.Figure, name: str) -> Any:
    """The axis that traces call so."""
    return figure.layout[f"{name[0]}axis{name[1:]}"]


def panels(figure: go.Figure) -> list[Panel]:
    """Boxes of a drawing row by row; none where some trace has no axes."""
    pairs: dict[tuple[str, str], None] = {}
    for trace in figure.data:
        if "xaxis" not in trace:
            return []
        pairs.setdefault((trace.xaxis or "x", trace.yaxis or "y"))
    boxes: dict[tuple[float, ...], tuple[dict[str, None], dict[str, None]]] = {}
    for x, y in pairs:
        box = (*domain(figure, x), *domain(figure, y))
        near = next(
            (one for one in boxes if all(abs(a - b) < NEAR for a, b in zip(one, box, strict=True))), box
        )
        sides = boxes.setdefault(near, ({}, {}))
        sides[0].setdefault(x)
        sides[1].setdefault(y)
    order = sorted(boxes, key=lambda box: (-round(box[3] / NEAR), box[0]))
    return [
        Panel((box[0], box[1], box[2], box[3]), tuple(boxes[box][0]), tuple(boxes[box][1])) for box in order
    ]


def domain(figure: go.Figure, name: str) -> tuple[float, float]:
    """Which share of the plot an axis spans, its own or that of the axis it lies over."""
    found = axis(figure, name)
    while found.overlaying:
        found = axis(figure, str(found.overlaying))
    ends = found.domain or (0.0, 1.0)
    return float(ends[0]), float(ends[1])


def part(figure: go.Figure, chosen: Sequence[Panel], pixels: float) -> go.Figure:
    """A drawing of some panels, one above the other."""
    names = {name for panel in chosen for name in (*panel.x, *panel.y)}
    traces = [trace for trace in figure.data if {trace.xaxis or "x", trace.yaxis or "y"} <= names]
    copy = go.Figure(data=traces, layout=figure.layout)
    everything = panels(figure)
    plot = plot_height(figure)
    heights = [(panel.box[3] - panel.box[2]) * plot for panel in chosen]
    gap = GAP + TITLE_LINE * max(lines_below(figure, panel, everything) - 1 for panel in chosen)
    total = sum(heights) + gap * (len(chosen) - 1)
    boxes, top = {}, total
    for panel, height in zip(chosen, heights, strict=True):
        boxes[panel.box] = (max((top - height) / total, 0.0), min(top / total, 1.0))
        top -= height + gap
    for panel in everything:
        if panel not in chosen:
            _forget(copy, panel, names)
    for panel in chosen:
        _settle(copy, figure, panel, boxes[panel.box], everything)
    _lead(copy, names)
    copy.layout.annotations = list(_moved(figure.layout.annotations, everything, boxes, names))
    copy.layout.shapes = list(_moved(figure.layout.shapes, everything, boxes, names))
    _legend(copy, figure, plot, total, pixels)
    return copy


def _forget(copy: go.Figure, panel: Panel, kept: set[str]) -> None:
    """Take the axes of a panel out of a drawing."""
    for name in (*panel.x, *panel.y):
        if name not in kept:
            copy.layout[f"{name[0]}axis{name[1:]}"] = {"visible": False, "domain": (0.0, 0.0)}
            copy.layout[f"{name[0]}axis{name[1:]}"] = None


def _settle(
    copy: go.Figure,
    figure: go.Figure,
    panel: Panel,
    heights: tuple[float, float],
    everything: Sequence[Panel],
) -> None:
    """Give the axes of a panel their new place, and the titles and labels they shared with a neighbour."""
    for name in panel.x:
        axis(copy, name).domain = (0.0, 1.0)
        _titled(axis(copy, name), title_below(figure, panel, everything))
    for name in panel.y:
        one_axis = axis(copy, name)
        if not one_axis.overlaying:
            one_axis.domain = heights
            row = [one for one in everything if abs(one.box[3] - panel.box[3]) < NEAR]
            titles = [axis(figure, side).title.text for one in (panel, *row) for side in one.y]
            _titled(one_axis, next((title for title in titles if title), None))


def title_below(figure: go.Figure, panel: Panel, everything: Sequence[Panel]) -> str | None:
    """Title of the axis below a panel, or of the one its column shares, in lines."""
    column = [one for one in everything if abs(one.box[0] - panel.box[0]) < NEAR]
    titles = [axis(figure, side).title.text for one in (panel, *reversed(column)) for side in one.x]
    return in_lines(next((str(title) for title in titles if title), ""))


def lines_below(figure: go.Figure, panel: Panel, everything: Sequence[Panel]) -> int:
    """Lines of that title."""
    return 1 + (title_below(figure, panel, everything) or "").count("<br>")


def in_lines(title: str) -> str | None:
    """A title that is too long for a narrow axis in lines; nothing for an empty one.

    Examples
    --------
    >>> in_lines("Mixture ratio, oxygen over hydrogen by mass (–)")
    'Mixture ratio, oxygen over<br>hydrogen by mass (–)'
    """
    if "<" in title or len(title) <= WIDEST_TITLE:
        return title or None
    return "<br>".join(textwrap.wrap(title, WIDEST_TITLE, break_long_words=False))


def _titled(one: Any, title: str | None) -> None:
    """The title, and labels at the ticks in any case, unless there are no ticks at all."""
    one.title.text = title
    if one.showticklabels is False:
        one.showticklabels = True


def _lead(copy: go.Figure, names: set[str]) -> None:
    """Axes that follow one which is gone follow the first of those that are left."""
    leaders: dict[str, str] = {}
    for name in sorted(names, key=lambda name: (name[0], int(name[1:] or 1))):
        followed = axis(copy, name).matches
        if followed and followed not in names:
            leader = leaders.setdefault(str(followed), name)
            axis(copy, name).matches = None if leader == name else leader
        anchor = axis(copy, name).anchor
        if anchor and anchor != "free" and anchor not in names:
            axis(copy, name).anchor = None


def _moved(
    items: Sequence[Any], everything: Sequence[Panel], boxes: dict[Any, tuple[float, float]], names: set[str]
) -> Iterator[Any]:
    """Annotations or shapes of the panels that are left, moved with their panel where they were placed on the page."""
    for item in items:
        refs = {str(item[side]).split()[0] for side in ("xref", "yref") if item[side] is not None}
        if refs - {"paper"} and not refs - {"paper"} <= names:
            continue
        new = item.to_plotly_json()
        if "paper" not in refs:
            yield new
            continue
        across, up = (_middle(new, side) for side in "xy")
        panel = min(everything, key=lambda one: _away(one, across, up))
        if refs == {"paper"} and _away(panel, across, up) > 0.1:
            yield new  # of the whole drawing, above or below it
            continue
        if panel.box not in boxes:
            continue
        low, high = boxes[panel.box]
        left, right, bottom, top = panel.box
        for key in ("x", "x0", "x1"):
            if key in new and new.get("xref") == "paper":
                new[key] = (float(new[key]) - left) / (right - left)
        for key in ("y", "y0", "y1"):
            if key in new and new.get("yref") == "paper":
                new[key] = low + (float(new[key]) - bottom) / (top - bottom) * (high - low)
        yield new


def _middle(item: dict[str, Any], side: str) -> float | None:
    """Where an item stands along a side of the page; None where an axis tells."""
    if item.get(f"{side}ref") != "paper":
        return None
    ends = [
        float(item[key]) for key in (side, f"{side}0", f"{side}1") if isinstance(item.get(key), int | float)
    ]
    return sum(ends) / len(ends) if ends else None


def _away(panel: Panel, across: float | None, up: float | None) -> float:
    """How far a place is from a box; the edge above it, where titles stand, counts as inside."""
    left, right, bottom, top = panel.box
    aside = 0.0 if across is None else max(left - across, across - right, 0.0)
    above = 0.0 if up is None else max(bottom - up, up - top, 0.0)
    return math.hypot(aside, above)


def _legend(copy: go.Figure, figure: go.Figure, plot: float, total: float, pixels: float) -> None:
    """The legend above the first panel, with every entry whose traces are left, and room for its lines."""
    wanted = {
        trace.legendgroup or trace.name
        for trace in figure.data
        if trace.showlegend is not False and trace.name and figure.layout.showlegend is not False
    }
    entries: dict[str, str] = {}
    for trace in copy.data:
        group = trace.legendgroup or trace.name
        if trace.showlegend is False and group in wanted and group not in entries:
            same = [
                one
                for one in copy.data
                if (one.legendgroup or one.name) == group and one.showlegend is not False
            ]
            trace.showlegend = True if not same else trace.showlegend
        if group in wanted and trace.name:
            entries.setdefault(str(group), re.sub(r"<[^>]+>", "", str(trace.name)))
    widest = max((SIGN + LETTER * len(words) for words in entries.values()), default=0.0)
    lines = math.ceil(len(entries) / max(1, int((pixels - 60.0) // widest))) if entries else 0
    margin, place = copy.layout.margin, figure.layout.legend.y
    above, below = float(margin.t or 50.0), float(margin.b or 60.0)
    if place is not None and float(place) <= 0.0:  # below the panels
        below = max(below, -float(place) * plot + LINE * lines + 12.0)
        y = float(place) * plot / total
    else:
        offset = 12.0 if place is None else max((float(place) - 1.0) * plot, 12.0)
        above = max(above, offset + LINE * lines + 12.0)
        y = 1.0 + offset / total
    copy.update_layout(legend={"y": y}, margin={"t": above, "b": below}, height=total + above + below)
    _scale(copy, figure)


def _scale(copy: go.Figure, figure: go.Figure) -> None:
    """The scale of colours, where the trace that told it is not among those that are left."""
    told = [trace for trace in figure.data if "showscale" in trace and trace.showscale is not False]
    scales = [trace for trace in copy.data if "showscale" in trace]
    if not told or not scales or any(trace.showscale is not False for trace in scales):
        return
    scales[0].showscale = True
    if "colorbar" in told[0]:
        scales[0].colorbar = told[0].colorbar
