"""Which inputs are uncertain for each architecture, and the draws that all of them share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tradespace.errors import StudyError, unknown_name
from tradespace.evaluate import mission_of
from tradespace.physics.compiled import FloatArray
from tradespace.sampling import draws, unit_points
from tradespace.study.model import Distribution
from tradespace.study.values import all_ranges
from tradespace.thrusters.values import architecture_values, rows_with_a_range
from tradespace.uncertainty.engine import outputs

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study

NOTHING = (
    "no input of study {name} is uncertain, so every chance is 0 or 1; state some in [uncertain], such as "
    'ice_fraction = "range", or leave that section out to take every input by its own range'
)
Draws = Mapping[str, FloatArray]
"""Values by uncertain input, shape (n,) each [SI]."""


@dataclass(frozen=True, eq=False)
class Question:
    """A study whose inputs are uncertain, with its draws."""

    study: Study
    mission: Mission
    samples: int
    """Draws for the chance of a design."""
    chance: float
    """Asked probability of closing [1]."""
    count: list[int] = field(default_factory=lambda: [0])
    """Evaluations so far, in its only entry."""

    @property
    def evaluated(self) -> int:
        """Designs evaluated so far."""
        return self.count[0]

    def inputs(self, architecture: str) -> tuple[Distribution, ...]:
        """Uncertain inputs of an architecture: those of the study, then those its thruster brings along."""
        return (*self._shared(architecture), *self._own(architecture))

    @property
    def whole(self) -> bool:
        """Whether every input with a range is uncertain, not only those the study states."""
        return any(not item.stated for item in self.study.uncertain.inputs)

    def _shared(self, architecture: str) -> tuple[Distribution, ...]:
        """Inputs of the study; what-if quantities of a thruster by its own table unless asked otherwise."""
        found = list(self.study.uncertain.inputs)
        usual = all_ranges(self.study.values, {}, self.study.settings)
        places = {item.name: place for place, item in enumerate(found)}
        craft = self.study.thrusters[architecture]
        for name, (low, high) in craft.ranges().items():
            ends = self.study.ranges.get(name)
            if name in self.study.given or ends != usual.get(name) or high <= low:
                continue
            value = min(max(self.study.values.get(name, low), low), high)
            item = _by_grade(name, low, value, high, _grade(craft.thruster.name, name))
            if name not in places:
                found += [item] if self.whole else []
            elif (
                ends is not None and (found[places[name]].numbers[0], found[places[name]].numbers[-1]) == ends
            ):
                found[places[name]] = item
        return tuple(found)

    def _own(self, architecture: str) -> tuple[Distribution, ...]:
        """Rows of the thruster's table that have a range, where every input with a range is uncertain."""
        craft = self.study.thrusters[architecture]
        if not self.whole:
            return ()
        name = craft.thruster.name
        rows = architecture_values(name)
        return tuple(
            _by_grade(f"{name}.{row}", low, rows[row].value, high, rows[row].grade)
            for row, (low, high) in rows_with_a_range(name).items()
            if row not in craft.own and rows[row].grade != "defined"
        )

    @cached_property
    def points(self) -> FloatArray:
        """Points in the unit cube for all architectures, shape (samples, dimensions)."""
        dimensions = max((len(self.inputs(name)) for name in self.study.architectures), default=0)
        if dimensions == 0:
            raise StudyError(NOTHING.format(name=self.study.name))
        return unit_points(self.samples, dimensions, self.study.seed, "sobol")

    def correlation(self, architecture: str) -> FloatArray | None:
        """Rank correlation of the inputs of an architecture; those its thruster brings along are independent."""
        stated = self.study.uncertain.correlation
        if stated is None:
            return None
        whole = np.eye(len(self.inputs(architecture)))
        whole[: len(stated), : len(stated)] = stated
        return whole

    def draws(
        self, architecture: str, count: int | None = None, without: Iterable[str] = ()
    ) -> dict[str, FloatArray]:
        """The first draws of the uncertain inputs: the same points for every architecture and design.

        Parameters
        ----------
        architecture : str
            Its own inputs come last.
        count : int, optional
            How many; all when not given.
        without : iterable of str
            Inputs that are not drawn, because they are chosen.
        """
        inputs = self.inputs(architecture)
        if not inputs:
            raise StudyError(NOTHING.format(name=self.study.name))
        points = self.points[: count or self.samples, : len(inputs)]
        found = draws(inputs, points, self.correlation(architecture))
        left = set(without)
        return {name: values for name, values in found.items() if name not in left}

    def answers(
        self,
        architecture: str,
        designs: Draws,
        drawn: Draws,
        names: Sequence[str],
        frozen: FloatArray | None = None,
    ) -> dict[str, FloatArray]:
        """Output columns for every design with every draw, shape (designs, draws) each.

        Parameters
        ----------
        architecture : str
            The thruster.
        designs : mapping of str to ndarray, shape (m,)
            What is chosen [SI]; empty for the study's own design.
        drawn : mapping of str to ndarray, shape (n,)
            What is uncertain [SI]; empty for the study's own values.
        names : sequence of str
            Columns wanted.
        frozen : ndarray, optional
            Departure dates to keep.
        """
        across = max((np.size(values) for values in drawn.values()), default=1)
        down = max((np.size(values) for values in designs.values()), default=1)
        table = {name: np.tile(values, down) for name, values in drawn.items()}
        table |= {name: np.repeat(np.atleast_1d(values), across) for name, values in designs.items()}
        self.count[0] += down * across
        found = outputs(self.study, self.mission, architecture, table, names, frozen=frozen)
        return {name: values.reshape(down, across) for name, values in found.items()}


def question_of(study: Study, mission: Mission | None = None, samples: int | None = None) -> Question:
    """A study and its draws.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it (looked up here when not given).
    samples : int, optional
        Draws, a power of two; the study's own number when not given.

    Raises
    ------
    StudyError
        If no input is uncertain, or the number of draws is not a power of two.
    """
    from tradespace.study.plans import neighbours, power_of_two

    count = study.uncertain.samples if samples is None else samples
    if count < 2 or not power_of_two(count):
        words = neighbours(count) if count >= 2 else "2 or more"
        raise StudyError(f"samples {count} is not a power of two; write {words}")
    if not study.uncertain.inputs:
        raise StudyError(NOTHING.format(name=study.name))
    return Question(study, mission or mission_of(study), count, study.uncertain.chance)


def known_architecture(study: Study, name: str, where: str) -> str:
    """The name of an architecture of a study.

    Raises
    ------
    UnknownNameError
        If the study has none of that name.
    """
    if name not in study.architectures:
        raise unknown_name("architecture", name, study.architectures, f"tradespace check {where}")
    return name


def _grade(thruster: str, name: str) -> str:
    rows = architecture_values(thruster)
    return rows[name].grade if name in rows else "assumed"


def _by_grade(name: str, low: float, value: float, high: float, grade: str) -> Distribution:
    """The distribution that a range and a grade stand for."""
    from tradespace.study.uncertain import grade_distributions

    kind = grade_distributions()[grade]
    numbers = (low, min(max(value, low), high), high) if kind == "triangular" else (low, high)
    return Distribution(
        name, "uniform" if kind == "none" else kind, numbers, -np.inf, np.inf, grade, stated=False
    )
