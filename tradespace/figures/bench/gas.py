"""The rate of gas by every way that was read, and what they agree on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.bench.points import Along, along, bars, middle
from tradespace.figures.registry import captioned
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.bench.records import Reconciled
    from tradespace.physics.compiled import FloatArray

RATE = "hydrogen_rate"
WAYS = {
    "flow": ("gas meter", style.BLUE, "circle"),
    "weight": ("water lost", style.VERMILLION, "square"),
    "charge": ("charge", style.GREEN, "diamond"),
    "heat": ("heat of the cell", style.PURPLE, "triangle-up"),
    "engine": ("flow of the engine", style.ORANGE, "cross"),
}
LEAST_WAYS = 2
BAND = style.TOL_MUTED[4]
SCALES = (("kg/h", 0.3), ("g/h", 0.3))
"""Units of a rate, each with the largest value from which on it is taken, in that unit."""


def gas_rates(reconciled: Reconciled) -> go.Figure | None:
    """Hydrogen by each way with bars of k = 2 and the reconciled band; below, each over the reconciled rate.

    None where no rate was reconciled, or a single way tells of it.
    """
    made = reconciled.column(RATE)
    ways = [name for name in WAYS if np.isfinite(reconciled.column(f"{RATE}_{name}")).any()]
    if len(ways) < LEAST_WAYS or not np.isfinite(made).any():
        return None
    axis = along(reconciled.readings, np.isfinite(made))
    largest = float(np.nanmax(made))
    unit = next((name for name, edge in SCALES if convert(largest, "kg/s", name) >= edge), "mg/h")
    drawn = style.panels(
        ["Hydrogen made", "Over the reconciled rate"], 240, columns=1, gap=70, shared_xaxes=True
    )
    for row, scale in enumerate((convert(1.0, "kg/s", unit) * np.ones(made.size), 100.0 / made), start=1):
        for trace in _band(reconciled, axis, scale, shown=row == 1):
            drawn.add_trace(trace, row=row, col=1)
        for name in ways:
            drawn.add_trace(_way(reconciled, axis, name, scale, shown=row == 1), row=row, col=1)
    drawn.update_yaxes(title_text=f"Hydrogen made ({unit})", rangemode="tozero", row=1, col=1)
    drawn.update_yaxes(title_text="Share of it (%)", row=2, col=1)
    drawn.update_xaxes(title_text=axis.title, row=2, col=1)
    drawn.update_layout(legend={"traceorder": "normal"})
    return captioned(drawn, gas_words(reconciled, ways, axis))


def _band(reconciled: Reconciled, axis: Along, scale: FloatArray, *, shown: bool) -> list[go.Scatter]:
    """The reconciled rate: two standard uncertainties to either side, and the middle."""
    made, width = reconciled.column(RATE), 2.0 * np.nan_to_num(reconciled.deviation(RATE))
    low, high, line = (axis.of(values * scale) for values in (made - width, made + width, made))
    return [
        go.Scatter(
            x=np.concatenate([axis.values, axis.values[::-1]]), y=np.concatenate([high, low[::-1]]), fill="toself",
            fillcolor=BAND, opacity=0.6, mode="lines", line={"width": 0, "color": BAND}, name="reconciled, k = 2",
            legendgroup="band", showlegend=shown, hoverinfo="skip", meta={"drawing_only": True},
        ),
        go.Scatter(
            x=axis.values, y=line, mode="lines", line={"color": style.BLACK, "width": 1.4}, name="reconciled",
            legendgroup="reconciled", showlegend=shown, hovertemplate="%{y:.4g}<extra>reconciled</extra>",
        ),
    ]  # fmt: skip


def _way(reconciled: Reconciled, axis: Along, name: str, scale: FloatArray, *, shown: bool) -> go.Scatter:
    """One way with its bars."""
    words, colour, symbol = WAYS[name]
    column, deviation = (part(f"{RATE}_{name}") for part in (reconciled.column, reconciled.deviation))
    return go.Scatter(
        x=axis.values, y=axis.of(column * scale), mode="markers", name=words, legendgroup=name, showlegend=shown,
        marker={"color": colour, "symbol": symbol, "size": 6, "line": {"width": 0.5, "color": style.WHITE}},
        error_y=bars(axis.of(deviation * scale), colour), hovertemplate="%{y:.4g}<extra>" + words + "</extra>",
    )  # fmt: skip


def gas_words(reconciled: Reconciled, ways: list[str], axis: Along) -> str:
    """How far each way lies from what they agree on, and how sure that is."""
    made = reconciled.column(RATE)
    parts = []
    for name in ways:
        away = 100.0 * (middle(reconciled.column(f"{RATE}_{name}") / made) - 1.0)
        doubt = 200.0 * middle(reconciled.deviation(f"{RATE}_{name}") / made)
        parts.append(
            f"{WAYS[name][0]} {style.number(away, 2)}{style.NARROW}% (k = 2: {style.number(doubt, 2)}{style.NARROW}%)"
        )
    sure = 200.0 * middle(reconciled.deviation(RATE) / made)
    charge = (
        " The charge bounds the gas from above: what it makes beyond the gas found went past the electrodes or was "
        "lost."
        if "charge" in ways
        else ""
    )
    return (
        "Hydrogen by each way that was read, bars and band of two standard uncertainties. Median distance from the "
        f"reconciled rate: {'; '.join(parts)}. The reconciled rate is known to {percents(sure)} "
        f"(k = 2).{charge}{axis.words}"
    )


def percents(value: float) -> str:
    """A percentage with two digits."""
    return f"{style.number(value, 2)}{style.NARROW}%"
