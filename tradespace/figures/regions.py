"""Words on the regions of a map, so that they are told apart in grey as well."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace.figures import style

if TYPE_CHECKING:
    import plotly.graph_objects as go
    from numpy.typing import NDArray

NAMED = 0.04
"""Share of a map from which a region has room for a word [1]."""


def middle_cell(region: NDArray[np.bool_]) -> tuple[int, int]:
    """Line and column of the cell of a region nearest to the middle of its cells.

    Parameters
    ----------
    region : ndarray of bool, shape (y, x)
        With one cell at least.

    Examples
    --------
    >>> middle_cell(np.array([[True, True, True], [True, False, False]]))
    (0, 1)
    """
    lines, columns = np.nonzero(region)
    away = (lines - lines.mean()) ** 2 + (columns - columns.mean()) ** 2
    nearest = int(np.argmin(away))
    return int(lines[nearest]), int(columns[nearest])


def name_region(
    drawn: go.Figure,
    cells: tuple[Any, Any],
    logarithmic: tuple[bool, bool],
    region: NDArray[np.bool_],
    words: str,
    spot: dict[str, int],
) -> None:
    """Write a word on a region of a panel, if it is large enough.

    Parameters
    ----------
    drawn : Figure
        To which the word is added.
    cells : tuple of array_like
        Middles of the cells along both axes, as drawn.
    logarithmic : tuple of bool
        Whether each axis is; annotations want the logarithm there.
    region : ndarray of bool, shape (y, x)
        Its cells.
    words : str
        Escaped text.
    spot : dict
        Row and column of the panel.
    """
    if float(region.mean()) < NAMED:
        return
    line, column = middle_cell(region)
    x, y = (
        float(np.log10(value)) if log else float(value)
        for value, log in zip((cells[0][column], cells[1][line]), logarithmic, strict=True)
    )
    drawn.add_annotation(
        x=x, y=y, text=words, showarrow=False, bgcolor="rgba(255,255,255,0.75)", borderpad=1,
        font={"size": 11, "color": style.INK}, **spot,
    )  # fmt: skip
