"""Bad input of every kind: exit code 2, one or two clear lines, no traceback, nothing left on disk."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_studies import SURFACE, TOUR, line_of

from tradespace.cli import main
from tradespace.errors import StudyError
from tradespace.study import parse_study


@pytest.fixture(autouse=True)
def _empty_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def refused(*arguments: str) -> str:
    """Run a command that must fail cleanly and give its message."""
    before = sorted(Path.cwd().rglob("*"))
    result: Result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 2, result.output
    assert isinstance(result.exception, SystemExit)
    assert result.stdout == ""
    lines = result.stderr.rstrip("\n").split("\n")
    assert 1 <= len(lines) <= 2, result.stderr
    assert all(line.isprintable() for line in lines)
    assert "Traceback" not in result.stderr
    assert sorted(Path.cwd().rglob("*")) == before, "something was left on disk"
    return result.stderr


def refused_study(text: str, *words: str, line: int | None = None) -> None:
    """Run a study text that must be refused with these words, at this line."""
    Path("bad.toml").write_text(text, encoding="utf-8")
    message = refused("run", "bad.toml")
    for word in words:
        assert word in message
    assert message.startswith(f"tradespace: bad.toml:{line}: " if line else "tradespace: bad.toml")


def changed(old: str, new: str, text: str = TOUR) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


REPLACED_LINES = [
    # (old line, new line, words of the message)
    (
        'payload_mass = "60 kg"',
        'payload_mas = "60 kg"',
        ["craft.payload_mas", "unknown key", "'payload_mass'"],
    ),
    (
        'payload_mass = "60 kg"',
        'ice_fraction = "5 %"\npayload_mass = "60 kg"',
        ["belongs in the section [extraction]"],
    ),
    ('launch_mass = "900 kg"', 'launch_mass = "900"', ["start.launch_mass", "has no unit", "900 kg"]),
    ('launch_mass = "900 kg"', "launch_mass = 900", ["start.launch_mass", "has no unit"]),
    ('launch_mass = "900 kg"', 'launch_mass = "900 kW"', ["start.launch_mass", "'kW'", "'kg'"]),
    (
        'launch_mass = "900 kg"',
        'launch_mass = "900 kgg"',
        ["start.launch_mass", "unknown unit 'kgg'", "'kg'"],
    ),
    ('launch_mass = "900 kg"', 'launch_mass = "-900 kg"', ["out of bounds", "allowed 0.1 kg to 1e+08 kg"]),
    ('launch_mass = "900 kg"', 'launch_mass = "1e999 kg"', ["not a finite number"]),
    ('launch_mass = "900 kg"', "launch_mass = true", ["cannot read True"]),
    ('launch_mass = "900 kg"', 'launch_mass = ["900 kg"]', ["cannot read"]),
    ('ice_fraction = "10 %"', 'ice_fraction = "150 %"', ["out of bounds", "0.1 % to 100 %"]),
    ('ice_fraction = "10 %"', "ice_fraction = nan", ["not a finite number"]),
    (
        'body = "24 Themis"',
        'body = "24 Themiss"',
        ["unknown body '24 Themiss'", "Themis", "tradespace list bodies"],
    ),
    ('body = "24 Themis"', "body = 24", ["start.body", "quotation marks"]),
    ('body = "24 Themis"', 'body = "Jupiter"', ["start.body", "Jupiter", "no surface"]),
    ('body = "24 Themis"', 'body = "313P"', ["start.body", "rotation period", "not known"]),
    ('date = "2031-05-01"', 'date = "1031-05-01"', ["start.date", "Themis", "allowed 2025-"]),
    ('date = "2031-05-01"', 'date = "May 2031"', ["start.date", "as a date"]),
    (
        'horizon = "2041-12-31"',
        'horizon = "2091-12-31"',
        ["route.horizon", "Themis", "2091-12-31", "allowed 2025-"],
    ),
    (
        'horizon = "2041-12-31"',
        'horizon = "2030-12-31"',
        ["route.horizon", "not after the start date 2031-05-01"],
    ),
    ('horizon = "2041-12-31"', 'horizon = "soon"', ["route.horizon", "as a date"]),
    ('stops = ["90 Antiope"]', "stops = []", ["route.stops", "empty", "at least one body"]),
    (
        'stops = ["90 Antiope"]',
        'stops = ["Themis", "Antiope"]',
        ["route.stops", "a hop from Themis to itself"],
    ),
    ('stops = ["90 Antiope"]', 'stops = ["Antiope", "90 antiope"]', ["a hop from Antiope to itself"]),
    ('stops = ["90 Antiope"]', 'stops = "Antiope"', ["route.stops", "a list of bodies"]),
    ('stops = ["90 Antiope"]', 'stops = ["Antiope2"]', ["unknown body 'Antiope2'", "'Antiope'"]),
    ('flight_time = ["200 d", "1500 d"]', 'flight_time = ["1500 d", "200 d"]', ["flight_time", "not below"]),
    (
        'flight_time = ["200 d", "1500 d"]',
        'flight_time = ["200 km", "1500 d"]',
        ["flight_time", "'km'", "'d'"],
    ),
    ('flight_time = ["200 d", "1500 d"]', 'flight_time = "200 d"', ["flight_time", "not a pair"]),
    ('flight_time = ["200 d", "1500 d"]', 'flight_time = ["-2 d", "1500 d"]', ["longer than zero"]),
    ('kind = "tour"', 'kind = "cruise"', ["study.kind", '"tour", "surface"']),
    ('name = "small_tour"', 'name = "small tour/../x"', ["study.name", "letters, digits and underscores"]),
    ("seed = 0", "seed = -1", ["study.seed", "whole number"]),
    ("seed = 0", "seed = 1.5", ["study.seed", "whole number"]),
    ("seed = 0", "sed = 1", ["study.sed", "unknown key", "'seed'"]),
    ("seed = 0", 'map = ["array_area", "ice_fraction"]', ["study.map", '"ice_fraction" is not swept']),
    ("seed = 0", 'map = ["array_area", "array_area"]', ["study.map", "twice"]),
    ("seed = 0", 'map = "array_area"', ["study.map", "two swept variables"]),
    (
        'figure_of_merit = "mission_time"',
        'figure_of_merit = "mision_time"',
        ["figure_of_merit", "'mission_time'"],
    ),
    ('figure_of_merit = "mission_time"', 'figure_of_merit = "tank_volume"', ["better or worse"]),
    (
        'ice_fraction = ["5 %", "20 %"]',
        'ice_fraction = ["20 %", "5 %"]',
        ["ranges.ice_fraction", "not below"],
    ),
    ('ice_fraction = ["5 %", "20 %"]', 'ice_fraction = "5 %"', ["ranges.ice_fraction", "low and high"]),
    (
        'ice_fraction = ["5 %", "20 %"]',
        'ice_fracton = ["5 %", "20 %"]',
        ["unknown quantity", "'ice_fraction'"],
    ),
    (
        'ice_fraction = ["5 %", "20 %"]',
        'dry_mass = ["5 kg", "20 kg"]',
        ["ranges.dry_mass", "unknown quantity"],
    ),
    (
        'include = ["electrolysis_bipropellant", "steam_resistojet"]',
        'include = ["steam_resistojett"]',
        ['unknown architecture "steam_resistojett"', "'steam_resistojet'", "tradespace list thrusters"],
    ),
    (
        'include = ["electrolysis_bipropellant", "steam_resistojet"]',
        'include = ["steam_resistojet", "steam_resistojet"]',
        ["architectures.include", "listed twice"],
    ),
    ('include = ["electrolysis_bipropellant", "steam_resistojet"]', "include = 3", ["must be a list"]),
    ('include = ["electrolysis_bipropellant", "steam_resistojet"]', "exclude = []", ["allowed: include"]),
    ('name = "bench_engine"', 'name = "steam_resistojet"', ["thruster.1.name", "name of another thruster"]),
    (
        'name = "bench_engine"',
        'name = "bench engine"',
        ["thruster.1.name", "letters, digits and underscores"],
    ),
    (
        'specific_impulse = "310 s"',
        'specific_impulse = "310 N"',
        ["thruster.1.specific_impulse", "'N'", "'s'"],
    ),
    ('specific_impulse = "310 s"', 'specific_impulse = "0 s"', ["thruster.1.specific_impulse", "above zero"]),
    ('specific_impulse = "310 s"', 'specific_impuls = "310 s"', ["specific_impuls", "'specific_impulse'"]),
    ('storage = "gas"', 'storage = "tank"', ["thruster.1.storage", '"water", "gas"']),
    ('storage = "gas"', 'refuels = "yes"', ["thruster.1.refuels", "true or false"]),
    ('solve = "array_area"', 'solve = "aray_area"', ["solve.solve", "'array_area'"]),
    ('until = "refuel_time <= 300 d"', 'until = "refuel_time < 300 d"', ["solve.until", "<= or >="]),
    (
        'until = "refuel_time <= 300 d"',
        'until = "refuel_tim <= 300 d"',
        ["unknown output column", "'refuel_time'"],
    ),
    ('until = "refuel_time <= 300 d"', 'until = "refuel_time <= 300 kg"', ["solve.until", "'kg'"]),
    ('until = "refuel_time <= 300 d"', 'until = "refuel_time <= 300"', ["solve.until", "has no unit"]),
    ('until = "refuel_time <= 300 d"', "until = 300", ["solve.until", "<= or >="]),
]


@pytest.mark.parametrize(
    ("old", "new", "words"), REPLACED_LINES, ids=[new[:40] for _, new, _ in REPLACED_LINES]
)
def test_a_wrong_entry_is_named_with_its_line(old: str, new: str, words: list[str]) -> None:
    text = changed(old, new)
    refused_study(text, *words, line=line_of(text, new.split("\n", maxsplit=1)[0]))


SWEEPS = [
    ('{ low = "10 m2", high = "90 m2" }', "count is missing"),
    ('{ low = "10 m2", high = "90 m2", count = 1 }', "at least 2"),
    ('{ low = "10 m2", high = "90 m2", count = 2.5 }', "at least 2"),
    ('{ low = "10 m2", high = "90 m2", count = true }', "at least 2"),
    ('{ low = "90 m2", high = "10 m2", count = 3 }', "not below"),
    ('{ low = "10", high = "90 m2", count = 3 }', "has no unit"),
    ('{ low = "10 m2", high = "1e9 m2", count = 3 }', "out of bounds"),
    ('{ low = "10 m2", high = "90 m2", count = 3, spacing = "cubic" }', "linear, log"),
    ('{ low = "10 m2", high = "90 m2", count = 3, step = 1 }', 'unknown key "step"'),
    ("{ values = [] }", "at least one entry"),
    ('{ values = ["10 m2", "10 m2"] }', "listed twice"),
    ('{ values = ["10 m2"], count = 3 }', "stand alone"),
    ('"10 m2"', "must be { low"),
]


@pytest.mark.parametrize(("entry", "words"), SWEEPS)
def test_a_wrong_sweep_is_refused(entry: str, words: str) -> None:
    old = '{ low = "10 m2", high = "90 m2", count = 3, spacing = "log" }'
    text = changed(old, entry)
    refused_study(text, "sweep.array_area", words, line=line_of(text, f"array_area = {entry}"))


def test_log_spacing_needs_values_above_zero() -> None:
    text = changed(
        "current_density = {",
        'array_age = { low = "0 yr", high = "5 yr", count = 3, spacing = "log" }\ncurrent_density = {',
    )
    refused_study(text, "sweep.array_age", "above zero for log spacing")


@pytest.mark.parametrize("count", [40_000_000, 10**12, 10**30, 10**400])
def test_too_many_designs_are_refused_at_once_without_being_made(count: int) -> None:
    text = changed("count = 3", f"count = {count}")
    Path("bad.toml").write_text(text, encoding="utf-8")
    started = time.perf_counter()
    message = refused("run", "bad.toml")
    assert time.perf_counter() - started < 5.0
    assert "200,000,000" in message
    assert "lower a count" in message
    assert f"{count * 6:,} designs" in message or "10^" in message
    assert len(message) < 400


def test_the_limit_counts_all_variables_and_architectures() -> None:
    text = changed("count = 3", "count = 40000000")  # times 2 current densities, times 3 architectures
    refused_study(text, "240,000,000 designs (3 architectures included)", line=line_of(text, "[sweep]"))


def test_a_derived_variable_cannot_be_swept_with_what_it_replaces() -> None:
    text = changed("[solve]", 'array_power = { low = "5 kW", high = "9 kW", count = 3 }\n[solve]')
    refused_study(text, "sweep.array_area", "cannot be swept together with array_power")


def test_a_swept_variable_must_have_an_effect() -> None:
    text = changed("array_power = { low", 'ice_fraction = { values = ["5 %"] }\narray_power = { low', SURFACE)
    text = changed("[architectures]", '[extraction]\nextraction_energy = "3 kWh/kg"\n[architectures]', text)
    refused_study(text, "sweep.ice_fraction", "no effect", "extraction_energy")


def test_array_area_and_array_power_cannot_both_be_given() -> None:
    text = changed('array_area = "40 m2"', 'array_area = "40 m2"\narray_power = "9 kW"')
    text = changed('array_area = { low = "10 m2", high = "90 m2", count = 3, spacing = "log" }\n', "", text)
    refused_study(text, "sunlight.array_area", "replaced by array_power")


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ('launch_mass = "900 kg"', "start.launch_mass"),
        ('payload_mass = "60 kg"', "craft.payload_mass"),
        ('hop_delta_v_capacity = "2.95 km/s"', "craft.hop_delta_v_capacity"),
        ('body = "24 Themis"', "start.body"),
        ('date = "2031-05-01"', "start.date"),
        ('stops = ["90 Antiope"]', "route.stops"),
        ('horizon = "2041-12-31"', "route.horizon"),
        ('flight_time = ["200 d", "1500 d"]', "route.flight_time"),
        ('name = "small_tour"', "study.name"),
        ('kind = "tour"', "study.kind"),
        ('thrust = "1.2 N"', "thruster.1.thrust"),
    ],
)
def test_a_missing_entry_is_named(line: str, key: str) -> None:
    refused_study(changed(line + "\n", ""), f"{key}: is missing")


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("hops = 3", "route.hops"),
        ('hop_distance = "20 km"', "route.hop_distance"),
        ('mission_duration = "3 yr"', "route.mission_duration"),
    ],
)
def test_a_missing_entry_of_a_surface_study_is_named(line: str, key: str) -> None:
    refused_study(changed(line + "\n", "", SURFACE), f"{key}: is missing")


def test_the_array_must_be_given_or_swept() -> None:
    text = changed('array_area = "40 m2"\n', "")
    text = changed('array_area = { low = "10 m2", high = "90 m2", count = 3, spacing = "log" }\n', "", text)
    refused_study(text, "sunlight.array_area: is missing (or array_power)")


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("hops = 3", TOUR, 'route.hops: is for a study of kind "surface"'),
        ('hop_distance = "20 km"', TOUR, 'route.hop_distance: is for a study of kind "surface"'),
        ('horizon = "2041-12-31"', SURFACE, 'route.horizon: is for a study of kind "tour"'),
        ("hops = 0", SURFACE.replace("hops = 3\n", ""), "route.hops: 0 is not allowed"),
        ("hops = 100000", SURFACE.replace("hops = 3\n", ""), "1 to 1000"),
        ('hops = "3"', SURFACE.replace("hops = 3\n", ""), "whole number"),
    ],
)
def test_a_route_entry_of_the_wrong_kind_is_refused(key: str, text: str, words: str) -> None:
    text = changed("[route]\n", f"[route]\n{key}\n", text)
    refused_study(text, words, line=line_of(text, key))


def test_an_unknown_section_is_named_with_the_nearest() -> None:
    text = changed("[craft]", "[crafts]")
    refused_study(text, "crafts: unknown section", "'craft'")


def test_a_section_must_be_a_section() -> None:
    refused_study(
        "craft = 3\n" + TOUR.replace("[craft]\n", "[thermal]\n"), "craft: must be a section", line=1
    )
    refused_study(changed("[[thruster]]", "[thruster]"), "[[thruster]]")


@pytest.mark.parametrize("missing", ["study", "start", "route"])
def test_a_missing_section_is_named(missing: str) -> None:
    parts = TOUR.split("\n\n")
    text = "\n\n".join(part for part in parts if not part.startswith(f"[{missing}]"))
    Path("bad.toml").write_text(text, encoding="utf-8")
    assert f"{missing}" in refused("run", "bad.toml")


def test_several_mistakes_are_counted_and_the_first_is_told() -> None:
    text = changed("seed = 0", "seed = -3")
    text = changed('launch_mass = "900 kg"', 'launch_mass = "9"', text)
    text = changed('payload_mass = "60 kg"', 'payload_mass = "6"', text)
    lines = [line_of(text, "launch_mass"), line_of(text, "payload_mass")]
    refused_study(
        text, "study.seed", f"and 2 more, see line {lines[0]}, {lines[1]}", line=line_of(text, "seed")
    )


def test_an_empty_file_is_not_a_study() -> None:
    refused_study("", "[study] is missing")


def test_text_that_is_not_toml_is_refused_with_line_and_column() -> None:
    refused_study(changed("[start]", "[start"), "not valid TOML", "column", line=line_of(TOUR, "[start]"))
    refused_study("{}" * 50, "not valid TOML", "column", line=1)
    refused_study(TOUR + 'x = """never closed', "not valid TOML")


