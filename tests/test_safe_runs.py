"""Runs on one machine: what --resume demands, worker processes, torn ledgers, disks that are or become full."""

from __future__ import annotations

import dataclasses
import errno
import json
import shutil
from collections import namedtuple
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from small_studies import SURFACE

from tradespace import constants, sweep
from tradespace.cli import main
from tradespace.errors import OutputError
from tradespace.results import Results
from tradespace.study import parse_study
from tradespace.sweep import chunks, engines, folder, ledger, room
from tradespace.sweep.ledger import JOURNAL, LEDGER

DESIGNS_A_PART = 10
STUDY = parse_study(SURFACE.replace("count = 3", "count = 40"))
CHANGED = parse_study(STUDY.text.replace('launch_mass = "420 kg"', 'launch_mass = "430 kg"'))
PARTS = 8
Usage = namedtuple("Usage", "total used free")


@pytest.fixture(autouse=True)
def small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (chunks, sweep):
        monkeypatch.setattr(module, "chunk_designs", lambda: DESIGNS_A_PART)


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    out = tmp_path_factory.mktemp("expected") / "run"
    with pytest.MonkeyPatch.context() as patch:
        for module in (chunks, sweep):
            patch.setattr(module, "chunk_designs", lambda: DESIGNS_A_PART)
        sweep.run(STUDY, out)
    return data(out)


def data(run: Path) -> dict[str, bytes]:
    """The data set of a finished run."""
    found = {path.name: path.read_bytes() for path in (run / "designs").iterdir()}
    return {**found, LEDGER: (run / LEDGER).read_bytes()}


def interrupted(out: Path, designs: int = 40) -> Path:
    """The unfinished folder of a run that was stopped after so many designs."""

    def stop(done: int, _total: int, _closing: int) -> None:
        if done >= designs:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, out, progress=stop, workers=sweep.Workers(1))
    return folder.unfinished(out)


def test_the_final_ledger_says_what_the_run_is_and_nothing_that_changes(
    expected: dict[str, bytes],
) -> None:
    content = json.loads(expected[LEDGER])
    assert content["study_hash"] == STUDY.hash
    assert (content["seed"], content["designs"], content["chunks"]) == (STUDY.seed, 80, PARTS)
    assert len(content["source_mark"]) == len(content["mission"]) == 64
    assert content["versions"]["tradespace"]
    assert [part["chunk"] for part in content["parts"]] == list(range(PARTS))
    assert {part["state"] for part in content["parts"]} == {"finished"}
    assert sum(part["closing"] for part in content["parts"]) == content["closing"]
    assert not {"seconds", "path", "time", "date"} & set(content)


