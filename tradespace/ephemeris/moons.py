"""Moons about their planets: circular orbits, in phase by the rotation that keeps one face to the planet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from tradespace.catalogue import CATALOGUE, catalogue_row
from tradespace.ephemeris import series
from tradespace.errors import EphemerisError
from tradespace.physics.compiled import FloatArray
from tradespace.tables import read_table
from tradespace.units import convert

MOONS = "moons.csv"
WOBBLES = "moon_wobbles.csv"
SERIES = "moon"
"""The one moon with a theory of its own."""
SLOPE_SHARE = 1e-4
"""Part of a period, either side of a date, over which a velocity is taken from positions."""
SI = {"km": "m", "deg": "rad", "deg/hyr": "rad/s", "deg/d": "rad/s", "deg/d2": "rad/s2", "1": "1"}


@dataclass(frozen=True)
class MoonOrbit:
    """Orbit of a moon about its planet, in SI."""

    parent: str
    """Identifier of the planet."""
    semi_major_axis: float
    """[m]."""
    eccentricity: float
    """[1]."""
    inclination_to_parent_equator: float
    """Mean angle between the orbit and the equator of the planet [rad]."""
    period: float
    """Sidereal period [s]."""
    parent_gm: float
    """Gravitational parameter of the planet without its moons [m3/s2]."""


def heliocentric_body(name: str) -> str:
    """Identifier of what carries a body around the Sun: the planet of a moon, the body itself otherwise.

    Parameters
    ----------
    name : str
        Identifier, name or alias.

    Returns
    -------
    str
        Identifier.

    Raises
    ------
    UnknownNameError
        If no body has that name.

    Examples
    --------
    >>> heliocentric_body("Phobos"), heliocentric_body("24 Themis")
    ('mars', '24')
    """
    row = catalogue_row(name)
    return catalogue_row(row["parent"])["id"] if row["group"] == "moon" else row["id"]


def orbit_of(name: str) -> MoonOrbit:
    """Orbit of a moon about its planet.

    Parameters
    ----------
    name : str
        Identifier, name or alias of a moon.

    Returns
    -------
    MoonOrbit
        Mean orbit in SI.

    Raises
    ------
    UnknownNameError
        If no body has that name.
    EphemerisError
        If the body is not a moon, or its orbit is not known.

    Examples
    --------
    >>> orbit = orbit_of("Phobos")
    >>> print(f"{orbit.parent} {orbit.semi_major_axis / 1e3:.0f} km {orbit.period / 3600:.4f} h")
    mars 9376 km 7.6538 h
    """
    row = _moon(name)
    numbers = _numbers(row["id"])
    parent = catalogue_row(row["parent"])
    gm = convert(float(parent["gm"]), read_table(CATALOGUE).units["gm"], "m3/s2")
    return MoonOrbit(
        parent=parent["id"],
        semi_major_axis=numbers["semi_major_axis"],
        eccentricity=numbers["eccentricity"],
        inclination_to_parent_equator=numbers["inclination"],
        period=2.0 * np.pi / numbers["meridian_rate"],
        parent_gm=float(gm),
    )


def moon_states(identifier: str, dates: FloatArray) -> FloatArray:
    """States of a moon about its planet, shape (n, 6) [m, m/s], ecliptic of J2000."""
    row = _moon(identifier)
    if row["id"] == SERIES:
        return series.moon_states(dates)
    positions = partial(_circular_positions, row["id"])
    step = SLOPE_SHARE * orbit_of(row["id"]).period
    return np.hstack([positions(dates), series.slope(positions, dates, step)])


def _circular_positions(identifier: str, dates: FloatArray) -> FloatArray:
    """Where a moon that keeps one face to its planet stands, opposite to where its prime meridian points."""
    numbers = _numbers(identifier)
    ascension = numbers["pole_right_ascension"] + numbers["pole_right_ascension_rate"] * dates
    declination = numbers["pole_declination"] + numbers["pole_declination_rate"] * dates
    meridian = numbers["meridian"] + (numbers["meridian_rate"] + numbers["meridian_curve"] * dates) * dates
    for phase, rate, right, down, along in _wobbles(identifier):
        angle = phase + rate * dates
        ascension = ascension + right * np.sin(angle)
        declination = declination + down * np.cos(angle)
        meridian = meridian + along * np.sin(angle)
    node = np.array([-np.sin(ascension), np.cos(ascension), np.zeros_like(ascension)])
    climb = np.array(
        [
            -np.sin(declination) * np.cos(ascension),
            -np.sin(declination) * np.sin(ascension),
            np.cos(declination),
        ]
    )
    away = -(np.cos(meridian) * node + np.sin(meridian) * climb)
    return np.asarray(numbers["semi_major_axis"] * away.T @ series.equator_to_ecliptic().T)


def _moon(name: str) -> dict[str, str]:
    row = catalogue_row(name)
    if row["group"] != "moon":
        raise EphemerisError(f"{row['name']} is not a moon: it circles {row['parent']}; choose a moon")
    if row["id"] not in _moons():
        raise EphemerisError(f"the orbit of {row['name']} about {row['parent']} is not known")
    return row


@cache
def _moons() -> dict[str, dict[str, str]]:
    return {row["id"]: row for row in read_table(MOONS).rows}


@cache
def _numbers(identifier: str) -> dict[str, float]:
    """The numbers of a row in SI; a cell left blank has no entry."""
    row, units = _moons()[identifier], read_table(MOONS).units
    return {
        name: float(convert(float(row[name]), unit, SI[unit]))
        for name, unit in units.items()
        if unit and row[name]
    }


@cache
def _wobbles(identifier: str) -> tuple[tuple[float, ...], ...]:
    """Phase, rate, and amplitudes in right ascension, declination and prime meridian, in SI."""
    table = read_table(WOBBLES)
    return tuple(
        tuple(float(convert(float(row[name]), unit, SI[unit])) for name, unit in table.units.items() if unit)
        for row in table.rows
        if row["id"] == identifier
    )
