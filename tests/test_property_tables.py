"""Oracle: the shipped property tables beside the programs that made them, and independent equations."""

from __future__ import annotations

import importlib
from collections.abc import Iterator

import numpy as np
import pytest

from tradespace.constants import value
from tradespace.physics import combustion, detonation, electrolysis, storage, water
from tradespace.tables import read_table

TWO_FARADAY = 2.0 * value("faraday_constant")


@pytest.fixture(scope="module")
def props():  # type: ignore[no-untyped-def]
    return pytest.importorskip("CoolProp.CoolProp").PropsSI


def test_water_splitting_voltages_match_the_species_data() -> None:
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.water_split")
    temperature = np.linspace(273.15, 423.15, 60)
    gibbs, enthalpy = make.split_functions(temperature)
    assert electrolysis.standard_reversible_voltage(temperature) == pytest.approx(
        gibbs / TWO_FARADAY, abs=1e-5
    )
    assert electrolysis.thermoneutral_voltage(temperature) == pytest.approx(enthalpy / TWO_FARADAY, abs=2e-5)


def test_shipped_water_splitting_row_is_what_the_script_makes() -> None:
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.water_split")
    (row,) = read_table("water_split.csv").rows
    t = np.linspace(273.15, 423.15, 50)
    terms = np.stack([t**0, t, t * np.log(t), t**2, t**3, t**4], axis=1)
    shipped = terms @ np.array([float(row[f"c{i}"]) for i in range(6)])
    assert terms @ make.fit() == pytest.approx(shipped, abs=0.1)  # J/mol of some 230 000


def test_reversible_voltage_agrees_with_the_classic_fit() -> None:
    temperature = np.linspace(273.15, 373.15, 60)
    bar_to_atmosphere = (
        1.5 * value("gas_constant") * temperature / TWO_FARADAY * np.log(value("standard_atmosphere") / 1e5)
    )
    ours = electrolysis.standard_reversible_voltage(temperature) + bar_to_atmosphere
    assert ours == pytest.approx(electrolysis.leroy_1980(temperature), abs=1e-4)


def test_oxygen_table_matches_the_reference_equation() -> None:
    pytest.importorskip("CoolProp")
    make = importlib.import_module("tradespace.data.make.gas_properties")
    rng = np.random.default_rng(7)
    temperature, pressure = rng.uniform(200.0, 400.0, 150), np.exp(rng.uniform(np.log(1e5), np.log(1e8), 150))
    expected = [make.oxygen_compressibility(t, p) for t, p in zip(temperature, pressure, strict=True)]
    assert storage.oxygen_compressibility(temperature, pressure) == pytest.approx(expected, rel=1e-3)


def test_hydrogen_equation_matches_the_reference_equation(props) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(8)
    temperature, pressure = rng.uniform(200.0, 400.0, 150), np.exp(rng.uniform(np.log(1e5), np.log(1e8), 150))
    expected = props("D", "T", temperature, "P", pressure, "Hydrogen")
    assert storage.hydrogen_density(temperature, pressure) == pytest.approx(expected, rel=1e-3)


def test_steam_series_matches_the_reference_equation(props) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(9)
    temperature = rng.uniform(380.0, 1100.0, 200)
    top = np.array([2e7 if t > 638.0 else props("P", "T", t, "Q", 1, "Water") for t in temperature])
    pressure = top * rng.uniform(0.02, 0.999, 200)
    expected = props("D", "T", temperature, "P", pressure, "Water")
    assert storage.steam_density(temperature, pressure) == pytest.approx(expected, rel=1e-3)


def test_saturation_pressure_matches_the_reference_equation(props) -> None:  # type: ignore[no-untyped-def]
    temperature = np.linspace(273.2, 646.0, 100)
    expected = props("P", "T", temperature, "Q", 1, "Water")
    assert water.saturation_pressure(temperature) == pytest.approx(expected, rel=2e-4)


ALLOWED = 1e-3  # agreed error of every shipped table
POINTS = 200


def gas_points(count: int, seed: int) -> Iterator[tuple[float, float, float]]:
    """Mixture ratio, chamber pressure and area ratio off the nodes, half of them near stoichiometry."""
    draw = np.random.default_rng(seed)
    for place in range(count):
        ratio = draw.uniform(6.5, 9.5) if place % 2 else draw.uniform(1.0, 16.0)
        pressure, area = np.exp(draw.uniform(np.log([5e4, 5.0]), np.log([1e7, 200.0])))
        yield float(ratio), float(pressure), float(area)


