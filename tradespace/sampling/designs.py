"""Which designs a study asks about: a grid over its swept variables, or what its plan says."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.sampling.points import hypercube_between, sobol_between

if TYPE_CHECKING:
    from tradespace.study import Study, SweptVariable

CHUNK = 20_000
RANDOM = ("latin_hypercube", "sobol")
"""Plans that place designs anywhere between the ends of the swept variables."""

Designs = dict[str, FloatArray]


def designs_per_architecture(study: Study) -> int:
    """Designs per architecture: 1 when nothing is swept."""
    counts = [len(variable.points) for variable in study.sweep]
    if study.plan.kind == "list":
        return len(next(iter(study.plan.table.values())))
    if study.plan.kind == "one_at_a_time":
        return 1 + sum(counts)
    return study.plan.designs or math.prod(counts)


def design_count(study: Study) -> int:
    """Designs over all architectures."""
    return designs_per_architecture(study) * len(study.architectures)


def plan_words(study: Study) -> str:
    """How the designs of one architecture are chosen, in words."""
    count = designs_per_architecture(study)
    counts = [len(variable.points) for variable in study.sweep]
    return {
        "grid": f"grid of {' by '.join(map(str, counts))} points" if counts else "a single design",
        "latin_hypercube": f"Latin hypercube of {count} designs",
        "sobol": f"scrambled Sobol' sequence of {count} designs",
        "one_at_a_time": f"one variable at a time, the baseline first, {count} designs",
        "list": f"list of {count} designs",
    }[study.plan.kind]


def swept_words(study: Study, variable: SweptVariable) -> str:
    """How many points a swept variable has, or how it is drawn from, in words."""
    if study.plan.kind in RANDOM and variable.spacing != "listed":
        return "drawn by ratio" if variable.spacing == "log" else "drawn evenly"
    return f"{len(variable.points)} points"


def baseline(study: Study) -> dict[str, float]:
    """Values of the swept variables about which one at a time is moved: the study's own, or the middle point."""
    return {
        variable.name: study.values.get(variable.name, float(variable.points[len(variable.points) // 2]))
        for variable in study.sweep
    }


def designs_between(study: Study, start: int, stop: int) -> Designs:
    """The designs numbered ``start`` to ``stop - 1``, the same ones whichever pieces they are asked for in.

    Parameters
    ----------
    study : Study
        What is asked.
    start, stop : int
        Numbers among the designs of one architecture. In a grid the first swept variable changes slowest; one
        at a time the baseline comes first, then each variable over its points; a list keeps its order.

    Returns
    -------
    dict of ndarray
        SI values by swept variable, each of shape (stop - start,); empty when nothing is swept.
    """
    stop = min(stop, designs_per_architecture(study))
    return _MAKERS[study.plan.kind](study, start, max(start, stop)) if study.sweep else {}


def _grid(study: Study, start: int, stop: int) -> Designs:
    """Every combination of the swept points, without making the others."""
    places = np.unravel_index(np.arange(start, stop), [len(variable.points) for variable in study.sweep])
    return {
        variable.name: variable.points[place] for variable, place in zip(study.sweep, places, strict=True)
    }


def _latin_hypercube(study: Study, start: int, stop: int) -> Designs:
    points = hypercube_between(start, stop, study.plan.designs, len(study.sweep), study.seed)
    return _spread(study.sweep, points)


def _sobol(study: Study, start: int, stop: int) -> Designs:
    return _spread(study.sweep, sobol_between(start, stop, len(study.sweep), study.seed))


def _one_at_a_time(study: Study, start: int, stop: int) -> Designs:
    """The baseline, then each variable over its points with the others at the baseline."""
    found = {name: np.full(stop - start, value) for name, value in baseline(study).items()}
    first = 1
    for variable in study.sweep:
        last = first + len(variable.points)
        low, high = max(first, start), min(last, stop)
        if low < high:
            found[variable.name][low - start : high - start] = variable.points[low - first : high - first]
        first = last
    return found


def _list(study: Study, start: int, stop: int) -> Designs:
    return {name: values[start:stop].copy() for name, values in study.plan.table.items()}


_MAKERS: dict[str, Callable[[Study, int, int], Designs]] = {
    "grid": _grid,
    "latin_hypercube": _latin_hypercube,
    "sobol": _sobol,
    "one_at_a_time": _one_at_a_time,
    "list": _list,
}


def _spread(sweep: tuple[SweptVariable, ...], points: FloatArray) -> Designs:
    """Points of the unit cube as values of the swept variables."""
    return {variable.name: swept_values(variable, points[:, place]) for place, variable in enumerate(sweep)}


def swept_values(variable: SweptVariable, share: FloatArray) -> FloatArray:
    """Values of a swept variable at shares of the way between its ends, or of its list.

    Parameters
    ----------
    variable : SweptVariable
        What is swept.
    share : ndarray, shape (n,)
        Above 0 and below 1.
    """
    points = variable.points
    if variable.spacing == "listed":
        return points[np.minimum((share * len(points)).astype(np.int64), len(points) - 1)]
    low, high = float(points[0]), float(points[-1])
    if variable.spacing == "log":
        return np.clip(np.exp(math.log(low) + share * (math.log(high) - math.log(low))), low, high)
    return np.clip(low + share * (high - low), low, high)


def design_grid(study: Study) -> Designs:
    """All designs of one architecture: SI values by swept variable."""
    return designs_between(study, 0, designs_per_architecture(study))


def chunks(study: Study, size: int = CHUNK) -> Iterator[tuple[int, Designs]]:
    """The designs of one architecture piece by piece.

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
    total = designs_per_architecture(study)
    for start in range(0, total, size):
        yield start, designs_between(study, start, min(start + size, total))
