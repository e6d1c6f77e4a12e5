"""Figures as files: an HTML fragment for a page, PDF and SVG for print, CSV for anyone else's plot."""

from __future__ import annotations

import csv
import warnings
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import plotly.graph_objects as go
from plotly.io.json import to_json_plotly

from tradespace.errors import OutputError, unknown_name
from tradespace.figures.registry import DrawnFigure, draw_figures
from tradespace.figures.style import wrapped

if TYPE_CHECKING:
    from tradespace.results import Results

FORMATS = ("pdf", "svg", "csv")
NO_BROWSER = (
    "PDF and SVG figures need Chrome or Chromium, and none was found: install one (Debian and Ubuntu: "
    "'apt install chromium'; anywhere: 'plotly_get_chrome') or name it in BROWSER_PATH; CSV needs no browser"
)
NO_KALEIDO = (
    "PDF and SVG figures need the export extra: pip install 'tradespace[export]'; CSV needs nothing more"
)
DEFAULT_HEIGHT = 450  # px, that of the drawing library
PATIENCE = 300.0
"""Longest time for one figure on a busy machine [s]."""
PIXELS_PER_MM = 5.6
"""Drawing units per printed millimetre: 13 units of type become about 6.6 points [px/mm]."""


CONFIG = {
    "displaylogo": False,
    "responsive": True,
    "plotlyServerURL": "",
    "showLink": False,
    "modeBarButtonsToRemove": ["lasso2d", "select2d", "autoScale2d"],
}


def html_fragment(drawn: DrawnFigure) -> str:
    """The figure as a piece of a page that holds the drawing script and draws it when it comes into view."""
    key, height = f"plot-{drawn.key}", int(drawn.figure.layout.height or DEFAULT_HEIGHT)
    content = {**drawn.figure.to_dict(), "config": CONFIG}
    return (
        f'<div id="{key}" class="plotly-graph-div" style="height:{height}px; width:100%;"></div>'
        f'<script type="application/json" data-plot="{key}">{to_json_plotly(content)}</script>'
    )


def table_rows(figure: go.Figure) -> Iterable[tuple[Any, ...]]:
    """The data of every trace as rows: trace, axis names, x, y, what the value is, value, where a bar "
    "begins.
    """
    for trace in figure.data:
        meta = trace.meta or {}
        if meta.get("drawing_only"):
            continue
        x_title, y_title = axis_names(figure, trace)
        x, y = (list(np.asarray(side).tolist()) for side in (trace.x, trace.y))
        if "z" in trace and trace.z is not None:
            field = np.asarray(trace.z, dtype=np.float64)
            field = 10.0**field if meta.get("logarithm") else field
            for line, one in enumerate(y):
                for column, other in enumerate(x):
                    words = (
                        trace.text[line][column] if trace.text is not None else f"{field[line, column]:.5g}"
                    )
                    yield trace.name, x_title, y_title, other, one, meta.get("value", ""), words, ""
            continue
        base = (
            []
            if getattr(trace, "base", None) is None
            else list(np.atleast_1d(np.asarray(trace.base)).tolist())
        )
        for place, (other, one) in enumerate(zip(x, y, strict=True)):
            yield trace.name, x_title, y_title, other, one, "", "", base[place] if place < len(base) else ""


def axis_names(figure: go.Figure, trace: Any) -> tuple[str, str]:
    """Titles of the axes of a trace, or of the axis they follow."""
    names = []
    for side in ("x", "y"):
        key = getattr(trace, f"{side}axis", None) or side
        axis = figure.layout[f"{side}axis{key[1:]}"]
        titles = (
            [axis.title.text, *(other.title.text for other in figure.select_xaxes())]
            if side == "x"
            else [axis.title.text, *(other.title.text for other in figure.select_yaxes())]
        )
        names.append(next((title for title in titles if title), ""))
    return names[0], names[1]


def write_csv(drawn: DrawnFigure, path: Path) -> None:
    """The data behind a figure, with its caption and source as comment lines."""
    with path.open("w", newline="", encoding="utf-8") as handle:
        for line in (drawn.title, drawn.caption, drawn.source):
            handle.write("# " + " ".join(line.split()) + "\n")
        writer = csv.writer(handle)
        writer.writerow(["trace", "x_axis", "y_axis", "x", "y", "value_of", "value", "bar_begins_at"])
        writer.writerows(table_rows(drawn.figure))


