"""What a surface looks into: sink temperature, view factors, and a panel with one or two faces."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within

_STEFAN_BOLTZMANN = value("stefan_boltzmann")


@kernel
def sink_temperature_kernel(
    solar_flux: float, absorptivity: float, emissivity: float, area_ratio: float, infrared_flux: float
) -> float:
    """Temperature a surface with no heat of its own settles at [K]."""
    absorbed = solar_flux * area_ratio * absorptivity / max(emissivity, 1e-9) + infrared_flux
    return math.sqrt(math.sqrt(max(absorbed, 0.0) / _STEFAN_BOLTZMANN))


@kernel
def ground_view_factor_kernel(tilt: float) -> float:
    """Share of a face's half-space filled by level ground, by its tilt from facing straight up [1]."""
    return 0.5 * (1.0 - math.cos(tilt))


@kernel
def sphere_view_factor_kernel(body_radius: float, orbit_radius: float) -> float:
    """Share of a face's view filled by a sphere it looks straight at [1]."""
    ratio = min(max(body_radius / max(orbit_radius, 1e-9), 0.0), 1.0)
    return ratio * ratio


@kernel
def panel_flux_kernel(
    temperature: float,
    emissivity: float,
    absorptivity: float,
    solar_flux: float,
    surface_flux: float,
    view_factor: float,
    faces: float,
) -> float:
    """Net heat a flat panel sheds per area of one face [W m-2]; below zero when it takes in more."""
    each = emissivity * (_STEFAN_BOLTZMANN * temperature**4 - view_factor * surface_flux)
    return faces * each - absorptivity * solar_flux


def sink_temperature(
    solar_flux: ArrayLike,
    absorptivity: ArrayLike,
    emissivity: ArrayLike,
    area_ratio: ArrayLike,
    infrared_flux: ArrayLike,
) -> FloatArray:
    r"""Temperature a surface with no heat of its own settles at in sunlight and infrared light.

    .. math:: T = \left[\left(\frac{\alpha}{\varepsilon} a S + q\right) / \sigma\right]^{1/4}

    Parameters
    ----------
    solar_flux : array_like, shape (...)
        Sunlight [W m-2].
    absorptivity : array_like, shape (...)
        Share of sunlight absorbed; for a planet 1 minus its Bond albedo [1].
    emissivity : array_like, shape (...)
        Infrared emissivity [1].
    area_ratio : array_like, shape (...)
        Lit cross-section over radiating area: 1 for a face turned to the Sun, 1/4 for a sphere and for any
        convex body averaged over its attitudes [1].
    infrared_flux : array_like, shape (...)
        Infrared light from the surroundings, averaged over the radiating area [W m-2].

    Returns
    -------
    ndarray, shape (...)
        Sink temperature [K].

    Raises
    ------
    DomainError
        If a flux is negative, the emissivity lies outside (0, 1], or another share outside 0 to 1.

    References
    ----------
    .. [1] codata_2018, Stefan-Boltzmann constant; nasa_factsheets (black-body temperatures of the planets).

    Examples
    --------
    >>> print(f"{sink_temperature(1361.0, 0.694, 1.0, 0.25, 0.0):.1f}")  # the Earth
    254.0
    """
    at_least("solar flux", "W/m2", solar_flux)
    within("absorptivity", "1", absorptivity, 0.0, 1.0)
    above("emissivity", "1", emissivity)
    within("emissivity", "1", emissivity, 0.0, 1.0)
    within("area ratio", "1", area_ratio, 0.0, 1.0)
    at_least("infrared flux", "W/m2", infrared_flux)
    return broadcast(sink_temperature_kernel, solar_flux, absorptivity, emissivity, area_ratio, infrared_flux)


