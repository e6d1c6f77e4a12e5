"""Limits and properties of the electrolysis cells: directions, closed limits, balances, networks, refusals."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError, UnknownNameError
from tradespace.physics import electrolysis
from tradespace.physics.compiled import kernel
from tradespace.tables import read_table

settings.register_profile("cells", deadline=None, max_examples=25, derandomize=True)
settings.load_profile("cells")

KINDS = electrolysis.KINDS
PLACE = {
    "alkaline": (3000.0, 353.15, 1e5),
    "membrane": (15000.0, 343.15, 3e6),
    "solid_oxide": (6000.0, 1073.15, 1e5),
    "common_duct": (500.0, 323.15, 1e5),
}  # an operating point of each kind
each_kind = pytest.mark.parametrize("kind", KINDS)

densities = st.floats(100.0, 8000.0)
temperatures = st.floats(283.15, 353.15)
pressures = st.floats(1e5, 1e7)


def volts(kind: str, given: dict[str, Any] | None = None, **place: Any) -> float:
    """Cell voltage at the operating point of a kind, some of it replaced."""
    names = ("current_density", "temperature", "pressure")
    return float(
        electrolysis.cell_voltage(
            kind, **{**dict(zip(names, PLACE[kind], strict=True)), **place}, given=given
        )
    )


# --- voltage ---------------------


@each_kind
def test_voltage_is_the_sum_of_its_parts_and_rises_with_current(kind: str) -> None:
    dense = PLACE[kind][0] * np.linspace(0.1, 1.5, 15)
    curve = electrolysis.polarisation_curve(kind, dense, *PLACE[kind][1:])
    total = np.sum([curve[name] for name in electrolysis.PARTS], axis=0)
    np.testing.assert_allclose(curve["cell_voltage"], total, rtol=1e-14)
    assert np.all(np.diff(curve["cell_voltage"]) > 0.0)
    assert all(np.all(curve[name] >= 0.0) for name in electrolysis.PARTS)


@given(densities, temperatures, pressures)
def test_default_alkaline_cell_is_the_published_fit(
    density: float, temperature: float, pressure: float
) -> None:
    fit = float(electrolysis.alkaline_cell_voltage(density, temperature, pressure))
    ours = float(electrolysis.cell_voltage("alkaline", density, temperature, pressure))
    assert ours == pytest.approx(fit, rel=1e-14)
    state = electrolysis.cell_state("alkaline", density, temperature, pressure)
    assert state["faradaic_efficiency"] == pytest.approx(
        float(electrolysis.faradaic_efficiency(density)), rel=1e-14
    )
    heat = electrolysis.waste_heat_fraction(fit, state["faradaic_efficiency"], temperature)
    assert state["heat_to_reject_share"] == pytest.approx(float(heat), rel=1e-12)


@given(st.floats(1e-4, 5e-3), st.floats(0.0, 0.5))
def test_lye_and_gap_enter_as_a_change_from_those_of_the_fit(gap: float, void: float) -> None:
    conductivity = float(electrolysis.electrolyte_conductivity("potassium_hydroxide", 0.30, 353.15))
    added = 3000.0 * gap / (conductivity * float(electrolysis.bubble_factor(void)))
    wide = volts("alkaline", {"electrode_gap": gap, "gas_void_fraction": void})
    assert wide - volts("alkaline") == pytest.approx(added, rel=1e-9)
    weak = volts("alkaline", {"electrolyte_strength": 0.05})
    length = electrolysis.cell_record("alkaline").diaphragm_length
    kappa = float(electrolysis.electrolyte_conductivity("potassium_hydroxide", 0.05, 353.15))
    nernst = [float(electrolysis.caustic_reversible_voltage(353.15, 1e5, lye)) for lye in (0.05, 0.30)]
    expected = 3000.0 * length * (1.0 / kappa - 1.0 / conductivity) + nernst[0] - nernst[1]
    assert weak - volts("alkaline") == pytest.approx(expected, rel=1e-9)


@each_kind
def test_age_and_microgravity_add_to_the_voltage(kind: str) -> None:
    rate = electrolysis.cell_record(kind).ageing_rate
    old = volts(kind, {"operating_time": 3.6e7, "microgravity_overvoltage": 0.05})
    assert old - volts(kind) == pytest.approx(3.6e7 * rate + 0.05, rel=1e-9)
    assert rate > 0.0


def test_concentration_loss_stays_finite_past_the_limit() -> None:
    dense = np.linspace(0.0, 3.0, 601) * 1e4
    loss = np.array([electrolysis.concentration_kernel(i, 1e4, 353.15) for i in dense])
    assert np.all(np.isfinite(loss))
    assert np.all(np.diff(loss) > 0.0)
    assert np.max(np.diff(loss, 2)) < 0.01  # no jump where the straight part begins
    small = float(electrolysis.concentration_overvoltage(1.0, 1e4, 353.15))
    scale = value("gas_constant") * 353.15 / (2.0 * value("faraday_constant"))
    assert small == pytest.approx(1e-4 * scale, rel=1e-3)


@given(st.floats(1e-4, 1e4), st.floats(0.3, 2.0))
def test_activation_is_linear_at_small_and_logarithmic_at_large_current(
    exchange: float, transfer: float
) -> None:
    scale = value("gas_constant") * 333.15 / (transfer * value("faraday_constant"))
    small = electrolysis.activation_overvoltage(1e-5 * exchange, exchange, transfer, 333.15)
    assert small == pytest.approx(scale * 0.5e-5, rel=1e-6)
    low, high = electrolysis.activation_overvoltage(
        [1e4 * exchange, 1e5 * exchange], exchange, transfer, 333.15
    )
    assert high - low == pytest.approx(float(electrolysis.tafel_slope(transfer, 333.15)), rel=1e-6)


# --- electrolytes ----------------


def test_conductivity_of_lye_peaks_where_published() -> None:
    strong = np.linspace(4000.0, 9000.0, 501)
    for temperature, peak in ((298.15, 6100.0), (353.15, 7500.0)):  # gilliam_2007
        best = strong[np.argmax(electrolysis.gilliam_2007(strong, temperature))]
        assert best == pytest.approx(peak, abs=150.0)


@given(st.floats(0.20, 0.34), st.floats(298.15, 353.15))
def test_two_fits_of_lye_agree_at_the_strengths_in_use(strength: float, temperature: float) -> None:
    ours = float(electrolysis.electrolyte_conductivity("potassium_hydroxide", strength, temperature))
    assert ours == pytest.approx(float(electrolysis.see_white_1997(strength, temperature)), rel=0.05)


@pytest.mark.parametrize(
    "name", [row["name"] for row in read_table("electrolysis_electrolytes.csv").rows if row["code"] != "0"]
)
def test_tabled_conductivity_rises_with_strength_and_temperature(name: str) -> None:
    low, high = electrolysis.strength_range(name)
    strengths = np.geomspace(low * (1.0 + 1e-9), high * (1.0 - 1e-9), 30)
    cold, warm = (electrolysis.electrolyte_conductivity(name, strengths, t) for t in (293.15, 313.15))
    assert np.all(np.diff(cold) > 0.0)
    assert np.all(np.diff(np.log(cold)) / np.diff(np.log(strengths)) < 1.05)  # ions hinder each other
    assert warm / cold == pytest.approx(warm[0] / cold[0])
    assert 1.3 < warm[0] / cold[0] < 1.6


@pytest.mark.parametrize(
    "row", [row for row in read_table("electrolysis_electrolytes.csv").rows if row["code"] not in {"0", "8"}],
    ids=lambda row: row["name"],
)  # fmt: skip
def test_a_power_law_between_two_strengths_meets_the_printed_one_between_them(row: dict[str, str]) -> None:
    """Each inner node of the handbook's table left out in turn and found from its neighbours."""
    numbers = [
        (math.log(float(row[f"strength_{k}"])), math.log(float(row[f"conductivity_{k}"])))
        for k in range(1, 6)
        if row[f"strength_{k}"]
    ]
    for before, left_out, after in zip(numbers, numbers[1:], numbers[2:], strict=False):
        part = (left_out[0] - before[0]) / (after[0] - before[0])
        found = math.exp(before[1] + part * (after[1] - before[1]))
        printed = math.exp(left_out[1])
        assert found == pytest.approx(
            printed, rel=0.045
        )  # over twice the gap in use, so four times the error
        ours = electrolysis.electrolyte_conductivity(row["name"], math.exp(left_out[0]) / 100.0, 293.15)
        assert 10.0 * float(ours) == pytest.approx(printed, rel=1e-9)  # S/m to mS/cm


