"""A design of the page as a study file: the study's own text with the values of the design written in."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomlkit

from tradespace.errors import StudyError
from tradespace.evaluate import baseline, mission_of
from tradespace.quantities import quantity
from tradespace.study import parse_study
from tradespace.study.new_file import require_name, write_new

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Design, Explorer

SAME = 1e-9
"""Difference of the answers of a design and of its file that is rounding [1]."""
CHECKED = ("margin", "dry_mass", "start_mass", "mission_time")


def study_text(explorer: Explorer, design: Design, name: str) -> str:
    """The study's text under another name with one architecture and the values of a design.

    Comments, sweep and everything else stay. Values that are still the study's own are not touched where they are
    written.

    Parameters
    ----------
    explorer : Explorer
        The study on the page.
    design : Design
        What is kept.
    name : str
        Name of the new study: letters, digits and underscores.

    Raises
    ------
    StudyError
        If the name cannot name a study.
    """
    require_name(name)
    study = explorer.study
    document: Any = tomlkit.parse(study.text)
    document["study"]["name"] = name
    document["study"]["title"] = f"{study.title} (pinned: {study.thrusters[design.architecture].title})"
    for variable, place in explorer.positions(design).items():
        track, section = explorer.variables[variable], quantity(variable).section
        if section not in document:
            document[section] = tomlkit.table()
        if place != track.own_position or variable not in document[section]:
            document[section][variable] = track.text(place)
    _only(document, design.architecture)
    return _heading(explorer, design) + str(tomlkit.dumps(document))


def _heading(explorer: Explorer, design: Design) -> str:
    """Where the file comes from and which values were moved, as a comment."""
    lines = [f"# A design pinned from the study {explorer.study.name}: {design.architecture}."]
    for name, place in explorer.positions(design).items():
        track = explorer.variables[name]
        if place != track.own_position:
            lines.append(f"# {name}: {track.text(track.own_position)} there, {track.text(place)} here")
    return "\n".join(lines) + "\n#\n"


def _only(document: Any, architecture: str) -> None:
    """Keep one architecture: of the listed ones, of the engines and of the crafts that the study makes itself."""
    made = [
        str(item.get("name", "")) for kind in ("thruster", "architecture") for item in document.get(kind, [])
    ]
    if architecture not in made:
        document["architectures"] = {"include": [architecture]}
    elif "architectures" in document:
        document["architectures"]["include"] = []
    else:
        document["architectures"] = {"include": []}
    wanted = {architecture}
    for item in document.get("architecture", []):
        if item.get("name") == architecture:
            wanted.add(str(item.get("thruster", "")))
    for kind in ("architecture", "thruster"):
        kept = [item for item in document.get(kind, []) if item.get("name") in wanted]
        if kind not in document or len(kept) == len(document[kind]):
            continue
        del document[kind]
        if kept:
            document[kind] = tomlkit.aot()
            for item in kept:
                document[kind].append(item)
    if document.get("search", {}).get("architecture", architecture) != architecture:
        document["search"]["architecture"] = architecture


def save(explorer: Explorer, design: Design, name: str, folder: Path) -> Path:
    """Write a design as NAME.toml after checking that the file gives the same answer; an existing file stays.

    Parameters
    ----------
    explorer, design, name
        As for :func:`study_text`.
    folder : Path
        Where the file goes.

    Raises
    ------
    StudyError
        If the name cannot name a study, or the file would give another answer.
    OutputError
        If the file exists or cannot be written.
    """
    text = study_text(explorer, design, name)
    again = parse_study(text, name)
    row = baseline(again, mission_of(again), design.architecture).iloc[0]
    shown = explorer.row(design)
    for column in CHECKED:
        first, second = float(shown[column]), float(row[column])
        if not math.isclose(first, second, rel_tol=SAME, abs_tol=SAME):
            raise StudyError(
                f"{name}.toml would give another {column.replace('_', ' ')} ({second:.6g}, shown {first:.6g}), because "
                "the study looks up part of its mission from a moved value; nothing was saved"
            )
    path = folder / f"{name}.toml"
    write_new(path, text)
    return path
