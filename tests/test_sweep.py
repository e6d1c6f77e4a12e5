"""Runs: what they leave behind, what they refuse to touch, and how they go on after an interruption."""

from __future__ import annotations

import dataclasses
import functools
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from pyarrow import parquet
from small_studies import SURFACE, TOUR

from tradespace import evaluate as engine
from tradespace import report, sampling, sensitivity, sweep
from tradespace.errors import OutputError
from tradespace.figures.choice import standing_design
from tradespace.quantities import quantities
from tradespace.results import Results
from tradespace.study import Study, parse_study
from tradespace.sweep import chunks, engines, evidence, folder, ledger, parts, warm

STUDY = parse_study(SURFACE)
OTHER = parse_study(SURFACE.replace('"small_hopper"', '"other_hopper"'))
CHANGED = parse_study(SURFACE.replace('launch_mass = "420 kg"', 'launch_mass = "430 kg"'))
PARTS = 6
"""Two architectures of three designs each, one design a part."""


@pytest.fixture
def one_design_a_part(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chunks, "chunk_designs", lambda: 1)
    monkeypatch.setattr(sweep, "chunk_designs", lambda: 1)


@pytest.fixture
def evaluated(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Sizes of the sets of designs that the run evaluates, one entry per part."""
    sizes: list[int] = []

    def counting(study: Study, mission: Any, architecture: str, designs: Any) -> pd.DataFrame:
        sizes.append(max(np.size(values) for values in designs.values()))
        return engine.evaluate(study, mission, architecture, designs)

    monkeypatch.setattr(chunks, "evaluate", counting)
    return sizes


def complete(out: Path, study: Study = STUDY, **options: Any) -> Results:
    """A run with analysis and report, as the command line makes it."""

    def finish(results: Results, place: Path) -> None:
        report.write_report(results, place / "report.html")

    return sweep.run(study, out, analysis=sensitivity.analyse, finish=finish, **options)


@functools.cache
def uninterrupted() -> pd.DataFrame:
    return sweep.run(STUDY).designs


def contents(place: Path) -> dict[str, bytes]:
    """Every file below a folder, hidden ones too."""
    return {
        str(path.relative_to(place)): path.read_bytes() for path in sorted(place.rglob("*")) if path.is_file()
    }


def stop_after(parts: int) -> sweep.Progress:
    """Someone who presses the interrupt key when so many parts are done."""
    calls: list[int] = []

    def progress(done: int, _total: int, _closing: int) -> None:
        calls.append(done)
        if len(calls) == parts:
            raise KeyboardInterrupt

    return progress


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Results]]:
    out = tmp_path_factory.mktemp("finished") / "run"
    yield out, complete(out)


def test_a_run_leaves_report_designs_summary_and_evidence(finished: tuple[Path, Results]) -> None:
    out, results = finished
    assert {path.name for path in out.iterdir()} == {
        "report.html", "designs", "ledger.json", "summary.json", "evidence",
    }  # fmt: skip
    assert [path.name for path in out.parent.iterdir()] == ["run"]
    assert (out / "report.html").read_text(encoding="utf-8").startswith("<!")
    content = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert {
        "study",
        "seed",
        "designs",
        "closing",
        "seconds",
        "designs_per_second",
        "best",
    } <= set(content)
    assert content["study"] == "small_hopper"
    assert content["seed"] == STUDY.seed == 0
    assert content["designs"] == sampling.design_count(STUDY) == len(results.designs) == PARTS
    assert content["closing"] == int(results.designs["closes"].sum())
    assert content["seconds"] > 0.0
    assert set(content["best"]) == set(STUDY.architectures)
    for name in STUDY.architectures:
        rows = results.designs[(results.designs["architecture"] == name) & results.designs["closes"]]
        if rows.empty:
            assert content["best"][name] is None
        else:
            shown = quantities()["mission_time"].shown(float(rows["mission_time"].min()))
            assert content["best"][name]["mission_time_yr"] == pytest.approx(shown, rel=1e-6)


def test_every_column_of_the_designs_carries_its_si_unit(finished: tuple[Path, Results]) -> None:
    out, results = finished
    parts = sorted((out / "designs").glob("part-*.parquet"))
    assert sum(parquet.read_metadata(part).num_rows for part in parts) == len(results.designs)
    for part in parts:
        for field in parquet.read_schema(part):
            if field.name == "architecture":
                continue
            stem = field.name if field.name in quantities() else field.name.rpartition("_")[0]
            assert field.metadata[b"unit"].decode() == quantities()[stem].unit
    schema = parquet.read_schema(parts[0])
    for name, unit in (
        ("array_power", "W"),
        ("refuel_time", "s"),
        ("propellant_used_2", "kg"),
        ("margin", "1"),
    ):
        assert schema.field(name).metadata[b"unit"].decode() == unit


def test_running_again_replaces_the_folder_whole(tmp_path: Path) -> None:
    out = tmp_path / "run"

    def finish(_results: Results, place: Path) -> None:
        (place / "report.html").write_text("the report")

    sweep.run(STUDY, out, analysis=sensitivity.analyse, finish=finish)
    first = contents(out)
    (out / "designs" / "part-00099.parquet").write_bytes(b"stale")
    (out / "figures").mkdir()
    (out / "figures" / "stale.svg").write_text("stale")
    sweep.run(STUDY, out, analysis=sensitivity.analyse, finish=finish)
    second = contents(out)
    assert set(second) == set(first)
    tables = [name for name in first if name.endswith(".parquet")]
    assert len(tables) >= 5
    assert [name for name in tables if second[name] != first[name]] == []
    assert [path.name for path in tmp_path.iterdir()] == ["run"]


def test_a_folder_that_is_a_link_is_replaced_where_it_points(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "disk", target_is_directory=True)
    for _ in range(2):
        sweep.run(STUDY, tmp_path / "link")
        assert (tmp_path / "link").is_symlink()
        assert (tmp_path / "disk" / "summary.json").is_file()


def test_the_same_numbers_in_memory_in_parts_and_from_disk(tmp_path: Path, one_design_a_part: None) -> None:
    results = sweep.run(STUDY, tmp_path / "run")
    assert len(list((tmp_path / "run" / "designs").iterdir())) == PARTS
    pd.testing.assert_frame_equal(results.designs, uninterrupted())
    pd.testing.assert_frame_equal(sweep.read_run(tmp_path / "run").designs, uninterrupted())


@pytest.fixture
def some_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every run counts as too large to stay in memory whole."""
    uninterrupted()  # with all its columns
    for module in (engines, evidence):
        monkeypatch.setattr(module, "fits", lambda *_: False)


def same_designs(results: Results, whole: Results) -> None:
    """Some of the columns in memory, the rest of them on demand, and all as in a run that keeps everything."""
    held = list(results.designs.columns)
    assert {"architecture", "closes", "margin", "array_power", STUDY.figure_of_merit} <= set(held)
    assert "propellant_used_2" not in held
    pd.testing.assert_frame_equal(results.designs, whole.designs[held])
    assert results.names == whole.names == list(whole.designs.columns)
    for name in ("propellant_used_2", "margin", "limited_by"):
        pd.testing.assert_series_equal(results.column(name), whole.designs[name], check_categorical=False)
    for name in STUDY.architectures:
        pd.testing.assert_series_equal(
            results.full(results.candidates(name).iloc[-1]), whole.candidates(name).iloc[-1]
        )
        found, expected = results.best(name), whole.best(name)
        assert (found is None) == (expected is None)
        if found is not None:
            pd.testing.assert_series_equal(found, expected)
        pd.testing.assert_series_equal(standing_design(results, name)[0], standing_design(whole, name)[0])


def test_a_run_of_very_many_designs_holds_some_columns_and_finds_the_others(
    tmp_path: Path, some_columns: None, one_design_a_part: None
) -> None:
    whole = dataclasses.replace(sweep.run(STUDY), designs=uninterrupted(), whole=None)
    same_designs(sweep.run(STUDY), whole)
    same_designs(sweep.run(STUDY, tmp_path / "run"), whole)
    (tmp_path / "run").rename(tmp_path / "moved")
    same_designs(sweep.read_run(tmp_path / "moved"), whole)


def test_of_the_largest_runs_memory_holds_seven_digits_where_the_choice_does_not_rest_on_them() -> None:
    whole = uninterrupted()
    held = whole[parts.slim_columns(STUDY, list(whole.columns))]
    assert parts.slimmed(held, STUDY, 1_000_000) is held
    slim = parts.slimmed(held, STUDY, 10_000_000)
    for name in ("array_power", STUDY.figure_of_merit, "margin", "closes", "limited_by"):
        pd.testing.assert_series_equal(slim[name], held[name])
    pd.testing.assert_frame_equal(slim, held, check_dtype=False, rtol=1e-6)
    a_design = sum(
        slim[name].dtype.itemsize for name in slim if not isinstance(slim[name].dtype, pd.CategoricalDtype)
    )
    assert 10_000_000 * a_design < 1e9  # and the process beside it 0.3e9


def test_a_report_is_the_same_whatever_stays_in_memory(
    finished: tuple[Path, Results], some_columns: None
) -> None:
    stored = sweep.read_run(finished[0])
    assert stored.whole is not None
    assert report.report_page(stored) == (finished[0] / "report.html").read_text(encoding="utf-8")


def test_progress_counts_designs_up_to_all(one_design_a_part: None) -> None:
    told: list[tuple[int, int, int]] = []
    table = sweep.run(STUDY, progress=lambda *numbers: told.append(numbers)).designs
    assert [done for done, _, _ in told] == list(range(1, PARTS + 1))
    assert {total for _, total, _ in told} == {PARTS}
    assert told[-1][2] == int(table["closes"].sum())


def refused(out: Path, *, overwrite: bool, study: Study = STUDY) -> str:
    """The message of a refused run that changed nothing, hidden folders included, and evaluated nothing."""
    before = contents(out.parents[0]) if out.parents[0].is_dir() else {}
    with pytest.raises(OutputError) as caught:
        sweep.run(study, out, overwrite=overwrite)
    if out.parents[0].is_dir():
        assert contents(out.parents[0]) == before
    return str(caught.value)


def test_the_run_of_another_study_is_kept_unless_told(tmp_path: Path, evaluated: list[int]) -> None:
    out = tmp_path / "run"
    sweep.run(OTHER, out)
    evaluated.clear()
    words = refused(out, overwrite=False)
    assert "'other_hopper'" in words
    assert "--overwrite" in words
    assert evaluated == []
    sweep.run(STUDY, out, overwrite=True)
    assert json.loads((out / "summary.json").read_text())["study"] == "small_hopper"


@pytest.mark.parametrize("overwrite", [False, True])
@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("holiday.jpg", "not a run"),
        ("summary.json", "not JSON"),
        ("summary.json", "[1, 2]"),
        ("summary.json", '{"study": "small_hopper", "by": "someone else"}'),
    ],
)
def test_a_folder_that_is_no_run_is_never_touched(
    file: str, text: str, overwrite: bool, tmp_path: Path, evaluated: list[int]
) -> None:
    out = tmp_path / "photos"
    out.mkdir()
    (out / file).write_text(text)
    assert "not empty" in refused(out, overwrite=overwrite)
    assert evaluated == []


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_file_is_never_touched(overwrite: bool, tmp_path: Path) -> None:
    (tmp_path / "run").write_text("precious")
    assert "is a file" in refused(tmp_path / "run", overwrite=overwrite)


