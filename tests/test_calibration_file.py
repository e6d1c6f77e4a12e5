"""The calibration file: what is written is read back, what is wrong is refused in one line, and a study obeys it."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from tradespace import evaluate
from tradespace.bench.calibration import (
    CalibratedValue,
    Calibration,
    calibration_text,
    parse_calibration,
    read_calibration,
    write_calibration,
)
from tradespace.errors import CalibrationError, OutputError, StudyError
from tradespace.study import load_study, parse_study

STUDY = Path(__file__).parents[1] / "studies" / "outer_belt_ice_tour.toml"
VALUES = {
    "cell_ohmic_factor": (1.4, 0.1),
    "cell_activation_factor": (1.1, 0.05),
    "cell_gas_loss": (0.03, 0.01),
    "energy_release_efficiency": (0.95, 0.01),
}


def calibration(**changed: object) -> Calibration:
    """An invented calibration of an alkaline cell and an engine; ohmic and activation part go against each other."""
    width = np.array([deviation for _, deviation in VALUES.values()])
    correlation = np.eye(len(width))
    correlation[0, 1] = correlation[1, 0] = -0.6
    plain = Calibration(
        title='an invented "bench"',
        values={
            name: CalibratedValue(name, value, value - 1.96 * dev, value + 1.96 * dev, dev, name != "cell_gas_loss")
            for name, (value, dev) in VALUES.items()
        },
        covariance=correlation * np.outer(width, width),
        cell_kind="alkaline", readings="invented.csv", points=40, invented=True,
        derived={"faradaic_efficiency": (0.9, 0.01)},
        checks=(("choked flow", "passes", "It's choked."),),
        rules=("The losses of the engine scale with its throat.",),
    )  # fmt: skip
    return dataclasses.replace(plain, **changed)  # type: ignore[arg-type]


def beside(folder: Path, section: str = '[calibration]\nfile = "bench.toml"\n', **changed: object) -> Path:
    """The tour with a calibration beside it."""
    write_calibration(calibration(**changed), folder / "bench.toml")
    study = folder / "tour.toml"
    study.write_text(STUDY.read_text(encoding="utf-8") + "\n" + section, encoding="utf-8")
    return study


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    path = write_calibration(calibration(), tmp_path / "bench.toml")
    found = read_calibration(path)
    assert calibration_text(found) == path.read_text(encoding="utf-8")
    assert found.values == calibration().values
    assert np.array_equal(found.covariance, calibration().covariance)
    assert (found.title, found.checks, found.derived) == (
        calibration().title, calibration().checks, calibration().derived,
    )  # fmt: skip
    assert [item.name for item in tmp_path.iterdir()] == ["bench.toml"]


def test_a_place_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot write"):
        write_calibration(calibration(), tmp_path / "none" / "bench.toml")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("format = 1", "format = 2", "format 2 is not 1"),
        ("[values.cell_gas_loss]", "[values.cell_gas_los]", "did you mean 'cell_gas_loss'"),
        ("deviation = 0.1\n", "deviation = -0.1\n", "must not be negative"),
        ("value = 1.4\n", "value = 9.4\n", "must lie between"),
        ('unit = "1"', 'unit = "m"', "must be '1'"),
        ("value = 0.95\n", 'value = "0.95"\n', "must be a finite number"),
        ("value = 0.95\n", "value = nan\n", "must be a finite number"),
        ('names = ["cell_ohmic_factor", ', "names = [", "must list the quantities"),
        ("  [0.010000000000000002,", "  [0.02,", "diagonal"),
        ("-0.003", "-0.03", "is no covariance"),
        ("matrix = [", "matrix = [ [1.0],", "must have 4 rows of 4 numbers"),
        ('cell_kind = "alkaline"', 'cell_kind = "alkalin"', "did you mean 'alkaline'"),
        ("[rules]", "[rule]", "unknown section [rule]"),
        ("[covariance]", "[covariance", "is not a calibration file"),
    ],
)
def test_a_spoilt_file_is_refused_in_one_line(old: str, new: str, words: str) -> None:
    text = calibration_text(calibration())
    assert old in text
    with pytest.raises(CalibrationError) as caught:
        parse_calibration(text.replace(old, new), "bench.toml")
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("bench.toml")


@pytest.mark.parametrize("content", [b"\xff\xfe", b"", b"x" * 1_000_001])
def test_no_calibration_at_all(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "bench.toml"
    path.write_bytes(content)
    with pytest.raises(CalibrationError, match="bench"):
        read_calibration(path)
    with pytest.raises(CalibrationError, match="cannot be read"):
        read_calibration(tmp_path)


def test_a_study_takes_value_range_distribution_and_correlation(tmp_path: Path) -> None:
    study = load_study(beside(tmp_path))
    assert study.calibration is not None
    for name, (value, deviation) in VALUES.items():
        assert study.values[name] == value
        assert study.ranges[name] == (value - 1.96 * deviation, value + 1.96 * deviation)
        (one,) = [item for item in study.uncertain.inputs if item.name == name]
        assert (one.kind, one.numbers, one.stated) == ("normal", (value, deviation), True)
    first, second = (study.uncertain.names.index(name) for name in list(VALUES)[:2])
    assert study.uncertain.correlation is not None
    assert study.uncertain.correlation[first, second] == pytest.approx(6.0 / math.pi * math.asin(-0.3))
    assert study.options["cell_kind"] == "alkaline"
    plain = load_study(STUDY)
    assert {item.name for item in plain.uncertain.inputs} == {
        item.name for item in study.uncertain.inputs
    } - set(VALUES)


def test_the_text_of_a_study_holds_its_calibration(tmp_path: Path) -> None:
    study = load_study(beside(tmp_path))
    again = parse_study(study.text, "again")
    assert again.hash == study.hash
    assert again.values == study.values
    other = load_study(beside(tmp_path, points=41))
    assert other.hash != study.hash


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ("[calibration]\n", "is empty"),
        ('[calibration]\nfile = "none.toml"\n', "is not a file in the folder"),
        ('[calibration]\nfil = "bench.toml"\n', "unknown key"),
        ('[calibration]\nfile = "bench.toml"\ntext = "x"\n', "only one of file and text"),
        ('[calibration]\ntext = "x"\n', "is not a calibration file"),
        ("[calibration]\nfile = 3\n", "must be text"),
    ],
)
def test_a_study_that_cannot_be_calibrated_says_so(tmp_path: Path, section: str, words: str) -> None:
    with pytest.raises(StudyError, match=words):
        load_study(beside(tmp_path, section))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[electrolysis]\n", "[electrolysis]\ncell_gas_loss = 0.1\n", "is told by the calibration too"),
        ("[electrolysis]\n", '[electrolysis]\nstack_efficiency = "70 %"\n', "without effect"),
        ("[electrolysis]\n", '[electrolysis]\ncell_kind = "membrane"\n', "not the kind that was measured"),
    ],
)
def test_a_study_cannot_contradict_its_bench(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = beside(tmp_path)
    text = path.read_text(encoding="utf-8")
    text = text.replace(old, new) if old in text else text + "\n" + new
    path.write_text(text, encoding="utf-8")
    with pytest.raises(StudyError, match=words):
        load_study(path)


def test_no_difference_changes_nothing_and_a_worse_bench_costs(tmp_path: Path) -> None:
    plain = load_study(STUDY)
    mission = evaluate.mission_of(plain)
    names = ["split_energy", "specific_impulse", "refuel_time"]
    one = {"array_area": np.array([60.0])}

    def asked(**given: float) -> dict[str, np.ndarray]:
        designs = {**one, **{name: np.array([value]) for name, value in given.items()}}
        return evaluate.answers(plain, mission, "electrolysis_bipropellant", designs, names)

    usual = asked()
    same = asked(
        cell_ohmic_factor=1.0, cell_activation_factor=1.0, cell_bypass_conductance=0.0, cell_gas_loss=0.0
    )
    assert all(np.array_equal(usual[name], same[name]) for name in names)
    for worse in ({"cell_ohmic_factor": 1.3}, {"cell_activation_factor": 1.3}, {"cell_gas_loss": 0.1}):
        assert asked(**worse)["split_energy"] > usual["split_energy"]
    assert asked(cell_bypass_conductance=50.0)["split_energy"] > usual["split_energy"]
    assert asked(cell_gas_loss=0.1)["split_energy"] == pytest.approx(usual["split_energy"] / 0.9)
    measured = asked(energy_release_efficiency=0.97)
    for worse in ({"energy_release_efficiency": 0.9}, {"viscous_loss_scale": 1.5}, {"wall_heat_scale": 2.0}):
        found = asked(**{"energy_release_efficiency": 0.97, **worse})
        assert found["specific_impulse"] < measured["specific_impulse"]
        assert found["refuel_time"] > measured["refuel_time"]


@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "electrolysis_continuous"])
def test_specific_impulse_follows_the_measured_efficiency(architecture: str) -> None:
    study = load_study(STUDY)
    mission = evaluate.mission_of(study)
    given = {"energy_release_efficiency": np.array([0.90, 0.909])}
    found = evaluate.answers(study, mission, architecture, given, ["specific_impulse"])["specific_impulse"]
    slope = math.log(found[1] / found[0]) / math.log(1.01)
    assert 0.99 <= slope <= 1.25  # a continuous engine also grows, and a larger one loses less
