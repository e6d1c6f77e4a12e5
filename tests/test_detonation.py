"""Limits and properties of detonation, and another program that computes the same."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.physics import combustion, detonation

ratios = st.floats(1.0, 16.0)
pressures = st.floats(1e4, 3e6)
temperatures = st.floats(200.0, 500.0)
humidities = st.floats(0.0, 0.3)
few = settings(max_examples=30, deadline=None)
WHOLE = 7.936682


@few
@given(ratios, pressures, temperatures, humidities)
def test_mass_momentum_and_sonic_speed_hold_across_the_wave(
    ratio: float, pressure: float, temperature: float, humidity: float
) -> None:
    """Momentum with the gas leaving at its own sound speed: p2/p1 - 1 from the density ratio alone."""
    place = (ratio, pressure, temperature, humidity)
    dense, exponent = (
        float(f(*place)) for f in (detonation.detonation_density_ratio, detonation.detonation_exponent)
    )
    rise = float(detonation.detonation_pressure_ratio(*place))
    assert rise * (1.0 - exponent * (dense - 1.0)) == pytest.approx(1.0, abs=0.03)
    speed = float(detonation.detonation_speed(*place))
    density = float(detonation.detonable_density_kernel(*place))
    sound_squared = exponent * rise * pressure / (dense * density)
    assert speed == pytest.approx(dense * math.sqrt(sound_squared), rel=1e-3)


@few
@given(ratios, pressures, temperatures, humidities)
def test_gas_behind_the_wave_is_an_ideal_gas(
    ratio: float, pressure: float, temperature: float, humidity: float
) -> None:
    place = (ratio, pressure, temperature, humidity)
    density = float(detonation.detonable_density_kernel(*place)) * float(
        detonation.detonation_density_ratio(*place)
    )
    molar = float(detonation.detonation_molar_mass(*place))
    behind = density * value("gas_constant") * float(detonation.detonation_temperature(*place)) / molar
    assert behind == pytest.approx(pressure * float(detonation.detonation_pressure_ratio(*place)), rel=1e-3)


@few
@given(ratios, pressures, temperatures, humidities)
def test_a_wave_is_hotter_and_harder_than_burning_in_a_vessel(
    ratio: float, pressure: float, temperature: float, humidity: float
) -> None:
    place = (ratio, pressure, temperature, humidity)
    assert detonation.detonation_temperature(*place) > detonation.explosion_temperature(*place)
    rise, burst = detonation.detonation_pressure_ratio(*place), detonation.explosion_pressure_ratio(*place)
    assert 2.0 < float(rise - 1.0) / float(burst - 1.0) < 2.3  # exactly 2 for a perfect gas and a strong wave


@few
@given(ratios, pressures, temperatures, st.floats(0.0, 0.25))
def test_vapour_slows_the_wave(ratio: float, pressure: float, temperature: float, humidity: float) -> None:
    dry = detonation.detonation_speed(ratio, pressure, temperature, humidity)
    assert detonation.detonation_speed(ratio, pressure, temperature, humidity + 0.05) < dry


@few
@given(pressures, temperatures)
def test_hydrogen_makes_the_wave_fast(pressure: float, temperature: float) -> None:
    speeds = detonation.detonation_speed([2.0, 4.0, WHOLE, 12.0], pressure, temperature)
    assert np.all(np.diff(speeds) < 0.0)


@few
@given(ratios, pressures, temperatures, st.floats(0.0, 0.2))
def test_a_pulse_gives_less_than_steady_burning(
    ratio: float, pressure: float, temperature: float, humidity: float
) -> None:
    """One cycle from the pressure of its surroundings, beside a vacuum nozzle of area ratio 50."""
    place = (ratio, pressure, temperature, humidity)
    impulse = float(detonation.pulsed_detonation_specific_impulse(*place))
    assert 60.0 < impulse < 350.0
    steady = combustion.specific_impulse_vacuum(ratio, max(pressure, 5e4), 50.0, "frozen", humidity)
    assert impulse < float(steady)


@few
@given(pressures, temperatures)
def test_impulse_of_a_pulse_follows_the_charge(pressure: float, temperature: float) -> None:
    """Impulse per volume is impulse per weight times the density of the charge."""
    place = (WHOLE, pressure, temperature)
    density = float(detonation.detonable_density_kernel(*place, 0.0))
    weight = density * value("standard_gravity")
    by_volume = float(detonation.pulsed_detonation_impulse(*place))
    assert by_volume == pytest.approx(
        weight * float(detonation.pulsed_detonation_specific_impulse(*place)), rel=1e-9
    )
    plateau = float(detonation.plateau_pressure(*place))
    assert 1.0 < plateau / pressure < float(detonation.detonation_pressure_ratio(*place))


def test_plateau_of_a_gas_at_rest_behind_the_wave_is_the_wave_itself() -> None:
    """Closed form: with a density ratio of 1 the gas is not moved and nothing expands."""
    assert detonation.plateau_pressure_kernel(2000.0, 1e6, 1.0, 1.2) == pytest.approx(1e6)
    moving = detonation.plateau_pressure_kernel(2000.0, 1e6, 1.8, 1.4)
    sound = 2000.0 / 1.8
    expected = 1e6 * ((1.2 * sound - 0.2 * 2000.0) / sound) ** 7.0
    assert moving == pytest.approx(expected)


@few
@given(st.floats(1e4, 1.5e6))
def test_cells_narrow_with_pressure(pressure: float) -> None:
    wide, narrow = detonation.detonation_cell_width([pressure, 2.0 * pressure])
    assert 1.5 < wide / narrow < 2.5
    assert 0.93e-3 < float(detonation.detonation_cell_width(101325.0)) < 2.1e-3
    with pytest.raises(DomainError, match="initial pressure 1 Pa lies outside"):
        detonation.detonation_cell_width(1.0)


@few
@given(st.floats(1e-6, 10.0), st.floats(50.0, 500.0))
def test_rotating_use_claims_no_gain_and_knows_its_least_flow(flow: float, impulse: float) -> None:
    assert float(detonation.rotating_detonation_specific_impulse(impulse)) <= impulse
    margin = float(detonation.rotating_detonation_margin(flow))
    assert (margin >= 0.0) == (flow >= value("rotating_least_flow", "detonation_values.csv"))
    assert math.isfinite(margin)


def test_arrays_equal_their_elements() -> None:
    draw = np.random.default_rng(3)
    ratio, pressure = draw.uniform(1, 16, (3, 1)), draw.uniform(1e4, 3e6, 4)
    for face in (detonation.detonation_speed, detonation.pulsed_detonation_impulse):
        together = face(ratio, pressure, 300.0, 0.1)
        assert together.shape == (3, 4)
        for row in range(3):
            for place in range(4):
                assert face(ratio[row, 0], pressure[place], 300.0, 0.1) == together[row, place]


def test_kernels_stay_finite_anywhere() -> None:
    tables = detonation.detonation_tables()
    for wild in (-1e30, -1.0, 0.0, 1e-30, 1e30):
        assert all(map(math.isfinite, detonation.pulsed_detonation_kernel(tables, wild, wild, wild, wild)))
        assert math.isfinite(detonation.cell_width_kernel(wild))
        assert math.isfinite(detonation.plateau_pressure_kernel(wild, 1e5, wild, wild))


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((0.5, 1e5, 300.0), "mixture ratio 0.5 lies outside 1 to 16"),
        ((8.0, 1e3, 300.0), "initial pressure 1000 Pa lies outside 10000 to 3e"),
        ((8.0, 1e5, 900.0), "initial temperature 900 K lies outside 200 to 500 K"),
        ((8.0, 1e5, 300.0, 0.5), "feed humidity 0.5 lies outside 0 to 0.3"),
        ((8.0, float("nan"), 300.0), "initial pressure nan"),
    ],
)
def test_outside_the_table_is_refused_in_words(place: tuple[float, ...], words: str) -> None:
    with pytest.raises(DomainError, match=words):
        detonation.detonation_speed(*place)


@pytest.mark.parametrize("ratio", [3.0, 6.0, 7.94, 12.0])
@pytest.mark.parametrize("pressure", [0.2, 1.0, 10.0])
def test_waves_agree_with_the_program_of_nasa(ratio: float, pressure: float) -> None:
    cea = pytest.importorskip("cea", reason="NASA's chemical equilibrium program is not installed")
    names = ["H2", "O2"]
    reactants = cea.Mixture(names)
    solver = cea.DetonationSolver(cea.Mixture(names, products_from_reactants=True), reactants=reactants)
    solution = cea.DetonationSolution(solver)
    weights = reactants.of_ratio_to_weights(np.array([0.0, 1.0]), np.array([1.0, 0.0]), ratio)
    solver.solve(solution, weights, 350.0, pressure)
    place = (ratio, pressure * 1e5, 350.0)
    assert float(detonation.detonation_speed(*place)) == pytest.approx(solution.velocity, rel=1e-3)
    assert float(detonation.detonation_temperature(*place)) == pytest.approx(solution.T, rel=1.5e-3)
    assert float(detonation.detonation_pressure_ratio(*place)) == pytest.approx(solution.P_P1, rel=1e-3)
    assert float(detonation.detonation_density_ratio(*place)) == pytest.approx(solution.rho_rho1, rel=1e-3)
    assert float(detonation.detonation_exponent(*place)) == pytest.approx(solution.gamma_s, rel=1e-3)


def test_a_tube_is_wider_at_low_pressure_and_holds_gas_in_proportion() -> None:
    pressure = np.geomspace(1e4, 3e6, 9)
    least = detonation.least_tube_diameter(pressure)
    assert np.all(np.diff(least) < 0.0)
    np.testing.assert_allclose(
        least / detonation.detonation_cell_width(pressure),
        value("cells_across_tube", "detonation_values.csv"),
    )
    one = detonation.tube_charge(0.05, 0.5, WHOLE, 1e5, 293.15)
    np.testing.assert_allclose(detonation.tube_charge(0.1, 1.0, WHOLE, 2e5, 293.15), 16.0 * one)
    with pytest.raises(DomainError, match="diameter"):
        detonation.tube_charge(0.0, 0.5, WHOLE, 1e5, 293.15)
