"""Limits and properties of the engine: conservation, direction, continuity, and the same numbers every way."""

from __future__ import annotations

import dataclasses
import functools
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tradespace import campaign, spacecraft
from tradespace import evaluate as engine
from tradespace.mission import Mission
from tradespace.physics.transfer import landing_delta_v
from tradespace.results import LINKS
from tradespace.study import Study, load_study
from tradespace.tables import read_table

STUDIES = Path(__file__).parents[1] / "studies"
NAMES = ("outer_belt_ice_tour", "ceres_surface_hopper")
PAIRS = [
    (name, architecture)
    for name in NAMES
    for architecture in load_study(STUDIES / f"{name}.toml").architectures
]
FEEDS = (
    "cold_vapour electrolysis_bipropellant liquid_hydrogen_oxygen hydrogen_arcjet oxygen_hall water_hall xenon_hall"
).split()
"""One of every feed, and of every way to land."""
FEED_PAIRS = [(name, architecture) for name in NAMES for architecture in FEEDS]
QUIET = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@functools.cache
def asked(name: str) -> tuple[Study, Mission]:
    study = load_study(STUDIES / f"{name}.toml")
    return study, engine.mission_of(study)


def answers(name: str, architecture: str, **designs: object) -> pd.DataFrame:
    study, mission = asked(name)
    return engine.evaluate(study, mission, architecture, designs, everything=True)  # type: ignore[arg-type]


def margins(table: pd.DataFrame) -> np.ndarray:
    columns = [name for name in table if name.startswith("margin_") and name != "growth_mass"]
    return table[columns].to_numpy(dtype=float)


RANGES = {
    "array_area": (0.1, 3000.0),
    "current_density": (60.0, 25000.0),
    "payload_mass": (0.0, 2000.0),
    "payload_power": (0.0, 5e4),
    "ice_fraction": (0.005, 1.0),
    "system_margin": (0.0, 1.0),
    "propellant_reserve": (0.0, 0.4),
    "delta_v_margin": (0.0, 0.5),
    "storage_pressure": (2e5, 5e7),
    "minimum_dwell": (0.0, 5e8),
}
inputs = st.fixed_dictionaries({item: st.floats(*ends) for item, ends in RANGES.items()})


def check_margins(table: pd.DataFrame) -> None:
    """Margins are finite and cut; the verdict and what binds follow from them; every other number is finite too."""
    found = margins(table)
    assert np.isfinite(found).all()
    assert found.min() >= -1.0
    assert found.max() <= 10.0
    least = found.min(axis=1)
    np.testing.assert_array_equal(table["closes"], least >= 0.0)
    np.testing.assert_array_equal(table["margin"], least)
    for place, (link, hop) in enumerate(zip(table["limited_by"], table["limited_at"], strict=True)):
        assert table[f"margin_{link}_{hop}"].iloc[place] == least[place]
    numbers = table.select_dtypes("number").drop(columns=["stack_efficiency"], errors="ignore")
    assert np.isfinite(numbers.to_numpy(dtype=float)).all()


@pytest.mark.parametrize(("name", "architecture"), [pair for pair in FEED_PAIRS if pair[1] in FEEDS[1::2]])
@QUIET
@given(values=inputs)
def test_every_margin_is_finite_and_the_verdict_follows_from_them(
    name: str, architecture: str, values: dict[str, float]
) -> None:
    check_margins(answers(name, architecture, **values))


@pytest.mark.parametrize(("name", "architecture"), PAIRS)
def test_margins_of_many_designs_at_once(name: str, architecture: str) -> None:
    """Inputs anywhere within the ranges above, evenly in their logarithms where these begin above zero."""
    random = np.random.default_rng(20310501)
    shares = random.random((len(RANGES), 64))
    designs = {
        item: low * (high / low) ** share if low > 0.0 else low + (high - low) * share
        for (item, (low, high)), share in zip(RANGES.items(), shares, strict=True)
    }
    check_margins(answers(name, architecture, **designs))


@pytest.mark.parametrize(("name", "architecture"), FEED_PAIRS)
def test_a_design_alone_equals_its_row_among_others(name: str, architecture: str) -> None:
    study, _ = asked(name)
    areas, densities = np.geomspace(5.0, 400.0, 23), np.geomspace(200.0, 9000.0, 23)
    table = answers(name, architecture, array_area=areas, current_density=densities)
    for place in (0, 7, 22):
        alone = answers(name, architecture, array_area=areas[place], current_density=densities[place])
        pd.testing.assert_frame_equal(
            alone.select_dtypes("number").reset_index(drop=True),
            table.iloc[[place]].select_dtypes("number").reset_index(drop=True),
            check_exact=False,
            rtol=1e-12,
        )
    assert study.name == name


