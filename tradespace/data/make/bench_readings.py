"""Makes the shipped readings of a bench that never was: files in ``tradespace/data/bench``.

Run with ``python -m tradespace.data.make.bench_readings``. What happens in cell and engine is worked out by
:mod:`tradespace.data.make.bench_cell` and :mod:`tradespace.data.make.bench_engine`, which are finer than the models
fitted to such readings; here instruments look at it, each with an error of scale, a drift, a wandering, noise that
remembers itself and a last digit, together as large as the class of the instrument is said to be. All is invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from tradespace.bench.channels import channels
from tradespace.constants import value
from tradespace.data.make.bench_cell import WATER, CellBuild, CellTruth, cell_truth
from tradespace.data.make.bench_engine import EngineBuild, EngineTruth, engine_truth
from tradespace.data.make.bench_log import Log
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.water import saturation_pressure_kernel
from tradespace.units import conversion

TARGET = Path(__file__).parents[1] / "bench"
GAS = value("gas_constant")
HYDROGEN = value("molar_mass_hydrogen")
HIGHER = value("reaction_enthalpy_water")
ICE = value("water_split_lowest_temperature", "physics_values.csv")
ATMOSPHERE = value("standard_atmosphere")
COOLANT_HEAT = value("water_liquid_heat_capacity", "physics_values.csv")
CAUTION = (
    "Hydrogen with oxygen burns and detonates, hot caustic electrolyte burns skin and eyes: "
    "local codes and licensed practice rule."
)

ALKALINE = CellBuild(
    kind="alkaline", electrolyte="potassium_hydroxide", cells=6, area=0.01, gap=0.0, strength=0.30, liquid=4.4e-3,
    solid=2.4e-5, bubbles=0.06, rise=1.0, anode=(11.0, 0.66, 0.5), cathode=(16.0, 0.74, 0.5), edge=5.0, ducts=0.0,
    crossing=(29.0, 0.034), lost=0.015, lost_more=0.06, largest=4000.0,
)  # fmt: skip
MEMBRANE = CellBuild(
    kind="membrane", electrolyte="water", cells=4, area=25e-4, gap=0.0, strength=0.0, liquid=183e-6, solid=3.6e-6,
    bubbles=0.08, rise=1.5, anode=(8e-4, 1.45, 1.0), cathode=(9e3, 0.95, 1.0), edge=8.0, ducts=0.0,
    crossing=(0.0, 0.0), lost=0.012, lost_more=0.06, largest=15000.0,
)  # fmt: skip
THIN_PLATES = CellBuild(
    kind="common_duct", electrolyte="sodium_bicarbonate", cells=7, area=80e-4, gap=2.0e-3, strength=0.02,
    liquid=2.75e-3, solid=1.5e-5, bubbles=0.08, rise=1.5, anode=(0.22, 0.72, 0.5), cathode=(0.25, 0.78, 0.5), edge=4.0,
    ducts=1.3, crossing=(0.5, 0.0195), lost=0.012, lost_more=0.06, largest=3000.0,
)  # fmt: skip
CHAIN_CELL = CellBuild(
    kind="alkaline", electrolyte="potassium_hydroxide", cells=8, area=0.025, gap=0.0, strength=0.30, liquid=4.1e-3,
    solid=2.6e-5, bubbles=0.06, rise=1.0, anode=(10.0, 0.67, 0.5), cathode=(17.0, 0.75, 0.5), edge=6.0, ducts=0.0,
    crossing=(29.0, 0.034), lost=0.018, lost_more=0.06, largest=4000.0,
)  # fmt: skip
VACUUM = EngineBuild(
    throat=1.0e-3,
    exit=4.6e-3,
    half_angle=0.262,
    mixing=0.955,
    friction=0.9,
    exchange=0.36,
    wall=1300.0,
    warm_up=12.0,
)
CHAIN_ENGINE = EngineBuild(
    throat=0.8e-3,
    exit=3.6e-3,
    half_angle=0.262,
    mixing=0.95,
    friction=0.95,
    exchange=0.4,
    wall=1250.0,
    warm_up=10.0,
)
SEA_LEVEL = EngineBuild(
    throat=1.5e-3,
    exit=1.65e-3,
    half_angle=0.21,
    mixing=0.97,
    friction=1.8,
    exchange=0.13,
    wall=1200.0,
    warm_up=15.0,
)


def _steps(low: float, high: float, levels: int, dwell: int) -> FloatArray:
    return np.repeat(np.linspace(low, high, levels), dwell)


def _cell_facts(log: Log, build: CellBuild) -> None:
    log.words["cell_kind"] = build.kind
    log.facts["cells_in_series"] = str(build.cells)
    log.fact("electrode_area", build.area)
    if build.kind != "membrane":
        log.words["electrolyte"] = build.electrolyte
        log.fact("electrolyte_strength", build.strength)
    if build.gap > 0.0:
        log.fact("electrode_gap", build.gap)


def _electric(log: Log, build: CellBuild, truth: CellTruth, current: FloatArray, wiring: float) -> None:
    """Current, voltages and power; ``wiring`` is the resistance of the leads [ohm]."""
    stack = truth.voltage * build.cells
    log.read("current", current)
    log.read("stack_voltage", stack)
    log.read("supply_power", current * (stack + wiring * current))
    log.read("cell_temperature", truth.temperature)


def _gas(log: Log, moles: FloatArray, at: FloatArray, pressure: FloatArray, wet: bool) -> None:
    """Flow, temperature and pressure of the gas in the meter, from moles of dry gas per second."""
    vapour = broadcast(saturation_pressure_kernel, at) if wet else 0.0
    log.words["gas_is"] = "wet" if wet else "dry"
    log.words["volumes_at"] = "meter"
    log.read("gas_flow", moles * GAS * at / (pressure - vapour))
    log.read("meter_temperature", at)
    log.read("meter_pressure", pressure)


def _room(rng: np.random.Generator, points: int, low: float, high: float) -> FloatArray:
    """A slow course of a temperature [K] between two values [degC]."""
    turn = np.cumsum(rng.standard_normal(points))
    span = max(float(np.ptp(turn)), 1e-9)
    return np.asarray(ICE + low + (high - low) * (turn - turn.min()) / span)


def _cell_log(
    rng: np.random.Generator, build: CellBuild, density: FloatArray, inlet: tuple[float, float], pressure: float,
    every: float, wet: bool, weighed: bool,
) -> tuple[Log, dict[str, float]]:  # fmt: skip
    """A run of a cell alone: the log and what is true."""
    points = density.size
    log = Log(rng, points)
    truth = cell_truth(build, density, _room(rng, points, *inlet), np.full(points, pressure))
    log.set("time", np.arange(points) * every)
    _cell_facts(log, build)
    _electric(log, build, truth, density * build.area, 0.004)
    log.read("cell_pressure", np.full(points, pressure))
    mixed = build.kind == "common_duct"
    log.words["gas_measured"] = "mixed" if mixed else "hydrogen"
    moles = truth.hydrogen / HYDROGEN
    _gas(log, moles * (1.5 if mixed else 1.0), _room(rng, points, 21.0, 24.0), _air(rng, points), wet)
    if mixed:
        log.read("oxygen_to_hydrogen", np.full(points, 0.5))
    if weighed:
        log.read("water_lost", np.cumsum(moles * WATER * (1.0 + truth.vapour)) * every)
    return log, truth.parameters


def _air(rng: np.random.Generator, points: int) -> FloatArray:
    return np.full(points, ATMOSPHERE * (1.0 + 0.008 * np.clip(rng.standard_normal(), -2.0, 2.0)))


def _engine_log(log: Log, build: EngineBuild, truth: EngineTruth, flow: FloatArray, lag: FloatArray) -> None:
    """What is read at an engine in vacuum; ``lag`` is the share of its heat that has reached the coolant."""
    for name, true in (
        ("throat_diameter", build.throat), ("exit_diameter", build.exit), ("half_angle", build.half_angle),
        ("discharge_coefficient", truth.parameters["discharge_coefficient"]),
    ):  # fmt: skip
        log.fact(name, true)
    log.words["chamber_pressure_is"] = "absolute"
    log.read("chamber_pressure", truth.pressure)
    lever, tare = 1.60 + 0.004 * log.rng.standard_normal(), 2e-3 * (1.0 + 0.2 * log.rng.standard_normal())
    log.fact("lever_ratio", lever)
    log.fact("tare_force", tare)
    log.read("balance_force", lever * truth.thrust + tare)
    cooling = np.full(flow.size, 8e-3)
    log.read("coolant_flow", cooling)
    log.read("coolant_rise", truth.wall_heat * lag / (cooling * COOLANT_HEAT))


def _since(points: int, cold: int, first: float, every: float) -> FloatArray:
    """Seconds since ignition of each point; negative before it."""
    number = np.arange(points)
    return np.where(number < cold, -1.0, first + (number - cold) * every)


Made = tuple[Log, dict[str, float]]


def alkaline_stack(rng: np.random.Generator) -> Made:
    """Six cells with lye, eight levels of current, hydrogen through a wet meter, water on a scale."""
    density = _steps(1000.0, ALKALINE.largest, 8, 12)
    return _cell_log(rng, ALKALINE.varied(rng), density, (67.0, 69.0), 1.2e5, 60.0, wet=True, weighed=True)


def membrane_stack(rng: np.random.Generator) -> Made:
    """Four membrane cells under five bar, ten levels, hydrogen through a drier and a dry meter."""
    density = _steps(1000.0, MEMBRANE.largest, 10, 6)
    return _cell_log(rng, MEMBRANE.varied(rng), density, (59.0, 61.0), 5e5, 60.0, wet=False, weighed=False)


def thin_plates(rng: np.random.Generator) -> Made:
    """Seven plates in weak sodium bicarbonate on common ducts, mixed gas, six levels."""
    density = _steps(500.0, THIN_PLATES.largest, 6, 5)
    return _cell_log(
        rng, THIN_PLATES.varied(rng), density, (48.0, 51.0), 1.05e5, 120.0, wet=True, weighed=False
    )


def vacuum_engine(rng: np.random.Generator) -> Made:
    """An engine in a vacuum chamber, cold and then lit, three levels of flow, a believable thrust."""
    points, cold, every = 120, 24, 10.0
    build, log = VACUUM.varied(rng), Log(rng, points)
    since = _since(points, cold, 25.0, every)
    flow = np.concatenate([np.full(cold, 70e-6), _steps(65e-6, 95e-6, 3, 32)])
    ambient, feed = np.full(points, 35.0) + 4.0 * rng.standard_normal(), _room(rng, points, 20.0, 23.0)
    truth = engine_truth(build, flow, ambient, since, feed)
    log.set("time", np.arange(points) * every)
    log.set("lit", np.where(since < 0.0, 0.0, 1.0))
    log.words["gas_is"] = "dry"
    log.read("mass_flow", flow)
    log.read("feed_temperature", feed)
    log.set("ambient_pressure", conversion("Pa", "bar")[0] * np.round(ambient), 5)
    _engine_log(log, build, truth, flow, 1.0 - np.exp(-np.maximum(since, 0.0) / 8.0))
    return log, truth.parameters | {
        "mass_flow": float(flow[cold:].mean()),
        "thrust": float(truth.thrust[cold:].mean()),
    }


def sea_level_engine(rng: np.random.Generator) -> Made:
    """An engine fed by 5.8 kW at 41 %, fired in the open; hoses and spray make its stand show about 1 N."""
    points, every = 40, 15.0
    build, log = SEA_LEVEL.varied(rng), Log(rng, points)
    power = 5800.0 * (1.0 + 0.003 * rng.standard_normal(points))
    moles = 0.41 * power / HIGHER
    flow, ambient = moles * WATER, _air(rng, points)
    truth = engine_truth(build, flow, ambient, _since(points, 0, 40.0, every), np.full(points, 296.0))
    log.set("time", np.arange(points) * every)
    log.set("lit", np.ones(points))
    log.read("supply_power", power)
    log.words |= {"cell_kind": "common_duct", "gas_measured": "mixed", "chamber_pressure_is": "gauge"}
    _gas(log, 1.5 * moles, _room(rng, points, 22.0, 25.0), ambient, wet=False)
    log.read("water_rate", 1.03 * flow)
    log.fact("throat_diameter", build.throat)
    log.fact("exit_diameter", build.exit)
    log.read("chamber_pressure", truth.pressure - ambient)
    log.read("ambient_pressure", ambient)
    false = 1.0 - float(truth.thrust.mean())  # what hoses under pressure and spray in the jet add
    log.read("thrust", truth.thrust + false * (1.0 + 0.02 * np.linspace(-1.0, 1.0, points)), shared=0.0)
    return log, truth.parameters | {
        "mass_flow": float(flow.mean()), "thrust": float(truth.thrust.mean()),
        "hydrogen_rate": float(HYDROGEN * moles.mean()),
    }  # fmt: skip


def whole_chain(rng: np.random.Generator) -> Made:
    """Eight cells with lye that feed an engine in a vacuum chamber: from the supply to the jet in one file."""
    points, every = 120, 20.0
    cell, engine, log = CHAIN_CELL.varied(rng), CHAIN_ENGINE.varied(rng), Log(rng, points)
    density, pressure = _steps(1600.0, CHAIN_CELL.largest, 6, 20), np.full(points, 5e5)
    split = cell_truth(cell, density, _room(rng, points, 68.0, 70.0), pressure)
    moles = split.hydrogen / HYDROGEN
    flow, since = moles * WATER, _since(points, 0, 40.0, every)
    ambient, feed = np.full(points, 40.0), _room(rng, points, 21.0, 24.0)
    jet = engine_truth(engine, flow, ambient, since, feed)
    log.set("time", np.arange(points) * every)
    log.set("lit", np.ones(points))
    _cell_facts(log, cell)
    _electric(log, cell, split, density * cell.area, 0.003)
    log.read("cell_pressure", pressure)
    log.words["gas_measured"] = "hydrogen"
    _gas(log, moles, _room(rng, points, 22.0, 24.0), _air(rng, points), wet=False)
    log.read("feed_temperature", feed)
    log.facts["ambient_pressure"] = "0.0004 bar"
    _engine_log(log, engine, jet, flow, 1.0 - np.exp(-since / 8.0))
    return log, split.parameters | jet.parameters | {
        "mass_flow": float(flow.mean()), "thrust": float(jet.thrust.mean())
    }  # fmt: skip


BENCHES = {
    function.__name__: function
    for function in (
        alkaline_stack,
        membrane_stack,
        thin_plates,
        vacuum_engine,
        sea_level_engine,
        whole_chain,
    )
}
TITLES: Mapping[str, str] = {
    "alkaline_stack": "Six alkaline cells on an invented bench",
    "membrane_stack": "Four membrane cells on an invented bench",
    "thin_plates": "Seven thin plates in weak sodium bicarbonate on an invented bench",
    "vacuum_engine": "A small engine in a vacuum chamber on an invented bench",
    "sea_level_engine": "A small engine in the open on an invented bench, with a thrust that cannot be",
    "whole_chain": "Cells and engine together on an invented bench",
}
SHIPPED_SEED = 8


def _run(name: str, seed: int) -> Made:
    place = list(BENCHES).index(name)
    return BENCHES[name](np.random.default_rng(np.random.SeedSequence([seed, place])))


def bench_truth(seed: int, name: str = "whole_chain") -> tuple[str, dict[str, float]]:
    """Readings of an invented bench as comma-separated values, and what is true.

    Parameters
    ----------
    seed : int
        Of everything that chance decides: the build of cell and engine, and the errors of the instruments.
    name : str
        Which bench.

    Returns
    -------
    text : str
        The file.
    truth : dict of str to float
        True values of what a fit to the readings estimates [SI], means over the points where they vary (of an
        engine, over those that burn).
    """
    log, truth = _run(name, seed)
    return sheet(log, name), truth


def _table(log: Log) -> list[str]:
    names = list(log.columns)
    rows = [",".join(names), ",".join(channels()[name].display_unit for name in names)]
    return rows + [",".join(cells) for cells in zip(*log.columns.values(), strict=True)]


def _notes(name: str) -> str:
    return f"{(BENCHES[name].__doc__ or '').strip()} Invented readings, no bench like it exists. {CAUTION}"


def sheet(log: Log, name: str) -> str:
    """A log as comma-separated values."""
    head = ["# invented = true", f"# title = {TITLES[name]}", f"# notes = {_notes(name)}"]
    head += [f"# {key} = {text}" for key, text in (log.words | log.facts).items()]
    return "\n".join([*head, *_table(log)]) + "\n"


def _facts(log: Log, name: str) -> list[str]:
    head = [
        "# invented readings",
        "invented = true",
        f'title = "{TITLES[name]}"',
        f'notes = "{_notes(name)}"',
    ]
    facts = [f'{key} = "{text}"' for key, text in log.words.items()]
    facts += [
        f"{key} = {text}" if " " not in text else f'{key} = "{text}"' for key, text in log.facts.items()
    ]
    return [*head, "", "[facts]", *facts]


def entries(log: Log, name: str) -> str:
    """A log as TOML, point by point."""
    lines = _facts(log, name)
    for place in range(log.points):
        lines += ["", "[[points]]"]
        for key, cells in log.columns.items():
            unit = channels()[key].display_unit
            lines.append(f"{key} = {cells[place]}" if unit == "1" else f'{key} = "{cells[place]} {unit}"')
    return "\n".join(lines) + "\n"


def shipped() -> dict[str, str]:
    """Every shipped file by its name."""
    files: dict[str, str] = {}
    for name in BENCHES:
        log, _ = _run(name, SHIPPED_SEED)
        if name == "thin_plates":
            files[f"{name}.toml"] = entries(log, name)
        elif name == "vacuum_engine":
            head = _facts(log, name)
            files[f"{name}.toml"] = "\n".join([*head[:4], f'table = "{name}_table.csv"', *head[4:]]) + "\n"
            files[f"{name}_table.csv"] = "\n".join(["# invented = true", *_table(log)]) + "\n"
        else:
            files[f"{name}.csv"] = sheet(log, name)
    return files


def main() -> None:
    """Write the shipped files."""
    TARGET.mkdir(exist_ok=True)
    for name, text in shipped().items():
        (TARGET / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
