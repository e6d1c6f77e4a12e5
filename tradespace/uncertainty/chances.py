"""How likely a design closes, what stops it when it does not, and how its figures of merit are spread."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.physics.compiled import FloatArray
from tradespace.results import LINKS
from tradespace.uncertainty.designs import Chosen, chosen_inputs
from tradespace.uncertainty.intervals import chance_interval

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.uncertainty.question import Question

METRICS = (
    "margin",
    "start_mass",
    "payload_capacity",
    "refuel_time",
    "mission_time",
    "hops_per_year",
    "payload_per_year",
)
"""Figures whose percentiles are given, beside the study's own figure of merit."""
SHARES = (0.01, 0.02, *np.round(np.arange(0.05, 0.951, 0.05), 2).tolist(), 0.98, 0.99)
"""Shares of the draws at which a figure is tabulated."""
SHOWN = (0.05, 0.25, 0.5, 0.75, 0.95)
CALENDARS = ("free", "frozen")
CHANCE = (
    "architecture calendar design samples closing chance low high nominal_closes nominal_margin nominal_merit"
).split()
PERCENTILES = "architecture calendar among metric share value".split()
LIMITS = "architecture calendar link binding failing".split()


@dataclass(frozen=True, eq=False)
class Outcome:
    """The answers of one design over all draws, with one calendar."""

    chosen: Chosen
    calendar: str
    """``free`` or ``frozen``."""
    answers: dict[str, FloatArray]
    """By column, shape (samples,)."""
    nominal: dict[str, float]
    """The same columns at the study's own values."""

    @property
    def closes(self) -> np.ndarray:
        """Which draws close."""
        return np.asarray(self.answers["closes"] > 0.0)


def metrics_of(study: Study) -> list[str]:
    """The study's own figure of merit, then the standing ones that every study has."""
    return list(dict.fromkeys([study.figure_of_merit, *METRICS]))


def outcomes(question: Question, chosen: Chosen) -> list[Outcome]:
    """A design over all draws, with the calendar free and with the departures of the nominal design kept.

    Where no leg waits for a date, or the nominal design never leaves, there is only the free calendar.
    """
    study, name = question.study, chosen.architecture
    columns = ["closes", "limited_by", *metrics_of(study)]
    hops = (
        [f"window_date_{hop + 1}" for hop in range(question.mission.hops)] if question.mission.windows else []
    )
    design = {key: np.array([value]) for key, value in chosen.values.items()}
    drawn = question.draws(name, without=chosen_inputs(study))
    fixed = {key: value for key, value in design.items() if key not in drawn}
    nominal = question.answers(name, design, {}, [*columns, *hops])
    own = {column: float(nominal[column][0, 0]) for column in columns}
    dates = np.array([float(nominal[column][0, 0]) for column in hops])
    leaves = bool(hops) and bool((dates < question.mission.horizon).all())
    found = []
    for calendar, held in (("free", None), ("frozen", dates if leaves else None)):
        if calendar == "frozen" and held is None:
            continue
        answers = question.answers(name, fixed, drawn, columns, held)
        flat = {column: values[0] for column, values in answers.items()}
        found.append(Outcome(chosen, calendar, flat, own))
    return found


def chance_row(study: Study, outcome: Outcome) -> tuple[object, ...]:
    """One row of the table of chances."""
    closing, count = int(outcome.closes.sum()), outcome.closes.size
    low, high = chance_interval(closing, count)
    return (
        outcome.chosen.architecture, outcome.calendar, outcome.chosen.words, count, closing, closing / count,
        float(low), float(high), outcome.nominal["closes"] > 0.0, outcome.nominal["margin"],
        outcome.nominal[study.figure_of_merit],
    )  # fmt: skip


def percentile_rows(study: Study, outcome: Outcome) -> list[tuple[object, ...]]:
    """Every figure at the tabulated shares, over all draws and over those that close."""
    rows: list[tuple[object, ...]] = []
    for among, kept in (("all", np.ones_like(outcome.closes)), ("closing", outcome.closes)):
        if not kept.any():
            continue
        for metric in metrics_of(study):
            values = np.quantile(outcome.answers[metric][kept], SHARES)
            rows += [
                (outcome.chosen.architecture, outcome.calendar, among, metric, share, float(value))
                for share, value in zip(SHARES, values, strict=True)
            ]
    return rows


def limit_rows(outcome: Outcome) -> list[tuple[object, ...]]:
    """How often each link has the smallest margin, and how often that margin is negative."""
    links = outcome.answers["limited_by"].astype(np.int64)
    rows: list[tuple[object, ...]] = []
    for place, link in enumerate(LINKS):
        here = links == place
        if here.any():
            failing = float((here & ~outcome.closes).mean())
            rows.append((outcome.chosen.architecture, outcome.calendar, link, float(here.mean()), failing))
    return sorted(rows, key=lambda row: -float(row[3]))  # type: ignore[arg-type]


def tables(study: Study, found: list[Outcome]) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Chances, percentiles and limiting links of some outcomes."""
    return (
        pd.DataFrame([chance_row(study, one) for one in found], columns=CHANCE),
        pd.DataFrame([row for one in found for row in percentile_rows(study, one)], columns=PERCENTILES),
        pd.DataFrame([row for one in found for row in limit_rows(one)], columns=LIMITS),
    )
