"""Power, thrust and the speed of the exhaust: energy identities, and the bounds no model may pass."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least
from tradespace.physics.electric.shared import efficiency_or_none, no_more_than_fed

_MIXED_MOLAR_MASS = (2.0 * value("molar_mass_hydrogen") + value("molar_mass_oxygen")) / 3.0
_GAS_CONSTANT = value("gas_constant")
_DIATOMIC = value("diatomic_heat_capacity_ratio", "electrothermal_values.csv")


@kernel
def power_per_thrust_kernel(exhaust_velocity: float, thrust_efficiency: float, feed_energy: float) -> float:
    """Live power per thrust [W N-1]; an infinite efficiency means that the feed brings all the energy."""
    return 0.5 * exhaust_velocity / thrust_efficiency + feed_energy / exhaust_velocity


@kernel
def bounded_exhaust_velocity_kernel(exhaust_velocity: float, energy: float) -> float:
    """The exhaust velocity, but no more than a kilogram with that energy can have [m s-1]."""
    return min(exhaust_velocity, math.sqrt(2.0 * max(energy, 0.0)))


def power_per_thrust(
    exhaust_velocity: ArrayLike, thrust_efficiency: ArrayLike, feed_energy: ArrayLike = 0.0
) -> FloatArray:
    r"""Live power per thrust: jet power over efficiency, and the energy that goes into the feed.

    .. math:: \frac{P}{F} = \frac{v_e}{2\eta} + \frac{e}{v_e}

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    thrust_efficiency : array_like, shape (...)
        Jet power over live power into the thruster; infinite where it takes none [1].
    feed_energy : array_like, shape (...)
        Energy put into each kilogram of exhaust before the thruster [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Power per thrust [W N-1].

    Raises
    ------
    DomainError
        If a velocity is not positive, an efficiency lies outside (0, 1] and is not infinite, an energy is
        negative, or a jet without live power carries more than its feed.

    References
    ----------
    .. [1] closed form: kinetic energy of the jet; jahn_1968, chapter 1.

    Examples
    --------
    >>> print(f"{1e-3 * power_per_thrust(1765.2, 0.9, 4e6):.1f}")  # W/mN
    3.2
    >>> print(f"{1e-3 * power_per_thrust(20000.0, 0.125):.0f}")
    80
    """
    speed = above("exhaust_velocity", "m/s", exhaust_velocity)
    efficiency = efficiency_or_none(thrust_efficiency)
    feed = at_least("feed_energy", "J/kg", feed_energy)
    no_more_than_fed("exhaust_velocity", "m/s", speed, 1.0, 1.0, feed, efficiency)
    return broadcast(power_per_thrust_kernel, speed, efficiency, feed)


def jet_power(thrust: ArrayLike, exhaust_velocity: ArrayLike) -> FloatArray:
    r"""Kinetic power of the exhaust.

    .. math:: P_j = F v_e / 2

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust [N].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Jet power [W].

    Raises
    ------
    DomainError
        If a thrust is negative or a velocity not positive.

    References
    ----------
    .. [1] jahn_1968, chapter 1; closed form.

    Examples
    --------
    >>> print(f"{jet_power(0.020, 2039.0 * 9.80665):.0f}")
    200
    """
    force = at_least("thrust", "N", thrust)
    return 0.5 * force * above("exhaust_velocity", "m/s", exhaust_velocity)


def exhaust_velocity_bound(energy: ArrayLike) -> FloatArray:
    r"""Exhaust velocity that takes all of an energy per mass: the first law's bound.

    .. math:: v_e \le \sqrt{2 e}

    Parameters
    ----------
    energy : array_like, shape (...)
        Energy in each kilogram of exhaust [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Largest exhaust velocity [m s-1].

    Raises
    ------
    DomainError
        If an energy is negative.

    References
    ----------
    .. [1] closed form: kinetic energy.

    Examples
    --------
    >>> print(f"{exhaust_velocity_bound(15.866e6):.0f}")  # all the heat of burning, the water condensed
    5633
    """
    return np.sqrt(2.0 * at_least("energy", "J/kg", energy))


def unlit_exhaust_velocity_bound(
    temperature: ArrayLike, heat_capacity_ratio: ArrayLike = _DIATOMIC
) -> FloatArray:
    r"""Exhaust velocity of hydrogen and oxygen from split water let off without burning, fully expanded.

    .. math:: v = \sqrt{\frac{2\gamma}{\gamma-1}\frac{R T}{M}}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    heat_capacity_ratio : array_like, shape (...)
        Ratio of heat capacities [1].

    Returns
    -------
    ndarray, shape (...)
        Largest exhaust velocity [m s-1].

    Raises
    ------
    DomainError
        If a temperature is not positive or a ratio is not above 1.

    References
    ----------
    .. [1] naca_1135, expansion to vacuum; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{unlit_exhaust_velocity_bound(293.0):.0f}")
    1192
    """
    gamma = above("heat_capacity_ratio", "1", heat_capacity_ratio, 1.0)
    heat = gamma / (gamma - 1.0) * _GAS_CONSTANT / _MIXED_MOLAR_MASS
    return np.sqrt(2.0 * heat * above("temperature", "K", temperature))
