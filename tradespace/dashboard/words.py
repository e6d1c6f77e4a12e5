"""What the page says of a design: verdict, links, key figures, what would change it, and designs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from dash import html

from tradespace.figures import style
from tradespace.figures.choice import EDGE
from tradespace.results import LINKS, placeholder

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.breakeven import BreakEven
    from tradespace.dashboard.drawings import Named
    from tradespace.dashboard.explorer import Design, Explorer, Field, Need

KEY = (
    "dry_mass",
    "start_mass",
    "specific_impulse",
    "refuel_time",
    "mission_time",
    "survival",
    "delta_v_total",
)
"""Figures that stand beside the verdict, after the study's own figure of merit."""
FULL = 0.5
"""Margin at which the bar of a link is full [1]."""
LISTED = 12
"""Inputs listed of those that would do it alone."""


FOR_THE_MASS = ("survival", "delta_v_total", "expected_bodies")
"""Outputs that mean nothing for a craft without a finite mass, beside those that every table leaves out."""


def told(row: pd.Series, name: str) -> str:
    """A value with its unit, or words where the number only stands in for "none"."""
    if name in FOR_THE_MASS and placeholder(row, "dry_mass"):
        return "–"
    return placeholder(row, name) or style.quantity_text(name, float(row[name]), 4)


def verdict(explorer: Explorer, design: Design) -> tuple[str, bool]:
    """Whether a design closes, and which link says so."""
    row = explorer.row(design)
    title = explorer.study.thrusters[design.architecture].title
    share = style.percent(abs(float(row["margin"])))
    place = f"{row['limited_by']} at hop {int(row['limited_at'])}"
    if bool(row["closes"]):
        return f"{title} closes: the smallest margin is {share} in {place}.", True
    if placeholder(row, "dry_mass"):
        return f"{title} does not close: every kilogram of craft asks for more than another kilogram.", False
    return f"{title} does not close: {place} falls short by {share}.", False


def beyond(row: pd.Series) -> str:
    """What a verdict rests on: performance that nobody has demonstrated, or a model beyond its data; or nothing."""
    parts = [] if bool(row["demonstrated"]) else ["Rests on performance that has not been demonstrated."]
    if bool(row["extrapolated"]):
        parts.append(f"Beyond the data of a model: {str(row['extrapolated_by']).replace('_', ' ')}.")
    return " ".join(parts)


def key_names(explorer: Explorer, rows: Sequence[pd.Series]) -> list[str]:
    """The study's figure of merit and those of the key figures that mean something for one of the designs."""
    names = dict.fromkeys((explorer.study.figure_of_merit, *KEY))
    return [name for name in names if name in rows[0].index and any(float(row[name]) != 0.0 for row in rows)]


def key_figures(explorer: Explorer, row: pd.Series) -> Any:
    """Names and values beside the verdict."""
    names = key_names(explorer, [row])
    return html.Dl(
        [html.Div([html.Dt(style.label(name)), html.Dd(told(row, name))]) for name in names], className="key"
    )


def links(explorer: Explorer, design: Design) -> Any:
    """Every link with its margin, the tightest first, as bars to both sides of zero."""
    found = explorer.links(design)
    items = []
    for place, (link, margin, hop) in enumerate(found):
        size = min(abs(margin) / FULL, 1.0) * 50.0
        side = {"left": "50%"} if margin >= 0.0 else {"right": "50%"}
        looks = "good" if margin >= EDGE else "bad"
        items.append(
            html.Li(
                [
                    html.Span(link, className="link"),
                    html.Span(
                        html.Span(className=looks, style={**side, "width": f"{size:.1f}%"}), className="gauge"
                    ),
                    html.Span(_signed(margin), className="n"),
                    html.Span(f"hop {hop}" + (" · binds" if place == 0 else ""), className="soft"),
                ],
                className="binds" if place == 0 else "",
            )
        )
    return html.Ol(items, className="links")


def _signed(share: float) -> str:
    """A share in per cent with its sign."""
    return ("+" if share > 0.0 else "") + style.percent(share)


def map_words(explorer: Explorer, design: Design, field: Field) -> str:
    """How much of the map closes and what binds it."""
    closing = float((field.margin >= EDGE).mean())
    counts = np.bincount(field.limited_by.astype(int).ravel(), minlength=len(LINKS))
    order = [place for place in np.argsort(-counts, kind="stable")[:2] if counts[place]]
    binding = " and ".join(
        f"{LINKS[place]} in {style.percent(counts[place] / counts.sum())}" for place in order
    )
    title = explorer.study.thrusters[design.architecture].title
    return (
        f"{title}, everything else as the sliders stand: blue closes, red does not, white is the edge. "
        f"{style.percent(closing)} of this map closes; the link that binds is {binding} of it."
    )


