"""Time and memory of reading an orbit catalogue of many lines; prints, never fails on a clock.

python tests/benchmarks/bench_import.py 1400000
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from orbit_files import HEADER, line

from tradespace.bodies.found import Keep
from tradespace.bodies.importing import import_file
from tradespace.bodies.packed import packed

LINES = 100_000
DISTINCT = 5000


def invented(path: Path, count: int) -> None:
    """A file of invented orbits; numbers run on, elements repeat."""
    random = np.random.default_rng(0)
    shapes = [
        line("?", name="", a=a, e=e, h=f"{h:5.2f}")[7:]
        for a, e, h in zip(
            random.uniform(2.1, 3.5, DISTINCT), random.uniform(0, 0.3, DISTINCT), random.uniform(9, 19, DISTINCT),
            strict=True,
        )
    ]  # fmt: skip
    with path.open("w", encoding="ascii") as handle:
        handle.write(HEADER)
        for number in range(1, count + 1):
            handle.write(f"{packed(str(number)):<7s}{shapes[number % DISTINCT]}\n")


def main() -> None:
    """Write the file, read it with filters, print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else LINES
    with tempfile.TemporaryDirectory() as folder:
        os.environ["TRADESPACE_CATALOGUE"] = str(Path(folder) / "own")
        path = Path(folder) / "MPCORB.DAT"
        invented(path, count)
        clock, wall = time.process_time(), time.perf_counter()
        unit = 149_597_870_700.0
        done = import_file(path, keep=Keep(near=3.1 * unit, within=0.1 * unit, largest_magnitude=9.5))
        clock, wall = time.process_time() - clock, time.perf_counter() - wall
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        print(
            f"{done.lines.seen} lines, {path.stat().st_size / 1e6:.0f} MB: {wall:.1f} s ({clock:.1f} s of one core), "
            f"{memory:.0f} MB, {len(done.added)} bodies kept"
        )


if __name__ == "__main__":
    main()
