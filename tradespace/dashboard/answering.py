"""What happens on the page: one request for every move, answered in three parts that do not wait for each other."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from tradespace.dashboard import drawings, words
from tradespace.dashboard.asking import PINS, read_asked, read_design, read_pins, written_pins
from tradespace.dashboard.page import NO_MAP, PARTS
from tradespace.dashboard.saving import save
from tradespace.dashboard.tour_map import tour_map
from tradespace.errors import TradespaceError

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Explorer

SLIDERS: dict[str, Any] = {"type": "slider", "name": ALL}


def connect(app: Dash, explorer: Explorer, folder: Path) -> None:
    """Give every part of the page its answer.

    Parameters
    ----------
    app : Dash
        With the page for its layout.
    explorer : Explorer
        Who answers.
    folder : Path
        Where pinned designs are saved.
    """
    _watch(app)
    _answer(app, explorer)
    _pin(app, explorer)
    _keep(app, explorer, folder)


def _watch(app: Dash) -> None:
    """What the browser does by itself: say what a slider says, and ask when something has moved."""
    app.clientside_callback(
        ClientsideFunction("tradespace", "moved"),
        Output("watched", "data"),
        Input(SLIDERS, "value"),
        Input("architecture", "value"),
        Input("across", "value"),
        Input("up", "value"),
        Input("pins", "data"),
        *(Input(f"told-{part}", "data") for part in PARTS),
    )
    app.clientside_callback(
        ClientsideFunction("tradespace", "named"),
        Output("named", "data"),
        Input(SLIDERS, "value"), State("texts", "data"), State("order", "data"),
    )  # fmt: skip
    app.clientside_callback(
        ClientsideFunction("tradespace", "painted"),
        Output("painted", "data"),
        Input("told-quick", "data"), Input("told-map", "data"), Input("told-drawn", "data"), Input("hints", "data"),
        State("order", "data"),
    )  # fmt: skip


def _answer(app: Dash, explorer: Explorer) -> None:
    """The three parts of an answer."""

    def quick(raw: Any) -> dict[str, Any]:
        asked = read_asked(explorer, raw)
        try:
            row = explorer.row(asked.design)
        except TradespaceError as error:
            return {
                "number": asked.number,
                "verdict": [f"Cannot be worked out: {error}"],
                "look": "verdict open",
            }
        said, closes = words.verdict(explorer, asked.design)
        beyond = words.beyond(row)
        return {
            "number": asked.number,
            "verdict": [said, html.Small(beyond)] if beyond else [said],
            "look": "verdict closes" if closes else "verdict open",
            "key": words.key_figures(explorer, row),
            "links": words.links(explorer, asked.design),
        }

    app.callback(Output("told-quick", "data"), Input("asked", "data"), prevent_initial_call=True)(quick)

    def mapped(raw: Any) -> tuple[Any, ...]:
        asked = read_asked(explorer, raw)
        if asked.axes is None:
            choose = "Choose two different inputs for the sides of the map." if explorer.axes else NO_MAP
            return no_update, {"number": asked.number, "words": choose}
        try:
            field = explorer.field(asked.design, asked.axes)
        except TradespaceError as error:
            return no_update, {"number": asked.number, "words": f"The map cannot be worked out: {error}"}
        drawn = drawings.closure_map(explorer, field, asked.named)
        return drawn, {"number": asked.number, "words": words.map_words(explorer, asked.design, field)}

    app.callback(
        Output("map", "figure"), Output("told-map", "data"), Input("asked", "data"), prevent_initial_call=True
    )(mapped)  # fmt: skip

    def drawn(raw: Any) -> tuple[Any, ...]:
        asked = read_asked(explorer, raw)
        named = [asked.named[-1], *asked.named[:-1]]
        return (
            drawings.mass_bars(explorer, named),
            drawings.energy_bars(explorer, named),
            drawings.timeline(explorer, named),
            tour_map(explorer, asked.design) or no_update,
            {"side": words.side_by_side(explorer, named)},
        )

    app.callback(
        Output("mass", "figure"), Output("energy", "figure"), Output("timeline", "figure"), Output("tour", "figure"),
        Output("told-drawn", "data"),
        Input("settled", "data"), prevent_initial_call=True,
    )(drawn)  # fmt: skip

    def needed(raw: Any) -> dict[str, Any]:
        asked = read_asked(explorer, raw)
        closes, found = bool(explorer.row(asked.design)["closes"]), explorer.needs(asked.design)
        hints = [words.hint(found.get(name), closes) for name in explorer.variables]
        return {"hints": hints, "needs": words.needs_words(explorer, asked.design, found)}

    app.callback(Output("hints", "data"), Input("settled", "data"), prevent_initial_call=True)(needed)

    def every_input(clicks: Any, raw: Any) -> Any:
        if not clicks:
            raise PreventUpdate
        design = read_asked(explorer, raw).design
        return words.improvement_table(explorer, design, explorer.improvements(design))

    app.callback(
        Output("improvements", "children"), Input("work", "n_clicks"), State("asked", "data"),
        prevent_initial_call=True,
    )(every_input)  # fmt: skip


def _pin(app: Dash, explorer: Explorer) -> None:
    """Pinning, dropping, and going back to a pinned design or to the study's own."""

    def pinned(_: Any, drops: list[Any], positions: Any, architecture: Any, raw: Any) -> Any:
        pins, source = read_pins(explorer, raw), ctx.triggered_id
        if source == "pin":
            number = 1 + max((number for number, _ in pins), default=0)
            design = read_design(explorer, architecture, positions)
            if len(pins) >= PINS or any(design == other for _, other in pins):
                raise PreventUpdate
            return written_pins((*pins, (number, design)))
        if not isinstance(source, dict) or not any(drops):
            raise PreventUpdate
        return written_pins(tuple(one for one in pins if one[0] != source["number"]))

    app.callback(
        Output("pins", "data"),
        Input("pin", "n_clicks"), Input({"type": "drop", "number": ALL}, "n_clicks"),
        State(SLIDERS, "value"), State("architecture", "value"), State("pins", "data"),
        prevent_initial_call=True,
    )(pinned)  # fmt: skip

    def listed(raw: Any) -> tuple[Any, ...]:
        pins = read_pins(explorer, raw)
        size = drawings.height(1 + len(pins))
        return [_pin_line(explorer, number) for number, _ in pins], size, size, size

    app.callback(
        Output("pinned", "children"), Output("mass", "style"), Output("energy", "style"), Output("timeline", "style"),
        Input("pins", "data"),
    )(listed)  # fmt: skip

    def moved_to(_: Any, clicks: list[Any], raw: Any, architecture: Any) -> tuple[Any, Any]:
        source = ctx.triggered_id
        if source == "reset":
            return list(explorer.first.positions), architecture
        if not isinstance(source, dict) or not any(clicks):
            raise PreventUpdate
        design = dict(read_pins(explorer, raw)).get(source["number"])
        if design is None:
            raise PreventUpdate
        return list(design.positions), design.architecture

    app.callback(
        Output(SLIDERS, "value"), Output("architecture", "value"),
        Input("reset", "n_clicks"), Input({"type": "go", "number": ALL}, "n_clicks"), State("pins", "data"),
        State("architecture", "value"),
        prevent_initial_call=True,
    )(moved_to)  # fmt: skip


