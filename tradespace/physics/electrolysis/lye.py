"""Potassium hydroxide: density, conductivity, and the vapour over it.

Hot caustic electrolyte burns skin and eyes; these numbers are for study only.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.units import convert

_VALUES = "electrolysis_values.csv"
_FITS = "electrolysis_coefficients.csv"
_ICE_POINT = value("water_split_lowest_temperature", "physics_values.csv")
_MOLAR_MASS = value("koh_molar_mass", _VALUES)
_STRONGEST = value("koh_highest_mass_fraction", _VALUES)
_WEAKEST_FITTED = value("koh_lowest_fitted_fraction", _VALUES)
_MOST_MOLAR = value("koh_highest_molarity", _VALUES)
_MOST_MOLAL = value("koh_highest_molality", _VALUES)
_COLDEST = value("koh_lowest_temperature", _VALUES)
_HOTTEST = value("koh_highest_temperature", _VALUES)
_GILLIAM = series("gilliam_2007", _FITS)
_SEE_WHITE = series("see_white_1997", _FITS)
_DENSITY = series("koh_density", _FITS)
_BALEJ = series("balej_molality", _FITS)
_LEROY_VAPOUR = series("leroy_vapour_pressure", _FITS)
_BAR_PER_ATM = float(convert(1.0, "atm", "bar"))


@kernel
def koh_density_kernel(mass_fraction: float, temperature: float) -> float:
    """Density of potassium hydroxide solution [kg m-3]."""
    c0, c1, c2, c3, c4, c5 = _DENSITY
    t = min(max(temperature, _COLDEST), _HOTTEST) - _ICE_POINT
    water = c0 + t * (c1 + t * (c2 + t * (c3 + t * c4)))
    return water * math.exp(c5 * 100.0 * min(max(mass_fraction, 0.0), 1.0))


@kernel
def koh_molarity_kernel(mass_fraction: float, temperature: float) -> float:
    """Moles of potassium hydroxide per volume of solution [mol m-3]."""
    return mass_fraction * koh_density_kernel(mass_fraction, temperature) / _MOLAR_MASS


@kernel
def gilliam_2007_kernel(molarity: float, temperature: float) -> float:
    """Conductivity of potassium hydroxide [S m-1]; past the range of the fit its nearer end holds."""
    c0, c1, c2, c3, c4, c5 = _GILLIAM
    m = min(max(molarity, 0.0), _MOST_MOLAR) / 1e3
    t = min(max(temperature, _COLDEST), _HOTTEST)
    found = m * (c0 + c2 * t + c3 / t + m * (c1 + c5 * t * t + m * c4))
    return max(found, 0.0) * 100.0


@kernel
def see_white_1997_kernel(mass_fraction: float, temperature: float) -> float:
    """Conductivity of potassium hydroxide by the second fit [S m-1]."""
    c0, c1, c2, c3, c4, c5, c6, c7 = _SEE_WHITE
    w = 100.0 * min(max(mass_fraction, _WEAKEST_FITTED), _STRONGEST)
    t = min(max(temperature, _COLDEST), _HOTTEST)
    return 100.0 * (
        c0 * w
        + c1 * t
        + t * t * (c2 + c4 * math.exp(c5 * math.log(w)))
        + c3 * t * w
        + c6 * t / w
        + c7 * w / t
    )


@kernel
def water_activity_kernel(mass_fraction: float, temperature: float) -> float:
    """Vapour pressure over potassium hydroxide by that over water [1]."""
    share = min(max(mass_fraction, 0.0), _STRONGEST)
    m = min(share / ((1.0 - share) * _MOLAR_MASS), _MOST_MOLAL)
    c0, c1, c2, c3, c4, c5 = _BALEJ
    e0, e1, e2 = _LEROY_VAPOUR
    t = min(max(temperature, _COLDEST), _HOTTEST)
    pure = (e0 * math.log(t) + e1 - e2 / t) / math.log(10.0) + math.log10(_BAR_PER_ATM)
    change = m * (c0 + m * (c1 + m * c2)) + m * (c3 + m * (c4 + m * c5)) * pure
    return min(math.exp(math.log(10.0) * change), 1.0)


@kernel
def koh_vapour_pressure_kernel(mass_fraction: float, temperature: float) -> float:
    """Vapour pressure over potassium hydroxide [Pa]."""
    return water_activity_kernel(mass_fraction, temperature) * saturation_pressure_kernel(temperature)


def _strength(name: str, mass_fraction: ArrayLike, low: float = 0.0) -> FloatArray:
    return within(name, "1", mass_fraction, low, _STRONGEST)


def _warm(temperature: ArrayLike) -> FloatArray:
    return within("temperature", "K", temperature, _COLDEST, _HOTTEST)


def koh_density(mass_fraction: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Density of potassium hydroxide solution.

    Parameters
    ----------
    mass_fraction : array_like, shape (...)
        Mass of potassium hydroxide per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Density [kg m-3].

    Raises
    ------
    DomainError
        If the mass fraction lies outside 0 to 0.45 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] gilliam_2007, density correlation.

    Examples
    --------
    >>> print(f"{koh_density(0.30, 298.15):.0f}")
    1290
    """
    return broadcast(koh_density_kernel, _strength("mass fraction", mass_fraction), _warm(temperature))


