"""From named inputs to the records of the compiled engine, and through it."""

from __future__ import annotations

import weakref
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.evaluate.columns import Columns
from tradespace.evaluate.inputs import Values
from tradespace.mission import Mission, Stop, WindowCurve
from tradespace.physics.compiled import FloatArray, records
from tradespace.thrusters.contract import Conditions, Performance, Store

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tradespace.thrusters.architecture import Architecture

UNLIMITED = 1e9  # N, kg or s, stands for "engines are simply added"
LEAST_POWER_PER_THRUST = 1e-3  # W/N, so that an unpowered engine divides by something
CELL_INPUTS = ("electrolyte_strength", "electrode_gap", "membrane_thickness", "microgravity_overvoltage")
"""Fields of a cell that a study sets under the same name; cells without such a part never read it."""
MEASURED_CELL = ("cell_ohmic_factor", "cell_activation_factor", "cell_bypass_conductance", "cell_gas_loss")
"""What a measured cell differs by from its kind; fields of a cell without the first word."""


CELL_RESULTS = (
    "cell_voltage", "stack_efficiency", "split_energy", "cell_heat_fraction", "cell_heat_supplied", "cell_ageing",
    "hydrogen_in_oxygen", "stack_mass_per_power",
)  # fmt: skip
"""Fields of a design that its cell fills."""
STACK = np.dtype([(name, np.float64) for name in ("balance_of_plant_fraction", *CELL_RESULTS)])
"""What a cell reads of a design and fills."""


def fill_cell(columns: Columns, values: Values, kind: str) -> None:
    """Cell voltage, efficiency, energy and heat of the electrolyser for each design.

    The cell works at its own pressure, but never above that of the gas tanks or the highest its kind is made for.
    """
    from tradespace.physics.electrolysis import CELL, cell_record
    from tradespace.spacecraft import fill_cells

    names = {name: name for name in (*CELL_INPUTS, "stack_cells")}
    names |= {name: name.removeprefix("cell_") for name in MEASURED_CELL}
    given = {field: np.asarray(values[name], dtype=np.float64) for name, field in names.items()}
    cells = np.empty(columns.count if any(value.size > 1 for value in given.values()) else 1, dtype=CELL)
    cells[:] = cell_record(kind)
    cells["ageing_rate"] = 0.0  # the campaign ages the stack with its hours
    for name, value in given.items():
        cells[name] = value
    wanted = (
        *(values[name] for name in ("current_density", "cell_temperature")),
        cell_pressure(values, kind),
        *(values[name] for name in ("stack_efficiency", "electrolyser_areal_mass", "stack_ageing_rate")),
    )
    plant = values["balance_of_plant_fraction"]
    alike = cells.size == 1 and all(np.size(value) == 1 for value in (*wanted, plant))
    stacks = np.zeros(1 if alike else columns.count, dtype=STACK)
    stacks["balance_of_plant_fraction"] = plant
    arrays = [
        np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), stacks.shape)) for value in wanted
    ]
    fill_cells(records(stacks), records(cells), *arrays)
    for name in CELL_RESULTS:
        columns[name] = stacks[name]


def cell_pressure(values: Values, kind: str) -> FloatArray:
    """Pressure at which the cell works [Pa]."""
    from tradespace.physics.electrolysis import cell_record

    highest = float(cell_record(kind).highest_pressure)
    tanks = np.asarray(values["storage_pressure"], dtype=np.float64)
    return np.minimum(np.minimum(tanks, values["cell_pressure"]), highest)


WORKED_OUT = ("split_energy", "cell_pressure", "live_power", "solar_flux")
"""Conditions that are no inputs."""
SAME_NAME = (
    "exhaust_velocity jet_velocity water_per_propellant kept_share mined_per_load least_power least_flow "
    "throttle_exponent collector_area engine_power_share split_power_share live_split_fraction stop_split_fraction "
    "storing_energy storing_loss"
).split()
WEIGHTS = "thruster_base_mass thruster_mass_per_power store_mass store_mass_per_thrust".split()
STORE_LIVES = "burn_life throughput_life ignition_life charge".split()
LIVES = [
    "burn_life", "throughput_life", "ignition_life", "store_burn_life", "store_throughput_life", "store_ignition_life",
]  # fmt: skip
CAPPED = "thrust_limit burn_life throughput_life ignition_life charge".split()


