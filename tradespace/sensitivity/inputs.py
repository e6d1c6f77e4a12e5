"""The chain as a model of its uncertain inputs: points of the unit cube in, answers out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.campaign.records import MARGIN_HIGH, MARGIN_LOW
from tradespace.evaluate import evaluate
from tradespace.mission import Mission
from tradespace.physics.compiled import FloatArray
from tradespace.sampling import draws
from tradespace.sensitivity.variance import Model
from tradespace.study.model import Distribution
from tradespace.study.uncertain import grade_distributions
from tradespace.thrusters.values import architecture_values, changed, rows_with_a_range

if TYPE_CHECKING:
    from tradespace.study import Study

DRIVEN = ("margin", "closes", "refuel_time_mean", "start_mass", "payload_capacity")
TELLING = ("margin", "margin_mass", "refuel_time_mean")
"""Answers that tell which runs hold a number that stands for something else."""
ENDLESS = constants.value("refuelling_cap", "engine_settings.csv")
NEARLY = 0.999


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
    from tradespace.options import settings_of
    from tradespace.study.values import all_ranges

    return study.ranges.get(name) != all_ranges(study.values, {}, settings_of(study.options)).get(name)


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
    rows = {(name.partition(".")[0], name.partition(".")[2]): values[name] for name in values if "." in name}
    designs = {name: column for name, column in values.items() if "." not in name}
    if rows and not designs:
        designs = {"payload_mass": np.full(next(iter(rows.values())).shape, study.values["payload_mass"])}
    with changed(rows):
        table = evaluate(study, mission, architecture, designs, frozen=frozen)
    return {name: table[name].to_numpy(dtype=np.float64) for name in names}


def stand_ins(answers: Mapping[str, FloatArray], mission: Mission) -> list[str]:
    """What numbers that only stand for something do to shares of variance, in words; empty where there are none.

    Parameters
    ----------
    answers : mapping of str to ndarray
        Runs, :data:`TELLING` among them.
    mission : Mission
        What was looked up for the study.
    """
    margin, mass, time = (np.asarray(answers[name]) for name in TELLING)
    runs, words = margin.size, []
    cut = int(((margin <= MARGIN_LOW) | (margin >= MARGIN_HIGH)).sum())
    if cut:
        words.append(
            f"{cut} of {runs} runs hold a margin cut at its end; its shares are those of the cut margin"
        )
    endless = int((time * mission.hops >= NEARLY * ENDLESS).sum())
    if endless:
        words.append(
            f"{endless} of {runs} runs hold a refuelling that does not end, counted with a cap; shares of times then "
            "tell mostly whether it ends"
        )
    massless = int((mass <= -1.0).sum())
    if massless:
        words.append(
            f"{massless} of {runs} runs hold a craft of no finite mass, counted with a large one; shares of masses "
            "then tell mostly whether there is one"
        )
    return words