@given(st.floats(0.0, 0.9), st.floats(0.01, 0.09))
def test_bubbles_lower_the_conductivity(void: float, more: float) -> None:
    factor = float(electrolysis.bubble_factor(void))
    assert float(electrolysis.bubble_factor(void + more)) < factor <= 1.0
    assert factor**2 == pytest.approx((1.0 - void) ** 3)


@given(temperatures, pressures)
def test_water_without_lye_is_pure_water(temperature: float, pressure: float) -> None:
    assert float(electrolysis.water_activity(0.0, temperature)) == 1.0
    pure = float(electrolysis.reversible_voltage(temperature, pressure))
    assert float(electrolysis.caustic_reversible_voltage(temperature, pressure, 0.0)) == pytest.approx(
        pure, rel=1e-13
    )
    falling = electrolysis.water_activity(np.linspace(0.0, 0.45, 20), temperature)
    assert np.all(np.diff(falling) < 0.0)


# --- membrane --------------------


@given(st.floats(30e-6, 150e-6), st.floats(1.1, 2.0))
def test_thin_membranes_save_voltage_and_lose_gas(thickness: float, factor: float) -> None:
    thin, thick = (
        electrolysis.cell_state("membrane", *PLACE["membrane"], {"membrane_thickness": d})
        for d in (thickness, factor * thickness)
    )
    assert thin["cell_voltage_v"] < thick["cell_voltage_v"]
    assert thin["faradaic_efficiency"] < thick["faradaic_efficiency"]
    assert thin["hydrogen_in_oxygen"] > thick["hydrogen_in_oxygen"]


