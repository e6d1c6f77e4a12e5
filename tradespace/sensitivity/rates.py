"""What one more point, second and kilowatt is worth, and where a step jumps to another date."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import answers
from tradespace.mission import Mission, WindowCurve
from tradespace.physics.compiled import FloatArray
from tradespace.sensitivity.solving import SETTINGS, reference_value
from tradespace.units import format_date

if TYPE_CHECKING:
    from tradespace.study import Study

PINNED = 1e-6  # days per hop
DAY = constants.value("day", "engine_settings.csv")
ENDLESS = constants.value("refuelling_cap", "engine_settings.csv")
STEPS = {
    "stack_efficiency": "per percentage point of cell efficiency",
    "specific_impulse_change": "per second of specific impulse",
    "array_power": "per kilowatt of array power at 1 au",
}


def _stepped(study: Study, row: pd.Series, name: str) -> tuple[FloatArray, float]:
    """Points evenly from half a step below to half a step above the reference, and their share of a whole step.

    A step of power is shortened where half of it would take more than half of the power away.
    """
    step = constants.value(f"exchange_step_{name}", SETTINGS)
    value = reference_value(row, name)
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
    wanted = ["payload_capacity", "refuel_time_mean", "mission_time"]
    per_hop = ("refuel_time", *(("window_date", "ready_date") if mission.windows else ()))
    wanted += [f"{column}_{hop + 1}" for hop in range(hops) for column in per_hop]
    rows = []
    for name, words in STEPS.items():
        points, share = _stepped(study, row, name)
        free, frozen = (
            pd.DataFrame(answers(study, mission, architecture, {name: points}, wanted, frozen=kept))
            for kept in (None, dates)
        )
        payload = _change(frozen["payload_capacity"]) / share
        for calendar, table, time in (
            ("frozen", frozen, _change(frozen["refuel_time_mean"])),
            ("free", free, _change(free["mission_time"]) / hops),
        ):
            leap = jump(mission, table) if calendar == "free" else ""
            note = leap or _endless(table, hops)
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
