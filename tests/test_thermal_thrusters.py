"""Thrusters on heated steam and hydrogen: demonstrated points, the common basis, and how they answer to each input."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.physics import electric, electrothermal
from tradespace.quantities import quantity
from tradespace.thrusters import Conditions, Engine, thruster
from tradespace.thrusters.architecture import Architecture
from tradespace.thrusters.contract import UNLIMITED, Keeping
from tradespace.thrusters.values import architecture_values, changed, table_ranges

GRAVITY = 9.80665
KILOWATT_HOUR = 3.6e6
STEAM = ("steam_resistojet", "solar_thermal_steam", "microwave_electrothermal", "steam_arcjet")
ELECTRIC = ("cold_vapour", "steam_resistojet", "microwave_electrothermal", "steam_arcjet", "hydrogen_arcjet")
THERMAL = ("solar_thermal_steam", *ELECTRIC)
FEW = settings(max_examples=15, deadline=None)


def conditions(**changes: Any) -> Conditions:
    """Defaults of the quantity table with 5 kW to the thruster at 1 au and an electrolyser of 70 %."""
    values: dict[str, Any] = {
        "split_energy": 15.866e6 / 0.7, "cell_pressure": 2e7, "live_power": 5000.0,
        "solar_flux": value("solar_constant"),
    }  # fmt: skip
    for field in dataclasses.fields(Conditions):
        values.setdefault(field.name, None)
        if values[field.name] is None:
            values[field.name] = quantity(field.name).default
    values.update(changes)
    return Conditions(**{name: np.asarray(number, dtype=np.float64) for name, number in values.items()})


def engine(name: str, rows: dict[str, float] | None = None, **changes: Any) -> Engine:
    with changed({(name, row): number for row, number in (rows or {}).items()}):
        return thruster(name).engine(conditions(**changes))


def impulse(found: Engine) -> np.ndarray:
    return found.exhaust_velocity / GRAVITY


def efficiency(found: Engine) -> np.ndarray:
    return 0.5 * found.exhaust_velocity / found.power_per_thrust


# Each row: thruster, rows given, specific impulse [s], W/mN and kWh per kilogram of water spent, all as printed,
# with one unit of the last digit. The energies of steam are 0.679, 0.96, 1.14 and 1.82 kWh/kg at 300, 800, 1100 and
# 2000 K (computed with goodwin_2024), the heaters 0.8 and 0.6 efficient.
COMMON_BASIS = [
    ("cold_vapour", {"specific_impulse": 70.0, "vapour_temperature": 300.0, "heater_efficiency": 0.8}, 70, 4.5, 0.9),
    ("steam_resistojet", {"specific_impulse": 130.0, "heater_temperature": 800.0, "heater_efficiency": 0.6},
     130, 4.5, 1.6),
    ("steam_resistojet", {"specific_impulse": 180.0, "heater_temperature": 1100.0, "heater_efficiency": 0.6},
     180, 3.9, 1.9),
    ("solar_thermal_steam", {"specific_impulse": 260.0, "receiver_temperature": 2000.0, "receiver_efficiency": 0.6},
     260, 4.3, 3.1),
    ("microwave_electrothermal", {"specific_impulse": 400.0, "thrust_efficiency": 0.35}, 400, 5.6, 6.1),
    ("microwave_electrothermal", {"specific_impulse": 800.0, "thrust_efficiency": 0.5}, 800, 7.8, 17.0),
    ("hydrogen_arcjet", {"specific_impulse": 1000.0, "thrust_efficiency": 0.35}, 112, 35.0, 10.6),
]  # fmt: skip


@pytest.mark.parametrize(("name", "rows", "seconds", "watts", "energy"), COMMON_BASIS)
def test_common_basis(name: str, rows: dict[str, float], seconds: float, watts: float, energy: float) -> None:
    found = Architecture(name, thruster(name), own=rows).performance(conditions())
    assert found.exhaust_velocity / GRAVITY == pytest.approx(seconds, rel=0.01)
    per_thrust = float(found.power_per_thrust) / 1e3
    assert per_thrust == pytest.approx(watts, rel=0.03) or per_thrust == pytest.approx(watts, abs=0.1)
    spent = float(found.power_per_thrust * found.exhaust_velocity) / KILOWATT_HOUR
    assert spent == pytest.approx(energy, rel=0.03) or spent == pytest.approx(energy, abs=0.1)


class TestDemonstrated:
    def test_cold_vapour_gives_four_millinewtons_on_its_watts(self) -> None:
        """asakawa_2018: more than 4 mN; aqtd_2019: 70 s with 5 to 20 W; femta_2017: 230 micronewtons per watt."""
        found = engine("cold_vapour", live_power=18.0)
        assert impulse(found) == pytest.approx(70.0)
        assert 18.0 / found.power_per_thrust == pytest.approx(4e-3, rel=0.03)
        assert 1e6 / found.power_per_thrust == pytest.approx(230.0, rel=0.03)

    def test_resistojet_at_its_class(self) -> None:
        """water_resistojet_sheets: 17 mN at 175 s from 55 to 75 W; lawrence_1998: 2.2 to 3.3 W/mN is the better end."""
        found = engine("steam_resistojet", live_power=60.0)
        assert impulse(found) == pytest.approx(175.0)
        assert 0.014 < 60.0 / found.power_per_thrust < 0.018
        assert found.burn_life / 3600.0 == pytest.approx(10000.0)  # nasa_ntrs_19900009166
        best = engine("steam_resistojet", {"heater_efficiency": 0.9}, live_power=60.0)
        assert 2.2e3 < best.power_per_thrust < 3.3e3

    def test_hydrogen_arcjet_stays_inside_what_was_measured(self) -> None:
        """curran_1991: 650 to 1250 s at 0.30 to 0.40 with 1 to 4 kW."""
        seconds = np.linspace(650.0, 1250.0, 7)
        found = engine("hydrogen_arcjet", specific_impulse_change=seconds - 1000.0)
        assert impulse(found) == pytest.approx(seconds)
        assert np.all((efficiency(found) >= 0.30) & (efficiency(found) <= 0.40))
        specific_energy = found.power_per_thrust * found.exhaust_velocity
        known = electrothermal.arc_exhaust_velocity(specific_energy, 1000.0 * GRAVITY, 0.35, 0.3)
        assert known == pytest.approx(found.exhaust_velocity)

    def test_the_claim_of_the_microwave_thruster_is_above_what_steam_can_do(self) -> None:
        """800 s at 0.5: fully recombined steam of 800 s carries less than half of its heat, from 0.1 to 10 bar."""
        bound = electrothermal.steam_jet_efficiency(800.0 * GRAVITY, np.geomspace(1e4, 1e6, 5), 100.0, 1.0)
        assert np.all((bound > 0.4) & (bound < 0.5))
        conservative = electrothermal.steam_jet_efficiency(400.0 * GRAVITY, 5e4, 100.0, [0.0, 0.5, 1.0])
        assert np.all(conservative > 0.35)
        at = engine("microwave_electrothermal", specific_impulse_change=400.0)
        assert efficiency(at) < 0.35


@pytest.mark.parametrize("name", THERMAL)
class TestAnswers:
    def test_change_of_specific_impulse_is_in_seconds_and_costs_power(self, name: str) -> None:
        low, high = table_ranges(name)["specific_impulse_change"]
        change = np.linspace(low, high, 9)
        found = engine(name, specific_impulse_change=change)
        own = architecture_values(name)["specific_impulse"].value
        assert impulse(found) == pytest.approx(own + change, rel=1e-9)
        energy = found.power_per_thrust * found.exhaust_velocity
        if name == "cold_vapour":
            assert energy == pytest.approx(energy[0])  # a better nozzle, the same vapour
        else:
            assert np.all(np.diff(energy) > 0.0)
            assert np.all(np.diff(found.burn_life) <= 0.0)
        assert np.all((efficiency(found) > 0.0) & (efficiency(found) < 1.0))

    def test_without_losses_it_is_ideal(self, name: str) -> None:
        real, ideal = engine(name), engine(name, thruster_losses=0.0)
        assert ideal.exhaust_velocity >= real.exhaust_velocity
        assert ideal.power_per_thrust < real.power_per_thrust
        assert ideal.least_power == ideal.throttle_exponent == 0.0
        if name in {"microwave_electrothermal", "steam_arcjet", "hydrogen_arcjet"}:
            assert efficiency(ideal) == pytest.approx(1.0)
        else:
            heat = ideal.power_per_thrust * ideal.exhaust_velocity
            assert ideal.exhaust_velocity < electric.exhaust_velocity_bound(heat)

    def test_limits_and_a_hopeless_design_stay_finite(self, name: str) -> None:
        found = engine(
            name,
            live_power=np.array([0.0, 1e-3, 1e7])[:, None, None],
            specific_impulse_change=np.array([-3000.0, 0.0, 5000.0])[:, None],
            solar_flux=np.array([1e-3, 1e5]),
            collector_area=0.0,
        )
        for field in dataclasses.fields(Engine):
            column = getattr(found, field.name)
            assert column.shape == (3, 3, 2)
            assert np.all(np.isfinite(column) & (column >= 0.0)), field.name
        assert np.all(found.exhaust_velocity > 0.0)
        assert np.all(found.power_per_thrust > 0.0)

    def test_says_what_it_rests_on(self, name: str) -> None:
        item, rows = thruster(name), architecture_values(name)
        assert set(item.rests_on) <= set(rows)
        assert {"readiness", "specific_impulse_change", "power_per_thrust_factor"} <= set(rows)
        assert Architecture(name, item).demonstrated == (
            name in {"cold_vapour", "steam_resistojet", "hydrogen_arcjet"}
        )
        for row in rows.values():
            if row.grade == "assumed" and row.name in {"mass_per_power", "mass", "life_each", "unit_power"}:
                assert row.low == pytest.approx(0.5 * row.value)
                assert row.high == pytest.approx(2.0 * row.value)


@pytest.mark.parametrize("name", ELECTRIC)
def test_units_are_added_and_a_smaller_one_is_worse(name: str) -> None:
    full = architecture_values(name)["unit_power"].value
    found = engine(name, live_power=full * np.array([0.02, 0.2, 0.7, 1.0, 1.5, 40.0]))
    assert np.all(np.diff(found.power_per_thrust) <= 0.0)
    assert found.power_per_thrust[0] > 1.5 * found.power_per_thrust[3]
    assert found.power_per_thrust[3:] == pytest.approx(found.power_per_thrust[3], rel=1e-12)
    assert np.all(np.diff(found.exhaust_velocity) >= 0.0)
    assert np.all(found.least_power <= full)
    assert found.least_power[-1] == found.least_power[3]  # of many units one can run alone


class TestSunlight:
    def test_mirror_and_receiver_are_carried(self) -> None:
        found = engine("solar_thermal_steam", collector_area=np.array([10.0, 30.0]))
        assert found.collector_area == pytest.approx([10.0, 30.0])
        assert np.diff(found.mass) == pytest.approx(20.0)  # 1 kg/m2
        assert np.all(found.mass_per_power > 0.0)

    def test_farther_from_the_sun_the_receiver_keeps_less_and_the_steam_is_cooler(self) -> None:
        flux = value("solar_constant") / np.array([1.0, 1.2, 1.6, 2.8, 5.2]) ** 2
        found = engine("solar_thermal_steam", solar_flux=flux)
        kept = found.exhaust_velocity * found.power_per_thrust  # sunlight per kilogram of steam
        assert impulse(found)[:2] == pytest.approx(260.0)
        assert np.all(np.diff(found.exhaust_velocity) <= 0.0)
        assert impulse(found)[-1] < 200.0
        assert kept[1] > kept[0]
        assert np.all(found.least_power < flux * found.collector_area)
        assert np.all(np.diff(found.burn_life) >= 0.0)

    @FEW
    @given(flux=st.floats(10.0, 1e4), crowd=st.floats(100.0, 2e4), share=st.floats(0.3, 1.0))
    def test_stagnation_is_where_the_receiver_keeps_nothing(
        self, flux: float, crowd: float, share: float
    ) -> None:
        hottest = float(electrothermal.stagnation_temperature(flux, crowd, share))
        kept = electrothermal.receiver_efficiency(hottest * np.array([0.5, 0.999999]), flux, crowd, share)
        assert kept == pytest.approx([share * (1.0 - 0.5**4), 0.0], abs=1e-5)


def test_a_hop_on_stored_heat_is_the_resistojets_alone() -> None:
    keeping = Keeping("buffer", "vented")
    for name in THERMAL:
        found = thruster(name).hop_engine(conditions(), keeping)
        assert (found is not None) == (name == "steam_resistojet")
    hop = thruster("steam_resistojet").hop_engine(conditions(specific_impulse_change=[0.0, 10.0]), keeping)
    assert hop is not None
    assert np.diff(hop.exhaust_velocity) == pytest.approx(10.0 * GRAVITY)
    assert np.all(hop.thrust_limit >= UNLIMITED)


@FEW
@given(
    temperature=st.floats(320.0, 4000.0), pressure=st.floats(1e4, 2e6), area=st.floats(5.0, 200.0),
    kind=st.sampled_from(["frozen", "equilibrium"]),
)  # fmt: skip
def test_speed_leads_back_to_the_temperature(
    temperature: float, pressure: float, area: float, kind: str
) -> None:
    speed = electrothermal.steam_exhaust_velocity(temperature, pressure, area, kind)
    share = float(kind == "equilibrium")
    back = electrothermal.steam_temperature(speed, pressure, area, share)
    assert back == pytest.approx(temperature, rel=1e-4)
    heat = 0.5 * speed**2 / electrothermal.steam_jet_efficiency(speed, pressure, area, share)
    assert heat == pytest.approx(electrothermal.steam_energy(temperature, pressure), rel=1e-3)


def test_no_jet_of_hot_steam_beats_its_heat() -> None:
    """Also above 4000 K; full recombination is the better bound, and hotter steam is never slower."""
    speed = np.linspace(2500.0, 6300.0, 30)[:, None, None]
    pressure = np.array([1e4, 1e5, 2e6])[:, None]
    share = np.array([0.0, 0.5, 1.0])
    found = electrothermal.steam_jet_efficiency(speed, pressure, 100.0, share)
    assert np.all((found > 0.0) & (found < 0.7))
    assert np.all(np.diff(found, axis=2) > 0.0)
    hot = electrothermal.steam_temperature(speed, pressure, 100.0, share)
    assert np.all(np.diff(hot, axis=0) > 0.0)
    assert hot.max() > 5500.0


def test_very_hot_steam_between_the_nodes() -> None:
    """Oracle: fresh equilibria and expansions, off the nodes of the table."""
    pytest.importorskip("cantera", reason="the extra `tables` (Cantera) is not installed")
    from tradespace.data.make import steam as maker

    for temperature, pressure, area in ((4150.0, 3e4, 40.0), (4550.0, 7e5, 40.0), (5500.0, 1.4e5, 24.0)):
        heat = maker.steam_energy(temperature, pressure)
        for kind, share in (("frozen", 0.0), ("equilibrium", 1.0)):
            _, fresh = maker.expansions(
                "H2O", temperature, pressure, (5.0, area), kind
            )  # 5: a step on the way
            speed = fresh.exhaust_velocity_vacuum
            assert electrothermal.steam_temperature(speed, pressure, area, share) == pytest.approx(
                temperature, rel=2e-3
            )
            found = electrothermal.steam_jet_efficiency(speed, pressure, area, share)
            assert found == pytest.approx(0.5 * speed**2 / heat, rel=2e-3)


def test_a_speed_no_steam_reaches_is_refused() -> None:
    with pytest.raises(
        DomainError, match=r"exhaust velocity 9000 m/s is outside what steam .* reaches there"
    ):
        electrothermal.steam_temperature([4000.0, 9000.0], 1e5, 100.0)
    with pytest.raises(DomainError, match=r"recombination 1\.5 lies outside 0 to 1"):
        electrothermal.steam_jet_efficiency(4000.0, 1e5, 100.0, 1.5)


@FEW
@given(known=st.floats(0.05, 1.0), size=st.floats(1e-3, 1e3), lost=st.floats(0.0, 5.0))
def test_a_smaller_heater_loses_more(known: float, size: float, lost: float) -> None:
    found = electrothermal.sized_efficiency(known, [size, 2.0 * size], lost)
    assert 0.0 < found[0] <= found[1] <= 1.0
    assert electrothermal.sized_efficiency(known, 1.0) == pytest.approx(known)
    heat_lost = 1.0 / found - 1.0
    assert heat_lost[1] == pytest.approx(heat_lost[0] * 0.5 ** (1.0 / 3.0), abs=1e-12)


def test_hotter_parts_wear_out_sooner() -> None:
    lives = electrothermal.wear_life(np.linspace(800.0, 1600.0, 9), 1050.0, 3.6e7, 2e4)
    assert np.all(np.diff(lives) < 0.0)
    assert electrothermal.wear_life(1050.0, 1050.0, 3.6e7, 2e4) == pytest.approx(3.6e7)
    assert electrothermal.wear_life(500.0, 1050.0, 3.6e7, 0.0) == pytest.approx(3.6e7)
    found = engine("steam_resistojet", specific_impulse_change=np.array([-60.0, 0.0, 25.0]))
    assert found.burn_life[0] / 3600.0 == pytest.approx(1e5)  # as long as anyone has argued for
    assert found.burn_life[2] < 0.1 * found.burn_life[1]


def test_friction_explains_what_small_vapour_thrusters_deliver() -> None:
    """50 to 75 s is delivered of the ideal 100 s (aqtd_2019, second hand): 4 mN of vapour, saturated when warm."""
    pressure = np.array([1000.0, 2000.0, 3500.0])
    ideal = electrothermal.steam_exhaust_velocity(300.0, 1e4, 20.0) / GRAVITY
    delivered = ideal * electrothermal.steam_viscous_share(0.004, 300.0, pressure, 20.0)
    assert np.all((delivered > 48.0) & (delivered < 75.0))
    more = electrothermal.steam_viscous_share(np.geomspace(1e-5, 10.0, 7), 1000.0, 1e5, 50.0)
    assert np.all(np.diff(more) > 0.0)
    assert 0.0 < more[0] < 0.2
    assert 0.9 < more[-1] < 1.0


def test_viscosity_of_steam_beside_the_reference_equation() -> None:
    properties = pytest.importorskip("CoolProp.CoolProp", reason="the extra `tables` is not installed")
    for temperature in (400.0, 600.0, 900.0, 1150.0):
        expected = properties.PropsSI("V", "T", temperature, "P", 2e4, "Water")
        assert electrothermal.steam_viscosity(temperature) == pytest.approx(expected, rel=0.03)
    below, above = (float(electrothermal.steam_viscosity(kelvin)) for kelvin in (1073.1, 1073.3))
    assert above == pytest.approx(below, rel=5e-3)


@FEW
@given(speed=st.floats(1e3, 3e4), known=st.floats(0.1, 0.9), power=st.floats(0.0, 2.0))
def test_a_faster_arc_is_less_efficient(speed: float, known: float, power: float) -> None:
    found = electrothermal.arc_efficiency([speed, 1.5 * speed], 1e4, known, power)
    assert found[1] <= found[0] <= 1.0
    if found[0] < 1.0:
        energy = 0.5 * speed**2 / found[0]
        assert electrothermal.arc_exhaust_velocity(energy, 1e4, known, power) == pytest.approx(
            speed, rel=1e-9
        )
    life = electrothermal.arc_life([speed, 1.5 * speed], 1e4, 1e6, power)
    assert life[1] == pytest.approx(life[0] * 1.5**-power)