@pytest.mark.parametrize(("name", "architecture"), PAIRS)
def test_masses_add_up(name: str, architecture: str) -> None:
    row = answers(name, architecture).iloc[0]
    items = [
        "structure",
        "array",
        "battery",
        "electrolyser",
        "extraction",
        "tank",
        "thruster",
        "landing_engine",
        "thermal",
    ]
    total = sum(row[f"{item}_mass"] for item in items)
    classes = {line["item"]: line["maturity"] for line in read_table("item_maturity.csv").rows}
    classes["thruster"] = asked(name)[0].thrusters[architecture].maturity_class
    if not asked(name)[0].thrusters[architecture].refuels:
        classes["landing_engine"] = "off_the_shelf"
    grown = sum(row[f"{item}_mass"] * (1.0 + row[f"margin_{classes[item]}"]) for item in items)
    assert grown > total
    nominal = row["payload_mass"] + grown
    if row["dry_mass"] < 999.0 * row["launch_mass"]:
        assert row["dry_mass"] == pytest.approx(nominal * (1.0 + row["system_margin"]), rel=1e-9)
        assert row["wet_mass"] == pytest.approx(row["dry_mass"] + row["propellant_mass"], rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_water_is_conserved_from_stop_to_stop(name: str) -> None:
    study, _ = asked(name)
    row = answers(name, "electrolysis_bipropellant").iloc[0]
    on_board = min(row["water_on_board"], row["propellant_mass"])
    for hop in range(1, study.hops + 1):
        taken = row["propellant_mass"] - on_board
        made = row["propellant_mass"] if hop == 1 else taken
        assert row[f"water_mined_{hop}"] == pytest.approx(taken + leaked(row, made), rel=1e-9)
        assert row[f"departure_mass_{hop}"] == pytest.approx(row["wet_mass"], rel=1e-12)
        on_board = row["propellant_mass"] - row[f"propellant_used_{hop}"]


def leaked(row: pd.Series, made: float) -> float:
    """Water that has to be mined beyond what is on board at launch, because gas leaks while the tanks are held full."""
    kept = np.exp(-row["gas_hold_time"] * (1.0 / row["leak_time"] + row["boil_off_rate"]))
    return float(made * row["stop_store_share"] * (1.0 / kept - 1.0))


def test_refuelling_spends_the_energy_the_sun_gives() -> None:
    """An independent sum over days, with the public faces of the links, against the engine's integral."""
    from tradespace.physics.storage import compression_energy
    from tradespace.physics.sunlight import array_power_density, dust_factor
    from tradespace.physics.thermal import heater_power

    study, mission = asked("outer_belt_ice_tour")
    row = answers("outer_belt_ice_tour", "electrolysis_bipropellant", array_area=40.0).iloc[0]
    start, length = row["arrival_date_1"], row["refuel_time_1"]
    times = start + (np.arange(4000) + 0.5) * length / 4000
    distance = np.interp(times, mission.stops[0].dates, mission.stops[0].distances)
    density = array_power_density(
        distance, row["array_efficiency"], row["array_reference_temperature"], row["array_temperature_coefficient"],
        row["array_absorptivity"], row["array_emissivity"], row["low_intensity_loss"], row["array_ageing_rate"],
        row["array_age"] + times - start,
    )  # fmt: skip
    bus = density * row["array_area"] * row["power_conversion_efficiency"] * row["pointing_factor"]
    bus = bus * float(dust_factor(1.0, row["dust_loss_per_landing"]))
    lit = row["sunlit_fraction"]
    fixed = row["payload_power"] + row["keep_alive_power"]
    warm = heater_power(
        row["heated_area"], row["hold_temperature"], row["insulation_emissivity"], row["insulation_absorptivity"],
        row["insulation_outer_emissivity"], distance, lit, 0.0, row["heat_recovery_fraction"] * fixed,
    )  # fmt: skip
    load = (fixed + warm) * (lit + (1.0 - lit) / row["battery_efficiency"])
    given_energy = float(np.sum(bus * lit - load) * length / 4000)
    share = row["buffer_mass"] / row["propellant_mass"]
    made = row["propellant_mass"] + leaked(row, row["propellant_mass"])
    split = made * share * row["split_energy"]  # the water on board has to be split as well
    storing = compression_energy(
        row["storage_temperature"],
        row["cell_pressure"],
        row["storage_pressure"],
        row["compression_efficiency"],
    )
    assert 0.0 < float(storing) < 0.1 * row["split_energy"]
    wanted = row["water_mined_1"] * row["extraction_energy"] + split + made * share * float(storing)
    assert given_energy == pytest.approx(wanted, rel=2e-3)
    assert study.kind == "tour"


DIRECTIONS = [
    ("array_area", "refuel_time_1", -1, np.geomspace(12.0, 250.0, 30), "outer_belt_ice_tour"),  # first stop
    ("array_power", "refuel_time_mean", -1, np.geomspace(4e3, 4e4, 30), "ceres_surface_hopper"),
    ("stack_efficiency", "refuel_time_mean", -1, np.linspace(0.4, 0.95, 30), "ceres_surface_hopper"),
    ("extraction_energy", "refuel_time_mean", 1, np.geomspace(1e6, 5e7, 30), "ceres_surface_hopper"),
    ("specific_impulse_change", "propellant_mass", -1, np.linspace(-40.0, 40.0, 30), "outer_belt_ice_tour"),
    ("specific_impulse_change", "dry_mass", -1, np.linspace(-40.0, 40.0, 30), "outer_belt_ice_tour"),
    ("payload_mass", "start_mass", 1, np.linspace(0.0, 100.0, 30), "outer_belt_ice_tour"),
    ("hop_delta_v_capacity", "margin_window", 1, np.linspace(1e3, 3.2e3, 30), "outer_belt_ice_tour"),  # ready in time
    ("hop_distance", "water_per_hop", 1, np.geomspace(1e3, 2e5, 30), "ceres_surface_hopper"),
]  # fmt: skip


@pytest.mark.parametrize(("variable", "column", "sign", "points", "name"), DIRECTIONS)
def test_answers_move_in_the_right_direction(
    variable: str, column: str, sign: int, points: np.ndarray, name: str
) -> None:
    table = answers(name, "electrolysis_bipropellant", **{variable: points})
    steps = sign * np.diff(table[column].to_numpy(dtype=float))
    assert (steps >= -1e-9 * np.abs(table[column].to_numpy(dtype=float)[1:])).all()
    assert steps.sum() > 0.0


def test_power_falls_with_distance_from_the_sun() -> None:
    from tradespace.physics.sunlight import array_power_density

    au = 149597870700.0
    power = array_power_density(
        np.linspace(0.7, 6.0, 60) * au, 0.3, 301.0, -0.002, 0.92, 1.7, 0.08, 0.005, 0.0
    )
    assert (np.diff(power) < 0.0).all()


@pytest.mark.parametrize(
    ("architecture", "variable", "low", "high"),
    [
        ("electrolysis_bipropellant", "array_area", 30.0, 200.0),
        ("electrolysis_bipropellant", "launch_mass", 600.0, 3000.0),
        ("electrolysis_bipropellant", "structure_fraction", 0.05, 0.6),
        ("xenon_hall", "array_area", 60.0, 260.0),
        ("storable_bipropellant", "carried_delta_v", 1000.0, 3500.0),
    ],
)
def test_margins_are_continuous_across_closing(
    architecture: str, variable: str, low: float, high: float
) -> None:
    study, mission = asked("outer_belt_ice_tour")
    reference = answers("outer_belt_ice_tour", architecture).iloc[0]
    dates = np.array([reference[f"window_date_{hop}"] for hop in (1, 2)])
    points = np.linspace(low, high, 4001)
    table = engine.evaluate(study, mission, architecture, {variable: points}, frozen=dates)
    table = table[table["margin_mass"] > -0.9]  # near the end of finite masses a small step is a large one
    jumps = np.abs(np.diff(table[[f"margin_{link}" for link in LINKS]].to_numpy(dtype=float), axis=0)).max(
        axis=0
    )
    assert jumps.max() < 0.15, dict(zip(LINKS, jumps, strict=True))
    signs = np.sign(table["margin"].to_numpy(dtype=float))
    changes = np.flatnonzero(np.diff(signs) != 0)
    near = table["margin"].to_numpy(dtype=float)
    for place in changes:
        assert abs(near[place + 1] - near[place]) < 0.02


PLAIN = """
import json, sys
import numpy as np
from tradespace import evaluate
from tradespace.study import load_study
study = load_study(sys.argv[1])
mission = __import__("pickle").load(open(sys.argv[2], "rb"))
found = {}
for name in sys.argv[3].split():
    table = evaluate.evaluate(study, mission, name, {"array_area": np.geomspace(20.0, 300.0, 3)})
    found[name] = table.select_dtypes("number").to_numpy(dtype=float).tolist()
print(json.dumps(found))
"""


@pytest.mark.parametrize("name", NAMES)
def test_plain_python_gives_the_same_numbers_as_the_compiled_engine(name: str, tmp_path: Path) -> None:
    import pickle

    study, mission = asked(name)
    (tmp_path / "mission.pickle").write_bytes(pickle.dumps(mission))
    done = subprocess.run(
        [sys.executable, "-c", PLAIN, str(STUDIES / f"{name}.toml"), str(tmp_path / "mission.pickle"), " ".join(FEEDS)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    plain = json.loads(done.stdout)
    for architecture in FEEDS:
        table = engine.evaluate(study, mission, architecture, {"array_area": np.geomspace(20.0, 300.0, 3)})
        compiled = table.select_dtypes("number").to_numpy(dtype=float)
        np.testing.assert_allclose(np.array(plain[architecture]), compiled, rtol=1e-9, atol=1e-12)


def test_craft_that_do_not_refuel_carry_everything_and_mine_nothing() -> None:
    for architecture in ("storable_bipropellant", "xenon_hall"):
        row = answers("outer_belt_ice_tour", architecture).iloc[0]
        assert row["start_mass"] == pytest.approx(row["wet_mass"])
        assert row["extraction_mass"] == row["electrolyser_mass"] == 0.0
        assert row["water_mined_1"] == row["water_mined_2"] == 0.0
        assert row["departure_mass_2"] < row["departure_mass_1"]


def test_a_frozen_calendar_keeps_its_dates() -> None:
    study, mission = asked("outer_belt_ice_tour")
    dates = np.array([mission.windows[0].departure[100], mission.windows[1].departure[500]])
    table = engine.evaluate(
        study, mission, "electrolysis_bipropellant", {"array_area": np.array([30.0, 300.0])}, frozen=dates
    )
    assert (table["window_date_1"] == dates[0]).all()
    assert (table["window_date_2"] == dates[1]).all()


def test_the_departure_is_the_cheapest_within_the_wait() -> None:
    """By the price with long burns exactly; by the bare sum of speeds it lies within two in ten thousand."""
    from tradespace.campaign import begin
    from tradespace.campaign.departure import launch_at
    from tradespace.campaign.leaving import choice_of, slowest_pace
    from tradespace.evaluate.engine import fly, priced_ends, stop_records

    study, mission = asked("outer_belt_ice_tour")
    row = answers("outer_belt_ice_tour", "electrolysis_bipropellant").iloc[0]
    curve = mission.windows[0]
    rows, _ = engine.design_rows(study, mission, "electrolysis_bipropellant", {})
    crafts, hops = np.zeros(1, dtype=spacecraft.CRAFT), np.zeros((1, mission.hops), dtype=campaign.HOP)
    fly(mission, rows, crafts, hops, None)
    stops, states = stop_records(mission.stops), np.zeros(1, dtype=campaign.STATE)
    design, craft, state = (engine.records(one)[0] for one in (rows, crafts, states))
    here, there = engine.records(stops)[0], engine.records(stops)[1]
    begin(design, craft, state)
    room = np.zeros(campaign.ROOM)
    pace = slowest_pace(design, craft, here, there, state, (mission.start_date, mission.horizon), room, 0)
    ready, last = row["ready_date_1"], row["ready_date_1"] + row["maximum_wait"]
    limit = row["hop_delta_v_capacity"] / (1.0 + row["delta_v_margin"])
    nearest = float(min(here["nearest"], there["nearest"]))
    choice = choice_of(design, craft, ready, last, limit, mission.horizon, pace, nearest)
    sums, starts = priced_ends(curve, mission.stops[0], mission.stops[1])
    step = float(curve.departure[1] - curve.departure[0])
    parts = (
        step,
        *campaign.calendar(curve.v_inf_departure, curve.v_inf_arrival, curve.time_of_flight, sums, starts),
    )
    first = float(curve.departure[0])
    priced = np.array([launch_at(first, parts, float(date), choice) for date in curve.departure])
    landing = priced[:, 0] + curve.time_of_flight + 0.5 * pace * priced[:, 1]
    offered = (priced[:, 0] >= ready) & (priced[:, 0] <= last) & (landing <= mission.horizon)
    assert offered.sum() > 20
    paid = launch_at(first, parts, float(row["window_date_1"]), choice)[1]
    assert paid <= priced[offered, 1].min() * (1.0 + 1e-9)
    inside = (curve.departure >= ready) & (curve.departure <= last)
    assert row["v_inf_departure_1"] + row["v_inf_arrival_1"] == pytest.approx(
        curve.v_inf_sum[inside].min(), rel=2e-4
    )
    fits = curve.v_inf_sum * (1.0 + row["delta_v_margin"]) <= row["hop_delta_v_capacity"]
    last = curve.departure[inside & fits].max()
    slack = (last - row["ready_date_1"]) / 86400.0
    assert slack >= row["window_slack_d"] - 1e-6


def test_water_on_board_still_has_to_be_split() -> None:
    """A full tank at the start spares the mining, not the making of gas."""
    full = answers("ceres_surface_hopper", "electrolysis_bipropellant", water_on_board=1e5).iloc[0]
    assert full["water_mined_1"] == pytest.approx(leaked(full, full["propellant_mass"]))
    assert full["water_mined_1"] < 0.01 * full["propellant_mass"]
    power = full["net_power"]
    assert full["refuel_time_1"] == pytest.approx(
        (full["propellant_mass"] * full["split_energy"] + full["water_mined_1"] * full["extraction_energy"])
        / power,
        rel=0.02,
    )


def test_a_frozen_date_before_the_craft_is_ready_does_not_close() -> None:
    study, mission = asked("outer_belt_ice_tour")
    reference = answers("outer_belt_ice_tour", "electrothermal_engine").iloc[0]
    dates = np.array([reference[f"window_date_{hop}"] for hop in (1, 2)])
    late = np.array([60.0, 1500.0]) * 86400.0
    table = engine.evaluate(study, mission, "electrothermal_engine", {"minimum_dwell": late}, frozen=dates)
    assert table["closes"].tolist() == [True, False]
    assert table["limited_by"].iloc[1] == "time"


def test_no_flight_is_chosen_that_lands_after_the_horizon_while_another_lands_before() -> None:
    study, mission = asked("outer_belt_ice_tour")
    row = answers("outer_belt_ice_tour", "xenon_hall").iloc[0]
    early = dataclasses.replace(mission, horizon=row["landing_date_2"] - 30.0 * 86400.0)
    table = engine.evaluate(study, early, "xenon_hall", {})
    assert table["landing_date_2"].iloc[0] <= early.horizon
    assert table["delta_v_2"].iloc[0] > row["delta_v_2"]


def test_an_engine_given_by_numbers_weighs_and_wears_on_surface_hops() -> None:
    study, mission = asked("ceres_surface_hopper")
    known = study.thrusters["bench_engine"]
    found = {}
    for key, changes in {
        "as it is": {},
        "heavy": {"mass": 60.0},
        "short-lived": {"throughput_life": 5.0},
    }.items():
        changed = dataclasses.replace(
            study,
            thrusters={
                "bench_engine": dataclasses.replace(
                    known, thruster=dataclasses.replace(known.thruster, **changes)
                )
            },
        )
        found[key] = engine.evaluate(changed, mission, "bench_engine", {}).iloc[0]
    assert found["heavy"]["dry_mass"] > found["as it is"]["dry_mass"] + 52.0
    assert found["short-lived"]["limited_by"] == "lifetime"


def test_a_craft_that_carries_everything_is_sized_for_its_own_launches_and_landings() -> None:
    _, mission = asked("outer_belt_ice_tour")
    row = answers("outer_belt_ice_tour", "xenon_hall", propellant_reserve=0.0, propellant_residual=0.0).iloc[
        0
    ]
    ratio = row["landing_engine_thrust_to_weight"]
    burns = sum(
        float(landing_delta_v(stop.gravitational_parameter, stop.radius, 0.0, ratio))
        for hop in (0, 1)
        for stop in mission.stops[hop : hop + 2]
    )
    ends = burns * (1.0 + row["landing_loss_fraction"]) * (1.0 + row["delta_v_margin"])
    storable = answers("outer_belt_ice_tour", "storable_bipropellant").iloc[0]["specific_impulse"] * 9.80665
    ratio = np.exp(ends / storable + row["carried_delta_v"] / (row["specific_impulse"] * 9.80665))
    assert row["wet_mass"] / row["dry_mass"] == pytest.approx(ratio, rel=1e-6)


def test_poorer_ice_needs_a_heavier_plant() -> None:
    table = answers(
        "outer_belt_ice_tour", "electrolysis_bipropellant", ice_fraction=np.array([0.3, 0.1, 0.02])
    )
    assert (np.diff(table["extraction_mass"].to_numpy(dtype=float)) > 0.0).all()


def test_a_leaking_heat_store_costs_time_and_energy() -> None:
    days = np.array([1.0, 5.0, 15.0, 1000.0]) * 86400.0
    table = answers("ceres_surface_hopper", "steam_resistojet", heat_store_holding_time=days)
    assert (np.diff(table["refuel_time_mean"].to_numpy(dtype=float)) < 0.0).all()
    assert (np.diff(table["energy_per_hop"].to_numpy(dtype=float)) < 0.0).all()
    gas = answers("ceres_surface_hopper", "electrolysis_bipropellant", heat_store_holding_time=days)
    assert gas["refuel_time_mean"].nunique() == 1


def test_soil_warmer_than_the_release_temperature_of_some_designs_still_gives_rows() -> None:
    """Such soil needs no warming; neither a sweep nor the tornado stops because of it."""
    from tradespace.sensitivity import tornado_table

    study, mission = asked("outer_belt_ice_tour")
    warm = dataclasses.replace(study, values={**study.values, "regolith_temperature": 240.0})
    table = engine.evaluate(
        warm, mission, "electrolysis_bipropellant", {"release_temperature": np.array([220.0, 260.0])}
    )
    assert np.isfinite(table["refuel_time"]).all()
    assert table["refuel_time"].iloc[0] < table["refuel_time"].iloc[1]
    assert "release_temperature" in set(tornado_table(warm, mission, "electrolysis_bipropellant")["quantity"])


@pytest.mark.parametrize("name", ["outer_belt_ice_tour", "ceres_surface_hopper"])
def test_chosen_outputs_are_those_of_the_table(name: str) -> None:
    study, mission = asked(name)
    count = 6000  # more than one piece
    designs = {"array_area": np.geomspace(10.0, 200.0, count), "payload_mass": np.linspace(5.0, 60.0, count)}
    columns = [
        "margin",
        "closes",
        "limited_by",
        "refuel_time_mean",
        "start_mass",
        "propellant_used_2",
        "margin_heat",
    ]
    for architecture in ("electrolysis_bipropellant", "steam_resistojet"):
        table = engine.evaluate(study, mission, architecture, designs)
        found = engine.answers(study, mission, architecture, designs, columns)
        assert list(found) == columns
        for column in columns:
            whole = table[column].cat.codes if column == "limited_by" else table[column]
            assert np.array_equal(found[column], whole.to_numpy()), column
    with pytest.raises(KeyError, match="no_such"):
        engine.answers(study, mission, "steam_resistojet", {}, ["no_such_column"])


def test_a_date_long_past_ends_its_refuelling_too() -> None:
    """A frozen date of a hopeless craft can put the second arrival anywhere."""
    study, mission = asked("outer_belt_ice_tour")
    dates = np.full(mission.hops, -1e20)
    row = engine.evaluate(study, mission, "cold_vapour", {}, frozen=dates).iloc[0]
    assert np.isfinite(row["margin"])
    assert not row["closes"]


@pytest.mark.parametrize("fill_to_need", [0.0, 1.0])
def test_a_hopeless_craft_on_a_frozen_date_never_leaves_before_the_campaign_begins(
    fill_to_need: float,
) -> None:
    study, mission = asked("outer_belt_ice_tour")
    designs = {"array_area": 4.0, "current_density": 500.0, "fill_to_need": fill_to_need}
    columns = ["departure_date_1", "landing_date_1", "margin", "closes"]
    found = engine.answers(study, mission, "cold_vapour", designs, columns, frozen=np.array([1.1e9, np.nan]))
    assert found["departure_date_1"][0] >= mission.start_date
    assert found["landing_date_1"][0] > found["departure_date_1"][0]
    assert np.isfinite(found["margin"][0])
    assert not found["closes"][0]
