"""Bringing in bodies from files of orbits and from a look-up, good files and bad ones."""

from __future__ import annotations

import csv
import gzip
import json
import math
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from orbit_files import FIELDS, HEADER, ROW, catalogue, line, looked_up, query
from small_studies import TOUR

from tradespace import bodies, ephemeris
from tradespace.bodies import estimates, importing, online, orbit_file, query_file
from tradespace.bodies.found import Collected, Keep, Lines, groups
from tradespace.bodies.packed import PackedError, packed, packed_date, unpacked, unpacked_date
from tradespace.catalogue import catalogue_row, elements
from tradespace.cli import main
from tradespace.constants import value
from tradespace.errors import EphemerisError, OutputError
from tradespace.units import format_date, parse_date

REFERENCE = Path(__file__).parent / "reference"
YEAR = 365.25 * 86400.0


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty catalogue of the user's own."""
    folder = tmp_path / "own catalogue"
    monkeypatch.setenv("TRADESPACE_CATALOGUE", str(folder))
    monkeypatch.chdir(tmp_path)
    return folder


def told(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 2, result.output
    assert 1 <= len(result.stderr.splitlines()) <= 2
    assert "Traceback" not in result.output
    return result.stderr


def rows_of(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


# packed designations and dates: examples of the Minor Planet Center's own documentation, then round trips


@pytest.mark.parametrize("row", rows_of("packed_designations.csv"), ids=lambda row: row["packed"])
def test_published_designations_are_packed_and_unpacked(row: dict[str, str]) -> None:
    assert unpacked(row["packed"]) == row["plain"]
    assert packed(row["plain"]) == row["packed"]


@pytest.mark.parametrize("row", rows_of("packed_dates.csv"), ids=lambda row: row["packed"])
def test_published_dates_are_packed_and_unpacked(row: dict[str, str]) -> None:
    day = datetime.fromisoformat(row["date"]).replace(tzinfo=UTC)
    assert unpacked_date(row["packed"]) == day
    assert packed_date(day) == row["packed"]


@given(st.integers(1, 15_396_335))
def test_numbers_come_back(number: int) -> None:
    text = packed(str(number))
    assert len(text) == 5
    assert unpacked(text) == str(number)


@given(
    st.integers(1800, 2099), st.sampled_from("ABCDEFGHJKLMNOPQRSTUVWXY"),
    st.sampled_from("ABCDEFGHJKLMNOPQRSTUVWXYZ"), st.integers(0, 619),
)  # fmt: skip
def test_designations_come_back(year: int, half: str, letter: str, cycle: int) -> None:
    first = str(year) if year >= 1925 else f"A{year % 1000:03d}"
    plain = f"{first} {half}{letter}{cycle or ''}"
    assert len(packed(plain)) == 7
    assert unpacked(packed(plain)) == plain


@given(st.integers(2010, 2035), st.sampled_from("ACY"), st.integers(620, 591_672), st.sampled_from("AHJZ"))
def test_long_designations_come_back(year: int, half: str, cycle: int, letter: str) -> None:
    plain = f"{year} {half}{letter}{cycle}"
    assert unpacked(packed(plain)) == plain


@given(st.datetimes(datetime(1800, 1, 1), datetime(2099, 12, 31)))  # noqa: DTZ001
def test_dates_come_back(moment: datetime) -> None:
    day = datetime(moment.year, moment.month, moment.day, tzinfo=UTC)
    assert unpacked_date(packed_date(day)) == day


@given(st.text(max_size=8))
def test_any_text_is_unpacked_or_refused(text: str) -> None:
    for read in (unpacked, unpacked_date):
        try:
            read(text)
        except PackedError as error:
            assert repr(text.strip()) in str(error) or repr(text) in str(error)


@pytest.mark.parametrize(
    "text", ["", "0", "15396336", "2026 CA591674", "1904 OA", "A950 OA", "2026 IA", "2009 CA620"]
)
def test_what_has_no_packed_form_is_refused(text: str) -> None:
    with pytest.raises(PackedError, match="no packed form"):
        packed(text)


@pytest.mark.parametrize("text", ["J96D1", "J9600", "K2322", "L9611", "K232U", "K01A"])
def test_days_that_do_not_exist_are_refused(text: str) -> None:
    if text == "K2322":  # 2 February 2023
        assert unpacked_date(text) == datetime(2023, 2, 2, tzinfo=UTC)
        return
    with pytest.raises(PackedError):
        unpacked_date(text)


# the catalogue of orbits


def test_a_line_of_the_catalogue_becomes_a_body(tmp_path: Path) -> None:
    done = importing.import_file(catalogue(tmp_path, line()))
    assert done.format == "mpcorb"
    assert done.added == ["Steins"]
    steins = bodies.body("2867 Steins")
    assert steins is bodies.body("steins")
    axis, eccentricity, inclination = bodies.orbit(steins)
    assert axis == pytest.approx(2.36 * value("astronomical_unit"))
    assert (eccentricity, math.degrees(inclination)) == pytest.approx((0.146, 9.93))
    assert elements("2867")[0][0] == parse_date("2025-11-21")  # packed K25BL
    assert np.degrees(elements("2867")[0][4:]) == pytest.approx([55.3, 251.1, 10.5])
    assert (steins.absolute_magnitude, steins.slope_parameter) == (13.2, 0.15)
    assert math.isnan(steins.rotation_period)
    assert steins.water_class == "unknown"
    assert steins.origin.startswith("MPCORB.DAT, ")
    assert not steins.is_shipped


def test_size_and_mass_come_from_the_brightness_with_their_ranges(tmp_path: Path) -> None:
    importing.import_file(catalogue(tmp_path, line(h="15.00")))
    item = bodies.body("Steins")
    # 1329 km / sqrt(0.17) * 10^-3 / 2, and the same with 0.30 and 0.04
    assert item.radius == pytest.approx(1329e3 / math.sqrt(0.17) * 1e-3 / 2.0, rel=1e-5)
    assert item.radius_range == pytest.approx((1213.2, 3322.5), rel=1e-3)
    assert item.density == pytest.approx(2000.0, rel=1e-4)
    low, high = item.gravitational_parameter_range
    assert low < item.gravitational_parameter < high
    assert item.grades == {"radius": "assumed", "gm": "assumed", "bond_albedo": "assumed", "water": ""}


@given(st.floats(-2.0, 30.0), st.floats(0.02, 0.6))
@settings(max_examples=30)
def test_albedo_and_diameter_are_each_others_reverse(magnitude: float, albedo: float) -> None:
    size = estimates.diameter(magnitude, albedo)
    assert estimates.albedo(magnitude, size) == pytest.approx(albedo)
    assert estimates.diameter(magnitude + 5.0, albedo) == pytest.approx(size / 10.0)
    assert estimates.diameter(magnitude, 4.0 * albedo) == pytest.approx(size / 2.0)


def test_a_body_without_brightness_has_no_size_and_says_so(tmp_path: Path) -> None:
    done = importing.import_file(catalogue(tmp_path, line(h="")))
    assert done.without_size == 1
    item = bodies.body("Steins")
    assert math.isnan(item.radius)
    assert math.isnan(item.gravitational_parameter)
    assert item.notes["physical"] == "no size given"


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("header", [HEADER, ""])
@pytest.mark.parametrize("zipped", [False, True])
def test_line_ends_headers_and_compression_make_no_difference(
    tmp_path: Path, end: str, header: str, zipped: bool
) -> None:
    unnumbered = line("K07Tf8A", name="2007 TA418", e=0.5, a=1.2)
    path = catalogue(tmp_path, line(), "", unnumbered, header=header, end=end)
    if zipped:
        path.write_bytes(gzip.compress(path.read_bytes()))
    done = importing.import_file(path)
    assert done.added == ["Steins", "2007 TA418"]
    assert (done.lines.seen, done.lines.bad) == (2, 0)
    assert bodies.body("2007 TA418").group == "nea"
    assert bodies.body("2007 TA418").orbit_class == "apollo"


BAD = {
    "no number for the eccentricity": line(e="0.1x60000"),
    "no number for the semi-major axis": line(a="  2.36.0000"),
    "the eccentricity is blank": line(e=" " * 9),
    "no packed date for the epoch": line(epoch="K25BZ"),
    "is not a packed designation": line("!!867"),
    "is too short for an orbit": line()[:80],
    "no ellipse": line(a=" -2.3600000"),
}


@pytest.mark.parametrize("fault", BAD)
def test_bad_lines_are_skipped_counted_and_the_first_is_shown(fault: str, tmp_path: Path) -> None:
    other = line("02868", name="(2868) Upupa", e="0.1y60000")
    path = catalogue(
        tmp_path, line("00433", name="(433) Eros"), BAD[fault], line("01935", name="(1935) Lucerna"), other
    )
    done = importing.import_file(path)
    assert done.added == ["Lucerna"]
    assert done.kept == ["Eros"]
    assert done.lines.bad == 2
    number = HEADER.count("\n") + 2
    assert done.lines.first_bad.startswith(f"line {number}: ")
    assert fault in done.lines.first_bad
    assert len(done.lines.first_bad) < 200
    assert "2 that cannot be read" in told("import", str(path))


def test_the_same_lines_are_read_whatever_the_pieces(tmp_path: Path) -> None:
    text = catalogue(
        tmp_path, *(line(packed(str(k)), name=f"({k})", a=2.0 + k / 1e3) for k in range(1, 60))
    ).read_bytes()
    whole, pieces = Lines(), Lines()
    expected = orbit_file.read([text], Keep(), whole)
    found = orbit_file.read([text[k : k + 97] for k in range(0, len(text), 97)], Keep(), pieces)
    assert found == expected
    assert whole == pieces
    assert len(found) == 59


@given(st.lists(st.binary(max_size=230), max_size=6))
@settings(max_examples=40, deadline=None)
def test_any_bytes_are_read_or_counted(pieces: list[bytes]) -> None:
    lines = Lines()
    text = b"\n".join([line().encode(), *pieces, line("00001").encode(), b""])
    found = orbit_file.read([text], Keep(), lines)
    assert {"2867", "1"} <= set(found)
    assert lines.seen == len(found) + lines.bad + lines.open_orbits + lines.repeated


def test_repeated_bodies_and_open_orbits_are_counted(tmp_path: Path) -> None:
    open_ = line("K17U01V", name="A/2017 U1", e=1.2)
    done = importing.import_file(catalogue(tmp_path, line(), line(a=3.0), open_))
    assert (done.lines.repeated, done.lines.open_orbits, done.lines.bad) == (1, 1, 0)
    assert bodies.orbit(bodies.body("Steins"))[0] == pytest.approx(2.36 * value("astronomical_unit"))


def test_names_that_are_not_plain_letters_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "old.dat"
    first = (line("02000", name="(2000) Hér Šchel") + "\n").encode()
    second = (line("02001", name="(2001) Pi~ata") + "\n").encode().replace(b"~", b"\xf1")
    path.write_bytes(first + second)
    assert importing.import_file(path).added == ["Hér Šchel", "Piñata"]
    assert bodies.body("hér šchel").id == "2000"


def test_a_name_that_another_body_has_gets_its_number(tmp_path: Path) -> None:
    """Dione is a moon and 106 Dione an asteroid that is shipped; 577 Rhea is not shipped, Rhea is."""
    importing.import_file(catalogue(tmp_path, line("00577", name="(577) Rhea")))
    assert bodies.body("Rhea").group == "moon"
    assert bodies.body("577 Rhea").name == "577 Rhea"
    assert bodies.body("577").label == "577 Rhea"


# what to keep


def spread() -> list[str]:
    return [
        line(packed(str(2000 + k)), name=f"({2000 + k})", a=2.0 + k / 50.0, h=f"{5 + k % 10:5.2f}")
        for k in range(60)
    ]


def test_filters_keep_what_they_name(tmp_path: Path) -> None:
    path = catalogue(tmp_path, *spread(), line("02900", name="(2900)", h="", a=3.1))
    text = told("import", str(path), "--near", "3.1 au", "--within", "0.1 au", "--largest-h", "9")
    kept = [item for item in bodies.bodies() if not item.is_shipped]
    assert kept
    for item in kept:
        assert abs(bodies.orbit(item)[0] / value("astronomical_unit") - 3.1) <= 0.1 + 1e-9
        assert item.absolute_magnitude <= 9.0
    assert f"{61 - len(kept)} by the filters" in text


def test_without_a_width_near_means_a_fifth_of_an_au(tmp_path: Path) -> None:
    told("import", str(catalogue(tmp_path, *spread())), "--near", "3 au")
    axes = [
        bodies.orbit(item)[0] / value("astronomical_unit") for item in bodies.bodies() if not item.is_shipped
    ]
    assert min(axes) == pytest.approx(2.8)
    assert max(axes) == pytest.approx(3.18, abs=0.021)


def test_too_many_bodies_are_refused_before_anything_is_written(
    tmp_path: Path, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tradespace.bodies.found.MOST_KEPT", 20)
    message = refused("import", str(catalogue(tmp_path, *spread())))
    assert "more than 20 bodies pass" in message
    assert "--largest-h" in message
    assert not own.exists()


def test_groups_follow_the_orbit() -> None:
    orbits = {
        (1.1, 0.3): "nea", (1.7, 0.28): "nea", (2.0, 0.3): "mars_crosser", (2.77, 0.08): "main_belt",
        (3.43, 0.1): "main_belt", (3.97, 0.2): "hilda", (5.2, 0.05): "jupiter_trojan", (5.2, 0.6): "other",
        (13.7, 0.38): "centaur", (39.5, 0.25): "trans_neptunian",
    }  # fmt: skip
    axes, shapes = (np.array(column) for column in zip(*orbits, strict=True))
    assert dict(zip(orbits, groups(axes, shapes).tolist(), strict=True)) == orbits


def test_groups_agree_with_those_of_the_shipped_bodies() -> None:
    for item in bodies.bodies():
        if item.parent == "Sun" and item.group not in {"planet", "main_belt_comet"}:
            axis, shape, _ = bodies.orbit(item)
            found = groups(np.array([axis / value("astronomical_unit")]), np.array([shape]))[0]
            assert found == item.group or item.name == "Chicago", (
                item.label
            )  # alone between the belt and the Hildas


# how long an ellipse is relied on


def test_positions_are_known_for_a_limited_time(tmp_path: Path) -> None:
    path = catalogue(tmp_path, line())
    importing.import_file(path)
    middle = parse_date("2025-11-21")
    first, last = ephemeris.coverage("Steins")
    assert (first, last) == pytest.approx((middle - 5.0 * YEAR, middle + 5.0 * YEAR), abs=86400.0)
    assert ephemeris.state("Steins", middle)[0].shape == (1, 3)
    with pytest.raises(
        EphemerisError, match=f"Steins is known from {format_date(first)} to {format_date(last)}"
    ):
        ephemeris.state("Steins", parse_date("2032-01-01"))
    text = told("import", str(path), "--valid-for", "10 yr")
    assert "1, imported before" in text
    assert ephemeris.coverage("Steins")[1] == pytest.approx(middle + 10.0 * YEAR, abs=86400.0)
    assert ephemeris.state("Steins", parse_date("2032-01-01"))[0].shape == (1, 3)


@pytest.mark.parametrize("span", ["10", "0 yr", "-3 yr", "1000 yr", "3 km", "soon"])
def test_odd_time_spans_are_refused(span: str, tmp_path: Path, own: Path) -> None:
    refused("import", str(catalogue(tmp_path, line())), "--valid-for", span)
    assert not own.exists()


# bodies that are there already


def test_shipped_bodies_stay_unless_they_are_to_be_replaced(tmp_path: Path) -> None:
    path = catalogue(
        tmp_path, line("00024", name="(24) Themis", a=3.5), line("07968", name="(7968) Elst-Pizarro")
    )
    before = bodies.body("Themis")
    text = told("import", str(path))
    assert "2 as shipped; --replace" in text
    assert bodies.body("Themis") == before
    assert len(elements("24")) == 46
    text = told("import", str(path), "--replace")
    assert "replaced   2" in text
    after = bodies.body("Themis")
    assert bodies.orbit(after)[0] == pytest.approx(3.5 * value("astronomical_unit"))
    assert len(elements("24")) == 1
    # a size guessed from the brightness is no better than the shipped one, and the file knows nothing of water
    assert after.radius == before.radius
    assert after.gravitational_parameter == before.gravitational_parameter
    assert after.water_class == before.water_class
    assert after.rotation_period == before.rotation_period
    assert bodies.body("133P").id == "133P"
    assert len(elements("133P")) == 1
    assert "forgot Themis" in told("forget", "24 themis")
    assert bodies.body("Themis") == before
    assert len(elements("24")) == 46


def test_measured_numbers_are_not_lost_to_guesses(tmp_path: Path) -> None:
    importing.import_file(query(tmp_path, ROW))
    measured = bodies.body("Steins")
    importing.import_file(catalogue(tmp_path, line(a=2.4)))
    item = bodies.body("Steins")
    assert bodies.orbit(item)[0] == pytest.approx(2.4 * value("astronomical_unit"))
    assert item.radius == measured.radius == 2580.0
    assert item.rotation_period == measured.rotation_period
    assert item.origin.startswith("MPCORB.DAT")


def test_a_later_import_adds_to_an_earlier_one(tmp_path: Path) -> None:
    importing.import_file(catalogue(tmp_path, line()))
    done = importing.import_file(catalogue(tmp_path, line("02000", name="(2000) Herschel")))
    assert done.added == ["Herschel"]
    assert [item.name for item in bodies.bodies() if not item.is_shipped] == ["Steins", "Herschel"]


def test_forgetting(tmp_path: Path, own: Path) -> None:
    importing.import_file(catalogue(tmp_path, line(), line("02000", name="(2000) Herschel")))
    assert "comes with Tradespace" in refused("forget", "Ceres")
    assert "did you mean 'Steins'" in refused("forget", "Stein")
    assert "either names or --all" in refused("forget")
    assert told("forget", "Steins").splitlines() == ["forgot Steins"]
    with pytest.raises(LookupError):
        bodies.body("Steins")
    assert json.loads(told("forget", "--all", "--json"))["forgotten"]
    assert not list(own.iterdir())
    assert told("forget", "--all").strip() == "there was nothing to forget"


# results of the small-body database


@pytest.mark.parametrize("name", ["query.json", "query.csv"])
def test_a_query_result_becomes_bodies(name: str, tmp_path: Path) -> None:
    comet = [
        " 9P/Tempel 1",
        "3.12",
        "0.51",
        "10.5",
        "68.9",
        "178.9",
        "88.2",
        "2461000.5",
        None,
        "6",
        "0.05",
        "40.7",
        None,
        None,
    ]
    dark = [
        "       (2001 XX1)",
        "3.1",
        "0.1",
        "1",
        "2",
        "3",
        "4",
        "2461000.5",
        "14",
        None,
        None,
        None,
        "Ch",
        None,
    ]
    done = importing.import_file(query(tmp_path, ROW, comet, dark, name=name))
    assert done.format == f"sbdb-{name[-4:].strip('.')}"
    assert done.added == ["Steins", "9P/Tempel 1", "2001 XX1"]
    steins = bodies.body("1969 VC")
    assert steins.label == "2867 Steins"
    assert steins.radius == 2580.0
    assert steins.geometric_albedo == 0.4
    assert steins.rotation_period == pytest.approx(6.049 * 3600.0)
    assert steins.spectral_type == "E"
    assert steins.grades["radius"] == "reviewed"
    assert steins.water_class == "unknown"
    assert bodies.body("9P").group == "comet"
    primitive = bodies.body("2001 XX1")
    assert primitive.water_class == "inferred"
    assert (primitive.water_fraction_low, primitive.water_fraction_high) == (0.0, 0.1)
    assert primitive.grades["water"] == "assumed"
    assert primitive.density == pytest.approx(1400.0, rel=1e-4)


def test_a_measured_mass_is_kept(tmp_path: Path) -> None:
    importing.import_file(query(tmp_path, [*ROW[:-1], "0.005"]))
    item = bodies.body("Steins")
    assert item.gravitational_parameter == pytest.approx(5e6)
    assert item.grades["gm"] == "reviewed"


def test_perihelion_and_its_date_do_instead_of_axis_and_anomaly(tmp_path: Path) -> None:
    fields = ["full_name", "q", "e", "i", "om", "w", "tp", "epoch_mjd"]
    tp = (
        2461000.5 - 10.5 / 360.0 * 365.25 * 2.36**1.5
    )  # Kepler's third law, with the Gaussian year as 365.25 d
    importing.import_file(
        query(tmp_path, ["2867 Steins", 2.36 * 0.854, 0.146, 9.93, 55.3, 251.1, tp, 61000], fields=fields)
    )
    row = elements("2867")[0]
    assert row[1] == pytest.approx(2.36 * value("astronomical_unit"))
    assert math.degrees(row[6]) == pytest.approx(10.5, abs=1e-3)
    assert row[0] == parse_date("2025-11-21")


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("  1 Ceres (A801 AA)", ("1", "Ceres", "A801 AA", False)),
        ("65679 (1989 UQ)", ("65679", "1989 UQ", "1989 UQ", False)),
        ("P/2010 A2 (LINEAR)", ("P/2010 A2", "P/2010 A2 LINEAR", "P/2010 A2", True)),
        ("73P/Schwassmann-Wachmann 3-B", ("73P", "73P/Schwassmann-Wachmann 3-B", "", True)),
        ("2040 P-L", ("2040 P-L", "2040 P-L", "2040 P-L", False)),
        ("719", ("719", "719", "", False)),
    ],
)
def test_full_names_are_taken_apart(text: str, names: tuple[str, str, str, bool]) -> None:
    assert query_file.names_of(text) == names


def test_bad_rows_of_a_query_are_skipped_and_counted(tmp_path: Path) -> None:
    bad = [
        [*ROW[:2], "x", *ROW[3:]], [*ROW[:1], None, *ROW[2:]], [None, *ROW[1:]], [*ROW[:7], "12", *ROW[8:]],
        [*ROW[:9], "-3", *ROW[10:]], ROW[:5], [*ROW[:1], "NaN", *ROW[2:]],
    ]  # fmt: skip
    for name in ("query.json", "query.csv"):
        done = importing.import_file(query(tmp_path, bad[0], ROW, *bad[1:], name=name))
        assert done.lines.bad == len(bad)
        start = "row 1" if name.endswith("json") else "line 2"
        assert done.lines.first_bad.startswith(f"{start}: no number for e")


def test_a_csv_may_have_marks_quotes_and_other_letters(tmp_path: Path) -> None:
    path = tmp_path / "mixed.csv"
    head = b'\xef\xbb\xbf"full_name",a,e,i,om,w,ma,epoch\r\n'
    path.write_bytes(
        head + b'"  2000 H\xc3\xa9rschel, (1960 OA)",2.4,.3,22,300,130,10,2461000.5\r\n\r\n'
        + b'2001 Pi\xf1ata,2.4,.3,22,300,130,10,2461000.5\r\n'
    )  # fmt: skip
    assert importing.import_file(path).added == ["Hérschel,", "Piñata"]


# files that give nothing


FILES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is empty"),
    "blank": (b" \n\n", "is empty"),
    "web page": (b"<!DOCTYPE html><html>", "is a web page"),
    "prose": (b"Dear all, nothing to see here\nbest wishes\n", "is neither"),
    "utf-16": ("full_name,a,e".encode("utf-16"), "is neither"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "is neither"),
    "cut json": (json.dumps({"fields": FIELDS, "data": [ROW]}).encode()[:-20], "is not complete JSON"),
    "json list": (b"[1, 2]", "no 'fields' and 'data'"),
    "json message": (b'{"code": "400", "message": "bad query"}', "bad query"),
    "json without data": (json.dumps({"fields": FIELDS, "count": 0}).encode(), "no 'fields' and 'data'"),
    "json without rows": (json.dumps({"fields": FIELDS, "data": []}).encode(), "holds no bodies"),
    "json lacking fields": (b'{"fields": ["full_name", "a"], "data": []}', "no field 'e', 'i', 'om', 'w', "),
    "csv lacking fields": (b"full_name,a,ee,i,om,w,ma,epoch\nx,1,1,1,1,1,1,1\n", "no field 'e' (there is 'ee')"),
    "csv header": (",".join(FIELDS).encode() + b"\n", "holds no bodies"),
    "csv of nonsense": (b"full_name,a,e,i,om,w,ma,epoch\nx,1,.1,1,1,1,1,2461000.5\n", "no line can be read"),
    "header": (HEADER.encode(), "holds no bodies"),
    "bad lines": ((HEADER + line(e="0.1x60000") + "\n").encode(), "no line can be read"),
    "cut gz": (gzip.compress((line() + "\n").encode() * 500)[:-30], "damaged or cut short"),
    "damaged gz": (gzip.compress((line() + "\n").encode() * 50)[:40] + b"x" * 40, "damaged or cut short"),
    "open": ((line("K17U01V", name="A/2017 U1", e=1.2) + "\n").encode(), "leave the solar system"),
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_a_file_without_bodies_is_refused_and_nothing_is_written(
    name: str, tmp_path: Path, own: Path
) -> None:
    content, words = FILES[name]
    (tmp_path / "given").write_bytes(content)
    message = refused("import", "given")
    assert "given: " in message
    assert words in message
    assert not own.exists()


def test_other_odd_requests_are_refused(tmp_path: Path, own: Path) -> None:
    path = str(catalogue(tmp_path, line()))
    assert "No such file" in refused("import", "absent.dat")
    assert "directory" in refused("import", str(tmp_path))
    assert "either a file or --online" in refused("import")
    assert "either a file or --online" in refused("import", path, "--online", "Steins")
    assert "are for a file" in refused("import", "--online", "Steins", "--near", "3 au")
    assert '"3.1 au"' in refused("import", path, "--near", "3.1")
    assert "--within needs --near" in refused("import", path, "--within", "0.1 au")
    assert "above zero" in refused("import", path, "--near", "-3 au")
    assert "did you mean 'main_belt'" in refused("import", path, "--group", "mainbelt")
    assert "passes the filters" in refused("import", path, "--group", "hilda")
    assert "'mpcorbs'" in refused("import", path, "--format", "mpcorbs")
    assert "complete JSON" in refused("import", path, "--format", "sbdb-json")
    assert not own.exists()


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    monkeypatch.setenv("TRADESPACE_CATALOGUE", str(tmp_path / "file"))
    assert "cannot write" in refused("import", str(catalogue(tmp_path, line())))


def test_a_failed_write_leaves_the_catalogue_as_it_was(
    tmp_path: Path, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    importing.import_file(catalogue(tmp_path, line()))
    before = {path.name: path.read_bytes() for path in own.iterdir()}

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device", "disk")

    monkeypatch.setattr(Path, "replace", full)
    assert "No space left" in refused(
        "import", str(catalogue(tmp_path, line("02000", name="(2000) Herschel")))
    )
    assert {path.name: path.read_bytes() for path in own.iterdir()} == before


def test_progress_is_told_to_the_end(tmp_path: Path) -> None:
    path = catalogue(tmp_path, *spread())
    seen: list[tuple[int, int]] = []
    importing.import_file(path, progress=lambda done, whole: seen.append((done, whole)))
    assert seen[-1] == (path.stat().st_size,) * 2
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)


def test_what_was_done_is_told_as_json(tmp_path: Path, own: Path) -> None:
    answer = json.loads(told("import", str(catalogue(tmp_path, line(), line(e="x" * 9))), "--json"))
    assert answer["added"] == ["Steins"]
    assert (answer["read"], answer["skipped"]) == (2, 1)
    assert answer["folder"] == str(own)
    assert answer["positions_from"] == "2020-11-20"


def test_a_big_file_is_read_in_pieces_of_fixed_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importing, "CHUNK", 1000)
    assert len(importing.import_file(catalogue(tmp_path, *spread())).added) == 60


