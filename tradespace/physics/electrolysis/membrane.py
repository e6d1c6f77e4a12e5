"""The proton-exchange membrane: conductivity, and the gases that pass through it."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within
from tradespace.physics.electrolysis.kinetics import arrhenius_kernel

_VALUES = "electrolysis_values.csv"
_COLDEST = value("membrane_lowest_temperature", _VALUES)
_HOTTEST = value("membrane_highest_temperature", _VALUES)
_DRIEST = value("membrane_least_water_content", _VALUES)
_WETTEST = value("membrane_most_water_content", _VALUES)
_SPRINGER = series("springer_1991", "electrolysis_coefficients.csv")
_FARADAY = value("faraday_constant")
_PERMEABILITY = value("membrane_hydrogen_permeability", _VALUES)
_SLOWING = value("membrane_permeability_activation_energy", _VALUES)
_REFERENCE = value("membrane_permeability_reference_temperature", _VALUES)


@kernel
def springer_1991_kernel(water_content: float, temperature: float) -> float:
    """Conductivity of a wet membrane [S m-1]."""
    c0, c1, c2, c3 = _SPRINGER
    wet = min(max(water_content, _DRIEST), _WETTEST)
    warm = min(max(temperature, _COLDEST), _HOTTEST)
    return 100.0 * (c0 * wet - c1) * math.exp(c2 * (1.0 / c3 - 1.0 / warm))


@kernel
def crossover_kernel(pressure: float, permeability: float, thickness: float, electrons: float) -> float:
    """Current density lost to a gas that permeates a separator [A m-2]."""
    return electrons * _FARADAY * permeability * max(pressure, 0.0) / max(thickness, 1e-9)


@kernel
def hydrogen_crossover_kernel(pressure: float, thickness: float, temperature: float) -> float:
    """Current density lost to hydrogen through the default membrane [A m-2]."""
    permeability = arrhenius_kernel(_PERMEABILITY, _SLOWING, _REFERENCE, temperature)
    return crossover_kernel(pressure, permeability, thickness, 2.0)


@kernel
def remaining_share_kernel(loss: float, current_density: float) -> float:
    """Share of the current left after a loss [1]: 1 - loss/current, bent to stay above zero past a half."""
    lost = max(loss, 0.0) / max(current_density, 1e-9)
    return 1.0 - lost if lost <= 0.5 else 0.25 / lost


def springer_1991(water_content: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Conductivity of a wet perfluorinated membrane.

    .. math:: \sigma = (c_0 \lambda - c_1) \exp[c_2 (1/c_3 - 1/T)]

    Parameters
    ----------
    water_content : array_like, shape (...)
        Water molecules per acid group [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Conductivity [S m-1].

    Raises
    ------
    DomainError
        If the water content lies outside 1 to 24 or the temperature outside 273.15 to 373.15 K.

    References
    ----------
    .. [1] springer_1991, eq. 23.

    Examples
    --------
    >>> print(f"{springer_1991(22.0, 353.15):.3f}")
    19.892
    """
    wet = within("water content", "1", water_content, _DRIEST, _WETTEST)
    return broadcast(springer_1991_kernel, wet, within("temperature", "K", temperature, _COLDEST, _HOTTEST))


def membrane_resistance(thickness: ArrayLike, water_content: ArrayLike, temperature: ArrayLike) -> FloatArray:
    """Resistance of a membrane times its area.

    Parameters
    ----------
    thickness : array_like, shape (...)
        Thickness [m].
    water_content : array_like, shape (...)
        Water molecules per acid group [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Resistance of unit area [ohm m2].

    Raises
    ------
    DomainError
        If the thickness is not above zero, or as for :func:`springer_1991`.

    References
    ----------
    .. [1] springer_1991, eq. 23.

    Examples
    --------
    >>> print(f"{1e4 * membrane_resistance(178e-6, 22.0, 353.15):.4f}")  # ohm cm2
    0.0895
    """
    return above("thickness", "m", thickness) / springer_1991(water_content, temperature)


def hydrogen_crossover(pressure: ArrayLike, thickness: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Current density lost to hydrogen that permeates a wet membrane.

    .. math:: i_x = 2 F P p / d

    Parameters
    ----------
    pressure : array_like, shape (...)
        Partial pressure of hydrogen at the cathode [Pa].
    thickness : array_like, shape (...)
        Thickness of the membrane [m].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Current density [A m-2].

    Raises
    ------
    DomainError
        If pressure is negative, thickness not above zero, or temperature outside 273.15 to 373.15 K.

    Notes
    -----
    Published permeabilities spread by a factor of two; copies differ by 100 where bar and pascal are mixed up.

    References
    ----------
    .. [1] schalenbach_2013; kocha_2006 (temperature).

    Examples
    --------
    >>> print(f"{hydrogen_crossover(1e5, 178e-6, 353.15) / 10:.2f}")  # mA per cm2
    0.54
    """
    warm = within("temperature", "K", temperature, _COLDEST, _HOTTEST)
    thick = above("thickness", "m", thickness)
    return broadcast(hydrogen_crossover_kernel, at_least("pressure", "Pa", pressure), thick, warm)
