"""Shares of variance, screening and elasticities: closed forms, another library, and the chain itself."""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from small_studies import SURFACE

from tradespace import evaluate as engine
from tradespace.cli import main
from tradespace.errors import DomainError
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.results import Drivers
from tradespace.sensitivity import chain, drive, driving_architectures, elasticities, shared
from tradespace.sensitivity.elasticity import frozen_dates, reference_row, roughness, slopes
from tradespace.sensitivity.inputs import bounded
from tradespace.sensitivity.screening import screening
from tradespace.sensitivity.variance import base_points, indices, shares
from tradespace.study import Study, load_study, parse_study
from tradespace.study.model import Distribution

STUDIES = Path(__file__).parents[1] / "studies"

# Ishigami and Homma (1990), a = 7, b = 0.1: closed form of the shares
FIRST = np.array([0.3139, 0.4424, 0.0])
TOTAL = np.array([0.5576, 0.4424, 0.2437])


def ishigami(points: FloatArray) -> Mapping[str, FloatArray]:
    x = np.pi * (2.0 * points - 1.0)
    return {"y": np.sin(x[:, 0]) * (1.0 + 0.1 * x[:, 2] ** 4) + 7.0 * np.sin(x[:, 1]) ** 2}


@pytest.mark.parametrize("seed", range(10))
def test_shares_of_the_ishigami_function(seed: int) -> None:
    found = indices(ishigami, 3, 2**14, seed)
    np.testing.assert_allclose(found.first[0], FIRST, atol=0.01)
    np.testing.assert_allclose(found.total[0], TOTAL, atol=0.01)
    assert found.runs == 5 * 2**14
    for low, value, high in (
        (found.first_low, found.first, found.first_high),
        (found.total_low, found.total, found.total_high),
    ):
        assert (low < value).all()
        assert (value < high).all()
        assert (high - low < 0.05).all()


def test_an_additive_model_has_shares_as_its_squared_coefficients() -> None:
    weights = np.array([3.0, -2.0, 1.0, 0.0])
    found = indices(lambda u: {"y": u @ weights + 5.0}, 4, 4096, 0, names=("a", "b", "c", "d"))
    wanted = weights**2 / (weights**2).sum()
    np.testing.assert_allclose(found.first[0], wanted, atol=2e-3)
    np.testing.assert_allclose(found.total[0], wanted, atol=2e-3)
    assert found.total[0, 3] == 0.0
    assert found.variance[0] == pytest.approx((weights**2).sum() / 12.0, rel=1e-3)
    table = found.table().set_index("quantity")
    assert table.loc["a", "first"] == found.first[0, 0]


@pytest.mark.filterwarnings("ignore")
def test_another_library_gives_the_same_shares() -> None:
    found = indices(ishigami, 3, 2**12, 3)
    bounds = [stats.uniform(0.0, 1.0)] * 3
    other = stats.sobol_indices(
        func=lambda u: ishigami(u.T)["y"][None, :], n=2**12, dists=bounds, rng=np.random.default_rng(3)
    )
    np.testing.assert_allclose(found.first[0], np.ravel(other.first_order), atol=0.02)
    np.testing.assert_allclose(found.total[0], np.ravel(other.total_order), atol=0.02)


@functools.cache
def coverage() -> tuple[float, float]:
    """How often the intervals of random base points hold the true shares."""
    hits = []
    for seed in range(60):
        points = np.random.default_rng(1000 + seed).random((256, 6))
        a, b = points[:, :3], points[:, 3:]
        runs = [a, b]
        for place in range(3):
            mixed = a.copy()
            mixed[:, place] = b[:, place]
            runs.append(mixed)
        answers = np.stack([ishigami(run)["y"] for run in runs])
        found = shares({"y": answers}, ("1", "2", "3"), seed)
        hits.append(
            [
                (found.first_low[0] <= FIRST) & (found.first_high[0] >= FIRST),
                (found.total_low[0] <= TOTAL) & (found.total_high[0] >= TOTAL),
            ]
        )
    rates = np.mean(hits, axis=(0, 2))
    return float(rates[0]), float(rates[1])


def test_intervals_hold_the_true_share_about_as_often_as_they_say() -> None:
    """Of 180 intervals at 95 % with random base points; a percentile bootstrap of 256 rows is a little short."""
    first, total = coverage()
    assert 0.88 <= first <= 1.0
    assert 0.85 <= total <= 1.0


def test_the_same_seed_gives_the_same_numbers_and_another_seed_others() -> None:
    one, two, other = (indices(ishigami, 3, 256, seed) for seed in (0, 0, 1))
    np.testing.assert_array_equal(one.first_low, two.first_low)
    assert (one.first != other.first).all()


