"""The live pictures, as plain plotly JSON: quick to make and quick to send."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.figures import style
from tradespace.figures.calendar import BANDS, moment, spans_of
from tradespace.figures.choice import CLIP, EDGE, crosses_edge
from tradespace.figures.designs import ITEMS
from tradespace.figures.maps import margin_colours
from tradespace.results import LINKS, placeholder
from tradespace.units import convert

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.dashboard.explorer import Design, Explorer, Field

Drawing = dict[str, Any]
Named = tuple[str, "Design"]
"""A design with what it is called beside others."""
ENERGY = (
    ("water won and cleaned", style.TOL_MUTED[2], ""),
    ("split", style.BLUE, "/"),
    ("stored", style.TOL_MUTED[5], "x"),
)
"""Parts of the electric energy for a kilogram of mined water, with colour and pattern."""
WORDS = {"growth_mass": "growth and system margin", "propellant_mass": "propellant, tanks full"}
"""What is in no single part of the craft."""
MASSES = (
    *(
        (style.words(item).removesuffix(" mass"), colour, "")
        for item, colour in zip(ITEMS, (style.BLACK, *style.TOL_MUTED), strict=False)
    ),
    (WORDS["growth_mass"], style.GREY, "x"),
    (WORDS["propellant_mass"], style.SKY, "/"),
)
"""Parts of the mass by name, colour and pattern."""
WIDEST = 3.0
"""The axis of masses ends at this many times the launch mass [1]."""
ROW, ROOM = 46, 76
"""Height of a bar with the gap about it, and of what stands above and below the bars [px]."""


def plain(values: Any, digits: int = 5) -> list[float | None]:
    """Numbers for JSON, short; None for what is not finite."""
    return [float(f"{value:.{digits}g}") if np.isfinite(value) else None for value in np.ravel(values)]


def layout(**more: Any) -> Drawing:
    """What all pictures share; their keys stand beside them as text, and their height is that of their place."""
    return {
        "font": {"family": style.FONT, "size": 12.5, "color": style.INK},
        "paper_bgcolor": style.WHITE,
        "plot_bgcolor": style.WHITE,
        "margin": {"l": 82, "r": 16, "t": 12, "b": 46},
        "hoverlabel": {"font": {"family": style.FONT}},
        "showlegend": False,
        "uirevision": "kept",
        **more,
    }


def axis(title: str, **more: Any) -> Drawing:
    """An axis with its title and a full frame."""
    return {
        "title": {"text": title, "standoff": 8}, "showline": True, "mirror": True, "linecolor": style.INK,
        "ticks": "outside", "gridcolor": style.GREY, "zeroline": False, "automargin": False, "exponentformat": "none",
        **more,
    }  # fmt: skip


def scale_of(name: str, values: Any, *, logarithmic: bool) -> Drawing:
    """Scale and title of the axis of a variable over its track."""
    shown = style.shown(name, np.asarray(values))
    if logarithmic:
        return axis(style.axis_title(name), **style.log_axis(shown, 0.0))
    return axis(style.axis_title(name), range=[float(shown[0]), float(shown[-1])])


def closure_map(explorer: Explorer, field: Field, named: Sequence[Named]) -> Drawing:
    """Smallest margin over two variables, with designs as marks; the last of them is the live one."""
    x, y = (style.shown(name, values) for name, values in zip(field.axes, (field.x, field.y), strict=True))
    margin = np.clip(field.margin, -CLIP, CLIP)
    rows = [plain(line, 3) for line in margin]
    across, up = plain(x), plain(y)
    links = np.asarray(LINKS, dtype=object)[field.limited_by.astype(int)].tolist()
    traces: list[Drawing] = [
        {
            "type": "heatmap", "x": across, "y": up, "z": rows, "text": links, "zmin": -CLIP, "zmax": CLIP,
            "colorscale": margin_colours(), "name": "smallest margin", "showscale": False,
            "hovertemplate": "%{x:.4g}, %{y:.4g}<br>smallest margin %{z:.3f}, in %{text}<extra></extra>",
        }
    ]  # fmt: skip
    if crosses_edge(margin):
        traces.append(
            {
                "type": "contour", "x": across, "y": up, "z": rows, "showscale": False, "hoverinfo": "skip",
                "name": "closure boundary, margin 0",
                "contours": {"start": EDGE, "end": EDGE, "size": 1, "coloring": "none"},
                "line": {"color": style.BLACK, "width": 3},
            }
        )  # fmt: skip
    traces += [mark(explorer, field.axes, one, live=one is named[-1]) for one in named]
    sides = (
        scale_of(name, values, logarithmic=explorer.variables[name].logarithmic)
        for name, values in zip(field.axes, (field.x, field.y), strict=True)
    )
    ends = dict(zip(("xaxis", "yaxis"), sides, strict=True))
    return {
        "data": traces,
        "layout": layout(uirevision="-".join(field.axes), **ends),
    }


def mark(explorer: Explorer, axes: tuple[str, str], named: Named, *, live: bool) -> Drawing:
    """A design on the map."""
    name, design = named
    values = explorer.values(design)
    x, y = ([float(style.shown(side, values[side]))] for side in axes)
    shape = (
        {"symbol": "circle", "size": 15, "color": style.ORANGE, "line": {"color": style.BLACK, "width": 2.5}}
        if live
        else {
            "symbol": "square",
            "size": 17,
            "color": style.WHITE,
            "line": {"color": style.BLACK, "width": 1.5},
        }
    )
    return {
        "type": "scatter", "x": x, "y": y, "mode": "markers" if live else "markers+text", "name": style.escape(name),
        "text": ["" if live else style.escape(name.removeprefix("pin "))], "textfont": {"size": 11},
        "marker": shape, "cliponaxis": False,
        "hovertemplate": f"{style.escape(name)}<br>%{{x:.4g}}, %{{y:.4g}}<extra></extra>",
    }  # fmt: skip


def bar(x: list[float | None], y: list[str], look: tuple[str, str, str], unit: str, **more: Any) -> Drawing:
    """One kind of part in stacked bars."""
    name, colour, pattern = look
    light = style.WHITE if colour in {style.BLUE, style.BLACK} else style.BLACK
    return {
        "type": "bar", "orientation": "h", "x": x, "y": y, "name": name,
        "hovertemplate": f"%{{x:.4g}} {unit}<extra>{name}</extra>",
        "marker": {
            "color": colour, "line": {"color": style.WHITE, "width": 0.8},
            "pattern": {"shape": pattern, "fillmode": "overlay", "fgcolor": light, "size": 6, "solidity": 0.2},
        },
        **more,
    }  # fmt: skip


def mass_bars(explorer: Explorer, named: Sequence[Named]) -> Drawing:
    """Mass of each design by part, with the mass at the start date and what may be launched."""
    labels = [style.escape(name) for name, _ in named]
    rows = [explorer.row(design) for _, design in named]
    endless = [bool(placeholder(row, "wet_mass")) for row in rows]
    traces = []
    for item, look in zip((*ITEMS, *WORDS), MASSES, strict=True):
        masses = [0.0 if none else float(row.get(item, 0.0)) for row, none in zip(rows, endless, strict=True)]
        if np.nan_to_num(masses).any():
            traces.append(bar(plain(masses), labels, look, "kg"))
    starts = [np.nan if none else float(row["start_mass"]) for row, none in zip(rows, endless, strict=True)]
    traces.append(
        {
            "type": "scatter", "x": plain(starts), "y": labels, "mode": "markers", "name": "mass at the start date",
            "marker": {"symbol": "diamond", "size": 12, "color": style.ORANGE,
                       "line": {"color": style.BLACK, "width": 1.4}},
            "hovertemplate": "%{x:.4g} kg at the start date<extra></extra>",
        }
    )  # fmt: skip
    limit = max(float(row["launch_mass"]) for row in rows)
    whole = [0.0 if none else float(row["wet_mass"]) for row, none in zip(rows, endless, strict=True)]
    end = 1.05 * max(limit, min(max(whole), WIDEST * limit))
    notes = [
        note(text, "no finite mass ▶" if none else f"to {style.number(mass)} kg ▶", end)
        for text, none, mass in zip(labels, endless, whole, strict=True)
        if none or mass > end
    ]
    line = {"type": "line", "x0": limit, "x1": limit, "yref": "paper", "y0": 0, "y1": 1,
            "line": {"color": style.BLACK, "width": 2, "dash": "dash"}}  # fmt: skip
    above = {"x": limit, "y": 1, "yref": "paper", "yanchor": "bottom", "xanchor": "right",
             "text": "launch mass allowed", "showarrow": False, "font": {"size": 11}}  # fmt: skip
    return {
        "data": traces,
        "layout": layout(
            barmode="stack", bargap=0.3, shapes=[line], annotations=[above, *notes],
            xaxis=axis("Mass (kg)", range=[0, end]), yaxis=rows_axis(), margin={"l": 82, "r": 16, "t": 24, "b": 46},
        ),
    }  # fmt: skip


def note(row: str, words: str, end: float) -> Drawing:
    """Words at the end of a bar that goes on beyond the axis."""
    return {
        "x": end, "y": row, "text": words, "showarrow": False, "xanchor": "right", "bgcolor": style.WHITE,
        "bordercolor": style.BLACK, "borderpad": 2, "font": {"size": 11},
    }  # fmt: skip


def height(count: int) -> Drawing:
    """The place that bars of so many designs need."""
    return {"height": f"{ROW * count + ROOM}px"}


def rows_axis() -> Drawing:
    """The axis of the names of designs, the live one on top."""
    return axis("", type="category", autorange="reversed", showgrid=False)


def energies(row: pd.Series) -> list[float]:
    """Electric energy for a kilogram of mined water by part, in display units; zeros where nothing is mined."""
    if placeholder(row, "dry_mass") or not float(row.get("stop_mined", 0.0)) > 0.0:
        return [0.0] * len(ENERGY)
    split, stored = float(row["stop_split_energy"]), float(row["stop_storing_energy"])
    won = float(row["energy_per_mined"]) - split - stored
    return [float(style.shown("extraction_energy", max(value, 0.0))) for value in (won, split, stored)]


def energy_bars(explorer: Explorer, named: Sequence[Named]) -> Drawing:
    """Electric energy for a kilogram of mined water by part."""
    labels = [style.escape(name) for name, _ in named]
    parts = np.array([energies(explorer.row(design)) for _, design in named])
    unit = style.pretty_unit("kWh/kg")
    traces = [bar(plain(parts[:, place]), labels, look, unit) for place, look in enumerate(ENERGY)]
    endless = all(placeholder(explorer.row(design), "dry_mass") for _, design in named)
    words = "no finite mass" if endless else "mines no water"
    empty = [] if parts.any() else [
        {"text": words, "x": 0.5, "y": 0.5, "xref": "paper", "yref": "paper", "showarrow": False}
    ]  # fmt: skip
    return {
        "data": traces,
        "layout": layout(
            barmode="stack", bargap=0.3, annotations=empty, yaxis=rows_axis(),
            xaxis=axis(f"Energy per mined water ({unit})", rangemode="tozero"),
        ),
    }  # fmt: skip


def timeline(explorer: Explorer, named: Sequence[Named]) -> Drawing:
    """What each design does when."""
    mission = explorer.mission
    surface = mission.kind == "surface"
    results = explorer.results([design for _, design in named])
    found: dict[str, list[tuple[str, float, float, str]]] = {kind: [] for kind, *_ in BANDS}
    for (name, _), (_, row) in zip(named, results.designs.iterrows(), strict=True):
        for hop in range(1, mission.hops + 1):
            for kind, start, end in spans_of(results, row, hop):
                days = style.number(float(convert(end - start, "s", "d")))
                found[kind].append((style.escape(name), start, end, f"hop {hop}, {days} d"))
    traces = []
    for kind, colour, pattern in BANDS:
        spans = found[kind]
        if not spans:
            continue
        if surface:
            base: list[Any] = plain(
                [convert(start - mission.start_date, "s", "d") for _, start, _, _ in spans], 7
            )
            length = plain([convert(end - start, "s", "d") for _, start, end, _ in spans])
        else:
            base = [moment(start) for _, start, _, _ in spans]
            length = plain([convert(end - start, "s", "ms") for _, start, end, _ in spans], 9)
        made = bar(length, [text for text, *_ in spans], (kind, colour, pattern), "")
        made |= {"base": base, "customdata": [words for *_, words in spans]}
        made["hovertemplate"] = "%{customdata}<extra>" + kind + "</extra>"
        made["marker"]["line"] = {"color": style.BLACK, "width": 0.6}
        traces.append(made)
    room = 0.04 * (mission.horizon - mission.start_date)
    if surface:
        last = max((end for spans in found.values() for _, _, end, _ in spans), default=mission.horizon)
        limit: Any = float(convert(mission.horizon - mission.start_date, "s", "d"))
        stop = min(
            max(last, mission.horizon) - mission.start_date, 1.5 * (mission.horizon - mission.start_date)
        )
        across = axis("Time since the start (d)", range=[0, 1.02 * float(convert(stop, "s", "d"))])
    else:
        limit = moment(mission.horizon)
        ends = [moment(mission.start_date - room), moment(mission.horizon + room)]
        across = axis("Date (calendar year)", type="date", range=ends)
    line = {"type": "line", "x0": limit, "x1": limit, "yref": "paper", "y0": 0, "y1": 1,
            "line": {"color": style.BLACK, "width": 2, "dash": "dash"}}  # fmt: skip
    return {
        "data": traces,
        "layout": layout(barmode="overlay", bargap=0.35, shapes=[line], xaxis=across, yaxis=rows_axis()),
    }  # fmt: skip
