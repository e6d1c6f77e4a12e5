"""Limits and properties of heated steam, of the energy identities and of the margins."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import table_values, value
from tradespace.errors import DomainError, UnknownNameError
from tradespace.physics import combustion, electric, electrothermal, rocket
from tradespace.physics.electrothermal.tables import steam_nozzle_kernel

QUIET = settings(max_examples=60, deadline=None)
HOT, HELD, WIDE = st.floats(300.0, 4000.0), st.floats(1e4, 2e6), st.floats(5.0, 200.0)
SHARES = st.floats(0.01, 1.0)
SPEEDS = st.floats(100.0, 1e5)
DRY, IN_THE_NOZZLE, IN_THE_CHAMBER = 0.0, 1.0, 2.0


@QUIET
@given(temperature=HOT, pressure=HELD, area=WIDE)
def test_no_steam_jet_carries_more_than_its_heat(temperature: float, pressure: float, area: float) -> None:
    """Vacuum impulse counts exit pressure as well, and stays below all the heat above the cold liquid."""
    heat = float(electrothermal.steam_energy(temperature, pressure))
    speeds = [
        float(electrothermal.steam_exhaust_velocity(temperature, pressure, area, kind))
        for kind in ("frozen", "equilibrium")
    ]
    assert 0.0 < speeds[0] <= speeds[1] * 1.001
    assert speeds[1] < float(electric.exhaust_velocity_bound(heat))
    power = float(electrothermal.steam_power_per_thrust(temperature, pressure, area))
    assert 0.5 * speeds[0] < power


@QUIET
@given(temperature=st.floats(300.0, 3900.0), pressure=HELD, area=st.floats(5.0, 180.0))
def test_hotter_and_wider_is_faster_and_costs_more(temperature: float, pressure: float, area: float) -> None:
    at = (temperature, pressure, area)
    for kind in ("frozen", "equilibrium"):
        speed = electrothermal.steam_exhaust_velocity(*at, kind)
        assert electrothermal.steam_exhaust_velocity(temperature + 100.0, pressure, area, kind) > speed
        assert electrothermal.steam_exhaust_velocity(temperature, pressure, area * 1.1, kind) > speed
        cooler = electrothermal.steam_exit_temperature(temperature, pressure, area * 1.1, kind)
        assert cooler < electrothermal.steam_exit_temperature(*at, kind) < temperature
        thinner = electrothermal.steam_exit_pressure(temperature, pressure, area * 1.1, kind)
        assert thinner < electrothermal.steam_exit_pressure(*at, kind) < pressure
    assert electrothermal.steam_energy(temperature + 100.0, pressure) > electrothermal.steam_energy(
        temperature, pressure
    )


@QUIET
@given(temperature=st.floats(2200.0, 4000.0), pressure=st.floats(1e4, 1e6))
def test_pressure_holds_water_together(temperature: float, pressure: float) -> None:
    more = 2.0 * pressure
    kept = electrothermal.steam_water_fraction(temperature, [pressure, more])
    assert kept[0] < kept[1] <= 1.0
    heavy = electrothermal.steam_molar_mass(temperature, [pressure, more])
    assert heavy[0] < heavy[1] < value("molar_mass_water") * 1.0001
    heat = electrothermal.steam_energy(temperature, [pressure, more])
    assert heat[0] > heat[1]


@pytest.mark.parametrize("temperature", [300.0, 650.0, 1150.0])
def test_cold_steam_knows_no_pressure_and_no_splitting(temperature: float) -> None:
    pressures = np.array([1e4, 1e5, 2e6])
    speeds = electrothermal.steam_exhaust_velocity(temperature, pressures, 100.0)
    both = electrothermal.steam_exhaust_velocity(temperature, pressures, 100.0, "equilibrium")
    np.testing.assert_allclose(speeds, speeds[0], rtol=1e-4)
    np.testing.assert_allclose(both, speeds, rtol=1e-4)
    np.testing.assert_allclose(
        electrothermal.steam_molar_mass(temperature, pressures), value("molar_mass_water"), rtol=1e-4
    )


def test_cold_steam_behaves_like_a_gas_of_constant_heat_capacity_near_room_temperature() -> None:
    """Speed grows as the root of temperature while the heat capacity is nearly constant."""
    slow, fast = electrothermal.steam_exhaust_velocity([300.0, 400.0], 1e4, 200.0)
    assert fast / slow == pytest.approx(math.sqrt(4.0 / 3.0), rel=0.01)


def test_steam_condenses_where_the_saturation_line_says() -> None:
    found = electrothermal.steam_condensation([400.0, 500.0, 1100.0, 1300.0, 1700.0, 4000.0], 1e6, 100.0)
    assert list(found[:2]) == [IN_THE_CHAMBER, IN_THE_NOZZLE]
    assert list(found[2:4]) == [IN_THE_NOZZLE, IN_THE_NOZZLE]
    assert list(found[4:]) == [DRY, DRY]
    assert float(electrothermal.steam_condensation(300.0, 1e4, 5.0)) == IN_THE_CHAMBER
    assert float(electrothermal.steam_condensation(1100.0, 1e6, 5.0)) == DRY


def test_a_wider_nozzle_never_dries_the_jet() -> None:
    temperature = np.linspace(300.0, 4000.0, 75)[:, None]
    found = electrothermal.steam_condensation(temperature, 1e6, np.geomspace(5.0, 200.0, 15))
    assert (np.diff(found, axis=1) >= 0.0).all()
    assert (np.diff(found, axis=0) <= 0.0).all()


@pytest.mark.parametrize("kind", ["frozen", "equilibrium"])
def test_the_look_up_meets_its_nodes_and_is_continuous(kind: str) -> None:
    place = np.linspace(300.0, 4000.0, 20001)
    speeds = electrothermal.steam_exhaust_velocity(place, 1e5, 30.0, kind)
    steps = np.diff(speeds)
    assert steps.min() > 0.0
    assert np.abs(np.diff(steps)).max() < 0.05 * steps.mean()


@pytest.mark.parametrize("bad", [-1.0, 0.0, math.nan, math.inf, -math.inf, 1e300])
def test_kernels_do_no_harm_whatever_comes(bad: float) -> None:
    for place in range(3):
        at = [1000.0, 1e5, 50.0]
        at[place] = bad
        for column in range(6):
            found = steam_nozzle_kernel(*at, float(column))
            assert math.isfinite(found) or math.isnan(bad)
        electrothermal.steam_condensation_kernel(*at)
        electrothermal.heated_gas_kernel(*at, 0.0)


def test_what_lies_outside_is_refused_by_name() -> None:
    with pytest.raises(DomainError, match=r"temperature 4500 K lies outside 300 to 4000 K"):
        electrothermal.steam_exhaust_velocity(4500.0, 1e5, 50.0)
    with pytest.raises(DomainError, match=r"chamber pressure 1e\+07 Pa|chamber pressure 10000000 Pa"):
        electrothermal.steam_energy(1000.0, 1e7)
    with pytest.raises(UnknownNameError, match="kind of expansion"):
        electrothermal.steam_exhaust_velocity(1000.0, 1e5, 50.0, "thawed")
    with pytest.raises(DomainError, match=r"thrust efficiency 1\.5 lies outside"):
        electric.power_per_thrust(1e4, 1.5)


def test_light_gas_is_fast_and_heavy_gas_is_slow() -> None:
    for kelvin in (300.0, 1000.0, 2000.0):
        hydrogen = float(electrothermal.hydrogen_exhaust_velocity(kelvin, 1e6, 100.0))
        oxygen = float(electrothermal.oxygen_exhaust_velocity(kelvin, 1e6, 100.0))
        assert hydrogen / oxygen == pytest.approx(math.sqrt(31.9988 / 2.01588), rel=0.06)
        steam = float(electrothermal.steam_exhaust_velocity(kelvin, 1e6, 100.0))
        assert oxygen < steam < hydrogen


@pytest.mark.parametrize(("concentration", "best"), [(1000.0, 1106.0), (5000.0, 1507.0)])
def test_receiver_and_ideal_engine_together_are_best_at_the_published_temperature(
    concentration: float, best: float
) -> None:
    """Steinfeld 2005 prints 1106 and 1507 K for 1000 and 5000 suns of 1 kW/m2 (from memory; 298 K taken around it)."""
    kelvin = np.linspace(800.0, 2000.0, 12001)
    kept = electrothermal.receiver_efficiency(kelvin, 1000.0, concentration)
    assert kelvin[np.argmax(kept * (1.0 - 298.0 / kelvin))] == pytest.approx(best, rel=2e-3)


@QUIET
@given(
    kelvin=st.floats(300.0, 3000.0), sun=st.floats(50.0, 1400.0), suns=st.floats(1.0, 1e4),
    optical=SHARES, black=SHARES, grey=SHARES,
)  # fmt: skip
def test_a_receiver_keeps_no_more_than_enters(
    kelvin: float, sun: float, suns: float, optical: float, black: float, grey: float
) -> None:
    kept = float(electrothermal.receiver_efficiency(kelvin, sun, suns, optical, black, grey))
    assert 0.0 <= kept <= optical * black + 1e-15
    assert electrothermal.receiver_efficiency(kelvin, sun, suns, optical, black, 0.5 * grey) >= kept


@QUIET
@given(speed=SPEEDS, efficiency=SHARES, feed=st.floats(0.0, 1e8))
def test_no_thruster_puts_more_into_the_jet_than_it_is_given(
    speed: float, efficiency: float, feed: float
) -> None:
    power = float(electric.power_per_thrust(speed, efficiency, feed))
    assert float(electric.jet_power(1.0, speed)) <= power * (1.0 + 1e-12)
    used = min(1.0, efficiency + 0.1)
    impulse, each, energy, jet = electric.mined_water_budget(speed / 9.80665, used, feed, efficiency)
    assert 0.0 < float(jet) <= efficiency * (1.0 + 1e-12)
    assert float(impulse) <= speed / 9.80665 * (1.0 + 1e-12)
    assert float(each * impulse) * 9.80665 == pytest.approx(float(energy), rel=1e-12)


@QUIET
@given(speed=SPEEDS, feed=st.floats(0.0, 1e9))
def test_a_jet_without_live_power_is_held_to_its_feed(speed: float, feed: float) -> None:
    most = float(electric.exhaust_velocity_bound(feed))
    if speed <= most:
        assert float(electric.mined_water_budget(speed / 9.80665, 1.0, feed, math.inf)[3]) <= 1.0 + 1e-8
    elif speed > most * (1.0 + 1e-6):
        with pytest.raises(DomainError, match=r"exhaust velocity .* must not be above"):
            electric.power_per_thrust(speed, math.inf, feed)
        with pytest.raises(DomainError, match=r"specific impulse .* must not be above"):
            electric.mined_water_budget(speed / 9.80665, 1.0, feed, math.inf)
    assert electric.bounded_exhaust_velocity_kernel(speed, feed) <= most * (1.0 + 1e-12)


def test_every_ideal_engine_of_the_package_respects_the_bound_of_burned_water() -> None:
    """Shifting expansion to area ratio 200 stays below the first law's bound for gas from split water."""
    ratio = np.array([3.0, 6.0, 7.937, 12.0])
    shared = combustion.water_share_burned(ratio)
    speed = 9.80665 * combustion.specific_impulse_vacuum(ratio, 1e6, 200.0, "equilibrium")
    bound = float(electric.exhaust_velocity_bound(15.866e6))
    assert (0.5 * shared * speed**2 < 0.5 * bound**2).all()


