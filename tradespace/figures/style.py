"""What all figures share: colours, markers, labels with units, and plain numbers.

Colours: lines and markers from Okabe and Ito, "Color Universal Design" (2008 revision); areas and scales from
P. Tol, "Colour Schemes", SRON/EPS/TN/09-002 issue 3.2 (2021). Both sets were made for colour-blind readers.
"""

from __future__ import annotations

import html
import math
import re
import string
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from tradespace.comparison import first_shown
from tradespace.comparison import refuels as refuels  # noqa: PLC0414  (looked up here by every figure)
from tradespace.comparison import title_of as title_of  # noqa: PLC0414
from tradespace.figures.sheet import Sheet as Sheet  # noqa: PLC0414
from tradespace.quantities import quantity
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.results import Results

BLACK, WHITE, GREY = "#000000", "#FFFFFF", "#DDDDDD"
OKABE_ITO = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", BLACK)
BLUE, VERMILLION, GREEN, PURPLE, ORANGE, SKY, _ = OKABE_ITO
TOL_MUTED = (
    "#CC6677", "#332288", "#DDCC77", "#117733", "#88CCEE", "#882255", "#44AA99", "#999933", "#AA4499",
    "#DDDDDD",
)  # fmt: skip
TOL_RED_BLUE = (
    "#B2182B", "#D6604D", "#F4A582", "#FDDBC7", "#F7F7F7", "#D1E5F0", "#92C5DE", "#4393C3", "#2166AC",
)  # fmt: skip
TOL_YELLOW_BROWN = (
    "#FFFFE5", "#FFF7BC", "#FEE391", "#FEC44F", "#FB9A29", "#EC7014", "#CC4C02", "#993404", "#662506",
)  # fmt: skip
OPEN_PALETTE = frozenset({*OKABE_ITO, *TOL_MUTED, *TOL_RED_BLUE, *TOL_YELLOW_BROWN, BLACK, WHITE, GREY})
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "triangle-down", "pentagon", "x", "star")
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
INK, RULE = "#1f2328", "#c9ced6"
FONT = "system-ui, 'Segoe UI', 'Liberation Sans', 'DejaVu Sans', Arial, sans-serif"
LABELS = {
    "array_power": "Array power at 1 au",
    "stack_efficiency": "Stack efficiency, HHV",
    "extraction_energy": "Extraction energy per water",
    "refuel_time": "Longest refuelling",
    "refuel_time_mean": "Mean refuelling",
    "margin": "Smallest margin",
    "window_slack_d": "Window slack",
    "hop_delta_v_capacity": "Velocity change capacity per hop",
    "carried_delta_v": "Velocity change carried",
    "delta_v_margin": "Velocity change margin",
    "delta_v": "Velocity change",
    "delta_v_total": "Velocity change of the route",
    "survival": "Chance to complete",
    "expected_bodies": "Expected stops",
    "hops_per_sunlit_year": "Hops per year of sunlight",
    "mined_specific_impulse": "Specific impulse on mined water",
    "total_power_per_thrust": "Power per thrust",
    "spent_energy": "Energy spent per mined water",
    "jet_share": "Jet over energy spent",
    "hops_in_life": "Hops in a lifetime",
    "payload_per_year": "Payload delivered a year",
}
NARROW = "\xa0"
"""A space at which lines do not break."""
SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def escape(text: object) -> str:
    """Text that can go into a figure, where a small set of HTML tags would otherwise be obeyed.

    Examples
    --------
    >>> escape("<b>ice & co</b>")
    '&lt;b&gt;ice &amp; co&lt;/b&gt;'
    """
    return html.escape(str(text), quote=False)


def pretty_unit(unit: str) -> str:
    """A unit with raised powers; a dash for none.

    Examples
    --------
    >>> pretty_unit("A/cm2"), pretty_unit("1"), pretty_unit("degC")
    ('A/cm²', '–', '°C')
    """
    if unit in {"", "1"}:
        return "–"
    if unit.startswith("1/"):
        return f"per {unit[2:]}"
    return re.sub(r"(?<=[A-Za-z])-?\d+", lambda match: match.group().translate(SUPERSCRIPT), unit).replace(
        "deg", "°"
    )


def label(name: str) -> str:
    """The name of a quantity in words, without its unit."""
    if name in LABELS:
        return LABELS[name]
    return name.rpartition(".")[2].replace("_", " ").capitalize() + (" (thruster)" if "." in name else "")


def words(name: str) -> str:
    """The name of a quantity for use inside a sentence."""
    return label(name)[:1].lower() + label(name)[1:]


def better_of(name: str) -> str:
    """``lower``, ``higher`` or nothing."""
    return quantity(name).better


def axis_title(name: str) -> str:
    """Name and display unit, as an axis wants it.

    Examples
    --------
    >>> axis_title("array_area")
    'Array area (m²)'
    """
    return f"{label(name)} ({pretty_unit(quantity(name).display_unit)})"


def shown(name: str, value: Any) -> Any:
    """An SI number or array in the display unit of its quantity."""
    found = quantity(name)
    return convert(value, found.unit, found.display_unit)