def test_diaphragm_leaks_less_than_a_tenth_of_a_membrane() -> None:
    share = {
        kind: float(electrolysis.polarisation_curve(kind, 1e4, 333.15, 1e5)["hydrogen_in_oxygen"])
        for kind in ("alkaline", "membrane")
    }
    assert 0.0 < share["alkaline"] < 0.1 * share["membrane"]  # trinke_2018, abstract: 60 degC, 1 A/cm2


def test_gas_of_common_ducts_is_never_called_safe() -> None:
    state = electrolysis.cell_state("common_duct", *PLACE["common_duct"])
    assert state["hydrogen_in_oxygen"] == pytest.approx(2.0 / 3.0)
    assert state["hydrogen_in_oxygen_over_flammable"] > 10.0
    faint = electrolysis.cell_state("membrane", 10.0, *PLACE["membrane"][1:])
    assert faint["hydrogen_in_oxygen_over_flammable"] > 1.0  # little oxygen to thin the leak


def test_a_loss_larger_than_the_current_still_leaves_a_positive_share() -> None:
    losses = np.linspace(0.0, 50.0, 501)
    left = np.array([electrolysis.remaining_share_kernel(loss, 10.0) for loss in losses])
    assert np.all(np.diff(left) < 0.0)
    assert np.all(left > 0.0)
    assert left[:50] == pytest.approx(1.0 - losses[:50] / 10.0)


# --- heat ------------------------


@given(st.floats(278.15, 363.15), pressures)
def test_thermoneutral_voltages_stand_in_order(temperature: float, pressure: float) -> None:
    reaction = float(electrolysis.thermoneutral_voltage(temperature))
    cold = float(electrolysis.cold_feed_voltage(temperature))
    laden = float(electrolysis.vapour_laden_voltage(temperature, pressure))
    assert laden > cold
    assert (cold > reaction) == (temperature > 298.15) or abs(temperature - 298.15) < 2.0
    assert float(electrolysis.vapour_laden_voltage(temperature, 1e11)) == pytest.approx(cold, abs=1e-5)
    assert float(electrolysis.vapour_laden_voltage(temperature, pressure, 0.30)) < laden