def printable(drawn: DrawnFigure) -> go.Figure:
    """A copy with title and source inside the drawing, sized for print."""
    copy = go.Figure(drawn.figure)
    width = round(drawn.width * PIXELS_PER_MM)
    height = float(copy.layout.height or 450)
    room = 100 if width < 600 else 60  # a narrow legend takes more lines
    top, bottom = room + float(copy.layout.margin.t or 50), 46 + float(copy.layout.margin.b or 60)
    copy.update_layout(
        width=width,
        height=height + 46 + room,
        margin={"t": top, "b": bottom},
        title={
            "text": wrapped(drawn.title, width // 8),
            "x": 0.01,
            "y": 0.99,
            "yanchor": "top",
            "font": {"size": 16},
        },
    )
    copy.add_annotation(
        text=wrapped(drawn.source, width // 7),
        xref="paper",
        yref="paper",
        x=0,
        y=0,
        yshift=4 - bottom,
        xanchor="left",
        yanchor="bottom",
        showarrow=False,
        align="left",
        font={"size": 10},
    )
    return copy


def write_images(drawn: Sequence[DrawnFigure], folder: Path, formats: Sequence[str]) -> list[Path]:
    """PDF or SVG through a headless browser.

    Raises
    ------
    OutputError
        If no browser is on the machine, or a file was not written.
    """
    work = [(printable(item), folder / f"{item.key}.{kind}", 1.0) for item in drawn for kind in formats]
    draw_files(work)
    return [path for _, path, _ in work]


def draw_files(work: Sequence[tuple[go.Figure, Path, float]]) -> None:
    """Draw figures into files through one headless browser, which asks nothing of the network.

    Parameters
    ----------
    work : sequence of tuple
        Figure with its width and height, file whose ending names the format, and scale.

    Raises
    ------
    OutputError
        If kaleido or a browser is missing, or a file was not written.
    """
    if not work:
        return
    try:
        import kaleido
        from kaleido.errors import ChromeNotFoundError
    except ImportError as error:
        raise OutputError(NO_KALEIDO) from error
    asked = [
        {
            "fig": figure.to_dict(),
            "path": path,
            "opts": {
                "format": path.suffix.removeprefix("."),
                "width": float(figure.layout.width),
                "height": float(figure.layout.height),
                "scale": scale,
            },
        }
        for figure, path, scale in work
    ]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            kaleido.write_fig_from_object_sync(asked, kopts={"mathjax": False, "timeout": PATIENCE})
    except ChromeNotFoundError as error:
        raise OutputError(NO_BROWSER) from error
    except (RuntimeError, TimeoutError, OSError) as error:
        lines = str(error).splitlines() or ["the browser took too long"]
        raise OutputError(f"the figures could not be drawn for print: {lines[0]}") from error
    missing = [path.name for _, path, _ in work if not path.is_file() or path.stat().st_size == 0]
    if missing:
        raise OutputError(f"the browser wrote no file for {', '.join(missing)}; try again, or ask for csv")


def write_figures(results: Results, folder: Path, formats: Sequence[str]) -> list[Path]:
    """Write every figure that applies into a folder.

    Parameters
    ----------
    results : Results
        What to draw.
    folder : Path
        Made if it is missing.
    formats : sequence of str
        Any of ``pdf``, ``svg``, ``csv``; CSV is written first, whatever becomes of the others.

    Raises
    ------
    UnknownNameError
        If a format is none of these.
    OutputError
        If the folder cannot be written, or no browser is on the machine for PDF and SVG.
    """
    for kind in formats:
        if kind not in FORMATS:
            raise unknown_name("figure format", kind, FORMATS)
    drawn = list(draw_figures(results))
    images = [kind for kind in formats if kind != "csv"]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        written = [folder / f"{item.key}.csv" for item in drawn] if "csv" in formats else []
        for item, path in zip(drawn, written, strict=False):
            write_csv(item, path)
    except OSError as error:
        raise OutputError(f"cannot write figures into {folder}: {error.strerror or error}") from error
    return written + (write_images(drawn, folder, images) if images and drawn else [])
