"""Keeping liquid hydrogen and oxygen: volume and mass of tanks, boil-off.

Liquid oxygen feeds fires, liquid hydrogen freezes air into an explosive, and both burst a closed vessel as they
warm. These functions size concepts; a design defers to local codes and licensed practice.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each

_OWN = "storage_values.csv"
_HYDROGEN_DENSITY = value("liquid_hydrogen_density", _OWN)
_OXYGEN_DENSITY = value("liquid_oxygen_density", _OWN)
_LEAST_SHARE = 1e-6


@kernel
def liquid_tank_volume_kernel(mixture_ratio: float, ullage: float) -> float:
    """Volume of tanks per mass of liquid hydrogen and oxygen [m3 kg-1]."""
    ratio = max(mixture_ratio, 0.0)
    volume = (1.0 / _HYDROGEN_DENSITY + ratio / _OXYGEN_DENSITY) / (1.0 + ratio)
    return volume / max(1.0 - ullage, _LEAST_SHARE)


@kernel
def liquid_tank_factor_kernel(mixture_ratio: float, ullage: float, tank_density: float) -> float:
    """Tank mass per mass of liquid hydrogen and oxygen [1]."""
    return tank_density * liquid_tank_volume_kernel(mixture_ratio, ullage)


@kernel
def boil_off_rate_kernel(volume: float, heat_flux: float, density: float, latent_heat: float) -> float:
    """Share of a full spherical tank that boils off per time [s-1]."""
    held = max(volume, _LEAST_SHARE)
    area: float = (36 * math.pi) ** (1.0 / 3.0) * held ** (2.0 / 3.0)
    return area * heat_flux / (held * max(density, _LEAST_SHARE) * max(latent_heat, 1.0))


@kernel
def boil_off_fraction_kernel(time: float, boil_off_rate: float) -> float:
    """Share of a liquid boiled off after a time [1]."""
    return -math.expm1(-max(time, 0.0) * max(boil_off_rate, 0.0))


def _ullage(ullage: ArrayLike) -> FloatArray:
    part = floats(ullage)
    require_each((part >= 0.0) & (part < 1.0), "ullage", "1", part, "lies outside 0 to 1 (1 excluded)")
    return part


def liquid_tank_volume(mixture_ratio: ArrayLike, ullage: ArrayLike) -> FloatArray:
    r"""Volume of tanks per mass of liquid hydrogen and oxygen.

    .. math:: v = \frac{1/\rho_H + r/\rho_O}{(1 + r)(1 - u)}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    ullage : array_like, shape (...)
        Share of the tank left to vapour [1].

    Returns
    -------
    ndarray, shape (...)
        Volume per mass of both liquids [m3 kg-1].

    Raises
    ------
    DomainError
        If the mixture ratio is negative, or the ullage outside 0 to below 1.

    References
    ----------
    .. [1] leachman_2009 (hydrogen), schmidt_1985 (oxygen), at one atmosphere.

    Examples
    --------
    >>> print(f"{1000 * liquid_tank_volume(7.937, 0.0):.2f}")  # litres per kg
    2.36
    """
    return broadcast(
        liquid_tank_volume_kernel, at_least("mixture ratio", "1", mixture_ratio), _ullage(ullage)
    )


def liquid_tank_factor(mixture_ratio: ArrayLike, ullage: ArrayLike, tank_density: ArrayLike) -> FloatArray:
    """Tank mass per mass of liquid hydrogen and oxygen.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    ullage : array_like, shape (...)
        Share of the tank left to vapour [1].
    tank_density : array_like, shape (...)
        Mass of insulated tank per volume it holds [kg m-3].

    Returns
    -------
    ndarray, shape (...)
        Tank mass per mass of both liquids [1].

    Raises
    ------
    DomainError
        If the mixture ratio or tank density is negative, or the ullage outside 0 to below 1.

    Notes
    -----
    A study of a vacuum-insulated tank of 860 m3 came to 17 kg/m3; small flown tanks weigh several times as much.

    References
    ----------
    .. [1] pegase_1973 (mass of a large tank), leachman_2009 and schmidt_1985 (densities).

    Examples
    --------
    >>> print(f"{liquid_tank_factor(7.937, 0.05, 60.0):.3f}")
    0.149
    """
    return broadcast(
        liquid_tank_factor_kernel,
        at_least("mixture ratio", "1", mixture_ratio),
        _ullage(ullage),
        at_least("tank density", "kg/m3", tank_density),
    )


def boil_off_rate(
    volume: ArrayLike, heat_flux: ArrayLike, density: ArrayLike, latent_heat: ArrayLike
) -> FloatArray:
    r"""Share of a full spherical tank that boils off per time.

    .. math:: b = \frac{(36\pi)^{1/3} q}{V^{1/3} \rho L}

    Parameters
    ----------
    volume : array_like, shape (...)
        Volume of the tank [m3].
    heat_flux : array_like, shape (...)
        Heat through insulation and supports per wall area [W m-2].
    density : array_like, shape (...)
        Density of the liquid [kg m-3].
    latent_heat : array_like, shape (...)
        Heat of vaporisation of the liquid [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Share lost per time [s-1].

    Raises
    ------
    DomainError
        If volume, density or latent heat is not above zero, or the heat flux negative.

    Notes
    -----
    Falls with the cube root of volume: small tanks boil off fastest. The vapour's own coolness is not used.

    References
    ----------
    .. [1] closed form: heat through a sphere over heat of vaporisation.

    Examples
    --------
    >>> rate = boil_off_rate(1.0, 0.5, 70.8, 446e3)
    >>> print(f"{100 * 86400 * rate:.2f}")  # per cent a day
    0.66
    """
    return broadcast(
        boil_off_rate_kernel,
        above("volume", "m3", volume),
        at_least("heat flux", "W/m2", heat_flux),
        above("density", "kg/m3", density),
        above("latent heat", "J/kg", latent_heat),
    )


def boil_off_fraction(time: ArrayLike, boil_off_rate: ArrayLike) -> FloatArray:
    r"""Share of a liquid boiled off after a time.

    .. math:: f = 1 - e^{-b t}

    Parameters
    ----------
    time : array_like, shape (...)
        Time in store [s].
    boil_off_rate : array_like, shape (...)
        Share of what is left that boils off per time [s-1].

    Returns
    -------
    ndarray, shape (...)
        Share lost [1].

    Raises
    ------
    DomainError
        If time or boil off rate is negative or not finite.

    Notes
    -----
    No boil-off when a cooler takes the heat, at the price of its power; none for compressed gas.

    References
    ----------
    .. [1] closed form: constant relative rate.

    Examples
    --------
    >>> print(f"{boil_off_fraction(30 * 86400.0, 0.003 / 86400.0):.3f}")  # a month at 0.3 per cent a day
    0.086
    """
    passed = at_least("time", "s", time)
    return broadcast(boil_off_fraction_kernel, passed, at_least("boil off rate", "1/s", boil_off_rate))
