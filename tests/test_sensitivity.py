"""What moves the answer: rates, jumps, tornado, map and solution, each against evaluations of the test's own."""

from __future__ import annotations

import functools
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import brentq
from small_studies import SURFACE, TOUR

from tradespace import constants, sensitivity
from tradespace import evaluate as engine
from tradespace.mission import Mission, WindowCurve
from tradespace.quantities import quantities
from tradespace.results import Sensitivity
from tradespace.study import Solve, Study, load_study, parse_study
from tradespace.thrusters.values import one_changed
from tradespace.units import format_date

STUDIES = Path(__file__).parents[1] / "studies"
NAMES = ("ceres_surface_hopper", "outer_belt_ice_tour")
SPLITTING = "electrolysis_bipropellant"
DAY = 86400.0
SUN = constants.value("solar_constant")
WHOLE_STEP = {"stack_efficiency": 0.01, "specific_impulse_change": 1.0, "array_power": 1000.0}


@functools.cache
def asked(name: str) -> tuple[Study, Mission]:
    study = load_study(STUDIES / f"{name}.toml")
    return study, engine.mission_of(study)


@functools.cache
def analysed(name: str) -> Sensitivity:
    return sensitivity.analyse(*asked(name))


@functools.cache
def small_mission() -> Mission:
    return engine.mission_of(parse_study(TOUR))


def reference(study: Study, mission: Mission, architecture: str) -> pd.Series:
    return engine.baseline(study, mission, architecture).iloc[0]


def at(study: Study, mission: Mission, architecture: str, **designs: float) -> pd.Series:
    """One design, one variable changed or more; a variable with a dot is a row of the thruster's own table."""
    for name, value in designs.items():
        if "." in name:
            owner, _, row = name.partition(".")
            with one_changed(owner, row, value):
                return reference(study, mission, architecture)
    arrays = {name: np.array([value]) for name, value in designs.items()}
    return engine.evaluate(study, mission, architecture, arrays).iloc[0]


def rates(study: Study, mission: Mission, architecture: str = SPLITTING) -> pd.DataFrame:
    table = sensitivity.exchange_rates(study, mission, architecture, reference(study, mission, architecture))
    return table.set_index(["quantity", "calendar"])


def reference_value(row: pd.Series, quantity: str) -> float:
    if quantity == "array_power":
        return float(row["array_area"] * row["array_efficiency"] * SUN)
    return float(row[quantity])


@pytest.mark.parametrize("quantity", WHOLE_STEP)
@pytest.mark.parametrize("name", NAMES)
def test_rates_are_slopes_of_the_engine_with_the_calendar_frozen(name: str, quantity: str) -> None:
    study, mission = asked(name)
    table = analysed(name).exchange
    for architecture in study.architectures:
        row = reference(study, mission, architecture)
        rate = table[
            (table["architecture"] == architecture)
            & (table["quantity"] == quantity)
            & (table["calendar"] == "frozen")
        ].iloc[0]
        dates = (
            np.array([row[f"window_date_{hop + 1}"] for hop in range(mission.hops)])
            if mission.windows
            else None
        )
        small = 0.02 * WHOLE_STEP[quantity]
        points = reference_value(row, quantity) + np.array([-small, small])
        ends = engine.evaluate(study, mission, architecture, {quantity: points}, frozen=dates)
        per_step = WHOLE_STEP[quantity] / (2.0 * small)
        payload = float(np.diff(ends["payload_capacity"])[0]) * per_step
        assert rate["payload_kg"] == pytest.approx(payload, rel=2e-2, abs=1e-6)
        if row["refuel_time"] >= constants.value("refuelling_cap", "engine_settings.csv"):
            assert np.isnan(rate["days_per_hop"])
            assert "does not end" in rate["note"]
            continue
        days = float(np.diff(ends["refuel_time_mean"])[0]) * per_step / DAY
        assert rate["days_per_hop"] == pytest.approx(days, rel=2e-2, abs=1e-6)
        assert not rate["jump"]
        assert rate["note"] == ""


