"""The tables of a campaign say what the table of answers says: on the page, as CSV and on the sheet."""

from __future__ import annotations

import csv
import itertools
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from invented_results import invented_results

from tradespace.cli import main
from tradespace.comparison import standings
from tradespace.errors import OutputError
from tradespace.figures.calendar import burns_of, spans_of
from tradespace.figures.choice import standing_design
from tradespace.itinerary import BURNS, LEG_ITEMS, STOP_ITEMS, TOTAL_ITEMS, legs, present, value
from tradespace.mission import Stop, System
from tradespace.quantities import quantities
from tradespace.report import report_page, write_campaign
from tradespace.report.campaign import csv_heading
from tradespace.report.words import verdict
from tradespace.results import Results
from tradespace.units import format_date

DATES = ("arrival_date", "ready_date", "departure_date", "landing_date", "window_date")


@cache
def tour() -> Results:
    return invented_results(count=4)


@cache
def about_one_planet() -> Results:
    """The same answers on a route whose second stop is a parking orbit and whose second hop stays about its planet."""
    results = tour()
    stops = list(results.mission.stops)
    stops[1] = Stop("Secondice orbit", 0.0, 4.0e6, 8000.0, stops[1].dates, stops[1].distances, mines=False)
    curves = list(results.mission.windows)
    system = System(4.3e13, 4.0e6, 9.4e6, 0.0, 3e4)
    curves[1] = replace(curves[1], system=system)
    mission = replace(results.mission, stops=tuple(stops), windows=tuple(curves))
    designs = results.designs.copy()
    designs["pricing_2"] = 2.0
    return replace(results, mission=mission, designs=designs)


def table_rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@pytest.mark.parametrize("surface", [False, True], ids=["tour", "surface"])
def test_the_file_holds_every_hop_with_its_units(tmp_path: Path, surface: bool) -> None:
    results = invented_results(count=4, surface=surface)
    path = write_campaign(results, tmp_path / "new" / "campaign.csv")
    rows = table_rows(path)
    assert len(rows) == results.mission.hops * len(results.architectures)
    assert [one.name for one in path.parent.iterdir()] == ["campaign.csv"]  # nothing temporary is left behind
    for row in rows:
        design, closes = standing_design(results, row["architecture"])
        assert design is not None
        hop = int(row["hop"])
        assert row["closes"] == ("yes" if closes else "no")
        for name in quantities():
            column, heading = f"{name}_{hop}", csv_heading(name)
            if column not in design.index or name.startswith("margin"):
                continue
            number = float(design[column])
            if name in DATES:
                assert row[heading] == format_date(number)
            else:
                assert float(row[heading]) == pytest.approx(quantities()[name].shown(number), rel=1e-9)
    assert all(re.search(r"\[.+\]$", heading) for heading in list(rows[0])[8:])


def test_totals_of_a_surface_route_add_up() -> None:
    results = invented_results(count=4, surface=True)
    design, _ = standing_design(results, "steam")
    assert design is not None
    for hop in range(1, results.mission.hops + 1):
        mined = sum(float(design[f"water_mined_{one}"]) for one in range(1, hop + 1))
        assert value(design, "water_so_far", hop, results.mission) == pytest.approx(mined)
        since = float(design[f"landing_date_{hop}"]) - results.mission.start_date
        assert value(design, "elapsed", hop, results.mission) == pytest.approx(since)


def test_the_chance_of_a_hop_times_the_chance_before_is_the_chance_after() -> None:
    results = tour()
    design, _ = standing_design(results, "steam")
    so_far = 1.0
    for hop in range(1, results.mission.hops + 1):
        so_far *= value(design, "own_survival", hop, results.mission)
        assert so_far == pytest.approx(float(design[f"survival_{hop}"]))  # type: ignore[index]


def test_the_file_says_when_it_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot write"):
        write_campaign(tour(), tmp_path / "file" / "campaign.csv")


