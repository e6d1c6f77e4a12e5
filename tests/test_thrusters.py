"""One contract, run over every thruster: registered ones and engines given by numbers."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from tradespace.errors import DomainError, UnknownNameError
from tradespace.quantities import quantity
from tradespace.tables import read_table
from tradespace.thrusters import Conditions, Performance, Store, Thruster, register, registry, thruster
from tradespace.thrusters.given import GivenThruster
from tradespace.thrusters.values import architecture_values, number

GRAVITY = 9.80665
CHEMICAL_BOUND = (
    5286.0  # m/s, all the heat of burning H2 and O2 at 298 K turned into speed, products as vapour
)
GIVEN: dict[str, Thruster] = {
    item.name: item
    for item in (
        GivenThruster("given_gas", "Gas", 310.0, 1.2, 0.0, 400.0, storage="gas"),
        GivenThruster("given_cold", "Cold water vapour", 70.0, 0.5, 0.0, 100.0),
        GivenThruster("given_live", "Electric", 500.0, 0.2, 9000.0, 50.0, mass=2.0),
        GivenThruster("given_carried", "Carried", 900.0, 0.1, 8000.0, 50.0, refuels=False),
    )
}
ALL = {**registry(), **GIVEN}
WATER_FED_REGISTERED = ("electrolysis_bipropellant", "steam_resistojet", "water_hall")
CHEMICAL = ("electrolysis_bipropellant",)
LIVE_ELECTRIC = ("steam_resistojet", "water_hall", "xenon_hall", "given_live", "given_carried")


def conditions(**changed: Any) -> Conditions:
    """Defaults of the quantity table, with a splitting energy of 6 kWh/kg."""
    values: dict[str, Any] = {"split_energy": 2.16e7, "cell_pressure": quantity("storage_pressure").default}
    for field in dataclasses.fields(Conditions):
        if field.name not in values:
            values[field.name] = quantity(field.name).default
    values.update(changed)
    return Conditions(**{name: np.asarray(value, dtype=np.float64) for name, value in values.items()})


def records(item: Thruster, at: Conditions) -> list[Performance | Store]:
    return [record for record in (item.performance(at), item.landing(at), item.hop_engine(at)) if record]


def columns(record: Performance | Store) -> dict[str, np.ndarray]:
    return {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}


@pytest.mark.parametrize("name", ALL)
class TestContract:
    def test_says_what_it_is(self, name: str) -> None:
        item = ALL[name]
        assert isinstance(item, Thruster)
        assert item.name == name
        assert name == name.lower() and name.replace("_", "").isalnum()
        for words in (item.title, item.description, item.maturity):
            assert words.strip() == words and words

    def test_every_number_is_finite_and_of_the_right_sign(self, name: str) -> None:
        positive = {"exhaust_velocity", "thrust_limit", "throughput_life", "tank_factor", "specific_volume"}
        shares = {"split_fraction", "live_split_fraction", "stop_split_fraction", "waste_heat_fraction"}
        for record in records(ALL[name], conditions()):
            for key, column in columns(record).items():
                assert column.dtype == np.float64, key
                assert np.all(np.isfinite(column)), key
                assert np.all(column > 0.0) if key in positive else np.all(column >= 0.0), key
                assert key not in shares or np.all(column <= 1.0), key

    def test_is_pure_and_broadcasts(self, name: str) -> None:
        mixed = conditions(
            split_energy=np.linspace(1.6e7, 3e7, 3)[:, np.newaxis],
            steam_temperature=np.array([900.0, 1100.0]),
            chamber_pressure=np.array([5e5, 1e6]),
        )
        kept = {field.name: getattr(mixed, field.name).copy() for field in dataclasses.fields(mixed)}
        first, second = records(ALL[name], mixed), records(ALL[name], mixed)
        for one, two in zip(first, second, strict=True):
            for key, column in columns(one).items():
                assert column.shape == (3, 2), key
                np.testing.assert_array_equal(column, getattr(two, key))
        for key, column in kept.items():
            np.testing.assert_array_equal(column, getattr(mixed, key))
        for row in range(3):
            for place in range(2):
                single = conditions(
                    split_energy=mixed.split_energy[row, 0],
                    steam_temperature=mixed.steam_temperature[place],
                    chamber_pressure=mixed.chamber_pressure[place],
                )
                for array, scalar in zip(first, records(ALL[name], single), strict=True):
                    for key, column in columns(scalar).items():
                        np.testing.assert_allclose(getattr(array, key)[row, place], column, rtol=1e-12)

    def test_results_do_not_share_memory_with_the_conditions(self, name: str) -> None:
        at = conditions()
        for record in records(ALL[name], at):
            for column in columns(record).values():
                for field in dataclasses.fields(at):
                    assert not np.shares_memory(column, getattr(at, field.name))

    def test_specific_impulse_change_is_in_seconds(self, name: str) -> None:
        plain, more = conditions(), conditions(specific_impulse_change=10.0)
        pairs = [(ALL[name].performance(plain), ALL[name].performance(more))]
        hop = ALL[name].hop_engine(plain), ALL[name].hop_engine(more)
        if hop[0] is not None and hop[1] is not None:
            pairs.append(hop)
        for before, after in pairs:
            np.testing.assert_allclose(
                after.exhaust_velocity - before.exhaust_velocity, 10.0 * GRAVITY, rtol=1e-9
            )

    def test_a_ruinous_change_leaves_a_positive_exhaust_velocity(self, name: str) -> None:
        for record in records(ALL[name], conditions(specific_impulse_change=-3000.0)):
            assert np.all(record.exhaust_velocity > 0.0)

    def test_power_factor_scales_live_power_and_nothing_else(self, name: str) -> None:
        before = ALL[name].performance(conditions())
        after = ALL[name].performance(conditions(power_per_thrust_factor=1.5))
        np.testing.assert_allclose(after.power_per_thrust, 1.5 * before.power_per_thrust, rtol=1e-12)
        for key, column in columns(before).items():
            if key != "power_per_thrust":
                np.testing.assert_array_equal(column, getattr(after, key))

    def test_ranges_hold_the_middle(self, name: str) -> None:
        ranges = ALL[name].ranges()
        assert set(ranges) == {"specific_impulse_change", "power_per_thrust_factor"}
        low, high = ranges["specific_impulse_change"]
        assert low <= 0.0 <= high and low < high
        low, high = ranges["power_per_thrust_factor"]
        assert 0.0 < low <= 1.0 <= high
        assert low < high
        for key, (bottom, top) in ranges.items():
            allowed = quantity(key)
            assert allowed.low <= bottom and top <= allowed.high

    def test_jet_power_has_a_source(self, name: str) -> None:
        """Kinetic energy comes from live power, stored heat, or burning; never from nothing."""
        at = conditions()
        live = ALL[name].performance(at)
        if name in LIVE_ELECTRIC:
            assert np.all(0.5 * live.exhaust_velocity <= live.power_per_thrust)
        if name in CHEMICAL:
            assert np.all(live.exhaust_velocity <= CHEMICAL_BOUND)
            assert np.all(0.5 * live.exhaust_velocity <= live.power_per_thrust)
        store = ALL[name].hop_engine(at)
        if store is not None and ALL[name].refuels and name != "given_cold":
            given = store.energy + store.split_fraction * CHEMICAL_BOUND**2 / 2.0
            assert np.all(0.5 * store.exhaust_velocity**2 <= given)

    def test_landing_engine_is_sound(self, name: str) -> None:
        store = ALL[name].landing(conditions())
        assert np.all(store.exhaust_velocity <= CHEMICAL_BOUND)
        assert bool(np.all(store.split_fraction == 1.0)) == ALL[name].refuels

    def test_waste_heat_is_never_more_than_the_power(self, name: str) -> None:
        live = ALL[name].performance(conditions())
        assert np.all((live.waste_heat_fraction >= 0.0) & (live.waste_heat_fraction <= 1.0))


class TestRegistry:
    def test_holds_the_architectures_and_puts_the_references_last(self) -> None:
        names = list(registry())
        assert names == [*sorted(WATER_FED_REGISTERED), "storable_bipropellant", "xenon_hall"]
        assert [registry()[name].refuels for name in names] == [True] * 3 + [False] * 2

    def test_given_thrusters_do_not_register_themselves(self) -> None:
        assert not set(GIVEN) & set(registry())

    def test_unknown_name_gives_the_nearest(self) -> None:
        with pytest.raises(UnknownNameError, match=r"did you mean 'xenon_hall'.*tradespace list thrusters"):
            thruster("xenon_hal")

    def test_two_classes_cannot_hold_one_name(self) -> None:
        with pytest.raises(Exception, match="two thrusters are called 'xenon_hall'"):

            @register
            class Impostor:
                name = "xenon_hall"

    def test_a_changed_registry_copy_leaves_the_registry_alone(self) -> None:
        registry().clear()
        assert registry()


class TestTable:
    def test_every_row_has_range_grade_and_source(self) -> None:
        architectures = {row["architecture"] for row in read_table("thrusters.csv").rows}
        assert architectures == {*registry(), "shared", "given"}
        for architecture in architectures:
            for value in architecture_values(architecture).values():
                assert value.low <= value.value <= value.high, (architecture, value.name)
                assert value.grade in {"defined", "measured", "reviewed", "computed", "estimated", "assumed"}
                assert value.source and value.where and value.description, (architecture, value.name)

    def test_no_row_is_written_twice(self) -> None:
        keys = [(row["architecture"], row["name"]) for row in read_table("thrusters.csv").rows]
        assert len(keys) == len(set(keys))

    def test_unknown_value_names_what_is_there(self) -> None:
        with pytest.raises(UnknownNameError, match="specific_impulse"):
            number("xenon_hall", "specific_impuls")


class TestElectrolysis:
    engine = registry()["electrolysis_bipropellant"]

    def test_power_falls_as_the_electrolyser_improves(self) -> None:
        worse = self.engine.performance(conditions(split_energy=np.linspace(1.6e7, 3.2e7, 9)))
        assert np.all(np.diff(worse.power_per_thrust) > 0.0)
        np.testing.assert_allclose(worse.power_per_thrust[-1], 2.0 * worse.power_per_thrust[0], rtol=1e-12)

    def test_power_per_thrust_is_energy_over_speed(self) -> None:
        live = self.engine.performance(conditions())
        share = 1.0 + number("electrolysis_bipropellant", "auxiliary_share")
        np.testing.assert_allclose(live.power_per_thrust * live.exhaust_velocity, 2.16e7 * share, rtol=1e-12)

    def test_thrust_per_power_agrees_with_the_published_invariant(self) -> None:
        """A specific impulse of 330 s at 19.28 MJ/kg gives 168 mN/kW (closed form: momentum over energy)."""
        live = self.engine.performance(conditions(split_energy=1.928e7))
        share = 1.0 + number("electrolysis_bipropellant", "auxiliary_share")
        per_speed = share / live.power_per_thrust / live.exhaust_velocity
        assert per_speed * 330.0 * GRAVITY * 1e6 == pytest.approx(168.0, rel=1e-3)

    def test_impulse_per_water_is_best_near_stoichiometry(self) -> None:
        """Burning fuel-rich raises the speed of the jet and lowers the impulse per kilogram of water."""
        ratio = np.array([3.0, 4.0, 6.0, 7.9, 10.0, 14.0])
        speed = self.engine.performance(conditions(mixture_ratio=ratio)).exhaust_velocity
        assert np.argmax(speed) == 3
        assert np.all(np.diff(speed[:4]) > 0.0) and np.all(np.diff(speed[3:]) < 0.0)

    def test_thrust_per_power_stays_below_the_hard_bound(self) -> None:
        """Even a perfect electrolyser gives at most 0.333 mN/W (closed form: 5286 m/s over 15.866 MJ/kg)."""
        live = self.engine.performance(conditions(split_energy=1.5866e7))  # higher heating value, no loss
        assert 0.15e-3 < 1.0 / float(live.power_per_thrust) < 0.333e-3

    def test_area_ratio_outside_the_table_is_refused_in_words(self) -> None:
        with pytest.raises(DomainError, match=r"expansion ratio 300 .* 5 to 200"):
            self.engine.performance(conditions(expansion_ratio=300.0))


class TestLandingEngine:
    def test_follows_its_own_inputs(self) -> None:
        engine, plain = registry()["water_hall"], conditions()
        before = engine.landing(plain)
        speed = engine.landing(conditions(landing_performance_factor=0.465)).exhaust_velocity
        factor = float(plain.landing_performance_factor)
        np.testing.assert_allclose(speed, before.exhaust_velocity * 0.465 / factor, rtol=1e-12)
        heavy = engine.landing(conditions(landing_engine_specific_mass=0.5))
        assert float(heavy.mass_per_thrust) == 0.5
        safer = engine.landing(conditions(tank_safety_factor=2.0 * plain.tank_safety_factor))
        np.testing.assert_allclose(safer.tank_factor, 2.0 * before.tank_factor, rtol=1e-12)
        squeezed = engine.landing(conditions(storage_pressure=2.0 * plain.storage_pressure))
        np.testing.assert_allclose(squeezed.specific_volume, 0.5 * before.specific_volume, rtol=0.03)
        np.testing.assert_allclose(squeezed.tank_factor, before.tank_factor, rtol=0.03)

    def test_is_the_same_on_every_water_fed_craft(self) -> None:
        stores = [registry()[name].landing(conditions()) for name in WATER_FED_REGISTERED]
        for store in stores[1:]:
            for key, column in columns(stores[0]).items():
                np.testing.assert_array_equal(column, getattr(store, key))


class TestSteam:
    engine = registry()["steam_resistojet"]

    def test_hotter_steam_is_faster_and_dearer(self) -> None:
        store = self.engine.hop_engine(conditions(steam_temperature=np.linspace(560.0, 1100.0, 12)))
        assert store is not None
        assert np.all(np.diff(store.exhaust_velocity) > 0.0)
        assert np.all(np.diff(store.energy) > 0.0)
        assert np.all(np.diff(store.tank_factor) > 0.0)

    def test_steam_is_not_split(self) -> None:
        store = self.engine.hop_engine(conditions())
        assert store is not None
        assert np.all(store.split_fraction == 0.0)
        before = self.engine.performance(conditions()).power_per_thrust
        after = self.engine.performance(conditions(split_energy=5e7)).power_per_thrust
        np.testing.assert_array_equal(before, after)

    def test_a_better_heat_store_is_lighter(self) -> None:
        good = self.engine.hop_engine(conditions(heat_store_specific_energy=2e6))
        poor = self.engine.hop_engine(conditions(heat_store_specific_energy=1e6))
        assert good is not None and poor is not None
        tank = conditions().water_tank_fraction
        np.testing.assert_allclose(poor.tank_factor - tank, 2.0 * (good.tank_factor - tank), rtol=1e-12)

    def test_the_store_holds_the_heat_of_the_steam(self) -> None:
        at = conditions()
        store = self.engine.hop_engine(at)
        assert store is not None
        block = store.tank_factor - at.water_tank_fraction
        heat = store.energy * number("steam_resistojet", "stored_heater_efficiency")
        np.testing.assert_allclose(block * at.heat_store_specific_energy, heat, rtol=1e-12)

    def test_steam_beyond_the_table_is_refused(self) -> None:
        with pytest.raises(DomainError):
            self.engine.hop_engine(conditions(steam_temperature=4500.0))


class TestElectric:
    def test_water_hall_reproduces_the_measured_point(self) -> None:
        """20.0 mN at 1600 W of anode power (munoz_tejeda_2023, abstract); supply efficiency taken out."""
        live = registry()["water_hall"].performance(conditions())
        anode_power = live.power_per_thrust * 20.0e-3 * number("water_hall", "supply_efficiency")
        np.testing.assert_allclose(anode_power, 1600.0, rtol=0.005)

    def test_xenon_hall_draws_sixteen_to_seventeen_watts_per_millinewton(self) -> None:
        live = registry()["xenon_hall"].performance(conditions())
        assert 16.0 <= 1e-3 * float(live.power_per_thrust) <= 17.0

    def test_neither_can_lift_from_a_surface_by_itself(self) -> None:
        assert registry()["water_hall"].hop_engine(conditions()) is None
        assert registry()["xenon_hall"].hop_engine(conditions()) is None


class TestGiven:
    def test_numbers_come_back_in_si(self) -> None:
        live = GIVEN["given_live"].performance(conditions())
        assert float(live.exhaust_velocity) == pytest.approx(500.0 * GRAVITY)
        assert float(live.power_per_thrust) == 9000.0
        assert float(live.mass) == 2.0
        assert float(live.throughput_life) == 50.0

    def test_gas_storage_uses_the_gas_tanks_and_its_own_thrust(self) -> None:
        at = conditions()
        engine = GIVEN["given_gas"]
        store, other = engine.hop_engine(at), registry()["electrolysis_bipropellant"].hop_engine(at)
        assert store is not None and other is not None
        np.testing.assert_array_equal(store.tank_factor, other.tank_factor)
        np.testing.assert_array_equal(store.specific_volume, other.specific_volume)
        assert float(store.thrust_limit) == 1.2
        assert float(store.split_fraction) == 1.0
        assert float(engine.performance(at).live_split_fraction) == 0.0

    def test_water_storage_hops_only_without_live_power(self) -> None:
        assert GIVEN["given_live"].hop_engine(conditions()) is None
        store = GIVEN["given_cold"].hop_engine(conditions())
        assert store is not None
        assert float(store.thrust_limit) == 0.5
        assert float(store.split_fraction) == 0.0

    def test_ranges_are_a_tenth_and_a_fifth(self) -> None:
        ranges = GIVEN["given_gas"].ranges()
        assert ranges["specific_impulse_change"] == pytest.approx((-31.0, 31.0))
        assert ranges["power_per_thrust_factor"] == pytest.approx((0.8, 1.2))

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"specific_impulse": 0.0}, "specific_impulse 0 s"),
            ({"specific_impulse": float("nan")}, "specific_impulse nan s"),
            ({"thrust": -1.0}, "thrust -1 N"),
            ({"throughput_life": 0.0}, "throughput_life 0 kg"),
            ({"power_per_thrust": -5.0}, "power_per_thrust -5"),
            ({"storage": "ice"}, "'water' or 'gas'"),
            ({"specific_impulse": 2000.0, "power_per_thrust": 100.0}, "brings no energy of its own"),
            ({"specific_impulse": 2000.0, "storage": "gas"}, "burning split water"),
        ],
    )
    def test_impossible_engines_are_refused(self, changed: dict[str, Any], words: str) -> None:
        plain: dict[str, Any] = {
            "name": "x", "title": "X", "specific_impulse": 300.0, "thrust": 1.0, "power_per_thrust": 0.0,
            "throughput_life": 10.0,
        }  # fmt: skip
        with pytest.raises(DomainError, match=words):
            GivenThruster(**{**plain, **changed})
