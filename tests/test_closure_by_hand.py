"""One hop of every storage mode and excess, worked out again in plain scalar steps beside the engine's columns."""

from __future__ import annotations

import functools
import math

import pandas as pd
import pytest

from tradespace import evaluate as engine
from tradespace.constants import value
from tradespace.mission import Mission
from tradespace.physics.combustion import saturated_humidity
from tradespace.study import Study, parse_study

GRAVITY = value("standard_gravity")
WHOLE = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
CASES = [
    (thruster, storage, excess, landing)
    for thruster in ("electrolysis_bipropellant", "hydrogen_arcjet")
    for storage, excess, landing in (
        ("water", "vented", "itself"),
        ("water", "flown", "stored_heat"),
        ("buffer", "vented", "stored_gas"),
        ("buffer", "cold_gas", "stored_gas"),
        ("buffer", "flown", "stored_gas"),
        ("gas", "left", "stored_gas"),
        ("gas", "flown", "stored_gas"),
        ("gas", "left", "itself"),
        ("liquid", "left", "stored_gas"),
        ("liquid", "vented", "stored_heat"),
    )
    if (thruster, storage, excess) != ("hydrogen_arcjet", "gas", "flown")  # no finite mass
]
STUDY = """
[study]
name = "one_hop"
title = "Invented craft from moon to moon"
kind = "tour"
[start]
body = "Phobos"
date = "2033-01-01"
launch_mass = "3000 kg"
water_on_board = "11 kg"
[route]
stops = ["Deimos"]
horizon = "2043-01-01"
[craft]
payload_mass = "100 kg"
hop_delta_v_capacity = "0.9 km/s"
storage_volume = "90 m3"
[sunlight]
array_area = "60 m2"
[storage]
tank_performance = "60 km"
[engine]
mixture_ratio = 5
"""


@functools.cache
def asked() -> tuple[Study, Mission]:
    parts = [
        f'[[architecture]]\nname = "{"_".join(case)}"\nthruster = "{case[0]}"\nstorage = "{case[1]}"\n'
        f'excess = "{case[2]}"\nlanding_engine = "{case[3]}"\n'
        for case in CASES
    ]
    names = ", ".join(f'"{"_".join(case)}"' for case in CASES)
    study = parse_study(STUDY + f"[architectures]\ninclude = [{names}]\n" + "\n".join(parts))
    return study, engine.mission_of(study)


def answer(case: tuple[str, ...], **designs: float) -> tuple[pd.Series, dict[str, float]]:
    """Columns of the engine, and the numbers of engine and store before they are flown."""
    study, mission = asked()
    name = "_".join(case)
    rows, _ = engine.design_rows(study, mission, name, designs)
    numbers = {field: float(rows[field][0]) for field in rows.dtype.names or ()}
    return engine.evaluate(study, mission, name, designs, everything=True).iloc[0], numbers


def drawn_per_burned(ratio: float, vapour: float) -> float:
    """Water split for a kilogram burned at a mixture ratio [1]; vapour in the gases is water too."""
    dry = max((1.0 + WHOLE) / (1.0 + ratio), ratio * (1.0 + WHOLE) / WHOLE / (1.0 + ratio))
    return (1.0 - vapour) * dry + vapour


def burnt(mass: float, velocity: float, jet: float, kept: float) -> tuple[float, float]:
    """What a burn draws from the tanks, and the mass after it, with what is drawn but not burned still on board."""
    out = mass * (1.0 - math.exp(-velocity / jet))
    return out / (1.0 - kept), mass - out


