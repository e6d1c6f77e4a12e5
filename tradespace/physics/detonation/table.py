"""The shipped table of detonations, and how a place in it is checked and looked up."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import within
from tradespace.physics.interpolation import Grid, grid_of, grid_values_kernel
from tradespace.tables import read_table

TABLE = "detonation_cj.csv"
DIRECTIONS = ("mixture_ratio", "initial_pressure", "initial_temperature", "feed_humidity")


class DetonationTables(NamedTuple):
    """The grids that :func:`pulsed_detonation_kernel` reads."""

    speed: Grid
    pressure_ratio: Grid
    density_ratio: Grid
    isentropic_exponent: Grid


@cache
def _grid(column: str) -> Grid:
    return grid_of(TABLE, column, DIRECTIONS, ("initial_pressure", "initial_temperature"))


@cache
def _limits(name: str) -> tuple[float, float]:
    nodes = [float(row[name]) for row in read_table(TABLE).rows]
    return min(nodes), max(nodes)


@cache
def detonation_tables() -> DetonationTables:
    """The shipped grids, as one argument of the compiled kernels.

    Returns
    -------
    DetonationTables
        Nodes and values in the units of the table [1].

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> detonation_tables().speed.values.ndim
    4
    """
    return DetonationTables(*(_grid(name) for name in DetonationTables._fields))


def table_place(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """The four places as floats of one shape, all of them inside the table.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    tuple of ndarray
        The same, in SI [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] goodwin_2024 (the table's own nodes).

    Examples
    --------
    >>> len(table_place(8.0, 1e5, 300.0, 0.0))
    4
    """
    ratio, pressure, temperature, humidity = np.broadcast_arrays(
        within("mixture_ratio", "1", mixture_ratio, *_limits("mixture_ratio")),
        within("initial_pressure", "Pa", initial_pressure, *_limits("initial_pressure")),
        within("initial_temperature", "K", initial_temperature, *_limits("initial_temperature")),
        within("feed_humidity", "1", feed_humidity, *_limits("feed_humidity")),
    )
    return ratio, pressure, temperature, humidity


def table_column(
    column: str,
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike,
) -> FloatArray:
    """One column of the table at a place.

    Parameters
    ----------
    column : str
        Column of ``detonation_cj.csv`` [text].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].
    initial_temperature : array_like, shape (...)
        Temperature before the wave [K].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of gas [1].

    Returns
    -------
    ndarray, shape (...)
        The column's value in its own unit [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{table_column('speed', 7.937, 1e5, 298.15, 0.0):.0f}")
    2835
    """
    ratio, pressure, temperature, humidity = table_place(
        mixture_ratio, initial_pressure, initial_temperature, feed_humidity
    )
    places = [item.ravel() for item in (ratio, np.log(pressure), np.log(temperature), humidity)]
    found = grid_values_kernel(_grid(column), places[0], places[1], places[2], places[3])
    return found.reshape(ratio.shape)
