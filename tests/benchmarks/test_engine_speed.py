"""How fast the engine is beside a plain Python loop over the same scalar functions. Prints ratios, judges nothing."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from tradespace import evaluate
from tradespace.study import load_study

STUDY = Path(__file__).parents[2] / "studies" / "outer_belt_ice_tour.toml"
LOOP = """
import pickle, sys, time
import numpy as np
from tradespace import evaluate
from tradespace.study import load_study
study = load_study(sys.argv[1])
with open(sys.argv[2], "rb") as handle:
    mission = pickle.load(handle)
areas = np.geomspace(20.0, 300.0, 400)  # with compilation off, the engine is a plain loop over designs
started = time.perf_counter()
evaluate.evaluate(study, mission, "electrolysis_bipropellant", {"array_area": areas})
print((time.perf_counter() - started) / areas.size)
"""


def test_engine_beside_a_plain_loop(tmp_path: Path) -> None:
    import pickle

    study = load_study(STUDY)
    mission = evaluate.mission_of(study)
    name = "electrolysis_bipropellant"
    evaluate.evaluate(study, mission, name, {"array_area": np.array([50.0])})
    count = 50_000
    areas = np.geomspace(20.0, 300.0, count)
    started = time.perf_counter()
    evaluate.evaluate(study, mission, name, {"array_area": areas})
    compiled = (time.perf_counter() - started) / count
    path = tmp_path / "mission.pickle"
    path.write_bytes(pickle.dumps(mission))
    done = subprocess.run(
        [sys.executable, "-c", LOOP, str(STUDY), str(path)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    plain = float(done.stdout)
    print(
        f"\nengine, one thread: {1.0 / compiled:,.0f} two-hop designs per second; "
        f"plain Python loop: {1.0 / plain:,.0f} per second; ratio {plain / compiled:,.0f}"
    )
    assert compiled > 0.0
    assert plain > 0.0
