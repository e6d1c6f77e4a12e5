"""Departure date against flight time: what the cheapest transfer of each cell costs, and where none counts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tradespace.catalogue import catalogue_row
from tradespace.constants import value
from tradespace.errors import TransferError
from tradespace.physics.compiled import FloatArray
from tradespace.windows.curve import flight_range
from tradespace.windows.kinds import KINDS, kind_table
from tradespace.windows.question import DEFAULTS, check_pair, coverage_mask
from tradespace.windows.search import transfer_grid


@dataclass(frozen=True)
class WindowMap:
    """Excess speeds over departure dates and flight times."""

    departure_body: str
    arrival_body: str
    departure: FloatArray
    """Departure dates, seconds past J2000, shape (n,)."""
    time_of_flight: FloatArray
    """Flight times [s], shape (m,)."""
    v_inf_departure: FloatArray
    """Speed relative to the departure body, far away [m/s], shape (n, m); NaN where no transfer counts."""
    v_inf_arrival: FloatArray
    """Speed relative to the arrival body, far away [m/s], shape (n, m); NaN where no transfer counts."""
    transfer_angle: FloatArray
    """Angle of a direct transfer in the sense of the planets [rad], shape (n, m); NaN where a date is not covered."""

    @property
    def v_inf_sum(self) -> FloatArray:
        """Sum of both speeds [m/s], shape (n, m)."""
        return self.v_inf_departure + self.v_inf_arrival

    @property
    def c3(self) -> FloatArray:
        """Characteristic energy of the departure [m2/s2], shape (n, m)."""
        return self.v_inf_departure**2


def window_map(
    departure_body: str,
    arrival_body: str,
    first: float,
    last: float,
    shortest: float | None = None,
    longest: float | None = None,
    kinds: Sequence[str] = KINDS[:1],
    columns: int | None = None,
    rows: int | None = None,
) -> WindowMap:
    """Cost of the cheapest transfer over a grid of departure dates and flight times.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    first, last : float
        First and last departure date, seconds past J2000.
    shortest, longest : float, optional
        Flight times [s], with the same defaults as :func:`window_curve`.
    kinds : sequence of str
        Kinds of transfer tried, see :func:`transfer_kinds`; the cheapest of them counts in each cell.
    columns, rows : int, optional
        Departure dates, and about so many flight times: they are spaced in step with the dates, so that landings
        coincide. Both ends are included.

    Returns
    -------
    WindowMap
        NaN within ``ridge_angle`` of half a turn, where the plane of the transfer stands up, where a body has no
        known position, and where no transfer exists.

    Raises
    ------
    TransferError
        If both bodies are the same or one is a moon, dates or flight times are reversed, the grid is empty or
        beyond measure, or no date of it is covered by both bodies.

    Examples
    --------
    >>> from tradespace.units import parse_date
    >>> dates = parse_date("2028-08-01"), parse_date("2029-04-01")
    >>> year = window_map("Earth", "Mars", *dates, columns=25, rows=13)
    >>> len(year.departure), f"{np.nanmin(year.c3) / 1e6:.1f} km2/s2"
    (25, '9.1 km2/s2')
    """
    check_pair(departure_body, arrival_body, first, last)
    columns = int(value("map_dates", DEFAULTS)) if columns is None else columns
    rows = int(value("map_flights", DEFAULTS)) if rows is None else rows
    most = int(value("map_cells", DEFAULTS))
    if not (columns >= 1 and rows >= 1 and columns * rows <= most):
        raise TransferError(
            f"a map of {columns} by {rows} cells makes no sense; give between 1 and {most} cells"
        )
    table, _ = kind_table(kinds)
    turns = int(table[:, 0].max())
    dates = np.linspace(first, last, columns)
    leaving = coverage_mask(departure_body, dates)
    meeting = coverage_mask(arrival_body, dates)
    if not (leaving & meeting).any():
        raise TransferError(
            f"{catalogue_row(departure_body)['name']} and {catalogue_row(arrival_body)['name']} have no known "
            "positions on any of these departure dates; choose other dates"
        )
    middle = float(dates[leaving & meeting][0])
    low, high = flight_range(departure_body, arrival_body, middle, shortest, longest, turns)
    flights = _flights(low, high, rows, (last - first) / max(columns - 1, 1))
    rows = len(flights)
    landings = coverage_mask(arrival_body, dates[:, None] + flights)
    known = leaving[:, None] & landings
    best = np.full((columns, rows, 2), math.nan)
    angles = np.full((columns, rows), math.nan)
    for turn, sense, low_path in table:
        prograde, path = bool(sense), "low" if low_path else "high"
        speeds, flown = transfer_grid(
            departure_body, arrival_body, dates, flights, int(turn), prograde, path, lenient=True
        )
        direct = np.where(prograde, flown - 2.0 * math.pi * turn, 2.0 * math.pi - flown % (2.0 * math.pi))
        angles = np.where(known, direct, math.nan)
        speeds[~known | on_the_ridge(direct)] = math.nan
        fresh, old = speeds.sum(axis=-1), best.sum(axis=-1)
        best = np.where((~(fresh >= old) & np.isfinite(fresh))[..., None], speeds, best)
    return WindowMap(
        catalogue_row(departure_body)["name"], catalogue_row(arrival_body)["name"], dates, flights,
        best[..., 0].copy(), best[..., 1].copy(), angles,
    )  # fmt: skip


def on_the_ridge(angles: FloatArray) -> NDArray[np.bool_]:
    """Whether angles lie so near to half a turn that the plane of the transfer stands up."""
    return np.asarray(np.abs(angles % (2.0 * math.pi) - math.pi) < value("ridge_angle", DEFAULTS))


def _flights(low: float, high: float, rows: int, step: float) -> FloatArray:
    """About so many flight times whose spacing is a whole multiple, or a whole part, of the date step."""
    if not high > low:
        return np.array([low])
    spacing = (high - low) / max(rows - 1, 1)
    if step > 0:
        spacing = step * round(spacing / step) if spacing > step else step / math.ceil(step / spacing - 1e-9)
    return np.append(np.arange(low, high, min(spacing, high - low)), high)
