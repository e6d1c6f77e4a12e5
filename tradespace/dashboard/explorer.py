"""Answers while the reader waits: one design, a map about it, and what would have to change."""

from __future__ import annotations

import dataclasses
import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import pandas as pd

from tradespace import breakeven
from tradespace.breakeven.table import links_at
from tradespace.dashboard.variables import Positions, Variable, variables_of
from tradespace.evaluate import answers, evaluate, mission_of
from tradespace.results import LINKS, Results

if TYPE_CHECKING:
    from tradespace.breakeven import BreakEven
    from tradespace.mission import Mission
    from tradespace.physics.compiled import FloatArray
    from tradespace.study import Study

Found = TypeVar("Found")
SIDE = 33
"""Points along each side of the live map."""
LOOKS = 21
"""Positions of a slider at which a change is looked for before the nearest one is narrowed down."""
ANSWERS, MAPS = 256, 32
"""Answers of single designs and maps that are kept in memory."""


@dataclass(frozen=True)
class Design:
    """An architecture and where each slider stands, in the order of the variables."""

    architecture: str
    positions: tuple[int, ...]


@dataclass(frozen=True)
class Field:
    """The smallest margin about a design over two variables."""

    axes: tuple[str, str]
    x: FloatArray
    """[SI]."""
    y: FloatArray
    margin: FloatArray
    """Shape (y, x) [1]."""
    limited_by: np.ndarray
    """Places of the binding links in ``LINKS``, shape (y, x)."""


@dataclass(frozen=True)
class Need:
    """The nearest position of one slider at which a design that does not close would, or one that closes would not."""

    name: str
    position: int
    value: float
    """[SI]."""
    limited_by: str
    """The link that binds there."""
    limited_at: int


@dataclass
class Kept:
    """The newest answers of one kind; safe to share between requests."""

    most: int
    found: OrderedDict[Hashable, Any] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def get(self, key: Hashable, work: Callable[[], Found]) -> Found:
        """What belongs to a key, worked out where it is not known."""
        with self.lock:
            if key in self.found:
                self.found.move_to_end(key)
                known: Found = self.found[key]
                return known
        made = work()
        with self.lock:
            self.found[key] = made
            while len(self.found) > self.most:
                self.found.popitem(last=False)
        return made


