"""From the speed of a steam jet back to the steam: how hot it was, and how much heat it carried.

A jet speed is a mix of two ideal ones: frozen (what the heat has split stays split in the nozzle) and
equilibrium (all of it burns back together and gives its heat to the jet). ``recombination`` is the share of the
step from the first to the second: 0 for small thrusters at low pressure, 1 the bound.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import require_each, within
from tradespace.physics.electrothermal.tables import CHAMBER, NOZZLE, grid_nodes, grid_values, inside
from tradespace.physics.interpolation import first_node_kernel, weights_kernel

HOT = "steam_hot.csv"
_BOTH = ("exhaust_velocity_frozen", "exhaust_velocity_equilibrium")
_ONE_AREA = (slice(None), slice(None), slice(None), slice(0, 1))
_T = np.concatenate([grid_nodes(NOZZLE, "temperature"), grid_nodes(HOT, "temperature")])
_P = np.log(grid_nodes(NOZZLE, "pressure"))
_A = np.log(grid_nodes(NOZZLE, "expansion_ratio"))
_SPEED = np.ascontiguousarray(np.concatenate([grid_values(NOZZLE, _BOTH), grid_values(HOT, _BOTH)], axis=1))
_HEAT = np.ascontiguousarray(
    np.concatenate(
        [grid_values(CHAMBER, ("energy",)), grid_values(HOT, ("energy",))[_ONE_AREA]], axis=1
    )[0, :, :, 0]
)  # fmt: skip
_ROUNDS = int(value("steam_inverse_rounds", "electrothermal_values.csv"))


@kernel
def _node_speed(
    row: int, column: int, start: int, across: tuple[float, float, float, float],
    deep: tuple[float, float, float, float], frozen: float, shifting: float,
) -> float:  # fmt: skip
    """Speed at a node of the temperature, between those of pressure and area ratio."""
    total = 0.0
    for j in range(4):
        inner = 0.0
        for k in range(4):
            inner += deep[k] * (
                frozen * _SPEED[0, row, column + j, start + k]
                + shifting * _SPEED[1, row, column + j, start + k]
            )
        total += across[j] * inner
    return total


@kernel
def steam_of_speed_kernel(
    exhaust_velocity: float, pressure: float, expansion_ratio: float, recombination: float
) -> tuple[float, float]:
    """Temperature [K] and heat from liquid water [J kg-1] of the steam of a jet; held at the ends of the table."""
    p = min(max(math.log(max(pressure, 1.0)), _P[0]), _P[-1])
    a = min(max(math.log(max(expansion_ratio, 1.0)), _A[0]), _A[-1])
    column, start = first_node_kernel(_P, p), first_node_kernel(_A, a)
    across, deep = weights_kernel(_P, column, p), weights_kernel(_A, start, a)
    shifting = min(max(recombination, 0.0), 1.0)
    frozen = 1.0 - shifting
    low, high = 0, _T.size - 1
    while high - low > 1:
        middle = (low + high) // 2
        if _node_speed(middle, column, start, across, deep, frozen, shifting) < exhaust_velocity:
            low = middle
        else:
            high = middle
    first = min(max(low - 1, 0), _T.size - 4)
    s0 = _node_speed(first, column, start, across, deep, frozen, shifting)
    s1 = _node_speed(first + 1, column, start, across, deep, frozen, shifting)
    s2 = _node_speed(first + 2, column, start, across, deep, frozen, shifting)
    s3 = _node_speed(first + 3, column, start, across, deep, frozen, shifting)
    left, right = _T[low], _T[high]
    place = 0.5 * (left + right)
    for _ in range(_ROUNDS):  # secants, kept inside the interval
        w = weights_kernel(_T, first, place)
        found = w[0] * s0 + w[1] * s1 + w[2] * s2 + w[3] * s3
        if found < exhaust_velocity:
            left = place
        else:
            right = place
        step = (exhaust_velocity - found) * _slope(low - first, first, s0, s1, s2, s3)
        place = min(max(place + step, left), right)
        if abs(step) < 1.0 / _T[-1]:
            break
    w = weights_kernel(_T, first, place)
    heat = 0.0
    for i in range(4):
        for j in range(4):
            heat += w[i] * across[j] * _HEAT[first + i, column + j]
    return place, heat


@kernel
def _slope(inside_of: int, first: int, s0: float, s1: float, s2: float, s3: float) -> float:
    """Kelvin per speed across the interval."""
    if inside_of == 0:
        return float((_T[first + 1] - _T[first]) / max(s1 - s0, 1.0))
    if inside_of == 1:
        return float((_T[first + 2] - _T[first + 1]) / max(s2 - s1, 1.0))
    return float((_T[first + 3] - _T[first + 2]) / max(s3 - s2, 1.0))


@kernel
def steam_temperature_kernel(
    exhaust_velocity: float, pressure: float, expansion_ratio: float, recombination: float
) -> float:
    """Temperature of the steam whose ideal jet has a speed [K]; held at the ends of the table."""
    return steam_of_speed_kernel(exhaust_velocity, pressure, expansion_ratio, recombination)[0]


@kernel
def steam_jet_efficiency_kernel(
    exhaust_velocity: float, pressure: float, expansion_ratio: float, recombination: float
) -> float:
    """Kinetic energy of an ideal steam jet over the heat put into the steam [1].

    Faster than the hottest steam of the table the heat is held, so the share is that of the end of the table.
    """
    _, heat = steam_of_speed_kernel(exhaust_velocity, pressure, expansion_ratio, recombination)
    fastest = _fastest(pressure, expansion_ratio, recombination)
    speed = min(max(exhaust_velocity, 0.0), fastest)
    return 0.5 * speed * speed / max(heat, 1.0)


@kernel
def _end(row: int, pressure: float, expansion_ratio: float, recombination: float) -> float:
    """Speed at one node of the temperature."""
    p = min(max(math.log(max(pressure, 1.0)), _P[0]), _P[-1])
    a = min(max(math.log(max(expansion_ratio, 1.0)), _A[0]), _A[-1])
    column, start = first_node_kernel(_P, p), first_node_kernel(_A, a)
    shifting = min(max(recombination, 0.0), 1.0)
    return _node_speed(
        row, column, start, weights_kernel(_P, column, p), weights_kernel(_A, start, a), 1.0 - shifting, shifting
    )  # fmt: skip


@kernel
def _fastest(pressure: float, expansion_ratio: float, recombination: float) -> float:
    """Speed of the hottest steam of the table [m s-1]."""
    return _end(_T.size - 1, pressure, expansion_ratio, recombination)


@kernel
def _slowest(pressure: float, expansion_ratio: float, recombination: float) -> float:
    """Speed of the coldest steam of the table [m s-1]."""
    return _end(0, pressure, expansion_ratio, recombination)


def _checked(
    exhaust_velocity: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike,
    recombination: ArrayLike,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:  # fmt: skip
    """The four arguments as floats; a jet slower or faster than any steam of the table is refused."""
    _, held, wide = inside(_T[0], chamber_pressure, expansion_ratio)
    shared = within("recombination", "1", recombination, 0.0, 1.0)
    speed = np.asarray(exhaust_velocity, dtype=np.float64)
    low, high = (broadcast(end, held, wide, shared) for end in (_slowest, _fastest))
    good = (speed >= low * (1.0 - 1e-9)) & (speed <= high * (1.0 + 1e-9))
    if not np.all(good):
        where = np.broadcast_arrays(~good, low, high)
        least, most = where[1][where[0]].flat[0], where[2][where[0]].flat[0]
        limit = (
            f"is outside what steam of {_T[0]:g} to {_T[-1]:g} K reaches there, {least:.6g} to {most:.6g} m/s"
        )
        require_each(good, "exhaust_velocity", "m/s", speed, limit)
    return speed, held, wide, shared


def steam_temperature(
    exhaust_velocity: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike,
    recombination: ArrayLike = 0.0,
) -> FloatArray:  # fmt: skip
    r"""Temperature to which steam must be heated for its ideal jet to have a given speed.

    Solves :math:`(1-r)\,v_\mathrm{frozen}(T) + r\,v_\mathrm{equilibrium}(T) = v` for :math:`T`.

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Ideal effective exhaust velocity in vacuum [m s-1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    recombination : array_like, shape (...)
        Share of the step from frozen to equilibrium expansion [1].

    Returns
    -------
    ndarray, shape (...)
        Steam temperature [K].

    Raises
    ------
    DomainError
        If no steam between 300 and 6000 K has that speed, the pressure or area ratio lies outside the table
        (0.1 to 20 bar, 5 to 200), or the recombination outside 0 to 1.

    Notes
    -----
    No wall stands steam above some 2500 K: hotter jets need heat released in the gas, away from the walls.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{steam_temperature(1991.87, 1e6, 100.0):.0f}")  # 203 s
    1100
    """
    places = _checked(exhaust_velocity, chamber_pressure, expansion_ratio, recombination)
    return broadcast(steam_temperature_kernel, *places)


def steam_jet_efficiency(
    exhaust_velocity: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike,
    recombination: ArrayLike = 0.0,
) -> FloatArray:  # fmt: skip
    r"""Share of the heat in the steam that the ideal jet carries as motion, at a given jet speed.

    .. math:: \eta = \frac{v^2}{2\,h(T(v))}

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Ideal effective exhaust velocity in vacuum [m s-1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    recombination : array_like, shape (...)
        Share of the step from frozen to equilibrium expansion [1].

    Returns
    -------
    ndarray, shape (...)
        Kinetic energy over heat above liquid water at 298.15 K; no thruster on steam does better [1].

    Raises
    ------
    DomainError
        If no steam between 300 and 6000 K has that speed, the pressure or area ratio lies outside the table
        (0.1 to 20 bar, 5 to 200), or the recombination outside 0 to 1.

    Notes
    -----
    Frozen steam has two best speeds: hot dry steam, and again where all of it is split. Between them the heat
    that splits it is lost.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> for seconds in (400.0, 800.0):  # of specific impulse, with full recombination
    ...     print(f"{steam_jet_efficiency(9.80665 * seconds, 1e5, 100.0, 1.0):.2f}")
    0.66
    0.45
    """
    places = _checked(exhaust_velocity, chamber_pressure, expansion_ratio, recombination)
    return broadcast(steam_jet_efficiency_kernel, *places)
