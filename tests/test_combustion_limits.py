"""Limits and properties of combustion and rocket equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.errors import DomainError, UnknownNameError
from tradespace.physics import combustion, rocket
from tradespace.physics.combustion_table import limits

ratios = st.floats(1.0, 16.0)
pressures = st.floats(5e4, 1e7)
areas = st.floats(5.0, 200.0)
gammas = st.floats(1.05, 1.67)
speeds = st.floats(300.0, 30000.0)
changes = st.floats(0.0, 12000.0)
few = settings(max_examples=60, deadline=None)


class TestCombustion:
    @few
    @given(ratios, pressures, areas)
    def test_shifting_is_never_below_frozen(self, ratio: float, pressure: float, area: float) -> None:
        shifting = combustion.specific_impulse_vacuum(ratio, pressure, area, "equilibrium")
        frozen = combustion.specific_impulse_vacuum(ratio, pressure, area, "frozen")
        assert shifting >= frozen * (1.0 - 2e-4)

    @few
    @given(ratios, pressures, st.floats(5.0, 180.0), st.sampled_from(combustion.KINDS))
    def test_a_larger_nozzle_gives_more(self, ratio: float, pressure: float, area: float, kind: str) -> None:
        small = combustion.specific_impulse_vacuum(ratio, pressure, area, kind)
        large = combustion.specific_impulse_vacuum(ratio, pressure, area * 1.1, kind)
        assert large > small

    @few
    @given(st.floats(5.0, 12.0), st.floats(5e4, 9e6))
    def test_pressure_holds_dissociation_down(self, ratio: float, pressure: float) -> None:
        below = combustion.chamber_temperature(ratio, pressure)
        above = combustion.chamber_temperature(ratio, 1.1 * pressure)
        assert above > below
        assert combustion.molar_mass(ratio, 1.1 * pressure) > combustion.molar_mass(ratio, pressure)

    @few
    @given(ratios, pressures, areas)
    def test_no_jet_carries_more_than_the_reactants_held(
        self, ratio: float, pressure: float, area: float
    ) -> None:
        """Energy: heat of burning what can burn, plus the reactants' heat above 0 K (closed form)."""
        whole = 7.936682
        burned = min(ratio / whole, 1.0) * (1.0 + whole) / (1.0 + ratio)  # water formed per mass
        hydrogen, oxygen = 8467.0 / 2.01588e-3, 8683.0 / 31.9988e-3  # J/kg above 0 K at 298.15 K (JANAF)
        warmth = (hydrogen + ratio * oxygen) / (1.0 + ratio)
        bound = math.sqrt(2.0 * (burned * 13.423e6 + warmth))
        speed = 9.80665 * float(combustion.specific_impulse_vacuum(ratio, pressure, area, "equilibrium"))
        assert speed < bound

    def test_array_equals_its_elements(self) -> None:
        draw = np.random.default_rng(5)
        ratio, pressure = draw.uniform(1, 16, (4, 1)), draw.uniform(5e4, 1e7, 7)
        together = combustion.specific_impulse_vacuum(ratio, pressure, 42.0, "frozen")
        assert together.shape == (4, 7)
        for row in range(4):
            for place in range(7):
                alone = combustion.specific_impulse_vacuum(ratio[row, 0], pressure[place], 42.0, "frozen")
                assert alone.ndim == 0
                assert alone == together[row, place]

    def test_equal_designs_give_one_answer_in_the_right_shape(self) -> None:
        many = combustion.specific_impulse_vacuum(np.full((3, 5), 7.937), np.full(5, 1e6), 30.0)
        assert many.shape == (3, 5)
        assert np.unique(many).size == 1
        assert many.flat[0] == combustion.specific_impulse_vacuum(7.937, 1e6, 30.0)

    def test_empty_in_empty_out(self) -> None:
        assert combustion.chamber_temperature(np.empty(0), 1e6).shape == (0,)

    def test_nodes_come_back_exactly(self) -> None:
        from tradespace.tables import read_table

        rows = read_table("combustion_nozzle.csv").rows[::173]
        columns = [[float(row[name]) for row in rows] for name in rows[0]]
        for kind, column in zip(combustion.KINDS, columns[3:], strict=True):
            np.testing.assert_allclose(
                combustion.specific_impulse_vacuum(*columns[:3], kind), column, rtol=1e-12
            )

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            ((0.9, 1e6, 30.0), r"mixture ratio 0\.9 .* 1 to 16"),
            ((7.9, 2e7, 30.0), r"chamber pressure 200 bar .* 0\.5 to 100 bar"),
            ((7.9, 1e6, 4.0), r"expansion ratio 4 .* 5 to 200"),
            ((float("nan"), 1e6, 30.0), r"mixture ratio nan"),
        ],
    )
    def test_outside_the_table_is_refused_in_words(self, arguments: tuple[float, ...], words: str) -> None:
        with pytest.raises(DomainError, match=words):
            combustion.specific_impulse_vacuum(*arguments)

    def test_one_bad_element_is_named(self) -> None:
        with pytest.raises(DomainError, match=r"mixture ratio 17 "):
            combustion.chamber_temperature([4.0, 17.0, 8.0], 1e6)

    def test_unknown_kind(self) -> None:
        with pytest.raises(UnknownNameError, match="did you mean 'frozen'"):
            combustion.specific_impulse_vacuum(8.0, 1e6, 30.0, "frozn")

    def test_the_table_covers_every_study_bound(self) -> None:
        from tradespace.quantities import quantity

        for name in ("mixture_ratio", "chamber_pressure", "expansion_ratio"):
            low, high = limits(name)
            assert low <= quantity(name).low * (1 + 1e-12) and high >= quantity(name).high * (1 - 1e-12)

    def test_state_agrees_with_its_parts(self) -> None:
        state = combustion.chamber_state(7.94, 1e6, 50.0, 1.0)
        assert state["delivered_performance_factor"] == 0.87
        delivered = state["specific_impulse_vacuum_delivered_s"]
        assert delivered == pytest.approx(0.87 * state["specific_impulse_vacuum_frozen_s"])
        assert set(combustion.chamber_state(7.94, 1e6, 50.0)) == set(state) - {
            "delivered_performance_factor",
            "specific_impulse_vacuum_delivered_s",
            "water_specific_impulse_delivered_s",
        }

    @few
    @given(st.floats(1e-6, 1e4), st.booleans())
    def test_every_thrust_has_one_delivered_share(self, thrust: float, pulsed: bool) -> None:
        factor = float(combustion.delivered_performance_factor(thrust, pulsed))
        assert 0.5 <= factor <= 0.95
        assert factor <= float(combustion.delivered_performance_factor(thrust))
        assert factor <= float(combustion.delivered_performance_factor(10.0 * thrust, pulsed))

    def test_no_thrust_is_refused(self) -> None:
        with pytest.raises(DomainError, match="thrust 0 N"):
            combustion.delivered_performance_factor(0.0)

    @few
    @given(st.floats(0.1, 100.0))
    def test_all_the_water_burns_only_at_stoichiometry(self, ratio: float) -> None:
        share = float(combustion.water_share_burned(ratio))
        assert 0.0 < share <= 1.0
        assert share < float(combustion.water_share_burned(7.936682)) or ratio == pytest.approx(
            7.936682, rel=1e-3
        )


