"""Viscosity of burned hydrogen and oxygen, and the Reynolds number of a throat."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import TABLE

COEFFICIENTS = "nozzle_coefficients.csv"
_WATER = series("viscosity_water", COEFFICIENTS)
_HYDROGEN = series("viscosity_hydrogen", COEFFICIENTS)
_OXYGEN = series("viscosity_oxygen", COEFFICIENTS)
_LOWEST = value("lowest_viscosity_temperature", TABLE)
_HIGHEST = value("highest_viscosity_temperature", TABLE)
_MASS_WATER = value("molar_mass_water")
_MASS_HYDROGEN = value("molar_mass_hydrogen")
_MASS_OXYGEN = value("molar_mass_oxygen")
_WHOLE = _MASS_OXYGEN / (2.0 * _MASS_HYDROGEN)
_MICROPOISE = 1e-7
_LEAST_RATIO = 1e-6


@kernel
def fitted_viscosity_kernel(
    temperature: float, slope: float, first: float, second: float, constant: float
) -> float:
    """Viscosity of one gas from its four coefficients."""
    inverse = 1.0 / temperature
    return _MICROPOISE * math.exp(
        slope * math.log(temperature) + inverse * (first + second * inverse) + constant
    )


@kernel
def wilke_share_kernel(own: float, other: float, own_mass: float, other_mass: float) -> float:
    """Weight of the other gas in the way of the own one."""
    root = 1.0 + math.sqrt(own / other) * math.sqrt(math.sqrt(other_mass / own_mass))
    return root * root / math.sqrt(8 * (1.0 + own_mass / other_mass))


@kernel
def burned_gas_viscosity_kernel(mixture_ratio: float, temperature: float) -> float:
    """Viscosity of steam with the hydrogen or oxygen left over."""
    held = min(max(temperature, _LOWEST), _HIGHEST)
    water = fitted_viscosity_kernel(held, _WATER[0], _WATER[1], _WATER[2], _WATER[3])
    ratio = max(mixture_ratio, _LEAST_RATIO) / _WHOLE
    if ratio <= 1.0:
        left, mass, steam = 1.0 - ratio, _MASS_HYDROGEN, ratio
        other = fitted_viscosity_kernel(held, _HYDROGEN[0], _HYDROGEN[1], _HYDROGEN[2], _HYDROGEN[3])
    else:
        left, mass, steam = 0.5 * (1.0 - 1.0 / ratio), _MASS_OXYGEN, 1.0 / ratio
        other = fitted_viscosity_kernel(held, _OXYGEN[0], _OXYGEN[1], _OXYGEN[2], _OXYGEN[3])
    in_steam = wilke_share_kernel(water, other, _MASS_WATER, mass)
    in_other = wilke_share_kernel(other, water, mass, _MASS_WATER)
    return steam * water / (steam + left * in_steam) + left * other / (left + steam * in_other)


@kernel
def throat_reynolds_number_kernel(mass_flow: float, throat_diameter: float, viscosity: float) -> float:
    """Reynolds number of a throat on its diameter."""
    return 4.0 * max(mass_flow, 0.0) / (math.pi * max(throat_diameter, 1e-30) * max(viscosity, 1e-30))


def burned_gas_viscosity(mixture_ratio: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Viscosity of burned hydrogen and oxygen: steam with the gas left over, mixed by Wilke's rule.

    .. math:: \ln\mu_i = a\ln T + b/T + c/T^2 + d, \qquad
              \mu = \sum_i \frac{x_i\mu_i}{\sum_j x_j\phi_{ij}}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    temperature : array_like, shape (...)
        Temperature of the gas [K].

    Returns
    -------
    ndarray, shape (...)
        Viscosity [Pa s].

    Raises
    ------
    DomainError
        If a mixture ratio is not positive or a temperature lies outside 1073.2 to 5000 K.

    Notes
    -----
    Atoms and radicals are left out, which costs 1 to 2 % at the flame; within 10 % over all.

    References
    ----------
    .. [1] svehla_1995 for the gases; wilke_1950 for the mixture.

    Examples
    --------
    >>> print(f"{1e4 * burned_gas_viscosity(7.94, 3388.9):.2f}")
    1.07
    """
    domain.above("mixture_ratio", "1", mixture_ratio)
    domain.within("temperature", "K", temperature, _LOWEST, _HIGHEST)
    return broadcast(burned_gas_viscosity_kernel, mixture_ratio, temperature)


def throat_reynolds_number(
    mass_flow: ArrayLike, throat_diameter: ArrayLike, viscosity: ArrayLike
) -> FloatArray:
    r"""Reynolds number of a throat, on its diameter.

    .. math:: \mathrm{Re} = \frac{4\dot m}{\pi d_t \mu}

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Ideal mass flow [kg s-1].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    viscosity : array_like, shape (...)
        Viscosity of the gas at the static temperature of the throat [Pa s].

    Returns
    -------
    ndarray, shape (...)
        Reynolds number [1].

    Raises
    ------
    DomainError
        If an argument is not positive.

    Notes
    -----
    This is the number the discharge and viscous-loss correlations of this room take: diameter, not radius;
    viscosity of the stream in the throat, not of the chamber or the wall; ideal mass flow. On the radius it
    is half as large, which moves a discharge coefficient by 2 to 3 % at 1000.

    References
    ----------
    .. [1] closed form: definition, as makhan_2018 uses it (read in a public code).

    Examples
    --------
    >>> print(f"{throat_reynolds_number(4.4e-6, 0.5e-3, 9e-5):.1f}")
    124.5
    """
    domain.above("mass_flow", "kg/s", mass_flow)
    domain.above("throat_diameter", "m", throat_diameter)
    domain.above("viscosity", "Pa s", viscosity)
    return broadcast(throat_reynolds_number_kernel, mass_flow, throat_diameter, viscosity)
