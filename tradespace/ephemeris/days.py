"""Light on a turning body: how long its day is, and how much of a moon's orbit its planet shades."""

from __future__ import annotations

import math

from tradespace.catalogue import CATALOGUE, catalogue_row, elements
from tradespace.constants import value
from tradespace.ephemeris.moons import heliocentric_body, orbit_of
from tradespace.ephemeris.planets import system_gravitational_parameter
from tradespace.errors import EphemerisError
from tradespace.physics.kepler import orbital_period_kernel
from tradespace.physics.sunlight.shadow import shadow_fraction_kernel
from tradespace.tables import read_table
from tradespace.units import convert

SPINS = "spins.csv"
YEAR_OF = {"earth": "earthmoon"}
"""The Moon spoils the ellipses of the Earth; its year is that of the barycentre."""


def year(name: str) -> float:
    """Time in which a body, or the planet of a moon, goes once around the Sun [s].

    Parameters
    ----------
    name : str
        Identifier, name or alias.

    Raises
    ------
    UnknownNameError
        If no body has that name.

    Examples
    --------
    >>> print(f"{year('Deimos') / 86400:.1f}")
    687.0
    """
    identifier = heliocentric_body(name)
    axis = float(elements(YEAR_OF.get(identifier, identifier))[:, 1].mean())
    mass = value("gravitational_parameter_sun") + system_gravitational_parameter(identifier)
    return float(orbital_period_kernel(mass, axis))


def solar_day(name: str) -> float:
    r"""Time from one noon to the next on a body [s].

    .. math:: T = \left| \frac{1}{T_{rot}} - \frac{1}{T_{year}} \right|^{-1}

    Parameters
    ----------
    name : str
        Identifier, name or alias.

    Returns
    -------
    float
        Mean solar day [s]; infinite for a body that keeps one face to the Sun.

    Raises
    ------
    UnknownNameError
        If no body has that name.
    EphemerisError
        If its rotation is not known.

    Notes
    -----
    A body turns forwards unless ``spins.csv`` says that it turns backwards; for the few hours of most small
    bodies the difference is a second or two. A moon turns with its orbit, its year is that of its planet.

    Examples
    --------
    >>> print(f"{solar_day('Moon') / 86400:.2f} {solar_day('Mars') / 3600:.4f}")
    29.53 24.6598
    """
    row = catalogue_row(name)
    if row["group"] == "moon":
        rotation = orbit_of(name).period
    elif row["rotation_period"]:
        unit = read_table(CATALOGUE).units["rotation_period"]
        rotation = float(convert(float(row["rotation_period"]), unit, "s"))
    else:
        raise EphemerisError(f"how long {row['name']} takes to turn is not known, so neither is its day")
    backwards = {spin["id"] for spin in read_table(SPINS).rows if spin["direction"] == "retrograde"}
    rate = (-1.0 if row["id"] in backwards else 1.0) / rotation - 1.0 / year(name)
    return 1.0 / abs(rate) if rate else math.inf


def eclipse_share(name: str) -> float:
    """Largest share of a moon's orbit that lies in the shadow of its planet; zero for any other body [1].

    Parameters
    ----------
    name : str
        Identifier, name or alias.

    Returns
    -------
    float
        Share of one turn, in the season when the Sun stands in the plane of the orbit [1].

    Raises
    ------
    UnknownNameError
        If no body has that name.

    Notes
    -----
    The worst turn of the planet's year, as a design has to bear it, on a circular orbit and a cylindrical
    shadow. Averaged over years it is less: nearly as much for moons deep in their planet's equator (Phobos, Mimas,
    Europa), a small part of it for those that mostly pass above or below the shadow (Iapetus, Callisto), and next
    to nothing for the Moon, which meets the Earth's shadow at most a few times a year.

    Examples
    --------
    >>> print(f"{eclipse_share('Phobos'):.3f} {eclipse_share('Moon'):.3f} {eclipse_share('Ceres'):.0f}")
    0.118 0.005 0
    """
    row = catalogue_row(name)
    if row["group"] != "moon":
        return 0.0
    orbit = orbit_of(name)
    planet = catalogue_row(orbit.parent)
    radius = float(convert(float(planet["radius"]), read_table(CATALOGUE).units["radius"], "m"))
    return float(shadow_fraction_kernel(radius, orbit.semi_major_axis, 0.0))
