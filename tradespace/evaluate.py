"""Designs in, answers out: one vectorised pass of the whole chain for one architecture."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from tradespace import constants, validity
from tradespace.mission import Mission, Stop
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.quantities import quantities
from tradespace.results import LINKS
from tradespace.thrusters.contract import Conditions, Performance, Store

if TYPE_CHECKING:
    from tradespace.study import Study
    from tradespace.thrusters.contract import Thruster

Values = Mapping[str, float | FloatArray]
SETTINGS = "engine_settings.csv"
PER_HOP = (
    "arrival_date ready_date departure_date landing_date wait refuel_time time_of_flight delta_v "
    "launch_delta_v landing_delta_v burn_time propellant_used water_mined power_at_stop v_inf_departure "
    "v_inf_arrival departure_mass"
).split()
PER_HOP_SURFACE = (
    "arrival_date ready_date departure_date landing_date refuel_time propellant_used water_mined departure_mass"
).split()
EXTRACTION_INPUTS = (
    "ice_fraction regolith_temperature release_temperature bound_water_heat water_is_ice "
    "extraction_efficiency capture_fraction excavation_energy purification_energy"
).split()
CELL_OUTPUTS = ("cell_voltage", "split_energy", "stack_efficiency", "hydrogen_in_oxygen")
UNLIMITED = 1e9  # N, kg or s, stands for "engines are simply added"
LEAST_POWER_PER_THRUST = 1e-3  # W/N, so that an unpowered engine divides by something


def mission_of(study: Study) -> Mission:
    """Look up stops, distances and windows for a study: the part of the question all designs share.

    Raises
    ------
    EphemerisError
        If a date lies outside the ephemeris of a body.
    """
    from tradespace import bodies, ephemeris, windows

    step = constants.value("distance_step", SETTINGS)
    count = int(np.ceil((study.horizon - study.start_date) / step)) + 2
    dates: FloatArray = study.start_date + step * np.arange(count, dtype=np.float64)
    known: dict[str, Stop] = {}
    for name in study.stops:
        if name not in known:
            body = bodies.body(name)
            moon = body.group == "moon"
            host = body.parent if moon else body.id  # what goes round the Sun
            last = min(ephemeris.coverage(host)[1], float(dates[-1]))
            distance = ephemeris.heliocentric_distance(host, np.minimum(dates, last))
            rotation = (
                _solar_day(body.rotation_period, host, study.start_date) if moon else body.rotation_period
            )
            known[name] = Stop(
                body.label, body.gravitational_parameter, body.radius, rotation, dates, distance
            )
    stops = tuple(known[name] for name in study.stops)
    curves = []
    if study.flight_time is not None:
        shortest, longest = study.flight_time
        for here, there in zip(study.stops[:-1], study.stops[1:], strict=True):
            curves.append(
                windows.window_curve(here, there, study.start_date, study.horizon, shortest, longest)
            )
    return Mission(study.kind, study.start_date, study.horizon, stops, tuple(curves))


def _solar_day(rotation: float, host: str, date: float) -> float:
    """Time from noon to noon on a body that turns the way its planet goes round the Sun [s]."""
    from tradespace import ephemeris

    position, velocity = ephemeris.state(host, date)
    sun = constants.value("gravitational_parameter_sun")
    size = 1.0 / (2.0 / np.linalg.norm(position) - float(np.sum(velocity**2)) / sun)
    year = 2.0 * np.pi * np.sqrt(size**3 / sun)
    return float(rotation / (1.0 - rotation / year))


def all_inputs(study: Study, designs: Values) -> dict[str, float | FloatArray]:
    """Every input by name: the study's values with the design variables laid over, derived ones worked out."""
    from tradespace.physics import extraction, sunlight

    values: dict[str, float | FloatArray] = {**study.values, **designs}
    values.setdefault("hop_delta_v_capacity", 0.0)
    values.setdefault("hop_distance", 0.0)
    if study.kind == "surface":
        values["hop_delta_v_capacity"] = 0.0
    if "array_power" in designs or ("array_power" in values and "array_area" not in designs):
        values["array_area"] = sunlight.area_of_power(values["array_power"], values["array_efficiency"])
    if "carried_delta_v" not in values:
        values["carried_delta_v"] = study.hops * np.asarray(values["hop_delta_v_capacity"])
    if "extraction_energy" not in values:
        # bounds were checked when the study was read; soil warmer than the release temperature needs no warming
        values["extraction_energy"] = broadcast(
            extraction.water_energy_kernel,
            *(values[name] for name in EXTRACTION_INPUTS),
        )
    if "sunlit_fraction" not in values:
        values["sunlit_fraction"] = broadcast(
            sunlight.landed_sunlit_fraction_kernel,
            values["site_latitude"],
            values["subsolar_latitude"],
            values["horizon_elevation"],
        )
    if "stack_efficiency" not in values:
        values["stack_efficiency"] = np.nan
    return values


