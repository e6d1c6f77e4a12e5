"""Another library computes the same: the shipped tables against fresh Cantera points.

The published rows of NASA RP-1311 example 8 are run with all the others; here are the properties that tie the
shipped table to the program that makes it.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("cantera", reason="the extra `tables` (Cantera) is not installed")

from tradespace.constants import value
from tradespace.data.make import combustion as maker
from tradespace.data.make import combustion_feed as feed_maker
from tradespace.data.make import steam as steam_maker
from tradespace.physics import combustion, electrothermal
from tradespace.physics.combustion_table import limits
from tradespace.physics.nozzle import mach_number, mass_flow_function, thrust_coefficient
from tradespace.physics.water import saturation_pressure
from tradespace.tables import read_table

WORST = 5e-4  # interpolation error allowed in the shipped table


def random_points(count: int, seed: int) -> list[tuple[float, float, float]]:
    """Mixture ratio, pressure and area ratio off the grid, half of them near stoichiometry."""
    draw = np.random.default_rng(seed)
    ratios = np.where(
        np.arange(count) % 2 == 0, draw.uniform(1.0, 16.0, count), draw.uniform(6.5, 9.5, count)
    )
    pressures = np.exp(draw.uniform(*np.log(limits("chamber_pressure")), count))
    areas = np.exp(draw.uniform(*np.log(limits("expansion_ratio")), count))
    return [(float(r), float(p), float(a)) for r, p, a in zip(ratios, pressures, areas, strict=True)]


@pytest.mark.parametrize("point", random_points(16, 24))
@pytest.mark.parametrize("kind", maker.KINDS)
def test_shipped_table_agrees_with_fresh_equilibrium(point: tuple[float, float, float], kind: str) -> None:
    fresh = maker.nozzle_performance(*point, kind)
    ratio, pressure, area = point
    speed = float(combustion.specific_impulse_vacuum(ratio, pressure, area, kind)) * value("standard_gravity")
    assert speed == pytest.approx(fresh.exhaust_velocity_vacuum, rel=WORST)
    shipped = float(combustion.characteristic_velocity(ratio, pressure, kind))
    assert shipped == pytest.approx(fresh.characteristic_velocity, rel=WORST)
    shipped = float(combustion.chamber_temperature(ratio, pressure))
    assert shipped == pytest.approx(fresh.chamber_temperature, rel=WORST)
    assert float(combustion.molar_mass(ratio, pressure)) == pytest.approx(fresh.molar_mass, rel=WORST)
    gamma = float(combustion.heat_capacity_ratio(ratio, pressure))
    assert gamma == pytest.approx(fresh.heat_capacity_ratio, rel=WORST)


def test_shipped_rows_are_what_the_program_writes() -> None:
    rows = read_table("combustion_nozzle.csv").rows
    for row in (rows[len(rows) // 3], rows[2 * len(rows) // 3]):
        for kind in maker.KINDS:
            fresh = maker.nozzle_performance(
                float(row["mixture_ratio"]),
                float(row["chamber_pressure"]),
                float(row["expansion_ratio"]),
                kind,
            )
            written = float(row[f"specific_impulse_vacuum_{kind}"]) * value("standard_gravity")
            assert written == pytest.approx(fresh.exhaust_velocity_vacuum, rel=1e-6)


def test_hydroxyl_has_its_present_formation_enthalpy() -> None:
    gas = maker.new_gas()
    gas.TP = value("standard_temperature"), value("standard_pressure")
    place = gas.species_index("OH")
    molar = gas.standard_enthalpies_RT[place] * value("gas_constant") * value("standard_temperature")
    assert molar == pytest.approx(value("hydroxyl_formation_enthalpy", maker.INPUTS), rel=1e-6)


def test_frozen_expansion_of_a_fresh_gas_agrees_with_the_constant_gamma_nozzle() -> None:
    """Frozen characteristic velocity from the ideal formula with the chamber's own gamma, within 0.1 %."""
    for ratio, pressure in ((4.0, 1e6), (7.937, 1e5), (7.937, 2e6)):
        fresh = maker.nozzle_performance(ratio, pressure, 50.0, "frozen")
        specific = value("gas_constant") / fresh.molar_mass
        ideal = np.sqrt(specific * fresh.chamber_temperature) / mass_flow_function(fresh.heat_capacity_ratio)
        assert float(ideal) == pytest.approx(fresh.characteristic_velocity, rel=1e-3)


