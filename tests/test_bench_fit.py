"""Fits to readings, and where the power went: limits, balances and speed-free properties."""

from __future__ import annotations

import numpy as np
import pytest

from tradespace.bench.calibration import calibration_text, parse_calibration
from tradespace.bench.checks import check
from tradespace.bench.demo import demo_names, demo_path
from tradespace.bench.fitting import calibrate
from tradespace.bench.losses import AWAY, GAS_SUPPLY, JET, SUPPLY, losses
from tradespace.bench.making import calibration_of
from tradespace.bench.measures import summary
from tradespace.bench.posterior import Problem, posterior, prior
from tradespace.bench.readings import parse_readings, read_readings
from tradespace.bench.reconciling import reconcile
from tradespace.bench.records import Fit, Reconciled
from tradespace.errors import CalibrationError

CELL = ("cell_ohmic_factor", "cell_activation_factor", "cell_bypass_conductance", "cell_gas_loss")
ENGINE = ("energy_release_efficiency", "viscous_loss_scale", "wall_heat_scale")


@pytest.fixture(scope="module")
def benches() -> dict[str, tuple[Reconciled, Fit]]:
    found = {name: reconcile(read_readings(demo_path(name))) for name in demo_names()}
    return {name: (one, calibrate(one)) for name, one in found.items()}


def test_only_what_the_readings_speak_of_is_fitted(benches: dict[str, tuple[Reconciled, Fit]]) -> None:
    for name in ("alkaline_stack", "membrane_stack", "thin_plates"):
        assert benches[name][1].names[:4] == CELL
        assert not set(ENGINE) & set(benches[name][1].names)
    assert benches["vacuum_engine"][1].names[:3] == ENGINE
    assert not set(CELL) & set(benches["vacuum_engine"][1].names)
    assert benches["whole_chain"][1].names[:7] == (*CELL, *ENGINE)


def test_fits_are_finite_ordered_and_the_same_twice(benches: dict[str, tuple[Reconciled, Fit]]) -> None:
    for found, fit in benches.values():
        assert np.isfinite(fit.values).all()
        assert np.isfinite(fit.covariance).all()
        assert (fit.low <= fit.values).all()
        assert (fit.values <= fit.high).all()
        again = calibrate(found)
        assert np.array_equal(again.values, fit.values)
    eigenvalues = np.linalg.eigvalsh(benches["whole_chain"][1].covariance)
    assert eigenvalues.min() > -1e-9 * eigenvalues.max()


def test_losses_balance_in_every_stream(benches: dict[str, tuple[Reconciled, Fit]]) -> None:
    for name, (found, fit) in benches.items():
        flows = losses(found, fit)
        assert flows, name
        assert min(flow.power for flow in flows) >= -1e-9, name
        into, out = ({} for _ in range(2))  # type: ignore[var-annotated]
        for flow in flows:
            out[flow.begins] = out.get(flow.begins, 0.0) + flow.power
            into[flow.ends] = into.get(flow.ends, 0.0) + flow.power
        supply = out.pop(SUPPLY if SUPPLY in out else GAS_SUPPLY)
        for stream, power in out.items():
            assert into[stream] == pytest.approx(power, rel=1e-9, abs=1e-9 * supply), (name, stream)
        ends = sum(power for stream, power in into.items() if stream in (AWAY, JET)) + sum(
            power for stream, power in into.items() if stream not in (AWAY, JET) and stream not in out
        )
        assert ends == pytest.approx(supply, rel=1e-9), name


def test_an_impossible_thrust_has_no_jet(benches: dict[str, tuple[Reconciled, Fit]]) -> None:
    found, fit = benches["sea_level_engine"]
    names = [flow.name for flow in losses(found, fit)]
    assert JET not in names
    assert any("cannot be" in name for name in names)
    assert "thrust_coefficient_efficiency" not in fit.names
    assert not fit.informed[fit.names.index("viscous_loss_scale")]
    assert any("nothing was fitted" in sentence for sentence in fit.words)
    found, fit = benches["whole_chain"]
    assert JET in [flow.name for flow in losses(found, fit)]


def test_a_calibration_is_made_and_read_back(benches: dict[str, tuple[Reconciled, Fit]]) -> None:
    for name in ("whole_chain", "thin_plates", "vacuum_engine"):
        found, fit = benches[name]
        made = calibration_of(found.readings, fit, [], date="2026-01-01", version="0")
        again = parse_calibration(calibration_text(made))
        assert again.values == made.values
        assert again.invented
        assert set(made.values) <= {*CELL, *ENGINE}
        assert made.cell_kind == {"whole_chain": "alkaline", "thin_plates": "common_duct"}.get(name, "")
        assert made.rules