class Hop:
    """The hop in scalar steps, from jet speeds, dry mass and velocity changes."""

    def __init__(self, case: tuple[str, ...], row: pd.Series, numbers: dict[str, float]) -> None:
        self.case, self.row, self.numbers = case, row, numbers
        thruster, storage, excess, landing = case
        vapour = float(
            saturated_humidity(
                row["gas_dew_point"], min(row["cell_pressure"], row["storage_pressure"]), WHOLE
            )
        )
        self.at_stop = storage in {"gas", "liquid"}
        self.gas = landing == "stored_gas" or (landing == "itself" and self.at_stop)
        self.water = drawn_per_burned(0.0 if thruster == "hydrogen_arcjet" else row["mixture_ratio"], vapour)
        self.store_water = self.water
        if landing != "itself":
            self.store_water = (
                drawn_per_burned(row["mixture_ratio"], vapour) if landing == "stored_gas" else 1.0
            )
        self.kept, self.store_kept, self.mined, self.store_mined = 0.0, 0.0, 1.0, 1.0
        if excess == "flown":
            self.kept, self.store_kept = 1.0 - 1.0 / self.water, 1.0 - 1.0 / self.store_water
        if excess == "left":
            self.mined, self.store_mined = self.water, self.store_water
        self.burn()
        self.fill()

    def burn(self) -> None:
        row, numbers = self.row, self.numbers
        store, cruise, stretch = (
            numbers["store_exhaust_velocity"],
            numbers["exhaust_velocity"],
            1.0 + row["delta_v_margin"],
        )
        mass = row["dry_mass"] + row["propellant_loaded_1"]
        self.departure_mass = mass
        self.launch, mass = burnt(mass, row["launch_delta_v_1"], store, self.store_kept)
        one, mass = burnt(mass, row["departure_delta_v_1"] * stretch, cruise, self.kept)
        two, mass = burnt(mass, row["arrival_delta_v_1"] * stretch, cruise, self.kept)
        self.cruise = one + two
        self.landing, self.landing_mass = burnt(mass, row["landing_delta_v_1"], store, self.store_kept)
        self.used = self.launch + self.cruise + self.landing

    def fill(self) -> None:
        """Full tanks for the capacity, and what it takes to make and to lose them."""
        row, numbers, stretch = self.row, self.numbers, 1.0 + self.row["delta_v_margin"]
        store, cruise = numbers["store_exhaust_velocity"], numbers["exhaust_velocity"]
        first, mass = burnt(1.0, row["launch_delta_v_1"] * stretch, store, self.store_kept)
        middle, mass = burnt(mass, row["hop_delta_v_capacity"], cruise, self.kept)
        last, _ = burnt(mass, row["landing_delta_v_1"] * stretch, store, self.store_kept)
        usable = 1.0 - row["propellant_reserve"] - row["propellant_residual"]
        share = (first + middle + last) / usable
        self.load = row["dry_mass"] * share / (1.0 - share)
        per = self.load / (first + middle + last)
        self.buffer = (first + last if self.at_stop else max(first, last)) * per
        cruise_load = middle * per
        water = cruise_load * self.mined + (first + last) * per * self.store_mined
        hold = row["gas_hold_time"] * (
            1.0 / row["leak_time"] + row["boil_off_rate"] * row["storage_is_liquid"]
        )
        again = math.exp(hold) - 1.0
        made = self.buffer * self.store_mined * self.gas + cruise_load * self.mined * self.at_stop
        lost = again * made
        self.mined_water = water - row["water_on_board"] + lost
        more = 1.0 + lost / water
        storing = (
            self.buffer * numbers["store_energy"] + cruise_load * numbers["storing_energy"] * self.at_stop
        )
        energy = self.mined_water * row["extraction_energy"] + more * (made * row["split_energy"] + storing)
        itself = self.case[3] == "itself"
        live = self.used if itself else self.cruise
        if not self.at_stop:
            energy += live * row["split_energy"]
        if not self.at_stop and not itself:  # the landing gas, or its heat, is made on the way
            energy += self.landing * (numbers["store_energy"] + row["split_energy"] * self.gas)
        power = numbers["power_per_thrust"] * cruise * (1.0 - self.kept)
        self.energy = energy + live * power * (1.0 - numbers["split_power_share"])


EXACT = {
    "stack_ageing_rate": 0.0, "gravity_losses": 0.0, "landing_loss_fraction": 0.0, "heat_store_holding_time": 1e15,
}  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_a_hop_worked_out_again_in_scalar_steps(case: tuple[str, ...]) -> None:
    row, numbers = answer(case, **EXACT)
    assert row["margin_mass"] > -1.0
    hop = Hop(case, row, numbers)
    assert row["propellant_mass"] == pytest.approx(hop.load, rel=1e-9)
    assert row["buffer_mass"] == pytest.approx(hop.buffer, rel=1e-9)
    assert row["departure_mass_1"] == pytest.approx(hop.departure_mass, rel=1e-12)
    assert row["propellant_used_1"] == pytest.approx(hop.used, rel=1e-9)
    assert row["water_mined_1"] == pytest.approx(hop.mined_water, rel=1e-6)
    assert row["energy_1"] == pytest.approx(hop.energy, rel=1e-6)
    # mass lost on the way is what left through nozzles and vents; the rest landed
    out = (
        hop.launch * (1.0 - hop.store_kept)
        + hop.landing * (1.0 - hop.store_kept)
        + hop.cruise * (1.0 - hop.kept)
    )
    assert hop.landing_mass + out == pytest.approx(row["wet_mass"], rel=1e-12)


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_tanks_of_the_cost_of_the_hop_just_suffice(case: tuple[str, ...]) -> None:
    none = {"delta_v_margin": 0.0, "propellant_reserve": 0.0, "propellant_residual": 0.0}
    row, _ = answer(case, **EXACT, **none)
    for _ in range(8):  # slow spirals change with the mass
        row, _ = answer(case, **EXACT, **none, hop_delta_v_capacity=row["delta_v_1"])
    assert row["margin_water_1"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("case", CASES[:6], ids="-".join)
def test_dry_mass_is_the_grown_items_and_the_system_margin(case: tuple[str, ...]) -> None:
    row, numbers = answer(case)
    items = "structure array battery electrolyser extraction tank thruster landing_engine thermal".split()
    grown = sum(row[f"{item}_mass"] * (1.0 + numbers[f"growth_{item}"]) for item in items)
    nominal = row["payload_mass"] + row["consumables_mass"] + grown
    assert row["dry_mass"] == pytest.approx(nominal * (1.0 + row["system_margin"]), rel=1e-9)
