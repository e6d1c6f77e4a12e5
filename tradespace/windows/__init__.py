"""Excess speeds of transfers against departure date, and the best transfer of an opportunity."""

from tradespace.windows.asymptote import departure_asymptote
from tradespace.windows.curve import window_curve
from tradespace.windows.search import Transfer, best_transfer, transfer_grid, transfer_on

__all__ = ["Transfer", "best_transfer", "departure_asymptote", "transfer_grid", "transfer_on", "window_curve"]