humidities, losses = st.floats(0.0, 0.2), st.floats(0.0, 0.2)
fewer = settings(max_examples=25, deadline=None)


@fewer
@given(ratios, pressures, areas)
def test_freezing_at_the_throat_lies_between(ratio: float, pressure: float, area: float) -> None:
    frozen, between, shifting = (
        float(combustion.specific_impulse_vacuum(ratio, pressure, area, kind))
        for kind in ("frozen", "throat_frozen", "equilibrium")
    )
    assert frozen * (1.0 - 2e-4) <= between <= shifting * (1.0 + 2e-4)
    throat = combustion.characteristic_velocity(ratio, pressure, "throat_frozen")
    assert throat == combustion.characteristic_velocity(ratio, pressure, "equilibrium")


@fewer
@given(ratios, pressures, areas, st.floats(0.0, 1.0))
def test_recombination_share_runs_from_frozen_to_shifting(
    ratio: float, pressure: float, area: float, share: float
) -> None:
    place = (ratio, pressure, area)
    frozen, shifting = (combustion.specific_impulse_vacuum(*place, k) for k in ("frozen", "equilibrium"))
    assert combustion.recombined_specific_impulse(*place, 0.0) == frozen
    assert combustion.recombined_specific_impulse(*place, 1.0) == pytest.approx(shifting, rel=1e-14)
    between = float(combustion.recombined_specific_impulse(*place, share))
    assert between == pytest.approx((1.0 - share) * frozen + share * shifting, rel=1e-12)


