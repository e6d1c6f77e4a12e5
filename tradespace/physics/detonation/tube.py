"""The tube of a pulsed detonation: how wide it must be, and how much gas one cycle burns.

Caution: mixed hydrogen and oxygen detonate at the slightest spark; these numbers are for concept studies, and
local codes and licensed practice rule.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.detonation.table import _limits, table_place
from tradespace.physics.detonation.use import cell_width_kernel, detonable_density_kernel
from tradespace.physics.domain import above, within

_CELLS = value("cells_across_tube", "detonation_values.csv")


@kernel
def least_tube_diameter_kernel(initial_pressure: float) -> float:
    """Least diameter [m] of a round tube in which a wave starts and keeps going."""
    return _CELLS * cell_width_kernel(initial_pressure)


@kernel
def tube_charge_kernel(
    diameter: float, length: float, mixture_ratio: float, initial_pressure: float,
    initial_temperature: float, feed_humidity: float,
) -> float:  # fmt: skip
    """Mass of gas [kg] in a round tube before the wave."""
    density = detonable_density_kernel(mixture_ratio, initial_pressure, initial_temperature, feed_humidity)
    return 0.25 * math.pi * diameter * diameter * length * density


def least_tube_diameter(initial_pressure: ArrayLike) -> FloatArray:
    r"""Least diameter of a round tube for a detonation in stoichiometric, dry hydrogen and oxygen: a band.

    .. math:: d = n\,\lambda(p)

    Parameters
    ----------
    initial_pressure : array_like, shape (...)
        Pressure before the wave [Pa].

    Returns
    -------
    ndarray, shape (...)
        Diameter, to a factor of three below and two above [m].

    Raises
    ------
    DomainError
        If a pressure lies outside that of the detonation table.

    References
    ----------
    .. [1] kaneshige_1997 (cell width, from memory); assumed_here: cells across the tube.

    Examples
    --------
    >>> print(f"{1e3 * least_tube_diameter(101325.0):.1f}")
    1.4
    """
    return broadcast(
        least_tube_diameter_kernel,
        within("initial_pressure", "Pa", initial_pressure, *_limits("initial_pressure")),
    )


def tube_charge(
    diameter: ArrayLike,
    length: ArrayLike,
    mixture_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
) -> FloatArray:
    r"""Gas that one cycle of a pulsed-detonation tube burns.

    .. math:: m = \frac{\pi}{4} d^2 L\,\rho_1

    Parameters
    ----------
    diameter : array_like, shape (...)
        Inner diameter of the tube [m].
    length : array_like, shape (...)
        Length of the tube [m].
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
        Mass of the charge [kg].

    Raises
    ------
    DomainError
        If a diameter or length is not positive, or another value lies outside the detonation table.

    References
    ----------
    .. [1] closed form: volume of a cylinder times the density of an ideal gas.

    Examples
    --------
    >>> print(f"{1e3 * tube_charge(0.05, 0.5, 7.937, 1e5, 293.15):.3f}")  # grams a cycle
    0.484
    """
    ratio, pressure, temperature, vapour = table_place(
        mixture_ratio, initial_pressure, initial_temperature, feed_humidity
    )
    return broadcast(
        tube_charge_kernel, above("diameter", "m", diameter), above("length", "m", length), ratio, pressure,
        temperature, vapour,
    )  # fmt: skip