def test_intervals_do_not_depend_on_how_many_metrics_are_resampled_together(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from tradespace import constants

    value = constants.value

    def small(name: str, *table: str) -> float:
        return {"bootstrap_terms": 1.0, "bootstrap_block": 1000.0}.get(name) or value(name, *table)

    def model(points: FloatArray) -> dict[str, FloatArray]:
        y = ishigami(points)["y"]
        return {"y": y, "twice": 2.0 * y, "square": y * y}

    whole = indices(model, 3, 256, 5)
    np.testing.assert_allclose(whole.first_high[0], whole.first_high[1], rtol=1e-12)
    monkeypatch.setattr(constants, "value", small)
    np.testing.assert_allclose(indices(model, 3, 256, 5).total_low, whole.total_low, rtol=1e-9)


def test_a_single_run_that_is_no_number_is_refused_by_name_and_count() -> None:
    def broken(points: FloatArray) -> dict[str, FloatArray]:
        y = points[:, 0].copy()
        y[points[:, 0] > 0.97] = np.nan
        return {"fine": points[:, 1], "start_mass": y}

    with pytest.raises(DomainError, match=r"start_mass: \d+ of 256 runs are not finite"):
        indices(broken, 2, 64, 0)
    with pytest.raises(DomainError, match="start_mass"):
        screening(lambda u: {"start_mass": np.where(u[:, 0] > 0.8, np.nan, u[:, 1])}, 2, 64, 0)


def test_what_does_not_vary_has_no_shares() -> None:
    found = indices(lambda u: {"y": u[:, 0], "still": np.full(len(u), 0.1)}, 2, 64, 0)
    assert found.metrics == ("y",)
    assert found.still == ("still",)
    assert np.isfinite(found.table().drop(columns=["metric", "quantity"]).to_numpy()).all()


@pytest.mark.parametrize(("base", "words"), [(1000, "take 512 or 1024"), (0, "take 8"), (4, "take 8")])
def test_the_base_is_a_power_of_two(base: int, words: str) -> None:
    with pytest.raises(DomainError, match=words):
        base_points(3, base, 0)


def test_strength_of_a_linear_model_is_its_coefficients() -> None:
    weights = np.array([3.0, -2.0, 0.0])
    found = screening(lambda u: {"y": u @ weights}, 3, 10, 0)
    np.testing.assert_allclose(found.strength[0], np.abs(weights), atol=1e-12)
    np.testing.assert_allclose(found.direction[0], weights, atol=1e-12)
    np.testing.assert_allclose(found.unevenness, 0.0, atol=1e-12)
    assert found.runs == 40


def test_a_product_is_uneven_and_its_strength_is_the_mean_of_the_other_factor() -> None:
    """Effect of one factor is the other one, whose four levels have mean 1/2 and variance 5/64."""
    found = screening(lambda u: {"y": u[:, 0] * u[:, 1]}, 2, 4000, 1)
    np.testing.assert_allclose(found.strength[0], 0.5, atol=0.02)
    np.testing.assert_allclose(found.unevenness[0], np.sqrt(5.0 / 64.0), atol=0.01)
    assert (found.error < 0.01).all()


def test_each_input_moves_once_along_a_trajectory() -> None:
    from tradespace.sensitivity.screening import trajectories

    points, order, step = trajectories(5, 7, 0)
    moved = np.diff(points, axis=1)
    assert ((points > 0.0) & (points < 1.0)).all()
    assert ((moved != 0.0).sum(axis=2) == 1).all()
    for walk in range(7):
        assert sorted(order[walk]) == list(range(5))
        for place, which in enumerate(order[walk]):
            assert moved[walk, place, which] == step[walk, which]
    with pytest.raises(DomainError, match="at least 2"):
        trajectories(3, 1, 0)


@functools.cache
def asked(name: str) -> tuple[Study, Mission]:
    study = load_study(STUDIES / f"{name}.toml")
    return study, engine.mission_of(study)


@functools.cache
def slopes_of(name: str, architecture: str) -> pd.DataFrame:
    return elasticities(*asked(name), architecture)


def test_velocity_change_follows_specific_impulse_one_to_one_at_fixed_masses() -> None:
    table = slopes_of("published/photovoltaic_electrolysis_cubesat", "lower_end")
    rows = table[(table["metric"] == "delta_v_available") & (table["quantity"] == "specific_impulse")]
    assert len(rows) == 1
    assert abs(float(rows["elasticity"].iloc[0]) - 1.0) < 1e-9


def test_velocity_change_follows_the_masses_as_the_logarithm_does() -> None:
    """Of v ln(m0 / (m0 - m)): m / (m0 - m) / ln(m0 / (m0 - m)) for the water m, and as much less for m0."""
    table = slopes_of("published/photovoltaic_electrolysis_cubesat", "lower_end")
    rows = table[table["metric"] == "delta_v_available"].set_index("quantity")["elasticity"]
    water, whole = 7.8, 12.0
    wanted = water / (whole - water) / np.log(whole / (whole - water))
    assert rows["water_on_board"] == pytest.approx(wanted, rel=1e-9)
    assert rows["launch_mass"] == pytest.approx(-wanted, rel=1e-9)


@pytest.mark.parametrize("calendar", ["frozen", "free"])
def test_elasticities_are_slopes_of_the_engine(calendar: str) -> None:
    study, mission = asked("outer_belt_ice_tour")
    name = "electrolysis_bipropellant"
    table = slopes_of("outer_belt_ice_tour", name)
    table = table[table["calendar"] == calendar]
    row = reference_row(study, mission, name)
    dates = frozen_dates(mission, row) if calendar == "frozen" else None
    for quantity in ("array_area", "extraction_efficiency", "tank_performance", "stack_efficiency"):
        ends = float(row[quantity]) * np.array([0.999, 1.001])
        answers = engine.evaluate(study, mission, name, {quantity: ends}, frozen=dates)
        for metric in ("refuel_time_mean", "start_mass"):
            slope = float(np.diff(answers[metric])[0]) / float(row[metric]) / 0.002
            found = table[(table["quantity"] == quantity) & (table["metric"] == metric)]["elasticity"]
            assert float(found.iloc[0]) == pytest.approx(slope, rel=2e-3)
    if calendar == "frozen":
        assert "mission_time" not in set(table["metric"])


def test_switches_and_inputs_without_effect_have_no_elasticity() -> None:
    table = slopes_of("outer_belt_ice_tour", "electrolysis_bipropellant")
    assert not set(table["quantity"]) & {
        "thruster_losses",
        "storage_is_liquid",
        "water_is_ice",
        "fill_to_need",
    }
    assert not set(table["quantity"]) & {"steam_temperature"}  # steam is no part of it
    assert (table["elasticity"].abs().dropna() > 0.0).all()


def test_a_bend_is_told_with_the_slope_on_either_side() -> None:
    """At the mixture ratio of water one gas or the other is left over."""
    table = slopes_of("outer_belt_ice_tour", "electrolysis_bipropellant")
    rows = table[table["quantity"] == "mixture_ratio"]
    assert rows["elasticity"].isna().all()
    assert rows["note"].str.match(r"bends (there|close by): -?\d").all()


STEP = 1e-4
HERE = 1.0 + STEP * np.arange(-2.0, 3.0)


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (np.where(HERE >= 1.0, HERE**2, 1.0 + 0.5 * (HERE - 1.0)), "bends there: 0.5 below, 2 above"),
        (np.where(HERE > 1.00005, HERE + 0.2, HERE), "jumps by 0.2 of itself"),
        (np.array([1.0, 1.0003, 1.0, 0.9998, 1.0004]), "not smooth"),
    ],
)
def test_what_is_not_smooth_is_told_in_words(shape: FloatArray, words: str) -> None:
    assert roughness(shape, np.arange(-2.0, 3.0), STEP).startswith(words)


