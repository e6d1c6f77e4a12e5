"""Contract over every figure and every shipped study, run small: units, looks, size, and the same data again."""

from __future__ import annotations

import hashlib
import itertools
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit
from invented_results import invented_results

from tradespace import evaluate, sweep
from tradespace.figures import DrawnFigure, draw_figures, figures
from tradespace.figures.choice import (
    LINE_CELLS,
    MAP_CELLS,
    cell_edges,
    cell_places,
    cells,
    fold,
    leader,
    own_inputs,
    points,
    standing_design,
    swept_points,
)
from tradespace.figures.heliocentric import ellipse, flights
from tradespace.figures.history import flown_design, history
from tradespace.figures.reach import driver_of, greatest_speed, reach
from tradespace.figures.windows import cheapest_of_each
from tradespace.results import Results
from tradespace.study import parse_study

STUDIES = Path(__file__).parents[1] / "studies"
SHIPPED = sorted(path.stem for path in STUDIES.glob("*.toml"))
WHOLE = ("outer_belt_ice_tour", "ceres_surface_hopper", "mars_moon_shuttle")
"""One study of each kind, of which every figure is drawn; of the others those that fly designs or fold the sweep."""
SOME = ("closure_map", "limiting_link_map", "timeline", "payload_delta_v", "campaign_state", "tour_map")
TOUR, HOPPER = "outer_belt_ice_tour", "ceres_surface_hopper"
COMPANY = ["electrolysis_bipropellant", "xenon_hall"]
MARKS = 4000
"""Marks and points one line or cloud may have at most."""
CHARACTERS = 700_000
"""Size of the data of one figure of a fine sweep at most."""


def small_text(name: str) -> str:
    """A shipped study with few designs of few architectures."""
    text: Any = tomlkit.parse((STUDIES / f"{name}.toml").read_text(encoding="utf-8"))
    for variable in text.get("sweep", {}).values():
        if "count" in variable:
            variable["count"] = 5
    text["architectures"] = {"include": COMPANY}
    return str(tomlkit.dumps(text))


@cache
def small(name: str) -> Results:
    return sweep.run(parse_study(small_text(name), name))


@cache
def drawn_of(name: str) -> tuple[DrawnFigure, ...]:
    return tuple(draw_figures(small(name), None if name in WHOLE else SOME))


@pytest.fixture(params=SHIPPED)
def drawn(request: pytest.FixtureRequest) -> tuple[DrawnFigure, ...]:
    return drawn_of(request.param)


def hashes(drawn: tuple[DrawnFigure, ...]) -> dict[str, str]:
    """One number for each figure with its caption."""
    return {
        item.key: hashlib.sha256((str(item.figure.to_json()) + item.caption).encode()).hexdigest()
        for item in drawn
    }


