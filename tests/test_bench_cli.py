"""The command bench as people and programs meet it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_studies import SURFACE

from tradespace.bench.calibration import read_calibration
from tradespace.bench.demo import demo_path
from tradespace.cli import main
from tradespace.study import load_study


def asked(*arguments: str) -> Result:
    """What a command does."""
    return CliRunner().invoke(main, list(arguments))


def refused(*arguments: str) -> str:
    """The message of a command that cannot do what is asked: one or two lines and exit code 2."""
    result = asked(*arguments)
    assert result.exit_code == 2, result.output
    assert len(result.stderr.splitlines()) <= 2
    assert "Traceback" not in result.output
    return result.stderr


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hopper.toml").write_text(SURFACE, encoding="utf-8")
    return tmp_path


def test_cautions_verdicts_facts_and_calibration_come_in_this_order(place: Path) -> None:
    said = asked("bench", "whole_chain")
    assert said.exit_code == 0, said.output
    marks = [
        "Caution: hydrogen",
        "invented",
        "Can all of it be true?",
        "Reconciled facts",
        "Where the power went",
        "Calibration",
    ]
    places = [said.stdout.index(mark) for mark in marks]
    assert places == sorted(places)
    assert "local codes and licensed practice rule" in said.stdout
    assert not list(place.glob("*bench*"))


def test_an_impossible_thrust_is_said_first_with_the_sea_level_bound(place: Path) -> None:
    verdicts = asked("bench", "sea_level_engine").stdout.split("Can all of it be true?")[1].splitlines()
    assert verdicts[1].startswith("impossible")
    assert "expansion of that flow to the pressure around" in verdicts[1]
    assert "liquid carry-over" in verdicts[1]


def test_everything_is_one_json_object_with_cautions(place: Path) -> None:
    content = json.loads(
        asked("bench", "whole_chain", "--study", "hopper.toml", "--samples", "64", "--json").stdout
    )
    assert content["invented"] is True
    assert content["cautions"]
    assert content["facts"]["faradaic_efficiency"]["unit"] == "1"
    assert content["mission"]["exchange"]
    assert content["mission"]["standing"]
    assert {check["verdict"] for check in content["checks"]} <= {
        "passes",
        "suspect",
        "impossible",
        "not known",
    }


def test_the_folder_holds_a_calibration_that_the_study_reads(place: Path) -> None:
    said = asked("bench", "whole_chain", "--out", "mine")
    assert said.exit_code == 0, said.output
    assert sorted(path.name for path in (place / "mine").iterdir()) == [
        "bench.html",
        "calibration.toml",
        "reconciled.csv",
    ]
    found = read_calibration(place / "mine" / "calibration.toml")
    assert found.cell_kind == "alkaline"
    study = place / "measured.toml"
    study.write_text(SURFACE + '\n[calibration]\nfile = "mine/calibration.toml"\n', encoding="utf-8")
    assert load_study(study).values["cell_ohmic_factor"] == found.values["cell_ohmic_factor"].value
    lines = (place / "mine" / "reconciled.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# Caution: hydrogen with oxygen")
    head, units, first = lines[1:4]
    assert len(head.split(",")) == len(units.split(",")) == len(first.split(","))


def test_mistakes_are_named_and_nothing_is_written(place: Path) -> None:
    assert "did you mean 'whole_chain'" in refused("bench", "whole_chan")
    (place / "taken").write_text("", encoding="utf-8")
    assert "is a file; give a folder" in refused("bench", "whole_chain", "--out", "taken")
    assert "not a power of two" in refused(
        "bench", "whole_chain", "--study", "hopper.toml", "--samples", "100"
    )
    spoilt = place / "spoilt.csv"
    spoilt.write_text(
        demo_path("whole_chain").read_text(encoding="utf-8").replace("current", "curent"), encoding="utf-8"
    )
    assert "current" in refused("bench", "spoilt.csv", "--out", "none")
    assert not (place / "none" / "calibration.toml").exists()
    poor = place / "poor.csv"
    poor.write_text("time,current\ns,A\n0,1\n1,1.1\n2,1\n", encoding="utf-8")
    assert "neither of a cell nor of an engine" in refused("bench", "poor.csv", "--study", "hopper.toml")


def test_lists_of_readings_and_channels(place: Path) -> None:
    assert "sea_level_engine" in asked("list", "readings").stdout
    channels = json.loads(asked("list", "channels", "--json").stdout)["channels"]
    assert {"throat_diameter", "stack_voltage"} <= {row["channel"] for row in channels}
