"""Burned hydrogen and oxygen in an engine on the ground: pressure that a flow builds up, and the thrust it can give.

The characteristic velocity and the exponent come from the shipped equilibrium tables at the pressure that is sought;
below the lowest pressure of the tables (0.5 bar) they stay as they are there, 1 % too high at a quarter of it.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np

from tradespace.physics.bench.jet import expanded_jet_speed_kernel
from tradespace.physics.bench.throat import (
    chamber_pressure_of_flow_kernel,
    choking_pressure_kernel,
)
from tradespace.physics.combustion.chamber import known_kind
from tradespace.physics.combustion.expansion import between_kernel, characteristic_velocity_kernel
from tradespace.physics.combustion_table import (
    CHAMBER,
    FEED,
    WHOLE,
    CombustionTables,
    check,
    check_feed,
    combustion_grid,
    combustion_tables,
    feed_value_kernel,
)
from tradespace.physics.compiled import ArrayLike, FloatArray, kernel
from tradespace.physics.domain import above, at_least, floats, share
from tradespace.physics.interpolation import Grid

_START = 1e5  # Pa, of the iteration
_ROUNDS = 50
_CLOSE = 1e-13


class ExponentTables(NamedTuple):
    """The grids of both exponents of the burned gas in the chamber, dry and with the factors of the feed."""

    shifting: Grid
    shifting_feed: Grid
    frozen: Grid
    frozen_feed: Grid


@cache
def exponent_tables() -> ExponentTables:
    """The shipped grids of the exponents, as one argument of the compiled kernels."""
    grids = [
        combustion_grid(table, column)
        for column in ("isentropic_exponent", "heat_capacity_ratio")
        for table in (CHAMBER, FEED[CHAMBER])
    ]
    return ExponentTables(*grids)


@kernel
def exponent_kernel(
    tables: ExponentTables, mixture_ratio: float, chamber_pressure: float, recombination_share: float,
    feed_humidity: float, heat_loss: float,
) -> float:  # fmt: skip
    """Exponent of the burned gas, frozen, shifting or between [1]; the edge of the tables beyond them."""
    frozen = feed_value_kernel(
        tables.frozen, tables.frozen_feed, mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss
    )
    if recombination_share == 0.0:
        return frozen
    shifting = feed_value_kernel(
        tables.shifting, tables.shifting_feed, mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss
    )
    return between_kernel(frozen, shifting, recombination_share)


@kernel
def burned_chamber_kernel(
    velocities: CombustionTables, exponents: ExponentTables, mass_flow: float, ambient_pressure: float,
    throat_diameter: float, discharge_coefficient: float, mixture_ratio: float,
    characteristic_velocity_efficiency: float, recombination_share: float, feed_humidity: float,
    heat_loss: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Chamber pressure of a burned flow [Pa], 1 where choked, its characteristic velocity [m s-1], its exponent."""
    pressure, choked, velocity, gamma = max(ambient_pressure, _START), 0.0, 0.0, 0.0
    for _ in range(_ROUNDS):
        velocity = characteristic_velocity_efficiency * characteristic_velocity_kernel(
            velocities, mixture_ratio, pressure, recombination_share, feed_humidity, heat_loss
        )
        gamma = exponent_kernel(
            exponents, mixture_ratio, pressure, recombination_share, feed_humidity, heat_loss
        )
        before = pressure
        pressure, choked = chamber_pressure_of_flow_kernel(
            mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, gamma, velocity
        )
        if abs(pressure - before) <= _CLOSE * pressure:
            break
    return pressure, choked, velocity, gamma


@kernel
def burned_thrust_kernel(
    velocities: CombustionTables, exponents: ExponentTables, mass_flow: float, ambient_pressure: float,
    throat_diameter: float, discharge_coefficient: float, mixture_ratio: float,
    characteristic_velocity_efficiency: float, recombination_share: float, feed_humidity: float,
    heat_loss: float,
) -> float:  # fmt: skip
    """Most thrust of a burned flow on the ground: the jet expands without loss to the ambient pressure [N]."""
    pressure, _, velocity, gamma = burned_chamber_kernel(
        velocities, exponents, mass_flow, ambient_pressure, throat_diameter, discharge_coefficient,
        mixture_ratio, characteristic_velocity_efficiency, recombination_share, feed_humidity, heat_loss,
    )  # fmt: skip
    return max(mass_flow, 0.0) * expanded_jet_speed_kernel(pressure, ambient_pressure, gamma, velocity)


