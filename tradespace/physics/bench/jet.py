"""Thrust of an engine on the ground: the best its gas can give there, and that of a nozzle as it is built."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.bench.bounds import held_gamma
from tradespace.physics.bench.throat import throat_area_kernel
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share, within
from tradespace.physics.nozzle.ground import thrust_coefficient_ambient_kernel
from tradespace.physics.nozzle.thrust import mach_number_of_pressure_kernel, momentum_coefficient_kernel

_SEPARATION = value("separation_pressure_ratio", "nozzle_values.csv")
_LARGEST_AREA = value("largest_area_ratio", "nozzle_values.csv")


@kernel
def expanded_jet_speed_kernel(
    chamber_pressure: float, ambient_pressure: float, gamma: float, characteristic_velocity: float
) -> float:
    """Speed of a jet expanded without loss to the ambient pressure [m s-1]."""
    if not chamber_pressure > max(ambient_pressure, 0.0):
        return 0.0
    mach = mach_number_of_pressure_kernel(ambient_pressure / chamber_pressure, gamma)
    return characteristic_velocity * momentum_coefficient_kernel(mach, gamma)


@kernel
def ground_thrust_kernel(
    chamber_pressure: float, ambient_pressure: float, throat_diameter: float, expansion_ratio: float,
    discharge_coefficient: float, gamma: float,
) -> float:  # fmt: skip
    """Thrust of a nozzle with its exit in surroundings under pressure: full, separated or unchoked [N]."""
    if not chamber_pressure > max(ambient_pressure, 0.0):
        return 0.0
    coefficient = thrust_coefficient_ambient_kernel(
        expansion_ratio, gamma, ambient_pressure / chamber_pressure, _SEPARATION
    )
    return discharge_coefficient * throat_area_kernel(throat_diameter) * chamber_pressure * coefficient


def expanded_jet_speed(
    chamber_pressure: ArrayLike,
    ambient_pressure: ArrayLike,
    gamma: ArrayLike,
    characteristic_velocity: ArrayLike,
) -> FloatArray:
    r"""Speed of a jet that expands without loss to the pressure of the surroundings.

    .. math:: v = \Gamma c^* \sqrt{\frac{2\gamma}{\gamma-1}\left[1 - \left(\frac{p_a}{p_0}\right)^{
              \frac{\gamma-1}{\gamma}}\right]}

    Parameters
    ----------
    chamber_pressure : array_like, shape (...)
        Absolute stagnation pressure in the chamber [Pa].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    gamma : array_like, shape (...)
        Heat capacity ratio, or the exponent of a composition that shifts [1].
    characteristic_velocity : array_like, shape (...)
        Characteristic velocity of the gas in the chamber [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Jet speed, 0 when the surroundings press as hard as the chamber [m s-1].

    Raises
    ------
    DomainError
        If the ambient pressure is negative, a heat capacity ratio lies outside 1.01 to 2, or another argument is not
        above zero.

    Notes
    -----
    Mass flow times this speed is the most thrust that flow can give on the ground, choked or not.

    References
    ----------
    .. [1] sutton_2010, chapter 3, exit velocity; naca_1135.

    Examples
    --------
    >>> print(f"{expanded_jet_speed(1.75e5, 101325.0, 1.2, 2080.0):.0f}")
    1379
    """
    return broadcast(
        expanded_jet_speed_kernel,
        above("chamber_pressure", "Pa", chamber_pressure),
        at_least("ambient_pressure", "Pa", ambient_pressure),
        held_gamma(gamma),
        above("characteristic_velocity", "m/s", characteristic_velocity),
    )


def ground_thrust(
    chamber_pressure: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    expansion_ratio: ArrayLike,
    discharge_coefficient: ArrayLike,
    gamma: ArrayLike,
) -> FloatArray:
    r"""Thrust of a nozzle as it is built, on the ground: full, separated from its wall, or unchoked.

    .. math:: F = C_d\,C_F(\varepsilon, \gamma, p_a/p_0)\,p_0 A_t

    Parameters
    ----------
    chamber_pressure : array_like, shape (...)
        Absolute stagnation pressure in the chamber [Pa].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine, 0 in vacuum [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area; 1 for a nozzle that only converges [1].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    gamma : array_like, shape (...)
        Heat capacity ratio, or the exponent of a composition that shifts [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust, 0 when the surroundings press as hard as the chamber [N].

    Raises
    ------
    DomainError
        If the ambient pressure is negative, an area ratio lies outside 1 to 1e6, a discharge coefficient outside
        (0, 1], a heat capacity ratio outside 1.01 to 2, or another argument is not above zero.

    Notes
    -----
    Losses other than the discharge of the throat are left out; thrust and flow shrink alike with it.

    References
    ----------
    .. [1] sutton_2010, chapter 3, thrust coefficient; summerfield_1954 for the separation (estimated).

    Examples
    --------
    >>> for pressure in (1.75e5, 5e5):
    ...     print(f"{ground_thrust(pressure, 101325.0, 1.5e-3, 4.0, 1.0, 1.2):.3f}")
    0.205
    0.918
    """
    return broadcast(
        ground_thrust_kernel,
        above("chamber_pressure", "Pa", chamber_pressure),
        at_least("ambient_pressure", "Pa", ambient_pressure),
        above("throat_diameter", "m", throat_diameter),
        within("expansion_ratio", "1", expansion_ratio, 1.0, _LARGEST_AREA),
        share("discharge_coefficient", discharge_coefficient),
        held_gamma(gamma),
    )
