"""What a search for a tour leaves behind: tables, a summary and a study of the best tour; whole or not there at all."""

from __future__ import annotations

import dataclasses
import json
import math
import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from tradespace.errors import OutputError
from tradespace.evaluate import baseline, mission_of
from tradespace.quantities import plain_number
from tradespace.sweep import versions
from tradespace.sweep.folder import refuse_other
from tradespace.touring.chart import places_of
from tradespace.touring.tables import (
    CAUTION,
    best_in_words,
    body_table,
    displayed,
    hop_table,
    own_in_words,
    scores,
    search_in_words,
    tour_table,
)

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.touring import Tours

SUMMARY = "tour.json"
STUDY = "best_tour.toml"
LONGEST_NAME = 80


def write_tours(
    tours: Tours, out: Path, *, overwrite: bool = False, pages: Mapping[str, str] | None = None
) -> list[Path]:
    """Write tables, summary and the study of the best tour into a folder that appears when it is complete.

    Parameters
    ----------
    tours : Tours
        What was found.
    out : Path
        The folder.
    overwrite : bool
        Replace what the search of another study left there.
    pages : mapping, optional
        Further files by name, such as a page made elsewhere.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    OutputError
        If the folder cannot be written or holds something else.
    """
    target = Path(out)
    check_folder(target, tours.study, overwrite)
    work = target.parent / f".{target.name}.{os.getpid()}.unfinished"
    files = {
        "tours.csv": displayed(tour_table(tours)).to_csv(index=False),
        "hops.csv": displayed(all_hops(tours)).to_csv(index=False),
        "bodies.csv": body_table(tours).to_csv(index=False),
        SUMMARY: json.dumps(content(tours), indent=2, allow_nan=False) + "\n",
        STUDY: best_study(tours),
        **(pages or {}),
    }
    try:
        work.mkdir(parents=True)
        for name, text in files.items():
            (work / name).write_text(text, encoding="utf-8", newline="\n")
        if target.exists():
            shutil.rmtree(target)
        work.rename(target)
    except OSError as error:
        raise OutputError(f"cannot write {target}: {error.strerror}; choose another --out") from error
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return [target / name for name in files]


def check_folder(target: Path, study: Study, overwrite: bool = False) -> None:
    """Never replace what is not the outcome of a search, nor that of another study unless told to.

    Raises
    ------
    OutputError
        If the folder holds something else.
    """
    refuse_other(target, study, overwrite, SUMMARY, ("no search for a tour", "the search"))


def all_hops(tours: Tours) -> pd.DataFrame:
    """The hops of all tours under each other, with the rank of their tour."""
    frames = []
    for rank, tour in enumerate(tours.found.tours, start=1):
        frame = hop_table(tour)
        frame.insert(0, "rank", rank)
        frames.append(frame)
    return pd.concat(frames, ignore_index=True)


def content(tours: Tours) -> dict[str, Any]:
    """All that was found, in display units, for programs."""
    aim = tours.search.aim
    table, hops = displayed(tour_table(tours)), displayed(all_hops(tours))
    found = []
    for row in _rows(table):
        own = hops[hops["rank"] == row["rank"]].drop(columns="rank")
        found.append(
            {**row, "bodies": list(tours.found.tours[row["rank"] - 1].names), "hop_table": _rows(own)}
        )
    own_score = displayed(pd.DataFrame([scores(tours, tours.hand_made)]))
    answer: dict[str, Any] = _finite(
        {
            "study": tours.study.name,
            "study_hash": tours.study.hash,
            "architecture": tours.vehicle.architecture,
            "search": {**dataclasses.asdict(aim), "start": tours.search.start or "any",
                       "bodies": list(tours.search.bodies)},
            "best": best_in_words(tours),
            "tours": found,
            "own_route": {"bodies": list(tours.study.stops), "closes": not tours.hand_made_limit,
                          "limit": tours.hand_made_limit, **_rows(own_score)[0]},
            "own_route_in_words": own_in_words(tours),
            "resized": resized(tours),
            "exhaustive": tours.found.exhaustive,
            "searched": search_in_words(tours),
            "levels": [dataclasses.asdict(level) for level in tours.found.levels],
            "bodies": _rows(body_table(tours)),
            "caution": CAUTION,
            "versions": versions(),
        }
    )  # fmt: skip
    return answer


def resized(tours: Tours) -> dict[str, Any]:
    """The study's reference craft sized anew for the best tour: what the study of that tour will say of it."""
    best = tours.best.names
    places = places_of(tours.study, best)
    asked = dataclasses.replace(tours.study, start_body=best[0], places=places, hops=len(best) - 1)
    row = baseline(asked, mission_of(asked), tours.vehicle.architecture).iloc[0]
    return {
        "closes": bool(row["closes"]),
        "margin": float(row["margin"]),
        "limited_by": str(row["limited_by"]),
        "limited_at": int(row["limited_at"]),
        "start_mass_kg": float(row["start_mass"]),
        "start_mass_of_the_search_kg": float(tours.vehicle.craft["start_mass"][0]),
    }


def best_study(tours: Tours) -> str:
    """The text of the study with the stops of the best tour."""
    import tomlkit

    best, study = tours.best, tours.study
    text: Any = tomlkit.parse(study.text)
    name = f"{study.name[: LONGEST_NAME - len('_best_tour')]}_best_tour"
    text["study"]["name"] = name
    text["study"]["title"] = f"Best tour found: {', '.join(best.names)}"
    text["study"]["question"] = f"Does the craft of the study {study.name} fly the best tour found for it?"
    text["study"]["note"] = (
        f"The stops were found by searching {len(tours.chart.names)} bodies for the study {study.name} with its "
        f"{tours.vehicle.architecture} craft ({plain_number(float(tours.vehicle.craft['start_mass'][0]))} kg at the "
        "start), which stayed as sized for that study's own route; here every craft is sized anew for these stops."
    )
    particular = {
        place.body: raw
        for place, raw in zip(study.places[1:], text["route"]["stops"], strict=True)
        if isinstance(raw, dict)
    }
    if best.names[0] != study.start_body:
        text["start"]["body"] = best.names[0]
        text["start"].pop("orbit", None)
    text["route"]["stops"] = [particular.get(name, name) for name in best.names[1:]]
    return str(tomlkit.dumps(text))


def _rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [
        {str(name): value.item() if hasattr(value, "item") else value for name, value in row.items()}
        for row in frame.to_dict("records")
    ]


def _finite(value: Any) -> Any:
    """Numbers that JSON cannot hold become null."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
