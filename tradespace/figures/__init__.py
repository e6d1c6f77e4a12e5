"""Figures: one decorated function each, from Results to a drawing with a caption."""

from tradespace.figures import maps as _maps
from tradespace.figures import moving as _moving
from tradespace.figures import designs as _designs
from tradespace.figures import calendar as _calendar
from tradespace.figures import crossing as _crossing
from tradespace.figures.export import html_fragment, write_figures
from tradespace.figures.registry import DrawnFigure, FigureKind, draw_figures, figure, figures

__all__ = ["DrawnFigure", "FigureKind", "draw_figures", "figure", "figures", "html_fragment", "write_figures"]
