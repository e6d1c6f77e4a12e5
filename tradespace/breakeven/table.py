"""What was found, in rows: values, distances, what binds there and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.breakeven.search import Best, Crossing, Goal
from tradespace.breakeven.subjects import SETTINGS, Question
from tradespace.breakeven.trials import Bench
from tradespace.results import LINKS
from tradespace.units import format_date

DAY = constants.value("day", "engine_settings.csv")
REACHED = (
    "architecture question rank quantity today value beyond change distance measure inside low high least most "
    "margin limited_by limited_at next_by next_margin next_at jump extrapolated note"
).split()
MISSED = "architecture question quantity today value margin limited_by limited_at least most".split()


def links_at(row: pd.Series, hops: int) -> list[tuple[str, float, int]]:
    """Every link with its least margin and the hop at which it occurs, the least first."""
    found = []
    for link in LINKS:
        each = [float(row[f"margin_{link}_{hop}"]) for hop in range(1, hops + 1)]
        found.append((link, min(each), 1 + int(np.argmin(each))))
    return sorted(found, key=lambda item: item[1])


def jump_words(old: pd.Series, new: pd.Series, hops: int) -> str:
    """What changes between two designs that differ by next to nothing: the first date that does, with both dates."""
    for hop in range(1, hops + 1):
        for column, words in (("departure_date", "departure"), ("landing_date", "landing")):
            dates = [float(row.get(f"{column}_{hop}", 0.0)) for row in (old, new)]
            if abs(dates[1] - dates[0]) > DAY:
                return f"{words} {hop} jumps from {format_date(dates[0])} to {format_date(dates[1])}"
    margins = [f"{100.0 * row['margin']:.3g} %" for row in (old, new)]
    return f"the margin jumps from {margins[0]} to {margins[1]} without a date that does"


def reached_table(
    bench: Bench, question: Question, name: str, crossings: Sequence[Crossing], goal: Goal
) -> pd.DataFrame:
    """One row for each input that reaches the goal alone, ranked by reach."""
    trials = [(item.subject, np.array([item.before, item.after])) for item in crossings]
    rows = [
        _reached_row(question, name, item, table, goal)
        for item, table in zip(crossings, bench.tables(trials), strict=True)
    ]
    rows.sort(
        key=lambda row: (
            row["inside"] != "range",
            row["measure"] == "bounds",
            row["distance"],
            row["quantity"],
        )
    )
    for place, row in enumerate(rows, start=1):
        row["rank"] = place
    return pd.DataFrame(rows, columns=REACHED)


def _reached_row(
    question: Question, name: str, item: Crossing, table: pd.DataFrame, goal: Goal
) -> dict[str, Any]:
    subject, hops = item.subject, question.mission.hops
    ends = table.iloc[0], table.iloc[1]
    values = item.before, item.after
    at_once = item.before == subject.today  # whatever the step, so today's value is no answer
    kept = 1 if goal.rising or at_once else 0  # else the end that closes
    row, other = ends[kept], ends[1 - kept]
    value = values[kept]
    links = links_at(row, hops)
    limit = constants.value("jump_margin", SETTINGS)
    jump = max(abs(float(end["margin"]) - goal.level) for end in ends) > limit
    inside = subject.has_range and subject.low <= value <= subject.high
    # where the margin jumps, what held the design back is told by the end that does not close
    binding = links_at(row if not jump or float(row["margin"]) < 0.0 else other, hops)[0]
    following = next(link for link in links if link[0] != binding[0])
    return {
        "architecture": question.architecture,
        "question": name,
        "rank": 0,
        "quantity": subject.name,
        "today": subject.today,
        "value": value,
        "beyond": values[1 - kept],
        "change": value - subject.today,
        "distance": subject.distance(value),
        "measure": subject.measure,
        "inside": "range" if inside else "bounds",
        "low": subject.low,
        "high": subject.high,
        "least": subject.least,
        "most": subject.most,
        "margin": float(row["margin"]),
        "limited_by": binding[0],
        "limited_at": binding[2],
        "next_by": following[0],
        "next_margin": following[1],
        "next_at": following[2],
        "jump": bool(jump),
        "extrapolated": bool(row["extrapolated"]),
        "note": "; ".join(filter(None, _notes(question, item, ends if jump else None, at_once=at_once))),
    }


def _notes(
    question: Question, item: Crossing, ends: tuple[pd.Series, pd.Series] | None, *, at_once: bool
) -> tuple[str, ...]:
    """What there is to say about a value: that the margin jumps there, and whose value it is."""
    own = "that of the architecture itself" if item.subject.name in question.own else ""
    if ends is None:
        return (own,)
    words = jump_words(*ends, question.mission.hops)
    return (f"any change at all: {words}" if at_once else words, own)


def missed_table(
    bench: Bench, question: Question, name: str, best: Sequence[Best], goal: Goal
) -> pd.DataFrame:
    """One row for each input that moves the margin and cannot reach the goal alone, the nearest to it first."""
    hops = question.mission.hops
    tables = bench.tables([(item.subject, np.array([item.value])) for item in best])
    rows = []
    for item, table in zip(best, tables, strict=True):
        link = links_at(table.iloc[0], hops)[0]
        subject = item.subject
        rows.append(
            (question.architecture, name, subject.name, subject.today, item.value, link[1], link[0], link[2],
             subject.least, subject.most)
        )  # fmt: skip
    rows.sort(key=lambda row: -row[5] if goal.rising else row[5])
    return pd.DataFrame(rows, columns=MISSED)
