"""Elasticities: by how many percent an answer moves when an input moves by one percent, or why there is none.

Five designs a small step apart give the slope twice, with the step and with twice the step. Where both agree the two
are extrapolated to no step at all (Richardson); where they do not the answer is not smooth there, and is told in words:
a bend has one slope below and another above, and a jump has none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import evaluate
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import Quantity, quantities
from tradespace.results import placeholder
from tradespace.sensitivity.rates import jump
from tradespace.sensitivity.solving import SETTINGS, reference_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tradespace.study import Study

FIGURES = ("refuel_time_mean", "mission_time", "payload_capacity", "start_mass")
IMPULSE = "specific_impulse"
"""Moved through the change of specific impulse, which every thruster knows."""
COLUMNS = ["architecture", "calendar", "metric", "quantity", "value", "elasticity", "error", "note"]
CENTRAL = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
UPWARD = np.array([0.0, 1.0, 2.0, 3.0, 4.0])


@dataclass(frozen=True)
class Stencil:
    """The designs about the reference that one input is given."""

    name: str
    value: float
    """At the reference design [SI]."""
    steps: FloatArray
    """Places of the five designs in steps, increasing."""

    @property
    def points(self) -> FloatArray:
        """Values of the input [SI]."""
        return self.value * (1.0 + constants.value("elasticity_step", SETTINGS) * self.steps)


def figures_of(study: Study) -> list[str]:
    """Answers for which elasticities are worked out: free of margins, and the study's own figure of merit."""
    names = [*FIGURES, *(["delta_v_available"] if study.kind == "burn" else []), study.figure_of_merit]
    if study.kind == "burn":
        names = [name for name in names if name != "mission_time" or name == study.figure_of_merit]
    return list(dict.fromkeys(names))


def elasticities(
    study: Study,
    mission: Mission,
    architecture: str,
    metrics: Sequence[str] | None = None,
    reference: pd.Series | None = None,
) -> pd.DataFrame:
    """Elasticity (x/y) dy/dx of the answers to every numeric input that is not zero, about the reference design.

    With the calendar frozen the departure dates of the reference design are kept; with the calendar free each design
    chooses its own. Inputs that move an answer by less than rounding are left out for it.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    metrics : sequence of str, optional
        Answers to look at; :func:`figures_of` when not given. The time of the route is looked at with the calendar
        free alone.
    reference : Series, optional
        The reference design with every input, when it is at hand.

    Returns
    -------
    DataFrame
        Columns architecture, calendar, metric, quantity, value (SI), elasticity (NaN where there is none), error
        (difference of the slopes with both steps), note (why there is none; for a bend, the slope on either side).
    """
    chosen = list(metrics) if metrics is not None else figures_of(study)
    row = reference_row(study, mission, architecture) if reference is None else reference
    together, apart = stencils(study, row)
    rows = []
    for calendar in ("frozen", "free"):
        frozen = frozen_dates(mission, row) if calendar == "frozen" else None
        if calendar == "frozen" and not mission.windows:
            continue  # without windows there is no calendar to freeze
        for stencil, answers in _answers(study, mission, architecture, row, together, apart, frozen):
            leap = jump(mission, answers) if calendar == "free" else ""
            for metric in chosen:
                if metric == "mission_time" and calendar == "frozen":
                    continue
                found = _elasticity(metric, answers, stencil, leap)
                if found is not None:
                    rows.append((architecture, calendar, metric, stencil.name, stencil.value, *found))
    return pd.DataFrame(rows, columns=COLUMNS)


def reference_row(study: Study, mission: Mission, architecture: str) -> pd.Series:
    """The reference design of an architecture with every input and answer."""
    return evaluate(study, mission, architecture, {}, everything=True).iloc[0]


def frozen_dates(mission: Mission, row: pd.Series) -> FloatArray | None:
    """Departure dates of a design, to be kept; None where there are no windows."""
    if not mission.windows:
        return None
    return np.array([float(row[f"window_date_{hop + 1}"]) for hop in range(mission.hops)])


def stencils(study: Study, row: pd.Series) -> tuple[list[Stencil], list[Stencil]]:
    """Inputs to be moved: those with a value of their own, and those that are worked out unless given."""
    together = [Stencil(IMPULSE, float(row[IMPULSE]), CENTRAL)]
    apart: list[Stencil] = []
    for name, item in quantities().items():
        if item.role == "output" or name == "specific_impulse_change" or is_switch(item):
            continue
        value = reference_value(row, name)
        if value == 0.0 or not np.isfinite(value):
            continue
        stencil = Stencil(name, value, _steps(name, value))
        (together if name in study.values else apart).append(stencil)
    return together, apart


def is_switch(item: Quantity) -> bool:
    """Whether a quantity says yes or no rather than how much."""
    return item.grade == "defined" and item.unit == "1" and (item.low, item.high) == (0.0, 1.0)


