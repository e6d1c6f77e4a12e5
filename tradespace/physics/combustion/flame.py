"""Laminar flame speed of hydrogen and oxygen: how fast a flame can run back through a feed of mixed gas."""

from __future__ import annotations

from functools import cache

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import within
from tradespace.physics.interpolation import Grid, grid_of, grid_values_kernel
from tradespace.tables import read_table

TABLE = "combustion_flame.csv"
DIRECTIONS = ("hydrogen_fraction", "pressure", "none", "none")


@cache
def _grid() -> Grid:
    return grid_of(TABLE, "flame_speed", DIRECTIONS, ("pressure",))


@cache
def _limits(name: str) -> tuple[float, float]:
    nodes = [float(row[name]) for row in read_table(TABLE).rows]
    return min(nodes), max(nodes)


def laminar_flame_speed(hydrogen_fraction: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Speed of a flat flame into hydrogen and oxygen at rest, 298.15 K.

    Parameters
    ----------
    hydrogen_fraction : array_like, shape (...)
        Hydrogen in the mixture by volume [1].
    pressure : array_like, shape (...)
        Pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Flame speed [m s-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    Computed, to some 15 %; a turbulent flame is several times faster, and in a tube it turns into a detonation.
    Never a proof that a feed is safe.

    References
    ----------
    .. [1] goodwin_2024 (mechanism h2o2.yaml of Cantera).

    Examples
    --------
    >>> print(f"{laminar_flame_speed(2 / 3, 101325.0):.0f}")
    10
    """
    fraction = within("hydrogen fraction", "1", hydrogen_fraction, *_limits("hydrogen_fraction"))
    force = within("pressure", "Pa", pressure, *_limits("pressure"))
    arrays = np.broadcast_arrays(fraction, np.log(force), 0.0, 0.0)
    places = [np.ascontiguousarray(item.ravel()) for item in arrays]
    found = grid_values_kernel(_grid(), places[0], places[1], places[2], places[3])
    return found.reshape(arrays[0].shape)
