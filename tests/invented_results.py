"""An invented table of answers for tests of figures and report: every number in it is made up."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from invented_certainty import invented_certainty

from tradespace.breakeven.table import MISSED, REACHED
from tradespace.mission import Mission, Stop, WindowCurve
from tradespace.quantities import quantities, quantity
from tradespace.results import LINKS, Drivers, Improvements, PowerMap, Results, Sensitivity
from tradespace.study.model import Distribution, Place, Plan, Uncertain
from tradespace.units import parse_date

DAY, YEAR = 86400.0, 365.25 * 86400.0
HOSTILE = "</script><script>document.title='broken'</script><img src=x onerror=alert(1)> & <b>\"bold\"</b>"


@dataclass(frozen=True)
class InventedThruster:
    name: str
    title: str
    description: str
    refuels: bool
    maturity: str
    grade: str = "measured"
    feed: str = "water"


@dataclass(frozen=True)
class InventedVariable:
    name: str
    points: np.ndarray
    spacing: str = "linear"


@dataclass(frozen=True)
class InventedSolve:
    variable: str
    column: str
    relation: str
    limit: float


@dataclass(frozen=True)
class InventedStudy:
    name: str
    title: str
    question: str
    note: str
    kind: str
    seed: int
    figure_of_merit: str
    figure_of_merit_better: str
    map_axes: tuple[str, ...]
    start_body: str
    start_date: float
    stops: tuple[str, ...]
    hops: int
    horizon: float
    flight_time: tuple[float, float] | None
    values: dict[str, float]
    given: frozenset[str]
    ranges: dict[str, tuple[float, float]]
    architectures: tuple[str, ...]
    thrusters: dict[str, Any]
    sweep: tuple[InventedVariable, ...]
    solve: InventedSolve | None = None
    conditions: tuple[str, ...] = ()
    plan: Plan = field(default_factory=Plan)
    uncertain: Uncertain = Uncertain(  # noqa: RUF009  (frozen)
        (Distribution("ice_fraction", "uniform", (0.05, 0.3), 0.0, 1.0, "assumed", True),), None, 256, 0.8
    )
    options: dict[str, str] = field(default_factory=dict)
    settings: dict[str, Any] = field(default_factory=dict)
    calibration: None = None
    text: str = "# invented for tests"
    path: Path | None = None
    hash: str = field(default_factory=lambda: hashlib.sha256(b"invented").hexdigest())

    @property
    def swept(self) -> tuple[str, ...]:
        return tuple(variable.name for variable in self.sweep)

    @property
    def route(self) -> str:
        if self.kind == "surface":
            return f"{self.hops} hops on {self.start_body}"
        return " > ".join(self.stops)

    @property
    def places(self) -> tuple[Place, ...]:
        return tuple(Place(stop) for stop in self.stops)


THRUSTERS = (
    ("bipropellant", "Electrolysis, gas bipropellant", True, 345.0, 0.0),
    ("steam", "Steam resistojet", True, 185.0, 0.7),
    ("hall", "Hall thruster on split water", True, 1500.0, 9.0),
    ("microwave", "Microwave electrothermal thruster", True, 650.0, 3.0),
    ("carried_hydrazine", "Hydrazine, all carried", False, 225.0, 0.0),
    ("carried_xenon", "Xenon Hall thruster, all carried", False, 1700.0, 8.0),
)


GRADES = {"microwave": "assumed", "hall": "estimated"}
"""Evidence of the invented thrusters; that of all others is taken as measured."""


def company(crowd: int) -> tuple[tuple[str, str, bool, float, float], ...]:
    """The invented thrusters and so many more, each a little different."""
    more = tuple(
        (f"engine_{k}", f"Invented engine number {k}", True, 260.0 + 45.0 * k, 0.4 * k) for k in range(crowd)
    )
    return THRUSTERS[:4] + more + THRUSTERS[4:]


REAL = ("Themis", "Antiope", "176P", "Themis")
"""Real places for a figure that looks them up; what happens there stays invented."""


def invented_study(
    *, surface: bool, count: int, extra: int, hostile: bool, real: bool = False, crowd: int = 0
) -> InventedStudy:
    values = {
        item.name: item.default
        for item in quantities().values()
        if item.role == "input" and item.default is not None
    }
    values |= {
        "launch_mass": 900.0,
        "payload_mass": 60.0,
        "hop_delta_v_capacity": 2950.0,
        "hop_distance": 2.0e4,
    }
    ranges = {
        item.name: (item.default_low, item.default_high)
        for item in quantities().values()
        if item.role == "input" and item.default_low is not None and item.default_high is not None
    }
    area = InventedVariable("array_area", np.geomspace(8.0, 120.0, count))
    density = InventedVariable("current_density", np.linspace(500.0, 10000.0, count))
    if surface:
        area = InventedVariable("extraction_energy", np.geomspace(0.3, 30.0, count) * 3.6e6)
        density = InventedVariable("stack_efficiency", np.linspace(0.4, 0.9, count))
    sweep = [area, density]
    if extra > 1:
        sweep.append(InventedVariable("storage_pressure", np.linspace(2.0e6, 1.0e7, extra)))
    rude = HOSTILE if hostile else ""
    thrusters = {
        key: InventedThruster(
            key,
            title + rude,
            f"{title}, invented numbers{rude}",
            mines,
            f"Invented maturity{rude}",
            GRADES.get(key, "assumed" if key.startswith("engine") else "measured"),
            "gases" if key == "bipropellant" else "water" if mines else "own",
        )
        for key, title, mines, _, _ in company(crowd)
    }
    start = parse_date("2031-05-01")
    stops = ("Firstice", "Secondice", "Thirdice", "Lastice") if not surface else ("Firstice",) * 6
    stops = REAL if real else stops
    return InventedStudy(
        "invented_tour",
        "An invented tour" + rude,
        "Does an invented craft close an invented route?" + rude,
        "All numbers invented for a test." + rude,
        "surface" if surface else "tour",
        0,
        "mission_time",
        "lower",
        (area.name, density.name),
        stops[0] + rude,
        start,
        tuple(stop + rude for stop in stops),
        len(stops) - 1,
        start + (3.0 if surface else 10.5) * YEAR,
        None if surface else (200 * DAY, 1500 * DAY),
        values,
        frozenset({"launch_mass", "payload_mass", "hop_delta_v_capacity"}),
        ranges,
        tuple(thrusters),
        thrusters,
        tuple(sweep),
        InventedSolve("array_area", "refuel_time", "<=", 300.0 * DAY),
        "# invented" + rude,
    )


def invented_mission(study: InventedStudy) -> Mission:
    dates = np.linspace(study.start_date, study.horizon, 700)
    stops = tuple(
        Stop(name, 5.0e8 / (k + 1), 5.0e4, 3.0e4, dates, 4.5e11 + 2e10 * np.sin(dates / YEAR))
        for k, name in enumerate(study.stops)
    )
    curves = []
    for hop in range(study.hops if study.kind == "tour" else 0):
        phase = 2 * np.pi * (dates - dates[0]) / ((3.1 + 0.7 * hop) * YEAR) + hop
        speed = 2800.0 + 1900.0 * np.cos(phase) + 500 * np.cos(3.3 * phase)
        speed[:15] = np.nan
        curves.append(
            WindowCurve(
                study.stops[hop],
                study.stops[hop + 1],
                dates,
                np.full(700, 700 * DAY),
                0.55 * speed,
                0.45 * speed,
            )
        )
    return Mission(study.kind, study.start_date, study.horizon, stops, tuple(curves))


def invented_designs(
    study: InventedStudy, mission: Mission, *, closing: bool, crowd: int = 0
) -> pd.DataFrame:
    grids = np.meshgrid(*[variable.points for variable in study.sweep], indexing="ij")
    frames = []
    for place, (name, _, mines, impulse, live) in enumerate(company(crowd)):
        table = {variable.name: grid.ravel() for variable, grid in zip(study.sweep, grids, strict=True)}
        size = grids[0].size
        area = table.get("array_area", np.full(size, 40.0))
        density = table.get("current_density", np.full(size, 3000.0))
        price = table.get("extraction_energy", np.full(size, 8e6))
        efficiency = table.get("stack_efficiency", 0.82 - 0.03 * density / 1000.0)
        pressure = table.get("storage_pressure", np.full(size, 5e6))
        ratio = np.exp(2950.0 / (9.80665 * impulse))
        dry = 210.0 + 3.4 * area + 40000.0 / density + 4e-6 * np.abs(pressure - 5e6) + 12 * live
        propellant = np.minimum(dry * (ratio - 1) * (1 if mines else mission.hops), 2.0e5)
        split = 1.59e7 / efficiency if live != 0.7 else 2.6e6 * np.ones(size)
        refuel = propellant * (split + price) / (18.0 * area) if mines else np.zeros(size)
        add_hops(table, mission, refuel, propellant, place)
        margins = {
            "mass": 900.0 / (dry + (60.0 if mines else propellant)) - 1,
            "power": 0.2 * area / 2.0 - 1,
            "thrust": 3.0 - live / 4 + 0 * area,
            "heat": 0.4 - density / 40000.0,
            "freezing": np.full(size, 0.8),
            "storage": 8e5 / (propellant * 900.0) * 1.0 if mines else np.full(size, 9.0),
            "water": np.full(size, 0.05),
            "lifetime": 2.0 - refuel / YEAR,
            "window": 0.6 - 0.25 * refuel / YEAR,
            "time": (mission.horizon - mission.start_date) / np.maximum(table["mission_time"], DAY) - 1,
        }
        if not closing:
            margins["power"] = np.minimum(margins["power"], -0.02 - 0.5 / area)
        add_margins(table, margins, mission.hops, refuel)
        add_masses(table, dry, propellant, area, mines)
        table |= {
            "specific_impulse": np.full(size, impulse),
            "hops_per_year": mission.hops * YEAR / table["mission_time"],
            "energy_per_hop": propellant * (split + price),
            "thrust": np.full(size, 1.2),
            "start_power": 60.0 * area,
        }
        table |= water_numbers(study, table, impulse, split, mission.hops)
        frame = pd.DataFrame(table)
        frame.insert(0, "architecture", name)
        frames.append(frame)
    return pd.concat(frames, ignore_index=True)


def water_numbers(
    study: InventedStudy, table: dict[str, Any], impulse: float, split: np.ndarray, hops: int
) -> dict[str, Any]:
    """What the invented thrusters make of a kilogram of invented water."""
    size, speed = table["closes"].size, 9.80665 * impulse
    spent = split + 0.6 * speed**2
    return {
        "propellant_specific_impulse": np.full(size, 1.1 * impulse),
        "mined_specific_impulse": np.full(size, impulse),
        "spent_energy": spent,
        "total_power_per_thrust": spent / speed,
        "jet_share": 0.5 * speed**2 / spent,
        "hops_in_life": np.full(size, 3.0 * hops),
        "payload_per_year": np.where(table["closes"], 60.0 * table["hops_per_year"] / YEAR, 0.0),
        "water_per_hop": table["propellant_mass"] * 0.95,
        "extraction_energy": table.get("extraction_energy", np.full(size, 8e6)),
        "net_power": 15.0 * table.get("array_area", np.full(size, 40.0)),
    }


def add_hops(
    table: dict[str, Any], mission: Mission, refuel: np.ndarray, propellant: np.ndarray, place: int
) -> None:
    date = np.full(refuel.shape, mission.start_date)
    for hop in range(1, mission.hops + 1):
        scale = 1.0 if mission.kind == "tour" else 0.2
        ready = date + np.maximum(refuel, 30 * DAY * scale)
        wait = (120 + 20 * place) * DAY if mission.kind == "tour" else 0.0
        flight = (520 + 60 * hop) * DAY if mission.kind == "tour" else 600.0
        table |= {
            f"arrival_date_{hop}": date,
            f"ready_date_{hop}": ready,
            f"departure_date_{hop}": ready + wait,
            f"landing_date_{hop}": ready + wait + flight,
            f"wait_{hop}": np.full(refuel.shape, wait),
            f"time_of_flight_{hop}": np.full(refuel.shape, flight),
            f"delta_v_{hop}": np.full(refuel.shape, 2700.0),
            f"departure_delta_v_{hop}": np.full(refuel.shape, 1400.0 + 30 * place),
            f"arrival_delta_v_{hop}": np.full(refuel.shape, 1150.0),
            f"burn_time_{hop}": np.full(refuel.shape, 30.0 * DAY),
            f"pricing_{hop}": np.full(refuel.shape, float(place % 2)),
            f"refuel_time_{hop}": refuel,
            f"survival_{hop}": np.full(refuel.shape, 0.9**hop),
            f"v_inf_departure_{hop}": np.full(refuel.shape, 1300.0 + 30 * place),
            f"v_inf_arrival_{hop}": np.full(refuel.shape, 1100.0),
            f"water_mined_{hop}": propellant,
            f"propellant_used_{hop}": propellant * 0.95,
        }
        if mission.kind == "tour":
            table[f"window_date_{hop}"] = ready + wait
        date = ready + wait + flight
    table["mission_time"] = date - mission.start_date
    table["survival"] = np.full(refuel.shape, 0.9**mission.hops)
    table["expected_bodies"] = np.full(refuel.shape, sum(0.9**hop for hop in range(1, mission.hops + 1)))
    table["refuel_time"] = refuel
    table["refuel_time_mean"] = 0.9 * refuel
    table["window_slack_d"] = 200.0 - 0.2 * refuel / DAY


def add_margins(table: dict[str, Any], margins: dict[str, np.ndarray], hops: int, like: np.ndarray) -> None:
    stack = np.stack([np.broadcast_to(margins[link], like.shape) for link in LINKS])
    for link, row in zip(LINKS, stack, strict=True):
        table[f"margin_{link}"] = row
        for hop in range(1, hops + 1):
            table[f"margin_{link}_{hop}"] = row + 0.01 * (hops - hop)
    table["margin"] = stack.min(axis=0)
    table["limited_by"] = np.array(LINKS)[stack.argmin(axis=0)]
    table["limited_at"] = np.full(like.shape, hops)
    table["closes"] = table["margin"] >= 0


def add_masses(
    table: dict[str, Any], dry: np.ndarray, propellant: np.ndarray, area: np.ndarray, mines: bool
) -> None:
    rest = dry - 2.7 * area - 60.0
    shares = {
        "structure_mass": 0.25,
        "battery_mass": 0.06,
        "electrolyser_mass": 0.12,
        "extraction_mass": 0.1,
        "tank_mass": 0.14,
        "thruster_mass": 0.05,
        "landing_engine_mass": 0.04,
        "thermal_mass": 0.04,
        "growth_mass": 0.2,
    }
    table |= {name: share * rest for name, share in shares.items()}
    table |= {
        "array_mass": 2.7 * area,
        "dry_mass": dry,
        "propellant_mass": propellant,
        "wet_mass": dry + propellant,
        "start_mass": dry + (60.0 if mines else propellant),
    }


def invented_stackup(results: Results) -> pd.DataFrame:
    """Steps that multiply, one that saves, and one after which nothing is finite any more."""
    from tradespace.stackup import METRICS, NAIVE, effects, multiple

    steps = [1.0, 7.7, 2.0, 1.1, 0.95, 1.2, 3.0, 1.4, 1.2, 1.1, 1.3, 2.0, 1.05, 1.4]
    titles = ["Naive estimate", *(effect.title for effect in effects().values())]
    rows = []
    for place, (_, row) in enumerate(results.baseline.iterrows()):
        if row["refuel_time"] <= 0:
            continue
        total = np.cumprod(steps)
        table = pd.DataFrame(
            {"architecture": row["architecture"], "effect": [NAIVE, *effects()], "title": titles}
        )
        for metric, start in zip(METRICS, (0.2 * DAY * place, 200 * DAY, 150.0), strict=True):
            values = start * total ** (1.0 if metric == METRICS[0] else 0.3)
            if place == 1:
                values[-2:] = np.inf
            table[metric] = table[f"{metric}_alone"] = values
            table[f"{metric}_step"] = [np.nan, *map(multiple, values[1:], values[:-1])]
            table[f"{metric}_total"] = [multiple(value, values[0]) for value in values]
            table[f"{metric}_alone_step"] = table[f"{metric}_total"]
        for ending in ("", "_alone"):
            table[f"closes{ending}"] = np.arange(len(steps)) < 12 - place
            table[f"limited_by{ending}"], table[f"limited_at{ending}"] = "mass", 1
            table[f"margin{ending}"] = 0.1
        rows.append(table)
    return pd.concat(rows, ignore_index=True)


def invented_sensitivity(results: Results) -> Sensitivity:
    tornado, exchange, maps, solutions = [], [], [], []
    inputs = [
        name
        for name in results.study.ranges
        if quantity(name).section in {"sunlight", "extraction", "electrolysis", "craft"}
    ][:14]
    for _, row in results.baseline.iterrows():
        name = row["architecture"]
        for place, item in enumerate(inputs):
            low, high = results.study.ranges[item]
            for metric in ("refuel_time", "start_mass", "mission_time"):
                base = float(row[metric])
                swing = base * 0.3 / (place + 1)
                tornado.append((name, item, low, high, metric, base - swing, base, base + 0.8 * swing))
        for calendar, factor in (("frozen", 1.0), ("free", 0.6)):
            for item, step, days in (
                ("stack_efficiency", "+1 % (absolute)", -2.4),
                ("array_power", "+1 kW at 1 au", -11.0),
                ("ice_fraction", "-1 % (absolute)", 4.0),
                ("specific_impulse_change", "+10 s", -1.2),
            ):
                jump = calendar == "free" and item == "array_power"
                note = "departure of hop 2 moves from 2035-03-02 to 2034-08-11" if jump else ""
                exchange.append(
                    (name, item, step, calendar, days * factor * (20 if jump else 1), 0.7, jump, note)
                )
        solutions.append((name, "array_area", 42.0 if row["refuel_time"] > 0 else np.nan, 2.6e7, True, ""))
        power, efficiency = np.geomspace(3e3, 4e4, 45), np.linspace(0.4, 0.9, 35)
        if row["refuel_time"] > 0:
            time = (
                4e11
                * float(row["propellant_mass"])
                / 700
                / power[None, :]
                / (0.3 + efficiency[:, None])
                / DAY
                * 86400
            )
            maps.append(PowerMap(name, power, efficiency, time, 1 - time / (1.2 * YEAR)))
    return Sensitivity(
        pd.DataFrame(
            tornado,
            columns=["architecture", "quantity", "low", "high", "metric", "at_low", "at_baseline", "at_high"],
        ),
        pd.DataFrame(
            exchange,
            columns=[
                "architecture",
                "quantity",
                "step",
                "calendar",
                "days_per_hop",
                "payload_kg",
                "jump",
                "note",
            ],
        ),
        tuple(maps),
        pd.DataFrame(solutions, columns=["architecture", "variable", "value", "reached", "closes", "note"]),
        invented_stackup(results),
    )


def invented_results(
    *,
    surface: bool = False,
    closing: bool = True,
    count: int = 14,
    extra: int = 1,
    hostile: bool = False,
    real: bool = False,
    sensitivity: bool = True,
    crowd: int = 0,
    plan: str = "grid",
) -> Results:
    """A made-up Results with the columns a real one has; of another plan the designs are those of the grid."""
    study = invented_study(surface=surface, count=count, extra=extra, hostile=hostile, real=real, crowd=crowd)
    if plan != "grid":
        own = {variable.name: float(variable.points[count // 2]) for variable in study.sweep[:2]}
        study = replace(study, plan=Plan(plan, designs=count**2), values={**study.values, **own})
    mission = invented_mission(study)
    designs = invented_designs(study, mission, closing=closing, crowd=crowd)
    middle = (
        designs.groupby("architecture", sort=False)
        .nth(len(designs) // len(study.thrusters) // 2)
        .reset_index(drop=True)
    )
    results = Results(
        study,
        mission,
        designs,
        middle,
        1.5,
        {"tradespace": "0.0.0", "python": "3.11"},
        None,
        ("Invented for a test.",),
    )  # type: ignore[arg-type]
    if not sensitivity:
        return results
    found = replace(
        invented_sensitivity(results),
        improvements=invented_improvements(results),
        drivers=invented_drivers(results, surface=surface),
    )
    return replace(results, sensitivity=found, certainty=invented_certainty(results))


def invented_drivers(results: Results, *, surface: bool) -> Drivers:
    """What drives the first architecture: invented numbers of the shape real ones have."""
    name, row = results.architectures[0], results.baseline.iloc[0]
    inputs = list(results.study.ranges)[:12]
    bends = "bends there: -0.4 below, 0.3 above"
    slopes, effects, portions, about = [], [], [], []
    for calendar in ("free",) if surface else ("frozen", "free"):
        shift = 1.0 if calendar == "free" else 0.8
        for metric in ("refuel_time_mean", "start_mass", "payload_capacity", "margin"):
            base = float(row.get(metric, 3e7)) or 1.0
            for place, item in enumerate(inputs, start=1):
                key, sign = (name, calendar, metric, item), (-1.0) ** place
                rough = place == len(inputs)
                slopes.append(
                    (*key, 1.0, np.nan if rough else sign * shift / place, 0.0, bends if rough else "")
                )
                size = abs(base) * shift / place
                effects.append((*key, size, 0.4 * size * place % 1.5, sign * size, 0.1 * size))
                share = 0.5 * shift / place
                portions.append(
                    (*key, 0.7 * share, 0.6 * share, 0.8 * share, share, 0.9 * share, 1.1 * share)
                )
        about.append((name, calendar, "screening", 130, 10, "margin: 3 of 130 runs at an end of its scale"))
        about.append((name, calendar, "variance", 3584, 256, ""))
    keys = ["architecture", "calendar", "metric", "quantity"]
    return Drivers(
        pd.DataFrame(slopes, columns=[*keys, "value", "elasticity", "error", "note"]),
        pd.DataFrame(effects, columns=[*keys, "strength", "unevenness", "direction", "error"]),
        pd.DataFrame(
            portions, columns=[*keys, "first", "first_low", "first_high", "total", "total_low", "total_high"]
        ),
        pd.DataFrame(about, columns=["architecture", "calendar", "method", "runs", "samples", "note"]),
    )


def invented_improvements(results: Results) -> Improvements:
    """One architecture that closes with more array or with more ice, and one that nothing closes."""
    far, near = results.architectures[0], results.architectures[1]
    rows = []
    for place, (name, today, value) in enumerate(
        (("array_area", 40.0, 52.0), ("ice_fraction", 0.1, 0.16)), start=1
    ):
        low, high = results.study.ranges.get(name, (today, today))
        rows.append(
            (near, "close", place, name, today, value, value * (1 - 1e-9), value - today, 0.3, "range", "range", low,
             high, 0.01, 1000.0, 0.0, "mass", 1, "window", 0.02, 1, place == 2, False,
             "departure 1 jumps from 2034-08-11 to 2035-03-02" if place == 2 else "")
        )  # fmt: skip
    missed = [(name, "close", "payload_mass", 60.0, 0.0, -0.1, "mass", 1, 0.0, 1e5) for name in (near, far)]
    x, y = np.linspace(30.0, 60.0, 9), np.linspace(0.05, 0.2, 9)
    plane = [(near, "array_area", "ice_fraction", a, b, a * b**0.5 / 20.0 - 1.0) for b in y for a in x]
    curve = [
        (near, stretch, a, (20.0 / a) ** 2, False) for stretch in range(8) for a in x[stretch : stretch + 2]
    ]
    return Improvements(
        pd.DataFrame(rows, columns=REACHED),
        pd.DataFrame(missed, columns=MISSED),
        pd.DataFrame(plane, columns=["architecture", "first", "second", "x", "y", "margin"]),
        pd.DataFrame(curve, columns=["architecture", "stretch", "x", "y", "jump"]),
    )
