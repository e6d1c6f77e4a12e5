"""Power against efficiency, and the smallest design that will do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace import constants
from tradespace.evaluate import all_inputs, answers, evaluate
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import display, quantities
from tradespace.results import PowerMap

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tradespace.study import Solve, Study

SETTINGS = "sensitivity_settings.csv"
SUN = constants.value("solar_constant")


def span_of(study: Study, name: str, reference: float) -> tuple[float, float]:
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
        low, high = span_of(study, "array_power", float(values["array_area"]) * strength)
    else:
        low, high = (bound * strength for bound in span_of(study, "array_area", float(values["array_area"])))
    power = np.geomspace(low, high, int(constants.value("map_columns", SETTINGS)))
    worst, best = (constants.value(f"map_efficiency_{end}", SETTINGS) for end in ("low", "high"))
    efficiency = np.linspace(worst, best, int(constants.value("map_rows", SETTINGS)))
    across, up = np.meshgrid(power, efficiency)
    designs = {"array_power": across.ravel(), "stack_efficiency": up.ravel()}
    found = answers(study, mission, architecture, designs, ["refuel_time", "margin"])
    time, margin = (np.asarray(column, dtype=np.float64).reshape(across.shape) for column in found.values())
    return PowerMap(architecture, power, efficiency, time, margin)


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
    span = span_of(study, solve.variable, reference_value(reference, solve.variable))
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
        found = answers(study, mission, architecture, {solve.variable: grid}, [solve.column, "closes"])
        holds = _holds(np.asarray(found[solve.column], dtype=np.float64), solve)
        if closing:
            holds &= found["closes"].astype(bool)
        if not holds.any():
            return float("nan")
        first = int(np.argmax(holds))
        high = float(grid[first])
        if first == 0:
            break
        low = float(grid[first - 1])
    return high


def reference_value(reference: pd.Series, name: str) -> float:
    """Value of an input at the reference design [SI]; NaN when it has none."""
    if name == "array_power":
        return float(reference["array_area"]) * float(reference["array_efficiency"]) * SUN
    return float(reference[name]) if name in reference else float("nan")


def _holds(column: FloatArray, solve: Solve) -> NDArray[np.bool_]:
    return column <= solve.limit if solve.relation == "<=" else column >= solve.limit
