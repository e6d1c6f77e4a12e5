"""What a run leaves behind, written and read back: tables, mission, sensitivity, summary."""

from __future__ import annotations

import json
import platform
import shutil
import zipfile
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.errors import OutputError
from tradespace.quantities import json_key, quantities
from tradespace.results import Drivers, Improvements, PowerMap, Results, Sensitivity
from tradespace.sweep.certainty_file import read_certainty
from tradespace.sweep.ledger import DESIGNS, damage, read_ledger
from tradespace.sweep.mission_file import read_mission, write_mission
from tradespace.sweep.parts import (
    PATTERN,
    Parts,
    Table,
    fits,
    read_parquet,
    slim_columns,
    slimmed,
    write_parquet,
)

LIBRARIES = ("tradespace", "numpy", "scipy", "numba", "astropy", "boinor", "pandas", "pyarrow", "plotly")
EVIDENCE = "evidence"
STACKUP = "stackup.parquet"
IMPROVEMENTS = ("reached", "missed", "plane", "curve")
DRIVERS = ("elasticities", "screening", "variance", "about")
SUMMARY = "summary.json"
SETTINGS = "sweep_settings.csv"
UNREADABLE = (OSError, ValueError, KeyError, TypeError, IndexError, EOFError, zipfile.BadZipFile)
"""What reading a damaged or incomplete file may raise."""


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
        "designs_per_second": None
        if results.designs_per_second is None
        else round(results.designs_per_second, 1),
        "evaluated": results.evaluated,
        "setup_seconds": round(results.setup_seconds, 3),
        "figure_of_merit": study.figure_of_merit,
        "best": {name: best_design(results, name) for name in study.architectures},
        "study_hash": study.hash,
        "versions": results.versions,
    }


def best_design(results: Results, architecture: str) -> dict[str, Any] | None:
    """The best closing design of an architecture in display units, or None."""
    row = results.best(architecture)
    if row is None:
        return None
    shown = [*(variable.name for variable in results.study.sweep), results.study.figure_of_merit]
    shown += [
        "margin",
        "limited_by",
        "limited_at",
        "start_mass",
        "dry_mass",
        "payload_capacity",
        "refuel_time",
    ]
    shown += ["mission_time", "hops_per_year", "window_slack_d", "survival", "expected_bodies"]
    known = quantities()
    found: dict[str, Any] = {}
    for name in dict.fromkeys(shown):
        cell = row[name]
        found[json_key(name)] = (
            str(cell) if isinstance(cell, str) else _finite(known[name].shown(float(cell)))
        )
    found["limited_at"] = int(row["limited_at"])
    return found


def _finite(value: float) -> float | None:
    return float(f"{value:.8g}") if np.isfinite(value) else None


def write_json(path: Path, content: dict[str, Any]) -> None:
    """Write a JSON object, under a temporary name first."""
    temporary = path.with_suffix(".writing")
    temporary.write_text(json.dumps(content, indent=2, allow_nan=False) + "\n", encoding="utf-8")
    temporary.replace(path)


