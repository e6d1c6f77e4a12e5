"""Which bodies in which order: a beam search over partial tours of one craft, every hop flown by the campaign.

The search is in :mod:`tradespace.tour.search`; what it is asked and what it answers stand here.
"""

from tradespace.tour.model import MERITS, Aim, Chart, Found, Level, Nearest, Tour

__all__ = ["MERITS", "Aim", "Chart", "Found", "Level", "Nearest", "Tour"]
