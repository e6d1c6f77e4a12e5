"""Shares of variance of twelve inputs on 2^14 base samples: runs, and seconds of each part.

Run: python tests/benchmarks/bench_sobol.py [study] [architecture] [base samples]
"""

from __future__ import annotations

import itertools
import os
import sys
import time

from tradespace import evaluate as engine
from tradespace.cli.asking import load
from tradespace.sensitivity import chain, driving_architectures, metrics_driven, uncertain_inputs
from tradespace.sensitivity.driving import drive_screening, strongest
from tradespace.sensitivity.inputs import bounded
from tradespace.sensitivity.variance import base_points, evaluated, shares

INPUTS = 12


def main(name: str = "outer_belt_ice_tour", architecture: str = "", base: int = 2**14) -> dict[str, float]:
    """Print and return the runs and the seconds of sampling, engine, and indices with intervals."""
    study = load(name)
    mission = engine.mission_of(study)
    chosen = architecture or driving_architectures(study, engine.baseline(study, mission))[0]
    asked = uncertain_inputs(study, chosen)
    inputs, _ = strongest(drive_screening(study, mission, chosen, trajectories=4)[2], asked, INPUTS)
    model = chain(study, mission, chosen, inputs, metrics_driven(study))
    times = [time.perf_counter()]
    points = base_points(len(inputs), base, study.seed)
    times.append(time.perf_counter())
    answers, _ = bounded(study, evaluated(model, points))
    times.append(time.perf_counter())
    found = shares(answers, [item.name for item in inputs], study.seed)
    times.append(time.perf_counter())
    sampling, running, sharing = (end - start for start, end in itertools.pairwise(times))
    told = {
        "inputs": len(inputs), "metrics": len(found.metrics), "runs": found.runs, "sampling": sampling,
        "engine": running, "indices and intervals": sharing, "all": times[-1] - times[0],
        "runs per second": found.runs / running, "load": os.getloadavg()[0],
    }  # fmt: skip
    print(f"{study.name}, {chosen}")
    for label, value in told.items():
        print(f"{label:>22}  {value:,.2f}" if isinstance(value, float) else f"{label:>22}  {value:,}")
    return told


if __name__ == "__main__":
    words = sys.argv[1:]
    main(*words[:2], *(int(word) for word in words[2:3]))
