"""Limits and properties of the links from sunlight to storage: direction, balance, arrays."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError, UnknownNameError
from tradespace.physics import electrolysis, extraction, storage, sunlight, thermal, water

settings.register_profile("chain", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("chain")

AU = value("astronomical_unit")
HEATING_VALUE = value("reaction_enthalpy_water") / value("molar_mass_water")
STOICHIOMETRIC = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
YEAR = 365.25 * 86400.0

distances = st.floats(0.9, 6.0)
temperatures = st.floats(278.15, 363.15)  # of the cell
densities = st.floats(100.0, 10_000.0)
pressures = st.floats(1.0e5, 5.0e7)
steps = st.floats(1.01, 1.5)


def power_density(distance: Any, age: Any = 0.0, loss: Any = 0.08) -> Any:
    return sunlight.array_power_density(
        np.asarray(distance) * AU, 0.298, 301.15, -0.002, 0.92, 1.7, loss, 0.005, age
    )


# --- sunlight --------------------


@given(distances, steps)
def test_power_falls_with_distance_but_slower_than_sunlight(distance: float, step: float) -> None:
    near, far = power_density(distance, loss=0.0), power_density(distance * step, loss=0.0)
    assert far < near
    assert far > near / step**2  # colder cells work better


@given(distances, st.floats(0.0, 20.0), st.floats(0.1, 5.0))
def test_power_falls_with_age_by_the_stated_rate(distance: float, years: float, more: float) -> None:
    young, old = power_density(distance, years * YEAR), power_density(distance, (years + more) * YEAR)
    assert old / young == pytest.approx(0.995**more, rel=1e-12)


def test_low_intensity_loss_starts_at_one_au_and_is_whole_from_three() -> None:
    ratio = power_density([0.8, 1.0, 2.0, 3.0, 5.0], loss=0.1) / power_density(
        [0.8, 1.0, 2.0, 3.0, 5.0], loss=0.0
    )
    assert ratio == pytest.approx([1.0, 1.0, 0.95, 0.9, 0.9], abs=1e-12)


@given(distances, st.floats(0.1, 0.45))
def test_array_temperature_and_efficiency_agree(distance: float, efficiency: float) -> None:
    """The energy balance closes: absorbed sunlight is radiated or delivered."""
    power = float(
        sunlight.array_power_density(distance * AU, efficiency, 301.15, -0.002, 0.92, 1.7, 0.0, 0.0, 0.0)
    )
    flux = float(sunlight.solar_flux(distance * AU))
    temperature = float(sunlight.array_temperature(flux, 0.92, power / flux, 1.7))
    assert power == pytest.approx(flux * efficiency * (1.0 - 0.002 * (temperature - 301.15)), rel=1e-5)
    radiated = float(thermal.radiator_flux(temperature, 0.85, 0.0, 0.0)) * 2.0
    assert radiated + power == pytest.approx(0.92 * flux, rel=1e-9)


def test_array_too_close_to_the_sun_gives_nothing_rather_than_less() -> None:
    assert float(power_density(0.01)) == 0.0


@given(st.floats(10.0, 1e5), st.floats(60.0, 1e6), st.floats(0.1, 0.99))
def test_battery_grows_with_night_and_shrinks_with_depth(load: float, night: float, depth: float) -> None:
    energy = sunlight.night_battery_energy(load, night, depth, 0.9)
    assert sunlight.night_battery_energy(load, 2 * night, depth, 0.9) == pytest.approx(2 * energy)
    assert sunlight.night_battery_energy(load, night, 1.0, 0.9) < energy
    assert energy * depth * 0.9 == pytest.approx(load * night)


@given(st.floats(10.0, 1e6), st.floats(0.05, 0.5))
def test_area_of_power_is_the_inverse_of_the_stated_power(power: float, efficiency: float) -> None:
    area = float(sunlight.area_of_power(power, efficiency))
    assert area * efficiency * value("solar_constant") == pytest.approx(power)


# --- extraction and water --------------------


@given(st.floats(0.005, 0.6), steps, st.floats(40.0, 200.0), st.floats(1.0, 60.0))
def test_heat_falls_with_ice_and_rises_with_the_temperature_step(
    ice: float, step: float, temperature: float, warming: float
) -> None:
    release = temperature + warming
    heat = extraction.icy_regolith_heat(ice, temperature, release)
    assert extraction.icy_regolith_heat(ice * step, temperature, release) < heat
    assert extraction.icy_regolith_heat(ice, temperature, release + 1.0) > heat
    assert heat > value("water_sublimation_heat", "physics_values.csv")


@given(st.floats(0.01, 1.0), st.floats(0.1, 1.0), st.floats(0.1, 1.0))
def test_losses_only_add_energy(ice: float, efficiency: float, capture: float) -> None:
    ideal = extraction.icy_regolith_heat(ice, 120.0, 250.0)
    energy = extraction.extraction_energy(ice, 120.0, 250.0, efficiency, capture)
    assert energy * efficiency * capture == pytest.approx(ideal)
    assert energy >= ideal


@given(st.floats(30.0, 150.0), st.floats(1.0, 100.0), st.floats(1.0, 100.0))
def test_soil_heat_adds_up_over_steps(first: float, one: float, two: float) -> None:
    whole = extraction.regolith_heat(first, first + one + two)
    parts = extraction.regolith_heat(first, first + one) + extraction.regolith_heat(
        first + one, first + one + two
    )
    assert whole == pytest.approx(parts)


@given(st.floats(60.0, 272.0))
def test_vapour_pressure_over_ice_follows_its_heat_of_sublimation(temperature: float) -> None:
    """Clausius-Clapeyron: slope of ln p against 1/T is the molar heat over the gas constant."""
    step = 0.05
    low, high = (float(water.sublimation_pressure(temperature + d)) for d in (-step, step))
    slope = np.log(high / low) / (1.0 / (temperature - step) - 1.0 / (temperature + step))
    heat = slope * value("gas_constant") / value("molar_mass_water")
    assert heat == pytest.approx(float(water.sublimation_heat(temperature)), rel=0.01)


def test_ice_and_water_meet_at_the_triple_point() -> None:
    assert float(water.sublimation_pressure(273.16)) == pytest.approx(611.657, rel=1e-9)
    assert float(water.saturation_pressure(273.16)) == pytest.approx(611.657, rel=3e-4)


# --- electrolysis --------------------


@given(densities, steps, temperatures, st.floats(2.0e5, 5.0e7))
def test_cell_voltage_rises_with_current_and_pressure_and_falls_with_temperature(
    density: float, step: float, temperature: float, pressure: float
) -> None:
    volts = electrolysis.alkaline_cell_voltage(density, temperature, pressure)
    assert electrolysis.alkaline_cell_voltage(density * step, temperature, pressure) > volts
    assert electrolysis.alkaline_cell_voltage(density, temperature, pressure * step) > volts
    assert electrolysis.alkaline_cell_voltage(density, temperature - 3.0, pressure) > volts
    assert volts > electrolysis.reversible_voltage(temperature, pressure)


@given(densities, steps)
def test_faradaic_efficiency_rises_with_current_and_stays_below_one(density: float, step: float) -> None:
    low, high = electrolysis.faradaic_efficiency(density), electrolysis.faradaic_efficiency(density * step)
    assert 0.0 < low < high < 1.0


@given(st.floats(274.0, 420.0))
def test_voltages_obey_gibbs_and_helmholtz(temperature: float) -> None:
    """H = G - T dG/dT, with the slope taken by differences of the shipped function."""
    step = 0.01
    low, high = (float(electrolysis.standard_reversible_voltage(temperature + d)) for d in (-step, step))
    slope = (high - low) / (2 * step)
    gibbs = float(electrolysis.standard_reversible_voltage(temperature))
    assert gibbs - temperature * slope == pytest.approx(
        float(electrolysis.thermoneutral_voltage(temperature)), abs=1e-6
    )


@given(st.floats(1.0, 1e5), st.floats(1.5, 2.5), st.floats(0.5, 1.0))
def test_power_times_efficiency_is_enthalpy_times_rate(power: float, volts: float, faradaic: float) -> None:
    efficiency = electrolysis.efficiency_hhv(volts, faradaic)
    rate = electrolysis.water_rate_of_power(power, efficiency)
    assert rate * HEATING_VALUE == pytest.approx(power * float(efficiency), rel=1e-12)
    assert rate * electrolysis.split_energy(volts, faradaic) == pytest.approx(power, rel=1e-12)
    by_charge = electrolysis.water_split_rate(power / volts, 1, faradaic)
    assert rate == pytest.approx(float(by_charge), rel=1e-12)


@given(st.floats(1.6, 2.5), st.floats(0.5, 1.0), temperatures)
def test_heat_and_chemical_energy_add_up_to_electric_energy(
    volts: float, faradaic: float, temperature: float
) -> None:
    electric = float(electrolysis.split_energy(volts, faradaic))
    enthalpy = 2 * value("faraday_constant") * float(electrolysis.thermoneutral_voltage(temperature))
    heat = electric * float(electrolysis.waste_heat_fraction(volts, faradaic, temperature))
    assert heat + enthalpy / value("molar_mass_water") == pytest.approx(electric, rel=1e-9)


def test_a_cell_below_the_thermoneutral_voltage_rejects_no_heat() -> None:
    assert float(electrolysis.waste_heat_fraction(1.3, 1.0, 353.15)) == 0.0


@given(st.floats(0.1, 1e3), st.integers(1, 100), st.floats(0.1, 1.0))
def test_mass_is_conserved_in_the_split(current: float, cells: int, faradaic: float) -> None:
    gases = electrolysis.hydrogen_rate(current, cells, faradaic) + electrolysis.oxygen_rate(
        current, cells, faradaic
    )
    assert gases == pytest.approx(float(electrolysis.water_split_rate(current, cells, faradaic)), rel=1e-9)


@given(temperatures, st.floats(0.5e6, 5e7), steps)
def test_pressure_term_is_three_quarters_of_a_nernst_decade(
    temperature: float, dry: float, step: float
) -> None:
    vapour = float(water.saturation_pressure(temperature))
    low = electrolysis.reversible_voltage(temperature, vapour + dry)
    high = electrolysis.reversible_voltage(temperature, vapour + dry * step)
    term = 0.75 * value("gas_constant") * temperature / value("faraday_constant") * np.log(step)
    assert high - low == pytest.approx(term, rel=1e-8)


@given(densities, temperatures, pressures)
def test_cell_state_is_the_same_cell(density: float, temperature: float, pressure: float) -> None:
    state = electrolysis.cell_state("alkaline", density, temperature, pressure)
    volts = float(electrolysis.alkaline_cell_voltage(density, temperature, pressure))
    assert state["cell_voltage_v"] == pytest.approx(volts, rel=1e-12)
    assert state["cell_voltage_v"] > state["reversible_voltage_v"]
    energy = float(electrolysis.split_energy(volts, state["faradaic_efficiency"]))
    assert state["water_kg_per_h_per_m2"] == pytest.approx(3600.0 * density * volts / energy, rel=1e-12)
    assert state["efficiency_hhv"] == pytest.approx(HEATING_VALUE / energy, rel=1e-12)


# --- storage and heat --------------------


@given(st.floats(220.0, 390.0), st.floats(1.2e5, 4e7), steps)
def test_gas_fills_less_volume_at_higher_pressure(temperature: float, pressure: float, step: float) -> None:
    volume = storage.stored_gas_volume(temperature, pressure, STOICHIOMETRIC)
    assert storage.stored_gas_volume(temperature, pressure * step, STOICHIOMETRIC) < volume
    assert volume * pressure == pytest.approx(
        float(storage.stored_gas_pv(temperature, pressure, STOICHIOMETRIC))
    )


@given(st.floats(220.0, 390.0), st.floats(1.2e5, 9e7), st.floats(0.0, 20.0))
def test_stored_volume_is_the_sum_of_both_gases(temperature: float, pressure: float, ratio: float) -> None:
    hydrogen = 1.0 / (storage.hydrogen_density(temperature, pressure) * (1.0 + ratio))
    oxygen = ratio / (storage.oxygen_density(temperature, pressure) * (1.0 + ratio))
    volume = storage.stored_gas_volume(temperature, pressure, ratio)
    assert volume == pytest.approx(float(hydrogen + oxygen), rel=1e-12)


def test_gases_become_ideal_at_low_pressure() -> None:
    ideal = 1.5 * value("gas_constant") * 300.0 / value("molar_mass_water")
    assert float(storage.stored_gas_pv(300.0, 1e5, STOICHIOMETRIC)) == pytest.approx(ideal, rel=1e-3)
    assert float(storage.steam_compressibility(800.0, 1e3)) == pytest.approx(1.0, abs=1e-4)


@given(st.floats(480.0, 1050.0), st.floats(0.05, 0.8), steps)
def test_steam_grows_denser_with_pressure_and_thinner_with_heat(
    temperature: float, part: float, step: float
) -> None:
    limit = float(water.saturation_pressure(temperature)) if temperature < 640.0 else 2e7
    pressure = part * limit / step
    dense = storage.steam_density(temperature, pressure)
    assert storage.steam_density(temperature, pressure * step) > dense
    assert storage.steam_density(temperature + 5.0, pressure) < dense
    assert storage.steam_pv(temperature, pressure) * dense == pytest.approx(pressure, rel=1e-9)


@given(st.floats(1e4, 1e6), st.floats(5e3, 6e4), st.floats(1.0, 4.0))
def test_tank_mass_is_proportional(pv: float, performance: float, safety: float) -> None:
    factor = storage.gas_tank_factor(pv, performance, safety)
    assert storage.gas_tank_factor(2 * pv, performance, safety) == pytest.approx(2 * factor)
    assert storage.gas_tank_factor(pv, 2 * performance, safety) == pytest.approx(factor / 2)


@given(st.floats(200.0, 500.0), st.floats(0.1, 1.0), st.floats(0.0, 2000.0), steps)
def test_radiator_sheds_more_when_hotter_and_less_in_sunlight(
    temperature: float, emissivity: float, sunlit: float, step: float
) -> None:
    flux = thermal.radiator_flux(temperature, emissivity, sunlit, 0.2)
    assert thermal.radiator_flux(temperature * step, emissivity, sunlit, 0.2) > flux
    assert thermal.radiator_flux(temperature, emissivity, sunlit + 10.0, 0.2) == pytest.approx(flux - 2.0)


def test_a_radiator_in_strong_sunlight_takes_heat_in() -> None:
    assert float(thermal.radiator_flux(250.0, 0.85, 14000.0, 0.2)) < 0.0


# --- arrays, and what is refused --------------------

ARRAYS: list[tuple[Callable[..., Any], tuple[Any, ...]]] = [
    (sunlight.solar_flux, (np.array([0.7, 1.0, 3.0]) * AU,)),
    (power_density, (np.array([0.7, 1.0, 3.0]),)),
    (sunlight.solar_array_load, (100.0, np.array([50.0, 100.0, 0.0]), 3600.0, 1800.0, 0.8, 0.6)),
    (extraction.extraction_energy, (np.array([0.01, 0.1, 1.0]), 120.0, 250.0, 0.5, 0.8)),
    (water.saturation_pressure, (np.array([280.0, 373.15, 600.0]),)),
    (electrolysis.alkaline_cell_voltage, (np.array([500.0, 3000.0, 9000.0]), 353.15, 1e6)),
    (electrolysis.waste_heat_fraction, (np.array([1.4, 1.8, 2.2]), 0.95, 353.15)),
    (electrolysis.faradaic_efficiency, (np.array([200.0, 3000.0, 9000.0]),)),
    (
        storage.stored_gas_volume,
        (np.array([210.0, 293.0, 399.0]), np.array([1.1e5, 5e6, 9.9e7]), STOICHIOMETRIC),
    ),
    (storage.steam_pv, (np.array([400.0, 620.0, 1000.0]), np.array([1e5, 3e6, 1.9e7]))),
    (thermal.radiator_flux, (np.array([250.0, 300.0, 350.0]), 0.85, 100.0, 0.2)),
]


@pytest.mark.parametrize(("function", "arguments"), ARRAYS, ids=[f.__name__ for f, _ in ARRAYS])
def test_each_array_element_equals_the_scalar(
    function: Callable[..., Any], arguments: tuple[Any, ...]
) -> None:
    whole = function(*arguments)
    assert whole.shape == (3,)
    for index in range(3):
        single = function(*(a[index] if isinstance(a, np.ndarray) else a for a in arguments))
        assert single.shape == ()
        assert float(single) == pytest.approx(float(whole[index]), rel=1e-13)


REFUSED: list[tuple[Callable[..., Any], tuple[Any, ...], str]] = [
    (sunlight.solar_flux, (0.0,), "distance 0 m must be above 0 m"),
    (power_density, (-1.0,), "distance"),
    (sunlight.array_temperature, (1361.0, 0.9, 0.95, 1.7), "efficiency 0.95 is not below the absorptivity"),
    (sunlight.life_degradation, (1.0, 0.0), "ageing rate 1 1/yr"),
    (sunlight.night_battery_energy, (10.0, 10.0, 0.0, 0.9), "depth of discharge 0 lies outside 0 to 1"),
    (extraction.icy_regolith_heat, (0.0, 100.0, 250.0), "ice fraction 0 lies outside"),
    (extraction.icy_regolith_heat, (0.1, 250.0, 100.0), "release temperature 100 K is below"),
    (water.sublimation_pressure, (300.0,), "ice temperature 300 K lies outside 50 to 273.16 K"),
    (
        electrolysis.standard_reversible_voltage,
        (80.0,),
        "cell temperature 80 K lies outside 273.15 to 423.15 K",
    ),
    (electrolysis.reversible_voltage, (393.15, 1e5), "does not keep the water liquid"),
    (electrolysis.alkaline_cell_voltage, (-1.0, 353.15, 1e5), "current density -1 A/m2"),
    (electrolysis.water_rate_of_power, (1.0, 1.5), "efficiency 1.5 is above"),
    (storage.hydrogen_density, (100.0, 1e6), "hydrogen temperature 100 K lies outside 150 to 1000 K"),
    (storage.oxygen_density, (300.0, 2e8), "oxygen pressure 200000000 Pa lies outside"),
    (storage.steam_pv, (400.0, 1e6), "above saturation"),
    (storage.gas_tank_factor, (1e5, 25e3, 0.5), "safety factor 0.5 must be 1 or more"),
    (thermal.radiator_area, (10.0, -5.0), "net radiator flux -5 W/m2"),
    (thermal.radiator_flux, (300.0, float("nan"), 0.0, 0.2), "radiator emissivity nan"),
]


@pytest.mark.parametrize(("function", "arguments", "message"), REFUSED)
def test_what_lies_outside_is_refused_with_value_and_limit(
    function: Callable[..., Any], arguments: tuple[Any, ...], message: str
) -> None:
    with pytest.raises(DomainError, match=message):
        function(*arguments)


def test_one_bad_element_of_an_array_is_named() -> None:
    with pytest.raises(DomainError, match="distance -2 m"):
        sunlight.solar_flux([1.0, -2.0, 3.0])


def test_an_unknown_cell_is_answered_with_its_nearest_name() -> None:
    with pytest.raises(UnknownNameError, match="unknown cell kind 'alkalin'; did you mean 'alkaline'"):
        electrolysis.cell_state("alkalin", 3000.0, 353.15, 1e5)


@pytest.mark.parametrize("change", [{"temperature": 400.0}, {"current_density": 0.0}, {"pressure": 4e4}])
def test_a_cell_outside_its_range_is_refused(change: dict[str, float]) -> None:
    point = {"current_density": 3000.0, "temperature": 353.15, "pressure": 1e5} | change
    with pytest.raises(DomainError):
        electrolysis.cell_state("alkaline", **point)
