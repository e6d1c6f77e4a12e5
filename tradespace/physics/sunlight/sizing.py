"""Textbook sizing of array and battery for a load by day and by night."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, share

_TINY = 1e-9  # keeps a hopeless input finite


@kernel
def night_battery_energy_kernel(
    load: float, night: float, depth_of_discharge: float, efficiency: float
) -> float:
    """Energy a battery must hold to carry a load through a night [J]."""
    return load * night / (max(depth_of_discharge, _TINY) * max(efficiency, _TINY))


@kernel
def solar_array_load_kernel(
    day_load: float,
    night_load: float,
    day_length: float,
    night_length: float,
    day_efficiency: float,
    night_efficiency: float,
) -> float:
    """Power the array must give in daylight to carry the day and to charge for the night [W]."""
    day = day_load * day_length / max(day_efficiency, _TINY)
    night = night_load * night_length / max(night_efficiency, _TINY)
    return (day + night) / max(day_length, _TINY)


@kernel
def array_output_kernel(
    flux: float, efficiency: float, inherent_degradation: float, incidence: float
) -> float:
    """Power per area of a new array off the Sun line [W m-2]."""
    return flux * efficiency * inherent_degradation * math.cos(incidence)


def area_of_load(load: ArrayLike, power_density: ArrayLike) -> FloatArray:
    """Cell area that carries a load at a given power per area.

    Parameters
    ----------
    load : array_like, shape (...)
        Power the array must give [W].
    power_density : array_like, shape (...)
        Power per area at the end of life [W m-2].

    Returns
    -------
    ndarray, shape (...)
        Cell area [m2].

    Raises
    ------
    DomainError
        If either is not above zero.

    References
    ----------
    .. [1] smad_1999, chapter 11.4.

    Examples
    --------
    >>> print(f"{area_of_load(239.4, 118.0):.2f}")
    2.03
    """
    above("load", "W", load)
    above("power density", "W/m2", power_density)
    return np.asarray(floats(load) / floats(power_density), dtype=np.float64)


def array_output(
    flux: ArrayLike, efficiency: ArrayLike, inherent_degradation: ArrayLike, incidence: ArrayLike
) -> FloatArray:
    """Power per area of a new array whose normal is off the Sun line.

    Parameters
    ----------
    flux : array_like, shape (...)
        Sunlight [W m-2].
    efficiency : array_like, shape (...)
        Cell efficiency [1].
    inherent_degradation : array_like, shape (...)
        Share left after packing, wiring and temperature [1].
    incidence : array_like, shape (...)
        Angle between the array normal and the Sun line [rad].

    Returns
    -------
    ndarray, shape (...)
        Power per area at the beginning of life [W m-2].

    Raises
    ------
    DomainError
        If a share lies outside (0, 1], or the angle is beyond a right angle.

    References
    ----------
    .. [1] smad_1999, chapter 11.4.

    Examples
    --------
    >>> print(f"{array_output(1367.0, 0.148, 0.77, 0.41015):.0f}")
    143
    """
    above("flux", "W/m2", flux)
    share("efficiency", efficiency)
    share("inherent degradation", inherent_degradation)
    upright = np.abs(floats(incidence)) < math.pi / 2
    require_each(upright, "incidence", "rad", incidence, "is at or beyond a right angle (pi/2 rad)")
    return broadcast(array_output_kernel, flux, efficiency, inherent_degradation, incidence)


def solar_array_load(
    day_load: ArrayLike,
    night_load: ArrayLike,
    day_length: ArrayLike,
    night_length: ArrayLike,
    day_efficiency: ArrayLike,
    night_efficiency: ArrayLike,
) -> FloatArray:
    r"""Power the array must give in daylight to carry the day and charge for the night.

    .. math:: P = (P_d T_d / X_d + P_e T_e / X_e) / T_d

    Parameters
    ----------
    day_load : array_like, shape (...)
        Load in daylight [W].
    night_load : array_like, shape (...)
        Load in the dark [W].
    day_length : array_like, shape (...)
        Length of daylight [s].
    night_length : array_like, shape (...)
        Length of the dark [s].
    day_efficiency : array_like, shape (...)
        Efficiency from array to load [1].
    night_efficiency : array_like, shape (...)
        Efficiency from array through battery to load [1].

    Returns
    -------
    ndarray, shape (...)
        Array power in daylight [W].

    Raises
    ------
    DomainError
        If a load or length is negative, daylight is zero, or an efficiency lies outside (0, 1].

    References
    ----------
    .. [1] smad_1999, eq. 11-5.

    Examples
    --------
    >>> print(f"{solar_array_load(110.0, 110.0, 3810.0, 2118.0, 0.80, 0.60):.1f}")
    239.4
    """
    at_least("day load", "W", day_load)
    at_least("night load", "W", night_load)
    above("day length", "s", day_length)
    at_least("night length", "s", night_length)
    share("day efficiency", day_efficiency)
    share("night efficiency", night_efficiency)
    return broadcast(
        solar_array_load_kernel,
        day_load,
        night_load,
        day_length,
        night_length,
        day_efficiency,
        night_efficiency,
    )


def night_battery_energy(
    load: ArrayLike, night: ArrayLike, depth_of_discharge: ArrayLike, efficiency: ArrayLike
) -> FloatArray:
    r"""Energy a battery must hold to carry a load through a night.

    .. math:: E = P t / (D\,\eta)

    Parameters
    ----------
    load : array_like, shape (...)
        Load in the dark [W].
    night : array_like, shape (...)
        Length of the dark [s].
    depth_of_discharge : array_like, shape (...)
        Share of the energy used each night [1].
    efficiency : array_like, shape (...)
        Efficiency between battery and load [1].

    Returns
    -------
    ndarray, shape (...)
        Rated energy [J].

    Raises
    ------
    DomainError
        If load or night is negative, or a share lies outside (0, 1].

    References
    ----------
    .. [1] smad_1999, eq. 11-11.

    Examples
    --------
    >>> print(f"{night_battery_energy(110.0, 2118.0, 0.6, 0.9) / 3600:.1f}")  # Wh
    119.8
    """
    at_least("load", "W", load)
    at_least("night", "s", night)
    share("depth of discharge", depth_of_discharge)
    share("efficiency", efficiency)
    return broadcast(night_battery_energy_kernel, load, night, depth_of_discharge, efficiency)


def battery_capacity(
    load: ArrayLike, night: ArrayLike, depth_of_discharge: ArrayLike, count: ArrayLike, efficiency: ArrayLike
) -> FloatArray:
    """Rated energy of each of several equal batteries that share the night load.

    Parameters
    ----------
    load : array_like, shape (...)
        Load in the dark [W].
    night : array_like, shape (...)
        Length of the dark [s].
    depth_of_discharge : array_like, shape (...)
        Share of the energy used each night [1].
    count : array_like, shape (...)
        Number of batteries [1].
    efficiency : array_like, shape (...)
        Efficiency between battery and load [1].

    Returns
    -------
    ndarray, shape (...)
        Rated energy of one battery [J].

    Raises
    ------
    DomainError
        If there is less than one battery, or as for :func:`night_battery_energy`.

    References
    ----------
    .. [1] smad_1999, eq. 11-11.

    Examples
    --------
    >>> print(f"{battery_capacity(110.0, 2118.0, 0.2, 3, 0.9) / 3600:.1f}")  # Wh
    119.8
    """
    number = at_least("count of batteries", "1", count, 1.0)
    return np.asarray(night_battery_energy(load, night, depth_of_discharge, efficiency) / number)
