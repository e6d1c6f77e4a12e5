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
    "The robust optimum has the best nominal figure of merit of the designs that close with the asked chance. A few "
    "shared draws drop those that cannot reach it (at a risk of one in a million each), more draws decide about the "
    "others, all draws about the one that is taken; then only better ones are looked at, until none is left"
)


@dataclass(frozen=True, eq=False)
class Search:
    """Where the search for a robust optimum ended."""

    place: int | None
    """The design among the candidates; None when none was found."""
    left: int
    """Designs with a better figure of merit that were not looked at; of all when none was found."""


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
    order, begun, size = order_of(question.study, found), question.evaluated, BATCH
    seen, best = np.zeros(order.size, dtype=bool), order.size
    while question.evaluated - begun < most:
        left = np.flatnonzero(~seen[:best])
        if not left.size:
            break
        batch = left[np.unique(np.linspace(0, left.size - 1, min(size, left.size)).round().astype(np.int64))]
        seen[batch] = True
        kept, counts, used = _screened(question, architecture, found, order[batch], drawn)
        ranks = batch[np.isin(order[batch], kept)]
        for rank, count in zip(ranks, counts, strict=True):
            if _reaches(question, architecture, found, int(order[rank]), drawn, used, int(count)):
                best = int(rank)
                break
        size = min(2 * size, max(1, ROWS // FIRST))
    return Search(int(order[best]) if best < order.size else None, int((~seen[:best]).sum()))


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
        count += int(
            _closing(question, architecture, found, np.array([place]), drawn, slice(used, target))[0]
        )
        used = target
        if bool(hopeless(count, used, question.chance)):
            return False
    return count >= wanted(question.samples, question.chance)


def robust_table(
    question: Question, architecture: str, most: int, found: Candidates | None = None
) -> pd.DataFrame:
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
    rows = [
        (kind, place, _note(kind, place, search, found, question))
        for kind, place in (("nominal", nominal), ("robust", search.place))
    ]
    built = [_row(question, architecture, found, *row) for row in rows]
    spent = question.evaluated - begun
    table = pd.DataFrame(built, columns=[*COLUMNS, *question.study.swept])
    table["evaluations"] = spent
    return table


def _note(kind: str, place: int | None, search: Search, found: Candidates, question: Question) -> str:
    """What is to be said of an optimum."""
    count = found.margin.size
    notes = [] if found.whole else [f"of {count} designs spread evenly over the plan"]
    asked = f"{100.0 * question.chance:.3g} %"
    if kind == "nominal":
        notes += ["no design closes"] if place is None else []
    elif place is None:
        looked = "" if search.left == 0 else f"; the search ended with {search.left} of them not looked at"
        notes.append(f"none of {count} designs closes with {asked}{looked}")
    elif search.left:
        notes.append(f"{search.left} designs with a better figure of merit were not looked at")
    return "; ".join(notes)


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
