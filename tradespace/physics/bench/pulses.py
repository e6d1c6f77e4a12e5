"""Bursts from stored gas: how fast a volume blows down, what it holds, and the thrust it may give for a while.

Gas under pressure, oxygen above all, and mixed gas in any amount are dangers of their own; these numbers judge readings
that have been taken.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.bench.bounds import (
    STANDARD_TEMPERATURE,
    jet_speed_bound_kernel,
    unlit_gas_constant_kernel,
)
from tradespace.physics.bench.throat import throat_area_kernel
from tradespace.physics.combustion_table import WHOLE
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share

_GAS_CONSTANT = value("gas_constant")
_GRAVITY = value("standard_gravity")
_TINY = 1e-30
_LARGEST_EXPONENT = 100.0


@kernel
def blow_down_time_kernel(
    volume: float, characteristic_velocity: float, temperature: float, molar_mass: float,
    throat_diameter: float, discharge_coefficient: float,
) -> float:  # fmt: skip
    """Time in which a volume falls to 1/e of its pressure through a choked throat [s]."""
    specific = _GAS_CONSTANT * max(temperature, 1.0) / max(molar_mass, 1e-6)
    opening = max(discharge_coefficient * throat_area_kernel(throat_diameter), _TINY)
    return volume * characteristic_velocity / (specific * opening)


@kernel
def pulse_pressure_kernel(
    time: float, start_pressure: float, end_pressure: float, time_constant: float
) -> float:
    """Pressure on the way from a start to a steady end [Pa]."""
    spent = min(max(time, 0.0) / max(time_constant, _TINY), _LARGEST_EXPONENT)
    return end_pressure + (start_pressure - end_pressure) * math.exp(-spent)


@kernel
def stored_gas_mass_kernel(
    pressure_drop: float, volume: float, temperature: float, molar_mass: float
) -> float:
    """Mass that leaves a volume as its pressure falls [kg]."""
    return pressure_drop * volume * molar_mass / (_GAS_CONSTANT * max(temperature, 1.0))


@kernel
def burst_thrust_bound_kernel(
    burst_time: float, mass_flow: float, pressure_drop: float, volume: float, temperature: float,
    mixture_ratio: float,
) -> float:  # fmt: skip
    """Mean thrust over a burst that gas made meanwhile and gas from a store cannot exceed [N]."""
    specific = unlit_gas_constant_kernel(mixture_ratio) * max(temperature, 1.0)
    flow = mass_flow + pressure_drop * volume / (specific * max(burst_time, _TINY))
    return flow * jet_speed_bound_kernel(mixture_ratio, temperature)


def blow_down_time(
    volume: ArrayLike,
    characteristic_velocity: ArrayLike,
    temperature: ArrayLike,
    molar_mass: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike = 1.0,
) -> FloatArray:
    r"""Time constant with which the pressure of a volume follows the flow through its choked throat.

    .. math:: \tau = \frac{V c^*}{(R/M) T\,C_d A_t}, \qquad
              \frac{dp}{dt} = \frac{R T}{M V}\left(\dot m_{in} - \frac{C_d A_t p}{c^*}\right)

    Parameters
    ----------
    volume : array_like, shape (...)
        Volume of chamber and lines, or of the store [m3].
    characteristic_velocity : array_like, shape (...)
        Characteristic velocity of the gas at the throat [m s-1].
    temperature : array_like, shape (...)
        Temperature of the gas in the volume [K].
    molar_mass : array_like, shape (...)
        Its molar mass [kg mol-1].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].

    Returns
    -------
    ndarray, shape (...)
        Time constant [s].

    Raises
    ------
    DomainError
        If a discharge coefficient lies outside (0, 1], or another argument is not above zero.

    Notes
    -----
    Constant temperature; a fast blow-down cools the gas and ends sooner.

    References
    ----------
    .. [1] closed form: mass balance of an ideal gas at constant temperature (naca_1135 for the flow).

    Examples
    --------
    >>> print(f"{blow_down_time(1e-4, 658.0, 293.0, 0.01201, 1e-3):.3f}")  # 0.1 L of unlit gas
    0.413
    """
    return broadcast(
        blow_down_time_kernel,
        above("volume", "m3", volume),
        above("characteristic_velocity", "m/s", characteristic_velocity),
        above("temperature", "K", temperature),
        above("molar_mass", "kg/mol", molar_mass),
        above("throat_diameter", "m", throat_diameter),
        share("discharge_coefficient", discharge_coefficient),
    )


def pulse_pressure(
    time: ArrayLike, start_pressure: ArrayLike, end_pressure: ArrayLike, time_constant: ArrayLike
) -> FloatArray:
    r"""Pressure of a volume some time after the flow into it changed, its throat choked throughout.

    .. math:: p(t) = p_\infty + (p_0 - p_\infty)\,e^{-t/\tau}

    Parameters
    ----------
    time : array_like, shape (...)
        Time since the change [s].
    start_pressure : array_like, shape (...)
        Absolute pressure at the change [Pa].
    end_pressure : array_like, shape (...)
        Absolute pressure that the new flow builds up in the end, 0 when it was shut off [Pa].
    time_constant : array_like, shape (...)
        Time constant, as of :func:`blow_down_time` [s].

    Returns
    -------
    ndarray, shape (...)
        Absolute pressure [Pa].

    Raises
    ------
    DomainError
        If a time or a pressure is negative, or a time constant is not above zero.

    References
    ----------
    .. [1] closed form: mass balance of an ideal gas at constant temperature.

    Examples
    --------
    >>> print(f"{pulse_pressure(0.413, 5e5, 0.0, 0.413) / 1e5:.3f}")
    1.839
    """
    return broadcast(
        pulse_pressure_kernel,
        at_least("time", "s", time),
        at_least("start_pressure", "Pa", start_pressure),
        at_least("end_pressure", "Pa", end_pressure),
        above("time_constant", "s", time_constant),
    )


def stored_gas_mass(
    pressure_drop: ArrayLike, volume: ArrayLike, temperature: ArrayLike, molar_mass: ArrayLike
) -> FloatArray:
    r"""Mass of gas that leaves a volume as its pressure falls.

    .. math:: \Delta m = \Delta p\,V M / (R T)

    Parameters
    ----------
    pressure_drop : array_like, shape (...)
        Fall of the pressure [Pa].
    volume : array_like, shape (...)
        Volume of the store [m3].
    temperature : array_like, shape (...)
        Its temperature [K].
    molar_mass : array_like, shape (...)
        Molar mass of the gas [kg mol-1].

    Returns
    -------
    ndarray, shape (...)
        Mass [kg].

    Raises
    ------
    DomainError
        If a fall of pressure is negative or another argument is not above zero.

    References
    ----------
    .. [1] closed form: ideal gas.

    Examples
    --------
    >>> print(f"{1e6 * stored_gas_mass(1e5, 1e-3, 298.15, 0.01201):.1f}")  # mg from 1 L and 1 bar
    484.5
    """
    return broadcast(
        stored_gas_mass_kernel,
        at_least("pressure_drop", "Pa", pressure_drop),
        above("volume", "m3", volume),
        above("temperature", "K", temperature),
        above("molar_mass", "kg/mol", molar_mass),
    )


def burst_thrust_bound(
    burst_time: ArrayLike,
    mass_flow: ArrayLike,
    pressure_drop: ArrayLike,
    volume: ArrayLike,
    temperature: ArrayLike = STANDARD_TEMPERATURE,
    mixture_ratio: ArrayLike = WHOLE,
) -> FloatArray:
    r"""Mean thrust over a burst that the gas made meanwhile and the gas out of a store cannot exceed.

    .. math:: \bar F = \left(\dot m + \frac{\Delta p\,V M}{R T\,t}\right) v

    Parameters
    ----------
    burst_time : array_like, shape (...)
        Length of the burst [s].
    mass_flow : array_like, shape (...)
        Gas made while it lasts [kg s-1].
    pressure_drop : array_like, shape (...)
        Fall of the pressure in the store over the burst [Pa].
    volume : array_like, shape (...)
        Volume of the store [m3].
    temperature : array_like, shape (...)
        Temperature of the store and of the gas as it enters [K].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If a flow or a fall of pressure is negative, or another argument is not above zero.

    Notes
    -----
    The mean over whole cycles still satisfies :func:`flow_thrust_bound` with the gas made.

    References
    ----------
    .. [1] cox_1989; closed form: ideal gas, momentum of the fastest jet.

    Examples
    --------
    >>> print(f"{burst_thrust_bound(1.0, 1e-5, 1e5, 1e-3):.2f}")
    2.61
    """
    return broadcast(
        burst_thrust_bound_kernel,
        above("burst_time", "s", burst_time),
        at_least("mass_flow", "kg/s", mass_flow),
        at_least("pressure_drop", "Pa", pressure_drop),
        above("volume", "m3", volume),
        above("temperature", "K", temperature),
        above("mixture_ratio", "1", mixture_ratio),
    )


@kernel
def impulse_of_gas_kernel(gas_mass: float, specific_impulse: float) -> float:
    """Impulse of a mass of gas [N s]."""
    return gas_mass * _GRAVITY * specific_impulse


def impulse_of_gas(gas_mass: ArrayLike, specific_impulse: ArrayLike) -> FloatArray:
    r"""Impulse that a mass of gas gives: what the mean thrust of pulses adds up to, however they are shaped.

    .. math:: J = m g_0 I_{sp}

    Parameters
    ----------
    gas_mass : array_like, shape (...)
        Gas used [kg].
    specific_impulse : array_like, shape (...)
        Specific impulse [s].

    Returns
    -------
    ndarray, shape (...)
        Impulse [N s].

    Raises
    ------
    DomainError
        If a mass or a specific impulse is negative.

    References
    ----------
    .. [1] closed form: definition of the specific impulse; bipm_2019 (standard gravity).

    Examples
    --------
    >>> print(f"{impulse_of_gas(1e-3, 330.0):.3f}")
    3.236
    """
    impulse = at_least("specific_impulse", "s", specific_impulse)
    return broadcast(impulse_of_gas_kernel, at_least("gas_mass", "kg", gas_mass), impulse)
