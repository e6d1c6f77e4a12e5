"""Fronts of two to four figures of merit: against all pairs, at their knees, and of a whole run."""

from __future__ import annotations

import csv
import json
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_results import invented_results

from tradespace import pareto
from tradespace.cli import main
from tradespace.errors import StudyError, UnknownNameError
from tradespace.physics.compiled import FloatArray


def by_pairs(values: FloatArray) -> np.ndarray:
    """Every row against every other."""
    below = (values[:, None] <= values[None]).all(axis=2) & (values[:, None] < values[None]).any(axis=2)
    return np.asarray(~below.any(axis=0))


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    count=st.integers(0, 300),
    width=st.integers(1, 4),
    steps=st.sampled_from([2, 5, 40, 0]),
    opposed=st.booleans(),
)
def test_a_front_is_what_no_pair_beats(seed: int, count: int, width: int, steps: int, opposed: bool) -> None:
    """Ties in some figures, rows that are equal, and long fronts among them."""
    source = np.random.default_rng(seed)
    values = (
        source.integers(0, steps, (count, width)).astype(float) if steps else source.random((count, width))
    )
    if opposed and width > 1:
        values[:, -1] = -values[:, :-1].sum(axis=1)
    np.testing.assert_array_equal(pareto.non_dominated(values), by_pairs(values))


@pytest.mark.parametrize("width", [3, 4])
def test_pieces_and_sieves_of_longer_tables_agree_with_all_pairs(width: int) -> None:
    source = np.random.default_rng(width)
    for bulge in (0.0, 0.1):
        values = source.exponential(size=(1200, width))
        values /= values.sum(axis=1, keepdims=True)
        values = np.round(values * (1.0 + bulge * source.random((1200, 1))), 3)
        np.testing.assert_array_equal(pareto.non_dominated(values), by_pairs(values))


@pytest.mark.parametrize(("width", "seconds"), [(2, 4.0), (3, 8.0), (4, 12.0)])
def test_a_million_rows_take_seconds(width: int, seconds: float) -> None:
    """Bounds many times what an idle core takes (0.3, 0.4 and 0.5 s)."""
    values = np.random.default_rng(0).random((10**6, width))
    started = time.perf_counter()
    found = pareto.non_dominated(values)
    assert time.perf_counter() - started < seconds
    front = values[found]
    sample = values[:: 10**3]
    beaten = (front[:, None] <= sample[None]).all(axis=2).any(axis=0)
    assert beaten.all()  # each row is beaten by the front, or on it
    assert by_pairs(front).all()


def test_rows_that_are_equal_stand_or_fall_together() -> None:
    values = np.array([[1.0, 2.0], [1.0, 2.0], [0.0, 3.0], [1.0, 3.0], [1.0, 3.0], [-0.0, 3.0]])
    assert pareto.non_dominated(values).tolist() == [True, True, True, False, False, True]


def test_the_knee_of_two_figures_is_farthest_from_the_straight_line() -> None:
    """On y = 1/x from 1/4 to 4 the curve is farthest from its chord where its slope is that of the chord: x = 1."""
    x = np.geomspace(0.25, 4.0, 401)
    found = pareto.knee(np.stack([x, 1.0 / x], axis=1))
    assert found is not None
    assert x[found] == pytest.approx(1.0, rel=1e-9)
    line = np.linspace(0.0, 1.0, 11)
    assert pareto.knee(np.stack([line, 1.0 - line], axis=1)) is None  # straight
    assert pareto.knee(np.stack([line, 1.0 - line**2], axis=1)) is None  # bulges the other way


def test_the_knee_does_not_depend_on_units() -> None:
    values = np.random.default_rng(2).random((200, 3))
    front = values[pareto.non_dominated(values)]
    assert pareto.knee(front) == pareto.knee(front * np.array([1e6, 1e-3, 7.0]) + 5.0)


def test_the_knee_of_three_figures_loses_most_on_the_way_to_any_other() -> None:
    """One corner of a staircase, near the best of all three, beside three ends."""
    front = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 0.0], [0.1, 0.1, 0.1], [0.05, 0.5, 0.5]])
    assert pareto.knee(front) == 3


