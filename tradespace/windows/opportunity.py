"""Opportunities: the valleys of a curve of cheapest transfers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tradespace.constants import value
from tradespace.errors import TransferError
from tradespace.mission import WindowCurve
from tradespace.physics.compiled import FloatArray

VALUES = "window_values.csv"


@dataclass(frozen=True)
class Opportunity:
    """One valley of a curve."""

    departure: float
    """Date of the least cost on the curve, seconds past J2000."""
    time_of_flight: float
    """[s]."""
    v_inf_departure: float
    """[m/s]."""
    v_inf_arrival: float
    """[m/s]."""
    kind: int
    """Its place in ``windows.KINDS``."""
    opens: float
    """First date around it on which the cost is within the rise allowed, seconds past J2000."""
    closes: float
    """Last such date."""
    cut: bool
    """Whether the valley reaches the first or last date of the curve, so that it may be wider or deeper."""

    @property
    def width(self) -> float:
        """[s]."""
        return self.closes - self.opens

    @property
    def v_inf_sum(self) -> float:
        """[m/s]."""
        return self.v_inf_departure + self.v_inf_arrival


def opportunities(curve: WindowCurve, rise: float | None = None) -> list[Opportunity]:
    """Valleys of a curve in order of date: least sum of both excess speeds, and how long it stays nearly as low.

    Parameters
    ----------
    curve : WindowCurve
        Cheapest transfers against departure date.
    rise : float, optional
        Rise of the cost over the least one that bounds the width [1]; ``opportunity_rise`` of the table of
        windows unless given. A lesser valley inside the width of a deeper one is not counted.

    Raises
    ------
    TransferError
        If the rise is not positive.
    """
    rise = value("opportunity_rise", VALUES) if rise is None else float(rise)
    if not rise > 0:
        raise TransferError(f"the rise that bounds an opportunity must be positive, not {rise}")
    cost = curve.v_inf_sum
    walled = np.concatenate([[np.inf], cost, [np.inf]])
    valleys = np.flatnonzero((walled[1:-1] < walled[:-2]) & (walled[1:-1] <= walled[2:]))
    found: list[tuple[int, int, int]] = []
    for low in valleys[np.argsort(cost[valleys], kind="stable")]:
        if any(begin <= low <= end for _, begin, end in found):
            continue
        above = np.flatnonzero(cost > (1.0 + rise) * cost[low])
        begin = int(above[above < low].max(initial=-1)) + 1
        end = int(above[above > low].min(initial=len(cost))) - 1
        found.append((int(low), begin, end))
    return [_opportunity(curve, cost, rise, *valley) for valley in sorted(found)]


def _opportunity(
    curve: WindowCurve, cost: FloatArray, rise: float, low: int, begin: int, end: int
) -> Opportunity:
    level, last = (1.0 + rise) * cost[low], len(cost) - 1

    def crossing(inner: int, outer: int) -> float:
        share = (level - cost[inner]) / (cost[outer] - cost[inner])
        return float(curve.departure[inner] + share * (curve.departure[outer] - curve.departure[inner]))

    return Opportunity(
        float(curve.departure[low]), float(curve.time_of_flight[low]), float(curve.v_inf_departure[low]),
        float(curve.v_inf_arrival[low]), int(curve.kind[low]),
        crossing(begin, begin - 1) if begin > 0 else float(curve.departure[0]),
        crossing(end, end + 1) if end < last else float(curve.departure[last]),
        begin == 0 or end == last,
    )  # fmt: skip
