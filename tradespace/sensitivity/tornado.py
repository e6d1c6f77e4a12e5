"""Each input at both ends of its range, all others at the reference design."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tradespace.evaluate import all_inputs, answers
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.study.values import all_ranges
from tradespace.thrusters.values import changed, number, rows_with_a_range

if TYPE_CHECKING:
    from tradespace.study import Study

METRICS = ("refuel_time_mean", "margin", "payload_capacity")
ONLY_ONE_SIDE = 1e-12


def metrics_of(study: Study) -> list[str]:
    """Columns the tornado looks at: the standing ones and the study's own figure of merit."""
    return [*METRICS, *([study.figure_of_merit] if study.figure_of_merit not in METRICS else [])]


def one_at_a_time(study: Study, architecture: str) -> list[tuple[str, float, float]]:
    """Inputs with a range of their own, with its ends [SI]; the thruster's range comes from its own data."""
    ranges = dict(study.ranges)
    usual = all_ranges(study.values, {}, study.settings)
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
    found = _both_ends(study, mission, architecture, chosen)
    rows = []
    for metric in metrics_of(study):
        column = found[metric]
        for place, (name, low, high) in enumerate(chosen):
            ends = column[2 * place], column[2 * place + 1]
            if max(abs(end - column[-1]) for end in ends) > ONLY_ONE_SIDE * max(1.0, abs(column[-1])):
                rows.append((architecture, name, low, high, metric, ends[0], column[-1], ends[1]))
    names = ["architecture", "quantity", "low", "high", "metric", "at_low", "at_baseline", "at_high"]
    return pd.DataFrame(rows, columns=names)


def _both_ends(
    study: Study, mission: Mission, architecture: str, chosen: list[tuple[str, float, float]]
) -> dict[str, FloatArray]:
    """Metrics at the low and high end of each input in turn, two rows each, and at the reference design last.

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
    metrics = metrics_of(study)
    with changed(rows):
        whole = answers(study, mission, architecture, designs, metrics)
    found = {
        name: {metric: whole[metric][2 * place : 2 * place + 2] for metric in metrics}
        for place, (name, _, _) in enumerate(together)
    }
    for name, low, high in chosen:
        if name not in found:
            found[name] = answers(study, mission, architecture, {name: np.array([low, high])}, metrics)
    return {
        metric: np.concatenate(
            [
                *(np.asarray(found[name][metric], dtype=np.float64) for name, _, _ in chosen),
                whole[metric][-1:],
            ]
        )
        for metric in metrics
    }
