"""The one place at which questions of uncertainty call the engine."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.evaluate import SETTINGS, answers
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters.values import changed

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study


def outputs(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Mapping[str, FloatArray],
    names: Sequence[str],
    *,
    frozen: FloatArray | None = None,
    size: int | None = None,
) -> dict[str, FloatArray]:
    """Some output columns for a set of designs, in pieces that fit in memory.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    designs : mapping of str to ndarray, shape (n,)
        Inputs laid over the study's own [SI]; ``thruster.row`` stands for a row of a thruster's table.
    names : sequence of str
        Columns wanted; ``limited_by`` comes as the place of the link in :data:`tradespace.results.LINKS`.
    frozen : ndarray, shape (hops,), optional
        Departure dates to keep, seconds past J2000.
    size : int, optional
        Designs in a piece.
    """
    count = max((values.size for values in designs.values()), default=1)
    step = size or int(constants.value("answers_piece", SETTINGS))

    def piece(start: int) -> dict[str, FloatArray]:
        part = {name: values[start : start + step] for name, values in designs.items()}
        return _piece(study, mission, architecture, part, names, frozen)

    first = piece(0)  # alone, so that nothing is compiled or read twice
    if count <= step:
        return first
    with ThreadPoolExecutor(max(1, os.cpu_count() or 1)) as pool:
        pieces = [first, *pool.map(piece, range(step, count, step))]
    return {name: np.concatenate([one[name] for one in pieces]) for name in names}


def _piece(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Mapping[str, FloatArray],
    names: Sequence[str],
    frozen: FloatArray | None,
) -> dict[str, FloatArray]:
    """Designs so few that the engine does not share them out: rows of a table are changed in one thread alone."""
    rows = {_row(name): values for name, values in designs.items() if "." in name}
    inputs = {name: values for name, values in designs.items() if "." not in name}
    if rows and not inputs:  # so that the engine knows how many designs there are
        count = next(iter(rows.values())).size
        inputs["payload_mass"] = np.full(count, study.values["payload_mass"])
    with changed(rows):
        found = answers(study, mission, architecture, inputs, names, frozen=frozen)
    return {name: np.asarray(values, dtype=np.float64) for name, values in found.items()}


def _row(name: str) -> tuple[str, str]:
    thruster, _, row = name.partition(".")
    return thruster, row