@kernel
def burned_choking_pressure_kernel(
    exponents: ExponentTables, ambient_pressure: float, mixture_ratio: float, recombination_share: float,
    feed_humidity: float, heat_loss: float,
) -> float:  # fmt: skip
    """Chamber pressure at which the throat of a burned gas begins to choke [Pa]."""
    pressure = max(ambient_pressure, _START)
    for _ in range(_ROUNDS):
        gamma = exponent_kernel(
            exponents, mixture_ratio, pressure, recombination_share, feed_humidity, heat_loss
        )
        before = pressure
        pressure = choking_pressure_kernel(ambient_pressure, gamma)
        if abs(pressure - before) <= _CLOSE * pressure:
            break
    return pressure


@kernel
def fill_burned_kernel(
    velocities: CombustionTables, exponents: ExponentTables, rows: FloatArray, answers: FloatArray
) -> None:
    """Pressure, choked, characteristic velocity, exponent and most thrust for rows of the nine arguments."""
    for place in range(rows.shape[0]):
        one = rows[place]
        found = burned_chamber_kernel(
            velocities, exponents, one[0], one[1], one[2], one[3], one[4], one[5], one[6], one[7], one[8]
        )
        for part in range(4):
            answers[place, part] = found[part]
        speed = expanded_jet_speed_kernel(found[0], one[1], found[3], found[2])
        answers[place, 4] = max(one[0], 0.0) * speed


@kernel
def fill_choking_kernel(exponents: ExponentTables, rows: FloatArray, answers: FloatArray) -> None:
    """Pressures at which choking begins for rows of the five arguments."""
    for place in range(rows.shape[0]):
        one = rows[place]
        answers[place] = burned_choking_pressure_kernel(exponents, one[0], one[1], one[2], one[3], one[4])


def _rows(*arguments: FloatArray) -> tuple[FloatArray, tuple[int, ...]]:
    """Arguments broadcast side by side, shape (n, m), and the shape they stand for."""
    wide = np.broadcast_arrays(*arguments)
    return np.stack([item.reshape(-1) for item in wide], axis=1), wide[0].shape


