"""Sheets change many parts at once, and hold the same as the library's own figures afterwards."""

from __future__ import annotations

from collections.abc import Callable

import plotly.graph_objects as go
import pytest
from plotly.subplots import make_subplots

from tradespace.figures import style
from tradespace.figures.sheet import Sheet, merged, spelt_out

Change = Callable[[go.Figure], object]
CHANGES: dict[str, Change] = {
    "all axes": lambda figure: figure.update_xaxes(title_text="t", range=[0, 1], zeroline=True),
    "one axis": lambda figure: figure.update_yaxes(title_text="u", title_font={"size": 9}, row=2, col=1),
    "a patch": lambda figure: figure.update_xaxes({"tickfont": {"size": 7}}, showgrid=False),
    "an axis object": lambda figure: figure.update_yaxes(go.layout.YAxis(type="log")),
    "by selector": lambda figure: figure.update_xaxes(selector={"anchor": "y2"}, type="category"),
    "overwritten": lambda figure: figure.update_xaxes(overwrite=True, title={"text": "only"}),
    "layout": lambda figure: figure.update_layout(height=400, legend={"y": 1.1}, xaxis2={"type": "date"}),
    "layout twice": lambda figure: figure.update_layout(legend={"x": 0.5}).update_layout(legend={"y": 0.2}),
    "layout by path": lambda figure: figure.update_layout(legend_title_text="words", font_size=9),
    "layout overwritten": lambda figure: figure.update_layout(overwrite=True, legend={"x": 0.1}),
    "layout object": lambda figure: figure.update_layout(go.Layout(margin={"l": 3})),
    "a new axis": lambda figure: figure.update_layout(xaxis7={"domain": [0, 0.5]}),
    "annotations": lambda figure: figure.update_annotations(font={"size": 8}, font_color="red"),
    "one annotation": lambda figure: figure.update_annotations(selector={"text": "b"}, y=0.3),
    "nothing": lambda figure: figure.update_layout().update_xaxes(),
}


def drawn(blank: go.Figure, *changes: Change) -> dict[str, object]:
    figure = make_subplots(rows=2, cols=2, subplot_titles=list("abcd"), figure=blank)
    figure.add_trace(go.Scatter(x=[1, 2], y=[3, 4]), row=2, col=1)
    for change in changes:
        change(figure)
    return dict(figure.to_plotly_json())


@pytest.mark.parametrize("name", CHANGES)
def test_a_sheet_holds_what_a_figure_holds(name: str) -> None:
    assert drawn(Sheet(), CHANGES[name]) == drawn(go.Figure(), CHANGES[name])


def test_changes_one_after_the_other_hold_the_same() -> None:
    assert drawn(Sheet(), *CHANGES.values()) == drawn(go.Figure(), *CHANGES.values())


@pytest.mark.parametrize(
    "change",
    [
        lambda figure: figure.update_xaxes(no_such_part=1),
        lambda figure: figure.update_layout(height="tall"),
        lambda figure: figure.update_annotations(font={"size": "large"}),
    ],
)
def test_what_a_figure_refuses_a_sheet_refuses(change: Change) -> None:
    for blank in (go.Figure, Sheet):
        with pytest.raises(ValueError, match=r"\S"):
            drawn(blank(), change)


def test_new_properties_lie_over_old_ones_level_by_level() -> None:
    old = {"a": 1, "b": {"c": 2, "d": {"e": 3}}}
    assert merged(old, {"b": {"d": {"f": 4}}}) == {"a": 1, "b": {"c": 2, "d": {"e": 3, "f": 4}}}
    assert merged(old, {"b": 5}) == {"a": 1, "b": 5}
    assert old == {"a": 1, "b": {"c": 2, "d": {"e": 3}}}
    assert spelt_out({"title_text": "t", "title_font_size": 9, "range": [0, 1]}) == {
        "title": {"text": "t", "font": {"size": 9}}, "range": [0, 1],
    }  # fmt: skip


def test_bands_lie_as_the_librarys_own_would() -> None:
    bands = [("#111111", 0.0, 1.0), ("#222222", 1.0, 3.0)]
    one, other = style.panels(["a", "b"]), style.panels(["a", "b"])
    style.bands_across(one, style.place(1, 2), bands)
    for figure in (one, other):
        figure.add_trace(go.Scatter(x=[1], y=[2]), **style.place(1, 2))
    for colour, low, high in bands:
        other.add_hrect(y0=low, y1=high, fillcolor=colour, line_width=0, layer="below", **style.place(1, 2))
    assert one.to_plotly_json() == other.to_plotly_json()