@fewer
@given(st.floats(2.0, 16.0), pressures, areas, humidities, losses, st.sampled_from(combustion.KINDS))
def test_lost_heat_and_vapour_never_raise_the_impulse(
    ratio: float, pressure: float, area: float, humidity: float, loss: float, kind: str
) -> None:
    if ratio < 5.0:  # far from stoichiometry, vapour brings the elements nearer to it: water share rises
        humidity = 0.0
    dry = combustion.specific_impulse_vacuum(ratio, pressure, area, kind)
    wet = combustion.specific_impulse_vacuum(ratio, pressure, area, kind, humidity, 0.5 * loss)
    worse = combustion.specific_impulse_vacuum(ratio, pressure, area, kind, humidity, loss + 0.01)
    assert worse < wet <= dry * (1.0 + 1e-4)


@fewer
@given(pressures, areas, st.floats(0.0, 0.35))
def test_vapour_in_a_stoichiometric_feed_is_heat_lost(pressure: float, area: float, share: float) -> None:
    """The same elements with the same enthalpy: one state, reached along two ways."""
    whole = 31.9988 / (2.0 * 2.01588)
    for kind in combustion.KINDS:
        wet = combustion.specific_impulse_vacuum(whole, pressure, area, kind, share, 0.0)
        cooled = combustion.specific_impulse_vacuum(whole, pressure, area, kind, 0.0, share)
        assert float(wet) == pytest.approx(float(cooled), rel=1e-9)


@fewer
@given(st.floats(1.0, 16.0), humidities)
def test_elements_and_heat_are_conserved_by_the_feed(ratio: float, humidity: float) -> None:
    """Hydrogen counted atom by atom, and the water that all of it can form."""
    whole = 31.9988 / (2.0 * 2.01588)
    hydrogen = (1.0 - humidity) / (1.0 + ratio) + humidity / (1.0 + whole)
    all_ratio = (1.0 - hydrogen) / hydrogen
    assert float(combustion.elemental_mixture_ratio(ratio, humidity)) == pytest.approx(all_ratio, rel=1e-12)
    formable = min(hydrogen, (1.0 - hydrogen) / whole) * (1.0 + whole)
    missing = float(combustion.enthalpy_deficit(ratio, humidity))
    assert missing * formable == pytest.approx(humidity, abs=1e-12)


@fewer
@given(st.floats(0.0, 100.0), st.floats(0.0, 0.5), st.floats(50.0, 500.0), st.floats(0.0, 50.0))
def test_excess_is_booked_once(ratio: float, humidity: float, impulse: float, vent: float) -> None:
    """Impulse of what burns and of what is vented adds up to that of the water."""
    water = float(combustion.water_per_propellant(ratio, humidity))
    assert water >= 1.0 - 1e-12
    whole = float(combustion.water_specific_impulse(impulse, ratio, vent, humidity))
    assert whole * water == pytest.approx(impulse + (water - 1.0) * vent, rel=1e-9)
    carried = combustion.propellant_specific_impulse(impulse, ratio, "vented", vent, humidity)
    assert carried == pytest.approx(whole)
    assert combustion.propellant_specific_impulse(impulse, ratio, "left_behind", vent) == impulse