@pytest.mark.parametrize("name", NAMES)
def test_there_is_a_row_for_every_architecture_step_and_calendar(name: str) -> None:
    table = analysed(name).exchange
    found = set(zip(table["architecture"], table["quantity"], table["calendar"], strict=True))
    study, _ = asked(name)
    wanted = {(a, q, c) for a in study.architectures for q in WHOLE_STEP for c in ("frozen", "free")}
    assert found == wanted
    assert len(table) == len(wanted)


def test_better_cells_never_lengthen_refuelling_on_ceres() -> None:
    table = analysed("ceres_surface_hopper").exchange
    cells = table[table["quantity"] == "stack_efficiency"]
    assert (cells["days_per_hop"] <= 0.0).all()
    study, mission = asked("ceres_surface_hopper")
    table = engine.baseline(study, mission)
    splitting = set(table.loc[table["electrolyser_power"] > 0.0, "architecture"])
    assert {SPLITTING, "bench_engine"} <= splitting
    for name, days in cells.groupby("architecture")["days_per_hop"]:
        assert name in splitting or (days == 0.0).all()
        assert name not in {SPLITTING, "bench_engine"} or (days < -0.05).all()


def test_craft_that_do_not_refuel_have_no_refuelling_days() -> None:
    for name in NAMES:
        table = analysed(name).exchange
        carried = table["architecture"].isin(["storable_bipropellant", "xenon_hall"])
        frozen = table[carried & (table["calendar"] == "frozen")]
        assert len(frozen) > 0
        assert (frozen["days_per_hop"] == 0.0).all()


@pytest.mark.parametrize("name", NAMES)
def test_the_payload_rate_is_mass_that_can_be_carried(name: str) -> None:
    """A craft given its payload capacity stands at the launch mass, before and after the step."""
    study, mission = asked(name)
    row = reference(study, mission, SPLITTING)
    ends = []
    for sign in (-0.5, 0.5):
        value = reference_value(row, "specific_impulse_change") + sign
        bare = at(study, mission, SPLITTING, specific_impulse_change=value)
        filled = at(
            study,
            mission,
            SPLITTING,
            specific_impulse_change=value,
            payload_mass=float(bare["payload_capacity"]),
        )
        assert filled["start_mass"] == pytest.approx(study.values["launch_mass"], rel=1e-6)
        ends.append(float(bare["payload_capacity"]))
    table = analysed(name).exchange
    rows = table[(table["architecture"] == SPLITTING) & (table["quantity"] == "specific_impulse_change")]
    assert rows["payload_kg"].to_numpy() == pytest.approx(ends[1] - ends[0], rel=1e-6)
    assert (rows["payload_kg"] > 0.0).all()


def test_free_and_frozen_days_agree_where_nothing_waits_for_a_window() -> None:
    table = analysed("ceres_surface_hopper").exchange
    both = table[table["architecture"] == SPLITTING].pivot_table(
        index="quantity", columns="calendar", values="days_per_hop"
    )
    np.testing.assert_allclose(both["free"], both["frozen"], rtol=1e-6)


def test_a_small_array_is_priced_per_whole_kilowatt_without_going_negative() -> None:
    """An array of less than a kilowatt cannot lose half a one; the slope is still per kilowatt."""
    text = SURFACE.replace('array_power = "12 kW"', 'array_power = "700 W"')
    study = parse_study(text)
    mission = engine.mission_of(study)
    rate = rates(study, mission).loc[("array_power", "frozen")]
    ends = engine.evaluate(study, mission, SPLITTING, {"array_power": np.array([350.0, 1050.0])})
    slope = float(np.diff(ends["payload_capacity"])[0]) / 0.7
    assert rate["payload_kg"] == pytest.approx(slope, rel=1e-9)