@pytest.mark.parametrize("count", [1, 3])
def test_worker_processes_make_the_same_bytes(
    count: int, expected: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if count == 3:  # threads; processes once, because each has to load the libraries
        sweep.run(STUDY, tmp_path / "run", workers=sweep.Workers(count))
    else:
        interrupted(tmp_path / "run")
        results = sweep.run(
            STUDY, tmp_path / "run", resume=True, workers=sweep.Workers(count, processes=True)
        )
        assert 0 < results.evaluated < 80
    assert data(tmp_path / "run") == expected


def test_resume_demands_an_unfinished_run_of_the_same_study(tmp_path: Path) -> None:
    out = tmp_path / "run"
    with pytest.raises(OutputError, match=r"no unfinished run of .*: nothing to resume"):
        sweep.run(STUDY, out, resume=True)
    assert list(tmp_path.iterdir()) == []
    before = data_of_journal(interrupted(out))
    for study, words in (
        (CHANGED, "the study file has changed since"),
        (
            parse_study(STUDY.text.replace('"small_hopper"', '"other"')),
            "it is of study 'small_hopper', not 'other'",
        ),
        (dataclasses.replace(STUDY, seed=7), "its seed is 0, not 7"),
    ):
        with pytest.raises(OutputError, match=words) as caught:
            sweep.run(study, out, resume=True)
        assert "give --fresh to begin anew" in str(caught.value)
        assert data_of_journal(folder.unfinished(out)) == before
    sweep.run(STUDY, out, resume=True)
    with pytest.raises(OutputError, match="is finished: nothing to resume"):
        sweep.run(STUDY, out, resume=True)


def data_of_journal(work: Path) -> tuple[bytes, int]:
    return (work / JOURNAL).read_bytes(), len(list((work / "designs").iterdir()))


def test_other_versions_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work = interrupted(tmp_path / "run")
    lines = (work / JOURNAL).read_text().splitlines()
    about = json.loads(lines[0])
    about["versions"]["numpy"] = "1.0"
    about["source_mark"] = "other"
    (work / JOURNAL).write_text("\n".join([json.dumps(about), *lines[1:]]) + "\n")
    with pytest.raises(OutputError) as caught:
        sweep.run(STUDY, tmp_path / "run", resume=True)
    assert "it was made with numpy 1.0, now " in str(caught.value)
    assert "the code or the data of tradespace have changed since" in str(caught.value)


def test_fresh_begins_anew(tmp_path: Path, expected: dict[str, bytes]) -> None:
    interrupted(tmp_path / "run")
    results = sweep.run(STUDY, tmp_path / "run", fresh=True)
    assert results.evaluated == 80
    assert results.notes == ()
    assert data(tmp_path / "run") == expected


@pytest.mark.parametrize("damage", ["torn", "empty", "noise", "no header", "entry lost"])
def test_a_damaged_journal_costs_no_more_than_its_entries(
    damage: str, tmp_path: Path, expected: dict[str, bytes]
) -> None:
    journal = interrupted(tmp_path / "run") / JOURNAL
    whole = journal.read_bytes()
    lines = whole.splitlines(keepends=True)
    journal.write_bytes({
        "torn": whole[:-30],
        "empty": b"",
        "noise": whole + b'\xff\xfe{"chunk": "x"}\n[1]\n{"chunk": 99}\n',
        "no header": b"".join(lines[1:]),
        "entry lost": b"".join((*lines[:3], *lines[4:])),
    }[damage])  # fmt: skip
    lost = {"torn": 1, "noise": 0, "entry lost": 1}.get(damage, len(lines) - 2)
    results = sweep.run(STUDY, tmp_path / "run")
    assert results.evaluated == 80 - DESIGNS_A_PART * (len(lines) - 2 - lost)
    assert data(tmp_path / "run") == expected
    if damage in {"torn", "entry lost"}:
        assert any("had no entry in its ledger and were not taken over" in note for note in results.notes)


def test_a_strange_file_among_the_parts_is_not_taken_over(tmp_path: Path, expected: dict[str, bytes]) -> None:
    designs = interrupted(tmp_path / "run") / "designs"
    shutil.copy(designs / "part-00000.parquet", designs / "part-00007.parquet")
    (designs / "part-00001.parquet").unlink()
    results = sweep.run(STUDY, tmp_path / "run", resume=True)
    assert "part-00001.parquet is missing: its designs were evaluated again." in results.notes
    assert any(
        note.startswith("part-00007.parquet in the unfinished run had no entry") for note in results.notes
    )
    assert data(tmp_path / "run") == expected


def test_a_catalogue_that_has_changed_begins_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    interrupted(tmp_path / "run")
    monkeypatch.setattr(sweep, "mission_mark", lambda _: "another")
    results = sweep.run(STUDY, tmp_path / "run")
    assert results.evaluated == 80
    assert "bodies or windows of the catalogue have changed" in results.notes[0]


def test_a_run_that_would_not_fit_is_refused_with_the_estimate(
    tmp_path: Path, expected: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    reserve = constants.value("disk_reserve", room.SETTINGS)
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: Usage(2 * reserve, 0, reserve + 20e3))
    with pytest.raises(OutputError) as caught:
        sweep.run(STUDY, tmp_path / "run")
    first, second = str(caught.value).splitlines()
    assert first.startswith("80 designs would take about ")
    assert "500 MB are free and 500 MB of them stay free" in first
    assert second.startswith("free some space, choose an --out on another disk, or ask for at most about ")
    estimate = float(first.split()[5]) * {"kB": 1e3, "MB": 1e6}[first.split()[6].rstrip(";")]
    written = sum(len(content) for name, content in expected.items() if name != LEDGER)
    assert 0.1 * written < estimate < written  # parts of ten designs are mostly wrapping
    assert not (tmp_path / "run").exists()
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _: Usage(2 * reserve, 0, reserve + 2e6))
    assert sweep.run(STUDY, tmp_path / "run").evaluated == 80