def ground_view_factor(tilt: ArrayLike) -> FloatArray:
    r"""Share of the view of a tilted face that level ground fills.

    .. math:: F = (1 - \cos\beta) / 2

    Parameters
    ----------
    tilt : array_like, shape (...)
        Tilt of the face from straight up: 0 sees only sky, a right angle half and half [rad].

    Returns
    -------
    ndarray, shape (...)
        View factor to the ground [1].

    Raises
    ------
    DomainError
        If the tilt lies outside 0 to pi.

    References
    ----------
    .. [1] duffie_2013, chapter 2.15 (ground as seen by a tilted surface).

    Examples
    --------
    >>> print(f"{ground_view_factor(1.5707963):.2f}")
    0.50
    """
    return broadcast(ground_view_factor_kernel, within("tilt", "rad", tilt, 0.0, math.pi))


def sphere_view_factor(body_radius: ArrayLike, orbit_radius: ArrayLike) -> FloatArray:
    r"""Share of the view of a small face that a sphere straight ahead fills.

    .. math:: F = (R / a)^2

    Parameters
    ----------
    body_radius : array_like, shape (...)
        Radius of the sphere [m].
    orbit_radius : array_like, shape (...)
        Distance of the face from its centre [m].

    Returns
    -------
    ndarray, shape (...)
        View factor, 1 on the surface [1].

    Raises
    ------
    DomainError
        If a length is not above zero; a face inside the sphere gives 1.

    References
    ----------
    .. [1] howell_2010, small plane element facing a sphere.

    Examples
    --------
    >>> print(f"{sphere_view_factor(6371e3, 6771e3):.3f}")
    0.885
    """
    above("body radius", "m", body_radius)
    above("orbit radius", "m", orbit_radius)
    return broadcast(sphere_view_factor_kernel, body_radius, orbit_radius)


def panel_flux(
    temperature: ArrayLike,
    emissivity: ArrayLike,
    absorptivity: ArrayLike,
    solar_flux: ArrayLike,
    surface_flux: ArrayLike,
    view_factor: ArrayLike,
    faces: ArrayLike,
) -> FloatArray:
    r"""Net heat a flat radiator panel sheds near a warm surface, per area of one face.

    .. math:: q = n \varepsilon (\sigma T^4 - F q_s) - \alpha S

    Parameters
    ----------
    temperature : array_like, shape (...)
        Panel temperature [K].
    emissivity : array_like, shape (...)
        Infrared emissivity of each face [1].
    absorptivity : array_like, shape (...)
        Share of sunlight absorbed [1].
    solar_flux : array_like, shape (...)
        Sunlight on the lit face, times the cosine of incidence [W m-2].
    surface_flux : array_like, shape (...)
        Infrared light the surface gives off per area [W m-2].
    view_factor : array_like, shape (...)
        Share of each face's view that the surface fills [1].
    faces : array_like, shape (...)
        Radiating faces, one or two [1].

    Returns
    -------
    ndarray, shape (...)
        Net flux, below zero where the panel takes in more than it sheds [W m-2].

    Raises
    ------
    DomainError
        If the temperature is not above zero, a flux is negative, a share lies outside 0 to 1, or the number of
        faces outside 1 to 2.

    Notes
    -----
    Sunlight reaches one face at a time. Sunlight thrown back by the surface can be added to ``solar_flux``.

    References
    ----------
    .. [1] codata_2018, Stefan-Boltzmann constant, with an energy balance.

    Examples
    --------
    >>> print(f"{panel_flux(300.0, 0.85, 0.2, 0.0, 0.0, 0.0, 2.0):.0f}")
    781
    """
    above("temperature", "K", temperature)
    within("emissivity", "1", emissivity, 0.0, 1.0)
    within("absorptivity", "1", absorptivity, 0.0, 1.0)
    at_least("solar flux", "W/m2", solar_flux)
    at_least("surface flux", "W/m2", surface_flux)
    within("view factor", "1", view_factor, 0.0, 1.0)
    within("faces", "1", faces, 1.0, 2.0)
    return broadcast(
        panel_flux_kernel,
        temperature, emissivity, absorptivity, solar_flux, surface_flux, view_factor, faces,
    )  # fmt: skip
