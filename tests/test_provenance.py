"""Provenance: every shipped number has a unit, a range, a grade and a source, and none hides in the code."""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tradespace.constants import GRADES
from tradespace.options import choices, settings_of
from tradespace.physics.combustion_table import CHAMBER, FEED_CHAMBER, FEED_NOZZLE, NOZZLE
from tradespace.quantities import quantity
from tradespace.tables import DATA, read_table
from tradespace.thrusters import registry
from tradespace.units import conversion, convert, to_si
from tradespace.validity import ValidRange, valid_ranges

PACKAGE = DATA.parent
SOURCES = {row["key"]: row for row in read_table("sources.csv").rows}

VALUE_COLUMNS = set("name value unit low high grade source where description".split())
VALUES = tuple(  # every table of single values, found by its columns
    name
    for name in (
        *sorted(path.name for path in DATA.glob("*.csv")),
        *sorted(f"thrusters/{path.name}" for path in DATA.glob("thrusters/*.csv")),
    )
    if set((read_table(name).rows or [{}])[0]) >= VALUE_COLUMNS
)
COEFFICIENTS = (
    "electrolysis_cells.csv", "electrolysis_voltage.csv", "water_coefficients.csv", "water_split.csv",
    "electrolysis_coefficients.csv", "electrolysis_electrolytes.csv", "electrolysis_steam.csv",
    "gas_hydrogen.csv", "gas_oxygen.csv", "gas_steam.csv", "gas_liquefaction.csv", "nozzle_coefficients.csv",
    "bench_instruments.csv",
)  # fmt: skip
MADE = (  # grids
    CHAMBER, NOZZLE, FEED_CHAMBER, FEED_NOZZLE, "combustion_flame.csv", "detonation_cj.csv",
    "steam_chamber.csv", "steam_nozzle.csv", "steam_hot.csv", "steam_gases.csv",
    "escape_spiral.csv", "finite_burn.csv",
)  # fmt: skip
# coefficients made by a script as well
FITTED = (
    "water_split.csv", "electrolysis_steam.csv", "gas_oxygen.csv", "gas_steam.csv", "gas_liquefaction.csv",
)  # fmt: skip
AXES = (
    "combustion_axes.csv",
    "detonation_axes.csv",
    "steam_axes.csv",
    "burn_axes.csv",
)  # nodes of the tables made
POSITIONS = (  # where bodies are
    "body_elements.csv", "planet_paths.csv", "moons.csv", "moon_wobbles.csv", "spins.csv", "position_cautions.csv",
)  # fmt: skip
OTHER = (
    *POSITIONS,
    "quantities.csv",
    "uncertainty_grades.csv",
    "effects.csv",
    "choices.csv",
    "validity.csv",
    "bodies.csv",
    "sources.csv",
    "cautions.csv",
    "effects.csv",
    "item_maturity.csv",
    "bench_channels.csv",
    "bench_rules.csv",
    "bench_measures.csv",
)

SOURCES_NAMED_IN_WORDS: set[str] = set()  # keys that no table or formula names

FORMULA_FILES = [
    *sorted((PACKAGE / "physics").rglob("*.py")),
    *sorted((PACKAGE / "thrusters").rglob("*.py")),
    *sorted((PACKAGE / "windows").rglob("*.py")),
    *sorted((PACKAGE / "spacecraft").glob("*.py")),
    *sorted((PACKAGE / "campaign").glob("*.py")),
]
SMALL = {0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0}
LARGEST_COUNT = 128  # whole numbers: powers, columns, rounds of an iteration, pieces of work
NUMERICAL = {
    ("kepler.py", 0.85): "start of Newton's method",
    ("steam.py", 0.05): "least slope in Newton's method",
    ("array.py", 6.0): "half the second derivative of a fourth power",
    ("system.py", 0.4): "the exponent two fifths",
    ("records.py", 30.0): "largest exponent, so that a hopeless craft stays finite",
    ("records.py", 0.99): "largest unusable share, so that a hopeless craft stays finite",
    ("stop.py", 50.0): "largest exponent, so that a store that cools at once stays finite",
    ("search.py", 0.375): "how much a search grid shrinks a round",
}


def value_rows() -> Iterator[tuple[str, dict[str, str]]]:
    for table in VALUES:
        for row in read_table(table).rows:
            yield f"{table}:{row.get('architecture', '')}:{row['name']}", row


ROWS = dict(value_rows())
QUANTITIES = {row["name"]: row for row in read_table("quantities.csv").rows}
BODIES = {row["name"]: row for row in read_table("bodies.csv").rows}


def check_source(row: dict[str, str], prefix: str = "") -> None:
    keys = row[f"{prefix}source"].split(";")
    assert set(keys) <= set(SOURCES), keys
    assert row[f"{prefix}where"], "says not where in the source"


def ordered(*cells: str) -> bool:
    numbers = [float(cell) for cell in cells if cell]
    return numbers == sorted(numbers) and all(map(math.isfinite, numbers))


