"""Every figure for print: PDF and SVG, one and two columns wide, at their true size."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tradespace.errors import OutputError
from tradespace.figures.export import NO_BROWSER, NO_KALEIDO, PIXELS_PER_MM, draw_files
from tradespace.paper.narrow import narrowed

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from tradespace.figures import DrawnFigure

WIDTHS = {"single": 85, "double": 175}
"""Printed width of a figure by folder [mm]."""
KINDS = ("pdf", "svg")
PER_MILLIMETRE = 96.0 / 25.4
"""Units of a browser's picture per printed millimetre: 96 to the inch, by the style sheets of the web."""
TALL = 450
"""Height of a figure that does not state its own [px]."""
BATCH = 24
"""Pictures drawn in one call of the browser."""
SIZE = re.compile(r'(<svg\b[^>]*?) width="[^"]*" height="[^"]*"')
Told = Callable[[int, int], None]
Work = tuple["go.Figure", Path, float]
"""A drawing, the file it goes into, and its scale."""


def pictures(drawn: Sequence[DrawnFigure]) -> Iterator[tuple[str, str, go.Figure, float]]:
    """Folder, name, drawing and scale of every figure at both widths; in one column a figure may take several.

    The scale turns the drawing's own units into the printed width at the resolution of a screen.
    """
    for item in drawn:
        for folder, width in WIDTHS.items():
            across = float(round(width * PIXELS_PER_MM))
            parts = narrowed(item.figure, width, across)
            for place, copy in enumerate(parts, start=1):
                copy.update_layout(width=across, height=float(copy.layout.height or TALL))
                name = item.key if len(parts) == 1 else f"{item.key}_{place}"
                yield folder, name, copy, width * PER_MILLIMETRE / across


@dataclass(frozen=True)
class Written:
    """Pictures that were drawn, and those that could not be."""

    files: tuple[Path, ...]
    failed: dict[str, str]
    """Key of a figure and why one of its pictures is missing."""


def write_pictures(drawn: Sequence[DrawnFigure], folder: Path, told: Told | None = None) -> Written:
    """Draw every figure through a headless browser; one that cannot be drawn does not stop the others.

    Parameters
    ----------
    drawn : sequence of DrawnFigure
        What to draw.
    folder : Path
        ``single`` and ``double`` are made below it.
    told : callable, optional
        Called now and then with pictures done and pictures in all.

    Raises
    ------
    OutputError
        If kaleido or a browser is missing.
    """
    work: list[Work] = []
    owners: dict[Path, str] = {}
    for item in drawn:
        for place, name, copy, scale in pictures([item]):
            (folder / place).mkdir(parents=True, exist_ok=True)
            for kind in KINDS:
                path = folder / place / f"{name}.{kind}"
                owners[path] = item.key
                work.append((copy, path, scale))
    failed: dict[str, str] = {}
    for begin in range(0, len(work), BATCH):
        if told is not None:
            told(begin, len(work))
        failed |= {owners[path]: words for path, words in draw_batch(work[begin : begin + BATCH]).items()}
    files = [path for _, path, _ in work if path.is_file()]
    for path in files:
        if path.suffix == ".svg":
            set_size(path, WIDTHS[path.parent.name])
    if told is not None:
        told(len(work), len(work))
    return Written(tuple(files), failed)


def draw_batch(work: Sequence[Work]) -> dict[Path, str]:
    """Draw some pictures in one go, or one by one where that fails; gives those that failed alone.

    Raises
    ------
    OutputError
        If kaleido or a browser is missing.
    """
    try:
        draw_files(work)
        return {}
    except OutputError as error:
        if str(error) in {NO_BROWSER, NO_KALEIDO}:
            raise
        if len(work) == 1:
            return {work[0][1]: str(error)}
    failed: dict[Path, str] = {}
    for one in work:
        if not one[1].is_file():
            failed |= draw_batch([one])
    return failed


def set_size(path: Path, width: float) -> None:
    """Give an SVG its printed size in millimetres; its drawing stays as it is."""
    text = path.read_text(encoding="utf-8")
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text)
    if box is None:
        return
    height = width * float(box.group(2)) / float(box.group(1))
    path.write_text(
        SIZE.sub(rf'\1 width="{width:g}mm" height="{height:.2f}mm"', text, count=1), encoding="utf-8"
    )
