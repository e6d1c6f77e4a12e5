"""Figures: one decorated function each, from Results to a drawing with a caption."""

from tradespace.figures import (
    calendar,
    cells,
    certainty,
    chance_maps,
    comparing,
    crossing,
    departures,
    designs,
    driving,
    energy,
    engines,
    fronts,
    heliocentric,
    improvements,
    maps,
    moving,
    power,
    reach,
    states,
    tours,
    waterfall,
    windows,
)
from tradespace.figures.export import FORMATS, html_fragment, write_figures
from tradespace.figures.registry import DrawnFigure, FigureKind, draw_figures, figure, figures

ROOMS = (
    maps,
    certainty,
    chance_maps,
    power,
    energy,
    cells,
    engines,
    moving,
    driving,
    improvements,
    designs,
    reach,
    fronts,
    calendar,
    departures,
    states,
    heliocentric,
    windows,
    crossing,
    comparing,
    waterfall,
    tours,
)
"""Modules whose figures are registered by being imported."""

__all__ = [
    "FORMATS",
    "ROOMS",
    "DrawnFigure",
    "FigureKind",
    "draw_figures",
    "figure",
    "figures",
    "html_fragment",
    "write_figures",
]