def evaluate(
    study: Study,
    mission: Mission,
    architecture: str,
    designs: Values,
    *,
    frozen: FloatArray | None = None,
    everything: bool = False,
) -> pd.DataFrame:
    """Answer the study for a set of designs of one architecture.

    Parameters
    ----------
    study, mission
        The question, and what :func:`mission_of` looked up for it.
    architecture : str
        A thruster of the study.
    designs : mapping of str to float or ndarray, shape (n,)
        Inputs that differ from the study's own values [SI].
    frozen : ndarray, shape (hops,), optional
        Departure dates to keep instead of choosing them, seconds past J2000; NaN leaves a hop free.
    everything : bool
        Also give every input and the inner numbers of the vehicle as columns.

    Returns
    -------
    DataFrame, n rows
        Design variables and output columns [SI], in the order of the designs.
    """
    from tradespace import campaign, spacecraft

    values = all_inputs(study, designs)
    count = max(np.size(value) for value in (*values.values(), *designs.values()))
    rows = np.zeros(count, dtype=spacecraft.DESIGN)
    for name in spacecraft.QUANTITY_FIELDS:
        rows[name] = values[name]
    kind = study.options["cell_kind"]
    fill_cell(rows, values, kind)
    fill_thruster(rows, values, study.thrusters[architecture], kind, surface=mission.kind == "surface")
    crafts = np.zeros(count, dtype=spacecraft.CRAFT)
    hops = np.zeros((count, mission.hops), dtype=campaign.HOP)
    fly(mission, rows, crafts, hops, frozen)
    table = answer_table(
        architecture, designs, values if everything else {}, rows, crafts, hops, mission.kind
    )
    checked = {**values, "hydrogen_in_oxygen": rows["hydrogen_in_oxygen"]}
    part = "all"
    if study.thrusters[architecture].refuels:
        part = "splitting" if np.any(crafts["electrolyser_power"] > 0.0) else "refuelling"
    outside = validity.first_outside(checked, study.options, architecture, part, count)
    table["extrapolated"] = outside > 0
    table["extrapolated_by"] = pd.Categorical.from_codes(outside, categories=pd.Index(validity.names()))
    return table


CELL_INPUTS = ("electrolyte_strength", "electrode_gap", "membrane_thickness", "microgravity_overvoltage")
"""Fields of a cell that a study sets under the same name; cells without such a part never read it."""


def fill_cell(rows: np.ndarray, values: Values, kind: str) -> None:
    """Cell voltage, efficiency, energy and heat of the electrolyser for each design.

    The cell works at its own pressure, but never above that of the gas tanks or the highest its kind is made for.
    """
    from tradespace.physics.electrolysis import CELL, cell_record
    from tradespace.spacecraft import fill_cells

    count = rows.shape[0]
    given = {name: np.asarray(values[name], dtype=np.float64) for name in (*CELL_INPUTS, "stack_cells")}
    shape = count if any(value.ndim for value in given.values()) else 1
    cells = np.empty(shape, dtype=CELL)
    cells[:] = cell_record(kind)
    cells["ageing_rate"] = 0.0  # the campaign ages the stack with its hours
    for name, value in given.items():
        cells[name] = value
    pressure = cell_pressure(values, kind)
    wanted = (
        *(values[name] for name in ("current_density", "cell_temperature")),
        pressure,
        *(values[name] for name in ("stack_efficiency", "electrolyser_areal_mass", "stack_ageing_rate")),
    )
    columns = [np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), count)) for value in wanted]
    fill_cells(records(rows), records(cells), *columns)


def cell_pressure(values: Values, kind: str) -> FloatArray:
    """Pressure at which the cell works [Pa]."""
    from tradespace.physics.electrolysis import cell_record

    highest = float(cell_record(kind).highest_pressure)
    tanks = np.asarray(values["storage_pressure"], dtype=np.float64)
    return np.minimum(np.minimum(tanks, values["cell_pressure"]), highest)


