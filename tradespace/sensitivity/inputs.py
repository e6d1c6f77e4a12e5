"""The chain as a model of its uncertain inputs: points of the unit cube in, answers out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.campaign.records import MARGIN_HIGH, MARGIN_LOW
from tradespace.evaluate import answers
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.quantities import quantity
from tradespace.sampling import draws
from tradespace.sensitivity.variance import Model
from tradespace.study.model import Distribution
from tradespace.study.uncertain import grade_distributions
from tradespace.thrusters.values import architecture_values, rows_with_a_range

if TYPE_CHECKING:
    from tradespace.study import Study

DRIVEN = ("margin", "closes", "refuel_time_mean", "start_mass", "payload_capacity")
SETTINGS = "sensitivity_settings.csv"


def metrics_driven(study: Study) -> list[str]:
    """Answers whose variance is shared out: the standing ones and the study's own figure of merit."""
    return list(dict.fromkeys([*DRIVEN, study.figure_of_merit]))


def uncertain_inputs(study: Study, architecture: str) -> tuple[Distribution, ...]:
    """The study's uncertain inputs as an architecture has them.

    Where the study takes inputs by their own ranges, the thruster's two what-if quantities have the ranges of its own
    data, and the rows of its table are uncertain too.
    """
    inputs = study.uncertain.inputs
    if all(item.stated for item in inputs):
        return inputs
    craft = study.thrusters[architecture]
    own = {
        name: ends
        for name, ends in craft.ranges().items()
        if ends[1] > ends[0] and not (name in study.given or _asked(study, name))
    }
    found = [
        item
        if item.stated or item.name not in own
        else replace(item, kind="uniform", numbers=own.pop(item.name))
        for item in inputs
    ]
    found += [
        Distribution(name, "uniform", ends, -np.inf, np.inf, "assumed", False) for name, ends in own.items()
    ]
    rows = architecture_values(craft.thruster.name)
    for name, (low, high) in rows_with_a_range(craft.thruster.name).items():
        kind = grade_distributions()[rows[name].grade]
        if name in craft.own or kind == "none":
            continue
        numbers = (low, rows[name].value, high) if kind == "triangular" else (low, high)
        found.append(
            Distribution(
                f"{craft.thruster.name}.{name}", kind, numbers, -np.inf, np.inf, rows[name].grade, False
            )
        )
    return tuple(found)


def _asked(study: Study, name: str) -> bool:
    """Whether the study gives a range of its own to an input."""
    from tradespace.study.values import all_ranges

    return study.ranges.get(name) != all_ranges(study.values, {}, study.settings).get(name)


def chain(
    study: Study,
    mission: Mission,
    architecture: str,
    inputs: Sequence[Distribution],
    names: Sequence[str],
    frozen: FloatArray | None = None,
) -> Model:
    """The whole chain as a model of some inputs, all others at the reference design.

    Parameters
    ----------
    study, mission, architecture
        The question, what was looked up for it, and the thruster.
    inputs : sequence of Distribution
        Inputs in the order of the columns of the points; independent.
    names : sequence of str
        Answers wanted.
    frozen : ndarray, shape (hops,), optional
        Departure dates to keep.
    """

    def model(points: FloatArray) -> dict[str, FloatArray]:
        return outputs(study, mission, architecture, draws(inputs, points), names, frozen)

    return model


def outputs(
    study: Study,
    mission: Mission,
    architecture: str,
    values: Mapping[str, FloatArray],
    names: Sequence[str],
    frozen: FloatArray | None = None,
) -> dict[str, FloatArray]:
    """Some answers for values of inputs and of rows of the thruster's table (``thruster.row``), as numbers."""
    found = answers(study, mission, architecture, values, names, frozen=frozen)
    return {name: np.asarray(column, dtype=np.float64) for name, column in found.items()}


def bounded(study: Study, runs: Mapping[str, FloatArray]) -> tuple[dict[str, FloatArray], list[str]]:
    """Answers cut where they no longer tell good from bad, and remarks in words on what was cut.

    A craft whose masses never add up and a refuelling that never ends are carried through the chain as very large
    numbers. A handful of them would be all the variance there is, so a time counts up to the horizon of the study, and
    a mass up to a few launch masses; both are far beyond closing. Margins are cut by the engine already.

    Parameters
    ----------
    study : Study
        What is asked.
    runs : mapping of str to ndarray
        Runs.
    """
    found: dict[str, FloatArray] = {}
    words = []
    several = constants.value("driven_masses", SETTINGS)
    for name, column in runs.items():
        unit = quantity(name).unit
        low, high, what = -np.inf, np.inf, ""
        if unit == "s":
            high, what = (
                study.horizon - study.start_date,
                "beyond the horizon, counted as the time until then",
            )
        elif unit == "kg" and "launch_mass" in study.values:
            high = several * study.values["launch_mass"]
            low, what = -high, f"beyond {several:g} launch masses, counted as that"
        found[name] = np.clip(column, low, high)
        count = int((found[name] != column).sum())
        if name == "margin":
            count = int(((column <= MARGIN_LOW) | (column >= MARGIN_HIGH)).sum())
            what = f"at an end of its scale, {MARGIN_LOW:g} or {MARGIN_HIGH:g}, where it is cut"
        if count:
            words.append(f"{name}: {count} of {column.size} runs {what}")
    return found, words
