"""Which inputs of a design may be moved, from where, how far, and what is believed about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.errors import TradespaceError, unknown_name
from tradespace.evaluate import design_rows
from tradespace.quantities import REPLACES, Quantity
from tradespace.study.values import all_ranges, inputs
from tradespace.thrusters.values import architecture_values, changed

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.study import Study

SETTINGS = "breakeven_settings.csv"
SAME = ("array_power",)
"""Derived quantities that say the same as the input they replace."""
SHARES = ("efficiency", "fraction", "share")
"""Words in the names of numbers of a thruster that cannot pass one."""


@dataclass(frozen=True)
class Question:
    """One design: a study, what was looked up for it, an architecture and its answer as it stands."""

    study: Study
    mission: Mission
    architecture: str
    reference: pd.Series
    own: tuple[str, ...] = ()
    """Inputs that the architecture has of its own, for which the study has another value."""


@dataclass(frozen=True)
class Subject:
    """An input that may be moved [SI]."""

    name: str
    today: float
    low: float
    """Lower end of the range in which it is believed to lie; today's value where there is no range."""
    high: float
    least: float
    """Lower bound of what is searched: the quantity's own, or that of physics."""
    most: float
    alone: bool
    """Whether it needs designs of its own, because it would replace other inputs in every row it is written in."""

    @property
    def has_range(self) -> bool:
        """Whether anything is believed about its value."""
        return self.high > self.low

    @property
    def scale(self) -> float:
        """Size of a step that means something."""
        return max(abs(self.today), self.high - self.low) or 0.01 * (self.most - self.least)

    def distance(self, value: float) -> float:
        """How far a value is from today's: in ranges, else in today's values, else in widths of its bounds."""
        width = self.high - self.low if self.has_range else abs(self.today) or self.most - self.least
        return abs(value - self.today) / width

    @property
    def measure(self) -> str:
        """What the distance is counted in."""
        return "range" if self.has_range else "today" if self.today else "bounds"


def is_switch(item: Quantity) -> bool:
    """Whether an input only takes whole numbers that stand for words."""
    whole = (item.unit, item.display_unit) == ("1", "1") and item.low == 0.0 and item.high in {1.0, 2.0}
    return whole and item.default == item.default_low == item.default_high


def owner_of(study: Study, architecture: str) -> str:
    """The thruster whose table an architecture reads."""
    return study.thrusters[architecture].thruster.name


def ranges_of(study: Study, architecture: str) -> dict[str, tuple[float, float]]:
    """Ranges of the inputs for one architecture; where the study gives none, the thruster's own come first."""
    ranges = dict(study.ranges)
    usual = all_ranges(study.values, {}, study.settings)
    for name, pair in study.thrusters[architecture].ranges().items():
        if name not in study.given and ranges.get(name) == usual.get(name):
            ranges[name] = pair
    return ranges


def subjects(question: Question) -> list[Subject]:
    """Every numeric input of a design that may be moved: the study's, derived ones and the thruster's numbers.

    Inputs that a given one replaces, and switches, are left out.
    """
    study, row = question.study, question.reference
    ranges = ranges_of(study, question.architecture)
    replaced = {name for derived, names in REPLACES.items() if derived in study.values for name in names}
    found = []
    for name, item in inputs().items():
        given = name in study.values
        if name in replaced or is_switch(item) or (name in SAME and not given):
            continue
        today = float(row.get(name, np.nan))
        if np.isfinite(today):
            found.append(_of_quantity(item, today, ranges.get(name), alone=not given))
    return found + _rows(question)


def _of_quantity(item: Quantity, today: float, pair: tuple[float, float] | None, *, alone: bool) -> Subject:
    factor = constants.value("row_factor", SETTINGS)
    least = today / factor if item.low is None else item.low
    most = today * factor if item.high is None else item.high
    low, high = pair or (today, today)
    return Subject(item.name, today, low, high, min(least, today), max(most, today), alone)


def _rows(question: Question) -> list[Subject]:
    """The numbers of an architecture's thruster, as far as its models take them.

    A row that only tells what a model gives would replace the model when written; it is left out, because the change of
    the specific impulse stands for it.
    """
    study, architecture = question.study, question.architecture
    owner, factor = owner_of(study, architecture), constants.value("row_factor", SETTINGS)
    own = study.thrusters[architecture].own
    plain = _records(question, {})
    found = []
    for name, row in architecture_values(owner).items():
        today = float(own.get(name, row.value))
        if name in inputs() or _records(question, {(owner, name): today}) != plain:
            continue
        share = any(word in name for word in SHARES) and row.unit == "1" and max(today, row.high) <= 1.0
        ends = sorted((today / factor, today * factor)) if today else [row.low, row.high]
        most = min(ends[1], 1.0) if share else ends[1]
        least, most = (_taken(question, (owner, name), today, end) for end in (ends[0], most))
        found.append(Subject(f"{owner}.{name}", today, row.low, row.high, least, most, alone=False))
    return found


def _records(question: Question, rows: dict[tuple[str, str], float]) -> bytes | None:
    """The design as the engine sees it, with rows of the tables changed; None where its models do not take them."""
    try:
        with changed(rows):
            return design_rows(question.study, question.mission, question.architecture, {})[0].tobytes()
    except TradespaceError:
        return None


def _taken(question: Question, key: tuple[str, str], today: float, bound: float) -> float:
    """The bound, or the value nearest to it that the models of the thruster take."""
    if _records(question, {key: bound}) is not None:
        return bound
    good, bad = today, bound
    for _ in range(int(constants.value("bound_rounds", SETTINGS))):
        tried = 0.5 * (good + bad)
        if _records(question, {key: tried}) is None:
            bad = tried
        else:
            good = tried
    return good


def subject(question: Question, name: str) -> Subject:
    """One input by name.

    Raises
    ------
    UnknownNameError
        If the design has no such input, or it cannot be moved.
    """
    known = {item.name: item for item in subjects(question)}
    if name not in known:
        raise unknown_name("input", name, known, "tradespace list quantities")
    return known[name]
