"""The readings of the invented bench: reproducible, labelled, possible, and not made by the model fitted to them."""

from __future__ import annotations

import time

import numpy as np
import pytest

from tradespace.bench.channels import channels
from tradespace.bench.demo import FOLDER, demo_names, demo_path
from tradespace.bench.instruments import by_class
from tradespace.bench.readings import parse_readings, read_readings
from tradespace.constants import value
from tradespace.data.make import bench_cell, bench_engine
from tradespace.data.make.bench_log import Log
from tradespace.data.make.bench_readings import (
    ALKALINE,
    BENCHES,
    CHAIN_ENGINE,
    MEMBRANE,
    THIN_PLATES,
    bench_truth,
    shipped,
)
from tradespace.errors import UnknownNameError
from tradespace.physics.electrolysis import bypass_current
from tradespace.units import conversion

HIGHER_PER_KG = value("reaction_enthalpy_water") / value("molar_mass_water")


def test_generator_reproduces_the_shipped_files() -> None:
    files = shipped()
    assert {path.name for path in FOLDER.iterdir()} == set(files)
    for name, text in files.items():
        assert (FOLDER / name).read_bytes() == text.encode("utf-8"), name
    assert {name.rsplit(".", 1)[1] for name in files} == {"csv", "toml"}


@pytest.mark.parametrize("name", BENCHES)
def test_shipped_readings_are_read_whole_and_say_that_they_are_invented(name: str) -> None:
    read = read_readings(demo_path(name))
    assert read.invented
    assert "invented" in read.title
    assert "Invented readings" in read.notes
    assert "local codes and licensed practice" in read.notes
    assert read.remarks == ()
    assert 30 <= read.points <= 400
    assert (
        (FOLDER / demo_path(name).name)
        .read_text(encoding="utf-8")
        .startswith(("# invented", "# invented = true"))
    )
    text, _ = bench_truth(8, name)
    same = parse_readings(text)
    assert set(same.columns) == set(read.columns)
    for channel, column in read.columns.items():
        assert same.columns[channel] == pytest.approx(column, rel=1e-12)
    assert same.words == read.words


def test_names_resolve() -> None:
    assert demo_names() == tuple(sorted(BENCHES))
    with pytest.raises(UnknownNameError, match="'thin_plates'"):
        demo_path("thin_plate")


SHARES = (
    "faradaic_efficiency voltage_efficiency cell_gas_loss characteristic_velocity_efficiency "
    "thrust_coefficient_efficiency wall_heat_share discharge_coefficient"
).split()


@pytest.mark.parametrize("name", BENCHES)
def test_truth_lies_inside_physical_bounds(name: str) -> None:
    for seed in range(6):
        text, truth = bench_truth(seed, name)
        for share in SHARES:
            assert 0.0 < truth.get(share, 0.5) < 1.0, share
        for factor in ("cell_ohmic_factor", "cell_activation_factor"):
            assert 0.7 < truth.get(factor, 1.0) < 1.4, factor
        assert truth.get("cell_bypass_conductance", 0.0) >= 0.0
        if "thrust" in truth:
            # energy: thrust below that of a jet holding all the energy of what burns
            assert truth["thrust"] < truth["mass_flow"] * np.sqrt(2.0 * HIGHER_PER_KG)
            assert truth["specific_impulse"] < truth["specific_impulse_vacuum"] < 400.0
            velocity = truth["thrust"] / truth["mass_flow"] / value("standard_gravity")
            assert velocity == pytest.approx(truth["specific_impulse"], rel=0.05)
        read = parse_readings(text)
        assert not [remark for remark in read.remarks if "suspect" in remark]
        assert read.invented


def test_thrust_in_the_open_cannot_be_and_that_in_vacuum_can() -> None:
    read = read_readings(demo_path("sea_level_engine"))
    thrust, power = read.column("thrust"), read.column("supply_power")
    flow = read.column("water_rate")
    assert thrust.mean() == pytest.approx(1.0, rel=0.02)
    assert (thrust > np.sqrt(2.0 * flow * 0.41 * power)).all()
    assert power.mean() == pytest.approx(5800.0, rel=0.02)
    assert read.column("throat_diameter")[0] == pytest.approx(1.5e-3, rel=0.02)
    assert (read.column("chamber_pressure") > 1.89 * read.column("ambient_pressure")).mean() < 1.0
    # choked: both exponents agree above 0.79 bar gauge
    assert (read.column("chamber_pressure") - read.column("ambient_pressure")).mean() > 0.79e5
    engine = read_readings(demo_path("vacuum_engine"))
    lit = engine.column("lit") > 0.5
    force = (engine.column("balance_force") - engine.column("tare_force")) / engine.column("lever_ratio")
    impulse = force / engine.column("mass_flow") / value("standard_gravity")
    assert (impulse[lit] < 387.0).all()
    assert (impulse[lit] > 200.0).all()
    assert (impulse[~lit] * value("standard_gravity") < 1192.0).all()  # cold gas at 293 K


