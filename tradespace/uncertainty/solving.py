"""The smallest value of a variable from which a design closes with the asked chance, and the chance along it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.evaluate import evaluate
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import display
from tradespace.sensitivity.solving import reference_value, span_of
from tradespace.uncertainty.designs import Chosen, chosen_inputs
from tradespace.uncertainty.intervals import chance_interval, hopeless, setting, wanted

if TYPE_CHECKING:
    from tradespace.study import Solve
    from tradespace.uncertainty.question import Question

DEFAULT = "array_area"
"""Variable of a study that names none."""
SCAN = 200
"""Points of the scan at nominal values."""
CURVE = "architecture variable value chance low high samples".split()
SOLUTIONS = "architecture variable condition nominal value chance low high samples verified note".split()


@dataclass(frozen=True, eq=False)
class Line:
    """A design of which one variable is changed, with what is to hold."""

    question: Question
    chosen: Chosen
    variable: str
    solve: Solve | None
    """Condition of the study beside closing; None for closing alone."""
    low: float
    high: float

    def drawn(self) -> dict[str, FloatArray]:
        """The draws of everything but what is chosen."""
        free = {self.variable, *chosen_inputs(self.question.study)}
        return self.question.draws(self.chosen.architecture, without=free)

    def holds(self, values: FloatArray, drawn: dict[str, FloatArray]) -> np.ndarray:
        """Whether it closes and the condition is met, for every value and draw, shape (values, draws)."""
        designs = {
            name: np.full(values.size, value)
            for name, value in self.chosen.values.items()
            if name not in drawn
        }
        if self.variable == "array_power":  # the area would only be replaced
            designs.pop("array_area", None)
        designs[self.variable] = values
        solve = self.solve
        names = ["closes", *([] if solve is None else [solve.column])]
        answers = self.question.answers(self.chosen.architecture, designs, drawn, list(dict.fromkeys(names)))
        met = answers["closes"] > 0.0
        if solve is not None:
            column = answers[solve.column]
            met &= column <= solve.limit if solve.relation == "<=" else column >= solve.limit
        return np.asarray(met)

    def points(self, count: int) -> FloatArray:
        """Values from end to end, by equal ratios where that can be."""
        if self.low > 0.0:
            return np.geomspace(self.low, self.high, count)
        return np.linspace(self.low, self.high, count)

    @property
    def condition(self) -> str:
        """What is to hold, in words."""
        if self.solve is None:
            return "closes"
        limit = display(self.solve.column, self.solve.limit)
        return f"closes and {self.solve.column} {self.solve.relation} {limit}"


def lines_of(question: Question, chosen: Chosen) -> list[Line]:
    """The variable that the study solves for, about the design examined: closing alone, then its condition too."""
    line = _line_of(question, chosen)
    return [line, *([] if question.study.solve is None else [replace(line, solve=question.study.solve)])]


def _line_of(question: Question, chosen: Chosen) -> Line:
    """The variable that the study solves for, with closing alone."""
    study = question.study
    variable = DEFAULT if study.solve is None else study.solve.variable
    own = chosen.values.get(variable)
    if own is None:
        reference = evaluate(study, question.mission, chosen.architecture, {}, everything=True).iloc[0]
        own = reference_value(reference, variable)
    low, high = span_of(study, variable, float(own))
    return Line(question, chosen, variable, None, low, high)


def middle(low: float, high: float) -> float:
    """Halfway between two values, by ratio where that can be."""
    return float(np.sqrt(low * high)) if low > 0.0 else 0.5 * (low + high)


def close_enough(low: float, high: float, span: float) -> bool:
    """Whether two values are the same for the purpose of a search."""
    return high - low <= setting("solve_precision") * (abs(high) if low > 0.0 else span)


def nominal_value(line: Line) -> float:
    """The smallest value at which the design closes at the study's own values; NaN where it never does."""
    return _refined(line, line.points(SCAN), {}, 1)