@QUIET
@given(efficiency=SHARES, water=st.floats(1e5, 1e9))
def test_the_cheapest_speed_is_the_least_of_energy_per_impulse(efficiency: float, water: float) -> None:
    best = float(electric.cheapest_exhaust_velocity(efficiency, water))

    def cost(speed: float) -> float:
        return float(electric.power_per_thrust(speed, efficiency, water))

    assert cost(best) <= min(cost(0.99 * best), cost(1.01 * best))
    assert efficiency == pytest.approx(best**2 / (2.0 * water), rel=1e-9)


@QUIET
@given(
    change=st.floats(0.0, 6000.0), slow=st.floats(800.0, 3000.0), gain=st.floats(1.05, 20.0),
    cheap=st.floats(1e5, 1e7), dear=st.floats(1e6, 1e9),
)  # fmt: skip
def test_at_break_even_both_thrusters_take_the_same_energy(
    change: float, slow: float, gain: float, cheap: float, dear: float
) -> None:
    fast = slow * gain
    water = float(electric.break_even_water_energy(change, slow, cheap, fast, dear))
    if water >= 0.0 and change > 1.0:
        both = electric.energy_per_dry_mass(change, [slow, fast], water, [cheap, dear])
        assert both[0] == pytest.approx(both[1], rel=1e-6)
    small = float(electric.break_even_water_energy(1e-3, slow, cheap, fast, dear))
    assert small == pytest.approx(
        float(electric.break_even_water_energy(0.0, slow, cheap, fast, dear)), rel=1e-3, abs=100.0
    )