def _pin_line(explorer: Explorer, number: int) -> Any:
    """Buttons of a pinned design, and the name under which it is saved."""
    suggestion = f"{explorer.study.name}_pin_{number}"[:80]
    return html.Div(
        [
            html.B(f"pin {number}"),
            html.Button("Go back to it", id={"type": "go", "number": number}, n_clicks=0),
            html.Label(
                [
                    "Name of its study file ",
                    dcc.Input(
                        suggestion, id={"type": "name", "number": number}, type="text", maxLength=80,
                        pattern="[A-Za-z0-9_]{1,80}", autoComplete="off", spellCheck=False,
                        persistence=True, persistence_type="memory",
                    ),
                ]
            ),
            html.Button("Save as a study", id={"type": "save", "number": number}, n_clicks=0),
            html.Button("Drop", id={"type": "drop", "number": number}, n_clicks=0),
        ],
        className="pin",
    )  # fmt: skip


def _keep(app: Dash, explorer: Explorer, folder: Path) -> None:
    """Saving a pinned design as a study file."""

    def kept(clicks: list[Any], names: list[Any], raw: Any) -> tuple[Any, str]:
        pins, source = read_pins(explorer, raw), ctx.triggered_id
        if not any(clicks) or not isinstance(source, dict) or len(names) != len(pins):
            raise PreventUpdate
        for (number, design), name in zip(pins, names, strict=True):
            if number != source["number"]:
                continue
            try:
                path = save(explorer, design, name if isinstance(name, str) else "", folder)
            except TradespaceError as error:
                return str(error), "no"
            return f"Saved {path}; run it with: tradespace run {path}", "yes"
        raise PreventUpdate

    app.callback(
        Output("saved", "children"), Output("saved", "className"),
        Input({"type": "save", "number": ALL}, "n_clicks"),
        State({"type": "name", "number": ALL}, "value"), State("pins", "data"),
        prevent_initial_call=True,
    )(kept)  # fmt: skip
