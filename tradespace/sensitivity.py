"""What moves the answer: tornado, exchange rates, power against efficiency, and the smallest design that will do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import all_inputs, baseline, evaluate, mission_of
from tradespace.mission import Mission, WindowCurve
from tradespace.options import settings_of
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import display, quantities
from tradespace.results import PowerMap, Sensitivity
from tradespace.study.values import all_ranges
from tradespace.thrusters.values import changed, number, rows_with_a_range
from tradespace.units import format_date

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.study import Solve, Study

SETTINGS = "sensitivity_settings.csv"
SUN = constants.value("solar_constant")
PINNED = 1e-6  # days per hop
DAY = constants.value("day", "engine_settings.csv")
ENDLESS = constants.value("refuelling_cap", "engine_settings.csv")
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
    usual = all_ranges(study.values, {}, settings_of(study.options))
    for name, pair in study.thrusters[architecture].ranges().items():
        asked = name in study.given or ranges.get(name) != usual.get(name)
        if not asked:
            ranges[name] = pair
    chosen = [(name, low, high) for name, (low, high) in ranges.items() if high > low]
    craft = study.thrusters[architecture]
    own = {
        name: ends for name, ends in rows_with_a_range(craft.thruster.name).items() if name not in craft.own
    }
    return chosen + [(f"{craft.thruster.name}.{name}", low, high) for name, (low, high) in own.items()]


def tornado_table(study: Study, mission: Mission, architecture: str) -> pd.DataFrame:
    """Each input at its low and high end with all others at the reference design.

    Inputs that move none of the metrics are left out.
    """
    chosen = one_at_a_time(study, architecture)
    answers = _both_ends(study, mission, architecture, chosen)
    rows = []
    for metric in metrics_of(study):
        column = answers[metric].to_numpy(dtype=np.float64)
        for place, (name, low, high) in enumerate(chosen):
            ends = column[2 * place], column[2 * place + 1]
            if max(abs(end - column[-1]) for end in ends) > ONLY_ONE_SIDE * max(1.0, abs(column[-1])):
                rows.append((architecture, name, low, high, metric, ends[0], column[-1], ends[1]))
    names = ["architecture", "quantity", "low", "high", "metric", "at_low", "at_baseline", "at_high"]
    return pd.DataFrame(rows, columns=names)


def _both_ends(
    study: Study, mission: Mission, architecture: str, chosen: list[tuple[str, float, float]]
) -> pd.DataFrame:
    """Answers at the low and high end of each input in turn, two rows each, and at the reference design last.

    A quantity that is worked out unless given would replace its inputs in every row it is written in, so those have
    designs of their own. Rows of the thruster's own table vary like inputs.
    """
    values = all_inputs(study, {})
    together = [item for item in chosen if item[0] in study.values or "." in item[0]]
    count = 2 * len(together) + 1
    designs: dict[str, FloatArray] = {"payload_mass": np.full(count, values["payload_mass"])}
    rows: dict[tuple[str, str], FloatArray] = {}
    for place, (name, low, high) in enumerate(together):
        thruster, _, row = name.partition(".")
        column = np.full(count, number(thruster, row) if row else float(values[name]))
        column[2 * place], column[2 * place + 1] = low, high
        if row:
            rows[thruster, row] = column
        else:
            designs[name] = column
    with changed(rows):
        answers = evaluate(study, mission, architecture, designs)
    found = {name: answers.iloc[2 * place : 2 * place + 2] for place, (name, _, _) in enumerate(together)}
    for name, low, high in chosen:
        if name not in found:
            found[name] = evaluate(study, mission, architecture, {name: np.array([low, high])})
    return pd.concat([*(found[name] for name, _, _ in chosen), answers.iloc[-1:]], ignore_index=True)


def _stepped(study: Study, row: pd.Series, name: str) -> tuple[FloatArray, float]:
    """Points evenly from half a step below to half a step above the reference, and their share of a whole step.

    A step of power is shortened where half of it would take more than half of the power away.
    """
    step = constants.value(f"exchange_step_{name}", SETTINGS)
    value = _reference_value(row, name)
    half = min(0.5 * step, 0.5 * value) if name == "array_power" else 0.5 * step
    points = int(constants.value("exchange_points", SETTINGS))
    return value + half * np.linspace(-1.0, 1.0, points), 2.0 * half / step


def exchange_rates(study: Study, mission: Mission, architecture: str, row: pd.Series) -> pd.DataFrame:
    """Days per hop and kilograms of payload for one more point of cell efficiency, second and kilowatt.

    With the calendar frozen the departure dates of the reference design are kept, and the days are refuelling days.
    With the calendar free each design chooses its own dates; the days are those of the whole route over its hops.
    When a date leaves for another window there is no derivative: the row is a jump, with both dates.
    There is none either when a refuelling does not end: the row has no days, and says so.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    row : Series
        The reference design of that architecture, every input included.
    """
    hops = mission.hops
    dates = (
        np.array([float(row[f"window_date_{hop + 1}"]) for hop in range(hops)]) if mission.windows else None
    )
    rows = []
    for name, words in STEPS.items():
        points, share = _stepped(study, row, name)
        free = evaluate(study, mission, architecture, {name: points})
        frozen = evaluate(study, mission, architecture, {name: points}, frozen=dates)
        payload = _change(frozen["payload_capacity"]) / share
        for calendar, answers, time in (
            ("frozen", frozen, _change(frozen["refuel_time_mean"])),
            ("free", free, _change(free["mission_time"]) / hops),
        ):
            leap = jump(mission, answers) if calendar == "free" else ""
            note = leap or _endless(answers, hops)
            days = np.nan if note else time / DAY / share
            if not note and calendar == "free" and mission.windows and abs(days) < PINNED:
                note = "departures are pinned by their windows"
            rows.append((architecture, name, words, calendar, days, payload, bool(leap), note))
    columns = ["architecture", "quantity", "step", "calendar", "days_per_hop", "payload_kg", "jump", "note"]
    return pd.DataFrame(rows, columns=columns)


def _change(column: pd.Series) -> float:
    """Last value minus first."""
    return float(column.iloc[-1] - column.iloc[0])


def _endless(answers: pd.DataFrame, hops: int) -> str:
    """Words for a refuelling that has no end in some of the designs; empty when all end."""
    for hop in range(1, hops + 1):
        if (answers[f"refuel_time_{hop}"] >= ENDLESS).any():
            return f"refuelling {hop} does not end"
    return ""


def jump(mission: Mission, answers: pd.DataFrame) -> str:
    """Words for departures that leave for another window, or flights that change to another arc; else empty.

    Parameters
    ----------
    mission : Mission
        The windows.
    answers : DataFrame
        Designs that follow each other in small steps of one input.
    """
    limit = constants.value("jump_threshold", SETTINGS)
    found = []
    for hop, curve in enumerate(mission.windows, start=1):
        leave = answers[f"window_date_{hop}"].to_numpy(dtype=np.float64)
        ready = answers[f"ready_date_{hop}"].to_numpy(dtype=np.float64)
        moved = np.abs(np.diff(leave))
        moved[moved <= np.maximum(limit, 2.0 * np.abs(np.diff(ready)))] = 0.0
        moved[np.maximum(leave[1:], leave[:-1]) > mission.horizon] = 0.0  # nobody leaves after the end
        if moved.any():
            place = int(np.argmax(moved))
            found.append(
                f"departure {hop} jumps from {format_date(leave[place])} to {format_date(leave[place + 1])}"
            )
            continue
        crossed = _steepest(curve, float(leave.min()), min(float(leave.max()), mission.horizon))
        if crossed is not None:
            ends = [float(curve.departure[at] + curve.time_of_flight[at]) for at in (crossed, crossed + 1)]
            ends = ends if leave[0] <= leave[-1] else ends[::-1]
            found.append(f"landing {hop} jumps from {format_date(ends[0])} to {format_date(ends[1])}")
    return "; ".join(found)


def _steepest(curve: WindowCurve, first: float, last: float) -> int | None:
    """Where between two departure dates the flight time changes to another arc; None where it changes smoothly."""
    if last <= first:
        return None
    slope = np.abs(np.diff(curve.time_of_flight) / np.diff(curve.departure))
    slope[(curve.departure[1:] <= first) | (curve.departure[:-1] >= last)] = 0.0
    place = int(np.argmax(slope))
    return place if slope[place] > constants.value("jump_slope", SETTINGS) else None


def _span(study: Study, name: str, reference: float) -> tuple[float, float]:
    """Range of a variable: of the sweep where it is swept, else some factor each way about the reference.

    Where that gives nothing, because the reference is zero, its range for the tornado is taken, or else its bounds.
    """
    for variable in study.sweep:
        if variable.name == name:
            return float(variable.points.min()), float(variable.points.max())
    item = quantities()[name]
    low, high = (-np.inf if item.low is None else item.low), (np.inf if item.high is None else item.high)
    if reference > 0.0:
        factor = constants.value("span_factor", SETTINGS)
        return max(reference / factor, low), min(reference * factor, high)
    return study.ranges.get(name, (low, high))


def power_map(study: Study, mission: Mission, architecture: str) -> PowerMap:
    """Refuel time and smallest margin over array power at 1 au and stack efficiency on the higher heating value."""
    values = all_inputs(study, {})
    strength = float(values["array_efficiency"]) * SUN
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

    Returns
    -------
    tuple
        A row of :attr:`tradespace.results.Sensitivity.solutions`.
    """
    reference = evaluate(study, mission, architecture, {}, everything=True).iloc[0]
    span = _span(study, solve.variable, _reference_value(reference, solve.variable))
    value = _first(study, mission, architecture, solve, span, closing=False)
    if np.isnan(value):
        note = (
            f"not reached between {display(solve.variable, span[0])} and {display(solve.variable, span[1])}"
        )
        return architecture, solve.variable, np.nan, False, False, note
    remarks = ["holds from the smallest value tried"] if value <= span[0] else []
    final = evaluate(study, mission, architecture, {solve.variable: np.array([value])}).iloc[0]
    if not final["closes"]:
        remarks.append(f"does not close: {final['limited_by']} on hop {final['limited_at']}")
        closing = _first(study, mission, architecture, solve, span, closing=True)
        if not np.isnan(closing):
            remarks.append(f"holds and closes from {display(solve.variable, closing)}")
    return architecture, solve.variable, value, True, bool(final["closes"]), "; ".join(remarks)


