"""Run all designs of a study: in chunks over threads, into a folder that is whole or not there at all."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import shutil
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.errors import OutputError
from tradespace.evaluate import SETTINGS, baseline, evaluate, mission_of
from tradespace.mission import Mission, Stop, WindowCurve
from tradespace.quantities import quantities
from tradespace.results import PowerMap, Results, Sensitivity

if TYPE_CHECKING:
    from tradespace.study import Study

Progress = Callable[[int, int, int], None]
"""Called with designs done, designs in all, designs that close."""
Analysis = Callable[["Study", Mission], Sensitivity]

LIBRARIES = ("tradespace", "numpy", "scipy", "numba", "astropy", "boinor", "pandas", "pyarrow", "plotly")
EVIDENCE = "evidence"
SUMMARY = "summary.json"


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
    _refuse_foreign(target, study, overwrite)
    with _claimed(target, study) as work:
        results = _results(study, work, progress, analysis)
        _write_evidence(results, work)
        if finish is not None:
            finish(results, work)
        _write_json(work / SUMMARY, summary(results))
        _swap(work, target)
    return results


def _results(study: Study, work: Path | None, progress: Progress | None, analysis: Analysis | None) -> Results:
    started = time.perf_counter()
    mission = mission_of(study)
    designs = _evaluate_all(study, mission, work, progress)
    seconds = time.perf_counter() - started
    reference = baseline(study, mission)
    found = analysis(study, mission) if analysis is not None else None
    return Results(study, mission, designs, reference, seconds, versions(), found)


@dataclass(frozen=True)
class _Chunk:
    number: int
    architecture: str
    designs: dict[str, np.ndarray]


def _chunks(study: Study) -> list[_Chunk]:
    from tradespace import sampling

    size = int(constants.value("chunk_designs", SETTINGS))
    pieces = [
        (name, designs) for name in study.architectures for _, designs in sampling.chunks(study, size)
    ]  # fmt: skip
    return [_Chunk(number, name, designs) for number, (name, designs) in enumerate(pieces)]


def _evaluate_all(study: Study, mission: Mission, work: Path | None, progress: Progress | None) -> pd.DataFrame:
    """All chunks, two or more at a time; frames come back in the order of the grid."""
    from tradespace import sampling

    total, done, closing = sampling.design_count(study), 0, 0
    chunks = _chunks(study)
    frames: list[pd.DataFrame] = []
    workers = max(1, min(len(chunks), os.cpu_count() or 1))
    with ThreadPoolExecutor(workers) as pool:
        waiting: list[Future[pd.DataFrame]] = [pool.submit(_chunk_table, study, mission, chunk, work) for chunk in chunks]
        try:
            for future in waiting:
                frame = future.result()
                frames.append(frame)
                done, closing = done + len(frame), closing + int(frame["closes"].sum())
                if progress is not None:
                    progress(done, total, closing)
        except BaseException:
            for future in waiting:
                future.cancel()
            raise
    table = pd.concat([frame.astype({"architecture": str}) for frame in frames], ignore_index=True)
    table["architecture"] = pd.Categorical(table["architecture"], categories=list(study.architectures))
    return table


def _chunk_table(study: Study, mission: Mission, chunk: _Chunk, work: Path | None) -> pd.DataFrame:
    """One chunk: read back if an earlier, interrupted run of the same study wrote it, else evaluated and written."""
    path = None if work is None else work / "designs" / f"part-{chunk.number:05d}.parquet"
    if path is not None and path.is_file():
        return read_parquet(path)
    frame = evaluate(study, mission, chunk.architecture, chunk.designs)
    if path is not None:
        write_parquet(frame, path)
    return frame


def write_parquet(frame: pd.DataFrame, path: Path) -> None:
    """Write a table with the SI unit of each column in the schema, under a temporary name first."""
    import pyarrow as pa
    from pyarrow import parquet

    table = pa.Table.from_pandas(frame, preserve_index=False)
    known = quantities()
    fields = []
    for field in table.schema:
        stem = field.name if field.name in known else field.name.rpartition("_")[0]
        unit = known[stem].unit if stem in known else ""
        fields.append(field.with_metadata({"unit": unit}) if unit else field)
    table = table.cast(pa.schema(fields, metadata=table.schema.metadata))
    temporary = path.with_suffix(".writing")
    parquet.write_table(table, temporary, compression="zstd")
    temporary.replace(path)


def read_parquet(path: Path) -> pd.DataFrame:
    """Read a table written by :func:`write_parquet`."""
    from pyarrow import parquet

    return parquet.read_table(path).to_pandas()


def versions() -> dict[str, str]:
    """Versions of what produced the numbers."""
    found = {"python": platform.python_version()}
    for library in LIBRARIES:
        try:
            found[library] = version(library)
        except PackageNotFoundError:
            found[library] = "not installed"
    return found


def summary(results: Results) -> dict[str, Any]:
    """What ``summary.json`` says: counts, speed and the best design of each architecture."""
    study = results.study
    designs = len(results.designs)
    return {
        "study": study.name,
        "seed": study.seed,
        "designs": designs,
        "closing": int(results.designs["closes"].sum()),
        "seconds": round(results.seconds, 3),
        "designs_per_second": round(designs / results.seconds, 1) if results.seconds > 0 else None,
        "figure_of_merit": study.figure_of_merit,
        "best": {name: best_design(results, name) for name in study.architectures},
        "study_hash": study.hash,
        "versions": results.versions,
    }


def best_design(results: Results, architecture: str) -> dict[str, Any] | None:
    """The best closing design of an architecture in display units, or None."""
    from tradespace.quantities import json_key

    row = results.best(architecture)
    if row is None:
        return None
    shown = [*(variable.name for variable in results.study.sweep), results.study.figure_of_merit]
    shown += ["margin", "limited_by", "limited_at", "start_mass", "dry_mass", "payload_capacity", "refuel_time"]
    shown += ["mission_time", "hops_per_year", "window_slack_d"]
    known = quantities()
    found: dict[str, Any] = {}
    for name in dict.fromkeys(shown):
        cell = row[name]
        found[json_key(name)] = str(cell) if isinstance(cell, str) else _finite(known[name].shown(float(cell)))
    found["limited_at"] = int(row["limited_at"])
    return found


def _finite(value: float) -> float | None:
    return float(f"{value:.8g}") if np.isfinite(value) else None


def _write_json(path: Path, content: dict[str, Any]) -> None:
    temporary = path.with_suffix(".writing")
    temporary.write_text(json.dumps(content, indent=2, allow_nan=False) + "\n", encoding="utf-8")
    temporary.replace(path)


def _refuse_foreign(target: Path, study: Study, overwrite: bool) -> None:
    """Never replace what is not a run, nor another study's run unless told to.

    Raises
    ------
    OutputError
        If the folder holds something else.
    """
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(f"{target} is a file, not a folder; choose another --out")
    if not any(target.iterdir()):
        return
    try:
        found = json.loads((target / SUMMARY).read_text(encoding="utf-8"))["study"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise OutputError(f"{target} is not empty and holds no finished run; choose another --out") from error
    if found != study.name and not overwrite:
        raise OutputError(f"{target} holds the run of study {found!r}, not {study.name!r}; give --overwrite to replace it")


@contextlib.contextmanager
def _claimed(target: Path, study: Study) -> Iterator[Path]:
    """The unfinished folder beside the target, locked for this process; kept for a later try when interrupted."""
    work = target.parent / f".{target.name}.unfinished"
    try:
        work.mkdir(parents=True, exist_ok=True)
        lock = (work / "lock").open("a+")
    except OSError as error:
        raise OutputError(f"cannot write {target}: {error.strerror}; choose another --out") from error
    with lock:
        if not _lock(lock):
            raise OutputError(f"{target} is in use by another run; wait for it or choose another --out")
        key = f"{study.hash} {json.dumps(versions(), sort_keys=True)} {_source_mark()}"
        ledger = work / "ledger"
        try:
            if not ledger.is_file() or ledger.read_text(encoding="utf-8") != key:
                _empty(work)
                (work / "designs").mkdir()
                ledger.write_text(key, encoding="utf-8")
            yield work
        except OSError as error:
            if isinstance(error, OutputError):
                raise
            raise OutputError(f"cannot write {target}: {error.strerror or error}; choose another --out") from error


def _source_mark() -> str:
    """Changes with the code and data, so that parts made by other formulas are not taken over."""
    return Path(os.environ.get("NUMBA_CACHE_DIR", "")).name


def _lock(handle: IO[str]) -> bool:
    """Take the lock, or say that another process has it."""
    try:
        import fcntl
    except ImportError:  # a system without advisory locks
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _empty(folder: Path) -> None:
    for entry in folder.iterdir():
        if entry.name == "lock":
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def _swap(work: Path, target: Path) -> None:
    """Let the finished folder take the target's place."""
    (work / "ledger").unlink()
    (work / "lock").unlink()
    if target.exists():
        old = target.parent / f".{target.name}.replaced"
        if old.exists():
            shutil.rmtree(old)
        target.rename(old)
        work.rename(target)
        shutil.rmtree(old)
    else:
        work.rename(target)


