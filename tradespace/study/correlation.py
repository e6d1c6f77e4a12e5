"""Rank correlation of uncertain inputs: what the normal copula needs, and which matrices can be one."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import FloatArray
from tradespace.study.document import EntryError, shown

SHRINK_STEPS = 100
"""Hundredths: how finely the factor that mends a matrix is stated."""
SYMMETRY_SLACK = 1e-12
LEAST_EIGENVALUE = 1e-9
"""Rounding of the eigenvalues of a matrix of ones: a smaller one cannot be told from zero."""


def normal_correlation(rank: FloatArray) -> FloatArray:
    r"""Correlation of normal variables whose ranks are correlated so (exact).

    .. math:: r = 2 \sin(\pi \rho / 6)

    Parameters
    ----------
    rank : ndarray, shape (...)
        Spearman's rank correlation [1].

    Returns
    -------
    ndarray, shape (...)
        Pearson's correlation of the normal variables [1].

    References
    ----------
    .. [1] pearson_1907, the relation between rank and product-moment correlation of a normal surface.

    Examples
    --------
    >>> float(normal_correlation(np.array(1.0)).round(12)), float(normal_correlation(np.array(0.5)).round(4))
    (1.0, 0.5176)
    """
    return np.asarray(2.0 * np.sin(math.pi / 6.0 * np.asarray(rank, dtype=np.float64)), dtype=np.float64)


def smallest_eigenvalue(rank: FloatArray) -> float:
    """The smallest eigenvalue of the normal correlation that ranks correlated so ask for."""
    return float(np.linalg.eigvalsh(normal_correlation(rank))[0])


def mending_factor(rank: FloatArray) -> float:
    """The largest factor in hundredths on the entries off the diagonal that makes a matrix positive definite.

    Examples
    --------
    >>> mending_factor(np.array([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]]))
    0.53
    """
    one = np.eye(len(rank))
    for step in range(SHRINK_STEPS - 1, 0, -1):
        factor = step / SHRINK_STEPS
        if smallest_eigenvalue(one + factor * (rank - one)) > LEAST_EIGENVALUE:
            return factor
    return 0.0


def rank_correlation(raw: object, named: list[str]) -> FloatArray:
    """A matrix of rank correlations as a study states it.

    Parameters
    ----------
    raw : object
        Rows of numbers.
    named : list of str
        The inputs in the order of rows and columns.

    Raises
    ------
    EntryError
        If it is not square and symmetric with ones on the diagonal, entries from -1 to 1, and positive definite.
    """
    size = len(named)
    rows = raw if isinstance(raw, list) else []
    if len(rows) != size or not all(isinstance(row, list) and len(row) == size for row in rows):
        raise EntryError(f"must be {size} rows of {size} numbers, one for each of the {size} inputs")
    for cell in (cell for row in rows for cell in row):
        if isinstance(cell, bool) or not isinstance(cell, int | float) or not -1.0 <= cell <= 1.0:
            raise EntryError(f"{shown(cell)} must be a number from -1 to 1")
    rank = np.array(rows, dtype=np.float64)
    for first, name in enumerate(named):
        if rank[first, first] != 1.0:
            raise EntryError(f"{name} with itself is {rank[first, first]:g}; the diagonal must be 1")
        for second, other in enumerate(named[:first]):
            if abs(rank[first, second] - rank[second, first]) > SYMMETRY_SLACK:
                raise EntryError(
                    f"is not symmetric: {other} with {name} is {rank[second, first]:g}, {name} with {other} "
                    f"{rank[first, second]:g}; write the same number in both places"
                )
    smallest = smallest_eigenvalue(rank)
    if smallest <= LEAST_EIGENVALUE:
        raise EntryError(
            f"is not positive definite (smallest eigenvalue {smallest:.3g}), so no inputs can be correlated so; "
            f"with every entry off the diagonal times {mending_factor(rank):g} it would be"
        )
    return rank
