"""The one place at which questions of uncertainty call the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.evaluate import SETTINGS, evaluate
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
    step = size or int(constants.value("chunk_designs", SETTINGS))
    pieces = [
        _piece(
            study,
            mission,
            architecture,
            {name: values[start : start + step] for name, values in designs.items()},
            names,
            frozen,
        )
        for start in range(0, count, step)
    ]
    return {name: np.concatenate([piece[name] for piece in pieces]) for name in names}


def _piece(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Mapping[str, FloatArray],
    names: Sequence[str],
    frozen: FloatArray | None,
) -> dict[str, FloatArray]:
    rows = {_row(name): values for name, values in designs.items() if "." in name}
    inputs = {name: values for name, values in designs.items() if "." not in name}
    if rows and not inputs:  # so that the engine knows how many designs there are
        count = next(iter(rows.values())).size
        inputs["payload_mass"] = np.full(count, study.values["payload_mass"])
    with changed(rows):
        table = evaluate(study, mission, architecture, inputs, frozen=frozen)
    found: dict[str, FloatArray] = {}
    for name in names:
        codes = table[name].cat.codes if name == "limited_by" else table[name]
        found[name] = np.asarray(codes, dtype=np.float64)
    return found


def _row(name: str) -> tuple[str, str]:
    thruster, _, row = name.partition(".")
    return thruster, row
