"""What the cost of burns that take time depends on at every date of a calendar, worked out once for all designs."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.physics.compiled import FloatArray, kernel
from tradespace.physics.transfer import even_burn_shape_kernel


@kernel
def fill_shapes(flight: Any, sums: Any, starts: Any, arcs: Any, shares: Any) -> None:
    """Fill what the cost of burns that take time depends on at every date of every leg; arrays of shape (legs, dates).

    ``starts`` is the first of both burns, ``sums`` their sum [m/s]; see ``even_burn_shape_kernel``.
    """
    for leg in range(sums.shape[0]):
        for place in range(sums.shape[1]):
            first = starts[leg, place]
            arcs[leg, place], shares[leg, place] = even_burn_shape_kernel(
                first, sums[leg, place] - first, flight[leg, place]
            )


BLOCK = 16
"""Dates whose least sum and largest first burn are known together, so that a search can pass over them."""


def shapes_of(
    flights: FloatArray, sums: FloatArray, starts: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Arcs and shares of all legs and dates, and the extremes of every block of dates, as the campaign reads them.

    Parameters
    ----------
    flights, sums, starts : ndarray, shape (..., dates)
        Flight times [s], sums of both cruise burns and the first of them [m/s].

    Returns
    -------
    arcs, shares : ndarray, shape (..., dates)
        [m2/s2] and [m/s]; see ``even_burn_shape_kernel``.
    least, largest : ndarray, shape (..., blocks)
        Least sum and largest first burn of every ``BLOCK`` dates [m/s].
    """
    dates = sums.shape[-1]
    flat = [
        np.ascontiguousarray(table, dtype=np.float64).reshape(-1, dates) for table in (flights, sums, starts)
    ]
    arcs, shares = np.empty_like(flat[1]), np.empty_like(flat[1])
    fill_shapes(*flat, arcs, shares)
    places = np.arange(0, dates, BLOCK)
    least = np.minimum.reduceat(sums, places, axis=-1)
    largest = np.maximum.reduceat(starts, places, axis=-1)
    return arcs.reshape(sums.shape), shares.reshape(sums.shape), least, largest
