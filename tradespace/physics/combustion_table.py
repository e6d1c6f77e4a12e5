"""Look-ups in the shipped tables of burned hydrogen and oxygen, for dry or wet feed and lost heat.

Compiled code calls the kernels with the grids of :class:`CombustionTables` as one argument.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel, require
from tradespace.physics.interpolation import Grid, grid_kernel, grid_of, logarithm_kernel
from tradespace.tables import read_table

CHAMBER = "combustion_chamber.csv"
NOZZLE = "combustion_nozzle.csv"
FEED_CHAMBER = "combustion_feed_chamber.csv"
FEED_NOZZLE = "combustion_feed_nozzle.csv"
FEED = {CHAMBER: FEED_CHAMBER, NOZZLE: FEED_NOZZLE}
DIRECTIONS = ("mixture_ratio", "chamber_pressure", "expansion_ratio", "enthalpy_deficit")
LIMITS = {
    "mixture_ratio": ("mixture ratio", "", 1.0),
    "chamber_pressure": ("chamber pressure", " bar", 1e5),
    "expansion_ratio": ("expansion ratio", "", 1.0),
}


WHOLE = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
"""Mass of oxygen per mass of hydrogen in water [1]."""


@cache
def combustion_grid(table: str, column: str) -> Grid:
    """The grid of one column of a combustion table, pressure and area ratio by their logarithms."""
    return grid_of(table, column, DIRECTIONS, DIRECTIONS[1:3])


class CombustionTables(NamedTuple):
    """The grids that :func:`~tradespace.physics.combustion.specific_impulse_vacuum_kernel` and its kin read."""

    impulse_shifting: Grid
    impulse_shifting_feed: Grid
    impulse_frozen: Grid
    impulse_frozen_feed: Grid
    velocity_shifting: Grid
    velocity_shifting_feed: Grid
    velocity_frozen: Grid
    velocity_frozen_feed: Grid


@cache
def combustion_tables() -> CombustionTables:
    """The shipped grids, as one argument of the compiled kernels."""
    grids = [
        combustion_grid(table, f"{column}_{kind}")
        for dry, column in ((NOZZLE, "specific_impulse_vacuum"), (CHAMBER, "characteristic_velocity"))
        for kind in ("equilibrium", "frozen")
        for table in (dry, FEED[dry])
    ]
    return CombustionTables(*grids)


@kernel
def feed_mixture_ratio_kernel(mixture_ratio: float, feed_humidity: float) -> float:
    """Mass of oxygen per mass of hydrogen of all that enters, the elements of the vapour counted."""
    dry = (1.0 - feed_humidity) / (1.0 + max(mixture_ratio, 0.0))
    wet = feed_humidity / (1.0 + WHOLE)
    return (max(mixture_ratio, 0.0) * dry + WHOLE * wet) / max(dry + wet, 1e-300)


@kernel
def enthalpy_deficit_kernel(mixture_ratio: float, feed_humidity: float, heat_loss: float) -> float:
    """Missing share of the heat of burning what can burn: burned already (vapour), or lost to the walls."""
    ratio = max(mixture_ratio, 0.0)
    burnable = (1.0 - feed_humidity) * min(ratio * (1.0 + 1.0 / WHOLE), 1.0 + WHOLE) / (1.0 + ratio)
    return (feed_humidity + heat_loss * burnable) / max(burnable + feed_humidity, 1e-300)


@kernel
def feed_value_kernel(
    dry: Grid, feed: Grid, mixture_ratio: float, chamber_pressure: float, expansion_ratio: float,
    feed_humidity: float, heat_loss: float,
) -> float:  # fmt: skip
    """One column of a combustion table for a feed that may carry vapour and lose heat."""
    ratio, pressure = mixture_ratio, logarithm_kernel(chamber_pressure)
    area = 0.0
    if dry.third.size > 1:
        area = logarithm_kernel(expansion_ratio)
    factor = 1.0
    if feed_humidity != 0.0 or heat_loss != 0.0:
        ratio = feed_mixture_ratio_kernel(mixture_ratio, feed_humidity)
        deficit = enthalpy_deficit_kernel(mixture_ratio, feed_humidity, heat_loss)
        factor = grid_kernel(feed, ratio, pressure, area, deficit)
    return factor * grid_kernel(dry, ratio, pressure, area, 0.0)


@kernel
def feed_values_kernel(
    dry: Grid, feed: Grid, mixture_ratio: FloatArray, chamber_pressure: FloatArray,
    expansion_ratio: FloatArray, feed_humidity: FloatArray, heat_loss: FloatArray,
) -> FloatArray:  # fmt: skip
    """The same for each element of arrays of shape (n,)."""
    answers = np.empty(mixture_ratio.size)
    for place in range(answers.size):
        answers[place] = feed_value_kernel(
            dry, feed, mixture_ratio[place], chamber_pressure[place], expansion_ratio[place],
            feed_humidity[place], heat_loss[place],
        )  # fmt: skip
    return answers


@cache
def limits(name: str) -> tuple[float, float]:
    """Lowest and highest value the tables hold of one of their directions.

    Parameters
    ----------
    name : str
        ``mixture_ratio`` in [1], ``chamber_pressure`` in [Pa], ``expansion_ratio`` or ``enthalpy_deficit``.

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
    .. [1] The axes of ``combustion_nozzle.csv`` and ``combustion_feed_nozzle.csv``.

    Examples
    --------
    >>> limits("expansion_ratio")
    (5.0, 200.0)
    """
    table = FEED_NOZZLE if name == DIRECTIONS[3] else NOZZLE
    nodes = [float(row[name]) for row in read_table(table).rows]
    return min(nodes), max(nodes)


def check(name: str, argument: FloatArray) -> None:
    """Raise unless every element of an argument lies inside the tables.

    Raises
    ------
    DomainError
        If one does not; the message names it.
    """
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


def check_feed(mixture_ratio: FloatArray, feed_humidity: FloatArray, heat_loss: FloatArray) -> None:
    """Raise unless the vapour and the lost heat, alone and together, lie inside the tables.

    Raises
    ------
    DomainError
        If they do not; the message names the argument and what is allowed.
    """
    low, high = limits(DIRECTIONS[3])
    for words, argument, least in (("feed humidity", feed_humidity, 0.0), ("heat loss", heat_loss, low)):
        inside = (argument >= least) & (argument <= high)
        if not np.all(inside):
            worst = float(argument[~inside].flat[0])
            require(
                condition=False,
                message=f"{words} {worst:.6g} is outside the combustion table, which holds {least:g} to {high:g}",
            )
    if not (np.any(feed_humidity) or np.any(heat_loss)):
        return
    deficit = broadcast(enthalpy_deficit_kernel, mixture_ratio, feed_humidity, heat_loss)
    if not np.all(deficit <= high):
        place = int(np.argmax(deficit))
        shares = [np.broadcast_to(item, deficit.shape).flat[place] for item in (feed_humidity, heat_loss)]
        require(
            condition=False,
            message=f"feed humidity {shares[0]:.6g} with heat loss {shares[1]:.6g} leaves out"
            f" {deficit.flat[place]:.3g} of the heat of burning; the combustion table holds at most {high:g}",
        )


def look_up(
    table: str,
    column: str,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike = 1.0,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Interpolate one column of a table, for dry or wet feed, with or without heat lost.

    Parameters
    ----------
    table : str
        ``combustion_chamber.csv`` or ``combustion_nozzle.csv`` [text].
    column : str
        Column of that table [text].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area; without meaning for the chamber table [1].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost per heat of burning what can burn [1].

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
    given = (mixture_ratio, chamber_pressure, expansion_ratio, feed_humidity, heat_loss)
    arrays = [np.asarray(item, dtype=np.float64) for item in given]
    check("mixture_ratio", arrays[0])
    check("chamber_pressure", arrays[1])
    if table == NOZZLE:
        check("expansion_ratio", arrays[2])
    check_feed(arrays[0], arrays[3], arrays[4])
    dry, feed = combustion_grid(table, column), combustion_grid(FEED[table], column)
    shape = np.broadcast_shapes(*(item.shape for item in arrays))
    constant = all(item.size > 0 and np.ptp(item) == 0.0 for item in arrays)
    if constant:
        arrays = [item.flat[:1] for item in arrays]
    columns = [np.ascontiguousarray(item.ravel()) for item in np.broadcast_arrays(*arrays)]
    answers = feed_values_kernel(dry, feed, columns[0], columns[1], columns[2], columns[3], columns[4])
    return np.full(shape, answers[0]) if constant else answers.reshape(shape)
