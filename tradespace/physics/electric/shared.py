"""Checks the energy identities share."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import floats, require_each

_MORE = 1.0 + 1e-9  # rounding


def efficiency_or_none(thrust_efficiency: ArrayLike) -> FloatArray:
    """Shares, or infinity where live power puts nothing into the jet."""
    values = floats(thrust_efficiency)
    require_each(
        (values > 0.0) & ((values <= 1.0) | (values == math.inf)),
        "thrust_efficiency",
        "1",
        values,
        "lies outside 0 to 1 (0 excluded); infinite is allowed where the feed brings all the energy",
    )
    return values


def no_more_than_fed(
    name: str, unit: str, numbers: FloatArray, scale: float, used: ArrayLike, feed: FloatArray,
    efficiency: FloatArray,
) -> None:  # fmt: skip
    """Refuse a jet without live power that carries more energy than its feed; ``scale`` makes it a speed."""
    speed, share_used, fed, live = np.broadcast_arrays(numbers * scale, floats(used), feed, efficiency)
    bad = (live == math.inf) & (0.5 * share_used * speed * speed > fed * _MORE)
    if bad.any():
        most = math.sqrt(2.0 * fed[bad].flat[0] / share_used[bad].flat[0]) / scale
        limit = f"must not be above {most:.6g} {unit}, where the jet carries all the energy of its feed"
        require_each(~bad, name, unit, speed / scale, limit)