def test_collecting_stops_at_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tradespace.bodies.found.MOST_KEPT", 1)
    lines = Lines()
    found = orbit_file.read([line().encode()], Keep(), lines)
    collected = Collected(lines)
    collected.add(found["2867"])
    collected.add(found["2867"])
    assert lines.repeated == 1
    found["2867"].id = "1"
    with pytest.raises(OutputError, match="more than 1 bodies"):
        collected.add(found["2867"])


# looking up


def answering(monkeypatch: pytest.MonkeyPatch, reply: Any) -> list[dict[str, Any]]:
    """Let the database answer with this; returns what it is asked."""
    jplsbdb = pytest.importorskip("astroquery.jplsbdb")
    asked: list[dict[str, Any]] = []

    class Response:
        text = reply if isinstance(reply, str) else json.dumps(reply, default=str)
        url = ""

    def request(_: Any, **given: Any) -> Response:
        asked.append(given)
        if isinstance(reply, Exception):
            raise reply
        return Response()

    monkeypatch.setattr(jplsbdb.SBDBClass, "_request", request)
    return asked


def test_a_body_is_looked_up(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = answering(monkeypatch, looked_up())
    text = told("import", "--online", "Steins")
    assert "added      1" in text
    assert asked[0]["params"]["sstr"] == "Steins"
    assert 0 < asked[0]["timeout"] <= 60
    steins = bodies.body("Steins")
    assert steins.radius == 2580.0
    assert steins.radius_range == pytest.approx((2455.0, 2705.0))
    assert steins.sources["elements"] == "jpl_sbdb_query"
    assert catalogue_row("Steins")["origin"].startswith("JPL small-body database, ")


def test_a_saved_answer_of_the_look_up_can_be_imported(tmp_path: Path) -> None:
    (tmp_path / "steins.json").write_text(json.dumps(looked_up()), encoding="utf-8")
    assert importing.import_file("steins.json").added == ["Steins"]


def test_without_a_network_the_message_says_what_to_do(monkeypatch: pytest.MonkeyPatch, own: Path) -> None:
    answering(monkeypatch, OSError("Max retries exceeded: Failed to resolve"))
    message = refused("import", "--online", "Steins")
    for words in ("'Steins' needs the network", "tradespace import FILE", "tradespace list bodies"):
        assert words in message
    assert not own.exists()


@pytest.mark.parametrize(
    ("reply", "words"),
    [
        ({"code": "200", "message": "specified object was not found"}, "does not know 'Stains'"),
        ({"code": "300", "list": [{"name": "1 Ceres"}, {"pdes": "2 Pallas"}]}, "1 Ceres, 2 Pallas"),
        ("<html>busy</html>", "cannot be read"),
        ([], "does not know"),
        ({**looked_up(), "orbit": {"elements": []}}, "holds no orbit"),
    ],
)  # fmt: skip
def test_answers_that_are_no_body_are_told(
    monkeypatch: pytest.MonkeyPatch, own: Path, reply: Any, words: str
) -> None:
    answering(monkeypatch, reply)
    assert words in refused("import", "--online", "Stains")
    assert not own.exists()


def test_the_look_up_is_loaded_only_when_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "astroquery.jplsbdb", None)
    assert importing.import_file(catalogue(tmp_path, line())).added == ["Steins"]
    with pytest.raises(OutputError, match="needs the package astroquery"):
        online.import_online(["Steins"])


