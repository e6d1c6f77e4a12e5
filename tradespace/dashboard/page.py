"""The page: sliders on the left, the answer on the right; nothing on it comes from anywhere but this machine."""

from __future__ import annotations

import html as escaping
from typing import TYPE_CHECKING, Any

from dash import dcc, html

from tradespace.figures import style
from tradespace.tables import read_table

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Explorer
    from tradespace.dashboard.variables import Variable

OPEN = 6
"""Sliders that are open at first; the others are folded away."""
PARTS = ("quick", "map", "needs")
"""Parts of an answer that come by themselves."""
GRAPH = {"displaylogo": False, "displayModeBar": False, "responsive": True}
INDEX = """<!DOCTYPE html>
<html lang="en"><head>{%metas%}<title>{%title%}</title><link rel="icon" href="data:,">
{%css%}<link rel="stylesheet" href="/page/dashboard.css"><script src="/page/dashboard.js"></script></head>
<body>{%app_entry%}{%config%}{%scripts%}{%renderer%}</body></html>
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
            html.Footer([_cautions(), html.P(_source(explorer), className="soft")]),
            dcc.Store(id="asked"),
            dcc.Store(id="pins", data=[]),
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
        dcc.Dropdown(titles, explorer.first.architecture, id="architecture", clearable=False, searchable=False),
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
                    html.Output(_texts(track)[track.own_position], id={"type": "value", "name": track.name}),
                    dcc.Input(
                        type="range", min=0, max=track.steps, step=1, value=track.own_position,
                        id={"type": "slider", "name": track.name},
                    ),
                ]
            ),
            html.Div("", id={"type": "hint", "name": track.name}, className="hint"),
        ],
        className="slider",
        title=track.item.description,
    )  # fmt: skip


def _answer(explorer: Explorer) -> Any:
    """Verdict, pictures and tables."""
    study = explorer.study
    parts: list[Any] = [
        html.P("Working it out ...", id="verdict", className="verdict", role="status", tabIndex=-1),
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
                        dcc.Loading(html.Div(id="improvements"), delay_show=200),
                    ]
                ),
            ],
            className="two",
        ),
        html.Section(
            [
                html.H2("Designs side by side"),
                html.Div(id="side"),
                html.Div(id="pinned"),
                html.P("", id="saved", role="status"),
            ]
        ),
        html.Div(
            [
                html.Section([html.H2("Where the mass goes"), dcc.Graph(id="mass", config=GRAPH)]),
                html.Section(
                    [
                        html.H2("Energy for a kilogram of water"),
                        dcc.Graph(id="energy", config=GRAPH),
                        html.P("Electric, at the stop, for each kilogram mined; heat from the Sun is not in it.", className="soft"),
                    ]
                ),
            ],
            className="two",
        ),
        html.Section([html.H2("The campaign, hop by hop"), dcc.Graph(id="timeline", config=GRAPH)]),
    ]
    tour = html.Section(
        [
            html.H2("The way around the Sun"),
            dcc.Graph(id="tour", config=GRAPH),
            html.P(
                "Seen from the north pole of the ecliptic; open ring: departure, dot: landing. Each flight is drawn as the "
                "coasting orbit that joins both places in its time; burns are not drawn.",
                className="soft",
            ),
        ],
        hidden=study.kind != "tour",
    )
    return html.Main([*parts, tour], id="main")


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
    words = "" if axes else "The study gives fewer than two variables, so there is no map."
    return [choice, dcc.Graph(id="map", config=GRAPH, style={"display": "block" if axes else "none"}), html.P(words, id="map-words", className="soft")]


def _cautions() -> Any:
    """The usual cautions, folded away."""
    rows = read_table("cautions.csv").rows
    items = [
        html.Div([html.H3(row["title"]), html.P(row["caution"]), html.P(f"See: {row['documents']}", className="soft")])
        for row in rows
    ]
    return html.Details([html.Summary("Cautions: hydrogen, oxygen, pressure, electrolyte, current"), *items])


def _source(explorer: Explorer) -> str:
    """Which numbers these are."""
    study = explorer.study
    return f"Computed live on this machine from study {study.name} ({study.hash[:12]}), seed {study.seed}."
