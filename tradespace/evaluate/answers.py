"""From the filled records of the engine to named columns."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate.inputs import UNSET, Values
from tradespace.quantities import quantities
from tradespace.results import LINKS

SETTINGS = "engine_settings.csv"
PER_HOP = (
    "arrival_date ready_date departure_date landing_date wait refuel_time time_of_flight delta_v "
    "launch_delta_v landing_delta_v departure_delta_v arrival_delta_v burn_time pricing propellant_loaded "
    "propellant_used water_mined energy power_at_stop v_inf_departure v_inf_arrival window_date departure_mass "
    "survival elapsed water_so_far energy_so_far delta_v_so_far"
).split()
PER_HOP_SURFACE = (
    "arrival_date ready_date departure_date landing_date refuel_time launch_delta_v landing_delta_v energy "
    "propellant_used water_mined departure_mass survival"
).split()
PER_HOP_BURN = (
    "arrival_date ready_date departure_date landing_date refuel_time delta_v burn_time energy "
    "propellant_loaded propellant_used water_mined departure_mass survival"
).split()
PER_HOP_OF = {"tour": PER_HOP, "surface": PER_HOP_SURFACE, "burn": PER_HOP_BURN}
LEAST_SPENT = 1.0  # J/kg, so that an engine that takes no energy divides by something
LEAST_LIFE = 1e-6  # share of a life used in a whole route that stands for none
CELL_OUTPUTS = ("cell_voltage", "split_energy", "stack_efficiency", "hydrogen_in_oxygen")


def per_water(rows: np.ndarray, *, surface: bool) -> dict[str, Any]:
    """What the engine that is traded makes of a kilogram of mined water: impulse, energy, power per thrust, jet."""
    gravity = constants.value("standard_gravity")
    if surface and not np.any(rows["live_hop"] > 0.0):
        mined = rows["store_mined_per_load"]
        drawn = rows["store_exhaust_velocity"] * (1.0 - rows["store_kept_share"])
        energy = rows["store_split_fraction"] * mined * rows["split_energy"] + rows["store_energy"]
        jet = 0.5 * rows["store_exhaust_velocity"] * drawn
    else:
        mined = rows["mined_per_load"]
        drawn = rows["exhaust_velocity"] * (1.0 - rows["kept_share"])
        at_stop = rows["stop_split_fraction"] * (mined * rows["split_energy"] + rows["storing_energy"])
        energy = rows["power_per_thrust"] * drawn + at_stop
        jet = 0.5 * rows["jet_velocity"] ** 2 / rows["water_per_propellant"]
    impulse, spent = drawn / mined, energy / mined
    return {
        "mined_specific_impulse": impulse / gravity,
        "total_power_per_thrust": spent / impulse,
        "spent_energy": spent,
        "jet_share": _share(jet / mined, spent),
    }


def _share(jet: np.ndarray, spent: np.ndarray) -> np.ndarray:
    """Energy of the jet over what was spent on it; 1 at most, where a propellant brings energy of its own."""
    return np.asarray(np.minimum(jet / np.maximum(spent, LEAST_SPENT), 1.0))


def burn_columns(rows: np.ndarray, hops: np.ndarray) -> dict[str, Any]:
    """What only a burn in free space answers: the velocity change there is, and what a velocity change asked needs."""
    available = hops["delta_v"][:, 0].copy()
    asked = rows["hop_delta_v_capacity"] * (1.0 + rows["delta_v_margin"])
    per_speed = np.divide(asked, available, out=np.zeros(len(rows)), where=available > 0.0)
    impulse = rows["exhaust_velocity"] / constants.value("standard_gravity")
    return {"delta_v_available": available, "needed_specific_impulse": per_speed * impulse}


def over_hops(combine: np.ufunc, column: np.ndarray) -> np.ndarray:
    """A field of all hops combined hop after hop, shape (n,): much sooner than along so short an axis."""
    found = column[:, 0].copy()
    for hop in range(1, column.shape[1]):
        combine(found, column[:, hop], out=found)
    return np.asarray(found)


def mean_hop(column: np.ndarray) -> np.ndarray:
    """Mean of a field over the hops, shape (n,)."""
    return np.asarray(over_hops(np.add, column) / column.shape[1])


class Answers:
    """Output columns of designs that have been flown, each worked out when it is asked for."""

    def __init__(self, rows: np.ndarray, crafts: np.ndarray, hops: np.ndarray, kind: str) -> None:
        from tradespace.campaign import least_margins

        self.rows, self.crafts, self.hops, self.kind = rows, crafts, hops, kind
        self.least, self.place = least_margins(hops)
        self.closes = self.least >= 0.0
        self._shared: dict[str, Any] = {}

    def column(self, name: str) -> np.ndarray:
        """One output [SI], shape (n,).

        Raises
        ------
        KeyError
            If there is no such output.
        """
        if name in OUTPUTS:
            return np.asarray(OUTPUTS[name](self))
        if name in PER_WATER:
            shared = self._of("water", lambda: per_water(self.rows, surface=self.kind == "surface"))
            return np.asarray(shared[name])
        if name in PER_BURN and self.kind == "burn":
            return np.asarray(self._of("burn", lambda: burn_columns(self.rows, self.hops))[name])
        return np.asarray(self._field(name))

    def _field(self, name: str) -> Any:
        """A field of one of the records, or of one hop as ``<name>_<hop>``."""
        record = self.rows if name in CELL_OUTPUTS else self.crafts
        if name in (record.dtype.names or ()):
            return record[name]
        if name.removeprefix("margin_") in LINKS:
            return over_hops(np.minimum, self.hops[name])
        stem, _, number = name.rpartition("_")
        fits = number.isdigit() and 1 <= int(number) <= self.hops.shape[1]
        if not fits or stem not in (self.hops.dtype.names or ()):
            raise KeyError(name)
        return self.hops[stem][:, int(number) - 1]

    def _of(self, key: str, make: Callable[[], Any]) -> Any:
        if key not in self._shared:
            self._shared[key] = make()
        return self._shared[key]

    @property
    def mission_time(self) -> np.ndarray:
        """From the first arrival to the last landing [s]."""
        return np.asarray(self.hops["landing_date"][:, -1] - self.hops["arrival_date"][:, 0])

    @property
    def hops_per_year(self) -> np.ndarray:
        """Of designs that close [1/yr]."""
        year = constants.value("year", SETTINGS)
        return np.where(self.closes, self.hops.shape[1] * year / self.mission_time, 0.0)

    @property
    def specific_impulse(self) -> np.ndarray:
        """Of the engine that is traded [s]."""
        speed = self.rows["store_exhaust_velocity" if self.kind == "surface" else "exhaust_velocity"]
        return np.asarray(speed / constants.value("standard_gravity"))


def _hops_in_life(one: Answers) -> Any:
    return one.hops.shape[1] / np.maximum(one.hops["life_used"][:, -1], LEAST_LIFE)


def _expected_bodies(one: Answers) -> Any:
    grounds = one.hops["landing_delta_v"] > 0.0  # a parking orbit is no body reached
    return over_hops(np.add, one.hops["survival"] * grounds)


OUTPUTS: dict[str, Callable[[Answers], Any]] = {
    "specific_impulse": lambda one: one.specific_impulse,
    "propellant_specific_impulse": lambda one: one.specific_impulse * one.rows["water_per_propellant"],
    "closes": lambda one: one.closes,
    "margin": lambda one: one.least,
    "limited_by": lambda one: one.place % len(LINKS),
    "limited_at": lambda one: one.place // len(LINKS) + 1,
    "mission_time": lambda one: one.mission_time,
    "hops_per_year": lambda one: one.hops_per_year,
    "payload_per_year": lambda one: one.rows["payload_mass"] * one.hops_per_year
    / constants.value("year", SETTINGS),
    "hops_in_life": _hops_in_life,
    "hops_per_sunlit_year": lambda one: one.hops_per_year / one.rows["sunlit_fraction"],
    "survival": lambda one: one.hops["survival"][:, -1],
    "expected_bodies": _expected_bodies,
    "refuel_time": lambda one: over_hops(np.maximum, one.hops["refuel_time"]),
    "refuel_time_mean": lambda one: mean_hop(one.hops["refuel_time"]),
    "energy_per_hop": lambda one: mean_hop(one.hops["energy"]),
    "water_per_hop": lambda one: mean_hop(one.hops["propellant_used"]) * one.crafts["stop_mined"],
    "delta_v_total": lambda one: over_hops(np.add, one.hops["delta_v"]),
    "window_slack_d": lambda one: over_hops(np.minimum, one.hops["window_slack_d"]),
}  # fmt: skip
"""Outputs that are more than a field of a record, in the order of the table."""
PER_WATER = ("mined_specific_impulse", "total_power_per_thrust", "spent_energy", "jet_share")
PER_BURN = ("delta_v_available", "needed_specific_impulse")


def output_names(kind: str, hops: int, *, everything: bool = False) -> list[str]:
    """Names of all outputs of a study of a kind, in the order of the table."""
    from tradespace.spacecraft import CRAFT

    known = quantities()
    names = [name for name in (*(CRAFT.names or ()), *CELL_OUTPUTS) if name in known or everything]
    names += [
        "specific_impulse",
        *PER_WATER,
        *(name for name in OUTPUTS if name not in {"specific_impulse", "window_slack_d"}),
    ]
    names += [*(PER_BURN if kind == "burn" else ()), "window_slack_d", *(f"margin_{link}" for link in LINKS)]
    for hop in range(1, hops + 1):
        names += [f"{name}_{hop}" for name in (*PER_HOP_OF[kind], *(f"margin_{link}" for link in LINKS))]
    return names


def answer_table(
    architecture: str,
    designs: Values,
    inputs: Values,
    rows: np.ndarray,
    crafts: np.ndarray,
    hops: np.ndarray,
    kind: str,
) -> pd.DataFrame:
    """Turn the filled records into named columns; every quantity of the table keeps its name."""
    count = len(rows)
    columns: dict[str, Any] = {
        "architecture": pd.Categorical.from_codes(
            np.zeros(count, dtype=np.int8), categories=pd.Index([architecture])
        )
    }
    for name, value in {**inputs, **designs}.items():
        if name in UNSET and np.isnan(value).all():
            continue
        columns[name] = np.broadcast_to(np.asarray(value, dtype=np.float64), count)
    found = Answers(rows, crafts, hops, kind)
    for name in output_names(kind, hops.shape[1], everything=bool(inputs)):
        columns[name] = found.column(name)
    columns["limited_by"] = pd.Categorical.from_codes(columns["limited_by"], categories=pd.Index(LINKS))
    return _table(columns, count)


def _table(columns: dict[str, Any], count: int) -> pd.DataFrame:
    """The columns in their order, all numbers in one block: made ten times sooner than column by column."""
    numbers = [name for name, values in columns.items() if getattr(values, "dtype", None) == np.float64]
    block = np.empty((len(numbers), count))
    for place, name in enumerate(numbers):
        block[place] = columns[name]
    table = pd.DataFrame(block.T, columns=pd.Index(numbers), copy=False)
    others = set(columns) - set(numbers)
    for place, (name, values) in enumerate(columns.items()):
        if name in others:
            table.insert(place, name, values)
    return table
