"""A thrust reading against what its flow can give at most."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import plotly.graph_objects as go

from tradespace.figures import style
from tradespace.figures.bench.points import Along, along, bars, middle
from tradespace.figures.registry import captioned

if TYPE_CHECKING:
    from tradespace.bench.records import Reconciled
    from tradespace.physics.compiled import FloatArray

BOUNDARY, FORBIDDEN = style.BLACK, style.TOL_MUTED[0]
ROOM = 1.15
"""How far the axis goes beyond the highest line."""
HIGHEST = 2.5
"""Bounds beyond this many times the larger of reading and lowest bound are cut off."""


class Bound(NamedTuple):
    """One bound at every point."""

    words: str
    values: FloatArray
    colour: str
    dash: str


def bounds_of(reconciled: Reconciled) -> list[Bound]:
    """The bounds that are known somewhere [N], the tightest first."""
    burns = np.nan_to_num(reconciled.readings.column("lit"), nan=1.0) > 0.5
    flow = reconciled.column("thrust_bound_flow")
    found = [
        Bound(
            "bound: ideal expansion to the surroundings",
            reconciled.column("thrust_bound_ground"),
            style.BLUE,
            "dash",
        ),
        Bound(
            "bound: energy stored in the gas", reconciled.column("thrust_bound_energy"), style.PURPLE, "dot"
        ),
        Bound(
            "bound: all heat of the flow (first law)", np.where(burns, flow, np.nan), style.GREEN, "dashdot"
        ),
        Bound("bound: all warmth of the cold gas", np.where(burns, np.nan, flow), style.ORANGE, "longdash"),
    ]
    known = [one for one in found if np.isfinite(one.values).any()]
    return sorted(known, key=lambda one: middle(one.values))


def thrust_bounds(reconciled: Reconciled) -> go.Figure | None:
    """Thrust with bars of k = 2, its bounds as lines, and what lies beyond the tightest shaded.

    None where no thrust was read or no bound is known.
    """
    thrust = reconciled.column("thrust")
    found = bounds_of(reconciled)
    if not found or not np.isfinite(thrust).any():
        return None
    axis = along(reconciled.readings, np.isfinite(thrust))
    lowest = _lowest(found)
    tops = np.concatenate([thrust, lowest])
    reach = float(np.nanmax(tops))
    size, unit = (1.0, "N") if reach >= 1.0 else (1e3, "mN")
    drawn = style.blank(480)
    seen = np.concatenate(
        [tops, *(np.where(one.values < HIGHEST * reach, one.values, np.nan) for one in found)]
    )
    end = ROOM * size * float(np.nanmax(seen))
    _shade(drawn, axis, size * lowest, end)
    for one in found:
        drawn.add_trace(
            go.Scatter(
                x=axis.values, y=size * axis.of(one.values), mode="lines", name=one.words,
                line={"color": one.colour, "dash": one.dash, "width": 2}, connectgaps=False,
                hovertemplate="%{y:.4g}<extra>" + one.words + "</extra>",
            )
        )  # fmt: skip
    drawn.add_trace(
        go.Scatter(
            x=axis.values, y=size * axis.of(thrust), mode="markers", name="thrust read, k = 2",
            marker={"color": style.VERMILLION, "size": 6, "line": {"width": 0.5, "color": style.WHITE}},
            error_y=bars(size * axis.of(reconciled.deviation("thrust")), style.VERMILLION),
            hovertemplate="%{y:.4g}<extra>read</extra>",
        )
    )  # fmt: skip
    floor = min(1.1 * size * float(np.nanmin(thrust)), 0.0)
    drawn.update_yaxes(title_text=f"Thrust ({unit})", range=[floor, end])
    drawn.update_xaxes(title_text=axis.title)
    drawn.update_layout(legend={"traceorder": "normal"}, margin={"t": 96})
    return captioned(drawn, bounds_words(reconciled, found, lowest, axis))


def _lowest(found: list[Bound]) -> FloatArray:
    """The tightest bound at every point; not a number where none is known."""
    stack = np.array([np.where(np.isfinite(one.values), one.values, np.inf) for one in found]).min(axis=0)
    return np.where(np.isfinite(stack), stack, np.nan)


def _shade(drawn: go.Figure, axis: Along, lowest: FloatArray, end: float) -> None:
    """What lies beyond the tightest bound, with its boundary."""
    edge = axis.of(lowest)
    known = np.isfinite(edge)
    x, y = axis.values[known], edge[known]
    if x.size == 1:
        x, y = np.array([x[0] - 0.5, x[0] + 0.5]), np.array([y[0], y[0]])
    if not x.size:
        return
    drawn.add_trace(
        go.Scatter(
            x=np.concatenate([x, x[::-1]]), y=np.concatenate([y, np.full(y.size, end)]), fill="toself", mode="lines",
            fillcolor=FORBIDDEN, opacity=0.55, line={"width": 0, "color": FORBIDDEN},
            name="impossible: beyond the tightest bound",
            fillpattern={"shape": "/", "fillmode": "replace", "bgcolor": style.WHITE, "fgcolor": FORBIDDEN, "size": 9,
                         "solidity": 0.3},
            hoverinfo="skip", meta={"drawing_only": True},
        )
    )  # fmt: skip
    drawn.add_trace(
        go.Scatter(
            x=x, y=y, mode="lines", line={"color": BOUNDARY, "width": 2.4}, name="boundary", hoverinfo="skip",
            showlegend=False,
            meta={"drawing_only": True},
        )
    )  # fmt: skip


def bounds_words(reconciled: Reconciled, found: list[Bound], lowest: FloatArray, axis: Along) -> str:
    """Reading and bounds in words, the binding one first, and how many points lie beyond it."""
    thrust, doubt = reconciled.column("thrust"), 2.0 * np.nan_to_num(reconciled.deviation("thrust"))
    both = np.isfinite(thrust) & np.isfinite(lowest)
    beyond = int((both & (thrust - doubt > lowest)).sum())
    named = [f"{one.words.removeprefix('bound: ')} {newtons(middle(one.values))}" for one in found]
    verdict = (
        "every reading lies below the tightest bound within its uncertainty"
        if not beyond
        else f"{beyond} of {int(both.sum())} readings lie beyond the tightest bound by more than their uncertainty: "
        "they cannot be thrust of that flow. Usual suspects: liquid carried along, stiffness of hoses, forces of "
        "leads, the plume on its surroundings"
    )
    return (
        f"Thrust as read (median {newtons(middle(thrust))}, bars k = 2) against what its flow can give at most; "
        f"medians, the tightest first: {'; '.join(named)}. Of these bounds, {verdict}.{axis.words}"
    )


def newtons(force: float) -> str:
    """A force in newtons or millinewtons."""
    if abs(force) >= 1.0 or not np.isfinite(force):
        return f"{style.number(force)}{style.NARROW}N"
    return f"{style.number(1e3 * force)}{style.NARROW}mN"