def test_every_table_is_looked_at() -> None:
    shipped = {path.name for path in DATA.glob("*.csv")}
    shipped |= {f"thrusters/{path.name}" for path in DATA.glob("thrusters/*.csv")}
    assert shipped == {*VALUES, *COEFFICIENTS, *MADE, *AXES, *OTHER}


@pytest.mark.parametrize("name", ROWS)
def test_value_has_unit_range_grade_and_source(name: str) -> None:
    row = ROWS[name]
    convert(float(row["value"]), row["unit"], row.get("si_unit") or row["unit"])
    assert row["grade"] in GRADES
    assert row["description"]
    assert ordered(row["low"], row["value"], row["high"])
    assert bool(row["low"]) == bool(row["high"])
    assert row["low"] or row["grade"] == "defined", "a value that is not exact needs a low and a high"
    check_source(row)


@pytest.mark.parametrize("table", COEFFICIENTS)
def test_coefficients_have_units_grade_and_source(table: str) -> None:
    rows, units = read_table(table).rows, read_table(table).units
    words = {"name", "title", "grade", "source", "where", "description"}
    assert rows
    assert not units or {column for column, unit in units.items() if not unit} == words
    for row in rows:
        for unit in (*units.values(), *row.get("unit", "").split(" and ")):
            assert not unit or to_si(1.0, unit) > 0.0
        assert units or row["unit"]
        assert row["grade"] in GRADES
        assert row["description"]
        check_source(row)


def head(table: str) -> list[str]:
    lines = (DATA / table).read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line.startswith("#")]


@pytest.mark.parametrize("table", [*MADE, *FITTED])
def test_made_table_says_what_made_it(table: str) -> None:
    made = re.match(
        r"# made by: python -m tradespace\.data\.make\.(\w+) \(\w+ [\d.]+\)", "".join(head(table))
    )
    assert made
    assert (DATA / "make" / f"{made.group(1)}.py").is_file()


@pytest.mark.parametrize("table", MADE)
def test_made_grid_has_units_grade_and_source(table: str) -> None:
    assert any("grade computed" in line for line in head(table))
    assert set(re.findall(r"\w+_\d{4}", " ".join(head(table)))) & set(SOURCES)
    units = read_table(table).units
    assert list(units) == list(read_table(table).columns)
    for unit in units.values():
        assert to_si(1.0, unit) > 0.0


@pytest.mark.parametrize("name", QUANTITIES)
def test_quantity_has_units_bounds_and_meaning(name: str) -> None:
    row = QUANTITIES[name]
    conversion(row["display_unit"], row["unit"])
    assert to_si(1.0, row["unit"]) > 0.0
    assert row["role"] in {"input", "derived", "output"}
    assert row["section"]
    assert row["description"]
    assert row["better"] in {"", "lower", "higher"}
    assert ordered(row["low"], row["high"])
    if row["role"] == "output":
        assert not any(row[key] for key in ("low", "high", "default", "default_low", "default_high", "grade"))
        return
    assert row["low"]
    assert row["high"]
    assert ordered(row["low"], row["default_low"], row["default"], row["default_high"], row["high"])
    assert bool(row["default_low"]) == bool(row["default_high"])
    assert not row["default_low"] or row["default"]
    assert not row["default"] or row["default_low"] or row["source"] == "study_value"
    assert row["role"] == "input" or not row["default"]
    assert row["grade"] in GRADES
    check_source(row)


@pytest.mark.parametrize("name", BODIES)
def test_body_has_ranges_grades_and_sources(name: str) -> None:
    row = BODIES[name]
    assert float(row["gm"]) > 0.0
    for value, grade in (("radius", "radius_grade"), ("bond_albedo", "bond_albedo_grade")):
        assert bool(row[value]) == bool(row[grade])
        assert not row[value] or float(row[value]) > 0.0
    for grade in (row["gm_grade"], row["water_grade"], row["radius_grade"], row["bond_albedo_grade"]):
        assert grade in GRADES or not grade
    assert ordered("0", row["water_fraction_low"], row["water_fraction_high"], "1")
    assert ordered("0", row["bond_albedo"] or "0", "1")
    assert row["valid_from"] < row["valid_until"] or row["parent"] != "Sun"
    for prefix in ("gm_", "water_", "elements_", "physical_"):
        check_source(row, prefix)


def test_units_of_bodies_and_elements_are_known() -> None:
    for table in ("bodies.csv", "body_elements.csv", "planet_paths.csv", "moons.csv", "moon_wobbles.csv"):
        units = {column: unit for column, unit in read_table(table).units.items() if unit}
        assert units
        assert all(to_si(1.0, unit) > 0.0 for unit in units.values())
    known = {row["id"] for row in BODIES.values()}
    for table in (
        "body_elements.csv",
        "planet_paths.csv",
        "moons.csv",
        "moon_wobbles.csv",
        "spins.csv",
        "position_cautions.csv",
    ):
        assert {row["id"] for row in read_table(table).rows} <= known, table