def _write_evidence(results: Results, work: Path) -> None:
    """Everything a report needs, so that it can be written again without evaluating."""
    folder = work / EVIDENCE
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    (folder / "study.toml").write_text(results.study.text, encoding="utf-8")
    write_parquet(results.baseline, folder / "baseline.parquet")
    _write_json(folder / "run.json", {"seconds": results.seconds, "versions": results.versions, "notes": list(results.notes)})
    mission = results.mission
    arrays: dict[str, Any] = {"kind": mission.kind, "dates": np.array([mission.start_date, mission.horizon])}
    for number, stop in enumerate(mission.stops):
        numbers = [stop.gravitational_parameter, stop.radius, stop.rotation_period]
        arrays |= {f"stop{number}_name": stop.name, f"stop{number}_numbers": np.array(numbers)}
        arrays |= {f"stop{number}_dates": stop.dates, f"stop{number}_distances": stop.distances}
    for number, curve in enumerate(mission.windows):
        arrays[f"window{number}_bodies"] = np.array([curve.departure_body, curve.arrival_body])
        arrays[f"window{number}_table"] = np.array(
            [curve.departure, curve.time_of_flight, curve.v_inf_departure, curve.v_inf_arrival]
        )
    np.savez_compressed(folder / "mission.npz", **arrays)
    if results.sensitivity is None:
        return
    found = results.sensitivity
    for name in ("tornado", "exchange", "solutions"):
        write_parquet(getattr(found, name), folder / f"{name}.parquet")
    maps: dict[str, Any] = {"architectures": np.array([item.architecture for item in found.power_maps])}
    for number, item in enumerate(found.power_maps):
        for name in ("array_power", "stack_efficiency", "refuel_time", "margin"):
            maps[f"map{number}_{name}"] = getattr(item, name)
    np.savez_compressed(folder / "power_maps.npz", **maps)