def test_dry_combustion_tables_match_fresh_equilibrium() -> None:
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.combustion")
    gravity = value("standard_gravity")
    for place, (ratio, pressure, area) in enumerate(gas_points(POINTS, 31)):
        kind = make.KINDS[place % 3]
        fresh = make.nozzle_performance(ratio, pressure, area, kind)
        pairs = [
            (combustion.specific_impulse_vacuum(ratio, pressure, area, kind) * gravity,
             fresh.exhaust_velocity_vacuum),
            (combustion.characteristic_velocity(ratio, pressure, kind), fresh.characteristic_velocity),
            (combustion.chamber_temperature(ratio, pressure), fresh.chamber_temperature),
            (combustion.molar_mass(ratio, pressure), fresh.molar_mass),
            (combustion.heat_capacity_ratio(ratio, pressure), fresh.heat_capacity_ratio),
        ]  # fmt: skip
        for ours, theirs in pairs:
            assert float(ours) == pytest.approx(theirs, rel=ALLOWED), (ratio, pressure, area, kind)


def test_wet_and_cooled_combustion_tables_match_fresh_equilibrium() -> None:
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.combustion_feed")
    kinds = importlib.import_module("tradespace.data.make.combustion").KINDS
    draw = np.random.default_rng(32)
    gravity = value("standard_gravity")
    for place, (ratio, pressure, area) in enumerate(gas_points(POINTS, 33)):
        feed = float(draw.uniform(0.0, 0.17)), float(draw.uniform(-0.04, 0.2))
        kind = kinds[place % 3]
        fresh = make.wet_nozzle_performance(ratio, pressure, area, kind, *feed)
        pairs = [
            (combustion.specific_impulse_vacuum(ratio, pressure, area, kind, *feed) * gravity,
             fresh.exhaust_velocity_vacuum),
            (combustion.characteristic_velocity(ratio, pressure, kind, *feed), fresh.characteristic_velocity),
            (combustion.chamber_temperature(ratio, pressure, *feed), fresh.chamber_temperature),
            (combustion.molar_mass(ratio, pressure, *feed), fresh.molar_mass),
            (combustion.heat_capacity_ratio(ratio, pressure, *feed), fresh.heat_capacity_ratio),
        ]  # fmt: skip
        for ours, theirs in pairs:
            assert float(ours) == pytest.approx(theirs, rel=ALLOWED), (ratio, pressure, area, kind, feed)


def test_detonation_table_matches_fresh_waves() -> None:
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.detonation")
    draw = np.random.default_rng(34)
    for ratio, _, _ in gas_points(POINTS, 35):
        pressure = float(np.exp(draw.uniform(np.log(1e4), np.log(3e6))))
        place = ratio, pressure, float(draw.uniform(200.0, 500.0)), float(draw.uniform(0.0, 0.3))
        wave, burst = make.detonation(*place), make.constant_volume_explosion(*place)
        pairs = [
            (detonation.detonation_speed(*place), wave.speed),
            (detonation.detonation_temperature(*place), wave.temperature),
            (detonation.detonation_pressure_ratio(*place), wave.pressure_ratio),
            (detonation.detonation_density_ratio(*place), wave.density_ratio),
            (detonation.detonation_molar_mass(*place), wave.molar_mass),
            (detonation.detonation_exponent(*place), wave.isentropic_exponent),
            (detonation.explosion_temperature(*place), burst["temperature"]),
            (detonation.explosion_pressure_ratio(*place), burst["pressure"] / pressure),
        ]
        for ours, theirs in pairs:
            assert float(ours) == pytest.approx(theirs, rel=ALLOWED), place


def test_flame_table_matches_fresh_flames() -> None:
    """A few only, for each takes seconds; between the nodes the flame itself is known to 15 % at best."""
    pytest.importorskip("cantera")
    make = importlib.import_module("tradespace.data.make.flame")
    for fraction, pressure in ((0.55, 1.5e5), (0.7, 4e5)):
        fresh = make.laminar_flame_speed(fraction, pressure)
        assert float(combustion.laminar_flame_speed(fraction, pressure)) == pytest.approx(fresh, rel=0.03)


@pytest.mark.parametrize(
    "name",
    ["physics_values", "water_coefficients", "water_split", "gas_hydrogen", "gas_oxygen", "gas_steam",
     "electrolysis_cells", "electrolysis_voltage"],
)  # fmt: skip
def test_every_row_says_where_it_comes_from(name: str) -> None:
    grades = {"defined", "measured", "reviewed", "computed", "estimated", "assumed"}
    for row in read_table(f"{name}.csv").rows:
        assert row["source"], row["name"]
        assert row["where"], row["name"]
        assert row["grade"] in grades, row["name"]
