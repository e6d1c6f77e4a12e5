"""Which designs a study asks about, and draws of its uncertain inputs."""

from tradespace.sampling.designs import (
    CHUNK,
    baseline,
    chunks,
    design_count,
    design_grid,
    designs_between,
    designs_per_architecture,
    plan_words,
    swept_words,
)
from tradespace.sampling.distributions import cumulative_share, distribution_words, quantile
from tradespace.sampling.drawing import draws
from tradespace.sampling.points import unit_points

__all__ = [
    "CHUNK",
    "baseline",
    "chunks",
    "cumulative_share",
    "design_count",
    "design_grid",
    "designs_between",
    "designs_per_architecture",
    "distribution_words",
    "draws",
    "plan_words",
    "quantile",
    "swept_words",
    "unit_points",
]
