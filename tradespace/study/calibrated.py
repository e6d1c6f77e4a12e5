"""A study that takes its cell and its engine from a bench: the section ``[calibration]``."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from tradespace.bench.calibration import Calibration, parse_calibration
from tradespace.errors import CalibrationError, StudyError
from tradespace.options import Setting
from tradespace.physics.compiled import FloatArray
from tradespace.study.document import Document, EntryError, shown
from tradespace.study.enclosed import content_of, enclosed
from tradespace.study.model import Distribution
from tradespace.study.values import hint, inputs

SECTION = "calibration"
KEYS = ("file", "text")
LARGEST = 1_000_000
"""Bytes of a calibration file."""


def read_calibrated(document: Document, folder: Path | None, text: str) -> tuple[Calibration | None, str]:
    """The calibration that a study asks for, and the text of the study with its file inside it.

    Parameters
    ----------
    document : Document
        The study file.
    folder : Path or None
        Where the file is looked for; None when the study is a text without a place.
    text : str
        The text of the study so far.
    """
    table = document.table(SECTION)
    if not table:
        if SECTION in document.tree:
            document.problem((SECTION,), 'is empty; write file = "calibration.toml", a file beside the study')
        return None, text
    strange = [key for key in table if key not in KEYS]
    for key in strange:
        document.problem((SECTION, key), f"unknown key{hint(key, KEYS) or '; allowed: file, text'}")
    if strange:
        return None, text
    if ("file" in table) == ("text" in table):
        what = "give only one of file and text" if "file" in table else "the file is missing"
        document.problem((SECTION,), f'{what}; write file = "calibration.toml", a file beside the study')
        return None, text
    key = "file" if "file" in table else "text"
    raw = document.words((SECTION, key), table[key], longest=400 if key == "file" else LARGEST)
    if not raw:
        return None, text
    try:
        content = raw
        if key == "file":
            content = content_of(raw, folder, "text", LARGEST, "calibration file")
            text = enclosed(document, text, SECTION, "text", raw, content, "a calibration")
        return parse_calibration(content, raw if key == "file" else "text"), text
    except (EntryError, StudyError, CalibrationError) as error:
        document.problem((SECTION, key), str(error))
        return None, text


def check_calibrated(
    document: Document, calibration: Calibration | None, given: set[str], chosen: dict[str, str]
) -> None:
    """Refuse a study that gives what its bench has measured, and take over the kind of cell that was measured."""
    if calibration is None:
        return
    for name in calibration.names:
        if name in given:
            section = inputs()[name].section
            document.problem((section, name), f"is told by the calibration too; drop it, or the [{SECTION}]")
    cell = [name for name in calibration.names if inputs()[name].section == "electrolysis"]
    if cell and "stack_efficiency" in given:
        document.problem(
            ("electrolysis", "stack_efficiency"),
            f"leaves {cell[0]} of the calibration without effect; drop it, or the [{SECTION}]",
        )
    if not calibration.cell_kind or not cell:
        return
    stated = document.table("electrolysis").get("cell_kind")
    if stated is not None and stated != calibration.cell_kind:
        document.problem(
            ("electrolysis", "cell_kind"),
            f"{shown(stated)} is not the kind that was measured, {shown(calibration.cell_kind)}; drop one of them",
        )
    chosen["cell_kind"] = calibration.cell_kind


def settings_of_bench(calibration: Calibration | None) -> dict[str, Setting]:
    """What a calibration makes of the inputs, as an option of a choice would."""
    if calibration is None:
        return {}
    where = f"{calibration.title}: {calibration.points} readings" + (
        ", invented" if calibration.invented else ""
    )
    return {
        name: Setting(
            name, one.value, one.low, one.high, "measured" if one.informed else "assumed", "study_value", where,
            inputs()[name].description,
        )
        for name, one in calibration.values.items()
    }  # fmt: skip


def bench_distributions(calibration: Calibration | None, fixed: Mapping[str, str]) -> dict[str, Distribution]:
    """What the calibrated inputs may be: normal, cut at the bounds of the quantity."""
    found: dict[str, Distribution] = {}
    for name, one in ({} if calibration is None else calibration.values).items():
        if name in fixed or one.deviation <= 0.0:
            continue
        item = inputs()[name]
        low = -math.inf if item.low is None else item.low
        high = math.inf if item.high is None else item.high
        grade = "measured" if one.informed else "assumed"
        found[name] = Distribution(name, "normal", (one.value, one.deviation), low, high, grade, True)
    return found


def bench_correlation(
    calibration: Calibration | None, names: tuple[str, ...], stated: FloatArray | None
) -> FloatArray | None:
    r"""Rank correlation of all uncertain inputs with that of the calibrated ones put in.

    .. math:: \rho = \frac{6}{\pi} \arcsin \frac{r}{2}
    """
    if calibration is None:
        return stated
    places = {name: number for number, name in enumerate(names) if name in calibration.values}
    rank = 6.0 / math.pi * np.arcsin(0.5 * calibration.correlation)
    whole = np.eye(len(names)) if stated is None else np.array(stated)
    order = [calibration.names.index(name) for name in places]
    whole[np.ix_(list(places.values()), list(places.values()))] = rank[np.ix_(order, order)]
    off_diagonal = whole - np.eye(len(names))
    return whole if bool(np.any(off_diagonal)) else stated
