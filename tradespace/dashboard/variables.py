"""What can be moved on the page: the study's variables, each on a track of equal steps with units."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tradespace.breakeven.subjects import is_switch
from tradespace.quantities import REPLACES, Quantity, quantity
from tradespace.study.values import inputs
from tradespace.units import convert, parse_quantity

if TYPE_CHECKING:
    from tradespace.study import Study

STEPS = 200
"""Steps of a slider from end to end."""
FACTOR = 2.0
"""Factor each way that a slider covers for an input without a wider range."""
WIDE = 5.0
"""Ratio of the ends from which a slider moves by equal ratios."""
DIGITS = 4
"""Significant digits of the value a slider is put to: what is shown is what is reckoned with."""
MOST = 24
"""Sliders at most."""
WATER_OF_ITS_OWN = REPLACES["extraction_energy"]
"""Inputs that a stop with a source of water of its own has taken up before the first design is tried."""


@dataclass(frozen=True)
class Variable:
    """An input on its track: positions are whole numbers from 0 to :attr:`steps`."""

    name: str
    own: float
    """The study's value [SI]."""
    low: float
    """Value at the left end [SI]."""
    high: float
    logarithmic: bool
    listed: tuple[float, ...] = ()
    """The values it may take, ascending [SI]; empty where it may take any."""

    @property
    def item(self) -> Quantity:
        """Unit, bounds and words of the quantity."""
        return quantity(self.name)

    @property
    def steps(self) -> int:
        """The last position."""
        return len(self.listed) - 1 if self.listed else STEPS

    @property
    def whole(self) -> bool:
        """Whether it counts something."""
        numbers = (self.own, self.low, self.high)
        counted = self.item.display_unit in {"", "1"} and self.high - self.low > 1.0
        return counted and all(float(number).is_integer() for number in numbers)

    @cached_property
    def own_position(self) -> int:
        """Where the study's own value stands."""
        return self.position(self.own)

    def position(self, value: float) -> int:
        """The position nearest to a value [SI]."""
        if self.listed:
            return int(np.argmin(np.abs(np.asarray(self.listed) - value)))
        share = (value - self.low) / (self.high - self.low)
        if self.logarithmic:
            share = math.log(max(value, self.low) / self.low) / math.log(self.high / self.low)
        return round(min(max(share, 0.0), 1.0) * self.steps)

    def text(self, position: int) -> str:
        """The value at a position as a study file has it: rounded, with its unit.

        Examples
        --------
        >>> Variable("array_area", 40.0, 4.0, 150.0, logarithmic=True).text(200)
        '150 m2'
        """
        unit = self.item.display_unit
        if position == self.own_position:
            return self._exact(self.own)
        if self.listed:
            return self._exact(self.listed[position])
        share = position / self.steps
        if self.logarithmic:
            value = self.low * (self.high / self.low) ** share
        else:
            value = self.low + share * (self.high - self.low)
        value = round(value) if self.whole else value
        text = _with_unit(_number(self.item.shown(value), DIGITS), unit)
        inside = self.item.within(parse_quantity(text, self.item.unit))
        return text if inside else _with_unit(repr(self.item.shown(value)), unit)

    def _exact(self, value: float) -> str:
        """A value in as few digits as give it back."""
        unit = self.item.display_unit
        text = _with_unit(_number(self.item.shown(value), DIGITS), unit)
        close = math.isclose(parse_quantity(text, self.item.unit), value, rel_tol=1e-12)
        return text if close else _with_unit(repr(self.item.shown(value)), unit)

    def value(self, position: int) -> float:
        """The value at a position [SI], just what a study file with :meth:`text` gives."""
        if position == self.own_position:
            return self.own
        return parse_quantity(self.text(position), self.item.unit)

    def points(self, count: int) -> list[float]:
        """About so many of its values along the track, ends included [SI]."""
        places = np.unique(np.linspace(0, self.steps, min(count, self.steps + 1)).round().astype(int))
        values = {self.value(int(place)) for place in places}
        return sorted(values)


def _number(value: float, digits: int) -> str:
    """A number that a study file can hold, without more digits than asked."""
    text = f"{value:.{digits}g}"
    if "e" in text and abs(value) < 10 ** (digits + 4):
        text = repr(float(text))
        return text.removesuffix(".0")
    return text


def _with_unit(text: str, unit: str) -> str:
    return text if unit in {"", "1"} else f"{text} {unit}"


def variables_of(study: Study) -> dict[str, Variable]:
    """What can be moved: swept variables, then the one to be solved for, then what the study gives.

    Inputs that another one replaces, switches, and zeros without a range are left out; so are inputs that a stop with
    its own source of water has taken up.
    """
    solved = [] if study.solve is None else [study.solve.variable]
    stated = [item.name for item in study.uncertain.inputs if item.stated]
    given = [name for name in inputs() if name in study.given]
    order = [*study.swept, *solved, *(name for name in stated if name in study.given), *given]
    names = list(dict.fromkeys(order))
    replaced = {
        name
        for derived, others in REPLACES.items()
        if derived in names or derived in study.values
        for name in others
    }
    if any(place.water_source is not None for place in study.places):
        replaced |= set(WATER_OF_ITS_OWN) - set(study.swept)
    found: dict[str, Variable] = {}
    for name in names:
        if name in replaced or name not in study.values or is_switch(inputs()[name]):
            continue
        made = _variable(study, name)
        if made is not None and len(found) < MOST:
            found[name] = made
    return found


def _variable(study: Study, name: str) -> Variable | None:
    """One input on its track; None where there is nothing to move."""
    own = float(study.values[name])
    for swept in study.sweep:
        if swept.name == name and len(swept.points) > 1:
            points = sorted({float(point) for point in swept.points} | {own})
            listed = tuple(points) if swept.spacing == "listed" else ()
            return Variable(name, own, points[0], points[-1], swept.spacing == "log", listed)
    low, high = _ends(study, name, own)
    if not (math.isfinite(own) and math.isfinite(low) and math.isfinite(high)) or low >= high:
        return None
    wide = low > 0.0 and high >= WIDE * low
    return Variable(name, own, low, high, wide)


def _ends(study: Study, name: str, own: float) -> tuple[float, float]:
    """Ends of a track: the range of the input widened to a factor each way, within its bounds."""
    item = quantity(name)
    low, high = study.ranges.get(name, (own, own))
    if item.unit == item.display_unit or float(convert(0.0, item.display_unit, item.unit)) == 0.0:
        low, high = min(low, own / FACTOR, own * FACTOR), max(high, own / FACTOR, own * FACTOR)
    low, high = min(low, own), max(high, own)
    low = low if item.low is None else max(low, item.low)
    high = high if item.high is None else min(high, item.high)
    return low, high


Positions = Mapping[str, int]
"""Where each slider stands, by variable."""
