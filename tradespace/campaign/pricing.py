"""What a departure costs and what it is worth; what a block of dates can cost and be worth at best."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.records import SUN
from tradespace.campaign.shapes import (
    ARCS,
    BLOCK,
    LEAST,
    LEAST_ARC,
    LEAST_SHARE,
    LEAST_START,
    MOST_ARC,
    MOST_SHARE,
    MOST_START,
    SHARES,
    SOONEST,
    STARTS,
    SUMS,
)
from tradespace.physics.compiled import inlined, kernel
from tradespace.physics.transfer import largest_spread_burn_factor_kernel, spread_burn_excess_kernel

CHEAPEST, EARLIEST, LEAST_COST = 0.0, 1.0, 2.0
NOWHERE = math.inf
ROUNDING = 1e-3  # s
SLACK = 1e-9  # by which bounds are wider than rounding


@kernel
def pull(nearest: float) -> float:
    """The Sun's pull over the cube of a distance [1/s2]."""
    return SUN / (nearest * nearest * nearest)


@kernel
def spread_factor(arc: float, share: float, pace: float, nearest_pull: float) -> float:
    """Upper bound of the cruise burns of a hop when they take time, over both speeds: each nearest to the Sun.

    ``arc`` and ``share`` are those of :func:`fill_shapes`, ``pace`` is mass over thrust [s2/m].
    """
    excess: float = spread_burn_excess_kernel(arc * pace * pace * nearest_pull, share * pace)
    return 1.0 + excess


@kernel
def objective(choice: Any, launch: float, cost: float, flight: float) -> float:
    """What a departure is judged by; the less the better.

    ``choice`` holds policy, ready date, last date, limit [m/s], horizon, pace [s2/m], mass [kg], exhaust velocity
    [m/s], price of time [kg/s], the velocity-change margin and the pull at the least distance from the Sun [1/s2]. Half
    of each burn lies outside of the flight between their middles.
    """
    landing = launch + flight + 0.5 * choice[5] * cost
    if landing > choice[4]:
        return NOWHERE
    if choice[0] == EARLIEST:
        return landing if cost <= choice[3] * (1.0 + 1e-12) else NOWHERE
    if choice[0] == LEAST_COST:
        water = choice[6] * -math.expm1(-cost * (1.0 + choice[9]) / choice[7])
        return float(water + choice[8] * (landing - choice[1]))
    return cost


@inlined
def launch_and_cost(first: float, place: int, curves: Any, choice: Any) -> tuple[float, float]:
    """Latest launch for a grid date, half the departure burn before it, and the cost of that hop [m/s]."""
    step, table = curves[0], curves[1]
    factor = spread_factor(table[place, ARCS], table[place, SHARES], choice[5], choice[10])
    return first + place * step - 0.5 * choice[5] * table[place, STARTS] * factor, table[place, SUMS] * factor


@kernel
def least_factor(block: Any, choice: Any) -> float:
    """Least factor of the cruise burns of a block of dates over their impulses."""
    return spread_factor(block[LEAST_ARC], block[LEAST_SHARE], choice[5], choice[10]) * (1.0 - SLACK)


@kernel
def largest_factor(block: Any, choice: Any) -> float:
    """Largest factor of the cruise burns of a block of dates over their impulses."""
    return spread_factor(block[MOST_ARC], block[MOST_SHARE], choice[5], choice[10]) * (1.0 + SLACK)


@kernel
def latest_launch(first: float, step: float, place: int, block: Any, choice: Any, low: float) -> float:
    """Latest launch of the dates of a block that begins at ``place``; ``low`` is its :func:`least_factor`."""
    return float(first + (place + BLOCK - 1) * step - 0.5 * choice[5] * block[LEAST_START] * low)


@kernel
def earliest_launch(first: float, step: float, place: int, block: Any, choice: Any) -> float:
    """Lower bound of the launches of the dates of a block that begins at ``place``, and of the one before them."""
    widest = largest_spread_burn_factor_kernel(choice[5] * block[MOST_SHARE])
    return float(first + (place - 1) * step - 0.5 * choice[5] * block[MOST_START] * widest)


@kernel
def too_dear(first: float, step: float, place: int, block: Any, choice: Any, known: float) -> bool:
    """Whether the impulses alone put a block of dates out of question, which :func:`out_of_question` would find."""
    latest = first + (place + BLOCK - 1) * step - 0.5 * choice[5] * block[LEAST_START] * (1.0 - SLACK)
    return bool(block[LEAST] * (1.0 - SLACK) > known and latest < choice[2])


@kernel
def out_of_question(
    first: float, step: float, place: int, block: Any, choice: Any, low: float, known: float, found: Any
) -> bool:
    """Whether no date of a block, which begins at ``place``, can be the best nor end the search.

    ``low`` is its :func:`least_factor`, ``known`` the cost above which a departure does not count, ``found`` what
    :func:`departure.weigh` has found.
    """
    latest = latest_launch(first, step, place, block, choice, low)
    if latest >= choice[2]:
        return False
    cost = block[LEAST] * low
    if latest < choice[1] - ROUNDING or cost > known:
        return True
    earliest = max(earliest_launch(first, step, place, block, choice), choice[1] - ROUNDING)
    worth = objective(choice, earliest, cost, block[SOONEST])
    if choice[0] == EARLIEST:
        return bool(found[1] < NOWHERE and worth > found[1] * (1.0 + SLACK))
    return bool(worth == NOWHERE or worth > found[1] * (1.0 + SLACK))
