"""Contract: what every registered figure keeps, drawn from an invented table of answers."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest
from invented_results import HOSTILE, invented_results

from tradespace.errors import OutputError, UnknownNameError
from tradespace.figures import DrawnFigure, draw_figures, export, figures, write_figures
from tradespace.figures.choice import cells, crosses_edge, standing_design
from tradespace.figures.style import OPEN_PALETTE, is_logarithmic, number
from tradespace.results import LINKS, Results

CASES: dict[str, dict[str, Any]] = {
    "tour": {},
    "surface": {"surface": True},
    "nothing closes": {"closing": False},
    "real places": {"real": True},
    "scattered": {"plan": "sobol"},
    "scattered on a surface": {"plan": "latin_hypercube", "surface": True, "extra": 3, "count": 8},
    "one at a time": {"plan": "one_at_a_time"},
    "three variables, hostile names": {"extra": 3, "hostile": True, "count": 8},
}

OPENED = ("cell_polarisation", "chamber_nozzle_map", "mixture_ratio", "energy_breakdown")
"""Figures that evaluate a design once more, and so need real thrusters; drawn by ``test_device_figures``."""
FLOWN = ("payload_delta_v", "campaign_state", "tours")
"""Figures that fly a design once more, drawn by ``test_figures_of_studies``, or of a search, by ``test_tour``."""
PLANNED = (
    "closure_map", "limiting_link_map", "refuel_time", "crossing_map", "refuel_crossing",
)  # fmt: skip
"""Figures that depend on how the designs were chosen."""


@cache
def drawn_for(case: str) -> tuple[DrawnFigure, ...]:
    keys = PLANNED if "plan" in CASES[case] else None
    return tuple(draw_figures(invented_results(**CASES[case], sensitivity=keys is None), keys))


@pytest.fixture(params=list(CASES), ids=list(CASES))
def drawn(request: pytest.FixtureRequest) -> tuple[DrawnFigure, ...]:
    return drawn_for(request.param)


@pytest.fixture(scope="module")
def tour() -> Results:
    return invented_results()


def axes_of(figure: go.Figure) -> Iterator[tuple[str, Any]]:
    for name in figure.layout:
        if re.fullmatch(r"[xy]axis\d*", name):
            yield name, figure.layout[name]


def colours_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        if re.fullmatch(r"#[0-9A-Fa-f]{6}", value):
            yield value.upper()
    elif isinstance(value, dict):
        for inside in value.values():
            yield from colours_in(inside)
    elif isinstance(value, list | tuple):
        for inside in value:
            yield from colours_in(inside)


def strings_in(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inside in value.items():
            if key not in {"hovertemplate", "meta"}:
                yield from strings_in(inside)
    elif isinstance(value, list | tuple | np.ndarray):
        for inside in list(value):
            yield from strings_in(inside)


def test_every_registered_figure_is_drawn_somewhere() -> None:
    seen = set()
    for case in CASES:
        seen |= {
            re.sub(
                r"^(tornado|stackup|closing_boundary|elasticities|screening|variance_shares)_.*",
                r"\1",
                item.key,
            )
            for item in drawn_for(case)
        }
    assert seen | set(OPENED) | set(FLOWN) == set(figures())


def test_units_stand_on_every_axis(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        axes = dict(axes_of(item.figure))
        titles = [str(axis.title.text or "") for axis in axes.values()]
        for name, axis in axes.items():
            title = str(axis.title.text or "")
            side = name[0]
            follows = axis.matches is not None or any(other.matches == side for other in axes.values())
            if not title and follows:
                assert any(re.search(r"\(.+\)$", text) for text in titles), (item.key, name)
            elif axis.type != "category":
                assert re.search(r"\(.+\)$", title), (item.key, name, title)


def test_every_figure_says_what_it_shows_and_where_it_comes_from(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        assert len(item.caption) > 40, item.key
        assert item.caption.endswith("."), item.key
        assert "nan" not in item.caption.lower().split(), item.key
        assert "invented_tour" in item.source
        assert "seed 0" in item.source


def test_no_trace_is_empty(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        assert item.figure.data, item.key
        for trace in item.figure.data:
            field = trace.z if "z" in trace else trace.y if trace.orientation != "h" else trace.x
            values = [one for one in np.asarray(field, dtype=object).ravel() if one is not None]
            numbers = [one for one in values if not (isinstance(one, float) and np.isnan(one))]
            assert numbers, (item.key, trace.name)


def test_colours_come_from_an_open_palette_that_colour_blind_readers_can_tell_apart(
    drawn: tuple[DrawnFigure, ...],
) -> None:
    for item in drawn:
        for trace in item.figure.data:
            for colour in colours_in(
                {key: trace.to_plotly_json().get(key) for key in ("marker", "line", "colorscale")}
            ):
                assert colour in OPEN_PALETTE, (item.key, colour)
        for colour in colours_in(item.figure.layout.coloraxis.to_plotly_json().get("colorscale", [])):
            assert colour in OPEN_PALETTE, (item.key, colour)


def test_lines_differ_by_more_than_colour(tour: Results) -> None:
    item = next(draw_figures(tour, ["refuel_time"]))
    lines = [trace for trace in item.figure.data if trace.mode == "lines"]
    assert len(lines) == 4
    assert len({trace.line.dash for trace in lines}) == len(lines)
    assert len({trace.line.color for trace in lines}) == len(lines)


def test_hostile_names_are_never_markup() -> None:
    for item in drawn_for("three variables, hostile names"):
        for text in strings_in(item.figure.to_plotly_json()):
            assert "<script" not in text, (item.key, text)
            assert "<img" not in text, (item.key, text)


def test_closure_map_is_not_blank_when_nothing_closes() -> None:
    results = invented_results(closing=False)
    item = next(draw_figures(results, ["closure_map"]))
    heat = [trace for trace in item.figure.data if trace.type == "heatmap"]
    assert len(heat) == len(results.architectures)
    assert all(np.isfinite(np.asarray(trace.z)).all() and np.max(trace.z) < 0 for trace in heat)


def test_closure_map_holds_the_best_margin_of_every_cell() -> None:
    results = invented_results(extra=3, count=5)
    first, second = (variable.name for variable in results.study.sweep[:2])
    for name in results.architectures:
        rows = results.designs[results.designs["architecture"] == name]
        expected = rows.groupby([second, first])["margin"].max().to_numpy().reshape(5, 5)
        found = cells(results, name, (first, second))
        assert np.array_equal(found.margin, expected)
        assert np.array_equal(results.designs["margin"].to_numpy()[found.row], expected)


def test_a_map_of_scattered_designs_counts_each_of_them_once() -> None:
    results = invented_results(plan="latin_hypercube", sensitivity=False)
    item = next(draw_figures(results, ["closure_map"]))
    counts = results.counts()
    maps = [trace for trace in item.figure.data if isinstance(trace, go.Heatmap)]
    assert len(maps) == len(results.architectures)
    for trace, name in zip(maps, results.architectures, strict=True):
        cells_ = [[int(word) for word in text.split(" of ")] for line in trace.text for text in line]
        assert [sum(one) for one in zip(*cells_, strict=True)] == [
            counts["closing"][name],
            counts["designs"][name],
        ]
        for share, (closing, designs) in zip(np.ravel(trace.z), cells_, strict=True):
            assert share == pytest.approx(closing / designs, abs=1e-4) if designs else np.isnan(share)
    assert "no grid" in item.caption


def test_a_variable_moved_alone_is_drawn_with_the_others_at_their_own_values() -> None:
    results = invented_results(plan="one_at_a_time", sensitivity=False)
    item = next(draw_figures(results, ["closure_map"]))
    own = {name: results.study.values[name] for name in ("array_area", "current_density")}
    rows = results.designs[results.designs["architecture"] == results.architectures[0]]
    for axis, other, place in (("array_area", "current_density", ""), ("current_density", "array_area", "2")):
        (line,) = [
            trace
            for trace in item.figure.data
            if trace.xaxis == f"x{place}" and trace.legendgroup == results.architectures[0]
        ]
        expected = rows[rows[other] == own[other]].sort_values(axis)["margin"]
        np.testing.assert_allclose(line.y, np.clip(expected, -1.0, 3.0))


def test_the_boundary_is_drawn_exactly_where_designs_close_and_fail(tour: Results) -> None:
    item = next(draw_figures(tour, ["closure_map"]))
    contours = [trace for trace in item.figure.data if trace.type == "contour"]
    mixed = [name for name, row in tour.counts().iterrows() if 0 < row["closing"] < row["designs"]]
    drawn_for = [trace for trace in contours if crosses_edge(np.asarray(trace.z))]
    assert len(drawn_for) == len(mixed) > 0
    assert all(abs(trace.contours.start) < 1e-6 for trace in contours)


def test_limiting_link_map_names_the_binding_link(tour: Results) -> None:
    item = next(draw_figures(tour, ["limiting_link_map"]))
    heat = next(trace for trace in item.figure.data if trace.type == "heatmap")
    rows = tour.designs[tour.designs["architecture"] == tour.architectures[0]]
    assert sorted(np.asarray(heat.text).ravel()) == sorted(rows["limited_by"])
    assert [LINKS[int(code)] for code in np.asarray(heat.z).ravel()] == list(np.asarray(heat.text).ravel())


def test_mass_bars_add_up_to_the_mass_with_full_tanks(tour: Results) -> None:
    item = next(draw_figures(tour, ["mass_breakdown"]))
    bars = [trace for trace in item.figure.data if trace.type == "bar"]
    for place, name in enumerate(tour.architectures):
        row, _ = standing_design(tour, name)
        assert row is not None
        assert sum(float(trace.x[place]) for trace in bars) == pytest.approx(float(row["wet_mass"]), rel=1e-5)


def test_crossing_map_finds_the_winner_of_every_cell() -> None:
    results = invented_results(surface=True, count=9)
    item = next(draw_figures(results, ["crossing_map"]))
    heat = next(trace for trace in item.figure.data if trace.type == "heatmap")
    names = [name for name in results.architectures if results.study.thrusters[name].refuels]
    designs = results.designs[results.designs["closes"] & results.designs["architecture"].isin(names)]
    merit = designs.pivot_table(
        index="stack_efficiency", columns="extraction_energy", values="mission_time", aggfunc="min"
    )
    winners = {}
    for (up, across), group in designs.groupby(["stack_efficiency", "extraction_energy"]):
        winners[(up, across)] = names.index(group.loc[group["mission_time"].idxmin(), "architecture"])
    for line, up in enumerate(results.study.sweep[1].points):
        for column, across in enumerate(results.study.sweep[0].points):
            assert heat.z[line][column] == winners.get((up, across), len(names))
    assert merit.size <= heat.z.size


def test_refuel_crossing_lies_between_the_points_where_the_order_changes() -> None:
    results = invented_results(surface=True, count=41)
    item = next(draw_figures(results, ["refuel_crossing"]))
    lines = {trace.name: trace for trace in item.figure.data if trace.mode == "lines+markers"}
    one, two = lines["Electrolysis, gas bipropellant"], lines["Steam resistojet"]
    change = np.flatnonzero(np.diff(np.sign(np.asarray(one.y) - np.asarray(two.y))))
    assert len(change) == 1
    mark = next(trace for trace in item.figure.data if trace.name == "crossing")
    low, high = one.x[change[0]], one.x[change[0] + 1]
    assert any(low <= x <= high for x in mark.x)


def test_jumps_stay_off_the_scale_of_rates(tour: Results) -> None:
    item = next(draw_figures(tour, ["exchange_rates"]))
    assert "jump" in item.caption
    marks = [trace for trace in item.figure.data if trace.name == "calendar free"]
    assert all("x" in trace.marker.symbol for trace in marks)
    rates = np.abs(tour.sensitivity.exchange.query("not jump")["days_per_hop"]).max()
    assert max(np.abs(trace.x).max() for trace in item.figure.data) < 2 * rates


def test_same_results_give_the_same_figure_data(tour: Results) -> None:
    again = invented_results()
    for one, two in zip(draw_figures(tour), draw_figures(again), strict=True):
        assert one.figure.to_json() == two.figure.to_json(), one.key


def test_unknown_figure_names_the_nearest(tour: Results) -> None:
    with pytest.raises(UnknownNameError, match="closure_map"):
        list(draw_figures(tour, ["closure_mapp"]))


def test_without_sensitivities_the_other_figures_still_come() -> None:
    keys = {item.key for item in draw_figures(invented_results(sensitivity=False))}
    assert {"closure_map", "mass_breakdown", "timeline"} <= keys
    assert not any(key.startswith(("tornado", "exchange", "power")) for key in keys)


def test_csv_holds_the_numbers_with_units_and_the_caption(tour: Results, tmp_path: Any) -> None:
    written = write_figures(tour, tmp_path / "figures", ["csv"])
    assert {path.stem for path in written} == {item.key for item in draw_figures(tour)}
    lines = (tmp_path / "figures" / "closure_map.csv").read_text(encoding="utf-8").splitlines()
    assert all(line.startswith("# ") for line in lines[:3])
    rows = list(csv.DictReader(lines[3:]))
    maps = [row for row in rows if row["value_of"].startswith("smallest margin")]
    assert len(maps) == len(tour.designs)
    assert rows[0]["x_axis"] == "Array area (m²)"
    assert max(float(row["value"]) for row in maps) == pytest.approx(
        min(1.0, tour.designs["margin"].max()), rel=1e-4
    )


def test_unknown_format_is_refused_before_anything_is_written(tour: Results, tmp_path: Any) -> None:
    with pytest.raises(UnknownNameError, match="pdf"):
        write_figures(tour, tmp_path / "figures", ["pfd"])
    assert not (tmp_path / "figures").exists()


def test_without_a_browser_the_csv_is_written_and_the_way_out_is_named(
    tour: Results, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    import kaleido
    from kaleido.errors import ChromeNotFoundError

    def no_browser(*_: object, **__: object) -> None:
        raise ChromeNotFoundError

    monkeypatch.setattr(kaleido, "write_fig_from_object_sync", no_browser)
    with pytest.raises(OutputError, match="apt install chromium"):
        write_figures(tour, tmp_path, ["csv", "pdf"])
    assert (tmp_path / "closure_map.csv").is_file()


def test_print_fits_its_column(tour: Results) -> None:
    for item in draw_figures(tour):
        copy = export.printable(item)
        points = copy.layout.font.size * item.width / copy.layout.width * 72 / 25.4
        assert item.width in {85, 180}
        assert 6.0 < points < 9.0, item.key
        assert any(item.source[:20] in str(note.text) for note in copy.layout.annotations)


@pytest.mark.parametrize(
    ("values", "logarithmic"),
    [
        (np.geomspace(1, 100, 9), True),
        (np.linspace(1, 100, 9), False),
        (np.array([0.0, 1.0, 2.0]), False),
        (np.array([1.0, 2.0]), False),
    ],
)
def test_scale_of_an_axis_follows_the_sweep(values: Any, logarithmic: bool) -> None:
    assert is_logarithmic(values) is logarithmic


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.25, "−0.25"),
        (1234567.0, "1\xa0230\xa0000"),
        (3.2e9, "3.20×10⁹"),
        (float("inf"), "never"),
        (99.96, "100"),
    ],
)
def test_numbers_read_well(value: float, text: str) -> None:
    assert number(value) == text


def test_the_hostile_text_is_hostile() -> None:
    assert "</script>" in HOSTILE
