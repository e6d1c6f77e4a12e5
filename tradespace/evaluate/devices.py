"""One design opened up: its cell over current density, its engine over other conditions, its energy item by item."""

from __future__ import annotations

import copy
import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.constants import value
from tradespace.evaluate.engine import CELL_INPUTS, _conditions, cell_pressure, start_distance
from tradespace.physics.compiled import FloatArray
from tradespace.thrusters.architecture import Architecture
from tradespace.thrusters.stores import cold_gas_velocity

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.study import Study
    from tradespace.thrusters.contract import Conditions

AT_STOP = (
    "digging",
    "ideal_heat",
    "heat_lost",
    "cleaning",
    "extraction",
    "split",
    "compression",
    "store_heat",
)
"""Where the electricity goes at a stop: soil to water, or extraction as given; splitting; keeping."""
IN_FLIGHT = ("split_in_flight", "engine", "auxiliary", "sunlight")
"""Where it goes between the stops; ``sunlight`` is gathered by a mirror and is no electricity."""


@dataclass(frozen=True)
class Opened:
    """One design of one architecture, with everything the engine worked out for it."""

    study: Study
    architecture: Architecture
    inputs: dict[str, float]
    """Every input [SI]."""
    row: Any
    """Its row of :data:`tradespace.spacecraft.DESIGN`."""
    craft: Any
    """Its row of :data:`tradespace.spacecraft.CRAFT`."""
    conditions: Conditions
    """What its thruster knows."""


def opened(study: Study, mission: Mission, architecture: str, designs: Mapping[str, float]) -> Opened | None:
    """Evaluate one design and keep what lies inside it; None for a thruster that is none of the registry.

    Parameters
    ----------
    study, mission
        The question, and what :func:`tradespace.evaluate.mission_of` looked up for it.
    architecture : str
        An architecture of the study.
    designs : mapping of str to float
        Inputs that differ from the study's own values [SI].
    """
    from tradespace import evaluate

    craft: object = study.thrusters[architecture]
    if not isinstance(craft, Architecture):
        return None
    rows, crafts, _, values = evaluate.flown(study, mission, architecture, dict(designs), None)
    inputs = {name: float(np.ravel(value)[0]) for name, value in values.items()}
    arrays = {name: np.atleast_1d(np.asarray(value, dtype=np.float64)) for name, value in values.items()}
    conditions = _conditions(arrays, rows, study.options["cell_kind"], start_distance(mission))
    return Opened(study, craft, inputs, rows.view(np.recarray)[0], crafts.view(np.recarray)[0], conditions)


def splits(one: Opened) -> bool:
    """Whether a design runs an electrolyser at all."""
    return bool(one.architecture.refuels and one.craft.electrolyser_power > 0.0)


def cell_point(study: Study, inputs: Mapping[str, float]) -> tuple[Any, float, float, float]:
    """The cell of a design as one row of its type, and where it works.

    Returns
    -------
    tuple
        Row of :data:`tradespace.physics.electrolysis.CELL`, current density [A m-2], temperature [K], pressure [Pa].
    """
    from tradespace.physics.electrolysis import cell_record

    kind = study.options.get("cell_kind", "alkaline")
    cell = cell_record(kind)
    cell["ageing_rate"] = 0.0  # a new stack
    for name in (*CELL_INPUTS, "stack_cells"):
        cell[name] = inputs[name]
    pressure = float(cell_pressure(inputs, kind))
    return cell, float(inputs["current_density"]), float(inputs["cell_temperature"]), pressure


def cell_curve(
    cell: Any, current_density: FloatArray, temperature: float, pressure: float
) -> tuple[dict[str, FloatArray], dict[str, FloatArray]]:
    """Parts of the voltage of a cell over current density [V], and its Faradaic efficiency and bypass share [1]."""
    from tradespace.physics.electrolysis import CELL, PARTS, fill_points_kernel

    dense = np.ascontiguousarray(current_density, dtype=np.float64)
    parts, outcome = np.empty((dense.size, 6)), np.empty((dense.size, 6))
    rows = np.array([tuple(cell)], dtype=CELL).view(np.recarray)
    fill_points_kernel(
        rows, dense, np.full(dense.size, temperature), np.full(dense.size, pressure), parts, outcome
    )
    found = {name: parts[:, place].copy() for place, name in enumerate(PARTS)}
    return found, {"faradaic_efficiency": outcome[:, 1].copy(), "bypass": outcome[:, 5].copy()}


@dataclass(frozen=True)
class Impulses:
    """What an engine on split water delivers under other conditions, shape (...)."""

    burned: FloatArray
    """Specific impulse of what leaves through the nozzle [s]."""
    mined: FloatArray
    """Impulse over the weight of the water mined for it [s]."""
    used: FloatArray
    """Share of that water that leaves through the nozzle [1]."""


