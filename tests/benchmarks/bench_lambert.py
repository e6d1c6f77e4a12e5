"""Rates of the transfer solver and of a window curve on this machine; prints, never fails on a clock."""

from __future__ import annotations

import time

import numpy as np

from tradespace import windows
from tradespace.constants import value
from tradespace.physics import lambert
from tradespace.units import parse_date

DAY = 86400.0
REPEATS = 5


def elapsed(run: object) -> float:
    """Least time of some repeats [s]."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        run()  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print one line per rate."""
    start = time.perf_counter()
    first, last = parse_date("2031-01-01"), parse_date("2041-01-01")
    bounds = {"shortest": 200 * DAY, "longest": 1500 * DAY}
    windows.window_curve("Themis", "Antiope", first, first, **bounds)
    print(f"first curve, compiled or read from the cache: {time.perf_counter() - start:.2f} s")
    spent = elapsed(lambda: windows.window_curve("Themis", "Antiope", first, last, **bounds))
    rate = 731 * 261 / spent / 1e6
    print(f"curve of 731 dates by 261 flight times: {spent:.3f} s, {rate:.2f} million transfers/s")

    random = np.random.default_rng(1)
    count = 100_000
    begin, end = random.normal(size=(2, count, 6)) * value("astronomical_unit")
    flights = random.uniform(100, 1000, count) * DAY
    sun, rows = value("gravitational_parameter_sun"), np.arange(count)
    spent = elapsed(lambda: lambert.excess_speeds(sun, begin, rows, end, rows, flights))
    print(f"one thread, random geometry: {count / spent / 1e6:.2f} million transfers/s")


if __name__ == "__main__":
    main()