def test_a_name_given_twice_is_refused() -> None:
    text = changed('launch_mass = "900 kg"', 'launch_mass = "900 kg"\nlaunch_mass = "800 kg"')
    refused_study(text, "not valid TOML", line=line_of(text, 'launch_mass = "800 kg"'))
    refused_study(changed("[extraction]", "[craft]"), "not valid TOML")


def test_two_thrusters_cannot_share_a_name() -> None:
    start = TOUR.index("[[thruster]]")
    block = TOUR[start : TOUR.index("[sweep]")]
    refused_study(TOUR.replace("[sweep]", block + "[sweep]"), "thruster.2.name", "another thruster")


def test_deep_nesting_and_endless_numbers_are_refused() -> None:
    refused_study("a = " + "[" * 5000, "nested too deeply")
    refused_study("a = " + "9" * 6000, "not valid TOML")


def test_binary_content_is_refused() -> None:
    Path("nul.toml").write_bytes(b'[study]\nname = "a\x00b"\n')
    assert "nul.toml:2: contains a NUL byte" in refused("run", "nul.toml")
    Path("latin.toml").write_bytes('[study]\ntitle = "Größe"\n'.encode("latin-1"))
    assert "latin.toml:2: is not UTF-8 text" in refused("run", "latin.toml")
    Path("huge.toml").write_bytes(b"#" * 2_100_000)
    assert "too large for a study file" in refused("run", "huge.toml")