@QUIET
@given(hydrogen=st.floats(0.0, 1e4), oxygen=st.floats(0.0, 1e4))
def test_split_water_gives_no_more_than_its_better_half(hydrogen: float, oxygen: float) -> None:
    whole = float(electric.split_specific_impulse(hydrogen, oxygen))
    assert min(hydrogen, oxygen) - 1e-9 <= whole <= max(hydrogen, oxygen) + 1e-9
    back = float(electric.hydrogen_specific_impulse_needed(whole, oxygen))
    assert back == pytest.approx(hydrogen, rel=1e-9, abs=1e-8)


def test_definitions_of_thirty_per_cent_differ() -> None:
    on_estimate = 1.0 + table_values("margin_values.csv")["goddard_mass_pre_phase_a"].value
    share = table_values("margin_values.csv")["jpl_allocation_concept"].value
    on_allocation = float(rocket.growth_factor_of_allocation_margin(share))
    new, system = (
        table_values("margin_values.csv")[f"esa_{name}"].value for name in ("maturity_new", "system")
    )
    both = float(rocket.growth_factor(new, system))
    assert on_estimate < on_allocation < both
    assert rocket.margin(1.0, both) == pytest.approx(0.44)


def test_margin_never_shrinks_and_is_monotonic() -> None:
    changes = np.linspace(0.0, 5000.0, 501)
    with_margin = rocket.delta_v_with_margin(changes)
    assert (with_margin > changes).all()
    assert (np.diff(with_margin) > 0.0).all()


