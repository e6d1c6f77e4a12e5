"""Characteristic velocity, thrust coefficient, specific impulse and stored energy of readings, with uncertainty."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.bench.throat import throat_area_kernel
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share, within

_GRAVITY = value("standard_gravity")
_SPLIT = value("reaction_enthalpy_water") / value("molar_mass_water")
_TINY = 1e-30


@kernel
def measured_characteristic_velocity_kernel(
    chamber_pressure: float, throat_diameter: float, discharge_coefficient: float, mass_flow: float
) -> float:
    """Pressure times effective throat area over mass flow [m s-1]."""
    opening = discharge_coefficient * throat_area_kernel(throat_diameter)
    return chamber_pressure * opening / max(mass_flow, _TINY)


@kernel
def measured_thrust_coefficient_kernel(
    thrust: float, chamber_pressure: float, throat_diameter: float
) -> float:
    """Thrust over pressure times throat area [1]."""
    return thrust / max(chamber_pressure * throat_area_kernel(throat_diameter), _TINY)


@kernel
def measured_specific_impulse_kernel(thrust: float, mass_flow: float) -> float:
    """Thrust over weight flow [s]."""
    return thrust / (_GRAVITY * max(mass_flow, _TINY))


@kernel
def split_power_share_kernel(mass_flow: float, power: float) -> float:
    """Energy stored in split water over a power [1]."""
    return mass_flow * _SPLIT / max(power, _TINY)


@kernel
def characteristic_velocity_uncertainty_kernel(
    pressure: float, throat_diameter: float, mass_flow: float
) -> float:
    """Relative uncertainty of the characteristic velocity from those of its readings [1]."""
    return math.sqrt(pressure * pressure + 4.0 * throat_diameter * throat_diameter + mass_flow * mass_flow)


def measured_characteristic_velocity(
    chamber_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike,
    mass_flow: ArrayLike,
) -> FloatArray:
    r"""Characteristic velocity of readings, with the throat choked.

    .. math:: c^* = p_0 A_t C_d / \dot m

    Parameters
    ----------
    chamber_pressure : array_like, shape (...)
        Absolute stagnation pressure in the chamber [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity [m s-1].

    Raises
    ------
    DomainError
        If a discharge coefficient lies outside (0, 1], or another argument is not above zero.

    Notes
    -----
    Has no meaning while the throat is not choked; :func:`throat_mass_flow` holds there.

    References
    ----------
    .. [1] closed form: definition of the characteristic velocity (sutton_2010, chapter 3).

    Examples
    --------
    >>> print(f"{measured_characteristic_velocity(2.1e5, 1.5e-3, 0.85, 1.5e-4):.0f}")
    2103
    """
    return broadcast(
        measured_characteristic_velocity_kernel,
        above("chamber_pressure", "Pa", chamber_pressure),
        above("throat_diameter", "m", throat_diameter),
        share("discharge_coefficient", discharge_coefficient),
        above("mass_flow", "kg/s", mass_flow),
    )


def measured_thrust_coefficient(
    thrust: ArrayLike, chamber_pressure: ArrayLike, throat_diameter: ArrayLike
) -> FloatArray:
    r"""Thrust coefficient of readings.

    .. math:: C_F = F / (p_0 A_t)

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust [N].
    chamber_pressure : array_like, shape (...)
        Absolute stagnation pressure in the chamber [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].

    Returns
    -------
    ndarray, shape (...)
        Thrust coefficient [1].

    Raises
    ------
    DomainError
        If a thrust is negative or another argument is not above zero.

    References
    ----------
    .. [1] closed form: definition of the thrust coefficient (sutton_2010, chapter 3).

    Examples
    --------
    >>> print(f"{measured_thrust_coefficient(0.3, 2.1e5, 1.5e-3):.3f}")
    0.808
    """
    return broadcast(
        measured_thrust_coefficient_kernel,
        at_least("thrust", "N", thrust),
        above("chamber_pressure", "Pa", chamber_pressure),
        above("throat_diameter", "m", throat_diameter),
    )


def measured_specific_impulse(thrust: ArrayLike, mass_flow: ArrayLike) -> FloatArray:
    r"""Specific impulse of readings.

    .. math:: I_{sp} = F / (\dot m g_0)

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust [N].
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If a thrust is negative or a mass flow is not above zero.

    References
    ----------
    .. [1] closed form: definition of the specific impulse; bipm_2019 (standard gravity).

    Examples
    --------
    >>> print(f"{measured_specific_impulse(1.25e-3, 0.689e-6):.0f}")
    185
    """
    flow = above("mass_flow", "kg/s", mass_flow)
    return broadcast(measured_specific_impulse_kernel, at_least("thrust", "N", thrust), flow)


def split_power_share(mass_flow: ArrayLike, power: ArrayLike) -> FloatArray:
    r"""Share of an electric power that a flow of split water holds, on the higher heating value.

    .. math:: \eta = \dot m\,\Delta h_\mathrm{HHV} / P

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Water split per time, or the gases of whole water through the engine [kg s-1].
    power : array_like, shape (...)
        Electric power [W].

    Returns
    -------
    ndarray, shape (...)
        Efficiency [1].

    Raises
    ------
    DomainError
        If a mass flow is negative or a power is not above zero.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{100 * split_power_share(0.689e-6, 20.0):.1f} %")
    54.7 %
    """
    flow = at_least("mass_flow", "kg/s", mass_flow)
    return broadcast(split_power_share_kernel, flow, above("power", "W", power))


def characteristic_velocity_uncertainty(
    pressure_uncertainty: ArrayLike, diameter_uncertainty: ArrayLike, flow_uncertainty: ArrayLike
) -> FloatArray:
    r"""Relative uncertainty of a measured characteristic velocity.

    .. math:: \frac{u(c^*)}{c^*} = \sqrt{\left(\frac{u_p}{p}\right)^2 + \left(\frac{2 u_d}{d}\right)^2
              + \left(\frac{u_{\dot m}}{\dot m}\right)^2}

    Parameters
    ----------
    pressure_uncertainty : array_like, shape (...)
        Relative uncertainty of the chamber pressure [1].
    diameter_uncertainty : array_like, shape (...)
        Relative uncertainty of the throat diameter [1].
    flow_uncertainty : array_like, shape (...)
        Relative uncertainty of the mass flow [1].

    Returns
    -------
    ndarray, shape (...)
        Relative uncertainty, at the same coverage as the three [1].

    Raises
    ------
    DomainError
        If an uncertainty lies outside 0 to 1000.

    Notes
    -----
    Independent errors, to first order. Twice the standard uncertainty (k = 2) is what is usually reported.

    References
    ----------
    .. [1] jcgm_100_2008, section 5.1 (law of propagation of uncertainty).

    Examples
    --------
    >>> print(f"{characteristic_velocity_uncertainty(0.01, 0.01 / 0.5, 0.02):.4f}")
    0.0458
    """
    return broadcast(
        characteristic_velocity_uncertainty_kernel,
        within("pressure_uncertainty", "1", pressure_uncertainty, 0.0, 1e3),
        within("diameter_uncertainty", "1", diameter_uncertainty, 0.0, 1e3),
        within("flow_uncertainty", "1", flow_uncertainty, 0.0, 1e3),
    )
