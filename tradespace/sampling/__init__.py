"""Which designs a study asks about, and draws of its uncertain inputs."""

from tradespace.sampling.designs import (
    CHUNK,
    chunks,
    design_count,
    design_grid,
    designs_between,
    designs_per_architecture,
)
from tradespace.sampling.distributions import cumulative_share, quantile
from tradespace.sampling.drawing import draws
from tradespace.sampling.points import unit_points

__all__ = [
    "CHUNK",
    "chunks",
    "cumulative_share",
    "design_count",
    "design_grid",
    "designs_between",
    "designs_per_architecture",
    "draws",
    "quantile",
    "unit_points",
]
