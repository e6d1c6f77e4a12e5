"""The checks as people and programs meet them: the command, its exit codes, the answers kept, the report."""

from __future__ import annotations

import ast
import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tradespace import validation
from tradespace.cli import main, validating
from tradespace.report import checks as section
from tradespace.tables import DATA, read_table
from tradespace.units import to_si
from tradespace.validation import KINDS, Check, Model, Outcome, models, outcomes, words

ROOT = Path(__file__).parents[1]
QUICK = [check for check in validation.checks() if not check.is_slow]
ONE = next(check for check in QUICK if check.link == "thermal")
MODELS = list(models())


def asked(*arguments: str) -> Any:
    return CliRunner().invoke(main, ["validate", *arguments])


@pytest.fixture(autouse=True)
def _answers_in_a_folder_of_their_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    for cached in (outcomes.known_outcomes, outcomes._kept_path):
        cached.cache_clear()
    yield
    for cached in (outcomes.known_outcomes, outcomes._kept_path):
        cached.cache_clear()


@pytest.fixture
def wrong(monkeypatch: pytest.MonkeyPatch) -> Check:
    """One row of the link thermal with a value nobody published."""
    bad = replace(ONE, name="invented_row", value=2.0 * ONE.value, quantity="an invented value")
    rows = [bad if check.key == ONE.key else check for check in QUICK]
    for place in (validation, outcomes):
        monkeypatch.setattr(place, "checks", lambda: iter(rows))
    return bad


def test_all_is_well_ends_with_zero_and_says_so() -> None:
    result = asked("--link", "thermal")
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].startswith("thermal: ")
    assert "all hold" in lines[0]
    assert lines[-1].endswith("none misses its tolerance")
    assert ONE.quantity in result.stdout
    assert ONE.source.replace("_", " ") in result.stdout
    assert ONE.conditions in result.stdout
    assert result.stderr == ""


def test_a_wrong_row_ends_with_one_and_is_named_last(wrong: Check) -> None:
    result = asked("--link", "thermal")
    assert result.exit_code == 1
    last = result.stdout.splitlines()[-1]
    assert "thermal/invented_row" in last
    assert "an invented value" in last
    assert words.value_words(wrong.value, wrong.unit) in last
    content = json.loads(asked("--link", "thermal", "--json").stdout)
    assert content["holds"] is False
    assert content["links"]["thermal"]["missed"] == 1
    assert [row["id"] for row in content["checks"] if row["holds"] is False] == ["invented_row"]


def test_a_formula_that_fails_is_a_miss_and_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    bad = replace(ONE, inputs={**ONE.inputs, "temperature": math.nan})
    monkeypatch.setattr(validation, "checks", lambda: iter([bad]))
    result = asked("--link", "thermal")
    assert result.exit_code == 1
    assert "temperature nan K" in result.stdout.splitlines()[-1]


def test_an_unknown_link_ends_with_two_and_near_names() -> None:
    result = asked("--link", "termal")
    assert result.exit_code == 2
    assert result.stderr == "tradespace: unknown link 'termal'; did you mean 'thermal' or 'electrothermal'?\n"
    assert "allowed: sunlight, thermal" in asked("--link", "zzz").stderr


def test_json_is_one_object_with_every_column() -> None:
    content = json.loads(asked("--link", "rocket", "--json").stdout)
    assert set(content) == {"checks", "links", "holds", "no_published_value", "studies"}
    assert content["studies"] == []  # only asked for by themselves or with everything
    assert set(content["links"]) == {"rocket"}
    for row in content["checks"]:
        assert set(row) >= {
            "quantity", "link", "conditions", "published", "ours", "relative_error", "tolerance", "source",
            "where", "kind", "holds",
        }  # fmt: skip
        assert row["kind"] in KINDS.values()
        assert row["holds"] is True
    group = content["links"]["rocket"]
    assert group["published"] == group["seen"] + group["from_memory"]
    assert (
        group["checks"]
        == len(content["checks"])
        == group["published"] + group["computed"] + group["common_practice"]
    )
    assert group["worst_error_over_tolerance"] == pytest.approx(
        max(row["error_over_tolerance"] for row in content["checks"])
    )


