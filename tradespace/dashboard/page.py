"""The page: sliders on the left, the answer on the right; nothing on it comes from anywhere but this machine."""

from __future__ import annotations

import html as escaping
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from tradespace.dashboard.drawings import ENERGY, MASSES
from tradespace.dashboard.tour_map import goes_around_the_sun
from tradespace.figures import style
from tradespace.figures.calendar import BANDS
from tradespace.figures.maps import margin_colours
from tradespace.tables import read_table

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Explorer
    from tradespace.dashboard.variables import Variable

OPEN = 6
"""Sliders that are open at first; the others are folded away."""
PARTS = ("quick", "map")
"""Parts of an answer that come at once, whatever else moves; the rest follows when they are there."""
GRAPH = {"displaylogo": False, "displayModeBar": False}
NO_MAP = "The study gives fewer than two variables, so there is no map."
PATTERNS = {
    "/": "hatched", "\\": "hatched back", "x": "crossed", "+": "crossed", ".": "dotted", "-": "lined",
    "|": "lined upright",
}  # fmt: skip
"""Classes of the swatches of the patterns of bars."""
TALL, TOUR = {"height": "27rem"}, {"height": "33rem"}
ONE = {"height": "122px"}
"""Places of the pictures before the first answer."""
INDEX = """<!DOCTYPE html>
<html lang="en"><head>{%metas%}<title>{%title%}</title><link rel="icon" href="data:,">
{%css%}<link rel="stylesheet" href="/page/dashboard.css"><script src="/page/dashboard.js"></script></head>
<body>{%app_entry%}FOOTER{%config%}{%scripts%}{%renderer%}</body></html>
"""


def title_of(explorer: Explorer) -> str:
    """What the browser calls the page; the words of a study are no markup."""
    return escaping.escape(f"{explorer.study.title} - dashboard")


def page(explorer: Explorer) -> Any:
    """Everything on the page, as it stands before the first answer."""
    study = explorer.study
    head = [html.H1(study.title), html.P(study.question or study.route)]
    if study.note:
        head.append(html.P(study.note, className="soft"))
    return html.Div(
        [
            html.A("Skip to the verdict", href="#verdict", className="skip"),
            html.Header(head),
            html.Div([_controls(explorer), _answer(explorer)], className="layout"),
            dcc.Store(id="asked"),
            dcc.Store(id="settled"),
            dcc.Store(id="hints"),
            dcc.Store(id="told-drawn"),
            dcc.Store(id="painted"),
            dcc.Store(id="named"),
            dcc.Store(id="pins", data=[]),
            dcc.Store(id="order", data=list(explorer.variables)),
            dcc.Store(id="texts", data=[_texts(one) for one in explorer.variables.values()]),
            *(dcc.Store(id=f"told-{part}") for part in PARTS),
            dcc.Store(id="watched"),
        ]
    )


def _texts(track: Variable) -> list[str]:
    """What a slider says at each of its positions."""
    return [style.quantity_text(track.name, track.value(place), 6) for place in range(track.steps + 1)]


def _controls(explorer: Explorer) -> Any:
    """Architecture, sliders and buttons."""
    study, tracks = explorer.study, list(explorer.variables.values())
    titles = [{"label": study.thrusters[name].title, "value": name} for name in study.architectures]
    sliders = [_slider(track) for track in tracks]
    parts: list[Any] = [
        html.H2("The design"),
        html.Label("Architecture", htmlFor="architecture"),
        dcc.Dropdown(
            titles, explorer.first.architecture, id="architecture", clearable=False, searchable=False
        ),
        *sliders[:OPEN],
    ]
    if sliders[OPEN:]:
        parts.append(html.Details([html.Summary(f"{len(sliders) - OPEN} more inputs"), *sliders[OPEN:]]))
    parts.append(
        html.Div(
            [
                html.Button("Pin this design", id="pin", n_clicks=0, className="main"),
                html.Button("Back to the study's values", id="reset", n_clicks=0),
            ],
            className="buttons",
        )
    )
    return html.Section(parts, className="controls", **{"aria-label": "The design"})


def _slider(track: Variable) -> Any:
    """One input: name, value, track, and what it would do alone."""
    return html.Div(
        [
            html.Label(
                [
                    html.Span(style.label(track.name), className="name"),
                    html.Output(_texts(track)[track.own_position], id=f"value-{track.name}"),
                    dcc.Input(
                        type="range", min=0, max=track.steps, step=1, value=track.own_position,
                        id={"type": "slider", "name": track.name},
                    ),
                ]
            ),
            html.Div("", id=f"hint-{track.name}", className="hint"),
        ],
        className="slider",
        title=track.item.description,
    )  # fmt: skip