def hint(need: Need | None, closes: bool) -> str:
    """What the slider alone would do, for the line below it."""
    if need is None:
        return "always closes on this track" if closes else "does not do it alone"
    value = style.quantity_text(need.name, need.value, 4)
    return f"stops closing at {value} ({need.limited_by})" if closes else f"alone closes at {value}"


def needs_words(explorer: Explorer, design: Design, needs: dict[str, Need]) -> Any:
    """Which sliders alone would make the design close, or stop it closing."""
    closes = bool(explorer.row(design)["closes"])
    if not needs:
        words = "No slider alone stops it closing." if closes else "No slider alone makes it close."
        return html.P(words)
    lead = "It stops closing, one slider at a time, when" if closes else "To close, one slider at a time:"
    now = explorer.values(design)
    items = [
        html.Li(
            f"{style.label(one.name)} goes from {style.quantity_text(one.name, now[one.name], 4)} to "
            f"{style.quantity_text(one.name, one.value, 4)}, limited there by {one.limited_by} at hop {one.limited_at}"
        )
        for one in needs.values()
    ]
    return [html.P(lead), html.Ul(items)]


def improvement_table(explorer: Explorer, design: Design, found: BreakEven) -> Any:
    """What every input of the engine alone would have to become, ranked by reach."""
    question = found.questions[0]
    rows = found.reached[found.reached["question"] == question].head(LISTED)
    words = {"close": "closes at", "spare": "closes with room at", "fail": "closes up to"}[question]
    title = explorer.study.thrusters[design.architecture].title
    caption = f"{title}, smallest margin {_signed(found.margin)}: one input at a time, those inside their range first."
    if rows.empty:
        return html.P(f"{caption} No input does it alone.")
    head = html.Thead(
        html.Tr([html.Th(name, scope="col") for name in ("Input", "now", words, "limited there by")])
    )
    body = []
    for one in rows.to_dict("records"):
        name, beyond = str(one["quantity"]), "" if one["inside"] == "range" else ", beyond its range"
        values = [style.quantity_text(name, float(one[when]), 4) for when in ("today", "value")]
        cells = [html.Td(value, className="n") for value in values]
        place = html.Td(f"{one['limited_by']} at hop {one['limited_at']}{beyond}")
        body.append(html.Tr([html.Th(style.label(name), scope="row"), *cells, place]))
    table = html.Table([html.Caption(caption), head, html.Tbody(body)])
    return [html.H2("Every input of the study, one at a time"), html.Div(table, className="scroll")]


def side_by_side(explorer: Explorer, named: Sequence[Named]) -> Any:
    """Designs in columns: verdict, figures, and the sliders that differ."""
    if len(named) < 2:
        return html.P(
            "Nothing pinned yet: move the sliders, then pin the design to keep it beside the next one."
        )
    rows = [explorer.row(design) for _, design in named]
    names = key_names(explorer, rows)
    lines: list[tuple[str, list[str]]] = [
        ("Architecture", [explorer.study.thrusters[design.architecture].title for _, design in named]),
        ("Closes", ["yes" if bool(row["closes"]) else "no" for row in rows]),
        ("Smallest margin", [_signed(float(row["margin"])) for row in rows]),
        ("Binding link", [f"{row['limited_by']}, hop {int(row['limited_at'])}" for row in rows]),
        *((style.label(name), [told(row, name) for row in rows]) for name in names),
    ]
    values = [explorer.values(design) for _, design in named]
    lines += [
        (style.label(name), [style.quantity_text(name, value[name], 4) for value in values])
        for name in explorer.variables
        if len({value[name] for value in values}) > 1
    ]
    head = html.Thead(
        html.Tr([html.Th("", scope="col"), *(html.Th(name, scope="col", className="n") for name, _ in named)])
    )
    body = [
        html.Tr([html.Th(words, scope="row"), *(html.Td(cell, className="n") for cell in cells)])
        for words, cells in lines
    ]
    caption = "Designs side by side; of the sliders only those that differ."
    return html.Div(html.Table([html.Caption(caption), head, html.Tbody(body)]), className="scroll")
