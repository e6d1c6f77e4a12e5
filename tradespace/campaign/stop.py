"""At a stop: filling the tanks with what the Sun gives."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.known import FIRST_STOP, NOWHERE_KNOWN, known_density
from tradespace.campaign.records import NEVER, STRETCH_ARC, SUN, interpolate
from tradespace.physics.compiled import inlined, kernel
from tradespace.spacecraft import (
    MOST_UNUSABLE,
    aged_energy_factor,
    array_left,
    clean_area,
    drawn_shares,
    plant_ceiling,
    refuelling_power,
    source_power,
    steady_load,
)

LEAST_LEFT = 1e-300  # of an array, so that one without power divides by something
NEAR_SHARE = 0.5 - 0.5 / math.sqrt(3.0)
"""Where the first of the two points of Gauss's rule lies on a stretch; the other one lies as far from its end."""


@kernel
def power_into_filling(
    design: Any, craft: Any, area: float, density: float, distance: float, age: float, left: float
) -> float:
    """Day-and-night mean power that goes into refuelling [W]; what exceeds the plants is not used.

    ``area`` is the clean area of the array with its pointing [m2], ``density`` the :func:`array_density` at that
    distance and ``left`` what age leaves of its power [1].
    """
    need = steady_load(design, distance) - source_power(design, age)
    power = density * left * area
    rating = craft.extraction_rate * craft.energy_per_mined
    return float(min(refuelling_power(design, power, need), plant_ceiling(design, rating, need)))


@kernel
def stretch_of(nearest: float) -> float:
    """Time in which a body runs through the arc of one stretch of the refuelling integral, nearest to the Sun [s]."""
    return float(STRETCH_ARC * math.sqrt(nearest * nearest * nearest / SUN))


@inlined
def filling(
    design: Any, craft: Any, sun: Any, area: float, now: float, start: float, early: float, late: float, room: Any,
    place: int,
) -> tuple[float, float]:  # fmt: skip
    """Power into refuelling over the stretch that begins ``now``: mean, and how far its end lies above [W].

    Two points as in Gauss's rule give both, the power taken as a straight line of time that stays above zero.
    ``area`` is the clean area of the array with its pointing [m2]; ``early`` and ``late`` are what age leaves of its
    power at the two points [1]; ``place`` is that of both densities in the ``room``, see :func:`known_density`.
    """
    first, second = now + NEAR_SHARE * sun[3], now + (1.0 - NEAR_SHARE) * sun[3]
    near, far = interpolate(sun[0], sun[1], sun[2], first), interpolate(sun[0], sun[1], sun[2], second)
    density, later = known_density(design, near, room, place), known_density(design, far, room, place + 2)
    one = power_into_filling(design, craft, area, density, near, first - start, early)
    two = power_into_filling(design, craft, area, later, far, second - start, late)
    mean = 0.5 * (one + two)
    rise = 0.5 * (two - one) / (1.0 - 2.0 * NEAR_SHARE)
    return mean, min(max(rise, -mean), mean)


@kernel
def filling_at(
    design: Any, craft: Any, sun: Any, now: float, start: float, landings: float, room: Any
) -> tuple[float, float]:
    """Power into refuelling over the stretch that begins ``now``, as :func:`filling` gives it."""
    area = clean_area(design, landings) * design.pointing_factor
    early = array_left(design, now + NEAR_SHARE * sun[3] - start)
    late = array_left(design, now + (1.0 - NEAR_SHARE) * sun[3] - start)
    return filling(design, craft, sun, area, now, start, early, late, room, NOWHERE_KNOWN)


@kernel
def energy_of(mean: float, rise: float, stretch: float, time: float) -> float:
    """Energy gathered in a time since a stretch began [J]."""
    return time * (mean + rise * (time / stretch - 1.0))


@kernel
def time_of(mean: float, rise: float, stretch: float, energy: float) -> float:
    """Time in which an energy is gathered since a stretch began [s]; past its end at its mean power, above zero."""
    if energy >= mean * stretch:
        return energy / mean
    begin = mean - rise
    return 2.0 * energy / (begin + math.sqrt(max(begin * begin + 4.0 * rise * energy / stretch, 0.0)))


@inlined
def refuelling(
    design: Any,
    craft: Any,
    sun: Any,
    arrival: float,
    start: float,
    horizon: float,
    energy: float,
    landings: float,
    room: Any,
    place: int,
) -> float:
    """Time to spend ``energy`` on refuelling from ``arrival`` on [s], at most ``NEVER``; the Sun's distance changes.

    Past the horizon the power stays as it is there. ``place`` in the ``room`` is that of the densities of the stop, see
    :func:`known_density`.
    """
    if energy <= 0.0:
        return 0.0
    if (
        energy >= craft.extraction_rate * craft.energy_per_mined * NEVER
    ):  # even with the plants at their rating
        return NEVER
    stretch = sun[3]
    missing = energy
    now = arrival
    area = clean_area(design, landings) * design.pointing_factor
    early = array_left(design, now + NEAR_SHARE * stretch - start)
    late = array_left(design, now + (1.0 - NEAR_SHARE) * stretch - start)
    a_stretch_later = array_left(design, now + (1.0 + NEAR_SHARE) * stretch - start) / max(early, LEAST_LEFT)
    mean, rise = filling(design, craft, sun, area, now, start, early, late, room, place)
    while mean * stretch < missing and now <= horizon and now - arrival < NEVER:
        missing -= mean * stretch
        now += stretch
        early, late = early * a_stretch_later, late * a_stretch_later
        place += 4
        mean, rise = filling(design, craft, sun, area, now, start, early, late, room, place)
    if not mean > 0.0:
        return NEVER
    return float(min(now - arrival + time_of(mean, rise, stretch, missing), NEVER))


