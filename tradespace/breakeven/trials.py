"""Answers of a design with inputs moved, many at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.breakeven.subjects import SETTINGS, Question, Subject
from tradespace.evaluate import evaluate
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters.values import changed

Trial = tuple[Subject, FloatArray]
"""An input and the values it is given, one at a time."""


class Bench:
    """Evaluates designs of one question and counts them."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.evaluated = 0

    def answers(self, moved: Mapping[str, FloatArray]) -> pd.DataFrame:
        """One row for each design, inputs by name; a name with a dot is a row of the thruster's own table."""
        question = self.question
        rows = {tuple(name.split(".", 1)): values for name, values in moved.items() if "." in name}
        designs = {name: values for name, values in moved.items() if "." not in name}
        count = max(values.size for values in moved.values())
        self.evaluated += count
        if not designs:
            designs = {"payload_mass": np.full(count, float(question.reference["payload_mass"]))}
        # at the bounds of an input a model may divide by nothing; the engine gives a finite margin all the same
        with (
            changed({(owner, row): values for (owner, row), values in rows.items()}),
            np.errstate(divide="ignore"),
        ):
            return evaluate(question.study, question.mission, question.architecture, designs)

    def tables(self, trials: Sequence[Trial]) -> list[pd.DataFrame]:
        """Answers of each trial."""
        found: list[pd.DataFrame] = [pd.DataFrame()] * len(trials)
        for places, moved in self._batches(trials):
            table = self.answers(moved)
            first = 0
            for place in places:
                last = first + trials[place][1].size
                found[place] = table.iloc[first:last].reset_index(drop=True)
                first = last
        return found

    def margins(self, trials: Sequence[Trial]) -> list[FloatArray]:
        """Smallest margin of each design of each trial [1]."""
        found: list[FloatArray] = [np.zeros(0)] * len(trials)
        for places, moved in self._batches(trials):
            margin = self.answers(moved)["margin"].to_numpy(dtype=np.float64)
            ends = np.cumsum([trials[place][1].size for place in places])
            for place, part in zip(places, np.split(margin, ends[:-1]), strict=True):
                found[place] = part
        return found

    @staticmethod
    def _batches(trials: Sequence[Trial]) -> Iterator[tuple[list[int], dict[str, FloatArray]]]:
        """Trials that may share a table of designs, and those designs."""
        most = int(constants.value("batch_designs", SETTINGS))
        places: list[int] = []
        size = 0
        for place, (item, values) in enumerate(trials):
            if item.alone:
                yield [place], {item.name: values}
                continue
            if places and size + values.size > most:
                yield places, _designs([trials[each] for each in places])
                places, size = [], 0
            places.append(place)
            size += values.size
        if places:
            yield places, _designs([trials[each] for each in places])


def _designs(trials: Sequence[Trial]) -> dict[str, FloatArray]:
    """Designs in which one input after the other is moved and the others stay."""
    count = sum(values.size for _, values in trials)
    found: dict[str, FloatArray] = {}
    first = 0
    for item, values in trials:
        column = found.setdefault(item.name, np.full(count, item.today))
        column[first : first + values.size] = values
        first += values.size
    return found
