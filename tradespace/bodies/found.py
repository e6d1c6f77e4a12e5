"""What a reader of orbit files finds: bodies as read, and which lines could not be read."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from tradespace.constants import value
from tradespace.errors import OutputError, printable
from tradespace.physics.compiled import FloatArray

VALUES = "body_values.csv"
MOST_KEPT = 20_000
SHOWN = 70
Progress = Callable[[int, int], None]
"""Called with what is done and the whole, in bytes."""
Number = float | FloatArray


@dataclass(slots=True)
class Found:
    """One body as read; a number that the file does not give is NaN."""

    id: str
    """Number, comet designation or provisional designation."""
    name: str
    designation: str
    """Provisional designation where the file gives one."""
    epoch: float
    """Julian date (dynamical time) [d]."""
    semi_major_axis: float
    """[au]."""
    eccentricity: float
    inclination: float
    """[deg], as the three angles below."""
    ascending_node: float
    argument_of_perihelion: float
    mean_anomaly: float
    absolute_magnitude: float = math.nan
    slope_parameter: float = math.nan
    diameter: float = math.nan
    """[km]."""
    diameter_error: float = math.nan
    """One standard deviation [km]."""
    albedo: float = math.nan
    gravitational_parameter: float = math.nan
    """[km3/s2]."""
    rotation_period: float = math.nan
    """[h]."""
    spectral_type: str = ""
    uncertainty_class: str = ""
    is_comet: bool = False


@dataclass
class Lines:
    """Count of what was read, left out and not understood."""

    seen: int = 0
    """Data lines read."""
    left_out: int = 0
    """Lines that the filters leave out."""
    repeated: int = 0
    """Lines about a body the file has had before."""
    open_orbits: int = 0
    """Bodies that leave the solar system, which no ellipse describes."""
    bad: int = 0
    """Lines that could not be read."""
    first_bad: str = ""
    """Number, text and fault of the first of them."""

    def reject(self, number: int, text: str, fault: str, what: str = "line") -> None:
        """Count a line that cannot be read; the first is remembered."""
        self.bad += 1
        if not self.first_bad:
            short = text.strip()
            short = short if len(short) <= SHOWN else short[: SHOWN - 3] + "..."
            self.first_bad = f"{what} {number}: {printable(fault)}: {printable(short)!r}"


@dataclass(frozen=True)
class Keep:
    """Which bodies of a file to keep; a condition that is not set keeps all."""

    near: float | None = None
    """Semi-major axis [m]."""
    within: float | None = None
    """How far from it [m]."""
    largest_magnitude: float | None = None
    """Absolute magnitude H: larger means smaller bodies."""
    groups: frozenset[str] = field(default_factory=frozenset)

    @cached_property
    def _limits(self) -> tuple[float, float, float]:
        """An astronomical unit, the axis and the width [m]."""
        width = value("near_window", VALUES) if self.within is None else self.within
        return value("astronomical_unit"), self.near or 0.0, width

    def passes(self, semi_major_axis: Number, eccentricity: Number, magnitude: Any) -> Any:
        """Which of these bodies to keep; axes in au, numbers or arrays.

        Examples
        --------
        >>> Keep(largest_magnitude=15.0).passes(np.ones(2), np.zeros(2), np.array([14.9, np.nan]))
        array([ True, False])
        """
        axis: Any = semi_major_axis
        kept = axis == axis  # noqa: PLR0124  (all but NaN)
        if self.near is not None:
            unit, near, width = self._limits
            kept &= abs(axis * unit - near) <= width
        if self.largest_magnitude is not None:
            kept &= magnitude <= self.largest_magnitude
        if self.groups:
            kept &= np.isin(groups(semi_major_axis, eccentricity), list(self.groups))
        return kept


def groups(semi_major_axis: Number, eccentricity: Number) -> npt.NDArray[np.str_]:
    """Group of each asteroid by its orbit; axes in au.

    Examples
    --------
    >>> groups(np.array([2.77, 1.13, 3.97, 43.0]), np.array([0.08, 0.2, 0.2, 0.1])).tolist()
    ['main_belt', 'nea', 'hilda', 'trans_neptunian']
    """
    axis, shape = np.asarray(semi_major_axis), np.asarray(eccentricity)
    perihelion = axis * (1.0 - shape)
    unit = value("astronomical_unit")
    limit = {name: value(name, VALUES) / unit for name in (
        "near_earth_perihelion", "mars_crosser_perihelion", "main_belt_limit", "hilda_limit", "trojan_limit",
        "centaur_limit",
    )}  # fmt: skip
    near = perihelion < limit["near_earth_perihelion"]
    crossing = (perihelion < limit["mars_crosser_perihelion"]) & (axis < limit["hilda_limit"])
    round_enough = shape < value("trojan_eccentricity", VALUES)
    return np.select(
        [
            near, crossing, axis < limit["main_belt_limit"], axis < limit["hilda_limit"],
            (axis < limit["trojan_limit"]) & round_enough, axis < limit["trojan_limit"],
            axis < limit["centaur_limit"],
        ],
        ["nea", "mars_crosser", "main_belt", "hilda", "jupiter_trojan", "other", "centaur"],
        "trans_neptunian",
    )  # fmt: skip


def too_many() -> OutputError:
    """The error of a file of which more is kept than a catalogue takes."""
    return OutputError(
        f"more than {MOST_KEPT} bodies pass; nothing was written. Keep fewer, for example with "
        '--near "3.1 au" --within "0.1 au" --largest-h 13'
    )


class Collected:
    """Bodies gathered one by one: the first of a name counts, and there is an end to them."""

    def __init__(self, lines: Lines) -> None:
        self.lines = lines
        self.bodies: dict[str, Found] = {}

    def add(self, body: Found) -> None:
        """Keep a body unless it is there already.

        Raises
        ------
        OutputError
            If there are too many.
        """
        if body.id in self.bodies:
            self.lines.repeated += 1
            return
        if len(self.bodies) >= MOST_KEPT:
            raise too_many()
        self.bodies[body.id] = body
