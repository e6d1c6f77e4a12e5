"""Every way of pushing with water on one footing, through the engine: impulse, power and energy on mined water.

The numbers beside ours were computed outside this package for representative engines: electrolysis at 70 % of the
higher heating value with nothing else in the plant, steam from the properties of water, the unused part of the water
thrown away without thrust. Printed to two or three digits; ours must agree within 3 % or one unit of the last digit.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tradespace import evaluate
from tradespace.physics import electric, electrothermal
from tradespace.study import parse_study

GRAVITY = 9.80665
KWH = 3.6e6
STUDY = """\
[study]
name = "common_basis"
title = "Common basis"
note = "Invented craft: more power than it needs, so that no unit runs at part load"
kind = "surface"

[start]
body = "Moon"
date = "2032-01-01"
launch_mass = "20 t"

[route]
hops = 1
hop_distance = "1 km"
mission_duration = "3 yr"

[craft]
payload_mass = "100 kg"

[sunlight]
array_power = "400 kW"

[electrolysis]
stack_efficiency = "70 %"
balance_of_plant_fraction = "0 %"

[storage]
hydrogen_liquefaction_energy = "5.6 kWh/kg"
oxygen_liquefaction_energy = "5.6 kWh/kg"

[architectures]
include = [NAMES]
"""
SPLIT = 'auxiliary_share = "0", valve_power = "0 W"'
NO_SIZE = 'supply_efficiency = "100 %", power_exponent = "0"'
HALL = 'supply_efficiency = "100 %", anode_efficiency'

# name: (thruster, other keys, values, impulse s, power W/mN, thrust mN/kW, energy kWh/kg, jet share); text as printed
Row = tuple[str, str, str, str, str, str, str, str]
ROWS: dict[str, Row] = {
    "cold_vapour_300": (
        "cold_vapour", "", 'specific_impulse = "70 s", heater_efficiency = "80 %", vapour_temperature = "300 K"',
        "70", "4.5", "224", "0.9", "0.08",
    ),
    "resistojet_800": (
        "steam_resistojet", "", 'specific_impulse = "130 s", heater_efficiency = "60 %", heater_temperature = "800 K"',
        "130", "4.5", "222", "1.6", "0.14",
    ),
    "resistojet_1100": (
        "steam_resistojet", "", 'specific_impulse = "180 s", heater_efficiency = "60 %", heater_temperature = "1100 K"',
        "180", "3.9", "257", "1.9", "0.23",
    ),
    "solar_2000": (
        "solar_thermal_steam", "",
        'specific_impulse = "260 s", receiver_efficiency = "60 %", steam_pressure = "10 bar"',
        "260", "4.3", "232", "3.1", "0.30",
    ),
    "microwave_careful": (
        "microwave_electrothermal", "", 'specific_impulse = "400 s", thrust_efficiency = "35 %"',
        "400", "5.6", "178", "6.1", "0.35",
    ),
    "microwave_claimed": (
        "microwave_electrothermal", "", 'specific_impulse = "800 s", thrust_efficiency = "50 %"',
        "800", "7.8", "127", "17", "0.50",
    ),
    "split_chip": (
        "electrolysis_bipropellant", "", f'specific_impulse = "185 s", {SPLIT}', "185", "12.5", "80", "6.3", "0.07",
    ),
    "split_1n": (
        "electrolysis_bipropellant", "", f'specific_impulse = "310 s", {SPLIT}', "310", "7.5", "134", "6.3", "0.20",
    ),
    "split_22n": (
        "electrolysis_bipropellant", "", f'specific_impulse = "345 s", {SPLIT}', "345", "6.7", "149", "6.3", "0.25",
    ),
    "split_110n": (
        "electrolysis_bipropellant", "", f'specific_impulse = "360 s", {SPLIT}', "360", "6.4", "156", "6.3", "0.28",
    ),
    "split_rich": (
        "electrolysis_bipropellant", "mixture_ratio = 4", f'specific_impulse = "440 s", {SPLIT}',
        "246", "9.4", "107", "6.3", "0.23",
    ),
    "liquids": (
        "liquid_hydrogen_oxygen", 'mixture_ratio = 6\nexcess = "left"', 'specific_impulse = "450 s"',
        "352", "11", "90", "10.7", "0.20",
    ),
    "hydrogen_arc": (
        "hydrogen_arcjet", "", 'specific_impulse = "1000 s", thrust_efficiency = "35 %"',
        "112", "35", "29", "10.6", "0.14",
    ),
    "hydrogen_magnetoplasma": (
        "hydrogen_magnetoplasmadynamic", "", f'specific_impulse = "5000 s", thrust_efficiency = "50 %", {NO_SIZE}',
        "559", "53", "19", "81", "0.46",
    ),
    "hall_vapour": (
        "water_hall", "", f'specific_impulse = "2039 s", {HALL} = "12.5 %"', "2039", "80", "12.5", "444", "0.125",
    ),
    "hall_oxygen": (
        "oxygen_hall", "", f'specific_impulse = "2000 s", {HALL} = "15 %"', "1776", "67", "15", "323", "0.15",
    ),
    "inductive": (
        "pulsed_inductive", "", 'specific_impulse = "3000 s", thrust_efficiency = "40 %", supply_efficiency = "100 %"',
        "3000", "37", "27", "300", "0.40",
    ),
    "pulsed_low": (
        "pulsed_plasma", "", 'specific_impulse = "3000 s", thrust_efficiency = "8 %", supply_efficiency = "100 %"',
        "3000", "180", "5", "1500", "0.08",
    ),
    "pulsed_high": (
        "pulsed_plasma", "", 'specific_impulse = "3000 s", thrust_efficiency = "13 %", supply_efficiency = "100 %"',
        "3000", "110", "9", "900", "0.13",
    ),
}  # fmt: skip

PRINTED: Row = (  # the same as resistojet_1100 with 1.9 kWh/kg, as a break-even table gives it
    "steam_resistojet", "",
    'specific_impulse = "180 s", heater_efficiency = "60.218 %", heater_temperature = "1100 K"',
    *("0",) * 5,
)  # fmt: skip


def text_of(rows: dict[str, Row]) -> str:
    """A study with one architecture for each row."""
    names = ", ".join(f'"{name}"' for name in rows)
    text = STUDY.replace("NAMES", names)
    for name, (thruster, keys, values, *_) in rows.items():
        stored = "" if thruster == "liquid_hydrogen_oxygen" else 'storage = "water"\n'
        text += f'\n[[architecture]]\nname = "{name}"\nthruster = "{thruster}"\n{stored}{keys}\n'
        text += f"values = {{ {values} }}\n"
    return text


@cache
def answers() -> pd.DataFrame:
    """The engine's answers, one row for each of the table."""
    study = parse_study(text_of({**ROWS, "resistojet_printed": PRINTED}))
    return evaluate.baseline(study).set_index("architecture")


