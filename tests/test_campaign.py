"""Campaigns hop by hop: water and energy are conserved, nobody leaves unfilled, and more power is never later."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tradespace import bodies, ephemeris
from tradespace import evaluate as engine
from tradespace.constants import value
from tradespace.errors import StudyError
from tradespace.evaluate.question import dry_chance
from tradespace.mission import Mission
from tradespace.physics.transfer import circular_leg, orbit_end
from tradespace.study import Study, load_study, parse_study

STUDIES = Path(__file__).parents[1] / "studies"
DAY = 86400.0
POLICIES = ("cheapest", "earliest", "least_cost")
FILLINGS = ("full", "need")
ENDLESS = {"stack_life": 1e10, "design_life": 1e10}
QUIET = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

ROUTE = """
[study]
name = "three_bodies"
title = "Invented craft on three icy bodies"
kind = "tour"
figure_of_merit = "start_mass"
[start]
body = "24 Themis"
date = "2031-05-01"
launch_mass = "4000 kg"
water_on_board = "40 kg"
[route]
stops = ["90 Antiope", "176P/LINEAR"]
horizon = "2046-12-31"
flight_time = ["200 d", "1500 d"]
maximum_wait = "2500 d"
minimum_dwell = "60 d"
[craft]
payload_mass = "30 kg"
hop_delta_v_capacity = "3.6 km/s"
storage_volume = "60 m3"
[sunlight]
array_area = "100 m2"
[thermal]
heated_area = "5 m2"
[architectures]
include = ["electrolysis_bipropellant", "steam_resistojet", "xenon_hall"]
[[thruster]]
name = "heated_engine"
title = "Invented engine"
specific_impulse = "420 s"
thrust = "5 N"
power_per_thrust = "5 W/mN"
throughput_life = "9000 kg"
mass = "25 kg"
storage = "water"
"""
MARS = """
[study]
name = "moons_of_mars"
title = "Invented craft about Mars"
kind = "tour"
figure_of_merit = "start_mass"
[start]
body = "Phobos"
date = "2033-01-01"
launch_mass = "3000 kg"
[route]
stops = ["Deimos", { body = "Mars", orbit = "1000 km" }, "Phobos"]
horizon = "2037-01-01"
[craft]
payload_mass = "100 kg"
hop_delta_v_capacity = "2.8 km/s"
storage_volume = "20 m3"
[sunlight]
array_area = "40 m2"
[architectures]
include = ["electrolysis_bipropellant", "xenon_hall"]
[[thruster]]
name = "strong_engine"
title = "Invented strong engine"
specific_impulse = "440 s"
thrust = "2 kN"
power_per_thrust = "0 W/N"
throughput_life = "99000 kg"
storage = "water"
"""


def with_options(text: str, departure: str = "cheapest", filling: str = "full", extra: str = "") -> str:
    return text.replace("[route]\n", f'[route]\ndeparture = "{departure}"\nfilling = "{filling}"\n{extra}')


@functools.cache
def route(departure: str, filling: str) -> Study:
    return parse_study(with_options(ROUTE, departure, filling))


@functools.cache
def three_bodies() -> Mission:
    return engine.mission_of(route("cheapest", "full"))


@functools.cache
def about_mars() -> tuple[Study, Mission]:
    study = parse_study(MARS)
    return study, engine.mission_of(study)


def flown(departure: str, filling: str, architecture: str, **designs: object) -> pd.DataFrame:
    study = route(departure, filling)
    return engine.evaluate(study, three_bodies(), architecture, designs, everything=True)  # type: ignore[arg-type]


crafts = st.fixed_dictionaries(
    {
        "array_area": st.floats(20.0, 400.0),
        "current_density": st.floats(300.0, 9000.0),
        "payload_mass": st.floats(0.0, 200.0),
        "hop_delta_v_capacity": st.floats(2500.0, 5000.0),
        "propellant_reserve": st.floats(0.0, 0.1),
        "time_price": st.floats(0.0, 1e-4),
    }
)
WAYS = [
    (departure, filling, architecture)
    for departure, filling in itertools.product(POLICIES, FILLINGS)
    for architecture in ("electrolysis_bipropellant", "heated_engine")
]


@pytest.mark.parametrize(("departure", "filling", "architecture"), WAYS)
@QUIET
@given(values=crafts)
def test_water_and_energy_are_conserved_and_nobody_leaves_unfilled(
    departure: str, filling: str, architecture: str, values: dict[str, float]
) -> None:
    row = flown(departure, filling, architecture, **values).iloc[0]
    if row["margin_mass"] <= -1.0:
        return  # no finite mass: its numbers only stand in for one
    on_board = min(row["water_on_board"], row["propellant_mass"])
    water = energy = velocity = 0.0
    for hop in (1, 2):
        loaded, mined = row[f"propellant_loaded_{hop}"], row[f"water_mined_{hop}"]
        made = loaded if hop == 1 else loaded - on_board
        lost = made * row["stop_kept_share"] * leak(row)
        assert mined == pytest.approx(loaded - on_board + lost, rel=1e-9, abs=1e-6)
        assert loaded <= row["propellant_mass"] * (1.0 + 1e-9)
        assert row[f"departure_mass_{hop}"] == pytest.approx(row["dry_mass"] + loaded, rel=1e-12)
        on_board = max(loaded - row[f"propellant_used_{hop}"], 0.0)
        water, energy = water + mined, energy + row[f"energy_{hop}"]
        velocity += row[f"delta_v_{hop}"]
        assert row[f"water_so_far_{hop}"] == pytest.approx(water, rel=1e-12)
        assert row[f"energy_so_far_{hop}"] == pytest.approx(energy, rel=1e-12)
        assert row[f"delta_v_so_far_{hop}"] == pytest.approx(velocity, rel=1e-12)
        assert row[f"energy_{hop}"] >= mined * row["extraction_energy"] * (1.0 - 1e-12)
        filled = row[f"arrival_date_{hop}"] + max(row[f"refuel_time_{hop}"], row["minimum_dwell"])
        assert row[f"ready_date_{hop}"] == pytest.approx(filled, abs=1.0)
        assert row[f"departure_date_{hop}"] >= row[f"ready_date_{hop}"] - 1e-3
        assert row[f"wait_{hop}"] == pytest.approx(
            row[f"departure_date_{hop}"] - row[f"ready_date_{hop}"], abs=1.0
        )
        landed = row[f"departure_date_{hop}"] + row[f"time_of_flight_{hop}"]
        assert row[f"landing_date_{hop}"] == pytest.approx(landed, abs=1.0)
    assert row["arrival_date_2"] == row["landing_date_1"]


def leak(row: pd.Series) -> float:
    kept = math.exp(-row["gas_hold_time"] * (1.0 / row["leak_time"] + row["boil_off_rate"]))
    return 1.0 / kept - 1.0


@pytest.mark.parametrize("filling", FILLINGS)
def test_refuelling_takes_the_energy_the_sun_gives_in_that_time(filling: str) -> None:
    """The energy of the stop equals the surplus power integrated in ten thousand steps."""
    row = flown("cheapest", filling, "heated_engine").iloc[0]
    stop = three_bodies().stops[0]
    ready = row["arrival_date_1"] + row["refuel_time_1"]
    moments = np.linspace(row["arrival_date_1"], ready, 10_001)
    middles = 0.5 * (moments[1:] + moments[:-1])
    study = route("cheapest", filling)
    rows, _ = engine.design_rows(study, three_bodies(), "heated_engine", {})
    from tradespace.spacecraft import bus_power, refuelling_power, steady_load

    design = rows[0] if hasattr(bus_power, "py_func") else rows.view(np.recarray)[0]
    distance = np.interp(middles, stop.dates, stop.distances)
    surplus = [
        refuelling_power(design, bus_power(design, d, t - row["arrival_date_1"], 1.0), steady_load(design, d))
        for d, t in zip(distance, middles, strict=True)
    ]
    rated = row["extraction_rate"] * row["energy_per_mined"] * row["sunlit_fraction"]
    gathered = float(np.minimum(surplus, rated).mean() * row["refuel_time_1"])
    made = row["water_mined_1"] * row["extraction_energy"]
    made += row["propellant_loaded_1"] * row["stop_split_energy"]
    assert gathered == pytest.approx(made, rel=5e-3)


@pytest.mark.parametrize("filling", FILLINGS)
@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "heated_engine"])
def test_with_the_earliest_landing_more_power_is_never_later(filling: str, architecture: str) -> None:
    areas = np.geomspace(38.0, 110.0, 500)
    table = flown("earliest", filling, architecture, array_area=areas, hop_delta_v_capacity=3300.0, **ENDLESS)
    closing = table[table["closes"]]
    assert len(closing) > 100
    for hop in (1, 2):
        landing = closing[f"landing_date_{hop}"].to_numpy(dtype=np.float64)
        assert np.diff(landing).max() <= 1.0, hop  # [s]
        assert landing[0] - landing[-1] > 10.0 * DAY  # and the power does matter


@pytest.mark.parametrize("filling", FILLINGS)
def test_more_power_is_never_later_where_the_tanks_can_only_just_pay(filling: str) -> None:
    study = load_study(STUDIES / "outer_belt_ice_tour.toml")
    policy = {"departure_policy": 1.0, "fill_to_need": float(filling == "need")}
    study = dataclasses.replace(study, values={**study.values, **policy})
    areas = np.geomspace(60.0, 240.0, 1500)
    enough = {"launch_mass": 1e6, "storage_volume": 1e5}
    table = engine.evaluate(
        study,
        engine.mission_of(study),
        "electrolysis_bipropellant",
        {"array_area": areas, **enough, **ENDLESS},
    )
    closing = table[table["closes"]]
    assert 100 < len(closing) < len(table)  # the limit lies within
    for hop in (1, 2):
        assert np.diff(closing[f"landing_date_{hop}"].to_numpy(dtype=np.float64)).max() <= 1.0


@pytest.mark.parametrize(("departure", "filling", "architecture"), WAYS)
def test_nobody_waits_longer_than_allowed_and_a_departure_taken_is_one_that_fits(
    departure: str, filling: str, architecture: str
) -> None:
    random = np.random.default_rng(7)
    table = flown(
        departure, filling, architecture, array_area=10.0 ** random.uniform(1.0, 3.0, 300),
        hop_delta_v_capacity=random.uniform(2000.0, 6000.0, 300), launch_mass=1e5, storage_volume=1e4,
        maximum_wait=random.uniform(0.0, 2000.0 * DAY, 300), **ENDLESS,
    )  # fmt: skip
    for hop in (1, 2):
        assert (table[f"wait_{hop}"] <= table["maximum_wait"] + 2.0).all()
    closing = table[table["closes"]]
    assert len(closing) > 5
    assert (closing["window_slack_d"] >= 0.0).all()


def test_moons_that_stand_right_too_late_do_not_close() -> None:
    study, mission = about_mars()
    table = engine.evaluate(study, mission, "strong_engine", {"maximum_wait": np.array([1.0, 10.0]) * DAY})
    wait = mission.windows[0].system
    assert wait is not None
    assert 0.0 < wait.wait < 10.0 * DAY
    short = engine.evaluate(study, mission, "strong_engine", {"maximum_wait": 0.5 * wait.wait}).iloc[0]
    assert short["margin_window_1"] == pytest.approx(-0.5)
    assert table["margin_window_1"].iloc[1] > short["margin_window_1"]


def test_each_policy_is_best_at_what_it_chooses_by() -> None:
    by_policy = {name: flown(name, "full", "heated_engine").iloc[0] for name in POLICIES}
    ready = {round(row["ready_date_1"]) for row in by_policy.values()}
    assert len(ready) == 1
    cheapest, earliest = by_policy["cheapest"], by_policy["earliest"]
    for row in by_policy.values():
        assert row["delta_v_1"] >= cheapest["delta_v_1"] * (1.0 - 1e-6)
        assert row["landing_date_1"] >= earliest["landing_date_1"] - 2.0 * DAY
        assert row["margin_window_1"] >= 0.0
    assert earliest["landing_date_1"] < cheapest["landing_date_1"] - 30.0 * DAY
    assert earliest["delta_v_1"] > cheapest["delta_v_1"] * 1.05


def test_the_price_of_time_leads_from_the_cheapest_to_the_earliest() -> None:
    prices = np.array([0.0, 0.03, 0.1, 0.3, 1.0, 3.0, 1e4]) / DAY
    landings = [
        float(flown("least_cost", "full", "heated_engine", time_price=price)["landing_date_1"].iloc[0])
        for price in prices
    ]
    assert (np.diff(landings) <= 1.0).all()
    cheapest = flown("cheapest", "full", "heated_engine").iloc[0]
    earliest = flown("earliest", "full", "heated_engine").iloc[0]
    assert landings[0] == pytest.approx(cheapest["landing_date_1"], abs=6.0 * DAY)
    assert landings[-1] <= earliest["landing_date_1"] + 1.0


@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "heated_engine"])
def test_filling_to_the_need_makes_less_water_and_still_arrives(architecture: str) -> None:
    full = flown("cheapest", "full", architecture, hop_delta_v_capacity=3300.0).iloc[0]
    need = flown("cheapest", "need", architecture, hop_delta_v_capacity=3300.0).iloc[0]
    for hop in (1, 2):
        assert need[f"propellant_loaded_{hop}"] < 0.95 * full[f"propellant_loaded_{hop}"]
        assert 0.0 <= need[f"margin_water_{hop}"] < 0.1
    assert need["water_so_far_2"] < full["water_so_far_2"]
    assert need["refuel_time"] < full["refuel_time"]


def test_survival_is_the_product_over_stops_and_hops() -> None:
    chance = dry_chance(bodies.body("Themis").water_class), dry_chance(bodies.body("Antiope").water_class)
    row = flown("cheapest", "full", "heated_engine").iloc[0]
    reliability = row["hop_reliability"]
    first = (1.0 - chance[0]) * reliability
    second = first * (1.0 - chance[1]) * reliability
    assert (row["survival_1"], row["survival_2"]) == pytest.approx((first, second))
    assert row["survival"] == row["survival_2"]
    assert row["expected_bodies"] == pytest.approx(first + second)
    swept = flown("cheapest", "full", "heated_engine", dry_site_probability=np.array([0.0, 0.3, 1.0]))
    assert swept["survival"].to_numpy() == pytest.approx(reliability**2 * np.array([1.0, 0.49, 0.0]))
    carried = flown("cheapest", "full", "xenon_hall", dry_site_probability=1.0).iloc[0]
    assert carried["survival"] == pytest.approx(reliability**2)


def test_water_found_once_on_a_body_is_found_again() -> None:
    study = load_study(STUDIES / "ceres_surface_hopper.toml")
    row = engine.evaluate(
        study, engine.mission_of(study), "electrolysis_bipropellant", {}, everything=True
    ).iloc[0]
    wet = 1.0 - dry_chance(bodies.body("Ceres").water_class)
    for hop in (1, 2, study.hops):
        assert row[f"survival_{hop}"] == pytest.approx(wet * row["hop_reliability"] ** hop)


def test_a_stop_may_have_its_own_chance_and_source_of_water() -> None:
    own = ROUTE.replace(
        '"90 Antiope"', '{ body = "90 Antiope", dry_site_probability = "40 %", water_source = "gypsum" }'
    )
    study = parse_study(own.replace("[craft]", 'dry_site_probability = "5 %"\n[craft]'))
    mission = engine.mission_of(study)
    row = engine.evaluate(study, mission, "heated_engine", {}, everything=True).iloc[0]
    assert row["survival"] == pytest.approx(0.95 * 0.6 * row["hop_reliability"] ** 2)
    same = flown("cheapest", "full", "heated_engine").iloc[0]
    assert row["energy_1"] == pytest.approx(same["energy_1"])
    dearer = row["water_mined_2"] * (mission.stops[1].extraction_energy - row["extraction_energy"])
    assert dearer > 0.1 * same["energy_2"]
    assert row["energy_2"] - same["energy_2"] == pytest.approx(dearer, rel=1e-4)


def test_a_study_may_say_how_long_a_body_takes_to_turn() -> None:
    slow = ROUTE.replace('"90 Antiope"', '{ body = "90 Antiope", rotation_period = "400 h" }')
    study = parse_study(slow)
    mission = engine.mission_of(study)
    assert mission.stops[1].rotation_period == 400.0 * 3600.0
    row = engine.evaluate(study, mission, "heated_engine", {}).iloc[0]
    assert row["battery_mass"] > 5.0 * flown("cheapest", "full", "heated_engine").iloc[0]["battery_mass"]
    comet = next(
        item for item in bodies.bodies() if math.isnan(item.rotation_period) and item.group != "moon"
    )
    with pytest.raises(StudyError, match="rotation period of"):
        parse_study(ROUTE.replace('"90 Antiope"', f'"{comet.id}"'))
    parse_study(ROUTE.replace('"90 Antiope"', f'{{ body = "{comet.id}", rotation_period = "8 h" }}'))


def test_life_and_consumables_count() -> None:
    years = value("year", "engine_settings.csv")
    row = flown("cheapest", "full", "heated_engine", design_life=5.0 * years).iloc[0]
    assert row["margin_lifetime_2"] == pytest.approx(5.0 * years / row["elapsed_2"] - 1.0)
    short = flown(
        "cheapest", "full", "heated_engine", consumables_mass=10.0, consumables_rate=0.01 / DAY
    ).iloc[0]
    assert short["margin_lifetime_2"] == pytest.approx(10.0 / (0.01 / DAY * short["elapsed_2"]) - 1.0)
    plain = flown("cheapest", "full", "heated_engine").iloc[0]
    assert short["dry_mass"] > plain["dry_mass"] + 10.0


def test_a_longer_night_needs_a_larger_battery() -> None:
    nights = np.array([5.0, 50.0, 500.0]) * 3600.0
    table = flown("cheapest", "full", "heated_engine", longest_night=nights)
    assert (np.diff(table["battery_mass"]) > 0.0).all()
    assert table["battery_mass"].iloc[2] == pytest.approx(100.0 * table["battery_mass"].iloc[0], rel=1e-6)


def test_legs_within_a_system_are_transfers_between_circles() -> None:
    study, mission = about_mars()
    row = engine.evaluate(study, mission, "strong_engine", {}).iloc[0]
    phobos, deimos = ephemeris.orbit_of("Phobos"), ephemeris.orbit_of("Deimos")
    tilt = phobos.inclination_to_parent_equator + deimos.inclination_to_parent_equator
    out, come, flight = circular_leg(phobos.parent_gm, phobos.semi_major_axis, deimos.semi_major_axis, tilt)
    assert row["pricing_1"] == 0.0
    assert row["departure_delta_v_1"] == pytest.approx(float(out), rel=0.02)
    assert row["arrival_delta_v_1"] == pytest.approx(float(come), rel=0.02)
    assert row["time_of_flight_1"] == pytest.approx(float(flight), rel=0.1)
    assert row["wait_1"] < 2.0 * DAY
    # a parking orbit has no ground: nothing is mined, nothing landed
    assert row["water_mined_3"] == 0.0
    assert row["landing_delta_v_2"] == row["launch_delta_v_3"] == 0.0
    assert row["propellant_loaded_3"] == pytest.approx(
        row["propellant_loaded_2"] - row["propellant_used_2"], rel=1e-9
    )


def test_a_weak_thruster_spirals_within_a_system() -> None:
    study, mission = about_mars()
    weak = engine.evaluate(study, mission, "xenon_hall", {}).iloc[0]
    strong = engine.evaluate(study, mission, "strong_engine", {}).iloc[0]
    assert weak["pricing_2"] == 2.0
    assert weak["time_of_flight_2"] > 10.0 * strong["time_of_flight_2"]
    assert weak["delta_v_2"] > strong["delta_v_2"]


def test_two_hops_on_one_filling_share_the_tanks() -> None:
    study, mission = about_mars()
    row = engine.evaluate(study, mission, "strong_engine", {}).iloc[0]
    both = row["delta_v_2"] + row["delta_v_3"]
    capacity = study.values["hop_delta_v_capacity"]
    assert row["margin_window_3"] == pytest.approx(capacity / both - 1.0, rel=1e-6)


def test_an_orbit_about_a_planet_pulls_at_a_leg_around_the_sun() -> None:
    text = MARS.replace('body = "Phobos"', 'body = "Earth"\norbit = "400 km"').replace(
        'stops = ["Deimos", { body = "Mars", orbit = "1000 km" }, "Phobos"]',
        'stops = ["Phobos"]\nflight_time = ["150 d", "400 d"]\nmaximum_wait = "800 d"',
    )
    for old, new in (
        ('thrust = "2 kN"', 'thrust = "500 N"'),
        ('"440 s"', '"2000 s"'),
        ('launch_mass = "3000 kg"', 'launch_mass = "200 t"\nwater_on_board = "20 t"'),
    ):
        assert old in text
        text = text.replace(old, new)
    study = parse_study(text)
    mission = engine.mission_of(study)
    row = engine.evaluate(study, mission, "strong_engine", {"hop_delta_v_capacity": 7000.0}).iloc[0]
    earth = bodies.body("Earth")
    radius = earth.radius + 400e3
    ideal = orbit_end(earth.gravitational_parameter, radius, row["v_inf_departure_1"], 1e3, 1e9)
    push = 500.0 / row["departure_mass_1"]
    real = orbit_end(earth.gravitational_parameter, radius, row["v_inf_departure_1"], push, 2000.0 * 9.80665)
    assert float(real) > 1.2 * float(ideal)  # the burn is long, and the Earth pulls all the while
    assert row["departure_delta_v_1"] == pytest.approx(float(real), rel=1e-4)
    assert row["arrival_delta_v_1"] < row["v_inf_arrival_1"]  # Mars pulls too
    assert row["water_mined_1"] == 0.0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"Deimos", { body = "Mars"', '"Deimos", { bodi = "Mars"', "unknown key"),
        ('orbit = "1000 km"', 'orbit = "1000"', '"1000 km"'),
        ("[craft]", '[extraction]\nice_fraction = "5.6"\n[craft]', 'did you mean "5.6 %"'),
        ('orbit = "1000 km"', 'orbit = "-5 km"', "altitude"),
        ('orbit = "1000 km"', 'orbit = "500 km", water_source = "gypsum"', "no water in an orbit"),
        ('{ body = "Mars", orbit = "1000 km" }', '{ body = "Ceres", orbit = "100 km" }', "no planet"),
        ('{ body = "Mars", orbit = "1000 km" }', '"Mars"', "ground of Mars"),
        ('{ body = "Mars", orbit = "1000 km" }', '"Jupiter"', "no surface"),
        ('{ body = "Mars", orbit = "1000 km" }', '"Europa"', "flight_time"),
        ('{ body = "Mars", orbit = "1000 km" }', '{ body = "Deimos" }', "to itself"),
        ('"Deimos", {', '{ body = "Deimos", dry_site_probability = "140 %" }, {', "out of bounds"),
        ('"Deimos", {', '{ body = "Deimos", water_source = "gypsom" }, {', "gypsum"),
        ("[craft]", 'departure = "earlyest"\n[craft]', "earliest"),
        ("[craft]", 'filling = "half"\n[craft]', "filling"),
    ],
)
def test_a_route_that_cannot_be_read_says_why(old: str, new: str, words: str) -> None:
    assert old in MARS
    with pytest.raises(StudyError, match=words) as caught:
        parse_study(MARS.replace(old, new))
    assert "study:" in str(caught.value)


def test_the_shipped_tour_keeps_its_dates_for_every_policy() -> None:
    study = load_study(STUDIES / "outer_belt_ice_tour.toml")
    assert study.options["departure"] == "cheapest"
    assert study.options["filling"] == "full"