@QUIET
@given(
    there=st.floats(0.0, 4000.0),
    back=st.floats(0.0, 4000.0),
    speed=st.floats(2000.0, 20000.0),
    dry=st.floats(0.01, 0.5),
)
def test_a_tanker_spends_what_the_rocket_equation_says(
    there: float, back: float, speed: float, dry: float
) -> None:
    payload = float(rocket.tanker_payload_fraction(there, back, speed, dry))
    arrived = 1.0 - float(rocket.propellant_mass(1.0, there, speed))
    empty = arrived - payload
    assert empty - float(rocket.propellant_mass(empty, back, speed)) == pytest.approx(dry, abs=1e-9)


def test_a_hopeless_velocity_change_is_refused_and_no_number_overflows() -> None:
    with pytest.raises(DomainError, match="delta v"):
        rocket.mass_ratio(1e12, 3000.0)
    with pytest.raises(DomainError, match="delta v"):
        rocket.propellant_load(100.0, 1e12, 3000.0)


def test_margin_rules_shrink_as_a_design_matures_and_keep_their_definitions() -> None:
    factors = {rule: float(rocket.growth_factor_of_rule(rule)) for rule in rocket.MARGIN_RULES}
    for ripening in (
        ("esa_new", "esa_modified", "esa_off_the_shelf"),
        ("goddard_pre_phase_a", "goddard_phase_a", "goddard_phase_b", "goddard_phase_c"),
        ("ames_requirements", "ames_preliminary", "ames_critical", "ames_integration"),
        ("jpl_concept", "jpl_preliminary", "jpl_critical"),
    ):
        steps = [factors[rule] for rule in ripening]
        assert steps == sorted(steps, reverse=True)
        assert min(steps) > 1.0
    assert factors["jpl_concept"] > factors["goddard_pre_phase_a"]  # thirty per cent, of different things
    with pytest.raises(UnknownNameError, match="margin rule"):
        rocket.growth_factor_of_rule("thirty_per_cent")


def test_a_budget_adds_the_least_margin_once() -> None:
    halves = 2.0 * float(rocket.delta_v_budget(50.0))
    assert float(rocket.delta_v_budget(100.0)) == pytest.approx(110.0)
    assert halves == pytest.approx(120.0)
    assert float(rocket.delta_v_budget(0.0, 500.0)) == pytest.approx(550.0)
    assert float(rocket.delta_v_budget(0.0)) == 0.0
    assert rocket.delta_v_budget([0.0, 100.0], approaches=1).tolist() == pytest.approx([20.0, 130.0])


def test_break_even_of_endless_changes_is_won_by_the_fast_thruster() -> None:
    """Beyond all measure the slow one needs endless water: break-even falls to less than nothing, its own energy."""
    slow_energy = 1.9 * 3.6e6
    found = electric.break_even_water_energy([1e5, 1e6, 1e7], 1765.2, slow_energy, 3383.3, 6.3 * 3.6e6)
    assert found == pytest.approx(-slow_energy)
    assert float(electric.break_even_water_energy(1e7, 1765.2, slow_energy, 3383.3, 1e7)) == found[2]
    for numbers in ((1.0, 0.0, 1.0, 0.0, 1.0), (1e300, 1.0, 1.0, 1.0, 2.0), (-1.0, 5.0, 1.0, 3.0, 2.0)):
        assert math.isfinite(electric.break_even_water_energy_kernel(*numbers))


def test_the_message_gives_the_limit_that_was_passed() -> None:
    with pytest.raises(
        DomainError, match=r"^pressure 100000 Pa must be above the vapour pressure of 1288\d\d"
    ):
        combustion.saturated_humidity(380.0, 1e5, 8.0)
