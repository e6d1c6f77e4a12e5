"""The search for a tour: the exhaustive optimum, the campaign's own numbers, the same answer every way."""

from __future__ import annotations

import functools
import itertools
import json
import math
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace import campaign, touring, windows
from tradespace import evaluate as engine
from tradespace.campaign import HOP, MARGINS, STATE
from tradespace.campaign.stop import stretch_of
from tradespace.cli import main
from tradespace.errors import OutputError, StudyError, TransferError
from tradespace.figures import draw_figures, style
from tradespace.figures.tours import SHOWN, tours_figure
from tradespace.study import Study, load_study, parse_study
from tradespace.tour import MERITS, Aim, Chart, Found
from tradespace.tour.beam import dominated
from tradespace.tour.merit import fly_tour, least_margins
from tradespace.tour.search import search_tours
from tradespace.touring import folder, tables
from tradespace.touring.chart import FineCurves, charted, places_of
from tradespace.units import format_date

OUTER_BELT = Path(__file__).parents[1] / "studies" / "outer_belt_ice_tour.toml"
BELT = OUTER_BELT.read_text(encoding="utf-8").partition("[search]")[0]
"""The shipped study without its own search."""
DAY = 86400.0
YEAR = 365.25 * DAY
STRONGER = {
    'hop_delta_v_capacity = "3.2 km/s"': 'design_life = "25 yr"\nhop_delta_v_capacity = "6 km/s"',
    'launch_mass = "1000 kg"': 'launch_mass = "40000 kg"',
    'array_area = "40 m2"': 'array_area = "900 m2"',
    'storage_volume = "3.5 m3"': 'storage_volume = "200 m3"',
    'specific_impulse = "400 s"': 'specific_impulse = "900 s"',
    'thrust = "5 N"': 'thrust = "60 N"',
    'power_per_thrust = "5.8 W/mN"': 'power_per_thrust = "4.5 W/mN"',
    'throughput_life = "6000 kg"': 'throughput_life = "400000 kg"',
    'touchdown_speed = "0.8 m/s"': 'impulsive_burn_limit = "30 %"\ntouchdown_speed = "0.8 m/s"',
    'maximum_wait = "1000 d"': 'maximum_wait = "900 d"',
    'horizon = "2046-12-31"': 'horizon = "2045-12-31"',
    'date = "2031-05-01"': 'date = "2027-01-01"',
}
"""An invented craft that can reach much more than the shipped one, so that there is something to choose from."""
SETS = {
    "outer belt": (
        "Themis",
        "Antiope",
        "176P/LINEAR",
        "133P/Elst-Pizarro",
        "288P",
        "Eugenia",
        "Doris",
        "Freia",
    ),
    "middle belt": ("Thisbe", "Ottilia", "Isolda", "Fortuna", "Ate", "Adeona", "Lamberta", "Chicago"),
    "mixed": ("Fortuna", "Ate", "Ottilia", "Adeona", "Lamberta", "Eugenia", "Chloris", "288P"),
}


def stronger(search: str = "", **changes: str) -> Study:
    text = BELT
    for old, new in {**STRONGER, **changes}.items():
        assert old in text, old
        text = text.replace(old, new)
    return parse_study(text + search, "stronger")


@functools.cache
def prepared(name: str) -> tuple[Study, touring.Vehicle, Chart]:
    """The stronger craft and the chart of one of the sets, on coarse curves: the search does not care how fine."""
    study = stronger()
    assert study.flight_time is not None
    names = tuple(sorted(SETS[name], key=str.casefold))
    pairs = windows.all_pairs(
        names, study.start_date, study.horizon, 30.0 * DAY, 30,
        shortest=study.flight_time[0], longest=study.flight_time[1], cached=False,
    )  # fmt: skip
    assert not pairs.without
    curves = {
        (here, there): pairs.curve(here, there)
        for here, there in itertools.permutations(range(len(names)), 2)
    }
    vehicle = touring.sized_vehicle(study, engine.mission_of(study), "electrothermal_engine")
    return study, vehicle, charted(study, places_of(study, names), curves)


