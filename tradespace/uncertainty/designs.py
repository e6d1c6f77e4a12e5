"""Which design of each architecture is examined: its best of the sweep, the reference design, or one by its number."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import sampling
from tradespace.errors import StudyError
from tradespace.physics.compiled import FloatArray
from tradespace.results import best_row
from tradespace.uncertainty.intervals import setting

if TYPE_CHECKING:
    from tradespace.results import Results
    from tradespace.study import Study
    from tradespace.uncertainty.question import Question

KINDS = ("best", "baseline")
SAME = 1e-9
"""Relative distance at which a swept value is the one that is held."""


@dataclass(frozen=True, eq=False)
class Chosen:
    """The design of one architecture that is examined."""

    architecture: str
    values: dict[str, float]
    """Swept inputs by name [SI]; empty for the study's own design."""
    words: str
    """Which one it is."""


@dataclass(frozen=True, eq=False)
class Candidates:
    """Designs of a plan with their answers at the study's own values."""

    designs: dict[str, FloatArray]
    """Swept inputs, shape (n,) each [SI]."""
    closes: np.ndarray
    margin: FloatArray
    merit: FloatArray
    """Figure of merit [SI]."""
    whole: bool
    """Whether these are all designs of the plan."""

    def design(self, place: int) -> dict[str, float]:
        """One of them."""
        return {name: float(values[place]) for name, values in self.designs.items()}

    def best(self, study: Study) -> int | None:
        """Place of the best closing design; None when none closes."""
        table = pd.DataFrame(
            {"closes": self.closes, "margin": self.margin, study.figure_of_merit: self.merit},
        )
        row = best_row(table[table["closes"]], study.figure_of_merit, study.figure_of_merit_better)
        return None if row is None else int(row.name)  # type: ignore[call-overload]


def chosen_inputs(study: Study) -> tuple[str, ...]:
    """Swept inputs that the designer chooses; conditions are not among them."""
    return tuple(name for name in study.swept if name not in study.conditions)


def held(study: Study, designs: dict[str, FloatArray]) -> np.ndarray:
    """Which designs have the conditions at the swept values nearest the study's own."""
    count = max((values.size for values in designs.values()), default=1)
    kept = np.ones(count, dtype=bool)
    for name in study.conditions:
        if name in designs:
            points = np.unique(designs[name])
            own = study.values.get(name, float(np.median(points)))
            nearest = points[np.argmin(np.abs(points - own))]
            kept &= np.isclose(designs[name], nearest, rtol=SAME, atol=0.0)
    return kept


def candidates(question: Question, architecture: str) -> Candidates:
    """The designs among which the designer may choose, with their answers at the study's own values.

    Of a plan with more designs than the setting ``sweep_designs``, evenly spread ones.
    """
    study = question.study
    total, most = sampling.designs_per_architecture(study), int(setting("sweep_designs"))
    if total <= most:
        designs = sampling.designs_between(study, 0, total)
    else:
        places = np.unique(np.linspace(0, total - 1, most).round().astype(np.int64))
        designs = _picked(study, places)
    kept = held(study, designs)
    designs = {name: values[kept] for name, values in designs.items()}
    names = ["closes", "margin", study.figure_of_merit]
    found = question.answers(architecture, designs, {}, list(dict.fromkeys(names)))
    return Candidates(
        designs,
        found["closes"][:, 0] > 0.0,
        found["margin"][:, 0],
        found[study.figure_of_merit][:, 0],
        total <= most,
    )


def _picked(study: Study, places: np.ndarray) -> dict[str, FloatArray]:
    """Some designs of a very large plan, by their numbers, without making the others all at once."""
    pieces: dict[str, list[FloatArray]] = {}
    for start, designs in sampling.chunks(study):
        count = max((values.size for values in designs.values()), default=1)
        here = places[(places >= start) & (places < start + count)] - start
        for name, values in designs.items():
            pieces.setdefault(name, []).append(values[here])
    return {name: np.concatenate(values) for name, values in pieces.items()}


def chosen_design(
    question: Question, architecture: str, which: str, found: Candidates | None = None
) -> Chosen:
    """The design of an architecture that is examined.

    Parameters
    ----------
    question, architecture
        What is asked, and of which thruster.
    which : str
        ``best`` (the best closing one of the sweep, or where none closes the one nearest to closing), ``baseline`` or
        the number of a design of the plan.
    found : Candidates, optional
        The designs of the plan, if they are known already.

    Raises
    ------
    StudyError
        If there is no such design.
    """
    study = question.study
    if which == "baseline" or (which == "best" and not study.sweep):
        return Chosen(architecture, {}, "the study's own design")
    if which == "best":
        found = found or candidates(question, architecture)
        place = found.best(study)
        words = (
            "its best closing design of the sweep"
            if found.whole
            else "its best closing design of those looked at"
        )
        if place is None:
            place = int(np.argmax(found.margin))
            words = "its design nearest to closing" + ("" if found.whole else " of those looked at")
        return Chosen(architecture, found.design(place), words)
    total = sampling.designs_per_architecture(study)
    if not which.isdecimal() or int(which) >= total:
        raise StudyError(
            f"design {which!r} is unknown; allowed: {', '.join(KINDS)} or a number from 0 to {total - 1}, the place in "
            "the plan of the study"
        )
    number = int(which)
    designs = sampling.designs_between(study, number, number + 1)
    return Chosen(
        architecture,
        {name: float(values[0]) for name, values in designs.items()},
        f"design number {number} of the plan",
    )


def candidates_of_results(results: Results, architecture: str) -> Candidates:
    """The designs of an architecture of a run with their answers, evenly spread ones of very many."""
    study, rows = results.study, results.candidates(architecture)
    most = int(setting("sweep_designs"))
    whole = len(rows) <= most
    if not whole:
        rows = rows.iloc[np.unique(np.linspace(0, len(rows) - 1, most).round().astype(np.int64))]
    numbers = {
        name: rows[name].to_numpy(dtype=np.float64)
        for name in (*study.swept, "margin", study.figure_of_merit)
    }
    return Candidates(
        {name: numbers[name] for name in study.swept}, rows["closes"].to_numpy(dtype=bool), numbers["margin"],
        numbers[study.figure_of_merit], whole,
    )  # fmt: skip


def designs_of_results(results: Results) -> dict[str, Chosen]:
    """The design that stands for each architecture of a finished run."""
    from tradespace.comparison import standing_design

    study, found = results.study, {}
    for name in results.architectures:
        row, closes = standing_design(results, name)
        if row is None or any(variable not in row.index for variable in study.swept):
            found[name] = Chosen(name, {}, "the study's own design")
            continue
        words = "its best closing design of the sweep" if closes else "its design nearest to closing"
        found[name] = Chosen(name, {variable: float(row[variable]) for variable in study.swept}, words)
    return found
