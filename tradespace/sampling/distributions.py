"""What an uncertain input may be: shares and quantiles of a distribution cut at the bounds of its quantity."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from tradespace.errors import DomainError
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import display, plain_number, quantity
from tradespace.study.model import Distribution

KEYS = {
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "normal": ("mean", "deviation"),
    "lognormal": ("median", "factor"),
}
"""What the numbers of a distribution are, in their order."""


def cumulative_share(distribution: Distribution, value: ArrayLike) -> FloatArray:
    """Probability that an uncertain input is no larger than a value, its distribution cut at its bounds.

    Parameters
    ----------
    distribution : Distribution
        What the input may be.
    value : array_like, shape (...)
        In the SI unit of the input.

    Returns
    -------
    ndarray, shape (...)
        From 0 to 1.

    Examples
    --------
    >>> square = Distribution("ice_fraction", "uniform", (0.0, 0.4), 0.0, 1.0, "assumed", True)
    >>> float(cumulative_share(square, 0.1))
    0.25
    """
    below, above = _cut(distribution)
    inside = np.clip(np.asarray(value, dtype=np.float64), distribution.low, distribution.high)
    share = (_uncut_share(distribution, inside) - below) / (above - below)
    return np.clip(share, 0.0, 1.0)


def quantile(distribution: Distribution, share: ArrayLike) -> FloatArray:
    """The value below which an uncertain input stays with a probability, its distribution cut at its bounds.

    Parameters
    ----------
    distribution : Distribution
        What the input may be.
    share : array_like, shape (...)
        Probability, from 0 to 1.

    Returns
    -------
    ndarray, shape (...)
        In the SI unit of the input, within its bounds.

    Raises
    ------
    DomainError
        If any share lies outside 0 to 1.

    Examples
    --------
    >>> roof = Distribution("ice_fraction", "triangular", (0.0, 0.1, 0.4), 0.0, 1.0, "measured", True)
    >>> [round(float(value), 6) for value in quantile(roof, [0.0, 0.25, 1.0])]
    [0.0, 0.1, 0.4]
    """
    shares = np.asarray(share, dtype=np.float64)
    if not bool(((shares >= 0.0) & (shares <= 1.0)).all()):
        worst = float(shares[~((shares >= 0.0) & (shares <= 1.0))].flat[0])
        raise DomainError(f"share {worst:g} must lie within 0 to 1")
    below, above = _cut(distribution)
    found = _uncut_quantile(distribution, below + shares * (above - below))
    return np.asarray(np.clip(found, distribution.low, distribution.high), dtype=np.float64)


def distribution_words(distribution: Distribution) -> str:
    """What a distribution is, with its numbers in display units.

    Examples
    --------
    >>> distribution_words(Distribution("cell_temperature", "normal", (353.15, 5.0), 278.15, 1273.15, "", True))
    'normal, mean 80 degC, deviation 5 K'
    >>> distribution_words(Distribution("ice_fraction", "lognormal", (0.1, 1.6), 0.001, 1.0, "assumed", True))
    'lognormal, median 10 %, factor 1.6'
    """
    name, kind, numbers = distribution.name, distribution.kind, distribution.numbers
    if kind == "discrete":
        half = len(numbers) // 2
        parts = [
            f"{display(name, value)} ({plain_number(100.0 * chance)} %)"
            for value, chance in zip(numbers[:half], numbers[half:], strict=True)
        ]
        return f"discrete, {', '.join(parts)}"
    shown = [display(name, value) for value in numbers]
    if kind == "lognormal":
        shown[1] = plain_number(numbers[1])
    if kind == "normal":
        item = quantity(name)
        offset = item.unit == "K" and item.display_unit != "K"
        shown[1] = f"{plain_number(numbers[1])} K" if offset else shown[1]
    return f"{kind}, {', '.join(f'{key} {word}' for key, word in zip(KEYS[kind], shown, strict=True))}"


def _cut(distribution: Distribution) -> tuple[float, float]:
    """Shares of the uncut distribution below the least and the largest value of the quantity."""
    if distribution.kind == "discrete":  # the least value may be the bound itself
        return 0.0, 1.0
    low, high = (
        float(_uncut_share(distribution, np.asarray(end))) for end in (distribution.low, distribution.high)
    )
    if not low < high:
        raise DomainError(f"{distribution.name} has no chance of lying within its bounds")
    return low, high


def _split(distribution: Distribution) -> tuple[FloatArray, FloatArray]:
    """Values of a discrete distribution and its cumulative chances."""
    count = len(distribution.numbers) // 2
    chances = np.cumsum(distribution.numbers[count:])
    return np.asarray(distribution.numbers[:count]), chances / chances[-1]


def _uncut_share(distribution: Distribution, value: FloatArray) -> FloatArray:
    from scipy.special import ndtr

    kind, numbers = distribution.kind, distribution.numbers
    if kind == "uniform":
        low, high = numbers
        return np.clip((value - low) / (high - low), 0.0, 1.0)
    if kind == "triangular":
        low, mode, high = numbers
        inside = np.clip(value, low, high)
        rising = (inside - low) ** 2 / ((high - low) * (mode - low)) if mode > low else np.zeros_like(inside)
        falling = (
            1.0 - (high - inside) ** 2 / ((high - low) * (high - mode))
            if mode < high
            else np.ones_like(inside)
        )
        return np.where(inside < mode, rising, falling)
    if kind == "normal":
        mean, deviation = numbers
        return np.asarray(ndtr((value - mean) / deviation), dtype=np.float64)
    if kind == "lognormal":
        median, factor = numbers
        with np.errstate(divide="ignore"):
            return np.asarray(
                ndtr(np.log(np.maximum(value, 0.0) / median) / math.log(factor)), dtype=np.float64
            )
    values, shares = _split(distribution)
    return np.concatenate([[0.0], shares])[np.searchsorted(values, value, side="right")]


def _uncut_quantile(distribution: Distribution, share: FloatArray) -> FloatArray:
    from scipy.special import ndtri

    kind, numbers = distribution.kind, distribution.numbers
    if kind == "uniform":
        low, high = numbers
        return low + share * (high - low)
    if kind == "triangular":
        low, mode, high = numbers
        corner = (mode - low) / (high - low)
        rising = low + np.sqrt(share * (high - low) * (mode - low))
        falling = high - np.sqrt((1.0 - share) * (high - low) * (high - mode))
        return np.where(share < corner, rising, falling)
    if kind == "normal":
        mean, deviation = numbers
        return np.asarray(mean + deviation * ndtri(share), dtype=np.float64)
    if kind == "lognormal":
        median, factor = numbers
        return np.asarray(median * np.exp(math.log(factor) * ndtri(share)), dtype=np.float64)
    values, shares = _split(distribution)
    return values[np.minimum(np.searchsorted(shares, share, side="left"), len(values) - 1)]
