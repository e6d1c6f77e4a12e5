"""The sweep on a real scheduler with two worker processes on this machine: the same bytes, whatever happens to them."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from small_studies import SURFACE

from tradespace import sweep
from tradespace.errors import OutputError
from tradespace.study import parse_study
from tradespace.sweep import chunks, cluster
from tradespace.sweep.ledger import LEDGER

Client = pytest.importorskip("distributed").Client

STUDY = parse_study(SURFACE.replace("count = 3", "count = 400"))
DESIGNS_A_PART = 40
PARTS = 2 * 400 // DESIGNS_A_PART
WAIT = 60.0  # s
HOST = "127.0.0.1"


@pytest.fixture(autouse=True)
def small_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (chunks, sweep):
        monkeypatch.setattr(module, "chunk_designs", lambda: DESIGNS_A_PART)


class Machines:
    """A scheduler and its workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.processes: list[subprocess.Popen[bytes]] = []
        self.address = ""

    def start(self, *words: str) -> subprocess.Popen[bytes]:
        environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join(path for path in sys.path if path),
            "DASK_DISTRIBUTED__COMM__TIMEOUTS__CONNECT": "2s",  # a dead worker is called in vain no longer than that
        }
        process = subprocess.Popen(
            [sys.executable, "-m", "dask", *words],
            cwd=self.folder,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self.processes.append(process)
        return process

    def start_scheduler(self) -> None:
        told = self.folder / "scheduler.json"
        self.start(
            "scheduler", "--host", HOST, "--port", "0", "--no-dashboard", "--scheduler-file", str(told)
        )
        deadline = time.monotonic() + WAIT
        while not self.address and time.monotonic() < deadline:
            with contextlib.suppress(OSError, ValueError):
                self.address = json.loads(told.read_text())["address"]
            time.sleep(0.05)
        assert self.address.startswith(f"tcp://{HOST}:")

    def start_worker(self, name: str) -> subprocess.Popen[bytes]:
        options = ("--no-nanny", "--no-dashboard", "--nthreads", "1", "--name", name, "--host", HOST)
        return self.start("worker", self.address, *options)

    def wait_for(self, workers: int) -> None:
        with cluster.quiet(), Client(self.address, set_as_default=False) as client:
            client.wait_for_workers(workers, timeout=WAIT)

    def end(self) -> None:
        for process in reversed(self.processes):
            process.terminate()
        for process in self.processes:
            try:
                process.wait(10.0)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    found = Machines(tmp_path_factory.mktemp("machines"))
    try:
        found.start_scheduler()
        yield found
    finally:
        found.end()


def data(run: Path) -> dict[str, bytes]:
    """The data set of a finished run."""
    return {
        **{path.name: path.read_bytes() for path in (run / "designs").iterdir()},
        LEDGER: (run / LEDGER).read_bytes(),
    }


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What threads of this process make."""
    out = tmp_path_factory.mktemp("here") / "run"
    with pytest.MonkeyPatch.context() as patch:
        for module in (chunks, sweep):
            patch.setattr(module, "chunk_designs", lambda: DESIGNS_A_PART)
        sweep.run(STUDY, out)
    found = data(out)
    assert len(found) == PARTS + 1
    return found


def on_the_cluster(machines: Machines, out: Path, **options: Any) -> Any:
    return sweep.run(STUDY, out, workers=sweep.Workers(cluster=machines.address), **options)


def refused(address: str, out: Path) -> str:
    with pytest.raises(OutputError) as caught:
        sweep.run(STUDY, out, workers=sweep.Workers(cluster=address))
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_scheduler_without_workers_is_told(
    machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "seconds", lambda _: 1.0)
    assert f"has no workers; start one with: dask worker {machines.address}" in refused(
        machines.address, tmp_path / "run"
    )


def test_a_worker_that_is_killed_changes_no_byte(
    machines: Machines, expected: dict[str, bytes], tmp_path: Path
) -> None:
    workers = [machines.start_worker(name) for name in ("first", "second")]
    machines.wait_for(2)
    killed_after: list[int] = []

    def kill(done: int, total: int, _closing: int) -> None:
        if not killed_after and done >= total // 4:
            os.kill(workers[0].pid, signal.SIGKILL)
            workers[0].wait()
            killed_after.append(done)

    results = on_the_cluster(machines, tmp_path / "run", progress=kill)
    assert 0 < killed_after[0] < results.evaluated == PARTS * DESIGNS_A_PART
    assert workers[1].poll() is None
    assert data(tmp_path / "run") == expected


def test_a_run_begun_here_goes_on_there(
    machines: Machines, expected: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped here, gone on with there although one answer arrives damaged."""
    machines.start_worker("third")
    machines.wait_for(1)

    def stop(done: int, total: int, _closing: int) -> None:
        if done >= total // 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sweep.run(STUDY, tmp_path / "run", progress=stop)
    spoilt: list[int] = []
    keep = cluster.keep_bytes

    def spoil_once(part: Any, content: bytes, folder: Path) -> Any:
        spoilt.append(part.chunk)
        return keep(part, content[:-1] if len(spoilt) == 1 else content, folder)

    monkeypatch.setattr(cluster, "keep_bytes", spoil_once)
    results = on_the_cluster(machines, tmp_path / "run", resume=True)
    assert spoilt[0] == spoilt[1]
    assert 0 < results.evaluated < PARTS * DESIGNS_A_PART
    assert data(tmp_path / "run") == expected


def test_stopping_leaves_the_cluster_without_tasks(
    machines: Machines, expected: dict[str, bytes], tmp_path: Path
) -> None:
    def stop(*_: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        on_the_cluster(machines, tmp_path / "run", progress=stop)
    with cluster.connected(machines.address) as client:
        deadline = time.monotonic() + WAIT
        while any(client.processing().values()) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not any(client.processing().values())
    on_the_cluster(machines, tmp_path / "run", resume=True)
    assert data(tmp_path / "run") == expected


def test_machines_that_are_not_like_this_one_are_refused(
    machines: Machines, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = cluster.about_this_machine()
    for change, words in (
        ({"source": "other"}, "has other code or data of tradespace than here"),
        ({"numpy": "1.0"}, f"has numpy {mine['numpy']}, here it is 1.0"),
    ):
        monkeypatch.setattr(cluster, "_about", lambda change=change: {**mine, **change})
        assert words in refused(machines.address, tmp_path / "run")
    monkeypatch.undo()
    plain = cluster._packages
    for name, words in (("python", "has python 2.7"), ("distributed", "has distributed 2.7")):
        answers = iter([plain, *[lambda content, name=name: {**plain(content), name: "2.7"}] * 9])
        monkeypatch.setattr(cluster, "_packages", lambda content, answers=answers: next(answers)(content))
        told = refused(machines.address, tmp_path / "run")
        assert told.startswith("the scheduler")
        assert words in told


def test_what_is_no_scheduler_is_told_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for address in ("localhost:8786", "http://localhost:8786", "tcp://localhost", "tcp://", ""):
        if address:
            assert "is no address; give one like tcp://host:8786" in refused(address, tmp_path / "run")
    monkeypatch.setattr(cluster, "seconds", lambda _: 0.5)
    with socket.socket() as silent:  # takes the call and says nothing
        silent.bind((HOST, 0))
        silent.listen()
        port = silent.getsockname()[1]
        begun = time.monotonic()
        assert "no scheduler answers" in refused(f"tcp://{HOST}:{port}", tmp_path / "run")
    assert "no scheduler answers" in refused(f"tcp://{HOST}:{port}", tmp_path / "run")
    assert time.monotonic() - begun < WAIT / 2.0
    assert not (tmp_path / "run").exists()


def test_a_cluster_that_loses_all_its_workers_is_given_up(
    machines: Machines, expected: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seconds = cluster.seconds
    monkeypatch.setattr(cluster, "seconds", lambda name: 1.0 if name == "cluster_patience" else seconds(name))

    def kill_all(*_: int) -> None:
        for process in machines.processes[1:]:
            process.kill()
            process.wait()

    with pytest.raises(OutputError, match="no worker for 1 s; finished parts are kept"):
        on_the_cluster(machines, tmp_path / "run", progress=kill_all)
    results = sweep.run(STUDY, tmp_path / "run", resume=True)
    assert 0 < results.evaluated < PARTS * DESIGNS_A_PART
    assert data(tmp_path / "run") == expected
