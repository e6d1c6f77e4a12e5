"""What moves the answer: tornado, exchange rates, power against efficiency, and the smallest design that will do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import all_inputs, baseline, evaluate, mission_of
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantities
from tradespace.results import PowerMap, Sensitivity
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.study import Solve, Study

SETTINGS = "sensitivity_settings.csv"
DAY = constants.value("day", "engine_settings.csv")
METRICS = ("refuel_time_mean", "margin", "payload_capacity")
STEPS = {
    "stack_efficiency": "per percentage point of cell efficiency",
    "specific_impulse_change": "per second of specific impulse",
    "array_power": "per kilowatt of array power at 1 au",
}
ONLY_ONE_SIDE = 1e-12


def analyse(study: Study, mission: Mission | None = None) -> Sensitivity:
    """Tornado, exchange rates, power maps and solutions about the study's reference design.

    Parameters
    ----------
    study, mission
        The question, and what was looked up for it (looked up here when not given).
    """
    mission = mission or mission_of(study)
    reference = baseline(study, mission)
    tornado, exchange, maps, solutions = [], [], [], []
    for name in study.architectures:
        row = reference[reference["architecture"] == name].iloc[0]
        tornado.append(tornado_table(study, mission, name))
        exchange.append(exchange_rates(study, mission, name, row))
        maps.append(power_map(study, mission, name))
        if study.solve is not None:
            solutions.append(smallest(study, mission, name, study.solve))
    return Sensitivity(
        pd.concat(tornado, ignore_index=True),
        pd.concat(exchange, ignore_index=True),
        tuple(maps),
        pd.DataFrame(solutions, columns=["architecture", "variable", "value", "reached", "closes", "note"]),
    )


def metrics_of(study: Study) -> list[str]:
    """Columns the tornado looks at: the standing ones and the study's own figure of merit."""
    return [*METRICS, *([study.figure_of_merit] if study.figure_of_merit not in METRICS else [])]


def one_at_a_time(study: Study, architecture: str) -> list[tuple[str, float, float]]:
    """Inputs with a range of their own, with its ends [SI]; the thruster's range comes from its own data."""
    ranges = dict(study.ranges)
    own = study.thrusters[architecture].ranges()
    ranges |= {name: pair for name, pair in own.items() if name not in study.given}
    values = all_inputs(study, {})
    chosen = []
    for name, (low, high) in ranges.items():
        if name in values and high > low and np.size(values[name]) == 1 and np.isfinite(values[name]):
            chosen.append((name, low, high))
    return chosen


def tornado_table(study: Study, mission: Mission, architecture: str) -> pd.DataFrame:
    """Each input at its low and high end with all others at the reference design.

    Inputs that move none of the metrics are left out.
    """
    chosen = one_at_a_time(study, architecture)
    values = all_inputs(study, {})
    count = 2 * len(chosen) + 1
    designs: dict[str, FloatArray] = {}
    for place, (name, low, high) in enumerate(chosen):
        column = np.full(count, float(values[name]))
        column[2 * place], column[2 * place + 1] = low, high
        designs[name] = column
    answers = evaluate(
        study, mission, architecture, designs or {"payload_mass": np.full(1, values["payload_mass"])}
    )
    rows = []
    for metric in metrics_of(study):
        column = answers[metric].to_numpy(dtype=np.float64)
        for place, (name, low, high) in enumerate(chosen):
            ends = column[2 * place], column[2 * place + 1]
            if max(abs(end - column[-1]) for end in ends) > ONLY_ONE_SIDE * max(1.0, abs(column[-1])):
                rows.append((architecture, name, low, high, metric, ends[0], column[-1], ends[1]))
    names = ["architecture", "quantity", "low", "high", "metric", "at_low", "at_baseline", "at_high"]
    return pd.DataFrame(rows, columns=names)


def _stepped(study: Study, row: pd.Series, name: str) -> tuple[float, float]:
    """Reference value of an exchange variable and the step it is priced for [SI]."""
    step = constants.value(f"exchange_step_{name}", SETTINGS)
    if name == "array_power":
        return float(row["array_area"]) * float(row["array_efficiency"]) * constants.value(
            "solar_constant"
        ), step
    return float(row[name]), step


