"""One contract, run over every thruster and every way of feeding it: registered ones and engines given by numbers."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pytest

from tradespace.constants import GRADES, value
from tradespace.errors import DomainError, UnknownNameError
from tradespace.quantities import quantity
from tradespace.tables import DATA, read_table
from tradespace.thrusters import Conditions, Thruster, register, registry, thruster
from tradespace.thrusters.architecture import FATES, Architecture
from tradespace.thrusters.contract import (
    EXCESSES,
    FEEDS,
    LANDING_ENGINES,
    STORAGES,
    UNLIMITED,
    Engine,
    Keeping,
    Performance,
    Store,
)
from tradespace.thrusters.given import GivenThruster
from tradespace.thrusters.values import architecture_values, number, one_changed, weakest_grade
from tradespace.validity import applying, first_outside, names, valid_ranges

GRAVITY = 9.80665
WHOLE = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))  # of split water
SOURCES = {row["key"] for row in read_table("sources.csv").rows}
HYDROGEN = 1.0 / (1.0 + WHOLE)
HEATING_VALUE = 15.866e6  # J per kilogram of water, higher (stoichiometry with published enthalpies)
CHEMICAL_BOUND = (
    5286.0  # m/s: all the heat of burning H2 and O2 at 298 K turned into speed, products as vapour
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
ALL: dict[str, Thruster] = {**registry(), **GIVEN}
UNPOWERED = ("given_cold", "storable_bipropellant")  # a study's word, and a fuel of its own
SPLIT_FEEDS = ("gases", "hydrogen", "oxygen")
Record = Engine | Performance | Store
LOSSES = np.array([1.0, 0.0])
MIXED = {
    "split_energy": np.linspace(1.8e7, 3e7, 3)[:, np.newaxis],
    "live_power": np.array([[900.0], [3e3], [2e4]]),
    "mixture_ratio": np.array([5.0, 7.937]),
    "steam_temperature": np.array([900.0, 1100.0]),
    "chamber_pressure": np.array([5e5, 1e6]),
}


@cache
def defaults() -> dict[str, float]:
    """Of the quantity table, with a splitting energy of 6 kWh/kg, 3 kW and the Sun of 1 au."""
    values: dict[str, Any] = {
        "split_energy": 2.16e7,
        "cell_pressure": quantity("storage_pressure").default,
        "live_power": 3000.0,
        "solar_flux": 1361.0,
        "collector_area": 10.0,
        "thruster_losses": 1.0,
    }
    for field in dataclasses.fields(Conditions):
        if field.name not in values:
            values[field.name] = quantity(field.name).default
    return values


def conditions(**changed: Any) -> Conditions:
    """The defaults, but for what is said."""
    values = {**defaults(), **changed}
    return Conditions(**{name: np.asarray(value, dtype=np.float64) for name, value in values.items()})


def kept_as(storage: str, **changed: Any) -> Conditions:
    """Conditions that suit a mode of storage: liquids cost energy, 41 and 1.13 kWh/kg (space-scale coolers)."""
    liquid: dict[str, Any] = {
        "storage_is_liquid": 1.0,
        "hydrogen_liquefaction_energy": 1.476e8,
        "oxygen_liquefaction_energy": 4.07e6,
    }
    return conditions(**{**(liquid if storage == "liquid" else {}), **changed})


def columns(record: Record) -> dict[str, np.ndarray]:
    return vars(record)


@cache
def legal(name: str) -> tuple[Architecture, ...]:
    """Every architecture that a thruster allows."""

    def tried() -> Iterator[Architecture]:
        for storage, excess, landing in itertools.product(STORAGES, EXCESSES, ("", *LANDING_ENGINES)):
            try:
                yield Architecture(name, ALL[name], storage=storage, excess=excess, landing_engine=landing)
            except DomainError:
                continue

    return tuple(tried())


@cache
def kept(name: str) -> tuple[Architecture, ...]:
    """The same with the usual landing engine alone: all that matters in cruise."""
    return tuple(item for item in legal(name) if item.landing_is_usual)


def others(name: str) -> list[Architecture]:
    """One architecture for each storage and each landing engine that is not the usual one."""
    found = {(item.storage, item.landing_engine): item for item in legal(name) if not item.landing_is_usual}
    return list(found.values())


@dataclasses.dataclass(frozen=True)
class Seen:
    """What an architecture does over losses (2), mixture ratio (4), factor (2), cell (3) and power (5)."""

    item: Architecture
    at: Conditions
    live: Performance
    budget: dict[tuple[str, str], np.ndarray]

    @property
    def through(self) -> np.ndarray:
        """Mass through the nozzle per mass of mined water, from the book of the atoms alone [1]."""
        return self.budget["jet", "hydrogen"] + self.budget["jet", "oxygen"]


@cache
def seen(name: str) -> tuple[Seen, ...]:
    def each(item: Architecture) -> Seen:
        at = kept_as(
            item.storage,
            thruster_losses=LOSSES.reshape(2, 1, 1, 1, 1),
            mixture_ratio=np.array([3.0, 6.0, 7.937, 12.0]).reshape(4, 1, 1, 1),
            power_per_thrust_factor=np.array([1.0, 1.5]).reshape(2, 1, 1),
            split_energy=np.array([HEATING_VALUE, 2.2e7, 3.6e7]).reshape(3, 1),
            live_power=np.geomspace(10.0, 1e5, 5),
        )
        return Seen(item, at, item.performance(at), item.water_budget(at))

    return tuple(each(item) for item in kept(name))


def stores(item: Architecture, at: Conditions) -> list[Store]:
    """Engines fed from what was made ready at the stop."""
    return [store for store in (item.landing(at), item.hop_engine(at)) if store is not None]


def thrust(live: Performance, power: Any) -> np.ndarray:
    """Thrust that a live power gives, as an engine that knows nothing of part load sees it."""
    free = np.asarray(power) / np.maximum(live.power_per_thrust, 1e-12)
    given = np.minimum(free, live.thrust_limit)
    runs = (given / live.jet_velocity >= live.least_flow) & (np.asarray(power) >= live.least_power)
    return np.where(runs, given, 0.0)


POSITIVE = set(
    "exhaust_velocity jet_velocity thrust_limit throughput_life tank_factor specific_volume holding_time".split()
)
SHARES = set(
    "split_fraction live_split_fraction stop_split_fraction waste_heat_fraction loss_fraction kept_share "
    "engine_power_share split_power_share".split()
)


def check_numbers(record: Record) -> None:
    for key, column in columns(record).items():
        assert column.dtype == np.float64, key
        assert np.isfinite(column).all(), key
        assert column.min() > 0.0 if key in POSITIVE else column.min() >= 0.0, key
        assert key not in SHARES or column.max() <= 1.0 + 1e-12, key


@pytest.mark.parametrize("name", ALL)
class TestEngine:
    def test_says_what_it_is(self, name: str) -> None:
        item = ALL[name]
        assert isinstance(item, Thruster)
        assert item.name == name
        assert name == name.lower() and name.replace("_", "").isalnum()
        for words in (item.title, item.description, item.maturity, item.exhaust):
            assert words.strip() == words and words
        assert item.feed in FEEDS
        assert (item.feed == "own") == (not item.refuels)
        assert item.storages and set(item.storages) <= set(STORAGES)
        assert len(set(item.storages)) == len(item.storages)
        assert set(item.rests_on) <= set(architecture_values(name))
        assert item.rests_on or name in GIVEN

    def test_every_number_is_finite_and_of_the_right_sign(self, name: str) -> None:
        positive = {
            "exhaust_velocity",
            "thrust_limit",
            "throughput_life",
            "burn_life",
            "ignition_life",
            "charge",
        }
        for key, column in columns(ALL[name].engine(conditions(thruster_losses=LOSSES))).items():
            assert column.dtype == np.float64, key
            assert np.all(np.isfinite(column)), key
            assert np.all(column > 0.0) if key in positive else np.all(column >= 0.0), key
            assert key != "waste_heat_fraction" or np.all(column <= 1.0), key

    def test_is_pure_and_broadcasts(self, name: str) -> None:
        mixed = conditions(**MIXED)
        before = {key: column.copy() for key, column in vars(mixed).items()}
        first, second = ALL[name].engine(mixed), ALL[name].engine(mixed)
        for key, column in columns(first).items():
            assert column.shape == (3, 2), key
            np.testing.assert_array_equal(column, getattr(second, key))
            assert not any(np.shares_memory(column, kept) for kept in vars(mixed).values()), key
        for key, column in before.items():
            np.testing.assert_array_equal(column, getattr(mixed, key))
        for row, place in itertools.product(range(3), range(2)):
            element = {key: np.broadcast_to(array, (3, 2))[row, place] for key, array in MIXED.items()}
            for key, column in columns(ALL[name].engine(conditions(**element))).items():
                np.testing.assert_allclose(getattr(first, key)[row, place], column, rtol=1e-12, err_msg=key)

    def test_specific_impulse_change_is_in_seconds(self, name: str) -> None:
        changed = ALL[name].engine(conditions(specific_impulse_change=np.array([0.0, 5.0, -1e5])))
        speed = changed.exhaust_velocity
        np.testing.assert_allclose(speed[1] - speed[0], 5.0 * GRAVITY, rtol=1e-6)
        assert speed[2] > 0.0
        assert np.all(np.isfinite(changed.power_per_thrust))

    def test_power_factor_scales_live_power_where_water_is_fed_as_it_is(self, name: str) -> None:
        before, after = (
            ALL[name].engine(conditions()),
            ALL[name].engine(conditions(power_per_thrust_factor=1.5)),
        )
        factor = 1.0 if ALL[name].feed in SPLIT_FEEDS else 1.5
        np.testing.assert_allclose(after.power_per_thrust, factor * before.power_per_thrust, rtol=1e-9)

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
        """Kinetic energy comes from live power or burning, with losses and without, at any allowed speed."""
        change = np.array([*ALL[name].ranges()["specific_impulse_change"], 0.0])
        engine = ALL[name].engine(
            conditions(thruster_losses=LOSSES[:, np.newaxis], specific_impulse_change=change)
        )
        jet = 0.5 * engine.exhaust_velocity**2
        given = engine.power_per_thrust * engine.exhaust_velocity
        if ALL[name].feed == "gases":
            given = given + 0.5 * CHEMICAL_BOUND**2
        assert jet.shape == (2, 3)
        assert name in UNPOWERED or np.all(jet <= given * (1.0 + 1e-9))

    def test_an_engine_without_losses_is_no_worse(self, name: str) -> None:
        both = ALL[name].engine(conditions(thruster_losses=LOSSES))
        assert both.exhaust_velocity[1] >= both.exhaust_velocity[0] * (1.0 - 1e-12)
        jets = 0.5 * both.exhaust_velocity / np.maximum(both.power_per_thrust, 1e-30)
        assert jets[1] >= jets[0] * (1.0 - 1e-9)
        assert both.auxiliary_share[1] <= both.auxiliary_share[0]

    def test_more_power_never_gives_less_thrust(self, name: str) -> None:
        power = np.geomspace(30.0, 3e5, 25)
        engine = ALL[name].engine(conditions(live_power=power))
        free = power / np.maximum(engine.power_per_thrust, 1e-12)
        given = np.where(power >= engine.least_power, np.minimum(free, engine.thrust_limit), 0.0)
        assert np.all(np.diff(given) >= -1e-9 * given[1:])


@pytest.mark.parametrize("name", ALL)
class TestArchitecture:
    """Over every storage, every fate of the excess and every landing engine that the thruster allows."""

    def test_there_is_at_least_one_of_each_storage(self, name: str) -> None:
        assert {item.storage for item in legal(name)} == set(ALL[name].storages)
        if ALL[name].feed in SPLIT_FEEDS:
            assert {item.excess for item in legal(name)} >= {"vented", "cold_gas", "flown"}

    def test_every_number_is_finite_and_of_the_right_sign(self, name: str) -> None:
        for one in seen(name):
            check_numbers(one.live)
        for item in (*kept(name), *others(name)):
            for store in stores(item, kept_as(item.storage, thruster_losses=LOSSES)):
                check_numbers(store)

    def test_is_pure_and_broadcasts(self, name: str) -> None:
        place = (1, 2, 1, 1, 3)
        for one in seen(name):
            before = {key: column.copy() for key, column in vars(one.at).items()}
            again = one.item.performance(one.at)
            for key, column in before.items():
                np.testing.assert_array_equal(column, getattr(one.at, key))
            shape = (2, 4, 2, 3, 5)
            element = {key: np.broadcast_to(column, shape)[place] for key, column in vars(one.at).items()}
            scalar = one.item.performance(conditions(**element))
            for key, column in columns(one.live).items():
                assert column.shape == shape, key
                assert (column == getattr(again, key)).all(), key
                assert column[place] == pytest.approx(float(getattr(scalar, key)), rel=1e-12), key

    def test_atoms_of_mined_water_are_all_accounted_for(self, name: str) -> None:
        if not ALL[name].refuels:
            return
        for one in seen(name):
            for element, share in (("hydrogen", HYDROGEN), ("oxygen", 1.0 - HYDROGEN)):
                parts = np.asarray([one.budget[fate, element] for fate in FATES])
                np.testing.assert_allclose(parts.sum(axis=0), share, rtol=1e-9)
                assert parts.min() >= -1e-12
            assert one.through.min() > 0.0 and one.through.max() <= 1.0 + 1e-12
            if ALL[name].feed == "water":
                np.testing.assert_allclose(one.through, 1.0)
            if ALL[name].feed == "hydrogen":
                assert one.budget["jet", "hydrogen"].max() <= HYDROGEN + 1e-12
                assert one.budget["jet", "oxygen"].max() < 0.2  # vapour that the drier leaves

    def test_what_is_drawn_mined_and_pushed_agree(self, name: str) -> None:
        """The rocket equation and the mine see the same momentum, whatever becomes of the excess."""
        if ALL[name].feed not in SPLIT_FEEDS:
            return
        for one in seen(name):
            per_mined = one.through * one.live.jet_velocity
            mined = one.live.exhaust_velocity / one.live.mined_per_load
            if one.item.excess in {"vented", "left"}:
                np.testing.assert_allclose(mined, per_mined, rtol=1e-9)
            if one.item.excess == "cold_gas":
                assert np.all(mined >= per_mined * (1.0 - 1e-9))
            if one.item.excess in {"left", "flown"}:
                np.testing.assert_allclose(one.live.exhaust_velocity, one.live.jet_velocity, rtol=1e-9)
            drawn = one.live.water_per_propellant * one.live.mined_per_load
            np.testing.assert_allclose(1.0 / drawn, one.through, rtol=1e-9)

    def test_jet_energy_never_exceeds_the_energy_given(self, name: str) -> None:
        """Per kilogram drawn from the tanks: live power, splitting in flight and at the stop; burning gives no more."""
        if name in UNPOWERED:
            return
        for one in seen(name):
            live = one.live
            jet = 0.5 * live.jet_velocity**2 / live.water_per_propellant
            push = live.jet_velocity / live.water_per_propellant
            if one.item.excess == "cold_gas":
                push = live.exhaust_velocity
            given = live.power_per_thrust * push + live.stop_split_fraction * one.at.split_energy
            assert np.all(jet <= given * (1.0 + 1e-9)), one.item
            if ALL[name].feed == "gases":
                fed = live.power_per_thrust * live.jet_velocity * live.engine_power_share
                assert np.all(0.5 * live.jet_velocity**2 <= 0.5 * CHEMICAL_BOUND**2 + fed)

    def test_thrust_is_bounded_by_power_and_by_flow(self, name: str) -> None:
        for one in seen(name):
            live, power = one.live, one.at.live_power
            given = thrust(live, power)
            assert np.all(given <= live.thrust_limit)
            assert np.all(given * live.power_per_thrust <= power * (1.0 + 1e-9))
            flow = given / live.jet_velocity
            assert np.all((flow == 0.0) | (flow >= live.least_flow))
            drawn = flow * live.water_per_propellant
            if one.item.excess == "cold_gas":  # it pushes as well
                drawn = given / live.exhaust_velocity
            split = drawn * live.live_split_fraction * one.at.split_energy
            assert np.all(split <= power * (1.0 + 1e-9))

    def test_answers_power_a_worse_cell_and_the_factor_on_power(self, name: str) -> None:
        for one in seen(name):
            need = one.live.power_per_thrust
            if one.live.live_split_fraction.flat[0] > 0.0:
                assert np.all(np.diff(need, axis=3) > 0.0)
            else:
                assert np.all(np.abs(need - need[:, :, :, :1]) <= 1e-12 * need)
            rise = need[:, :, 1] / np.maximum(need[:, :, 0], 1e-300)
            assert np.all((np.abs(rise - 1.5) < 0.09) | (need[:, :, 0] == 0.0))
            given = thrust(one.live, one.at.live_power)
            assert np.all(np.diff(given, axis=4) >= -1e-9 * given[..., 1:])

    def test_engines_fed_from_what_was_stored_are_sound(self, name: str) -> None:
        if name == "given_cold":
            return
        for item in (*kept(name), *others(name)):
            for store in stores(item, kept_as(item.storage)):
                assert np.all(store.exhaust_velocity <= CHEMICAL_BOUND)
                if item.refuels:
                    given = store.energy + store.split_fraction * CHEMICAL_BOUND**2 / 2.0
                    assert np.all(0.5 * store.exhaust_velocity**2 <= given)
                else:
                    assert np.all(store.split_fraction == 0.0)

    def test_hops_by_itself_only_from_what_it_keeps(self, name: str) -> None:
        for storage in ALL[name].storages:
            store = ALL[name].hop_engine(kept_as(storage), Keeping(storage, "vented"))
            if storage in {"gas", "liquid"} and ALL[name].feed == "gases":
                assert store is not None
                assert np.all(store.split_fraction == 1.0)
            if ALL[name].feed in {"water", "own"} and name not in UNPOWERED:
                assert store is None or np.all(store.energy > 0.0)


class TestCopies:
    def test_keep_the_usual_landing_engine_usual(self) -> None:
        """A copy with another thruster hops on its own engine, as the first did."""
        first = Architecture("steam", ALL["steam_resistojet"])
        copy = dataclasses.replace(first, own={"heater_efficiency": 0.5})
        assert first.landing_is_usual and copy.landing_is_usual
        stores = [item.hop_engine(conditions()) for item in (first, copy)]
        assert stores[0] is not None and stores[1] is not None
        np.testing.assert_array_equal(stores[0].exhaust_velocity, stores[1].exhaust_velocity)
        water = dataclasses.replace(first, storage="water")
        assert water.landing_engine == "itself"
        asked = Architecture("steam", ALL["steam_resistojet"], landing_engine="stored_gas")
        assert not dataclasses.replace(asked, title="Steam").landing_is_usual


class TestContradictions:
    @pytest.mark.parametrize(
        ("settings", "words"),
        [
            ({"thruster": "electrolysis_continuous", "storage": "gas"}, ("storage", "thruster")),
            ({"thruster": "liquid_hydrogen_oxygen", "storage": "buffer"}, ("storage", "thruster")),
            ({"thruster": "water_hall", "excess": "cold_gas"}, ("excess", "thruster")),
            ({"thruster": "electrolysis_bipropellant", "excess": "left"}, ("excess", "storage")),
            ({"thruster": "water_hall", "landing_engine": "storable"}, ("landing_engine", "thruster")),
            ({"thruster": "xenon_hall", "landing_engine": "stored_gas"}, ("landing_engine", "thruster")),
            (
                {"thruster": "electrolysis_bipropellant", "storage": "water", "landing_engine": "stored_gas"},
                ("landing_engine", "storage"),
            ),
        ],
    )
    def test_name_both_keys(self, settings: dict[str, Any], words: tuple[str, str]) -> None:
        given = {**settings, "thruster": ALL[settings["thruster"]]}
        with pytest.raises(DomainError) as caught:
            Architecture("contradiction", **given)
        for word in words:
            assert word in str(caught.value)

    @pytest.mark.parametrize("key", ["storage", "excess", "landing_engine"])
    def test_unknown_settings_give_the_nearest(self, key: str) -> None:
        settings: dict[str, Any] = {key: "stored_gaz"}
        with pytest.raises(UnknownNameError, match="stored_gaz"):
            Architecture("unknown", ALL["electrolysis_bipropellant"], **settings)


class TestRegistry:
    def test_holds_the_architectures_and_puts_the_references_last(self) -> None:
        refuelling = [item.refuels for item in registry().values()]
        assert refuelling == sorted(refuelling, reverse=True)
        for group in (True, False):
            found = [name for name, item in registry().items() if item.refuels is group]
            assert found == sorted(found)
        assert [name for name, item in registry().items() if not item.refuels] == [
            "storable_bipropellant",
            "xenon_hall",
        ]

    def test_holds_all_the_ways_of_pushing_with_water(self) -> None:
        """Seventeen thrusters at least, each of them in one file."""
        assert sum(item.refuels for item in registry().values()) >= 17

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


class TestTables:
    tables = sorted(path.stem for path in (DATA / "thrusters").glob("*.csv"))

    def test_there_is_one_for_every_thruster(self) -> None:
        assert set(self.tables) == {*registry(), "shared", "given"}

    @pytest.mark.parametrize("name", tables)
    def test_every_row_has_range_grade_and_source(self, name: str) -> None:
        rows = [row["name"] for row in read_table(f"thrusters/{name}.csv").rows]
        assert len(rows) == len(set(rows))
        for row in architecture_values(name).values():
            assert row.low <= row.value <= row.high, row.name
            assert row.grade in GRADES
            assert set(row.source.split(";")) <= SOURCES, row.name
            assert row.where and row.description, row.name

    @pytest.mark.parametrize("name", tables)
    def test_what_is_assumed_has_a_range_of_a_factor_two(self, name: str) -> None:
        """In the value, or in what is lost where a share cannot rise above one."""
        judged = {"specific_impulse_change", "power_per_thrust_factor", "readiness"}
        for row in architecture_values(name).values():
            if row.grade != "assumed" or row.name in judged:
                continue
            wide = row.high >= 2.0 * row.low * (1.0 - 1e-9)
            lost = row.unit == "1" and row.high <= 1.0 and 1.0 - row.low >= 2.0 * (1.0 - row.high)
            assert wide or lost, (row.name, row.low, row.high)

    @pytest.mark.parametrize("name", registry())
    def test_evidence_says_how_ready_it_is_and_what_the_rank_rests_on(self, name: str) -> None:
        rows = architecture_values(name)
        assert {"specific_impulse_change", "power_per_thrust_factor"} <= set(rows)
        if registry()[name].refuels:
            assert 1.0 <= rows["readiness"].low <= rows["readiness"].value <= rows["readiness"].high <= 9.0
        for row in ("demonstrated_efficiency",):
            assert row not in rows or 0.0 < rows[row].value < 1.0
        grade = weakest_grade(name, registry()[name].rests_on)
        assert Architecture(name, registry()[name]).demonstrated == (
            grade in {"defined", "measured", "reviewed", "computed"}
        )

    def test_claims_without_data_are_not_called_demonstrated(self) -> None:
        for name in ("steam_arcjet", "pulsed_inductive", "pulsed_detonation", "rotating_detonation"):
            assert not Architecture(name, registry()[name]).demonstrated, name
        for name in ("electrolysis_bipropellant", "steam_resistojet"):
            assert Architecture(name, registry()[name]).demonstrated, name

    def test_unknown_value_names_what_is_there(self) -> None:
        with pytest.raises(UnknownNameError, match="specific_impulse"):
            number("xenon_hall", "specific_impuls")


class TestValidity:
    @pytest.mark.parametrize("name", registry())
    def test_says_its_valid_range_and_names_what_leaves_it(self, name: str) -> None:
        own = [one for one in valid_ranges() if one.architecture == name]
        assert own, "add a row to validity.csv"
        for one in own:
            assert one.model and one.source and one.where
            assert one in applying({one.choice: one.option}, name, "splitting")
            bounds = [end for end in (one.low, one.high) if np.isfinite(end)]
            assert bounds
            inside = one.high if np.isfinite(one.high) else one.low
            step = 0.01 * max(abs(inside), 1.0)
            outside = inside + step if np.isfinite(one.high) else inside - step
            options = {one.choice: one.option} if one.choice else {}
            for amount, said in ((inside, "none"), (outside, one.quantity)):
                place = first_outside({one.quantity: np.array([amount])}, options, name, "all", 1)
                others = [
                    other for other in applying(options, name, "all")
                    if other.quantity == one.quantity and not other.low <= amount <= other.high
                ]  # fmt: skip
                assert names()[int(place[0])] == said or others


def bipropellant(storage: str = "buffer", excess: str = "vented", **others: Any) -> Architecture:
    return Architecture(
        "bipropellant", ALL["electrolysis_bipropellant"], storage=storage, excess=excess, **others
    )


class TestElectrolysis:
    def test_power_falls_as_the_electrolyser_improves(self) -> None:
        worse = bipropellant().performance(conditions(split_energy=np.linspace(1.6e7, 3.2e7, 9)))
        assert np.all(np.diff(worse.power_per_thrust) > 0.0)
        np.testing.assert_allclose(worse.power_per_thrust[-1], 2.0 * worse.power_per_thrust[0], rtol=1e-3)

    def test_thrust_per_power_agrees_with_the_published_invariant(self) -> None:
        """A specific impulse of 330 s at 19.28 MJ/kg gives 168 mN/kW (closed form: momentum over energy)."""
        live = bipropellant().performance(conditions(split_energy=1.928e7))
        share = 1.0 + number("electrolysis_bipropellant", "auxiliary_share")
        per_speed = share / live.power_per_thrust / live.exhaust_velocity
        assert per_speed * 330.0 * GRAVITY * 1e6 == pytest.approx(168.0, rel=1e-3)

    def test_impulse_per_water_is_best_near_stoichiometry(self) -> None:
        """Burning fuel-rich raises the speed of the jet and lowers the impulse per kilogram of water."""
        ratio = np.array([3.0, 4.0, 6.0, 7.9, 10.0, 14.0])
        live = bipropellant().performance(conditions(mixture_ratio=ratio))
        assert np.argmax(live.exhaust_velocity) == 3
        assert np.all(np.diff(live.exhaust_velocity[:4]) > 0.0) and np.all(
            np.diff(live.exhaust_velocity[3:]) < 0.0
        )
        assert np.all(np.diff(live.jet_velocity) < 0.0)

    def test_thrust_per_power_stays_below_the_hard_bound(self) -> None:
        """Even a perfect electrolyser gives at most 0.333 mN/W (closed form: 5286 m/s over 15.866 MJ/kg)."""
        live = bipropellant().performance(conditions(split_energy=HEATING_VALUE))
        assert 0.15e-3 < 1.0 / float(live.power_per_thrust) < 0.333e-3

    def test_area_ratio_outside_the_table_is_refused_in_words(self) -> None:
        with pytest.raises(DomainError, match=r"expansion ratio 300 .* 5 to 200"):
            bipropellant().performance(conditions(expansion_ratio=300.0))

    def test_fuller_accumulators_mean_longer_bursts_and_a_higher_impulse(self) -> None:
        pressure = np.array(
            [1.2e6, 1.5e6, 3e6, 5e6, 9e6]
        )  # feeds 10 bar; the first does not reach the valves
        engine = ALL["electrolysis_bipropellant"].engine(
            conditions(cell_pressure=pressure, gas_dew_point=278.15)
        )
        assert np.all(np.diff(engine.charge) > 0.0)
        assert np.all(np.diff(engine.exhaust_velocity) > 0.0)
        assert np.all(np.diff(engine.mass) > 0.0)
        assert engine.charge[0] < 1e-5  # every puff an ignition
        impulse = engine.exhaust_velocity / GRAVITY
        ideal = (
            ALL["electrolysis_bipropellant"].engine(conditions(thruster_losses=0.0)).exhaust_velocity
            / GRAVITY
        )
        assert impulse[0] / ideal == pytest.approx(0.80, abs=0.005)  # the class of pulsed engines
        assert 0.91 < impulse[-1] / ideal < 0.93  # the class of large steady ones

    def test_ignitions_shown_in_1974_are_what_wears_it_out(self) -> None:
        engine = ALL["electrolysis_bipropellant"].engine(conditions())
        assert float(engine.ignition_life) == pytest.approx(
            number("electrolysis_bipropellant", "engines") * 69700.0
        )
        assert float(engine.charge) < 1.0

    def test_a_given_specific_impulse_replaces_that_of_the_tables(self) -> None:
        for name in ("electrolysis_bipropellant", "electrolysis_continuous", "liquid_hydrogen_oxygen"):
            for given in (185.0, 345.0, 440.0):
                with one_changed(name, "specific_impulse", given):
                    speed = ALL[name].engine(conditions()).exhaust_velocity
                np.testing.assert_allclose(speed, given * GRAVITY)

    @pytest.mark.parametrize(
        "name",
        [
            "electrolysis_bipropellant", "electrolysis_continuous", "liquid_hydrogen_oxygen", "pulsed_detonation",
            "rotating_detonation",
        ],
    )  # fmt: skip
    def test_the_row_that_documents_the_specific_impulse_is_what_the_model_gives(self, name: str) -> None:
        at = conditions(cell_pressure=3e6, live_power=2000.0)
        if "mixture_ratio" in architecture_values(name):
            at = dataclasses.replace(at, mixture_ratio=np.asarray(number(name, "mixture_ratio")))
        impulse = float(ALL[name].engine(at).exhaust_velocity) / GRAVITY
        assert impulse == pytest.approx(number(name, "specific_impulse"), rel=0.01)


class TestContinuous:
    engine = ALL["electrolysis_continuous"]

    def test_small_flows_deliver_less(self) -> None:
        power = np.geomspace(10.0, 1e5, 13)
        engine = self.engine.engine(conditions(live_power=power))
        assert np.all(np.diff(engine.exhaust_velocity) >= 0.0)
        share = engine.exhaust_velocity / self.engine.engine(conditions(thruster_losses=0.0)).exhaust_velocity
        assert share[0] < 0.51 < 0.85 < share[-1] < 0.93
        assert np.all((engine.throttle_exponent >= 0.0) & (engine.throttle_exponent < 0.12))

    def test_thrust_and_share_agree_with_each_other(self) -> None:
        """The fixed point: an engine of the thrust found delivers the share with which it was found."""
        from tradespace.physics.combustion import delivered_share

        power = np.array([50.0, 500.0, 2000.0])
        item = Architecture("continuous", self.engine)
        live = item.performance(conditions(live_power=power))
        ideal = item.performance(conditions(live_power=power, thruster_losses=0.0))
        np.testing.assert_allclose(
            live.jet_velocity / ideal.jet_velocity, delivered_share(power / live.power_per_thrust), rtol=1e-9
        )

    def test_cannot_keep_gas(self) -> None:
        assert "gas" not in self.engine.storages


class TestLiquid:
    def test_costs_nothing_in_flight_but_pumping(self) -> None:
        item = Architecture("liquid", ALL["liquid_hydrogen_oxygen"], excess="left")
        live = item.performance(kept_as("liquid"))
        assert float(live.power_per_thrust) < 10.0
        assert float(live.tank_factor) < 0.5
        assert float(live.mined_per_load) == pytest.approx(
            1.0 / (HYDROGEN * 7.0), rel=0.01
        )  # mixture ratio 6
        store = item.hop_engine(kept_as("liquid"))
        assert store is not None
        assert 1.5e7 < float(store.energy) < 3e7  # seventh part hydrogen at 41 kWh/kg

    def test_burns_its_own_mixture_unless_the_architecture_sets_one(self) -> None:
        usual = Architecture("liquid", ALL["liquid_hydrogen_oxygen"], excess="left")
        other = Architecture("liquid", ALL["liquid_hydrogen_oxygen"], excess="left", mixture_ratio=5.0)
        mined = [float(item.performance(kept_as("liquid")).mined_per_load) for item in (usual, other)]
        assert mined[1] / mined[0] == pytest.approx(7.0 / 6.0, rel=1e-3)


class TestDetonation:
    def test_a_rotating_wave_does_not_run_on_milligrams(self) -> None:
        power = np.array([500.0, 5e3, 5e4])
        live = Architecture("fed live", ALL["rotating_detonation"], storage="buffer").performance(
            conditions(live_power=power)
        )
        assert np.all(thrust(live, power) == 0.0)
        stored = Architecture("stored", ALL["rotating_detonation"], storage="gas").performance(
            conditions(live_power=power)
        )
        assert np.all(thrust(stored, power) > 100.0)

    def test_its_least_flow_is_that_of_the_physics(self) -> None:
        from tradespace.physics.detonation import rotating_detonation_margin

        assert float(
            rotating_detonation_margin(number("rotating_detonation", "least_flow"))
        ) == pytest.approx(0.0, abs=1e-12)

    def test_pulses_gain_nothing_over_steady_burning(self) -> None:
        pulsed = ALL["pulsed_detonation"].engine(conditions())
        steady = ALL["electrolysis_bipropellant"].engine(conditions(chamber_pressure=1e5))
        assert float(pulsed.exhaust_velocity) < float(steady.exhaust_velocity)
        with one_changed("pulsed_detonation", "nozzle_share", 1.0):
            best = ALL["pulsed_detonation"].engine(conditions())
        assert float(pulsed.exhaust_velocity) < float(best.exhaust_velocity) < float(steady.exhaust_velocity)

    def test_a_narrow_tube_is_widened_to_what_a_wave_passes(self) -> None:
        with one_changed("pulsed_detonation", "tube_diameter", 1e-4):
            narrow = ALL["pulsed_detonation"].engine(conditions())
        wide = ALL["pulsed_detonation"].engine(conditions())
        assert 0.0 < float(narrow.charge) < float(wide.charge)
        assert float(narrow.charge) > (1e-4 / 0.05) ** 2 * float(wide.charge)
        assert float(narrow.thrust_limit) < float(wide.thrust_limit)

    def test_many_small_charges_use_up_the_ignitions(self) -> None:
        engine = ALL["pulsed_detonation"].engine(conditions())
        assert 1e-4 < float(engine.charge) < 1e-3
        assert 50.0 < float(engine.charge * engine.ignition_life) < 1000.0  # kilograms in a life


class TestLandingEngine:
    def test_follows_its_own_inputs(self) -> None:
        def landing(**changed: Any) -> Store:
            store = Architecture("hall", ALL["water_hall"]).landing(conditions(**changed))
            assert store is not None
            return store

        before, plain = landing(), conditions()
        speed = landing(landing_performance_factor=0.465).exhaust_velocity
        factor = float(plain.landing_performance_factor)
        np.testing.assert_allclose(speed, before.exhaust_velocity * 0.465 / factor, rtol=1e-12)
        assert float(landing(landing_engine_specific_mass=0.5).mass_per_thrust) == 0.5
        safer = landing(tank_safety_factor=2.0 * plain.tank_safety_factor)
        np.testing.assert_allclose(safer.tank_factor, 2.0 * before.tank_factor, rtol=1e-12)
        squeezed = landing(storage_pressure=2.0 * plain.storage_pressure)
        np.testing.assert_allclose(squeezed.specific_volume, 0.5 * before.specific_volume, rtol=0.03)
        np.testing.assert_allclose(squeezed.tank_factor, before.tank_factor, rtol=0.03)

    def test_is_the_same_on_every_water_fed_craft(self) -> None:
        stores = [
            Architecture(name, item, storage="buffer").landing(conditions())
            for name, item in registry().items()
            if item.refuels and "buffer" in item.storages
        ]
        assert len(stores) > 10 and stores[0] is not None
        for store in stores[1:]:
            assert store is not None
            for key, column in columns(stores[0]).items():
                np.testing.assert_array_equal(column, getattr(store, key))


class TestSteam:
    @staticmethod
    def store(**changed: Any) -> Store:
        item = Architecture("steam", ALL["steam_resistojet"], landing_engine="stored_heat")
        found = item.hop_engine(conditions(**changed))
        assert found is not None
        return found

    def test_hotter_steam_is_faster_and_dearer(self) -> None:
        store = self.store(steam_temperature=np.linspace(560.0, 1100.0, 12))
        assert np.all(np.diff(store.exhaust_velocity) > 0.0)
        assert np.all(np.diff(store.energy) > 0.0)
        assert np.all(np.diff(store.tank_factor) > 0.0)

    def test_steam_is_not_split(self) -> None:
        assert np.all(self.store().split_fraction == 0.0)
        before = ALL["steam_resistojet"].engine(conditions()).power_per_thrust
        after = ALL["steam_resistojet"].engine(conditions(split_energy=5e7)).power_per_thrust
        np.testing.assert_array_equal(before, after)

    def test_a_better_heat_store_is_lighter(self) -> None:
        good = self.store(heat_store_specific_energy=2e6)
        poor = self.store(heat_store_specific_energy=1e6)
        tank = conditions().water_tank_fraction
        np.testing.assert_allclose(poor.tank_factor - tank, 2.0 * (good.tank_factor - tank), rtol=1e-12)

    def test_the_store_holds_the_heat_of_the_steam(self) -> None:
        at, store = conditions(), self.store()
        block = store.tank_factor - at.water_tank_fraction
        heat = store.energy * number("shared", "stored_heater_efficiency")
        np.testing.assert_allclose(block * at.heat_store_specific_energy, heat, rtol=1e-12)

    def test_steam_beyond_the_table_is_refused(self) -> None:
        with pytest.raises(DomainError):
            self.store(steam_temperature=4500.0)


class TestElectric:
    def test_xenon_hall_draws_sixteen_to_seventeen_watts_per_millinewton(self) -> None:
        live = registry()["xenon_hall"].engine(conditions())
        assert 16.0 <= 1e-3 * float(live.power_per_thrust) <= 17.0

    def test_neither_can_lift_from_a_surface_by_itself(self) -> None:
        for name in ("water_hall", "xenon_hall"):
            assert registry()[name].hop_engine(conditions(), Keeping("buffer", "vented")) is None


class TestGiven:
    def test_numbers_come_back_in_si(self) -> None:
        live = GIVEN["given_live"].engine(conditions())
        assert float(live.exhaust_velocity) == pytest.approx(500.0 * GRAVITY)
        assert float(live.power_per_thrust) == 9000.0
        assert float(live.mass) == 2.0
        assert float(live.throughput_life) == 50.0
        assert float(live.ignition_life) == UNLIMITED

    def test_gas_storage_uses_the_gas_tanks_and_its_own_thrust(self) -> None:
        at = conditions()
        item = Architecture("given", GIVEN["given_gas"])
        store, other = item.hop_engine(at), bipropellant("gas", "left").hop_engine(at)
        assert store is not None and other is not None
        np.testing.assert_array_equal(store.tank_factor, other.tank_factor)
        np.testing.assert_array_equal(store.specific_volume, other.specific_volume)
        assert float(store.thrust_limit) == 1.2
        assert float(store.split_fraction) == 1.0
        assert float(item.performance(at).live_split_fraction) == 0.0

    def test_water_storage_hops_only_without_live_power(self) -> None:
        keeping = Keeping("buffer", "vented")
        assert GIVEN["given_live"].hop_engine(conditions(), keeping) is None
        store = GIVEN["given_cold"].hop_engine(conditions(), keeping)
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