def test_fronts_of_a_run_are_those_of_its_table() -> None:
    results = invented_results(count=12)
    found = pareto.fronts(results, ("start_mass", "refuel_time"))
    closing = results.designs[results.designs["closes"].astype(bool)]
    assert found.closing == len(closing)
    for name in results.architectures:
        rows = closing[closing["architecture"] == name]
        wanted = rows[by_pairs(rows[["start_mass", "refuel_time"]].to_numpy())]
        front = found.of(name)
        assert set(front["design"]) <= set(wanted.index)
        assert len(front) + front["equals"].sum() == len(wanted)
        assert front["start_mass"].is_monotonic_increasing
        assert front["knee"].sum() <= 1
    everything = closing[~closing["architecture"].isin(found.apart)]
    best = everything[by_pairs(everything[["start_mass", "refuel_time"]].to_numpy())]
    assert set(found.overall["design"]) <= set(best.index)
    assert found.overall["design"].size + found.overall["equals"].sum() == len(best)


def test_craft_that_do_not_refuel_stand_apart_only_where_a_figure_is_about_refuelling() -> None:
    results = invented_results(count=12)
    carried = {name for name in results.architectures if not results.study.thrusters[name].refuels}
    assert set(pareto.fronts(results, ("start_mass", "refuel_time")).apart) <= carried
    assert pareto.fronts(results, ("start_mass", "mission_time")).apart == ()


def test_each_figure_goes_its_own_way() -> None:
    results = invented_results(count=12)
    found = pareto.fronts(results, ("start_mass", "margin", "refuel_time"))
    assert found.better == ("lower", "higher", "lower")
    rows = found.of(results.architectures[0])[list(found.figures)].to_numpy() * np.array([1.0, -1.0, 1.0])
    assert by_pairs(rows).all()


def test_without_a_closing_design_there_is_no_front() -> None:
    found = pareto.fronts(invented_results(closing=False, count=6))
    assert found.closing == 0
    assert found.designs.empty
    assert found.overall.empty


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        (("start_mass",), "1 figure of merit"),
        (("start_mass", "dry_mass", "wet_mass", "refuel_time", "margin"), "5 figures of merit"),
        (("start_mass", "start_mass"), "named twice"),
        (("start_mass", "array_area"), "array_area is neither better low nor better high"),
    ],
)
def test_figures_that_cannot_be_are_refused(figures: tuple[str, ...], words: str) -> None:
    with pytest.raises(StudyError, match=words):
        pareto.fronts(invented_results(count=4), figures)


def test_unknown_names_are_refused_with_a_hint() -> None:
    with pytest.raises(UnknownNameError, match="start_mass"):
        pareto.fronts(invented_results(count=4), ("start_mas", "refuel_time"))
    with pytest.raises(UnknownNameError, match="architecture"):
        pareto.fronts(invented_results(count=4), (), "nothing")
    with pytest.raises(StudyError, match="delta_v_available is no column of this run"):
        pareto.fronts(invented_results(count=4), ("start_mass", "delta_v_available"))


@pytest.fixture
def stored(monkeypatch: pytest.MonkeyPatch) -> None:
    from tradespace import sweep

    monkeypatch.setattr(sweep, "read_run", lambda _: invented_results(count=12))


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    with pytest.raises(SystemExit) as stopped:
        main(list(words))
    output = capsys.readouterr()
    assert stopped.value.code == 0, output.err
    return output.out


@pytest.mark.usefixtures("stored")
def test_the_command_prints_fronts_and_writes_every_row(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    table = tmp_path / "front.csv"
    text = told(capsys, "pareto", "run", "--figures", "start_mass,refuel_time", "--csv", str(table))
    assert "The front of all architectures together" in text
    assert "knee" in text
    content = json.loads(told(capsys, "pareto", "run", "--figures", "start_mass,refuel_time", "--json"))
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(content["front"])
    assert float(rows[0]["start_mass [kg]"]) == pytest.approx(content["front"][0]["start_mass_kg"])
    assert {"array_area [m2]", "current_density [A/cm2]"} <= set(rows[0])
    one = json.loads(told(capsys, "pareto", "run", "--architecture", "steam", "--json"))
    assert {row["architecture"] for row in one["front"]} <= {"steam"}
