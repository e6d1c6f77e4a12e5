"""A nozzle fired on the ground: unchoked throat, overexpanded jet that leaves the wall."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.nozzle.ideal import (
    TABLE,
    area_ratio_kernel,
    held_gamma_kernel,
    mach_number_kernel,
    pressure_ratio_kernel,
)
from tradespace.physics.nozzle.thrust import mach_number_of_pressure_kernel, momentum_coefficient_kernel

_LEAST_GAMMA = value("least_heat_capacity_ratio", TABLE)
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", TABLE)
_LARGEST_AREA = value("largest_area_ratio", TABLE)
_SEPARATION = value("separation_pressure_ratio", TABLE)


@kernel
def critical_pressure_ratio_kernel(gamma: float) -> float:
    """Throat over stagnation pressure of a choked flow."""
    return pressure_ratio_kernel(1.0, gamma)


@kernel
def mass_flow_ratio_kernel(gamma: float, ambient_ratio: float) -> float:
    """Mass flow over the choked one, for ambient over stagnation pressure."""
    if ambient_ratio <= critical_pressure_ratio_kernel(gamma):
        return 1.0
    if ambient_ratio >= 1.0:
        return 0.0
    return 1.0 / area_ratio_kernel(mach_number_of_pressure_kernel(ambient_ratio, gamma), gamma)


@kernel
def separation_area_ratio_kernel(
    area_ratio: float, gamma: float, ambient_ratio: float, separation_ratio: float
) -> float:
    """Area ratio at which the jet leaves the wall, that of the exit when the nozzle flows full."""
    area = min(max(area_ratio, 1.0), _LARGEST_AREA)
    leaving = separation_ratio * ambient_ratio
    if leaving <= pressure_ratio_kernel(mach_number_kernel(area, gamma), gamma):
        return area
    mach = max(mach_number_of_pressure_kernel(leaving, gamma), 1.0)
    return min(area_ratio_kernel(mach, gamma), area)


@kernel
def thrust_coefficient_ambient_kernel(
    area_ratio: float, gamma: float, ambient_ratio: float, separation_ratio: float
) -> float:
    """Thrust over p0 times throat area on the ground: full, separated or unchoked."""
    ambient = max(ambient_ratio, 0.0)
    critical = critical_pressure_ratio_kernel(gamma)
    if ambient >= critical:
        mach = mach_number_of_pressure_kernel(ambient, gamma)
        return held_gamma_kernel(gamma) * mach * mach * min(ambient, 1.0)
    area = min(max(area_ratio, 1.0), _LARGEST_AREA)
    mach = mach_number_kernel(area, gamma)
    wall = pressure_ratio_kernel(mach, gamma)
    leaving = separation_ratio * ambient
    if leaving <= wall:
        return momentum_coefficient_kernel(mach, gamma) + (wall - ambient) * area
    mach = max(mach_number_of_pressure_kernel(leaving, gamma), 1.0)
    area = min(area_ratio_kernel(mach, gamma), area)
    attached = (
        momentum_coefficient_kernel(mach, gamma) + (pressure_ratio_kernel(mach, gamma) - ambient) * area
    )
    return max(attached, (held_gamma_kernel(gamma) + 1.0) * critical - ambient)


def _check(gamma: ArrayLike, ambient_pressure_ratio: ArrayLike = 0.0) -> None:
    domain.within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")
    domain.at_least("ambient_pressure_ratio", "1", ambient_pressure_ratio)


def critical_pressure_ratio(gamma: ArrayLike) -> FloatArray:
    r"""Ambient over chamber pressure above which a throat is not choked.

    .. math:: \frac{p^*}{p_0} = \left(\frac{2}{\gamma+1}\right)^{\frac{\gamma}{\gamma-1}}

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Pressure ratio [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2.

    Notes
    -----
    The diverging part is taken to separate at once, which holds for short cones; a long diffuser chokes the
    throat at a higher ratio.

    References
    ----------
    .. [1] naca_1135, equation 44 at Mach 1.

    Examples
    --------
    >>> print(f"{1.0 / critical_pressure_ratio(1.4):.3f}")
    1.893
    """
    _check(gamma)
    return broadcast(critical_pressure_ratio_kernel, gamma)


def mass_flow_ratio(gamma: ArrayLike, ambient_pressure_ratio: ArrayLike) -> FloatArray:
    r"""Mass flow through a throat over the choked one: 1 when choked, the subsonic formula otherwise.

    .. math:: \frac{\dot m}{\dot m^*} = \frac{1}{\Gamma}\sqrt{\frac{2\gamma}{\gamma-1}
              \left[r^{2/\gamma} - r^{(\gamma+1)/\gamma}\right]}, \qquad r = p_a/p_0

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    ambient_pressure_ratio : array_like, shape (...)
        Ambient over chamber pressure [1].

    Returns
    -------
    ndarray, shape (...)
        Mass flow ratio, 0 at and above equal pressures [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2 or a pressure ratio is negative.

    References
    ----------
    .. [1] naca_1135, mass flow per area.

    Examples
    --------
    >>> print(f"{mass_flow_ratio(1.4, 0.3):.4f} {mass_flow_ratio(1.4, 0.9):.4f}")
    1.0000 0.6171
    """
    _check(gamma, ambient_pressure_ratio)
    return broadcast(mass_flow_ratio_kernel, gamma, ambient_pressure_ratio)


def separation_area_ratio(
    area_ratio: ArrayLike,
    gamma: ArrayLike,
    ambient_pressure_ratio: ArrayLike,
    separation_pressure_ratio: ArrayLike = _SEPARATION,
) -> FloatArray:
    """Area ratio at which an overexpanded jet leaves the wall; that of the exit when the nozzle flows full.

    Parameters
    ----------
    area_ratio : array_like, shape (...)
        Exit area over throat area [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    ambient_pressure_ratio : array_like, shape (...)
        Ambient over chamber pressure [1].
    separation_pressure_ratio : array_like, shape (...)
        Wall pressure over ambient pressure at which the jet leaves, about 0.4 [1].

    Returns
    -------
    ndarray, shape (...)
        Area ratio [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2, an area ratio outside 1 to 1e6, a pressure ratio is
        negative or the separation pressure ratio lies outside 0 to 1.

    References
    ----------
    .. [1] summerfield_1954 (about 0.4, from memory); estimated.

    Examples
    --------
    >>> print(f"{separation_area_ratio(30.0, 1.2, 0.14):.2f}")
    3.35
    """
    _check_separation(area_ratio, gamma, ambient_pressure_ratio, separation_pressure_ratio)
    return broadcast(
        separation_area_ratio_kernel, area_ratio, gamma, ambient_pressure_ratio, separation_pressure_ratio
    )


def _check_separation(
    area_ratio: ArrayLike, gamma: ArrayLike, ambient_pressure_ratio: ArrayLike, separation: ArrayLike
) -> None:
    _check(gamma, ambient_pressure_ratio)
    domain.within("area_ratio", "1", area_ratio, 1.0, _LARGEST_AREA)
    domain.within("separation_pressure_ratio", "1", separation, 0.0, 1.0)


def thrust_coefficient_ambient(
    area_ratio: ArrayLike,
    gamma: ArrayLike,
    ambient_pressure_ratio: ArrayLike,
    separation_pressure_ratio: ArrayLike = _SEPARATION,
) -> FloatArray:
    r"""Thrust over chamber pressure and throat area of a nozzle fired on the ground.

    Full flow as :func:`thrust_coefficient`; where the wall pressure would fall below the separation pressure,
    the jet leaves there and the wall beyond sees the surroundings; an unchoked throat gives
    :math:`C_F = \gamma M^2 p_a/p_0` with the Mach number of the pressure ratio.

    Parameters
    ----------
    area_ratio : array_like, shape (...)
        Exit area over throat area [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].
    ambient_pressure_ratio : array_like, shape (...)
        Ambient over chamber pressure, 0 in vacuum [1].
    separation_pressure_ratio : array_like, shape (...)
        Wall pressure over ambient pressure at which the jet leaves, about 0.4 [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust coefficient [1].

    Raises
    ------
    DomainError
        If a heat capacity ratio lies outside 1.01 to 2, an area ratio outside 1 to 1e6, a pressure ratio is
        negative or the separation pressure ratio lies outside 0 to 1.

    Notes
    -----
    A separated jet is never credited with less than one that leaves at the throat, which joins the unchoked
    branch without a step.

    References
    ----------
    .. [1] sutton_2010, chapter 3, thrust coefficient; summerfield_1954 for the separation (estimated).

    Examples
    --------
    >>> for ratio in (0.0, 0.14, 0.7):
    ...     print(f"{thrust_coefficient_ambient(30.0, 1.2, ratio):.3f}")
    1.859
    1.106
    0.514
    """
    _check_separation(area_ratio, gamma, ambient_pressure_ratio, separation_pressure_ratio)
    return broadcast(
        thrust_coefficient_ambient_kernel,
        area_ratio,
        gamma,
        ambient_pressure_ratio,
        separation_pressure_ratio,
    )