def number(value: float, digits: int = 3) -> str:
    r"""A number with so many significant digits, as a reader wants it.

    Examples
    --------
    >>> number(12345.6), number(0.0123456), number(-0.5), number(float("nan"))
    ('12\xa0300', '0.0123', '−0.5', '–')
    """
    if not math.isfinite(value):
        return "–" if math.isnan(value) else "never" if value > 0 else "−∞"
    if value == 0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    rounded = round(value, digits - 1 - size)
    if not -4 < size < 7:
        return f"{value / 10.0**size:.{digits - 1}f}×10{str(size).translate(SUPERSCRIPT)}".replace("-", "−")
    text = f"{rounded:,.{max(digits - 1 - size, 0)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace(",", NARROW).replace("-", "−")


def quantity_text(name: str, value: float, digits: int = 3) -> str:
    r"""An SI value with its display unit.

    Examples
    --------
    >>> quantity_text("array_area", 40.0)
    '40\xa0m²'
    """
    unit = pretty_unit(quantity(name).display_unit)
    text = number(float(shown(name, value)), digits)
    return text if unit == "–" or not math.isfinite(value) else f"{text}{NARROW}{unit}"


def percent(fraction: float) -> str:
    """A fraction as a whole percentage."""
    return "–" if not math.isfinite(fraction) else f"{number(100 * fraction, 2)}{NARROW}%"


def looks(results: Results, architecture: str) -> tuple[str, str, str]:
    """Colour, marker and dash that belong to an architecture in every figure.

    The first ones shown have colours of their own; further ones share a colour, but not its dash.
    """
    names = results.architectures
    first = first_shown(results, names, len(OKABE_ITO))
    place = [*first, *(name for name in names if name not in first)].index(architecture)
    return OKABE_ITO[place % len(OKABE_ITO)], SYMBOLS[place % len(SYMBOLS)], DASHES[place % len(DASHES)]


def initial(place: int) -> str:
    """The letter of an architecture on the map, so that colour is not all that tells it.

    Examples
    --------
    >>> initial(0), initial(27)
    ('A', 'AB')
    """
    letters = string.ascii_uppercase
    rest, last = divmod(place, len(letters))
    return (initial(rest - 1) if rest else "") + letters[last]


def closes(count: int) -> str:
    """The verb for so many designs or architectures."""
    return "closes" if count == 1 else "close"


def wrapped(text: str, width: int = 30) -> str:
    """Escaped text in lines of about so many letters."""
    lines: list[str] = []
    for word in str(text).split():
        if lines and len(lines[-1]) + len(word) < width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return "<br>".join(escape(line) for line in lines)


def scale(colours: Sequence[str]) -> list[list[float | str]]:
    """Colours at equal steps from 0 to 1."""
    return [[place / (len(colours) - 1), colour] for place, colour in enumerate(colours)]


def steps(colours: Sequence[str]) -> list[list[float | str]]:
    """One flat block of colour per whole number."""
    count = len(colours)
    return [[(place + side) / count, colour] for place, colour in enumerate(colours) for side in (0, 1)]


def panels(
    titles: Sequence[str], height: int = 300, *, columns: int = 2, gap: int = 82, **options: Any
) -> go.Figure:
    """An empty figure with one panel per title, two to a row, and room for the words."""
    columns = min(columns, len(titles))
    rows = math.ceil(len(titles) / columns)
    total = rows * height + 120
    options.setdefault("horizontal_spacing", 0.09)
    options.setdefault("vertical_spacing", min(0.7 / max(rows - 1, 1), gap / (total - 110)))
    figure = make_subplots(
        rows=rows,
        cols=columns,
        subplot_titles=[wrapped(title, 44) for title in titles],
        figure=Sheet(),
        **options,
    )
    figure.update_annotations(font={"size": 13, "color": INK})
    styled(figure, total)
    figure.update_layout(legend={"y": 1.0 + 32 / (total - 110)})
    return figure


AXIS = {
    "showline": True,
    "linecolor": INK,
    "mirror": True,
    "ticks": "outside",
    "tickcolor": INK,
    "ticklen": 4,
    "gridcolor": "#e6e8ec",
    "zeroline": False,
    "automargin": True,
    "title": {"standoff": 8},
    "exponentformat": "none",
}


UNUSED = ("ternary", "scene", "polar", "mapbox", "geo", "colorscale")
"""Parts of the library's usual look that no figure here has: other kinds of plot, and scales of colour not of ours."""
TRACES = ("bar", "scatter", "heatmap", "contour")
"""Kinds of trace whose usual look counts."""


@cache
def template() -> go.layout.Template:
    """The library's usual look of what is drawn here, with our axes; made once, for it takes long to check."""
    plain = go.Figure()
    plain.update_layout(template={"layout": {"xaxis": AXIS, "yaxis": AXIS}})
    whole = plain.layout.template.to_plotly_json()
    layout = {name: part for name, part in whole["layout"].items() if name not in UNUSED}
    data = {name: part for name, part in whole["data"].items() if name in TRACES}
    return go.layout.Template({"layout": layout, "data": data})


