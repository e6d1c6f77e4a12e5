"""How long ten thousand points of a bench take to be read, reconciled, checked and fitted. Judges nothing."""

from __future__ import annotations

import sys
import time

import numpy as np

from tradespace.bench.checks import check
from tradespace.bench.fitting import calibrate
from tradespace.bench.losses import losses
from tradespace.bench.readings import parse_readings
from tradespace.bench.reconciling import reconcile
from tradespace.data.make.bench_readings import bench_truth


def many_points(count: int) -> str:
    """An invented chain of so many points: its rows over and over, with time going on and a little noise."""
    text, _ = bench_truth(1, "whole_chain")
    lines = text.splitlines()
    head = [line for line in lines if line.startswith("#")]
    rows = [line for line in lines if line and not line.startswith("#")]
    names, units, body = (
        rows[0],
        rows[1],
        np.array([[float(cell) for cell in row.split(",")] for row in rows[2:]]),
    )
    table = np.tile(body, (count // len(body) + 1, 1))[:count]
    rng = np.random.default_rng(1)
    constant = np.ptp(body, axis=0) == 0.0
    table = table * (1.0 + 1e-4 * rng.standard_normal(table.shape) * ~constant)
    table[:, names.split(",").index("time")] = np.arange(count)
    return "\n".join([*head, names, units, *(",".join(f"{cell:.8g}" for cell in row) for row in table)])


def main(count: int) -> None:
    """Print what each step takes, the second time round."""
    text = many_points(count)
    for _ in range(2):
        marks = [time.perf_counter()]
        readings = parse_readings(text, "invented.csv")
        marks.append(time.perf_counter())
        found = reconcile(readings)
        marks.append(time.perf_counter())
        check(found)
        marks.append(time.perf_counter())
        fit = calibrate(found)
        marks.append(time.perf_counter())
        losses(found, fit)
        marks.append(time.perf_counter())
    names = ("read", "reconciled", "checked", "calibrated", "losses")
    taken = ", ".join(
        f"{name} {later - sooner:.2f} s" for name, sooner, later in zip(names, marks, marks[1:], strict=False)
    )
    print(f"{readings.points} points of {len(readings.columns)} channels: {taken}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