def last_digit(text: str) -> float:
    """One unit of the last digit printed."""
    return 10.0 ** -len(text.partition(".")[2])


@pytest.mark.parametrize("name", ROWS)
def test_each_row_agrees_with_the_printed_one(name: str) -> None:
    row = answers().loc[name]
    power = row["total_power_per_thrust"] / 1e3
    ours = (row["mined_specific_impulse"], power, 1e3 / power, row["spent_energy"] / KWH, row["jet_share"])
    for found, text in zip(ours, ROWS[name][3:], strict=True):
        wanted = float(text)
        assert found == pytest.approx(wanted, rel=0.03, abs=last_digit(text)), (name, ours)


def test_the_pulsed_plasma_thruster_is_printed_as_a_range_and_both_ends_are_met() -> None:
    low, high = (answers().loc[name] for name in ("pulsed_low", "pulsed_high"))
    assert 110.0 < high["total_power_per_thrust"] / 1e3 < low["total_power_per_thrust"] / 1e3 < 185.0


@pytest.mark.parametrize(
    ("temperature", "pressure", "printed"),
    [(300.0, 1e4, "0.679"), (800.0, 1e6, "0.96"), (1100.0, 1e6, "1.14"), (2000.0, 1e6, "1.82")],
)
def test_heat_in_steam_is_the_printed_one(temperature: float, pressure: float, printed: str) -> None:
    heat = float(electrothermal.steam_energy(temperature, pressure)) / KWH
    assert heat == pytest.approx(float(printed), abs=0.51 * last_digit(printed))


def break_even(slow: str, fast: str, delta_v: list[float]) -> np.ndarray:
    """Energy of the water at which two rows take the same in all [kWh/kg], from the engine's own answers."""
    cheap, dear = answers().loc[slow], answers().loc[fast]
    found = electric.break_even_water_energy(
        delta_v,
        cheap["mined_specific_impulse"] * GRAVITY,
        cheap["spent_energy"],
        dear["mined_specific_impulse"] * GRAVITY,
        dear["spent_energy"],
    )
    return np.asarray(found) / KWH


def test_a_hall_thruster_needs_dear_water_to_beat_electrolysis() -> None:
    found = break_even("split_22n", "hall_vapour", [1.0, 3000.0])
    np.testing.assert_allclose(found, [82.0, 50.0], rtol=0.05)


def test_plain_steam_wins_below_the_printed_curve() -> None:
    """Inputs as printed: steam at 180 s and 1.9 kWh/kg, electrolysis at 345 s.

    At a heater efficiency of 60 %, 1.907 kWh/kg, the value at 3 km/s is 0.151 and not 0.16: a small difference of large
    numbers.
    """
    changes = [1.0, 500.0, 1000.0, 1500.0, 2000.0, 3000.0]
    printed = [2.8, 2.3, 1.7, 1.2, 0.8, 0.16]
    assert answers().loc["resistojet_printed", "spent_energy"] / KWH == pytest.approx(1.9, abs=1e-4)
    np.testing.assert_allclose(break_even("resistojet_printed", "split_22n", changes), printed, rtol=0.05)
    at_sixty = break_even("resistojet_1100", "split_22n", changes)
    np.testing.assert_allclose(at_sixty[:-1], printed[:-1], rtol=0.05)
    assert at_sixty[-1] == pytest.approx(0.151, abs=0.001)