def test_no_design_takes_more_than_is_reckoned_without_measuring(expected: dict[str, bytes]) -> None:
    design, part = (
        constants.value(name, room.SETTINGS) for name in ("most_bytes_per_design", "most_bytes_per_part")
    )
    assert max(len(content) for name, content in expected.items() if name != LEDGER) < part
    assert len(sweep.run(parse_study(SURFACE)).designs.columns) * 8 < design


@pytest.mark.parametrize("where", ["part", "journal", "report"])
def test_a_disk_that_becomes_full_is_told_and_the_run_goes_on_later(
    where: str, tmp_path: Path, expected: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    full = OSError(errno.ENOSPC, "No space left on device")
    calls: list[int] = []

    def fail(plain: Any) -> Any:
        def write(*arguments: Any, **named: Any) -> Any:
            calls.append(1)
            if len(calls) > 3:
                for argument in arguments:
                    if isinstance(argument, Path):
                        argument.with_suffix(".writing").write_bytes(b"half")
                raise full
            return plain(*arguments, **named)

        return write

    def finish(_results: Results, place: Path) -> None:
        if where == "report":
            raise full

    with monkeypatch.context() as patch:
        if where == "part":
            patch.setattr(chunks, "write_parquet", fail(chunks.write_parquet))
        if where == "journal":
            patch.setattr(ledger.Ledger, "_append", fail(ledger.Ledger._append))
        with pytest.raises(OutputError) as caught:
            sweep.run(STUDY, tmp_path / "run", finish=finish, workers=sweep.Workers(1))
    assert "is full; finished parts are kept: free some space" in str(caught.value)
    assert "with --resume" in str(caught.value)
    designs = folder.unfinished(tmp_path / "run") / "designs"
    assert not list(designs.glob("*.writing"))
    results = sweep.run(STUDY, tmp_path / "run", resume=True)
    assert results.evaluated == (0 if where == "report" else 80 - 3 * DESIGNS_A_PART)
    assert data(tmp_path / "run") == expected


def test_processes_that_die_are_replaced_and_then_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With threads in their place: what is tried is the handing out again."""
    from concurrent.futures import Future, ThreadPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    deaths: list[int] = []

    class Dying(ThreadPoolExecutor):
        def submit(self, function: Any, chunk: Any, *rest: Any) -> Any:
            if chunk.number == 2 and len(deaths) < limit:
                deaths.append(1)
                future: Future[Any] = Future()
                future.set_exception(BrokenProcessPool("killed"))
                return future
            return super().submit(function, chunk, *rest)

    monkeypatch.setattr(
        engines.Processes,
        "_open",
        lambda self: Dying(1, "", engines._HERE.update, ({"study": STUDY, "mission": self.job.mission},)),
    )
    limit = 1
    results = sweep.run(STUDY, tmp_path / "run", workers=sweep.Workers(1, processes=True))
    assert results.evaluated == 80
    assert deaths == [1]
    limit, deaths[:] = 99, []
    with pytest.raises(OutputError, match=r"worker processes died 3 times.*fewer than --workers 1"):
        sweep.run(STUDY, tmp_path / "again", workers=sweep.Workers(1, processes=True))
    assert len(deaths) == engines.TRIES


def test_options_that_contradict_each_other_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "study.toml"
    file.write_text(SURFACE)
    for options, words in (
        (("--resume", "--fresh"), "give one of them"),
        (("--cluster", "tcp://localhost:8786", "--processes"), "has workers of its own"),
        (("--workers", "0"), "--workers"),
        (("--resume",), "nothing to resume"),
        (("--cluster", "localhost"), "is no address"),
    ):
        result = CliRunner().invoke(main, ["run", str(file), "--out", str(tmp_path / "run"), *options])
        assert result.exit_code == 2, result.output
        assert words in result.output
        assert len(result.output.splitlines()) <= 2
    assert [path.name for path in tmp_path.iterdir()] == ["study.toml"]
