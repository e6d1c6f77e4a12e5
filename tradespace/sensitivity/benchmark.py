"""A function whose shares of variance are known in closed form, to check the estimator against."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.sensitivity.variance import Shares, indices

DIMENSIONS = 3


def ishigami(points: FloatArray, swing: float, coupling: float) -> FloatArray:
    r"""Function of Ishigami and Homma on the unit cube.

    .. math:: y = \sin x_1 + a \sin^2 x_2 + b\, x_3^4 \sin x_1, \quad x_i = \pi (2 u_i - 1)

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Points of the unit cube.
    swing, coupling : float
        The coefficients a and b.

    Examples
    --------
    >>> ishigami(np.array([[0.75, 0.75, 1.0]]), 7.0, 0.0).tolist()
    [8.0]
    """
    x = math.pi * (2.0 * points - 1.0)
    first = np.sin(x[:, 0])
    return np.asarray(first + swing * np.sin(x[:, 1]) ** 2 + coupling * x[:, 2] ** 4 * first)


@cache
def _sampled(swing: float, coupling: float, base: int, seed: int) -> Shares:
    return indices(lambda points: {"y": ishigami(points, swing, coupling)}, DIMENSIONS, base, seed)


def sampled_share(kind: str, place: int, swing: float, coupling: float, base: int, seed: int) -> float:
    """One share of the variance of the function of Ishigami and Homma, as the estimator finds it [1].

    Parameters
    ----------
    kind : str
        ``first`` or ``total``.
    place : int
        Number of the input, from 1.
    swing, coupling : float
        The coefficients a and b.
    base, seed : int
        Base samples, a power of two, and seed.

    Examples
    --------
    >>> round(sampled_share("first", 2, 7.0, 0.1, 4096, 0), 2)
    0.44
    """
    found = _sampled(swing, coupling, int(base), int(seed))
    return float(getattr(found, kind)[0, int(place) - 1])


def exact_shares(swing: float, coupling: float) -> dict[str, tuple[float, float, float]]:
    r"""First and total shares of the function of Ishigami and Homma in closed form [1].

    .. math:: V = a^2/8 + b\pi^4/5 + b^2\pi^8/18 + 1/2

    Parameters
    ----------
    swing, coupling : float
        The coefficients a and b.

    Examples
    --------
    >>> {kind: [round(share, 4) for share in three] for kind, three in exact_shares(7.0, 0.1).items()}
    {'first': [0.3139, 0.4424, 0.0], 'total': [0.5576, 0.4424, 0.2437]}
    """
    fourth = math.pi**4
    alone = 0.5 * (1.0 + coupling * fourth / 5.0) ** 2
    second = swing**2 / 8.0
    together = coupling**2 * fourth**2 * (1.0 / 18.0 - 1.0 / 50.0)
    whole = alone + second + together
    return {
        "first": (alone / whole, second / whole, 0.0),
        "total": ((alone + together) / whole, second / whole, together / whole),
    }
