"""The catalogue of bodies: what is shipped, how it is chosen from, and the user's own part of it."""

from __future__ import annotations

import json
import math
import os
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from orbit_files import catalogue, line

from tradespace import bodies
from tradespace.bodies import importing
from tradespace.bodies.selection import EVIDENCE, WATER, Selection, select, water_classes
from tradespace.catalogue import catalogue_row, catalogue_rows, elements, shipped_rows
from tradespace.catalogue.own import FOLDER_VARIABLE, GROUPS, WATER_CLASSES, folder
from tradespace.cli import main
from tradespace.constants import value
from tradespace.errors import OutputError, UnitError, UnknownNameError

AU = value("astronomical_unit")


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A catalogue of the user's own with one body."""
    place = tmp_path / "own"
    monkeypatch.setenv(FOLDER_VARIABLE, str(place))
    importing.import_file(catalogue(tmp_path, line()))
    return place


def told(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


def listed(*arguments: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(told("list", "bodies", *arguments, "--json"))["bodies"]
    return rows


def refused(*arguments: str) -> str:
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 2, result.output
    assert len(result.stderr.splitlines()) == 1
    return result.stderr


# what is shipped


def test_the_shipped_bodies_are_all_there() -> None:
    groups = Counter(row["group"] for row in shipped_rows())
    assert groups == {
        "main_belt": 41, "hilda": 3, "jupiter_trojan": 5, "main_belt_comet": 9, "nea": 34, "planet": 6, "moon": 13,
    }  # fmt: skip
    assert set(groups) <= set(GROUPS)
    assert {row["water_class"] for row in shipped_rows()} <= set(WATER_CLASSES)


def test_ranges_hold_their_values() -> None:
    for item in bodies.bodies():
        for number, (low, high) in (
            (item.radius, item.radius_range),
            (item.gravitational_parameter, item.gravitational_parameter_range),
            (math.nan, (item.water_fraction_low, item.water_fraction_high)),
        ):
            assert math.isnan(low) == math.isnan(high)
            assert math.isnan(low) or low <= high
            assert math.isnan(low) or math.isnan(number) or low < number < high, item.label


def test_small_bodies_have_all_numbers_a_reader_needs() -> None:
    for item in bodies.bodies():
        if item.parent == "Sun" and item.group != "planet":
            assert all(math.isfinite(number) for number in (*item.radius_range, item.elements_uncertainty)), (
                item.label
            )
            assert 1e-9 * AU < item.elements_uncertainty < 0.02 * AU
            assert 200.0 < item.density < 5500.0
            assert math.isfinite(bodies.orbit(item)[0])
        assert (item.group == "nea") == (item.orbit_class in {"apollo", "amor", "aten"})
        assert (item.group == "nea") == math.isfinite(item.closest_earth)


def test_near_earth_classes_follow_the_orbits() -> None:
    for item in bodies.bodies():
        if item.group == "nea":
            axis, shape, _ = bodies.orbit(item)
            kind = "aten" if axis < AU else "apollo" if axis * (1.0 - shape) < 1.017 * AU else "amor"
            assert kind == item.orbit_class, item.label


def test_known_masses_give_known_gravity() -> None:
    """NASA fact sheets (from memory): Moon 1.62 m/s2 and 2.38 km/s, Mars 3.73 m/s2 (equator 3.69) and 5.03 km/s."""
    assert bodies.body("Moon").surface_gravity == pytest.approx(1.62, abs=0.01)
    assert bodies.body("Moon").escape_speed == pytest.approx(2380.0, rel=2e-3)
    assert bodies.body("Mars").surface_gravity == pytest.approx(3.73, abs=0.01)
    assert bodies.body("Mars").escape_speed == pytest.approx(5030.0, rel=2e-3)
    assert bodies.body("Moon").density == pytest.approx(3344.0, rel=2e-3)


def test_cautions_are_told() -> None:
    assert any("2029-04-13" in text for text in bodies.body("Apophis").cautions)
    assert any("not a resource" in text for text in bodies.body("Eros").cautions)
    assert any("no mass to land by" in text for text in bodies.body("52").cautions)
    assert "caution: " in told("body", "Apophis")


# choosing


@pytest.mark.parametrize("word", WATER)
def test_each_kind_of_water_can_be_listed(word: str) -> None:
    rows = listed("--water", word)
    assert {row["water"] for row in rows} <= {WATER[word]}
    assert len(rows) == sum(row["water_class"] == WATER[word] for row in shipped_rows())


def test_several_kinds_of_water_and_any() -> None:
    both = listed("--water", "ice", "--water", "vapour")
    assert len(both) == len(listed("--water", "ice,vapour")) == 19
    assert len(listed("--water", "any")) == sum(len(listed("--water", word)) for word in EVIDENCE)
    assert water_classes(["surface_ice_detected"]) == water_classes(["ice"])


def test_the_line_of_the_purpose() -> None:
    rows = listed("--water", "ice", "--near", "3.1 au")
    assert [row["body"] for row in rows] == ["90 Antiope", "24 Themis"]
    axes = [abs(row["a_au"] - 3.1) for row in listed("--near", "3.1 au", "--within", "0.1 au")]
    assert axes == sorted(axes)
    assert max(axes) <= 0.1


def test_moons_are_as_far_as_their_planet() -> None:
    near = {row["body"] for row in listed("--near", "1.52 au", "--within", "0.02 au")}
    assert {"Mars", "Phobos", "Deimos"} <= near
    assert [row["body"] for row in listed("--parent", "saturn")] == [
        item.label for item in bodies.bodies() if item.parent == "Saturn"
    ]


def test_size_and_name() -> None:
    rows = listed("--radius", ">= 100 km", "--radius", "< 200 km", "--group", "main_belt,hilda")
    assert rows
    assert all(100.0 <= row["radius_km"] < 200.0 for row in rows)
    assert {row["group"] for row in rows} <= {"main_belt", "hilda"}
    assert [row["body"] for row in listed("--name", "europa")] == ["52 Europa", "Europa"]


def test_the_list_goes_outwards_and_shows_what_is_needed() -> None:
    rows = listed()
    axes = [row["a_au"] for row in rows if row["a_au"] is not None]
    assert axes == sorted(axes)
    heading = told("list", "bodies").splitlines()[0]
    for word in ("body", "a au", "radius km", "escape m s", "water range", "water grade", "origin"):
        assert word in heading


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--water", "icy"], "unknown kind of water 'icy'; did you mean 'ice'?"),
        (["--water", "snow"], "allowed: ice, vapour"),
        (["--group", "moons"], "did you mean 'moon'?"),
        (["--near", "3.1"], 'write it with one, such as "3.1 au"'),
        (["--near", "far"], '"3.1 au"'),
        (["--near", "3 kg"], "--near: 'kg'"),
        (["--near", "0 au"], "above zero"),
        (["--near", "nan au"], "--near"),
        (["--within", "0.1 au"], "--within needs --near"),
        (["--near", "3 au", "--within", "1"], "--within: '1' has no unit"),
        (["--parent", "Jupitr"], "did you mean 'Jupiter'?"),
        (["--radius", "10 km"], "write it with >=, <=, > or <"),
        (["--radius", ">= 10"], "--radius: '10' has no unit"),
        (["--radius", "=> 10 km"], "--radius"),
        (["--colour", "red"], "--colour"),
    ],
)
def test_slips_in_filters_are_explained(arguments: list[str], words: str) -> None:
    assert words in refused("list", "bodies", *arguments)


