"""The chunks of a run evaluated by the workers of an existing Dask scheduler; the files are written here."""

from __future__ import annotations

import asyncio
import contextlib
import functools
import logging
import platform
import re
import threading
import time
import uuid
import warnings
from collections import deque
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from tradespace import constants
from tradespace.errors import OutputError, TradespaceError
from tradespace.sweep.chunks import Chunk, keep_bytes, part_bytes
from tradespace.sweep.evidence import versions
from tradespace.sweep.room import SETTINGS

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study
    from tradespace.sweep.engines import Done, Engine, Job
    from tradespace.sweep.ledger import Part

ADDRESS = re.compile(r"(tcp|tls)://[^\s/]+:\d{1,5}")
NUMBERS = ("tradespace", "numpy", "scipy", "numba", "pandas", "pyarrow")
"""Libraries that numbers and files come from: workers must have the same."""
MISSING = "--cluster needs the extra 'cluster': pip install 'tradespace[cluster]'"
GO_ON = "finished parts are kept: the same command goes on from there, with --cluster or without"
TRIES = 3
"""How often a chunk is handed out whose worker dies or whose answer is damaged on its way."""
LOGGERS = ("distributed", "tornado", "asyncio")
PAUSE = 0.5  # s between looks at whether any worker is left


def seconds(name: str) -> float:
    """How long to wait for a cluster [s]."""
    return constants.value(name, SETTINGS)


def about_this_machine() -> dict[str, str]:
    """What a worker's answers depend on."""
    from tradespace.sweep.folder import source_mark

    found = versions()
    return {
        "python": _minor(platform.python_version()),
        **{name: found[name] for name in NUMBERS},
        "source": source_mark(),
    }


_about = functools.cache(about_this_machine)


def _minor(version: str) -> str:
    return ".".join(version.split(".")[:2])


def evaluated(chunk: Chunk, study: Study, mission: Mission, about: Mapping[str, str]) -> tuple[Part, bytes]:
    """On a worker: a chunk and its file.

    Raises
    ------
    OutputError
        If the worker joined late and is not like the machine that asks.
    """
    words = unlike(about, _about())
    if words:
        raise OutputError(f"a worker that joined the cluster has {words}")
    return part_bytes(study, mission, chunk)


def unlike(here: Mapping[str, str], there: Mapping[str, str]) -> str:
    """How another machine differs from this one, in words; empty when it does not."""
    for name, mine in here.items():
        theirs = there.get(name, "none")
        if mine != theirs:
            if name == "source":
                return "other code or data of tradespace than here"
            return f"{name} {theirs}, here it is {mine}"
    return ""


class Cluster:
    """Workers elsewhere."""

    def __init__(self, job: Job, client: Any) -> None:
        self.job, self.client = job, client
        self.workers = max(self._threads(), 1)
        self._waiting: deque[tuple[Chunk, Any]] = deque()
        self._mark = uuid.uuid4().hex[:12]

    def _threads(self) -> int:
        return sum(self.client.nthreads().values())

    def hand_out(self, chunk: Chunk) -> None:
        """Take one more chunk."""
        self._waiting.append((chunk, self._submit(chunk, 1)))

    def _submit(self, chunk: Chunk, attempt: int) -> Any:
        """A task of a name of its own, so that it is never mixed up with one of another run."""
        return self.client.submit(
            evaluated, chunk, self.job.study, self.job.mission, _about(),
            pure=False, retries=TRIES - 1, key=f"tradespace-{self._mark}-{chunk.number}-{attempt}",
        )  # fmt: skip

    def take_back(self) -> Done:
        """Wait for the chunk that was handed out first."""
        assert self.job.ledger is not None
        chunk, future = self._waiting[0]
        for attempt in range(1, TRIES + 1):
            found = self._result(future)
            if found is not None:
                part, data = found
                with contextlib.suppress(ValueError):
                    self.job.ledger.add(keep_bytes(part, data, self.job.folder))
                    self._waiting.popleft()
                    return self.job.read(part, taken=False)
            future = self._submit(chunk, attempt + 1)
        raise OutputError(f"the designs of a chunk were lost on their way {TRIES} times; {GO_ON}")

    def _result(self, future: Any) -> tuple[Part, bytes] | None:
        """The answer of a task, while there is anyone left to give it; None when it was lost with its worker."""
        from distributed import CancelledError, KilledWorker

        try:
            self._wait(future)
            found: tuple[Part, bytes] = future.result(timeout=seconds("cluster_patience"))
        except TradespaceError:
            raise
        except TimeoutError as error:
            if future.status != "error":  # it is there, and does not come
                return None
            raise OutputError(f"a worker failed ({error}); {GO_ON}") from error
        except KilledWorker as error:
            raise OutputError(
                f"a chunk was lost with every worker that took it (out of memory?); {GO_ON}"
            ) from error
        except (CancelledError, OSError) as error:
            raise OutputError(f"the scheduler was lost, or a worker could not write; {GO_ON}") from error
        except Exception as error:  # whatever a worker may raise
            raise OutputError(f"a worker failed ({type(error).__name__}: {error}); {GO_ON}") from error
        return found

    def _wait(self, future: Any) -> None:
        patience = seconds("cluster_patience")
        alone, done = time.monotonic(), threading.Event()
        future.add_done_callback(lambda _: done.set())
        while not future.done():
            done.wait(PAUSE)
            done.clear()  # an answer lost with its worker is waited for again
            workers = self._threads()
            if workers:
                alone, self.workers = time.monotonic(), workers
            elif time.monotonic() - alone > patience:
                raise OutputError(f"the cluster has had no worker for {patience:.0f} s; {GO_ON}")

    def stop(self) -> None:
        """Give up what is waiting."""
        if self._waiting and self.client.status == "running":
            with contextlib.suppress(OSError, TimeoutError):
                self.client.cancel([future for _, future in self._waiting], force=True)
        self._waiting.clear()


