"""Which points of a file of readings are kept, and one clear line for each kind of fault."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from tradespace.bench.channels import FLOWS, Channel, channels
from tradespace.bench.raw import Raw
from tradespace.constants import value
from tradespace.physics.compiled import FloatArray

BoolArray = NDArray[np.bool_]
VALUES = "bench_reading_values.csv"
SUSPECT_GAUGE = "suspect: gauge pressure given as absolute"


def points_kept(raw: Raw, columns: Mapping[str, FloatArray]) -> BoolArray:
    """Which points are kept; the remarks of ``raw`` say why the others are not.

    Parameters
    ----------
    raw : Raw
        The file, for its lines.
    columns : mapping
        Channel to values [SI], pressures absolute.
    """
    keep = np.ones(raw.rows.size, dtype=bool)
    if raw.left_out:
        raw.remarks.append(
            f"{_points(len(raw.left_out))} left out, cells are missing (first in line {min(raw.left_out)})"
        )
    for bad, words in _faults(columns, keep):
        fresh = bad & keep
        if fresh.any():
            first = int(np.flatnonzero(fresh)[0])
            said = words.format(*_worst(columns, words, first)) if "{" in words else words
            raw.remarks.append(
                f"{_points(int(fresh.sum()))} left out, {said} (first in line {raw.rows[first]:.0f})"
            )
            keep &= ~bad
    return keep


def _points(count: int) -> str:
    return f"{count} point" + ("" if count == 1 else "s")


def _worst(columns: Mapping[str, FloatArray], words: str, first: int) -> tuple[str]:
    """The first offending value with its unit."""
    channel = channels()[words.split(maxsplit=1)[0]]
    return (channel.shown(float(columns[channel.name][first])),)


def _faults(columns: Mapping[str, FloatArray], keep: BoolArray) -> Iterator[tuple[BoolArray, str]]:
    """Each kind of fault: at which points, and in words."""
    listed = [c for name, c in columns.items() if channels()[name].kind == "reading" and name != "time"]
    if any(np.isfinite(column).any() for column in listed):
        yield ~np.any([np.isfinite(column) for column in listed], axis=0), "nothing was read"
    for name in FLOWS:
        if name in columns:
            yield columns[name] <= 0.0, f"{name} is zero or negative ({{}})"
    for name, column in columns.items():
        yield (
            _outside(channels()[name], column),
            f"{name} is out of bounds ({{}}; allowed {channels()[name].bounds})",
        )
    if "time" in columns:
        time = np.where(keep & np.isfinite(columns["time"]), columns["time"], -np.inf)
        yield columns["time"] < np.maximum.accumulate(time), "time goes backwards ({})"
    for name, column in columns.items():
        if channels()[name].kind == "reading" and name != "time":
            yield (
                resting(column, keep)[0],
                f"{name} rests at its largest value ({{}}), as a clipped sensor does",
            )


def _outside(channel: Channel, column: FloatArray) -> BoolArray:
    slack = 1e-9 * max(abs(channel.low), abs(channel.high))
    bad = (column < channel.low - slack) | (column > channel.high + slack)
    if channel.name == "lit":
        bad |= np.isfinite(column) & (column != 0.0) & (column != 1.0)
    return np.asarray(bad)


def resting(column: FloatArray, keep: BoolArray) -> tuple[BoolArray, BoolArray]:
    """Points of a channel that rest at its largest value although it varies everywhere else.

    Parameters
    ----------
    column : ndarray, shape (n,)
        Readings.
    keep : ndarray, shape (n,)
        Points to look at.

    Returns
    -------
    clipped, held : ndarray, shape (n,)
        Where the noise around shows that no real signal rests so, and where it may be held there.

    Examples
    --------
    >>> read = np.array([1.0, 2.3, 1.2, 3.1, 2.2, 3.5, 3.5, 3.5, 3.5, 3.5, 3.5, 2.9, 1.1, 2.4])
    >>> [int(found.sum()) for found in resting(read, np.ones(14, dtype=bool))]
    [6, 0]
    """
    clipped, held = np.zeros(column.size, dtype=bool), np.zeros(column.size, dtype=bool)
    places = np.flatnonzero(keep & np.isfinite(column))
    shortest = int(value("clipped_run", VALUES))
    read = column[places]
    if np.unique(read).size < 4 or np.count_nonzero(read == read.max()) < shortest:
        return clipped, held
    begins = np.flatnonzero(np.diff(read, prepend=np.nan) != 0.0)
    lengths = np.diff(begins, append=read.size)
    high = read[begins] == read.max()
    others = lengths[~high].max(initial=1)
    long = high & (lengths >= max(shortest, value("clipped_over_other_runs", VALUES) * others))
    changes = np.abs(np.diff(read))
    step = changes[changes > 0.0].min()
    for begin, length in zip(begins[long], lengths[long], strict=True):
        before = changes[max(begin - 2 * shortest, 0) : max(begin - 1, 0)]
        near = np.concatenate([before, changes[begin + length : begin + length + 2 * shortest]])
        noisy = bool(near.size) and near.mean() >= value("clipped_noise", VALUES) * step
        (clipped if noisy else held)[places[begin : begin + length]] = True
    return clipped, held


def held_readings(raw: Raw, columns: Mapping[str, FloatArray], keep: BoolArray) -> None:
    """Remark readings that rest at the top without noise to tell a clipped sensor from a steady signal."""
    for name, column in columns.items():
        if channels()[name].kind != "reading" or name == "time":
            continue
        held = np.flatnonzero(resting(column, keep)[1])
        if held.size:
            raw.remarks.append(
                f"{name} rests at its largest value ({channels()[name].shown(float(column[held[0]]))}) at "
                f"{_points(held.size)}, kept (first in line {raw.rows[held[0]]:.0f}); make sure that its sensor is not "
                "clipped there"
            )


def missing_readings(raw: Raw, columns: Mapping[str, FloatArray], keep: BoolArray) -> None:
    """Remark readings that were not taken at points that are kept."""
    for name, column in columns.items():
        absent = np.flatnonzero(keep & np.isnan(column))
        if absent.size and absent.size < np.count_nonzero(keep):
            raw.remarks.append(
                f"{name} was not read at {_points(absent.size)}, kept all the same "
                f"(first in line {raw.rows[absent[0]]:.0f})"
            )


def time_gaps(raw: Raw, columns: Mapping[str, FloatArray]) -> None:
    """Remark steps of time much longer than the usual one, points that are left out counted as well."""
    if "time" not in columns:
        return
    time = np.where(np.isfinite(columns["time"]), columns["time"], -np.inf)
    places = np.flatnonzero(np.isfinite(time) & (time >= np.maximum.accumulate(time)))
    steps = np.diff(columns["time"][places])
    if steps.size < 3 or (usual := float(np.median(steps))) <= 0.0:
        return
    gaps = np.flatnonzero(steps > value("gap_over_median_step", VALUES) * usual)
    if gaps.size:
        first = int(gaps[0])
        raw.remarks.append(
            f"{gaps.size} gap{'' if gaps.size == 1 else 's'} in time, the first of {steps[first]:.4g} s before line "
            f"{raw.rows[places[first + 1]]:.0f} where {usual:.4g} s is usual; rates are not carried across"
        )


def gauge_suspicion(
    raw: Raw, columns: Mapping[str, FloatArray], deviation: FloatArray, standard: float
) -> None:
    """Remark a pressure said to be absolute that only a gauge can show."""
    pressure = columns["chamber_pressure"]
    ambient = columns.get("ambient_pressure", np.full(pressure.shape, standard))
    burning = columns.get("lit", np.ones(pressure.shape)) > 0.5
    flows = [columns[name] for name in ("mass_flow", "gas_flow", "water_rate", "current") if name in columns]
    flowing = np.any([flow > 0.0 for flow in flows], axis=0) if flows else burning
    change = 'write chamber_pressure_is = "gauge" if the gauge shows 0 in air'
    limit = ambient - value("below_ambient_deviations", VALUES) * deviation
    low, still = burning & flowing & (pressure < limit), ~burning | ~flowing
    empty = still & (pressure < value("no_pressure_share", VALUES) * ambient)
    shown = channels()["chamber_pressure"].shown
    if low.any() and "ambient_pressure" in columns:
        first = int(np.flatnonzero(low)[0])
        raw.remarks.append(
            f"{SUSPECT_GAUGE}: chamber_pressure {shown(float(pressure[first]))} lies below ambient_pressure "
            f"{shown(float(ambient[first]))} while gas flows, at {_points(int(low.sum()))} (first in line "
            f"{raw.rows[first]:.0f}); {change}"
        )
    elif empty.any():
        first = int(np.flatnonzero(empty)[0])
        raw.remarks.append(
            f"{SUSPECT_GAUGE}: chamber_pressure is {shown(float(pressure[first]))} without flow, at "
            f"{_points(int(empty.sum()))} (first in line {raw.rows[first]:.0f}); {change}"
        )
    elif low.any():
        raw.remarks.append(
            f"chamber_pressure lies below one standard atmosphere at {_points(int(low.sum()))} and ambient_pressure is "
            f"not stated; give it, and {change}"
        )
