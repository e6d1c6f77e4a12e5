"""Orbit formulas against other programs: boinor and an integrator of scipy."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tradespace.constants import value
from tradespace.physics import lambert, transfer

EARTH = value("gravitational_parameter_earth")
DAY = 86400.0


@pytest.mark.parametrize(
    ("turns", "prograde", "low"),
    [
        (0, True, True),
        (0, False, True),
        (1, True, True),
        (1, False, False),
        (3, True, False),
        (6, False, True),
    ],
)
def test_lambert_agrees_with_boinor(turns: int, prograde: bool, low: bool) -> None:
    izzo = pytest.importorskip("boinor.core.iod").izzo
    random = np.random.default_rng(turns)
    count = 60
    places = random.normal(size=(2, count, 3))
    times = 10.0 ** random.uniform(-1.0, 1.5, count) * (1.0 + 6.0 * turns)
    states = np.concatenate([places, np.zeros((2, count, 3))], axis=2)
    rows, out = np.arange(count), np.empty((count, lambert.COLUMNS))
    lambert.lambert_rows_kernel(1.0, states[0], rows, states[1], rows, times, turns, prograde, low, 0.0, out)
    solved = 0
    for row in rows:
        try:
            known = np.concatenate(izzo(1.0, *places[:, row], times[row], turns, prograde, low, 35, 1e-12))
        except ValueError:
            assert np.isnan(out[row]).all()
            continue
        solved += 1
        np.testing.assert_allclose(out[row, :6], known, rtol=0, atol=1e-12 * np.abs(known).max())
    assert solved > 10
    assert turns == 0 or solved < count  # some rows have no orbit, and say so


def test_manoeuvres_agree_with_boinor() -> None:
    """Its hyperbolic flyby and its inclined spiral, through the bare kernels."""
    flybys = pytest.importorskip("boinor.core.flybys")
    after, turn = flybys.compute_flyby(
        np.array([37.51, 2.782, 0.0]), np.array([35.02, 0.0, 0.0]), 324859.0, 6352.0, 0.0
    )
    own = transfer.flyby_turn(324859e9, 6352e3, 1e3 * math.hypot(2.49, 2.782))
    assert float(own) == pytest.approx(turn, rel=1e-9)
    sides = [transfer.flyby_velocity(324859e9, 6352e3, 35020.0, 37510.0, 2782.0, side) for side in (1, -1)]
    assert min(abs(float(side[0]) / 1e3 - after[0]) for side in sides) < 1e-6


def test_hohmann_agrees_with_boinor() -> None:
    hohmann = pytest.importorskip("boinor.core.maneuver").hohmann
    mass, near, far = 398600.4418, 6569.4781, 42159.4856
    state = np.array([near, 0.0, 0.0]), np.array([0.0, math.sqrt(mass / near), 0.0])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own remarks on strides
        first, second, *times = hohmann(mass, state, far)
    found = transfer.hohmann_transfer(mass * 1e9, near * 1e3, far * 1e3)
    assert np.linalg.norm(first) == pytest.approx(float(found[0]) / 1e3, rel=1e-9)
    assert np.linalg.norm(second) == pytest.approx(float(found[1]) / 1e3, rel=1e-9)
    assert times[-1] == pytest.approx(float(found[2]), rel=1e-9)


def integrated(acceleration: float, inverse: float, excess: float) -> float:
    """Speed spent from a unit circle to an excess speed: plane coordinates, time as the variable."""

    def slope(_: float, state: np.ndarray) -> list[float]:
        x, y, u, v, spent = state
        cube, speed = math.hypot(x, y) ** 3, math.hypot(u, v)
        push = acceleration * math.exp(inverse * spent)
        return [u, v, -x / cube + push * u / speed, -y / cube + push * v / speed, push]

    def energy(_: float, state: np.ndarray) -> float:
        x, y, u, v, _ = state
        return float(u * u + v * v - 2.0 / math.hypot(x, y) - excess * excess)

    energy.terminal = True  # type: ignore[attr-defined]
    end = 20.0 * (1.0 + excess) / acceleration
    start = [1.0, 0.0, 0.0, 1.0, 0.0]
    found = solve_ivp(slope, (0.0, end), start, "DOP853", events=energy, rtol=1e-10, atol=1e-12)
    return float(found.y_events[0][0][4])


@pytest.mark.parametrize(
    ("acceleration", "inverse", "excess"),
    [
        (0.1, 0.0, 0.0),
        (1.0, 1.7, 0.5),
        (0.2, 4.3, 1.3),
        (0.03, 0.8, 0.3),
        (0.013, 2.2, 0.07),
        (3.0, 0.1, 8.0),
    ],
)
def test_tables_of_burns_agree_with_another_integrator(
    acceleration: float, inverse: float, excess: float
) -> None:
    """Off the nodes of the table: 1 % of the loss, as agreed for the same steering."""
    known = integrated(acceleration, inverse, excess) - (math.sqrt(excess**2 + 2.0) - 1.0)
    assert transfer.burn_loss_ratio_kernel(acceleration, inverse, excess) == pytest.approx(known, rel=0.01)
    if inverse == 0.0 and excess == 0.0:
        along = transfer.escape_spiral_kernel(acceleration)[0]
        assert along == pytest.approx(known + math.sqrt(2.0) - 1.0, abs=5e-4)


@pytest.mark.parametrize(
    ("acceleration", "inverse", "excess", "factor"),
    [(0.03, 0.9, 0.0, 1.097), (0.1, 1.7, 0.5, 0.815), (1.0, 0.3, 0.0, 0.996), (0.03, 4.0, 1.3, 0.399)],
)
def test_an_arrival_loses_about_what_a_departure_does(
    acceleration: float, inverse: float, excess: float, factor: float
) -> None:
    """An arrival run backwards is a departure whose mass grows: from 0.4 to 1.1 times the loss."""
    ideal = math.sqrt(excess**2 + 2.0) - 1.0
    spent = ideal + transfer.burn_loss_ratio_kernel(acceleration, inverse, excess)
    departure = spent - ideal
    for _ in range(9):  # the mass at the end follows from the speed spent
        spent = integrated(acceleration * math.exp(inverse * spent), -inverse, excess)
    assert (spent - ideal) / departure == pytest.approx(factor, rel=0.02)


@pytest.mark.parametrize(
    ("weight", "excess"), [(1.001, 3.0), (1.05, 0.0), (2.0, 0.0), (1.5, 1.3), (8.0, 0.4)]
)
def test_a_landing_agrees_with_an_integrated_fall(weight: float, excess: float) -> None:
    """From rest on the surface upwards: the climb with constant acceleration is the landing run backwards."""

    def slope(_: float, state: np.ndarray) -> list[float]:
        return [state[1], weight - 1.0 / state[0] ** 2]

    def energy(_: float, state: np.ndarray) -> float:
        return float(state[1] ** 2 - 2.0 / state[0] - 2.0 * excess * excess)

    energy.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(slope, (0.0, 1e3), [1.0, 0.0], "DOP853", events=energy, rtol=1e-11, atol=1e-12)
    spent = weight * float(found.t_events[0][0])
    escape = math.sqrt(2.0)
    own = float(transfer.landing_delta_v(1.0, 1.0, excess * escape, weight))
    assert own == pytest.approx(spent, rel=1e-5)