def koh_molarity(mass_fraction: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Moles of potassium hydroxide per volume of solution.

    Parameters
    ----------
    mass_fraction : array_like, shape (...)
        Mass of potassium hydroxide per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Molarity [mol m-3].

    Raises
    ------
    DomainError
        If the mass fraction lies outside 0 to 0.45 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] gilliam_2007, density correlation.

    Examples
    --------
    >>> print(f"{koh_molarity(0.30, 298.15) / 1000:.2f}")  # mol per litre
    6.90
    """
    return broadcast(koh_molarity_kernel, _strength("mass fraction", mass_fraction), _warm(temperature))


def gilliam_2007(molarity: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Conductivity of potassium hydroxide over the whole range of strength.

    .. math:: \kappa = c_0 M + c_1 M^2 + c_2 M T + c_3 M/T + c_4 M^3 + c_5 M^2 T^2

    Parameters
    ----------
    molarity : array_like, shape (...)
        Moles of potassium hydroxide per volume of solution [mol m-3].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Conductivity [S m-1].

    Raises
    ------
    DomainError
        If the molarity lies outside 0 to 12 000 mol/m3 or the temperature outside 273.15 to 373.15 K.

    Notes
    -----
    Below 1 mol/L the fit lies 4 to 6 % above the handbook's table.

    References
    ----------
    .. [1] gilliam_2007, fit over 0-12 mol/L and 0-100 degC.

    Examples
    --------
    >>> print(f"{gilliam_2007(6000.0, 298.15):.2f}")
    62.66
    """
    strong = within("molarity", "mol/m3", molarity, 0.0, _MOST_MOLAR)
    return broadcast(gilliam_2007_kernel, strong, _warm(temperature))


def see_white_1997(mass_fraction: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Conductivity of strong potassium hydroxide by a second fit; kept to check the first against.

    Parameters
    ----------
    mass_fraction : array_like, shape (...)
        Mass of potassium hydroxide per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Conductivity [S m-1].

    Raises
    ------
    DomainError
        If the mass fraction lies outside 0.15 to 0.45 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] see_white_1997, fit over 15-45 % by mass.

    Examples
    --------
    >>> print(f"{see_white_1997(0.30, 353.15):.1f}")
    136.1
    """
    strong = _strength("mass fraction", mass_fraction, _WEAKEST_FITTED)
    return broadcast(see_white_1997_kernel, strong, _warm(temperature))


def water_activity(mass_fraction: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Vapour pressure over potassium hydroxide by that over pure water.

    Parameters
    ----------
    mass_fraction : array_like, shape (...)
        Mass of potassium hydroxide per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Activity of the water [1].

    Raises
    ------
    DomainError
        If the mass fraction lies outside 0 to 0.45 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] balej_1985, vapour pressure by molality; leroy_1980, vapour pressure of water in it.

    Examples
    --------
    >>> print(f"{water_activity(0.30, 353.15):.3f}")
    0.617
    """
    return broadcast(water_activity_kernel, _strength("mass fraction", mass_fraction), _warm(temperature))


def koh_vapour_pressure(mass_fraction: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Vapour pressure over potassium hydroxide.

    Parameters
    ----------
    mass_fraction : array_like, shape (...)
        Mass of potassium hydroxide per mass of solution [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Vapour pressure [Pa].

    Raises
    ------
    DomainError
        If the mass fraction lies outside 0 to 0.45 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] balej_1985, activity; wagner_2002, vapour pressure of pure water.

    Examples
    --------
    >>> print(f"{koh_vapour_pressure(0.30, 353.15) / 1e5:.3f}")  # bar
    0.293
    """
    return broadcast(
        koh_vapour_pressure_kernel, _strength("mass fraction", mass_fraction), _warm(temperature)
    )


def leroy_vapour_pressure(temperature: ArrayLike) -> FloatArray:
    """Vapour pressure of water by the short fit inside the classic formulas; kept to check ours against.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Vapour pressure [Pa].

    Raises
    ------
    DomainError
        If a temperature lies outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] leroy_1980, fit in atmospheres.

    Examples
    --------
    >>> print(f"{leroy_vapour_pressure(353.15) / 1e5:.4f}")  # bar
    0.4699
    """
    t = _warm(temperature)
    e0, e1, e2 = _LEROY_VAPOUR
    return np.asarray(convert(1.0, "atm", "Pa") * t**e0 * np.exp(e1 - e2 / t), dtype=np.float64)
