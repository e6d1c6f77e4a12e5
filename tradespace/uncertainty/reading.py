"""Reading the tables of how sure a study is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

Key = tuple[str, str]
"""Architecture and calendar."""


def percentiles_of(
    table: pd.DataFrame, metric: str, among: str, shares: Sequence[float]
) -> dict[Key, list[float]]:
    """One figure at some shares of the draws, by architecture and calendar [SI].

    Parameters
    ----------
    table : DataFrame
        The percentiles.
    metric : str
        The figure.
    among : str
        ``all`` draws, or those that are ``closing``.
    shares : sequence of float
        Each at the tabulated share nearest to it [1].
    """
    rows = table[(table["metric"] == metric) & (table["among"] == among)]
    found: dict[Key, list[float]] = {}
    for key, part in rows.groupby(["architecture", "calendar"], sort=False):
        at, values = (part[name].to_numpy(dtype=np.float64) for name in ("share", "value"))
        found[str(key[0]), str(key[1])] = [float(values[np.argmin(np.abs(at - one))]) for one in shares]
    return found