@each_kind
def test_heat_and_work_balance_in_every_kind(kind: str) -> None:
    state = electrolysis.cell_state(kind, *PLACE[kind])
    needed = "thermoneutral_cold_feed_voltage_v" if kind == "solid_oxide" else "thermoneutral_voltage_v"
    power = state["cell_voltage_v"] * PLACE[kind][0]
    stored = state["faradaic_efficiency"] * state[needed] * PLACE[kind][0]
    given_off = state["heat_to_reject_w_per_m2"] - state["heat_to_supply_w_per_m2"]
    assert stored + given_off == pytest.approx(power, rel=1e-12)
    assert (state["heat_to_supply_w_per_m2"] > 0.0) == (kind == "solid_oxide")
    whole = electrolysis.stack_state(kind, *PLACE[kind])
    made = whole["hydrogen_kg_per_h"] + whole["oxygen_kg_per_h"]
    assert made == pytest.approx(whole["water_kg_per_h"], rel=1e-9)
    area = electrolysis.cell_record(kind).cell_area * whole["cells"]
    assert whole["power_w"] == pytest.approx(power * area, rel=1e-12)
    assert whole["heat_to_reject_w"] == pytest.approx(state["heat_to_reject_w_per_m2"] * area, rel=1e-12)


@given(st.floats(600.0, 1300.0))
def test_heat_of_splitting_steam_follows_from_its_reversible_voltage(temperature: float) -> None:
    low, high = (float(electrolysis.steam_reversible_voltage(temperature + d)) for d in (-0.5, 0.5))
    gibbs = float(electrolysis.steam_reversible_voltage(temperature))
    enthalpy = float(electrolysis.steam_thermoneutral_voltage(temperature))
    assert gibbs - temperature * (high - low) == pytest.approx(enthalpy, abs=1e-5)


def test_steam_and_liquid_water_differ_by_the_heat_of_vapour() -> None:
    gap = float(electrolysis.thermoneutral_voltage(298.15)) - float(
        electrolysis.steam_thermoneutral_voltage(298.15)
    )
    assert gap * 2.0 * value("faraday_constant") == pytest.approx(44.0e3, abs=50.0)  # cox_1989


@given(st.floats(0.1, 0.9), st.floats(1e5, 2e6))
def test_mean_voltage_along_a_steam_cell_is_the_mean_of_the_local_one(used: float, pressure: float) -> None:
    edges = used * (1.0 - np.cos(np.linspace(0.0, math.pi, 4001))) / 2.0
    x = (edges[1:] + edges[:-1]) / 2.0
    scale = value("gas_constant") * 1073.15 / (2.0 * value("faraday_constant"))
    local = np.log(x / (1.0 - x)) + 0.5 * math.log(pressure / value("standard_pressure"))
    mean = float(np.sum(local * np.diff(edges)) / used)
    expected = float(electrolysis.steam_reversible_voltage(1073.15)) + scale * mean
    assert float(electrolysis.steam_cell_voltage(1073.15, pressure, used)) == pytest.approx(
        expected, abs=1e-5
    )


def test_solid_oxide_resistance_falls_with_temperature() -> None:
    resistance = electrolysis.solid_oxide_resistance(np.linspace(873.15, 1273.15, 9))
    assert np.all(np.diff(resistance) < 0.0)
    assert volts("solid_oxide", temperature=1000.0) > volts("solid_oxide", temperature=1100.0)


# --- the row and the kernel ------


@kernel
def third_of(cells: Any, density: Any, temperature: Any, pressure: Any) -> float:
    """The cell of the third row, as a kernel of another room would use it."""
    return electrolysis.cell_kernel(cells[2], density, temperature, pressure)[0]


def test_a_row_works_inside_another_kernel() -> None:
    rows = np.array([tuple(electrolysis.cell_record(kind)) for kind in KINDS], dtype=electrolysis.CELL)
    assert third_of(rows.view(np.recarray), *PLACE["solid_oxide"]) == pytest.approx(
        volts("solid_oxide"), rel=1e-14
    )


