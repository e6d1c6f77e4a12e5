"""Figures of a bench: its readings, what they leave open, where the power went, and what that does for a mission.

They are drawn of records, not of a run, so they stand outside the list of figures that a report draws.
"""

from tradespace.figures.bench.carried import bench_exchange, bench_standing
from tradespace.figures.bench.cell import cell_curve
from tradespace.figures.bench.flow import power_flow
from tradespace.figures.bench.gas import gas_rates
from tradespace.figures.bench.thrust import thrust_bounds
from tradespace.figures.bench.values import calibrated_values

__all__ = [
    "bench_exchange",
    "bench_standing",
    "calibrated_values",
    "cell_curve",
    "gas_rates",
    "power_flow",
    "thrust_bounds",
]
