"""What is on board of one design over its campaign: propellant, gas pressure and battery, between known states."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.campaign import STATE
from tradespace.campaign.flight import both_burns
from tradespace.campaign.stop import on_board_at, unusable_share
from tradespace.figures.calendar import burns_of
from tradespace.figures.choice import own_inputs
from tradespace.physics.compiled import broadcast
from tradespace.physics.rocket import propellant_mass_kernel
from tradespace.physics.storage import stored_gas_pv_kernel
from tradespace.physics.sunlight import (
    allowed_depth_of_discharge_kernel,
    capacity_left_kernel,
)
from tradespace.spacecraft import source_power, steady_load

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray
    from tradespace.results import Results

ROOMY = 3.0
"""Propellant that fills more room than so many times its water is kept as gas [1]."""
PRESSURES = 120
"""Pressures at which the mass of gas in a tank is worked out."""
EMPTY = 1e-3
"""Least pressure followed, over that of full tanks [1]."""
NIGHTS = 9
"""Dates of a stop at which the discharge of a night is worked out."""
ALL_OXYGEN = 1e9
"""Mixture ratio that stands for oxygen alone [1]."""
ROUNDING = 1e-9
"""Share of a full load that stands for none [1]."""
NO_THRUST = 1.0
"""Stands for thrusts where only masses are asked for [N]."""

NOTHING = np.zeros(1, dtype=STATE).view(np.recarray)[0]
"""A craft at its first stop."""


@dataclass(frozen=True)
class History:
    """A quantity between known states, dates in seconds past J2000; empty where a craft has no such thing."""

    dates: FloatArray
    on_board: FloatArray
    """Propellant, or the water for it [kg]."""
    full: float
    """What the tanks hold [kg]."""
    gas_dates: FloatArray
    pressure: FloatArray
    """Of the gas tanks [Pa]."""
    filling_pressure: float
    """[Pa]."""
    gas_share: float
    """Share of the load that is kept as gas [1]; 0 for none."""
    battery_dates: FloatArray
    battery: FloatArray
    """Energy by day, when charged, over the rated energy [1]."""
    after_night: FloatArray
    """The same at the end of a night, or where there is none [1]."""
    battery_energy: float
    """Rated energy [J]; 0 for no battery."""


@dataclass(frozen=True)
class Flown:
    """The records of one design."""

    design: Any
    craft: Any
    hops: Any
    values: dict[str, Any]


def flown_design(results: Results, name: str, row: pd.Series) -> Flown:
    """Size and fly one design again, for what its row does not tell."""
    from tradespace.evaluate import flown

    rows, crafts, hops, values = flown(
        results.study, results.mission, name, own_inputs(results, row), frozen=None
    )
    design, craft, hop = (np.asarray(group).view(np.recarray)[0] for group in (rows, crafts, hops))
    return Flown(design, craft, hop, values)


def history(results: Results, name: str, row: pd.Series, most: int) -> History:
    """Follow one design through its campaign.

    Parameters
    ----------
    results : Results
        Of a study that can be evaluated, a tour or hops on one body.
    name : str
        Its architecture.
    row : Series
        The design.
    most : int
        Hops followed at most, from the first.
    """
    one = flown_design(results, name, row)
    states = [State(results, row, one, hop) for hop in range(1, min(results.mission.hops, most) + 1)]
    dates, load = _joined([state.load() for state in states])
    load[load < ROUNDING * float(one.craft.propellant_mass)] = 0.0
    share = gas_share(results, name, one)
    whole = share >= 1.0 or results.mission.kind == "surface"
    full = float(one.craft.propellant_mass)
    gas_dates, gas, capacity = np.zeros(0), np.zeros(0), full
    if share > 0.0 and whole:
        gas_dates, gas = dates, load
    elif share > 0.0:
        capacity = float(one.craft.buffer_mass)
        reserve = float(unusable_share(one.design)) * capacity
        mines = [stop.mines for stop in results.mission.stops]
        gas_dates, gas = _joined(_buffer(states, mines, capacity, reserve))
    filling = float(np.ravel(one.values["storage_pressure"])[0])
    battery_dates, charged, after = _battery(results, one, states)
    return History(
        dates, load, full,
        gas_dates, pressure_of(results, name, one, gas / max(capacity, 1e-9), filling), filling, share,
        battery_dates, charged, after, float(one.craft.battery_mass * one.design.battery_specific_energy),
    )  # fmt: skip


class State:
    """What is known of one hop: its dates, its loads, and what each of its burns draws."""

    def __init__(self, results: Results, row: pd.Series, one: Flown, hop: int) -> None:
        found, design, craft = one.hops[hop - 1], one.design, one.craft
        self.hop, self.found = hop, found
        self.loaded = float(found.propellant_loaded)
        self.left = max(self.loaded - float(found.propellant_used), 0.0)
        before = one.hops[hop - 2] if hop > 1 else None
        if before is None:
            self.start = self.loaded
            if design.refuels > 0.5:
                self.start = min(float(on_board_at(design, craft, NOTHING, 0)), self.loaded)
        else:
            self.start = max(float(before.propellant_loaded) - float(before.propellant_used), 0.0)
        self.first, self.second = burns_of(results, row, hop)
        kept, speed = float(design.store_kept_share), float(design.store_exhaust_velocity)
        mass = float(found.departure_mass)
        self.launch = float(propellant_mass_kernel(mass, found.launch_delta_v, speed)) / (1.0 - kept)
        mass -= self.launch * (1.0 - kept)
        one_burn, two_burn, _, _ = both_burns(
            design, mass, float(found.departure_delta_v), float(found.arrival_delta_v), NO_THRUST, NO_THRUST
        )
        self.leaving, self.arriving = float(one_burn), float(two_burn)
        spent = self.launch + self.leaving + self.arriving
        self.landing = max(float(found.propellant_used) - spent, 0.0)

    @property
    def filled(self) -> float:
        """When the tanks are full [s]."""
        return float(min(self.found.arrival_date + self.found.refuel_time, self.found.ready_date))

    def load(self) -> tuple[list[float], list[float]]:
        """Dates and propellant on board, from the arrival to the landing."""
        found, level = self.found, self.loaded
        steps = [
            (found.arrival_date, self.start),
            (self.filled, level),
            (found.departure_date, level),
            (found.departure_date, level - self.launch),
            (found.departure_date + self.first, level - self.launch - self.leaving),
            (found.landing_date - self.second, level - self.launch - self.leaving),
            (found.landing_date, self.left + self.landing),
            (found.landing_date, self.left),
        ]
        return [float(date) for date, _ in steps], [max(float(mass), 0.0) for _, mass in steps]


def _joined(parts: list[tuple[list[float], list[float]]]) -> tuple[FloatArray, FloatArray]:
    """Hop after hop as one line."""
    return (
        np.array([date for dates, _ in parts for date in dates]),
        np.array([level for _, levels in parts for level in levels]),
    )


def _buffer(
    states: list[State], mines: list[bool], capacity: float, reserve: float
) -> list[tuple[list[float], list[float]]]:
    """Gas of a craft that carries water and a buffer of gas for launch and landing [kg].

    What lands the craft is made from water on the way, with the reserve; the launch gas at a stop where there is water
    to be mined.
    """
    parts, level = [], 0.0
    for state in states:
        found = state.found
        filled = capacity if mines[state.hop - 1] else level
        launched = max(filled - state.launch, 0.0)
        made = max(launched, min(state.landing + reserve, capacity))
        parts.append(
            (
                [float(date) for date in (
                    found.arrival_date, state.filled, found.departure_date, found.departure_date, found.landing_date,
                    found.landing_date,
                )],
                [level, filled, filled, launched, made, max(made - state.landing, 0.0)],
            )
        )  # fmt: skip
        level = max(made - state.landing, 0.0)
    return parts


def gas_share(results: Results, name: str, one: Flown) -> float:
    """Share of a full load that a craft keeps as compressed gas [1]; 0 for water, ice-warm stores and liquids."""
    craft = results.study.thrusters[name]
    if not craft.refuels or craft.storage in {"liquid", "water"}:
        return 0.0
    if float(np.ravel(one.values["storage_is_liquid"])[0]) > 0.0:
        return 0.0
    cruise_as_gas = craft.storage == "gas"
    plain = 1.0 / water_density()
    store_as_gas = float(one.design.store_specific_volume) > ROOMY * plain
    if results.mission.kind == "surface":
        return 1.0 if store_as_gas else 0.0
    if cruise_as_gas:
        return 1.0
    load = float(one.craft.propellant_mass)
    return min(float(one.craft.buffer_mass) / load, 1.0) if store_as_gas and load > 0.0 else 0.0


def water_density() -> float:
    """Density of the water in the tanks [kg/m3]."""
    from tradespace.thrusters.values import number

    return number("shared", "water_density")


def pressure_of(results: Results, name: str, one: Flown, filling: FloatArray, highest: float) -> FloatArray:
    """Pressure of real gas in tanks of one temperature that are filled to a share of their mass [Pa]."""
    if not filling.size:
        return filling
    feed = results.study.thrusters[name].thruster.feed
    own = float(np.ravel(one.values["mixture_ratio"])[0])
    ratio = {"hydrogen": 0.0, "oxygen": ALL_OXYGEN}.get(feed, own)
    temperature = float(np.ravel(one.values["storage_temperature"])[0])
    tried = np.geomspace(EMPTY * highest, highest, PRESSURES)
    held = tried / broadcast(
        stored_gas_pv_kernel, temperature, tried, ratio
    )  # held at the ends of its tables
    found: FloatArray = np.interp(filling * held[-1], np.append(0.0, held), np.append(0.0, tried))
    return found


def _battery(results: Results, one: Flown, states: list[State]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Dates, charge by day and charge after a night, over the rated energy [1].

    Wear is that for which the battery was sized: all nights of the campaign, at the shortest day of the route, at the
    depth it was built for.
    """
    design, mission = one.design, results.mission
    rated = float(one.craft.battery_mass * design.battery_specific_energy)
    if rated <= 0.0:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    rotations = [stop.rotation_period for stop in mission.stops]
    span = mission.horizon - mission.start_date
    cycles = span / max(min(rotations), 1.0)
    depth = min(
        float(design.battery_depth_of_discharge),
        float(
            allowed_depth_of_discharge_kernel(
                cycles, float(design.battery_full_depth_cycles), float(design.battery_cycle_exponent)
            )
        ),
    )
    longest = float(design.longest_night)
    longest = max(rotations) * (1.0 - float(design.sunlit_fraction)) if np.isnan(longest) else longest

    def left(date: float) -> float:
        age = max(date - mission.start_date, 0.0)
        return float(
            capacity_left_kernel(
                age / max(min(rotations), 1.0), depth, float(design.battery_full_depth_cycles),
                float(design.battery_cycle_exponent), float(design.battery_fade_rate), age,
            )
        )  # fmt: skip

    dates: list[float] = []
    charged: list[float] = []
    after: list[float] = []
    for state in states:
        stop = mission.stops[state.hop - 1]
        night = longest * stop.rotation_period / max(rotations)
        for date in np.linspace(float(state.found.arrival_date), float(state.found.departure_date), NIGHTS):
            distance = float(np.interp(date, stop.dates, stop.distances))
            load = float(steady_load(design, distance)) - float(
                source_power(design, date - mission.start_date)
            )
            taken = max(load, 0.0) * night / float(design.battery_efficiency) / rated
            dates.append(float(date))
            charged.append(left(float(date)))
            after.append(max(charged[-1] - taken, 0.0))
        departure, landing = float(state.found.departure_date), float(state.found.landing_date)
        for date in (departure, landing) if landing - departure > stop.rotation_period else ():
            dates.append(date)
            charged.append(left(date))
            after.append(charged[-1])
    return np.array(dates), np.array(charged), np.array(after)
