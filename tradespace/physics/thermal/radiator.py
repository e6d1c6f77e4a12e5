"""Rejecting heat: what a flat radiator sheds in sunlight, and the area it takes."""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within
from tradespace.physics.thermal.sink import panel_flux_kernel


@kernel
def radiator_flux_kernel(
    temperature: float, emissivity: float, solar_flux: float, absorptivity: float
) -> float:
    """Net heat a radiating face sheds per area [W m-2]; zero or negative when sunlight outweighs it."""
    return panel_flux_kernel(temperature, emissivity, absorptivity, solar_flux, 0.0, 0.0, 1.0)


@kernel
def radiator_area_kernel(heat: float, flux: float) -> float:
    """Area that sheds a heat at a net flux [m2]; beyond all use when the face sheds none."""
    return max(heat, 0.0) / max(flux, 1e-9)


def radiator_flux(
    temperature: ArrayLike, emissivity: ArrayLike, solar_flux: ArrayLike, absorptivity: ArrayLike
) -> FloatArray:
    r"""Net heat one radiating face sheds to deep space, less the sunlight it absorbs.

    .. math:: q = \varepsilon \sigma T^4 - \alpha S

    Parameters
    ----------
    temperature : array_like, shape (...)
        Surface temperature [K].
    emissivity : array_like, shape (...)
        Infrared emissivity [1].
    solar_flux : array_like, shape (...)
        Sunlight on the face [W m-2].
    absorptivity : array_like, shape (...)
        Share of that sunlight absorbed [1].

    Returns
    -------
    ndarray, shape (...)
        Net flux, not above zero where the radiator takes in more than it sheds [W m-2].

    Raises
    ------
    DomainError
        If temperature is not above zero, sunlight is negative, or a share lies outside [0, 1].

    Notes
    -----
    The sky is taken as black and cold; heat from warm ground nearby is not included.

    References
    ----------
    .. [1] codata_2018, Stefan-Boltzmann constant.

    Examples
    --------
    >>> print(f"{radiator_flux(300.0, 0.85, 0.0, 0.2):.0f}")
    390
    """
    within("radiator emissivity", "1", emissivity, 0.0, 1.0)
    within("radiator absorptivity", "1", absorptivity, 0.0, 1.0)
    above("radiator temperature", "K", temperature)
    at_least("solar flux", "W/m2", solar_flux)
    return broadcast(radiator_flux_kernel, temperature, emissivity, solar_flux, absorptivity)


def radiator_area(heat: ArrayLike, flux: ArrayLike) -> FloatArray:
    """Area that sheds a heat at a net flux.

    Parameters
    ----------
    heat : array_like, shape (...)
        Heat to shed [W].
    flux : array_like, shape (...)
        Net flux of :func:`radiator_flux` [W m-2].

    Returns
    -------
    ndarray, shape (...)
        Radiating area [m2].

    Raises
    ------
    DomainError
        If heat is negative or the flux not above zero.

    References
    ----------
    .. [1] codata_2018, with an energy balance.

    Examples
    --------
    >>> print(f"{radiator_area(1000.0, 390.0):.2f}")
    2.56
    """
    return broadcast(
        radiator_area_kernel, at_least("heat", "W", heat), above("net radiator flux", "W/m2", flux)
    )