def test_an_empty_folder_may_be_filled(tmp_path: Path) -> None:
    (tmp_path / "run").mkdir()
    sweep.run(STUDY, tmp_path / "run")
    assert (tmp_path / "run" / "summary.json").is_file()


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path, evaluated: list[int]) -> None:
    (tmp_path / "file").write_text("a file, not a folder")
    assert "cannot write" in refused(tmp_path / "file" / "run", overwrite=False)
    assert evaluated == []


@pytest.mark.skipif(getattr(os, "geteuid", lambda: 1)() == 0, reason="the superuser may write anywhere")
def test_a_folder_without_permission_is_told(tmp_path: Path) -> None:
    (tmp_path / "locked").mkdir(mode=0o500)
    assert "cannot write" in refused(tmp_path / "locked" / "run", overwrite=False)


def test_a_folder_filled_during_the_run_is_not_replaced(tmp_path: Path) -> None:
    def meanwhile(*_: int) -> None:
        (tmp_path / "run").mkdir(exist_ok=True)
        (tmp_path / "run" / "letter.txt").write_text("precious")

    with pytest.raises(OutputError, match="not empty"):
        sweep.run(STUDY, tmp_path / "run", overwrite=True, progress=meanwhile)
    assert contents(tmp_path / "run") == {"letter.txt": b"precious"}