def test_readings_of_neither_cell_nor_engine_make_no_calibration() -> None:
    readings = parse_readings("time,current\ns,A\n0,1\n1,1.1\n2,1\n", "invented.csv")
    found = reconcile(readings)
    fit = calibrate(found)
    assert not set(fit.names) & {*CELL, *ENGINE}
    with pytest.raises(CalibrationError, match="a cell needs current"):
        calibration_of(readings, fit, [])


SMALL = {
    "one point": "# cells_in_series = 1\n# electrode_area = 50 cm2\ncurrent,stack_voltage\nA,V\n10,2.0\n",
    "no current at first": "# cells_in_series = 2\n# electrode_area = 50 cm2\ncurrent,stack_voltage\nA,V\n"
    "0,2.9\n0,2.9\n1,3.2\n2,3.3\n3,3.4\n",
    "steam": "# cell_kind = solid_oxide\n# cells_in_series = 10\n# electrode_area = 80 cm2\n"
    "# cell_temperature = 800 degC\n"
    "current,stack_voltage,gas_flow\nA,V,L/min\n10,11,0.7\n20,12,1.4\n40,13.5,2.8\n",
    "thrust and flow": "thrust,mass_flow\nN,g/s\n1,0.3\n1.1,0.32\n1.2,0.33\n",
    "cold": "# lit = 0\n# throat_diameter = 1 mm\n# ambient_pressure = 0.001 bar\nchamber_pressure,mass_flow,thrust\n"
    "bar,mg/s,mN\n1,100,60\n1.1,110,66\n1.2,120,72\n",
    "power and gas": "supply_power,gas_flow\nW,L/min\n100,0.4\n100,0.41\n101,0.39\n",
}
"""A few readings of few channels; all invented."""


@pytest.mark.parametrize("name", SMALL)
def test_few_readings_of_few_channels_go_all_the_way(name: str) -> None:
    found = reconcile(parse_readings(SMALL[name], "invented.csv"))
    assert len(check(found)) == len(check(reconcile(read_readings(demo_path("thin_plates")))))
    fit = calibrate(found)
    assert np.isfinite(fit.values).all()
    assert all(np.isfinite(flow.power) and flow.power > -1e-9 for flow in losses(found, fit))
    assert all("nan" not in "".join(fact.cells()) for fact in summary(found))


def linear(spread: float, shared: float) -> Problem:
    """Two numbers of a straight line, with noise and an error that all readings share."""
    place = np.linspace(0.0, 1.0, 12)
    return Problem(
        names=("cell_ohmic_factor", "cell_activation_factor"),
        observed=1.1 + 0.9 * place,
        variance=np.full(place.size, spread**2),
        shared=np.full((place.size, 1), shared),
        model=lambda p: p[:, :1] + p[:, 1:] * place,
        before=np.ones(2), width=np.full(2, 50.0), low=np.full(2, -100.0), high=np.full(2, 100.0),
    )  # fmt: skip


def test_posterior_of_a_straight_line_is_the_closed_form() -> None:
    problem = linear(0.05, 0.2)
    place = np.linspace(0.0, 1.0, 12)
    design = np.stack([np.ones(12), place], axis=1)
    spread = 0.05**2 * np.eye(12) + 0.2**2 * np.ones((12, 12))
    exact = np.linalg.inv(design.T @ np.linalg.inv(spread) @ design)
    found = posterior(problem)
    assert found.mean == pytest.approx([1.1, 0.9], abs=0.02)
    assert np.sqrt(np.diag(np.cov(found.draws.T))) == pytest.approx(np.sqrt(np.diag(exact)), rel=0.06)


def test_an_error_that_is_shared_does_not_average_out() -> None:
    assert posterior(linear(0.05, 0.2)).draws[:, 0].std() > 0.19
    assert posterior(linear(0.05, 1e-9)).draws[:, 0].std() < 0.04


def test_bounds_hold_and_cut_the_prior() -> None:
    low, high = np.array([0.0]), np.array([1.0])
    _, width, cut = prior(("cell_gas_loss",), low, high)
    assert 0.0 < cut[0] < width[0]
    one = Problem(
        ("cell_gas_loss",), np.array([-0.5]), np.array([0.01]), np.zeros((1, 1)), lambda p: p, np.array([0.02]),
        np.array([0.06]), low, high,
    )  # fmt: skip
    draws = posterior(one).draws
    assert draws.min() >= 0.0
    assert draws.max() <= 1.0
