"""Planets: joined ellipses inside their dates, or an analytic theory, whichever is nearer the truth."""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from tradespace.catalogue import elements
from tradespace.constants import value
from tradespace.ephemeris import series
from tradespace.physics.compiled import FloatArray
from tradespace.physics.kepler import joined_track_kernel
from tradespace.tables import read_table
from tradespace.units import convert

PATHS = "planet_paths.csv"


@cache
def _paths() -> dict[str, dict[str, str]]:
    return {row["id"]: row for row in read_table(PATHS).rows}


def system_gravitational_parameter(identifier: str) -> float:
    """Gravitational parameter of a planet with its moons [m3/s2]; of a small body beside the Sun's, nothing."""
    row = _paths().get(identifier)
    return float(convert(float(row["gm"]), read_table(PATHS).units["gm"], "m3/s2")) if row else 0.0


def planet_states(identifier: str, dates: FloatArray) -> FloatArray:
    """Heliocentric states of a planet, shape (n, 6) [m, m/s], ecliptic of J2000."""
    path = _paths()[identifier]
    if path["path"] == "earth":
        return series.earth_states(dates)
    out = np.empty((len(dates), 6))
    tabulated = np.zeros(len(dates), dtype=bool)
    if path["path"] == "ellipses":
        table = elements(identifier)
        reach = 0.5 * (table[1, 0] - table[0, 0])
        tabulated = (dates >= table[0, 0] - reach) & (dates <= table[-1, 0] + reach)
        inside = np.empty((int(tabulated.sum()), 6))
        mass = value("gravitational_parameter_sun") + system_gravitational_parameter(identifier)
        joined_track_kernel(mass, dates[tabulated], table, inside)
        out[tabulated] = inside
    rest = dates[~tabulated]
    if len(rest):
        positions = partial(series.planet_positions, int(path["number"]))
        step = convert(series.SLOPE_STEP, "d", "s")
        out[~tabulated, :3], out[~tabulated, 3:] = positions(rest), series.slope(positions, rest, step)
    return out