Brute = list[tuple[tuple[Any, ...], tuple[int, ...]]]


def brute_force(
    vehicle: touring.Vehicle, chart: Chart, hops: int, starts: tuple[int, ...], merit: str
) -> Brute:
    """Every order of bodies, flown hop by hop by the campaign alone; keys sort as the search should."""
    found: Brute = []

    def go_on(route: tuple[int, ...], now: float, state: np.ndarray, worth: float, used: float) -> None:
        here, number = route[-1], len(route) - 1
        for there in range(len(chart.names)):
            if there in route:
                continue
            hop, after = np.zeros(1, HOP), state.copy()
            hop["arrival_date"] = now
            curves = (
                chart.window_step,
                *campaign.calendar(
                    chart.v_inf_departure[here, there], chart.v_inf_arrival[here, there],
                    chart.time_of_flight[here, there],
                    chart.v_inf_departure[here, there] + chart.v_inf_arrival[here, there],
                    chart.v_inf_departure[here, there],
                ),
            )  # fmt: skip
            stretch = stretch_of(float(chart.stops[here]["nearest"]))
            sky = (chart.first_date, chart.date_step, chart.distances[here], stretch)
            landing = campaign.fly_hop(
                vehicle.design[0], vehicle.craft[0], hop[0], chart.stops[here], chart.stops[there],
                chart.legs[here, there], number, sky, chart.distances[there], curves, (chart.start, chart.horizon),
                math.nan, False, after[0], np.zeros(campaign.ROOM), np.zeros(campaign.ENDS),
            )  # fmt: skip
            if min(float(hop[f"margin_{link}"][0]) for link in MARGINS) < 0.0:
                continue
            gain = {
                "bodies_visited": 1.0,
                "water_processed": float(hop["water_mined"][0]),
                "payload_years": float(vehicle.design["payload_mass"][0])
                * ((float(hop["departure_date"][0]) - now) / YEAR),
            }[merit]
            dwell = min(float(vehicle.design["minimum_dwell"][0]), max(chart.horizon - landing, 0.0)) / YEAR
            last = float(vehicle.design["payload_mass"][0]) * dwell if merit == "payload_years" else 0.0
            longer, water = (*route, there), used + float(hop["propellant_used"][0])
            found.append(((-(worth + gain + last), landing, water, longer), longer))
            if len(longer) <= hops:
                go_on(longer, landing, after, worth + gain, water)

    for start in starts:
        begun = np.zeros(1, STATE)
        campaign.begin(vehicle.design[0], vehicle.craft[0], begun[0])
        go_on((start,), chart.start, begun, 0.0, 0.0)
    return sorted(found)


def orders(found: Found) -> list[tuple[str, ...]]:
    return [tour.names for tour in found.tours]


@pytest.mark.parametrize("merit", MERITS)
@pytest.mark.parametrize("name", SETS)
def test_the_search_returns_the_exhaustive_optimum_and_the_best_after_it(name: str, merit: str) -> None:
    _, vehicle, chart = prepared(name)
    starts = tuple(range(len(chart.names)))
    everything = brute_force(vehicle, chart, 4, starts, merit)
    assert max(len(route) for _, route in everything) == 5, (
        "a set in which no tour has four hops tests little"
    )
    found = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, merit), starts)
    assert found.exhaustive
    wanted = [tuple(chart.names[place] for place in route) for _, route in everything[:11]]
    assert orders(found) == wanted
    for tour, (key, _) in zip(found.tours, everything, strict=False):
        assert (tour.merit, tour.end_date) == pytest.approx((-key[0], key[1]), rel=1e-12)
    assert sum(level.closed for level in found.levels) == len(everything)
    assert sum(found.arrivals.values()) == len(everything)


