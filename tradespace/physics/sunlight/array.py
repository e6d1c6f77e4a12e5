"""Cell temperature, and power per array area from new to aged."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, share, within
from tradespace.physics.sunlight.ageing import life_degradation_kernel
from tradespace.physics.sunlight.flux import solar_flux_kernel

_VALUES = "physics_values.csv"
_SOLAR_CONSTANT = value("solar_constant")
_STEFAN_BOLTZMANN = value("stefan_boltzmann")
_ONSET = value("low_intensity_onset_distance", _VALUES)
_FULL = value("low_intensity_full_distance", _VALUES)
_TINY = 1e-9
_STEEPEST = value("steepest_temperature_coefficient", "power_values.csv")
_FACES = 2.0  # emissivities of both faces, added
_SETTLED = (
    1e-3  # last step over the temperature, and bend over rise there; the error is smaller by its square
)
_CLOSE = 1e-6  # step of Newton's method after which the next one is below rounding
_PASSES = 4  # of Newton's method; each squares the relative error, which starts below a tenth


@kernel
def array_temperature_kernel(flux: float, absorptivity: float, efficiency: float, emissivity: float) -> float:
    """Temperature of a flat plate that turns part of the light it absorbs into power [K]."""
    kept = max(absorptivity - efficiency, 0.0)
    radiated = _STEFAN_BOLTZMANN * max(emissivity, _TINY)
    return math.sqrt(math.sqrt(max(flux, 0.0) * kept / radiated))


@kernel
def low_intensity_factor_kernel(distance: float, low_intensity_loss: float) -> float:
    """Power left after the low-intensity loss [1]: whole up to the onset, least from the full distance on."""
    part = min(max((distance - _ONSET) / (_FULL - _ONSET), 0.0), 1.0)
    return 1.0 - low_intensity_loss * part * part * (3.0 - 2.0 * part)


@kernel
def cell_efficiency_kernel(
    efficiency: float,
    reference_temperature: float,
    temperature_coefficient: float,
    temperature: float,
    low_intensity_loss: float,
) -> float:
    """Efficiency at a cell temperature, linear in it, never below zero [1]."""
    warm = 1.0 + temperature_coefficient * (temperature - reference_temperature)
    return max(efficiency * warm, 0.0) * (1.0 - low_intensity_loss)


@kernel
def working_efficiency_kernel(
    flux: float,
    efficiency: float,
    reference_temperature: float,
    temperature_coefficient: float,
    absorptivity: float,
    emissivity: float,
) -> float:
    """Efficiency at the temperature a plate takes up when it delivers that efficiency [1].

    What leaves as electricity does not heat the plate, so efficiency and temperature are solved together: two steps of
    Halley's method, each of which cubes the relative error, and where they have not settled it a slower way.
    """
    hot = max(flux, 0.0) / (_STEFAN_BOLTZMANN * max(emissivity, _TINY))
    rate = efficiency * temperature_coefficient
    slope = hot * rate
    level = hot * (absorptivity - efficiency + rate * reference_temperature)
    temperature = math.sqrt(math.sqrt(hot * max(absorptivity - efficiency, 0.0)))
    settled = False
    for _ in range(2):
        square = temperature * temperature
        rise = 4.0 * square * temperature + slope
        over = square * square + slope * temperature - level
        near = abs(over) < _SETTLED * temperature * rise
        settled = near and rise > 0.0 and 6.0 * square * abs(over) < _SETTLED * rise * rise
        temperature -= over * rise / (rise * rise - 6.0 * square * over)
    if settled:
        return min(max(efficiency + rate * (temperature - reference_temperature), 0.0), absorptivity)
    return slow_efficiency_kernel(
        hot, efficiency, reference_temperature, temperature_coefficient, absorptivity
    )


@kernel
def slow_efficiency_kernel(
    hot: float,
    efficiency: float,
    reference_temperature: float,
    temperature_coefficient: float,
    absorptivity: float,
) -> float:
    """Efficiency of :func:`working_efficiency_kernel` by damped steps that stay within bounds [1].

    ``hot`` is the fourth power of the temperature that the light gives a plate which absorbs all of it [K4].
    """
    working = min(efficiency, absorptivity)
    rate = efficiency * temperature_coefficient
    for _ in range(_PASSES):
        kept = max(absorptivity - working, 0.0)
        temperature = math.sqrt(math.sqrt(hot * kept))
        there = max(efficiency + rate * (temperature - reference_temperature), 0.0)
        step = there - working
        if there > 0.0:
            kept = max(kept, 1e-6)
            step *= kept / max(kept + 0.25 * rate * temperature, 0.5 * kept)
        working = min(max(working + step, 0.0), absorptivity)
        if abs(step) < _CLOSE:
            break
    return working


@kernel
def new_power_density_kernel(
    distance: float,
    efficiency: float,
    reference_temperature: float,
    temperature_coefficient: float,
    absorptivity: float,
    emissivity: float,
    low_intensity_loss: float,
) -> float:
    """Electric power per area of a new array facing the Sun [W m-2]; zero where the cells are too hot to give any."""
    flux = solar_flux_kernel(distance)
    working = working_efficiency_kernel(
        flux, efficiency, reference_temperature, temperature_coefficient, absorptivity, emissivity
    )
    return flux * working * low_intensity_factor_kernel(distance, low_intensity_loss)


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
    """Electric power per array area facing the Sun after years of use [W m-2]."""
    return new_power_density_kernel(
        distance, efficiency, reference_temperature, temperature_coefficient, absorptivity, emissivity,
        low_intensity_loss,
    ) * life_degradation_kernel(ageing_rate, age)  # fmt: skip


@kernel
def area_of_power_kernel(array_power: float, efficiency: float) -> float:
    """Area that gives a power at 1 au, new, at the reference temperature, facing the Sun [m2]."""
    return array_power / (max(efficiency, _TINY) * _SOLAR_CONSTANT)


def _below_absorptivity(efficiency: FloatArray, absorptivity: ArrayLike) -> None:
    eta, most = np.broadcast_arrays(efficiency, floats(absorptivity))
    least = most[~(eta < most)]
    limit = f"is not below the absorptivity {least.flat[0]:.6g}" if least.size else ""
    require_each(eta < most, "efficiency", "1", eta, limit)


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
        If flux is not above zero, emissivity outside (0, 2], or efficiency does not lie between zero and absorptivity.

    References
    ----------
    .. [1] benson_2007, flat-plate balance.

    Examples
    --------
    >>> print(f"{array_temperature(1361.0, 0.92, 0.25, 1.7) - 273.15:.1f}")
    38.7
    """
    above("flux", "W/m2", flux)
    within("emissivity", "1", emissivity, 0.0, _FACES, open_low=True)
    share("absorptivity", absorptivity)
    eta = at_least("efficiency", "1", efficiency)
    _below_absorptivity(eta, absorptivity)
    return broadcast(array_temperature_kernel, flux, absorptivity, eta, emissivity)


