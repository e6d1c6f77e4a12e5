"""Limits and properties: the architectures side by side, their evidence, break-evens and payback."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from invented_results import YEAR, invented_results

import tradespace.sweep
from tradespace import thrusters
from tradespace.cli import main
from tradespace.comparison import (
    MARKS,
    break_evens,
    compare,
    first_shown,
    mark_words,
    standing_design,
    standings,
    title_of,
)
from tradespace.comparison.evidence import evidence, is_demonstrated, weakest
from tradespace.comparison.pairs import Appetite, appetite, pair
from tradespace.figures import draw_figures
from tradespace.physics.electric import energy_per_dry_mass
from tradespace.report import verdict_section
from tradespace.report.words import verdict
from tradespace.results import Results

KILOWATT_HOUR = 3.6e6
GRAVITY = 9.80665


@pytest.fixture(scope="module")
def six() -> Results:
    return invented_results(count=8)


@pytest.fixture(scope="module")
def twenty() -> Results:
    return invented_results(count=6, crowd=14)


def steam_and_electrolysis(change: float) -> Any:
    """The two of the published table: 180 s at 1.9 kWh/kg, 345 s at 6.3 kWh/kg."""
    return pair(
        Appetite("steam", 180.0 * GRAVITY, 1.9 * KILOWATT_HOUR, 1.0 * KILOWATT_HOUR),
        Appetite("split", 345.0 * GRAVITY, 6.3 * KILOWATT_HOUR, 1.0 * KILOWATT_HOUR),
        change,
    )


def test_one_row_for_each_architecture_best_first(twenty: Results) -> None:
    found = compare(twenty)
    assert [one.place for one in found.rows] == list(range(1, 21))
    assert {one.standing.name for one in found.rows} == set(twenty.architectures)
    assert [one.standing.name for one in found.rows] == [one.name for one in standings(twenty)]
    for one in found.rows:
        assert one.evidence.maturity
        assert one.evidence.grade


def test_numbers_are_those_of_the_design_that_stands(six: Results) -> None:
    for one in compare(six).rows:
        row, closes = standing_design(six, one.standing.name)
        assert row is not None
        assert one.standing.closes is closes
        assert one.numbers["energy_per_hop"] == float(row["energy_per_hop"])
        assert math.isnan(one.numbers["mined_specific_impulse"]) is not one.standing.refuels


@pytest.mark.parametrize("change", [1.0, 500.0, 1000.0, 3000.0])
def test_at_the_break_even_both_take_the_same_energy(change: float) -> None:
    found = steam_and_electrolysis(change)
    each = [
        energy_per_dry_mass(change, impulse * GRAVITY, found.energy, spent * KILOWATT_HOUR)
        for impulse, spent in ((180.0, 1.9), (345.0, 6.3))
    ]
    assert each[0] == pytest.approx(each[1], rel=1e-9)
    assert found.always == ""
    assert found.ahead == ("split" if found.energy < 1.0 * KILOWATT_HOUR else "steam")


def test_the_frugal_one_that_also_spends_less_always_wins() -> None:
    found = pair(Appetite("a", 1000.0, 9e6, 1e6), Appetite("b", 3000.0, 8e6, 1e6), 800.0)
    assert (found.always, found.ahead) == ("fast", "b")
    assert math.isnan(found.energy)
    same = pair(Appetite("a", 1000.0, 9e6, 1e6), Appetite("b", 1000.0, 8e6, 1e6), 800.0)
    assert (same.always, same.ahead) == ("fast", "b")


def test_water_left_at_the_mine_counts_as_mined() -> None:
    row = pd.Series({"specific_impulse": 440.0, "mined_specific_impulse": 246.0, "spent_energy": 2e7})
    found = appetite(row, "left", 1500.0, 1e6)
    assert found is not None
    load = math.expm1(1500.0 / found.exhaust_velocity)
    assert load == pytest.approx(math.expm1(1500.0 / (440.0 * GRAVITY)) * 440.0 / 246.0, rel=1e-12)
    whole = appetite(
        pd.Series({"specific_impulse": 345.0, "mined_specific_impulse": 345.0, "spent_energy": 2e7}),
        "a", 1500.0, 1e6,
    )  # fmt: skip
    assert whole is not None
    assert whole.exhaust_velocity == pytest.approx(345.0 * GRAVITY, rel=1e-12)


def test_every_pair_stands_once_with_the_one_that_mines_more_first(twenty: Results) -> None:
    found = break_evens(twenty)
    mining = sum(one.refuels for one in standings(twenty))
    assert len(found) == mining * (mining - 1) // 2
    assert len({frozenset((one.slow, one.fast)) for one in found}) == len(found)
    order = compare(twenty).order()
    assert len(order) == mining
    assert all(order.index(one.slow) < order.index(one.fast) for one in found)


def test_payback_is_where_the_water_mined_reaches_the_plant(six: Results) -> None:
    for one in compare(six).rows:
        row = one.standing.row
        assert row is not None
        if not one.standing.refuels:
            assert math.isnan(one.payback_hops)
            continue
        assert one.refuelling_mass > float(row["extraction_mass"] + row["electrolyser_mass"])
        assert one.refuelling_mass < float(row["dry_mass"])
        if one.standing.closes:
            mined = float(row["water_mined_1"])  # the same at each invented stop
            assert one.payback_hops == pytest.approx(one.refuelling_mass / mined, rel=1e-9)
        else:
            assert one.payback_hops == math.inf


def test_never_is_said_where_nothing_pays_back() -> None:
    found = compare(invented_results(count=5, closing=False, sensitivity=False))
    assert all(one.payback_hops == math.inf for one in found.rows if one.standing.refuels)
    assert all(math.isnan(one.start_mass_ratio) for one in found.rows)


def test_start_mass_is_set_against_the_best_craft_that_does_not_refuel(six: Results) -> None:
    found = compare(six)
    assert found.carried is not None and found.carried.row is not None
    for one in found.rows:
        if one.standing.refuels and one.standing.closes:
            assert one.standing.row is not None
            expected = float(found.carried.row["start_mass"]) / float(one.standing.row["start_mass"])
            assert one.start_mass_ratio == expected


def test_only_refuelling_closes_is_infinite(six: Results) -> None:
    designs = six.designs.copy()
    designs.loc[designs["architecture"].str.startswith("carried"), "closes"] = False
    found = compare(replace(six, designs=designs))
    assert found.carried is None
    assert all(
        one.start_mass_ratio == math.inf for one in found.rows if one.standing.refuels and one.standing.closes
    )


def test_the_weakest_grade_decides_and_given_is_no_demonstration() -> None:
    assert weakest(["defined", "computed", "measured"]) == "computed"
    assert weakest(["measured", "assumed", "estimated"]) == "assumed"
    assert not any(is_demonstrated(grade) for grade in MARKS)
    assert all(is_demonstrated(grade) for grade in ("defined", "measured", "reviewed", "computed"))


@pytest.mark.parametrize("name", sorted(thrusters.registry()))
def test_every_thruster_has_maturity_grade_and_sources(name: str) -> None:
    found = evidence(thrusters.thruster(name))
    assert found.maturity
    assert found.grade in {"measured", "reviewed", "computed", "estimated", "assumed", "defined"}
    assert found.demonstrated == is_demonstrated(found.grade)
    assert found.sources
    for item in found.shown.values():
        assert item.value.low <= item.value.value <= item.value.high


def test_what_is_not_demonstrated_carries_its_mark_wherever_it_is_ranked(six: Results) -> None:
    weak = {name for name in six.architectures if six.study.thrusters[name].grade in MARKS}
    assert weak == {"microwave", "hall"}
    titles = {name: title_of(six, name) for name in six.architectures}
    assert all(("†" in title or "‡" in title) == (name in weak) for name, title in titles.items())
    assert "† assumed" in mark_words(six) and "‡ estimated" in mark_words(six)
    page = verdict_section(six).markup()
    for name in weak:
        plain = six.study.thrusters[name].title
        assert page.count(plain) == page.count(titles[name]) > 0
    for drawn in draw_figures(six, ["refuel_time", "impulse_power", "side_by_side"]):
        text = drawn.figure.to_json() + json.dumps(drawn.caption)
        assert "(assumed" in text, drawn.key


def test_the_verdict_names_the_best_demonstrated_one_before_a_better_assumed_one(six: Results) -> None:
    designs = six.designs.copy()
    mine = (designs["architecture"] == "microwave").to_numpy()
    designs.loc[mine, ["margin", "mission_time"]] = [0.5, 0.1 * YEAR]
    designs.loc[mine, "closes"] = True
    words, closes = verdict(replace(six, designs=designs))
    assert closes
    proven = next(
        one for one in standings(replace(six, designs=designs)) if one.refuels and one.closes and one.demonstrated
    )  # fmt: skip
    assert words.index(proven.title) < words.index("(assumed†)")
    assert "Ahead of it on what has not been demonstrated: Microwave" in words


def test_without_a_demonstrated_one_the_verdict_says_so(six: Results) -> None:
    designs = six.designs[six.designs["architecture"].isin(["microwave", "hall"])]
    study: Any = replace(six.study, architectures=("microwave", "hall"))
    words, closes = verdict(replace(six, designs=designs, study=study))
    assert closes
    assert "none of these rests on demonstrated performance" in words


def test_pictures_keep_the_first_six_and_the_best_demonstrated_one(twenty: Results) -> None:
    chosen = first_shown(twenty, twenty.architectures, 6)
    assert len(chosen) == 6
    ranked = standings(twenty)
    closing = [one for one in ranked if one.closes and one.refuels]
    assert closing[0].name in chosen
    assert next(one.name for one in closing if one.demonstrated) in chosen
    assert any(not twenty.study.thrusters[name].refuels for name in chosen)
    assert chosen == [name for name in twenty.architectures if name in chosen]
    assert first_shown(twenty, twenty.architectures[:5], 6) == twenty.architectures[:5]


def test_json_holds_every_architecture_and_pair(
    six: Results, monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    monkeypatch.setattr(tradespace.sweep, "read_run", lambda folder: six)
    answer = CliRunner().invoke(main, ["compare", str(tmp_path), "--json"])
    content = json.loads(answer.output)
    assert [one["architecture"] for one in content["architectures"]] == [one.name for one in standings(six)]
    assert len(content["break_even"]) == 6
    weak = {one["architecture"] for one in content["architectures"] if not one["demonstrated"]}
    assert weak == {"microwave", "hall"}


def test_the_listing_marks_what_is_assumed(
    six: Results, monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    monkeypatch.setattr(tradespace.sweep, "read_run", lambda folder: six)
    lines = CliRunner().invoke(main, ["compare", str(tmp_path)]).output.splitlines()
    rows = [line for line in lines if "microwave" in line and "refuel" not in line]
    assert any("assumed†" in line for line in rows)
    assert any("payback" in line for line in lines)
    listed = CliRunner().invoke(main, ["list", "thrusters"]).output
    assert "rests on" in listed and "readiness" in listed and "storage" in listed
    assert np.all([name in listed for name in thrusters.registry()])


def test_panels_of_twenty_say_what_they_leave_out(twenty: Results) -> None:
    for drawn in draw_figures(twenty, ["limiting_link_map", "mass_breakdown"]):
        panels = sum(trace.type == "heatmap" for trace in drawn.figure.data)
        assert panels in {0, 6}, drawn.key
        assert ("the other 14 are named" in drawn.caption) == (panels == 6), drawn.key
        bars = next((trace for trace in drawn.figure.data if trace.type == "bar"), None)
        assert bars is None or len(bars.y) == 20
