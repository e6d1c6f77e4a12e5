"""How sure we are: chances against closed forms, intervals, robust optimum, solutions, maps, and bad input."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom, norm
from small_studies import TOUR

from tradespace.cli import main
from tradespace.errors import StudyError, UnknownNameError
from tradespace.evaluate import mission_of
from tradespace.mission import Mission
from tradespace.results import CERTAINTY, Certainty
from tradespace.study import Study, parse_study
from tradespace.sweep.certainty_file import read_certainty, write_certainty
from tradespace.uncertainty import (
    Chosen,
    candidates,
    chance_interval,
    doubts,
    outcomes,
    plane,
    plane_axes,
    question_of,
    robust_table,
)
from tradespace.uncertainty.chances import SHARES
from tradespace.uncertainty.drivers import rank_rows, ranks, relative_weights, with_totals
from tradespace.uncertainty.engine import outputs
from tradespace.uncertainty.intervals import hopeless, wanted
from tradespace.uncertainty.robust import order_of
from tradespace.uncertainty.solving import lines_of, solution

CRAFT = "electrolysis_bipropellant"
THREE = """
[uncertain]
ice_fraction = { kind = "lognormal", median = "10 %", factor = 1.6 }
pointing_factor = { kind = "uniform", low = "70 %", high = "100 %" }
keep_alive_power = "range"