HOLD = """
import fcntl, sys
handle = open(sys.argv[1], "a+")
fcntl.flock(handle, fcntl.LOCK_EX)
print("held", flush=True)
sys.stdin.read()
"""


def test_a_folder_in_use_by_another_process_is_left_alone(tmp_path: Path, evaluated: list[int]) -> None:
    out = tmp_path / "run"
    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, out, progress=stop_after(1))
    lock = tmp_path / ".run.unfinished" / "lock"
    command = [sys.executable, "-c", HOLD, str(lock)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        evaluated.clear()
        assert "in use" in refused(out, overwrite=True)
        assert evaluated == []
        holder.communicate("")
    sweep.run(STUDY, out)
    assert (out / "summary.json").is_file()


def test_a_lock_on_a_folder_that_has_moved_on_is_no_lock(tmp_path: Path) -> None:
    (tmp_path / "lock").touch()
    with (tmp_path / "lock").open("a+") as early:
        (tmp_path / "lock").rename(tmp_path / "moved")
        (tmp_path / "lock").touch()
        assert not folder._lock(early)
    with (tmp_path / "lock").open("a+") as late:
        assert folder._lock(late)


def test_two_runs_into_one_folder_do_not_mix(tmp_path: Path) -> None:
    """A second call while the first is under way is refused, and the first one finishes undisturbed."""
    refusals = []

    def first_progress(*_: int) -> None:
        with pytest.raises(OutputError, match="in use"):
            sweep.run(STUDY, tmp_path / "run")
        refusals.append(1)

    results = sweep.run(STUDY, tmp_path / "run", progress=first_progress)
    assert len(refusals) >= 1
    pd.testing.assert_frame_equal(results.designs, uninterrupted())


@pytest.mark.parametrize("parts", [1, 3, PARTS])
def test_an_interrupted_run_goes_on_where_it_stopped(
    parts: int, tmp_path: Path, one_design_a_part: None, evaluated: list[int]
) -> None:
    out = tmp_path / "run"
    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, out, progress=stop_after(parts))
    assert not out.exists()
    there = len(list((tmp_path / ".run.unfinished" / "designs").glob("part-*.parquet")))
    assert there >= parts
    evaluated.clear()
    results = sweep.run(STUDY, out)
    assert len(evaluated) == PARTS - there
    pd.testing.assert_frame_equal(results.designs, uninterrupted())
    assert f"{there} of {PARTS} designs" in results.notes[0]
    assert results.evaluated == PARTS - there
    if results.evaluated:
        assert results.designs_per_second == pytest.approx(results.evaluated / results.seconds)
    stored = sweep.read_run(out)
    pd.testing.assert_frame_equal(stored.designs, uninterrupted())
    assert stored.notes == results.notes
    assert [path.name for path in tmp_path.iterdir()] == ["run"]


