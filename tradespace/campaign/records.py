"""What a campaign fills in, and the two small functions every part of it uses."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import kernel

HOP_FIELDS = (
    "arrival_date ready_date departure_date landing_date wait time_of_flight delta_v launch_delta_v "
    "landing_delta_v departure_delta_v arrival_delta_v burn_time pricing propellant_loaded propellant_used "
    "water_mined power_at_stop v_inf_departure v_inf_arrival departure_mass refuel_time energy window_slack_d "
    "window_date window_flight calendar_delta_v survival elapsed water_so_far energy_so_far delta_v_so_far life_used"
).split()
MARGINS = ("mass power thrust heat freezing storage water lifetime time window").split()
HOP = np.dtype([(name, np.float64) for name in (*HOP_FIELDS, *(f"margin_{link}" for link in MARGINS))])
"""One row per design and hop, in SI."""

STOP = np.dtype(
    [
        (name, np.float64)
        for name in (
            "gravity escape_speed radius mu rotation_period mines orbit_mu orbit_radius extraction_energy "
            "dry_probability dry_given farthest nearest"
        ).split()
    ]
)
"""One row per stop of the route, in SI.

``mines`` is 0 where nothing can be mined (a parking orbit). ``orbit_mu`` and ``orbit_radius`` are those of the circle
the stop runs on about a planet, 0 for a body that circles the Sun. ``extraction_energy`` is not a number where the
design's own counts. ``dry_probability`` is the chance that no water is found; ``dry_given`` is 1 when it is the stop's
own and stands above that of the design. ``farthest`` and ``nearest`` are the
extreme distances from the Sun.
"""

LEG = np.dtype(
    [
        (name, np.float64)
        for name in ("within", "wait", "first", "mu", "first_radius", "second_radius", "plane_angle")
    ]
)
"""One row per hop, in SI.

``within`` is 1 when the hop stays within the system of one planet, ``wait`` the time until its moons stand right, and
``first`` the first date of the window curve. The rest holds the planet's gravitational parameter, the radii of both
circles about it and the angle between their planes.
"""

STATE = np.dtype(
    [
        (name, np.float64)
        for name in (
            "cruise store filled throughput cell_hours burn_hours spent_delta_v water energy delta_v survival landings "
            "ignitions landing_ignitions landing_throughput landing_hours"
        ).split()
    ]
)
"""What a craft carries from hop to hop.

Cruise and store propellant on board and the load at the last filling [kg]; propellant through the traded thruster
[kg], hours of electrolyser and thruster [s]; cruise velocity change since the last filling [m/s]; water mined [kg],
energy [J] and velocity change [m/s] so far; chance to have come this far [1]; landings so far [1]; ignitions of the
cruise and of the landing engines [1]; propellant drawn by the landing engines [kg] and their firing time [s].
"""

IMPULSIVE, SPREAD, SPIRAL = 0.0, 1.0, 2.0
"""How the cruise burns of a hop are priced."""

SETTINGS = "engine_settings.csv"
SUN = value("gravitational_parameter_sun")
STRETCH_ARC = value("refuelling_arc", SETTINGS)
NEVER = value("refuelling_cap", SETTINGS)
DAY = value("day", SETTINGS)
MARGIN_LOW, MARGIN_HIGH = -1.0, 10.0
ROUNDING = 1e-9


@kernel
def margin(available: float, required: float) -> float:
    """Available over required minus one, clipped to [-1, 10]; always finite, and never negative by rounding alone.

    What cannot be worked out (not a number) has the least margin.
    """
    if required <= 0.0:
        return MARGIN_HIGH
    excess = available / required - 1.0
    if abs(excess) < ROUNDING:
        return 0.0
    if not excess > MARGIN_LOW:
        return MARGIN_LOW
    return min(excess, MARGIN_HIGH)


@kernel
def interpolate(first: float, step: float, table: Any, position: float) -> float:
    """Linear look-up in a uniform table, held constant beyond its ends."""
    place = (position - first) / step
    last = table.shape[0] - 1
    if not place > 0.0:  # also when the place is not a number
        return float(table[0])
    if place >= last:
        return float(table[last])
    index = int(place)
    share = place - index
    return float(table[index] * (1.0 - share) + table[index + 1] * share)
