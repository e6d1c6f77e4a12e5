"""Reconciled facts: worked rows of the trade, ways that agree or not, uncertainties, any subset of channels, speed."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from bench_files import readings

from tradespace.bench.reconciling import measures, propagate, reconcile, summary
from tradespace.bench.records import Reconciled
from tradespace.bench.slopes import running_slope
from tradespace.constants import value
from tradespace.physics.nozzle import discharge_coefficient
from tradespace.physics.water import saturation_pressure
from tradespace.units import to_si

FARADAY, GAS = value("faraday_constant"), value("gas_constant")
HYDROGEN, WATER = value("molar_mass_hydrogen"), value("molar_mass_water")
HEAT, GRAVITY = value("reaction_enthalpy_water"), value("standard_gravity")
ICE, ATMOSPHERE = 273.15, 101325.0
ANCHORS = {
    110.0: (360.0, 0.93),
    22.0: (345.0, 0.89),
    0.44: (330.0, 0.85),
}  # demonstrated engines (aerojet_ada236556)


def one(facts: Reconciled, name: str) -> float:
    return float(facts.column(name)[0])


@pytest.fixture(scope="module")
def anchors() -> Reconciled:
    force = np.array(list(ANCHORS))
    impulse = np.array([row[0] for row in ANCHORS.values()])
    throat = np.sqrt(force / (1.75 * 7e5 * np.pi / 4.0))
    return reconcile(
        readings(
            thrust=force, mass_flow=force / (impulse * GRAVITY), mixture_ratio=8.0, chamber_pressure=7e5,
            ambient_pressure=0.0, throat_diameter=throat, exit_diameter=throat * np.sqrt(30.0), feed_temperature=298.15,
        )
    )  # fmt: skip


def test_thrust_and_flow_of_known_engines_return_their_impulse_and_share(anchors: Reconciled) -> None:
    np.testing.assert_allclose(
        anchors.column("specific_impulse"), [row[0] for row in ANCHORS.values()], rtol=1e-9
    )
    np.testing.assert_allclose(
        anchors.column("ideal_specific_impulse"), 387.1, atol=0.5
    )  # nasa_cea_2024, frozen
    np.testing.assert_allclose(
        anchors.column("performance_factor"), [row[1] for row in ANCHORS.values()], atol=0.01
    )
    product = anchors.column("characteristic_velocity_efficiency") * anchors.column(
        "thrust_coefficient_efficiency"
    )
    np.testing.assert_allclose(product, anchors.column("performance_factor"), rtol=1e-9)


def test_a_cubesat_bench_returns_its_figures() -> None:
    facts = reconcile(readings(supply_power=20.0, thrust=1.25e-3, mass_flow=0.689e-6))
    assert one(facts, "specific_impulse") == pytest.approx(185.0, rel=5e-3)  # common practice, no source
    assert one(facts, "overall_efficiency") == pytest.approx(0.547, rel=5e-3)


def test_a_single_cell_at_thirty_volts() -> None:
    facts = reconcile(
        readings(
            current=5.0, stack_voltage=30.0, cells_in_series=1.0, cell_temperature=298.15, cell_pressure=1e5
        )
    )
    assert one(facts, "reversible_efficiency") == pytest.approx(0.041, abs=5e-4)  # common practice, no source
    assert one(facts, "voltage_efficiency") == pytest.approx(0.049, abs=5e-4)
    assert "faradaic_efficiency" not in facts.columns, "nothing but the current was read"


def cell(**more: object) -> dict[str, object]:
    """A stack of ten cells at 20 A that loses two per cent of its gas, all ways consistent."""
    moles = 0.98 * 10.0 * 20.0 / (2.0 * FARADAY)
    wet = float(saturation_pressure(298.15))
    given: dict[str, object] = {
        "current": 20.0, "stack_voltage": 19.0, "cells_in_series": 10.0, "electrode_area": 0.01,
        "cell_temperature": 298.15, "cell_pressure": ATMOSPHERE, "meter_temperature": 298.15,
        "meter_pressure": ATMOSPHERE, "supply_power": 385.0,
        "gas_flow": moles * GAS * 298.15 / (ATMOSPHERE - wet),
        "water_rate": moles * WATER * (1.0 + 1.5 * wet / (ATMOSPHERE - wet)),
    }  # fmt: skip
    return given | more


def test_three_ways_agree_and_the_vapour_is_taken_off() -> None:
    facts = reconcile(readings({"gas_is": "wet", "electrolyte": "sodium_bicarbonate"}, **cell()))
    made = 0.98 * 200.0 / (2.0 * FARADAY) * HYDROGEN
    for way in ("hydrogen_rate_flow", "hydrogen_rate_weight", "hydrogen_rate"):
        assert one(facts, way) == pytest.approx(made, rel=1e-9)
    assert one(facts, "faradaic_efficiency") == pytest.approx(0.98)
    product = 0.98 * one(facts, "voltage_efficiency")
    assert one(facts, "stack_efficiency") == pytest.approx(product)
    assert one(facts, "stack_efficiency") / one(facts, "stack_efficiency_lower") == pytest.approx(
        1.182, abs=1e-3
    )
    assert one(facts, "wiring_loss") == pytest.approx(5.0)
    assert facts.chi_square[0] == pytest.approx(0.0, abs=1e-12)
    assert facts.redundancy[0] == 1.0


@pytest.mark.parametrize(("celsius", "share"), [(25.0, 0.03), (60.0, 0.20)])
def test_a_wet_meter_counts_vapour(celsius: float, share: float) -> None:
    given = {
        "gas_flow": 1e-5,
        "meter_temperature": ICE + celsius,
        "meter_pressure": ATMOSPHERE,
        "supply_power": 300.0,
    }
    wet, dry = (
        one(reconcile(readings({"gas_is": state}, **given)), "hydrogen_rate") for state in ("wet", "dry")
    )
    assert 1.0 - wet / dry == pytest.approx(share, abs=0.005)  # wagner_2002


def test_normal_volumes_need_no_meter_temperature() -> None:
    rate = to_si(6.9691, "mL/min")  # per ampere and cell at 0 degC and 1 atm (codata_2018)
    facts = reconcile(readings({"volumes_at": "normal"}, current=1.0, cells_in_series=1.0, gas_flow=rate))
    assert one(facts, "faradaic_efficiency") == pytest.approx(1.0, abs=2e-5)


def test_mixed_gas_is_two_thirds_hydrogen() -> None:
    mixed = reconcile(readings({"gas_measured": "mixed"}, gas_flow=1.5e-5, supply_power=300.0))
    alone = reconcile(readings(gas_flow=1e-5, supply_power=300.0))
    assert one(mixed, "hydrogen_rate") == pytest.approx(one(alone, "hydrogen_rate"))


def test_the_charge_bounds_the_rate_from_above() -> None:
    given = cell()
    over = 1.10 / 0.98
    facts = reconcile(
        readings({"gas_is": "wet", "electrolyte": "sodium_bicarbonate"}, share=0.01, **given | {
        "gas_flow": given["gas_flow"] * over, "water_rate": given["water_rate"] * over})
    )  # fmt: skip
    found, charge = one(facts, "hydrogen_rate"), one(facts, "hydrogen_rate_charge")
    assert charge < found < one(facts, "hydrogen_rate_flow")
    assert facts.redundancy[0] == 2.0
    assert facts.chi_square[0] > 10.0


def test_more_ways_and_sharper_ones_pull_harder_and_narrow() -> None:
    given = cell()
    words = {"gas_is": "wet", "electrolyte": "sodium_bicarbonate"}
    off = given | {"gas_flow": 0.97 * given["gas_flow"]}  # type: ignore[operator]
    sharp = reconcile(readings(words, wide={"gas_flow": 1e-2}, **off))
    blunt = reconcile(readings(words, wide={"gas_flow": 1e-4}, **off))
    alone = reconcile(
        readings(words, **{name: column for name, column in given.items() if name != "water_rate"})
    )
    assert one(blunt, "hydrogen_rate") < one(sharp, "hydrogen_rate")
    both = reconcile(readings(words, **given))
    assert both.deviation("hydrogen_rate")[0] < alone.deviation("hydrogen_rate")[0]


def test_uncertainty_of_the_characteristic_velocity_follows_the_formula() -> None:
    facts = reconcile(
        readings(
            chamber_pressure=2e5, ambient_pressure=50.0, throat_diameter=0.5e-3, mass_flow=1e-5,
            discharge_coefficient=0.9,
            share=0.0, wide={"chamber_pressure": 0.01, "throat_diameter": 0.02, "mass_flow": 0.015},
        )
    )  # fmt: skip
    share = facts.deviation("characteristic_velocity")[0] / one(facts, "characteristic_velocity")
    wanted = np.sqrt(2.0) * np.sqrt(0.01**2 + (2 * 0.02) ** 2 + 0.015**2)  # closed form, both parts alike
    assert share == pytest.approx(wanted, rel=0.01)


def test_shared_errors_do_not_average_out() -> None:
    few, many = (
        summary(reconcile(readings(thrust=np.full(size, 0.1), mass_flow=3e-5)))["specific_impulse"]
        for size in (4, 400)
    )
    alone = 2.0 * np.sqrt(2.0) * 1e-3
    assert many.expanded / many.value == pytest.approx(alone * np.sqrt(1.0 + 1.0 / 400), rel=0.01)
    assert few.expanded / few.value == pytest.approx(alone * np.sqrt(1.25), rel=0.01)


def test_linear_propagation_matches_draws() -> None:
    read = readings({"gas_is": "wet"}, share=0.01, **cell())
    facts = reconcile(read)
    rng = np.random.default_rng(3)
    size = 4000
    drawn = {
        name: column[0] + np.hypot(read.random[name][0], read.systematic[name][0]) * rng.standard_normal(size)
        for name, column in read.columns.items()
    }
    thrown = reconcile(readings({"gas_is": "wet"}, share=0.01, **drawn))
    for name in ("voltage_efficiency", "cell_voltage", "hydrogen_rate_flow", "hydrogen_rate_weight"):
        assert np.std(thrown.column(name)) == pytest.approx(facts.deviation(name)[0], rel=0.06)


def test_lever_and_tare_make_the_thrust() -> None:
    facts = reconcile(readings(balance_force=0.170, tare_force=0.010, lever_ratio=1.6, mass_flow=4e-5))
    assert one(facts, "thrust") == pytest.approx(0.1)


def test_below_choking_the_coefficients_of_a_vacuum_stay_unknown() -> None:
    facts = reconcile(
        readings(
            chamber_pressure=1.6e5,
            ambient_pressure=ATMOSPHERE,
            throat_diameter=1.5e-3,
            mass_flow=1.4e-4,
            thrust=0.15,
        )
    )
    assert one(facts, "choked") == 0.0
    for name in (
        "characteristic_velocity",
        "thrust_coefficient",
        "thrust_coefficient_efficiency",
        "performance_factor",
    ):
        assert name not in facts.columns
    assert 0.8 < one(facts, "flow_over_throat_flow") < 1.4
    assert one(facts, "specific_impulse") > 0.0


@pytest.mark.parametrize(
    ("power", "share", "diameter", "flow", "pressure", "force", "bound"),
    [
        (20.0, 0.6, 0.2e-3, 0.76e-6, 0.45e5, 2.1e-3, 4.0e-3),
        (100.0, 0.7, 0.5e-3, 4.4e-6, 0.42e5, 12.4e-3, 23.3e-3),
    ],
)  # worked rows, computed: vacuum, delivered characteristic velocity 0.9, thrust coefficient 1.5
def test_worked_rows_come_back(
    power: float, share: float, diameter: float, flow: float, pressure: float, force: float, bound: float
) -> None:
    moles = share * power / HEAT
    facts = reconcile(
        readings(
            supply_power=power, gas_flow=moles * GAS * 298.15 / 1e5, meter_temperature=298.15, meter_pressure=1e5,
            throat_diameter=diameter, discharge_coefficient=1.0, chamber_pressure=pressure, ambient_pressure=0.0,
            thrust=force, feed_temperature=298.15,
        )
    )  # fmt: skip
    assert one(facts, "mass_flow") == pytest.approx(flow, rel=0.01)
    assert one(facts, "thrust_bound_flow") == pytest.approx(bound, rel=0.01)
    assert one(facts, "characteristic_velocity_efficiency") == pytest.approx(0.9, abs=0.05)
    assert one(facts, "thrust_coefficient") == pytest.approx(1.5, rel=0.02)


def test_the_reynolds_number_of_the_worked_throat() -> None:
    facts = reconcile(
        readings(mass_flow=4.4e-6, throat_diameter=0.5e-3, chamber_pressure=0.42e5, ambient_pressure=0.0)
    )
    assert one(facts, "reynolds_number") == pytest.approx(125.0, rel=0.15)  # with a viscosity of 9e-5 Pa s
    low, high = discharge_coefficient(one(facts, "reynolds_number"), 1.2, 2.0)[1:]
    assert low < one(facts, "discharge_coefficient") < high


def test_cold_gas_has_its_own_velocity() -> None:
    facts = reconcile(
        readings(lit=0.0, feed_temperature=293.0, mass_flow=4e-6, chamber_pressure=0.2e5,
        ambient_pressure=0.0, throat_diameter=0.5e-3)
    )  # fmt: skip
    assert one(facts, "ideal_characteristic_velocity") == pytest.approx(658.0, abs=1.0)  # naca_1135
    assert one(facts, "thrust_bound_flow") / one(facts, "mass_flow") == pytest.approx(1192.0, abs=1.0)


def test_the_slope_of_the_water_lost_shrugs_off_a_lump() -> None:
    time = np.arange(100) * 10.0
    total = 1e-6 * time
    total[40:43] += 5e-4
    slope, random, shared = running_slope(time, total, np.full(100, 2e-5), 1e-3 * total, np.full(100, 3.0))
    np.testing.assert_allclose(np.median(slope), 1e-6, rtol=0.02)
    assert np.median(shared) == pytest.approx(1e-9, rel=0.01)
    assert (random > 0.0).all()


def test_no_window_of_the_slope_crosses_a_step_of_the_current() -> None:
    time = np.arange(60) * 10.0
    current = np.repeat([2.0, 4.0, 6.0], 20)
    total = np.cumsum(1e-6 * current) * 10.0
    slope = running_slope(time, total, np.full(60, 1e-9), np.zeros(60), current)[0]
    middle = [slope[10], slope[30], slope[50]]
    np.testing.assert_allclose(middle, [2e-6, 4e-6, 6e-6], rtol=1e-6)


def test_calorimetry_of_a_cell_is_a_fourth_way() -> None:
    moles = 0.98 * 200.0 / (2.0 * FARADAY)
    given = {name: column for name, column in cell().items() if name not in ("gas_flow", "water_rate")}
    heat = 380.0 - moles * HEAT
    facts = reconcile(
        readings({"electrolyte": "sodium_bicarbonate"}, coolant_flow=5e-3,
        coolant_rise=0.85 * heat / (5e-3 * 4193.0), **given)
    )  # fmt: skip
    assert one(facts, "cooling") == pytest.approx(0.85 * heat, rel=1e-6)
    assert one(facts, "hydrogen_rate_heat") == pytest.approx(moles * HYDROGEN, rel=0.08)
    assert facts.deviation("hydrogen_rate_heat")[0] > 0.005 * one(facts, "hydrogen_rate_heat")


EVERY = cell() | {
    "thrust": 0.1, "mass_flow": 3.6e-5, "chamber_pressure": 2e5, "ambient_pressure": 100.0, "throat_diameter": 0.7e-3,
    "exit_diameter": 3e-3, "wall_heat": 30.0, "feed_temperature": 295.0, "oxygen_to_hydrogen": 0.5,
}  # fmt: skip


@pytest.mark.parametrize("dropped", EVERY)
def test_any_channel_may_be_missing(dropped: str) -> None:
    facts = reconcile(readings(**{name: column for name, column in EVERY.items() if name != dropped}))
    for name, column in facts.columns.items():
        assert np.isfinite(column).all(), name
        assert np.isfinite(facts.deviation(name)).all(), name
        assert (facts.deviation(name) >= facts.systematic[name] - 1e-300).all()


def test_single_missing_readings_leave_gaps_alone() -> None:
    thrust = np.array([0.1, np.nan, 0.1])
    facts = reconcile(
        readings(**EVERY | {"thrust": thrust, "gas_flow": np.array([np.nan, *[EVERY["gas_flow"]] * 2])})
    )
    assert np.isnan(facts.column("specific_impulse")).tolist() == [False, True, False]
    assert np.isfinite(facts.column("hydrogen_rate")).all()


def test_every_measure_has_its_row() -> None:
    facts = reconcile(readings(**EVERY))
    hidden = {"gas_made_apart"}
    assert set(facts.columns) - hidden <= set(measures())
    for row in measures().values():
        assert to_si(1.0, row.display_unit) > 0.0
        assert all(str(getattr(row, item.name)).strip() for item in fields(row))


def test_propagation_counts_each_channel_once() -> None:
    from tradespace.bench.filled import fill

    filled = fill(readings(thrust=1.0, mass_flow=2.0, share=0.01))
    found, random, shared = propagate(lambda c: {"sum": c["thrust"] + c["mass_flow"]}, filled)
    assert found["sum"][0] == 3.0
    assert random["sum"][0] == pytest.approx(np.hypot(0.01, 0.02))
    assert shared["sum"][0] == pytest.approx(np.hypot(0.01, 0.02))
