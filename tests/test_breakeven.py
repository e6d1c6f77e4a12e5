"""What it would take: every value that is returned, put back into the engine."""

from __future__ import annotations

import functools
import json

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from small_studies import SURFACE, TOUR

from tradespace import breakeven
from tradespace import evaluate as engine
from tradespace.breakeven import BreakEven, Question
from tradespace.cli import main
from tradespace.errors import TradespaceError, UnknownNameError
from tradespace.mission import Mission
from tradespace.study import Study, parse_study
from tradespace.thrusters.values import changed
from tradespace.units import format_date

LARGE = TOUR.replace('"900 kg"', '"9000 kg"').replace("[sunlight]", 'storage_volume = "90 m3"\n\n[sunlight]')
HOPPER = SURFACE.replace('"420 kg"', '"900 kg"')
HALL = """["hall"]

[[architecture]]
name = "hall"
thruster = "water_hall"
values = { life_each = "900000 h", throughput_each = "36000 kg" }"""
LINKS = ("mass", "power", "thrust", "heat", "storage", "time", "window")


NAMES = (
    "array_area array_power array_efficiency keep_alive_power hop_delta_v_capacity storage_volume storage_pressure "
    "radiator_oversize radiator_temperature launch_mass power_per_thrust_factor minimum_dwell stack_efficiency "
    "extraction_energy delta_v_margin sunlit_fraction water_hall.anode_efficiency"
).split()
"""Inputs that are moved where not all of them are."""
LIMIT = 1e-3
"""The margin that limited is zero within 0.1 %, and a bracket is narrower than 0.1 % of the input."""


@functools.cache
def missions(kind: str) -> Mission:
    return engine.mission_of(parse_study(TOUR if kind == "tour" else SURFACE))


@functools.cache
def question(text: str, architecture: str = "") -> Question:
    study = parse_study(text)
    mission = missions("tour") if study.kind == "tour" else engine.mission_of(study)
    return breakeven.question_of(study, mission, architecture or study.architectures[0])


@functools.cache
def sized(mass: float = 1.1, volume: float = 1.2) -> str:
    """The small tour, its launch mass and its tanks so many times what the craft takes."""
    craft = question(LARGE).reference
    launch, tanks = mass * float(craft["start_mass"]), volume * float(craft["tank_volume"])
    return LARGE.replace('"9000 kg"', f'"{launch:.9g} kg"').replace('"90 m3"', f'"{tanks:.9g} m3"')


@functools.cache
def short_of(link: str) -> str:
    """An invented design that does not close, by a link that falls short; the first architecture is asked about."""
    if link == "time":
        days = 0.9 * float(question(HOPPER).reference["mission_time"]) / 86400.0
        return HOPPER.replace('"3 yr"', f'"{days:.3f} d"')
    return {
        "mass": lambda: sized(mass=0.93),
        "power": lambda: HOPPER.replace("[sunlight]", 'keep_alive_power = "2 kW"\n\n[sunlight]'),
        "thrust": lambda: (
            LARGE.replace('["electrolysis_bipropellant", "steam_resistojet"]', HALL)
            .replace("2.95 km/s", "4 km/s")
            .replace('"40 m2"', '"25 m2"')
        ),
        "heat": lambda: HOPPER + "\n[thermal]\nradiator_oversize = 0.9\n",
        "storage": lambda: sized(volume=0.8),
        "window": lambda: LARGE.replace('"2.95 km/s"', '"2.4 km/s"'),
    }[link]()


@functools.cache
def found(text: str, *, everything: bool = True) -> BreakEven:
    asked = question(text)
    known = {item.name for item in breakeven.subjects(asked)}
    names = None if everything else [name for name in NAMES if name in known]
    return breakeven.break_even(asked.study, asked.mission, asked.architecture, names)


