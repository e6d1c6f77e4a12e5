"""What each neglected effect is worth: the multipliers of a reference table through the engine, and what a stack keeps.

The multipliers were printed with two digits in a table of neglected effects made for this tool; each is the closed form
beside it (no public source prints them), and both are asked of the engine: 5 % of the printed number, 0.2 % of the
closed form.
"""

from __future__ import annotations

import dataclasses
import functools
import json
import math
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from tradespace import evaluate as engine
from tradespace import stackup
from tradespace.cli import main
from tradespace.mission import Mission, Stop, WindowCurve
from tradespace.physics.storage import gas_tank_factor, stored_gas_pv
from tradespace.study import Study, load_study, parse_study
from tradespace.thrusters.stores import whole_water_ratio
from tradespace.units import convert, parse_date

STUDIES = Path(__file__).parents[1] / "studies"
DAY, YEAR, KWH, GRAVITY = 86400.0, 365.25 * 86400.0, 3.6e6, 9.80665
AU = float(convert(1.0, "au", "m"))
START = parse_date("2031-01-01")
DRY = 200.0  # kg
HEATING = 15.866e6 / 0.80  # J to split a kilogram of water: higher heating value over 80 %
CASES = {"A": (3000.0, 1.0, 3000.0), "B": (300.0, 2.77, 3000.0 / 2.77**2), "C": (1900.0, 1.0, 3000.0)}
"""Velocity change of a hop [m/s], distance from the Sun [au] and power there [W]."""
BASE = {"A": 16.0, "B": 8.9, "C": 9.0}
"""Printed refuelling times [d]."""

TEXT = """\
[study]
name = "reference_case"
title = "Reference case of the stack-up"
note = "The craft is a point of 200 kg"
kind = "tour"
[start]
body = "24 Themis"
date = "2031-01-01"
launch_mass = "1000000 kg"
[route]
stops = ["90 Antiope", "24 Themis"]
horizon = "2041-01-01"
flight_time = ["200 d", "1500 d"]
minimum_dwell = "0 d"
maximum_wait = "10000 d"
[craft]
payload_mass = "200 kg"
hop_delta_v_capacity = "1 km/s"
[sunlight]
array_power = "3 kW"
[architectures]
include = ["at_420", "at_330", "rich_at_440"]
"""
ENGINE = """
[[thruster]]
name = "gas_{0}"
title = "Stored gas at {0} s"
specific_impulse = "{0} s"
thrust = "1000000000 N"
power_per_thrust = "0 W/N"
throughput_life = "1000000000 kg"
mass = "0 kg"
storage = "gas"
[[architecture]]
name = "{1}"
thruster = "gas_{0}"
storage = "gas"
landing_engine = "itself"
{2}
"""
CRAFTS = (
    ("420", "at_420", ""),
    ("330", "at_330", ""),
    ("440", "rich_at_440", 'mixture_ratio = 4\nexcess = "left"'),
)
POINT = {"array_areal_mass": 0.0, "structure_fraction": 0.0}
"""What else weighs nothing in a craft of exactly 200 kg."""
SOIL = {
    "regolith_temperature": 100.0, "release_temperature": 250.0, "extraction_efficiency": 0.5, "capture_fraction": 1.0,
    "excavation_energy": 0.0, "purification_energy": 0.0, "extraction_energy": math.nan,
}  # fmt: skip
ROCK = {
    "regolith_temperature": 298.15, "release_temperature": 873.0, "bound_water_heat": 4.39e6, "water_is_ice": 0.0,
    "ice_fraction": 0.08,
}  # fmt: skip


@functools.cache
def reference() -> Study:
    return parse_study(TEXT + "".join(ENGINE.format(*one) for one in CRAFTS))