def test_a_former_run_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    out = tmp_path / "run"
    sweep.run(STUDY, out)
    before = contents(out)
    with pytest.raises(KeyboardInterrupt):
        sweep.run(CHANGED, out, progress=stop_after(1))
    assert contents(out) == before
    sweep.run(CHANGED, out)
    assert sweep.read_run(out).study.hash == CHANGED.hash


def test_parts_of_a_changed_study_are_not_taken_over(
    tmp_path: Path, one_design_a_part: None, evaluated: list[int]
) -> None:
    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, tmp_path / "run", progress=stop_after(4))
    evaluated.clear()
    results = sweep.run(CHANGED, tmp_path / "run")
    assert len(evaluated) == PARTS
    assert results.notes == (
        "An unfinished run was there and was not taken over: the study file has changed since.",
    )
    pd.testing.assert_frame_equal(results.designs, sweep.run(CHANGED).designs)


def test_parts_of_other_formulas_are_not_taken_over(
    tmp_path: Path, one_design_a_part: None, evaluated: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, tmp_path / "run", progress=stop_after(4))
    evaluated.clear()
    package = tmp_path / "package"
    package.mkdir()
    (package / "formula.py").write_text("edited = True\n")
    monkeypatch.setattr(folder, "PACKAGE", package)
    sweep.run(STUDY, tmp_path / "run")
    assert len(evaluated) == PARTS


