"""Positions and velocities of any body on any date it is known for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tradespace.catalogue import catalogue_row, elements
from tradespace.constants import value
from tradespace.ephemeris.moons import heliocentric_body, moon_states, orbit_of
from tradespace.ephemeris.planets import planet_states
from tradespace.errors import EphemerisError
from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.kepler import joined_track_kernel
from tradespace.units import format_date, parse_date


def coverage(body: str) -> tuple[float, float]:
    """First and last date on which the position of a body is known; those of its planet for a moon.

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

    Examples
    --------
    >>> format_date(coverage("Apophis")[1])
    '2029-04-13'
    """
    row = catalogue_row(heliocentric_body(body))
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
        If a date lies outside the coverage of the body.

    Examples
    --------
    >>> positions, velocities = state("Earth", parse_date("2031-07-04"))
    >>> print(f"{np.linalg.norm(positions[0]) / value('astronomical_unit'):.4f}")
    1.0167
    """
    moments = _moments(dates)
    _require_covered(body, moments)
    out = _states(body, moments)
    return out[:, :3].copy(), out[:, 3:].copy()


def states(names: Sequence[str], dates: ArrayLike, *, missing: bool = False) -> FloatArray:
    """Heliocentric positions and velocities of several bodies on the same dates.

    Parameters
    ----------
    names : sequence of str
        Identifiers, names or aliases of b bodies.
    dates : array_like, shape (n,)
        Seconds past J2000.
    missing : bool
        Leave NaN where a date lies outside the coverage of a body, instead of refusing.

    Returns
    -------
    ndarray, shape (b, n, 6)
        Position [m] and velocity [m/s] on the ecliptic and equinox of J2000.

    Raises
    ------
    UnknownNameError
        If no body has one of the names.
    EphemerisError
        If a date lies outside the coverage of a body and ``missing`` is not set.

    Examples
    --------
    >>> dates = parse_date("2031-01-01") + np.array([0.0, 8.64e6])
    >>> states(["Earth", "Themis", "90"], dates).shape
    (3, 2, 6)
    """
    moments = _moments(dates)
    out = np.full((len(names), len(moments), 6), np.nan)
    for index, name in enumerate(names):
        if missing:
            first, last = coverage(name)
            known = (moments >= first) & (moments <= last)
            out[index, known] = _states(name, moments[known])
        else:
            _require_covered(name, moments)
            out[index] = _states(name, moments)
    return out


def moon_state(name: str, dates: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Position and velocity of a moon about its planet.

    Parameters
    ----------
    name : str
        Identifier, name or alias of a moon.
    dates : array_like, shape (n,)
        Seconds past J2000; a single number counts as one date.

    Returns
    -------
    positions : ndarray, shape (n, 3)
        Ecliptic and equinox of J2000, from the centre of the planet [m].
    velocities : ndarray, shape (n, 3)
        In the same frame [m/s].

    Raises
    ------
    UnknownNameError
        If no body has that name.
    EphemerisError
        If the body is not a moon, or a date lies outside the coverage of its planet.

    Examples
    --------
    >>> positions, velocities = moon_state("Phobos", parse_date("2031-07-04"))
    >>> print(f"{np.linalg.norm(positions[0]) / 1e3:.0f} km {np.linalg.norm(velocities[0]):.0f} m/s")
    9376 km 2138 m/s
    """
    orbit_of(name)
    moments = _moments(dates)
    _require_covered(name, moments)
    out = moon_states(name, moments)
    return out[:, :3].copy(), out[:, 3:].copy()


def heliocentric_distance(body: str, dates: ArrayLike) -> FloatArray:
    """Distance of a body from the Sun [m], shape (n,).

    Raises
    ------
    EphemerisError
        If a date lies outside the coverage of the body.

    Examples
    --------
    >>> distance = heliocentric_distance("Themis", parse_date("2033-08-01"))
    >>> print(f"{distance[0] / value('astronomical_unit'):.2f}")
    3.51
    """
    return np.asarray(np.linalg.norm(state(body, dates)[0], axis=1))


def _moments(dates: ArrayLike) -> FloatArray:
    return np.array(np.atleast_1d(np.asarray(dates, dtype=np.float64)))


def _require_covered(body: str, moments: FloatArray) -> None:
    """Refuse dates on which the body is nowhere known."""
    first, last = coverage(body)
    outside = ~((moments >= first) & (moments <= last))
    if outside.any():
        moment = float(moments[outside][0])
        shown = format_date(moment) if np.isfinite(moment) else str(moment)
        raise EphemerisError(
            f"the position of {catalogue_row(body)['name']} is known from {format_date(first)} to "
            f"{format_date(last)}, not on {shown}; choose dates inside"
        )


def _states(body: str, moments: FloatArray) -> FloatArray:
    """Heliocentric states on dates that are known to be covered, shape (n, 6)."""
    row = catalogue_row(body)
    if row["group"] == "moon":
        return _states(heliocentric_body(body), moments) + moon_states(body, moments)
    if row["group"] == "planet":
        return planet_states(row["id"], moments)
    out = np.empty((len(moments), 6))
    joined_track_kernel(value("gravitational_parameter_sun"), moments, elements(row["id"]), out)
    return out