def _first(
    study: Study,
    mission: Mission,
    architecture: str,
    solve: Solve,
    span: tuple[float, float],
    *,
    closing: bool,
) -> float:
    """The first value in a span at which the condition holds (and, if asked, the design closes); NaN if none is."""
    low, high = span
    points = int(constants.value("solve_points", SETTINGS))
    for _ in range(int(constants.value("solve_rounds", SETTINGS))):
        grid = np.geomspace(low, high, points) if low > 0.0 else np.linspace(low, high, points)
        answers = evaluate(study, mission, architecture, {solve.variable: grid})
        holds = _holds(answers[solve.column].to_numpy(dtype=np.float64), solve)
        if closing:
            holds &= answers["closes"].to_numpy(dtype=bool)
        if not holds.any():
            return float("nan")
        first = int(np.argmax(holds))
        high = float(grid[first])
        if first == 0:
            break
        low = float(grid[first - 1])
    return high


def _reference_value(reference: pd.Series, name: str) -> float:
    """Value of an input at the reference design [SI]; NaN when it has none."""
    if name == "array_power":
        return float(reference["array_area"]) * float(reference["array_efficiency"]) * SUN
    return float(reference[name]) if name in reference else float("nan")


def _holds(column: FloatArray, solve: Solve) -> NDArray[np.bool_]:
    return column <= solve.limit if solve.relation == "<=" else column >= solve.limit