def tour(area: float, wait: str) -> Study:
    """The small tour with another array and another longest wait; its windows stay the same."""
    text = TOUR.replace('array_area = "40 m2"', f'array_area = "{area!r} m2"')
    return parse_study(text.replace("flight_time =", f'maximum_wait = "{wait}"\nflight_time ='))


def area_at_the_edge(wait: str, study: Study | None = None) -> float:
    """The array at whose refuelling time the first cheapest departure within the wait goes to another valley."""
    asked_study = study or tour(40.0, wait)
    mission = small_mission() if study is None else engine.mission_of(study)
    low, high = 10.0, 90.0
    for _ in range(3):
        areas = np.linspace(low, high, 2001)
        table = engine.evaluate(asked_study, mission, SPLITTING, {"array_area": areas})
        place = int(np.argmax(np.abs(np.diff(table["window_date_1"]))))
        low, high = float(areas[place]), float(areas[place + 1])
    return 0.5 * (low + high)


def dates_of(note: str) -> list[date]:
    return [date.fromisoformat(word.rstrip(";")) for word in note.split() if word[:2] == "20"]


@pytest.fixture(scope="module")
def edge() -> tuple[Study, pd.DataFrame]:
    study = tour(area_at_the_edge("500 d"), "500 d")
    return study, rates(study, small_mission())


def test_a_jump_to_another_window_is_told_with_its_dates(edge: tuple[Study, pd.DataFrame]) -> None:
    study, table = edge
    row = reference(study, small_mission(), SPLITTING)
    for quantity, whole in WHOLE_STEP.items():
        free = table.loc[(quantity, "free")]
        assert free["jump"]
        assert np.isnan(free["days_per_hop"])
        assert free["note"].startswith("departure 1 jumps from ")
        value = reference_value(row, quantity)
        near = 1e-3 * whole
        ends = [
            at(study, small_mission(), SPLITTING, **{quantity: value + sign * near})["window_date_1"]
            for sign in (-1.0, 1.0)
        ]
        assert abs(ends[1] - ends[0]) > 100.0 * DAY
        told = dates_of(free["note"])
        assert len(told) == 2
        for one, other in zip(told, ends, strict=True):
            assert abs((one - date.fromisoformat(format_date(other))).days) <= 20
        assert np.isfinite(free["payload_kg"])


def test_the_same_case_has_finite_rates_with_the_calendar_frozen(edge: tuple[Study, pd.DataFrame]) -> None:
    _, table = edge
    for quantity in WHOLE_STEP:
        frozen = table.loc[(quantity, "frozen")]
        assert not frozen["jump"]
        assert frozen["note"] == ""
        assert frozen["days_per_hop"] < 0.0


def test_frozen_means_that_later_stops_are_not_moved_by_an_earlier_jump() -> None:
    """Two hops: the jump of the first one brings the craft to the second stop at another distance from the Sun."""

    def both(area: float) -> Study:
        return parse_study(
            tour(area, "500 d").text.replace('["90 Antiope"]', '["90 Antiope", "176P/LINEAR"]')
        )

    study = both(area_at_the_edge("500 d", both(40.0)))
    mission = engine.mission_of(study)
    row = reference(study, mission, SPLITTING)
    value = reference_value(row, "array_power")
    points = {"array_power": value + np.array([-500.0, 500.0])}
    dates = np.array([row["window_date_1"], row["window_date_2"]])
    held = engine.evaluate(study, mission, SPLITTING, points, frozen=dates)["refuel_time_mean"]
    moved = engine.evaluate(study, mission, SPLITTING, points)["refuel_time_mean"]
    slope, other = (float(np.diff(column)[0]) / DAY for column in (held, moved))
    assert abs(slope - other) > 0.01 * abs(slope)
    table = rates(study, mission)
    assert table.loc[("array_power", "frozen"), "days_per_hop"] == pytest.approx(slope, rel=1e-9)
    assert table.loc[("array_power", "free"), "jump"]


