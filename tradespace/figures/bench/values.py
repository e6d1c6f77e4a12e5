"""What the readings say of each parameter, beside what was assumed before them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import plotly.graph_objects as go

from tradespace import constants
from tradespace.figures import style
from tradespace.figures.registry import captioned
from tradespace.quantities import quantities
from tradespace.units import convert

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tradespace.bench.records import Fit

VALUES = "bench_fit_values.csv"
BEFORE, AFTER = "assumed before", "readings"
ROW = 112
"""Height of a panel [px]."""
COLUMNS = 2


class Interval(NamedTuple):
    """A value with its 95 % interval [SI]."""

    low: float
    value: float
    high: float


def assumed_before(names: tuple[str, ...]) -> dict[str, Interval]:
    """What was assumed of each parameter before any reading: mean and two deviations, within what it may be [SI]."""
    table, known, found = constants.table_values(VALUES), quantities(), dict[str, Interval]()
    for name in names:
        row = table.get(f"prior_{name}")
        if row is None:
            continue
        reach = float(row.high) - float(row.low)  # half of it is one deviation
        item = known.get(name)
        least = -math.inf if item is None or item.low is None else item.low
        most = math.inf if item is None or item.high is None else item.high
        low, value, high = (
            min(max(number, least), most) for number in (row.value - reach, row.value, row.value + reach)
        )
        found[name] = Interval(low, value, high)
    return found


def calibrated_values(fit: Fit, before: Mapping[str, Interval] | None = None) -> go.Figure | None:
    """A panel per parameter: value with 95 % interval from the readings, beside what was assumed before.

    Hollow where the readings did not tell of it; None where nothing was fitted.

    Parameters
    ----------
    fit : Fit
        Parameters that are inputs of a study.
    before : mapping, optional
        Interval of each parameter before any reading; that of the table when not given.
    """
    known = quantities()
    names = [name for name in fit.names if name in known and known[name].role != "output"]
    if not names:
        return None
    earlier = assumed_before(tuple(names)) if before is None else before
    cells: list[dict[str, str] | None] = [*({} for _ in names), *[None] * (len(names) % COLUMNS)]
    columns = min(COLUMNS, len(names))
    rows_of_cells = [cells[first : first + columns] for first in range(0, len(names), columns)]
    drawn = style.panels(
        [""] * len(names), ROW, columns=COLUMNS, gap=72, horizontal_spacing=0.14, specs=rows_of_cells
    )
    seen: set[str] = set()
    for index, name in enumerate(names):
        spot = style.place(index, columns)
        place = fit.names.index(name)
        rows = []
        if name in earlier:
            rows.append((BEFORE, earlier[name], True))
        told = Interval(*(float(part[place]) for part in (fit.low, fit.values, fit.high)))
        rows.append((AFTER, told, fit.informed[place]))
        for words, interval, full in rows:
            key = words if words == BEFORE else f"{words}{'' if full else ', which say little'}"
            drawn.add_trace(_interval(name, words, key, interval, full=full, shown=key not in seen), **spot)
            seen.add(key)
        drawn.update_xaxes(title_text=style.axis_title(name), nticks=6, **spot)
    drawn.update_yaxes(type="category", categoryorder="array", categoryarray=[AFTER, BEFORE], showgrid=False)
    drawn.update_yaxes(showticklabels=False, range=[-0.6, 1.6])
    return captioned(drawn, values_words(fit, names, earlier))


def _interval(name: str, words: str, key: str, interval: Interval, *, full: bool, shown: bool) -> go.Scatter:
    """A value with its bar."""
    low, value, high = (float(style.shown(name, number)) for number in interval)
    colour = style.ORANGE if words == BEFORE else style.BLUE
    symbol = "diamond" if words == BEFORE else "circle"
    return go.Scatter(
        x=[value], y=[words], mode="markers", name=key, legendgroup=key, showlegend=shown,
        marker={
            "color": colour if full else style.WHITE, "symbol": symbol, "size": 11,
            "line": {"color": colour, "width": 2.0},
        },
        error_x={"array": [high - value], "arrayminus": [value - low], "color": colour, "thickness": 2.2, "width": 6},
        hovertemplate="%{x:.4g}<extra>" + key + "</extra>",
    )  # fmt: skip


def value_text(name: str, interval: Interval) -> str:
    """A value with its interval in the display unit."""
    item = quantities()[name]
    low, value, high = (
        style.number(float(convert(number, item.unit, item.display_unit))) for number in interval
    )
    unit = style.pretty_unit(item.display_unit)
    return f"{value} ({low} to {high})" + ("" if unit == "–" else f"{style.NARROW}{unit}")


def values_words(fit: Fit, names: list[str], earlier: Mapping[str, Interval]) -> str:
    """Values with intervals, before and after, and which the readings did not narrow."""
    parts, silent = [], []
    for name in names:
        place = fit.names.index(name)
        now = Interval(*(float(part[place]) for part in (fit.low, fit.values, fit.high)))
        then = f", before {value_text(name, earlier[name])}" if name in earlier else ""
        parts.append(f"{style.words(name)} {value_text(name, now)}{then}")
        silent += [] if fit.informed[place] else [style.words(name)]
    text = f"Parameters of the models with 95 % intervals: {'; '.join(parts)}."
    if silent:
        text += (
            f" Hollow: the readings narrow {', '.join(silent)} by less than a tenth, so what was assumed before "
            "stands."
        )
    return text
