"""Shares of variance, screening and elasticities: closed forms, another library, and the chain itself."""

from __future__ import annotations

import functools
from collections.abc import Mapping

import numpy as np
import pytest
from scipy import stats

from tradespace.errors import DomainError
from tradespace.physics.compiled import FloatArray
from tradespace.sensitivity.screening import screening
from tradespace.sensitivity.variance import base_points, indices, shares

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
