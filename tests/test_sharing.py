"""Designs shared out over threads: every one once, in order, with the context of the caller."""

from __future__ import annotations

import contextvars
import threading

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tradespace import constants, evaluate
from tradespace.evaluate.sharing import SETTINGS, part_count, shared_out
from tradespace.mission import Mission
from tradespace.processors import processors
from tradespace.study import Study, load_study
from tradespace.thrusters.values import changed, rows_with_a_range

LEAST, MOST = (int(constants.value(name, SETTINGS)) for name in ("answers_least", "answers_piece"))
CRAFT = "electrolysis_bipropellant"
ROW = "mass_per_thrust"  # of its table; moves the mass
COLUMNS = ["margin", "start_mass", "limited_by", "refuel_time_mean"]


@pytest.fixture(scope="module")
def study() -> Study:
    return load_study("studies/outer_belt_ice_tour.toml")


@pytest.fixture(scope="module")
def mission(study: Study) -> Mission:
    return evaluate.mission_of(study)


@given(st.integers(1, 2_000_000), st.integers(1, 64))
def test_parts_are_as_many_for_each_thread_and_of_a_sensible_size(count: int, threads: int) -> None:
    parts = part_count(count, threads)
    assert 1 <= parts <= count
    assert -(-count // parts) <= MOST
    assert parts == 1 or count // parts >= min(LEAST, MOST // (2 * threads))
    assert parts <= threads or parts % threads == 0


@given(st.integers(1, 500), st.integers(1, 500))
def test_every_design_is_in_one_part_and_in_its_place(count: int, most: int) -> None:
    parts = shared_out(count, lambda place: list(range(count)[place]), most)
    assert [one for part in parts for one in part] == list(range(count))
    assert max(len(part) for part in parts) <= most


def test_a_part_sees_what_the_caller_has_set_and_changes_it_for_itself_alone() -> None:
    word = contextvars.ContextVar("word", default="none")
    word.set("mine")

    def part(place: slice) -> tuple[str, int]:
        seen = word.get()
        word.set(f"part {place.start}")
        return seen, threading.get_ident()

    found = shared_out(8, part, 1)
    assert [seen for seen, _ in found] == ["mine"] * 8
    assert word.get() == "mine"
    if processors() > 1:
        assert threading.get_ident() not in {thread for _, thread in found}


def test_one_part_needs_no_thread() -> None:
    assert shared_out(LEAST, lambda _: threading.get_ident()) == [threading.get_ident()]


def test_an_error_in_a_part_reaches_the_caller() -> None:
    def part(place: slice) -> int:
        if place.start:
            raise ValueError(f"at {place.start}")
        return 0

    with pytest.raises(ValueError, match="at 5"):
        shared_out(10, part, 5)


def test_answers_do_not_depend_on_the_parts(study: Study, mission: Mission) -> None:
    designs = {
        "array_area": np.geomspace(20.0, 300.0, 301),
        "landing_loss_fraction": np.linspace(0.0, 0.2, 301),
    }
    whole = evaluate.answers(study, mission, CRAFT, designs, COLUMNS)
    pieces = evaluate.answers(study, mission, CRAFT, designs, COLUMNS, most=17)
    table = evaluate.evaluate(study, mission, CRAFT, designs)
    for name in COLUMNS:
        assert np.array_equal(whole[name], pieces[name])
        expected = table[name].cat.codes if name == "limited_by" else table[name]
        assert np.array_equal(whole[name], expected.to_numpy())


def test_designs_alike_one_after_the_other_answer_like_designs_shuffled(
    study: Study, mission: Mission
) -> None:
    """The burns of a route are kept from one design to the next where their inputs are the same."""
    losses = np.repeat([0.0, 0.05, 0.2], 40)
    ratios = np.tile(np.repeat([1.5, 2.0], 20), 3)
    designs = {
        "landing_loss_fraction": losses,
        "landing_engine_thrust_to_weight": ratios,
        "gravity_losses": np.tile([0.0, 1.0], 60),
        "array_area": np.geomspace(20.0, 300.0, 120),
    }
    order = np.random.default_rng(5).permutation(120)
    whole = evaluate.answers(study, mission, CRAFT, designs, COLUMNS)
    mixed = evaluate.answers(
        study, mission, CRAFT, {name: value[order] for name, value in designs.items()}, COLUMNS
    )
    assert all(np.array_equal(whole[name][order], mixed[name]) for name in COLUMNS)
    assert np.unique(whole["start_mass"]).size == 120


def test_rows_of_a_thrusters_table_vary_like_inputs(study: Study, mission: Mission) -> None:
    low, high = rows_with_a_range(CRAFT)[ROW]
    values = np.linspace(low, high, 9)
    found = evaluate.answers(study, mission, CRAFT, {f"{CRAFT}.{ROW}": values}, COLUMNS, most=4)
    for place, value in enumerate(values):
        with changed({(CRAFT, ROW): value}):
            alone = evaluate.answers(study, mission, CRAFT, {}, COLUMNS)
        assert all(found[name][place] == alone[name][0] for name in COLUMNS)
    assert np.ptp(found["start_mass"]) > 0.0


def test_a_change_around_a_large_set_holds_in_every_thread(study: Study, mission: Mission) -> None:
    areas = {"array_area": np.full(40, 60.0)}
    _, high = rows_with_a_range(CRAFT)[ROW]
    with changed({(CRAFT, ROW): high}):
        inside = evaluate.answers(study, mission, CRAFT, areas, COLUMNS, most=10)
    outside = evaluate.answers(study, mission, CRAFT, areas, COLUMNS, most=10)
    assert np.unique(inside["start_mass"]).size == 1
    assert inside["start_mass"][0] != outside["start_mass"][0]