def at(asked: Question, moved: dict[str, float]) -> pd.Series:
    """One design of the engine with inputs moved; a name with a dot is a row of the thruster's own table."""
    rows = {tuple(name.split(".", 1)): value for name, value in moved.items() if "." in name}
    designs = {name: np.array([value]) for name, value in moved.items() if "." not in name}
    study: Study = asked.study
    with changed({(owner, row): value for (owner, row), value in rows.items()}):
        return engine.evaluate(study, asked.mission, asked.architecture, designs).iloc[0]


def rows_of(table: pd.DataFrame, name: str) -> list[pd.Series]:
    return [row for _, row in table[table["question"] == name].iterrows()]


@pytest.mark.parametrize("link", LINKS)
def test_the_engine_closes_at_every_value_returned_and_not_beyond_it(link: str) -> None:
    answer, asked = found(short_of(link), everything=link == "mass"), question(short_of(link))
    assert not answer.closes
    assert {name: margin for name, margin, _ in answer.links}[link] < 0.0
    rows = rows_of(answer.reached, "close")
    assert link in {row["limited_by"] for row in rows}
    for row in rows:
        name = row["quantity"]
        closing, short = (at(asked, {name: row[end]}) for end in ("value", "beyond"))
        assert closing["closes"], name
        assert not short["closes"], name
        assert closing["margin"] == pytest.approx(row["margin"], abs=1e-9)
        assert abs(row["value"] - row["beyond"]) <= LIMIT * abs(row["value"])
        assert (row["value"] - row["beyond"]) * (row["value"] - row["today"]) > 0.0  # away from today's value
        if not row["jump"]:
            assert abs(closing["margin"]) < LIMIT
            assert abs(closing[f"margin_{row['limited_by']}"]) < LIMIT
            others = [closing[f"margin_{one}"] for one, _, _ in answer.links if one != row["limited_by"]]
            assert row["next_margin"] == pytest.approx(min(others), abs=1e-9)


def test_a_design_that_closes_is_told_how_far_each_input_may_get_worse() -> None:
    answer, asked = found(sized()), question(sized())
    assert answer.closes
    assert answer.questions == ("fail",)
    rows = rows_of(answer.reached, "fail")
    assert len(rows) > 30
    for row in rows[::3] + [row for row in rows if row["jump"]]:
        name = row["quantity"]
        closing, failing = (at(asked, {name: row[end]}) for end in ("value", "beyond"))
        if row["note"].startswith("any change at all"):
            closing, failing = failing, closing
            assert row["beyond"] == row["today"]
        else:
            assert abs(row["value"] - row["beyond"]) <= LIMIT * abs(row["value"])
        assert closing["closes"], name
        assert not failing["closes"], name
        assert row["jump"] or abs(closing["margin"]) < LIMIT
        assert row["value"] != row["today"]


def test_every_numeric_input_that_moves_the_margin_is_told_and_no_other() -> None:
    """Each input of the design, moved a little by the test itself, is in one of the two lists if it counts."""
    text = short_of("mass")
    answer, asked = found(text), question(text)
    told = {*answer.reached["quantity"], *answer.missed["quantity"]}
    today = float(asked.reference["margin"])
    for item in breakeven.subjects(asked):
        step = 0.02 * (item.most - item.today if item.most > item.today else item.least - item.today)
        if abs(float(at(asked, {item.name: item.today + step})["margin"]) - today) > 1e-6:
            assert item.name in told, item.name
    assert {"stack_efficiency", "extraction_energy", "launch_mass"} <= told
    assert any(name.startswith("electrolysis_bipropellant.") for name in told)
    assert not told & {"departure_policy", "storage_is_liquid", "window_wait", "thruster_losses"}
    for row in rows_of(answer.missed, "close"):
        assert at(asked, {row["quantity"]: row["value"]})["margin"] == pytest.approx(row["margin"], abs=1e-9)
        assert today <= row["margin"] < 0.0