def test_heights_of_a_cell_share_the_current_at_one_voltage() -> None:
    density = np.linspace(1000.0, 4000.0, 7)
    for build, inlet, pressure in (
        (ALKALINE, 341.0, 1.2e5),
        (MEMBRANE, 333.0, 5e5),
        (THIN_PLATES, 322.0, 1.05e5),
    ):
        truth = bench_cell.cell_truth(build, density, np.full(7, inlet), np.full(7, pressure))
        parts = truth.reversible + truth.activation + truth.ohmic
        assert parts == pytest.approx(truth.voltage, rel=1e-9)
        assert (np.diff(truth.voltage) > 0.0).all()
        assert (truth.efficiency < 1.0).all()
        calm = bench_cell.cell_truth(
            ALKALINE.__class__(**{**build.__dict__, "bubbles": 1e-9}),
            density,
            np.full(7, inlet),
            np.full(7, pressure),
        )
        assert (calm.ohmic < truth.ohmic).all()  # gas narrows the liquid


def test_rate_law_is_inverted() -> None:
    density = np.geomspace(1.0, 2e4, 30)
    exchange, forward, back = 12.0, 0.7, 0.45
    voltage, slope = bench_cell._overvoltage(density, (exchange, forward, back), np.full(30, 340.0))
    scale = bench_cell.FARADAY / (bench_cell.GAS * 340.0)
    assert exchange * (np.exp(forward * scale * voltage) - np.exp(-back * scale * voltage)) == pytest.approx(
        density
    )
    assert np.gradient(voltage, density)[1:-1] == pytest.approx(slope[1:-1], rel=0.1)


def test_ladder_of_ducts_agrees_with_the_closed_form() -> None:
    for cells, port, segment in ((7, 16.0, 44.0), (3, 100.0, 1.0), (20, 5.0, 0.5)):
        assert bench_cell._ladder(cells, port, segment) == pytest.approx(
            float(bypass_current(cells, 1.0, port, segment)), rel=1e-9
        )


def test_generator_is_not_the_model_that_is_fitted() -> None:
    density = np.linspace(1000.0, 4000.0, 13)
    truth = bench_cell.cell_truth(ALKALINE, density, np.full(13, 341.0), np.full(13, 1.2e5))
    record = bench_cell._record(ALKALINE)
    parts, _ = bench_cell._modelled(record, density, truth.temperature, np.full(13, 1.2e5))
    basis = np.stack([parts[:, 1], parts[:, 2]], axis=1)
    wanted = truth.voltage - parts[:, 0]
    left = wanted - basis @ np.linalg.lstsq(basis, wanted, rcond=None)[0]
    assert 1e-5 < np.abs(left).max() < 0.01


def test_wall_warms_up_and_takes_less() -> None:
    since = np.array([0.0, 5.0, 10.0, 30.0, 100.0, 1000.0])
    truth = bench_engine.engine_truth(
        CHAIN_ENGINE, np.full(6, 50e-6), np.full(6, 40.0), since, np.full(6, 293.0)
    )
    assert (np.diff(truth.wall_heat) < 0.0).all()
    assert (np.diff(truth.pressure) > 0.0).all()
    cold = bench_engine.engine_truth(
        CHAIN_ENGINE, np.full(2, 50e-6), np.full(2, 40.0), np.array([-1.0, 1000.0]), np.full(2, 293.0)
    )
    assert 2.4 < cold.pressure[1] / cold.pressure[0] < 3.3
    slow, fast = (
        bench_engine.engine_truth(
            CHAIN_ENGINE, np.full(1, flow), np.full(1, 40.0), np.full(1, 1000.0), np.full(1, 293.0)
        ).parameters
        for flow in (40e-6, 80e-6)
    )
    for better in (
        "thrust_coefficient_efficiency",
        "discharge_coefficient",
        "characteristic_velocity_efficiency",
    ):
        assert fast[better] > slow[better]
    assert fast["wall_heat_share"] < slow["wall_heat_share"]


def test_instruments_err_as_much_as_their_classes_say() -> None:
    true = np.full(120, 0.15)
    off, scatter = [], []
    for seed in range(150):
        log = Log(np.random.default_rng(seed), true.size)
        log.read("thrust", true)
        factor, _ = conversion(channels()["thrust"].display_unit, "N")
        error = factor * np.array([float(cell) for cell in log.columns["thrust"]]) - true
        off.append(error.mean())
        scatter.append(np.diff(error).std())
    random, systematic = (float(part[0]) for part in by_class("thrust", true))
    assert np.std(off) == pytest.approx(systematic, rel=0.15)
    assert (
        0.6 * random < np.mean(scatter) < 1.3 * random
    )  # remembered noise: its steps are smaller than those of white


def test_same_seed_same_bench_and_quickly() -> None:
    assert bench_truth(3)[0] == bench_truth(3)[0]
    assert bench_truth(3)[0] != bench_truth(4)[0]
    began = time.perf_counter()
    for seed in range(10):
        bench_truth(seed)
    assert time.perf_counter() - began < 0.5