def test_a_narrow_beam_loses_little_and_says_that_it_was_cut() -> None:
    lost = []
    for name in SETS:
        _, vehicle, chart = prepared(name)
        keys = []
        for beam in (1, 10, 2000):
            found = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, beam=beam))
            assert found.exhaustive == (beam == 2000)
            assert all(level.closed - level.dominated - level.cut <= beam for level in found.levels[:-1])
            keys.append((-found.tours[0].merit, found.tours[0].end_date))
        assert keys[0] >= keys[2]
        assert keys[1] == keys[2], "ten partial tours are enough here"
        lost.append(keys[0] > keys[2])
    assert any(lost), "one partial tour at a time is greedy, and misses the best somewhere"


def test_the_answer_does_not_depend_on_threads_or_chance() -> None:
    _, vehicle, chart = prepared("outer belt")
    answers = [
        search_tours(vehicle.design, vehicle.craft, chart, Aim(4, beam=beam), workers=workers)
        for beam in (40, 2000)
        for workers in (1, 1, 2, 7)
    ]
    for some in (answers[:4], answers[4:]):
        first = some[0]
        for other in some[1:]:
            assert orders(other) == orders(first)
            assert other.levels == first.levels
            assert other.failures == first.failures
            assert all(
                a.hops.tobytes() == b.hops.tobytes() for a, b in zip(first.tours, other.tours, strict=True)
            )


def test_a_tour_is_what_the_engine_says_of_a_study_with_those_stops() -> None:
    study = load_study(OUTER_BELT)
    mission = engine.mission_of(study)
    for architecture in study.architectures:
        vehicle = touring.sized_vehicle(study, mission, architecture)
        table = engine.evaluate(study, mission, architecture, {}).iloc[0]
        known = FineCurves(study).chart(study.stops)
        assert known is not None
        tour = fly_tour(vehicle.design, vehicle.craft, known[0], Aim(2), known[1])
        frame = tables.hop_table(tour)
        for number in range(study.hops):
            for column in tables.FROM_RECORD:
                if f"{column}_{number + 1}" in table:
                    assert frame[column][number] == table[f"{column}_{number + 1}"], column
        margins, _ = least_margins(tour.hops)
        assert margins.min() == table["margin"]


def test_dates_of_a_tour_follow_each_other_and_totals_add_up() -> None:
    _, vehicle, chart = prepared("outer belt")
    found = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, runners_up=40))
    assert len(found.tours) == 41
    assert len(set(orders(found))) == 41
    for tour in found.tours:
        frame = tables.hop_table(tour)
        assert (frame["ready_date"] >= frame["arrival_date"]).all()
        assert (frame["departure_date"] >= frame["ready_date"]).all()
        assert (frame["landing_date"] > frame["departure_date"]).all()
        assert (frame["arrival_date"].to_numpy()[1:] == frame["landing_date"].to_numpy()[:-1]).all()
        assert frame["landing_date"].max() <= chart.horizon
        assert frame["water_so_far"].iloc[-1] == pytest.approx(frame["water_mined"].sum())
        assert (frame["margin"] >= 0.0).all()
        assert len(set(tour.names)) == len(tour.names)


def test_revisits_are_flown_when_allowed_and_count_once() -> None:
    _, vehicle, chart = prepared("outer belt")
    without = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, "water_processed"))
    allowed = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, "water_processed", revisits=True))
    assert allowed.tours[0].merit >= without.tours[0].merit
    assert sum(level.tried for level in allowed.levels) > sum(level.tried for level in without.levels)
    bodies = search_tours(vehicle.design, vehicle.craft, chart, Aim(4, revisits=True, runners_up=1000))
    again = [tour for tour in bodies.tours if len(set(tour.names)) < len(tour.names)]
    assert again
    assert all(tour.merit == len(set(tour.names)) - 1 for tour in bodies.tours)


def holed(chart: Chart, gap: Any) -> Chart:
    """The chart with a hole in its curves."""
    curves = {}
    for name in ("v_inf_departure", "v_inf_arrival", "time_of_flight", "speed_sum", "first_burn"):
        curves[name] = getattr(chart, name).copy()
        curves[name][gap] = np.nan
    return replace(chart, **curves)


