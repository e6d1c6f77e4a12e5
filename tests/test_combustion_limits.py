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
            (lambda: rocket.mass_ratio(-1.0, 3500.0), "velocity change -1 m/s"),
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