[uncertainty]
samples = 256
chance = "80 %"
"""
DESIGN = {"array_area": 24.0, "current_density": 1000.0}
"""A design of which every link but mass has room to spare."""


def tour(uncertain: str, *, merit: str = "start_mass", points: int = 12) -> Study:
    text = TOUR.replace('figure_of_merit = "mission_time"', f'figure_of_merit = "{merit}"')
    return parse_study(text.replace("count = 3", f"count = {points}") + uncertain, "test")


@pytest.fixture(scope="module")
def study() -> Study:
    return tour(THREE)


@pytest.fixture(scope="module")
def mission(study: Study) -> Mission:
    return mission_of(study)


@pytest.fixture(scope="module")
def whole(study: Study, mission: Mission) -> Certainty:
    return doubts(study, mission, depth="brief")


def normal(name: str, mean: float, deviation: float, unit: str) -> str:
    return f'{name} = {{ kind = "normal", mean = "{mean!r} {unit}", deviation = "{deviation!r} {unit}" }}\n'


def start_mass(mission: Mission, payload: np.ndarray) -> np.ndarray:
    """Start mass of the design for some payloads [kg]."""
    study = tour(THREE)
    designs = {name: np.full(payload.size, value) for name, value in DESIGN.items()}
    found = outputs(study, mission, CRAFT, {**designs, "payload_mass": payload}, ["start_mass", "margin"])
    assert (found["margin"] > 0.0).all()
    return found["start_mass"]


SAMPLES = 4096


@pytest.mark.parametrize("offset", [-20.0, 15.0, 60.0])
def test_chance_agrees_with_the_closed_form_where_the_margin_is_linear(
    mission: Mission, offset: float
) -> None:
    # margin_mass = launch_mass / start_mass - 1, and nothing else depends on launch_mass
    mass, deviation = float(start_mass(mission, np.array([60.0]))[0]), 40.0
    study = tour("[uncertain]\n" + normal("launch_mass", mass + offset, deviation, "kg"))
    found = outcomes(question_of(study, mission, SAMPLES), Chosen(CRAFT, DESIGN, "test"))
    true = float(norm.cdf(offset / deviation))
    for one in found:
        assert abs(one.closes.mean() - true) <= 3.0 * np.sqrt(true * (1.0 - true) / SAMPLES)
        low, high = chance_interval(one.closes.sum(), SAMPLES)
        assert low <= true <= high


@pytest.mark.parametrize("rank", [-0.8, 0.0, 0.8])
def test_chance_of_a_correlated_pair_agrees_with_the_closed_form(mission: Mission, rank: float) -> None:
    payload = np.array([52.0, 60.0, 68.0])
    masses = start_mass(mission, payload)
    slope = (masses[2] - masses[0]) / (payload[2] - payload[0])
    assert masses[1] == pytest.approx(0.5 * (masses[0] + masses[2]), rel=1e-4)  # linear where it matters
    first, second, offset = 30.0, 4.0, 20.0
    text = "[uncertain]\n" + normal("launch_mass", float(masses[1]) + offset, first, "kg")
    text += normal("payload_mass", 60.0, second, "kg")
    text += '[uncertainty.correlation]\ninputs = ["launch_mass", "payload_mass"]\n'
    text += f"rank = [[1, {rank}], [{rank}, 1]]\n"
    found = outcomes(question_of(tour(text), mission, SAMPLES), Chosen(CRAFT, DESIGN, "test"))[0]
    linear = 2.0 * np.sin(np.pi * rank / 6.0)  # of the normal copula with that rank correlation
    spread = np.sqrt(first**2 + (slope * second) ** 2 - 2.0 * linear * slope * first * second)
    true = float(norm.cdf(offset / spread))
    assert abs(found.closes.mean() - true) <= 3.0 * np.sqrt(true * (1.0 - true) / SAMPLES)


@pytest.mark.parametrize("count", [16, 100, 1024])
def test_interval_holds_the_true_chance_as_often_as_it_says(count: int) -> None:
    closing = np.arange(count + 1)
    low, high = chance_interval(closing, count, 0.95)
    for true in (0.01, 0.2, 0.5, 0.83, 0.999):
        holds = (low <= true) & (true <= high)
        coverage = float(binom.pmf(closing[holds], count, true).sum())
        assert coverage >= 0.95
        assert coverage >= 1.0 - 2.0 * 0.025 - 1e-12
    assert (np.diff(low) > 0.0).all()
    assert (np.diff(high) > 0.0).all()
    assert low[0] == 0.0
    assert high[-1] == 1.0


def test_few_draws_give_up_only_what_cannot_reach_the_asked_chance() -> None:
    for draws, chance in ((16, 0.8), (256, 0.9), (1024, 0.5)):
        lost = int(np.count_nonzero(hopeless(np.arange(draws + 1), draws, chance)))
        assert lost > 0
        assert binom.cdf(lost - 1, draws, chance) <= 1.01e-6
        assert binom.cdf(lost, draws, chance) > 0.99e-6
    assert wanted(1000, 0.83) == 830
    assert wanted(10, 0.85) == 9


def test_a_larger_array_never_closes_less_often_as_long_as_mass_is_no_matter(
    study: Study, mission: Mission
) -> None:
    line = lines_of(question_of(study, mission), Chosen(CRAFT, {"current_density": 3000.0}, "test"))[0]
    closes = line.holds(np.linspace(14.0, 28.0, 15), line.drawn())
    assert (closes[1:] >= closes[:-1]).all()
    assert closes[0].mean() < 0.3 < 0.9 < closes[-1].mean()


def test_robust_optimum_is_that_of_the_whole_grid(study: Study, mission: Mission) -> None:
    question = question_of(study, mission, 128)
    found = candidates(question, CRAFT)
    drawn = question.draws(CRAFT)
    chance = question.answers(CRAFT, found.designs, drawn, ["closes"])["closes"].mean(axis=1)
    order = order_of(study, found)
    asked = []
    for share in (0.3, 0.8, 0.95):
        best = next(place for place in order if chance[place] >= share)
        table = robust_table(replace(question, chance=share), CRAFT, 10**6, found).set_index("kind")
        assert table.loc["robust", "chance"] == pytest.approx(chance[best], abs=1e-12)
        assert {name: table.loc["robust", name] for name in found.designs} == found.design(int(best))
        assert table.loc["robust", "note"] == ""
        assert table.loc["robust", "low"] < chance[best] < table.loc["robust", "high"]
        assert table.loc["nominal", "merit"] <= table.loc["robust", "merit"]
        asked.append(table.loc["robust", "merit"])
    assert asked == sorted(asked)
    short = robust_table(replace(question, chance=0.95), CRAFT, 0, found).set_index("kind")
    assert short.loc["robust", "note"].endswith("the search ended with 24 of them not looked at")
    none = robust_table(replace(question, chance=0.9999), "steam_resistojet", 10**6).set_index("kind")
    assert none.loc["nominal", "note"] == "no design closes"
    assert none.loc["robust", "note"].startswith("none of 24 designs closes with")


def test_solution_holds_where_it_says_and_not_just_below(study: Study, mission: Mission) -> None:
    question = question_of(study, mission)
    line = lines_of(question, Chosen(CRAFT, {"array_area": 18.0, "current_density": 3000.0}, "test"))[0]
    _, variable, _, nominal, value, chance, low, high, samples, verified, note = solution(line)
    assert (variable, samples, verified, note) == ("array_area", 256, True, "")
    at = line.holds(np.array([value, value * (1.0 - 2e-4)]), line.drawn()).mean(axis=1)
    assert at[0] == chance >= 0.8 > at[1]
    assert low < chance < high
    own = line.holds(np.array([nominal, nominal * (1.0 - 2e-4)]), {})[:, 0]
    assert own.tolist() == [True, False]
    assert nominal < value


def test_condition_of_the_study_is_part_of_the_question(study: Study, mission: Mission) -> None:
    lines = lines_of(question_of(study, mission), Chosen(CRAFT, {"current_density": 3000.0}, "test"))
    assert [line.condition for line in lines] == ["closes", "closes and refuel_time <= 300 d"]
    values = np.array([20.0, 30.0])
    both, alone = (line.holds(values, line.drawn()) for line in lines[::-1])
    assert (both <= alone).all()
    assert both.mean() < alone.mean()
    row = solution(lines[1])
    assert np.isnan(float(str(row[4])))
    assert str(row[-1]).startswith("not reached between 10 m2 and 90 m2; at most about")


def test_draws_are_the_same_for_every_architecture_piece_and_call(study: Study, mission: Mission) -> None:
    question, again = question_of(study, mission), question_of(study, mission)
    drawn = question.draws(CRAFT)
    assert all(np.array_equal(values, again.draws("bench_engine")[name]) for name, values in drawn.items())
    part = question.draws(CRAFT, 64)
    assert all(np.array_equal(values, drawn[name][:64]) for name, values in part.items())
    names = ["closes", "margin", "limited_by", "start_mass"]
    one = outputs(study, mission, CRAFT, drawn, names)
    pieces = outputs(study, mission, CRAFT, drawn, names, size=37)
    assert all(np.array_equal(one[name], pieces[name]) for name in names)
    other = question_of(replace(study, seed=study.seed + 1), mission).draws(CRAFT)
    assert not np.array_equal(other["ice_fraction"], drawn["ice_fraction"])


def test_everything_is_repeated_to_the_last_digit(study: Study, mission: Mission, whole: Certainty) -> None:
    again = doubts(study, mission, depth="brief")
    for name in CERTAINTY:
        pd.testing.assert_frame_equal(getattr(again, name), getattr(whole, name))
    assert again.evaluated == whole.evaluated


def test_tables_hang_together(study: Study, whole: Certainty) -> None:
    assert whole.samples == 256
    assert whole.asked == 0.8
    chance = whole.chance.set_index(["architecture", "calendar"])
    assert set(chance.index.get_level_values("architecture")) == set(study.architectures)
    assert (CRAFT, "frozen") in chance.index
    assert ((chance["low"] <= chance["chance"]) & (chance["chance"] <= chance["high"])).all()
    links = whole.limits.groupby(["architecture", "calendar"])[["binding", "failing"]].sum()
    assert links["binding"].to_numpy() == pytest.approx(1.0)
    for key, row in links.iterrows():
        assert row["failing"] == pytest.approx(1.0 - chance.loc[key, "chance"])
    part = whole.percentiles
    for _, rows in part.groupby(["architecture", "calendar", "among", "metric"]):
        assert rows["share"].tolist() == pytest.approx(list(SHARES))
        assert (np.diff(rows["value"]) >= 0.0).all()
    margins = part[(part["metric"] == "margin") & (part["among"] == "closing")]
    assert (margins["value"] >= 0.0).all()
    assert set(whole.optima["kind"]) == {"nominal", "robust"}
    assert (whole.curve["high"] >= whole.curve["low"]).all()
    assert whole.plane["chance"].between(0.0, 1.0).all()


def test_tables_are_written_and_read_back(whole: Certainty, tmp_path: Path) -> None:
    write_certainty(None, tmp_path)
    assert read_certainty(tmp_path) is None
    write_certainty(whole, tmp_path)
    found = read_certainty(tmp_path)
    assert found is not None
    assert (found.asked, found.samples, found.evaluated) == (whole.asked, whole.samples, whole.evaluated)
    for name in CERTAINTY:
        pd.testing.assert_frame_equal(getattr(found, name), getattr(whole, name), check_dtype=False)


def test_frozen_calendar_keeps_the_departures_of_the_nominal_design(study: Study, mission: Mission) -> None:
    free, frozen = outcomes(question_of(study, mission), Chosen(CRAFT, {"array_area": 18.2}, "test"))
    assert (free.calendar, frozen.calendar) == ("free", "frozen")
    assert free.nominal == frozen.nominal
    assert frozen.closes.mean() < free.closes.mean()  # who may wait for another date closes more often


def test_map_at_a_cell_is_the_chance_there(study: Study, mission: Mission) -> None:
    question = question_of(study, mission)
    axes = plane_axes(study)
    assert axes == ("array_area", "current_density")
    found = plane(question, Chosen(CRAFT, {}, "test"), axes, (9, 2), 32, 256)
    assert len(found) == 18
    drawn = question.draws(CRAFT)
    for row in found[found["samples"] == 256].iloc[::3].to_dict("records"):
        designs = {"array_area": np.array([row["x"]]), "current_density": np.array([row["y"]])}
        assert question.answers(CRAFT, designs, drawn, ["closes"])["closes"].mean() == row["chance"]
    few = found[found["samples"] == 32]
    assert few["chance"].isin([0.0, 1.0]).mean() > 0.8
    with pytest.raises(StudyError, match="not swept; allowed: array_area, current_density"):
        plane_axes(study, ("array_area", "ice_fraction"))
    with pytest.raises(StudyError, match="two different variables"):
        plane_axes(study, ("array_area", "array_area"))


def test_variance_of_one_input_is_its_own(mission: Mission) -> None:
    mass = float(start_mass(mission, np.array([60.0]))[0])
    study = tour(
        "[uncertain]\n"
        + normal("launch_mass", mass, 30.0, "kg")
        + 'hop_reliability = "range"\n[uncertainty]\nsamples = 512\n'
    )
    question, chosen = question_of(study, mission), Chosen(CRAFT, DESIGN, "test")
    rows = with_totals(question, chosen, rank_rows(question, outcomes(question, chosen)[0]), 64)
    table = rows.set_index(["metric", "quantity"])
    assert table.loc[("margin", "launch_mass"), "total"] == pytest.approx(1.0, abs=0.05)
    assert table.loc[("closes", "launch_mass"), "total"] == pytest.approx(1.0, abs=0.15)
    assert table.loc[("margin", "hop_reliability"), "total"] == pytest.approx(0.0, abs=1e-9)
    assert table.loc[("margin", "launch_mass"), "correlation"] > 0.9
    assert table.loc[("closes", "hop_reliability"), "rank_share"] < 0.02


def test_relative_weights_share_out_what_a_regression_explains() -> None:
    source = np.random.default_rng(0)
    table = source.multivariate_normal(np.zeros(3), [[1, 0.7, 0], [0.7, 1, 0.2], [0, 0.2, 1]], size=2000)
    answer = table @ np.array([1.0, 0.0, 0.5]) + 0.3 * source.normal(size=2000)
    inputs = np.stack([ranks(column) for column in table.T], axis=1)
    target = ranks(answer)
    found = relative_weights(inputs, target)
    explained = 1.0 - np.var(target - inputs @ np.linalg.lstsq(inputs, target, rcond=None)[0])
    assert found.sum() == pytest.approx(explained, rel=1e-9)
    assert (found >= 0.0).all()
    assert found[0] > found[1] > found[2] > 0.0


def test_thrusters_bring_their_own_ranges_where_every_input_is_uncertain(mission: Mission) -> None:
    study = tour("")
    question = question_of(study, mission, 64)
    names = [item.name for item in question.inputs(CRAFT)]
    assert any(name.startswith(f"{CRAFT}.") for name in names)
    assert len(set(names)) == len(names)
    assert not set(names) & set(study.swept)
    drawn = question.draws(CRAFT)
    answers = question.answers(CRAFT, {"array_area": np.array([24.0])}, drawn, ["margin"])["margin"]
    assert np.isfinite(answers).all()
    own = next(name for name in names if name.startswith(f"{CRAFT}."))
    assert np.ptp(drawn[own]) > 0.0


def test_nothing_uncertain_is_said_clearly(study: Study, mission: Mission) -> None:
    certain = replace(study, uncertain=replace(study.uncertain, inputs=(), correlation=None))
    with pytest.raises(StudyError, match=r"no input of study small_tour is uncertain.*state some in"):
        doubts(certain, mission)
    with pytest.raises(StudyError, match="samples 100 is not a power of two; write 64 or 128"):
        doubts(study, mission, samples=100)
    with pytest.raises(
        StudyError, match="design '99' is unknown; allowed: best, baseline or a number from 0 to 23"
    ):
        doubts(study, mission, which="99")


@pytest.fixture
def study_file(tmp_path: Path, study: Study) -> Iterator[str]:
    path = tmp_path / "small_tour.toml"
    path.write_text(study.text, encoding="utf-8")
    yield str(path)


def run(arguments: list[str]) -> int:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    return int(stopped.value.code or 0)


def test_command_prints_tables_json_and_a_page(
    study_file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "sure.html"
    one = ["uncertainty", study_file, "--architecture", CRAFT, "--samples", "64"]
    assert run([*one, "--out", str(page)]) == 0
    words = capsys.readouterr().out
    for part in ("closes with", "Percentiles", "carry the variance", "robust", "with 80 %", "conditional on"):
        assert part in words
    text = page.read_text(encoding="utf-8")
    assert "How sure we are" in text
    assert "nan" not in words.lower().split()
    assert run([*one, "--design", "baseline", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["samples"] == 64
    assert {row["architecture"] for row in found["chances"]} == {CRAFT}
    assert found["chances"][0]["design"] == "the study's own design"


def test_command_refuses_what_it_does_not_know(study_file: str, capsys: pytest.CaptureFixture[str]) -> None:
    for extra, words in (
        (["--architecture", "steam_resistojett"], "did you mean 'steam_resistojet'?"),
        (["--samples", "100"], "not a power of two; write 64 or 128"),
        (["--design", "worst"], "design 'worst' is unknown"),
        (["--map", "array_area", "ice_fraction"], "not swept; allowed"),
        (["--out", "sure.txt"], "must end in .html"),
    ):
        assert run(["uncertainty", study_file, *extra]) == 2
        complaint = capsys.readouterr().err
        assert words in complaint
        assert len(complaint.strip().splitlines()) <= 2


def test_unknown_architecture_is_named(study: Study) -> None:
    from tradespace.uncertainty import known_architecture

    with pytest.raises(UnknownNameError, match="steam"):
        known_architecture(study, "steam", "small_tour")