def test_a_pair_without_curve_is_never_flown() -> None:
    _, vehicle, chart = prepared("outer belt")
    best = search_tours(vehicle.design, vehicle.craft, chart, Aim(3)).tours[0]
    gap = chart.names.index(best.names[0]), chart.names.index(best.names[1])
    found = search_tours(vehicle.design, vehicle.craft, holed(chart, gap), Aim(3, runners_up=1000))
    assert found.tours
    for tour in found.tours:
        assert (best.names[0], best.names[1]) not in list(itertools.pairwise(tour.names))


def test_dates_without_a_transfer_are_never_flown() -> None:
    _, vehicle, chart = prepared("outer belt")
    dates = chart.start + chart.window_step * np.arange(chart.v_inf_departure.shape[-1])
    gap = (dates > chart.start + 3.0 * YEAR) & (dates < chart.start + 5.0 * YEAR)
    found = search_tours(vehicle.design, vehicle.craft, holed(chart, (..., gap)), Aim(3, runners_up=1000))
    assert found.tours
    for tour in found.tours:
        middle = tour.hops["window_date"]
        assert not ((middle > dates[gap][0]) & (middle < dates[gap][-1])).any()


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=30))
def test_dominated_rows_are_those_an_earlier_row_of_the_group_matches(
    rows: list[tuple[int, int, int]],
) -> None:
    table = np.array(rows)
    lost = dominated(table[:, :1], table[:, 1:].astype(float))
    for place, row in enumerate(rows):
        beaten = any(
            other[0] == row[0] and other[1] <= row[1] and other[2] <= row[2] for other in rows[:place]
        )
        assert lost[place] == beaten


