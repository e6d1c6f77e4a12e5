"""What a good study becomes, and which designs it asks about."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_studies import SURFACE, TOUR

from tradespace import load_study, parse_study, sampling
from tradespace.errors import StudyError
from tradespace.quantities import quantities
from tradespace.study import LARGEST_SWEEP, Study
from tradespace.study.document import entry_lines, parse_document
from tradespace.tables import DATA
from tradespace.thrusters.architecture import Architecture
from tradespace.thrusters.contract import Thruster
from tradespace.units import parse_date

DAY = 86400.0


@pytest.fixture(scope="module")
def tour() -> Study:
    return parse_study(TOUR)


@pytest.fixture(scope="module")
def hopper() -> Study:
    return parse_study(SURFACE)


def test_a_tour_is_read_into_si(tour: Study) -> None:
    assert (tour.name, tour.title, tour.kind, tour.seed) == ("small_tour", "Small tour", "tour", 0)
    assert tour.stops == ("Themis", "Antiope")
    assert tour.hops == 1
    assert tour.start_body == "Themis"
    assert tour.start_date == parse_date("2031-05-01")
    assert tour.horizon == parse_date("2041-12-31")
    assert tour.flight_time == (200 * DAY, 1500 * DAY)
    assert tour.values["launch_mass"] == 900.0
    assert tour.values["hop_delta_v_capacity"] == 2950.0
    assert tour.values["ice_fraction"] == pytest.approx(0.1)
    assert tour.figure_of_merit_better == "lower"
    assert tour.map_axes == ("array_area", "current_density")


def test_a_surface_route_stays_on_its_body(hopper: Study) -> None:
    assert hopper.stops == ("Ceres",) * 4
    assert hopper.hops == 3
    assert hopper.flight_time is None
    assert hopper.horizon - hopper.start_date == pytest.approx(3 * 365.25 * DAY)
    assert hopper.values["hop_distance"] == 20000.0
    assert hopper.map_axes == ("array_power",)


def test_every_input_has_a_value_and_derived_ones_only_when_given(tour: Study, hopper: Study) -> None:
    for name, item in quantities().items():
        if item.role == "input" and item.default is not None and name not in tour.given:
            assert tour.values[name] == item.default
        if item.role == "output" or (item.role == "derived" and name not in tour.given):
            assert name not in tour.values
    assert hopper.values["array_power"] == 12000.0
    assert "hop_distance" not in tour.values


def test_given_says_what_the_study_wrote(tour: Study) -> None:
    assert tour.given == {
        "launch_mass", "payload_mass", "hop_delta_v_capacity",
        "array_area", "ice_fraction", "current_density",
    }  # fmt: skip


def test_the_text_path_and_hash_are_kept(tmp_path: Path, tour: Study) -> None:
    path = tmp_path / "kept.toml"
    path.write_text(TOUR, encoding="utf-8")
    read = load_study(path)
    assert read.path == path
    assert read.text == TOUR
    assert read.hash == tour.hash
    assert len(read.hash) == 64
    assert parse_study(TOUR + "\n# a remark\n").hash != tour.hash


def test_a_byte_order_mark_and_other_line_ends_do_not_matter(tmp_path: Path, tour: Study) -> None:
    path = tmp_path / "other.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TOUR.replace("\n", "\r\n").encode())
    assert load_study(path).values == tour.values


def test_all_registered_architectures_are_the_default_and_given_ones_are_added(tour: Study) -> None:
    from tradespace.thrusters import registry

    text = TOUR.replace('include = ["electrolysis_bipropellant", "steam_resistojet"]', "")
    assert parse_study(text).architectures == (*registry(), "bench_engine")
    assert tour.architectures == ("electrolysis_bipropellant", "steam_resistojet", "bench_engine")
    assert tuple(tour.thrusters) == tour.architectures
    assert all(isinstance(item, Architecture) for item in tour.thrusters.values())
    assert all(isinstance(item.thruster, Thruster) for item in tour.thrusters.values())


def test_a_given_thruster_may_be_put_in_order_or_stand_alone() -> None:
    old = 'include = ["electrolysis_bipropellant", "steam_resistojet"]'
    assert (
        parse_study(TOUR.replace(old, 'include = ["bench_engine", "water_hall"]')).architectures[0]
        == "bench_engine"
    )
    assert parse_study(TOUR.replace(old, "include = []")).architectures == ("bench_engine",)


def test_sweep_points_hit_both_ends(tour: Study) -> None:
    area, current = tour.sweep
    np.testing.assert_allclose(area.points, [10.0, 30.0, 90.0])
    assert (area.points[0], area.points[-1]) == (10.0, 90.0)
    np.testing.assert_allclose(current.points, [1000.0, 3000.0])


def test_a_swept_quantity_without_a_value_takes_its_middle_point() -> None:
    text = TOUR.replace('array_area = "40 m2"\n', "").replace('payload_mass = "60 kg"\n', "")
    text = text.replace("[solve]", 'payload_mass = { values = ["20 kg", "50 kg", "90 kg"] }\n[solve]')
    values = parse_study(text).values
    assert values["array_area"] == pytest.approx(30.0)
    assert values["payload_mass"] == 50.0


def test_solve_is_read_in_si(tour: Study) -> None:
    assert tour.solve is not None
    assert (tour.solve.variable, tour.solve.column, tour.solve.relation) == (
        "array_area",
        "refuel_time",
        "<=",
    )
    assert tour.solve.limit == 300 * DAY
    rate = TOUR.replace("refuel_time <= 300 d", "hops_per_year >= 0.5 1/yr")
    solve = parse_study(rate).solve
    assert solve is not None
    assert solve.limit == pytest.approx(0.5)


def test_ranges_come_from_the_study_then_from_the_table(tour: Study) -> None:
    assert tour.ranges["ice_fraction"] == pytest.approx((0.05, 0.2))
    item = quantities()["extraction_efficiency"]
    assert tour.ranges["extraction_efficiency"] == (item.default_low, item.default_high)
    assert "launch_mass" not in tour.ranges
    for name, (low, high) in tour.ranges.items():
        assert low < high, name
        assert low <= tour.values[name] <= high, name
        assert quantities()[name].within(low), name
        assert quantities()[name].within(high), name


def test_a_value_outside_the_tables_range_keeps_the_ranges_relative_width() -> None:
    item = quantities()["storage_volume"]
    assert item.default
    assert item.default_low
    assert item.default_high
    given_value = 2.0 * item.default_high
    text = TOUR.replace("[craft]\n", f'[craft]\nstorage_volume = "{given_value} m3"\n')
    low, high = parse_study(text).ranges["storage_volume"]
    assert low == pytest.approx(given_value * item.default_low / item.default)
    assert high == pytest.approx(given_value * item.default_high / item.default)


def test_what_a_given_quantity_replaces_has_no_range() -> None:
    text = TOUR.replace('ice_fraction = "10 %"', 'extraction_energy = "3 kWh/kg"')
    text = text.replace('ice_fraction = ["5 %", "20 %"]', 'extraction_energy = ["2 kWh/kg", "6 kWh/kg"]')
    ranges = parse_study(text).ranges
    assert ranges["extraction_energy"] == pytest.approx((2 * 3.6e6, 6 * 3.6e6))
    assert "ice_fraction" not in ranges
    assert "capture_fraction" not in ranges


def test_a_study_may_ask_about_a_single_design() -> None:
    text = TOUR[: TOUR.index("[sweep]")]
    single = parse_study(text)
    assert single.sweep == ()
    assert sampling.designs_per_architecture(single) == 1
    assert sampling.design_count(single) == 3
    assert list(sampling.chunks(single, 10)) == [(0, {})]


def test_hostile_text_is_kept_as_it_is_in_titles() -> None:
    hostile = "<script>alert(1)</script> & 'quotes' \u202e"
    assert parse_study(TOUR.replace('"Small tour"', f'"""{hostile}"""')).title == hostile


def test_dates_may_be_written_without_quotation_marks(tour: Study) -> None:
    bare = TOUR.replace('date = "2031-05-01"', "date = 2031-05-01")
    assert parse_study(bare).start_date == tour.start_date


def test_a_study_can_be_sent_to_another_process(tour: Study) -> None:
    copy = pickle.loads(pickle.dumps(tour))
    assert copy.values == tour.values
    np.testing.assert_array_equal(copy.sweep[0].points, tour.sweep[0].points)


def test_the_template_is_a_study() -> None:
    study = load_study(DATA / "template.toml")
    assert "invented" in study.note.lower()
    assert 100 < sampling.design_count(study) < 20_000


@pytest.mark.parametrize("path", sorted(DATA.parents[1].glob("studies/*.toml")), ids=lambda path: path.stem)
def test_every_study_that_comes_along_can_be_read(path: Path) -> None:
    study = load_study(path)
    assert study.name == path.stem
    assert "invented" in (study.note + study.text).lower()


def test_the_first_variable_changes_slowest(tour: Study) -> None:
    grid = sampling.design_grid(tour)
    np.testing.assert_allclose(grid["array_area"], [10, 10, 30, 30, 90, 90])
    np.testing.assert_allclose(grid["current_density"], [1000, 3000] * 3)
    assert sampling.designs_per_architecture(tour) == 6
    assert sampling.design_count(tour) == 18


@given(st.integers(1, 8))
def test_chunks_are_the_grid_in_pieces(size: int) -> None:
    study = parse_study(TOUR)
    grid = sampling.design_grid(study)
    pieces = list(sampling.chunks(study, size))
    assert [start for start, _ in pieces] == list(range(0, 6, size))
    for name, points in grid.items():
        np.testing.assert_array_equal(np.concatenate([piece[name] for _, piece in pieces]), points)


def test_a_chunk_of_a_very_large_grid_needs_no_room_for_the_others() -> None:
    text = TOUR[: TOUR.index("[sweep]")].replace(
        '"electrolysis_bipropellant", "steam_resistojet"', '"water_hall"'
    )
    one = '{ low = "10 m2", high = "90 m2", count = 1000000 }'
    two = '{ low = "0.1 A/cm2", high = "1 A/cm2", count = 100 }'
    study = parse_study(f"{text}\n[sweep]\narray_area = {one}\ncurrent_density = {two}\n")
    assert sampling.design_count(study) == LARGEST_SWEEP
    start, first = next(sampling.chunks(study, 3_000_000))
    assert start == 0
    assert first["array_area"].size == 3_000_000
    assert first["array_area"][0] == pytest.approx(10.0)
    end = sampling.designs_between(study, 100_000_000 - 2, 100_000_000)
    np.testing.assert_allclose(end["current_density"][-1], 1e4)
    assert end["array_area"].tolist() == [90.0, 90.0]


def test_a_chunk_holds_at_least_one_design(tour: Study) -> None:
    with pytest.raises(ValueError, match="at least 1"):
        next(sampling.chunks(tour, 0))


def test_lines_are_found_through_comments_strings_and_nested_entries() -> None:
    text = 'a = """\nb = 1\n[c]\n"""\nd = [ # [e]\n  "]", { f = 1 },\n]\n'
    text += "[g.h] # x\n\"i j\".k = '#'\n[[l]]\n[[l]]\nm = 1"
    found = dict(entry_lines(text))
    assert found == {
        ("a",): 1, ("d",): 5, ("g", "h"): 8, ("g", "h", "i j", "k"): 9,
        ("l", 0): 10, ("l", 1): 11, ("l", 1, "m"): 12,
    }  # fmt: skip


@settings(max_examples=200)
@given(st.text(alphabet="abc=[]\"'#{}.,\n 12", max_size=60))
def test_any_text_parses_or_is_refused_as_a_study_error(text: str) -> None:
    try:
        document = parse_document(text, "any")
    except StudyError as error:
        assert str(error).startswith("any")
        return
    for key in document.tree:
        assert 1 <= document.line((key,)) <= text.count("\n") + 1