def test_away_from_the_edge_there_is_a_rate_and_no_jump() -> None:
    area = area_at_the_edge("500 d")
    for factor in (1.25, 1.5):
        table = rates(tour(factor * area, "500 d"), small_mission())
        assert not table["jump"].any()
        assert np.isfinite(table["days_per_hop"]).all()


def test_a_departure_that_follows_the_craft_is_no_jump() -> None:
    """Without a wait the craft leaves when it is ready: the date moves, and no window is left."""
    study = tour(22.0, "0 d")
    table = rates(study, small_mission())
    ends = engine.evaluate(study, small_mission(), SPLITTING, {"array_area": np.array([21.0, 23.0])})[
        "window_date_1"
    ]
    assert abs(float(np.diff(ends)[0])) > 20.0 * DAY
    assert not table["jump"].any()


def test_a_flight_that_changes_to_another_arc_is_a_jump() -> None:
    """The date of departure moves by days, the cheapest flight by more than a year: the landing has no slope."""
    mission = small_mission()
    curve = mission.windows[0]
    days = (curve.departure - mission.start_date) / DAY
    steps = np.where((days[:-1] > 150.0) & (days[1:] < 900.0), np.abs(np.diff(curve.time_of_flight)), 0.0)
    cell = int(np.argmax(steps))
    assert steps[cell] > 365.0 * DAY
    middle = 0.5 * (curve.departure[cell] + curve.departure[cell + 1])

    def early(area: float) -> float:
        row = at(tour(area, "0 d"), mission, SPLITTING, array_area=area)
        return float(row["window_date_1"] - middle)

    study = tour(float(brentq(early, 5.0, 40.0)), "0 d")
    free = rates(study, mission).loc[("array_power", "free")]
    assert free["jump"]
    assert np.isnan(free["days_per_hop"])
    assert free["note"].startswith("landing 1 jumps from ")
    told = dates_of(free["note"])
    assert abs(abs((told[1] - told[0]).days) - steps[cell] / DAY) < 7


def invented_windows(flights: list[float]) -> Mission:
    """The small tour with an invented curve, one departure every five days."""
    mission = small_mission()
    days = np.arange(len(flights)) * 5.0 * DAY + mission.start_date
    flat = np.full(len(flights), 1000.0)
    curve = WindowCurve("here", "there", days, np.array(flights) * DAY, flat, flat)
    return replace(mission, windows=(curve,))


SMOOTH = [300.0] * 40
BROKEN = [300.0] * 3 + [700.0] * 37
"""Flight times of an invented curve, in days; the second one changes to another arc on the third date."""


@pytest.mark.parametrize(
    ("leave", "ready", "flights", "words"),
    [
        ([10.0, 10.0, 10.0], [1.0, 2.0, 3.0], SMOOTH, ""),
        ([10.0, 11.0, 12.0], [10.0, 11.0, 12.0], SMOOTH, ""),
        ([10.0, 60.0, 110.0], [10.0, 60.0, 110.0], SMOOTH, ""),
        ([10.0, 10.0, 150.0], [1.0, 2.0, 3.0], SMOOTH, "departure 1 jumps from 2031-05-11 to 2031-09-28"),
        ([150.0, 10.0, 10.0], [3.0, 2.0, 1.0], SMOOTH, "departure 1 jumps from 2031-09-28 to 2031-05-11"),
        ([10.0, 150.0, 10.0], [1.0, 2.0, 3.0], SMOOTH, "departure 1 jumps from 2031-05-11 to 2031-09-28"),
        ([10.0, 11.0, 12.0], [10.0, 11.0, 12.0], BROKEN, "landing 1 jumps from 2032-03-06 to 2033-04-15"),
        ([12.0, 11.0, 10.0], [12.0, 11.0, 10.0], BROKEN, "landing 1 jumps from 2033-04-15 to 2032-03-06"),
        ([10.0, 10.0, 10.0], [1.0, 2.0, 3.0], BROKEN, ""),
        ([16.0, 18.0, 20.0], [16.0, 18.0, 20.0], BROKEN, ""),
    ],
)  # fmt: skip
def test_what_counts_as_a_jump(
    leave: list[float], ready: list[float], flights: list[float], words: str
) -> None:
    mission = invented_windows(flights)
    start = mission.start_date
    answers = pd.DataFrame(
        {
            "window_date_1": start + DAY * np.array(leave),
            "ready_date_1": start + DAY * np.array(ready),
        }
    )
    assert sensitivity.jump(mission, answers) == words