def _refined(line: Line, points: FloatArray, drawn: dict[str, FloatArray], need: int) -> float:
    """The first value at which so many draws hold, by halving the interval before the first point that does.

    Draws that hold, or fail, at both ends of an interval are taken to do so inside it.
    """
    first, above = _first_point(line, points, drawn, need)
    if first < 0:
        return float("nan")
    if first == 0:
        return float(points[0])
    low, high = float(points[first - 1]), float(points[first])
    below = line.holds(np.array([low]), drawn)[0]
    while not close_enough(low, high, line.high - line.low):
        value = middle(low, high)
        met = above.copy()
        open_ = np.flatnonzero(below != above)
        part = {name: values[open_] for name, values in drawn.items()}
        met[open_] = line.holds(np.array([value]), part)[0]
        if int(met.sum()) >= need:
            high, above = value, met
        else:
            low, below = value, met
    return high


def _first_point(
    line: Line, points: FloatArray, drawn: dict[str, FloatArray], need: int
) -> tuple[int, np.ndarray]:
    """Place of the first point at which so many draws hold, and which do; -1 where there is none."""
    count = max((values.size for values in drawn.values()), default=1)
    few = min(count, FEW)
    tried = line.holds(points, {name: values[:few] for name, values in drawn.items()})
    possible = tried.sum(axis=1) >= need if few == count else ~hopeless(tried.sum(axis=1), few, need / count)
    for place in np.flatnonzero(possible):
        met = tried[place] if few == count else line.holds(points[place : place + 1], drawn)[0]
        if int(met.sum()) >= need:
            return int(place), met
    return -1, np.zeros(count, dtype=bool)


FEW = 64
"""Draws that rule points out before all draws are tried."""


def solution(line: Line) -> tuple[object, ...]:
    """A row of the solutions: the nominal value, the one that holds with the asked chance, and that chance there."""
    question = line.question
    drawn, need = line.drawn(), wanted(question.samples, question.chance)
    points = line.points(int(setting("span_points")))
    nominal, value = nominal_value(line), _refined(line, points, drawn, need)
    start = (line.chosen.architecture, line.variable, line.condition, nominal)
    if np.isnan(value):
        tried = line.holds(points, {name: values[:FEW] for name, values in drawn.items()}).mean(axis=1)
        best = int(np.argmax(tried))
        ends = " and ".join(display(line.variable, end) for end in (line.low, line.high))
        note = f"not reached between {ends}; at most about {100.0 * tried[best]:.3g} %"
        if tried[best] > 0.0:
            note += f", at {display(line.variable, float(points[best]))}"
        return (*start, np.nan, np.nan, np.nan, np.nan, question.samples, False, note)
    closing = int(line.holds(np.array([value]), drawn)[0].sum())
    low, high = chance_interval(closing, question.samples)
    notes = ["holds from the smallest value tried"] if value <= line.low else []
    if closing < need:  # more of a good thing did harm somewhere inside the last interval
        notes.append("the chance does not rise steadily here; it holds at the next point of the scan")
        value = float(points[np.searchsorted(points, value)])
        closing = int(line.holds(np.array([value]), drawn)[0].sum())
        low, high = chance_interval(closing, question.samples)
    return (
        *start, value, closing / question.samples, float(low), float(high), question.samples, closing >= need,
        "; ".join(notes),
    )  # fmt: skip


def curve_rows(line: Line, count: int) -> list[tuple[object, ...]]:
    """The chance along the variable, with its interval."""
    points = line.points(int(setting("span_points")))
    drawn = {name: values[:count] for name, values in line.drawn().items()}
    closing = line.holds(points, drawn).sum(axis=1)
    used = min(count, line.question.samples)
    low, high = chance_interval(closing, used)
    return [
        (
            line.chosen.architecture,
            line.variable,
            float(point),
            int(true) / used,
            float(one),
            float(two),
            used,
        )
        for point, true, one, two in zip(points, closing, low, high, strict=True)
    ]


def solutions_table(rows: list[tuple[object, ...]]) -> pd.DataFrame:
    """Solutions of some architectures."""
    return pd.DataFrame(rows, columns=SOLUTIONS)


def curve_table(rows: list[tuple[object, ...]]) -> pd.DataFrame:
    """Chances along the variable of some architectures."""
    return pd.DataFrame(rows, columns=CURVE)
