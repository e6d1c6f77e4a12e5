"""The one place at which questions of uncertainty call the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from tradespace.evaluate import answers
from tradespace.physics.compiled import FloatArray

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
    found = answers(study, mission, architecture, designs, names, frozen=frozen, most=size)
    return {name: np.asarray(values, dtype=np.float64) for name, values in found.items()}
