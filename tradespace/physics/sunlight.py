"""Sunlight and the solar array: flux, cell temperature, power per area from new to aged, night storage."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, share

__all__ = [
    "area_of_load",
    "area_of_power",
    "array_output",
    "array_power_density",
    "array_temperature",
    "battery_capacity",
    "life_degradation",
    "night_battery_energy",
    "solar_array_load",
    "solar_flux",
]

_VALUES = "physics_values.csv"
_SOLAR_CONSTANT = value("solar_constant")
_AU = value("astronomical_unit")
_STEFAN_BOLTZMANN = value("stefan_boltzmann")
_YEAR = value("julian_year", _VALUES)
_ONSET = value("low_intensity_onset_distance", _VALUES)
_FULL = value("low_intensity_full_distance", _VALUES)
_PASSES = 4  # each pass divides the error of the cell temperature by more than ten


@kernel
def solar_flux_kernel(distance: float) -> float:
    """Sunlight at a distance from the Sun [W m-2]."""
    return _SOLAR_CONSTANT * (_AU / distance) ** 2


@kernel
def array_temperature_kernel(flux: float, absorptivity: float, efficiency: float, emissivity: float) -> float:
    """Temperature of a flat plate that turns part of the light it absorbs into power [K]."""
    kept = max(absorptivity - efficiency, 0.0)
    return math.sqrt(math.sqrt(flux * kept / (_STEFAN_BOLTZMANN * emissivity)))


@kernel
def low_intensity_factor_kernel(distance: float, low_intensity_loss: float) -> float:
    """Power left after the low-intensity loss: 1 inside the onset, 1 - loss beyond full distance, smooth between."""
    part = min(max((distance - _ONSET) / (_FULL - _ONSET), 0.0), 1.0)
    return 1.0 - low_intensity_loss * part * part * (3.0 - 2.0 * part)


@kernel
def life_degradation_kernel(ageing_rate: float, age: float) -> float:
    """Power left after an age in seconds at a relative loss per year [1]."""
    return (1.0 - ageing_rate) ** (age / _YEAR)


@kernel
def array_power_density_kernel(
    distance: float,
    efficiency: float,
    reference_temperature: float,
    temperature_coefficient: float,
    absorptivity: float,
    emissivity: float,
    low_intensity_loss: float,
    ageing_rate: float,
    age: float,
) -> float:
    """Electric power per array area facing the Sun [W m-2]; zero where the cells are too hot to give any."""
    flux = solar_flux_kernel(distance)
    working = efficiency
    for _ in range(_PASSES):
        temperature = array_temperature_kernel(flux, absorptivity, working, emissivity)
        warm = 1.0 + temperature_coefficient * (temperature - reference_temperature)
        working = min(max(efficiency * warm, 0.0), absorptivity)
    left = low_intensity_factor_kernel(distance, low_intensity_loss) * life_degradation_kernel(
        ageing_rate, age
    )
    return flux * working * left


@kernel
def area_of_power_kernel(array_power: float, efficiency: float) -> float:
    """Area that gives a power at 1 au, new, at the reference temperature, facing the Sun [m2]."""
    return array_power / (efficiency * _SOLAR_CONSTANT)


@kernel
def night_battery_energy_kernel(
    load: float, night: float, depth_of_discharge: float, efficiency: float
) -> float:
    """Energy a battery must hold to carry a load through a night [J]."""
    return load * night / (depth_of_discharge * efficiency)


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
    return (
        day_load * day_length / day_efficiency + night_load * night_length / night_efficiency
    ) / day_length


@kernel
def array_output_kernel(
    flux: float, efficiency: float, inherent_degradation: float, incidence: float
) -> float:
    """Power per area of a new array off the Sun line [W m-2]."""
    return flux * efficiency * inherent_degradation * math.cos(incidence)


def _ageing(ageing_rate: ArrayLike) -> FloatArray:
    rate = at_least("ageing rate", "1/yr", ageing_rate)
    require_each(rate < 1, "ageing rate", "1/yr", rate, "must be below 1 per year")
    return rate


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


def array_temperature(
    flux: ArrayLike, absorptivity: ArrayLike, efficiency: ArrayLike, emissivity: ArrayLike
) -> FloatArray:
    r"""Temperature of a flat array facing the Sun in free space.

    .. math:: T = [S(\alpha - \eta) / (\sigma \varepsilon)]^{1/4}

    Parameters
    ----------
    flux : array_like, shape (...)
        Sunlight [W m-2].
    absorptivity : array_like, shape (...)
        Share of sunlight absorbed [1].
    efficiency : array_like, shape (...)
        Share of sunlight turned into electric power [1].
    emissivity : array_like, shape (...)
        Infrared emissivity of both faces added [1].

    Returns
    -------
    ndarray, shape (...)
        Cell temperature [K].

    Raises
    ------
    DomainError
        If flux or emissivity is not above zero, or efficiency does not lie between zero and absorptivity.

    References
    ----------
    .. [1] benson_2007, flat-plate balance.

    Examples
    --------
    >>> print(f"{array_temperature(1361.0, 0.92, 0.25, 1.7) - 273.15:.1f}")
    38.7
    """
    above("flux", "W/m2", flux)
    above("emissivity", "1", emissivity)
    share("absorptivity", absorptivity)
    eta = at_least("efficiency", "1", efficiency)
    require_each(eta < floats(absorptivity), "efficiency", "1", eta, "is not below the absorptivity")
    return broadcast(array_temperature_kernel, flux, absorptivity, eta, emissivity)


def array_power_density(
    distance: ArrayLike,
    efficiency: ArrayLike,
    reference_temperature: ArrayLike,
    temperature_coefficient: ArrayLike,
    absorptivity: ArrayLike,
    emissivity: ArrayLike,
    low_intensity_loss: ArrayLike,
    ageing_rate: ArrayLike,
    age: ArrayLike,
) -> FloatArray:
    r"""Electric power per array area facing the Sun, at the temperature the array takes up there.

    .. math:: p = S(r)\,\eta(T)\,[1 - f(r)]\,(1 - d)^{t}, \quad \eta(T) = \eta_0 [1 + \beta (T - T_0)]

    Parameters
    ----------
    distance : array_like, shape (...)
        Distance from the Sun [m].
    efficiency : array_like, shape (...)
        Efficiency of the new array at the reference temperature [1].
    reference_temperature : array_like, shape (...)
        Temperature at which that efficiency is stated [K].
    temperature_coefficient : array_like, shape (...)
        Relative change of power per kelvin, negative for real cells [1/K].
    absorptivity : array_like, shape (...)
        Share of sunlight absorbed [1].
    emissivity : array_like, shape (...)
        Infrared emissivity of both faces added [1].
    low_intensity_loss : array_like, shape (...)
        Share of power lost at low intensity and low temperature, far from the Sun [1].
    ageing_rate : array_like, shape (...)
        Relative loss per Julian year [1/yr].
    age : array_like, shape (...)
        Time since the array was new [s].

    Returns
    -------
    ndarray, shape (...)
        Electric power per area, before pointing and conversion losses [W m-2].

    Raises
    ------
    DomainError
        If a share lies outside its range, or distance, emissivity or age is negative.

    Notes
    -----
    The low-intensity loss is zero up to 1 au and has its full value from 3 au on; between them it follows
    x^2 (3 - 2 x). That shape is assumed; the full value is set from one flight point at 3 au. Cell temperature and
    efficiency are made consistent by four passes (better than 1e-5 of the power). Cells so hot that the linear
    law would turn negative give zero.

    References
    ----------
    .. [1] benson_2007 (flat-plate balance, flight point); fetzer_xtj (temperature law); smad_1999 (ageing).

    Examples
    --------
    >>> au = 149597870700
    >>> print(f"{array_power_density(3 * au, 0.298, 301.15, -0.002, 0.92, 1.7, 0.08, 0.005, 0.0):.1f}")
    52.3
    """
    above("distance", "m", distance)
    above("emissivity", "1", emissivity)
    above("reference temperature", "K", reference_temperature)
    share("absorptivity", absorptivity)
    at_least("age", "s", age)
    eta, rate = above("efficiency", "1", efficiency), _ageing(ageing_rate)
    require_each(eta < floats(absorptivity), "efficiency", "1", eta, "is not below the absorptivity")
    loss = at_least("low-intensity loss", "1", low_intensity_loss)
    require_each(loss < 1, "low-intensity loss", "1", loss, "must be below 1")
    return broadcast(
        array_power_density_kernel,
        distance, eta, reference_temperature, temperature_coefficient, absorptivity, emissivity, loss, rate, age,
    )  # fmt: skip


def area_of_power(array_power: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    """Cell area behind a stated array power: 1 au, new, at the reference temperature, facing the Sun.

    Parameters
    ----------
    array_power : array_like, shape (...)
        Stated electric power [W].
    efficiency : array_like, shape (...)
        Efficiency at the reference temperature [1].

    Returns
    -------
    ndarray, shape (...)
        Cell area [m2].

    Raises
    ------
    DomainError
        If power is not above zero or efficiency lies outside (0, 1].

    References
    ----------
    .. [1] gueymard_2018, solar constant.

    Examples
    --------
    >>> print(f"{area_of_power(10e3, 0.298):.2f}")
    24.65
    """
    above("array power", "W", array_power)
    share("efficiency", efficiency)
    return broadcast(area_of_power_kernel, array_power, efficiency)


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


def life_degradation(ageing_rate: ArrayLike, age: ArrayLike) -> FloatArray:
    r"""Share of the array power left at an age.

    .. math:: L = (1 - d)^{t}

    Parameters
    ----------
    ageing_rate : array_like, shape (...)
        Relative loss per Julian year [1/yr].
    age : array_like, shape (...)
        Time since the array was new [s].

    Returns
    -------
    ndarray, shape (...)
        Share of power left [1].

    Raises
    ------
    DomainError
        If the rate lies outside [0, 1) or the age is negative.

    References
    ----------
    .. [1] smad_1999, chapter 11.4.

    Examples
    --------
    >>> print(f"{life_degradation(0.0375, 5 * 31557600):.3f}")
    0.826
    """
    return broadcast(life_degradation_kernel, _ageing(ageing_rate), at_least("age", "s", age))


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
