"""The points of a file of readings along an axis, thinned where there are too many to be told apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.figures import style
from tradespace.units import convert

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.bench.records import Readings
    from tradespace.physics.compiled import FloatArray

MOST = 80
"""Points that are drawn of one channel."""
SPANS = (("d", 3.0), ("h", 3.0), ("min", 3.0))
"""Units of an axis of time, each with the least span for which it is taken, in that unit."""
COVERAGE = 2.0
"""Standard uncertainties in a bar."""
ORDINALS = {1: "st", 2: "nd", 3: "rd"}


@dataclass(frozen=True, eq=False)
class Along:
    """What the points stand over."""

    values: FloatArray
    """Of the points that are drawn, rising."""
    title: str
    chosen: NDArray[np.intp]
    """Which points these are."""
    words: str
    """A sentence where points were left out of the drawing; else empty."""

    def of(self, column: FloatArray) -> FloatArray:
        """A column at the points that are drawn."""
        return np.asarray(np.asarray(column)[self.chosen], dtype=np.float64)


def along(readings: Readings, use: FloatArray | None = None) -> Along:
    """Time where every point has one, else the number of the point; every so many of those in use."""
    count = readings.points
    numbers = np.arange(1.0, count + 1.0)
    time = readings.column("time")
    title = "Point of the file (number)"
    if count > 1 and bool(np.isfinite(time).all()) and float(np.ptp(time)) > 0.0:
        span = float(np.ptp(time))
        unit = next((name for name, least in SPANS if convert(span, "s", name) >= least), "s")
        numbers, title = (
            np.asarray(convert(time - time.min(), "s", unit)),
            f"Time since the first point ({unit})",
        )
    kept = np.arange(count) if use is None else np.flatnonzero(use)
    kept = kept[np.argsort(numbers[kept], kind="stable")]
    step = max(-(-kept.size // MOST), 1)
    drawn = kept[::step]
    return Along(numbers[drawn], title, drawn, thinned_words(kept.size, step))


def thinned_words(count: int, step: int) -> str:
    r"""What is said of points that are not drawn.

    Examples
    --------
    >>> thinned_words(10_000, 50)
    ' Drawn: every 50th of 10\xa0000 points; all of them count.'
    >>> thinned_words(100, 1)
    ''
    """
    if step <= 1:
        return ""
    ending = "th" if step // 10 % 10 == 1 else ORDINALS.get(step % 10, "th")
    return f" Drawn: every {step}{ending} of {style.number(count, 9)} points; all of them count."


def bars(deviation: FloatArray, colour: str) -> dict[str, Any]:
    """Bars of two standard uncertainties."""
    length = COVERAGE * np.nan_to_num(np.asarray(deviation, dtype=np.float64))
    return {"array": length, "color": colour, "thickness": 1.1, "width": 2}


def middle(column: FloatArray) -> float:
    """Median of what is known."""
    known = column[np.isfinite(column)]
    return float(np.median(known)) if known.size else float("nan")
