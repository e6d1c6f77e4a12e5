"""Every figure for print: PDF and SVG, one and two columns wide, at their true size."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace.errors import OutputError
from tradespace.figures.export import NO_BROWSER, NO_KALEIDO, PIXELS_PER_MM
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


def write_pictures(drawn: Sequence[DrawnFigure], folder: Path, told: Told | None = None) -> list[Path]:
    """Draw every figure through a headless browser.

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
        If kaleido or a browser is missing, or a picture was not written.
    """
    try:
        import kaleido  # noqa: F401
    except ImportError as error:
        raise OutputError(NO_KALEIDO) from error
    work = []
    for place, key, copy, scale in pictures(drawn):
        (folder / place).mkdir(parents=True, exist_ok=True)
        work += [(copy, folder / place / f"{key}.{kind}", scale) for kind in KINDS]
    for begin in range(0, len(work), BATCH):
        if told is not None:
            told(begin, len(work))
        _draw(work[begin : begin + BATCH])
    for _, path, _ in work:
        if path.suffix == ".svg":
            set_size(path, WIDTHS[path.parent.name])
    if told is not None:
        told(len(work), len(work))
    return [path for _, path, _ in work]


def _draw(work: Sequence[tuple[Any, Path, float]]) -> None:
    import plotly.io as pio

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            pio.write_images(
                [copy for copy, _, _ in work],
                [str(path) for _, path, _ in work],
                width=[float(copy.layout.width) for copy, _, _ in work],
                height=[float(copy.layout.height) for copy, _, _ in work],
                scale=[scale for _, _, scale in work],
            )
    except RuntimeError as error:
        if "chrome" in str(error).lower():
            raise OutputError(NO_BROWSER) from error
        raise OutputError(f"the figures could not be drawn: {str(error).splitlines()[0]}") from error
    missing = [path.name for _, path, _ in work if not path.is_file() or path.stat().st_size == 0]
    if missing:
        raise OutputError(f"the browser wrote no file for {', '.join(missing)}; try again")


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