def test_thrust_coefficient_of_constant_gamma_is_near_the_frozen_one() -> None:
    """The constant-gamma shortcut is known to lie 1.6 to 2.1 % above frozen at area ratio 50."""
    for ratio in (4.0, 6.0, 7.937):
        fresh = maker.nozzle_performance(ratio, 1e6, 50.0, "frozen")
        shortcut = float(thrust_coefficient(50.0, fresh.heat_capacity_ratio))
        assert 0.0 < shortcut / fresh.thrust_coefficient_vacuum - 1.0 < 0.025
        assert float(mach_number(50.0, fresh.heat_capacity_ratio)) > 3.0


def test_energy_is_conserved_from_reactants_to_chamber() -> None:
    """A hot chamber holds the enthalpy the reactants brought."""
    gas, burned = maker._gaseous(7.937, 1e6)
    gas.TPX = burned.temperature, burned.pressure, burned.mole_fractions
    hot = gas.h
    maker._reactants(gas, 7.937)
    assert hot == pytest.approx(gas.h, abs=1.0)  # of about 1.3e7 J/kg


@pytest.mark.parametrize("temperature", [420.0, 620.0, 870.0])
def test_shipped_steam_table_agrees_with_fresh_points(temperature: float) -> None:
    fresh = steam_maker.steam_specific_impulse(temperature, 100.0)
    speed = float(electrothermal.steam_exhaust_velocity(temperature, 1e5, 100.0))
    assert speed / value("standard_gravity") == pytest.approx(fresh, rel=1e-3)
    heat = float(electrothermal.steam_energy(temperature, 1e5))
    assert heat == pytest.approx(steam_maker.steam_energy(temperature), rel=1e-3)


def test_ideal_steam_heat_is_near_that_of_real_steam() -> None:
    properties = pytest.importorskip(
        "CoolProp.CoolProp", reason="the extra `tables` (CoolProp) is not installed"
    )
    liquid = properties.PropsSI("H", "T", 298.15, "P", 1e5, "Water")
    for temperature, pressure in ((600.0, 1e5), (620.0, 3e6), (1000.0, 1e6)):
        real = properties.PropsSI("H", "T", temperature, "P", pressure, "Water") - liquid
        assert 0.995 < float(electrothermal.steam_energy(temperature, 1e5)) / real < 1.04


def test_the_program_writes_what_the_package_reads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small = {"mixture_ratio": (4.0, 7.937), "chamber_pressure": (1e6,), "expansion_ratio": (30.0, 100.0)}
    monkeypatch.setattr(maker, "series", lambda name, table: small[name])
    maker.main(tmp_path)
    for name in ("combustion_chamber.csv", "combustion_nozzle.csv"):
        lines = [line for line in (tmp_path / name).read_text().splitlines() if not line.startswith("#")]
        written = list(csv.reader(io.StringIO("\n".join(lines))))
        shipped = read_table(name)
        assert tuple(written[0]) == shipped.columns
        place = [row for row in shipped.rows if row["mixture_ratio"] == "7.937"]
        wanted = {tuple(row.values()) for row in place}
        assert tuple(written[-1]) in wanted


def test_the_wet_tables_are_what_the_program_writes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small = {
        "feed_mixture_ratio": (7.937,), "feed_chamber_pressure": (200000.0,),
        "feed_expansion_ratio": (15.0, 50.0), "enthalpy_deficit": (0.0, 0.12),
    }  # fmt: skip
    monkeypatch.setattr(feed_maker, "series", lambda name, table: small[name])
    feed_maker.main(tmp_path)
    for name in ("combustion_feed_chamber.csv", "combustion_feed_nozzle.csv"):
        lines = [line for line in (tmp_path / name).read_text().splitlines() if not line.startswith("#")]
        written = list(csv.reader(io.StringIO("\n".join(lines))))
        shipped = read_table(name)
        assert tuple(written[0]) == shipped.columns
        wanted = {tuple(row.values()) for row in shipped.rows}
        assert all(tuple(row) in wanted for row in written[2:])