def test_every_axis_of_numbers_names_its_unit(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        axes = {name: item.figure.layout[name] for name in item.figure.layout if re.match(r"[xy]axis", name)}
        titles = {
            side: [str(axis.title.text or "") for name, axis in axes.items() if name[0] == side]
            for side in "xy"
        }
        for name, axis in axes.items():
            if axis.type == "category" or (not axis.title.text and any(titles[name[0]])):
                continue
            assert re.search(r"\(.+\)$", str(axis.title.text or "")), (item.key, name, axis.title.text)


def look(trace: Any) -> tuple[Any, ...]:
    """What tells a trace from others without colour."""
    line, marker = trace.line if "line" in trace else None, trace.marker if "marker" in trace else None
    pattern = marker.pattern.shape if trace.type == "bar" and marker.pattern else None
    symbol = str(marker.symbol) if trace.type == "scatter" and marker else None
    return (
        trace.type,
        trace.mode if trace.type == "scatter" else "",
        line and (line.dash, line.width),
        symbol,
        pattern,
    )


def colour(trace: Any) -> str:
    return str(
        (trace.line.color if trace.type == "scatter" and trace.line.color else None) or trace.marker.color
    )


def test_traces_differ_in_more_than_colour(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        told = [
            trace
            for trace in item.figure.data
            if trace.type == "scatter"
            and trace.showlegend is not False
            and not (trace.meta or {}).get("drawing_only")
        ]
        for one, two in itertools.combinations(told, 2):
            assert colour(one) == colour(two) or look(one) != look(two), (item.key, one.name, two.name)


def test_neighbours_in_a_stack_of_bars_differ_in_more_than_colour(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        if item.key not in {"mass_breakdown", "timeline", "campaign_state"}:
            continue
        bars = [trace for trace in item.figure.data if trace.type == "bar"]
        for one, two in itertools.pairwise(bars):
            assert look(one) != look(two), (item.key, one.name, two.name)


def test_no_figure_draws_more_marks_than_can_be_told_apart(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        for trace in item.figure.data:
            assert trace.type != "scatter" or len(trace.x) <= MARKS, (item.key, trace.name)


def test_captions_are_sentences_with_numbers_that_are_numbers(drawn: tuple[DrawnFigure, ...]) -> None:
    for item in drawn:
        assert item.caption.endswith("."), item.key
        assert not re.search(r"\b(nan|None|inf)\b", item.caption), (item.key, item.caption)


def test_every_figure_is_drawn_of_a_study_or_of_invented_answers() -> None:
    seen = {item.key for name in SHIPPED for item in drawn_of(name)}
    real = draw_figures(invented_results(real=True), ["tour_map", "window_maps"])
    seen |= {item.key for item in real}
    for key in ("payload_delta_v", "campaign_state", "tour_map"):
        assert key in seen
        assert key in figures()


def test_another_process_draws_the_same() -> None:
    script = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from test_figures_of_studies import TOUR, drawn_of, hashes\n"
        "for key, number in hashes(drawn_of(TOUR)).items():\n    print(key, number)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(Path(__file__).parent)],
        capture_output=True, text=True, check=True, env={**os.environ, "PYTHONHASHSEED": "7"},
    )  # fmt: skip
    other = dict(line.split() for line in done.stdout.splitlines())
    assert other == hashes(drawn_of(TOUR))


# -- very fine sweeps ------------------------------------------------------------------------------------------------


@cache
def fine() -> Results:
    return invented_results(count=151, sensitivity=False)


def test_a_fine_sweep_is_folded_and_says_so() -> None:
    for item in draw_figures(fine(), ["closure_map", "limiting_link_map", "refuel_time"]):
        assert len(str(item.figure.to_json())) < CHARACTERS, item.key
        for trace in item.figure.data:
            if trace.type in {"heatmap", "contour"}:
                assert max(np.asarray(trace.z).shape) <= MAP_CELLS, item.key
        if item.key.endswith("_map"):
            assert "a cell holds 2 × 2 of its points" in item.caption


def test_a_folded_cell_holds_the_best_of_its_designs_and_every_design_lies_in_one() -> None:
    results = fine()
    axes = "array_area", "current_density"
    name = results.architectures[0]
    rows = results.designs[results.designs["architecture"] == name]
    found = cells(results, name, axes)
    places = [cell_places(results, axis, rows[axis].to_numpy()) for axis in axes]
    best = np.full(found.margin.shape, -np.inf)
    np.maximum.at(best, (places[1], places[0]), rows["margin"].to_numpy())
    np.testing.assert_array_equal(found.margin, best)
    counts = np.bincount(places[0])
    assert counts.sum() == len(rows)
    assert set(counts[:-1] // 151) == {2}
    for axis in axes:
        edges, own = cell_edges(results, axis), swept_points(results, axis)
        assert edges[0] == own[0]
        assert edges[-1] == own[-1]
        assert ((points(results, axis) > edges[:-1]) & (points(results, axis) < edges[1:])).all()


def test_lines_keep_more_points_than_maps() -> None:
    assert fold(fine(), "array_area") == 2
    assert fold(fine(), "array_area", LINE_CELLS) == 1


def test_of_many_dates_the_cheapest_of_each_few_is_kept() -> None:
    speed = np.array([3.0, 1.0, 2.0, np.nan, np.nan, np.nan, 5.0, 4.0])
    np.testing.assert_array_equal(cheapest_of_each(speed, 3), [1, 3, 7])
    np.testing.assert_array_equal(cheapest_of_each(speed, 8), np.arange(8))


def test_regions_of_a_map_carry_their_names_so_that_grey_copies_can_be_read() -> None:
    results = invented_results(sensitivity=False)
    (binding,) = draw_figures(results, ["limiting_link_map"])
    (closing,) = draw_figures(results, ["closure_map"])
    written = [note.text for note in binding.figure.layout.annotations]
    for trace in binding.figure.data:
        if trace.type == "heatmap":
            links, counts = np.unique(np.asarray(trace.text).astype(str), return_counts=True)
            assert set(links[counts > 0.05 * counts.sum()]) <= set(written)
    mixed = [
        name for name, row in results.counts().iterrows() if 0.05 < row["closing"] / row["designs"] < 1.0
    ]
    assert sum(note.text == "closes" for note in closing.figure.layout.annotations) == len(mixed) > 0


# -- what the pictures of one mission show ---------------------------------------------------------------------------


def test_the_line_of_payload_goes_through_the_design_itself() -> None:
    results = small(TOUR)
    for name in results.architectures:
        row, _ = standing_design(results, name)
        assert row is not None
        own = float(row["payload_capacity"])
        value = float(results.study.values[driver_of(results, name)])
        one = reach(results, name, (0.5 * value, 1.5 * value))
        assert one is not None
        if float(row["margin_mass"]) <= -1.0:  # no finite mass: nothing is drawn there
            assert np.isnan(one.own[1:]).all()
            continue
        assert one.own[1] == pytest.approx(own, rel=1e-9)
        assert one.own[2] == pytest.approx(float(row["dry_mass"]), rel=1e-9)
        finite = np.isfinite(one.payload)
        assert (np.diff(one.payload[finite]) < 0.0).all()
        assert (np.diff(one.dry_mass[finite]) > 0.0).all()


def test_the_greatest_velocity_change_carries_exactly_the_payload() -> None:
    results, name = small(TOUR), "electrolysis_bipropellant"
    one = reach(results, name, (1000.0, 8000.0))
    row, _ = standing_design(results, name)
    assert one is not None
    assert row is not None
    speed = greatest_speed(one, 30.0)
    inputs = {**own_inputs(results, row), "hop_delta_v_capacity": np.array([speed])}
    found = evaluate.answers(results.study, results.mission, name, inputs, ["payload_capacity"])
    assert found["payload_capacity"][0] == pytest.approx(30.0, abs=3.0)  # between two points of the line


def test_transfers_begin_and_end_on_the_bodies_of_their_dates() -> None:
    from tradespace import ephemeris

    results = small(TOUR)
    row, _ = standing_design(results, str(leader(results)))
    assert row is not None
    found = flights(results, row)
    assert [one.hop for one in found] == [1, 2]
    for one in found:
        for end, body, date in ((0, one.here, one.departure), (-1, one.there, one.arrival)):
            place = ephemeris.state(body, date)[0][0]
            assert np.linalg.norm(one.path[end] - place) < 1e-6 * np.linalg.norm(place)
        assert one.departure == float(row[f"window_date_{one.hop}"])


def test_an_ellipse_goes_through_its_state_and_an_escape_is_none() -> None:
    position, velocity = np.array([1.5e11, 2.0e10, -4.0e9]), np.array([-5000.0, 27000.0, 900.0])
    orbit = ellipse(position, velocity)
    assert orbit is not None
    step = 1000.0
    before, here, after = orbit.after(np.array([-step, 0.0, step]))
    np.testing.assert_allclose(here, position, rtol=1e-9)
    np.testing.assert_allclose((after - before) / (2 * step), velocity, rtol=1e-5)
    assert ellipse(position, 2.0 * velocity) is None


@pytest.mark.parametrize("name", [TOUR, HOPPER, "mars_moon_shuttle"])
def test_what_is_on_board_follows_the_table_of_answers(name: str) -> None:
    results = small(name)
    craft = str(leader(results))
    row, _ = standing_design(results, craft)
    assert row is not None
    one = flown_design(results, craft, row)
    hops = results.mission.hops
    for hop in range(1, hops + 1):
        for column in ("arrival_date", "landing_date", "propellant_used"):
            assert float(one.hops[hop - 1][column]) == pytest.approx(float(row[f"{column}_{hop}"]), rel=1e-9)
    found = history(results, craft, row, hops)
    assert (np.diff(found.dates) >= 0.0).all()
    assert (np.diff(found.battery_dates) >= 0.0).all()
    assert found.on_board.min() >= 0.0
    assert found.on_board.max() <= found.full * (1 + 1e-9)
    used = sum(float(row[f"propellant_used_{hop}"]) for hop in range(1, hops + 1))
    drops = -np.diff(found.on_board)
    assert drops[drops > 0].sum() == pytest.approx(used, rel=1e-6)
    assert (found.pressure <= found.filling_pressure * (1 + 1e-9)).all()
    assert (found.pressure >= 0.0).all()
    assert (found.after_night <= found.battery).all()
    deepest = (found.battery - found.after_night).max() / found.battery[-1]
    assert deepest <= float(one.design.battery_depth_of_discharge) * (1 + 1e-9)


def test_half_the_gas_has_about_half_the_pressure() -> None:
    from tradespace.figures.history import pressure_of

    results, name = small(TOUR), "electrolysis_bipropellant"
    row, _ = standing_design(results, name)
    assert row is not None
    one = flown_design(results, name, row)
    low, half, full = pressure_of(results, name, one, np.array([0.0, 0.5, 1.0]), 1.0e7)
    assert low == 0.0
    assert full == pytest.approx(1.0e7)
    assert half == pytest.approx(0.5e7, rel=0.05)  # real gas: near, and not equal
    assert half != 0.5e7
