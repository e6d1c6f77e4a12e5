"""Limits and properties of water and its extraction: balance, direction, the engine's kernel beside its parts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.physics import extraction, water
from tradespace.physics.extraction.regolith import share_kernel
from tradespace.tables import read_table
from tradespace.units import to_si

settings.register_profile("extraction", deadline=None, max_examples=30, derandomize=True)
settings.load_profile("extraction")

TRIPLE = value("water_triple_temperature", "physics_values.csv")
KWH = 3.6e6

fractions = st.floats(0.005, 0.95)
shares = st.floats(0.05, 1.0)
cold = st.floats(30.0, 200.0)
steps = st.floats(1.0, 70.0)


# --- water and ice --------------------


@given(st.floats(5.0, 270.0), st.floats(0.1, 3.0))
def test_heat_of_ice_is_the_integral_of_its_heat_capacity(temperature: float, step: float) -> None:
    end = min(temperature + step, TRIPLE)
    grid = np.linspace(temperature, end, 101)
    expected = np.trapezoid(water.ice_heat_capacity(grid, 0.0), grid)
    assert water.ice_heat(temperature, end) == pytest.approx(expected, rel=1e-4)


@given(st.floats(10.0, 270.0), st.floats(1e5, 1e8))
def test_ice_is_denser_when_colder_or_squeezed(temperature: float, pressure: float) -> None:
    density = float(water.ice_density(temperature, pressure))
    assert water.ice_density(temperature, 1.5 * pressure) > density
    assert 916.0 < density < 960.0
    if temperature > 80.0:  # colder ice hardly expands
        assert water.ice_density(temperature - 5.0, pressure) > density


@given(st.floats(0.0, 273.0), st.floats(274.0, 370.0))
def test_melting_costs_less_than_driving_off_vapour(ice: float, hot: float) -> None:
    heat = water.melting_heat(ice, hot)
    assert heat > value("water_fusion_heat", "physics_values.csv")
    assert heat < water.ice_heat(ice, TRIPLE) + water.sublimation_heat(TRIPLE)


def test_three_heats_close_at_the_triple_point() -> None:
    fusion = value("water_fusion_heat", "physics_values.csv")
    assert water.sublimation_heat(TRIPLE) == pytest.approx(
        fusion + float(water.vaporisation_heat(TRIPLE)), rel=2e-4
    )


def test_vaporisation_heat_vanishes_at_the_critical_point() -> None:
    temperature = np.array([300.0, 400.0, 500.0, 600.0, 640.0, 647.0, 647.096])
    heat = water.vaporisation_heat(temperature)
    assert (np.diff(heat) < 0.0).all()
    assert heat[-1] == pytest.approx(0.0, abs=1.0)


def test_vapour_pressure_ends_at_the_critical_point_in_an_array_too() -> None:
    critical = value("water_critical_temperature", "physics_values.csv")
    pressure = water.saturation_pressure(np.array([273.15, 500.0, critical]))
    assert (np.diff(pressure) > 0.0).all()
    assert pressure[-1] == pytest.approx(value("water_critical_pressure", "physics_values.csv"), rel=1e-12)
    assert water.saturation_pressure_kernel(900.0) == pressure[-1]


def test_water_is_densest_near_four_degrees() -> None:
    temperature = np.linspace(273.16, 290.0, 400)
    densest = temperature[np.argmax(water.liquid_density(temperature))]
    assert densest == pytest.approx(277.13, abs=0.5)


@given(st.floats(100.0, 273.16))
def test_ice_fits_into_a_vessel_filled_as_far_as_allowed(temperature: float) -> None:
    growth = float(water.freezing_expansion(temperature))
    assert 0.06 < growth < 0.0911
    with_ice = water.liquid_density(TRIPLE) / water.ice_density(temperature, 611.657)
    assert with_ice == pytest.approx(1.0 + growth, rel=1e-12)


# --- soil and rock --------------------


@given(st.floats(30.0, 1000.0), steps, steps)
def test_heat_of_rock_adds_up_over_steps(first: float, one: float, two: float) -> None:
    whole = extraction.regolith_heat(first, first + one + two)
    parts = extraction.regolith_heat(first, first + one) + extraction.regolith_heat(
        first + one, first + one + two
    )
    assert whole == pytest.approx(parts, rel=1e-9)


def test_heat_capacity_of_rock_goes_on_without_a_step() -> None:
    temperature = np.arange(30.0, 1199.0)
    capacity = extraction.regolith_heat(temperature, temperature + 1.0)
    assert (np.diff(capacity) > 0.0).all()
    assert np.abs(np.diff(capacity)).max() < 4.0  # J/(kg K) a kelvin
    at_900 = float(extraction.regolith_heat(899.5, 900.5))
    assert 1050.0 < at_900 < 1250.0


def test_heat_capacity_of_the_minerals_is_that_of_their_tables() -> None:
    """Anorthite 211.4 and diopside 166.5 J/(mol K) at 298.15 K, half of each by mass (robie_1995, from memory)."""
    (row,) = (r for r in read_table("water_coefficients.csv").rows if r["name"] == "rock_heat_capacity_shape")
    c0, c1, c2, c3 = (float(row[f"c{i}"]) for i in range(4))
    t = 298.15
    ours = c0 + c1 / math.sqrt(t) + c2 / t**2 + c3 / t**3
    assert ours == pytest.approx(0.5 * (211.4 / 0.27821 + 166.5 / 0.21655), rel=2e-3)


@given(fractions, cold, st.floats(220.0, 273.0))
def test_rock_needs_more_heat_than_ice(fraction: float, start: float, release: float) -> None:
    ice = extraction.icy_regolith_heat(fraction, start, release)
    bound = extraction.hydrated_mineral_heat(fraction, start, 573.0, 3.0e6)
    assert bound > ice
    assert (
        extraction.hydrated_mineral_heat(1.1 * fraction if fraction < 0.9 else 1.0, start, 573.0, 3.0e6)
        < bound
    )
    assert bound > 3.0e6
    published = extraction.hydrated_mineral_heat(0.05, 298.15, 873.0, extraction.bound_water_heat(79e3))
    assert 4.3 * KWH < published < 4.7 * KWH  # serpentine at 5 %


@given(fractions, cold)
def test_melting_soil_costs_less_than_boiling_its_ice_off(fraction: float, start: float) -> None:
    melted = extraction.icy_regolith_melting_heat(fraction, start, TRIPLE)
    assert melted < extraction.icy_regolith_heat(fraction, start, TRIPLE)
    assert melted > water.melting_heat(start, TRIPLE) * (1.0 - 1e-12)


def test_clean_ice_has_no_soil_to_warm() -> None:
    assert extraction.icy_regolith_melting_heat(1.0, 100.0, 293.15) == pytest.approx(
        float(water.melting_heat(100.0, 293.15)), rel=1e-12
    )


def test_one_heat_of_sublimation_stands_for_all_temperatures_of_release() -> None:
    constant = value("water_sublimation_heat", "physics_values.csv")
    assert water.sublimation_heat(np.linspace(195.0, 273.0, 40)) == pytest.approx(constant, rel=2.5e-3)


# --- the plant --------------------


@given(fractions, cold, steps, shares, shares)
def test_the_kernel_of_the_engine_gives_the_plain_energy_for_ice(
    fraction: float, start: float, step: float, efficiency: float, capture: float
) -> None:
    plain = extraction.extraction_energy_kernel(fraction, start, start + step, efficiency, capture)
    whole = extraction.water_energy_kernel(
        fraction, start, start + step, 0.0, 1.0, efficiency, capture, 0.0, 0.0
    )
    assert whole == plain


@given(fractions, cold, shares, shares, st.floats(0.0, 1.0))
def test_losses_only_add_energy(
    fraction: float, start: float, efficiency: float, capture: float, ice: float
) -> None:
    ideal = extraction.water_energy(fraction, start, 400.0, 0.0, ice, 1.0, 1.0, 0.0, 0.0)
    real = extraction.water_energy(fraction, start, 400.0, 0.0, ice, efficiency, capture, 0.0, 0.0)
    assert real * efficiency * capture == pytest.approx(float(ideal), rel=1e-12)
    assert real >= ideal
    ends = [
        float(extraction.water_energy(fraction, start, 400.0, 0.0, end, 1.0, 1.0, 0.0, 0.0))
        for end in (0.0, 1.0)
    ]
    assert min(ends) * (1.0 - 1e-12) <= ideal <= max(ends) * (1.0 + 1e-12)


@given(fractions, shares, st.floats(0.0, 4e5), st.floats(0.0, 3e6))
def test_digging_counts_by_soil_and_cleaning_by_water(
    fraction: float, capture: float, digging: float, cleaning: float
) -> None:
    bare = extraction.water_energy(fraction, 100.0, 250.0, 0.0, 1.0, 0.5, capture, 0.0, 0.0)
    full = extraction.water_energy(fraction, 100.0, 250.0, 0.0, 1.0, 0.5, capture, digging, cleaning)
    assert full - bare == pytest.approx(digging / (fraction * capture) + cleaning, rel=1e-6, abs=1e-3)


def test_the_three_scales_differ_tenfold() -> None:
    found = extraction.energies_by_scale(0.05, 100.0, 250.0, 0.5, 0.8)
    assert found["ideal"] < found["plant"] < found["bench_glass_beads"] < found["bench_regolith"]
    assert found["bench_regolith"] > 10.0 * found["plant"]
    share_of_ideal = found["ideal"] / found["bench_regolith"]
    assert 0.02 < share_of_ideal < 0.04


@given(st.floats(274.0, 372.0), st.floats(1.0, 12.0))
def test_effects_share_the_heat_of_a_still(feed: float, effects: float) -> None:
    once = extraction.distillation_energy(feed, 1.0)
    assert extraction.distillation_energy(feed, effects) == pytest.approx(float(once) / effects)
    assert once > water.vaporisation_heat(373.15) * (1.0 - 1e-12)


@given(st.floats(60.0, 270.0), st.floats(0.0, 300.0))
def test_a_colder_trap_rejects_more_of_the_heat_of_warm_vapour(trap: float, excess: float) -> None:
    heat = extraction.cold_trap_heat(trap, trap + excess)
    assert heat >= water.sublimation_heat(trap)
    assert extraction.cold_trap_heat(trap, trap + excess + 1.0) > heat


# --- ends --------------------


def test_pure_minerals_hold_more_water_than_the_options_take() -> None:
    """Two molecules in gypsum (172.17 g/mol) and in serpentine (277.11 g/mol)."""
    held = {"gypsum": 36.031 / 172.17, "serpentine": 36.031 / 277.11}
    rows = read_table("options/water_source.csv").rows
    for row in rows:
        if row["quantity"] == "ice_fraction" and row["option"] in held:
            assert float(to_si(float(row["high"]), row["unit"])) < held[row["option"]]
    assert {row["option"] for row in rows} >= set(held)


WILD = (-1e12, -1.0, 0.0, 1e-12, 0.5, 1.0, 273.16, 1e12)


@pytest.mark.parametrize("number", WILD)
@pytest.mark.parametrize("place", range(9))
def test_the_kernel_of_the_engine_is_finite_whatever_it_is_given(place: int, number: float) -> None:
    arguments = [0.1, 150.0, 250.0, 0.0, 1.0, 0.5, 0.8, 1e5, 1e5]
    arguments[place] = number
    assert math.isfinite(extraction.water_energy_kernel(*arguments))
    assert 0.0 < share_kernel(number) <= 1.0


@pytest.mark.parametrize("name", sorted(name for name in dir(water) if name.endswith("_kernel")))
def test_kernels_of_water_are_finite_whatever_they_are_given(name: str) -> None:
    function = getattr(water, name)
    count = getattr(function, "py_func", function).__code__.co_argcount
    for number in WILD:
        for place in range(count):
            arguments = [200.0] * count
            arguments[place] = number
            assert math.isfinite(function(*arguments)), (name, arguments)


def test_soil_that_is_warmer_than_its_release_is_refused() -> None:
    with pytest.raises(DomainError, match="release temperature 400 K is below the start temperature"):
        extraction.hydrated_mineral_heat(0.1, 500.0, 400.0, 3e6)
    with pytest.raises(DomainError, match=r"is ice 1\.5"):
        extraction.water_energy(0.1, 100.0, 250.0, 0.0, 1.5, 0.5, 0.8, 0.0, 0.0)