@each_kind
def test_any_finite_input_gives_finite_numbers(kind: str) -> None:
    extremes = (-1e300, -1.0, 0.0, 1e-300, 300.0, 1e300)
    empty = np.zeros(1, dtype=electrolysis.CELL).view(np.recarray)[0]
    empty.kind = float(KINDS.index(kind))
    for cell in (electrolysis.cell_record(kind), empty):
        for density in extremes:
            for temperature in extremes:
                for pressure in extremes:
                    found = electrolysis.cell_kernel(cell, density, temperature, pressure)
                    assert np.all(np.isfinite(found)), (density, temperature, pressure)
                    assert found[0] > 0.0
                    assert 0.0 < found[1] <= 1.0


@pytest.mark.parametrize("name", sorted(name for name in dir(electrolysis) if name.endswith("_kernel")))
def test_plain_kernels_are_finite_whatever_they_are_given(name: str) -> None:
    function = getattr(electrolysis, name)
    code = getattr(function, "py_func", function).__code__
    arguments = code.co_varnames[: code.co_argcount]
    if arguments[0] in {"cell", "cells"}:
        return  # in the test above
    for place in range(len(arguments)):
        for number in (-1e9, -1.0, 0.0, 1e-300, 1.0, 1e9):
            given_to = [300.0] * len(arguments)
            given_to[place] = number
            assert np.all(np.isfinite(function(*given_to))), (arguments[place], number)


@each_kind
def test_arrays_equal_scalars(kind: str) -> None:
    density, temperature, pressure = PLACE[kind]
    many = electrolysis.cell_voltage(kind, np.array([[0.9], [1.0]]) * density, temperature, pressure)
    assert many.shape == (2, 1)
    assert float(many[0, 0]) == pytest.approx(volts(kind, current_density=0.9 * PLACE[kind][0]), rel=1e-14)


# --- refusals --------------------


@pytest.mark.parametrize(
    ("kind", "place", "message"),
    [
        ("alkaline", (5e4, 353.15, 1e5), "current density 5 A/cm2 lies outside 0 to 3 A/cm2"),
        ("alkaline", (0.0, 353.15, 1e5), "current density 0 A/cm2 must be above 0 A/cm2"),
        ("alkaline", (3e3, 393.15, 1e7), "temperature 120 degC lies outside 5 to 90 degC"),
        ("solid_oxide", (3e3, 1073.15, 1e7), "pressure 100 bar lies outside 0 to 25 bar"),
        ("membrane", (3e3, 353.15, 2e4), "pressure 0.2 bar does not keep the water liquid"),
        ("common_duct", (math.nan, 323.15, 1e5), "current density nan A/cm2 lies outside"),
    ],
)  # fmt: skip
def test_operating_points_are_refused_in_the_units_people_use(
    kind: str, place: tuple[float, float, float], message: str
) -> None:
    for face in (electrolysis.cell_voltage, electrolysis.cell_state, electrolysis.stack_state):
        with pytest.raises(DomainError) as caught:
            face(kind, *place)
        assert message in str(caught.value)


def test_names_and_fields_are_refused() -> None:
    with pytest.raises(UnknownNameError, match="unknown cell kind 'alkalin'; did you mean 'alkaline'"):
        electrolysis.cell_record("alkalin")
    with pytest.raises(UnknownNameError, match="unknown cell field 'electrode_gapp'"):
        electrolysis.cell_record("alkaline", electrode_gapp=1e-3)
    with pytest.raises(UnknownNameError, match="unknown electrolyte 'table_salt'"):
        electrolysis.cell_record("alkaline", electrolyte="table_salt")
    with pytest.raises(DomainError, match=r"electrolyte strength 30 % lies outside 0\.5 to 5 %"):
        electrolysis.cell_record("common_duct", electrolyte="sodium_bicarbonate", electrolyte_strength=0.3)
    for field, wrong in (("electrode_gap", -1e-3), ("cell_area", math.nan), ("operating_time", math.inf)):
        with pytest.raises(DomainError, match=field.replace("_", " ")):
            electrolysis.cell_record("alkaline", **{field: wrong})
    for kind, field, wrong in (
        ("membrane", "membrane_thickness", 0.0),
        ("common_duct", "gas_void_fraction", 1.0),
    ):
        with pytest.raises(DomainError, match=field.replace("_", " ")):
            electrolysis.cell_record(kind, **{field: wrong})