def _conditions(values: Values, columns: Columns | np.ndarray, kind: str, distance: float) -> Conditions:
    """What the thrusters may know, as arrays."""
    from tradespace.physics.compiled import broadcast
    from tradespace.physics.sunlight import solar_flux_kernel

    names = [name for name in Conditions.__dataclass_fields__ if name not in WORKED_OUT]
    arrays = {name: np.asarray(values[name], dtype=np.float64) for name in names}
    given = np.asarray(values["sun_distance"], dtype=np.float64)
    return Conditions(
        split_energy=_one_if_same(columns["split_energy"]),
        live_power=_one_if_same(columns["live_power"]),
        cell_pressure=cell_pressure(values, kind),
        solar_flux=broadcast(solar_flux_kernel, np.where(np.isnan(given), distance, given)),
        **arrays,
    )


def _one_if_same(column: FloatArray) -> FloatArray:
    """One value where all designs share it, which spares the thrusters work."""
    return np.asarray(column.flat[0] if column.size and bool(np.all(column == column.flat[0])) else column)


def fill_thruster(
    columns: Columns, values: Values, architecture: Architecture, kind: str, distance: float, *, surface: bool
) -> None:
    """Cruise thruster and launch-and-landing store of each design, with the electrolysis cell of one kind.

    ``distance`` is that from the Sun at the start [m]; the power left for propulsion there is filled first.
    """
    columns.find_live_power(distance)
    conditions = _conditions(values, columns, kind, distance)
    cruise: Performance = architecture.performance(conditions)
    store: Store | None = architecture.hop_engine(conditions) if surface else architecture.landing(conditions)
    for name in SAME_NAME:
        columns[name] = getattr(cruise, name)
    for name in CAPPED:
        columns[name] = np.minimum(getattr(cruise, name), UNLIMITED)
    columns["power_per_thrust"] = np.maximum(cruise.power_per_thrust, LEAST_POWER_PER_THRUST)
    columns["thruster_base_mass"] = cruise.mass
    columns["thruster_mass_per_power"] = cruise.mass_per_power
    sunlight = conditions.solar_flux * cruise.collector_area
    most = columns["thrust_limit"] * columns["power_per_thrust"]  # more power than that is no load of the set
    columns["reference_power"] = np.minimum(
        np.where(cruise.collector_area > 0.0, sunlight, columns["live_power"]), most
    )
    per_drawn = columns["exhaust_velocity"] * (1.0 - columns["kept_share"])
    columns["live_energy"] = cruise.power_per_thrust * per_drawn * (1.0 - columns["split_power_share"])
    columns["cruise_tank_factor"] = cruise.tank_factor
    columns["cruise_specific_volume"] = cruise.specific_volume
    columns["thruster_waste_fraction"] = cruise.waste_heat_fraction
    columns["refuels"] = 1.0 if architecture.refuels else 0.0
    for name in STORE_LIVES:
        columns[f"store_{name}"] = UNLIMITED
    columns["store_mined_per_load"] = 1.0
    columns["live_hop"] = 1.0 if store is None else 0.0
    if store is None:  # the cruise thruster itself has to lift the craft
        for name in ("exhaust_velocity", "kept_share", "mined_per_load"):
            columns[f"store_{name}"] = columns[name]
        columns["store_split_fraction"] = columns["stop_split_fraction"]
        columns["store_tank_factor"] = columns["cruise_tank_factor"]
        columns["store_specific_volume"] = columns["cruise_specific_volume"]
        columns["store_thrust_limit"] = columns["thrust_limit"]
        columns["store_holding_time"] = UNLIMITED
        columns["store_energy"], columns["store_loss"] = columns["storing_energy"], columns["storing_loss"]
        columns["store_waste_fraction"] = 1.0
        return
    columns["store_exhaust_velocity"] = store.exhaust_velocity
    columns["store_energy"] = store.energy
    columns["store_waste_fraction"] = store.waste_heat_fraction
    columns["store_loss"] = store.loss_fraction
    columns["store_split_fraction"] = store.split_fraction
    columns["store_mass"] = store.mass
    columns["store_holding_time"] = store.holding_time
    columns["store_tank_factor"] = store.tank_factor
    columns["store_specific_volume"] = store.specific_volume
    columns["store_mass_per_thrust"] = store.mass_per_thrust
    columns["store_thrust_limit"] = np.minimum(store.thrust_limit, UNLIMITED)
    columns["store_kept_share"] = store.kept_share
    columns["store_mined_per_load"] = store.mined_per_load
    for name in STORE_LIVES:
        columns[f"store_{name}"] = np.minimum(getattr(store, name), UNLIMITED)
    if surface:
        columns["live_split_fraction"] = columns["split_power_share"] = 0.0


