"""The designs that stand for the architectures, opened up; shared by the figures of cell, engine and energy."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from tradespace.comparison import standing_design, standings
from tradespace.comparison.standing import remembered
from tradespace.evaluate.devices import Opened, opened, splits

if TYPE_CHECKING:
    from tradespace.results import Results


@remembered
def inside(results: Results, architecture: str) -> Opened | None:
    """The design that stands for an architecture, evaluated once more with all that lies inside it; None if none."""
    row, _ = standing_design(results, architecture)
    if row is None:
        return None
    chosen = {
        variable.name: float(row[variable.name])
        for variable in results.study.sweep
        if variable.name in row.index and math.isfinite(float(row[variable.name]))
    }
    return opened(results.study, results.mission, architecture, chosen)


def ranked(results: Results) -> list[tuple[str, Opened]]:
    """Every architecture that has a design to open, best first."""
    found = [(one.name, inside(results, one.name)) for one in standings(results)]
    return [(name, one) for name, one in found if one is not None]


def first_that_splits(results: Results) -> tuple[str, Opened] | None:
    """The best architecture whose craft splits water."""
    return next(((name, one) for name, one in ranked(results) if splits(one)), None)


def burning(results: Results) -> list[tuple[str, Opened]]:
    """Architectures that burn the gases of split water, best first."""
    return [(name, one) for name, one in ranked(results) if one.architecture.thruster.feed == "gases"]
