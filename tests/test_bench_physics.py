"""Physics of a test stand: bounds never crossed, balances that close, both sides of choking, other chemistry."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.physics import bench, electrolysis
from tradespace.physics.combustion_table import WHOLE

AIR = 101325.0
FLOW = float(electrolysis.water_rate_of_power(5800.0, 0.41))
RATIOS = np.array([1.0, 2.0, 4.0, 6.0, WHOLE, 9.0, 12.0, 16.0])
THERMONEUTRAL = value("reaction_enthalpy_water") / (2.0 * value("faraday_constant"))


def test_flow_and_pressure_are_inverse_on_both_sides_of_choking() -> None:
    pressure = AIR * np.geomspace(1.0005, 20.0, 60)[:, None]
    gamma = np.array([1.1, 1.2, 1.4])
    flow = bench.throat_mass_flow(pressure, AIR, 1e-3, 0.9, gamma, 2000.0)
    back, choked = bench.chamber_pressure_of_flow(flow, AIR, 1e-3, 0.9, gamma, 2000.0)
    np.testing.assert_allclose(back, np.broadcast_to(pressure, back.shape), rtol=1e-9)
    np.testing.assert_array_equal(choked, pressure >= bench.choking_pressure(AIR, gamma))
    assert np.all(np.diff(flow, axis=0) > 0.0)


def test_flow_has_no_step_where_the_throat_begins_to_choke() -> None:
    onset = float(bench.choking_pressure(AIR, 1.2))
    below, above = bench.throat_mass_flow(onset * np.array([1 - 1e-7, 1 + 1e-7]), AIR, 1e-3, 1.0, 1.2, 2000.0)
    assert above == pytest.approx(below, rel=1e-6)
    assert bench.throat_mass_flow(AIR, AIR, 1e-3, 1.0, 1.2, 2000.0) == 0.0


def test_below_choking_the_choked_formula_misleads() -> None:
    found = []
    for pressure in (1.2 * AIR, 3.0 * AIR):
        flow = bench.throat_mass_flow(pressure, AIR, 1e-3, 0.9, 1.2, 2000.0)
        found.append(float(bench.measured_characteristic_velocity(pressure, 1e-3, 0.9, flow)))
    assert found[0] > 2200.0
    assert found[1] == pytest.approx(2000.0, rel=1e-12)


def test_burned_chamber_passes_its_own_flow() -> None:
    heat = np.array([0.0, 0.1, 0.3])[:, None]
    for kind in ("equilibrium", "frozen"):
        pressure, choked, velocity, gamma = bench.burned_chamber(
            FLOW * np.array([0.3, 1.0, 3.0]), AIR, 1.5e-3, 0.9, kind=kind, heat_loss=heat
        )
        flow = bench.throat_mass_flow(pressure, AIR, 1.5e-3, 0.9, gamma, velocity)
        np.testing.assert_allclose(
            flow, np.broadcast_to(FLOW * np.array([0.3, 1.0, 3.0]), flow.shape), rtol=1e-9
        )
        onset = bench.burned_choking_pressure(AIR, kind=kind, heat_loss=np.broadcast_to(heat, pressure.shape))
        np.testing.assert_array_equal(choked == 1.0, pressure >= onset)
        assert np.all(np.diff(pressure, axis=0) < 0.0)  # lost heat lowers it


def test_no_burned_thrust_crosses_the_bound_on_its_flow() -> None:
    around = np.array([0.0, 1.0, 1e3, AIR, 1e6])[:, None]
    for kind in ("equilibrium", "frozen"):
        thrust = bench.burned_thrust(FLOW, around, 5e-4, 0.9, RATIOS, kind=kind)
        bound = bench.flow_thrust_bound(FLOW, RATIOS)
        assert np.all(thrust <= bound * (1.0 + 1e-12))
        assert np.all(np.diff(thrust, axis=0) <= 0.0)
        assert np.all(thrust[3] < 0.8 * bound)
    assert np.all(bench.jet_speed_bound(RATIOS) < bench.condensing_jet_speed_bound(RATIOS))
    assert np.all(bench.unlit_jet_speed_bound(293.0, RATIOS) < 0.5 * bench.jet_speed_bound(RATIOS))


def test_a_newton_from_the_bench_engine_fails_both_bounds_the_one_at_sea_level_first() -> None:
    highest = max(
        float(bench.burned_thrust(FLOW, AIR, 1.5e-3, discharge, kind=kind))
        for discharge in (0.85, 1.0)
        for kind in ("equilibrium", "frozen")
    )
    assert highest < 0.245 < float(bench.flow_thrust_bound(FLOW)) < 1.0
    assert float(bench.energy_thrust_bound(FLOW, 5800.0, 0.41)) < 1.0


def test_worked_engines_follow_from_power_to_thrust() -> None:
    for power, efficiency, diameter, thrust, tolerance in (
        (20.0, 0.6, 2e-4, 2.1e-3, 0.02),
        (100.0, 0.7, 5e-4, 12.4e-3, 0.015),
    ):
        flow = electrolysis.water_rate_of_power(power, efficiency)
        pressure, choked, *_ = bench.burned_chamber(
            flow, 0.0, diameter, characteristic_velocity_efficiency=0.9
        )
        found = 1.5 * pressure * 0.25 * math.pi * diameter**2
        assert found == pytest.approx(thrust, rel=tolerance)
        assert choked == 1.0
        assert found < bench.power_thrust_bound(power, efficiency)


def test_practical_thrust_lies_below_the_bound_and_grows_with_power() -> None:
    power = np.array([1.0, 10.0, 1000.0])
    low, high = bench.practical_thrust_ceiling(power, 0.7)
    assert np.all(low < high)
    assert np.all(high < bench.power_thrust_bound(power, 0.7))
    assert np.all(np.diff(low) > 0.0)
    assert np.all(
        (low < bench.steady_thrust(power, 0.7, 360.0)) & (bench.steady_thrust(power, 0.7, 360.0) < high)
    )


def test_built_nozzle_never_beats_the_adapted_one_at_sea_level() -> None:
    pressure = AIR * np.array([1.2, 1.6, 2.5, 6.0, 20.0])[:, None]
    area = np.array([1.0, 1.5, 4.0, 30.0])
    thrust = bench.ground_thrust(pressure, AIR, 1e-3, area, 0.9, 1.2)
    flow = bench.throat_mass_flow(pressure, AIR, 1e-3, 0.9, 1.2, 2000.0)
    best = flow * bench.expanded_jet_speed(pressure, AIR, 1.2, 2000.0)
    assert np.all(thrust <= best * (1.0 + 1e-9))
    np.testing.assert_allclose(thrust[:2], np.broadcast_to(best[:2], thrust[:2].shape), rtol=1e-9)


def test_metered_gas_is_dry_gas_and_vapour() -> None:
    temperature = np.array([278.15, 298.15, 333.15, 358.15])
    amount = AIR * 1e-6 / (value("gas_constant") * temperature)
    dry = bench.dry_gas_rate(1e-6, temperature, AIR, 1.0)
    vapour = bench.vapour_rate(1e-6, temperature, AIR, 1.0) / value("molar_mass_water")
    np.testing.assert_allclose(dry + vapour, amount, rtol=1e-12)
    np.testing.assert_allclose(1.0 - dry / amount, bench.vapour_correction(temperature, AIR), rtol=1e-9)
    np.testing.assert_allclose(bench.dry_gas_rate(1e-6, temperature, AIR, 0.0), amount, rtol=1e-12)
    with pytest.raises(DomainError, match="meter pressure 1000 Pa must be above the vapour pressure"):
        bench.dry_gas_rate(1e-6, 333.15, 1000.0)


def test_three_ways_to_the_efficiency_agree_and_heat_closes() -> None:
    current, cells, volts, share = 12.0, 6, np.array([1.3, 1.7, 2.4]), 0.93
    power = current * cells * volts
    water = electrolysis.water_split_rate(current, cells, share)
    hydrogen = water / value("molar_mass_water")
    by_flow = bench.stored_power_share(hydrogen, power)
    by_weight = bench.split_power_share(water, power)
    by_charge = bench.faradaic_share_of_rate(hydrogen, current, cells) * THERMONEUTRAL / volts
    np.testing.assert_allclose(by_weight, by_flow, rtol=1e-12)
    np.testing.assert_allclose(by_charge, by_flow, rtol=1e-12)
    np.testing.assert_allclose(bench.heat_balance(power, hydrogen), power * (1.0 - by_flow), rtol=1e-12)
    gases = electrolysis.hydrogen_rate(current, cells, share) + electrolysis.oxygen_rate(
        current, cells, share
    )
    assert gases == pytest.approx(float(water), rel=1e-6)
    whole = water / (share * value("molar_mass_water"))
    assert np.array_equal(np.sign(bench.heat_balance(power, whole)), [-1.0, 1.0, 1.0])


def test_no_gas_beyond_the_second_law() -> None:
    warm = np.array([283.15, 298.15, 333.15, 363.15])
    most = bench.absolute_hydrogen_ceiling(1.0, warm, 5e5)
    np.testing.assert_allclose(
        2.0 * value("faraday_constant") * most * electrolysis.reversible_voltage(warm, 5e5), 1.0, rtol=1e-12
    )
    assert np.all(np.diff(most) > 0.0)
    assert np.all(most > bench.hydrogen_ceiling(1.0))


def test_pulse_follows_the_mass_balance_of_the_volume() -> None:
    volume, velocity, temperature, mass, diameter = 1e-4, 658.0, 293.0, 0.01201, 1e-3
    constant = float(bench.blow_down_time(volume, velocity, temperature, mass, diameter, 0.9))
    inflow, start, step, pressure, lost = 3e-4, 8e5, constant / 500.0, 8e5, 0.0
    per_mass = value("gas_constant") * temperature / (mass * volume)
    for _ in range(1000):
        half = float(bench.throat_mass_flow(pressure, 0.0, diameter, 0.9, 1.4, velocity))
        middle = pressure + 0.5 * step * per_mass * (inflow - half)
        out = float(bench.throat_mass_flow(middle, 0.0, diameter, 0.9, 1.4, velocity))
        pressure += step * per_mass * (inflow - out)
        lost += step * (out - inflow)
    end = float(bench.chamber_pressure_of_flow(inflow, 0.0, diameter, 0.9, 1.4, velocity)[0])
    assert bench.pulse_pressure(2.0 * constant, start, end, constant) == pytest.approx(pressure, rel=1e-5)
    assert bench.stored_gas_mass(start - pressure, volume, temperature, mass) == pytest.approx(lost, rel=1e-9)


def test_a_burst_may_exceed_the_steady_bound_only_by_what_was_stored() -> None:
    times = np.array([0.1, 1.0, 1e3, 1e9])
    burst = bench.burst_thrust_bound(times, 1e-5, 1e5, 1e-3)
    steady = bench.flow_thrust_bound(1e-5)
    extra = bench.stored_gas_mass(1e5, 1e-3, 298.15, 1.5 / (1.0 / 0.01201 * 1.5))
    np.testing.assert_allclose((burst - steady) * times, float(extra * bench.jet_speed_bound()), rtol=1e-3)
    assert burst[-1] == pytest.approx(float(steady), rel=1e-6)


def test_uncertainty_is_that_of_small_changes() -> None:
    reading = {
        "chamber_pressure": 2e5,
        "throat_diameter": 1e-3,
        "discharge_coefficient": 0.9,
        "mass_flow": 1e-4,
    }
    errors = {"chamber_pressure": 0.02, "throat_diameter": 0.01, "mass_flow": 0.03}
    middle = float(bench.measured_characteristic_velocity(**reading))
    moved = []
    for name, error in errors.items():
        more = float(
            bench.measured_characteristic_velocity(**{**reading, name: reading[name] * (1.0 + 1e-6)})
        )
        moved.append(error * (more / middle - 1.0) / 1e-6)
    found = float(bench.characteristic_velocity_uncertainty(0.02, 0.01, 0.03))
    assert found == pytest.approx(math.hypot(*moved), rel=1e-4)


@pytest.fixture(scope="module")
def gas() -> Any:
    cantera = pytest.importorskip("cantera")
    species = [one for one in cantera.Species.list_from_file("nasa_gas.yaml") if one.name in SPECIES]
    return cantera.Solution(thermo="ideal-gas", species=species)


SPECIES = {"H2", "O2", "H2O", "OH", "H", "O", "HO2", "H2O2"}


@pytest.mark.parametrize("kind", ["equilibrium", "frozen"])
def test_burned_flow_below_choking_agrees_with_equilibrium_chemistry(gas: Any, kind: str) -> None:
    pressure, choked, velocity, gamma = bench.burned_chamber(0.8 * FLOW, AIR, 1.5e-3, kind=kind)
    assert choked == 0.0
    gas.TPX = 298.15, float(pressure), "H2:2, O2:1"
    gas.equilibrate("HP")
    enthalpy = gas.enthalpy_mass
    gas.SP = gas.entropy_mass, AIR
    if kind == "equilibrium":
        gas.equilibrate("SP")
    speed = math.sqrt(2.0 * (enthalpy - gas.enthalpy_mass))
    flow = gas.density * speed * 0.25 * math.pi * 1.5e-3**2
    assert bench.expanded_jet_speed(pressure, AIR, gamma, velocity) == pytest.approx(speed, rel=2e-3)
    assert flow == pytest.approx(0.8 * FLOW, rel=2e-3)


def test_fastest_jet_agrees_with_the_enthalpies_of_another_library(gas: Any) -> None:
    gas.TPX = 298.15, 1e5, "H2:2, O2:1"
    heat = gas.enthalpy_mass
    unlit = gas.cp_mass / gas.cv_mass
    gas.TPX = 200.0, 1e5, "H2O:1"
    cold = (
        4.0 * value("gas_constant") * 200.0 / value("molar_mass_water")
    )  # rotation and flight, no vibration
    bound = math.sqrt(2.0 * (heat - gas.enthalpy_mass + cold))
    assert bench.jet_speed_bound() == pytest.approx(bound, rel=2e-4)
    assert value("unlit_heat_capacity_ratio", "bench_physics_values.csv") == pytest.approx(unlit, rel=2e-3)


WILD = np.array([-1e12, -1.0, 0.0, 1e-12, 0.7, 3.0, 1e5, 1e12])


@pytest.mark.parametrize("name", [name for name in bench.__all__ if name.endswith("_kernel")])
def test_kernels_do_no_harm_whatever_they_are_given(name: str) -> None:
    kernel = getattr(bench, name)
    plain = getattr(kernel, "py_func", kernel)
    tables = {"tables": bench.burned_tables("frozen")}
    names = plain.__code__.co_varnames[: plain.__code__.co_argcount]
    numbers = np.random.default_rng(8).choice(WILD, size=(60, len(names)))
    for row in numbers:
        call = [tables.get(one, float(number)) for one, number in zip(names, row, strict=True)]
        assert np.all(np.isfinite(plain(*call))), (name, row)
