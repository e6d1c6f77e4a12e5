"""How far a chance is known that was counted in draws."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from tradespace import constants
from tradespace.physics.compiled import FloatArray

SETTINGS = "uncertainty_settings.csv"
DUST = 1e-9
"""Share of a draw by which rounding may lift an asked count."""


def setting(name: str) -> float:
    """A choice of this room, by name."""
    return constants.value(name, SETTINGS)


def chance_interval(
    closing: ArrayLike, draws: ArrayLike, confidence: float | None = None
) -> tuple[FloatArray, FloatArray]:
    """Two-sided interval for a chance of which so many of so many draws came true.

    The exact binomial interval: it holds the true chance at least as often as it says when draws are independent.
    Draws that fill the space evenly scatter less, so for them it is wider than need be.

    Parameters
    ----------
    closing : array_like of int
        Draws that came true [1].
    draws : array_like of int
        All draws [1].
    confidence : float, optional
        How often the interval is to hold the true chance [1]; the setting of that name when not given.

    Returns
    -------
    tuple of ndarray
        Lower and upper end [1].

    References
    ----------
    .. [1] clopper1934, the interval; in terms of the beta distribution: closed form.

    Examples
    --------
    >>> low, high = chance_interval(83, 100, 0.95)
    >>> print(f"{low:.3f} {high:.3f}")
    0.742 0.898
    """
    from scipy.special import betaincinv

    true, count = np.asarray(closing, dtype=np.float64), np.asarray(draws, dtype=np.float64)
    tail = 0.5 * (1.0 - (setting("confidence") if confidence is None else confidence))
    with np.errstate(invalid="ignore"):
        low = betaincinv(np.maximum(true, DUST), count - true + 1.0, tail)
        high = betaincinv(true + 1.0, np.maximum(count - true, DUST), 1.0 - tail)
    return np.where(true <= 0.0, 0.0, low), np.where(true >= count, 1.0, high)


def wanted(draws: int, chance: float) -> int:
    """The least number of draws that must come true for a chance."""
    return int(np.ceil(draws * chance - DUST))


def hopeless(closing: ArrayLike, draws: int, chance: float) -> np.ndarray:
    """Whether a design with so few closing draws can be given up: its chance is too small but for a tiny risk."""
    risk = setting("screening_risk")
    _, high = chance_interval(closing, draws, 1.0 - 2.0 * risk)
    return np.asarray(high < chance)
