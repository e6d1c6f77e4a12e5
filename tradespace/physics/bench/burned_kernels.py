"""Burned hydrogen and oxygen behind a throat on the ground: kernels over the shipped equilibrium tables.

Compiled code gets the four grids of one kind of expansion as one argument; more would cost more than the look-ups.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from tradespace.physics.bench.bounds import STANDARD_TEMPERATURE, jet_speed_bound_kernel
from tradespace.physics.bench.jet import expanded_jet_speed_kernel
from tradespace.physics.bench.throat import chamber_pressure_of_flow_kernel, choking_pressure_kernel
from tradespace.physics.combustion.chamber import known_kind
from tradespace.physics.combustion_table import CHAMBER, FEED, combustion_grid, feed_value_kernel
from tradespace.physics.compiled import FloatArray, kernel
from tradespace.physics.interpolation import Grid

_START = 1e5  # Pa, of the iteration
_ROUNDS = 10
_CLOSE = 1e-9


class BurnedTables(NamedTuple):
    """The grids of one kind of expansion: characteristic velocity and exponent, dry and with feed factors."""

    velocity: Grid
    velocity_feed: Grid
    exponent: Grid
    exponent_feed: Grid


def burned_tables(kind: str) -> BurnedTables:
    """The shipped grids of one kind of expansion, as one argument of the compiled kernels.

    Parameters
    ----------
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].

    Returns
    -------
    BurnedTables
        Characteristic velocity and exponent over the directions of the tables, in the units of those [1].

    Raises
    ------
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> burned_tables("frozen").exponent.values.shape
    (31, 11, 1, 1)
    """
    return _tables("frozen" if known_kind(kind) == "frozen" else "equilibrium")


@cache
def _tables(kind: str) -> BurnedTables:
    exponent = "heat_capacity_ratio" if kind == "frozen" else "isentropic_exponent"
    grids = [
        combustion_grid(table, column)
        for column in (f"characteristic_velocity_{kind}", exponent)
        for table in (CHAMBER, FEED[CHAMBER])
    ]
    return BurnedTables(*grids)


@kernel
def burned_chamber_kernel(
    tables: BurnedTables, mass_flow: float, ambient_pressure: float, throat_diameter: float,
    discharge_coefficient: float, mixture_ratio: float, characteristic_velocity_efficiency: float,
    feed_humidity: float, heat_loss: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Chamber pressure of a burned flow [Pa], 1 where choked, its characteristic velocity [m s-1], its exponent.

    The tables hardly move with pressure (1.4 % per e-fold), so that two steps and the line through them come within
    1e-5 of the fixed point.
    """
    first, choked, velocity, gamma = 0.0, 0.0, 0.0, 0.0
    pressure = max(ambient_pressure, _START)
    slope = 0.0
    for step in range(3):
        if step != 1:
            gamma = feed_value_kernel(
                tables.exponent, tables.exponent_feed, mixture_ratio, pressure, 1.0, feed_humidity, heat_loss
            )
        velocity = characteristic_velocity_efficiency * feed_value_kernel(
            tables.velocity, tables.velocity_feed, mixture_ratio, pressure, 1.0, feed_humidity, heat_loss
        )
        before = pressure
        pressure, choked = chamber_pressure_of_flow_kernel(
            mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, gamma, velocity
        )
        if step == 0:
            first = pressure - before
        elif step == 1:
            if abs(first) > _CLOSE * before:
                slope = min(max((pressure - before) / first, -0.25), 0.25)
            pressure += (pressure - before) * slope / (1.0 - slope)
    return pressure, choked, velocity, gamma


@kernel
def best_thrust_kernel(
    mass_flow: float, chamber_pressure: float, ambient_pressure: float, gamma: float,
    characteristic_velocity: float, mixture_ratio: float,
) -> float:  # fmt: skip
    """Most thrust of a burned gas at a chamber pressure; never beyond the bound on its flow [N]."""
    speed = expanded_jet_speed_kernel(chamber_pressure, ambient_pressure, gamma, characteristic_velocity)
    return max(mass_flow, 0.0) * min(speed, jet_speed_bound_kernel(mixture_ratio, STANDARD_TEMPERATURE))


@kernel
def burned_choking_pressure_kernel(
    tables: BurnedTables,
    ambient_pressure: float,
    mixture_ratio: float,
    feed_humidity: float,
    heat_loss: float,
) -> float:
    """Chamber pressure at which the throat of a burned gas begins to choke [Pa]."""
    pressure = max(ambient_pressure, _START)
    for _ in range(_ROUNDS):
        gamma = feed_value_kernel(
            tables.exponent, tables.exponent_feed, mixture_ratio, pressure, 1.0, feed_humidity, heat_loss
        )
        before = pressure
        pressure = choking_pressure_kernel(ambient_pressure, gamma)
        if abs(pressure - before) <= _CLOSE * pressure:
            break
    return pressure


@kernel
def fill_burned_kernel(tables: BurnedTables, rows: FloatArray, answers: FloatArray) -> None:
    """Pressure, choked, characteristic velocity, exponent and most thrust for rows of the eight arguments."""
    for place in range(rows.shape[0]):
        one = rows[place]
        found = burned_chamber_kernel(tables, one[0], one[1], one[2], one[3], one[4], one[5], one[6], one[7])
        for part in range(4):
            answers[place, part] = found[part]
        answers[place, 4] = best_thrust_kernel(one[0], found[0], one[1], found[3], found[2], one[4])


@kernel
def fill_choking_kernel(tables: BurnedTables, rows: FloatArray, answers: FloatArray) -> None:
    """Pressures at which choking begins for rows of the four arguments."""
    for place in range(rows.shape[0]):
        one = rows[place]
        answers[place] = burned_choking_pressure_kernel(tables, one[0], one[1], one[2], one[3])