def test_more_mass_allowed_or_less_mass_built_makes_a_heavy_craft_close() -> None:
    rows = {row["quantity"]: row for row in rows_of(found(short_of("mass")).reached, "close")}
    reference = question(short_of("mass")).reference
    assert rows["launch_mass"]["value"] == pytest.approx(float(reference["start_mass"]), rel=1e-6)
    assert rows["launch_mass"]["change"] > 0.0
    for name in ("payload_mass", "system_margin", "maturity_margin", "structure_fraction"):
        if name in rows:
            assert rows[name]["change"] < 0.0
    assert rows["specific_impulse_change"]["change"] > 0.0


def test_ranks_follow_the_rule() -> None:
    table = found(sized()).reached
    inside = (table["inside"] == "range").to_numpy()
    count = int(inside.sum())
    assert 0 < count < len(table)
    assert inside[:count].all()
    for part in (table[:count], table[count:]):
        measured = part[part["measure"] != "bounds"]
        assert (np.diff(measured["distance"]) >= 0.0).all()
    held = table[:count]
    assert ((held["low"] <= held["value"]) & (held["value"] <= held["high"])).all()
    assert ((table["least"] <= table["value"]) & (table["value"] <= table["most"])).all()
    assert list(table["rank"]) == list(range(1, len(table) + 1))


def test_nothing_is_missing_in_the_tables() -> None:
    for answer in (found(sized()), found(short_of("mass")), found(short_of("thrust"), everything=False)):
        for table in (answer.reached, answer.missed):
            assert not table.isna().any().any()
            numbers = table.select_dtypes("number").to_numpy(dtype=np.float64)
            assert np.isfinite(numbers).all()


@pytest.mark.parametrize(("wait", "asked_for"), [("300 d", "close"), ("500 d", "fail")])
def test_a_jump_to_another_window_is_bracketed_and_told_with_both_dates(wait: str, asked_for: str) -> None:
    """Cells that take longer carry the departure to another window: a cheaper one, or one beyond the tanks."""
    text = LARGE.replace("flight_time =", f'maximum_wait = "{wait}"\nflight_time =')
    text = text.replace('"40 m2"', '"80 m2"')
    asked = question(text)
    answer = breakeven.break_even(asked.study, asked.mission, asked.architecture, ["stack_efficiency"])
    (row,) = rows_of(answer.reached, asked_for)
    assert row["jump"]
    assert row["note"].startswith("departure 1 jumps from ")
    ends = [at(asked, {row["quantity"]: row[end]}) for end in ("value", "beyond")]
    dates = sorted(format_date(float(end["departure_date_1"])) for end in ends)
    assert sorted(word for word in row["note"].split() if word.startswith("20")) == dates
    assert [bool(end["closes"]) for end in ends] == [True, False]
    assert abs(row["value"] - row["beyond"]) <= LIMIT * abs(row["value"])


def test_of_two_crossings_the_one_nearest_to_today_is_told() -> None:
    """A larger array feeds the plant and weighs more: the margin rises and falls, and today's value is outside."""
    text = LARGE.replace('"40 m2"', '"4 m2"')
    row = next(
        row
        for row in rows_of(found(text, everything=False).reached, "close")
        if row["quantity"] == "array_area"
    )
    areas = np.geomspace(row["today"], row["value"], 400)[:-1]
    asked = question(text)
    table = engine.evaluate(asked.study, asked.mission, asked.architecture, {"array_area": areas})
    assert not table["closes"].any()


def test_a_design_that_barely_closes_is_asked_both_ways() -> None:
    text = sized(mass=1.005)
    answer, asked = found(text, everything=False), question(text)
    mass = float(asked.reference["start_mass"])
    assert answer.questions == ("spare", "fail")
    row = next(row for row in rows_of(answer.reached, "spare") if row["quantity"] == "launch_mass")
    spare = breakeven.comfortable()
    assert row["value"] == pytest.approx(mass * (1.0 + spare), rel=1e-6)
    assert at(asked, {"launch_mass": row["value"]})["margin"] == pytest.approx(spare, abs=1e-6)
    row = next(row for row in rows_of(answer.reached, "fail") if row["quantity"] == "launch_mass")
    assert row["value"] == pytest.approx(mass, rel=1e-6)