def truncate(part: Path, _other: Path) -> None:
    part.write_bytes(part.read_bytes()[:-200])


def blank(part: Path, _other: Path) -> None:
    part.write_bytes(b"")


def garble(part: Path, _other: Path) -> None:
    part.write_bytes(b"PAR1" + bytes(500) + b"PAR1")


def swap_in_other_designs(part: Path, other: Path) -> None:
    shutil.copy(other, part)


@pytest.mark.parametrize("damage", [truncate, blank, garble, swap_in_other_designs])
def test_a_damaged_part_is_evaluated_again(
    damage: Any, tmp_path: Path, one_design_a_part: None, evaluated: list[int]
) -> None:
    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, tmp_path / "run", progress=stop_after(PARTS))
    designs = tmp_path / ".run.unfinished" / "designs"
    damage(designs / "part-00001.parquet", designs / "part-00004.parquet")
    evaluated.clear()
    results = sweep.run(STUDY, tmp_path / "run")
    assert len(evaluated) == 1
    assert any(
        note.startswith("part-00001.parquet has ") and "evaluated again" in note for note in results.notes
    )
    pd.testing.assert_frame_equal(results.designs, uninterrupted())


SLOW = """
import sys, time
from tradespace import evaluate as engine, sweep
from tradespace.study import parse_study
from tradespace.sweep import chunks
chunks.chunk_designs = sweep.chunk_designs = lambda: 1
def slow(*arguments):
    table = engine.evaluate(*arguments)
    time.sleep(0.5)
    return table
chunks.evaluate = slow
sweep.run(parse_study(sys.stdin.read()), sys.argv[1])
"""


def noted(journal: Path) -> int:
    """Parts that an unfinished run has noted as finished."""
    found = ledger.read_journal(journal)
    return 0 if found is None else len(found.parts)


