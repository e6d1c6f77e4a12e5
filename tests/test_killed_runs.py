"""A run that is killed at any moment goes on to the very bytes of one that was left alone."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from small_studies import SURFACE

from tradespace import sampling, sweep
from tradespace.study import parse_study
from tradespace.sweep import chunks, folder
from tradespace.sweep.ledger import JOURNAL, LEDGER, read_journal

KILLS = 20
DESIGNS_A_PART = 100
TEXT = SURFACE.replace("count = 3", "count = 600")
STUDY = parse_study(TEXT)
PARTS = 2 * 600 // DESIGNS_A_PART
NURSERY = """
import json, os, sys
from pathlib import Path
from tradespace import report, sensitivity, sweep
from tradespace.study import parse_study
from tradespace.sweep import chunks
asked = json.loads(sys.stdin.readline())
chunks.chunk_designs = sweep.chunk_designs = lambda: asked["chunk"]
study = parse_study(asked["study"])
def finish(results, place):
    report.write_report(results, place / "report.html")
sweep.run(study, Path(asked["out"]), analysis=sensitivity.analyse, finish=finish)
print("ready", flush=True)
for line in sys.stdin:
    child = os.fork()
    if not child:
        code = 1
        try:
            sweep.run(study, Path(line.strip()), analysis=sensitivity.analyse, finish=finish)
            code = 0
        finally:
            os._exit(code)
    print(child, flush=True)
    print(os.waitpid(child, 0)[1], flush=True)
"""
"""Makes one run, then forks a process for every run it is told to make: none has to load the libraries again."""

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="processes are killed where they can be forked"
)


class Nursery:
    """Starts runs in processes of their own, one at a time."""

    def __init__(self, process: subprocess.Popen[str], first: Path) -> None:
        self.process = process
        self.tell(json.dumps({"study": TEXT, "chunk": DESIGNS_A_PART, "out": str(first)}))
        assert self.hear() == "ready"

    def tell(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def hear(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().strip()

    def start(self, out: Path) -> int:
        self.tell(str(out))
        return int(self.hear())

    def end(self) -> int:
        """The status of the process that was started last: the signal that killed it, or 0."""
        return int(self.hear())


@contextmanager
def nursery(first: Path) -> Iterator[Nursery]:
    command = [sys.executable, "-c", NURSERY]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield Nursery(process, first)
        process.communicate("")


@pytest.fixture(autouse=True)
def small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (chunks, sweep):
        monkeypatch.setattr(module, "chunk_designs", lambda: DESIGNS_A_PART)


def data(run: Path) -> dict[str, bytes]:
    """The data set of a finished run."""
    found = {path.name: path.read_bytes() for path in (run / "designs").iterdir()}
    return {**found, LEDGER: (run / LEDGER).read_bytes()}


def finished_parts(work: Path) -> int:
    """Parts that the journal of an unfinished run has at this moment."""
    try:
        return max((work / JOURNAL).read_bytes().count(b"\n") - 2, 0)
    except OSError:
        return 0


def wait_for(parts: int, work: Path, deadline: float) -> None:
    while finished_parts(work) < parts and time.monotonic() < deadline:
        time.sleep(0.0005)


def moments(report_seconds: float) -> list[tuple[int, float]]:
    """How many parts to wait for and how long then: at the start, in the middle, in the report phase."""
    chance = random.Random(6)
    early = [(0, chance.uniform(0.0, 0.1)) for _ in range(4)]
    middle = [(chance.randint(1, PARTS - 1), chance.uniform(0.0, 0.01)) for _ in range(12)]
    late = [(PARTS, chance.uniform(0.0, report_seconds)) for _ in range(4)]
    return early + middle + late


def test_runs_killed_at_random_moments_end_in_the_same_bytes(tmp_path: Path) -> None:
    plain, alone = tmp_path / "plain", tmp_path / "alone"
    sweep.run(STUDY, plain)
    expected = data(plain)
    assert len(expected) == PARTS + 1
    with nursery(tmp_path / "first") as children:
        assert data(tmp_path / "first") == expected
        children.start(alone)
        wait_for(PARTS, folder.unfinished(alone), time.monotonic() + 60.0)
        evaluated = time.monotonic()
        assert children.end() == 0
        report_seconds = time.monotonic() - evaluated
        assert data(alone) == expected
        finished = [
            killed_run(children, tmp_path / f"run{number}", parts, seconds, expected)
            for number, (parts, seconds) in enumerate(moments(0.8 * report_seconds))
        ]
    assert len(finished) == KILLS
    assert min(finished) < PARTS // 2
    assert max(finished) == PARTS
    assert len(set(finished)) > 4


def killed_run(children: Nursery, out: Path, parts: int, seconds: float, expected: dict[str, bytes]) -> int:
    """Kill a run, take it up again, compare; returns how many parts were finished when it died."""
    work = folder.unfinished(out)
    status = 0
    while status == 0:  # a run that was quicker than thought is begun again and killed earlier
        shutil.rmtree(out, ignore_errors=True)
        child = children.start(out)
        wait_for(parts, work, time.monotonic() + 60.0)
        time.sleep(seconds)
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        status = children.end()
        seconds *= 0.5
    assert status == signal.SIGKILL
    assert not out.exists()
    journal = read_journal(work / JOURNAL)
    there = 0 if journal is None else len(journal.parts)
    results = sweep.run(STUDY, out, resume=journal is not None)
    assert results.evaluated == sampling.design_count(STUDY) - there * DESIGNS_A_PART
    assert data(out) == expected
    assert not work.exists()
    return there