def _conditions(values: Values, rows: np.ndarray, kind: str) -> Conditions:
    """What the thrusters may know, as arrays."""
    split = rows["split_energy"]
    same = bool(np.all(split == split[0]))
    names = [
        name for name in Conditions.__dataclass_fields__ if name not in {"split_energy", "cell_pressure"}
    ]
    arrays = {name: np.asarray(values[name], dtype=np.float64) for name in names}
    return Conditions(
        split_energy=np.asarray(split[0] if same else split),
        cell_pressure=cell_pressure(values, kind),
        **arrays,
    )


def fill_thruster(rows: np.ndarray, values: Values, thruster: Thruster, kind: str, *, surface: bool) -> None:
    """Cruise thruster and launch-and-landing store of each design, with the electrolysis cell of one kind."""
    conditions = _conditions(values, rows, kind)
    cruise: Performance = thruster.performance(conditions)
    store: Store | None = thruster.hop_engine(conditions) if surface else thruster.landing(conditions)
    rows["exhaust_velocity"] = cruise.exhaust_velocity
    rows["water_per_propellant"] = cruise.water_per_propellant
    rows["power_per_thrust"] = np.maximum(cruise.power_per_thrust, LEAST_POWER_PER_THRUST)
    rows["thrust_limit"] = np.minimum(cruise.thrust_limit, UNLIMITED)
    rows["thruster_base_mass"] = cruise.mass
    rows["thruster_mass_per_power"] = cruise.mass_per_power
    rows["live_split_fraction"] = cruise.live_split_fraction
    rows["stop_split_fraction"] = cruise.stop_split_fraction
    rows["burn_life"] = np.minimum(cruise.burn_life, UNLIMITED)
    rows["throughput_life"] = np.minimum(cruise.throughput_life, UNLIMITED)
    rows["cruise_tank_factor"] = cruise.tank_factor
    rows["cruise_specific_volume"] = cruise.specific_volume
    rows["thruster_waste_fraction"] = cruise.waste_heat_fraction
    rows["refuels"] = 1.0 if thruster.refuels else 0.0
    rows["live_hop"] = 1.0 if store is None else 0.0
    if store is None:  # the cruise thruster itself has to lift the craft
        rows["store_exhaust_velocity"] = rows["exhaust_velocity"]
        rows["store_tank_factor"] = rows["cruise_tank_factor"]
        rows["store_specific_volume"] = rows["cruise_specific_volume"]
        rows["store_thrust_limit"] = rows["thrust_limit"]
        rows["store_holding_time"] = UNLIMITED
        return
    rows["store_exhaust_velocity"] = store.exhaust_velocity
    rows["store_energy"] = store.energy
    rows["store_waste_fraction"] = store.waste_heat_fraction
    rows["store_loss"] = store.loss_fraction
    rows["store_split_fraction"] = store.split_fraction
    rows["store_mass"] = store.mass
    rows["store_holding_time"] = store.holding_time
    rows["store_tank_factor"] = store.tank_factor
    rows["store_specific_volume"] = store.specific_volume
    rows["store_mass_per_thrust"] = store.mass_per_thrust
    rows["store_thrust_limit"] = np.minimum(store.thrust_limit, UNLIMITED)
    if surface:
        rows["live_split_fraction"] = 0.0


def fly(
    mission: Mission, rows: np.ndarray, crafts: np.ndarray, hops: np.ndarray, frozen: FloatArray | None
) -> None:
    """Hand the records to the compiled campaign."""
    from tradespace import campaign

    stops = np.zeros(len(mission.stops), dtype=campaign.STOP)
    for number, stop in enumerate(mission.stops):
        stops[number] = (
            stop.surface_gravity, stop.escape_speed, stop.radius, stop.gravitational_parameter, stop.rotation_period,
        )  # fmt: skip
    distances = np.ascontiguousarray([stop.distances for stop in mission.stops], dtype=np.float64)
    dates = mission.stops[0].dates
    if mission.windows:
        first = np.array([curve.departure[0] for curve in mission.windows])
        step = float(mission.windows[0].departure[1] - mission.windows[0].departure[0])
        length = max(curve.departure.size for curve in mission.windows)
        names = ("v_inf_departure", "v_inf_arrival", "time_of_flight", "v_inf_sum")
        tables = [
            np.array([_padded(getattr(curve, name), length) for curve in mission.windows]) for name in names
        ]
    else:
        first, step, tables = np.zeros(1), 1.0, [np.zeros((1, 1)) for _ in range(4)]
    hold = np.full(mission.hops, np.nan) if frozen is None else np.asarray(frozen, dtype=np.float64)
    arguments: tuple[Any, ...] = (
        records(stops), float(dates[0]), float(dates[1] - dates[0]), distances, first, step, *tables,
        mission.start_date, mission.horizon, hold, mission.kind == "surface",
    )  # fmt: skip
    campaign.fly_all(records(rows), records(crafts), records(hops), *arguments)