def test_energy_of_a_wet_cooled_chamber_is_what_was_left() -> None:
    """Enthalpy of the burned gas: that of the wet reactants less the heat lost, counted species by species."""
    gas, burned = feed_maker._wet(6.0, 1e6, 0.1, 0.05)
    gas.TPX = burned.temperature, burned.pressure, burned.mole_fractions
    hot = gas.h
    dry = 0.9 / 7.0
    gas.TPY = 298.15, 1e5, {"H2": dry, "O2": 6.0 * dry, "H2O": 0.1}
    formed = 6.0 * dry * (1.0 + 2.0 * 2.01588 / 31.9988)  # oxygen is short
    assert hot == pytest.approx(gas.h - 0.05 * formed * 241.826e3 / 18.01528e-3, rel=1e-4)


def nasa(mixture_ratio: float, pressure_bar: float, frozen_from: int) -> tuple[Any, list[int]]:
    """A run of NASA's own program, and the places of area ratios 50 and 100 in its answer."""
    cea = pytest.importorskip("cea", reason="NASA's chemical equilibrium program is not installed")
    names = ["H2", "O2"]
    reactants = cea.Mixture(names)
    solver = cea.RocketSolver(cea.Mixture(names, products_from_reactants=True), reactants=reactants)
    solution = cea.RocketSolution(solver)
    fuel, oxidant = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    weights = reactants.of_ratio_to_weights(oxidant, fuel, mixture_ratio)
    enthalpy = reactants.calc_property(cea.ENTHALPY, weights, np.array([298.15, 298.15])) / cea.R
    solver.solve(
        solution, weights, pressure_bar, [10.0], supar=[50.0, 100.0], hc=enthalpy, iac=True,
        n_frz=frozen_from,
    )  # fmt: skip
    assert solution.ae_at[3:5] == pytest.approx([50.0, 100.0], rel=1e-4)
    return solution, [3, 4]


@pytest.mark.parametrize("ratio", [3.0, 4.0, 5.0, 6.0, 7.0, 7.94])
@pytest.mark.parametrize("pressure", [1.0, 5.0, 10.0])
def test_shipped_tables_agree_with_the_program_of_nasa(ratio: float, pressure: float) -> None:
    for kind, frozen_from in (("equilibrium", 0), ("frozen", 1), ("throat_frozen", 2)):
        theirs, places = nasa(ratio, pressure, frozen_from)
        ours = combustion.specific_impulse_vacuum(ratio, pressure * 1e5, [50.0, 100.0], kind)
        assert ours * value("standard_gravity") == pytest.approx(theirs.Isp_vacuum[places], rel=1e-3)
        velocity = float(combustion.characteristic_velocity(ratio, pressure * 1e5, kind))
        assert velocity == pytest.approx(theirs.c_star[0], rel=1e-3)
    assert float(combustion.chamber_temperature(ratio, pressure * 1e5)) == pytest.approx(
        theirs.T[0], rel=1e-3
    )
    assert 1e3 * float(combustion.molar_mass(ratio, pressure * 1e5)) == pytest.approx(theirs.MW[0], rel=1e-3)


@pytest.mark.parametrize("kind", ["equilibrium", "frozen"])
@pytest.mark.parametrize("pressure", [1e5, 1e6, 5e6])
@pytest.mark.parametrize("ratio", [4.0, 5.0, 7.937])
def test_water_does_not_condense_in_a_wide_nozzle(ratio: float, pressure: float, kind: str) -> None:
    """From mixture ratio 4 on, the whole exit pressure at area ratio 200 is far below that of saturated water."""
    fresh = maker.nozzle_performance(ratio, pressure, 200.0, kind)
    coldest = min(max(fresh.exit_temperature, 273.16), 647.0)
    exit_pressure = pressure / fresh.pressure_ratio
    assert fresh.exit_temperature > 273.16
    assert exit_pressure < 1e-3 * float(saturation_pressure(coldest))