def test_filters_are_for_bodies_only() -> None:
    assert "--near chooses bodies, not thrusters" in refused("list", "thrusters", "--near", "3 au")
    assert "--group chooses bodies" in refused("list", "sources", "--group", "nea")


def test_nothing_found_is_said() -> None:
    assert (
        told("list", "bodies", "--name", "no such thing").strip() == "no bodies found that meet the filters"
    )
    assert listed("--name", "no such thing") == []


def test_bodies_are_chosen_in_python_too() -> None:
    chosen = select(Selection(water=water_classes(["any"]), near=3.1 * AU, within=0.3 * AU))
    assert len(chosen) > 20
    assert all(abs(bodies.orbit(item)[0] / AU - 3.1) <= 0.3 for item in chosen)
    with pytest.raises(UnknownNameError):
        select(Selection(parent="Krypton"))
    with pytest.raises(UnitError):
        bodies.selection.parse_limit(">= ten km", "m")


# one body


def test_one_body_with_all_its_numbers() -> None:
    text = told("body", "24 themis")
    for words in (
        "24 Themis",
        "surface_ice_detected",
        "radius",
        "escape speed",
        "water by mass",
        "carry_2012",
    ):
        assert words in text
    answer = json.loads(told("body", "Bennu", "--json"))
    numbers = {row["quantity"]: row for row in answer["numbers"]}
    # ranking figure of Shoemaker and Helin, 5.087 km/s, and closest approach, both as tabulated for Bennu
    assert numbers["rendezvous delta-v"]["value"] == pytest.approx(5.087, abs=0.002)
    assert numbers["closest to the Earth by 2050"]["value"] == 0.0966
    assert numbers["radius"]["low"] < numbers["radius"]["value"] < numbers["radius"]["high"]
    assert answer["orbit_class"] == "apollo"


def test_every_body_can_be_shown() -> None:
    for row in shipped_rows():
        answer = json.loads(told("body", row["id"], "--json"))
        assert {"radius", "gravitational parameter"} & {number["quantity"] for number in answer["numbers"]}


def test_a_moon_has_an_orbit_of_its_own() -> None:
    numbers = {row["quantity"]: row for row in json.loads(told("body", "Enceladus", "--json"))["numbers"]}
    assert numbers["orbit about Saturn"]["value"] == pytest.approx(238_040.0, rel=1e-3)
    assert numbers["period about Saturn"]["value"] == pytest.approx(1.370, abs=0.003)
    assert numbers["semi-major axis of Saturn"]["unit"] == "au"