SOME_BARS = 15
"""One bar in so many is evaluated again; more of them for one that splits and one that does not refuel."""


@pytest.mark.parametrize("name", NAMES)
def test_the_ends_of_every_bar_are_evaluations(name: str) -> None:
    study, mission = asked(name)
    table = analysed(name).tornado
    for architecture in study.architectures:
        rows = table[table["architecture"] == architecture]
        row = reference(study, mission, architecture)
        for metric in sensitivity.metrics_of(study):
            known = rows.loc[rows["metric"] == metric, "at_baseline"]
            np.testing.assert_allclose(known.astype(float), row[metric], rtol=1e-12)
        every = 4 if architecture in {SPLITTING, "xenon_hall"} else SOME_BARS
        for quantity, bars in list(rows.groupby("quantity"))[::every]:
            for end in ("low", "high"):
                alone = at(study, mission, architecture, **{str(quantity): float(bars[end].iloc[0])})
                for _, bar in bars.iterrows():
                    assert bar[f"at_{end}"] == pytest.approx(alone[bar["metric"]], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_inputs_without_effect_are_left_out_and_all_others_are_there(name: str) -> None:
    study, mission = asked(name)
    table = analysed(name).tornado
    for architecture, every in ((SPLITTING, 3), ("xenon_hall", 4)):
        row = reference(study, mission, architecture)
        bars = table[table["architecture"] == architecture]
        there = set(zip(bars["quantity"], bars["metric"], strict=True))
        for quantity, low, high in sensitivity.one_at_a_time(study, architecture)[::every]:
            ends = pd.DataFrame([at(study, mission, architecture, **{quantity: end}) for end in (low, high)])
            for metric in sensitivity.metrics_of(study):
                moved = float(np.max(np.abs(ends[metric] - row[metric])))
                if moved > 1e-6 * max(1.0, abs(row[metric])):
                    assert (quantity, metric) in there
                elif moved == 0.0:
                    assert (quantity, metric) not in there
    no_water = table[table["architecture"] == "xenon_hall"]
    assert not set(no_water["quantity"]) & {"ice_fraction", "extraction_energy", "stack_efficiency"}
    assert (table["low"] < table["high"]).all()


def test_each_thruster_is_varied_over_its_own_range() -> None:
    study, mission = asked("outer_belt_ice_tour")
    table = analysed("outer_belt_ice_tour").tornado
    answers = engine.baseline(study, mission).set_index("architecture")
    for architecture, thruster in study.thrusters.items():
        for quantity, (low, high) in thruster.ranges().items():
            bars = table[(table["architecture"] == architecture) & (table["quantity"] == quantity)]
            closable = answers.loc[architecture, "margin_mass"] > -0.9  # what has no finite mass is not moved
            if low < high and quantity == "specific_impulse_change" and closable:
                assert not bars.empty
            assert set(zip(bars["low"], bars["high"], strict=True)) <= {(low, high)}


def test_rows_of_the_thrusters_table_are_varied_too() -> None:
    """Two engines instead of one double the propellant they can pass: the lifetime margin follows."""
    study, mission = asked("outer_belt_ice_tour")
    name = f"{SPLITTING}.engines"
    lasting = replace(study, values={**study.values, "stack_life": 1e12, "design_life": 1e12})
    one, two = (at(lasting, mission, SPLITTING, **{name: count})["margin_lifetime"] for count in (1.0, 2.0))
    assert (two + 1.0) / (one + 1.0) == pytest.approx(2.0, rel=0.02)
    table = analysed("outer_belt_ice_tour").tornado
    assert name in set(table["quantity"])
    assert f"{SPLITTING}.specific_impulse" not in set(table["quantity"])
    same = at(study, mission, SPLITTING, **{name: 2.0})
    assert reference(study, mission, SPLITTING)["margin_lifetime"] == same["margin_lifetime"]


def test_ranges_written_in_the_study_go_before_all_others() -> None:
    text = TOUR.replace(
        'ice_fraction = ["5 %", "20 %"]',
        'ice_fraction = ["5 %", "20 %"]\nspecific_impulse_change = ["-3 s", "4 s"]\n'
        'power_per_thrust_factor = ["90 %", "300 %"]',
    )
    study = parse_study(text)
    chosen = {name: (low, high) for name, low, high in sensitivity.one_at_a_time(study, "steam_resistojet")}
    assert chosen["ice_fraction"] == pytest.approx((0.05, 0.2))
    assert chosen["specific_impulse_change"] == (-3.0, 4.0)
    assert chosen["power_per_thrust_factor"] == pytest.approx((0.9, 3.0))


def test_a_range_of_a_worked_out_quantity_leaves_the_other_bars_alone() -> None:
    """Cell efficiency, extraction energy and array power not given, but with ranges of their own."""
    more = TOUR.replace(
        "[architectures]",
        'stack_efficiency = ["60 %", "85 %"]\nextraction_energy = ["1 kWh/kg", "9 kWh/kg"]\n'
        'array_power = ["8 kW", "30 kW"]\n[architectures]',
    )
    plain, mission = parse_study(TOUR), small_mission()
    extended = parse_study(more)
    columns = ["quantity", "metric", "at_low", "at_baseline", "at_high"]
    before = sensitivity.tornado_table(plain, mission, SPLITTING)[columns]
    after = sensitivity.tornado_table(extended, mission, SPLITTING)[columns]
    added = {"stack_efficiency", "extraction_energy", "array_power"}
    kept = after[~after["quantity"].isin(added)].reset_index(drop=True)
    pd.testing.assert_frame_equal(kept, before, check_exact=False, rtol=1e-12)
    assert added <= set(after["quantity"])
    for quantity, low, high in (
        ("stack_efficiency", 0.60, 0.85),
        ("extraction_energy", 3.6e6, 9 * 3.6e6),
        ("array_power", 8e3, 30e3),
    ):
        bar = after[(after["quantity"] == quantity) & (after["metric"] == "refuel_time_mean")].iloc[0]
        for value, told in ((low, bar["at_low"]), (high, bar["at_high"])):
            alone = at(extended, mission, SPLITTING, **{quantity: value})
            assert told == pytest.approx(alone["refuel_time_mean"], rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_power_map_is_made_of_evaluations_and_finite_everywhere(name: str) -> None:
    study, mission = asked(name)
    maps = analysed(name).power_maps
    assert [item.architecture for item in maps] == list(study.architectures)
    for item in maps:
        shape = (item.stack_efficiency.size, item.array_power.size)
        assert item.refuel_time.shape == item.margin.shape == shape
        for values in (item.array_power, item.stack_efficiency, item.refuel_time, item.margin):
            assert np.isfinite(values).all()
        assert (np.diff(item.array_power) > 0.0).all()
        assert (np.diff(item.stack_efficiency) > 0.0).all()
        for up, across in ((3, 40), (30, 7)):
            alone = at(
                study,
                mission,
                item.architecture,
                array_power=float(item.array_power[across]),
                stack_efficiency=float(item.stack_efficiency[up]),
            )
            assert item.refuel_time[up, across] == pytest.approx(alone["refuel_time"], rel=1e-12)
            assert item.margin[up, across] == pytest.approx(alone["margin"], abs=1e-12)


def test_the_efficiency_of_the_map_is_that_of_the_stack_on_the_higher_heating_value() -> None:
    study, mission = asked("ceres_surface_hopper")
    item = analysed("ceres_surface_hopper").power_maps[0]
    alone = engine.evaluate(
        study, mission, SPLITTING, {"stack_efficiency": item.stack_efficiency[[0, -1]]}, everything=True
    )
    plant = 1.0 + study.values["balance_of_plant_fraction"]
    stored = alone["split_energy"] * item.stack_efficiency[[0, -1]] / plant
    # CODATA key values for thermodynamics (1989): liquid water -285.83 kJ/mol; 18.015 g/mol (both from memory)
    assert stored.to_numpy() == pytest.approx(285.83e3 / 18.015e-3, rel=1e-3)


def test_the_map_covers_the_swept_powers() -> None:
    study, _ = asked("ceres_surface_hopper")
    power = study.sweep[0]
    item = analysed("ceres_surface_hopper").power_maps[0]
    assert (item.array_power[0], item.array_power[-1]) == pytest.approx(
        (power.points.min(), power.points.max())
    )
    study, _ = asked("outer_belt_ice_tour")
    strength = study.values["array_efficiency"] * SUN
    areas = study.sweep[0].points
    item = analysed("outer_belt_ice_tour").power_maps[0]
    assert (item.array_power[0], item.array_power[-1]) == pytest.approx(
        (areas.min() * strength, areas.max() * strength)
    )


def test_on_the_map_more_power_and_better_cells_refuel_faster() -> None:
    for item in analysed("ceres_surface_hopper").power_maps:
        if item.architecture != SPLITTING:
            continue
        # over months a later craft can meet its last stops nearer the Sun, so only short refuellings are compared
        for axis in (0, 1):
            steps = np.diff(item.refuel_time, axis=axis)
            both = np.minimum(
                *(np.take(item.margin, np.arange(steps.shape[axis]) + k, axis=axis) for k in (0, 1))
            )
            longer = np.take(item.refuel_time, np.arange(steps.shape[axis]), axis=axis)
            near = (both >= 0.0) & (longer < 90.0 * DAY)
            assert near.sum() > 100
            assert (steps[near] < 0.0).all()


@pytest.mark.parametrize("name", NAMES)
def test_the_smallest_array_meets_the_condition_and_one_percent_less_does_not(name: str) -> None:
    study, mission = asked(name)
    found = analysed(name).solutions
    assert list(found["architecture"]) == list(study.architectures)
    assert study.solve is not None
    inside = 0
    for row in found.itertuples():
        assert row.variable == study.solve.variable
        if not row.reached:
            assert np.isnan(row.value)
            assert row.note.startswith("not reached between ")
            highest = float(study.sweep[0].points.max())
            last = at(study, mission, row.architecture, **{row.variable: highest})
            assert last[study.solve.column] > study.solve.limit
            continue
        there = at(study, mission, row.architecture, **{row.variable: row.value})
        assert there[study.solve.column] <= study.solve.limit
        assert bool(there["closes"]) == row.closes
        assert ("does not close" in row.note) == (not row.closes)
        less = at(study, mission, row.architecture, **{row.variable: 0.99 * row.value})
        if "smallest value tried" in row.note:
            assert row.value == float(study.sweep[0].points.min())
            continue
        inside += 1
        assert less[study.solve.column] > study.solve.limit
        just_less = at(study, mission, row.architecture, **{row.variable: (1.0 - 2e-6) * row.value})
        assert just_less[study.solve.column] > study.solve.limit
    assert inside >= 2


def solved(solve: Solve, study: Study | None = None) -> tuple[str, str, float, bool, bool, str]:
    study = study or parse_study(SURFACE)
    return sensitivity.smallest(study, engine.mission_of(study), SPLITTING, solve)


def test_at_least_is_solved_like_at_most() -> None:
    study = parse_study(SURFACE)
    mission = engine.mission_of(study)
    solve = Solve("array_power", "margin_power", ">=", 6.0)
    _, _, value, reached, _, note = solved(solve)
    assert reached
    assert "smallest value tried" not in note
    assert at(study, mission, SPLITTING, array_power=value)["margin_power"] >= 6.0
    assert at(study, mission, SPLITTING, array_power=0.99 * value)["margin_power"] < 6.0


def test_a_condition_that_holds_from_the_start_gives_the_least_value_tried() -> None:
    """Refuelling is longest for the longest hop: the shortest one holds already."""
    _, _, value, reached, _, note = solved(Solve("hop_distance", "refuel_time", "<=", 100.0 * DAY))
    assert reached
    assert value == pytest.approx(4e3)  # a fifth of the reference, where the scan begins
    assert note.startswith("holds from the smallest value tried")


def test_out_of_reach_is_told_and_has_no_value() -> None:
    row = solved(Solve("array_power", "refuel_time", "<=", 1.0))
    assert np.isnan(row[2])
    assert row[3:5] == (False, False)
    assert row[5] == "not reached between 4 kW and 20 kW"


def test_the_scan_stays_within_what_a_study_may_give() -> None:
    row = solved(Solve("stack_efficiency", "refuel_time", "<=", 1.0))
    assert row[5].endswith("and 99 %")


@pytest.mark.parametrize(
    ("solve", "given"),
    [
        (Solve("stack_efficiency", "refuel_time", "<=", 11.5 * DAY), ""),
        (Solve("array_area", "refuel_time", "<=", 10.5 * DAY), ""),
        (Solve("payload_mass", "start_mass", ">=", 380.0), ""),
        (Solve("payload_power", "margin_power", "<=", 1.0), '[craft]\npayload_power = "0 W"'),
        (Solve("water_on_board", "start_mass", ">=", 410.0), ""),
    ],
)
def test_a_variable_that_is_worked_out_or_zero_is_solved_too(solve: Solve, given: str) -> None:
    """The scan never leaves the bounds of the variable, whatever its reference value is."""
    text = SURFACE.replace("[craft]", given) if given else SURFACE
    study = parse_study(text)
    mission = engine.mission_of(study)
    _, variable, value, reached, _, _ = solved(solve, study)
    assert reached
    assert quantities()[variable].within(value)
    there = at(study, mission, SPLITTING, **{variable: value})[solve.column]
    assert there <= solve.limit if solve.relation == "<=" else there >= solve.limit
    less = at(study, mission, SPLITTING, **{variable: 0.99 * value})[solve.column]
    assert less > solve.limit if solve.relation == "<=" else less < solve.limit


def test_the_tour_map_shows_a_closure_boundary() -> None:
    """Somewhere on the map of the splitting craft designs close, and elsewhere they do not."""
    item = next(item for item in analysed("outer_belt_ice_tour").power_maps if item.architecture == SPLITTING)
    assert (item.margin >= 0.0).any()
    assert (item.margin < 0.0).any()


def test_a_study_without_a_request_has_no_solutions() -> None:
    study = parse_study(SURFACE)
    found = sensitivity.analyse(study)
    assert found.solutions.empty
    assert list(found.solutions) == ["architecture", "variable", "value", "reached", "closes", "note"]


def test_rates_do_not_depend_on_how_finely_a_jump_is_looked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    study, mission = asked("ceres_surface_hopper")
    fine = rates(study, mission)["days_per_hop"]
    value = constants.value

    def coarse(name: str, *table: str) -> float:
        return 3.0 if name == "exchange_points" else value(name, *table)

    monkeypatch.setattr(sensitivity.constants, "value", coarse)
    np.testing.assert_allclose(rates(study, mission)["days_per_hop"], fine, rtol=1e-9)