def cell_efficiency(
    efficiency: ArrayLike,
    reference_temperature: ArrayLike,
    temperature_coefficient: ArrayLike,
    temperature: ArrayLike,
    low_intensity_loss: ArrayLike,
) -> FloatArray:
    r"""Efficiency of a cell at a temperature, after a loss at low intensity.

    .. math:: \eta = \eta_0 [1 + \beta (T - T_0)] (1 - f)

    Parameters
    ----------
    efficiency : array_like, shape (...)
        Efficiency at the reference temperature [1].
    reference_temperature : array_like, shape (...)
        Temperature at which that efficiency is stated [K].
    temperature_coefficient : array_like, shape (...)
        Relative change of power per kelvin, negative for real cells [1/K].
    temperature : array_like, shape (...)
        Cell temperature [K].
    low_intensity_loss : array_like, shape (...)
        Share of power lost at the intensity in question [1].

    Returns
    -------
    ndarray, shape (...)
        Efficiency, zero where the linear law would turn negative [1].

    Raises
    ------
    DomainError
        If a temperature is not above zero, the coefficient lies outside -0.05 to 0.05 1/K, the efficiency
        outside (0, 1] or the loss outside 0 to 1.

    References
    ----------
    .. [1] fetzer_xtj, temperature law; khorenko_2014, measured efficiency at low intensity.

    Examples
    --------
    >>> print(f"{cell_efficiency(0.28, 301.15, -0.002, 123.15, 0.08):.3f}")
    0.349
    """
    share("efficiency", efficiency)
    above("reference temperature", "K", reference_temperature)
    within("temperature coefficient", "1/K", temperature_coefficient, -_STEEPEST, _STEEPEST)
    above("temperature", "K", temperature)
    within("low intensity loss", "1", low_intensity_loss, 0.0, 1.0)
    return broadcast(
        cell_efficiency_kernel,
        efficiency, reference_temperature, temperature_coefficient, temperature, low_intensity_loss,
    )  # fmt: skip


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
        If a share lies outside its range, distance is not above zero, age is negative, emissivity lies outside
        (0, 2], or the temperature coefficient outside -0.05 to 0.05 1/K.

    Notes
    -----
    The low-intensity loss is zero up to 1 au and has its full value from 3 au on; between them it follows
    x^2 (3 - 2 x). That shape is assumed; the full value is set from one flight point at 3 au. Without that
    loss the fall with distance stays within 3 % of the older array curve of sauer_1978 from 1 to 3 au. Cell
    temperature and efficiency are solved together by Newton's method. Cells so hot that the linear law would
    turn negative give zero.

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
    within("emissivity", "1", emissivity, 0.0, _FACES, open_low=True)
    above("reference temperature", "K", reference_temperature)
    within("temperature coefficient", "1/K", temperature_coefficient, -_STEEPEST, _STEEPEST)
    share("absorptivity", absorptivity)
    at_least("age", "s", age)
    eta, rate = (
        above("efficiency", "1", efficiency),
        within("ageing rate", "1/yr", ageing_rate, 0.0, 1.0, open_high=True),
    )
    _below_absorptivity(eta, absorptivity)
    loss = at_least("low intensity loss", "1", low_intensity_loss)
    require_each(loss < 1, "low intensity loss", "1", loss, "must be below 1")
    return broadcast(
        array_power_density_kernel,
        distance, eta, reference_temperature, temperature_coefficient, absorptivity, emissivity,
        loss, rate, age,
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
