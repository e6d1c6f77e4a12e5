"""From the filled records of the engine to named columns."""

from __future__ import annotations

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
    from tradespace.campaign import MARGINS

    count, number_of_hops = hops.shape
    year = constants.value("year", SETTINGS)
    known = quantities()
    columns: dict[str, Any] = {
        "architecture": pd.Categorical.from_codes(
            np.zeros(count, dtype=np.int8), categories=pd.Index([architecture])
        )
    }
    for name, value in {**inputs, **designs}.items():
        if name in UNSET and np.isnan(value).all():
            continue
        columns[name] = np.broadcast_to(np.asarray(value, dtype=np.float64), count)
    for name in (*(crafts.dtype.names or ()), *CELL_OUTPUTS):
        if name in known or inputs:
            source = crafts if name in (crafts.dtype.names or ()) else rows
            columns[name] = source[name]
    columns["specific_impulse"] = rows["exhaust_velocity"] / constants.value("standard_gravity")
    if kind == "surface":
        columns["specific_impulse"] = rows["store_exhaust_velocity"] / constants.value("standard_gravity")
    columns |= per_water(rows, surface=kind == "surface")
    columns["propellant_specific_impulse"] = columns["specific_impulse"] * rows["water_per_propellant"]
    margins = np.stack([hops[f"margin_{link}"] for link in MARGINS], axis=-1)
    flat = margins.reshape(count, -1)
    least = flat.argmin(axis=1)
    columns["closes"] = (flat >= 0.0).all(axis=1)
    columns["margin"] = flat[np.arange(count), least]
    columns["limited_by"] = pd.Categorical.from_codes(least % len(MARGINS), categories=pd.Index(LINKS))
    columns["limited_at"] = least // len(MARGINS) + 1
    mission_time = hops["landing_date"][:, -1] - hops["arrival_date"][:, 0]
    columns["mission_time"] = mission_time
    columns["hops_per_year"] = np.where(columns["closes"], number_of_hops * year / mission_time, 0.0)
    year_payload = rows["payload_mass"] * columns["hops_per_year"] / year
    columns["payload_per_year"] = year_payload
    life = np.maximum(hops["life_used"][:, -1], LEAST_LIFE)
    columns["hops_in_life"] = number_of_hops / life
    columns["hops_per_sunlit_year"] = columns["hops_per_year"] / rows["sunlit_fraction"]
    columns["survival"] = hops["survival"][:, -1]
    grounds = hops["landing_delta_v"] > 0.0  # a parking orbit is no body reached
    columns["expected_bodies"] = (hops["survival"] * grounds).sum(axis=1)
    columns["refuel_time"] = hops["refuel_time"].max(axis=1)
    columns["refuel_time_mean"] = hops["refuel_time"].mean(axis=1)
    columns["energy_per_hop"] = hops["energy"].mean(axis=1)
    columns["water_per_hop"] = hops["propellant_used"].mean(axis=1) * crafts["stop_mined"]
    columns["delta_v_total"] = hops["delta_v"].sum(axis=1)
    if kind == "burn":
        columns |= burn_columns(rows, hops)
    columns["window_slack_d"] = hops["window_slack_d"].min(axis=1)
    for index, link in enumerate(LINKS):
        columns[f"margin_{link}"] = margins[:, :, index].min(axis=1)
    for hop in range(number_of_hops):
        for name in PER_HOP_OF[kind]:
            columns[f"{name}_{hop + 1}"] = hops[name][:, hop]
        for index, link in enumerate(LINKS):
            columns[f"margin_{link}_{hop + 1}"] = margins[:, hop, index]
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