def test_points_of_a_pair_lie_on_the_edge_of_closing() -> None:
    asked = question(short_of("mass"))
    table = found(short_of("mass")).missed
    row = next(name for name in table["quantity"] if "." in name)
    names = ("specific_impulse_change", row)
    for pair in (("system_margin", "array_areal_mass"), names):
        curve = breakeven.boundary(asked, pair)
        assert len(curve.points) > 10
        assert len(curve.segments) >= len(curve.points) - 2
        for place in range(0, len(curve.points), 7):
            on, off = curve.points[place], curve.beyond[place]
            closing, short = (at(asked, dict(zip(pair, map(float, end), strict=True))) for end in (on, off))
            assert closing["closes"]
            assert not short["closes"]
            assert curve.jump[place] or abs(closing["margin"]) < LIMIT
        inside = (curve.x[0] <= curve.points[:, 0]) & (curve.points[:, 0] <= curve.x[-1])
        assert inside.all()
        for name, values in zip(pair, (curve.x, curve.y), strict=True):
            item = breakeven.subject(asked, name)
            assert values[0] <= item.low
            assert item.high <= values[-1]


def test_pairs_that_cannot_be_moved_together_are_refused() -> None:
    asked = question(short_of("mass"))
    with pytest.raises(TradespaceError, match="extraction_energy replaces ice_fraction"):
        breakeven.boundary(asked, ("ice_fraction", "extraction_energy"))
    with pytest.raises(TradespaceError, match="named twice"):
        breakeven.boundary(asked, ("ice_fraction", "ice_fraction"))
    with pytest.raises(UnknownNameError, match="ice_fraction"):
        breakeven.boundary(asked, ("ice_fractio", "payload_mass"))


def test_one_architecture_takes_few_evaluations() -> None:
    assert found(short_of("mass")).evaluated < 25_000


def told(*arguments: str) -> str:
    result = CliRunner().invoke(main, ["breakeven", *arguments])
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.fixture(scope="module")
def study_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("studies") / "short_of_time.toml"
    path.write_text(short_of("time"), encoding="utf-8")
    return str(path)


def test_the_command_says_what_it_takes(study_file: str) -> None:
    text = told(study_file, "--architecture", "electrolysis_bipropellant")
    row = rows_of(found(short_of("time"), everything=False).reached, "close")[0]
    assert "does not close: time" in text
    assert row["quantity"] in text
    assert "cannot do it alone" in text
    assert "Ranked by reach" in text
    content = json.loads(told(study_file, "--architecture", "electrolysis_bipropellant", "--json"))
    one = content["architectures"]["electrolysis_bipropellant"]
    first = one["close"]["reached"][0]
    assert first["quantity"] == row["quantity"]
    assert first["rank"] == 1
    assert one["close"]["out_of_reach"]


def test_the_command_draws_the_line_between_two_inputs(study_file: str) -> None:
    row = rows_of(found(short_of("time"), everything=False).reached, "close")[0]
    pair = ("--pair", row["quantity"], "payload_mass")
    arguments = (study_file, "--architecture", "electrolysis_bipropellant", *pair)
    assert "of the plane closes" in told(*arguments)
    curve = json.loads(told(*arguments, "--json"))["architectures"][0]["curve"]
    assert curve
    assert all(point["jump"] or abs(point["margin"]) < LIMIT for point in curve)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--architecture", "electrolysis_bipropelant"), "electrolysis_bipropellant"),
        (("--pair", "payload_mas", "array_power"), "payload_mass"),
        (("--pair", "array_power", "array_power"), "named twice"),
    ],
)
def test_wrong_names_are_answered_in_one_line(
    study_file: str, arguments: tuple[str, ...], words: str
) -> None:
    result = CliRunner().invoke(main, ["breakeven", study_file, *arguments])
    assert result.exit_code == 2
    assert words in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