def test_without_cantera_its_rows_are_not_run_and_miss_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outcomes, "find_spec", lambda name: None)
    monkeypatch.setattr(validation, "study_checks", lambda: iter(()))  # they have a test of their own
    rows = [check for check in validation.checks() if check.needed_library][:3]
    monkeypatch.setattr(validation, "checks", lambda: iter(rows))
    result = asked()
    assert result.exit_code == 0
    assert result.stdout.count("not run: needs the extra `tables`") == len(rows) == 3
    content = json.loads(asked("--json").stdout)
    assert content["holds"] is True
    assert {row["holds"] for row in content["checks"]} == {None}
    assert sum(group["not_run"] for group in content["links"].values()) == 3


def test_drawn_on_a_terminal_it_fits_a_hundred_columns() -> None:
    outcome = Outcome(replace(ONE, quantity="a quantity with a very long name " * 4), 1.0)
    lines = validating._lines(("", *validating._cells(outcome)), outcome.check.quantity)
    assert len(lines) >= 3
    assert max(map(len, lines)) <= 100
    narrow = validating._lines(("", *validating._cells(outcome)), outcome.check.quantity, 80)
    assert max(map(len, narrow)) <= 80
    assert narrow[-1].split()[-1] in {"yes", "NO"}


def test_the_totals_of_a_narrow_terminal_leave_columns_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    outcome = Outcome(ONE, ONE.value)
    group = outcomes.summary("thermal", [outcome])
    monkeypatch.setattr(validating, "_width", lambda: 80)
    validating._print_totals([group], group)
    narrow = capsys.readouterr().out.splitlines()[1].split()
    assert narrow == ["link", "checks", "published", "worst", "holds"]


def test_error_and_share_are_what_they_are_called() -> None:
    check = replace(ONE, value=200.0, unit="W", tolerance=0.02, tolerance_kind="rel")
    outcome = Outcome(check, 201.0)
    assert outcome.relative_error == pytest.approx(0.005)
    assert outcome.share == pytest.approx(0.25)
    assert outcome.holds is True
    assert words.error_words(outcome) == "+0.5 %"
    assert words.allowed_words(outcome) == "2 %"
    assert Outcome(check, 204.1).holds is False
    zero = Outcome(replace(check, value=0.0, tolerance=0.5, tolerance_kind="abs"), -0.25)
    assert zero.relative_error is None
    assert words.error_words(zero) == "-0.25 W"
    assert words.allowed_words(zero) == "0.5 W"
    cold = Outcome(replace(check, value=-5.0, unit="degC", tolerance_kind="abs"), -4.0)
    assert words.error_words(cold) == "+1 degC"  # relative to a conventional zero it would mean nothing
    left_out = Outcome(check, remark="not run")
    assert left_out.holds is left_out.share is left_out.difference is None
    assert words.told(left_out) == words.error_words(left_out) == "-"


def test_ours_has_more_digits_than_the_published_value() -> None:
    check = replace(ONE, value=2.640, tolerance=0.02, tolerance_kind="rel")
    assert words.told(Outcome(check, 2.6373)) == "2.637"
    assert (
        words.told(Outcome(replace(check, value=1.05985282, tolerance=1e-8), 1.0598528249)) == "1.059852825"
    )


def test_conditions_carry_units_and_the_part_of_the_answer() -> None:
    bare = replace(ONE, function="physics.sunlight.solar_flux", inputs={"distance": 1.5e11}, output="")
    assert bare.conditions == "distance 1.5e+11 m"
    vector = next(check for check in QUICK if check.function == "physics.lambert.lambert")
    assert " m, second position (" in vector.conditions
    assert vector.conditions.endswith("velocity, part 1")
    burn = next(check for check in QUICK if check.function == "physics.transfer.hohmann_transfer")
    assert burn.conditions.endswith("; gives first burn")
    found = [check.conditions for check in validation.checks()]
    assert not any("[" in words.partition("; gives")[2] for words in found)
    assert all(check.conditions for check in QUICK if check.inputs)


def test_answers_are_kept_for_the_next_report_of_the_same_version(monkeypatch: pytest.MonkeyPatch) -> None:
    search = next(check for check in validation.checks() if check.function == "windows.best_transfer")
    rows = [ONE, search]
    for place in (validation, outcomes):
        monkeypatch.setattr(place, "checks", lambda: iter(rows))
    assert outcomes._kept() == {}
    assert asked().exit_code == 0
    monkeypatch.setattr(Check, "ours", lambda check: pytest.fail("computed again"))
    known = validation.known_outcomes()
    assert [outcome.check.key for outcome in known] == [ONE.key, search.key]
    assert all(outcome.holds for outcome in known)