def place(index: int, columns: int) -> dict[str, int]:
    """Row and column of a panel."""
    return {"row": index // columns + 1, "col": index % columns + 1}


def blank(height: int) -> go.Figure:
    """An empty figure of one panel."""
    return styled(Sheet(), height)


def styled(figure: go.Figure, height: int) -> go.Figure:
    """The common look."""
    figure.update_layout(
        template=template(),
        height=height,
        font={"family": FONT, "size": 13, "color": INK},
        paper_bgcolor=WHITE,
        plot_bgcolor=WHITE,
        margin={"l": 70, "r": 30, "t": 50, "b": 60},
        legend={
            "orientation": "h",
            "yanchor": "bottom",
            "y": 1.0 + 12 / (height - 110),
            "x": 0,
            "xanchor": "left",
        },
        hoverlabel={"font": {"family": FONT}},
    )
    return figure


def label_outer(figure: go.Figure, count: int, x_title: str, y_title: str, columns: int = 2) -> None:
    """Titles on the lowest panel of each column and the first of each row; all panels share one scale."""
    columns = min(columns, count)
    for index in range(count):
        spot = place(index, columns)
        if index + columns >= count:
            figure.update_xaxes(title_text=x_title, **spot)
        if spot["col"] == 1:
            figure.update_yaxes(title_text=y_title, **spot)
    one_scale(figure, "x")
    one_scale(figure, "y")


def one_scale(figure: go.Figure, side: str) -> None:
    """Let every axis of a side follow the first one."""
    axes = list(figure.select_xaxes() if side == "x" else figure.select_yaxes())
    for axis in axes[1:]:
        axis.matches = side


def line_across(
    figure: go.Figure, spot: dict[str, int], line: dict[str, Any], *, x: Any = None, y: Any = None
) -> None:
    """A line over the whole of one panel, upright at ``x`` or level at ``y``."""
    panel = figure.get_subplot(spot["row"], spot["col"])
    side, up = (axis.plotly_name.replace("axis", "") for axis in (panel.xaxis, panel.yaxis))
    if x is None:
        figure.add_shape(type="line", xref=f"{side} domain", yref=up, x0=0, x1=1, y0=y, y1=y, line=line)
    else:
        figure.add_shape(type="line", xref=side, yref=f"{up} domain", x0=x, x1=x, y0=0, y1=1, line=line)


def bands_across(figure: go.Figure, spot: dict[str, int], bands: Sequence[tuple[str, float, float]]) -> None:
    """Coloured bands between two levels over the whole of one panel, below everything: colour, bottom, top."""
    panel = figure.get_subplot(spot["row"], spot["col"])
    side, up = (axis.plotly_name.replace("axis", "") for axis in (panel.xaxis, panel.yaxis))
    look = {"type": "rect", "xref": f"{side} domain", "yref": up, "x0": 0, "x1": 1, "layer": "below"}
    figure.layout.shapes = (
        *figure.layout.shapes,
        *(
            {**look, "y0": bottom, "y1": top, "fillcolor": colour, "line": {"width": 0}}
            for colour, bottom, top in bands
        ),
    )


def log_ticks(low: float, high: float) -> list[float]:
    """Values 1, 2, 5 (or 1, 3; or powers of ten) between two positive numbers."""
    if not 0 < low <= high or not math.isfinite(high):
        return []
    decades = math.log10(high / low)
    digits = (
        (1, 2, 3, 5, 7) if decades < 0.6 else (1, 2, 5) if decades < 1.7 else (1, 3) if decades < 3 else (1,)
    )
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    ticks = [digit * 10.0**power for power in range(first, last + 1) for digit in digits]
    return [tick for tick in ticks if low * 0.999 <= tick <= high * 1.001]


def log_axis(values: Any, pad: float = 0.03) -> dict[str, Any]:
    """Axis settings for a logarithmic scale over positive numbers, with plain tick labels."""
    positive = np.asarray(values, dtype=np.float64)
    positive = positive[np.isfinite(positive) & (positive > 0)]
    if positive.size == 0:
        return {}
    ticks = log_ticks(float(positive.min()), float(positive.max()))
    ticks = ticks if len(ticks) > 1 else [float(positive.min()), float(positive.max())]
    ends = [math.log10(float(positive.min())), math.log10(float(positive.max()))]
    room = pad * max(ends[1] - ends[0], 0.1)
    return {
        "type": "log",
        "tickvals": ticks,
        "ticktext": [number(tick) for tick in ticks],
        "range": [ends[0] - room, ends[1] + room],
    }


def is_logarithmic(points: Any) -> bool:
    """Whether swept points are spread by equal ratios rather than equal steps."""
    values = np.asarray(points, dtype=np.float64)
    if values.size < 3 or not np.all(np.isfinite(values)) or values.min() <= 0:
        return False
    ratios, differences = np.diff(np.log(values)), np.diff(values)
    spread = float(np.ptp(ratios) / max(abs(float(ratios.mean())), 1e-300))
    return spread < float(np.ptp(differences) / max(abs(float(differences.mean())), 1e-300))