class Explorer:
    """A study whose variables are moved live.

    Parameters
    ----------
    study : Study
        The question.
    mission : Mission, optional
        What :func:`tradespace.evaluate.mission_of` looked up for it; looked up here when not given.
    """

    def __init__(self, study: Study, mission: Mission | None = None) -> None:
        self.study = study
        self.mission = mission_of(study) if mission is None else mission
        self.variables: dict[str, Variable] = variables_of(study)
        self._rows = Kept(ANSWERS)
        self._fields = Kept(MAPS)
        self._needs = Kept(ANSWERS)

    @cached_property
    def first(self) -> Design:
        """The study's own design, of the architecture that stands best."""
        from tradespace.evaluate import baseline

        table = baseline(self.study, self.mission)
        water = [self.study.thrusters[str(name)].refuels for name in table["architecture"]]
        order = np.lexsort((-table["margin"].to_numpy(dtype=np.float64), ~np.asarray(water)))
        name = str(table["architecture"].iloc[int(order[0])])
        return Design(name, tuple(one.own_position for one in self.variables.values()))

    @cached_property
    def axes(self) -> tuple[str, str] | None:
        """The two variables of the map: the study's, else the first two; None where there are not two."""
        names = [name for name in self.study.map_axes if name in self.variables]
        names += [name for name in self.variables if name not in names]
        return (names[0], names[1]) if len(names) > 1 else None

    def positions(self, design: Design) -> Positions:
        """Where each slider stands, by variable."""
        return dict(zip(self.variables, design.positions, strict=True))

    def values(self, design: Design) -> dict[str, float]:
        """The variables of a design [SI]."""
        return {name: self.variables[name].value(place) for name, place in self.positions(design).items()}

    def row(self, design: Design) -> pd.Series:
        """The answer of a design with every input and output."""

        def work() -> pd.Series:
            table = evaluate(
                self.study, self.mission, design.architecture, self.values(design), everything=True
            )
            return table.iloc[0]

        return self._rows.get(design, work)

    def field(self, design: Design, axes: tuple[str, str]) -> Field:
        """The smallest margin over two variables, the others as in a design."""
        moved = {self.variables[axis].name for axis in axes}
        others = tuple((name, place) for name, place in self.positions(design).items() if name not in moved)

        def work() -> Field:
            x, y = (np.asarray(self.variables[axis].points(SIDE)) for axis in axes)
            across, up = np.meshgrid(x, y)
            values: dict[str, float | FloatArray] = {**self.values(design)}
            values |= {axes[0]: across.ravel(), axes[1]: up.ravel()}
            found = answers(self.study, self.mission, design.architecture, values, ("margin", "limited_by"))
            shape = across.shape
            margin = np.asarray(found["margin"], dtype=np.float64).reshape(shape)
            return Field(axes, x, y, margin, np.asarray(found["limited_by"]).reshape(shape))

        return self._fields.get((design.architecture, axes, others), work)

    def standing(self, design: Design) -> Study:
        """The study with the values of a design for its own."""
        values = {**self.study.values, **self.values(design)}
        return dataclasses.replace(
            self.study, values=values, given=self.study.given | frozenset(self.variables)
        )

    def needs(self, design: Design) -> dict[str, Need]:
        """The position of each slider alone, nearest to where it is, at which the design would begin or cease to close.

        Sliders on whose whole track nothing changes are left out.
        """

        def work() -> dict[str, Need]:
            closes = bool(self.row(design)["closes"])
            wanted = self._moved(design, {name: self._coarse(name) for name in self.variables})
            places = self.positions(design)
            brackets = {name: _brackets(places[name], known, closes) for name, known in wanted.items()}
            fine = {
                name: tuple(sorted({one for low, high in pairs for one in range(low, high + 1)}))
                for name, pairs in brackets.items()
                if pairs
            }
            needs = {}
            for name, found in self._moved(design, fine).items():
                changed = [place for place, (closing, _, _) in found.items() if closing != closes]
                place = min(changed, key=lambda one, here=places[name]: abs(one - here))  # type: ignore[misc]
                value, (_, link, hop) = self.variables[name].value(place), found[place]
                needs[name] = Need(name, place, value, LINKS[link], hop)
            return needs

        return self._needs.get(design, work)

    def _coarse(self, name: str) -> tuple[int, ...]:
        """Some positions of a slider, both ends among them."""
        steps = self.variables[name].steps
        return tuple(sorted({round(steps * share) for share in np.linspace(0.0, 1.0, LOOKS)}))

    def _moved(
        self, design: Design, places: dict[str, tuple[int, ...]]
    ) -> dict[str, dict[int, tuple[bool, int, int]]]:
        """Whether a design closes, and the link that binds with its hop, at some positions of one slider at a time."""
        count = sum(len(each) for each in places.values())
        if not count:
            return {name: {} for name in places}
        values = {name: np.full(count, value) for name, value in self.values(design).items()}
        first = 0
        for name, each in places.items():
            track = self.variables[name]
            values[name][first : first + len(each)] = [track.value(place) for place in each]
            first += len(each)
        columns = ("closes", "limited_by", "limited_at")
        found = answers(self.study, self.mission, design.architecture, values, columns)
        rows = iter(zip(*(found[column].tolist() for column in columns), strict=True))
        return {
            name: {
                place: (bool(one[0]), int(one[1]), int(one[2]))
                for place, one in zip(each, rows, strict=False)
            }
            for name, each in places.items()
        }

    def improvements(self, design: Design) -> BreakEven:
        """What every input alone would have to become, as the command ``breakeven`` says it of the saved design."""
        return breakeven.break_even(self.standing(design), self.mission, design.architecture)

    def links(self, design: Design) -> list[tuple[str, float, int]]:
        """Every link with its least margin and the hop at which it occurs, the least first."""
        return links_at(self.row(design), self.mission.hops)

    def results(self, designs: list[Design]) -> Results:
        """Designs as a table of answers, for figures that take one."""
        rows = pd.DataFrame([self.row(one) for one in designs]).reset_index(drop=True)
        return Results(self.study, self.mission, rows, rows, 0.0, {})


def _brackets(place: int, known: dict[int, tuple[bool, int, int]], closes: bool) -> list[tuple[int, int]]:
    """On each side the stretch, in ascending positions, in which the design first changes; none where it does not."""
    found = []
    for side in (-1, 1):
        before = place
        for other in sorted(
            (one for one in known if (one - place) * side > 0), key=lambda one: abs(one - place)
        ):
            if known[other][0] != closes:
                found.append((min(before, other), max(before, other)))
                break
            before = other
    return found