@pytest.mark.parametrize("steps", [np.arange(-2.0, 3.0), np.arange(5.0), np.arange(-4.0, 1.0)])
def test_slopes_to_both_sides_and_to_one(steps: FloatArray) -> None:
    fine, coarse = slopes((1.0 + STEP * steps) ** 3, steps, STEP)
    assert fine + (fine - coarse) / 3.0 == pytest.approx(3.0, abs=1e-7)


def test_a_frozen_calendar_keeps_its_dates_and_a_free_one_does_not() -> None:
    study, mission = asked("outer_belt_ice_tour")
    name = "electrolysis_bipropellant"
    inputs = [Distribution("extraction_efficiency", "uniform", (0.3, 0.9), 0.01, 1.0, "assumed", True)]
    points = np.array([[0.05], [0.5], [0.95]])
    dates = frozen_dates(mission, reference_row(study, mission, name))
    free = chain(study, mission, name, inputs, ["window_date_1", "refuel_time_mean"])(points)
    held = chain(study, mission, name, inputs, ["window_date_1", "refuel_time_mean"], dates)(points)
    assert dates is not None
    np.testing.assert_allclose(held["window_date_1"], dates[0])
    assert np.ptp(free["window_date_1"]) > 0.0
    assert np.ptp(held["refuel_time_mean"]) > 0.0


@functools.cache
def driven() -> Drivers:
    study, mission = asked("ceres_surface_hopper")
    return drive(study, mission, "electrolysis_bipropellant", samples=64, trajectories=4)