def test_a_killed_run_goes_on_where_it_stopped(
    tmp_path: Path, one_design_a_part: None, evaluated: list[int]
) -> None:
    uninterrupted()  # compiles the engine, so that the process below starts at once
    journal = tmp_path / ".run.unfinished" / ledger.JOURNAL
    command = [sys.executable, "-c", SLOW, str(tmp_path / "run")]
    with subprocess.Popen(command, stdin=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None
        process.stdin.write(SURFACE)
        process.stdin.close()
        deadline = time.monotonic() + 60.0
        while not noted(journal) and time.monotonic() < deadline:
            assert process.poll() is None
            time.sleep(0.02)
        os.kill(process.pid, signal.SIGKILL)
    there = noted(journal)
    assert 0 < there < PARTS
    assert not (tmp_path / "run").exists()
    results = sweep.run(STUDY, tmp_path / "run")
    assert len(evaluated) == PARTS - there
    pd.testing.assert_frame_equal(results.designs, uninterrupted())
    assert [path.name for path in tmp_path.iterdir()] == ["run"]
    assert {path.suffix for path in (tmp_path / "run" / "designs").iterdir()} == {".parquet"}


def test_a_process_that_died_while_swapping_loses_nothing(tmp_path: Path) -> None:
    out = tmp_path / "run"
    sweep.run(OTHER, out)
    before = contents(out)
    out.rename(tmp_path / ".run.replaced")
    with pytest.raises(KeyboardInterrupt):
        sweep.run(OTHER, out, progress=stop_after(1))
    assert contents(out) == before
    sweep.run(OTHER, out)
    assert [path.name for path in tmp_path.iterdir()] == ["run"]


def test_a_report_that_fails_leaves_no_half_run(tmp_path: Path, evaluated: list[int]) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("no report")

    with pytest.raises(RuntimeError, match="no report"):
        sweep.run(STUDY, tmp_path / "run", finish=fail)
    assert not (tmp_path / "run").exists()
    evaluated.clear()
    sweep.run(STUDY, tmp_path / "run")
    assert evaluated == []


def test_a_run_is_read_back_whole_without_evaluating(
    finished: tuple[Path, Results], monkeypatch: pytest.MonkeyPatch
) -> None:
    out, results = finished

    def never(*_: object, **__: object) -> None:
        raise AssertionError("evaluated again")

    for module in (engine, chunks, sensitivity):
        monkeypatch.setattr(module, "evaluate", never)
    stored = sweep.read_run(out)
    pd.testing.assert_frame_equal(stored.designs, results.designs)
    pd.testing.assert_frame_equal(stored.baseline, results.baseline)
    assert stored.study.hash == results.study.hash
    assert stored.seconds == results.seconds
    assert stored.versions == results.versions
    assert (stored.mission.kind, stored.mission.start_date, stored.mission.horizon) == (
        results.mission.kind,
        results.mission.start_date,
        results.mission.horizon,
    )
    for there, here in zip(stored.mission.stops, results.mission.stops, strict=True):
        assert there.name == here.name
        assert there.rotation_period == here.rotation_period
        np.testing.assert_array_equal(there.distances, here.distances)
    assert stored.sensitivity is not None
    assert results.sensitivity is not None
    for name in ("tornado", "exchange", "solutions"):
        pd.testing.assert_frame_equal(
            getattr(stored.sensitivity, name), getattr(results.sensitivity, name), check_dtype=False
        )
    for there, here in zip(stored.sensitivity.power_maps, results.sensitivity.power_maps, strict=True):
        assert there.architecture == here.architecture
        for name in ("array_power", "stack_efficiency", "refuel_time", "margin"):
            np.testing.assert_array_equal(getattr(there, name), getattr(here, name))
    assert stored.counts().equals(results.counts())


def test_windows_are_read_back_as_they_were(tmp_path: Path) -> None:
    study = parse_study(TOUR)
    results = sweep.run(study, tmp_path / "run")
    stored = sweep.read_run(tmp_path / "run").mission.windows
    assert len(stored) == len(results.mission.windows) == 1
    for name in ("departure", "time_of_flight", "v_inf_departure", "v_inf_arrival"):
        np.testing.assert_array_equal(getattr(stored[0], name), getattr(results.mission.windows[0], name))
    assert (stored[0].departure_body, stored[0].arrival_body) == (
        results.mission.windows[0].departure_body,
        results.mission.windows[0].arrival_body,
    )


@pytest.mark.parametrize(
    "file",
    [
        "designs/part-00000.parquet",
        "evidence/study.toml",
        "evidence/run.json",
        "evidence/mission.npz",
        "evidence/baseline.parquet",
        "evidence/tornado.parquet",
        "evidence/power_maps.npz",
    ],
)
@pytest.mark.parametrize("how", ["missing", "empty", "half"])
def test_a_damaged_run_is_told_in_words(
    file: str, how: str, finished: tuple[Path, Results], tmp_path: Path
) -> None:
    out = tmp_path / "run"
    shutil.copytree(finished[0], out)
    damaged = out / file
    whole = damaged.read_bytes()
    damaged.unlink()
    if how != "missing":
        damaged.write_bytes(b"" if how == "empty" else whole[: len(whole) // 2])
    if (file, how) == ("evidence/power_maps.npz", "missing"):
        assert sweep.read_run(out).sensitivity is None  # a run without analysis is a run
        return
    with pytest.raises(OutputError, match="run the study again"):
        sweep.read_run(out)


def test_a_folder_without_a_run_says_how_to_make_one(tmp_path: Path) -> None:
    for place in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(OutputError, match="tradespace run STUDY --out"):
            sweep.read_run(place)


def test_the_best_design_is_given_in_display_units(finished: tuple[Path, Results]) -> None:
    _, results = finished
    row = results.best("electrolysis_bipropellant")
    shown = evidence.best_design(results, "electrolysis_bipropellant")
    assert row is not None
    assert shown is not None
    assert shown["array_power_kw"] == pytest.approx(row["array_power"] / 1e3)
    assert shown["refuel_time_d"] == pytest.approx(row["refuel_time"] / 86400.0)
    assert shown["limited_by"] == row["limited_by"]
    json.dumps(shown, allow_nan=False)


def test_compiling_beside_the_search_never_stands_in_the_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second process is a courtesy: without one, or with one that fails, the body runs all the same."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert not warm.is_compiled()
    for executable in (str(tmp_path / "no such interpreter"), shutil.which("false") or sys.executable):
        monkeypatch.setattr(warm.sys, "executable", executable)
        reached = []
        with warm.compiling():
            reached.append(1)
        assert reached == [1]