@contextlib.contextmanager
def cluster(job: Job, address: str) -> Iterator[Engine]:
    """Workers of the scheduler at an address.

    Raises
    ------
    OutputError
        If it cannot be reached, has no workers, or they are not like this machine.
    """
    with connected(address) as client:
        engine = Cluster(job, client)
        try:
            yield engine
        finally:
            engine.stop()


@contextlib.contextmanager
def connected(address: str) -> Iterator[Any]:
    """A client of the scheduler at an address, whose workers are like this machine.

    Raises
    ------
    OutputError
        If it cannot be reached, has no workers, or they are not like this machine.
    """
    try:
        import dask
        from distributed import Client
    except ImportError as error:
        raise OutputError(MISSING) from error
    if not ADDRESS.fullmatch(address):
        raise OutputError(f"--cluster {address!r} is no address; give one like tcp://host:8786")
    patience = seconds("cluster_time_out")
    with quiet(), dask.config.set({"distributed.comm.timeouts.connect": patience}):
        try:
            refuse_no_scheduler(address, patience)
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # other versions are told below, in one line
                client = Client(address, timeout=patience, set_as_default=False, name="tradespace")
        except (OSError, ValueError, TypeError, RuntimeError) as error:
            raise OutputError(
                f"no scheduler answers at {address} within {patience:.0f} s; start one there with: dask scheduler"
            ) from error
        try:
            refuse_unlike(client, address, patience)
            yield client
        finally:
            with contextlib.suppress(OSError, TimeoutError):
                client.close(timeout=patience)


def refuse_no_scheduler(address: str, patience: float) -> None:
    """Ask whoever listens at an address what it is; a client would wait without end for one that says nothing.

    Raises
    ------
    OSError
        If nobody answers in time, or it is no scheduler.
    """
    with ThreadPoolExecutor(1) as pool:  # where this thread has an event loop already, another has none
        kind = pool.submit(asyncio.run, _kind_of_server(address, patience)).result()
    if kind != "Scheduler":
        raise OSError(f"{kind} is no scheduler")


async def _kind_of_server(address: str, patience: float) -> str:
    from distributed import Security
    from distributed.core import connect, send_recv

    security = Security().get_connection_args("client")
    comm = await asyncio.wait_for(connect(address, timeout=patience, **security), patience)
    try:
        found = await asyncio.wait_for(send_recv(comm, op="identity"), patience)
    finally:
        comm.abort()
    return str(found["type"])


def refuse_unlike(client: Any, address: str, patience: float) -> None:
    """Ask the scheduler and every worker what they are.

    Raises
    ------
    OutputError
        If there is no worker, or one of them is not like this machine.
    """
    try:
        client.wait_for_workers(1, timeout=patience)
    except TimeoutError as error:
        raise OutputError(
            f"the scheduler at {address} has no workers; start one with: dask worker {address}"
        ) from error
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = client.get_versions()
    mine = _packages(found["client"])
    for name, content in {"the scheduler": found["scheduler"], **found["workers"]}.items():
        words = unlike(mine, _packages(content))
        if words:
            raise OutputError(f"{_who(name)} has {words}; give the cluster the same versions")
    for name, there in client.run(about_this_machine, on_error="return").items():
        if isinstance(there, BaseException):
            raise OutputError(f"{_who(name)} cannot use tradespace ({there}); install it there as it is here")
        words = unlike(_about(), there)
        if words:
            raise OutputError(f"{_who(name)} has {words}; install tradespace there as it is here")


def _packages(content: Mapping[str, Any]) -> dict[str, str]:
    """What of a machine's versions messages between machines depend on."""
    packages = content["packages"]
    return {
        "python": _minor(str(packages["python"])),
        **{name: str(packages.get(name)) for name in ("dask", "distributed")},
    }


def _who(name: str) -> str:
    return name if name.startswith("the ") else f"worker {name}"


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Without the log of the distributed engine on the terminal: what matters is told in one line."""
    names = [name for name in logging.root.manager.loggerDict if name.partition(".")[0] in LOGGERS]
    logs = [logging.getLogger(name) for name in dict.fromkeys((*LOGGERS, *names))]
    before = [log.level for log in logs]
    for log in logs:
        log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for log, level in zip(logs, before, strict=True):
            log.setLevel(level)