def write_evidence(results: Results, work: Path) -> None:
    """Everything a report needs, so that it can be written again without evaluating."""
    folder = work / EVIDENCE
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    (folder / "study.toml").write_text(results.study.text, encoding="utf-8")
    write_parquet(results.baseline, folder / "baseline.parquet")
    write_json(
        folder / "run.json",
        {
            "seconds": results.seconds,
            "evaluated": results.evaluated,
            "setup_seconds": results.setup_seconds,
            "versions": results.versions,
            "notes": list(results.notes),
        },
    )
    write_mission(results.mission, folder / "mission.npz")
    if results.sensitivity is None:
        return
    found = results.sensitivity
    for name in ("tornado", "exchange", "solutions"):
        write_parquet(getattr(found, name), folder / f"{name}.parquet")
    if len(found.stackup):
        write_parquet(found.stackup, folder / STACKUP)
    if found.improvements is not None:
        for name in IMPROVEMENTS:
            write_parquet(getattr(found.improvements, name), folder / f"{name}.parquet")
    if found.drivers is not None:
        for name in DRIVERS:
            write_parquet(getattr(found.drivers, name), folder / f"drivers_{name}.parquet")
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
        If the folder holds no finished run, or a part of it is damaged.
    """
    place = Path(folder)
    refuse_no_run(place)
    check_run(place)
    try:
        return _read_results(place)
    except UNREADABLE as error:
        raise OutputError(f"{place} is not a complete run ({error}); run the study again") from error


def refuse_no_run(place: Path) -> None:
    """Say how to make a run where there is none.

    Raises
    ------
    OutputError
        If the folder holds no finished run.
    """
    if not (place / SUMMARY).is_file():
        raise OutputError(f"{place} holds no finished run; make one with: tradespace run STUDY --out {place}")


def check_run(place: Path, *, whole: bool = False) -> int:
    """Compare the files of the designs of a finished run with its ledger.

    Parameters
    ----------
    place : Path
        The run.
    whole : bool
        Compare the checksums however large the run is; without it only sizes are compared in a large one.

    Returns
    -------
    int
        How many parts there are; 0 for a run without a ledger.

    Raises
    ------
    OutputError
        If one is damaged, missing or strange; the message names it and the next step.
    """
    found = read_ledger(place)
    if found is None:
        return 0
    _, parts = found
    small = sum(part.bytes for part in parts) <= constants.value("whole_check_bytes", SETTINGS)
    wrong = {part.file: damage(place / DESIGNS, part, whole=whole or small) for part in parts}
    there = {path.name for path in (place / DESIGNS).glob(PATTERN)}
    wrong |= dict.fromkeys(sorted(there - set(wrong)), "is not in the ledger")
    wrong = {name: words for name, words in wrong.items() if words}
    if wrong:
        name, words = next(iter(wrong.items()))
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise OutputError(f"{place}: {DESIGNS}/{name} {words}{more}; run the study again")
    return len(parts)


def _read_results(place: Path) -> Results:
    from tradespace.sampling import design_count
    from tradespace.study import parse_study

    evidence = place / EVIDENCE
    text = (evidence / "study.toml").read_text(encoding="utf-8")
    study = parse_study(text, str(evidence / "study.toml"))
    about = json.loads((evidence / "run.json").read_text(encoding="utf-8"))
    total, parts = design_count(study), Parts(place)
    names = parts.names()
    held = names if fits(total, len(names)) else slim_columns(study, names)
    table = Table(study, total)
    for file in parts.files():
        frame = read_parquet(file, held)
        table.add(frame if held is names else slimmed(frame, study, total))
    designs = table.frame(whole=held is names)
    reference = read_parquet(evidence / "baseline.parquet")
    reference["architecture"] = pd.Categorical(
        reference["architecture"].astype(str), categories=list(study.architectures)
    )
    mission, found = read_mission(evidence / "mission.npz"), _read_sensitivity(evidence)
    return Results(
        study,
        mission,
        designs,
        reference,
        float(about["seconds"]),
        dict(about["versions"]),
        found,
        tuple(about["notes"]),
        int(about["evaluated"]),
        float(about["setup_seconds"]),
        None if held is names else parts,
        read_certainty(evidence),
    )


def _read_sensitivity(evidence: Path) -> Sensitivity | None:
    if not (evidence / "power_maps.npz").is_file():
        return None
    tables = [read_parquet(evidence / f"{name}.parquet") for name in ("tornado", "exchange", "solutions")]
    with (evidence / "power_maps.npz").open("rb") as file, np.load(file, allow_pickle=False) as stored:
        maps = tuple(
            PowerMap(
                str(name),
                *(
                    stored[f"map{number}_{key}"]
                    for key in ("array_power", "stack_efficiency", "refuel_time", "margin")
                ),
            )
            for number, name in enumerate(stored["architectures"])
        )
    stackup = read_parquet(evidence / STACKUP) if (evidence / STACKUP).is_file() else pd.DataFrame()
    return Sensitivity(
        tables[0], tables[1], maps, tables[2], stackup, _read_improvements(evidence), _read_drivers(evidence)
    )


def _read_improvements(evidence: Path) -> Improvements | None:
    paths = [evidence / f"{name}.parquet" for name in IMPROVEMENTS]
    return Improvements(*map(read_parquet, paths)) if all(path.is_file() for path in paths) else None


def _read_drivers(evidence: Path) -> Drivers | None:
    paths = [evidence / f"drivers_{name}.parquet" for name in DRIVERS]
    return Drivers(*map(read_parquet, paths)) if all(path.is_file() for path in paths) else None
