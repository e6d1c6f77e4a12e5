"""Pressure vessels: proof and burst, performance, tanks per mass of gas, and what they allow.

A vessel that bursts kills, and oxygen needs clean, compatible hardware. These functions size concepts; a design
defers to the standards it cites, to local pressure-vessel codes and to licensed practice.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within
from tradespace.physics.storage.gases import _oxygen_range, stored_gas_pv_kernel
from tradespace.physics.storage.tanks import sphere_tank_mass_kernel

_GRAVITY = value("standard_gravity")
_LEAST = 1e-9


@kernel
def sphere_tank_factor_kernel(
    temperature: float,
    pressure: float,
    mixture_ratio: float,
    density: float,
    strength: float,
    safety_factor: float,
) -> float:
    """Mass of spherical shells per mass of hydrogen and oxygen they hold [1]."""
    pv = stored_gas_pv_kernel(temperature, pressure, mixture_ratio)
    return sphere_tank_mass_kernel(pv, density, strength, safety_factor)


@kernel
def mixed_tank_factor_kernel(gas_share: float, gas_tank_factor: float, water_tank_factor: float) -> float:
    """Tank mass per mass of propellant of which a share waits as gas and the rest as water [1]."""
    return gas_share * gas_tank_factor + (1.0 - gas_share) * water_tank_factor


@kernel
def gas_storage_speed_limit_kernel(exhaust_velocity: float, tank_factor: float) -> float:
    """Velocity change of a craft made of nothing but propellant and its tanks [m s-1]."""
    return exhaust_velocity * math.log(1.0 + 1.0 / max(tank_factor, _LEAST))


def sphere_tank_factor(
    temperature: ArrayLike,
    pressure: ArrayLike,
    mixture_ratio: ArrayLike,
    density: ArrayLike,
    strength: ArrayLike,
    safety_factor: ArrayLike,
) -> FloatArray:
    """Mass of thin-walled spheres per mass of hydrogen and oxygen kept in them, as real gases.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature [K].
    pressure : array_like, shape (...)
        Gas pressure [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    density : array_like, shape (...)
        Density of the wall [kg m-3].
    strength : array_like, shape (...)
        Ultimate strength of the wall [Pa].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Tank mass per gas mass [1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K, pressure outside 0.1 to 100 MPa, the mixture ratio is negative,
        density or strength not above zero, or the safety factor below one.

    Notes
    -----
    Nearly independent of pressure: the volume saved is paid for in wall.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen), aiaa_s080 (burst factor).

    Examples
    --------
    >>> print(f"{sphere_tank_factor(300.0, 1e7, 7.937, 4430.0, 900e6, 1.5):.2f}")
    2.36
    """
    warm, total = _oxygen_range(temperature, pressure)
    return broadcast(
        sphere_tank_factor_kernel,
        warm,
        total,
        at_least("mixture ratio", "1", mixture_ratio),
        above("density", "kg/m3", density),
        above("strength", "Pa", strength),
        at_least("safety factor", "1", safety_factor, 1.0),
    )


def burst_energy_per_mass(burst_pressure: ArrayLike, volume: ArrayLike, mass: ArrayLike) -> FloatArray:
    """Burst pressure times volume over the mass of a tank: what a kilogram of vessel holds.

    Parameters
    ----------
    burst_pressure : array_like, shape (...)
        Pressure at which the tank bursts [Pa].
    volume : array_like, shape (...)
        Volume held [m3].
    mass : array_like, shape (...)
        Mass of the empty tank [kg].

    Returns
    -------
    ndarray, shape (...)
        Pressure times volume per mass [J kg-1].

    Raises
    ------
    DomainError
        If the burst pressure or volume is negative, or the mass not above zero.

    References
    ----------
    .. [1] closed form: definition of the performance of a tank, without gravity.

    Examples
    --------
    >>> print(f"{burst_energy_per_mass(497e5, 81.4e-3, 11.7) / 1000:.1f}")  # kJ per kg, a flown helium tank
    345.8
    """
    energy = at_least("burst pressure", "Pa", burst_pressure) * at_least("volume", "m3", volume)
    return np.asarray(energy / above("mass", "kg", mass), dtype=np.float64)


def tank_performance(burst_pressure: ArrayLike, volume: ArrayLike, mass: ArrayLike) -> FloatArray:
    """Burst pressure times volume over the weight of a tank, a height.

    Parameters
    ----------
    burst_pressure : array_like, shape (...)
        Pressure at which the tank bursts [Pa].
    volume : array_like, shape (...)
        Volume held [m3].
    mass : array_like, shape (...)
        Mass of the empty tank [kg].

    Returns
    -------
    ndarray, shape (...)
        Performance [m].

    Raises
    ------
    DomainError
        If the burst pressure or volume is negative, or the mass not above zero.

    References
    ----------
    .. [1] tam_1996, performance factor of flown tanks.

    Examples
    --------
    >>> print(f"{tank_performance(497e5, 81.4e-3, 11.7) / 1000:.1f}")  # km
    35.3
    """
    return np.asarray(burst_energy_per_mass(burst_pressure, volume, mass) / _GRAVITY, dtype=np.float64)


def proof_pressure(working_pressure: ArrayLike, burst_factor: ArrayLike) -> FloatArray:
    r"""Pressure at which a metallic vessel is tested before use.

    .. math:: p_\mathrm{proof} = p\,(1 + n)/2

    Parameters
    ----------
    working_pressure : array_like, shape (...)
        Highest pressure expected in use [Pa].
    burst_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Proof pressure [Pa].

    Raises
    ------
    DomainError
        If the working pressure is negative, or the burst factor below one.

    Notes
    -----
    For concepts only: the standard in force says what applies to a vessel.

    References
    ----------
    .. [1] aiaa_s080, proof factor of half of one plus the burst factor.

    Examples
    --------
    >>> print(f"{proof_pressure(331e5, 1.5) / 1e5:.0f}")  # bar
    414
    """
    pressure = at_least("working pressure", "Pa", working_pressure)
    factor = at_least("burst factor", "1", burst_factor, 1.0)
    return np.asarray(pressure * (1.0 + factor) / 2.0, dtype=np.float64)


def mixed_tank_factor(
    gas_share: ArrayLike, gas_tank_factor: ArrayLike, water_tank_factor: ArrayLike
) -> FloatArray:
    """Tank mass per mass of propellant when a buffer of gas is kept and the rest waits as water.

    Parameters
    ----------
    gas_share : array_like, shape (...)
        Largest share of the load that is gas at one time [1].
    gas_tank_factor : array_like, shape (...)
        Tank mass per mass of gas [1].
    water_tank_factor : array_like, shape (...)
        Tank mass per mass of water [1].

    Returns
    -------
    ndarray, shape (...)
        Tank mass per mass of propellant [1].

    Raises
    ------
    DomainError
        If the gas share lies outside 0 to 1, or a tank factor is negative.

    Notes
    -----
    Whole load as gas: share 1. A cell that splits the load on the way needs a smaller buffer, and the time for it.

    References
    ----------
    .. [1] closed form: weighted mean.

    Examples
    --------
    >>> print(f"{mixed_tank_factor(0.1, 1.65, 0.04):.3f}")
    0.201
    """
    return broadcast(
        mixed_tank_factor_kernel,
        within("gas share", "1", gas_share, 0.0, 1.0),
        at_least("gas tank factor", "1", gas_tank_factor),
        at_least("water tank factor", "1", water_tank_factor),
    )


def gas_storage_speed_limit(exhaust_velocity: ArrayLike, tank_factor: ArrayLike) -> FloatArray:
    r"""Velocity change that no craft carrying its whole load in such tanks can pass, whatever its power.

    .. math:: \Delta v = v_e \ln(1 + 1/k)

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Exhaust velocity [m s-1].
    tank_factor : array_like, shape (...)
        Tank mass per mass of propellant [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of tanks and propellant alone [m s-1].

    Raises
    ------
    DomainError
        If the exhaust velocity is negative, or the tank factor not above zero.

    References
    ----------
    .. [1] closed form: tsiolkovsky_1903 with nothing aboard but tanks.

    Examples
    --------
    >>> print(f"{gas_storage_speed_limit(330.0 * 9.80665, 1.65):.0f}")
    1533
    """
    speed = at_least("exhaust velocity", "m/s", exhaust_velocity)
    return broadcast(gas_storage_speed_limit_kernel, speed, above("tank factor", "1", tank_factor))
