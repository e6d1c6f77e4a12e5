"""Verdicts: every numbered consistency check of the trade, driven by readings that keep it and readings that do not."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from bench_files import readings

from tradespace.bench.checks import check, worst
from tradespace.bench.reconciling import reconcile
from tradespace.bench.records import IMPOSSIBLE, PASSES, SUSPECT, UNKNOWN, VERDICTS, Check, Readings
from tradespace.constants import value
from tradespace.physics.water import saturation_pressure

FARADAY, GAS = value("faraday_constant"), value("gas_constant")
HEAT, WATER, HYDROGEN = (
    value(name) for name in ("reaction_enthalpy_water", "molar_mass_water", "molar_mass_hydrogen")
)
ATMOSPHERE = 101325.0


def verdicts(read: Readings) -> dict[str, Check]:
    return {one.name: one for one in check(reconcile(read))}


def verdict(name: str, words: dict[str, str] | None = None, share: float = 1e-3, **columns: Any) -> str:
    return verdicts(readings(words, share, **columns))[name].verdict


MOLES = 0.41 * 5800.0 / HEAT  # 5.8 kW at 41 % on the higher heating value
OPEN = {
    "supply_power": 5800.0, "gas_flow": 1.5 * MOLES * GAS * 295.0 / ATMOSPHERE, "meter_temperature": 295.0,
    "meter_pressure": ATMOSPHERE, "feed_temperature": 295.0, "throat_diameter": 1.5e-3, "ambient_pressure": ATMOSPHERE,
    "discharge_coefficient": 0.92, "chamber_pressure": ATMOSPHERE + 0.76e5,
}  # fmt: skip


@pytest.fixture(scope="module")
def impossible() -> list[Check]:
    return check(reconcile(readings({"gas_measured": "mixed"}, thrust=1.0, **OPEN)))


def test_one_newton_fails_the_surroundings_first_then_the_flow(impossible: list[Check]) -> None:
    first, second = impossible[:2]
    assert first.name == "thrust against the surroundings"
    assert second.name == "thrust against the flow"
    assert first.verdict == second.verdict == IMPOSSIBLE
    assert 0.17 <= first.limit <= 0.24  # common practice, no source: ideal expansion to one atmosphere
    assert second.limit == pytest.approx(0.79, abs=0.005)
    for cause in ("liquid carry-over", "hose stiffness", "lead forces", "plume effects"):
        assert cause in first.suspects
        assert cause in first.words


def test_only_the_thrust_alone_would_set_it_right(impossible: list[Check]) -> None:
    assert impossible[0].culprits == ("thrust",)
    assert "would have to be at most 0.2" in impossible[0].words or "at most 2" in impossible[0].words


def test_without_a_pressure_the_throat_tells_what_the_flow_builds_up() -> None:
    given = {name: column for name, column in OPEN.items() if name != "chamber_pressure"}
    found = verdicts(readings({"gas_measured": "mixed"}, thrust=1.0, **given))[
        "thrust against the surroundings"
    ]
    assert found.verdict == IMPOSSIBLE
    assert 0.17 <= found.limit <= 0.24


def test_a_believable_thrust_passes_every_bound() -> None:
    found = verdicts(readings({"gas_measured": "mixed"}, thrust=0.14, **OPEN))
    assert {found[name].verdict for name in found if name.startswith("thrust against")} == {PASSES}
    assert found["choked throat"].verdict == SUSPECT
    assert "subsonic" in found["choked throat"].words


FLOW = 4.4e-6  # kg/s; 100 W at 0.7, 0.5 mm, in vacuum
SMALL = {
    "mass_flow": FLOW, "throat_diameter": 0.5e-3, "ambient_pressure": 10.0, "chamber_pressure": 0.42e5,
    "discharge_coefficient": 1.0, "feed_temperature": 298.15,
}  # fmt: skip


@pytest.mark.parametrize(("force", "wanted"), [(12.4e-3, PASSES), (23.1e-3, PASSES), (23.5e-3, IMPOSSIBLE)])
def test_check_1_thrust_of_the_flow_alone(force: float, wanted: str) -> None:
    assert (
        verdict("thrust against the flow", share=1e-4, thrust=force, mass_flow=FLOW, feed_temperature=298.15)
        == wanted
    )


@pytest.mark.parametrize(("force", "wanted"), [(24.6e-3, PASSES), (25.0e-3, IMPOSSIBLE)])
def test_check_2_thrust_of_the_energy(force: float, wanted: str) -> None:
    moles = FLOW / WATER
    found = verdict(
        "thrust against the energy", share=1e-4, thrust=force, gas_flow=moles * GAS * 295.0 / ATMOSPHERE,
        meter_temperature=295.0, meter_pressure=ATMOSPHERE, supply_power=100.0,
    )  # fmt: skip
    assert found == wanted  # sqrt(2 m eta P) = m * 5634 m/s


@pytest.mark.parametrize(("speed", "wanted"), [(1185.0, PASSES), (1200.0, IMPOSSIBLE)])
def test_check_3_thrust_of_the_cold_flow(speed: float, wanted: str) -> None:
    found = verdicts(
        readings(share=1e-4, thrust=speed * FLOW, mass_flow=FLOW, lit=0.0, feed_temperature=293.0)
    )
    assert found["thrust of the cold flow"].verdict == wanted
    assert found["thrust against the flow"].verdict == UNKNOWN


@pytest.mark.parametrize(("lit_pressure", "wanted"), [(3.1, PASSES), (1.1, SUSPECT), (4.2, SUSPECT)])
def test_check_3_lit_against_cold(lit_pressure: float, wanted: str) -> None:
    lit = np.array([0.0, 0.0, 1.0, 1.0])
    pressure = 0.14e5 * np.where(lit > 0.5, lit_pressure, 1.0)
    assert verdict("lit against cold", **SMALL | {"chamber_pressure": pressure}, lit=lit) == wanted


@pytest.mark.parametrize(("ambient", "wanted"), [(10.0, PASSES), (0.2e5, PASSES), (0.3e5, SUSPECT)])
def test_check_4_choked(ambient: float, wanted: str) -> None:
    found = verdicts(readings(**SMALL | {"ambient_pressure": ambient}))["choked throat"]
    assert found.verdict == wanted
    assert 1.7 < found.limit < 1.9


@pytest.mark.parametrize(("pressure", "name", "wanted"), [
    (0.42e5, "characteristic velocity", PASSES), (0.50e5, "characteristic velocity", IMPOSSIBLE),
    (0.42e5, "flame in the chamber", PASSES), (0.15e5, "flame in the chamber", SUSPECT),
])  # fmt: skip
def test_check_5_characteristic_velocity(pressure: float, name: str, wanted: str) -> None:
    assert verdict(name, **SMALL | {"chamber_pressure": pressure}) == wanted


@pytest.mark.parametrize(("coefficient", "wanted"), [(1.5, PASSES), (2.3, IMPOSSIBLE)])
def test_check_6_thrust_coefficient(coefficient: float, wanted: str) -> None:
    force = coefficient * 0.42e5 * math.pi / 4.0 * 0.5e-3**2
    assert verdict("thrust coefficient", thrust=force, **SMALL) == wanted


def stack(share: float = 0.98, **more: Any) -> dict[str, Any]:
    """Ten cells at 20 A and 298 K, gas and water lost consistent with this Faradaic efficiency."""
    moles = share * 200.0 / (2.0 * FARADAY)
    wet = float(saturation_pressure(298.15))
    return {
        "current": 20.0, "stack_voltage": 19.0, "cells_in_series": 10.0, "electrode_area": 0.01,
        "cell_temperature": 298.15,
        "cell_pressure": ATMOSPHERE, "meter_temperature": 298.15, "meter_pressure": ATMOSPHERE,
        "gas_flow": moles * GAS * 298.15 / ATMOSPHERE,
        "water_rate": moles * WATER * (1.0 + 1.5 * wet / (ATMOSPHERE - wet)),
    } | more  # fmt: skip


PLAIN = {"electrolyte": "sodium_bicarbonate"}


@pytest.mark.parametrize(("factor", "wanted"), [(1.0, PASSES), (1.12, SUSPECT)])
def test_check_7_water_balance(factor: float, wanted: str) -> None:
    given = stack()
    assert verdict("water balance", PLAIN, **given | {"water_rate": factor * given["water_rate"]}) == wanted


@pytest.mark.parametrize(
    ("ratio", "wanted"), [(0.50, PASSES), (0.485, PASSES), (0.53, SUSPECT), (0.46, SUSPECT)]
)
def test_check_7_oxygen_to_hydrogen(ratio: float, wanted: str) -> None:
    assert verdict("oxygen to hydrogen", oxygen_to_hydrogen=ratio, share=1e-4) == wanted


@pytest.mark.parametrize(("share", "wanted"), [(0.98, PASSES), (1.05, IMPOSSIBLE)])
def test_check_8_charge_balance(share: float, wanted: str) -> None:
    found = verdicts(readings(PLAIN, **stack(share)))["charge balance"]
    assert found.verdict == wanted
    if wanted == IMPOSSIBLE:
        assert {"current", "cells_in_series"} <= set(found.culprits)
        assert "gas_flow" not in found.culprits, "the water lost says the same as the gas meter"


def test_a_gas_meter_alone_at_fault_is_named() -> None:
    given = stack()
    found = verdicts(readings(PLAIN, **given | {"gas_flow": 1.15 * given["gas_flow"]}))["charge balance"]
    assert found.verdict == IMPOSSIBLE
    assert "gas_flow" in found.culprits
    assert "current" not in found.culprits


@pytest.mark.parametrize(("share", "wanted"), [(0.5, PASSES), (1.3, SUSPECT)])
def test_check_9_heat_balance(share: float, wanted: str) -> None:
    given = stack()
    heat = share * (380.0 - 0.98 * 200.0 / (2.0 * FARADAY) * HEAT)
    assert (
        verdict("heat balance", PLAIN, coolant_flow=5e-3, coolant_rise=heat / (5e-3 * 4193.0), **given)
        == wanted
    )


def test_check_9_a_cell_below_the_thermoneutral_voltage_draws_heat() -> None:
    assert verdict("heat drawn in", PLAIN, **stack(stack_voltage=14.0)) == SUSPECT
    assert verdict("heat drawn in", PLAIN, **stack(stack_voltage=15.0)) == PASSES


@pytest.mark.parametrize(("factor", "wanted"), [(0.9, PASSES), (1.5, SUSPECT)])
def test_check_10_an_engine_that_takes_more_than_is_made(factor: float, wanted: str) -> None:
    flow = factor * 0.98 * 200.0 / (2.0 * FARADAY) * WATER
    found = verdicts(readings(PLAIN, mass_flow=flow, thrust=0.01, **stack()))
    assert found["flow against the gas made"].verdict == wanted
    assert "store" in found["stored gas"].words


def test_check_11_false_forces() -> None:
    force = {"thrust": 0.02, "mass_flow": 1e-5}
    assert verdict("lead forces", current=100.0, **force) == SUSPECT  # 10 mN (0.5 m at 0.1 m)
    assert verdict("lead forces", current=1.0, **force) == PASSES
    assert verdict("hose stiffness", chamber_pressure=1.8e5, ambient_pressure=ATMOSPHERE, **force) == SUSPECT
    assert (
        verdict(
            "hose stiffness", chamber_pressure=1.8e5, ambient_pressure=ATMOSPHERE, tare_force=1e-3, **force
        )
        == PASSES
    )
    assert verdict("plume effects", **force) == UNKNOWN


def test_check_11_drift() -> None:
    time = np.arange(30) * 10.0
    noise = 1e-4 * np.random.default_rng(1).standard_normal(30)
    steady, rising = 0.1 * (1.0 + noise), 0.1 * (1.0 + noise + 1e-4 * time)
    assert verdict("thermal drift", time=time, thrust=steady, mass_flow=3e-5) == PASSES
    assert verdict("thermal drift", time=time, thrust=rising, mass_flow=3e-5) == SUSPECT


@pytest.mark.parametrize(("share", "wanted"), [(1e-3, PASSES), (0.02, SUSPECT)])
def test_check_12_the_throat_rules_the_uncertainty(share: float, wanted: str) -> None:
    read = readings(wide={"throat_diameter": share, "mass_flow": 0.01}, **SMALL)
    found = verdicts(read)["throat uncertainty"]
    assert found.verdict == wanted  # 0.01 mm on 0.5 mm is 4 % of the area


@pytest.mark.parametrize(("factor", "wanted"), [(1.0, PASSES), (0.90, SUSPECT)])
def test_check_13_three_ways_agree(factor: float, wanted: str) -> None:
    given = stack()
    found = verdicts(readings(PLAIN, share=5e-3, **given | {"gas_flow": factor * given["gas_flow"]}))[
        "agreement of the ways"
    ]
    assert found.verdict == wanted


@pytest.mark.parametrize(("volts", "wanted"), [(12.5, PASSES), (12.0, IMPOSSIBLE)])
def test_no_cell_splits_water_below_the_reversible_voltage(volts: float, wanted: str) -> None:
    found = verdicts(readings(PLAIN, **stack(stack_voltage=volts)))["reversible voltage"]
    assert found.verdict == wanted  # 1.23 V at 25 degC and 1 bar


def test_the_second_law_bounds_the_gas_of_a_watt() -> None:
    assert verdict("energy of the gas", PLAIN, **stack(stack_voltage=11.8)) == IMPOSSIBLE


@pytest.mark.parametrize(("word", "pressure", "wanted"), [
    ("absolute", 2.6e5, PASSES), ("absolute", 0.76e5, SUSPECT), ("gauge", 2.6e5, PASSES),
])  # fmt: skip
def test_a_gauge_reading_given_as_absolute_is_seen(word: str, pressure: float, wanted: str) -> None:
    found = verdicts(
        readings({"gas_measured": "mixed", "chamber_pressure_is": word}, **OPEN | {
        "chamber_pressure": pressure, "gas_flow": 2.2e-4})
    )["gauge or absolute"]  # fmt: skip
    assert found.verdict == wanted
    if wanted == SUSPECT:
        assert found.culprits == ("chamber_pressure",)
        assert "gauge" in found.words


def test_every_check_is_always_there_and_says_one_line() -> None:
    empty, full = verdicts(readings(current=1.0)), verdicts(readings(PLAIN, thrust=0.01, **stack(), **SMALL))
    assert sorted(empty) == sorted(full)
    for one in (*empty.values(), *full.values()):
        assert one.verdict in VERDICTS
        assert "\n" not in one.words
        assert one.words[0].isupper()
        assert "nan" not in one.words
        assert (one.points > 0) == (one.verdict in (SUSPECT, IMPOSSIBLE)) or one.name == "plume effects"
    assert worst(list(empty.values())) in (PASSES, UNKNOWN)


def test_one_bad_point_is_counted_and_good_points_are_kept() -> None:
    thrust = np.full(20, 0.012)
    thrust[7] = 0.05
    found = verdicts(readings(thrust=thrust, **SMALL))["thrust against the flow"]
    assert (found.verdict, found.points) == (IMPOSSIBLE, 1)
    assert "1 of 20 points" in found.words
