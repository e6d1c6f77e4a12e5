"""Who evaluates the chunks of a run: threads or processes of this machine."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
from collections import deque
from collections.abc import Generator, Iterator
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from tradespace.errors import OutputError
from tradespace.processors import processors
from tradespace.sweep.chunks import Chunk, answered, write_part
from tradespace.sweep.parts import column_names, fits, read_parquet, slim_columns, slimmed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.study import Study
    from tradespace.sweep.ledger import Ledger, Part

AHEAD = 3
"""Chunks handed out for each worker, so that none waits and none piles up."""
READ_AHEAD = 4096
"""Places of the queue; a finished part takes one too."""
TRIES = 3
"""How often a chunk is handed out whose worker dies."""


@dataclass(frozen=True)
class Done:
    """One chunk with its answers."""

    frame: pd.DataFrame
    """With the columns that stay in memory."""
    taken: bool = False
    """An earlier, interrupted call of the same run had finished it."""
    slim: bool = False
    """Some columns are left out."""


@dataclass(frozen=True)
class Job:
    """What all chunks of a run share."""

    study: Study
    mission: Mission
    ledger: Ledger | None
    """None for a run that is written nowhere."""
    total: int
    """Designs in all."""

    @property
    def folder(self) -> Path:
        """Where the parts go."""
        assert self.ledger is not None
        return self.ledger.designs

    def held(self, names: Sequence[str]) -> list[str] | None:
        """Those of all columns that stay in memory; None for all."""
        return None if fits(self.total, len(names)) else slim_columns(self.study, names)

    def read(self, part: Part, *, taken: bool) -> Done:
        """The answers of a finished part."""
        path = self.folder / part.file
        held = self.held(column_names(path))
        frame = read_parquet(path, held)
        return Done(
            frame if held is None else slimmed(frame, self.study, self.total), taken, held is not None
        )

    def kept(self, frame: pd.DataFrame) -> Done:
        """The answers of a chunk, with the columns that stay in memory."""
        held = self.held(list(frame.columns))
        if held is None:
            return Done(frame)
        return Done(slimmed(frame[held].copy(), self.study, self.total), slim=True)


class Engine(Protocol):
    """Takes chunks and gives their answers back in the same order."""

    workers: int

    def hand_out(self, chunk: Chunk) -> None:
        """Take one more chunk."""
        ...

    def take_back(self) -> Done:
        """Wait for the chunk that was handed out first."""
        ...

    def stop(self) -> None:
        """Give up what is waiting; what runs may end, and is noted."""
        ...


def all_done(
    job: Job, chunks: Iterator[Chunk], open_engine: Callable[[Job], contextlib.AbstractContextManager[Engine]]
) -> Generator[Done]:
    """The answers of all chunks in their order, never more than a few chunks ahead.

    Parameters
    ----------
    job : Job
        What they share.
    chunks : iterator of Chunk
        All chunks of the run; those that the ledger has are read, not evaluated.
    open_engine : callable
        Gives whoever evaluates the others; opened when the first is needed.
    """
    finished = {} if job.ledger is None else dict(job.ledger.parts)
    with contextlib.ExitStack() as stack:
        engine: Engine | None = None
        waiting: deque[Part | None] = deque()
        handed, ended = 0, False
        while True:
            while (
                not ended
                and (engine is None or handed < AHEAD * engine.workers)
                and len(waiting) < READ_AHEAD
            ):
                chunk = next(chunks, None)
                if chunk is None:
                    ended = True
                elif chunk.number in finished:
                    waiting.append(finished[chunk.number])
                else:
                    engine = engine or stack.enter_context(open_engine(job))
                    engine.hand_out(chunk)
                    handed += 1
                    waiting.append(None)
            if not waiting:
                return
            part = waiting.popleft()
            if part is not None:
                yield job.read(part, taken=True)
            else:
                assert engine is not None
                yield engine.take_back()
                handed -= 1


class Threads:
    """Threads of this process; the compiled engine lets them run side by side."""

    def __init__(self, job: Job, workers: int) -> None:
        self.job, self.workers = job, workers
        self._pool = ThreadPoolExecutor(workers)
        self._waiting: deque[Future[Done]] = deque()

    def hand_out(self, chunk: Chunk) -> None:
        """Take one more chunk."""
        self._waiting.append(self._pool.submit(self._one, chunk))

    def _one(self, chunk: Chunk) -> Done:
        frame = answered(self.job.study, self.job.mission, chunk)
        if self.job.ledger is not None:
            self.job.ledger.add(write_part(frame, chunk, self.job.folder))
        return self.job.kept(frame)

    def take_back(self) -> Done:
        """Wait for the chunk that was handed out first."""
        return self._waiting.popleft().result()

    def stop(self) -> None:
        """Give up what is waiting; what runs ends and is noted."""
        self._pool.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def threads(job: Job, workers: int) -> Iterator[Engine]:
    """Threads of this process."""
    engine = Threads(job, workers)
    try:
        yield engine
    finally:
        engine.stop()


_HERE: dict[str, Any] = {}
"""In a worker process: the study and its mission."""


def _begin(study: Study, mission: Mission) -> None:
    """A worker process gets ready; the interrupt key is for its parent, which lets it end what it has begun."""
    from tradespace.evaluate import compile_engine

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _HERE.update(study=study, mission=mission)
    compile_engine()


def _part(chunk: Chunk, folder: Path) -> Part:
    return write_part(answered(_HERE["study"], _HERE["mission"], chunk), chunk, folder)


class Processes:
    """Processes of this machine, started anew and not copied, so that no lock or thread comes along half-way."""

    def __init__(self, job: Job, workers: int) -> None:
        self.job, self.workers = job, workers
        self._waiting: deque[tuple[Chunk, Future[Part]]] = deque()
        self._tries: dict[int, int] = {}
        self._pool = self._open()

    def _open(self) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            self.workers, multiprocessing.get_context("spawn"), _begin, (self.job.study, self.job.mission)
        )

    def hand_out(self, chunk: Chunk) -> None:
        """Take one more chunk."""
        try:
            future = self._pool.submit(_part, chunk, self.job.folder)
        except BrokenProcessPool as error:  # noticed when the chunk in front is asked for
            future = Future()
            future.set_exception(error)
        future.add_done_callback(self._note)
        self._waiting.append((chunk, future))

    def _note(self, future: Future[Part]) -> None:
        """A part is noted when it is there, not only when its turn has come."""
        if future.cancelled() or future.exception() is not None:
            return
        assert self.job.ledger is not None
        with contextlib.suppress(OSError):  # noted, or said, when its turn comes
            self.job.ledger.add(future.result())

    def take_back(self) -> Done:
        """Wait for the chunk that was handed out first; one whose process died is handed out again."""
        assert self.job.ledger is not None
        while True:
            chunk, future = self._waiting.popleft()
            try:
                part = future.result()
            except (BrokenProcessPool, CancelledError) as error:
                self._again(chunk, error)
                continue
            if part.chunk not in self.job.ledger.parts:
                self.job.ledger.add(part)
            return self.job.read(part, taken=False)

    def _again(self, chunk: Chunk, error: BaseException) -> None:
        self._tries[chunk.number] = self._tries.get(chunk.number, 1) + 1
        if self._tries[chunk.number] > TRIES:
            raise OutputError(
                f"worker processes died {TRIES} times (out of memory?); finished parts are kept: the same command with "
                f"fewer than --workers {self.workers} goes on from there"
            ) from error
        waiting = [(chunk, None), *self._waiting]
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool = self._open()
        self._waiting = deque()
        for one, future in waiting:
            if future is not None and future.done() and not future.cancelled() and future.exception() is None:
                self._waiting.append((one, future))
            else:
                self.hand_out(one)

    def stop(self) -> None:
        """Give up what is waiting; what runs ends and is noted."""
        self._pool.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def processes(job: Job, workers: int) -> Iterator[Engine]:
    """Processes of this machine."""
    engine = Processes(job, workers)
    try:
        yield engine
    finally:
        engine.stop()


def worker_count(asked: int | None) -> int:
    """How many workers to use: as asked, else one for each processor that this process may use."""
    return processors() if asked is None else max(1, asked)