def read_run(folder: Path | str) -> Results:
    """A finished run, with nothing evaluated again.

    Raises
    ------
    OutputError
        If the folder holds no finished run.
    """
    from tradespace.study import parse_study

    place = Path(folder)
    evidence = place / EVIDENCE
    try:
        if not (place / SUMMARY).is_file():
            raise OutputError(f"{place} holds no finished run; make one with: tradespace run STUDY --out {place}")
        study = parse_study((evidence / "study.toml").read_text(encoding="utf-8"), str(evidence / "study.toml"))
        about = json.loads((evidence / "run.json").read_text(encoding="utf-8"))
        parts = sorted((place / "designs").glob("part-*.parquet"))
        frames = [read_parquet(part).astype({"architecture": str}) for part in parts]
        designs = pd.concat(frames, ignore_index=True)
        reference = read_parquet(evidence / "baseline.parquet")
        mission = _read_mission(evidence / "mission.npz")
        found = _read_sensitivity(evidence)
    except (OSError, ValueError, KeyError) as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(f"{place} is not a complete run ({error}); run the study again") from error
    for table in (designs, reference):
        table["architecture"] = pd.Categorical(table["architecture"].astype(str), categories=list(study.architectures))
    results = Results(study, mission, designs, reference, about["seconds"], about["versions"], found)
    return replace(results, notes=tuple(about["notes"]))


def _read_mission(path: Path) -> Mission:
    with np.load(path, allow_pickle=False) as stored:
        names = set(stored.files)
        stops, windows = [], []
        while f"stop{len(stops)}_name" in names:
            key = f"stop{len(stops)}"
            numbers = [float(number) for number in stored[f"{key}_numbers"]]
            stops.append(Stop(str(stored[f"{key}_name"]), *numbers, stored[f"{key}_dates"], stored[f"{key}_distances"]))
        while f"window{len(windows)}_bodies" in names:
            key = f"window{len(windows)}"
            here, there = (str(name) for name in stored[f"{key}_bodies"])
            windows.append(WindowCurve(here, there, *stored[f"{key}_table"]))
        start, horizon = (float(date) for date in stored["dates"])
        return Mission(str(stored["kind"]), start, horizon, tuple(stops), tuple(windows))


def _read_sensitivity(evidence: Path) -> Sensitivity | None:
    if not (evidence / "power_maps.npz").is_file():
        return None
    tables = [read_parquet(evidence / f"{name}.parquet") for name in ("tornado", "exchange", "solutions")]
    with np.load(evidence / "power_maps.npz", allow_pickle=False) as stored:
        maps = tuple(
            PowerMap(
                str(name),
                *(stored[f"map{number}_{key}"] for key in ("array_power", "stack_efficiency", "refuel_time", "margin")),
            )
            for number, name in enumerate(stored["architectures"])
        )
    return Sensitivity(tables[0], tables[1], maps, tables[2])
