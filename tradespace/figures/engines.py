"""The engine on split water: over mixture ratio, chamber pressure and nozzle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import plotly.graph_objects as go

from tradespace.comparison import first_shown
from tradespace.constants import value
from tradespace.evaluate.devices import Opened, impulses
from tradespace.figures import style
from tradespace.figures.choice import PANELS, left_out_words
from tradespace.figures.insides import burning
from tradespace.figures.registry import captioned, figure
from tradespace.physics.combustion_table import limits

if TYPE_CHECKING:
    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

ACROSS, UP = 49, 49
"""Points of a map along the mixture ratio and along the other axis."""
FINE = 121
"""Points along a line over the mixture ratio."""
SPAN = 12.0
"""A map reaches from the design's own value over this to it times this [1]."""
FLAT = 1e-3
"""Share of its value by which an impulse has to vary to be drawn [1]."""
LOWEST = 2
"""Panel whose line is the same for all engines."""
UPRIGHT = (("chamber_pressure", "Chamber pressure"), ("expansion_ratio", "Nozzle area ratio"))
RATIO_TITLE = "Mixture ratio, O₂ to H₂ by mass (–)"


def whole_water() -> float:
    """Mixture ratio of split water [1]."""
    return value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))


def own_ratio(one: Opened) -> float:
    """Mixture ratio at which the engine of a design burns [1]."""
    own = one.architecture.mixture_ratio
    return float(one.inputs["mixture_ratio"] if own is None else own)


def calculated(results: Results) -> list[tuple[str, Opened]]:
    """Engines on both gases whose impulse follows from the flame; a stated one has nothing to show."""
    found = []
    for name, one in burning(results):
        over = impulses(one, {"mixture_ratio": ratios(7)}).burned
        if np.ptp(over) > FLAT * float(np.max(over)):
            found.append((name, one))
    return found


def ratios(count: int) -> FloatArray:
    """Mixture ratios over the whole of the flame tables, that of water among them [1]."""
    return np.union1d(np.linspace(*limits("mixture_ratio"), count), [whole_water()])


@figure("chamber_nozzle_map", title="Chamber and nozzle", section="devices", width=180)
def chamber_nozzle_map(results: Results) -> go.Figure | None:
    """Delivered specific impulse over mixture ratio and chamber pressure, and over mixture ratio and area ratio."""
    found = calculated(results)
    if not found:
        return None
    name, one = found[0]
    drawn = style.panels(
        [f"{words} against mixture ratio" for _, words in UPRIGHT], 400, horizontal_spacing=0.13
    )
    across = ratios(ACROSS)
    fields = []
    for key, _ in UPRIGHT:
        up = upward(one, key)
        grid = np.meshgrid(across, up)
        asked = {"mixture_ratio": grid[0].ravel(), key: grid[1].ravel()}
        fields.append((up, impulses(one, asked).burned.reshape(grid[0].shape)))
    low = min(float(np.percentile(field, 3)) for _, field in fields)
    high = max(float(np.max(field)) for _, field in fields)
    step = nice_step(high - low)
    here = float(impulses(one, {"mixture_ratio": np.array([own_ratio(one)])}).burned[0])
    for place, ((key, words), (up, field)) in enumerate(zip(UPRIGHT, fields, strict=True)):
        spot = style.place(place, 2)
        y = style.shown(key, up)
        drawn.add_trace(contours(across, y, field, step), **spot)
        own = float(style.shown(key, one.inputs[key]))
        drawn.add_trace(star(own_ratio(one), own, shown=place == 0), **spot)
        style.line_across(drawn, spot, {"color": style.BLACK, "width": 1.5, "dash": "dash"}, x=whole_water())
        unit = style.axis_title(key).rpartition("(")[2]
        drawn.update_yaxes(title_text=f"{words} ({unit}", **style.log_axis(y, 0.0), **spot)
    drawn.update_xaxes(title_text=RATIO_TITLE, range=[float(across[0]), float(across[-1])], showgrid=False)
    drawn.update_yaxes(showgrid=False)
    drawn.update_layout(
        coloraxis={
            "colorscale": style.scale(style.TOL_YELLOW_BROWN[:7]),
            "cmin": low,
            "cmax": high,
            "colorbar": {
                "title": {"text": "delivered specific impulse (s)", "side": "right"},
                "thickness": 14,
                "len": 0.9,
            },
        },
        margin={"t": 90},
    )
    return captioned(drawn, map_words(results, (name, one), here, fields))


