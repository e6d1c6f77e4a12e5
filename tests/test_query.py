"""Finished runs asked with a WHERE clause: right rows, right units, nothing but reading."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner, Result
from small_studies import SURFACE

from tradespace import sweep
from tradespace.cli import main
from tradespace.errors import OutputError, TradespaceError
from tradespace.results import Results
from tradespace.study import parse_study
from tradespace.sweep import chunks
from tradespace.sweep.query import Run

STUDY = parse_study(SURFACE.replace("count = 3", "count = 40"))
COLUMNS = ["architecture", "array_power", "start_mass", "margin", "closes", "limited_by"]
CLAUSES = {
    "": lambda table: table["margin"] > -9.0,
    "margin >= -0.05 and architecture = 'steam_resistojet'": lambda table: (
        (table["margin"] >= -0.05) & (table["architecture"] == "steam_resistojet")
    ),
    "closes AND start_mass <= '300 kg'": lambda table: table["closes"] & (table["start_mass"] <= 300.0),
    "refuel_time < '20 d' or array_power > '18 kW'": lambda table: (
        (table["refuel_time"] < 20.0 * 86400.0) | (table["array_power"] > 18e3)
    ),
    "not closes and limited_by in ('mass', 'water')": lambda table: (
        ~table["closes"] & table["limited_by"].isin(["mass", "water"])
    ),
    "(margin < 0 or not (limited_by <> 'water')) and limited_at = 1": lambda table: (
        ((table["margin"] < 0.0) | (table["limited_by"] == "water")) & (table["limited_at"] == 1)
    ),
}


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Results]:
    out = tmp_path_factory.mktemp("query") / "run"
    with pytest.MonkeyPatch.context() as patch:
        for module in (chunks, sweep):
            patch.setattr(module, "chunk_designs", lambda: 16)
        return out, sweep.run(STUDY, out)


@pytest.fixture(params=["duckdb", "arrow"])
def through(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """With DuckDB, and as on a machine without it."""
    if request.param == "arrow":
        monkeypatch.setitem(sys.modules, "duckdb", None)
    else:
        pytest.importorskip("duckdb")
    return str(request.param)


@pytest.mark.parametrize("clause", CLAUSES)
def test_a_clause_finds_the_designs_it_says(
    clause: str, through: str, finished: tuple[Path, Results]
) -> None:
    table = finished[1].designs
    wanted = table[CLAUSES[clause](table)]
    assert len(wanted) > 0
    found = Run(finished[0]).ask(clause, COLUMNS, "start_mass", highest=False, top=7)
    assert (found.matching, found.designs) == (len(wanted), len(table))
    order = ["start_mass", "margin", "architecture", "array_power"]
    text = wanted.assign(architecture=wanted["architecture"].astype(str))
    first = text.sort_values(order, ascending=[True, False, True, True], kind="stable").head(7)
    plain = dict.fromkeys(("architecture", "limited_by"), str)
    pd.testing.assert_frame_equal(
        found.rows.astype(plain), first[COLUMNS].reset_index(drop=True).astype(plain), check_dtype=False
    )
    last = Run(finished[0]).ask(clause, ["start_mass"], "start_mass", highest=True, top=1)
    assert last.rows["start_mass"].iloc[0] == wanted["start_mass"].max()


def test_without_a_match_there_are_no_rows(through: str, finished: tuple[Path, Results]) -> None:
    found = Run(finished[0]).ask("start_mass < 0", COLUMNS, "margin", highest=True, top=5)
    assert (found.matching, len(found.rows), list(found.rows.columns)) == (0, 0, COLUMNS)


@pytest.mark.parametrize(
    "clause",
    [
        "start_mass > (SELECT count(*) FROM read_csv('/etc/hostname'))",
        "start_mass > (SELECT count(*) FROM read_text('/etc/hostname'))",
        "start_mass > (SELECT count(*) FROM '/etc/hostname')",
        "start_mass > (SELECT count(*) FROM glob('/*'))",
        "start_mass > (SELECT count(*) FROM frame)",
        "true; DROP TABLE designs",
        "true); ATTACH 'stolen.db'",
        "true; COPY (SELECT 1) TO 'stolen.csv'",
        "COPY (SELECT 1) TO 'stolen.csv'",
        "ATTACH 'stolen.db'",
        "true) TO 'stolen.csv' --",
        "SET enable_external_access = true",
        "getenv('HOME') = '/root'",
        "__import__('os').mkdir('stolen')",
        "margin.__class__ > 1",
        "margin >",
        "(margin > 1",
        "margin > 1)",
        "'",
        "margin > 'wide'",
        "(" * 300 + "margin > 1" + ")" * 299,
        "\0",
        "margin > 1 OR " * 400 + "closes",
    ],
)
def test_a_clause_can_only_read_these_designs(
    clause: str, through: str, finished: tuple[Path, Results], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    frame = pd.DataFrame({"x": [1.0]})
    monkeypatch.chdir(tmp_path)
    with pytest.raises(TradespaceError) as caught:
        Run(finished[0]).ask(clause, ["margin"], "margin", highest=True, top=1)
    assert len(str(caught.value).splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
    assert len(frame) == 1


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        ("margn > 0", "did you mean margin"),
        ("start_mass <= '400 kW'", "kW"),
        ("start_mass <= '400 kgg'", "kgg"),
        ("'400 kg' >= start_mass", "write the column before '400 kg'"),
    ],
)
def test_a_mistake_is_told_in_one_line(
    clause: str, words: str, through: str, finished: tuple[Path, Results]
) -> None:
    with pytest.raises(TradespaceError) as caught:
        Run(finished[0]).ask(clause, ["margin"], "margin", highest=True, top=1)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def asked(*words: str) -> Result:
    return CliRunner().invoke(main, ["query", *words])


def test_the_command_shows_display_units_or_si(finished: tuple[Path, Results], tmp_path: Path) -> None:
    run, clause = str(finished[0]), "closes and start_mass <= '300 kg'"
    table = finished[1].designs
    best = table[table["closes"] & (table["start_mass"] <= 300.0)].sort_values("start_mass").iloc[0]
    common = (
        run,
        "--where",
        clause,
        "--by",
        "start_mass",
        "--columns",
        "start_mass,refuel_time,closes",
        "--top",
        "1",
    )
    lines = asked(*common).output.splitlines()
    assert lines[0].split("  ") == ["start_mass [kg]", "refuel_time [d]", "closes"]
    assert "lowest start_mass first" in lines[-1]
    assert asked(*common, "--si").output.splitlines()[0].split("  ")[1].strip() == "refuel_time [s]"
    content = json.loads(asked(*common, "--json").output)
    assert content["rows"][0]["refuel_time_d"] == pytest.approx(best["refuel_time"] / 86400.0)
    assert content["matching"] == int((table["closes"] & (table["start_mass"] <= 300.0)).sum())
    in_si = json.loads(asked(*common, "--json", "--si").output)
    assert in_si["units"] == {"start_mass": "kg", "refuel_time": "s", "closes": ""}
    assert in_si["rows"][0]["refuel_time"] == pytest.approx(best["refuel_time"])
    asked(*common, "--csv", str(tmp_path / "best.csv"))
    written = pd.read_csv(tmp_path / "best.csv")
    assert written["refuel_time [d]"].iloc[0] == pytest.approx(best["refuel_time"] / 86400.0)
    hop = json.loads(asked(run, "--columns", "refuel_time_2", "--top", "1", "--json").output)
    assert set(hop["rows"][0]) == {"refuel_time_d_2"}


def test_the_best_end_comes_first(finished: tuple[Path, Results]) -> None:
    lines = asked(str(finished[0]), "--by", "margin", "--top", "2").output.splitlines()
    assert "highest margin first" in lines[-1]
    assert "lowest margin first" in asked(str(finished[0]), "--by", "margin", "--lowest").output
    assert "lowest mission_time first" in asked(str(finished[0])).output
    assert len(asked(str(finished[0]), "--columns", "all", "--top", "1").output.splitlines()[0].split()) > 60


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--columns", "start_mas"), "did you mean start_mass"),
        (("--by", "nonsense"), "is no column"),
        (("--top", "0"), "--top"),
        (("--csv", "."), "is a folder"),
    ],
)
def test_the_command_refuses_in_words(words: Any, told: str, finished: tuple[Path, Results]) -> None:
    result = asked(str(finished[0]), *words)
    assert result.exit_code == 2
    assert told in result.output
    assert len(result.output.splitlines()) <= 2


def test_a_damaged_part_is_named(finished: tuple[Path, Results], tmp_path: Path) -> None:
    shutil.copytree(finished[0], tmp_path / "run")
    part = tmp_path / "run" / "designs" / "part-00002.parquet"
    content = bytearray(part.read_bytes())
    content[len(content) // 2] ^= 1
    part.write_bytes(bytes(content))
    with pytest.raises(OutputError, match=r"part-00002\.parquet has another checksum; run the study again"):
        Run(tmp_path / "run")
    part.write_bytes(bytes(content[:-1]))
    with pytest.raises(OutputError, match=r"part-00002\.parquet has \d+ bytes instead of \d+"):
        sweep.read_run(tmp_path / "run")
    part.unlink()
    with pytest.raises(OutputError, match=r"part-00002\.parquet is missing"):
        Run(tmp_path / "run")
    assert "make one with: tradespace run" in asked(str(tmp_path)).output


def test_two_runs_side_by_side(finished: tuple[Path, Results], tmp_path: Path) -> None:
    """Differences of the question, and how many of the same designs flipped."""
    text = STUDY.text.replace('launch_mass = "420 kg"', 'launch_mass = "520 kg"')
    other = sweep.run(parse_study(text), tmp_path / "other")
    result = CliRunner().invoke(main, ["compare", str(finished[0]), str(tmp_path / "other"), "--json"])
    assert result.exit_code == 0, result.output
    found = json.loads(result.output)
    assert found["differences"] == [{"what": "launch_mass", "first": "420 kg", "second": "520 kg"}]
    assert found["same_designs"]
    before, after = finished[1], other
    assert (after.designs["closes"] & ~before.designs["closes"]).any()
    for row in found["architectures"]:
        mine = [run.designs[run.designs["architecture"] == row["architecture"]] for run in (before, after)]
        one, two = (table["closes"].to_numpy() for table in mine)
        assert (row["first"]["closing"], row["second"]["closing"]) == (one.sum(), two.sum())
        assert (row["opened"], row["closed"]) == ((two & ~one).sum(), (one & ~two).sum())
        if one.any() and two.any():
            best = [table.loc[table["closes"], "mission_time"].min() / 31557600.0 for table in mine]
            assert row["change"] == pytest.approx(best[1] - best[0], abs=1e-6)
    printed = CliRunner().invoke(main, ["compare", str(finished[0]), str(tmp_path / "other")]).output
    assert "launch_mass  420 kg  520 kg" in printed
    same = CliRunner().invoke(main, ["compare", str(finished[0]), str(finished[0])]).output
    assert "the same question, code and versions" in same


def test_runs_about_other_designs_are_not_counted_against_each_other(
    finished: tuple[Path, Results], tmp_path: Path
) -> None:
    sweep.run(parse_study(SURFACE), tmp_path / "other")
    result = CliRunner().invoke(main, ["compare", str(finished[0]), str(tmp_path / "other")])
    assert "sweep of array_power" in result.output
    assert "cannot be counted" in result.output


def test_what_is_no_run_is_not_compared(finished: tuple[Path, Results], tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(SURFACE)
    for other in (tmp_path / "study.toml", tmp_path, tmp_path / "nowhere"):
        result = CliRunner().invoke(main, ["compare", str(finished[0]), str(other)])
        assert result.exit_code == 2
        assert "no finished run" in result.output
        assert len(result.output.splitlines()) == 1
