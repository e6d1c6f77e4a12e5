"""What a campaign fills in, and the two small functions every part of it uses."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import kernel

HOP_FIELDS = (
    "arrival_date ready_date departure_date landing_date wait time_of_flight delta_v launch_delta_v "
    "landing_delta_v burn_time propellant_used water_mined power_at_stop v_inf_departure v_inf_arrival "
    "departure_mass refuel_time energy window_slack_d"
).split()
MARGINS = ("mass power thrust heat storage water lifetime time window").split()
HOP = np.dtype([(name, np.float64) for name in (*HOP_FIELDS, *(f"margin_{link}" for link in MARGINS))])
"""One row per design and hop, in SI."""

STOP = np.dtype(
    [(name, np.float64) for name in ("gravity", "escape_speed", "radius", "mu", "rotation_period")]
)
"""One row per stop of the route, in SI."""

SETTINGS = "engine_settings.csv"
STEP = value("refuelling_step", SETTINGS)
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
