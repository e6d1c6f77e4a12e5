"""Shells by strength and least gauge: spheres and cylinders with round ends.

A vessel that bursts kills. These functions size concepts; a design defers to the standards it cites, to local
pressure-vessel codes and to licensed practice.
"""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least

_THIRD = 1.0 / 3.0


@kernel
def sphere_radius_kernel(volume: float) -> float:
    """Radius of a sphere [m]."""
    radius: float = (3.0 * max(volume, 0.0) / (4.0 * math.pi)) ** _THIRD
    return radius


@kernel
def gauge_sphere_mass_kernel(
    pressure: float, volume: float, density: float, strength: float, safety_factor: float, least_gauge: float
) -> float:
    """Mass of a spherical shell as thick as its strength or the least gauge asks [kg]."""
    radius = sphere_radius_kernel(volume)
    thickness = max(pressure * radius * safety_factor / (2.0 * max(strength, 1.0)), least_gauge)
    return 4.0 * math.pi * radius**2 * thickness * density


@kernel
def cylinder_tank_mass_kernel(
    pressure: float, volume: float, slenderness: float, density: float, strength: float, safety_factor: float
) -> float:
    """Mass of a thin-walled cylinder with hemispherical ends [kg]."""
    slender = max(slenderness, 1.0)
    barrel = (slender - 1.0) / (slender - _THIRD)  # share of the volume
    factor = 2.0 * barrel + 1.5 * (1.0 - barrel)
    return factor * density * safety_factor / max(strength, 1.0) * pressure * volume


def gauge_sphere_mass(
    pressure: ArrayLike,
    volume: ArrayLike,
    density: ArrayLike,
    strength: ArrayLike,
    safety_factor: ArrayLike,
    least_gauge: ArrayLike,
) -> FloatArray:
    r"""Mass of a spherical tank whose wall is never thinner than can be made.

    .. math:: m = 4 \pi r^2 \rho \max(n p r / 2\sigma,\; t_\mathrm{min})

    Parameters
    ----------
    pressure : array_like, shape (...)
        Working pressure [Pa].
    volume : array_like, shape (...)
        Volume held [m3].
    density : array_like, shape (...)
        Density of the wall [kg m-3].
    strength : array_like, shape (...)
        Ultimate strength of the wall [Pa].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].
    least_gauge : array_like, shape (...)
        Thinnest wall that can be made [m].

    Returns
    -------
    ndarray, shape (...)
        Mass of the shell [kg].

    Raises
    ------
    DomainError
        If pressure, volume or least gauge is negative, density or strength not above zero, or the safety factor
        below one.

    Notes
    -----
    Bosses, seams and mounts add 20 to 50 %.

    References
    ----------
    .. [1] aiaa_s080, burst factor; closed form of a thin shell.

    Examples
    --------
    >>> print(f"{gauge_sphere_mass(1e5, 0.05, 4430.0, 900e6, 1.5, 0.5e-3):.2f}")  # least gauge rules at 1 bar
    1.45
    """
    return broadcast(
        gauge_sphere_mass_kernel,
        at_least("pressure", "Pa", pressure),
        at_least("volume", "m3", volume),
        above("density", "kg/m3", density),
        above("strength", "Pa", strength),
        at_least("safety factor", "1", safety_factor, 1.0),
        at_least("least gauge", "m", least_gauge),
    )


def cylinder_tank_mass(
    pressure: ArrayLike,
    volume: ArrayLike,
    slenderness: ArrayLike,
    density: ArrayLike,
    strength: ArrayLike,
    safety_factor: ArrayLike,
) -> FloatArray:
    r"""Mass of a thin-walled cylindrical tank with hemispherical ends.

    .. math:: m = (2 f + \tfrac{3}{2}(1 - f)) \rho\, n\, pV / \sigma, \quad f = (s - 1)/(s - 1/3)

    Parameters
    ----------
    pressure : array_like, shape (...)
        Working pressure [Pa].
    volume : array_like, shape (...)
        Volume held [m3].
    slenderness : array_like, shape (...)
        Whole length over diameter, 1 for a sphere [1].
    density : array_like, shape (...)
        Density of the wall [kg m-3].
    strength : array_like, shape (...)
        Ultimate strength of the wall [Pa].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Mass of the shell [kg].

    Raises
    ------
    DomainError
        If pressure or volume is negative, density or strength not above zero, or slenderness or safety factor
        below one.

    Notes
    -----
    A long barrel weighs 2 and a sphere 1.5 times density over strength times pressure and volume.

    References
    ----------
    .. [1] aiaa_s080, burst factor; closed form of a thin shell.

    Examples
    --------
    >>> print(f"{cylinder_tank_mass(1e7, 9.03e-3, 1.0, 4430.0, 900e6, 1.5):.3f}")
    1.000
    """
    return broadcast(
        cylinder_tank_mass_kernel,
        at_least("pressure", "Pa", pressure),
        at_least("volume", "m3", volume),
        at_least("slenderness", "1", slenderness, 1.0),
        above("density", "kg/m3", density),
        above("strength", "Pa", strength),
        at_least("safety factor", "1", safety_factor, 1.0),
    )
