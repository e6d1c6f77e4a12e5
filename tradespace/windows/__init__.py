"""Excess speeds of transfers against departure date, and the best transfer of an opportunity."""

from tradespace.windows.asymptote import departure_asymptote
from tradespace.windows.cache import cache_folder, clear_cache
from tradespace.windows.curve import flight_range, window_curve
from tradespace.windows.kinds import KINDS, transfer_kinds
from tradespace.windows.mapping import WindowMap, on_the_ridge, window_map
from tradespace.windows.opportunity import Opportunity, opportunities
from tradespace.windows.pairs import PairCurves, all_pairs
from tradespace.windows.question import check_pair
from tradespace.windows.search import Transfer, best_transfer, transfer_grid, transfer_on

__all__ = [
    "KINDS",
    "Opportunity",
    "PairCurves",
    "Transfer",
    "WindowMap",
    "all_pairs",
    "best_transfer",
    "cache_folder",
    "check_pair",
    "clear_cache",
    "departure_asymptote",
    "flight_range",
    "on_the_ridge",
    "opportunities",
    "transfer_grid",
    "transfer_kinds",
    "transfer_on",
    "window_curve",
    "window_map",
]
