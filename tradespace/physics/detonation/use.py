"""Thrust from detonations: one cycle of a tube, and the rotating kind where no value is published."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.detonation.table import (
    DetonationTables,
    _limits,
    detonation_tables,
    table_place,
)
from tradespace.physics.domain import above, within
from tradespace.physics.interpolation import grid_kernel, logarithm_kernel

_VALUES = "detonation_values.csv"
_IMPULSE_FACTOR = value("impulse_factor", _VALUES)
_ROTATING_GAIN = value("rotating_gain", _VALUES)
_ROTATING_LEAST_FLOW = value("rotating_least_flow", _VALUES)
_CELL_WIDTH = value("cell_width", _VALUES)
_CELL_WIDTH_EXPONENT = value("cell_width_exponent", _VALUES)
_ATMOSPHERE = value("standard_atmosphere")
_GAS_CONSTANT = value("gas_constant")
_GRAVITY = value("standard_gravity")
_HYDROGEN = value("molar_mass_hydrogen")
_OXYGEN = value("molar_mass_oxygen")
_WATER = value("molar_mass_water")
_LARGEST = 100.0
"""Largest exponent, so that any finite pressure gives a finite answer."""


@kernel
def detonable_density_kernel(
    mixture_ratio: float, initial_pressure: float, initial_temperature: float, feed_humidity: float
) -> float:
    """Density of the gas before the wave [kg m-3], an ideal gas."""
    dry = (1.0 - feed_humidity) / (1.0 + max(mixture_ratio, 0.0))
    amount = dry / _HYDROGEN + max(mixture_ratio, 0.0) * dry / _OXYGEN + feed_humidity / _WATER
    return initial_pressure / max(amount * _GAS_CONSTANT * max(initial_temperature, 1.0), 1e-300)


@kernel
def plateau_pressure_kernel(
    speed: float, pressure: float, density_ratio: float, isentropic_exponent: float
) -> float:
    """Pressure on the closed end of a tube behind the wave and its expansion fan."""
    sound = speed / max(density_ratio, 1.0)
    exponent = max(isentropic_exponent, 1.0 + 1e-6)
    rest = 0.5 * (exponent + 1.0) * sound - 0.5 * (exponent - 1.0) * speed
    share = min(max(rest / max(sound, 1e-300), 0.0), 1.0)
    return float(pressure * share ** (2.0 * exponent / (exponent - 1.0)))


@kernel
def pulsed_detonation_kernel(
    tables: DetonationTables, mixture_ratio: float, initial_pressure: float, initial_temperature: float,
    feed_humidity: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Plateau pressure [Pa], impulse per volume [N s m-3] and specific impulse [s]; the table's edge beyond."""
    grid = tables.speed
    force = min(max(logarithm_kernel(initial_pressure), grid.second[0]), grid.second[-1])
    warm = min(max(logarithm_kernel(initial_temperature), grid.third[0]), grid.third[-1])
    vapour = min(max(feed_humidity, grid.fourth[0]), grid.fourth[-1])
    pressure = math.exp(force)
    speed = grid_kernel(tables.speed, mixture_ratio, force, warm, vapour)
    rise = grid_kernel(tables.pressure_ratio, mixture_ratio, force, warm, vapour)
    dense = grid_kernel(tables.density_ratio, mixture_ratio, force, warm, vapour)
    exponent = grid_kernel(tables.isentropic_exponent, mixture_ratio, force, warm, vapour)
    plateau = plateau_pressure_kernel(speed, rise * pressure, dense, exponent)
    impulse = _IMPULSE_FACTOR * (plateau - pressure) / max(speed, 1.0)
    ratio = min(max(mixture_ratio, grid.first[0]), grid.first[-1])
    density = detonable_density_kernel(ratio, pressure, math.exp(warm), vapour)
    return plateau, impulse, impulse / (_GRAVITY * max(density, 1e-300))


@kernel
def pulsed_detonations_kernel(
    tables: DetonationTables, mixture_ratio: FloatArray, initial_pressure: FloatArray,
    initial_temperature: FloatArray, feed_humidity: FloatArray,
) -> FloatArray:  # fmt: skip
    """The same for each element of arrays of shape (n,): an array of shape (3, n)."""
    answers = np.empty((3, mixture_ratio.size))
    for place in range(mixture_ratio.size):
        answers[0, place], answers[1, place], answers[2, place] = pulsed_detonation_kernel(
            tables, mixture_ratio[place], initial_pressure[place], initial_temperature[place],
            feed_humidity[place],
        )  # fmt: skip
    return answers


@kernel
def cell_width_kernel(initial_pressure: float) -> float:
    """Width of a detonation cell [m] at a pressure, stoichiometric and dry."""
    decades = -_CELL_WIDTH_EXPONENT * math.log(max(initial_pressure, 1e-300) / _ATMOSPHERE)
    return _CELL_WIDTH * math.exp(min(max(decades, -_LARGEST), _LARGEST))


@kernel
def rotating_detonation_kernel(specific_impulse: float) -> float:
    """Specific impulse of a rotating-detonation chamber [s]."""
    return _ROTATING_GAIN * specific_impulse


@kernel
def rotating_detonation_margin_kernel(mass_flow: float) -> float:
    """Mass flow over the least that is considered, less one [1]."""
    return mass_flow / _ROTATING_LEAST_FLOW - 1.0


def _pulsed(
    place: int, mixture_ratio: ArrayLike, initial_pressure: ArrayLike, initial_temperature: ArrayLike,
    feed_humidity: ArrayLike,
) -> FloatArray:  # fmt: skip
    arrays = table_place(mixture_ratio, initial_pressure, initial_temperature, feed_humidity)
    columns = [item.ravel() for item in arrays]
    found: FloatArray = pulsed_detonations_kernel(
        detonation_tables(), columns[0], columns[1], columns[2], columns[3]
    )
    one: FloatArray = found[place]
    return one.reshape(arrays[0].shape)


