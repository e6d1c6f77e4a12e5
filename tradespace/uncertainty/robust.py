"""The robust optimum: the best design that closes with the asked chance, beside the best one at nominal values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.physics.compiled import FloatArray
from tradespace.uncertainty.designs import Candidates, candidates, chosen_inputs
from tradespace.uncertainty.intervals import chance_interval, hopeless, setting, wanted

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.uncertainty.question import Question

FIRST, GROWTH = 16, 4
"""Draws of the first round and how many times as many each further round has in all."""
BATCH, ROWS = 32, 20_000
"""Candidates of the first batch, and designs times draws of the largest."""
COLUMNS = "architecture kind merit median margin chance low high samples evaluations note".split()
RULE = (
    "Designs are tried from the best nominal figure of merit on. A few shared draws drop those that cannot reach the "
    "asked chance, more draws decide about the others, and the first that reaches it with all draws is the robust "
    "optimum"
)


@dataclass(frozen=True, eq=False)
class Search:
    """Where the search for a robust optimum ended."""

    place: int | None
    """The design among the candidates; None when none was found."""
    tried: int
    """Candidates decided about."""
    complete: bool
    """Whether it ended before the evaluations ran out."""


def order_of(study: Study, found: Candidates) -> np.ndarray:
    """Candidates from the best nominal figure of merit on; those that do not close at nominal values come last."""
    sign = 1.0 if study.figure_of_merit_better == "lower" else -1.0
    merit = np.round(sign * found.merit, 9)
    return np.lexsort((np.arange(merit.size), -found.margin, merit, ~found.closes))


def robust_place(question: Question, architecture: str, found: Candidates, most: int) -> Search:
    """The first candidate in order that closes with the asked chance.

    Parameters
    ----------
    question, architecture
        What is asked, and of which thruster.
    found : Candidates
        Designs with their nominal answers.
    most : int
        Evaluations after which the search ends.
    """
    drawn = question.draws(architecture, without=chosen_inputs(question.study))
    order, begun = order_of(question.study, found), question.evaluated
    start, size = 0, BATCH
    while start < order.size:
        batch = order[start : start + size]
        kept, counts, used = _screened(question, architecture, found, batch, drawn)
        for place, count in zip(kept, counts, strict=True):
            if _reaches(question, architecture, found, int(place), drawn, used, int(count)):
                return Search(int(place), start + int(np.flatnonzero(batch == place)[0]) + 1, True)
        start += batch.size
        if question.evaluated - begun >= most and start < order.size:
            return Search(None, start, False)
        size = min(2 * size, max(1, ROWS // FIRST))
    return Search(None, int(order.size), True)


def _closing(
    question: Question,
    architecture: str,
    found: Candidates,
    places: np.ndarray,
    drawn: dict[str, FloatArray],
    part: slice,
) -> np.ndarray:
    """How many of some draws close for some candidates."""
    designs = {name: values[places] for name, values in found.designs.items() if name not in drawn}
    pieces = {name: values[part] for name, values in drawn.items()}
    answers = question.answers(architecture, designs, pieces, ["closes"])
    closing = answers["closes"].sum(axis=1).astype(np.int64)
    return np.broadcast_to(closing, places.shape)


def _screened(
    question: Question, architecture: str, found: Candidates, batch: np.ndarray, drawn: dict[str, FloatArray]
) -> tuple[np.ndarray, np.ndarray, int]:
    """Candidates that a first few draws do not rule out, their closing draws, and how many were drawn."""
    counts, used = np.zeros(batch.size, dtype=np.int64), 0
    target = min(FIRST, question.samples)
    while True:
        counts = counts + _closing(question, architecture, found, batch, drawn, slice(used, target))
        used = target
        kept = ~hopeless(counts, used, question.chance)
        batch, counts = batch[kept], counts[kept]
        target = min(used * GROWTH, question.samples)
        if batch.size == 0 or used == target or target > FIRST * GROWTH**2:
            return batch, counts, used


def _reaches(
    question: Question,
    architecture: str,
    found: Candidates,
    place: int,
    drawn: dict[str, FloatArray],
    used: int,
    count: int,
) -> bool:
    """Whether one candidate closes with the asked chance over all draws."""
    while used < question.samples:
        target = min(used * GROWTH, question.samples)
        count += int(_closing(question, architecture, found, np.array([place]), drawn, slice(used, target))[0])
        used = target
        if bool(hopeless(count, used, question.chance)):
            return False
    return count >= wanted(question.samples, question.chance)


def robust_table(question: Question, architecture: str, most: int, found: Candidates | None = None) -> pd.DataFrame:
    """The nominal and the robust optimum of one architecture with both chances, a row each.

    Parameters
    ----------
    question, architecture
        What is asked, and of which thruster.
    most : int
        Evaluations for the search.
    found : Candidates, optional
        The designs of the plan, if they are known already.
    """
    begun = question.evaluated
    found = found or candidates(question, architecture)
    search = robust_place(question, architecture, found, most)
    nominal = found.best(question.study)
    rows = []
    for kind, place in (("nominal", nominal), ("robust", search.place)):
        note = "" if found.whole else f"of {found.margin.size} designs spread evenly over the plan"
        if place is None:
            note = _missing(kind, search, found, question)
        rows.append((kind, place, note))
    built = [_row(question, architecture, found, *row) for row in rows]
    spent = question.evaluated - begun
    table = pd.DataFrame(built, columns=[*COLUMNS, *question.study.swept])
    table["evaluations"] = spent
    return table


def _missing(kind: str, search: Search, found: Candidates, question: Question) -> str:
    if kind == "nominal":
        return "no design closes"
    if search.complete:
        return f"none of {found.margin.size} designs closes with {100.0 * question.chance:.3g} %"
    return (
        f"none of the {search.tried} designs with the best figure of merit closes with {100.0 * question.chance:.3g} %; "
        f"the search ended there, with {found.margin.size - search.tried} left"
    )


def _row(
    question: Question, architecture: str, found: Candidates, kind: str, place: int | None, note: str
) -> tuple[object, ...]:
    """One optimum with its chance over all draws."""
    study = question.study
    if place is None:
        nothing = [np.nan] * 6
        return (architecture, kind, *nothing, 0, 0, note, *([np.nan] * len(study.swept)))
    drawn = question.draws(architecture, without=chosen_inputs(study))
    design = found.design(place)
    fixed = {name: np.array([value]) for name, value in design.items() if name not in drawn}
    names = list(dict.fromkeys(["closes", study.figure_of_merit]))
    answers = question.answers(architecture, fixed, drawn, names)
    closing, count = int(answers["closes"].sum()), question.samples
    low, high = chance_interval(closing, count)
    median = float(np.median(answers[study.figure_of_merit]))
    return (
        architecture, kind, float(found.merit[place]), median, float(found.margin[place]), closing / count, float(low),
        float(high), count, 0, note, *(design[name] for name in study.swept),
    )  # fmt: skip


def evaluations_allowed(depth: str) -> int:
    """Evaluations of the search for one architecture, by depth."""
    return int(setting(f"{depth}_robust_evaluations"))
