"""The two other thermoneutral voltages, the effect of the electrolyte on the reversible one, and rival fits.

Three definitions are in use: :func:`~tradespace.physics.electrolysis.thermoneutral_voltage` (water and gases at
the same temperature), :func:`cold_feed_voltage` (water fed at 25 degC) and :func:`vapour_laden_voltage` (the vapour
that the gases carry off included).
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, share, within
from tradespace.physics.electrolysis.lye import (
    koh_vapour_pressure,
    water_activity_kernel,
)
from tradespace.physics.electrolysis.voltage import (
    _LEAST_DRY_SHARE,
    _LEAST_PRESSURE,
    _require_liquid,
    liquid_temperature,
    model_temperature_kernel,
    nernst_kernel,
    standard_reversible_voltage_kernel,
)
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.tables import read_table
from tradespace.units import convert

_FITS = "electrolysis_coefficients.csv"
_RIVALS = "electrolysis_voltage.csv"
_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_ICE_POINT = value("water_split_lowest_temperature", "physics_values.csv")
_STRONGEST = value("koh_highest_mass_fraction", "electrolysis_values.csv")
_COLD_FEED = series("leroy_cold_feed", _FITS)
_VAPOUR_HEAT = series("leroy_vapour_heat", _FITS)


@kernel
def cold_feed_voltage_kernel(temperature: float) -> float:
    """Thermoneutral voltage with water fed at 25 degC and gases leaving at the temperature of the cell [V]."""
    c0, c1, c2 = _COLD_FEED
    t = model_temperature_kernel(temperature) - _ICE_POINT
    return c0 + t * (c1 + t * c2)


@kernel
def vapour_per_hydrogen_kernel(pressure: float, vapour_pressure: float) -> float:
    """Moles of vapour carried off by both gases per mole of hydrogen [1]."""
    total = max(pressure, _LEAST_PRESSURE)
    return 1.5 * vapour_pressure / max(total - vapour_pressure, _LEAST_DRY_SHARE * total)


@kernel
def vapour_laden_voltage_kernel(temperature: float, pressure: float, vapour_pressure: float) -> float:
    """Thermoneutral voltage with water fed at 25 degC and the vapour in the gases included [V]."""
    c0, c1, c2 = _VAPOUR_HEAT
    t = model_temperature_kernel(temperature) - _ICE_POINT
    heat = c0 + t * (c1 + t * c2)
    carried = vapour_per_hydrogen_kernel(pressure, vapour_pressure)
    return cold_feed_voltage_kernel(temperature) + carried * heat / (2.0 * _FARADAY)


@kernel
def caustic_reversible_voltage_kernel(temperature: float, pressure: float, mass_fraction: float) -> float:
    """Least voltage with both gases over potassium hydroxide at a total pressure [V]."""
    activity = water_activity_kernel(mass_fraction, temperature)
    term = nernst_kernel(temperature, pressure, saturation_pressure_kernel(temperature), activity)
    return standard_reversible_voltage_kernel(temperature) + term


def cold_feed_voltage(temperature: ArrayLike) -> FloatArray:
    """Thermoneutral voltage with water fed at 25 degC and dry gases leaving at the temperature of the cell.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] leroy_1980, quoted in ursua_2012.

    Examples
    --------
    >>> print(f"{cold_feed_voltage(353.15):.4f}")
    1.4937
    """
    return broadcast(cold_feed_voltage_kernel, liquid_temperature(temperature))


def _over_lye(
    temperature: ArrayLike, pressure: ArrayLike, electrolyte_strength: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Checked temperature, pressure, mass fraction and the vapour pressure over it."""
    lye = within("electrolyte strength", "1", electrolyte_strength, 0.0, _STRONGEST)
    total, vapour = above("pressure", "Pa", pressure), koh_vapour_pressure(lye, temperature)
    _require_liquid(total, vapour)
    return liquid_temperature(temperature), total, lye, vapour


def vapour_laden_voltage(
    temperature: ArrayLike, pressure: ArrayLike, electrolyte_strength: ArrayLike = 0.0
) -> FloatArray:
    r"""Thermoneutral voltage with water fed at 25 degC, the vapour that saturates both gases included.

    .. math:: V = V_\mathrm{cold} + \frac{3}{2}\frac{p_w}{p - p_w} \frac{Y(T)}{2F}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].
    electrolyte_strength : array_like, shape (...)
        Mass fraction of potassium hydroxide, which lowers the vapour pressure; 0 for pure water [1].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If a temperature lies outside 273.15 to 373.15 K, the strength outside 0 to 0.45, or the water would boil.

    References
    ----------
    .. [1] leroy_1980, quoted in ursua_2012; balej_1985, vapour over potassium hydroxide.

    Examples
    --------
    >>> print(f"{vapour_laden_voltage(353.15, 1e5):.3f}")
    1.815
    """
    warm, total, _, vapour = _over_lye(temperature, pressure, electrolyte_strength)
    return broadcast(vapour_laden_voltage_kernel, warm, total, vapour)