def mission(speed: float, distance: float, *, from_ground: bool = False, after: float = 0.0) -> Mission:
    """Two hops that cost the same on every date from a date on: in cruise, or all of it in the launch."""
    dates = np.linspace(START, START + 10.0 * YEAR, 3653)
    away = np.full(dates.size, distance * AU)
    pull = 0.5 * speed**2 if from_ground else 1e-12
    stops = tuple(
        Stop(name, mass, 1.0, DAY, dates, away) for name, mass in (("a", pull), ("b", 1e-12), ("c", 1e-12))
    )
    half = np.where(dates >= START + after, 0.0 if from_ground else 0.5 * speed, 1e5)
    curve = WindowCurve("a", "b", dates, np.full(dates.size, 100.0 * DAY), half, half)
    return Mission("tour", START, START + 10.0 * YEAR, stops, (curve, curve))


def flown(case: str, changes: Mapping[str, float], craft: str = "at_420", **kind: object) -> pd.Series:
    """The reference craft of a case with all effects left out but those of the changes."""
    speed, distance, _ = CASES[case]
    left_out = {**stackup.naive_overrides(stackup.effects()), "sun_distance": math.nan}
    designs = {
        **left_out,
        **POINT,
        "hop_delta_v_capacity": 0.0 if kind.get("from_ground") else speed,
        **changes,
    }
    if math.isnan(designs["extraction_energy"]):
        designs.pop("extraction_energy")
    table = engine.evaluate(
        reference(), mission(speed, distance, **kind), craft,  # type: ignore[arg-type]
        {name: np.array([value]) for name, value in designs.items()}, everything=True,
    )  # fmt: skip
    return table.iloc[0]


@functools.cache
def plain(case: str, hop: int = 1) -> float:
    return float(flown(case, {})[f"refuel_time_{hop}"])


def ratio(case: str, impulse: float = 420.0, stretch: float = 1.0) -> float:
    return math.exp(stretch * CASES[case][0] / (impulse * GRAVITY))


def water(case: str, impulse: float = 420.0, stretch: float = 1.0) -> float:
    return (ratio(case, impulse, stretch) - 1.0) / (ratio(case) - 1.0)


def performance_for(factor: float) -> float:
    """Burst pressure times volume over weight at which gas tanks weigh that much per water [m]."""
    pv = stored_gas_pv(293.15, 1e5, whole_water_ratio())
    return float(gas_tank_factor(pv, 25e3, 2.0)) * 25e3 / factor


K, RESIDUAL, LEAK = 1.65, 0.05, 0.1
ALONE = {  # rank: changes, printed multipliers of A, B and C, closed form
    "storing all as gas": (
        {"tank_performance": performance_for(K)}, (None, 1.14, 30.0), lambda c: 1.0 / (1.0 - (ratio(c) - 1.0) * K),
    ),
    "half of the time night": ({"sunlit_fraction": 0.5}, (2.0,) * 3, lambda c: 2.0),
    "turning with the body": (
        {"sunlit_fraction": 0.5, "pointing_factor": 2.0 / math.pi}, (3.1,) * 3, lambda c: math.pi,
    ),
    "hydrated rock, 8 %, half efficient": (
        {**SOIL, **ROCK}, (2.2,) * 3, lambda c: 1.0 + 3.23 * KWH / 0.5 / HEATING,
    ),
    "liquefying both gases": (
        {"storage_is_liquid": 1.0, "hydrogen_liquefaction_energy": 5.6 * KWH, "oxygen_liquefaction_energy": 5.6 * KWH},
        (2.0,) * 3, lambda c: 1.0 + 5.6 * KWH / HEATING,
    ),
    "icy soil, 5 %, half efficient": (
        {**SOIL, "ice_fraction": 0.05}, (1.45,) * 3, lambda c: 1.0 + 1.23 * KWH / 0.5 / HEATING,
    ),
    "array fixed at 45 degrees": ({"pointing_factor": math.sqrt(0.5)}, (1.41,) * 3, lambda c: math.sqrt(2.0)),
    "cells of 65 % and 10 % for the plant": (
        {"stack_efficiency": 0.65, "balance_of_plant_fraction": 0.1}, (1.35,) * 3, lambda c: 0.80 / 0.65 * 1.1,
    ),
    "100 W kept alive": (
        {"keep_alive_power": 100.0}, (1.03, 1.34, 1.03), lambda c: CASES[c][2] / (CASES[c][2] - 100.0),
    ),
    "array at three quarters": (
        {"array_age": 50.0 * YEAR, "array_ageing_rate": (1.0 - 0.75 ** (1.0 / 50.0))}, (1.33,) * 3, lambda c: 4.0 / 3.0,
    ),
    "dry mass grown by 30 %": ({"system_margin": 0.3}, (1.30,) * 3, lambda c: 1.3),
    "20 % lost to dust": ({"dust_loss_per_landing": 0.2}, (1.25,) * 3, lambda c: 1.25),
    "a tenth leaks or boils off": (
        {"gas_hold_time": -math.log(1.0 - LEAK) * YEAR, "leak_time": YEAR}, (1.10,) * 3, lambda c: 1.0 / (1.0 - LEAK),
    ),
}  # fmt: skip
CELLS = [
    (name, case, printed)
    for name, (_, row, _) in ALONE.items()
    for case, printed in zip(CASES, row, strict=True)
]


