"""Other libraries compute the same: water on its vapour line, steam and its splitting, real gases in the cell."""

from __future__ import annotations

import numpy as np
import pytest

from tradespace.constants import value
from tradespace.physics import electrolysis, water

TWO_FARADAY = 2.0 * value("faraday_constant")
GAS = value("gas_constant")
TRIPLE = value("water_triple_temperature", "physics_values.csv")


@pytest.fixture(scope="module")
def props():  # type: ignore[no-untyped-def]
    return pytest.importorskip("CoolProp.CoolProp").PropsSI


@pytest.mark.parametrize(
    ("ours", "letter", "tolerance"),
    [(water.liquid_density, "D", 1e-3), (water.saturation_pressure, "P", 1e-4)],
)
def test_liquid_water_matches_the_reference_equation(  # type: ignore[no-untyped-def]
    props, ours, letter: str, tolerance: float
) -> None:
    temperature = np.linspace(273.16, 640.0, 60)
    expected = [props(letter, "T", t, "Q", 0, "Water") for t in temperature]
    assert ours(temperature) == pytest.approx(expected, rel=tolerance)
    cool = temperature < 373.15  # where craft keep it
    assert ours(temperature[cool]) == pytest.approx(np.array(expected)[cool], rel=1e-4)


def test_heats_of_water_match_the_reference_equation(props) -> None:  # type: ignore[no-untyped-def]
    temperature = np.linspace(273.16, 640.0, 60)
    liquid, vapour = (
        np.array([props("H", "T", t, "Q", quality, "Water") for t in temperature]) for quality in (0, 1)
    )
    assert water.vaporisation_heat(temperature) == pytest.approx(vapour - liquid, rel=8e-4)
    assert water.liquid_heat(TRIPLE, temperature[5:]) == pytest.approx(liquid[5:] - liquid[0], rel=5e-4)


def test_sublimation_pressure_and_heat_obey_the_relation_of_clapeyron() -> None:
    """Two sources: the slope of the pressure of one must be the heat of the other."""
    temperature = np.linspace(60.0, 272.0, 50)
    step = 0.05
    low, high = (np.log(water.sublimation_pressure(temperature + d)) for d in (-step, step))
    slope = (high - low) / (2.0 * step)
    heat = slope * GAS * temperature**2 / value("molar_mass_water")
    warm = temperature > 110.0  # the range of the heat's own fit
    assert heat[warm] == pytest.approx(water.sublimation_heat(temperature[warm]), rel=1e-3)
    assert heat == pytest.approx(water.sublimation_heat(temperature), rel=5e-3)


def test_voltages_of_steam_match_the_species_data() -> None:
    cantera = pytest.importorskip("cantera")
    species = {item.name: item.thermo for item in cantera.Species.list_from_file("nasa_gas.yaml")}
    hydrogen, oxygen, steam = (species[name] for name in ("H2", "O2", "H2O"))
    temperature = np.linspace(300.0, 1400.0, 40)
    enthalpy = np.array([hydrogen.h(t) + 0.5 * oxygen.h(t) - steam.h(t) for t in temperature]) / 1e3
    entropy = np.array([hydrogen.s(t) + 0.5 * oxygen.s(t) - steam.s(t) for t in temperature]) / 1e3
    gibbs = enthalpy - temperature * entropy
    assert electrolysis.steam_reversible_voltage(temperature) == pytest.approx(gibbs / TWO_FARADAY, abs=2e-4)
    neutral = electrolysis.steam_thermoneutral_voltage(temperature)
    assert neutral == pytest.approx(enthalpy / TWO_FARADAY, abs=5e-4)


@pytest.mark.parametrize("temperature", [298.15, 333.15, 353.15])
def test_real_gas_and_squeezed_liquid_hardly_change_the_voltage(  # type: ignore[no-untyped-def]
    props, temperature: float
) -> None:
    grid = np.linspace(1e3, 8e7, 1500)
    fugacity = [
        np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(grid))])
        for slope in (
            (np.array([props("Z", "T", temperature, "P", p, gas) for p in grid]) - 1.0) / grid
            for gas in ("Hydrogen", "Oxygen")
        )
    ]
    gases = GAS * temperature * (fugacity[0] + 0.5 * fugacity[1])
    liquid = value("molar_mass_water") / float(water.liquid_density(temperature)) * grid
    change = np.abs(gases - liquid) / TWO_FARADAY
    assert change[grid <= 2e7].max() < 1e-3
    assert change.max() < 1.3e-3
    assert np.abs(gases).max() / TWO_FARADAY > 3e-3  # neither is small alone


def test_enthalpy_is_work_and_heat_together() -> None:
    temperature = np.linspace(274.0, 420.0, 12)
    work = electrolysis.splitting_gibbs_energy(temperature)
    heat = temperature * electrolysis.splitting_entropy(temperature)
    assert work + heat == pytest.approx(electrolysis.splitting_enthalpy(temperature), rel=1e-12)
    slope = np.gradient(electrolysis.splitting_gibbs_energy(temperature), temperature, edge_order=2)
    assert slope == pytest.approx(-electrolysis.splitting_entropy(temperature), rel=2e-3)
    at = value("standard_temperature")
    assert float(electrolysis.splitting_enthalpy(at)) == pytest.approx(
        value("reaction_enthalpy_water"), rel=1e-4
    )


def test_water_fed_cold_is_warmed_by_the_cell(props) -> None:  # type: ignore[no-untyped-def]
    """The classic fit lies above the reaction alone by the heat that warms real water from 25 degC."""
    temperature = np.linspace(298.15, 372.0, 12)
    real = np.array([props("HMOLAR", "T", t, "P", 1.1e5, "Water") for t in temperature])
    gain = electrolysis.cold_feed_voltage(temperature) - electrolysis.thermoneutral_voltage(temperature)
    assert gain * TWO_FARADAY == pytest.approx(real - real[0], abs=30.0)  # J/mol of 5600
