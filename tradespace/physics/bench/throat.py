"""Flow through the throat of an engine on the ground, choked or not, and the pressure that a flow needs.

Below choking a throat passes less than its characteristic velocity says, and the characteristic velocity and thrust
coefficients of a vacuum do not apply; these formulas hold on both sides and meet where the throat begins to choke.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.bench.bounds import BENCH, UNLIT_GAMMA, held_gamma, unlit_gas_constant_kernel
from tradespace.physics.combustion_table import WHOLE
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share
from tradespace.physics.nozzle.ground import (
    critical_pressure_ratio_kernel,
    mass_flow_ratio_kernel,
)
from tradespace.physics.nozzle.ideal import held_gamma_kernel, mass_flow_function_kernel
from tradespace.physics.transfer.shared import components

ROOM_TEMPERATURE = value("room_temperature", BENCH)
_TINY = 1e-30


@kernel
def throat_area_kernel(throat_diameter: float) -> float:
    """Area of a round throat [m2]."""
    return 0.25 * math.pi * throat_diameter * throat_diameter


@kernel
def unlit_characteristic_velocity_kernel(
    feed_temperature: float, mixture_ratio: float, gamma: float
) -> float:
    """Characteristic velocity of unburned hydrogen and oxygen [m s-1]."""
    specific = unlit_gas_constant_kernel(mixture_ratio) * max(feed_temperature, 0.0)
    return math.sqrt(specific) / mass_flow_function_kernel(gamma)


@kernel
def throat_mass_flow_kernel(
    chamber_pressure: float, ambient_pressure: float, throat_diameter: float, discharge_coefficient: float,
    gamma: float, characteristic_velocity: float,
) -> float:  # fmt: skip
    """Mass flow through a throat, choked or not; 0 when the surroundings press harder [kg s-1]."""
    if not chamber_pressure > 0.0:
        return 0.0
    choked = (
        discharge_coefficient
        * throat_area_kernel(throat_diameter)
        * chamber_pressure
        / max(characteristic_velocity, _TINY)
    )
    return choked * mass_flow_ratio_kernel(gamma, ambient_pressure / chamber_pressure)


@kernel
def chamber_pressure_of_flow_kernel(
    mass_flow: float, ambient_pressure: float, throat_diameter: float, discharge_coefficient: float,
    gamma: float, characteristic_velocity: float,
) -> tuple[float, float]:  # fmt: skip
    """Chamber pressure that passes a mass flow [Pa], and 1 where the throat is choked, else 0."""
    opening = max(discharge_coefficient * throat_area_kernel(throat_diameter), _TINY)
    choked = max(mass_flow, 0.0) * max(characteristic_velocity, 0.0) / opening
    if ambient_pressure <= critical_pressure_ratio_kernel(gamma) * choked:
        return choked, 1.0
    held = held_gamma_kernel(gamma)
    passed = mass_flow_function_kernel(held) * choked / max(ambient_pressure, _TINY)
    square = (
        passed * passed / held
    )  # of the Mach number in the throat, whose static pressure is the ambient one
    square = 2.0 * square / (1.0 + math.sqrt(1.0 + 2.0 * (held - 1.0) * square))
    return ambient_pressure * math.exp(held / (held - 1.0) * math.log1p(0.5 * (held - 1.0) * square)), 0.0


@kernel
def choking_pressure_kernel(ambient_pressure: float, gamma: float) -> float:
    """Chamber pressure at which a throat begins to choke [Pa]."""
    return ambient_pressure / critical_pressure_ratio_kernel(gamma)


def _throat(throat_diameter: ArrayLike, discharge_coefficient: ArrayLike) -> tuple[FloatArray, FloatArray]:
    return (
        above("throat_diameter", "m", throat_diameter),
        share("discharge_coefficient", discharge_coefficient),
    )


def unlit_characteristic_velocity(
    feed_temperature: ArrayLike = ROOM_TEMPERATURE,
    mixture_ratio: ArrayLike = WHOLE,
    gamma: ArrayLike = UNLIT_GAMMA,
) -> FloatArray:
    r"""Characteristic velocity of hydrogen and oxygen that do not burn.

    .. math:: c^* = \sqrt{R T / M} / \Gamma

    Parameters
    ----------
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter [K].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity [m s-1].

    Raises
    ------
    DomainError
        If a temperature or mixture ratio is not above zero, or a heat capacity ratio lies outside 1.01 to 2.

    References
    ----------
    .. [1] naca_1135, mass flow per area at Mach 1.

    Examples
    --------
    >>> print(f"{unlit_characteristic_velocity(293.0):.0f}")
    658
    """
    return broadcast(
        unlit_characteristic_velocity_kernel,
        above("feed_temperature", "K", feed_temperature),
        above("mixture_ratio", "1", mixture_ratio),
        held_gamma(gamma),
    )


def throat_mass_flow(
    chamber_pressure: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike,
    gamma: ArrayLike,
    characteristic_velocity: ArrayLike,
) -> FloatArray:
    r"""Mass flow through a throat on the ground: choked, or by the subsonic formula.

    .. math:: \dot m = C_d A_t \frac{p_0}{c^*} \ \text{(choked)}, \qquad \dot m = C_d A_t p_0
              \sqrt{\frac{2\gamma}{(\gamma-1) R T}\left[r^{2/\gamma} - r^{(\gamma+1)/\gamma}\right]}, \quad
              r = p_a/p_0, \quad \sqrt{R T} = \Gamma c^*

    Parameters
    ----------
    chamber_pressure : array_like, shape (...)
        Absolute stagnation pressure in the chamber [Pa].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine, 0 in vacuum [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    gamma : array_like, shape (...)
        Heat capacity ratio, or the exponent of a composition that shifts [1].
    characteristic_velocity : array_like, shape (...)
        Characteristic velocity of the gas in the chamber [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Mass flow, 0 when the surroundings press as hard as the chamber [kg s-1].

    Raises
    ------
    DomainError
        If the ambient pressure is negative, a discharge coefficient lies outside (0, 1], a heat capacity ratio
        outside 1.01 to 2, or another argument is not above zero.

    References
    ----------
    .. [1] naca_1135, mass flow per area.

    Examples
    --------
    >>> for pressure in (1.5e5, 3e5):
    ...     print(f"{1e3 * throat_mass_flow(pressure, 101325.0, 1.5e-3, 1.0, 1.2, 2080.0):.4f}")  # g/s
    0.1235
    0.2549
    """
    return broadcast(
        throat_mass_flow_kernel,
        above("chamber_pressure", "Pa", chamber_pressure),
        at_least("ambient_pressure", "Pa", ambient_pressure),
        *_throat(throat_diameter, discharge_coefficient),
        held_gamma(gamma),
        above("characteristic_velocity", "m/s", characteristic_velocity),
    )


def chamber_pressure_of_flow(
    mass_flow: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike,
    gamma: ArrayLike,
    characteristic_velocity: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    r"""Chamber pressure that passes a mass flow through a throat on the ground, and whether the throat is choked.

    The inverse of :func:`throat_mass_flow`, in closed form below choking: with the static pressure of the throat that
    of the surroundings,

    .. math:: \frac{\dot m \Gamma c^*}{C_d A_t p_a} = M\sqrt{\gamma}\sqrt{1 + \tfrac{\gamma-1}{2} M^2}

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the throat [kg s-1].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine, 0 in vacuum [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    gamma : array_like, shape (...)
        Heat capacity ratio, or the exponent of a composition that shifts [1].
    characteristic_velocity : array_like, shape (...)
        Characteristic velocity of the gas in the chamber [m s-1].

    Returns
    -------
    chamber_pressure : ndarray, shape (...)
        Absolute pressure [Pa].
    choked : ndarray, shape (...)
        1 where the throat is choked, 0 where it is not [1].

    Raises
    ------
    DomainError
        If a flow or the ambient pressure is negative, a discharge coefficient lies outside (0, 1], a heat capacity
        ratio outside 1.01 to 2, or another argument is not above zero.

    References
    ----------
    .. [1] naca_1135, mass flow per area, solved for the Mach number.

    Examples
    --------
    >>> pressure, choked = chamber_pressure_of_flow(1.5e-4, 101325.0, 1.5e-3, 1.0, 1.2, 2080.0)
    >>> print(f"{pressure / 1e5:.3f} bar, {choked:.0f}")
    1.766 bar, 0
    """
    return components(
        chamber_pressure_of_flow_kernel,
        at_least("mass_flow", "kg/s", mass_flow),
        at_least("ambient_pressure", "Pa", ambient_pressure),
        *_throat(throat_diameter, discharge_coefficient),
        held_gamma(gamma),
        above("characteristic_velocity", "m/s", characteristic_velocity),
        count=2,
    )


def choking_pressure(ambient_pressure: ArrayLike, gamma: ArrayLike) -> FloatArray:
    r"""Chamber pressure above which a throat is choked.

    .. math:: p_0 = p_a \left(\frac{\gamma+1}{2}\right)^{\frac{\gamma}{\gamma-1}}

    Parameters
    ----------
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    gamma : array_like, shape (...)
        Heat capacity ratio, or the exponent of a composition that shifts [1].

    Returns
    -------
    ndarray, shape (...)
        Absolute pressure [Pa].

    Raises
    ------
    DomainError
        If the ambient pressure is negative or a heat capacity ratio lies outside 1.01 to 2.

    References
    ----------
    .. [1] naca_1135, equation 44 at Mach 1.

    Examples
    --------
    >>> print(f"{choking_pressure(101325.0, 1.4) / 1e5:.3f}")
    1.918
    """
    around = at_least("ambient_pressure", "Pa", ambient_pressure)
    return broadcast(choking_pressure_kernel, around, held_gamma(gamma))