SEARCH = """
[search]
bodies = ["Antiope", "176P", "Hygiea"]
hops = 3
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """The shipped study searched once through the command line: its folder and what was printed."""
    place = tmp_path_factory.mktemp("tours")
    study = place / "belt.toml"
    study.write_text(BELT + SEARCH, encoding="utf-8")
    done = CliRunner().invoke(main, ["tour", str(study), "--out", str(place / "out")])
    assert done.exit_code == 0, done.output
    yield place, done.stdout


def test_the_command_tells_the_best_tour_and_how_the_own_route_does(written: tuple[Path, str]) -> None:
    _, text = written
    lines = text.splitlines()
    assert lines[0].startswith("Best tour: Themis > Antiope > 176P/LINEAR, bodies reached 2 in ")
    assert lines[1].startswith("The study's own route Themis > Antiope > 176P/LINEAR: bodies reached 2")
    assert "Hops of the best tour" in text
    assert "Runners-up" in text
    assert "Hygiea" in text.partition("never reached")[2]
    assert "every order of the bodies was tried" in text
    assert tables.CAUTION in text


def test_the_folder_holds_tables_summary_and_a_study_that_runs(written: tuple[Path, str]) -> None:
    place, _ = written
    out = place / "out"
    assert {path.name for path in out.iterdir()} == {
        "tours.csv", "hops.csv", "bodies.csv", "tour.json", "best_tour.toml", "tour.html",
    }  # fmt: skip
    assert not list(place.glob(".*"))
    summary = json.loads((out / "tour.json").read_text(encoding="utf-8"))
    assert summary["tours"][0]["bodies"] == ["Themis", "Antiope", "176P/LINEAR"]
    assert summary["own_route"]["closes"]
    study = load_study(out / "best_tour.toml")
    original = load_study(OUTER_BELT)
    assert study.stops == original.stops
    assert study.values == original.values
    table = engine.baseline(study, None, summary["architecture"]).iloc[0]
    assert bool(table["closes"]) == summary["resized"]["closes"]
    assert float(table["start_mass"]) == pytest.approx(summary["resized"]["start_mass_kg"])
    heading, *rows = (out / "hops.csv").read_text(encoding="utf-8").splitlines()
    assert "delta_v_km_s" in heading.split(",")
    assert len(rows) == sum(one["hops"] for one in summary["tours"])


def test_the_best_study_keeps_every_other_line_of_the_study(written: tuple[Path, str]) -> None:
    place, _ = written
    before = tomllib.loads((place / "belt.toml").read_text(encoding="utf-8"))
    text = (place / "out" / "best_tour.toml").read_text(encoding="utf-8")
    after = tomllib.loads(text)
    assert "# The craft is invented for this study." in text
    for section, table in before.items():
        if section not in {"study", "start", "route"}:
            assert after[section] == table
    assert after["study"]["name"] == "outer_belt_ice_tour_best_tour"
    assert after["route"] == {**before["route"], "stops": ["Antiope", "176P/LINEAR"]}


def test_the_answer_for_programs_is_the_one_in_the_folder(written: tuple[Path, str]) -> None:
    place, _ = written
    done = CliRunner().invoke(main, ["tour", str(place / "belt.toml"), "--json"])
    assert done.exit_code == 0, done.output
    content = json.loads(done.stdout)
    stored = json.loads((place / "out" / "tour.json").read_text(encoding="utf-8"))
    assert content.pop("written") == []
    for timed in (content, stored):
        del timed["searched"]
    assert same(content, stored)


def same(one: Any, other: Any) -> bool:
    """Equal but for the last digits of numbers, which printing drops."""
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    return one == (pytest.approx(other, rel=1e-12) if isinstance(other, float) else other)


def test_a_folder_of_something_else_is_left_alone(written: tuple[Path, str], tmp_path: Path) -> None:
    place, _ = written
    (tmp_path / "precious").mkdir()
    (tmp_path / "precious" / "letter.txt").write_text("dear", encoding="utf-8")
    done = CliRunner().invoke(main, ["tour", str(place / "belt.toml"), "--out", str(tmp_path / "precious")])
    assert done.exit_code == 2
    assert "holds no search for a tour" in done.stderr
    assert (tmp_path / "precious" / "letter.txt").read_text(encoding="utf-8") == "dear"


def test_a_folder_of_another_study_is_replaced_only_when_told(
    written: tuple[Path, str], tmp_path: Path
) -> None:
    place, _ = written
    other = load_study(place / "belt.toml")
    out = tmp_path / "out"
    out.mkdir()
    (out / "tour.json").write_text('{"study": "another"}', encoding="utf-8")
    with pytest.raises(OutputError, match="holds the search of study 'another'"):
        folder.check_folder(out, other)
    folder.check_folder(out, other, overwrite=True)


WRONG = {
    'bodies = ["Antiope2"]\nhops = 3': "unknown body 'Antiope2'; did you mean 'Antiope'?",
    'bodies = ["Antiope"]\nhops = 0': "0 must be a whole number from 1 to 50",
    'bodies = ["Antiope"]\nhops = 3\nbeam = 0': "0 must be a whole number from 1 to",
    'bodies = ["Antiope"]\nhops = 3\nrunners_up = -1': "-1 must be a whole number from 0 to",
    'bodies = ["Antiope"]\nhops = true': "must be a whole number",
    'bodies = ["Antiope"]': "hops: is missing",
    "hops = 3": "bodies: is missing; list bodies",
    'bodies = ["Themis"]\nhops = 3': "a single body, Themis; a tour needs at least two",
    "bodies = []\nhops = 3": "must be a list of at least one body",
    'bodies = "Antiope"\nhops = 3': "must be a list of at least one body",
    'bodies = ["Antiope"]\nhops = 3\nfigure_of_merit = "bodies"': "did you mean 'bodies_visited'?",
    'bodies = ["Antiope"]\nhops = 3\nexpected = 1': "must be true or false",
    'bodies = ["Antiope"]\nhops = 3\narchitecture = "xenon"': "is not in this study; did you mean 'xenon_hall'?",
    'bodies = ["Antiope"]\nhops = 3\nstart = "Nowhere"': "unknown body 'Nowhere'",
    'bodies = ["Antiope"]\nhops = 3\nwidth = 3': "unknown key",
    'water = "wet"\nhops = 3': "unknown kind of water 'wet'",
    "water = 3\nhops = 3": "must be text or a list of texts",
    'group = "belt"\nhops = 3': "unknown group 'belt'",
    'radius = "10 km"\nhops = 3': "as a limit; write it with >=",
    'within = "0.1 au"\nhops = 3': "goes with near",
    'near = "3.1"\nwithin = "0.1 au"\nhops = 3': "unit",
    'near = "80 au"\nwithin = "0.1 au"\nhops = 3': "the filter lets no body through",
}


@pytest.mark.parametrize("section", WRONG)
def test_a_search_that_cannot_be_run_is_told_in_two_lines(section: str, tmp_path: Path) -> None:
    file = tmp_path / "belt.toml"
    text = BELT + "\n[search]\n" + section + "\n"
    file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["tour", str(file)])
    assert done.exit_code == 2
    lines = done.stderr.strip().splitlines()
    assert 1 <= len(lines) <= 2
    assert WRONG[section] in done.stderr
    assert f"{file}:" in lines[0]


def test_a_study_without_the_section_says_what_to_add(tmp_path: Path) -> None:
    (tmp_path / "belt.toml").write_text(BELT, encoding="utf-8")
    done = CliRunner().invoke(main, ["tour", str(tmp_path / "belt.toml")])
    assert done.exit_code == 2
    assert "no section [search]" in done.stderr


def test_a_surface_study_cannot_search() -> None:
    text = (OUTER_BELT.parent / "ceres_surface_hopper.toml").read_text(encoding="utf-8") + SEARCH
    with pytest.raises(StudyError, match='for a study of kind "tour"'):
        parse_study(text)


def test_filters_choose_bodies_by_water_group_and_distance() -> None:
    base = BELT + "\n[search]\nhops = 3\n"
    ice = parse_study(base + 'water = "ice"\n').search
    near = parse_study(base + 'near = "3.13 au"\nwithin = "0.05 au"\ngroup = ["main_belt"]\n').search
    both = parse_study(base + 'water = "ice"\nbodies = ["Pallas"]\n').search
    assert ice is not None
    assert near is not None
    assert both is not None
    assert {"Themis", "Ceres"} <= set(ice.bodies)
    assert {"Themis", "Hygiea"} <= set(near.bodies)
    assert "Ceres" not in near.bodies
    assert set(both.bodies) == {*ice.bodies, "Pallas"}
    assert ice.start == "Themis"


def test_no_hop_that_closes_names_the_nearest() -> None:
    text = BELT.replace("3.2 km/s", "0.9 km/s") + SEARCH
    with pytest.raises(
        TransferError, match=r"no hop from Themis closes: nearest is Themis to .*, limited by window"
    ):
        touring.search(parse_study(text))


def test_a_body_whose_position_is_not_known_at_the_start_is_left_out() -> None:
    text = BELT + SEARCH.replace('"Hygiea"', '"Apophis"')
    study = parse_study(text)
    assert study.search is not None
    names, left_out = touring.usable(study, study.search)
    assert names == ("176P/LINEAR", "Antiope", "Themis")
    assert "not on 2031-05-01" in left_out["Apophis"]
    alone = replace(study.search, bodies=("Themis", "Apophis"))
    with pytest.raises(StudyError, match="at least two usable bodies, 1 left"):
        touring.usable(study, alone)
    lost = replace(study.search, start="Apophis")
    with pytest.raises(StudyError, match="no tour can start on Apophis"):
        touring.usable(study, lost)


def test_an_interrupt_leaves_nothing_half_written(written: tuple[Path, str], tmp_path: Path) -> None:
    place, _ = written

    def stop(what: str, done: int, total: int, closing: int) -> None:
        if what == "hops":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        touring.search(load_study(place / "belt.toml"), progress=stop)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(touring, "search", lambda *_, **__: stop("hops", 0, 1, 0))
        done = CliRunner().invoke(main, ["tour", str(place / "belt.toml"), "--out", str(tmp_path / "out")])
    assert done.exit_code == 130
    assert not list(tmp_path.iterdir())


def test_moons_of_one_planet_can_be_toured_back_and_forth() -> None:
    text = (OUTER_BELT.parent / "mars_moon_shuttle.toml").read_text(encoding="utf-8")
    text += """
