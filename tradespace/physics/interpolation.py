"""Interpolation in shipped tables: cubic in each of four directions.

:func:`table_kernel` is the one look-up of every table; compiled code calls it, or the kernels built on it,
with the arrays of a :class:`Grid` as arguments.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from tradespace.physics.compiled import FloatArray, kernel
from tradespace.tables import read_table

_ONE, _TWO, _THREE = np.uint64(1), np.uint64(2), np.uint64(3)


class Grid(NamedTuple):
    """Nodes of a table in its four directions and the values on them; a direction not used has one node."""

    first: FloatArray
    second: FloatArray
    third: FloatArray
    fourth: FloatArray
    values: FloatArray


def grid_of(table: str, column: str, directions: tuple[str, ...], logarithmic: tuple[str, ...]) -> Grid:
    """Nodes and values of one column of a table whose rows run through its directions in order.

    Parameters
    ----------
    table, column : str
        Table and column [text].
    directions : tuple of str
        The four columns of nodes; one that the table lacks gets one node at 0 [text].
    logarithmic : tuple of str
        Those of them in which the logarithm is interpolated [text].

    Returns
    -------
    Grid
        Arrays for :func:`table_kernel`, in the units of the table [1].

    Raises
    ------
    TradespaceError
        If the table is missing.

    References
    ----------
    .. [1] closed form: Lagrange's polynomial through four nodes; the head of each table names the source of its values.

    Examples
    --------
    >>> directions = ("mixture_ratio", "chamber_pressure", "none", "none")
    >>> grid_of("combustion_chamber.csv", "molar_mass", directions, ()).values.shape
    (31, 11, 1, 1)
    """
    rows = read_table(table).rows
    axes = []
    for name in directions:
        nodes = np.unique([float(row[name]) for row in rows]) if name in rows[0] else np.zeros(1)
        axes.append(np.log(nodes) if name in logarithmic and name in rows[0] else nodes)
    values = np.array([float(row[column]) for row in rows]).reshape([axis.size for axis in axes])
    return Grid(axes[0], axes[1], axes[2], axes[3], np.ascontiguousarray(values))


@kernel
def first_node_kernel(nodes: FloatArray, place: float) -> int:
    """The first of the four nodes around a place (of all of them where there are fewer)."""
    low, left = 0, nodes.size  # halves of a length known beforehand: no branch to guess wrongly
    while left > 1:
        half = left // 2
        low = low + half if nodes[low + half - 1] < place else low
        left -= half
    low = low + 1 if nodes[low] < place else low
    return max(min(low - 2, nodes.size - 4), 0)


@kernel
def weights_kernel(nodes: FloatArray, first: int, place: float) -> tuple[float, float, float, float]:
    """Lagrange's weights of the nodes around a place, at most four; exactly 1 and 0 on a node."""
    if nodes.size >= 4:
        low, left, right, high = nodes[first], nodes[first + 1], nodes[first + 2], nodes[first + 3]
        a, b, c, d = place - low, place - left, place - right, place - high
        return (
            b * c * d / ((low - left) * (low - right) * (low - high)),
            a * c * d / ((left - low) * (left - right) * (left - high)),
            a * b * d / ((right - low) * (right - left) * (right - high)),
            a * b * c / ((high - low) * (high - left) * (high - right)),
        )
    if nodes.size == 3:
        low, left, right = nodes[0], nodes[1], nodes[2]
        a, b, c = place - low, place - left, place - right
        return (
            b * c / ((low - left) * (low - right)),
            a * c / ((left - low) * (left - right)),
            a * b / ((right - low) * (right - left)),
            0.0,
        )
    if nodes.size == 2:
        return (
            (nodes[1] - place) / (nodes[1] - nodes[0]),
            (place - nodes[0]) / (nodes[1] - nodes[0]),
            0.0,
            0.0,
        )
    return 1.0, 0.0, 0.0, 0.0


@kernel
def table_kernel(
    first: FloatArray, second: FloatArray, third: FloatArray, fourth: FloatArray, values: FloatArray,
    place_first: float, place_second: float, place_third: float, place_fourth: float,
) -> float:  # fmt: skip
    """Value of a table at a place, by a cubic through four nodes in each direction; the edge value beyond it."""
    a = min(max(place_first, first[0]), first[-1])
    b = min(max(place_second, second[0]), second[-1])
    c = min(max(place_third, third[0]), third[-1])
    d = min(max(place_fourth, fourth[0]), fourth[-1])
    start_a, start_b = first_node_kernel(first, a), first_node_kernel(second, b)
    start_c, start_d = first_node_kernel(third, c), first_node_kernel(fourth, d)
    a0, a1, a2, a3 = weights_kernel(first, start_a, a)
    b0, b1, b2, b3 = weights_kernel(second, start_b, b)
    c0, c1, c2, c3 = weights_kernel(third, start_c, c)
    d0, d1, d2, d3 = weights_kernel(fourth, start_d, d)
    count_a, count_b = min(4, first.size), min(4, second.size)
    count_c, run = min(4, third.size), min(4, fourth.size)
    r0, r1, r2, r3 = d0, d1, d2, d3
    if run == 1:  # sum along the last direction that the table has
        r0, r1, r2, r3, run = c0, c1, c2, c3, count_c
        c0, c1, c2, c3, count_c = 1.0, 0.0, 0.0, 0.0, 1
    if run == 1:
        r0, r1, r2, r3, run = b0, b1, b2, b3, count_b
        b0, b1, b2, b3, count_b = 1.0, 0.0, 0.0, 0.0, 1
    flat = values.ravel()
    sum0, sum1, sum2, sum3 = 0.0, 0.0, 0.0, 0.0
    for i in range(count_a):
        along_a = a0 if i == 0 else a1 if i == 1 else a2 if i == 2 else a3
        for j in range(count_b):
            both = along_a * (b0 if j == 0 else b1 if j == 1 else b2 if j == 2 else b3)
            if both == 0.0:
                continue
            line = ((start_a + i) * second.size + start_b + j) * third.size + start_c
            for k in range(count_c):
                weight = both * (c0 if k == 0 else c1 if k == 1 else c2 if k == 2 else c3)
                place = np.uint64((line + k) * fourth.size + start_d)  # unsigned: no look at negative places
                sum0 += weight * flat[place]
                if run == 4:
                    sum1 += weight * flat[place + _ONE]
                    sum2 += weight * flat[place + _TWO]
                    sum3 += weight * flat[place + _THREE]
                elif run > 1:
                    sum1 += weight * flat[place + _ONE]
                    if run > 2:
                        sum2 += weight * flat[place + _TWO]
    return float(r0 * sum0 + r1 * sum1 + r2 * sum2 + r3 * sum3)


@kernel
def grid_kernel(grid: Grid, first: float, second: float, third: float, fourth: float) -> float:
    """Value of a grid at a place; second and third direction as they stand in the grid."""
    return table_kernel(
        grid.first, grid.second, grid.third, grid.fourth, grid.values, first, second, third, fourth
    )


@kernel
def grid_values_kernel(
    grid: Grid, first: FloatArray, second: FloatArray, third: FloatArray, fourth: FloatArray
) -> FloatArray:
    """The same for each element of arrays of shape (n,)."""
    answers = np.empty(first.size)
    for place in range(answers.size):
        answers[place] = grid_kernel(grid, first[place], second[place], third[place], fourth[place])
    return answers


@kernel
def logarithm_kernel(number: float) -> float:
    """Natural logarithm, finite for any finite number."""
    return math.log(max(number, 1e-300))