def _answer(explorer: Explorer) -> Any:
    """Verdict, pictures and tables."""
    parts: list[Any] = [
        html.P(id="verdict", className="verdict", role="status", tabIndex=-1),
        html.Div(id="key"),
        html.Div(
            [
                html.Section([html.H2("Where it closes"), *_map(explorer)]),
                html.Section(
                    [
                        html.H2("What binds"),
                        html.P("Margin of every link: available over required, minus 1.", className="soft"),
                        html.Div(id="links"),
                        html.H2("What would have to change"),
                        html.Div(id="needs"),
                        html.Button("Look at every input of the study", id="work", n_clicks=0),
                    ]
                ),
            ],
            className="two",
        ),
        dcc.Loading(html.Div(id="improvements"), delay_show=200),
        html.Section(
            [
                html.H2("Designs side by side"),
                html.Div(id="side"),
                html.Div(id="pinned"),
                html.P("", id="saved", role="status"),
            ]
        ),
    ]
    mass = html.Section(
        [html.H2("Where the mass goes"), _key(MASSES, "diamond: mass at the start date"), graph("mass", ONE)]
    )
    energy = html.Section(
        [
            html.H2("Energy for a kilogram of water"),
            _key(ENERGY, "electric, at the stop, for each kilogram mined; heat from the Sun is not in it"),
            graph("energy", ONE),
        ]
    )
    bands = html.Section(
        [
            html.H2("The campaign, hop by hop"),
            _key(BANDS, "dashed: the horizon of the study"),
            graph("timeline", ONE),
        ]
    )
    tour = html.Section(
        [
            html.H2("The way around the Sun"),
            graph("tour", TOUR),
            html.P(
                "Seen from the north pole of the ecliptic, to scale; open ring: departure, dot: arrival. Arcs and "
                "dates are those of the transfer with short burns, in the middle of the long ones.",
                className="soft",
            ),
        ]
    )
    if goes_around_the_sun(explorer):
        rest = [html.Div([html.Div([mass, energy, bands]), tour], className="two")]
    else:
        rest = [html.Div([mass, energy], className="two"), bands, html.Div(graph("tour", TOUR), hidden=True)]
    return html.Main([*parts, *rest], id="main")


def graph(key: str, size: dict[str, str]) -> Any:
    """The place of a picture."""
    empty = {"data": [], "layout": {"xaxis": {"visible": False}, "yaxis": {"visible": False}}}
    return dcc.Graph(id=key, figure=empty, config=GRAPH, style=size, responsive=True)


def _key(parts: Sequence[tuple[str, str, str]], more: str = "") -> Any:
    """What the colours and patterns of bars mean."""
    items = [
        html.Li(
            [
                html.Span(className=f"swatch {PATTERNS.get(pattern, '')}", style={"backgroundColor": colour}),
                name,
            ]
        )
        for name, colour, pattern in parts
    ]
    return html.Ul([*items, *([html.Li(more, className="soft")] if more else [])], className="legend")


def _map(explorer: Explorer) -> list[Any]:
    """The map and the choice of its axes; words where there are not two variables."""
    axes = explorer.axes
    options = [{"label": style.label(name), "value": name} for name in explorer.variables]
    names = axes or (None, None)
    choice = html.Div(
        [
            html.Label("Across", htmlFor="across"),
            dcc.Dropdown(options, names[0], id="across", clearable=False, searchable=False),
            html.Label("Up", htmlFor="up"),
            dcc.Dropdown(options, names[1], id="up", clearable=False, searchable=False),
        ],
        className="axes",
        hidden=axes is None,
    )
    if axes is None:
        return [
            choice,
            html.Div(graph("map", TALL), hidden=True),
            html.P(id="map-words", className="soft"),
        ]
    colours = ", ".join(f"{colour} {100 * float(place):.1f}%" for place, colour in margin_colours())
    bar = html.Span(className="ramp", style={"background": f"linear-gradient(90deg, {colours})"})
    more = (
        " 1 or more; black line: closure boundary, margin 0; orange dot: this design; numbered squares: pins"
    )
    legend = html.P(["smallest margin: −1 or less ", bar, more], className="soft")
    return [choice, legend, graph("map", TALL), html.P(id="map-words", className="soft")]


def index(explorer: Explorer) -> str:
    """The frame of the page: everything on it that never changes, as escaped text."""
    parts = []
    for row in read_table("cautions.csv").rows:
        title, caution, documents = (escaping.escape(row[key]) for key in ("title", "caution", "documents"))
        parts.append(f'<h3>{title}</h3><p>{caution}</p><p class="soft">See: {documents}</p>')
    study = explorer.study
    source = f"Computed live on this machine from study {study.name} ({study.hash[:12]}), seed {study.seed}."
    footer = (
        "<footer><details><summary>Cautions: hydrogen, oxygen, pressure, electrolyte, current</summary>"
        f'{"".join(parts)}</details><p class="soft">{escaping.escape(source)}</p></footer>'
    )
    return INDEX.replace("FOOTER", footer)