def test_what_takes_seconds_is_left_out_of_a_first_report_and_said() -> None:
    known = validation.known_outcomes()
    assert [outcome.check.key for outcome in known if outcome.ours is None] == [
        outcome.check.key for outcome in known if outcome.check.is_slow
    ]
    assert all(outcome.remark.startswith("not run") for outcome in known if outcome.ours is None)
    assert any("tradespace validate" in part for part in section.missing_note(known))
    assert validation.known_outcomes() is known


def test_a_report_computes_without_compilation_and_alone_if_it_must(monkeypatch: pytest.MonkeyPatch) -> None:
    some = [ONE, next(check for check in QUICK if check.link == "rocket")]
    plain = outcomes._plain_answers()
    assert {check.key for check in QUICK} == set(plain)
    assert plain[ONE.key] == pytest.approx(ONE.ours(), rel=1e-12)
    monkeypatch.setattr(outcomes, "checks", lambda: iter(some))
    monkeypatch.setattr(outcomes, "CHILD", "print(7)")
    assert outcomes._plain_answers() == {}
    assert [outcome.holds for outcome in validation.known_outcomes()] == [True, True]


def test_damaged_answers_are_made_again() -> None:
    path = outcomes._kept_path()
    assert path is not None
    path.write_text('{"thermal/radiator_300": "spoiled"', encoding="utf-8")
    assert outcomes._kept() == {}
    outcomes.keep([Outcome(ONE, 1.25)])
    assert outcomes._kept() == {ONE.key: 1.25}


def test_the_report_shows_links_rows_and_sources() -> None:
    text = "".join(section.check_parts())
    links = {check.link for check in validation.checks()}
    for link in links:
        assert f"{link.capitalize()}, value by value" in text
    assert text.count('<details class="long">') == len(links) + 1
    assert ONE.quantity in text
    assert "Sources of the checks" in text
    assert "Checks that miss" not in text
    assert 'class="no"' not in text


def test_the_report_puts_a_miss_in_full_view(wrong: Check) -> None:
    parts = section.check_parts()
    open_parts = "".join(part for part in parts if not part.startswith("<details"))
    assert "Checks that miss their tolerance" in open_parts
    assert "An invented value" in open_parts
    assert "all but 1 agree" in open_parts


def test_models_without_a_published_value_are_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    invented = Model("thermal", "m", "an invented model", "physics.thermal.radiator_flux", 2.0, "W", 1.0, 3.0,
                     "tests/test_validation.py::test_models", "a remark")  # fmt: skip
    monkeypatch.setattr(validation, "models", lambda: iter([invented]))
    monkeypatch.setattr(section, "models", lambda: iter([invented]))
    printed = asked("--link", "thermal").stdout
    assert "No published value" in printed
    assert "thermal: an invented model" in printed
    assert "1 to 3" in printed
    row = json.loads(asked("--link", "thermal", "--json").stdout)["no_published_value"][0]
    assert row["grade"] == "estimated"
    assert row["tested_by"] == invented.tested_by
    assert "An invented model" in "".join(section.model_table())


@pytest.mark.parametrize("model", MODELS, ids=[f"{model.link}-{model.name}" for model in MODELS])
def test_a_model_names_its_function_range_and_test(model: Model) -> None:
    assert callable(validation.resolve(model.function))
    assert model.low <= model.value <= model.high
    assert model.title
    assert to_si(1.0, model.unit) > 0.0
    assert (model.low, model.high) != (model.value, model.value), "a model without a value has a range"
    file, _, name = model.tested_by.partition("::")
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    assert name.partition("[")[0] in {
        node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)
    }


def test_tables_of_models_have_the_same_columns() -> None:
    wanted = "id model function value unit low high tested_by note".split()
    for path in (DATA / "estimated").glob("*.csv"):
        assert list(read_table(f"estimated/{path.name}").columns) == wanted, path.name
    keys = [(model.link, model.name) for model in MODELS]
    assert len(keys) == len(set(keys))


def test_an_input_without_limit_is_said_in_words() -> None:
    """An infinite input of a check (no losses, no limit) is read by people, not by a computer."""
    endless = [
        check for check in QUICK if any(isinstance(v, float) and math.isinf(v) for v in check.inputs.values())
    ]
    assert endless
    assert all("without limit" in check.conditions and " inf" not in check.conditions for check in endless)
