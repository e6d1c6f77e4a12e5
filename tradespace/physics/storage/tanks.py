"""Tank mass from pressure times volume."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least

_GRAVITY = value("standard_gravity")


@kernel
def gas_tank_factor_kernel(pv: float, tank_performance: float, safety_factor: float) -> float:
    """Tank mass per mass of gas [1]."""
    return safety_factor * pv / (max(tank_performance, 1.0) * _GRAVITY)


@kernel
def sphere_tank_mass_kernel(pv: float, density: float, strength: float, safety_factor: float) -> float:
    """Mass of a thin-walled sphere [kg]."""
    return 1.5 * density * safety_factor / max(strength, 1.0) * pv


def gas_tank_factor(pv: ArrayLike, tank_performance: ArrayLike, safety_factor: ArrayLike) -> FloatArray:
    r"""Tank mass per mass of stored gas.

    .. math:: k = n\, pV / (h\, g_0)

    Parameters
    ----------
    pv : array_like, shape (...)
        Pressure times volume per mass of gas [J kg-1].
    tank_performance : array_like, shape (...)
        Burst pressure times volume over tank weight [m].
    safety_factor : array_like, shape (...)
        Burst over working pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Tank mass per gas mass [1].

    Raises
    ------
    DomainError
        If pv is negative, performance not above zero, or the factor below one.

    References
    ----------
    .. [1] tam_1996, performance factor of flown tanks; aiaa_s080, burst factor.

    Examples
    --------
    >>> print(f"{gas_tank_factor(203e3, 25e3, 2.0):.2f}")
    1.66
    """
    energy, height = at_least("pv", "J/kg", pv), above("tank performance", "m", tank_performance)
    return broadcast(
        gas_tank_factor_kernel, energy, height, at_least("safety factor", "1", safety_factor, 1.0)
    )


def sphere_tank_mass(
    pv: ArrayLike, density: ArrayLike, strength: ArrayLike, safety_factor: ArrayLike
) -> FloatArray:
    r"""Mass of a thin-walled spherical tank without bosses, seams or least gauge.

    .. math:: m = \tfrac{3}{2} \rho\, n\, pV / \sigma

    Parameters
    ----------
    pv : array_like, shape (...)
        Working pressure times volume [J].
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
        If pv is negative, density or strength not above zero, or the factor below one.

    Notes
    -----
    Real tanks weigh 20 to 50 % more.

    References
    ----------
    .. [1] aiaa_s080, burst factor; closed form of a thin shell.

    Examples
    --------
    >>> print(f"{sphere_tank_mass(90.3e3, 4430.0, 900e6, 1.5):.3f}")
    1.000
    """
    energy, heavy = at_least("pv", "J", pv), above("density", "kg/m3", density)
    strong, factor = above("strength", "Pa", strength), at_least("safety factor", "1", safety_factor, 1.0)
    return broadcast(sphere_tank_mass_kernel, energy, heavy, strong, factor)
