"""How sure we are: the chance that a design closes, what it hangs on, and designs that close with an asked chance.

Every chance is conditional on the stated distributions and on the models: an effect that no model has, and an input
whose range is wrong, are not in it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from tradespace.results import Certainty
from tradespace.uncertainty.chances import CALENDARS, SHOWN, Outcome, metrics_of, outcomes, tables
from tradespace.uncertainty.designs import (
    Candidates,
    Chosen,
    candidates,
    candidates_of_results,
    chosen_design,
    chosen_inputs,
    designs_of_results,
)
from tradespace.uncertainty.drivers import COLUMNS as DRIVERS
from tradespace.uncertainty.drivers import rank_rows, with_totals
from tradespace.uncertainty.intervals import chance_interval, setting
from tradespace.uncertainty.planes import COLUMNS as PLANE
from tradespace.uncertainty.planes import plane, plane_axes, plane_shape
from tradespace.uncertainty.question import Question, known_architecture, question_of
from tradespace.uncertainty.reading import percentiles_of
from tradespace.uncertainty.robust import COLUMNS as OPTIMA
from tradespace.uncertainty.robust import evaluations_allowed, robust_table
from tradespace.uncertainty.solving import curve_rows, curve_table, lines_of, solution, solutions_table

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.results import Results
    from tradespace.study import Study

__all__ = [
    "CALENDARS", "RULE", "SHOWN", "Candidates", "Chosen", "Outcome", "Question", "candidates", "chance_interval",
    "chosen_design", "chosen_inputs", "designs_of_results", "doubts", "known_architecture", "metrics_of", "outcomes",
    "percentiles_of",
    "plane", "plane_axes", "question_of", "robust_table", "solution", "tables", "with_certainty",
]  # fmt: skip

Progress = Callable[[int, int, int], None]
"""Called with steps done, steps in all, designs evaluated."""
RULE = (
    "A chance counts draws of the uncertain inputs (scrambled Sobol' points, the same for every design and "
    "architecture); its interval is the exact binomial one, which holds for independent draws and is wider than need "
    "be for these. Every chance is conditional on the stated distributions and on the models"
)


def doubts(
    study: Study,
    mission: Mission | None = None,
    *,
    architectures: Sequence[str] | None = None,
    samples: int | None = None,
    which: str = "best",
    axes: tuple[str, str] | None = None,
    depth: str = "full",
    chosen: dict[str, Chosen] | None = None,
    known: dict[str, Candidates] | None = None,
    progress: Progress | None = None,
) -> Certainty:
    """Everything about how sure a study can be of its answer.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it (looked up here when not given).
    architectures : sequence of str, optional
        Only these.
    samples : int, optional
        Draws for the chance of a design, a power of two; the study's own number when not given.
    which : str
        Which design is examined: ``best``, ``baseline`` or a number in the plan.
    axes : tuple of str, optional
        Two swept variables for the maps; the study's own when not given.
    depth : str
        ``full`` for the command, ``brief`` for the report of a run.
    chosen : mapping, optional
        The design of each architecture, where it is known already.
    known : mapping, optional
        The designs of the plan with their answers, where they are known already.
    progress : callable, optional
        Called now and then.

    Raises
    ------
    StudyError
        If no input is uncertain, the number of draws is no power of two, or there is no such design or variable.
    """
    names = list(study.architectures if architectures is None else architectures)
    places = plane_axes(study, axes)
    most = int(setting(f"{depth}_samples"))
    question = question_of(study, mission, samples or min(study.uncertain.samples, most))
    work = _Work(question, depth, progress, 2 * len(names))
    work.candidates |= known or {}
    return work.everything(work.designs(names, which, chosen), places)


class _Work:
    """One architecture after the other, with the progress."""

    def __init__(self, question: Question, depth: str, progress: Progress | None, steps: int) -> None:
        self.question, self.depth, self.progress, self.steps = question, depth, progress, steps
        self.done = 0
        self.candidates: dict[str, Candidates] = {}

    def step(self) -> None:
        """Tell how far the work is."""
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.steps, self.question.evaluated)

    def designs(self, names: list[str], which: str, chosen: dict[str, Chosen] | None) -> dict[str, Chosen]:
        """The design of each architecture that is examined."""
        found = {}
        for name in names:
            if chosen is not None and name in chosen:
                found[name] = chosen[name]
                continue
            if which == "best" and self.question.study.sweep and name not in self.candidates:
                self.candidates[name] = candidates(self.question, name)
            found[name] = chosen_design(self.question, name, which, self.candidates.get(name))
        return found

    def everything(self, known: dict[str, Chosen], axes: tuple[str, str] | None) -> Certainty:
        """All tables."""
        question, depth = self.question, self.depth
        found: list[Outcome] = []
        for chosen in known.values():
            found += outcomes(question, chosen)
            self.step()
        first = self.leading(found)
        drivers = self.drivers(found, first)
        solutions, curves, optima, planes = [], [], [], []
        across, up = plane_shape(depth)
        for name, chosen in known.items():
            if name in first:
                lines = lines_of(question, chosen)
                solutions += [solution(line) for line in lines]
                curves += curve_rows(lines[0], int(setting(f"{depth}_curve_samples")))
                if question.study.sweep:
                    optima.append(
                        robust_table(question, name, evaluations_allowed(depth), self.candidates.get(name))
                    )
                if axes is not None:
                    few, many = (int(setting(f"{depth}_map_{key}")) for key in ("first", "samples"))
                    planes.append(plane(question, chosen, axes, (across, up), few, many))
            self.step()
        chance, percentiles, limits = tables(question.study, found)
        return Certainty(
            question.chance, question.samples, question.evaluated, chance, percentiles, limits, drivers,
            _joined(optima, [*OPTIMA, *question.study.swept]), solutions_table(solutions), curve_table(curves),
            _joined(planes, PLANE),
        )  # fmt: skip

    def leading(self, found: list[Outcome]) -> list[str]:
        """Architectures for which boundaries and maps are worked out.

        Those that close by nominal figure of merit, then those most likely to close; hopeless ones are left out.
        """
        study = self.question.study
        sign = 1.0 if study.figure_of_merit_better == "lower" else -1.0
        ranked = []
        for one in found:
            if one.calendar != "free":
                continue
            closes = one.nominal["closes"] > 0.0
            if closes or one.closes.any():
                merit = sign * one.nominal[study.figure_of_merit] if closes else 0.0
                ranked.append(((not closes, merit, -float(one.closes.mean())), one.chosen.architecture))
        return [name for _, name in sorted(ranked)][: int(setting(f"{self.depth}_architectures"))]

    def drivers(self, found: list[Outcome], first: list[str]) -> pd.DataFrame:
        """What carries the variance; total indices for the leading architectures only."""
        base, pieces = int(setting(f"{self.depth}_base_samples")), []
        for one in found:
            rows = rank_rows(self.question, one)
            if one.calendar == "free" and one.chosen.architecture in first:
                rows = with_totals(self.question, one.chosen, rows, base)
            pieces.append(rows)
        return _joined(pieces, DRIVERS)


def _joined(pieces: list[pd.DataFrame], columns: Sequence[str]) -> pd.DataFrame:
    return pd.concat(pieces, ignore_index=True) if pieces else pd.DataFrame(columns=list(columns))


def with_certainty(results: Results) -> Results:
    """Results with how sure they are, for the few architectures that stand first; unchanged where nothing is uncertain.

    Parameters
    ----------
    results : Results
        Of a run.
    """
    from tradespace.comparison import first_shown

    if not results.study.uncertain.inputs:
        return results
    names = first_shown(results, results.architectures, int(setting("brief_architectures")))
    stands = designs_of_results(results)
    found = doubts(
        results.study, results.mission, architectures=names, depth="brief",
        chosen={name: stands[name] for name in names},
        known={name: candidates_of_results(results, name) for name in names},
    )  # fmt: skip
    return replace(results, certainty=found)
