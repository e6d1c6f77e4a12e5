"""Figures of cell, engine and energy: what they draw is what the engine answers, and adds up."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest
from small_studies import SURFACE, TOUR

import tradespace
from tradespace import evaluate
from tradespace.evaluate.devices import AT_STOP, IN_FLIGHT, cell_curve, cell_point, energy_items, impulses
from tradespace.figures import DrawnFigure, draw_figures, figures
from tradespace.figures.energy import items_of
from tradespace.figures.engines import own_ratio
from tradespace.figures.insides import inside, ranked
from tradespace.figures.style import OPEN_PALETTE
from tradespace.results import Results
from tradespace.study import parse_study

KEYS = ("cell_polarisation", "chamber_nozzle_map", "mixture_ratio", "energy_breakdown")
MORE = [
    "electrolysis_bipropellant",
    "rotating_detonation",
    "liquid_hydrogen_oxygen",
    "steam_resistojet",
    "water_hall",
]
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>"
ENTHALPY = (
    285.83 / 18.01528 / 3.6
)  # kWh/kg: cox_1989, enthalpy of formation of liquid water, over its molar mass
STEAM_ENTHALPY = 241.826  # kJ/mol: cox_1989, of water vapour


def results_of(text: str) -> Results:
    include = ", ".join(f'"{name}"' for name in MORE)
    return tradespace.run(parse_study(re.sub(r"include = \[.*\]", f"include = [{include}]", text)))


@cache
def tour() -> Results:
    return results_of(TOUR)


@cache
def hopper() -> Results:
    return results_of(SURFACE.replace('title = "Small hopper"', f"title = '{HOSTILE}'"))


@pytest.fixture(params=[tour, hopper], ids=["tour", "surface"])
def results(request: pytest.FixtureRequest) -> Results:
    found: Results = request.param()
    return found


KEPT: dict[tuple[str, str], DrawnFigure] = {}


def item_of(results: Results, key: str) -> DrawnFigure:
    """A figure of one of the shared results, drawn once; it is only read."""
    place = (str(results.study.hash), key)
    if place not in KEPT:
        KEPT[place] = next(draw_figures(results, [key]))
    return KEPT[place]


def drawn(results: Results, key: str) -> go.Figure:
    return item_of(results, key).figure


def strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from strings(inner)
    elif isinstance(value, list | tuple | np.ndarray):
        for inner in list(value):
            yield from strings(inner)


def test_every_figure_of_a_device_is_registered_drawn_and_says_what_it_finds(results: Results) -> None:
    assert set(KEYS) <= set(figures())
    found = [item_of(results, key) for key in KEYS]
    assert [item.key for item in found] == list(KEYS)
    for item in found:
        assert re.search(r"\d", item.caption), item.key
        assert item.caption.endswith(".")
        assert "nan" not in item.caption.lower().split()
        for axes in (list(item.figure.select_xaxes()), list(item.figure.select_yaxes())):
            one_scale = any(axis.matches for axis in axes)
            for axis in axes:
                title = str(axis.title.text or "")
                shared = one_scale and not title
                assert axis.type == "category" or shared or re.search(r"\(.+\)$", title), (item.key, title)
        for text in strings(item.figure.to_plotly_json()):
            assert "<script" not in text
            assert "<img" not in text
        for text in strings([trace.to_plotly_json() for trace in item.figure.data]):
            assert not re.fullmatch(r"#[0-9A-Fa-f]{6}", text) or text.upper() in OPEN_PALETTE | {
                "#1F2328",
                "#E6E8EC",
            }


def test_the_same_results_give_the_same_drawing() -> None:
    again = replace(tour())  # nothing is remembered of it
    for key in KEYS:
        assert next(draw_figures(again, [key])).figure.to_json() == drawn(tour(), key).to_json(), key


def test_parts_of_the_voltage_add_up_to_the_voltage_the_engine_answers() -> None:
    for name, one in ranked(tour()):
        if not one.architecture.refuels:
            continue
        cell, current, temperature, pressure = cell_point(one.study, one.inputs)
        parts, shares = cell_curve(cell, np.array([current]), temperature, pressure)
        assert sum(float(part[0]) for part in parts.values()) == pytest.approx(
            one.row.cell_voltage, rel=1e-12
        ), name
        assert 0.5 < float(shares["faradaic_efficiency"][0]) < 1.0


def test_bands_of_the_cell_fill_all_of_the_electricity_and_the_star_is_the_engines_answer() -> None:
    figure = drawn(tour(), "cell_polarisation")
    stacks: dict[str, np.ndarray] = {}
    for trace in figure.data:
        if trace.stackgroup:
            stacks[trace.stackgroup] = stacks.get(trace.stackgroup, 0.0) + np.asarray(trace.y)
    assert np.allclose(stacks["stack1"], 100.0, atol=1e-4)
    assert np.all(np.diff(stacks["stack0"]) > 0.0)  # a harder run cell takes more voltage
    name, one = next((name, one) for name, one in ranked(tour()) if one.architecture.refuels)
    row = tour().best(name)
    wanted = row if row is not None else one.row
    stars = [trace for trace in figure.data if trace.marker.symbol == "star"]
    assert stars[0].y[0] == pytest.approx(float(wanted["cell_voltage"]))
    assert stars[1].y[0] == pytest.approx(100.0 * float(wanted["stack_efficiency"]))
    at = np.interp(stars[0].x[0], figure.data[0].x, stacks["stack0"])
    assert at == pytest.approx(stars[0].y[0], rel=2e-3)


def test_the_two_efficiencies_differ_by_the_two_heating_values() -> None:
    lines = {trace.name: np.asarray(trace.y) for trace in drawn(tour(), "cell_polarisation").data}
    share = lines["efficiency, lower heating value"] / lines["efficiency, higher heating value"]
    assert np.allclose(share, STEAM_ENTHALPY / 285.83, rtol=2e-4)


def test_a_stated_stack_efficiency_takes_the_star_off_the_curve_and_says_so() -> None:
    stated = results_of(SURFACE + '\n[electrolysis]\nstack_efficiency = "55 %"\n')
    item = next(draw_figures(stated, ["cell_polarisation"]))
    assert "states the stack efficiency" in item.caption
    stars = [trace for trace in item.figure.data if trace.marker.symbol == "star"]
    assert stars[1].y[0] == pytest.approx(55.0)
    assert "states" not in item_of(hopper(), "cell_polarisation").caption


@pytest.mark.parametrize(
    ("kind", "point"),
    [
        ("membrane", ""),
        ("common_duct", ""),
        ("solid_oxide", 'cell_temperature = "800 degC"\ncurrent_density = "0.8 A/cm2"'),
    ],
)
def test_any_kind_of_cell_is_drawn_and_asks_for_heat_below_its_dotted_line(kind: str, point: str) -> None:
    results = results_of(f'{SURFACE}\n[electrolysis]\ncell_kind = "{kind}"\n{point}\n')
    item = next(draw_figures(results, ["cell_polarisation"]))
    assert kind.replace("_", " ") in item.caption
    one = inside(results, "electrolysis_bipropellant")
    assert one is not None
    lines = {trace.name: trace for trace in item.figure.data}
    stars = [trace for trace in item.figure.data if trace.marker.symbol == "star"]
    _, shares = cell_curve(*cell_at(one))
    neutral = lines["thermoneutral voltage"].y[0] * float(shares["faradaic_efficiency"][0])
    assert (
        (stars[0].y[0] < neutral)
        is (float(one.row.cell_heat_supplied) > 0.0)
        is ("lacks heat" in item.caption)
    )
    kept = float(one.row.stack_efficiency) * (1.0 + float(one.row.cell_heat_supplied))
    assert stars[1].y[0] == pytest.approx(100.0 * kept)
    stack = sum(np.asarray(trace.y) for trace in item.figure.data if trace.stackgroup == "stack1")
    assert np.allclose(stack, 100.0, atol=1e-4)


def cell_at(one: Any) -> tuple[Any, np.ndarray, float, float]:
    cell, current, temperature, pressure = cell_point(one.study, one.inputs)
    return cell, np.array([current]), temperature, pressure


@pytest.mark.parametrize("make", [tour, hopper])
def test_impulses_at_the_own_ratio_are_those_of_the_engine(make: Any) -> None:
    results = make()
    for name, one in ranked(results):
        if one.architecture.thruster.feed != "gases":
            continue
        rows = results.designs[results.designs["architecture"] == name]
        found = impulses(one, {"mixture_ratio": np.array([own_ratio(one)])})
        assert found.mined[0] == pytest.approx(float(rows["mined_specific_impulse"].iloc[0]), rel=1e-9), name
        assert found.burned[0] * found.used[0] == pytest.approx(
            found.mined[0], rel=1e-9
        )  # the rest is vented or left


def test_the_share_of_the_water_that_is_burned_is_that_of_stoichiometry() -> None:
    one = inside(tour(), "electrolysis_bipropellant")
    assert one is not None
    ratio = np.array([2.0, 4.0, 7.0, 10.0, 16.0])
    whole = 15.999 / 2.016  # oxygen over hydrogen in water, standard atomic weights
    rich, lean = (1.0 + ratio) / (1.0 + whole), whole / (1.0 + whole) * (1.0 + ratio) / ratio
    assert np.allclose(impulses(one, {"mixture_ratio": ratio}).used, np.minimum(rich, lean), rtol=3e-3)


def test_a_kilogram_of_mined_water_does_best_where_all_of_it_burns() -> None:
    lines = [trace for trace in drawn(tour(), "mixture_ratio").data if trace.mode == "lines"]
    assert len({(trace.line.dash, trace.line.color) for trace in lines}) > 2
    mined = [trace for trace in lines if trace.yaxis == "y2"]
    burned = [trace for trace in lines if trace.yaxis == "y"]
    for below, above in zip(mined, burned, strict=True):
        assert below.x[int(np.argmax(below.y))] == pytest.approx(7.937, abs=2e-3)
        assert 2.0 < above.x[int(np.argmax(above.y))] < 5.0
        assert np.all(np.asarray(below.y) <= np.asarray(above.y) + 1e-3)


def test_points_of_the_map_are_what_the_engine_answers_there() -> None:
    results = tour()
    item = item_of(results, "chamber_nozzle_map")
    name = next(name for name, one in ranked(results) if one.architecture.thruster.feed == "gases")
    assert results.study.thrusters[name].title in item.caption.replace(" (assumed†)", "")
    one = dict(ranked(results))[name]
    design = {variable.name: one.inputs[variable.name] for variable in results.study.sweep}
    maps = [trace for trace in item.figure.data if isinstance(trace, go.Contour)]
    for trace, key, unit in ((maps[0], "chamber_pressure", 1e5), (maps[1], "expansion_ratio", 1.0)):
        for line, column in ((3, 5), (20, 30), (-2, -1)):
            asked = {**design, "mixture_ratio": float(trace.x[column]), key: float(trace.y[line]) * unit}
            row = evaluate.evaluate(results.study, results.mission, name, asked).iloc[0]
            assert float(trace.z[line][column]) == pytest.approx(
                row["propellant_specific_impulse"], abs=0.02
            ), key


def test_what_is_spent_at_the_stop_adds_up_to_the_energy_the_refuelling_is_reckoned_with(
    results: Results,
) -> None:
    for name, one in ranked(results):
        if one.architecture.refuels:
            there = sum(amount for key, amount in energy_items(one).items() if key in AT_STOP)
            assert there == pytest.approx(float(one.craft.energy_per_mined), rel=1e-9), name


def test_a_surface_hop_is_billed_what_the_bars_say() -> None:
    """The campaign adds up the energy of a hop on its own; without ageing it is the bar times the water."""
    results = results_of(SURFACE + '\n[electrolysis]\nstack_ageing_rate = "0 uV/h"\n')
    for name, one in ranked(results):
        if (
            not one.architecture.refuels or name == "steam_resistojet"
        ):  # a heat store cools while it is filled
            continue
        design = {variable.name: one.inputs[variable.name] for variable in results.study.sweep}
        row = evaluate.evaluate(results.study, results.mission, name, design).iloc[0]
        there = sum(amount for key, amount in energy_items(one).items() if key in AT_STOP)
        if one.row.live_hop < 0.5:
            assert float(row["energy_2"]) / float(row["water_mined_2"]) == pytest.approx(there, rel=1e-6), (
                name
            )
        else:
            assert float(row["energy_2"]) / float(row["water_mined_2"]) > there, name


def test_what_is_spent_on_the_way_is_what_the_engine_draws(results: Results) -> None:
    for name, one in ranked(results):
        if not one.architecture.refuels or results.study.kind == "surface":
            continue
        row, craft = one.row, one.craft
        spent = evaluate.evaluate(
            results.study, results.mission, name, {v.name: one.inputs[v.name] for v in results.study.sweep}
        )["spent_energy"].iloc[0]
        at_stop = row.stop_split_fraction * (row.split_energy + row.storing_energy / row.mined_per_load)
        share = 1.0 if row.live_hop > 0.5 else craft.cruise_load / (craft.cruise_load + craft.store_load)
        scale = share * row.mined_per_load / craft.stop_mined / (1.0 + craft.stop_loss)
        live = sum(amount for key, amount in energy_items(one).items() if key in IN_FLIGHT)
        later = max(craft.store_load / (craft.cruise_load + craft.store_load) - craft.stop_store_share, 0.0)
        later *= (
            (row.store_split_fraction * row.split_energy + row.store_energy) if row.live_hop < 0.5 else 0.0
        )
        later /= craft.stop_mined * (1.0 + craft.stop_loss)
        assert live - later == pytest.approx(float((spent - at_stop) * scale), rel=1e-6, abs=1.0), name


def test_gas_stored_from_a_kilogram_of_water_holds_its_enthalpy_of_formation() -> None:
    one = inside(hopper(), "rotating_detonation")  # all is split at the stop
    assert one is not None
    assert items_of(one, AT_STOP)["stored"] == pytest.approx(ENTHALPY, rel=1e-3)


def test_bars_that_are_cut_say_how_far_they_go() -> None:
    figure = drawn(tour(), "energy_breakdown")
    ends = [axis.range[1] for axis in figure.select_xaxes()]
    total: dict[tuple[str, str], float] = {}
    for trace in figure.data:
        for row, length in zip(trace.y, trace.x, strict=True):
            total[trace.xaxis, row] = total.get((trace.xaxis, row), 0.0) + float(length)
    for (axis, row), length in total.items():
        end = ends[0 if axis == "x" else 1]
        notes = [note for note in figure.layout.annotations if note.y == row and note.xref == axis]
        assert len(notes) == 1
        assert ("▶" in notes[0].text) == (length > end)


def test_nothing_is_drawn_of_what_a_study_does_not_have() -> None:
    text = re.sub(r"include = \[.*\]", 'include = ["xenon_hall"]', TOUR)
    text = text.replace('storage = "gas"', 'storage = "water"')
    bare = tradespace.run(parse_study(text))
    found = [item.key for item in draw_figures(bare, KEYS)]
    assert "chamber_nozzle_map" not in found  # its specific impulse is stated
    assert "mixture_ratio" not in found
    assert found in (["energy_breakdown"], ["cell_polarisation", "energy_breakdown"])
