"""Oracle: the shipped property tables beside the programs that made them, and independent equations."""

from __future__ import annotations

import importlib

import numpy as np
import pytest

from tradespace.constants import value
from tradespace.physics import electrolysis, storage, water
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
