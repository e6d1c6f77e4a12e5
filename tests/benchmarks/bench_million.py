"""Time and memory of one run of very many designs over every architecture; prints, never fails on a clock.

``python tests/benchmarks/bench_million.py [DESIGNS]``: a million unless given, with windows, analysis, files and
report. The study is the shipped tour with a finer sweep.
"""

from __future__ import annotations

import math
import os
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomlkit

from tradespace import report, sampling, sensitivity, sweep
from tradespace.results import Results
from tradespace.study import Study, parse_study

TOUR = Path(__file__).parents[2] / "studies" / "outer_belt_ice_tour.toml"
DESIGNS = 1_000_000


def asked(designs: int) -> Study:
    """The shipped tour with so many designs, or a few more."""
    text: Any = tomlkit.parse(TOUR.read_text(encoding="utf-8"))
    architectures = len(parse_study(TOUR.read_text(encoding="utf-8"), "bench").architectures)
    side = math.ceil(math.sqrt(designs / architectures))
    for name in text["sweep"]:
        text["sweep"][name]["count"] = side
    return parse_study(str(tomlkit.dumps(text)), "bench")


def peak() -> float:
    """Largest memory this process has held [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def timed_run(study: Study, folder: Path) -> list[str]:
    """Run the study into a folder; one line per step."""
    marks: dict[str, float] = {}

    def analysis(*arguments: Any) -> Any:
        marks["designs"] = time.perf_counter()
        found = sensitivity.analyse(*arguments)
        marks["analysis"] = time.perf_counter()
        return found

    def finish(results: Results, place: Path) -> None:
        report.write_report(results, place / "report.html")
        report.write_campaign(results, place / report.CSV_NAME)

    before, began, busy = peak(), time.perf_counter(), time.process_time()
    results = sweep.run(study, folder, analysis=analysis, finish=finish)
    end, busy = time.perf_counter(), time.process_time() - busy
    wall = end - began
    size = sum(path.stat().st_size for path in (folder / "designs").iterdir())
    closing = int(results.designs["closes"].sum())
    designs = len(results.designs)
    columns = "all" if results.whole is None else f"{len(results.designs.columns)} of {len(results.names)}"
    what = f"{designs} designs of {len(study.architectures)} architectures, {closing} close"
    effort = f"{wall:.1f} s, {busy:.1f} s of processor time on {os.cpu_count()} cores"
    before_and_main = (
        f"windows and engine {results.setup_seconds:.1f} s, designs and files {results.seconds:.1f} s"
    )
    spent = marks["analysis"] - marks["designs"]
    after = f"analysis {spent:.1f} s, report and the rest {end - marks['analysis']:.1f} s"
    return [
        f"{what}: {effort}; {designs / wall:.0f} designs a second",
        f"{before_and_main}, {after}",
        f"memory {peak():.0f} MB at most, {before:.0f} MB before; {columns} columns stay in memory",
        f"files {size / 1e6:.0f} MB, {size / designs:.0f} bytes a design, every column of every hop",
    ]


def main(arguments: Sequence[str]) -> None:
    """Print one line per step."""
    study = asked(int(arguments[0]) if arguments else DESIGNS)
    assert sampling.design_count(study) >= (int(arguments[0]) if arguments else DESIGNS)
    with tempfile.TemporaryDirectory() as folder:
        for line in timed_run(study, Path(folder) / "run"):
            print(line)


if __name__ == "__main__":
    main(sys.argv[1:])
