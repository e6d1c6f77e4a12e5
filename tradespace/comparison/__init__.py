"""The architectures side by side: who stands where, on what evidence, at what price, and who overtakes whom.

Three rooms: ``standing`` chooses the design that stands for an architecture and puts them in order, ``evidence`` says
what has been shown of each and marks what rests on assumption, ``table`` and ``pairs`` hold the numbers.
"""

from tradespace.comparison.evidence import (
    MARKS,
    SHOWN,
    Evidence,
    Shown,
    evidence_of,
    mark_words,
    refuels,
    title_of,
)
from tradespace.comparison.pairs import BreakEven, break_evens, route_delta_v
from tradespace.comparison.standing import Standing, first_shown, standing_design, standings
from tradespace.comparison.table import NUMBERS, Compared, Comparison, compare

__all__ = [
    "MARKS", "NUMBERS", "SHOWN", "BreakEven", "Compared", "Comparison", "Evidence", "Shown", "Standing", "break_evens",
    "compare", "evidence_of", "first_shown", "mark_words", "refuels", "route_delta_v", "standing_design",
    "standings", "title_of",
]  # fmt: skip
