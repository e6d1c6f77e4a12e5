"""Windows as people meet them: the map, the figure, and the command with its answers and its complaints."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from invented_results import invented_results

from tradespace import windows
from tradespace.cli import departures, main
from tradespace.errors import TransferError
from tradespace.figures import draw_figures, export
from tradespace.figures.windows import BANDS, Mark, Panel, left_out, levels_of, pair_figure
from tradespace.mission import WindowCurve
from tradespace.units import format_date, parse_date
from tradespace.windows import WindowMap

DAY = 86400.0
SPAN = ("--after", "2028-08-01", "--before", "2029-03-01")
PAIR = ("windows", "Earth", "Mars", *SPAN)


def told(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


def answered(*arguments: str) -> dict[str, Any]:
    content = json.loads(told(*arguments, "--json"))
    assert isinstance(content, dict)
    return content


def complaint(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert 1 <= len(result.stderr.strip().splitlines()) <= 2
    assert "Traceback" not in result.stderr
    return result.stderr


@pytest.fixture(scope="module")
def dates() -> tuple[float, float]:
    return parse_date("2028-08-01"), parse_date("2029-03-01")


@pytest.fixture(scope="module")
def cost(dates: tuple[float, float]) -> WindowMap:
    return windows.window_map("Earth", "Mars", *dates, columns=41, rows=31)


@pytest.fixture(scope="module")
def curve(dates: tuple[float, float]) -> WindowCurve:
    return windows.window_curve("Earth", "Mars", *dates)


def test_every_cell_of_a_map_is_the_transfer_on_its_dates(cost: WindowMap) -> None:
    assert cost.v_inf_sum.shape == (len(cost.departure), len(cost.time_of_flight))
    known = np.argwhere(np.isfinite(cost.v_inf_sum))
    assert len(known) > 0.8 * cost.v_inf_sum.size
    for row, column in known[::97]:
        start, flight = cost.departure[row], cost.time_of_flight[column]
        single = windows.transfer_on("Earth", "Mars", start, start + flight)
        assert single.v_inf_departure == pytest.approx(cost.v_inf_departure[row, column], rel=1e-9)
        assert single.c3 == pytest.approx(cost.c3[row, column], rel=1e-9)
        assert single.v_inf_arrival == pytest.approx(cost.v_inf_arrival[row, column], rel=1e-9)
        assert single.transfer_angle == pytest.approx(cost.transfer_angle[row, column], rel=1e-9)


def test_a_map_leaves_out_the_strip_around_half_a_turn_and_nothing_else(cost: WindowMap) -> None:
    near = np.abs(np.degrees(cost.transfer_angle) - 180.0) < 3.0
    assert near.any()
    assert np.array_equal(near, np.isnan(cost.v_inf_sum))


def test_a_curve_is_the_floor_of_its_map(dates: tuple[float, float], curve: WindowCurve) -> None:
    few = slice(0, len(curve.departure), 7)
    for date, floor in zip(curve.departure[few], curve.v_inf_sum[few], strict=True):
        column = windows.window_map("Earth", "Mars", date, date, columns=1, rows=400)
        lowest = float(np.nanmin(column.v_inf_sum))
        assert floor <= lowest + 0.5
        assert floor >= lowest * 0.999 - 0.5


def test_more_kinds_never_cost_more(dates: tuple[float, float]) -> None:
    span = {"shortest": 200 * DAY, "longest": 1200 * DAY, "columns": 9, "rows": 25}
    direct = windows.window_map("Earth", "Mars", *dates, **span)
    more = windows.window_map("Earth", "Mars", *dates, **span, kinds=windows.transfer_kinds(True, 1))
    assert np.array_equal(direct.time_of_flight, more.time_of_flight)
    assert (np.nan_to_num(more.v_inf_sum, nan=np.inf) <= np.nan_to_num(direct.v_inf_sum, nan=np.inf)).all()
    assert (more.v_inf_sum < direct.v_inf_sum - 1.0).any()


def test_beyond_what_is_known_of_a_body_a_map_is_blank() -> None:
    found = windows.window_map(
        "Earth", "Apophis", parse_date("2028-06-01"), parse_date("2030-06-01"), columns=25
    )
    landing = found.departure[:, None] + found.time_of_flight
    beyond = landing > parse_date("2029-04-14")
    assert beyond.any()
    assert np.isnan(found.v_inf_sum[beyond]).all()
    assert np.isfinite(found.v_inf_sum).any()


def test_maps_without_an_answer_are_refused() -> None:
    early, late = parse_date("2031-01-01"), parse_date("2033-01-01")
    with pytest.raises(TransferError, match="no known positions"):
        windows.window_map("Earth", "Apophis", early, late)
    with pytest.raises(TransferError, match="stays with Mars"):
        windows.window_map("Phobos", "Mars", early, late)
    with pytest.raises(TransferError, match="Europa is a moon of Jupiter"):
        windows.window_map("Earth", "Europa", early, late)
    with pytest.raises(TransferError, match="cells"):
        windows.window_map("Earth", "Mars", early, late, columns=0)
    with pytest.raises(TransferError, match="cells"):
        windows.window_map("Earth", "Mars", early, late, columns=10**6, rows=10**6)
    with pytest.raises(TransferError, match="swap the dates"):
        windows.window_map("Earth", "Mars", late, early)


def test_the_strip_has_no_hole_however_coarse_the_cells() -> None:
    angles = np.radians(np.add.outer(np.arange(0.0, 360.0, 9.0), np.arange(0.0, 300.0, 7.0)) % 360.0)
    strip = left_out(angles)
    for line in strip[:15]:
        assert line.any()
    wrap = np.abs(angles - math.pi) > math.radians(40.0)
    assert not strip[wrap].any()


def test_the_figure_shows_the_numbers_of_map_and_curve(cost: WindowMap, curve: WindowCurve) -> None:
    mark = Mark("one", curve.departure[3], curve.time_of_flight[3], curve.v_inf_sum[3])
    drawn = pair_figure(Panel("Earth to Mars", cost, curve, (7.0,), (mark,)), "invented source")
    lines = {trace.name: trace for trace in drawn.figure.data if not (trace.meta or {}).get("drawing_only")}
    floor = lines["cheapest of each date"]
    assert np.asarray(floor.y) == pytest.approx(curve.v_inf_sum / 1e3, abs=1e-4)
    assert [day[:10] for day in floor.x] == [format_date(date) for date in curve.departure]
    flights = lines["flight time of the cheapest"]
    assert np.asarray(flights.y) == pytest.approx(curve.time_of_flight / DAY, abs=0.01)
    field = lines["cost over date and flight time"]
    assert np.asarray(field.z, dtype=float) == pytest.approx(cost.v_inf_sum.T / 1e3, abs=1e-3, nan_ok=True)
    boundary = [
        trace for trace in drawn.figure.data if trace.type == "contour" and trace.contours.start == 7.0
    ]
    assert len(boundary) == 1
    marks = [trace for trace in drawn.figure.data if trace.name == "one"]
    assert [trace.y[0] for trace in marks] == pytest.approx(
        [curve.time_of_flight[3] / DAY, curve.v_inf_sum[3] / 1e3]
    )
    best = int(np.argmin(curve.v_inf_sum))
    assert format_date(curve.departure[best]) in drawn.caption


def test_colours_start_above_the_cheapest_and_reach_the_capacity(cost: WindowMap, curve: WindowCurve) -> None:
    levels = levels_of(Panel("", cost, curve, (9.0,)))
    least = float(np.nanmin(cost.v_inf_sum)) / 1e3
    assert len(levels) == len(BANDS) - 1
    assert least < levels[0] < 9.0 < levels[-1]
    assert np.diff(levels) == pytest.approx(levels[1] - levels[0])


def test_the_report_draws_a_map_of_every_hop_with_real_places() -> None:
    results = invented_results(real=True)
    item = next(draw_figures(results, ["window_maps"]))
    fields = [trace for trace in item.figure.data if trace.name == "cost over date and flight time"]
    assert len(fields) == results.mission.hops
    assert item.caption.count(" is cheapest on ") == results.mission.hops
    assert "inside what the craft can fly" in item.caption
    curve = results.mission.windows[0]
    marks = [trace for trace in item.figure.data if trace.name == "Steam resistojet"]
    assert len(marks) == 2 * results.mission.hops
    assert marks[0].y[0] == pytest.approx(curve.time_of_flight[0] / DAY)
    assert list(draw_figures(invented_results(), ["window_maps"])) == []  # no such places, no map


def test_the_command_lists_the_valleys_of_the_curve(curve: WindowCurve) -> None:
    content = answered(*PAIR)
    found = windows.opportunities(curve)
    assert (content["from"], content["to"], content["kinds"]) == ("Earth", "Mars", ["prograde"])
    assert [row["departure"] for row in content["windows"]] == [format_date(one.departure) for one in found]
    for row, one in zip(content["windows"], found, strict=True):
        assert row["v_inf_sum_km_s"] == pytest.approx(one.v_inf_sum / 1e3)
        assert row["c3_km2_s2"] == pytest.approx(row["v_inf_departure_km_s"] ** 2)
        assert row["opens"] <= row["departure"] <= row["closes"] < row["arrival"]
        assert row["width_d"] == pytest.approx((one.closes - one.opens) / DAY)
        assert set(row) == {
            "departure", "arrival", "time_of_flight_d", "c3_km2_s2", "v_inf_departure_km_s",
            "v_inf_arrival_km_s", "v_inf_sum_km_s", "kind", "opens", "closes", "width_d", "cut",
        }  # fmt: skip
    text = told(*PAIR)
    assert all(row["departure"] in text for row in content["windows"])
    assert "C3 km2/s2" in text


def test_the_command_writes_figures_and_rows(tmp_path: Path) -> None:
    page, data, rows = tmp_path / "deep" / "map.html", tmp_path / "map.csv", tmp_path / "rows.csv"
    content = answered(*PAIR, "--figure", str(page), "--capacity", "7 km/s", "--out", str(rows))
    assert content["written"] == [str(rows), str(page)]
    text = page.read_text(encoding="utf-8")
    assert "<h1>Departures, Earth to Mars</h1>" in text
    assert "http" not in text.split("<body>")[1].split("<script")[0]
    told(*PAIR, "--figure", str(data))
    lines = data.read_text(encoding="utf-8").splitlines()
    drawn = list(csv.DictReader(lines[3:]))
    assert {"cost over date and flight time", "cheapest of each date"} <= {row["trace"] for row in drawn}
    assert all(row["x_axis"] == "Departure date (calendar year)" for row in drawn)
    table = list(csv.DictReader(rows.read_text(encoding="utf-8").splitlines()))
    assert [row["departure"] for row in table] == [row["departure"] for row in content["windows"]]
    assert {row["from"] for row in table} == {"Earth"}


def test_drawings_go_where_they_were_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def write(drawn: list[Any], folder: Path, formats: list[str]) -> list[Path]:
        asked.append((drawn[0].key, folder, formats))
        return [folder / f"{drawn[0].key}.{formats[0]}"]

    monkeypatch.setattr(export, "write_images", write)
    told(*PAIR, "--figure", str(tmp_path / "map.pdf"))
    assert asked == [("map", tmp_path, ["pdf"])]


def test_several_bodies_give_the_best_departure_of_every_pair(tmp_path: Path) -> None:
    names, span = ("Themis", "Antiope", "176P"), ("--after", "2031-01-01", "--before", "2035-01-01")
    content = answered("windows", *names, *span, "--out", str(tmp_path / "pairs.csv"))
    assert len(content["pairs"]) == 6
    assert {(row["from"], row["to"]) for row in content["pairs"]} == {
        (one, other) for one in content["bodies"] for other in content["bodies"] if one != other
    }
    sums = [row["v_inf_sum_km_s"] for row in content["pairs"]]
    assert sums == sorted(sums)
    first = content["pairs"][0]
    start, end = parse_date(first["departure"]), parse_date(first["arrival"])
    single = windows.transfer_on(first["from"], first["to"], start, end)
    assert single.v_inf_sum == pytest.approx(sums[0] * 1e3, rel=2e-3)  # dates are printed to the day
    rows = list(csv.DictReader((tmp_path / "pairs.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 6
    text = told("windows", *names, *span, "--show", "2")
    assert "The 2 cheapest of 6 pairs" in text
    assert text.count("prograde") == 2


def test_the_filters_of_the_list_choose_the_bodies_to_pair() -> None:
    chosen = ("--water", "ice", "--near", "3.1 au", "--within", "0.06 au")
    listed = {row["body"] for row in answered("list", "bodies", *chosen)["bodies"] if row["parent"] == "Sun"}
    content = answered("windows", "--all", *chosen, "--after", "2031-01-01", "--before", "2031-03-01")
    assert len(listed) == len(content["bodies"]) >= 2
    assert all(any(label.endswith(name) for label in listed) for name in content["bodies"])
    assert len(content["pairs"]) + len(content["without"]) == len(listed) * (len(listed) - 1)


def test_pairs_without_a_departure_are_told_and_the_others_kept() -> None:
    span = ("--after", "2030-01-01", "--before", "2031-01-01")
    content = answered("windows", "Earth", "Mars", "Apophis", *span)
    assert len(content["pairs"]) == 2
    assert len(content["without"]) == 4
    assert all("Apophis" in (one["from"], one["to"]) and one["why"] for one in content["without"])
    assert "4 pairs have none, such as" in told("windows", "Earth", "Mars", "Apophis", *span)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("Earth", "Earth", *SPAN), "two different bodies, not Earth twice"),
        (("Themis", "24", *SPAN), "two different bodies, not Themis twice"),
        (("Phobos", "Deimos", *SPAN), "stays with Mars"),
        (("Mars", "Phobos", *SPAN), "make both stops of a study"),
        (("Earth", "Europa", *SPAN), "use 'Jupiter'"),
        (("Earth", "Marsh", *SPAN), "did you mean 'Mars'"),
        (("Earth", "Mars", "--after", "2029-03-01", "--before", "2028-08-01"), "swap the dates"),
        (("Earth", "Apophis", "--after", "2031-01-01", "--before", "2032-01-01"), "2029-04-13"),
        (("Earth", "Mars", *SPAN, "--flight-time", "200", "900"), "--flight-time"),
        (("Earth", "Mars", *SPAN, "--flight-time", "900 d", "200 d"), "make no range"),
        (("Earth", "Mars", *SPAN, "--step", "5"), "--step"),
        (("Earth", "Mars", *SPAN, "--step", "1 us"), "step"),
        (("Earth", "Mars", *SPAN, "--capacity", "3"), "--capacity"),
        (("Earth", "Mars", *SPAN, "--capacity", "-3 km/s"), "must be above zero"),
        (("Earth", "Mars", *SPAN, "--step", "-5 d"), "must be positive, not -5 d"),
        (("Earth", "Mars", "--after", "soon", "--before", "2028-08-01"), "--after"),
        (("Earth", "Mars", "--after", "2028-08-01"), "--before"),
        (("Earth", *SPAN), "two bodies or more"),
        (SPAN, "two bodies or more"),
        (("Earth", "Mars", "--all", *SPAN), "give no bodies"),
        (("Earth", "earthmoon", *SPAN), "the barycentre stands for Earth"),
        (("Earth", "Mars", "Themis", "Earth", *SPAN), "not Earth twice"),
        (("Earth", "Mars", "Europa", *SPAN), "Europa is a moon"),
        (("Earth", "Mars", *SPAN, "--turns", "9"), "--turns"),
        (("Earth", "Mars", *SPAN, "--figure", "map.gif"), ".html, .svg, .pdf, .csv"),
        (("Earth", "Mars", "Themis", *SPAN, "--figure", "map.html"), "--figure draws one pair"),
        (("Earth", "Mars", *SPAN, "--show", "0"), "--show"),
        (("Earth", "Mars", *SPAN, "--water", "ice"), "--water chooses among --all"),
        (("--all", *SPAN, "--name", "Bennu"), "fewer than two bodies"),
        (("--all", *SPAN, "--near", "3.1"), "--near"),
        (("--all", *SPAN, "--water", "wet"), "wet"),
    ],
)
def test_what_cannot_be_answered_is_said_in_a_line_or_two(arguments: tuple[str, ...], words: str) -> None:
    assert words in complaint("windows", *arguments)


def test_a_file_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    for option, name in (("--figure", "map.html"), ("--figure", "map.csv"), ("--out", "rows.csv")):
        assert "cannot write" in complaint(*PAIR, option, str(blocked / name))


def test_less_certain_paths_are_told_where_they_are_used() -> None:
    late = ("--after", "2034-01-01", "--before", "2034-03-01")
    for command in (
        ("transfer", "Ryugu", "Earth"),
        ("windows", "Ryugu", "Earth"),
        ("windows", "Ryugu", "Earth", "Mars"),
    ):
        content = answered(*command, *late)
        assert len(content["cautions"]) == 1
        assert "Ryugu on 203" in content["cautions"][0]
        assert "caution: Ryugu" in told(*command, *late)
    early = ("--after", "2030-01-01", "--before", "2030-02-01")
    assert answered("windows", "Earth", "Ryugu", *early)["cautions"] == []
    assert "caution" not in told("windows", "Earth", "Mars", *late)


def test_many_cautions_are_cut_short(capsys: pytest.CaptureFixture[str]) -> None:
    departures.print_cautions([f"body {number}" for number in range(7)])
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == departures.MOST_CAUTIONS + 1
    assert lines[-1] == "cautions about 2 more bodies: add --json"


def test_dates_beyond_what_is_known_are_left_out_and_told() -> None:
    span = ("--after", "2028-10-31", "--before", "2029-08-19")
    assert answered("transfer", "Earth", "Apophis", *span)["arrival"] <= "2029-04-13"
    assert "no departure after 2029-0" in told("windows", "Earth", "Apophis", *span)
    assert "known from" in complaint(
        "transfer", "Earth", "Apophis", "--after", "2030-01-01", "--before", "2031-01-01"
    )


def test_stored_curves_can_be_deleted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(windows, "clear_cache", lambda: 7)
    assert answered("windows", "--clear-cache") == {"deleted": 7}
    assert "7 files" in told("windows", "--clear-cache")


def test_transfer_knows_turns_senses_and_paths() -> None:
    given = ("transfer", "Earth", "Mars", "--depart", "2026-11-06", "--arrive", "2029-04-24")
    plain, turned = answered(*given), answered(*given, "--turns", "1", "--path", "low")
    assert (plain["turns"], plain["sense"], plain["path"]) == (0, "prograde", None)
    assert (turned["turns"], turned["path"]) == (1, "low")
    assert turned["transfer_type"] in {3, 4}
    assert turned["transfer_angle_deg"] == pytest.approx(plain["transfer_angle_deg"] + 360.0)
    assert abs(turned["asymptote_declination_deg"]) <= 90.0 <= 90.0 + turned["asymptote_right_ascension_deg"]
    against = answered(*given, "--retrograde")
    assert against["sense"] == "retrograde"
    assert against["transfer_angle_deg"] == pytest.approx(360.0 - plain["transfer_angle_deg"])
    assert "path" not in told(*given)
    searched = answered(
        "transfer", "Earth", "Mars", "--after", "2026-01-01", "--before", "2028-03-01", "--type", "3"
    )
    assert (searched["turns"], searched["transfer_type"]) == (1, 3)
    assert "choose 1 or 2" in complaint(
        "transfer",
        "Earth",
        "Mars",
        "--after",
        "2026-01-01",
        "--before",
        "2028-03-01",
        "--type",
        "3",
        "--turns",
        "0",
    )