def section(page: str, key: str) -> str:
    found = re.search(rf'<section id="{key}".*?</section>', page, flags=re.DOTALL)
    assert found
    words = re.sub(r"<script.*?</script>", " ", found.group(), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", words).replace("\xa0", " ").split())


def test_the_page_holds_both_tables_of_every_architecture_and_opens_with_the_best_that_refuels() -> None:
    results = tour()
    words = section(report_page(results), "campaign")
    assert words.count("Hop by hop. Quantity") == len(results.architectures)
    assert words.count("Since the start, at each landing.") == len(results.architectures)
    ranked = standings(results)
    best = next(one for one in ranked if one.refuels and one.closes)
    assert all(words.index(best.title) < words.index(one.title) for one in ranked if one is not best)
    assert "centred on the dates of the window curve" in words
    for hop in range(1, results.mission.hops + 1):
        assert format_date(float(best.row[f"departure_date_{hop}"])) in words  # type: ignore[index]
    for kind in {float(one.row["pricing_1"]) for one in ranked if one.row is not None}:
        assert f"{BURNS[kind].capitalize()}: " in words


def test_a_parking_orbit_and_a_leg_about_one_planet_are_called_so() -> None:
    results = about_one_planet()
    page = report_page(results)
    words = section(page, "campaign")
    assert "Stop on the ground parking orbit on the ground" in words
    assert "Leg around the Sun about one planet around the Sun" in words
    assert "Landing, or in orbit" in words
    assert "Slow spiral: " in words
    calendar = section(page, "calendar")
    assert "Hop 2: about one planet, where any date will do." in calendar
    design, _ = standing_design(results, "hall")
    assert design is not None
    assert np.isnan(value(design, "window_date", 2, results.mission))
    assert burns_of(results, design, 2) == (float(design["time_of_flight_2"]), 0.0)


def test_bands_of_the_timeline_leave_no_gap_and_burns_lie_in_the_flight() -> None:
    results = tour()
    for name in results.architectures:
        design, _ = standing_design(results, name)
        assert design is not None
        for hop in range(1, results.mission.hops + 1):
            spans = sorted(spans_of(results, design, hop), key=lambda one: one[1])
            assert spans[0][1] == float(design[f"arrival_date_{hop}"])
            assert spans[-1][2] == float(design[f"landing_date_{hop}"])
            for before, after in itertools.pairwise(spans):
                assert before[2] == pytest.approx(after[1])


def test_burns_are_found_again_from_the_dates() -> None:
    results = tour()
    curve = results.mission.windows[0]
    date, first, second = float(curve.departure[100]), 30.0 * 86400.0, 18.0 * 86400.0
    design, _ = standing_design(results, "hall")
    assert design is not None
    design = design.copy()
    design["window_date_1"], design["departure_date_1"] = date, date - 0.5 * first
    design["time_of_flight_1"] = float(curve.time_of_flight[100]) + 0.5 * (first + second)
    design["burn_time_1"] = max(first, second)
    assert burns_of(results, design, 1) == pytest.approx((first, second))


def test_the_verdict_says_how_likely_the_route_is() -> None:
    words, closes = verdict(tour())
    assert closes
    assert "chance that it completes the route is 73" in words
    assert "of 3 stops ahead, 2.4 are to be expected" in words
    hopper, _ = verdict(invented_results(surface=True, count=4))
    assert "chance that it completes all 5 hops is 59" in hopper


def test_a_design_that_does_not_close_has_no_chance_in_the_ranking() -> None:
    results = invented_results(closing=False, count=4)
    words = section(report_page(results), "verdict")
    assert "Chance to complete" in words
    assert "72.9" not in words


def test_sites_are_assumptions_with_their_evidence() -> None:
    results = invented_results(real=True, count=4)
    stops = tuple(replace(stop, dry_probability=0.1) for stop in results.mission.stops)
    given = (replace(stops[0], dry_probability=0.33, dry_given=True), *stops[1:])
    for places, expected in (
        (
            stops,
            "Chance that Themis is dry 10 2 to 30 % assumed assumed here by the evidence for water there: surface",
        ),
        (given, "Chance that Themis is dry 33 – % given in the study study file"),
    ):
        page = report_page(replace(results, mission=replace(results.mission, stops=places)))
        words = section(page, "assumptions")
        assert expected in words
        assert words.count("is dry") == 3  # the last stop is not mined
        for name in ("Hop reliability", "Design life", "Choice of departures", "Filling of the tanks"):
            assert name in words


def test_the_items_cover_what_the_engine_writes_for_each_hop() -> None:
    from tradespace.evaluate.answers import PER_HOP

    named = {*STOP_ITEMS, *LEG_ITEMS, *TOTAL_ITEMS, "own_survival"}
    beside = {"delta_v", "power_at_stop", "v_inf_departure", "v_inf_arrival"}  # in the file
    assert set(PER_HOP) <= named | beside


def test_legs_of_an_invented_route() -> None:
    results = tour()
    found = legs(results.study, results.mission)  # type: ignore[arg-type]
    assert [leg.hop for leg in found] == [1, 2, 3]
    assert found[0].route == "Firstice to Secondice"
    assert {leg.kind for leg in found} == {"around the Sun"}
    row, _ = standing_design(results, "steam")
    assert "window_date" in present(row, LEG_ITEMS, results.mission)


STUDY = """
[study]
name = "two_moons"
title = "Two moons"
question = "?"
kind = "tour"
[start]
body = "Phobos"
date = "2033-01-01"
launch_mass = "3000 kg"
[route]
stops = ["Deimos", { body = "Mars", orbit = "9000 km" }]
horizon = "2036-01-01"
[sunlight]
array_area = "40 m2"
[craft]
payload_mass = "50 kg"
hop_delta_v_capacity = "2.5 km/s"
storage_volume = "20 m3"
[architectures]
include = ["electrolysis_bipropellant"]
"""


def test_the_sheet_holds_both_tables_within_a_hundred_columns(tmp_path: Path) -> None:
    path = tmp_path / "two_moons.toml"
    path.write_text(STUDY, encoding="utf-8")
    ran = CliRunner().invoke(main, ["baseline", str(path)])
    assert ran.exit_code == 0, ran.output
    text = ran.output
    assert max(len(line) for line in text.splitlines()) <= 100
    assert re.search(r"from +Phobos +Deimos\nto +Deimos +Mars orbit \(\d+ km\)\n", text)
    assert re.search(r"leg +about one planet +about one planet", text)
    assert "landing, or in orbit" in text
    first, second = text.split("Since the start, at each landing")
    assert "priced as" in first
    assert "chance to get here" in second
