"""Rates of the transfer solver and of a window curve on this machine; prints, never fails on a clock."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from tradespace import windows
from tradespace.constants import value
from tradespace.physics import lambert, transfer
from tradespace.physics.compiled import broadcast
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


def kernels() -> None:
    """Time of one element of the kernels of burns and landings."""
    random = np.random.default_rng(2)
    one, two, three = random.uniform(0.1, 5.0, (3, 100_000))
    for name, arguments in (
        ("burn_loss_ratio", (one, two, three)),
        ("vertical_landing", (1.0 + one, two)),
        ("edelbaum", (one, two, 0.3 * three)),
        ("ballistic_hop_time", (one, 2.0 + two, three)),
    ):
        kernel = getattr(transfer, f"{name}_kernel")
        spent = elapsed(lambda kernel=kernel, arguments=arguments: broadcast(kernel, *arguments))
        print(f"{name}: {spent / one.size * 1e6:.3f} microseconds each")


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
    batch = count / spent
    print(f"one thread, random geometry: {batch / 1e6:.2f} million transfers/s")
    parts = np.array_split(rows, 2)

    def both() -> None:
        with ThreadPoolExecutor(2) as pool:
            jobs = [
                pool.submit(lambert.excess_speeds, sun, begin, part, end, part, flights[part])
                for part in parts
            ]
        for job in jobs:
            job.result()

    spent = elapsed(both)
    print(f"two threads, random geometry: {count / spent / 1e6:.2f} million transfers/s")
    for turns in (1, 3):
        spent = elapsed(
            lambda turns=turns: lambert.excess_speeds(
                sun, begin, rows, end, rows, flights * 5 * turns, turns, False, True
            )
        )
        print(f"one thread, {turns} full turns, retrograde: {count / spent / 1e6:.2f} million transfers/s")
    few = 2000
    spent = elapsed(lambda: [lambert.lambert(sun, begin[n, :3], end[n, :3], flights[n]) for n in range(few)])
    single = few / spent
    print(
        f"the same solver called one by one: {single:.0f} transfers/s; the batch is {batch / single:.0f} times faster"
    )
    kernels()


if __name__ == "__main__":
    main()
