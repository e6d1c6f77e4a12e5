"""What it would take: the value of each input alone at which a design would close, or would stop closing.

The smallest margin of a design is followed from today's value of one input to both of its bounds. Where it first
passes the level asked for, the bracket is narrowed until the value is known far better than anybody could build it.
Where the margin jumps, because a departure leaves for another window, the bracket holds the jump and both dates are
told.
"""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from tradespace import constants
from tradespace.breakeven.pairs import EMPTY_CURVE, EMPTY_PLANE, Boundary, best_pair, boundary
from tradespace.breakeven.search import Goal, search
from tradespace.breakeven.subjects import SETTINGS, Question, Subject, subject, subjects
from tradespace.breakeven.table import links_at, missed_table, reached_table
from tradespace.breakeven.trials import Bench
from tradespace.errors import unknown_name
from tradespace.evaluate import baseline, mission_of
from tradespace.results import Improvements

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

__all__ = [
    "QUESTIONS", "RULE", "Boundary", "BreakEven", "Question", "Subject", "analyse", "best_pair", "boundary",
    "break_even", "comfortable", "improvements", "question_of", "subject", "subjects",
]  # fmt: skip

Progress = Callable[[int, int, int], None]
"""Called with architectures done, architectures in all, designs evaluated."""
QUESTIONS = ("close", "spare", "fail")
"""What is asked: to close, to close with room to spare, and how far it may get worse before it closes no more."""
RULE = (
    "Ranked by reach: inputs that do it inside their range first; in both groups by the distance from today's value, "
    "counted in widths of the range, or in today's values where there is no range; those from zero without a range last"
)


@dataclass(frozen=True)
class BreakEven:
    """What each input alone would have to become, for one architecture."""

    architecture: str
    closes: bool
    margin: float
    """Smallest margin of the design as it stands [1]."""
    links: tuple[tuple[str, float, int], ...]
    """Every link, its least margin and its hop, the least first."""
    reached: pd.DataFrame
    """One row for each question and input that does it alone, ranked; values in SI."""
    missed: pd.DataFrame
    """One row for each question and input that cannot do it alone, with the margin it reaches."""
    evaluated: int

    @property
    def questions(self) -> tuple[str, ...]:
        """Which of :data:`QUESTIONS` were asked."""
        return tuple(goals_of(self.margin))


def comfortable() -> float:
    """Smallest margin from which on a design closes with room to spare [1]."""
    return constants.value("comfortable_margin", SETTINGS)


def goals_of(margin: float) -> dict[str, Goal]:
    """What is to be asked of a design with this smallest margin.

    Examples
    --------
    >>> list(goals_of(-0.2)), list(goals_of(0.001)), list(goals_of(0.3))
    (['close'], ['spare', 'fail'], ['fail'])
    """
    if margin < 0.0:
        return {"close": Goal(0.0, rising=True)}
    falls = {"fail": Goal(0.0, rising=False)}
    return {"spare": Goal(comfortable(), rising=True), **falls} if margin < comfortable() else falls


def question_of(study: Study, mission: Mission, architecture: str) -> Question:
    """The reference design of one architecture.

    Raises
    ------
    UnknownNameError
        If the study has no such architecture.
    """
    if architecture not in study.architectures:
        raise unknown_name("architecture", architecture, study.architectures, "tradespace list thrusters")
    asked = _with_free_ratio(study, architecture)
    own = () if asked is study else ("mixture_ratio",)
    return Question(asked, mission, architecture, baseline(asked, mission, architecture).iloc[0], own)


def _with_free_ratio(study: Study, architecture: str) -> Study:
    """The same design with the mixture ratio of its architecture written as the study's, so that it can be moved."""
    found = study.thrusters[architecture]
    if found.mixture_ratio is None:
        return study
    free = copy.copy(found)
    object.__setattr__(free, "mixture_ratio", None)
    values = {**study.values, "mixture_ratio": found.mixture_ratio}
    return dataclasses.replace(study, values=values, thrusters={**study.thrusters, architecture: free})


def break_even(
    study: Study, mission: Mission, architecture: str, names: Sequence[str] | None = None
) -> BreakEven:
    """The value of each input alone at which a design would close, or would stop closing.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it.
    architecture : str
        One of the study's.
    names : sequence of str, optional
        Inputs of interest; all of them when not given.

    Raises
    ------
    UnknownNameError
        If the study has no such architecture, or the design no such input.
    """
    question = question_of(study, mission, architecture)
    bench, margin = Bench(question), float(question.reference["margin"])
    inputs = subjects(question) if names is None else [subject(question, name) for name in names]
    reached, missed = [], []
    for name, goal in goals_of(margin).items():
        crossings, best = search(bench, inputs, goal, margin)
        reached.append(reached_table(bench, question, name, crossings, goal))
        missed.append(missed_table(bench, question, name, best, goal))
    return BreakEven(
        architecture,
        bool(question.reference["closes"]),
        margin,
        tuple(links_at(question.reference, mission.hops)),
        pd.concat(reached, ignore_index=True),
        pd.concat(missed, ignore_index=True),
        bench.evaluated,
    )


def analyse(
    study: Study,
    mission: Mission | None = None,
    architectures: Sequence[str] | None = None,
    progress: Progress | None = None,
) -> list[BreakEven]:
    """The same for every architecture of a study, or for those named.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it (looked up here when not given).
    architectures : sequence of str, optional
        Those of interest.
    progress : callable, optional
        Called after each with architectures done, architectures in all, designs evaluated so far.
    """
    mission = mission or mission_of(study)
    names = list(study.architectures if architectures is None else architectures)
    found: list[BreakEven] = []
    for name in names:
        found.append(break_even(study, mission, name))
        if progress is not None:
            progress(len(found), len(names), sum(item.evaluated for item in found))
    return found


def nearest_to_closing(reference: pd.DataFrame) -> list[str]:
    """Architectures worth improving: those that do not close, or barely do, the nearest first; else the least sure one.

    Parameters
    ----------
    reference : DataFrame
        The reference design of each architecture.
    """
    ordered = reference.sort_values("margin", ascending=False, kind="stable")
    wanting = ordered[ordered["margin"] < comfortable()]
    count = int(constants.value("report_architectures", SETTINGS))
    return [str(name) for name in (wanting.head(count) if len(wanting) else ordered.tail(1))["architecture"]]


def improvements(study: Study, mission: Mission) -> Improvements:
    """What it would take for the architectures nearest to closing, and the boundary of the two best inputs of each.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it.
    """
    found = analyse(study, mission, nearest_to_closing(baseline(study, mission)))
    planes, curves = [], []
    for item in found:
        pair = best_pair(item.reached[item.reached["question"] == item.questions[0]])
        if pair is not None:
            edge = boundary(question_of(study, mission, item.architecture), pair)
            planes.append(edge.plane_table())
            curves.append(edge.curve_table())
    return Improvements(
        pd.concat([item.reached for item in found], ignore_index=True),
        pd.concat([item.missed for item in found], ignore_index=True),
        pd.concat(planes, ignore_index=True) if planes else EMPTY_PLANE,
        pd.concat(curves, ignore_index=True) if curves else EMPTY_CURVE,
    )