def upward(one: Opened, key: str) -> FloatArray:
    """Values of the upright axis: around the design's own, inside the flame tables, by equal ratios [SI]."""
    low, high = limits(key)
    own = min(max(one.inputs[key], low), high)
    return np.geomspace(max(low, own / SPAN), min(high, own * SPAN), UP)


def nice_step(span: float) -> float:
    """Distance between two lines of a map, some ten of them over a span: 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> nice_step(180.0), nice_step(45.0)
    (20.0, 5.0)
    """
    power = 10.0 ** np.floor(np.log10(max(span, 1e-9) / 10.0))
    return float(next(step * power for step in (1, 2, 5, 10) if step * power >= 0.999 * span / 10.0))


def contours(x: FloatArray, y: FloatArray, field: FloatArray, step: float) -> go.Contour:
    """Specific impulse as colour with labelled lines."""
    return go.Contour(
        x=np.round(x, 6),
        y=y,
        z=np.round(field, 2),
        coloraxis="coloraxis",
        name="delivered specific impulse",
        meta={"value": "delivered specific impulse (s)"},
        contours={
            "start": float(np.ceil(np.min(field) / step) * step),
            "end": float(np.max(field)),
            "size": step,
            "showlabels": True,
            "labelfont": {"size": 11, "color": style.BLACK},
        },
        line={"color": style.BLACK, "width": 0.8},
        hovertemplate="O/H %{x:.3g}, %{y:.3g}: %{z:.4g} s<extra></extra>",
    )


def star(x: float, y: float, *, shown: bool) -> go.Scatter:
    """The operating point."""
    return go.Scatter(
        x=[x],
        y=[y],
        mode="markers",
        name="operating point of the best design",
        legendgroup="point",
        showlegend=shown,
        cliponaxis=False,
        marker={
            "symbol": "star", "size": 17, "color": style.BLUE, "line": {"color": style.WHITE, "width": 1.5}
        },
        hovertemplate="O/H %{x:.4g}, %{y:.4g}<extra>operating point</extra>",
    )  # fmt: skip


def map_words(
    results: Results, found: tuple[str, Opened], here: float, fields: list[tuple[FloatArray, FloatArray]]
) -> str:
    """What the engine delivers, and what each knob would add."""
    name, one = found
    across = ratios(ACROSS)
    gains = []
    for (key, words), (up, _) in zip(UPRIGHT, fields, strict=True):
        line = impulses(one, {"mixture_ratio": np.full(up.shape, own_ratio(one)), key: up}).burned
        gains.append(
            f"over the {words.lower()}s drawn it goes from {style.number(float(np.min(line)))} to "
            f"{style.number(float(np.max(line)))}{style.NARROW}s (best at "
            f"{style.quantity_text(key, float(up[int(np.argmax(line))]))})"
        )
    gases = style.quantity_text("cell_pressure", float(np.ravel(one.conditions.cell_pressure)[0]))
    best = across[int(np.argmax(fields[0][1].max(axis=0)))]
    return (
        f"Specific impulse delivered by {style.title_of(results, name)} on what it burns, losses of a small engine "
        f"included. Best design: {style.number(here, 4)}{style.NARROW}s at mixture ratio "
        f"{style.number(own_ratio(one), 4)}, {style.quantity_text('chamber_pressure', one.inputs['chamber_pressure'])} "
        f"and area ratio {style.number(one.inputs['expansion_ratio'])}; at that mixture ratio "
        + "; ".join(gains)
        + f". The cell delivers the gases at {gases}. What is burned does best near mixture ratio "
        f"{style.number(float(best), 2)}; all the water is burned only at {style.number(whole_water(), 4)}, the "
        "dashed line. All else, the power too, stays as it is."
    )