def caustic_reversible_voltage(
    temperature: ArrayLike, pressure: ArrayLike, electrolyte_strength: ArrayLike
) -> FloatArray:
    r"""Least voltage with both gases at a total pressure over potassium hydroxide.

    .. math:: E = E^\circ + \frac{RT}{2F} \ln\frac{[(p - p_w)/p^\circ]^{3/2}}{a_w}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].
    pressure : array_like, shape (...)
        Total pressure on both sides [Pa].
    electrolyte_strength : array_like, shape (...)
        Mass fraction of potassium hydroxide [1].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If a temperature lies outside 273.15 to 373.15 K, the strength outside 0 to 0.45, or the water would boil.

    Notes
    -----
    The activity is that of the water, p_w over p_w of pure water; dividing by p_w in bar is a frequent mistake.

    References
    ----------
    .. [1] leroy_1980, pressure term; balej_1985, activity; mcbride_2002, species data.

    Examples
    --------
    >>> print(f"{caustic_reversible_voltage(353.15, 1e5, 0.30):.4f}")
    1.1825
    """
    warm, total, lye, _ = _over_lye(temperature, pressure, electrolyte_strength)
    return broadcast(caustic_reversible_voltage_kernel, warm, total, lye)


def pressure_slope(temperature: ArrayLike) -> FloatArray:
    r"""Rise of the reversible voltage per tenfold pressure of both dry gases.

    .. math:: \Delta E = \frac{3}{2} \ln(10) \frac{RT}{2F}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage per decade [V].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] leroy_1980, pressure term.

    Examples
    --------
    >>> print(f"{1000 * pressure_slope(353.15):.1f}")  # mV
    52.6
    """
    scale = 1.5 * math.log(10.0) * _GAS_CONSTANT / (2.0 * _FARADAY)
    return np.asarray(scale * liquid_temperature(temperature))


def vapour_share(
    temperature: ArrayLike, pressure: ArrayLike, electrolyte_strength: ArrayLike = 0.0
) -> FloatArray:
    """Share of vapour in gas that is saturated over water or potassium hydroxide.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the cell [K].
    pressure : array_like, shape (...)
        Total pressure [Pa].
    electrolyte_strength : array_like, shape (...)
        Mass fraction of potassium hydroxide; 0 for pure water [1].

    Returns
    -------
    ndarray, shape (...)
        Molar share of vapour; the dry rest is hydrogen and oxygen as 2 to 1 where the gases mix [1].

    Raises
    ------
    DomainError
        If a temperature lies outside 273.15 to 373.15 K, the strength outside 0 to 0.45, or the water would boil.

    References
    ----------
    .. [1] wagner_2002, vapour pressure; balej_1985, over potassium hydroxide.

    Examples
    --------
    >>> print(f"{vapour_share(333.15, 1e5):.3f}")
    0.199
    """
    _, total, _, vapour = _over_lye(temperature, pressure, electrolyte_strength)
    return np.asarray(vapour / total)


def rival_reversible_voltage(fit: str, temperature: ArrayLike) -> FloatArray:
    r"""Reversible voltage by a published fit; kept to check ours against.

    .. math:: E = c_0 + c_1 T + c_2 T \ln T + c_3 T^2

    Parameters
    ----------
    fit : str
        Name of a row in ``electrolysis_voltage.csv``.
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    UnknownNameError
        If no fit has that name.
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] dale_2008; hammoudi_2012; bernardi_1992; leroy_1980, eq. 58.

    Examples
    --------
    >>> print(f"{rival_reversible_voltage('dale_2008', 353.15):.5f}")
    1.18637
    """
    known = [row["name"] for row in read_table(_RIVALS).rows]
    if fit not in known:
        raise unknown_name("fit", fit, known)
    t = liquid_temperature(temperature)
    c0, c1, c2, c3 = series(fit, _RIVALS)
    return np.asarray(c0 + c1 * t + c2 * t * np.log(t) + c3 * t**2, dtype=np.float64)


def hydrogen_energy(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Electric energy per kilogram of hydrogen, stack only.

    .. math:: e = 2 F V / (M_{\mathrm{H_2}} \eta_F)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of hydrogen [J kg-1].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{hydrogen_energy(1.8, 1.0) / 3.6e6:.2f}")  # kWh per kg
    47.86
    """
    yielded = share("Faradaic efficiency", faradaic_efficiency)
    charge = 2.0 * _FARADAY / value("molar_mass_hydrogen")
    return np.asarray(charge * above("cell voltage", "V", cell_voltage) / yielded)


def hydrogen_volume_energy(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    """Electric energy per cubic metre of hydrogen as an ideal gas at 0 degC and 1 atm, stack only.

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per volume of hydrogen [J m-3].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] codata_2018, Faraday and gas constants.

    Examples
    --------
    >>> print(f"{hydrogen_volume_energy(1.4812, 1.0) / 3.6e6:.3f}")  # kWh per normal cubic metre
    3.542
    """
    molar = _GAS_CONSTANT * _ICE_POINT / float(convert(1.0, "atm", "Pa"))
    return np.asarray(
        hydrogen_energy(cell_voltage, faradaic_efficiency) * value("molar_mass_hydrogen") / molar
    )
