"""Figures of a bench as blocks of a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tradespace.figures import DrawnFigure
from tradespace.report.page import Markup, figure_block

if TYPE_CHECKING:
    import plotly.graph_objects as go

WIDTH = 85
TITLES = {
    "thrust_bounds": "Thrust against what its flow can give at most",
    "gas_rates": "The gas rate by every way, and reconciled",
    "cell_curve": "Voltage of a cell, and what it is made of",
    "power_flow": "Where each watt went",
    "calibrated_values": "What the readings say of each number",
    "bench_standing": "The same design with catalogue and bench",
    "bench_exchange": "What a tenth of each loss removed would buy",
}
"""Figures with their headings."""


def block(key: str, drawn: go.Figure | None, source: str) -> list[Markup]:
    """A figure under its heading; nothing where there is nothing to draw."""
    if drawn is None:
        return []
    caption = str((drawn.layout.meta or {}).get("caption", ""))
    return [figure_block(DrawnFigure(key, TITLES[key], "bench", drawn, caption, source, WIDTH))]