def test_bias_of_the_mixture_costs_what_is_known() -> None:
    """At 10 bar and area ratio 100, oxygen-rich burning costs 7 % (10) to 11-13 % (12) against 8."""
    for kind, twelve in (("equilibrium", 0.875), ("frozen", 0.89)):
        base = float(combustion.specific_impulse_vacuum(8.0, 1e6, 100.0, kind))
        lean = combustion.specific_impulse_vacuum([10.0, 12.0], 1e6, 100.0, kind) / base
        assert lean == pytest.approx([0.93, twelve], abs=0.01)


def test_compiled_kernel_agrees_with_the_faces_and_stays_finite_anywhere() -> None:
    tables = combustion.combustion_tables()
    for ratio, pressure, area, share, humidity, loss in (
        (7.937, 1e6, 50.0, 0.0, 0.0, 0.0), (4.2, 3e5, 120.0, 0.3, 0.05, 0.1), (12.0, 5e6, 9.0, 1.0, 0.0, 0.2),
    ):  # fmt: skip
        ours = combustion.specific_impulse_vacuum_kernel(tables, ratio, pressure, area, share, humidity, loss)
        face = combustion.recombined_specific_impulse(ratio, pressure, area, share, humidity, loss)
        assert ours == pytest.approx(float(face), rel=1e-12)
        velocity = combustion.characteristic_velocity_kernel(tables, ratio, pressure, 1.0, humidity, loss)
        face = combustion.characteristic_velocity(ratio, pressure, "equilibrium", humidity, loss)
        assert velocity == pytest.approx(float(face), rel=1e-12)
    for wild in (-1e30, -1.0, 0.0, 1e-30, 1e30):
        places = [wild] * 6
        assert math.isfinite(combustion.specific_impulse_vacuum_kernel(tables, *places))
        assert math.isfinite(combustion.water_specific_impulse_kernel(300.0, wild, 0.0, 0.1))
        assert math.isfinite(combustion.saturated_humidity_kernel(wild, wild, wild))


@fewer
@given(ratios, pressures, areas, st.sampled_from(combustion.KINDS))
def test_liquids_give_less_than_the_same_gases(ratio: float, pressure: float, area: float, kind: str) -> None:
    """By the square root of the heat missing at most, for the jet's energy is what is left."""
    warm = float(combustion.specific_impulse_vacuum(ratio, pressure, area, kind))
    cold = float(combustion.liquid_performance(ratio, pressure, area, kind)["specific_impulse_vacuum"])
    loss = float(combustion.liquid_feed_loss(ratio))
    assert 0.0 < loss < 0.35
    assert warm * (1.0 - loss) < cold < warm


def test_saturated_gas_boils_dry_feed_stays_dry() -> None:
    with pytest.raises(DomainError, match=r"pressure 50000 Pa .* would boil"):
        combustion.saturated_humidity(373.15, 5e4, 8.0)
    cold, hot = combustion.saturated_humidity([280.0, 350.0], 1e6, 8.0)
    assert 0.0 < cold < hot < 0.1


@pytest.mark.parametrize(
    ("feed", "words"),
    [
        ((-0.1, 0.0), r"feed humidity -0\.1 .* 0 to 0\.4"),
        ((0.0, 0.5), r"heat loss 0\.5 .* -0\.05 to 0\.4"),
        ((0.3, 0.3), r"feed humidity 0\.3 with heat loss 0\.3 leaves out 0\.51.* at most 0\.4"),
        ((float("nan"), 0.0), "feed humidity nan"),
    ],
)
def test_too_little_heat_is_refused_in_words(feed: tuple[float, float], words: str) -> None:
    with pytest.raises(DomainError, match=words):
        combustion.specific_impulse_vacuum(8.0, 1e6, 50.0, "frozen", *feed)


