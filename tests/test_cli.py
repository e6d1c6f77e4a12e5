"""The command line as people and programs meet it."""

from __future__ import annotations

import json
import math
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from small_studies import SURFACE, TOUR

import tradespace
from tradespace import report, sweep
from tradespace.cli import main, running
from tradespace.cli.asking import renamed
from tradespace.study import parse_study

HEAVY = ("numpy", "numba", "scipy", "pandas", "pyarrow", "astropy", "boinor", "plotly", "rich", "tomllib")

CELL = ("cell", "--current-density", "0.3 A/cm2", "--temperature", "80 degC", "--pressure", "1 bar")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small_tour.toml").write_text(TOUR, encoding="utf-8")
    (tmp_path / "small_hopper.toml").write_text(SURFACE, encoding="utf-8")
    return tmp_path


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """One real run of the small hopper: its folder and what was printed."""
    folder = tmp_path_factory.mktemp("runs")
    study = folder / "small_hopper.toml"
    study.write_text(SURFACE, encoding="utf-8")
    yield folder / "run", told("run", str(study), "--out", str(folder / "run"))


def told(*arguments: str) -> str:
    """What a command prints when all is well."""
    result = CliRunner().invoke(main, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout


def answered(*arguments: str) -> dict[str, Any]:
    """The one JSON object a command prints; anything that is not JSON, such as NaN, fails."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    content = json.loads(told(*arguments, "--json"), parse_constant=refuse)
    assert isinstance(content, dict)
    return content


def test_starting_up_imports_nothing_heavy() -> None:
    code = f"import sys, tradespace.cli; print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_package_runs_as_a_module_and_tells_its_version() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tradespace", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == f"tradespace {tradespace.__version__}"


def test_a_closed_pipe_is_met_quietly() -> None:
    command = [sys.executable, "-m", "tradespace", "list", "quantities"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        errors = process.stderr.read()
    assert errors == b""


def test_public_names_are_found_lazily() -> None:
    assert set(tradespace.__all__) <= set(dir(tradespace))
    for name in tradespace.__all__:
        assert getattr(tradespace, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = tradespace.nothing


def test_help_names_every_command_and_each_command_explains_itself() -> None:
    text = told("--help")
    assert told() == text
    for name, command in main.commands.items():
        assert name in text
        assert command.help
        assert command.help.splitlines()[0][:20] in told(name, "--help")


def test_new_writes_a_commented_study_that_checks(place: Path) -> None:
    assert "wrote mine.toml" in told("new", "mine")
    text = (place / "mine.toml").read_text(encoding="utf-8")
    assert text.count("#") > 15
    assert answered("check", "mine.toml")["study"] == "mine"


def test_new_from_a_study_changes_its_name_only(place: Path) -> None:
    told("new", "copy.toml", "--from", "small_tour.toml")
    copy = parse_study((place / "copy.toml").read_text(encoding="utf-8"))
    assert copy.name == "copy"
    assert copy.values == parse_study(TOUR).values


def test_renaming_leaves_thruster_names_alone() -> None:
    study = parse_study(renamed(TOUR, "other"))
    assert study.name == "other"
    assert "bench_engine" in study.architectures


def test_studies_are_found_by_name_in_the_studies_folder(place: Path) -> None:
    (place / "studies").mkdir()
    (place / "small_tour.toml").rename(place / "studies" / "small_tour.toml")
    assert answered("check", "small_tour")["study"] == "small_tour"
    rows = {row["study"]: row for row in answered("list", "studies")["studies"]}
    assert rows["small_tour"]["title"] == "Small tour"


def test_check_tells_what_would_be_run(place: Path) -> None:
    text = told("check", "small_tour.toml")
    for words in (
        "Themis > Antiope",
        "2031-05-01 to 2041-12-31",
        "bench_engine",
        "18",
        "refuel_time <= 300 d",
    ):
        assert words in text
    content = answered("check", "small_tour.toml")
    assert content["designs"] == 18
    assert content["sweep"]["array_area_m2"] == pytest.approx([10.0, 30.0, 90.0])
    assert content["values"]["hop_delta_v_capacity_km_s"] == 2.95
    assert content["solve"] == {
        "variable": "array_area", "column": "refuel_time", "relation": "<=", "limit": 300.0, "unit": "d",
    }  # fmt: skip
    assert sorted(path.name for path in place.iterdir()) == ["small_hopper.toml", "small_tour.toml"]


def test_check_writes_out_control_characters(place: Path) -> None:
    hostile = TOUR.replace('"Small tour"', '"red \\u001b[31m\\nsecond"')
    (place / "hostile.toml").write_text(hostile, encoding="utf-8")
    text = told("check", "hostile.toml")
    assert "\x1b" not in text
    assert "red \\x1b[31m\\nsecond" in text
    assert answered("check", "hostile.toml")["title"] == "red \x1b[31m\nsecond"


@pytest.mark.parametrize(
    ("what", "member"),
    [
        ("bodies", "24 Themis"),
        ("thrusters", "steam_resistojet"),
        ("quantities", "array_area"),
        ("studies", "small_tour"),
        ("sources", "irena_2022"),
    ],
)
def test_lists_are_printed_as_columns_and_as_json(what: str, member: str, place: Path) -> None:
    (place / "studies").mkdir()
    (place / "small_tour.toml").rename(place / "studies" / "small_tour.toml")
    lines = told("list", what).splitlines()
    rows = answered("list", what)[what]
    assert len(lines) == len(rows) + 1
    assert any(member in line for line in lines)
    assert member in [next(iter(row.values())) for row in rows]


def test_transfer_searches_and_reproduces_given_dates() -> None:
    fixed = answered("transfer", "Earth", "Mars", "--depart", "2018-05-05", "--arrive", "2018-11-26")
    assert fixed["time_of_flight_d"] == pytest.approx(205.0)
    assert fixed["c3_km2_s2"] == pytest.approx(fixed["v_inf_departure_km_s"] ** 2)
    window = ("transfer", "Earth", "Mars", "--after", "2028-09-01", "--before", "2029-03-01")
    best = {aim: answered(*window, "--minimise", aim) for aim in ("c3", "arrival", "total")}
    assert answered(*window) == best["c3"]
    assert best["c3"]["c3_km2_s2"] <= min(item["c3_km2_s2"] for item in best.values()) + 1e-6
    assert (
        best["arrival"]["v_inf_arrival_km_s"]
        <= min(item["v_inf_arrival_km_s"] for item in best.values()) + 1e-6
    )
    for kind in ("1", "2"):
        assert answered(*window, "--type", kind)["transfer_type"] == int(kind)
    assert "c3_km2_s2" in told(*window)


def test_chamber_and_cell_print_a_caution_for_people_only() -> None:
    chamber = (
        "chamber",
        "--mixture-ratio",
        "7.94",
        "--chamber-pressure",
        "10 bar",
        "--expansion-ratio",
        "50",
    )
    cell = ("cell", "--current-density", "0.3 A/cm2", "--temperature", "80 degC", "--pressure", "1 bar")
    for command in (chamber, cell):
        last = told(*command).rstrip("\n").splitlines()[-1]
        assert last.startswith("Caution:")
        assert "local codes" in last
        assert "licensed practice" in last
        content = answered(*command)
        assert all(isinstance(value, float | str) for value in content.values())
        assert not any("aution" in key for key in content)
    assert "caustic" in told(*cell)
    assert answered(*chamber)["chamber_temperature_k"] > 3000.0
    assert answered(*chamber, "--thrust", "1 N")["specific_impulse_vacuum_delivered_s"] > 300.0
    assert answered(*cell)["kind"] == "alkaline"


def test_chamber_tells_wet_feed_and_lost_heat_and_the_impulse_of_water() -> None:
    command = ("chamber", "--mixture-ratio", "4", "--chamber-pressure", "10 bar", "--expansion-ratio", "50")
    dry, wet = answered(*command), answered(*command, "--feed-humidity", "3 %", "--heat-loss", "5 %")
    frozen = "specific_impulse_vacuum_frozen_s"
    assert dry[frozen] < dry["specific_impulse_vacuum_throat_frozen_s"]
    assert dry["specific_impulse_vacuum_throat_frozen_s"] < dry["specific_impulse_vacuum_equilibrium_s"]
    assert dry["water_specific_impulse_s"] == pytest.approx(0.5595 * dry[frozen], rel=1e-3)
    assert wet[frozen] < dry[frozen]
    assert wet["chamber_temperature_k"] < dry["chamber_temperature_k"]
    result = CliRunner().invoke(main, [*command, "--heat-loss", "90 %"])
    assert result.exit_code != 0
    assert "heat loss" in str(result.exception) + result.output


def test_a_cell_of_each_kind_is_answered_part_by_part() -> None:
    places = {
        "alkaline": ("0.3 A/cm2", "80 degC", "1 bar"),
        "membrane": ("1.5 A/cm2", "70 degC", "30 bar"),
        "solid_oxide": ("0.6 A/cm2", "800 degC", "1 bar"),
        "common_duct": ("50 mA/cm2", "40 degC", "1 bar"),
    }
    for kind, (density, temperature, pressure) in places.items():
        at = ("--current-density", density, "--temperature", temperature, "--pressure", pressure)
        words = ("cell", "--kind", kind, *at)
        state = answered(*words)
        assert state["kind"] == kind
        parts = state["reversible_voltage_v"] + sum(state[key] for key in state if key.endswith("_part_v"))
        assert state["cell_voltage_v"] == pytest.approx(parts)
        older = answered(*words, "--age", "1000 h", "--ageing-rate", "5 uV/h")
        assert older["cell_voltage_v"] - state["cell_voltage_v"] == pytest.approx(0.005)
        names = ("thermoneutral", "thermoneutral_cold_feed", "thermoneutral_vapour_laden")
        assert {f"{name}_voltage_v" for name in names} <= set(state)
    assert answered(*CELL)["cell_voltage_v"] == pytest.approx(1.7424, abs=1e-4)
    assert answered(*CELL, "--electrode-gap", "2 mm")["ohmic_part_v"] > answered(*CELL)["ohmic_part_v"]
    weak = answered(*CELL, "--electrolyte-strength", "10 %")
    assert weak["ohmic_part_v"] > answered(*CELL)["ohmic_part_v"]


def test_a_cell_out_of_range_is_refused_in_the_units_of_its_options() -> None:
    for words, message in (
        (("--current-density", "5 A/cm2"), "current density 5 A/cm2 lies outside 0 to 3 A/cm2"),
        (("--temperature", "95 degC"), "temperature 95 degC lies outside 5 to 90 degC"),
        (("--pressure", "0.2 bar"), "pressure 0.2 bar does not keep the water liquid"),
        (("--electrode-gap", "-2 mm"), "electrode gap -2 mm must be 0 mm or more"),
        (("--electrolyte-strength", "80 %"), "electrolyte strength 80 % lies outside 0.5 to 45 %"),
        (("--electrolyte", "table_salt"), "unknown electrolyte 'table_salt'"),
        (("--membrane-thickness", "50"), "--membrane-thickness:"),
    ):
        result = CliRunner().invoke(main, [*CELL, *words])
        assert result.exit_code == 2
        assert message in result.output
    assert "Caution" in told("cell", "--help")


def test_a_run_is_summarised_best_first(finished: tuple[Path, str]) -> None:
    folder, text = finished
    assert (folder / "report.html").is_file()
    assert (folder / "summary.json").is_file()
    assert "designs per second" in text
    for name in ("electrolysis_bipropellant", "steam_resistojet"):
        assert name in text
    assert "best mission_time" in text
    results = sweep.read_run(folder)
    closing = {name: int(results.counts().loc[name, "closing"]) for name in results.architectures}
    for line in text.splitlines():
        if line.split() and line.split()[0] in closing:
            assert line.split()[2:4] == ["3", str(closing[line.split()[0]])]
            assert ("none closes" in line) == (closing[line.split()[0]] == 0)


def test_a_run_in_json_is_one_object(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(report, "write_report", lambda *_: None)  # as in the run that is summarised
    monkeypatch.setattr(running, "analysed", lambda *_: None)
    content = answered("run", "small_hopper.toml")
    assert content["designs"] == 6
    assert Path(content["folder"]) == Path("runs/small_hopper")
    assert (place / "runs/small_hopper/summary.json").is_file()


def test_a_report_can_be_written_again(finished: tuple[Path, str]) -> None:
    folder, _ = finished
    (folder / "report.html").unlink()
    assert "report.html" in told("report", str(folder), "--figures", "csv")
    assert (folder / "report.html").is_file()
    assert list((folder / "figures").glob("*.csv"))


def test_sensitivity_of_a_run_is_what_it_stored(finished: tuple[Path, str]) -> None:
    folder, _ = finished
    content = answered("sensitivity", str(folder))
    stored = sweep.read_run(folder).sensitivity
    assert stored is not None
    assert len(content["tornado"]) == len(stored.tornado) > 0
    row = content["tornado"][0]
    assert {
        "architecture",
        "quantity",
        "low",
        "high",
        "unit",
        "metric",
        "metric_unit",
        "at_low",
        "at_high",
    } <= set(row)
    text = told("sensitivity", str(folder))
    assert "Exchange rates" in text


def test_the_baseline_sheet_shows_every_part(place: Path) -> None:
    text = told("baseline", "small_hopper.toml", "--architecture", "electrolysis_bipropellant")
    for words in (
        "Verdict: ",
        "dry mass",
        "Power and energy",
        "Timeline",
        "Margins",
        "hop 3",
        "array mass",
        "2032-01-01",
    ):
        assert words in text
    assert "Steam" not in text
    sheets = answered("baseline", "small_hopper.toml")["architectures"]
    assert set(sheets) == {"electrolysis_bipropellant", "steam_resistojet"}
    for sheet in sheets.values():
        assert len(sheet["hops"]) == 3
        assert sheet["hops"][0]["arrival_date"] == "2032-01-01"
        assert sheet["closes"] == (sheet["margin"] >= 0.0)
        assert sheet["verdict"].startswith("closes" if sheet["closes"] else "does not close")


def test_the_items_of_the_sheet_add_up_to_the_dry_mass(place: Path) -> None:
    from tradespace.quantities import json_key, quantities

    items = [json_key(name) for name, item in quantities().items() if item.section == "mass"]
    for sheet in answered("baseline", "small_hopper.toml")["architectures"].values():
        total = math.fsum(sheet[item] for item in items) + sheet["payload_mass_kg"]
        assert total == pytest.approx(sheet["dry_mass_kg"], rel=1e-6)


@pytest.mark.parametrize("command", [["run", "small_tour.toml"], ["transfer", "Earth", "Mars"]])
def test_stopping_says_so_and_ends_with_130(
    command: list[str], place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tradespace.sweep.run", stop)
    monkeypatch.setattr("tradespace.windows.transfer_on", stop)
    if command[0] == "transfer":
        command = [*command, "--depart", "2026-11-01", "--arrive", "2027-08-01"]
    result = CliRunner().invoke(main, command)
    assert result.exit_code == 130
    assert "stopped; " in result.stderr
    assert "Traceback" not in result.output
    assert ("the same command goes on" in result.stderr) == (command[0] == "run")


def test_running_out_of_memory_or_disk_is_told_in_words(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for error, words in (
        (MemoryError(), "lower a count"),
        (OSError(28, "No space left", "some/file"), "some/file: No space"),
    ):

        def fail(*_: object, error: Exception = error, **__: object) -> None:
            raise error

        monkeypatch.setattr("tradespace.sweep.run", fail)
        result = CliRunner().invoke(main, ["run", "small_tour.toml"])
        assert result.exit_code == 2
        assert words in result.stderr


def test_writing_commands_answer_in_json_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["new", "asked_in_json", "--json"])
    assert done.exit_code == 0
    assert json.loads(done.output) == {"written": "asked_in_json.toml"}
    assert (tmp_path / "asked_in_json.toml").is_file()


def test_progress_shows_rate_and_time_left(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    from tradespace.cli.running import progress_bar

    with progress_bar(10) as quiet:
        assert quiet is None  # stderr is no terminal here
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    monkeypatch.setenv("FORCE_COLOR", "1")
    with progress_bar(1000) as show:
        assert show is not None
        show(100, 1000, 7)
        time.sleep(0.15)
        show(600, 1000, 40)
        time.sleep(0.15)
    told = capfd.readouterr().err
    assert "designs/s" in told
    assert "40 close" in told