def impulses(one: Opened, changes: Mapping[str, FloatArray | float]) -> Impulses:
    """What the engine of a design delivers when some of its conditions are others: in cruise, or on a surface hop.

    Parameters
    ----------
    one : Opened
        A design.
    changes : mapping of str to array_like, shape (...)
        Fields of :class:`tradespace.thrusters.contract.Conditions` [SI]; all else stays as it is, the power too.
    """
    shape = np.broadcast_shapes(*(np.shape(item) for item in changes.values()), (1,))
    fields = {
        name: np.broadcast_to(np.asarray(item, dtype=np.float64), shape) for name, item in changes.items()
    }
    asked = dataclasses.replace(one.conditions, **fields)
    free = copy.copy(one.architecture)
    object.__setattr__(free, "mixture_ratio", None)  # the ratio that is asked, and not the architecture's own
    cruise = free.performance(asked)
    water = cruise.water_per_propellant * cruise.mined_per_load
    store = free.hop_engine(asked) if one.study.kind == "surface" else None
    if store is None:
        speed = cruise.exhaust_velocity * (1.0 - cruise.kept_share) / cruise.mined_per_load
        jet = cruise.jet_velocity
    else:
        speed = store.exhaust_velocity * (1.0 - store.kept_share) / store.mined_per_load
        vent = cold_gas_velocity(asked.mixture_ratio) if free.excess == "cold_gas" else 0.0
        jet = speed * water - (water - 1.0) * vent
    gravity = value("standard_gravity")
    return Impulses(
        np.broadcast_to(jet / gravity, shape),
        np.broadcast_to(speed / gravity, shape),
        np.broadcast_to(1.0 / water, shape),
    )


def extraction_steps(inputs: Mapping[str, float] | pd.Series, *, given: bool) -> dict[str, float]:
    """Electricity from soil to clean water, step by step [J/kg]; one step only when the sum itself is given."""
    total = float(inputs["extraction_energy"])
    if given:
        return {"extraction": total}
    captured = float(inputs["capture_fraction"])
    digging = float(inputs["excavation_energy"]) / (float(inputs["ice_fraction"]) * captured)
    cleaning = float(inputs["purification_energy"])
    heat = total - digging - cleaning
    ideal = heat * captured * float(inputs["extraction_efficiency"])
    return {"digging": digging, "ideal_heat": ideal, "heat_lost": heat - ideal, "cleaning": cleaning}


def energy_items(one: Opened) -> dict[str, float]:
    """Energy for each kilogram of water mined, by :data:`AT_STOP` and :data:`IN_FLIGHT` [J/kg]; a new stack.

    The first part is what fills the tanks at a stop; the second is spent on the way, on the tanks emptied.
    """
    row, craft = one.row, one.craft
    # where the study gives the sum, or switches it off, or a variable of the sweep sets it, there are no steps
    stated = "extraction_energy" in one.study.given or "extraction_energy" in one.study.swept
    free = not one.study.effects.get("extraction", True)
    found = extraction_steps(one.inputs, given=stated or free or one.study.kind == "burn")
    found["split"] = float(craft.stop_split_energy)
    store = float(craft.stop_store_share / craft.stop_mined * row.store_energy)
    heated = one.architecture.landing_engine == "stored_heat" or row.store_holding_time < 1e9
    found["store_heat"] = store if heated else 0.0
    found["compression"] = float(craft.stop_storing_energy) - found["store_heat"]
    return {name: amount for name, amount in (found | flight_items(one)).items() if amount > 0.0}


def flight_items(one: Opened) -> dict[str, float]:
    """Energy spent in flight for each kilogram of water mined [J/kg]."""
    row, craft = one.row, one.craft
    load = float(craft.cruise_load + craft.store_load)
    if load <= 0.0:
        return {}
    lasting = 1.0 / (1.0 + float(craft.stop_loss)) / float(craft.stop_mined)
    cruise = 1.0 if row.live_hop > 0.5 else float(craft.cruise_load) / load
    drawn = float(row.exhaust_velocity * (1.0 - row.kept_share))
    live = float(row.power_per_thrust) * drawn * cruise * lasting
    # of the gas for launch and landing the stop makes only a part; the rest is made of water on the way
    later = max(float(craft.store_load) / load - float(craft.stop_store_share), 0.0) * lasting
    later = 0.0 if row.live_hop > 0.5 else later
    made = float(row.store_split_fraction * row.store_mined_per_load * row.split_energy)
    engine = "sunlight" if row.collector_area > 0.0 else "engine"
    items = {
        "split_in_flight": live * float(row.split_power_share) + later * made,
        engine: live * float(row.engine_power_share),
        "auxiliary": live * float(1.0 - row.split_power_share - row.engine_power_share),
        "compression_in_flight": later * float(row.store_energy),
    }
    items["auxiliary"] += items.pop("compression_in_flight")
    return items