def test_what_drives_a_hopper_is_told_with_the_runs_behind_it() -> None:
    found = driven()
    assert set(found.about["method"]) == {"screening", "variance"}
    assert set(found.variance["calendar"]) == {"free"}  # there are no windows on one body
    assert found.variance["quantity"].nunique() == 12
    assert int(found.about["runs"].iloc[-1]) == 64 * 14
    assert "the 12 strongest of" in found.about["note"].iloc[-1]
    numbers = pd.concat([found.screening, found.variance]).select_dtypes("number")
    assert np.isfinite(found.variance.select_dtypes("number").to_numpy()).all()
    assert not np.isinf(numbers.to_numpy()).any()
    largest = found.screening.groupby("metric")["strength"].idxmax()
    assert (found.screening.loc[largest, "strength"] > 0.0).all()


def test_times_and_masses_that_stand_for_none_are_cut_and_told() -> None:
    study, _ = asked("ceres_surface_hopper")
    span = study.horizon - study.start_date
    answers = {
        "refuel_time_mean": np.array([1e5, 3e9]),
        "start_mass": np.array([500.0, 1e6]),
        "margin": np.array([-1.0, 0.3]),
    }
    found, words = bounded(study, answers)
    assert found["refuel_time_mean"].tolist() == [1e5, span]
    assert found["start_mass"].tolist() == [500.0, 2.0 * study.values["launch_mass"]]
    assert [word.split(":")[0] for word in words] == ["refuel_time_mean", "start_mass", "margin"]
    assert all("1 of 2 runs" in word for word in words)


def test_correlated_inputs_are_told_to_have_been_drawn_independently() -> None:
    text = SURFACE + (
        '[uncertain]\nice_fraction = "range"\nkeep_alive_power = "range"\n'
        '[uncertainty.correlation]\ninputs = ["ice_fraction", "keep_alive_power"]\nrank = [[1, 0.5], [0.5, 1]]\n'
    )
    study = parse_study(text)
    found, words = shared(study, engine.mission_of(study), "electrolysis_bipropellant", samples=16)
    assert set(found.inputs) == {"ice_fraction", "keep_alive_power"}
    assert any("correlates" in word for word in words)


def test_the_best_closing_craft_that_refuels_is_looked_at() -> None:
    study, mission = asked("outer_belt_ice_tour")
    reference = engine.baseline(study, mission)
    assert driving_architectures(study, reference) == [
        "electrothermal_engine"
    ]  # xenon is lighter and carries all
    none = reference.assign(
        closes=False, margin=np.where(reference["architecture"] == "water_hall", 0.0, -1.0)
    )
    assert driving_architectures(study, none) == ["water_hall"]


def test_drivers_are_written_and_read_back(tmp_path: Path) -> None:
    from tradespace.sweep.evidence import DRIVERS, _read_drivers
    from tradespace.sweep.parts import write_parquet

    assert _read_drivers(tmp_path) is None
    for name in DRIVERS:
        write_parquet(getattr(driven(), name), tmp_path / f"drivers_{name}.parquet")
    back = _read_drivers(tmp_path)
    assert back is not None
    for name in DRIVERS:
        pd.testing.assert_frame_equal(getattr(back, name), getattr(driven(), name), check_dtype=False)


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as stopped:
        main(["sensitivity", *words])
    output = capsys.readouterr()
    return int(stopped.value.code or 0), output.out, output.err


@pytest.mark.parametrize("method", ["elasticities", "screening", "variance"])
def test_the_command_tells_each_method(method: str, capsys: pytest.CaptureFixture[str]) -> None:
    few = [] if method == "elasticities" else ["--samples", "16"]
    few += ["--inputs", "3"] if method == "variance" else []
    study = str(STUDIES / "published" / "photovoltaic_electrolysis_cubesat.toml")
    code, text, _ = told(capsys, study, "--method", method, "--architecture", "lower_end", *few)
    assert code == 0
    assert "lower_end" in text.splitlines()[0]
    code, text, _ = told(capsys, study, "--method", method, "--architecture", "lower_end", "--json", *few)
    content = json.loads(text)
    assert content["method"] == method
    assert content["rows"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--samples", "8"], "belong to another method"),
        (["--method", "elasticities", "--samples", "8"], "need no samples"),
        (["--method", "screening", "--inputs", "8"], "belongs to the variance"),
        (["--method", "variance", "--samples", "1000"], "take 512 or 1024"),
        (["--method", "screening", "--architecture", "lower"], "did you mean"),
    ],
)
def test_options_that_do_not_go_together_are_one_line(
    words: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    study = str(STUDIES / "published" / "photovoltaic_electrolysis_cubesat.toml")
    code, out, error = told(capsys, study, *words)
    assert code == 2
    assert not out
    assert message in error
    assert len(error.splitlines()) <= 2