def test_files_that_are_not_there_or_not_files_are_refused() -> None:
    assert "absent.toml: no such study file" in refused("run", "absent.toml")
    Path("folder.toml").mkdir()
    assert "folder.toml: is a folder" in refused("run", "folder.toml")
    assert "not a usable file name" in refused("run", "a" * 5000) or "no such" in refused("run", "a" * 5000)
    assert "tradespace" in refused("run", "nul\x00byte")
    if hasattr(os, "mkfifo"):
        os.mkfifo("pipe.toml")
        assert "pipe.toml: is not a regular file" in refused("run", "pipe.toml")


def test_an_unreadable_file_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def forbid(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    Path("closed.toml").write_text(TOUR, encoding="utf-8")
    monkeypatch.setattr(Path, "read_bytes", forbid)
    assert "closed.toml: cannot be read (Permission denied)" in refused("run", "closed.toml")


def test_hostile_names_cannot_steer_the_terminal() -> None:
    text = changed("[craft]", '[craft]\n"\\u001b[31mred\\nline" = 1')
    refused_study(text, "\\x1b[31mred\\nline")
    text = changed('body = "24 Themis"', 'body = "\\u001b]0;x\\u0007"')
    refused_study(text, "unknown body")


def test_a_very_long_value_is_shortened_in_the_message() -> None:
    Path("bad.toml").write_text(
        changed('launch_mass = "900 kg"', f'launch_mass = "{"9" * 9000}"'), encoding="utf-8"
    )
    assert len(refused("run", "bad.toml")) < 400


COMMANDS = [
    (["transfer", "Earth", "Mars"], "--after and --before"),
    (["transfer", "Earth", "Mars", "--after", "2026-01-01"], "--after and --before"),
    (
        ["transfer", "Earth", "Mars", "--depart", "2026-01-01", "--before", "2026-02-01"],
        "--depart and --arrive",
    ),
    (
        ["transfer", "Earth", "Mars", "--after", "2026-02-30", "--before", "2026-02-01"],
        "--after: cannot read",
    ),
    (["transfer", "Earth", "Mars", "--after", "2027-01-01", "--before", "2026-01-01"], "2026-01-01"),
    (["transfer", "Earth", "Earth", "--after", "2026-01-01", "--before", "2027-01-01"], "Earth"),
    (["transfer", "Earth", "Marz", "--after", "2026-01-01", "--before", "2027-01-01"], "did you mean 'Mars'"),
    (["transfer", "Earth", "Mars", "--depart", "1026-01-01", "--arrive", "1027-01-01"], "1026-01-01"),
    (
        ["transfer", "Earth", "Mars", "--after", "2026-01-01", "--before", "2027-01-01", "--type", "13"],
        "--type",
    ),
    (
        ["transfer", "Earth", "Mars", "--after", "2026-01-01", "--before", "2027-01-01", "--minimise", "x"],
        "'c3'",
    ),
    (
        ["chamber", "--mixture-ratio", "7.9", "--chamber-pressure", "10", "--expansion-ratio", "50"],
        "--chamber-pressure",
    ),
    (["chamber", "--mixture-ratio", "70", "--chamber-pressure", "10 bar", "--expansion-ratio", "50"], "70"),
    (
        ["chamber", "--mixture-ratio", "eight", "--chamber-pressure", "10 bar", "--expansion-ratio", "50"],
        "'eight'",
    ),
    (["chamber", "--mixture-ratio", "8"], "Missing option"),
    (
        ["cell", "--current-density", "0.3", "--temperature", "80 degC", "--pressure", "1 bar"],
        "--current-density",
    ),
    (["cell", "--current-density", "0.3 A/cm2", "--temperature", "80 C", "--pressure", "1 bar"], "'degC'"),
    (["cell", "--current-density", "-1 A/cm2", "--temperature", "80 degC", "--pressure", "1 bar"], "current"),
    (
        [
            "cell",
            "--kind",
            "x",
            "--current-density",
            "1 A/cm2",
            "--temperature",
            "80 degC",
            "--pressure",
            "1 bar",
        ],
        "'x'",
    ),
    (["list", "planets"], "bodies"),
    (["lst"], "No such command 'lst'"),
    (["run"], "Missing argument"),
    (["run", "--fast", "x"], "--fast"),
    (["report", "nowhere"], "nowhere"),
    (["report", "nowhere", "--figures", "pdf,bmp"], "pdf, svg, csv"),
    (["sensitivity", "nowhere"], "no such study file"),
    (["new", "no/slash"], "letters, digits and underscores"),
    (["new", ""], "letters, digits and underscores"),
    (["new", "fresh", "--from", "absent.toml"], "no such study file"),
]


@pytest.mark.parametrize(("arguments", "words"), COMMANDS, ids=[" ".join(item[0])[:60] for item in COMMANDS])
def test_wrong_options_and_arguments_are_refused(arguments: list[str], words: str) -> None:
    assert words in refused(*arguments)


def test_new_never_overwrites() -> None:
    Path("mine.toml").write_text("precious", encoding="utf-8")
    assert "mine.toml exists already" in refused("new", "mine")
    assert Path("mine.toml").read_text(encoding="utf-8") == "precious"


def test_new_from_a_study_that_cannot_run_writes_nothing() -> None:
    Path("bad.toml").write_text(changed("seed = 0", "seed = -1"), encoding="utf-8")
    assert "study.seed" in refused("new", "copy", "--from", "bad.toml")


def test_an_output_folder_that_is_a_file_is_refused() -> None:
    Path("good.toml").write_text(TOUR, encoding="utf-8")
    Path("taken").write_text("precious", encoding="utf-8")
    assert "taken" in refused("run", "good.toml", "--out", "taken")
    assert "below" in refused("run", "good.toml", "--out", "taken/below")
    assert Path("taken").read_text(encoding="utf-8") == "precious"


def test_a_folder_that_holds_something_else_is_never_replaced() -> None:
    Path("good.toml").write_text(TOUR, encoding="utf-8")
    Path("photos").mkdir()
    Path("photos/one.txt").write_text("precious", encoding="utf-8")
    assert "photos" in refused("run", "good.toml", "--out", "photos", "--overwrite")
    assert Path("photos/one.txt").read_text(encoding="utf-8") == "precious"


def test_an_unknown_architecture_of_a_baseline_is_named() -> None:
    Path("good.toml").write_text(TOUR, encoding="utf-8")
    assert "'bench_engine'" in refused("baseline", "good.toml", "--architecture", "bench_engin")


ODD = [
    *('""', '"x"', "[]", "{}", "[[]]", "[{}]", "1", "-1", "nan", "inf", "true", "2031-01-01", "12:00:00"),
    *('"1 kg"', '"1e308 kg"', '"-1 d"', '"9999-12-31"', '"0001-01-01"', '["1 d", "2 d"]', '["1 kg", 3]'),
    *("{low = 1}", "{low = [], high = {}, count = 3}", "{values = [1, []]}", "{values = {a = 1}}", '"Earth"'),
    *('["Mars", "Earth"]', '"closes >= 1"', "9223372036854775807", '"\\u0000 kg"'),
]


@pytest.mark.parametrize("odd", ODD)
def test_any_value_in_any_place_is_read_or_refused_as_a_study_error(odd: str) -> None:
    for text in (TOUR, SURFACE):
        lines = text.split("\n")
        for number, line in enumerate(lines):
            if "=" not in line:
                continue
            changed_line = f"{line.split('=')[0]}= {odd}"
            try:
                parse_study("\n".join([*lines[:number], changed_line, *lines[number + 1 :]]))
            except StudyError as error:
                told = str(error).split("\n")
                assert len(told) <= 2
                assert all(part.isprintable() and len(part) < 500 for part in told)


def test_a_hop_of_more_than_half_the_circumference_is_refused() -> None:
    line = line_of(SURFACE, 'hop_distance = "20 km"')
    refused_study(
        changed('hop_distance = "20 km"', 'hop_distance = "2000 km"', SURFACE),
        "route.hop_distance", "2000 km", "half its circumference", "1476 km",
        line=line,
    )  # fmt: skip


@pytest.mark.parametrize("name", ["Jupiter", "saturn"])
def test_a_body_without_a_surface_is_refused(name: str) -> None:
    text = changed('"90 Antiope"', f'"{name}"')
    refused_study(text, "route.stops", "no surface to land on")


def test_an_unknown_kind_of_cell_names_the_known_ones() -> None:
    words = ["--current-density", "0.3 A/cm2", "--temperature", "80 degC", "--pressure", "1 bar"]
    assert "allowed: alkaline" in refused("cell", "--kind", "pem", *words)
