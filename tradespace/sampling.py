"""Which designs a study asks about: every combination of its swept variables."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from tradespace.study import Study

CHUNK = 20_000


def grid_count(study: Study) -> int:
    """Designs per architecture: 1 when nothing is swept."""
    return math.prod(len(variable.points) for variable in study.sweep)


def design_count(study: Study) -> int:
    """Designs over all architectures."""
    return grid_count(study) * len(study.architectures)


def designs_between(study: Study, start: int, stop: int) -> dict[str, FloatArray]:
    """The designs numbered ``start`` to ``stop - 1``, without making the others.

    Parameters
    ----------
    study : Study
        What is asked.
    start, stop : int
        Numbers in the full grid, in which the first swept variable changes slowest.

    Returns
    -------
    dict of ndarray
        SI values by swept variable, each of shape (stop - start,); empty when nothing is swept.
    """
    shape = [len(variable.points) for variable in study.sweep]
    if not shape:
        return {}
    places = np.unravel_index(np.arange(start, min(stop, math.prod(shape))), shape)
    return {
        variable.name: variable.points[place] for variable, place in zip(study.sweep, places, strict=True)
    }


def design_grid(study: Study) -> dict[str, FloatArray]:
    """All designs of one architecture: SI values by swept variable, the first one changing slowest."""
    return designs_between(study, 0, grid_count(study))


def chunks(study: Study, size: int = CHUNK) -> Iterator[tuple[int, dict[str, FloatArray]]]:
    """The grid of one architecture piece by piece.

    Parameters
    ----------
    study : Study
        What is asked.
    size : int
        Designs in a piece; the last one may be smaller.

    Yields
    ------
    tuple
        The number of the first design of the piece, and its designs as in :func:`design_grid`.

    Raises
    ------
    ValueError
        If the size is below 1.
    """
    if size < 1:
        raise ValueError(f"a chunk of {size} designs; at least 1 is needed")
    total = grid_count(study)
    for start in range(0, total, size):
        yield start, designs_between(study, start, min(start + size, total))
