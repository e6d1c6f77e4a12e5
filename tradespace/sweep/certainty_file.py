"""How sure a run is of its answer, written beside its evidence and read back."""

from __future__ import annotations

import json
from pathlib import Path

from tradespace.results import CERTAINTY, Certainty
from tradespace.sweep.parts import read_parquet, write_parquet

SUMMARY = "certainty.json"
NUMBERS = ("asked", "samples", "evaluated")


def write_certainty(found: Certainty | None, evidence: Path) -> None:
    """Write the tables of how sure a run is; nothing where that was not worked out."""
    if found is None:
        return
    for name in CERTAINTY:
        write_parquet(getattr(found, name), evidence / f"certainty_{name}.parquet")
    numbers = {name: getattr(found, name) for name in NUMBERS}
    (evidence / SUMMARY).write_text(json.dumps(numbers) + "\n", encoding="utf-8")


def read_certainty(evidence: Path) -> Certainty | None:
    """How sure a run is; None where that was not worked out."""
    if not (evidence / SUMMARY).is_file():
        return None
    numbers = json.loads((evidence / SUMMARY).read_text(encoding="utf-8"))
    tables = [read_parquet(evidence / f"certainty_{name}.parquet") for name in CERTAINTY]
    return Certainty(float(numbers["asked"]), int(numbers["samples"]), int(numbers["evaluated"]), *tables)
