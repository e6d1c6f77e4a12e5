"""Where the smallest margin of a design passes a level when one input moves: scan, then narrow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.breakeven.subjects import SETTINGS, Subject
from tradespace.breakeven.trials import Bench
from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOVES = 1e-9
"""Change of the smallest margin below which an input does not move it [1]."""


@dataclass(frozen=True)
class Goal:
    """A level of the smallest margin, and on which side of it the answer has to come to lie."""

    level: float
    rising: bool
    """True to reach the level from below, False to fall below it."""

    def reached(self, margin: FloatArray) -> NDArray[np.bool_]:
        """Whether each margin is on the side asked for."""
        return margin >= self.level if self.rising else margin < self.level

    def best(self, margin: FloatArray) -> int:
        """Place of the margin nearest to the goal or farthest beyond it."""
        return int(np.argmax(margin) if self.rising else np.argmin(margin))


@dataclass(frozen=True)
class Crossing:
    """Two neighbouring values of an input between which the goal is reached."""

    subject: Subject
    before: float
    """Nearer to today's value, the goal not reached."""
    after: float
    """The goal reached."""


@dataclass(frozen=True)
class Best:
    """The nearest an input comes to the goal that it cannot reach."""

    subject: Subject
    value: float
    margin: float


def scan(subject: Subject, bound: float) -> FloatArray:
    """Values from today's to a bound, the nearest first, in steps that grow; decades where they lie between."""
    span = bound - subject.today
    if span == 0.0:
        return np.zeros(0)
    side, reach = np.sign(span), abs(span)
    first = min(constants.value("scan_first_step", SETTINGS) * subject.scale, 0.1 * reach)
    count = int(constants.value("scan_points", SETTINGS))
    steps = [np.geomspace(first, reach, count), np.linspace(0.0, reach, count // 2)[1:]]
    near = abs(subject.today)
    far = max(abs(bound), near * constants.value("scan_bottom", SETTINGS))
    if near > 0.0 and subject.today * bound >= 0.0 and max(far / near, near / far) > 10.0:
        decades = abs(np.log10(far / near))
        points = int(np.ceil(decades * constants.value("scan_decade_points", SETTINGS))) + 1
        steps.append(np.abs(np.geomspace(near, far, points)[1:] - near))
    distances = np.unique(np.concatenate(steps))
    values = subject.today + side * distances[distances <= reach]
    values[-1] = bound
    return np.asarray(values)


def search(
    bench: Bench, subjects: Sequence[Subject], goal: Goal, today: float
) -> tuple[list[Crossing], list[Best]]:
    """The crossing of each input that is nearest to today's value, and the best that the others reach.

    Inputs that do not move the smallest margin are in neither list.

    Parameters
    ----------
    bench : Bench
        Evaluates designs.
    subjects : sequence of Subject
        Inputs to move, one at a time.
    goal : Goal
        What is to be reached.
    today : float
        Smallest margin as the design stands [1].
    """
    sides = [(item, scan(item, bound)) for item in subjects for bound in (item.least, item.most)]
    sides = [(item, values) for item, values in sides if values.size]
    margins = bench.margins(sides)
    crossings: list[Crossing] = []
    peaks: list[tuple[Subject, FloatArray, FloatArray]] = []
    for (item, values), margin in zip(sides, margins, strict=True):
        points, heights = np.append(item.today, values), np.append(today, margin)
        found = _first(item, points, goal.reached(heights))
        if found is not None:
            crossings.append(found)
        elif np.ptp(heights) > MOVES:
            peaks.append((item, points, heights))
    reached, best = _peaks(bench, peaks, goal)
    crossings = _nearest(narrowed(bench, crossings + reached, goal))
    done = {found.subject.name for found in crossings}
    return crossings, _one_each([item for item in best if item.subject.name not in done], goal)


def _first(item: Subject, points: FloatArray, reached: NDArray[np.bool_]) -> Crossing | None:
    """The first interval at whose far end the goal is reached."""
    if not reached.any():
        return None
    place = int(np.argmax(reached))
    return Crossing(item, float(points[max(place - 1, 0)]), float(points[place]))


def _peaks(
    bench: Bench, peaks: list[tuple[Subject, FloatArray, FloatArray]], goal: Goal
) -> tuple[list[Crossing], list[Best]]:
    """The best margins of inputs whose scan did not reach the goal, sought between their neighbours.

    Where the goal is reached after all, on a stretch narrower than the scan, there is a crossing.
    """
    crossings: list[Crossing] = []
    best: list[Best] = []
    points = int(constants.value("refine_points", SETTINGS))
    for rounds in range(int(constants.value("peak_rounds", SETTINGS)) + 1):
        trials = []
        for item, values, heights in peaks:
            place = goal.best(heights)
            if rounds == 0 and place in {0, values.size - 1}:  # today's value or the bound
                best.append(Best(item, float(values[place]), float(heights[place])))
            else:
                ends = values[max(place - 1, 0)], values[min(place + 1, values.size - 1)]
                trials.append((item, np.linspace(*ends, points)))
        peaks = []
        for (item, grid), margin in zip(trials, bench.margins(trials), strict=True):
            found = _first(item, grid, goal.reached(margin))
            if found is not None:
                crossings.append(found)
            else:
                peaks.append((item, grid, margin))
    for item, values, heights in peaks:
        place = goal.best(heights)
        best.append(Best(item, float(values[place]), float(heights[place])))
    return crossings, best


def narrowed(bench: Bench, crossings: list[Crossing], goal: Goal) -> list[Crossing]:
    """The first crossing within each bracket, the bracket narrowed by repeated grids."""
    points = int(constants.value("refine_points", SETTINGS))
    width = constants.value("bracket_width", SETTINGS)
    for _ in range(int(constants.value("refine_rounds", SETTINGS))):
        wide = [place for place, item in enumerate(crossings) if _width(item) > width]
        if not wide:
            break
        grids = [np.linspace(crossings[place].before, crossings[place].after, points) for place in wide]
        trials = [(crossings[place].subject, grid[1:-1]) for place, grid in zip(wide, grids, strict=True)]
        for place, grid, margin in zip(wide, grids, bench.margins(trials), strict=True):
            reached = np.concatenate([[False], goal.reached(margin), [True]])  # the ends are known
            found = _first(crossings[place].subject, grid, reached)
            if found is not None:
                crossings[place] = found
    return [_at_once(item) for item in crossings]


def _at_once(item: Crossing) -> Crossing:
    """A crossing that lies at today's value itself, as when something runs out of a stock of nothing."""
    near = (
        abs(item.after - item.subject.today)
        <= constants.value("bracket_width", SETTINGS) * item.subject.scale
    )
    return Crossing(item.subject, item.subject.today, item.after) if near else item


def _width(item: Crossing) -> float:
    """Width of a bracket as a share of the value."""
    size = max(abs(item.after), abs(item.before), 1e-6 * item.subject.scale)
    return abs(item.after - item.before) / size


def _nearest(crossings: list[Crossing]) -> list[Crossing]:
    """For each input the crossing nearest to today's value."""
    kept: dict[str, Crossing] = {}
    for item in sorted(crossings, key=lambda found: abs(found.after - found.subject.today)):
        kept.setdefault(item.subject.name, item)
    return list(kept.values())


def _one_each(best: list[Best], goal: Goal) -> list[Best]:
    """For each input the side on which it comes nearest."""
    kept: dict[str, Best] = {}
    for item in sorted(best, key=lambda found: found.margin, reverse=goal.rising):
        kept.setdefault(item.subject.name, item)
    return list(kept.values())
