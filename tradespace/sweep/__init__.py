"""Run all designs of a study: in chunks over threads, into a folder that is whole or not there at all."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from tradespace.evaluate import baseline, compile_engine, mission_of
from tradespace.mission import Mission
from tradespace.results import Results, Sensitivity
from tradespace.sweep import engines
from tradespace.sweep.chunks import chunk_count, chunk_designs, chunks_of, mission_mark
from tradespace.sweep.engines import Engine, Job
from tradespace.sweep.evidence import (
    SUMMARY,
    best_design,
    read_run,
    summary,
    versions,
    write_evidence,
    write_json,
)
from tradespace.sweep.folder import claimed, refuse_foreign, refuse_nothing_to_resume, swap
from tradespace.sweep.ledger import Ledger, damage, identity, open_ledger, settle
from tradespace.sweep.parts import Again, Parts, Table
from tradespace.sweep.room import refuse_too_large
from tradespace.sweep.warm import compiling

if TYPE_CHECKING:
    from tradespace.study import Study

__all__ = ["Progress", "Workers", "best_design", "read_run", "run", "summary", "versions"]

Progress = Callable[[int, int, int], None]
"""Called with designs done, designs in all, designs that close."""
RESUMED = (
    "{taken} of {total} designs were evaluated by an earlier, interrupted call of this run; time and speed are those "
    "of the last call alone."
)
Analysis = Callable[["Study", Mission], Sensitivity]


@dataclass(frozen=True)
class Workers:
    """Who evaluates the designs; the answers are the same."""

    count: int | None = None
    """Workers on this machine; None for one a processor."""
    processes: bool = False
    """Worker processes instead of threads of this process."""
    cluster: str = ""
    """Address of a distributed scheduler; empty for this machine."""

    def refuse_unusable(self) -> None:
        """Say at once when the cluster cannot be used, before anything is looked up or written.

        Raises
        ------
        OutputError
            If it cannot be reached, has no workers, or they are not like this machine.
        """
        if self.cluster:
            from tradespace.sweep.cluster import connected

            with connected(self.cluster):
                pass

    def open(self, job: Job) -> AbstractContextManager[Engine]:
        """Whoever evaluates the designs."""
        if self.cluster:
            from tradespace.sweep.cluster import cluster

            return cluster(job, self.cluster)
        kind = engines.processes if self.processes and job.ledger is not None else engines.threads
        return kind(job, engines.worker_count(self.count))


def run(
    study: Study,
    out: Path | str | None = None,
    *,
    overwrite: bool = False,
    progress: Progress | None = None,
    analysis: Analysis | None = None,
    finish: Callable[[Results, Path], None] | None = None,
    resume: bool = False,
    fresh: bool = False,
    workers: Workers | None = None,
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
    resume : bool
        Demand that there is an unfinished run of the same study, seed and versions to go on with.
    fresh : bool
        Begin anew whatever unfinished run is there.
    workers : Workers, optional
        Who evaluates the designs; threads of this process without it.

    Raises
    ------
    OutputError
        If the folder cannot be written, is in use, holds something else, or would not fit on its disk; if there is
        nothing to resume although that is demanded; if the cluster cannot be used.
    """
    workers = workers or Workers()
    if out is None:
        return _results(study, None, progress, analysis, workers)
    target = Path(out)
    if target.is_symlink() or target.name in {"", ".."}:
        target = target.resolve()
    refuse_foreign(target, study, overwrite)
    if resume:
        refuse_nothing_to_resume(target)
    workers.refuse_unusable()
    with claimed(target) as work:
        about = identity(study, chunk_designs(), _total(study), chunk_count(study))
        ledger = open_ledger(work, about, resume=resume, fresh=fresh)
        results = _results(study, ledger, progress, analysis, workers)
        write_evidence(results, work)
        with ThreadPoolExecutor(1) as beside:  # the designs go to the disk while the report is drawn
            written = beside.submit(settle, work)
            if finish is not None:
                finish(results, work)
            written.result()
        ledger.finish()
        write_json(work / SUMMARY, summary(results))
        settle(work)
        refuse_foreign(target, study, overwrite)  # it may have been filled meanwhile
        swap(work, target)
        if isinstance(results.whole, Parts):
            results.whole.folder = target
    return results


def _results(
    study: Study,
    ledger: Ledger | None,
    progress: Progress | None,
    analysis: Analysis | None,
    workers: Workers,
) -> Results:
    started = time.perf_counter()
    with compiling():
        mission = mission_of(study)
    compile_engine()  # from the cache, where another process has put it meanwhile
    if ledger is not None:
        _check_parts(ledger, mission, workers)
        refuse_too_large(study, mission, ledger)
    ready = time.perf_counter()
    designs, taken, slim = _evaluate_all(study, mission, ledger, progress, workers)
    seconds = time.perf_counter() - ready
    reference = baseline(study, mission)
    found = analysis(study, mission) if analysis is not None else None
    notes = [RESUMED.format(taken=taken, total=len(designs))] if taken else []
    whole = None
    if ledger is not None:
        notes += ledger.notes
    if slim:
        whole = Again(study, mission) if ledger is None else Parts(ledger.work)
    return Results(
        study, mission, designs, reference, seconds, versions(), found, tuple(notes), len(designs) - taken,
        ready - started, whole,
    )  # fmt: skip


def _total(study: Study) -> int:
    from tradespace import sampling

    return sampling.design_count(study)


def _check_parts(ledger: Ledger, mission: Mission, workers: Workers) -> None:
    """Read every part that an interrupted call left, and forget those that are not as they were written."""
    if not ledger.fix_mission(mission_mark(mission)):
        ledger.notes.append(
            "An unfinished run was there and was not taken over: bodies or windows of the catalogue have changed."
        )
    parts = list(ledger.parts.values())
    with ThreadPoolExecutor(engines.worker_count(workers.count)) as pool:
        words = list(pool.map(partial(damage, ledger.designs), parts))
    ledger.check({part.chunk: text for part, text in zip(parts, words, strict=True) if text})


def _evaluate_all(
    study: Study, mission: Mission, ledger: Ledger | None, progress: Progress | None, workers: Workers
) -> tuple[pd.DataFrame, int, bool]:
    """All chunks in the order of the designs, some at a time.

    Returns
    -------
    tuple
        The table, how many designs were there already, and whether it holds only some of the columns.
    """
    total, closes, taken, slim = _total(study), 0, 0, False
    job = Job(study, mission, ledger, total)
    table = Table(study, total)
    with closing(engines.all_done(job, chunks_of(study), workers.open)) as finished:
        for done in finished:
            table.add(done.frame)
            closes += int(done.frame["closes"].sum())
            taken += len(done.frame) if done.taken else 0
            slim = done.slim
            if progress is not None:
                progress(table.filled, total, closes)
    return table.frame(whole=not slim), taken, slim
