"""What moves the answer: one input at a time, exchange rates, maps, and what drives the designs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from tradespace import constants as constants  # tests and callers reach both through this name
from tradespace.evaluate import baseline, mission_of
from tradespace.evaluate import evaluate as evaluate
from tradespace.mission import Mission
from tradespace.results import Sensitivity
from tradespace.sensitivity.driving import drive, drivers, driving_architectures, screened, shared
from tradespace.sensitivity.elasticity import elasticities
from tradespace.sensitivity.inputs import chain, metrics_driven, outputs, uncertain_inputs
from tradespace.sensitivity.rates import STEPS, exchange_rates, jump
from tradespace.sensitivity.solving import SETTINGS, power_map, smallest
from tradespace.sensitivity.tornado import METRICS, metrics_of, one_at_a_time, tornado_table
from tradespace.sensitivity.variance import indices

if TYPE_CHECKING:
    from tradespace.study import Study

__all__ = [
    "METRICS", "SETTINGS", "STEPS", "analyse", "chain", "drive", "drivers", "driving_architectures", "elasticities",
    "exchange_rates", "indices", "jump", "metrics_driven", "metrics_of", "one_at_a_time", "outputs", "power_map",
    "screened", "shared", "smallest", "tornado_table", "uncertain_inputs",
]  # fmt: skip


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