@pytest.mark.parametrize("case", CASES)
def test_the_naive_craft_weighs_what_it_should_and_refuels_as_printed(case: str) -> None:
    row = flown(case, {})
    assert row["dry_mass"] == pytest.approx(DRY, rel=1e-6)
    assert row["water_mined_2"] == pytest.approx(DRY * (ratio(case) - 1.0), rel=1e-5)
    expected = DRY * (ratio(case) - 1.0) * HEATING / CASES[case][2]
    assert row["refuel_time_1"] == pytest.approx(expected, rel=5e-4)
    assert row["refuel_time_2"] == pytest.approx(expected, rel=5e-4)
    assert row["refuel_time_1"] / DAY == pytest.approx(BASE[case], rel=0.05)


@pytest.mark.parametrize(("name", "case", "printed"), CELLS)
def test_each_effect_alone_multiplies_the_refuelling_as_printed(
    name: str, case: str, printed: float | None
) -> None:
    changes, _, closed_form = ALONE[name]
    row = flown(case, changes)
    if printed is None:
        assert closed_form(case) < 0.0
        assert not row["closes"]
        assert row["limited_by"] == "mass"
        assert stackup.endless(row, "wet_mass") == "no finite mass"
        return
    found = row["refuel_time_1"] / plain(case)
    assert found == pytest.approx(printed, rel=0.05)
    assert found == pytest.approx(closed_form(case), rel=5e-3 if "icy" in name or "rock" in name else 2e-3)


@pytest.mark.parametrize(("case", "printed"), [("A", 13.0), ("B", 24.0), ("C", 23.0)])
def test_a_wait_of_200_days_for_the_window(case: str, printed: float) -> None:
    late = {"after": 200.0 * DAY + plain(case)}
    row = flown(case, {"window_wait": 1.0}, **late)
    found = (row["refuel_time_1"] + row["wait_1"]) / plain(case)
    assert found == pytest.approx(1.0 + 200.0 * DAY / plain(case), rel=0.01)  # the calendar has a date a day
    assert found == pytest.approx(printed, rel=0.05)
    free = flown(case, {}, **late)
    assert free["wait_1"] == pytest.approx(0.0, abs=1.0)
    assert free["refuel_time_1"] == pytest.approx(plain(case))


def test_distance_from_the_sun_forgotten() -> None:
    assert plain("B") / flown("B", {"sun_distance": AU})["refuel_time_1"] == pytest.approx(7.7, rel=0.05)
    assert plain("B") / flown("B", {"sun_distance": AU})["refuel_time_1"] == pytest.approx(2.77**2, rel=1e-3)


