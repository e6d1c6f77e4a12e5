"""Sunlight at a distance: the inverse-square law and the irradiance a luminosity gives."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above

_SOLAR_CONSTANT = value("solar_constant")
_AU = value("astronomical_unit")


@kernel
def solar_flux_kernel(distance: float) -> float:
    """Sunlight at a distance from the Sun [W m-2]."""
    return _SOLAR_CONSTANT * (_AU / max(distance, 1.0)) ** 2


@kernel
def flux_of_luminosity_kernel(luminosity: float, distance: float) -> float:
    """Radiant power through an area facing a source of a given luminosity [W m-2]."""
    return luminosity / (4.0 * math.pi * max(distance, 1.0) ** 2)


def solar_flux(distance: ArrayLike) -> FloatArray:
    r"""Sunlight at a distance from the Sun.

    .. math:: S = S_0 (1\,\mathrm{au} / r)^2

    Parameters
    ----------
    distance : array_like, shape (...)
        Distance from the Sun [m].

    Returns
    -------
    ndarray, shape (...)
        Power through an area facing the Sun [W m-2].

    Raises
    ------
    DomainError
        If any distance is not above zero.

    Notes
    -----
    The total irradiance at 1 au is 1361.1 W/m2 with a stated uncertainty of 0.5 W/m2; the older standard
    value, 1366.1 W/m2, still stands behind many data sheets of cells and would give 0.37 % more.

    References
    ----------
    .. [1] gueymard_2018, solar constant.

    Examples
    --------
    >>> print(f"{solar_flux(2.7 * 149597870700):.1f}")
    186.7
    """
    above("distance", "m", distance)
    return broadcast(solar_flux_kernel, distance)


def flux_of_luminosity(luminosity: ArrayLike, distance: ArrayLike) -> FloatArray:
    r"""Irradiance at a distance from a source that shines alike in all directions.

    .. math:: S = L / (4 \pi r^2)

    Parameters
    ----------
    luminosity : array_like, shape (...)
        Radiant power of the source [W].
    distance : array_like, shape (...)
        Distance from the source [m].

    Returns
    -------
    ndarray, shape (...)
        Power through an area facing the source [W m-2].

    Raises
    ------
    DomainError
        If luminosity or distance is not above zero.

    References
    ----------
    .. [1] iau_2015_b3, nominal solar luminosity and irradiance.

    Examples
    --------
    >>> print(f"{flux_of_luminosity(3.828e26, 149597870700):.2f}")
    1361.17
    """
    above("luminosity", "W", luminosity)
    above("distance", "m", distance)
    return broadcast(flux_of_luminosity_kernel, luminosity, distance)
