"""Plans and uncertain inputs: which designs a study asks about, and what its unknown inputs may be."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from invented_results import invented_results
from scipy import stats
from small_studies import SURFACE, TOUR, line_of

from tradespace import load_study, parse_study, sampling, sweep
from tradespace.cli import main
from tradespace.constants import GRADES
from tradespace.errors import DomainError, StudyError
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantities
from tradespace.study import Distribution, Study
from tradespace.study.correlation import mending_factor, normal_correlation, smallest_eigenvalue
from tradespace.study.uncertain import grade_distributions
from tradespace.tables import read_table

SHARES = np.linspace(0.0, 1.0, 101)
INSIDE = SHARES[1:-1]
WIDE = (-math.inf, math.inf)


def study_with(*sections: str, sweep_lines: str | None = None, text: str = TOUR) -> Study:
    """The small tour without its solve request, with other sections."""
    return parse_study(text_with(*sections, sweep_lines=sweep_lines, text=text))


def text_with(*sections: str, sweep_lines: str | None = None, text: str = TOUR) -> str:
    head = text[: text.index("[solve]")] if "[solve]" in text else text
    if sweep_lines is not None:
        head = head[: head.index("[sweep]")] + (f"[sweep]\n{sweep_lines}\n" if sweep_lines else "")
    return head + "\n".join(sections) + "\n"


AREA_AND_TWO = """\
array_area = { low = "10 m2", high = "90 m2", spacing = "log" }
storage_volume = { low = "1 m3", high = "9 m3" }
stack_cells = { values = [14, 28, 56] }"""
VOLUME = 'storage_volume = { low = "1 m3", high = "9 m3" }'
LATIN = '[plan]\nkind = "latin_hypercube"\ndesigns = 90'
SOBOL = '[plan]\nkind = "sobol"\ndesigns = 64'


@cache
def planned(plan: str) -> Study:
    return study_with(plan, sweep_lines=AREA_AND_TWO)


def all_designs(study: Study, size: int) -> dict[str, FloatArray]:
    pieces = [piece for _, piece in sampling.chunks(study, size)]
    return {name: np.concatenate([piece[name] for piece in pieces]) for name in pieces[0]}


# which designs


def test_a_study_without_a_plan_is_a_grid() -> None:
    bare, said = study_with(), study_with('[plan]\nkind = "grid"')
    assert bare.plan.kind == said.plan.kind == "grid"
    assert sampling.designs_per_architecture(bare) == 6
    for name, values in sampling.design_grid(bare).items():
        np.testing.assert_array_equal(values, sampling.design_grid(said)[name])


def test_each_slice_of_a_latin_hypercube_holds_one_design() -> None:
    study = planned(LATIN)
    designs = sampling.design_grid(study)
    share = np.log(designs["array_area"] / 10.0) / math.log(9.0)
    assert sorted((share * 90).astype(int)) == list(range(90))
    assert sorted(((designs["storage_volume"] - 1.0) / 8.0 * 90).astype(int)) == list(range(90))
    values, counts = np.unique(designs["stack_cells"], return_counts=True)
    assert values.tolist() == [14.0, 28.0, 56.0]
    assert counts.tolist() == [30, 30, 30]


def test_a_shorter_sobol_sequence_begins_a_longer_one() -> None:
    longer = sampling.design_grid(study_with(SOBOL.replace("64", "256"), sweep_lines=AREA_AND_TWO))
    for name, values in sampling.design_grid(planned(SOBOL)).items():
        np.testing.assert_array_equal(values, longer[name][:64])


def test_a_scrambled_sobol_sequence_is_even_in_every_pair_of_variables() -> None:
    points = sampling.unit_points(256, 3, seed=5)
    for first, second in ((0, 1), (0, 2), (1, 2)):
        counts, _, _ = np.histogram2d(points[:, first], points[:, second], bins=4, range=[[0, 1]] * 2)
        assert counts.min() >= 12
        assert counts.max() <= 20
    assert np.bincount((points[:, 0] * 256).astype(int), minlength=256).tolist() == [1] * 256


LIST = "[plan]\nkind = 'list'\ntable = '''\narray_area [m2],current_density [A/cm2]\n30,0.1\n\n10,0.2\n20,0.3\n,\n'''"
ALONE = '[plan]\nkind = "one_at_a_time"\npoints = 5'


@pytest.mark.parametrize("plan", ["", LATIN, SOBOL, ALONE, LIST])
def test_designs_do_not_depend_on_the_pieces(plan: str) -> None:
    lines = AREA_AND_TWO if plan in {LATIN, SOBOL, ALONE} else "" if plan == LIST else None
    study = study_with(plan, sweep_lines=lines)
    whole = sampling.design_grid(study)
    count = sampling.designs_per_architecture(study)
    for size in (1, 7, count):
        for name, values in all_designs(study, size).items():
            np.testing.assert_array_equal(values, whole[name])
    late = sampling.designs_between(study, count - 2, count + 5)
    early = sampling.designs_between(study, 0, 2)  # going back
    for name, values in whole.items():
        assert values.shape == (count,)
        np.testing.assert_array_equal(late[name], values[-2:])
        np.testing.assert_array_equal(early[name], values[:2])


def test_the_seed_decides_and_zero_is_one() -> None:
    first, again = (sampling.unit_points(64, 2, 0, kind) for kind in ("sobol", "sobol"))
    np.testing.assert_array_equal(first, again)
    for kind in ("sobol", "latin_hypercube", "random"):
        assert not np.array_equal(sampling.unit_points(64, 2, 0, kind), sampling.unit_points(64, 2, 1, kind))
    other = study_with(SOBOL, sweep_lines=AREA_AND_TWO, text=TOUR.replace("seed = 0", "seed = 1"))
    mine = sampling.design_grid(planned(SOBOL))["array_area"]
    assert not np.array_equal(sampling.design_grid(other)["array_area"], mine)


def test_all_points_lie_inside_the_open_cube() -> None:
    for kind in ("sobol", "latin_hypercube", "random"):
        points = sampling.unit_points(4096, 2, 3, kind)
        assert points.shape == (4096, 2)
        assert points.min() > 0.0
        assert points.max() < 1.0
        assert abs(points.mean() - 0.5) < 0.02
    assert sampling.unit_points(8, 0, 3).shape == (8, 0)
    with pytest.raises(ValueError, match="allowed: sobol"):
        sampling.unit_points(8, 1, 3, "halton")


def test_one_at_a_time_begins_with_the_baseline() -> None:
    study = planned(ALONE)
    designs = sampling.design_grid(study)
    own = {"array_area": 40.0, "storage_volume": 6.0, "stack_cells": 28.0}
    assert {name: values[0] for name, values in designs.items()} == own
    assert sampling.designs_per_architecture(study) == 1 + 5 + 5 + 3
    np.testing.assert_allclose(designs["array_area"][1:6], np.geomspace(10.0, 90.0, 5))
    assert (designs["array_area"][6:] == 40.0).all()
    assert designs["stack_cells"][-3:].tolist() == [14.0, 28.0, 56.0]
    moved = sum((values != own[name]).astype(int) for name, values in designs.items())
    assert moved.max() == 1


def test_one_at_a_time_without_an_own_value_takes_the_middle() -> None:
    lines = (
        'sunlit_fraction = { low = "20 %", high = "60 %" }\npayload_power = { low = "10 W", high = "30 W" }'
    )
    designs = sampling.design_grid(
        study_with('[plan]\nkind = "one_at_a_time"\npoints = 3', sweep_lines=lines)
    )
    assert designs["sunlit_fraction"][0] == pytest.approx(0.4)
    assert designs["payload_power"][0] == 20.0


def test_a_list_keeps_its_order_and_its_units() -> None:
    study = study_with(LIST, sweep_lines="")
    designs = sampling.design_grid(study)
    assert designs["array_area"].tolist() == [30.0, 10.0, 20.0]
    np.testing.assert_allclose(designs["current_density"], [1000.0, 2000.0, 3000.0])
    assert study.swept == ("array_area", "current_density")
    assert study.sweep[0].points.tolist() == [10.0, 20.0, 30.0]


def test_a_list_beside_the_study_belongs_to_its_text_and_hash(tmp_path: Path) -> None:
    path, table = tmp_path / "listed.toml", tmp_path / "mine.csv"
    path.write_text(
        text_with('[plan]\nkind = "list"\nfile = "mine.csv"  # mine', sweep_lines=""), encoding="utf-8"
    )
    table.write_bytes(b"\xef\xbb\xbfarray_area [m2], ice_fraction [%]\r\n10, 5\r\n\r\n20 , 7.5\r\n")
    study = load_study(path)
    table.write_text("array_area [m2], ice_fraction [%]\n10, 5\n20, 8\n", encoding="utf-8")
    other = load_study(path)
    assert study.hash != other.hash
    table.unlink()
    again = parse_study(study.text)
    assert again.hash == study.hash
    assert sampling.design_grid(again)["ice_fraction"].tolist() == [0.05, 0.075]
    with pytest.raises(
        StudyError, match=r"listed\.toml:\d+: plan\.file: \"mine\.csv\" is not a file in the folder"
    ):
        load_study(path)


@pytest.mark.parametrize("kind", ["sobol", "latin_hypercube"])
def test_large_plans_are_drawn_piece_by_piece(kind: str) -> None:
    study = study_with(f'[plan]\nkind = "{kind}"\ndesigns = 33554432', sweep_lines=AREA_AND_TWO)
    assert sampling.design_count(study) == 3 * 2**25
    start, first = next(sampling.chunks(study, 1000))
    assert start == 0
    late = sampling.designs_between(study, 2**24, 2**24 + 1000)
    for name, values in first.items():
        assert values.shape == late[name].shape == (1000,)
        assert not np.array_equal(values, late[name])
        np.testing.assert_array_equal(sampling.designs_between(study, 500, 1000)[name], values[500:])


@pytest.mark.parametrize("count", [1, 2, 3, 5, 64, 1000, 4097, 65536])
def test_a_latin_hypercube_of_any_size_fills_every_slice_once(count: int) -> None:
    points = sampling.unit_points(count, 2, 4, "latin_hypercube")
    for axis in (0, 1):
        assert np.bincount((points[:, axis] * count).astype(int), minlength=count).tolist() == [1] * count


def test_the_axes_of_a_latin_hypercube_are_independent() -> None:
    # of independent shuffles the correlation scatters by 1 / sqrt(n - 1), and every order is as likely
    found = [np.corrcoef(sampling.unit_points(64, 2, seed, "latin_hypercube").T)[0, 1] for seed in range(400)]
    assert np.std(found) * math.sqrt(63) == pytest.approx(1.0, abs=0.15)  # four standard errors of 400 tries
    assert np.mean(found) == pytest.approx(0.0, abs=4.0 / math.sqrt(63 * 400))
    points = sampling.unit_points(2**16, 2, 9, "latin_hypercube")
    counts, _, _ = np.histogram2d(points[:, 0], points[:, 1], bins=16, range=[[0, 1]] * 2)
    assert stats.chisquare(counts.ravel()).pvalue > 1e-4
    inside = points[:, 0] * 2**16 % 1.0
    assert stats.kstest(inside, "uniform").pvalue > 1e-4


# what an uncertain input may be

CASES = {
    "uniform": (Distribution("x", "uniform", (2.0, 6.0), *WIDE, "", True), stats.uniform(2.0, 4.0)),
    "triangular": (
        Distribution("x", "triangular", (1.0, 2.0, 5.0), *WIDE, "", True),
        stats.triang(0.25, 1.0, 4.0),
    ),
    "rising": (
        Distribution("x", "triangular", (1.0, 5.0, 5.0), *WIDE, "", True),
        stats.triang(1.0, 1.0, 4.0),
    ),
    "falling": (
        Distribution("x", "triangular", (1.0, 1.0, 5.0), *WIDE, "", True),
        stats.triang(0.0, 1.0, 4.0),
    ),
    "normal": (Distribution("x", "normal", (3.0, 2.0), *WIDE, "", True), stats.norm(3.0, 2.0)),
    "cut normal": (
        Distribution("x", "normal", (3.0, 2.0), 2.0, 4.5, "", True),
        stats.truncnorm(-0.5, 0.75, 3.0, 2.0),
    ),
    "lognormal": (
        Distribution("x", "lognormal", (0.1, 1.6), 0.0, math.inf, "", True),
        stats.lognorm(math.log(1.6), scale=0.1),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_quantiles_and_shares_are_those_of_the_library(case: str) -> None:
    ours, theirs = CASES[case]
    np.testing.assert_allclose(sampling.quantile(ours, INSIDE), theirs.ppf(INSIDE), rtol=1e-12, atol=1e-14)
    values = theirs.ppf(INSIDE)
    np.testing.assert_allclose(sampling.cumulative_share(ours, values), INSIDE, rtol=1e-10, atol=1e-13)


def test_a_factor_is_the_84th_percentile_over_the_median() -> None:
    ours, _ = CASES["lognormal"]
    one_sigma = float(stats.norm.cdf(1.0))
    assert one_sigma == pytest.approx(0.8413, abs=1e-4)
    assert float(sampling.quantile(ours, one_sigma) / sampling.quantile(ours, 0.5)) == pytest.approx(1.6)


def test_a_cut_lognormal_keeps_its_shape_inside_the_bounds() -> None:
    whole = CASES["lognormal"][1]
    cut = dataclasses.replace(CASES["lognormal"][0], low=0.05, high=0.2)
    below, above = whole.cdf([0.05, 0.2])
    expected = whole.ppf(below + INSIDE * (above - below))
    np.testing.assert_allclose(sampling.quantile(cut, INSIDE), expected, rtol=1e-12)
    assert sampling.quantile(cut, [0.0, 1.0]).tolist() == pytest.approx([0.05, 0.2])


def test_a_discrete_input_takes_its_values_with_their_chances() -> None:
    dice = Distribution("x", "discrete", (1.0, 2.0, 5.0, 0.25, 0.5, 0.25), *WIDE, "", True)
    assert sampling.quantile(dice, [0.0, 0.2, 0.25, 0.26, 0.75, 0.76, 1.0]).tolist() == [1, 1, 1, 2, 2, 5, 5]
    assert sampling.cumulative_share(dice, [0.0, 1.0, 1.5, 2.0, 9.0]).tolist() == [0.0, 0.25, 0.25, 0.75, 1.0]
    drawn = sampling.draws([dice], sampling.unit_points(4096, 1, 0))["x"]
    assert np.mean(drawn) == pytest.approx(2.5, abs=2e-3)


def test_a_share_outside_its_range_is_refused() -> None:
    for bad in (-0.1, 1.1, math.nan):
        with pytest.raises(DomainError, match=r"share .* must lie within 0 to 1"):
            sampling.quantile(CASES["normal"][0], [0.5, bad])


@pytest.mark.parametrize("case", CASES)
def test_draws_have_the_mean_and_spread_of_their_distribution(case: str) -> None:
    ours, theirs = CASES[case]
    drawn = sampling.draws([ours], sampling.unit_points(2**14, 1, seed=2))["x"]
    assert drawn.mean() == pytest.approx(theirs.mean(), rel=2e-4)
    assert drawn.std() == pytest.approx(theirs.std(), rel=5e-3)


RANK = np.array([[1.0, 0.8, -0.3, 0.0], [0.8, 1.0, 0.1, 0.0], [-0.3, 0.1, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]])


@pytest.mark.parametrize("kind", ["sobol", "latin_hypercube", "random"])
def test_ranks_are_correlated_as_asked(kind: str) -> None:
    inputs = [
        dataclasses.replace(CASES[case][0], name=case)
        for case in ("uniform", "lognormal", "triangular", "normal")
    ]
    drawn = sampling.draws(inputs, sampling.unit_points(2**14, 4, 11, kind), RANK)
    found = stats.spearmanr(np.column_stack(list(drawn.values()))).statistic
    np.testing.assert_allclose(found, RANK, atol=0.02)
    alone = sampling.draws(inputs, sampling.unit_points(2**14, 4, 11, kind))
    np.testing.assert_array_equal(drawn["normal"], alone["normal"])  # correlated with nothing
    np.testing.assert_allclose(np.mean(drawn["lognormal"]), CASES["lognormal"][1].mean(), rtol=0.02)


def test_points_need_one_column_for_each_input() -> None:
    with pytest.raises(ValueError, match="one column each"):
        sampling.draws([CASES["normal"][0]], np.full((4, 2), 0.5))


def test_normal_correlation_of_ranks_in_closed_form() -> None:
    # 2 sin(pi rho / 6): exact at 0 and 1, sqrt(2 - sqrt 3) = 0.517638 at one half
    np.testing.assert_allclose(
        normal_correlation(np.array([-1.0, 0.0, 0.5, 1.0])),
        [-1.0, 0.0, math.sqrt(2 - math.sqrt(3)), 1.0],
        atol=1e-15,
    )


def test_the_mending_factor_mends_and_no_larger_one_does() -> None:
    bad = np.array([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]])
    assert smallest_eigenvalue(bad) < 0.0
    factor = mending_factor(bad)
    for change, good in ((0.0, True), (0.01, False)):
        mended = np.eye(3) + (factor + change) * (bad - np.eye(3))
        assert (smallest_eigenvalue(mended) > 0.0) == good


# what a study says of its inputs


def test_every_grade_has_a_distribution_and_says_whose_choice_it_is() -> None:
    rows = read_table("uncertainty_grades.csv").rows
    assert tuple(row["grade"] for row in rows) == GRADES
    for row in rows:
        assert row["distribution"] in {"none", "triangular", "uniform"}
        assert row["source"] == "assumed_here"
        assert row["where"].startswith("own choice")


def test_without_a_word_every_input_with_a_range_is_uncertain_by_its_grade() -> None:
    study = study_with()
    kinds = {item.name: item for item in study.uncertain.inputs}
    assert (study.uncertain.samples, study.uncertain.chance) == (4096, 0.9)
    assert study.uncertain.correlation is None
    assert set(kinds) <= set(study.ranges)
    assert len(kinds) > 60
    assert "array_area" not in kinds
    assert "current_density" not in kinds  # swept
    for name, item in kinds.items():
        known = quantities()[name]
        assert item.kind == grade_distributions()[known.grade], name
        assert not item.stated
        assert (item.numbers[0], item.numbers[-1]) == study.ranges[name]
        if item.kind == "triangular":
            assert item.numbers[1] == study.values[name]
    assert kinds["array_efficiency"].kind == "triangular"
    assert kinds["extraction_efficiency"].kind == "uniform"


def test_stated_inputs_stand_alone_unless_all_are_asked_for() -> None:
    normal = 'ice_fraction = { kind = "normal", mean = "10 %", deviation = "2 %" }'
    stated = f'[uncertain]\nkeep_alive_power = "range"\n{normal}'
    only = study_with(stated).uncertain
    assert only.names == ("keep_alive_power", "ice_fraction")
    assert only.inputs[1].numbers == pytest.approx((0.1, 0.02))
    assert (only.inputs[1].low, only.inputs[1].high) == pytest.approx((0.001, 1.0))
    every = study_with(stated, '[uncertainty]\ninputs = "all"\nsamples = 256\nchance = 0.75').uncertain
    assert len(every.inputs) > 60
    assert (every.samples, every.chance) == (256, 0.75)
    by_name = {item.name: item for item in every.inputs}
    assert by_name["ice_fraction"].kind == "normal"
    assert [item.name for item in every.inputs if item.stated] == ["keep_alive_power", "ice_fraction"]


def test_a_condition_that_is_swept_stays_uncertain_when_all_are() -> None:
    lines = 'ice_fraction = { values = ["5 %", "10 %"] }'
    head = TOUR.replace("seed = 0", 'seed = 0\nconditions = ["ice_fraction"]')
    assert "ice_fraction" in study_with(sweep_lines=lines, text=head).uncertain.names
    assert "ice_fraction" not in study_with(sweep_lines=lines).uncertain.names


def test_correlation_is_laid_out_over_all_uncertain_inputs() -> None:
    study = study_with(
        '[uncertain]\nkeep_alive_power = "range"\nice_fraction = "range"\npointing_factor = "range"',
        "[uncertainty.correlation]",
        'inputs = ["pointing_factor", "keep_alive_power"]\nrank = [[1, 0.5], [0.5, 1]]',
    )
    assert study.uncertain.names == ("keep_alive_power", "pointing_factor", "ice_fraction")
    assert study.uncertain.correlation is not None
    np.testing.assert_array_equal(study.uncertain.correlation, [[1, 0.5, 0], [0.5, 1, 0], [0, 0, 1]])


def test_a_difference_of_temperature_has_no_zero_point() -> None:
    for width in ("5 degC", "5 K"):
        entry = f'cell_temperature = {{ kind = "normal", mean = "80 degC", deviation = "{width}" }}'
        (item,) = study_with(f"[uncertain]\n{entry}").uncertain.inputs
        assert item.numbers == pytest.approx((353.15, 5.0))


def test_words_of_a_distribution_are_in_display_units() -> None:
    entry = 'maximum_wait = { kind = "discrete", values = ["1000 d", "500 d"], chances = ["70 %", 0.3] }'
    (item,) = study_with(f"[uncertain]\n{entry}").uncertain.inputs
    assert sampling.distribution_words(item) == "discrete, 500 d (30 %), 1000 d (70 %)"


# bad input

STEEP = "[[1, 0.9, -0.9], [0.9, 1, 0.9], [-0.9, 0.9, 1]]"
THREE = '[uncertain]\nice_fraction = "range"\nkeep_alive_power = "range"\npointing_factor = "range"\n'


def uncertain(entry: str) -> str:
    return f"[uncertain]\n{entry}"


def correlated(rank: str, inputs: str = '"ice_fraction", "keep_alive_power", "pointing_factor"') -> str:
    return f"{THREE}[uncertainty.correlation]\ninputs = [{inputs}]\nrank = {rank}"


BAD_DISTRIBUTIONS = {
    "low above high": (
        '{ kind = "uniform", low = "20 %", high = "10 %" }',
        '"20 %" is not below high "10 %"',
    ),
    "low is high": ('{ kind = "uniform", low = "20 %", high = "20 %" }', "is not below high"),
    "mode outside": (
        '{ kind = "triangular", low = "5 %", mode = "30 %", high = "20 %" }',
        'mode "30 %" lies outside low "5 %" to high "20 %"',
    ),
    "no deviation": (
        '{ kind = "normal", mean = "10 %", deviation = "0 %" }',
        'deviation "0 %" must be above zero',
    ),
    "negative deviation": ('{ kind = "normal", mean = "10 %", deviation = "-2 %" }', "must be above zero"),
    "deviation of another kind": ('{ kind = "normal", mean = "10 %", deviation = "2 K" }', "deviation: 'K'"),
    "factor one": (
        '{ kind = "lognormal", median = "10 %", factor = 1 }',
        "factor 1 must be a number above 1",
    ),
    "factor in words": (
        '{ kind = "lognormal", median = "10 %", factor = "2" }',
        'factor "2" must be a number',
    ),
    "chances": ('{ kind = "discrete", values = ["5 %", "9 %"], chances = [0.3, 0.6] }', "chances sum to 0.9"),
    "a chance too few": (
        '{ kind = "discrete", values = ["5 %", "9 %"], chances = [1] }',
        "2 values but 1 chances",
    ),
    "negative chance": (
        '{ kind = "discrete", values = ["5 %", "9 %"], chances = [1.3, -0.3] }',
        "chance 1.3 must be from 0 to 1",
    ),
    "value twice": ('{ kind = "discrete", values = ["5 %", "5 %"], chances = [0.5, 0.5] }', "listed twice"),
    "out of bounds": ('{ kind = "uniform", low = "5 %", high = "150 %" }', 'high: "150 %" is out of bounds'),
    "unknown kind": ('{ kind = "gaussian", mean = "10 %" }', "allowed: uniform, triangular, normal"),
    "no kind": ('{ low = "5 %", high = "10 %" }', "kind is missing"),
    "missing": (
        '{ kind = "uniform", low = "5 %" }',
        "high is missing; a uniform distribution needs low and high",
    ),
    "of another kind": (
        '{ kind = "uniform", low = "5 %", high = "9 %", mode = "7 %" }',
        'unknown key "mode"',
    ),
    "a number": ("0.1", 'must be "range" or { kind'),
}


def refused(text: str, *words: str) -> str:
    with pytest.raises(StudyError) as error:
        parse_study(text, "bad.toml")
    message = str(error.value)
    for word in words:
        assert word in message
    assert message.startswith("bad.toml:")
    assert len(message.split("\n")) == 1, message
    return message


@pytest.mark.parametrize("case", BAD_DISTRIBUTIONS)
def test_impossible_distributions_are_refused(case: str) -> None:
    entry, words = BAD_DISTRIBUTIONS[case]
    text = text_with(uncertain(f"ice_fraction = {entry}"))
    message = refused(text, "uncertain.ice_fraction: ", words)
    assert f"bad.toml:{line_of(text, 'ice_fraction = ' + entry)}" in message


OTHER_BAD = {
    "lognormal below zero": (
        uncertain('subsolar_latitude = { kind = "lognormal", median = "5 deg", factor = 2 }'),
        "a lognormal is never below zero, but subsolar_latitude may be",
    ),
    "no range": (uncertain('launch_mass = "range"'), "has no range of its own"),
    "exact": (uncertain('mixture_ratio = "range"'), "state a distribution"),
    "unknown": (uncertain('ice_fractoin = "range"'), "'ice_fraction'"),
    "an output": (uncertain('refuel_time = "range"'), "unknown quantity"),
    "swept": (uncertain('current_density = "range"'), "is swept as well"),
    "replaced by a swept one": (
        uncertain('array_power = { kind = "uniform", low = "5 kW", high = "9 kW" }'),
        "swept",
    ),
    "replaced by another": (
        uncertain(
            'ice_fraction = "range"\nextraction_energy = { kind = "uniform", low = "1 kWh/kg", high = "2 kWh/kg" }'
        ),
        "ice_fraction: has no effect, because extraction_energy is uncertain too",
    ),
    "left out": (
        '[effects]\nkeep_alive = false\n[uncertain]\nkeep_alive_power = "range"',
        "effects.keep_alive",
    ),
    "on a surface": (
        uncertain('hop_distance = { kind = "uniform", low = "5 km", high = "9 km" }'),
        'kind "surface"',
    ),
    "nothing stated": ('[uncertainty]\ninputs = "stated"', "add a section [uncertain]"),
    "unknown use": ('[uncertainty]\ninputs = "some"', "allowed: stated, all"),
    "samples": ("[uncertainty]\nsamples = 1000", "1000 is not a power of two; write 512 or 1024"),
    "too many samples": ("[uncertainty]\nsamples = 33554432", "2 to 16,777,216"),
    "certain": ('[uncertainty]\nchance = "100 %"', "must lie between 0 and 1"),
    "chance": ("[uncertainty]\nchance = 90", "from 0 to 1"),
    "a stray key": ("[uncertainty]\nsample = 4", "'samples'"),
    "not definite": (correlated(STEEP), "smallest eigenvalue -0.8", "off the diagonal times 0.5"),
    "not symmetric": (
        correlated("[[1, 0.5, 0], [0.4, 1, 0], [0, 0, 1]]"),
        "ice_fraction with keep_alive_power is 0.5, keep_alive_power with ice_fraction 0.4",
    ),
    "diagonal": (correlated("[[1, 0, 0], [0, 2, 0], [0, 0, 1]]"), "2 must be a number from -1 to 1"),
    "diagonal below one": (correlated("[[1, 0, 0], [0, 0.9, 0], [0, 0, 1]]"), "the diagonal must be 1"),
    "not square": (correlated("[[1, 0], [0, 1]]"), "3 rows of 3 numbers"),
    "perfect": (correlated("[[1, 1, 0], [1, 1, 0], [0, 0, 1]]"), "not positive definite", "0.99"),
    "not uncertain": (
        correlated("[[1, 0], [0, 1]]", '"ice_fraction", "leak_time"'),
        '"leak_time" is not uncertain',
    ),
    "one input": (correlated("[[1]]", '"ice_fraction"'), "at least two"),
    "twice": (correlated("[[1, 0], [0, 1]]", '"ice_fraction", "ice_fraction"'), "named twice"),
    "half a matrix": (f'{THREE}[uncertainty.correlation]\ninputs = ["ice_fraction"]', "needs inputs"),
}


@pytest.mark.parametrize("case", OTHER_BAD)
def test_uncertain_inputs_that_cannot_be_are_refused(case: str) -> None:
    section, *words = OTHER_BAD[case]
    refused(text_with(section), *words)


def test_what_a_given_quantity_replaces_cannot_be_uncertain() -> None:
    text = text_with(uncertain('ice_fraction = "range"')).replace(
        '[extraction]\nice_fraction = "10 %"', '[extraction]\nextraction_energy = "3 kWh/kg"'
    )
    refused(
        text.replace('ice_fraction = ["5 %", "20 %"]', ""),
        "extraction_energy is given and replaces it; drop one",
    )


def test_a_condition_cannot_be_stated_uncertain_as_well() -> None:
    lines = 'ice_fraction = { values = ["5 %", "10 %"] }'
    head = TOUR.replace("seed = 0", 'seed = 0\nconditions = ["ice_fraction"]')
    refused(
        text_with(uncertain('ice_fraction = "range"'), sweep_lines=lines, text=head),
        "one of study.conditions",
    )


def test_what_is_solved_for_cannot_be_uncertain() -> None:
    text = SURFACE.replace(
        "[sweep]", '[solve]\nsolve = "storage_volume"\nuntil = "refuel_time <= 30 d"\n[sweep]'
    )
    refused(text + '\n[uncertain]\nstorage_volume = "range"\n', "[solve] looks for")


BAD_PLANS = {
    "unknown": ('[plan]\nkind = "halton"', None, "allowed: grid, latin_hypercube, sobol"),
    "misspelt": ('[plan]\nkind = "sobols"', None, "did you mean 'sobol'?"),
    "no kind": ("[plan]\ndesigns = 64", None, "plan.kind: is missing"),
    "no power of two": (
        SOBOL.replace("64", "1000"),
        AREA_AND_TWO,
        "1000 is not a power of two",
        "512 or 1024",
    ),
    "too few": (
        LATIN.replace("90", "3"),
        AREA_AND_TWO,
        "3 designs are too few for 3 swept variables; at least 4",
    ),
    "too many": (
        LATIN.replace("90", "80000000"),
        AREA_AND_TWO,
        "240,000,000 designs (3 architectures",
        "200,000,000",
    ),
    "no number": ('[plan]\nkind = "sobol"', AREA_AND_TWO, "plan.designs: is missing; give a whole number"),
    "in words": (LATIN.replace("90", '"many"'), AREA_AND_TWO, '"many" must be a whole number of at least 2'),
    "key of another": (
        LATIN + "\npoints = 4",
        AREA_AND_TWO,
        "is for one_at_a_time; this plan is 'latin_hypercube'",
    ),
    "stray key": (LATIN + "\ndesign = 4", AREA_AND_TWO, "did you mean 'designs'?"),
    "nothing swept": (LATIN, "", "add a section [sweep]"),
    "points": (ALONE.replace("5", "1"), AREA_AND_TWO, "1 must be a whole number of at least 2"),
    "no points": ('[plan]\nkind = "one_at_a_time"', VOLUME, "or points in [plan]"),
    "grid without counts": ("", VOLUME, "count is missing"),
    "no list": ('[plan]\nkind = "list"', "", 'write file = "designs.csv"'),
    "two lists": ("[plan]\nkind = 'list'\nfile = 'a.csv'\ntable = 'x'", "", "only one of file and table"),
    "no place": ("[plan]\nkind = 'list'\nfile = 'a.csv'", "", "cannot be looked for"),
    "list and sweep": (
        LIST,
        'array_area = { values = ["1 m2"] }',
        'plan.kind = "list" gives the designs; drop it',
    ),
    "list and uncertain": (LIST + '\n[uncertain]\ncurrent_density = "range"', "", "is swept as well"),
}


@pytest.mark.parametrize("case", BAD_PLANS)
def test_plans_that_cannot_be_are_refused(case: str) -> None:
    section, lines, *words = BAD_PLANS[case]
    refused(text_with(section, sweep_lines=lines), *words)


def test_a_column_of_a_list_over_a_fixed_value_is_refused_at_the_list() -> None:
    held = LIST.replace("current_density [A/cm2]", "keep_alive_power [W]") + "\n[effects]\nkeep_alive = false"
    message = refused(
        text_with(held, sweep_lines=""), "plan.table: column keep_alive_power: ", "effects.keep_alive"
    )
    assert "sweep" not in message
    refused(
        text_with(LIST.replace("current_density [A/cm2]", "array_power [kW]"), sweep_lines=""),
        "plan.table: column array_area: cannot be swept together with array_power",
    )


def test_a_distance_between_bodies_is_nothing_to_sweep() -> None:
    refused(
        text_with(sweep_lines='hop_distance = { values = ["5 km"] }'),
        "sweep.hop_distance: is for a study of kind",
    )


BAD_LISTS = {
    "unknown column": ("array_are [m2]\n3", "line 1, column 1: unknown quantity 'array_are'", "'array_area'"),
    "unknown unit": ("array_area [metre2]\n3", "line 1, column 1: array_area: unknown unit"),
    "unit of another kind": ("array_area [kg]\n3", "'kg' is not a unit of the kind wanted here"),
    "no unit": ("array_area\n3", "write the header array_area [m2]"),
    "no header": ("3,4\n5,6", '"3" is not a quantity with its unit'),
    "column twice": (
        "array_area [m2],array_area [m2]\n3,4",
        "line 1, column 2: array_area stands in two columns",
    ),
    "other separator": ("array_area [m2];stack_cells\n3;4", "cells are separated by commas"),
    "missing cell": ("array_area [m2],stack_cells\n3,20\n4", "line 3: has 1 cells where the header has 2"),
    "empty cell": (
        "array_area [m2],stack_cells\n3,20\n4,\n",
        'line 3, column "stack_cells": the cell is empty',
    ),
    "no number": ("array_area [m2]\n3\n4 m2", 'line 3, column "array_area [m2]": "4 m2" is not a number'),
    "not finite": ("array_area [m2]\n3\nnan", '"nan" is not a number'),
    "grouped": ("array_area [m2]\n1_000", '"1_000" is not a number'),
    "out of bounds": (
        "array_area [m2]\n3\n\n-4",
        'line 4, column "array_area [m2]": "-4" is out of bounds; allowed',
    ),
    "no design": ("array_area [m2]\n\n", "holds no design"),
    "control character": ("array_area [m2]\n3\n4\x0b\n", "line 3: contains the control character"),
    "an unfinished quote": ('array_area [m2]\n"3', "not comma-separated values"),
    "an output": ("refuel_time [d]\n3", "unknown quantity 'refuel_time'"),
}


@pytest.mark.parametrize("case", BAD_LISTS)
def test_bad_lists_are_refused_with_line_and_column(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table, *words = BAD_LISTS[case]
    monkeypatch.chdir(tmp_path)
    Path("mine.csv").write_text(table, encoding="utf-8")
    Path("bad.toml").write_text(
        text_with("[plan]\nkind = 'list'\nfile = 'mine.csv'", sweep_lines=""), encoding="utf-8"
    )
    with pytest.raises(StudyError) as error:
        load_study("bad.toml")
    for word in words:
        assert word in str(error.value)
    assert "plan.file: mine.csv" in str(error.value)
    assert str(error.value).count("\n") == 0


@pytest.mark.parametrize("plan", [SOBOL, LATIN])
def test_a_condition_is_not_drawn_anywhere(plan: str) -> None:
    head = TOUR.replace("seed = 0", 'seed = 0\nconditions = ["storage_volume"]')
    refused(text_with(plan, sweep_lines=AREA_AND_TWO, text=head), "no design stands at its own value")
    fine = head.replace('["storage_volume"]', '["stack_cells"]')
    assert study_with(plan, sweep_lines=AREA_AND_TWO, text=fine).conditions == ("stack_cells",)


@pytest.mark.parametrize("command", ["check", "run"])
def test_the_command_line_refuses_with_code_two(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for section, words in (
        (correlated(STEEP), "is not positive definite"),
        (uncertain('ice_fraction = { kind = "uniform", low = "9 %", high = "5 %" }'), "is not below"),
        (SOBOL.replace("64", "65"), "write 64 or 128"),
    ):
        Path("bad.toml").write_text(text_with(section), encoding="utf-8")
        result = CliRunner().invoke(main, [command, "bad.toml"])
        assert result.exit_code == 2
        assert words in result.stderr
        assert result.stdout == ""
        assert len(result.stderr.splitlines()) == 1


# what is told of it


def test_a_condition_moved_alone_is_held_at_its_own_value() -> None:
    head = TOUR.replace("seed = 0", 'seed = 0\nconditions = ["ice_fraction"]')
    lines = 'ice_fraction = { low = "2 %", high = "30 %" }\narray_area = { low = "10 m2", high = "90 m2" }'
    results = invented_results()
    study = study_with(ALONE, sweep_lines=lines, text=head)
    assert dataclasses.replace(results, study=study).conditions() == {"ice_fraction": pytest.approx(0.1)}
    listed = study_with(
        LATIN, sweep_lines='ice_fraction = { values = ["2 %", "9 %", "20 %"] }\n' + VOLUME, text=head
    )
    assert dataclasses.replace(results, study=listed).conditions() == {"ice_fraction": pytest.approx(0.09)}


def test_check_tells_plan_and_uncertain_inputs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = text_with(LATIN, correlated("[[1, 0.5, 0], [0.5, 1, 0], [0, 0, 1]]"), sweep_lines=AREA_AND_TWO)
    Path("mine.toml").write_text(text, encoding="utf-8")
    told = CliRunner().invoke(main, ["check", "mine.toml"]).stdout
    assert "Latin hypercube of 90 designs" in told
    assert "drawn by ratio" in told
    row = next(line for line in told.splitlines() if line.startswith("keep_alive_power  triangular"))
    assert "low 25 W, mode 40 W, high 80 W" in row
    assert "asked chance of closing 90 %" in told
    assert any(line.split() == ["keep_alive_power", "ice_fraction", "0.5"] for line in told.splitlines())
    shown = CliRunner().invoke(main, ["check", "mine.toml", "--json"]).stdout
    assert '"latin_hypercube"' in shown
    assert '"rank_correlation"' in shown


def test_a_new_study_from_one_with_a_list_brings_the_list_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there").mkdir()
    text = text_with('[plan]\nkind = "list"\nfile = "mine.csv"', sweep_lines="")
    (tmp_path / "there" / "listed.toml").write_text(text, encoding="utf-8")
    (tmp_path / "there" / "mine.csv").write_text("array_area [m2]\n30\n20\n", encoding="utf-8")
    done = CliRunner().invoke(main, ["new", "copy", "--from", "there/listed.toml"])
    assert done.exit_code == 0, done.stderr
    assert sampling.design_grid(load_study("copy.toml"))["array_area"].tolist() == [30.0, 20.0]


def test_a_run_of_a_list_is_read_again_without_its_file(tmp_path: Path) -> None:
    from tradespace import report

    path, table = tmp_path / "listed.toml", tmp_path / "mine.csv"
    text = SURFACE[: SURFACE.index("[sweep]")] + '[plan]\nkind = "list"\nfile = "mine.csv"\n'
    path.write_text(text, encoding="utf-8")
    table.write_text("array_power [kW],storage_volume [m3]\n4,3\n9,4\n20,2\n", encoding="utf-8")
    first = sweep.run(load_study(path), tmp_path / "out")
    table.unlink()
    path.unlink()
    again = sweep.read_run(tmp_path / "out")
    assert again.study.hash == first.study.hash
    one = again.designs[again.designs["architecture"] == "steam_resistojet"]
    assert one["array_power"].tolist() == [4000.0, 9000.0, 20000.0]
    page = report.write_report(again, tmp_path / "again.html")
    assert "list of 3 designs" in Path(page).read_text(encoding="utf-8")
