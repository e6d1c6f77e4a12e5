"""Where a body is on a date: planets from an analytic theory, small bodies from tabulated ellipses.

Positions and velocities are heliocentric, in the ecliptic and equinox of J2000, in SI. Dates are seconds past
J2000 (barycentric dynamical time). A small body follows the two-body orbit of the nearest tabulated epoch
(every 200 days). Over 2026-2045 that is within 3000 km of a full integration for half of the dates, and at worst
about 70 000 km and 16 m/s off; 65 Cybele alone reaches 130 000 km and 31 m/s, in July 2036. There is a step of that
size half-way between two epochs.

Earth and the other planets are never propagated as two-body orbits. Against a numerical ephemeris over
2026-2045 the Earth is within 8 km, Venus 2700 km, Mars 27 000 km, Jupiter 110 000 km and Saturn 410 000 km; the
barycentre of Earth and Moon, which comes from a shorter series, is within a few thousand km (use ``Earth`` for
transfers). The velocities, from a shorter series still, are within 0.004 m/s for the Earth, 2 m/s for Venus, 4 m/s
for Mars, 15 m/s for Jupiter and 35 m/s for Saturn.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.catalogue import catalogue_row, elements
from tradespace.constants import value
from tradespace.errors import EphemerisError
from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.kepler import track_kernel
from tradespace.units import convert, format_date, julian_date, parse_date

PLANETS = {"earth": "earth", "earthmoon": "earth-moon-barycenter"}


def coverage(body: str) -> tuple[float, float]:
    """First and last date on which the position of a body is known.

    Parameters
    ----------
    body : str
        Identifier, name or alias.

    Returns
    -------
    tuple of float
        Seconds past J2000.

    Raises
    ------
    UnknownNameError
        If no body has that name.
    EphemerisError
        If the body is a moon: it has no heliocentric track of its own.

    Examples
    --------
    >>> format_date(coverage("Apophis")[1])
    '2029-04-13'
    """
    row = catalogue_row(body)
    if row["group"] == "moon":
        raise EphemerisError(
            f"{row['name']} is a moon of {row['parent']} and has no track of its own around the Sun; "
            f"use {row['parent']!r} as the body to fly to"
        )
    return parse_date(row["valid_from"]), parse_date(row["valid_until"])


def state(body: str, dates: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Heliocentric position and velocity of a body.

    Parameters
    ----------
    body : str
        Identifier, name or alias.
    dates : array_like, shape (n,)
        Seconds past J2000; a single number counts as one date.

    Returns
    -------
    positions : ndarray, shape (n, 3)
        Ecliptic and equinox of J2000 [m].
    velocities : ndarray, shape (n, 3)
        In the same frame [m/s].

    Raises
    ------
    UnknownNameError
        If no body has that name.
    EphemerisError
        If the body is a moon, or a date lies outside its coverage.

    Examples
    --------
    >>> positions, velocities = state("Earth", parse_date("2031-07-04"))
    >>> print(f"{np.linalg.norm(positions[0]) / value('astronomical_unit'):.4f}")
    1.0167
    """
    row = catalogue_row(body)
    moments = np.array(np.atleast_1d(np.asarray(dates, dtype=np.float64)))
    first, last = coverage(body)
    outside = ~((moments >= first) & (moments <= last))
    if outside.any():
        moment = float(moments[outside][0])
        shown = format_date(moment) if np.isfinite(moment) else str(moment)
        raise EphemerisError(
            f"the position of {row['name']} is known from {format_date(first)} to {format_date(last)}, "
            f"not on {shown}; choose dates inside"
        )
    if row["group"] == "planet":
        return _planet_state(PLANETS.get(row["id"], row["id"]), moments)
    out = np.empty((len(moments), 6))
    track_kernel(value("gravitational_parameter_sun"), moments, elements(row["id"]), out)
    return out[:, :3].copy(), out[:, 3:].copy()


def heliocentric_distance(body: str, dates: ArrayLike) -> FloatArray:
    """Distance of a body from the Sun [m], shape (n,).

    Raises
    ------
    EphemerisError
        If the body is a moon, or a date lies outside its coverage.

    Examples
    --------
    >>> distance = heliocentric_distance("Themis", parse_date("2033-08-01"))
    >>> print(f"{distance[0] / value('astronomical_unit'):.2f}")
    3.51
    """
    return np.asarray(np.linalg.norm(state(body, dates)[0], axis=1))


def _planet_state(name: str, dates: FloatArray) -> tuple[FloatArray, FloatArray]:
    """State of a planet from astropy's built-in analytic theory, turned from the equator to the ecliptic."""
    from astropy.coordinates import get_body_barycentric_posvel
    from astropy.time import Time
    from astropy.utils import iers

    with iers.conf.set_temp("auto_download", False):
        days = convert(dates, "s", "d")
        time = Time(np.full_like(days, julian_date(0.0)), days, format="jd", scale="tdb")
        body = get_body_barycentric_posvel(name, time, ephemeris="builtin")
        sun = get_body_barycentric_posvel("sun", time, ephemeris="builtin")
    position, velocity = (
        _difference(body[index], sun[index], unit) for index, unit in ((0, "m"), (1, "m/s"))
    )
    tilt = value("obliquity_j2000")
    cosine, sine = np.cos(tilt), np.sin(tilt)
    turn = np.array([[1.0, 0.0, 0.0], [0.0, cosine, sine], [0.0, -sine, cosine]])
    return position @ turn.T, velocity @ turn.T


def _difference(body: Any, sun: Any, unit: str) -> FloatArray:
    return np.asarray((body - sun).xyz.to_value(unit).T, dtype=np.float64)
