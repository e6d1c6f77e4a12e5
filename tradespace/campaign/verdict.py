"""The tightest link of a whole route, for many designs."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.campaign.records import HOP, MARGINS
from tradespace.physics.compiled import FloatArray, kernel

FIRST = len(HOP.names or ()) - len(MARGINS)


@kernel
def fill_least(table: Any, first: int, least: Any, places: Any) -> None:
    """Fill the least margin of every design and its place among hops and links, the earlier where two are equal.

    ``table`` holds all fields of the hop records, shape (n, hops, fields); the margins begin at ``first``.
    """
    links = table.shape[2] - first
    for row in range(table.shape[0]):
        lowest, place = table[row, 0, first], 0
        for hop in range(table.shape[1]):
            for link in range(links):
                if table[row, hop, first + link] < lowest:
                    lowest, place = table[row, hop, first + link], hop * links + link
        least[row], places[row] = lowest, place


def least_margins(hops: np.ndarray) -> tuple[FloatArray, np.ndarray]:
    """Least margin of every design, and its place counted through the links of the first hop, then of the second.

    Parameters
    ----------
    hops : ndarray of HOP, shape (n, hops)
        As the campaign fills them.

    Returns
    -------
    tuple
        Margins [1] and places, both of shape (n,).
    """
    least, places = np.empty(len(hops)), np.zeros(len(hops), dtype=np.int64)
    fill_least(np.ascontiguousarray(hops).view(np.float64).reshape(*hops.shape, -1), FIRST, least, places)
    return least, places
