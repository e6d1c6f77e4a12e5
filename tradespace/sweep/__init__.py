"""Run all designs of a study: in chunks over threads, into a folder that is whole or not there at all."""

from __future__ import annotations

import itertools
import os
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import SETTINGS, baseline, compile_engine, evaluate, mission_of
from tradespace.mission import Mission
from tradespace.results import Results, Sensitivity
from tradespace.sweep.evidence import (
    SUMMARY,
    UNREADABLE,
    best_design,
    read_run,
    summary,
    versions,
    write_evidence,
    write_json,
)
from tradespace.sweep.folder import claimed, refuse_foreign, swap
from tradespace.sweep.parts import Again, Parts, Table, fits, read_parquet, slim_columns, write_parquet
from tradespace.sweep.warm import compiling

if TYPE_CHECKING:
    from tradespace.study import Study

__all__ = ["Progress", "best_design", "read_run", "run", "summary", "versions"]

Progress = Callable[[int, int, int], None]
"""Called with designs done, designs in all, designs that close."""
RESUMED = (
    "{taken} of {total} designs were evaluated by an earlier, interrupted call of this run; time and speed are those "
    "of the last call alone."
)
AHEAD = 3
"""Chunks handed out for each worker, so that none waits and none piles up."""
Analysis = Callable[["Study", Mission], Sensitivity]


def run(
    study: Study,
    out: Path | str | None = None,
    *,
    overwrite: bool = False,
    progress: Progress | None = None,
    analysis: Analysis | None = None,
    finish: Callable[[Results, Path], None] | None = None,
) -> Results:
    """Evaluate every design of a study.

    Parameters
    ----------
    study : Study
        What is asked.
    out : path, optional
        Folder for the designs, the summary and the evidence; nothing is written without it. Work goes on in a
        folder beside it, which takes its place when all is written; finished parts of an interrupted run of the same
        study are kept and not done again.
    overwrite : bool
        Replace a finished run of another study.
    progress : callable, optional
        Called now and then with designs done, designs in all, designs that close.
    analysis : callable, optional
        Works out what moves the answer, for the evidence.
    finish : callable, optional
        Called with the results and the folder before it takes its place, to add the report.

    Raises
    ------
    OutputError
        If the folder cannot be written, is in use, or holds something else.
    """
    if out is None:
        return _results(study, None, progress, analysis)
    target = Path(out)
    if target.is_symlink() or target.name in {"", ".."}:
        target = target.resolve()
    refuse_foreign(target, study, overwrite)
    with claimed(target, study) as work:
        results = _results(study, work, progress, analysis)
        write_evidence(results, work)
        if finish is not None:
            finish(results, work)
        write_json(work / SUMMARY, summary(results))
        refuse_foreign(target, study, overwrite)  # it may have been filled meanwhile
        swap(work, target)
        if isinstance(results.whole, Parts):
            results.whole.folder = target
    return results


def _results(
    study: Study, work: Path | None, progress: Progress | None, analysis: Analysis | None
) -> Results:
    started = time.perf_counter()
    with compiling():
        mission = mission_of(study)
    compile_engine()  # from the cache, where another process has put it meanwhile
    ready = time.perf_counter()
    designs, taken, slim = _evaluate_all(study, mission, work, progress)
    seconds = time.perf_counter() - ready
    reference = baseline(study, mission)
    found = analysis(study, mission) if analysis is not None else None
    notes = (RESUMED.format(taken=taken, total=len(designs)),) if taken else ()
    whole = None
    if slim:
        whole = Again(study, mission) if work is None else Parts(work)
    return Results(
        study, mission, designs, reference, seconds, versions(), found, notes, len(designs) - taken, ready - started,
        whole,
    )  # fmt: skip


@dataclass(frozen=True)
class _Chunk:
    number: int
    architecture: str
    designs: dict[str, np.ndarray]


def _chunks(study: Study) -> Iterator[_Chunk]:
    from tradespace import sampling

    size = int(constants.value("chunk_designs", SETTINGS))
    pieces = (
        (name, designs) for name in study.architectures for _, designs in sampling.chunks(study, size)
    )  # fmt: skip
    for number, (name, designs) in enumerate(pieces):
        yield _Chunk(number, name, designs)


def _evaluate_all(
    study: Study, mission: Mission, work: Path | None, progress: Progress | None
) -> tuple[pd.DataFrame, int, bool]:
    """All chunks in the order of the grid, some at a time.

    Returns
    -------
    tuple
        The table, how many designs were there already, and whether it holds only some of the columns.
    """
    from tradespace import sampling

    total, closing, taken, slim = sampling.design_count(study), 0, 0, False
    table, chunks = Table(study, total), _chunks(study)
    workers = max(1, os.cpu_count() or 1)
    waiting: deque[Future[_Done]] = deque()
    with ThreadPoolExecutor(workers) as pool:
        try:
            while True:
                for chunk in itertools.islice(chunks, AHEAD * workers - len(waiting)):
                    waiting.append(pool.submit(_chunk_table, study, mission, chunk, work, total))
                if not waiting:
                    break
                done = waiting.popleft().result()
                table.add(done.frame)
                closing += int(done.frame["closes"].sum())
                taken += len(done.frame) if done.taken else 0
                slim = done.slim
                if progress is not None:
                    progress(table.filled, total, closing)
        except BaseException:
            for future in waiting:
                future.cancel()
            raise
    return table.frame(whole=not slim), taken, slim


@dataclass(frozen=True)
class _Done:
    frame: pd.DataFrame
    taken: bool
    """An earlier, interrupted run of the same study had finished it."""
    slim: bool
    """Only the columns that stay in memory."""


def _chunk_table(study: Study, mission: Mission, chunk: _Chunk, work: Path | None, total: int) -> _Done:
    """One chunk, written if it is not there yet, with as many of its columns as memory is to hold."""
    path = None if work is None else work / "designs" / f"part-{chunk.number:05d}.parquet"
    frame = None if path is None else _finished(path, chunk)
    taken = frame is not None
    if frame is None:
        frame = evaluate(study, mission, chunk.architecture, chunk.designs)
        if path is not None:
            write_parquet(frame, path)
    slim = not fits(total, len(frame.columns))
    if slim:
        frame = frame[slim_columns(study, list(frame.columns))].copy()
    return _Done(frame, taken, slim)


def _finished(path: Path, chunk: _Chunk) -> pd.DataFrame | None:
    """A part that is there; None when it is not, or is damaged or holds other designs."""
    if not path.is_file():
        return None
    try:
        frame = read_parquet(path)
        if not (frame["architecture"] == chunk.architecture).all():
            return None
        count = max((values.size for values in chunk.designs.values()), default=1)
        same = len(frame) == count and all(
            np.array_equal(frame[name].to_numpy(), values) for name, values in chunk.designs.items()
        )
    except UNREADABLE:
        return None
    return frame if same else None