@kernel
def running_share(design: Any, craft: Any, distance: float, age: float) -> float:
    """Share of the refuelling time a stack of many cells runs at its rating [1].

    It does so whenever the Sun is up, and by night with as many cells as the source that needs no Sun can feed.
    """
    rating = craft.extraction_rate * craft.energy_per_mined
    need = steady_load(design, distance) - source_power(design, age)
    if need >= 0.0 or rating <= 0.0:
        return float(design.sunlit_fraction)
    return float(plant_ceiling(design, rating, need) / rating)


@kernel
def extraction_energy_at(design: Any, stop: Any) -> float:
    """Electric energy for a kilogram of water at a stop [J/kg]: the stop's own, or else the design's."""
    return float(design.extraction_energy if math.isnan(stop.extraction_energy) else stop.extraction_energy)


@kernel
def unusable_share(design: Any) -> float:
    """Share of a load that stays in the tanks: reserve and residuals [1]."""
    return float(min(design.propellant_reserve + design.propellant_residual, MOST_UNUSABLE))


@kernel
def needed_load(design: Any, craft: Any, launch: float, cruise: float, landing: float) -> tuple[float, float]:
    """Cruise and store propellant that one hop needs, reserve and residuals included [kg]; at most full tanks.

    ``launch``, ``cruise`` and ``landing`` are the velocity changes of the burns, margins included [m/s].
    """
    first, middle, last = drawn_shares(design, launch, cruise, landing)
    drawn = first + middle + last
    left = 1.0 - unusable_share(design) - drawn
    if craft.dry_mass * drawn >= left * craft.propellant_mass or left <= 0.0:
        return float(craft.cruise_load), float(craft.store_load)
    load = craft.dry_mass * drawn / left
    if drawn <= 0.0:
        return 0.0, 0.0
    share = middle / drawn
    return float(load * share), float(load * (1.0 - share))


@kernel
def on_board_at(design: Any, craft: Any, state: Any, number: int) -> float:
    """Propellant, or water for it, on board when a stop begins [kg]."""
    if number == 0:
        return float(min(design.water_on_board / craft.stop_mined, craft.propellant_mass))
    return float(state.cruise + state.store)


@kernel
def filling_energy(
    design: Any, craft: Any, stop: Any, state: Any, number: int, target: float
) -> tuple[float, float, float]:
    """Energy to bring the load to ``target`` [J], what the launch store takes of it [J], and the water mined [kg]."""
    on_board = on_board_at(design, craft, state, number)
    mined = max(target - on_board, 0.0) * craft.stop_mined if stop.mines > 0.5 else 0.0
    # water that was on board at the start still has to be split or heated like the rest
    made = on_board * craft.stop_mined + mined if number == 0 else mined
    # what leaks or boils off before the burn is mined and made as well
    lost = made * craft.stop_loss
    if stop.mines > 0.5:
        mined += lost
    made += lost
    heat = made * craft.stop_store_share / craft.stop_mined * design.store_energy
    split = made * craft.stop_split_energy * aged_energy_factor(design, state.cell_hours)
    energy = mined * extraction_energy_at(design, stop) + split + made * craft.stop_storing_energy
    return float(energy), float(heat), float(mined)


@inlined
def refuel(
    design: Any, craft: Any, hop: Any, stop: Any, state: Any, number: int, sun: Any, dates: Any, cruise: float,
    store: float, room: Any,
) -> None:  # fmt: skip
    """Fill the tanks at a stop to a cruise and a store load [kg], or keep more if it is there; find the ready date.

    ``sun`` is (first date, step, distances, stretch), ``dates`` is (start, horizon), ``room`` that of a hop. A load
    that lies above what a stop without water can give is not reached.
    """
    on_board = on_board_at(design, craft, state, number)
    target = cruise + store
    energy, heat, hop.water_mined = filling_energy(design, craft, stop, state, number, target)
    place = NOWHERE_KNOWN if number > 0 else FIRST_STOP
    time = refuelling(
        design, craft, sun, hop.arrival_date, dates[0], dates[1], energy, state.landings, room, place
    )
    if heat > 0.0:  # heated last, at the same power, while the store cools towards its surroundings
        charging = min(time * heat / energy / design.store_holding_time, 50.0)
        lost = heat * (charging / -math.expm1(-charging) - 1.0)
        time *= 1.0 + lost / energy
        energy += lost
    hop.refuel_time = min(time, NEVER)
    hop.energy = energy
    load = max(target, on_board) if stop.mines > 0.5 else on_board
    share = cruise / target if target > 0.0 else 0.0
    state.cruise, state.store, state.filled = load * share, load * (1.0 - share), load
    state.spent_delta_v = 0.0
    if craft.stop_split_energy > 0.0:
        distance = interpolate(sun[0], sun[1], sun[2], hop.arrival_date)
        state.cell_hours += hop.refuel_time * running_share(
            design, craft, distance, hop.arrival_date - dates[0]
        )
    hop.ready_date = hop.arrival_date + max(hop.refuel_time, design.minimum_dwell)
