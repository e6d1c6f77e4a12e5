"""Planets and the Moon from the analytic theories of ERFA, those behind the built-in ephemeris of astropy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray
from tradespace.units import convert, julian_date

SLOPE_STEP = 0.01
"""Days either side of a date over which the velocity of a planet is taken from positions."""


def earth_states(dates: FloatArray) -> FloatArray:
    """Heliocentric states of the centre of the Earth, shape (n, 6) [m, m/s], ecliptic of J2000."""
    import erfa

    return _in_si(erfa.epv00(*_julian(dates))[0])


def planet_positions(number: int, dates: FloatArray) -> FloatArray:
    """Heliocentric positions of a planet [m], shape (n, 3), ecliptic of J2000.

    ``number`` counts from the Sun; 3 is the barycentre of Earth and Moon.
    """
    import erfa

    return _in_si(erfa.plan94(*_julian(dates), number))[:, :3]


def moon_states(dates: FloatArray) -> FloatArray:
    """States of the Moon about the centre of the Earth, shape (n, 6) [m, m/s], ecliptic of J2000."""
    import erfa

    return _in_si(erfa.moon98(*_julian(dates)))


def slope(positions: Callable[[FloatArray], FloatArray], dates: FloatArray, step: float) -> FloatArray:
    """Velocities [m/s] as the central difference, ``step`` seconds either way, of positions [m] on dates."""
    return np.asarray((positions(dates + step) - positions(dates - step)) / (2.0 * step))


def equator_to_ecliptic() -> FloatArray:
    """Matrix that turns vectors on the equator of J2000 to its ecliptic, shape (3, 3)."""
    tilt = value("obliquity_j2000")
    cosine, sine = np.cos(tilt), np.sin(tilt)
    return np.array([[1.0, 0.0, 0.0], [0.0, cosine, sine], [0.0, -sine, cosine]])


def _julian(dates: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Julian date in two parts, so that no digit is lost."""
    return np.full_like(dates, julian_date(0.0)), convert(dates, "s", "d")


def _in_si(states: Any) -> FloatArray:
    """States of ERFA (au and au a day on the equator) in SI on the ecliptic, shape (n, 6)."""
    turn = equator_to_ecliptic().T
    parts = [
        convert(states[name], unit, si) @ turn for name, unit, si in (("p", "au", "m"), ("v", "au/d", "m/s"))
    ]
    return np.hstack(parts)