@figure("mixture_ratio", title="Mixture ratio and the water that is used", section="devices", width=85)
def mixture_ratio(results: Results) -> go.Figure | None:
    """Specific impulse on what is burned and on all water mined, and the share of it used, over mixture ratio."""
    found = dict(calculated(results))
    if not found:
        return None
    names = first_shown(results, list(found), PANELS)
    titles = ("On what is burned", "On all the water mined", "Water that leaves through the nozzle")
    drawn = style.panels(titles, 230, columns=1, gap=40)
    across = ratios(FINE)
    tops: list[float] = []
    for name in names:
        one = found[name]
        lines = impulses(one, {"mixture_ratio": across})
        own = impulses(one, {"mixture_ratio": np.array([own_ratio(one)])})
        tops += [float(np.max(lines.burned))]
        for place, (line, point) in enumerate(
            ((lines.burned, own.burned), (lines.mined, own.mined), (100 * lines.used, 100 * own.used))
        ):
            if place == len(titles) - 1 and name != names[0]:
                continue
            spot = style.place(place, 1)
            for trace in line_and_point(
                results, name, (across, line), (own_ratio(one), float(point[0])), place
            ):
                drawn.add_trace(trace, **spot)
    for place in range(len(titles)):
        spot = style.place(place, 1)
        style.line_across(drawn, spot, {"color": style.BLACK, "width": 1.5, "dash": "dash"}, x=whole_water())
        words = "Specific impulse (s)" if place < len(titles) - 1 else "Share of the water (%)"
        top = 1.06 * max(tops) if place < len(titles) - 1 else 104.0
        drawn.update_yaxes(title_text=words, range=[0.0, top], **spot)
    drawn.update_xaxes(range=[float(across[0]), float(across[-1])], showticklabels=False)
    drawn.update_xaxes(title_text=RATIO_TITLE, showticklabels=True, **style.place(len(titles) - 1, 1))
    style.one_scale(drawn, "x")
    drawn.update_layout(margin={"t": 60 + 24 * len(names)})
    chosen = {name: one for name, one in found.items() if name in names}  # best first
    return captioned(drawn, ratio_words(results, chosen, list(found)))


def line_and_point(
    results: Results, name: str, line: tuple[FloatArray, FloatArray], own: tuple[float, float], place: int
) -> list[go.Scatter]:
    """A line with its dash, a few of its marks, and the operating point as a larger one."""
    colour, symbol, dash = style.looks(results, name)
    title = style.escape(style.title_of(results, name))
    shared = place == LOWEST
    colour, dash = (style.BLACK, "solid") if shared else (colour, dash)
    x, y = line
    return [
        go.Scatter(
            x=np.round(x, 5),
            y=np.round(y, 4),
            mode="lines",
            line={"color": colour, "dash": dash, "width": 2},
            name="any engine on both gases" if shared else title,
            legendgroup=name,
            showlegend=False,
            hovertemplate="O/H %{x:.3g}: %{y:.4g}<extra></extra>",
        ),
        go.Scatter(
            x=[own[0]],
            y=[own[1]],
            mode="lines+markers",  # a line through one point is seen in the legend alone
            legendgroup=name,
            showlegend=place == 0,
            name=title,
            line={"color": colour, "dash": dash, "width": 2},
            marker={
                "symbol": symbol,
                "size": 12,
                "color": colour,
                "line": {"color": style.BLACK, "width": 1.5},
            },
            hovertemplate="O/H %{x:.4g}: %{y:.4g}<extra>operating point</extra>",
        ),
    ]


def ratio_words(results: Results, found: dict[str, Opened], every: list[str]) -> str:
    """Where each optimum lies, and which share of its water the best engine uses."""
    across = ratios(FINE)
    name, one = next(iter(found.items()))
    lines = impulses(one, {"mixture_ratio": across})
    own = impulses(one, {"mixture_ratio": np.array([own_ratio(one)])})
    burned, mined = int(np.argmax(lines.burned)), int(np.argmax(lines.mined))
    excess = {
        "vented": "the rest is vented",
        "cold_gas": "the rest leaves through a cold nozzle",
        "flown": "the rest is flown on to the next landing",
        "left": "the rest stays at the stop, split for nothing",
    }[one.architecture.excess]
    return (
        f"Marks: best designs. {style.title_of(results, name)}: what is burned does best at mixture ratio "
        f"{style.number(float(across[burned]), 2)} ({style.number(float(lines.burned[burned]))}{style.NARROW}s, "
        f"{style.percent(float(lines.used[burned]))} of the water used; {excess}), a kilogram of mined water at "
        f"{style.number(float(across[mined]))} ({style.number(float(lines.mined[mined]))}{style.NARROW}s). The best "
        f"design burns at {style.number(own_ratio(one), 4)} and makes {style.number(float(own.burned[0]))}"
        f"{style.NARROW}s of what it burns, {style.number(float(own.mined[0]))}{style.NARROW}s of the water it mines. "
        f"Dashed: {style.number(whole_water(), 4)}, at which all the water is burned."
        + left_out_words(results, list(found), every)
    )