def without_losses(columns: Columns, losses: float | FloatArray) -> None:
    """Where a study leaves the losses of its thrusters out, they weigh nothing and never wear out either."""
    ideal = np.asarray(losses) < 0.5
    if ideal.any():
        for name in WEIGHTS:
            columns[name] = np.where(ideal, 0.0, columns[name])
        for name in LIVES:
            columns[name] = np.where(ideal, UNLIMITED, columns[name])


ITEMS = "structure array source battery electrolyser extraction tank thermal".split()


def fill_growth(columns: Columns, values: Values, architecture: Architecture) -> None:
    """Growth that the maturity of every item asks for, in each design."""
    from tradespace.tables import read_table

    classes = {row["item"]: row["maturity"] for row in read_table("item_maturity.csv").rows}
    classes["thruster"] = architecture.maturity_class
    if architecture.landing_engine == "storable":
        classes["landing_engine"] = classes["landing_engine_storable"]
    for item in (*ITEMS, "thruster", "landing_engine"):
        columns[f"growth_{item}"] = values[f"margin_{classes[item]}"]


def stop_records(stops: Sequence[Stop]) -> np.ndarray:
    """Stops as the campaign reads them, shape (n,)."""
    from tradespace import campaign

    rows = np.zeros(len(stops), dtype=campaign.STOP)
    for number, stop in enumerate(stops):
        lands = stop.lands
        rows[number] = (
            stop.surface_gravity if lands else 0.0, stop.escape_speed if lands else 0.0, stop.radius,
            stop.gravitational_parameter, stop.rotation_period, float(stop.mines), stop.orbit_mu, stop.orbit_radius,
            stop.extraction_energy, stop.dry_probability, float(stop.dry_given),
            float(np.max(stop.distances)), float(np.min(stop.distances)),
        )  # fmt: skip
    return rows


def leg_records(windows: Sequence[WindowCurve], hops: int) -> np.ndarray:
    """Legs as the campaign reads them, shape (hops,); all zero on a surface route."""
    from tradespace import campaign

    rows = np.zeros(hops, dtype=campaign.LEG)
    for number, curve in enumerate(windows):
        rows["first"][number] = curve.departure[0]
        if curve.system is not None:
            system = curve.system
            rows[number] = (
                1.0, system.wait, curve.departure[0], system.gravitational_parameter, system.first_radius,
                system.second_radius, system.plane_angle,
            )  # fmt: skip
    return rows


def priced_ends(curve: WindowCurve, here: Stop, there: Stop) -> tuple[FloatArray, FloatArray]:
    """Sum of both cruise burns and the first of them, with short burns [m/s], by which departures are chosen."""
    from tradespace.physics.compiled import broadcast
    from tradespace.physics.transfer import moon_end_kernel

    ends: list[FloatArray] = []
    for stop, speeds in ((here, curve.v_inf_departure), (there, curve.v_inf_arrival)):
        pulled = stop.orbit_mu > 0.0 and curve.system is None
        ends.append(
            broadcast(moon_end_kernel, stop.orbit_mu, stop.orbit_radius, speeds) if pulled else speeds
        )
    return np.asarray(ends[0] + ends[1]), np.asarray(ends[0])


