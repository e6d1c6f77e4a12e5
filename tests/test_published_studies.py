"""Published studies run as studies, the rules of margins, and studies of one burn."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from tradespace import evaluate
from tradespace.cli import main
from tradespace.constants import value
from tradespace.errors import StudyError
from tradespace.options import choices, settings_of
from tradespace.physics.rocket import growth_factor, growth_factor_of_allocation_margin
from tradespace.study import Study, load_study, parse_study
from tradespace.tables import read_table
from tradespace.units import to_si
from tradespace.validation import KINDS, StudyCheck, StudyOutcome, study_checks, study_files
from tradespace.validation.studies import LEFT_OUT, study_outcomes

CHECKS = list(study_checks())
STUDIES = {path.stem: path for path in study_files()}
GRAVITY = value("standard_gravity")

BURN = """\
[study]
name = "one_burn"
kind = "burn"

[start]
body = "Earth"
orbit = "36000 km"
date = "2030-01-01"
launch_mass = "100 kg"
water_on_board = "40 kg"

[route]
mission_duration = "10 yr"

[craft]
payload_mass = "5 kg"
keep_alive_power = "5 W"
payload_power = "0 W"

[sunlight]
array_power = "0.5 kW"

[thermal]
heated_area = "0.5 m2"

[architectures]
include = ["electrolysis_bipropellant", "water_hall"]
"""


@pytest.fixture(scope="module")
def found() -> dict[str, StudyOutcome]:
    """Every number of the published studies."""
    return {outcome.check.name: outcome for outcome in study_outcomes(CHECKS)}


def answers(study: Study, architecture: str, **designs: float) -> dict[str, float]:
    """The answer to one design."""
    table = evaluate.evaluate(study, evaluate.mission_of(study), architecture, designs, everything=True)
    return dict(table.iloc[0])


@pytest.mark.parametrize("check", CHECKS, ids=[check.name for check in CHECKS])
def test_a_published_study_gives_its_number(check: StudyCheck, found: dict[str, StudyOutcome]) -> None:
    outcome = found[check.name]
    assert not outcome.remark
    assert outcome.ours is not None
    assert math.isfinite(outcome.ours)
    assert check.passes(outcome.ours), (
        f"{check.quantity}: ours {outcome.ours:.6g}, published {check.value:.6g} {check.unit}"
    )
    if check.tolerance is None:
        assert check.note, "two numbers that are only shown need a sentence why they differ"
        assert outcome.holds is None
        assert 0.3 < outcome.ours / check.value < 3.0


def test_every_published_study_is_asked_for_a_number_and_says_what_is_invented() -> None:
    assert {check.study for check in CHECKS} == set(STUDIES)
    assert len(STUDIES) >= 8
    for name, path in STUDIES.items():
        study = load_study(path)
        assert study.name == name
        assert study.title.startswith("Published: ")
        assert study.question.endswith("?")
        assert "invented" in study.note
        assert "complement" in study.text


def test_the_rows_name_known_sources_and_an_honest_status() -> None:
    sources = {row["key"] for row in read_table("sources.csv").rows}
    assert len({check.name for check in CHECKS}) == len(CHECKS)
    for check in CHECKS:
        assert check.source in sources
        assert check.where
        assert check.status in KINDS
        assert to_si(1.0, check.unit) > 0.0
        assert check.tolerance is None or check.tolerance > 0.0
        assert check.tolerance_kind in {"abs", "rel", "shown"}
        assert check.status != "seen" or check.tolerance is None or check.name == "hall_1"


def test_the_claim_of_the_six_unit_craft_lies_above_its_own_range(found: dict[str, StudyOutcome]) -> None:
    needed, best = found["cubesat_6u_4"].ours, found["cubesat_6u_2"].ours
    assert needed is not None
    assert best is not None
    assert best < 4400.0
    assert needed > 420.0
    study = load_study(STUDIES["photovoltaic_electrolysis_cubesat"])
    claim = answers(study, "upper_end")
    assert not claim["closes"]
    assert claim["margin_water"] < 0.0
    assert answers(study, "upper_end", hop_delta_v_capacity=4300.0)["margin_water"] > 0.0
    # its gas tanks alone weigh more than the 4.2 kg that the propellant leaves
    assert claim["tank_mass"] > 4.2
    assert claim["margin_mass"] < 0.0


def test_what_is_wrong_is_said_and_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    first = CHECKS[0]
    wrong = [
        StudyCheck(**{**first.__dict__, "architecture": "nobody"}),
        StudyCheck(**{**first.__dict__, "output": "thrust * 2"}),
        StudyCheck(**{**first.__dict__, "output": "speed_of_light"}),
        StudyCheck(**{**first.__dict__, "study": "no_such_study"}),
        first,
    ]
    outcomes = study_outcomes(wrong)
    assert [outcome.holds for outcome in outcomes] == [False] * 4 + [True]
    assert "nobody" in outcomes[0].remark
    monkeypatch.setattr("tradespace.validation.studies.FOLDER", Path("nowhere"))
    (outcome,) = study_outcomes([first])
    assert outcome.remark == LEFT_OUT
    assert outcome.holds is None


def test_validate_prints_both_numbers_side_by_side(found: dict[str, StudyOutcome]) -> None:
    del found  # so that the studies have been run
    told = CliRunner().invoke(main, ["validate", "--link", "studies"])
    assert told.exit_code == 0, told.output
    words = " ".join(told.output.split())
    assert "velocity change claimed" in words
    assert "4400 m/s" in words
    assert "4324 m/s" in words
    assert "above its own range" in words


# -- studies of one burn ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def burn() -> Study:
    return parse_study(BURN)


def test_a_burn_is_the_rocket_equation_of_what_can_be_expelled(burn: Study) -> None:
    row = answers(burn, "electrolysis_bipropellant", propellant_reserve=0.1, propellant_residual=0.05)
    expected = row["specific_impulse"] * GRAVITY * math.log(100.0 / (100.0 - 0.85 * 40.0))
    assert row["delta_v_available"] == pytest.approx(expected, rel=1e-12)
    assert row["propellant_used_1"] == pytest.approx(34.0)
    assert row["refuel_time"] == 0.0  # it splits in flight
    assert row["thrust"] * row["burn_time_1"] == pytest.approx(34.0 * row["specific_impulse"] * GRAVITY)
    assert row["needed_specific_impulse"] == 0.0
    assert row["water_mined_1"] == pytest.approx(40.0)


def test_more_power_shortens_a_burn_and_a_velocity_change_asked_is_judged(burn: Study) -> None:
    mission = evaluate.mission_of(burn)
    powers = np.array([2000.0, 4000.0, 8000.0])
    table = evaluate.evaluate(burn, mission, "water_hall", {"array_power": powers})
    assert (np.diff(table["burn_time_1"]) < 0.0).all()
    assert (table["delta_v_available"] > 0.0).all()
    available = float(table["delta_v_available"].iloc[0])
    asked = evaluate.evaluate(
        burn,
        mission,
        "water_hall",
        {"hop_delta_v_capacity": np.array([0.9, 1.0]) * available, "array_power": powers[:1]},
    )
    assert (np.diff(asked["margin_water"]) < 0.0).all()
    assert asked["margin_water"].iloc[1] < 0.0 < asked["margin_water"].iloc[0]  # the margin of 5 % decides


def test_a_craft_with_less_mass_left_has_less_room_for_its_items(burn: Study) -> None:
    table = evaluate.evaluate(
        burn, evaluate.mission_of(burn), "electrolysis_bipropellant",
        {"water_on_board": np.array([10.0, 40.0, 80.0, 99.999, 1000.0])},
    )  # fmt: skip
    assert (np.diff(table["margin_mass"])[:3] < 0.0).all()
    assert (table["margin_mass"] > -1.0).all()  # a craft of propellant alone stays finite
    assert np.isfinite(table["delta_v_available"]).all()
    assert (np.diff(table["delta_v_available"])[:3] > 0.0).all()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('orbit = "36000 km"\n', "", "start.orbit"),
        ('water_on_board = "40 kg"\n', "", "start.water_on_board"),
        ('mission_duration = "10 yr"', "", "route.mission_duration"),
        ('mission_duration = "10 yr"', 'mission_duration = "10 yr"\nhop_distance = "1 km"', "route.hop_distance"),
        ('mission_duration = "10 yr"', 'mission_duration = "10 yr"\nhops = 3', "route.hops"),
        ('body = "Earth"', 'body = "Ceres"', "parking orbit"),
    ],
)  # fmt: skip
def test_a_burn_that_cannot_be_read_names_the_key(old: str, new: str, words: str) -> None:
    assert old in BURN
    with pytest.raises(StudyError, match=words):
        parse_study(BURN.replace(old, new))


def test_a_burn_says_where_it_is(burn: Study) -> None:
    assert burn.route == "one burn in free space, Earth orbit (36000 km)"


# -- rules of margins ---------------------------------------------------------------------------------------------

RULES = choices()["margin_rule"].options
MARGINS = {row["name"]: float(row["value"]) for row in read_table("margin_values.csv").rows}
ON_ESTIMATE = {
    "ames_requirements": "ames_mass_requirements",
    "ames_preliminary": "ames_mass_preliminary",
    "ames_critical": "ames_mass_critical",
    "goddard_pre_phase_a": "goddard_mass_pre_phase_a",
    "goddard_phase_a": "goddard_mass_phase_a",
    "goddard_phase_b": "goddard_mass_phase_b",
    "goddard_phase_c": "goddard_mass_phase_c",
    "recommended_allowance": "recommended_allowance",
    "historical_growth": "historical_mean_growth",
}
ON_ALLOCATION = {
    "jpl_concept": "jpl_allocation_concept",
    "jpl_preliminary": "jpl_allocation_preliminary",
    "jpl_critical": "jpl_allocation_critical",
}
BY_MATURITY = ("margin_off_the_shelf", "margin_modified", "margin_new")


def growth(rule: str, maturity: str) -> float:
    """Factor on the bare estimate of an item."""
    settings = RULES[rule].settings
    return float(growth_factor(settings[maturity].value, settings["system_margin"].value))


def test_every_rule_is_tested_by_its_definition() -> None:
    assert set(RULES) == {"esa", "none", *ON_ESTIMATE, *ON_ALLOCATION}
    assert choices()["margin_rule"].default == "esa"


@pytest.mark.parametrize("rule", ON_ESTIMATE)
def test_a_rule_on_the_estimate_multiplies_by_one_plus_its_margin(rule: str) -> None:
    for maturity in BY_MATURITY:
        assert growth(rule, maturity) == pytest.approx(1.0 + MARGINS[ON_ESTIMATE[rule]], rel=1e-9)


@pytest.mark.parametrize("rule", ON_ALLOCATION)
def test_a_rule_on_the_allocation_divides_by_one_minus_its_margin(rule: str) -> None:
    expected = float(growth_factor_of_allocation_margin(MARGINS[ON_ALLOCATION[rule]]))
    for maturity in BY_MATURITY:
        assert growth(rule, maturity) == pytest.approx(expected, rel=1e-9)
    assert "allocation" in RULES[rule].settings["system_margin"].description


def test_the_european_rule_adds_both_margins_and_its_own_for_velocity_and_residuals() -> None:
    names = ("esa_maturity_off_the_shelf", "esa_maturity_modified", "esa_maturity_new")
    for maturity, name in zip(BY_MATURITY, names, strict=True):
        assert growth("esa", maturity) == pytest.approx((1.0 + MARGINS[name]) * (1.0 + MARGINS["esa_system"]))
    assert growth("esa", "margin_new") == pytest.approx(1.44)
    settings = settings_of({})
    assert settings["delta_v_margin"].value == pytest.approx(MARGINS["esa_delta_v_share"])
    assert settings["propellant_residual"].value == pytest.approx(MARGINS["esa_residuals"])


def test_no_margin_is_no_margin() -> None:
    assert {setting.value for setting in RULES["none"].settings.values()} == {0.0}
    assert set(RULES["none"].settings) == set(RULES["esa"].settings)


def test_thirty_per_cent_means_three_things() -> None:
    factors = {rule: growth(rule, "margin_new") for rule in ("goddard_pre_phase_a", "jpl_concept", "esa")}
    assert factors["goddard_pre_phase_a"] == pytest.approx(1.30)
    assert factors["jpl_concept"] == pytest.approx(1.4286, abs=1e-4)
    assert factors["esa"] == pytest.approx(1.44)