def test_flames_of_hydrogen_in_oxygen_are_fast_and_slow_off_the_mixture() -> None:
    rich, middle, lean = combustion.laminar_flame_speed([0.85, 0.67, 0.35], 101325.0)
    assert middle > rich > 2.0
    assert middle > lean > 2.0


class TestRocket:
    @few
    @given(st.floats(1.0, 1e6), changes, speeds)
    def test_mass_is_conserved_and_delta_v_comes_back(self, mass: float, change: float, speed: float) -> None:
        burned = float(rocket.propellant_mass(mass, change, speed))
        assert 0.0 <= burned <= mass
        left = mass * math.exp(-change / speed)
        assert mass - burned == pytest.approx(left, rel=1e-9, abs=1e-12 * mass)
        if left > 1e-6 * mass:
            assert float(rocket.delta_v(mass, left, speed)) == pytest.approx(change, rel=1e-9, abs=1e-6)

    @few
    @given(st.floats(1.0, 1e5), st.floats(1.0, 9000.0), speeds, st.floats(0.0, 0.3))
    def test_a_load_meets_the_velocity_change_with_its_residual_on_board(
        self, dry: float, change: float, speed: float, unusable: float
    ) -> None:
        load = float(rocket.propellant_load(dry, change, speed, unusable))
        if math.isinf(load):
            assert unusable * math.exp(change / speed) >= 1.0 - 1e-12
        else:
            end = dry + unusable * load
            assert speed * math.log((dry + load) / end) == pytest.approx(change, rel=1e-6)

    @few
    @given(changes, speeds)
    def test_two_burns_are_one(self, change: float, speed: float) -> None:
        both = float(rocket.mass_ratio(change, speed)) * float(rocket.mass_ratio(100.0, speed))
        assert float(rocket.mass_ratio(change + 100.0, speed)) == pytest.approx(both, rel=1e-9)

    @few
    @given(st.floats(1.0, 1e4), st.floats(10.0, 4000.0), speeds, st.floats(0.0, 0.2))
    def test_more_residual_never_needs_less(
        self, dry: float, change: float, speed: float, unusable: float
    ) -> None:
        less = float(rocket.propellant_load(dry, change, speed, unusable))
        more = float(rocket.propellant_load(dry, change, speed, unusable + 0.01))
        assert more >= less

    def test_no_velocity_change_needs_no_propellant(self) -> None:
        assert float(rocket.propellant_load(100.0, 0.0, 3500.0, 0.1)) == 0.0
        assert float(rocket.propellant_mass(100.0, 0.0, 3500.0)) == 0.0
        assert float(rocket.burn_time(0.0, 3500.0, 1.0)) == 0.0

    def test_what_cannot_close_is_infinite_and_arrays_keep_their_other_rows(self) -> None:
        loads = rocket.propellant_load(100.0, [3000.0, 30000.0], 3500.0, 0.07)
        assert np.isfinite(loads[0]) and np.isinf(loads[1])
        assert loads[0] == rocket.propellant_load(100.0, 3000.0, 3500.0, 0.07)

    def test_impulse_over_thrust_is_time(self) -> None:
        assert float(rocket.burn_time(2.0, 3000.0, 10.0)) == pytest.approx(600.0)

    @pytest.mark.parametrize(
        ("call", "words"),
        [
            (lambda: rocket.mass_ratio(-1.0, 3500.0), "delta v -1 m/s"),
            (lambda: rocket.mass_ratio(10.0, 0.0), "exhaust velocity 0 m/s"),
            (lambda: rocket.delta_v(1.0, 2.0, 3500.0), "initial mass"),
            (lambda: rocket.propellant_load(1.0, 10.0, 3500.0, 1.0), "unusable fraction"),
            (lambda: rocket.burn_time(1.0, 3500.0, 0.0), "thrust 0 N"),
            (lambda: rocket.exhaust_velocity(-5.0), "specific impulse -5 s"),
        ],
    )
    def test_nonsense_is_refused_in_words(self, call: object, words: str) -> None:
        with pytest.raises(DomainError, match=words):
            call()  # type: ignore[operator]