FREE = (
    'specific_impulse = "1000 s", particle_loss = "0 eV", supply_efficiency = "100 %", power_exponent = "0"'
)
EXTRA: dict[str, Row] = {
    **{
        f"fixed_{number}": (
            "radiofrequency_plasma", "", f'{FREE}, thrust_efficiency = "{number} %"', *("0",) * 5
        )
        for number in ("12.5", "35", "50")
    },
    "hydrogen_alone": (
        "hydrogen_magnetoplasmadynamic", "", f'specific_impulse = "3130 s", {NO_SIZE}', *("0",) * 5
    ),
    "hydrogen_and_cold_oxygen": (
        "hydrogen_magnetoplasmadynamic", 'excess = "cold_gas"', f'specific_impulse = "3130 s", {NO_SIZE}', *("0",) * 5
    ),
    "split_22n": ROWS["split_22n"],
}  # fmt: skip


@cache
def asked() -> tuple[Any, Any]:
    """A study of engines for the questions below, and its mission."""
    study = parse_study(text_of({name.replace(".", "_"): row for name, row in EXTRA.items()}))
    return study, evaluate.mission_of(study)


def engine(name: str, **designs: Any) -> pd.DataFrame:
    study, mission = asked()
    return evaluate.evaluate(
        study, mission, name, {key: np.asarray(value, float) for key, value in designs.items()}
    )


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("fixed_12_5", (106, 153, 216, 290, 642)),
        ("fixed_35", (177, 256, 362, 486, 1074)),
        ("fixed_50", (212, 306, 433, 580, 1283)),
    ],
)
def test_the_cheapest_specific_impulse_is_the_printed_one(name: str, printed: tuple[int, ...]) -> None:
    """Least energy for a small velocity change over a sweep of one engine; water at 1.2 to 44 kWh/kg."""
    impulse = np.arange(80.0, 1400.0, 2.0)
    table = engine(name, specific_impulse_change=impulse - 1000.0)
    for water, wanted in zip((1.2, 2.5, 5.0, 9.0, 44.0), printed, strict=True):
        cost = (water * KWH + table["spent_energy"]) / table["mined_specific_impulse"]
        best = float(table["mined_specific_impulse"][int(np.argmin(cost))])
        assert best == pytest.approx(wanted, rel=0.05)
        eta = float(table["jet_share"][0])
        exact = float(electric.cheapest_exhaust_velocity(eta, water * KWH)) / GRAVITY
        assert best == pytest.approx(exact, abs=2.0)
        assert exact == pytest.approx(wanted, rel=5e-3)


@pytest.mark.parametrize(("delta_v", "printed"), [(1000.0, 0.18), (3000.0, 0.14)])
def test_a_better_cell_is_worth_as_much_as_a_faster_jet(delta_v: float, printed: float) -> None:
    """Electrolysis at 85 instead of 70 %, half the loss: the specific impulse that saves the same energy, solved."""

    def energy(cell: float, more: Any) -> np.ndarray:
        found = engine("split_22n", stack_efficiency=cell, specific_impulse_change=more)
        speed = found["mined_specific_impulse"].to_numpy() * GRAVITY
        return np.asarray(electric.energy_per_dry_mass(delta_v, speed, 0.0, found["spent_energy"].to_numpy()))

    wanted = energy(0.85, 0.0)[0]
    before = energy(0.70, 0.0)[0]
    assert wanted / before == pytest.approx(70.0 / 85.0, rel=1e-9)  # 18 % less
    low, high = 0.0, 200.0
    for _ in range(4):  # a grid in each round
        more = np.linspace(low, high, 65)
        spent = energy(0.70, more)
        place = int(np.searchsorted(-spent, -wanted))
        low, high = more[place - 1], more[place]
    assert 0.5 * (low + high) / 345.0 == pytest.approx(printed, rel=0.05)


def test_hydrogen_alone_must_be_very_fast_to_match_whole_water() -> None:
    alone, both = (
        float(engine(name)["mined_specific_impulse"][0])
        for name in ("hydrogen_alone", "hydrogen_and_cold_oxygen")
    )
    assert alone == pytest.approx(350.0, rel=3e-3)
    assert electric.hydrogen_specific_impulse_needed(350.0) == pytest.approx(3130.0, rel=3e-3)
    assert electric.hydrogen_specific_impulse_needed(350.0, 70.0) == pytest.approx(2570.0, rel=3e-3)
    cold = (both - alone) / (1.0 - alone / 3130.0)  # of the oxygen, from the engine
    assert cold == pytest.approx(70.0, rel=0.10)
    assert electric.hydrogen_specific_impulse_needed(350.0, cold) == pytest.approx(2570.0, rel=0.05)