def test_orbits_of_moons_and_spins_have_sources() -> None:
    assert {row["id"] for row in read_table("moons.csv").rows} == {
        row["id"] for row in BODIES.values() if row["group"] == "moon"
    }
    for row in read_table("moons.csv").rows:
        assert row["grade"] in GRADES
        check_source(row, "orbit_")
        check_source(row, "rotation_")
    for table in ("planet_paths.csv", "spins.csv", "position_cautions.csv"):
        for row in read_table(table).rows:
            check_source(row)


@pytest.mark.parametrize("key", SOURCES)
def test_source_says_what_it_is(key: str) -> None:
    row = SOURCES[key]
    assert re.fullmatch(r"[a-z0-9_]+", key)
    assert row["kind"]
    assert row["title"]
    assert row["authors"] or row["note"]
    assert re.fullmatch(r"\d{4}|", row["year"])


def test_sources_are_listed_once_in_order_and_all_are_used() -> None:
    keys = [row["key"] for row in read_table("sources.csv").rows]
    assert keys == sorted(set(keys))
    places = [
        path
        for path in PACKAGE.rglob("*")
        if path.suffix in {".csv", ".py", ".toml"} and path.name != "sources.csv"
    ]
    used = {word for path in places for word in re.findall(r"\w+", path.read_text(encoding="utf-8"))}
    assert set(keys) - used == SOURCES_NAMED_IN_WORDS


def test_no_table_names_a_place_on_a_machine_or_on_the_net() -> None:
    place = re.compile(
        r"(?:^|[\s,;(\"'])/\w+/|\b[A-Z]:\\|\w://|\bwww\.|\b\w+\.(?:com|org|net|io|dev)\b", re.M
    )
    for path in (*DATA.rglob("*.csv"), *DATA.rglob("*.toml")):
        found = place.search(path.read_text(encoding="utf-8"))
        assert found is None, (path.name, found)


def literals(path: Path) -> Iterator[tuple[int, float]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            yield node.lineno, node.value


def is_plain(number: float) -> bool:
    """Whether a literal is arithmetic: small, a count, or a power of ten (tolerances, prefixes of units)."""
    if number in SMALL or (isinstance(number, int) and number <= LARGEST_COUNT):
        return True
    return number == float(f"1e{round(math.log10(number))}")


@pytest.mark.parametrize("path", FORMULA_FILES, ids=[path.name for path in FORMULA_FILES])
def test_no_physical_number_stands_in_the_code(path: Path) -> None:
    odd = [
        (line, number)
        for line, number in literals(path)
        if not is_plain(number) and (path.name, number) not in NUMERICAL
    ]
    assert not odd, f"move to a table in tradespace/data: {odd}"


def test_the_check_of_literals_can_tell() -> None:
    assert not any(is_plain(number) for number in (9.80665, 1361.1, 273.15, 8.314, 5.67e-8, 0.7, 96485))
    named = {(path.name, number) for path in FORMULA_FILES for _, number in literals(path)}
    assert set(NUMERICAL) <= named, "an exception that is not needed any more"


OPTIONS = {
    f"{choice.name}:{option.name}:{name}": (choice, setting)
    for choice in choices().values()
    for option in choice.options.values()
    for name, setting in option.settings.items()
}


@pytest.mark.parametrize("name", OPTIONS)
def test_setting_of_an_option_has_range_grade_and_source(name: str) -> None:
    _, setting = OPTIONS[name]
    row = QUANTITIES[setting.quantity]
    assert row["role"] in {"input", "derived"}
    item = quantity(setting.quantity)
    assert item.within(setting.value)
    assert setting.low <= setting.value <= setting.high
    assert setting.grade in GRADES
    assert setting.description
    assert set(setting.source.split(";")) <= set(SOURCES)
    assert setting.where


def test_no_two_choices_set_the_same_quantity() -> None:
    owners: dict[str, set[str]] = {}
    for choice, setting in OPTIONS.values():
        owners.setdefault(setting.quantity, set()).add(choice.name)
    assert not {name: found for name, found in owners.items() if len(found) > 1}


def test_default_options_leave_the_defaults_as_they_are() -> None:
    for setting in settings_of({}).values():
        item = quantity(setting.quantity)
        if item.default is not None:
            ours = (setting.value, setting.low, setting.high)
            assert ours == pytest.approx((item.default, item.default_low, item.default_high)), item.name


def test_every_table_of_options_belongs_to_a_choice() -> None:
    assert {path.stem for path in (DATA / "options").glob("*.csv")} == set(choices())


@pytest.mark.parametrize(
    "one", valid_ranges(), ids=lambda one: f"{one.quantity}-{one.option}{one.architecture}"
)
def test_valid_range_is_an_interval_with_a_source(one: ValidRange) -> None:
    assert one.low < one.high
    assert one.source in SOURCES
    assert one.model
    assert one.where
    assert not one.choice or one.option in choices()[one.choice].options
    assert not one.architecture or one.architecture in registry()