# against the Minor Planet Center itself


def test_real_lines_agree_with_the_shipped_ellipses_of_the_same_day() -> None:
    """Three lines of the Center's catalogue (read in a public repository) against ours, which come from DE441."""
    names = ("1", "2", "4")
    shipped = {name: elements(name)[0] for name in names}
    done = importing.import_file(REFERENCE / "mpcorb_lines.txt", replace=True)
    assert done.replaced == ["Ceres", "Pallas", "Vesta"]
    for name in names:
        (given,) = elements(name)
        assert given[0] == shipped[name][0]
        assert given[1] == pytest.approx(shipped[name][1], abs=2e-7 * value("astronomical_unit"))
        assert given[2] == pytest.approx(shipped[name][2], abs=2e-7)
        assert np.degrees(given[3:]) == pytest.approx(np.degrees(shipped[name][3:]), abs=6e-5)


def test_a_study_on_a_body_without_size_or_spin_is_told_so(tmp_path: Path) -> None:
    importing.import_file(
        catalogue(tmp_path, line(), line("02000", name="(2000) Herschel", h="")), valid_for=20.0 * YEAR
    )
    for name, words in (("Steins", "the rotation period of Steins"), ("Herschel", "the radius of Herschel")):
        study = re.sub(r"stops = \[.*?\]", f'stops = ["{name}"]', TOUR)
        Path("asked.toml").write_text(study, encoding="utf-8")
        message = refused("check", "asked.toml")
        assert f"route.stops: {words} is not known" in message
    Path("asked.toml").write_text(study.replace("Herschel", "Steinz"), encoding="utf-8")
    assert "did you mean 'Steins'" in refused("check", "asked.toml")
