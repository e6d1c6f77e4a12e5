"""Interpolation in the shipped table of burned hydrogen and oxygen: cubic in each of three directions."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, kernel, require
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


@kernel
def stencil_kernel(nodes: FloatArray, place: float) -> tuple[int, tuple[float, float, float, float]]:
    """First node and the four weights of a cubic through the nodes around ``place``."""
    count = nodes.size
    if count < 4:
        return 0, (1.0, 0.0, 0.0, 0.0)
    first = min(max(int(np.searchsorted(nodes, place)) - 2, 0), count - 4)
    a, b, c, d = nodes[first], nodes[first + 1], nodes[first + 2], nodes[first + 3]
    w = (place - b) * (place - c) * (place - d) / ((a - b) * (a - c) * (a - d))
    x = (place - a) * (place - c) * (place - d) / ((b - a) * (b - c) * (b - d))
    y = (place - a) * (place - b) * (place - d) / ((c - a) * (c - b) * (c - d))
    z = (place - a) * (place - b) * (place - c) / ((d - a) * (d - b) * (d - c))
    return first, (w, x, y, z)


@kernel
def table_kernel(
    mixture_ratios: FloatArray, log_pressures: FloatArray, log_expansions: FloatArray, values: FloatArray,
    mixture_ratio: float, log_pressure: float, log_expansion: float,
) -> float:  # fmt: skip
    """Tensor-product cubic interpolation at one point."""
    first_ratio, ratio_weights = stencil_kernel(mixture_ratios, mixture_ratio)
    first_pressure, pressure_weights = stencil_kernel(log_pressures, log_pressure)
    first_area, area_weights = stencil_kernel(log_expansions, log_expansion)
    depth = min(values.shape[2], 4)
    total = 0.0
    for i in range(4):
        for j in range(4):
            weight = ratio_weights[i] * pressure_weights[j]
            for k in range(depth):
                total += (
                    weight * area_weights[k] * values[first_ratio + i, first_pressure + j, first_area + k]
                )
    return total


@kernel
def table_batch_kernel(
    mixture_ratios: FloatArray, log_pressures: FloatArray, log_expansions: FloatArray, values: FloatArray,
    points: FloatArray, answers: FloatArray,
) -> None:  # fmt: skip
    """Fill ``answers`` at the rows of ``points``; equal neighbours are looked up once."""
    for row in range(points.shape[0]):
        same = row > 0
        if same:
            for column in range(3):
                same = same and points[row, column] == points[row - 1, column]
        if same:
            answers[row] = answers[row - 1]
        else:
            answers[row] = table_kernel(
                mixture_ratios, log_pressures, log_expansions, values,
                points[row, 0], points[row, 1], points[row, 2],
            )  # fmt: skip


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
    points = np.stack([item.ravel() for item in columns], axis=1)
    answers = np.empty(points.shape[0])
    table_batch_kernel(*grid, points, answers)
    return np.full(shape, answers[0]) if constant else answers.reshape(shape)