@pytest.mark.parametrize(("case", "printed"), [("A", 1.7), ("B", 1.7), ("C", 1.7)])
def test_oxygen_left_at_the_mine_is_mined_for_all_that(case: str, printed: float) -> None:
    dry = {"storage_pressure": 30e5}  # next to no vapour in the gases
    found = flown(case, dry, "rich_at_440")["refuel_time_1"] / plain(case)
    assert found == pytest.approx(printed, rel=0.05)
    assert found == pytest.approx(water(case, 440.0) / 0.559, rel=2e-3)


@pytest.mark.parametrize(("case", "printed"), [("A", 1.42), ("B", 1.29), ("C", 1.36)])
def test_a_real_small_thruster_of_330_s(case: str, printed: float) -> None:
    found = flown(case, {}, "at_330")["refuel_time_1"] / plain(case)
    assert found == pytest.approx(printed, rel=0.05)
    assert found == pytest.approx(water(case, 330.0), rel=2e-3)


@pytest.mark.parametrize(("case", "printed"), [("A", 1.41), ("B", 1.28), ("C", 1.35)])
def test_a_margin_of_a_tenth_and_15_percent_for_gravity_and_steering(case: str, printed: float) -> None:
    base = flown(case, {}, from_ground=True)["refuel_time_1"]
    assert base == pytest.approx(plain(case), rel=1e-3)
    changes = {"delta_v_margin": 0.1, "landing_loss_fraction": 0.15}
    found = flown(case, changes, from_ground=True)["refuel_time_1"] / base
    assert found == pytest.approx(printed, rel=0.05)
    assert found == pytest.approx(water(case, stretch=1.1 * 1.15), rel=2e-3)


@pytest.mark.parametrize(("case", "printed"), [("A", 1.06), ("B", 1.00), ("C", 1.03)])
def test_residuals_of_5_percent_ride_along_and_are_there_at_the_next_stop(case: str, printed: float) -> None:
    found = flown(case, {"propellant_residual": RESIDUAL})["refuel_time_2"] / plain(case, 2)
    assert found == pytest.approx(printed, rel=0.05)
    assert found == pytest.approx((1.0 - RESIDUAL) / (1.0 - RESIDUAL * ratio(case)), rel=2e-3)


def test_gravity_takes_its_share_only_while_it_is_reckoned_with() -> None:
    without, reckoned = (flown("C", {"gravity_losses": on}, from_ground=True) for on in (0.0, 1.0))
    assert without["launch_delta_v_1"] == pytest.approx(1900.0, rel=1e-6)
    assert reckoned["launch_delta_v_1"] > 1.01 * without["launch_delta_v_1"]


@functools.cache
def asked(name: str) -> tuple[Study, Mission, pd.DataFrame]:
    study = load_study(STUDIES / f"{name}.toml")
    found = engine.mission_of(study)
    return study, found, stackup.stack_up(study, found, "electrolysis_bipropellant")


NAMES = ("outer_belt_ice_tour", "ceres_surface_hopper")


@pytest.mark.parametrize("name", NAMES)
def test_a_stack_ends_at_the_reference_design_and_its_factors_multiply(name: str) -> None:
    study, found, table = asked(name)
    last, base = table.iloc[-1], engine.baseline(study, found, "electrolysis_bipropellant").iloc[0]
    assert list(table["effect"]) == [stackup.NAIVE, *stackup.effects()]
    assert last["refuel_time_mean"] == pytest.approx(base["refuel_time_mean"], rel=1e-9)
    assert last["hop_time"] == pytest.approx(base["mission_time"] / study.hops, rel=1e-9)
    assert last["wet_mass"] == pytest.approx(base["wet_mass"], rel=1e-9)
    assert last["margin"] == pytest.approx(base["margin"], rel=1e-9)
    for metric in stackup.METRICS:
        product = np.nancumprod(table[f"{metric}_step"])
        assert product[1:] == pytest.approx(table[f"{metric}_total"].to_numpy()[1:], rel=1e-9)
        assert table[f"{metric}_step"].iloc[1] == pytest.approx(table[f"{metric}_alone_step"].iloc[1])
    assert table["refuel_time_mean_total"].iloc[-1] > 10.0


