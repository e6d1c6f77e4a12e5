"""What a thruster makes of mined water: impulse, power and energy per kilogram dug up, and break-even values."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, not_above, require_each, share
from tradespace.physics.electric.shared import efficiency_or_none, no_more_than_fed
from tradespace.physics.rocket import mass_ratio_kernel

_GRAVITY = value("standard_gravity")
_LEAST = 1e-12
_HYDROGEN = 2.0 * value("molar_mass_hydrogen")
_HYDROGEN_SHARE = _HYDROGEN / (_HYDROGEN + value("molar_mass_oxygen"))


@kernel
def mined_water_budget_kernel(
    exhaust_velocity: float, used_share: float, feed_energy: float, thrust_efficiency: float
) -> tuple[float, float, float, float]:
    """Impulse per kilogram mined [m s-1], power per thrust [W N-1], energy per kilogram [J kg-1], jet share [1]."""
    impulse = used_share * exhaust_velocity
    jet = 0.5 * impulse * exhaust_velocity
    energy = feed_energy + jet / thrust_efficiency
    return impulse, energy / impulse, energy, jet / energy


@kernel
def cheapest_exhaust_velocity_kernel(thrust_efficiency: float, water_energy: float) -> float:
    """Exhaust velocity of least total energy for a small velocity change [m s-1]."""
    return math.sqrt(2.0 * thrust_efficiency * max(water_energy, 0.0))


@kernel
def break_even_water_energy_kernel(
    delta_v: float, slow: float, slow_energy: float, fast: float, fast_energy: float
) -> float:
    """Water energy at which two thrusters take the same in all [J kg-1]; the limit for very small changes."""
    least, most = max(min(slow, fast), _LEAST), max(slow, fast, _LEAST)
    change = max(delta_v, 1e-9 * least)
    loads = (
        math.exp(change / most - change / least) * math.expm1(-change / most) / math.expm1(-change / least)
    )
    return (fast_energy * loads - slow_energy) / max(1.0 - loads, _LEAST)


def mined_water_budget(
    specific_impulse: ArrayLike, used_share: ArrayLike, feed_energy: ArrayLike, thrust_efficiency: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    r"""What a thruster makes of each kilogram of mined water, all counted on the water and not on the exhaust.

    .. math:: I = w I_{sp},\quad e = e_f + \frac{w v_e^2}{2\eta},\quad \frac{P}{F} = \frac{e}{w v_e}

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Specific impulse of what is let off [s].
    used_share : array_like, shape (...)
        Share of the mined water that is let off with thrust; the rest is thrown away [1].
    feed_energy : array_like, shape (...)
        Energy put into each kilogram of mined water before the thruster [J kg-1].
    thrust_efficiency : array_like, shape (...)
        Jet power over live power into the thruster; infinite where it takes none [1].

    Returns
    -------
    effective_specific_impulse : ndarray, shape (...)
        Impulse per weight of mined water [s].
    power_per_thrust : ndarray, shape (...)
        Power per thrust [W N-1].
    energy : ndarray, shape (...)
        Energy per mass of mined water [J kg-1].
    jet_share : ndarray, shape (...)
        Jet energy over that energy [1].

    Raises
    ------
    DomainError
        If an impulse is not positive, a share or efficiency lies outside (0, 1], an energy is negative, or a
        jet without live power carries more than its feed.

    References
    ----------
    .. [1] closed form: energy and mass balance per kilogram of water.

    Examples
    --------
    >>> impulse, power, energy, jet = mined_water_budget(1000.0, 0.1119, 22.67e6, 0.35)  # hydrogen arcjet
    >>> print(f"{impulse:.0f} s, {1e-3 * power:.0f} W/mN, {energy / 3.6e6:.1f} kWh/kg, {jet:.2f}")
    112 s, 35 W/mN, 10.6 kWh/kg, 0.14
    """
    impulse = above("specific_impulse", "s", specific_impulse)
    used = share("used_share", used_share)
    feed = at_least("feed_energy", "J/kg", feed_energy)
    efficiency = efficiency_or_none(thrust_efficiency)
    no_more_than_fed("specific_impulse", "s", impulse, _GRAVITY, used, feed, efficiency)
    arrays = np.broadcast_arrays(impulse * _GRAVITY, used, feed, efficiency)
    plain: Any = getattr(mined_water_budget_kernel, "py_func", mined_water_budget_kernel)  # arithmetic alone
    momentum, power, energy, jet = (np.asarray(part, dtype=np.float64) for part in plain(*arrays))
    return momentum / _GRAVITY, power, energy, jet


def thrust_per_power(
    specific_impulse: ArrayLike, used_share: ArrayLike, feed_energy: ArrayLike, thrust_efficiency: ArrayLike
) -> FloatArray:
    r"""Thrust per power, the energy of the feed included; the inverse of power per thrust.

    .. math:: F/P = w v_e / e

    Parameters
    ----------
    specific_impulse : array_like, shape (...)
        Specific impulse of what is let off [s].
    used_share : array_like, shape (...)
        Share of the mined water that is let off with thrust [1].
    feed_energy : array_like, shape (...)
        Energy put into each kilogram of mined water before the thruster [J kg-1].
    thrust_efficiency : array_like, shape (...)
        Jet power over live power into the thruster; infinite where it takes none [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust per power [N W-1].

    Raises
    ------
    DomainError
        As :func:`mined_water_budget`.

    References
    ----------
    .. [1] closed form: energy and mass balance per kilogram of water; jahn_1968, chapter 1.

    Examples
    --------
    >>> print(f"{1e6 * thrust_per_power(345.0, 1.0, 22.67e6, 0.9):.0f}")  # mN/kW
    117
    """
    return 1.0 / mined_water_budget(specific_impulse, used_share, feed_energy, thrust_efficiency)[1]


def split_specific_impulse(
    hydrogen_specific_impulse: ArrayLike, oxygen_specific_impulse: ArrayLike = 0.0
) -> FloatArray:
    r"""Impulse per weight of water when its hydrogen and oxygen are let off apart, or the oxygen thrown away.

    .. math:: I = w_H I_H + (1 - w_H) I_O

    Parameters
    ----------
    hydrogen_specific_impulse : array_like, shape (...)
        Specific impulse of the hydrogen [s].
    oxygen_specific_impulse : array_like, shape (...)
        Specific impulse of the oxygen; 0 when it is thrown away [s].

    Returns
    -------
    ndarray, shape (...)
        Effective specific impulse on water [s].

    Raises
    ------
    DomainError
        If a specific impulse is negative.

    Notes
    -----
    Two cases must be kept apart. When the oxygen stays at the mine, the craft sees the hydrogen's specific
    impulse and the mine digs nine times the mass. When water is split on board, the oxygen has been carried
    and the rocket equation takes this value.

    References
    ----------
    .. [1] closed form: mass shares of water; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{split_specific_impulse(1000.0):.0f} {split_specific_impulse(1000.0, 70.0):.0f}")
    112 174
    """
    hydrogen = at_least("hydrogen_specific_impulse", "s", hydrogen_specific_impulse)
    oxygen = at_least("oxygen_specific_impulse", "s", oxygen_specific_impulse)
    return np.asarray(_HYDROGEN_SHARE * hydrogen + (1.0 - _HYDROGEN_SHARE) * oxygen)


def hydrogen_specific_impulse_needed(
    whole_water_specific_impulse: ArrayLike, oxygen_specific_impulse: ArrayLike = 0.0
) -> FloatArray:
    r"""Specific impulse hydrogen needs so that split water gives the impulse of a whole-water engine.

    .. math:: I_H = \frac{I - (1-w_H) I_O}{w_H}

    Parameters
    ----------
    whole_water_specific_impulse : array_like, shape (...)
        Specific impulse to match, on all the water [s].
    oxygen_specific_impulse : array_like, shape (...)
        Specific impulse of the oxygen; 0 when it is thrown away [s].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse of the hydrogen; 0 when the oxygen alone does it [s].

    Raises
    ------
    DomainError
        If a specific impulse is negative.

    References
    ----------
    .. [1] closed form: mass shares of water; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{hydrogen_specific_impulse_needed(350.0):.0f}")
    3128
    """
    whole = at_least("whole_water_specific_impulse", "s", whole_water_specific_impulse)
    oxygen = at_least("oxygen_specific_impulse", "s", oxygen_specific_impulse)
    return np.maximum(whole - (1.0 - _HYDROGEN_SHARE) * oxygen, 0.0) / _HYDROGEN_SHARE


def cheapest_exhaust_velocity(thrust_efficiency: ArrayLike, water_energy: ArrayLike) -> FloatArray:
    r"""Exhaust velocity that takes the least energy in all for a small velocity change.

    .. math:: v^* = \sqrt{2 \eta e_x}

    Parameters
    ----------
    thrust_efficiency : array_like, shape (...)
        Jet power over power into the thruster [1].
    water_energy : array_like, shape (...)
        Energy to put a kilogram of water into the tank [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Exhaust velocity of least energy [m s-1].

    Raises
    ------
    DomainError
        If an efficiency lies outside (0, 1] or an energy is negative.

    Notes
    -----
    The least of :math:`(e_x + v^2/2\eta)/v`. Slower wastes water, faster wastes power.

    References
    ----------
    .. [1] closed form: derivative of energy per impulse.

    Examples
    --------
    >>> print(f"{cheapest_exhaust_velocity(0.35, 9e6) / 9.80665:.0f}")  # s, at 2.5 kWh/kg
    256
    """
    efficiency = share("thrust_efficiency", thrust_efficiency)
    energy = at_least("water_energy", "J/kg", water_energy)
    return broadcast(cheapest_exhaust_velocity_kernel, efficiency, energy)


def break_even_water_energy(
    delta_v: ArrayLike,
    slow_exhaust_velocity: ArrayLike,
    slow_energy: ArrayLike,
    fast_exhaust_velocity: ArrayLike,
    fast_energy: ArrayLike,
) -> FloatArray:
    r"""Energy per kilogram of mined water at which a slow, frugal and a fast, hungry thruster take the same in all.

    .. math:: (e_x + e_s)(R_s - 1) = (e_x + e_f)(R_f - 1), \qquad R = e^{\Delta v / v_e}

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Velocity change; 0 gives the limit of small ones [m s-1].
    slow_exhaust_velocity : array_like, shape (...)
        Exhaust velocity of the slow thruster [m s-1].
    slow_energy : array_like, shape (...)
        Energy the slow one puts into each kilogram of water [J kg-1].
    fast_exhaust_velocity : array_like, shape (...)
        Exhaust velocity of the fast thruster, above the slow one's [m s-1].
    fast_energy : array_like, shape (...)
        Energy the fast one puts into each kilogram of water [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Break-even energy of the water; dearer water favours the fast thruster. Negative: it always wins [J kg-1].

    Raises
    ------
    DomainError
        If a velocity change or energy is negative, a velocity not positive, or the fast one is not faster.

    References
    ----------
    .. [1] closed form: tsiolkovsky_1903 twice, equal energy.

    Examples
    --------
    >>> kilowatt_hour = 3.6e6
    >>> found = break_even_water_energy(1000.0, 1765.2, 1.9 * kilowatt_hour, 3383.3, 6.3 * kilowatt_hour)
    >>> print(f"{found / kilowatt_hour:.1f}")
    1.7
    """
    change = at_least("delta_v", "m/s", delta_v)
    slow = above("slow_exhaust_velocity", "m/s", slow_exhaust_velocity)
    fast = above("fast_exhaust_velocity", "m/s", fast_exhaust_velocity)
    not_above("slow_exhaust_velocity", "m/s", slow, "fast_exhaust_velocity", fast)
    limits, values = np.broadcast_arrays(slow, fast)
    require_each(
        values > limits,
        "fast_exhaust_velocity",
        "m/s",
        values,
        "must be above the slow exhaust velocity, not equal",
    )
    return broadcast(
        break_even_water_energy_kernel,
        change,
        slow,
        at_least("slow_energy", "J/kg", slow_energy),
        fast,
        at_least("fast_energy", "J/kg", fast_energy),
    )


def energy_per_dry_mass(
    delta_v: ArrayLike, exhaust_velocity: ArrayLike, water_energy: ArrayLike, spent_energy: ArrayLike
) -> FloatArray:
    r"""Energy to mine and to spend the water of a velocity change, per kilogram of dry mass.

    .. math:: E / m_d = (e_x + e)(e^{\Delta v / v_e} - 1)

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Velocity change [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity on the water [m s-1].
    water_energy : array_like, shape (...)
        Energy to put a kilogram of water into the tank [J kg-1].
    spent_energy : array_like, shape (...)
        Energy the thruster and its feed put into each kilogram [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Energy per dry mass [J kg-1].

    Raises
    ------
    DomainError
        If a velocity change or energy is negative, an exhaust velocity not positive, or a velocity change so
        large that no finite mass of water makes it.

    References
    ----------
    .. [1] tsiolkovsky_1903; closed form.

    Examples
    --------
    >>> print(f"{energy_per_dry_mass(1000.0, 3383.3, 9e6, 22.7e6) / 3.6e6:.2f}")  # kWh/kg
    3.03
    """
    change = at_least("delta_v", "m/s", delta_v)
    speed = above("exhaust_velocity", "m/s", exhaust_velocity)
    ratio = change / speed
    shown = np.broadcast_to(change, ratio.shape)
    require_each(ratio < 100.0, "delta_v", "m/s", shown, "must be less than 100 exhaust velocities")
    energy = at_least("water_energy", "J/kg", water_energy) + at_least("spent_energy", "J/kg", spent_energy)
    return energy * (broadcast(mass_ratio_kernel, change, speed) - 1.0)