def start_distance(mission: Mission) -> float:
    """Distance from the Sun when the campaign begins [m]."""
    stop = mission.stops[0]
    return float(np.interp(mission.start_date, stop.dates, stop.distances))


_PREPARED: weakref.WeakKeyDictionary[Mission, tuple[Any, ...]] = weakref.WeakKeyDictionary()


def prepared(mission: Mission) -> tuple[Any, ...]:
    """Stops, legs and calendar of a mission as the compiled campaign reads them; kept as long as the mission is."""
    if mission not in _PREPARED:
        _PREPARED[mission] = _prepare(mission)
    return _PREPARED[mission]


def _prepare(mission: Mission) -> tuple[Any, ...]:
    from tradespace import campaign

    stops = stop_records(mission.stops)
    legs = leg_records(mission.windows, mission.hops)
    distances = np.ascontiguousarray([stop.distances for stop in mission.stops], dtype=np.float64)
    dates = mission.stops[0].dates
    if mission.windows:
        step = float(mission.windows[0].departure[1] - mission.windows[0].departure[0])
        length = max(curve.departure.size for curve in mission.windows)
        ends = zip(mission.windows, mission.stops[:-1], mission.stops[1:], strict=True)
        priced = [priced_ends(curve, here, there) for curve, here, there in ends]
        flights = [
            _padded(curve.time_of_flight, length, curve.time_of_flight[-1]) for curve in mission.windows
        ]
        speeds = (
            [curve.v_inf_departure for curve in mission.windows],
            [curve.v_inf_arrival for curve in mission.windows],
            *zip(*priced, strict=True),
        )
        # past the dates on which both bodies are known no tanks are large enough
        leaving, arriving, sums, starts = (
            np.array([_padded(curve, length, UNLIMITED) for curve in group]) for group in speeds
        )
        tables = campaign.calendar(leaving, arriving, np.array(flights), sums, starts)
    else:
        step, tables = 1.0, (np.zeros((1, 1, 1)), np.zeros((1, 1, 1)))
    return (
        records(stops), records(legs), float(dates[0]), float(dates[1] - dates[0]), distances, step, *tables,
    )  # fmt: skip


def fly(
    mission: Mission, rows: np.ndarray, crafts: np.ndarray, hops: np.ndarray, frozen: FloatArray | None
) -> None:
    """Hand the records to the compiled campaign."""
    from tradespace import campaign

    states = np.zeros(len(rows), dtype=campaign.STATE)
    filled_rows = (records(rows), records(crafts), records(hops), records(states))
    if mission.kind == "burn":
        campaign.burn_all(*filled_rows, start_distance(mission), mission.start_date, mission.horizon)
        return
    hold = np.full(mission.hops, np.nan) if frozen is None else np.asarray(frozen, dtype=np.float64)
    arguments: tuple[Any, ...] = (
        *filled_rows, *prepared(mission), mission.start_date, mission.horizon, hold, mission.kind == "surface",
        np.zeros(campaign.ROOM), np.zeros((campaign.BATCH, campaign.ENDS)),
    )  # fmt: skip
    campaign.fly_all(*arguments)


def compile_engine() -> None:
    """Compile every kernel of the engine by calling it on no designs at all."""
    from tradespace import campaign, spacecraft
    from tradespace.physics.electrolysis import CELL

    none = np.zeros(0)
    rows, crafts = np.zeros(0, dtype=spacecraft.DESIGN), np.zeros(0, dtype=spacecraft.CRAFT)
    spacecraft.fill_cells(
        np.zeros(0, dtype=STACK), np.zeros(1, dtype=CELL), none, none, none, none, none, none
    )
    stop = Stop("nowhere", 1.0, 1.0, 1.0, np.array([0.0, 1.0]), np.array([1.0, 1.0]))
    fly(
        Mission("surface", 0.0, 1.0, (stop, stop), ()),
        rows,
        crafts,
        np.zeros((0, 1), dtype=campaign.HOP),
        None,
    )


def _padded(curve: FloatArray, length: int, last: float) -> FloatArray:
    return np.concatenate([curve, np.full(length - curve.size, last)])
