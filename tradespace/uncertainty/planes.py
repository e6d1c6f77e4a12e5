"""The chance of closing and the figure of merit over the plane of two variables, for several architectures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.errors import StudyError
from tradespace.physics.compiled import FloatArray
from tradespace.uncertainty.designs import Chosen, chosen_inputs
from tradespace.uncertainty.intervals import setting

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.uncertainty.question import Question

COLUMNS = "architecture first second x y chance margin merit samples".split()
EVEN = 0.5
"""The other chance that is drawn as a line."""
EDGE = 0.05
"""Chances nearer than this to 0 or 1 are not looked at again unless a boundary is near."""


def plane_axes(study: Study, asked: tuple[str, str] | None = None) -> tuple[str, str] | None:
    """The two swept variables of the maps: those asked for, else the study's, else the first two; None if fewer.

    Raises
    ------
    StudyError
        If one that is asked for is not swept, or both are the same.
    """
    many = [variable.name for variable in study.sweep if np.unique(variable.points).size > 1]
    if asked is not None:
        for name in asked:
            if name not in many:
                allowed = ", ".join(many) or "none: the study sweeps nothing"
                raise StudyError(f"--map {name!r} is not swept; allowed: {allowed}")
        if asked[0] == asked[1]:
            raise StudyError(f"--map needs two different variables, not {asked[0]!r} twice")
        return asked
    names = [name for name in study.map_axes if name in many]
    names += [name for name in many if name not in names]
    return (names[0], names[1]) if len(names) > 1 else None


def axis_points(study: Study, name: str, count: int) -> FloatArray:
    """Points of an axis over the swept range, spread as the sweep spreads them; or those it lists."""
    variable = next(item for item in study.sweep if item.name == name)
    points = np.unique(variable.points)
    if variable.spacing == "listed":
        return points
    low, high = float(points[0]), float(points[-1])
    spread = np.geomspace if variable.spacing == "log" and low > 0.0 else np.linspace
    return np.asarray(spread(low, high, count), dtype=np.float64)


def plane(
    question: Question, chosen: Chosen, axes: tuple[str, str], shape: tuple[int, int], first: int, most: int
) -> pd.DataFrame:
    """One architecture over the plane of two variables; all others stay as in the design examined.

    Every cell has a few draws, those near a boundary have more.

    Parameters
    ----------
    question, chosen
        What is asked, and of which design.
    axes : tuple of str
        Variable across and variable up.
    shape : tuple of int
        Points across and up.
    first, most : int
        Draws for every cell, and for cells near a boundary.
    """
    study, name = question.study, chosen.architecture
    x, y = (axis_points(study, axis, count) for axis, count in zip(axes, shape, strict=True))
    across, up = (side.ravel() for side in np.meshgrid(x, y))
    others = {key: np.full(across.size, value) for key, value in chosen.values.items()}
    designs = {**others, axes[0]: across, axes[1]: up}
    columns = list(dict.fromkeys(["closes", "margin", study.figure_of_merit]))
    nominal = question.answers(name, designs, {}, columns)
    drawn = question.draws(name, without={*axes, *chosen_inputs(study)})
    fixed = {key: values for key, values in designs.items() if key not in drawn}
    count = min(first, question.samples)
    closing = _counted(question, name, fixed, drawn, slice(0, count))
    draws = np.full(across.size, count)
    most = min(most, question.samples)
    if most > count:
        near = np.flatnonzero(_near((closing / count).reshape(y.size, x.size), question.chance).ravel())
        if near.size:
            part = {key: values[near] for key, values in fixed.items()}
            closing[near] += _counted(question, name, part, drawn, slice(count, most))
            draws[near] = most
    return pd.DataFrame(
        {
            "architecture": name, "first": axes[0], "second": axes[1], "x": across, "y": up, "chance": closing / draws,
            "margin": nominal["margin"][:, 0], "merit": nominal[study.figure_of_merit][:, 0], "samples": draws,
        }
    )[COLUMNS]  # fmt: skip


def _counted(
    question: Question,
    architecture: str,
    designs: dict[str, FloatArray],
    drawn: dict[str, FloatArray],
    part: slice,
) -> np.ndarray:
    """How many of some draws close in each cell."""
    pieces = {key: values[part] for key, values in drawn.items()}
    answers = question.answers(architecture, designs, pieces, ["closes"])
    return np.asarray(answers["closes"].sum(axis=1).astype(np.int64))


def _near(chance: FloatArray, asked: float) -> np.ndarray:
    """Cells in doubt, and neighbours of which one lies above and one below a boundary."""
    doubt = (chance > EDGE) & (chance < 1.0 - EDGE)
    for level in (EVEN, asked):
        above = chance >= level
        across = above[:, 1:] != above[:, :-1]
        up = above[1:] != above[:-1]
        doubt[:, 1:] |= across
        doubt[:, :-1] |= across
        doubt[1:] |= up
        doubt[:-1] |= up
    return doubt


def plane_shape(depth: str) -> tuple[int, int]:
    """Points across and up, by depth."""
    return int(setting(f"{depth}_map_columns")), int(setting(f"{depth}_map_rows"))
