"""How fast the engine is beside a plain Python loop over the same scalar functions. Prints ratios, judges nothing."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tradespace import evaluate
from tradespace.study import load_study

STUDY = Path(__file__).parents[2] / "studies" / "outer_belt_ice_tour.toml"
COUNT = 30_000
ROUNDS = 2
ARCHITECTURES = ("electrolysis_bipropellant", "xenon_hall", "water_hall")
ANSWERS = ["closes", "margin", "start_mass"]
LOOP = """
import pickle, sys, time
import numpy as np
from tradespace import evaluate
from tradespace.study import load_study
study = load_study(sys.argv[1])
with open(sys.argv[2], "rb") as handle:
    mission = pickle.load(handle)
areas = np.geomspace(20.0, 300.0, 150)  # with compilation off, the engine is a plain loop over designs
started = time.perf_counter()
evaluate.evaluate(study, mission, "electrolysis_bipropellant", {"array_area": areas})
print((time.perf_counter() - started) / areas.size)
"""


def fastest(call: Callable[[], object], designs: int) -> float:
    """Least time a call takes for one design over a few rounds [s]."""
    times = []
    for _ in range(ROUNDS):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return min(times) / designs


def test_engine_beside_a_plain_loop(tmp_path: Path) -> None:
    import pickle

    study = load_study(STUDY)
    mission = evaluate.mission_of(study)
    areas = np.geomspace(20.0, 300.0, COUNT)
    path = tmp_path / "mission.pickle"
    path.write_bytes(pickle.dumps(mission))
    done = subprocess.run(
        [sys.executable, "-c", LOOP, str(STUDY), str(path)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    plain = float(done.stdout)
    print(f"\nplain Python loop, electrolysis: {1.0 / plain:,.0f} two-hop designs per second")
    for name in ARCHITECTURES:
        given = {"array_area": areas}
        evaluate.answers(study, mission, name, {"array_area": areas[:100]}, ANSWERS)
        together = fastest(
            lambda given=given, name=name: evaluate.answers(study, mission, name, given, ANSWERS), COUNT
        )
        table = fastest(lambda given=given, name=name: evaluate.evaluate(study, mission, name, given), COUNT)
        print(
            f"{name}: {1.0 / together:,.0f} per second in memory on {os.cpu_count()} threads, "
            f"{1.0 / table:,.0f} on one with a table of every column; "
            f"{plain / together:,.0f} and {plain / table:,.0f} times the plain loop"
        )
        assert 0.0 < together < plain
        assert table > 0.0
