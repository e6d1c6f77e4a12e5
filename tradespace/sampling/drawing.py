"""Draws of uncertain inputs whose ranks are correlated as asked."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.sampling.distributions import quantile
from tradespace.sampling.points import EDGE
from tradespace.study.correlation import normal_correlation
from tradespace.study.model import Distribution


def draws(
    inputs: Sequence[Distribution], unit_points: FloatArray, correlation: FloatArray | None = None
) -> dict[str, FloatArray]:
    """Values of uncertain inputs at points of the unit cube.

    Parameters
    ----------
    inputs : sequence of Distribution
        What each input may be.
    unit_points : ndarray, shape (n, d)
        Above 0 and below 1, one column for each input.
    correlation : ndarray, shape (d, d), or None
        Rank correlation of the inputs; None when they are independent.

    Returns
    -------
    dict of ndarray
        SI values by input, each of shape (n,).

    Raises
    ------
    ValueError
        If the points have not one column for each input.

    Notes
    -----
    Correlated ranks come from a normal copula. Between continuous inputs the ranks are correlated as asked; a
    discrete input has ties, and its rank correlation with others is a little smaller than asked.

    Examples
    --------
    >>> square = Distribution("ice_fraction", "uniform", (0.1, 0.3), 0.0, 1.0, "assumed", True)
    >>> draws([square], np.array([[0.25], [0.5]]))["ice_fraction"].round(6).tolist()
    [0.15, 0.2]
    """
    points = np.asarray(unit_points, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != len(inputs):
        raise ValueError(
            f"points of shape {points.shape} for {len(inputs)} inputs; one column each is needed"
        )
    if correlation is not None:
        points = correlated(points, correlation)
    return {item.name: quantile(item, points[:, place]) for place, item in enumerate(inputs)}


def correlated(points: FloatArray, correlation: FloatArray) -> FloatArray:
    """Points of the unit cube moved so that their ranks are correlated; each axis stays evenly filled.

    Parameters
    ----------
    points : ndarray, shape (n, d)
        Above 0 and below 1, independent.
    correlation : ndarray, shape (d, d)
        Rank correlation, positive definite.
    """
    from scipy.special import ndtr, ndtri

    together = np.flatnonzero((correlation != np.eye(len(correlation))).any(axis=1))
    if not together.size:
        return points
    lower = np.linalg.cholesky(normal_correlation(correlation[np.ix_(together, together)]))
    moved = points.copy()
    moved[:, together] = np.clip(ndtr(ndtri(points[:, together]) @ lower.T), EDGE, 1.0 - EDGE)
    return moved
