"""Hydrated minerals: heat to bake water out of gypsum, clays and the rock of dark asteroids."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, share
from tradespace.physics.extraction.regolith import _require_warming, regolith_heat_kernel, share_kernel

_HOTTEST = value("rock_highest_temperature", "extraction_values.csv")
_MOLAR_MASS = value("molar_mass_water")


@kernel
def hydrated_mineral_heat_kernel(
    water_fraction: float, start_temperature: float, release_temperature: float, bound_water_heat: float
) -> float:
    """Ideal heat per kilogram of water to warm hydrated rock and drive its bound water off [J kg-1]."""
    rock = regolith_heat_kernel(start_temperature, release_temperature)
    return rock / share_kernel(water_fraction) + bound_water_heat


def hydrated_mineral_heat(
    water_fraction: ArrayLike,
    start_temperature: ArrayLike,
    release_temperature: ArrayLike,
    bound_water_heat: ArrayLike,
) -> FloatArray:
    r"""Ideal heat per kilogram of water to warm hydrated rock and drive its bound water off.

    .. math:: q = \frac{1}{w}\int c_\mathrm{rock}\,dT + \Delta h

    Parameters
    ----------
    water_fraction : array_like, shape (...)
        Mass of water released per mass of rock dug [1].
    start_temperature : array_like, shape (...)
        Temperature of the rock in place [K].
    release_temperature : array_like, shape (...)
        Temperature at which the water leaves [K].
    bound_water_heat : array_like, shape (...)
        Heat to release the water as vapour, per mass of water [J kg-1].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water released [J kg-1].

    Raises
    ------
    DomainError
        If the water fraction lies outside (0, 1], a temperature outside 25 to 1200 K, the release temperature
        below the start, or the bound water heat is negative.

    Notes
    -----
    The rock still holds its water while it is warmed, so the whole of it counts. Sulphur dioxide, carbon oxides,
    hydrogen chloride and organic vapours come off as well and poison catalysts: water from these minerals
    needs more cleaning than water from ice, and the gas is toxic.

    References
    ----------
    .. [1] hayne_2017 and berman_brown_1985 (rock); robie_1995 (enthalpies of formation behind the bound heats).
    .. [2] pohl_2024, gases set free and the temperatures at which they are.

    Examples
    --------
    >>> print(f"{hydrated_mineral_heat(0.08, 298.15, 573.0, 2.997e6) / 3.6e6:.1f}")  # kWh per kg, smectite
    1.7
    """
    water = share("water fraction", water_fraction)
    _require_warming(
        "release temperature", start_temperature, release_temperature, _HOTTEST, "start temperature"
    )
    bound = at_least("bound water heat", "J/kg", bound_water_heat)
    return broadcast(hydrated_mineral_heat_kernel, water, start_temperature, release_temperature, bound)


@kernel
def bound_water_heat_kernel(dehydration_enthalpy: float) -> float:
    """Heat to release bound water, per mass of water [J kg-1]."""
    return dehydration_enthalpy / _MOLAR_MASS


def bound_water_heat(dehydration_enthalpy: ArrayLike) -> FloatArray:
    r"""Heat to release bound water, per mass of water.

    .. math:: \Delta h = \Delta H / M_{\mathrm{H_2O}}

    Parameters
    ----------
    dehydration_enthalpy : array_like, shape (...)
        Enthalpy of the reaction per mole of water vapour [J mol-1].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If the dehydration enthalpy is negative or not finite.

    References
    ----------
    .. [1] closed form: division by the molar mass of water.

    Examples
    --------
    >>> print(f"{bound_water_heat(79e3) / 1e6:.3f}")  # MJ per kg, serpentine
    4.385
    """
    return broadcast(bound_water_heat_kernel, at_least("dehydration enthalpy", "J/mol", dehydration_enthalpy))