def _gas(
    mixture_ratio: ArrayLike, kind: str, feed_humidity: ArrayLike, heat_loss: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    ratio, humidity, loss = floats(mixture_ratio), floats(feed_humidity), floats(heat_loss)
    check("mixture_ratio", ratio)
    check_feed(ratio, humidity, loss)
    return ratio, floats(0.0 if known_kind(kind) == "frozen" else 1.0), humidity, loss


def _burned(
    mass_flow: ArrayLike, ambient_pressure: ArrayLike, throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike, mixture_ratio: ArrayLike, efficiency: ArrayLike, kind: str,
    feed_humidity: ArrayLike, heat_loss: ArrayLike,
) -> FloatArray:  # fmt: skip
    """The five answers, shape (..., 5), once the arguments are checked."""
    ratio, recombination, humidity, loss = _gas(mixture_ratio, kind, feed_humidity, heat_loss)
    rows, shape = _rows(
        at_least("mass_flow", "kg/s", mass_flow), at_least("ambient_pressure", "Pa", ambient_pressure),
        above("throat_diameter", "m", throat_diameter),
        share("discharge_coefficient", discharge_coefficient), ratio,
        above("characteristic_velocity_efficiency", "1", efficiency), recombination, humidity, loss,
    )  # fmt: skip
    answers = np.empty((rows.shape[0], 5))
    fill_burned_kernel(combustion_tables(), exponent_tables(), rows, answers)
    return answers.reshape(*shape, 5)


def burned_chamber(
    mass_flow: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike = 1.0,
    mixture_ratio: ArrayLike = WHOLE,
    characteristic_velocity_efficiency: ArrayLike = 1.0,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Chamber pressure that a flow of burned hydrogen and oxygen builds up, and whether the throat is choked.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine, 0 in vacuum [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    characteristic_velocity_efficiency : array_like, shape (...)
        Share of the characteristic velocity of the tables that mixing and burning deliver [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    chamber_pressure : ndarray, shape (...)
        Absolute pressure [Pa].
    choked : ndarray, shape (...)
        1 where the throat is choked, 0 where it is not [1].
    characteristic_velocity : ndarray, shape (...)
        Characteristic velocity at that pressure, times its efficiency [m s-1].
    gamma : ndarray, shape (...)
        Exponent of the expansion: shifting, or frozen [1].

    Raises
    ------
    DomainError
        If mixture ratio, humidity or lost heat lie outside the tables, a flow or the ambient pressure is negative, a
        discharge coefficient lies outside (0, 1], or another argument is not above zero.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    The constant exponent joins the characteristic velocity of the tables to the subsonic formula: a choked flow agrees
    with the tables, the onset of choking with the exponent (0.06 bar apart between shifting and frozen at sea level).

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); naca_1135, mass flow per area.

    Examples
    --------
    >>> pressure, choked, _, _ = burned_chamber(1.5e-4, 101325.0, 1.5e-3, 0.85)
    >>> print(f"{pressure / 1e5:.2f} bar, {choked:.0f}")
    2.10 bar, 1
    """
    found = _burned(
        mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, mixture_ratio,
        characteristic_velocity_efficiency, kind, feed_humidity, heat_loss,
    )  # fmt: skip
    return found[..., 0], found[..., 1], found[..., 2], found[..., 3]


def burned_thrust(
    mass_flow: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike = 1.0,
    mixture_ratio: ArrayLike = WHOLE,
    characteristic_velocity_efficiency: ArrayLike = 1.0,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Most thrust that a flow of burned hydrogen and oxygen gives on the ground through a throat.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    characteristic_velocity_efficiency : array_like, shape (...)
        Share of the characteristic velocity of the tables that mixing and burning deliver [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust of the jet expanded without loss to the ambient pressure [N].

    Raises
    ------
    DomainError
        As for :func:`burned_chamber`.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    The pressure is the one :func:`burned_chamber` finds. A smaller throat or discharge raises it and the thrust with
    it, so the bound belongs to the throat as measured. The exponent stays that of the chamber: some per cent of a
    vacuum thrust, under one per cent at a pressure ratio of two.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); sutton_2010, chapter 3, exit velocity.

    Examples
    --------
    >>> print(f"{burned_thrust(1.5e-4, 101325.0, 1.5e-3, 0.85):.2f}")
    0.24
    """
    found = _burned(
        mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, mixture_ratio,
        characteristic_velocity_efficiency, kind, feed_humidity, heat_loss,
    )  # fmt: skip
    return np.asarray(found[..., 4])


def burned_choking_pressure(
    ambient_pressure: ArrayLike,
    mixture_ratio: ArrayLike = WHOLE,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Chamber pressure of burned hydrogen and oxygen above which a throat is choked.

    Parameters
    ----------
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Absolute pressure [Pa].

    Raises
    ------
    DomainError
        If the ambient pressure is negative, or mixture ratio, humidity or lost heat lie outside the tables.
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] naca_1135, equation 44 at Mach 1; mcbride_2002, goodwin_2024 (exponents computed with Cantera).

    Examples
    --------
    >>> for kind in ("equilibrium", "frozen"):
    ...     print(f"{burned_choking_pressure(101325.0, kind=kind) / 1e5:.2f}")
    1.74
    1.80
    """
    around = at_least("ambient_pressure", "Pa", ambient_pressure)
    rows, shape = _rows(around, *_gas(mixture_ratio, kind, feed_humidity, heat_loss))
    answers = np.empty(rows.shape[0])
    fill_choking_kernel(exponent_tables(), rows, answers)
    return answers.reshape(shape)