def compile_engine() -> None:
    """Compile every kernel of the engine by calling it on no designs at all."""
    from tradespace import campaign, spacecraft
    from tradespace.physics.electrolysis import CELL

    none = np.zeros(0)
    rows, crafts = np.zeros(0, dtype=spacecraft.DESIGN), np.zeros(0, dtype=spacecraft.CRAFT)
    spacecraft.fill_cells(rows, np.zeros(1, dtype=CELL), none, none, none, none, none, none)
    stop = Stop("nowhere", 1.0, 1.0, 1.0, np.array([0.0, 1.0]), np.array([1.0, 1.0]))
    fly(
        Mission("surface", 0.0, 1.0, (stop, stop), ()),
        rows,
        crafts,
        np.zeros((0, 1), dtype=campaign.HOP),
        None,
    )


def records(rows: np.ndarray) -> np.ndarray:
    """Rows whose fields read as attributes, which plain Python needs when compilation is switched off."""
    from tradespace.campaign import fly_all

    return rows if hasattr(fly_all, "py_func") else rows.view(np.recarray)


def _padded(curve: FloatArray, length: int) -> FloatArray:
    return np.concatenate([curve, np.full(length - curve.size, curve[-1])])


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
    columns: dict[str, Any] = {"architecture": pd.Categorical([architecture] * count)}
    for name, value in {**inputs, **designs}.items():
        columns[name] = np.broadcast_to(np.asarray(value, dtype=np.float64), count).copy()
    for name in (*(crafts.dtype.names or ()), *CELL_OUTPUTS):
        if name in known or inputs:
            source = crafts if name in (crafts.dtype.names or ()) else rows
            columns[name] = source[name].copy()
    columns["specific_impulse"] = rows["exhaust_velocity"] / constants.value("standard_gravity")
    if kind == "surface":
        columns["specific_impulse"] = rows["store_exhaust_velocity"] / constants.value("standard_gravity")
    columns["propellant_specific_impulse"] = columns["specific_impulse"] * rows["water_per_propellant"]
    margins = np.stack([hops[f"margin_{link}"] for link in MARGINS], axis=-1)
    flat = margins.reshape(count, -1)
    least = flat.argmin(axis=1)
    columns["closes"] = (flat >= 0.0).all(axis=1)
    columns["margin"] = flat[np.arange(count), least]
    columns["limited_by"] = pd.Categorical(np.array(LINKS)[least % len(MARGINS)], categories=list(LINKS))
    columns["limited_at"] = least // len(MARGINS) + 1
    mission_time = hops["landing_date"][:, -1] - hops["arrival_date"][:, 0]
    columns["mission_time"] = mission_time
    columns["hops_per_year"] = np.where(columns["closes"], number_of_hops * year / mission_time, 0.0)
    columns["hops_per_sunlit_year"] = columns["hops_per_year"] / rows["sunlit_fraction"]
    columns["refuel_time"] = hops["refuel_time"].max(axis=1)
    columns["refuel_time_mean"] = hops["refuel_time"].mean(axis=1)
    columns["energy_per_hop"] = hops["energy"].mean(axis=1)
    columns["water_per_hop"] = hops["propellant_used"].mean(axis=1)
    columns["delta_v_total"] = hops["delta_v"].sum(axis=1)
    columns["window_slack_d"] = hops["window_slack_d"].min(axis=1)
    for index, link in enumerate(LINKS):
        columns[f"margin_{link}"] = margins[:, :, index].min(axis=1)
    for hop in range(number_of_hops):
        for name in PER_HOP if kind == "tour" else PER_HOP_SURFACE:
            columns[f"{name}_{hop + 1}"] = hops[name][:, hop].copy()
        for index, link in enumerate(LINKS):
            columns[f"margin_{link}_{hop + 1}"] = margins[:, hop, index].copy()
    return pd.DataFrame(columns)


def baseline(study: Study, mission: Mission | None = None, architecture: str | None = None) -> pd.DataFrame:
    """The study's reference design, one row per architecture, with every input and output column."""
    mission = mission or mission_of(study)
    names = [architecture] if architecture else list(study.architectures)
    frames = [evaluate(study, mission, name, {}, everything=True) for name in names]
    table = pd.concat(frames, ignore_index=True)
    table["architecture"] = pd.Categorical(table["architecture"], categories=names)
    return table
