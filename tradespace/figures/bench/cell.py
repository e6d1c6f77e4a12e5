"""The voltage of a cell over its current density: read, fitted, and what it is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.bench.points import bars, thinned_words
from tradespace.figures.registry import captioned
from tradespace.units import convert

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tradespace.bench.records import Fit, Reconciled
    from tradespace.physics.compiled import FloatArray

MOST = 300
"""Readings that are drawn."""
PARTS = (
    ("reversible_part", "reversible", style.GREY, ""),
    ("activation_part", "activation", style.TOL_MUTED[2], "."),
    ("ohmic_part", "ohmic", style.TOL_MUTED[0], "/"),
)
"""Curves of a fit with words, colour and pattern, from the axis upward."""
FITTED = ("current_density", "fitted_voltage", "fitted_low", "fitted_high")


def cell_curve(reconciled: Reconciled, fit: Fit) -> go.Figure | None:
    """Cell voltage with bars, fitted curve with its 95 % band, and its parts; None where no voltage was read."""
    density, voltage = reconciled.column("current_density"), reconciled.column("cell_voltage")
    known = np.flatnonzero(np.isfinite(density) & np.isfinite(voltage))
    if not known.size:
        return None
    order = known[np.argsort(density[known], kind="stable")]
    step = max(-(-order.size // MOST), 1)
    drawn = style.blank(460)
    curves = _curves(fit)
    for trace in _parts(curves) if curves else []:
        drawn.add_trace(trace)
    place = order[::step]
    drawn.add_trace(
        go.Scatter(
            x=_shown(density[place]), y=voltage[place], mode="markers", name="read, k = 2",
            marker={"color": style.BLUE, "size": 6, "line": {"width": 0.5, "color": style.WHITE}},
            error_y=bars(reconciled.deviation("cell_voltage")[place], style.BLUE),
            hovertemplate="%{x:.4g}: %{y:.4g} V<extra>read</extra>",
        )
    )  # fmt: skip
    highest = max(float(np.nanmax(voltage)), float(np.max(curves.get("fitted_high", 0.0))))
    drawn.update_xaxes(title_text="Current density (A/cm²)", rangemode="tozero")
    drawn.update_yaxes(title_text="Voltage of one cell (V)", range=[0.0, 1.08 * highest])
    drawn.update_layout(legend={"traceorder": "normal"}, margin={"t": 76})
    return captioned(drawn, cell_words(fit, curves) + thinned_words(order.size, step))


def _shown(density: FloatArray) -> FloatArray:
    return np.asarray(convert(density, "A/m2", "A/cm2"))


def _curves(fit: Fit) -> dict[str, FloatArray]:
    """Curves of the fit by rising current density; none where no cell was fitted."""
    if not all(name in fit.curves and np.size(fit.curves[name]) for name in FITTED):
        return {}
    order = np.argsort(fit.curves["current_density"], kind="stable")
    names = [name for name in (*FITTED, *(part[0] for part in PARTS)) if name in fit.curves]
    return {name: np.asarray(fit.curves[name])[order] for name in names}


def _parts(curves: Mapping[str, FloatArray]) -> list[go.Scatter]:
    """The parts on top of each other, then the band and the line of the whole."""
    x = _shown(curves["current_density"])
    base, found = np.zeros(x.size), []
    for name, words, colour, shape in PARTS:
        if name not in curves:
            continue
        top = base + curves[name]
        found.append(
            go.Scatter(
                x=np.concatenate([x, x[::-1]]), y=np.concatenate([top, base[::-1]]), fill="toself", fillcolor=colour,
                fillpattern={"shape": shape, "fillmode": "replace", "bgcolor": colour, "fgcolor": style.WHITE,
                             "size": 7, "solidity": 0.25},
                mode="lines", line={"width": 0.6, "color": style.WHITE}, name=words, hoverinfo="skip",
                meta={"drawing_only": True},
            )
        )  # fmt: skip
        base = top
    low, high = curves["fitted_low"], curves["fitted_high"]
    found.append(
        go.Scatter(
            x=np.concatenate([x, x[::-1]]), y=np.concatenate([high, low[::-1]]), fill="toself", mode="lines",
            fillcolor=style.TOL_MUTED[4], line={"width": 0.8, "color": style.TOL_MUTED[4]}, name="95 % band",
            hoverinfo="skip", meta={"drawing_only": True},
        )
    )  # fmt: skip
    found.append(
        go.Scatter(
            x=x, y=curves["fitted_voltage"], mode="lines", line={"color": style.BLACK, "width": 2}, name="fitted",
            hovertemplate="%{x:.4g}: %{y:.4g} V<extra>fitted</extra>",
        )
    )  # fmt: skip
    return found


def cell_words(fit: Fit, curves: Mapping[str, FloatArray]) -> str:
    """What the highest current density asks for, part by part, and how sure the fitted numbers are."""
    if not curves:
        return (
            "Voltage of one cell as read, bars of two standard uncertainties. The readings do not suffice for a fit "
            "of the cell, so its parts are not known."
        )
    last = -1
    named = [f"{words} {volts(float(curves[name][last]))}" for name, words, *_ in PARTS if name in curves]
    at = style.number(float(_shown(curves["current_density"])[last]))
    text = (
        f"Voltage of one cell over current density, readings with bars of two standard uncertainties, fitted curve "
        f"with its 95 % band. At {at}{style.NARROW}A/cm² the fit has {volts(float(curves['fitted_voltage'][last]))}: "
        f"{', '.join(named)}; what is left over is transport."
    )
    for name in ("cell_ohmic_factor", "cell_activation_factor"):
        if name in fit.names:
            place = fit.names.index(name)
            text += (
                f" {style.label(name)} {style.number(fit.value(name))} ({style.number(float(fit.low[place]))} to "
                f"{style.number(float(fit.high[place]))}) of that of the model."
            )
    return text


def volts(voltage: float) -> str:
    """A voltage in volts."""
    return f"{style.number(voltage)}{style.NARROW}V"
