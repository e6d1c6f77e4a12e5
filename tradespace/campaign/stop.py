"""At a stop: filling the tanks with what the Sun gives."""

from __future__ import annotations

import math
from typing import Any

from tradespace.campaign.records import NEVER, STEP, interpolate
from tradespace.physics.compiled import kernel
from tradespace.spacecraft import (
    aged_energy_factor,
    bus_power,
    plant_ceiling,
    refuelling_power,
    source_power,
    steady_load,
)

MOST_STEPS = int(NEVER / STEP) + 1


@kernel
def refuelling(
    design: Any, craft: Any, first: float, step: float, distances: Any, arrival: float, start: float, horizon: float,
    energy: float, landings: float,
) -> float:  # fmt: skip
    """Time to spend ``energy`` on refuelling from ``arrival`` on [s], following the Sun's distance; at most ``NEVER``.

    Power beyond the rating of the plants is not used.
    """
    if energy <= 0.0:
        return 0.0
    rating = craft.extraction_rate * craft.energy_per_mined
    left = energy
    now = arrival
    for _ in range(MOST_STEPS):
        middle = now + 0.5 * STEP
        distance = interpolate(first, step, distances, middle)
        need = steady_load(design, distance) - source_power(design, middle - start)
        power = bus_power(design, distance, middle - start, landings)
        used = min(refuelling_power(design, power, need), plant_ceiling(design, rating, need))
        if used * STEP >= left or now > horizon:
            break
        left -= used * STEP
        now += STEP
    if not used > 0.0:
        return NEVER
    return float(min(now - arrival + left / used, NEVER))


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
def refuel(design: Any, craft: Any, hop: Any, state: Any, number: int, sun: Any, dates: Any) -> None:
    """Fill the tanks at the stop and find the ready date.

    ``sun`` is (first date, step, distances); ``dates`` is (start, horizon).
    """
    full = craft.propellant_mass
    on_board = min(design.water_on_board, full) if number == 0 else state[0] + state[1]
    hop.water_mined = max(full - on_board, 0.0)
    # water that was on board at the start still has to be split or heated like the rest
    made = full if number == 0 else hop.water_mined
    # what leaks or boils off before the burn is mined and made as well
    lost = made * craft.stop_kept_share * design.store_loss / max(1.0 - design.store_loss, 1e-6)
    hop.water_mined += lost
    made += lost
    heat = made * craft.stop_kept_share * design.store_energy
    split = made * craft.stop_split_energy * aged_energy_factor(design, state[3])
    energy = hop.water_mined * design.extraction_energy + split + heat
    time = refuelling(
        design, craft, sun[0], sun[1], sun[2], hop.arrival_date, dates[0], dates[1], energy, number + 1.0
    )
    if heat > 0.0:  # heated last, at the same power, while the store cools towards its surroundings
        charging = min(time * heat / energy / design.store_holding_time, 50.0)
        lost = heat * (charging / -math.expm1(-charging) - 1.0)
        time *= 1.0 + lost / energy
        energy += lost
    hop.refuel_time = min(time, NEVER)
    hop.energy = energy
    state[0], state[1] = craft.cruise_load, craft.store_load
    if craft.stop_split_energy > 0.0:
        distance = interpolate(sun[0], sun[1], sun[2], hop.arrival_date)
        state[3] += hop.refuel_time * running_share(design, craft, distance, hop.arrival_date - dates[0])
    hop.ready_date = hop.arrival_date + max(hop.refuel_time, design.minimum_dwell)