[search]
bodies = ["Phobos", "Deimos", "Mars"]
hops = 3
revisits = true
figure_of_merit = "water_processed"
expected = true
start = "any"
"""
    tours = touring.search(parse_study(text))
    assert set(tours.best.names) >= {"Phobos", "Deimos"}
    assert tours.found.exhaustive
    hops = tours.best.hops
    assert tours.best.merit == pytest.approx(float((hops["water_mined"] * hops["survival"]).sum()))


def test_a_parking_orbit_is_no_body_reached() -> None:
    text = (OUTER_BELT.parent / "mars_moon_shuttle.toml").read_text(encoding="utf-8")
    study = parse_study(text + '\n[search]\nbodies = ["Phobos", "Deimos", "Mars"]\nhops = 3\n')
    tours = touring.search(study)
    assert tours.best.merit == 1.0
    via_orbit = [tour for tour in tours.found.tours if "Mars" in tour.names]
    assert via_orbit
    assert all(tour.merit == ("Deimos" in tour.names) for tour in via_orbit)
    assert tours.hand_made.merit == 1.0


def test_the_page_of_the_tours_tells_all_and_asks_nothing_of_the_network(written: tuple[Path, str]) -> None:
    place, _ = written
    page = (place / "out" / "tour.html").read_text(encoding="utf-8")
    for words in (
        "The best tour",
        "Runners-up",
        "Cautions",
        "Chance of a dry site",
        "assumed",
        "numba",
        "own route",
    ):
        assert words in page
    assert "plot-tours" in page
    body = page.partition("</head>")[2]
    assert "http://" not in body
    assert "src=" not in body.partition("plot-tours")[0]


def test_the_figure_of_the_tours_draws_every_flight_and_stay(written: tuple[Path, str]) -> None:
    place, _ = written
    tours = touring.search(load_study(place / "belt.toml"))
    (kept,) = draw_figures(tours)
    drawn = tours_figure(tours, "a test")
    assert drawn.figure == kept.figure
    assert "hops flown" in kept.source
    assert not set(re.findall("#[0-9A-Fa-f]{6}", str(drawn.figure.data))) - style.OPEN_PALETTE
    flights = [trace for trace in drawn.figure.data if str(trace.name).startswith("flights")]
    assert len(flights) == min(len(tours.found.tours), SHOWN)
    assert len(flights[-1].x) == 3 * len(tours.best.hops)
    stays = [trace for trace in drawn.figure.data if trace.name == "refuelling" and trace.showlegend]
    assert len(stays[0].x) == 3 * len(tours.best.hops)
    assert format_date(tours.best.end_date) in drawn.caption


def test_candidates_left_out_are_named_with_their_reason() -> None:
    study = parse_study(BELT + SEARCH.replace('"Hygiea"', '"313P/Gibbs"'))
    tours = touring.search(study)
    assert tables.left_out_in_words(tours) == (
        "1 of 4 candidates left out (313P/Gibbs: its rotation period is not known)."
    )


def test_a_tour_that_closes_leaves_while_it_can_be_paid() -> None:
    """The window slack of a hop that closes reaches at least to its own departure."""
    tours = touring.search(parse_study(BELT + SEARCH))
    for tour in tours.found.tours:
        hops = tour.hops
        assert (hops["window_slack_d"] >= hops["wait"] / DAY - 1e-6).all()
        assert (hops["window_slack_d"] >= -1e-6).all()
