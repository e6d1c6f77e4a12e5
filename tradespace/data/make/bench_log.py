"""A logger on the invented bench: what its instruments show of what is true, errors and last digit included."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tradespace.bench.channels import channels
from tradespace.bench.instruments import by_class
from tradespace.physics.compiled import FloatArray
from tradespace.units import conversion

REMEMBERED = 0.5  # of one reading's noise in the next
MEMORY = np.sqrt(1.0 - REMEMBERED**2) * REMEMBERED ** np.arange(20)


@dataclass
class Log:
    """What a logger writes down: readings and facts as the instruments show them, in display units."""

    rng: np.random.Generator
    points: int
    columns: dict[str, list[str]] = field(default_factory=dict)
    facts: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)

    def read(self, name: str, true: FloatArray, shared: float | None = None) -> None:
        """Take readings of a channel [SI]; ``shared`` hands in a normal deviate for the error that stays."""
        random, systematic = by_class(name, true)
        lasting = self.rng.standard_normal() if shared is None else shared
        along = np.linspace(-1.0, 1.0, self.points)
        wander = np.cumsum(self.rng.standard_normal(self.points)) / np.sqrt(self.points)
        drift = 0.3 * self.rng.standard_normal() * along + 0.15 * (wander - wander.mean())
        fresh = self.rng.standard_normal(self.points + MEMORY.size - 1)
        noise = np.convolve(fresh, MEMORY, mode="valid")
        shown = true + systematic * (0.95 * lasting + drift) + 0.9 * random * noise
        factor, offset = conversion(channels()[name].unit, channels()[name].display_unit)
        step = float(random.min()) * factor
        digits = 0 if step == 0.0 else max(0, -int(np.floor(np.log10(step))))
        self.columns[name] = [f"{number:.{digits}f}" for number in shown * factor + offset]

    def set(self, name: str, numbers: NDArray[np.floating[Any]], digits: int = 0) -> None:
        """Write down what is chosen or counted, in its display unit."""
        self.columns[name] = [f"{number:.{digits}f}" for number in numbers]

    def fact(self, name: str, true: float, digits: int = 5) -> None:
        """Take one reading of what does not change."""
        random, systematic = (float(part[0]) for part in by_class(name, np.array([true])))
        shown = true + np.hypot(random, systematic) * self.rng.standard_normal()
        unit = channels()[name].display_unit
        factor, offset = conversion(channels()[name].unit, unit)
        self.facts[name] = f"{shown * factor + offset:.{digits}g}" + ("" if unit == "1" else f" {unit}")
