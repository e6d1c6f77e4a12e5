"""Departure curves of all ordered pairs of candidates."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from tradespace.errors import TradespaceError, TransferError
from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from tradespace.study import Study

PairProgress = Callable[[int, int], None]
"""Called with pairs done and pairs in all."""


def pair_curves(
    study: Study, names: tuple[str, ...], progress: PairProgress | None = None
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """The cheapest transfer of each departure date of a study for all ordered pairs of bodies.

    Parameters
    ----------
    study : Study
        For its dates and flight times.
    names : tuple of str
        Bodies, b of them.
    progress : callable, optional
        Called now and then with pairs done and pairs in all.

    Returns
    -------
    tuple of ndarray
        Departure dates (d,), excess speeds at departure and at arrival and flight times (b, b, d); NaN where there is
        no transfer.

    Raises
    ------
    TransferError
        If no pair has any.
    """
    from tradespace import windows

    if study.flight_time is None:
        raise TransferError(f"study {study.name} gives no flight times, so there are no departure curves")
    count, pairs = len(names), len(names) * (len(names) - 1)
    dates: FloatArray | None = None
    tables: list[FloatArray] = []
    done = 0
    for place, here in enumerate(names):
        for other, there in enumerate(names):
            if place == other:
                continue
            done += 1
            try:
                curve = windows.window_curve(here, there, study.start_date, study.horizon, *study.flight_time)
            except TradespaceError:
                continue
            if dates is None:
                dates = curve.departure
                tables = [np.full((count, count, dates.size), np.nan) for _ in range(3)]
            for table, column in zip(
                tables, (curve.v_inf_departure, curve.v_inf_arrival, curve.time_of_flight), strict=True
            ):
                table[place, other, : column.size] = column
            if progress is not None:
                progress(done, pairs)
    if dates is None:
        raise TransferError("no pair of the candidates has a transfer with the flight times allowed")
    return dates, tables[0], tables[1], tables[2]
