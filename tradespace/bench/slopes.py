"""Rate of change of a running total, robust against a lump or a slip."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from tradespace.physics.compiled import FloatArray

_MOST = 64  # windows a series is cut into
_FEWEST = 5  # points a window holds, where there are as many
_STEP = 0.1  # change of the current that ends a window
_QUARTILE = float(ndtri(3.0 / 4.0))


def running_slope(
    time: FloatArray, total: FloatArray, random: FloatArray, systematic: FloatArray, driver: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Local slope of a running total, with the random and the shared part of its uncertainty.

    The series is cut into windows; in each the line is fitted, the points far from it are given less weight, and the
    line is fitted again. Between the middles of the windows the slope is interpolated. An error in proportion to the
    total is one in proportion to the slope; one that is the same at all times has no effect.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Time [s].
    total : ndarray, shape (n,)
        Running total [any].
    random, systematic : ndarray, shape (n,)
        Standard uncertainty of the total, independent and shared, in the same unit [any].
    driver : ndarray, shape (n,)
        What drives the total, such as the current; no window reaches across a step of it [any].

    Returns
    -------
    slope, random, systematic : ndarray, shape (n,)
        Per second; not a number where fewer than two points can be used.
    """
    good = np.isfinite(time) & np.isfinite(total)
    nothing = np.full(time.size, np.nan)
    if good.sum() < 2 or np.ptp(time[good]) <= 0.0:
        return nothing, nothing.copy(), nothing.copy()
    order = np.flatnonzero(good)[np.argsort(time[good], kind="stable")]
    windows = _windows(order, driver)
    count = len(windows)
    middles, slopes, spreads, shared = (np.empty(count) for _ in range(4))
    for place, window in enumerate(windows):
        t, y = time[window], total[window]
        weight = np.ones(window.size)
        for _ in range(3):
            slope, residual, spread_of_time = _line(t, y, weight)
            typical = np.median(np.abs(residual)) / _QUARTILE + 1e-300
            weight = 1.0 / np.maximum(np.abs(residual) / (1.5 * typical), 1.0)
        freedom = max(window.size - 2, 1)
        noise = max(
            float(np.sqrt(np.mean(random[window] ** 2))),
            float(np.sqrt((weight * residual**2).sum() / freedom)),
        )
        middles[place] = t.mean()
        slopes[place] = slope
        spreads[place] = noise / np.sqrt(spread_of_time)
        shared[place] = abs(_line(t, systematic[window], np.ones(window.size))[0])
    answers = [np.interp(time, middles, part) for part in (slopes, spreads, shared)]
    # points of a window share its slope, so that averaging them gains nothing within it
    answers[1] = answers[1] * np.sqrt(order.size / count)
    for part in answers:
        part[~good] = np.nan
    return answers[0], answers[1], answers[2]


def _windows(order: NDArray[np.intp], driver: FloatArray) -> list[NDArray[np.intp]]:
    """Places of the points of each window, in the order of time."""
    drive = np.nan_to_num(driver[order])
    jumps = np.abs(np.diff(drive)) > _STEP * np.maximum(np.abs(drive[1:]), np.abs(drive[:-1]))
    stretches = np.split(order, np.flatnonzero(jumps) + 1)
    if min(stretch.size for stretch in stretches) < 3:
        stretches = [order]
    each = max(_FEWEST, order.size // _MOST)
    return [part for stretch in stretches for part in np.array_split(stretch, max(stretch.size // each, 1))]


def _line(t: FloatArray, y: FloatArray, weight: FloatArray) -> tuple[float, FloatArray, float]:
    """Slope of a weighted line, what it leaves over, and the weighted square spread of time."""
    total = weight.sum()
    t_middle, y_middle = (weight * t).sum() / total, (weight * y).sum() / total
    spread = max(float((weight * (t - t_middle) ** 2).sum()), 1e-300)
    slope = float((weight * (t - t_middle) * (y - y_middle)).sum()) / spread
    return slope, y - y_middle - slope * (t - t_middle), spread