def test_an_unknown_body_is_told_from_its_neighbours() -> None:
    assert "did you mean 'Themis' or" in refused("body", "Themiss")


# the user's own part


def test_import_is_noticed_at_once_and_forgotten_at_once(own: Path, tmp_path: Path) -> None:
    assert len(bodies.bodies()) == len(catalogue_rows()) == 112
    assert [row["origin"] for row in listed("--name", "steins")] == ["imported"]
    importing.import_file(catalogue(tmp_path, line("02000", name="(2000) Herschel")))
    assert bodies.body("Herschel").id == "2000"
    assert "Herschel" in told("list", "bodies", "--name", "hersch")
    told("forget", "--all")
    assert len(bodies.bodies()) == 111
    assert not list(own.iterdir())


def test_another_folder_is_another_catalogue(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert bodies.body("Steins").id == "2867"
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "elsewhere"))
    with pytest.raises(UnknownNameError):
        bodies.body("Steins")
    monkeypatch.delenv(FOLDER_VARIABLE)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert folder() == tmp_path / "data" / "tradespace"
    monkeypatch.setenv("XDG_DATA_HOME", "relative")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert folder() == tmp_path / ".local" / "share" / "tradespace"


def swap(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")
    os.utime(path, ns=(path.stat().st_mtime_ns + 1000,) * 2)


DAMAGE = {
    "bodies.csv": [
        ("2867,Steins", "2867,", "bodies.csv:3: a body without an identifier or a name"),
        ("main_belt", "mainbelt", "bodies.csv:3: group 'mainbelt' is unknown"),
        (",Sun,", ",Mars,", "bodies.csv:3: parent 'Mars' is unknown"),
        (",unknown,", ",wet,", "bodies.csv:3: water_class 'wet' is unknown"),
        ("2030-11-21", "2030-13-21", "bodies.csv:3: cannot read '2030-13-21' as a date"),
        ("2030-11-21", "2010-11-21", "bodies.csv:3: valid_until is not after valid_from"),
        ("0.17,", "17,", "bodies.csv:3: geometric_albedo '17' must be from 0 to 1"),
        ("0.17,", "abc,", "bodies.csv:3: geometric_albedo 'abc' is not a number"),
        ("0.17,", "nan,", "bodies.csv:3: geometric_albedo 'nan' must be from 0 to 1"),
        ("id,name", "id,nam", "bodies.csv:1: the header has no column 'name'"),
        ("id,name,aliases", "id,name,name", "bodies.csv:1: a column is named twice"),
        ("unit:,,,,,km", "unit:,,,,,m", "bodies.csv:2: radius must be in 'km', not in 'm'"),
        ("2867,Steins", "2867,Steins,more", "bodies.csv:3: 41 cells instead of 40"),
        ("Steins", "Ste\nins", ""),
    ],
    "body_elements.csv": [
        ("0.146", "1.146", "body_elements.csv:3: eccentricity '1.146' must be at least 0 and below 1"),
        ("0.146", "", "body_elements.csv:3: a cell is empty"),
        ("2.36", "-2.36", "body_elements.csv:3: semi_major_axis '-2.36' must be above zero"),
        ("2461000.5", "soon", "body_elements.csv:3: epoch 'soon' is not a number"),
        ("2867", "2868", "body_elements.csv:1: no ellipse of '2867'"),
        ("id,epoch", "id,epok", "body_elements.csv:1: the header has no column 'epoch'"),
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [(name, *item) for name, items in DAMAGE.items() for item in items if item[2]],
)
def test_a_damaged_file_gives_one_error_with_its_line(
    own: Path, name: str, old: str, new: str, words: str
) -> None:
    swap(own / name, old, new)
    message = refused("list", "bodies")
    assert str(own / words) in message
    assert "tradespace forget --all" in message
    with pytest.raises(OutputError):
        bodies.body("Ceres")
    told("forget", "--all")
    assert bodies.body("Ceres").id == "1"


def test_other_damage(own: Path) -> None:
    (own / "body_elements.csv").unlink()
    assert "body_elements.csv:1: is missing" in refused("list", "bodies")
    (own / "bodies.csv").write_bytes(b"id,name\nunit:,\n\xff\xfe,x\n")
    assert "bodies.csv:3: is not text in UTF-8" in refused("list", "bodies")
    (own / "bodies.csv").write_bytes(b"")
    assert "bodies.csv:1: the header has no column 'id'" in refused("list", "bodies")


def test_a_file_written_by_hand_may_be_short(own: Path) -> None:
    head = "id,name,group,valid_from,valid_until,radius\n"
    (own / "bodies.csv").write_text(f"{head}x1,Rock,nea,2020-01-01,2040-01-01,1.5\n\n", encoding="utf-8")
    swap(own / "body_elements.csv", "2867", "x1")
    item = bodies.body("rock")
    assert item.radius == 1500.0
    assert item.water_class == "unknown"
    assert math.isnan(item.gravitational_parameter)
    assert elements("x1").shape == (1, 7)
    assert catalogue_row("Rock")["parent"] == "Sun"