def exchange_rates(study: Study, mission: Mission, architecture: str, row: pd.Series) -> pd.DataFrame:
    """Days per hop and kilograms of payload for one more point of cell efficiency, second and kilowatt.

    With the calendar frozen the departure dates of the reference design are kept, and the days are refuelling days.
    With the calendar free each design chooses its own dates; the days are those of the whole route over its hops.
    When a date leaves for another window there is no derivative: the row is a jump, with both dates.
    """
    hops = mission.hops
    dates = (
        np.array([float(row[f"departure_date_{hop + 1}"]) for hop in range(hops)])
        if mission.windows
        else None
    )
    rows = []
    for name, words in STEPS.items():
        value, step = _stepped(study, row, name)
        points = value + step * np.array([-0.5, 0.5, 0.0])
        frozen = evaluate(study, mission, architecture, {name: points}, frozen=dates)
        free = evaluate(study, mission, architecture, {name: points})
        payload = float(frozen["payload_capacity"].iloc[1] - frozen["payload_capacity"].iloc[0])
        days = float(frozen["refuel_time_mean"].iloc[1] - frozen["refuel_time_mean"].iloc[0]) / DAY
        rows.append((architecture, name, words, "frozen", days, payload, False, ""))
        note = _jump(free, hops) if mission.windows else ""
        days = float(free["mission_time"].iloc[1] - free["mission_time"].iloc[0]) / DAY / hops
        rows.append((architecture, name, words, "free", np.nan if note else days, payload, bool(note), note))
    columns = ["architecture", "quantity", "step", "calendar", "days_per_hop", "payload_kg", "jump", "note"]
    return pd.DataFrame(rows, columns=columns)


def _jump(answers: pd.DataFrame, hops: int) -> str:
    """Words for departure dates that leave for another window; empty when none does."""
    limit = constants.value("jump_threshold", SETTINGS)
    found = []
    for hop in range(1, hops + 1):
        column = answers[f"departure_date_{hop}"].to_numpy(dtype=np.float64)
        ready = answers[f"ready_date_{hop}"].to_numpy(dtype=np.float64)
        if np.ptp(column) > limit and np.ptp(column) > 2.0 * np.ptp(ready):
            found.append(f"departure {hop} jumps from {format_date(column[0])} to {format_date(column[1])}")
    return "; ".join(found)


def _span(study: Study, name: str, reference: float) -> tuple[float, float]:
    """Range of a variable: of the sweep where it is swept, else a decade about the reference."""
    for variable in study.sweep:
        if variable.name == name:
            return float(variable.points.min()), float(variable.points.max())
    factor = constants.value("span_factor", SETTINGS)
    return reference / factor, reference * factor


def power_map(study: Study, mission: Mission, architecture: str) -> PowerMap:
    """Refuel time and smallest margin over array power at 1 au and stack efficiency on the higher heating value."""
    values = all_inputs(study, {})
    strength = float(values["array_efficiency"]) * constants.value("solar_constant")
    if any(variable.name == "array_power" for variable in study.sweep):
        low, high = _span(study, "array_power", float(values["array_area"]) * strength)
    else:
        low, high = (bound * strength for bound in _span(study, "array_area", float(values["array_area"])))
    power = np.geomspace(low, high, int(constants.value("map_columns", SETTINGS)))
    worst, best = (constants.value(f"map_efficiency_{end}", SETTINGS) for end in ("low", "high"))
    efficiency = np.linspace(worst, best, int(constants.value("map_rows", SETTINGS)))
    across, up = np.meshgrid(power, efficiency)
    answers = evaluate(
        study, mission, architecture, {"array_power": across.ravel(), "stack_efficiency": up.ravel()}
    )
    shape = across.shape
    return PowerMap(
        architecture,
        power,
        efficiency,
        answers["refuel_time"].to_numpy(dtype=np.float64).reshape(shape),
        answers["margin"].to_numpy(dtype=np.float64).reshape(shape),
    )


def smallest(
    study: Study, mission: Mission, architecture: str, solve: Solve
) -> tuple[str, str, float, bool, bool, str]:
    """The smallest value of a variable from which a condition on a column holds.

    A scan finds the first interval at whose upper end the condition holds; the same scan inside that interval,
    repeated, narrows it to a millionth. The condition need not be monotonic.
    """
    values = all_inputs(study, {})
    reference = float(values[solve.variable]) if solve.variable in values else float("nan")
    known = quantities()[solve.variable]
    low, high = _span(study, solve.variable, reference)
    low = max(low, known.low or low)
    points = int(constants.value("solve_points", SETTINGS))
    answers = pd.DataFrame()
    for _ in range(int(constants.value("solve_rounds", SETTINGS))):
        grid = np.geomspace(low, high, points) if low > 0.0 else np.linspace(low, high, points)
        answers = evaluate(study, mission, architecture, {solve.variable: grid})
        column = answers[solve.column].to_numpy(dtype=np.float64)
        holds = column <= solve.limit if solve.relation == "<=" else column >= solve.limit
        if not holds.any():
            return (
                architecture,
                solve.variable,
                np.nan,
                False,
                False,
                f"not reached up to {known.shown(high):.4g}",
            )
        first = int(np.argmax(holds))
        if first == 0:
            low = high = float(grid[0])
            break
        low, high = float(grid[first - 1]), float(grid[first])
    final = evaluate(study, mission, architecture, {solve.variable: np.array([high])}).iloc[0]
    note = "" if final["closes"] else f"does not close: {final['limited_by']} on hop {final['limited_at']}"
    return architecture, solve.variable, high, True, bool(final["closes"]), note
