"""Lambert's problem: the orbit that joins two places in a given time."""

from tradespace.physics.lambert.kernels import COLUMNS, lambert_kernel, lambert_rows_kernel
from tradespace.physics.lambert.solve import excess_speeds, lambert

__all__ = ["COLUMNS", "excess_speeds", "lambert", "lambert_kernel", "lambert_rows_kernel"]