def plateau_pressure(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    r"""Pressure on the closed end of a tube after a detonation has left along it.

    .. math:: p_3 = p_2 (c_3/c_2)^{2\gamma/(\gamma-1)}, \quad
              c_3 = \tfrac{\gamma+1}{2} c_2 - \tfrac{\gamma-1}{2} U, \quad
              I_V = K (p_3 - p_1) / U, \quad I = I_V / (\rho_1 g_0)

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
    ndarray, shape (...)
        Pressure [Pa].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    One cycle of a straight tube, closed at one end, full of gas at the pressure of its surroundings. No
    measured value in vacuum was found for hydrogen and oxygen: there the model has no surroundings to hold
    the charge, and no gain over steady burning at equal feed pressure should be assumed.

    References
    ----------
    .. [1] wintenberger_2003 (model, from memory); states of goodwin_2024.

    Examples
    --------
    >>> print(f"{plateau_pressure(7.937, 1e5, 300.0) / 1e5:.2f}")  # bar
    7.05
    """
    return _pulsed(0, mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def pulsed_detonation_impulse(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    r"""Impulse per volume of one cycle of a pulsed-detonation tube.

    .. math:: p_3 = p_2 (c_3/c_2)^{2\gamma/(\gamma-1)}, \quad
              c_3 = \tfrac{\gamma+1}{2} c_2 - \tfrac{\gamma-1}{2} U, \quad
              I_V = K (p_3 - p_1) / U, \quad I = I_V / (\rho_1 g_0)

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
    ndarray, shape (...)
        Impulse per volume [N s m-3].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    One cycle of a straight tube, closed at one end, full of gas at the pressure of its surroundings. No
    measured value in vacuum was found for hydrogen and oxygen: there the model has no surroundings to hold
    the charge, and no gain over steady burning at equal feed pressure should be assumed.

    References
    ----------
    .. [1] wintenberger_2003 (model, from memory); states of goodwin_2024.

    Examples
    --------
    >>> print(f"{pulsed_detonation_impulse(7.937, 1e5, 300.0):.0f}")
    917
    """
    return _pulsed(1, mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def pulsed_detonation_specific_impulse(
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    r"""Impulse per weight of gas of one cycle of a pulsed-detonation tube.

    .. math:: p_3 = p_2 (c_3/c_2)^{2\gamma/(\gamma-1)}, \quad
              c_3 = \tfrac{\gamma+1}{2} c_2 - \tfrac{\gamma-1}{2} U, \quad
              I_V = K (p_3 - p_1) / U, \quad I = I_V / (\rho_1 g_0)

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
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    One cycle of a straight tube, closed at one end, full of gas at the pressure of its surroundings. No
    measured value in vacuum was found for hydrogen and oxygen: there the model has no surroundings to hold
    the charge, and no gain over steady burning at equal feed pressure should be assumed.

    References
    ----------
    .. [1] wintenberger_2003 (model, from memory); states of goodwin_2024.

    Examples
    --------
    >>> print(f"{pulsed_detonation_specific_impulse(7.937, 1e5, 300.0):.0f}")
    194
    """
    return _pulsed(2, mixture_ratio, initial_pressure, initial_temperature, feed_humidity)


def detonation_cell_width(initial_pressure: ArrayLike) -> FloatArray:
    r"""Width of a detonation cell in stoichiometric, dry hydrogen and oxygen: a band, not a value.

    .. math:: \lambda = \lambda_0 (p / 1\,\mathrm{atm})^{-n}

    Parameters
    ----------
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].

    Returns
    -------
    ndarray, shape (...)
        Cell width, to a factor of 1.5 [m].

    Raises
    ------
    DomainError
        If a pressure lies outside that of the detonation table.

    References
    ----------
    .. [1] kaneshige_1997 (from memory).

    Examples
    --------
    >>> print(f"{1e3 * detonation_cell_width(101325.0):.1f}")
    1.4
    """
    return broadcast(
        cell_width_kernel,
        within("initial_pressure", "Pa", initial_pressure, *_limits("initial_pressure")),
    )


def rotating_detonation_specific_impulse(specific_impulse: ArrayLike) -> FloatArray:
    """Specific impulse of a rotating-detonation chamber from that of steady burning at equal feed pressure.

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Specific impulse of constant-pressure burning [s].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If a specific impulse is not positive.

    Notes
    -----
    No published value was found for gaseous hydrogen and oxygen in vacuum. No gain is taken; the range of the
    factor, 0.90 to 1.05, is an estimate.

    References
    ----------
    .. [1] assumed_here: ``detonation_values.csv``.

    Examples
    --------
    >>> print(f"{rotating_detonation_specific_impulse(390.0):.0f}")
    390
    """
    return broadcast(rotating_detonation_kernel, above("specific impulse", "s", specific_impulse))


def rotating_detonation_margin(mass_flow: ArrayLike) -> FloatArray:
    """How far a mass flow lies above the least for which a rotating-detonation chamber is considered.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass flow while firing [kg s-1].

    Returns
    -------
    ndarray, shape (...)
        Flow over the least, less one; below 0 where the annulus could not be kept filled [1].

    Raises
    ------
    DomainError
        If a mass flow is not positive.

    References
    ----------
    .. [1] assumed_here: ``detonation_values.csv`` (order of magnitude, no published limit).

    Examples
    --------
    >>> print(f"{rotating_detonation_margin(0.005):.1f}")  # what an electrolyser feeds falls short
    -0.9
    """
    return broadcast(rotating_detonation_margin_kernel, above("mass flow", "kg s-1", mass_flow))