def _steps(name: str, value: float) -> FloatArray:
    """Steps to both sides, or to one where the other would leave what the input may be."""
    item = quantities()[name]
    reach = constants.value("elasticity_step", SETTINGS) * np.abs(CENTRAL).max() * abs(value)
    if item.high is not None and value + reach > item.high:
        return np.asarray(-UPWARD[::-1] * np.sign(value))
    if item.low is not None and value - reach < item.low:
        return np.asarray(UPWARD * np.sign(value))
    return CENTRAL


def _answers(
    study: Study,
    mission: Mission,
    architecture: str,
    row: pd.Series,
    together: list[Stencil],
    apart: list[Stencil],
    frozen: FloatArray | None,
) -> list[tuple[Stencil, pd.DataFrame]]:
    """The five designs of every input, evaluated in one go where that is possible."""
    size = len(CENTRAL)
    count = size * len(together)
    designs: dict[str, FloatArray] = {}
    for place, stencil in enumerate(together):
        name, points = stencil.name, stencil.points
        if name == IMPULSE:
            name, points = "specific_impulse_change", points - stencil.value
        base = float(row[name]) if name in row else float(study.values[name])
        designs[name] = np.full(count, base)
        designs[name][size * place : size * (place + 1)] = base + points if name != stencil.name else points
    answers = evaluate(study, mission, architecture, designs, frozen=frozen)
    found = [
        (stencil, answers.iloc[size * place : size * (place + 1)]) for place, stencil in enumerate(together)
    ]
    return found + [
        (stencil, evaluate(study, mission, architecture, {stencil.name: stencil.points}, frozen=frozen))
        for stencil in apart
    ]


def _elasticity(
    metric: str, answers: pd.DataFrame, stencil: Stencil, leap: str
) -> tuple[float, float, str] | None:
    """Elasticity, its error and a note; None where the input has no effect."""
    values = answers[metric].to_numpy(dtype=np.float64)
    middle = int(np.flatnonzero(stencil.steps == 0.0)[0])
    step = constants.value("elasticity_step", SETTINGS)
    least = constants.value("elasticity_least", SETTINGS)
    here = float(values[middle])
    if float(np.ptp(values)) <= least * step * abs(here):
        return None
    words = placeholder(answers.iloc[middle], metric)
    if words:
        return np.nan, np.nan, "refuelling does not end" if words == "never" else words
    if here == 0.0:
        return np.nan, np.nan, "zero at the reference design"
    if leap:
        return np.nan, np.nan, leap
    shape = values / here
    fine, coarse = slopes(shape, stencil.steps, step)
    if abs(fine - coarse) <= constants.value("elasticity_agreement", SETTINGS) * max(abs(fine), abs(coarse)):
        return fine + (fine - coarse) / 3.0, abs(fine - coarse) / 3.0, ""
    return np.nan, abs(fine - coarse), roughness(shape, stencil.steps, step)


def slopes(shape: FloatArray, steps: FloatArray, step: float) -> tuple[float, float]:
    """Slope at the reference with the step and with twice the step, of second order each.

    Parameters
    ----------
    shape : ndarray, shape (5,)
        Answers over that of the reference [1].
    steps : ndarray, shape (5,)
        Places of the designs: two to either side, or four to one.
    step : float
        Relative step [1].
    """
    if steps[0] < 0.0 < steps[-1]:
        return float(shape[3] - shape[1]) / (2.0 * step), float(shape[4] - shape[0]) / (4.0 * step)
    side = float(np.sign(steps[0] + steps[-1]))
    away = shape if steps[0] == 0.0 else shape[::-1]
    return tuple(  # type: ignore[return-value]
        side * float(-3.0 * away[0] + 4.0 * away[skip] - away[2 * skip]) / (2.0 * skip * step)
        for skip in (1, 2)
    )


def roughness(shape: FloatArray, steps: FloatArray, step: float) -> str:
    """Why there is no one slope, in words: a bend at the reference, a jump nearby, or neither.

    Parameters
    ----------
    shape, steps, step
        As for :func:`slopes`.
    """
    each = np.diff(shape) / (step * np.diff(steps))
    order = np.argsort(np.abs(each))
    others = float(np.abs(each[order[:-1]]).max())
    if abs(each[order[-1]]) > constants.value("elasticity_jump", SETTINGS) * max(others, 1.0):
        return f"jumps by {abs(step * each[order[-1]]):.2g} of itself within the step"
    alike = constants.value("elasticity_agreement", SETTINGS) * float(np.abs(each).max())
    ends = np.abs(each - each[0]) <= alike, np.abs(each - each[-1]) <= alike
    if not ends[0][-1] and (~ends[0] & ~ends[1]).sum() <= 1:
        there = (
            "there" if (ends[0] | ends[1]).all() and steps[0] < 0.0 < steps[-1] and ends[0][1] else "close by"
        )
        return f"bends {there}: {each[0]:.3g} below, {each[-1]:.3g} above"
    return "not smooth: the slopes with two steps differ"
