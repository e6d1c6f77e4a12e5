"""Invented records of a bench, for tests of its figures and of its page: nothing here was ever measured."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from small_studies import SURFACE

from tradespace.bench.calibration import CalibratedValue, Calibration
from tradespace.bench.records import Check, Fit, Loss, Readings, Reconciled
from tradespace.bench_mission import CHANCE, STANDING, Carried
from tradespace.bench_mission.exchange import EXCHANGE
from tradespace.mission import Mission
from tradespace.study import parse_study
from tradespace.uncertainty.designs import Chosen

ENGINE = "electrolysis_bipropellant"
HOSTILE = "<script>alert(1)</script> & <img src=x onerror=alert(2)>"


def readings(points: int = 60, **changed: object) -> Readings:
    """Currents rising in steps, a thrust that comes near its bound; the last fifth unlit."""
    rng = np.random.default_rng(7)
    current = np.repeat(np.linspace(10.0, 60.0, 6), -(-points // 6))[:points]
    lit = np.where(np.arange(points) < 0.8 * points, 1.0, 0.0)
    columns = {
        "time": 30.0 * np.arange(points), "current": current, "lit": lit,
        "stack_voltage": 6.0 * (1.5 + 0.008 * current) + 0.01 * rng.standard_normal(points),
    }  # fmt: skip
    plain = Readings(
        title="An invented stand", notes="Nothing here was measured.",
        words={"cell_kind": "alkaline", "gas_is": "wet", "chamber_pressure_is": "absolute"}, columns=columns,
        random={name: 0.002 * np.abs(column) for name, column in columns.items()},
        systematic={name: 0.004 * np.abs(column) for name, column in columns.items()},
        by_class=frozenset({"stack_voltage"}), rows=np.arange(points) + 5.0,
        remarks=("line 9: gas_flow is negative; row left out",), invented=True, hash="ab" * 32,
    )  # fmt: skip
    return dataclasses.replace(plain, **changed)  # type: ignore[arg-type]


def reconciled(taken: Readings | None = None, *, thrust: float = 0.9) -> Reconciled:
    """Facts of these readings; ``thrust`` is over the tightest bound."""
    taken = readings() if taken is None else taken
    rng = np.random.default_rng(11)
    current, lit = taken.columns["current"], taken.columns["lit"]
    charge = 6.0 * current * 1.0e-8
    made = 0.94 * charge
    flow = 9.0 * made
    ground = np.where(lit > 0.5, 1500.0, np.nan) * flow
    law = np.where(lit > 0.5, 4300.0, 900.0) * flow
    tight = np.where(np.isfinite(ground), ground, law)
    columns = {
        "current_density": current / 0.01, "cell_voltage": taken.columns["stack_voltage"] / 6.0,
        "supply_power": 1.06 * current * taken.columns["stack_voltage"], "hydrogen_rate": made,
        "hydrogen_rate_charge": charge, "mass_flow": flow, "faradaic_efficiency": np.full(charge.size, 0.94),
        "hydrogen_rate_flow": made * (1.01 + 0.01 * rng.standard_normal(charge.size)),
        "hydrogen_rate_weight": made * (0.98 + 0.03 * rng.standard_normal(charge.size)),
        "thrust": thrust * tight * (1.0 + 0.01 * rng.standard_normal(charge.size)), "thrust_bound_ground": ground,
        "thrust_bound_flow": law, "thrust_bound_energy": np.where(lit > 0.5, 5200.0, np.nan) * flow,
        "specific_impulse": thrust * tight / (9.80665 * flow),
    }  # fmt: skip
    part = {"hydrogen_rate_weight": 0.03, "thrust": 0.02}
    deviations = {name: part.get(name, 0.008) * np.abs(column) for name, column in columns.items()}
    return Reconciled(
        taken, columns, deviations, {"hydrogen_rate_flow": np.full(charge.size, -0.8)},
        np.full(charge.size, 1.4), np.full(charge.size, 2.0),
    )  # fmt: skip


def checks() -> list[Check]:
    """One of each verdict, the worst last."""
    return [
        Check("charge balance", "passes", "hydrogen over what the charge makes 0.94 is at most 1", 0.94, 1.0, "1"),
        Check("oxygen to hydrogen", "not known", "needs oxygen over hydrogen", np.nan, np.nan, "1"),
        Check("choked throat", "suspect", "the throat is not choked", 1.4, 1.8, "1", 9, ("low flow",)),
        Check(
            "thrust against the surroundings", "impossible",
            "thrust 0.98 N is more than the 0.21 N that ideal expansion gives; read the thrust again", 0.98, 0.21, "N",
            48, ("liquid carry-over", "hose stiffness"), ("thrust", "gas_flow"),
        ),
    ]  # fmt: skip


def fit() -> Fit:
    """Cell and engine, two of the numbers hardly narrowed, with the curves of the cell."""
    names = (
        "cell_ohmic_factor", "cell_activation_factor", "cell_bypass_conductance", "cell_gas_loss",
        "energy_release_efficiency", "viscous_loss_scale", "wall_heat_scale", "faradaic_efficiency",
    )  # fmt: skip
    values = np.array([1.35, 1.08, 14.0, 0.021, 0.93, 1.4, 0.8, 0.94])
    width = np.array([0.05, 0.04, 4.0, 0.006, 0.012, 0.5, 0.45, 0.008])
    density = np.linspace(1000.0, 6000.0, 6)
    parts = {
        "reversible_part": np.full(6, 1.19), "activation_part": 0.24 + 0.03 * np.log(density / 1000.0),
        "ohmic_part": 8.0e-5 * density,
    }  # fmt: skip
    whole = sum(parts.values(), np.zeros(6)) + 0.01
    return Fit(
        names, values, np.maximum(values - 1.96 * width, 0.0), values + 1.96 * width, np.diag(width**2),
        (True, True, True, True, True, False, False, True), 21.0, 18, ("The readings say little of the wall heat.",),
        {"current_density": density, "cell_voltage": whole + 0.01, "fitted_voltage": whole, "fitted_low": whole - 0.03,
         "fitted_high": whole + 0.03, **parts},
    )  # fmt: skip


def losses() -> list[Loss]:
    """From the supply to the jet: what leaves every stream adds up to it."""
    rows = [
        ("stack", "supply", "stack", 521.0, 5.0, "measured"),
        ("wiring", "supply", "heat of wires and plugs", 31.0, 4.0, "measured"),
        ("reversible work", "stack", "gas made", 300.0, 6.0, "modelled"),
        ("ohmic voltage", "stack", "heat of the cell", 91.0, 4.0, "modelled"),
        ("activation voltage", "stack", "heat of the cell", 116.0, 6.0, "modelled"),
        ("current past the electrodes", "stack", "heat of the cell", 14.0, 5.0, "by difference"),
        ("thermoneutral heat", "heat of the cell", "gas made", 80.0, 3.0, "modelled"),
        ("waste heat", "heat of the cell", "surroundings", 141.0, 9.0, "by difference"),
        ("gas fed", "gas made", "gas", 372.0, 3.0, "measured"),
        ("gas that is lost", "gas made", "surroundings", 8.0, 3.0, "by difference"),
        ("flame", "gas", "hot gas", 331.0, 8.0, "modelled"),
        ("unburnt gas", "gas", "exhaust", 22.0, 7.0, "modelled"),
        ("heat into the wall", "gas", "coolant", 19.0, 2.0, "measured"),
        ("jet", "hot gas", "jet", 96.0, 3.0, "measured"),
        ("heat that leaves with the exhaust", "hot gas", "exhaust", 196.0, 9.0, "by difference"),
        ("friction in the nozzle", "hot gas", "exhaust", 28.0, 6.0, "modelled"),
        ("divergence", "hot gas", "exhaust", 2.0, 0.3, "modelled"),
        ("back-pressure", "hot gas", "surroundings", 9.0, 0.4, "modelled"),
    ]  # fmt: skip
    return [Loss(*row) for row in rows]


def calibration(**changed: object) -> Calibration:
    """What these readings would tell a study."""
    found = fit()
    names = found.names[:-1]
    plain = Calibration(
        title="An invented stand",
        values={
            name: CalibratedValue(
                name, float(found.values[place]), float(found.low[place]), float(found.high[place]),
                found.deviation(name), found.informed[place],
            )
            for place, name in enumerate(names)
        },
        covariance=found.covariance[:-1, :-1], cell_kind="alkaline", readings="invented.csv",
        readings_hash="ab" * 32, points=60, date="2031-05-01", version="0", invented=True,
        derived={"faradaic_efficiency": (0.94, 0.008)},
        rules=("Three losses of the engine keep their size relative to their correlations.",),
    )  # fmt: skip
    return dataclasses.replace(plain, **changed)  # type: ignore[arg-type]


@cache
def carried(text: str = SURFACE) -> Carried:
    """A mission with both; every number of it is invented."""
    study = parse_study(text.replace("steam_resistojet", "electrolysis_continuous"), "invented")
    names = [ENGINE, "electrolysis_continuous"]
    rows: list[tuple[Any, ...]] = []
    for place, name in enumerate(names):
        for source, impulse, days in (("catalogue", 355.0, 11.0), ("bench", 322.0, 15.5)):
            closes = not (place and source == "bench")
            rows.append(
                (name, source, "its best closing design", "free", closes, "time", impulse, 1.9, 0.66, 2.1e7,
                 86400.0 * (days + 3.0 * place), 800.0, 40.0, 9.0, 0.2 if closes else -0.1)
            )  # fmt: skip
    chance = [
        (name, "its best closing design", kind, 256, count, count / 256,
         count / 256 - 0.05, min(count / 256 + 0.05, 1.0))
        for name, (one, two) in zip(names, ((251, 190), (30, 51)), strict=True)
        for kind, count in (("bench", one), ("all", two))
    ]  # fmt: skip
    exchange = []
    for place, name in enumerate(names):
        for number, (quantity, now, then, days) in enumerate(
            (("cell_ohmic_factor", 1.35, 1.215, 0.42), ("cell_activation_factor", 1.08, 0.972, 0.31),
             ("energy_release_efficiency", 0.93, 0.937, 0.22), ("cell_gas_loss", 0.021, 0.0189, 0.03))
        ):  # fmt: skip
            gains = [86400.0 * days * (1.0 + place), 86400.0 * days, 0.0, 0.01 / (1.0 + number)]
            exchange.append(
                (
                    name,
                    "free",
                    quantity,
                    now,
                    0.01,
                    then,
                    0.0,
                    *gains,
                    *(10.0 * one for one in gains),
                    -0.2,
                    -0.2,
                    0.0,
                )
            )
    standing, chances, rates = (
        pd.DataFrame(table, columns=columns)
        for table, columns in ((rows, STANDING), (chance, CHANCE), (exchange, EXCHANGE))
    )
    mission = Mission.__new__(Mission)
    return Carried(
        study, study, mission, calibration(), {name: Chosen(name, {}, "its best closing design") for name in names},
        standing, chances, rates, ("The readings are invented, and so is what follows from them.",),
    )  # fmt: skip
