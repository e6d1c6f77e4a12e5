"""What the cost of burns that take time depends on at every date of a calendar, worked out once for all designs."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.physics.compiled import FloatArray, kernel
from tradespace.physics.transfer import even_burn_shape_kernel

LEAVING, ARRIVING, FLIGHT, SUMS, STARTS, ARCS, SHARES = range(7)
"""Columns of the table of dates."""
LEAST, SOONEST, LEAST_START, LEAST_ARC, LEAST_SHARE, MOST_START, MOST_ARC, MOST_SHARE = range(8)
"""Columns of the table of blocks of dates: extremes of sum, flight, first burn, arc and share."""
SMALLEST = (SUMS, FLIGHT, STARTS, ARCS, SHARES)
GREATEST = (STARTS, ARCS, SHARES)
BLOCK = 16
"""Dates whose extremes are known together, so that a search can pass over them."""


@kernel
def fill_shapes(table: Any) -> None:
    """Fill what the cost of burns that take time depends on, in a table of dates of shape (n, 7)."""
    for row in range(table.shape[0]):
        first = table[row, STARTS]
        table[row, ARCS], table[row, SHARES] = even_burn_shape_kernel(
            first, table[row, SUMS] - first, table[row, FLIGHT]
        )


def calendar(
    leaving: FloatArray, arriving: FloatArray, flights: FloatArray, sums: FloatArray, starts: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The departure curves of some legs as the campaign reads them.

    Parameters
    ----------
    leaving, arriving : ndarray, shape (..., dates)
        Excess speeds at departure and arrival [m/s].
    flights : ndarray, shape (..., dates)
        Flight times [s].
    sums, starts : ndarray, shape (..., dates)
        Sums of both cruise burns as they are priced, and the first of them [m/s].

    Returns
    -------
    table : ndarray, shape (..., dates, 7)
        What was given, and the arcs [m2/s2] and shares [m/s] of :func:`fill_shapes`.
    blocks : ndarray, shape (..., blocks, 8)
        Extremes of every ``BLOCK`` dates and the one before them, so that they hold between the blocks as well.
    """
    table = np.zeros((*sums.shape, 7))
    for place, column in enumerate((leaving, arriving, flights, sums, starts)):
        table[..., place] = column
    fill_shapes(table.reshape(-1, 7))
    places = np.arange(0, sums.shape[-1], BLOCK)
    before = np.maximum(places - 1, 0)
    columns = [
        np.minimum(np.minimum.reduceat(table[..., column], places, axis=-1), table[..., before, column])
        for column in SMALLEST
    ] + [
        np.maximum(np.maximum.reduceat(table[..., column], places, axis=-1), table[..., before, column])
        for column in GREATEST
    ]
    return table, np.stack(columns, axis=-1)