@pytest.mark.parametrize("name", NAMES)
def test_a_switch_in_the_study_does_what_the_stack_says(name: str) -> None:
    study, _, table = asked(name)
    names = list(stackup.effects())
    for left_out, row in ((names, table.iloc[0]), (names[7:], table.iloc[7]), (names[10:], table.iloc[10])):
        switched = dataclasses.replace(study, effects={one: one not in left_out for one in names})
        answers = engine.evaluate(
            switched, engine.mission_of(switched), "electrolysis_bipropellant", {}
        ).iloc[0]
        assert answers["refuel_time_mean"] == pytest.approx(row["refuel_time_mean"], rel=1e-9)
        assert answers["wet_mass"] == pytest.approx(row["wet_mass"], rel=1e-9)
        assert answers["limited_by"] == row["limited_by"]


def test_an_effect_the_study_switches_off_is_no_step() -> None:
    study, found, _ = asked("ceres_surface_hopper")
    switched = dataclasses.replace(study, effects={**study.effects, "night": False, "margins": False})
    table = stackup.stack_up(switched, found, "electrolysis_bipropellant")
    assert not {"night", "margins"} & set(table["effect"])
    base = engine.evaluate(switched, found, "electrolysis_bipropellant", {}).iloc[0]
    assert table.iloc[-1]["wet_mass"] == pytest.approx(base["wet_mass"], rel=1e-9)


def test_what_never_ends_is_said_in_words_and_marked_at_its_step() -> None:
    study, found, _ = asked("ceres_surface_hopper")
    heavy = dataclasses.replace(study, values={**study.values, "maturity_margin": 1.0, "system_margin": 1.0})
    table = stackup.stack_up(heavy, found, "steam_resistojet").set_index("effect")
    row = table.loc["growth"]
    assert math.isinf(row["wet_mass"])
    assert math.isinf(row["refuel_time_mean"])
    assert math.isinf(row["wet_mass_step"])
    assert math.isnan(table.loc["residuals", "wet_mass_step"])
    assert not row["closes"]
    assert stackup.said("wet_mass", row["wet_mass"]) == "no finite mass"
    assert "no longer closes with: growth and system margin" in stackup.closing_words(table)


def test_command_prints_the_steps_and_writes_them(tmp_path: Path) -> None:
    study = str(STUDIES / "ceres_surface_hopper.toml")
    page = tmp_path / "stack.html"
    arguments = ["stackup", study, "--architecture", "electrolysis_bipropellant"]
    shown = CliRunner().invoke(main, [*arguments, "--out", str(page)])
    assert shown.exit_code == 0, shown.output
    assert "Naive estimate" in shown.output
    assert "The order matters" in shown.output
    assert max(map(len, shown.output.split("The order matters", maxsplit=1)[0].splitlines())) <= 100
    assert "What naive estimates leave out" in page.read_text("utf-8")
    answer = json.loads(
        CliRunner().invoke(main, [*arguments, "--json", "--out", str(tmp_path / "w.csv")]).output
    )
    steps = answer["architectures"]["electrolysis_bipropellant"]
    assert [step["effect"] for step in steps] == [stackup.NAIVE, *answer["order"]]
    assert steps[0]["wet_mass_multiplier"] is None
    assert steps[-1]["wet_mass_kg"] > steps[0]["wet_mass_kg"]
    assert (tmp_path / "w.csv").read_text("utf-8").startswith("# What naive estimates leave out")


def test_a_wrong_name_is_one_line() -> None:
    study = str(STUDIES / "ceres_surface_hopper.toml")
    for extra, words in (
        (["--architecture", "steam_resistojt"], "did you mean 'steam_resistojet'"),
        (["--out", "stack.docx"], "the name must end in one of"),
    ):
        answer = CliRunner().invoke(main, ["stackup", study, *extra])
        assert answer.exit_code == 2
        assert words in answer.output
