"""Exchange rates of the bench: what removing a part of each loss brings the mission."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace import constants
from tradespace.evaluate import answers
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantities
from tradespace.uncertainty.designs import Chosen

if TYPE_CHECKING:
    from tradespace.study import Study

CELL = "electrolysis"
SETTINGS = "bench_mission_settings.csv"
IDEAL = {
    "cell_ohmic_factor": 0.0, "cell_activation_factor": 0.0, "cell_bypass_conductance": 0.0, "cell_gas_loss": 0.0,
    "energy_release_efficiency": 1.0, "viscous_loss_scale": 0.0, "wall_heat_scale": 0.0,
}  # fmt: skip
"""What each number of the bench would be without the loss it tells of."""
WORK = "work_time"
"""Time for which power is at work on a hop: refuelling and the longest burn, whichever of them splits the water [s]."""
GAINS = (WORK, "refuel_time_mean", "start_mass", "margin")
EXCHANGE = [
    "architecture", "calendar", "quantity", "value", "deviation", "improved", "ideal",
    *(f"{name}_gain" for name in GAINS), *(f"{name}_ideal_gain" for name in GAINS),
    *(f"{name}_elasticity" for name in GAINS[:3]),
]  # fmt: skip
"""Value and deviation of a number of the bench, what it is with a share of its loss removed and with all of it, by how
much each answer falls (times, masses) or rises (margin) for either [SI], and elasticities [1]."""


def exchange_rows(
    study: Study, mission: Mission, chosen: Chosen, dates: FloatArray | None, *, whole: bool = True
) -> list[tuple[Any, ...]]:
    """What each number of a calibration is worth for a design, the one that saves most time of a hop first.

    Parameters
    ----------
    study, mission
        With the calibration, and what was looked up.
    chosen : Chosen
        The design.
    dates : ndarray, shape (hops,), optional
        Dates of departure that are kept; None where each design chooses its own or none are needed.
    whole : bool
        Whether the engine of the bench counts, beside its cell.
    """
    assert study.calibration is not None
    names = [name for name in study.calibration.names if name in IDEAL and name not in study.swept]
    if not whole:
        names = [name for name in names if quantities()[name].section == CELL]
    if not names:
        return []
    share = constants.value("improvement_share", SETTINGS)
    step = constants.value("elasticity_step", SETTINGS)
    points: dict[str, tuple[float, ...]] = {}
    for name in names:
        here = study.calibration.values[name].value
        there = IDEAL[name]
        points[name] = (
            here + share * (there - here),
            there,
            here * (1.0 - step),
            here * (1.0 + step * _up(name, here, step)),
        )
    found = _answers(study, mission, chosen, points, dates)
    usual = {answer: values[0] for answer, values in found.items()}
    rows = []
    for place, name in enumerate(names):
        one = study.calibration.values[name]
        near, ideal, below, above = (
            {answer: values[1 + 4 * place + part] for answer, values in found.items()} for part in range(4)
        )
        width = np.log(points[name][3] / points[name][2]) if one.value > 0.0 else np.nan
        slopes = [
            float(np.log(above[answer] / below[answer]) / width)
            if width > 0.0 and usual[answer] > 0.0
            else np.nan
            for answer in GAINS[:3]
        ]
        rows.append(
            (chosen.architecture, "free" if dates is None else "frozen", name, one.value, one.deviation,
             points[name][0], points[name][1], *_gains(usual, near), *_gains(usual, ideal), *slopes)
        )  # fmt: skip
    return sorted(rows, key=lambda row: -float(row[EXCHANGE.index(f"{WORK}_gain")]))


def _up(name: str, here: float, step: float) -> float:
    """1, or 0 where a step up would leave what the number may be."""
    return 0.0 if IDEAL[name] > 0.0 and here * (1.0 + step) > IDEAL[name] else 1.0


def _gains(usual: dict[str, float], better: dict[str, float]) -> list[float]:
    """By how much times and masses fall and the margin rises."""
    return [
        float(better[name] - usual[name] if name == "margin" else usual[name] - better[name])
        for name in GAINS
    ]


def _answers(
    study: Study,
    mission: Mission,
    chosen: Chosen,
    points: dict[str, tuple[float, ...]],
    dates: FloatArray | None,
) -> dict[str, FloatArray]:
    """Answers of the design as it is, then with every point of every number, one after the other."""
    count = 1 + sum(len(values) for values in points.values())
    designs = {name: np.full(count, value) for name, value in chosen.values.items()}
    start = 1
    for name, values in points.items():
        designs[name] = np.full(count, study.values[name])
        designs[name][start : start + len(values)] = values
        start += len(values)
    burns = [f"burn_time_{hop + 1}" for hop in range(mission.hops)] if mission.windows else []
    wanted = [*(name for name in GAINS if name != WORK), *burns]
    found = answers(study, mission, chosen.architecture, designs, wanted, frozen=dates)
    found[WORK] = found["refuel_time_mean"] + sum(found[name] for name in burns) / max(len(burns), 1)
    return found
