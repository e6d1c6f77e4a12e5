"""Interpolation in the shipped table of burned hydrogen and oxygen: cubic in each of three directions."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import ArrayLike, FloatArray, require
from tradespace.tables import read_table

CHAMBER = "combustion_chamber.csv"
NOZZLE = "combustion_nozzle.csv"
LIMITS = {
    "mixture_ratio": ("mixture ratio", "", 1.0),
    "chamber_pressure": ("chamber pressure", " bar", 1e5),
    "expansion_ratio": ("expansion ratio", "", 1.0),
}


class Grid(NamedTuple):
    """Nodes of a table and its values on them; a chamber table has one dummy expansion ratio."""

    mixture_ratio: FloatArray
    log_pressure: FloatArray
    log_expansion: FloatArray
    values: FloatArray


@cache
def _grid(table: str, column: str) -> Grid:
    rows = read_table(table).rows
    names = ("mixture_ratio", "chamber_pressure", "expansion_ratio")
    present = [name for name in names if name in rows[0]]
    axes = [np.unique([float(row[name]) for row in rows]) for name in present]
    values = np.array([float(row[column]) for row in rows]).reshape([axis.size for axis in axes])
    if len(axes) < len(names):
        axes.append(np.ones(1))
        values = values[..., np.newaxis]
    return Grid(axes[0], np.log(axes[1]), np.log(axes[2]), np.ascontiguousarray(values))


def _stencil(nodes: FloatArray, places: FloatArray) -> tuple[NDArray[np.intp], list[FloatArray]]:
    """First node and the weights of the cubic through the nodes around each place; one node where there is one."""
    if nodes.size < 4:
        return np.zeros(places.size, dtype=np.intp), [np.ones(places.size)]
    first = np.clip(np.searchsorted(nodes, places) - 2, 0, nodes.size - 4)
    around = [nodes[first + offset] for offset in range(4)]
    weights = []
    for own in range(4):
        weight = np.ones(places.size)
        for other in range(4):
            if other != own:
                weight *= (places - around[other]) / (around[own] - around[other])
        weights.append(weight)
    return first, weights


def _interpolated(
    grid: Grid, mixture_ratio: FloatArray, log_pressure: FloatArray, log_area: FloatArray
) -> FloatArray:
    """Tensor-product cubic interpolation at points of shape (n,)."""
    ratio, ratio_weights = _stencil(grid.mixture_ratio, mixture_ratio)
    pressure, pressure_weights = _stencil(grid.log_pressure, log_pressure)
    area, area_weights = _stencil(grid.log_expansion, log_area)
    total = np.zeros(mixture_ratio.size)
    for i, along_ratio in enumerate(ratio_weights):
        for j, along_pressure in enumerate(pressure_weights):
            both = along_ratio * along_pressure
            for k, along_area in enumerate(area_weights):
                total += both * along_area * grid.values[ratio + i, pressure + j, area + k]
    return total


@cache
def limits(name: str) -> tuple[float, float]:
    """Lowest and highest value the table holds of one of its three directions.

    Parameters
    ----------
    name : str
        ``mixture_ratio`` in [1], ``chamber_pressure`` in [Pa] or ``expansion_ratio`` in [1].

    Returns
    -------
    tuple of float
        Lowest and highest, in the same unit [1].

    Raises
    ------
    KeyError
        If the table has no such direction.

    References
    ----------
    .. [1] The axes of ``combustion_nozzle.csv``.

    Examples
    --------
    >>> limits("expansion_ratio")
    (5.0, 200.0)
    """
    nodes = [float(row[name]) for row in read_table(NOZZLE).rows]
    return min(nodes), max(nodes)


def _check(name: str, argument: FloatArray) -> None:
    low, high = limits(name)
    inside = (argument >= low) & (argument <= high)
    if not np.all(inside):
        words, unit, scale = LIMITS[name]
        worst = float(argument[~inside].flat[0])
        require(
            condition=False,
            message=f"{words} {worst / scale:.6g}{unit} is outside the combustion table,"
            f" which holds {low / scale:g} to {high / scale:g}{unit}",
        )


def look_up(
    table: str,
    column: str,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike = 1.0,
) -> FloatArray:
    """Interpolate one column of a table.

    Parameters
    ----------
    table : str
        ``combustion_chamber.csv`` or ``combustion_nozzle.csv`` [text].
    column : str
        Column of that table [text].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area; without meaning for the chamber table [1].

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
    .. [1] The table's own head names its source; the interpolation is Lagrange's, four nodes a direction.

    Examples
    --------
    >>> print(f"{look_up(CHAMBER, 'chamber_temperature', 8.3, 1e6):.1f}")
    3384.0
    """
    arrays = [
        np.asarray(item, dtype=np.float64) for item in (mixture_ratio, chamber_pressure, expansion_ratio)
    ]
    _check("mixture_ratio", arrays[0])
    _check("chamber_pressure", arrays[1])
    if table == NOZZLE:
        _check("expansion_ratio", arrays[2])
    grid = _grid(table, column)
    shape = np.broadcast_shapes(*(item.shape for item in arrays))
    constant = all(item.size > 0 and np.ptp(item) == 0.0 for item in arrays)
    if constant:
        arrays = [item.flat[:1] for item in arrays]
    columns = np.broadcast_arrays(arrays[0], np.log(arrays[1]), np.log(arrays[2]))
    answers = _interpolated(grid, *(item.ravel() for item in columns))
    return np.full(shape, answers[0]) if constant else answers.reshape(shape)
