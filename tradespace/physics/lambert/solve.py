"""Lambert's problem, checked: one question over arrays, or excess speeds between tabulated states."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tradespace.errors import TransferError
from tradespace.physics.compiled import ArrayLike, FloatArray, require
from tradespace.physics.domain import above, floats, require_each, within
from tradespace.physics.lambert.kernels import COLUMNS, lambert_rows_kernel


def excess_speeds(
    gravitational_parameter: float,
    departures: FloatArray,
    departure_rows: NDArray[np.int64],
    arrivals: FloatArray,
    arrival_rows: NDArray[np.int64],
    time_of_flight: FloatArray,
    revolutions: int = 0,
    prograde: bool = True,
    low_path: bool = True,
    ridge: float = 0.0,
) -> FloatArray:
    """Excess speeds at both ends of transfers between tabulated states.

    Parameters
    ----------
    gravitational_parameter : float
        Gravitational parameter of the central body [m3 s-2].
    departures : ndarray, shape (n, 6)
        Position and velocity of the departure body in each row, three numbers each [m and m/s].
    departure_rows : ndarray, shape (m,)
        Row of the departure state of each transfer [1].
    arrivals : ndarray, shape (k, 6)
        Position and velocity of the arrival body in each row, three numbers each [m and m/s].
    arrival_rows : ndarray, shape (m,)
        Row of the arrival state of each transfer [1].
    time_of_flight : ndarray, shape (m,)
        Time between both [s].
    revolutions : int
        Full turns made on the way [1].
    prograde : bool
        Whether the orbit turns with positive angular momentum about the third axis [1].
    low_path : bool
        Which of the two orbits to take when there are full turns [1].
    ridge : float
        Transfers nearer than this to half a turn are NaN: their plane stands up [rad].

    Returns
    -------
    ndarray, shape (m, 2)
        Speed relative to the departure and to the arrival body; NaN where no orbit exists [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter is not positive, a row lies outside its table, lengths differ, a state
        or time is not finite, there are less than no turns, or the ridge lies outside [0, pi].

    References
    ----------
    .. [1] izzo_2015.

    Examples
    --------
    >>> start, stop = np.array([[1.0, 0, 0, 0, 1, 0]]), np.array([[0, 1.0, 0, -1, 0, 0]])
    >>> row = np.zeros(1, dtype=np.int64)
    >>> speeds = excess_speeds(1.0, start, row, stop, row, np.array([0.5 * math.pi]))  # along the circle
    >>> print(f"{speeds.max():.6f}")
    0.000000
    """
    above("gravitational_parameter", "m3/s2", gravitational_parameter)
    _require_turns(revolutions)
    within("ridge", "rad", ridge, 0.0, math.pi)
    for rows, table, name in ((departure_rows, departures, "departure"), (arrival_rows, arrivals, "arrival")):
        inside = (np.asarray(rows) >= 0) & (np.asarray(rows) < len(table))
        require_each(inside, f"{name}_rows", "1", rows, f"must lie in [0, {len(table)}) [1]")
        _require_finite(f"{name}s", "m and m/s", table)
    _require_finite("time_of_flight", "s", time_of_flight)
    require(
        len(departure_rows) == len(arrival_rows) == len(time_of_flight),
        f"departure_rows, arrival_rows and time_of_flight must have one length [1], not "
        f"{len(departure_rows)}, {len(arrival_rows)} and {len(time_of_flight)}",
    )
    out = np.empty((len(time_of_flight), COLUMNS))
    lambert_rows_kernel(
        float(gravitational_parameter),
        _owned(departures),
        np.array(departure_rows, dtype=np.int64),
        _owned(arrivals),
        np.array(arrival_rows, dtype=np.int64),
        _owned(time_of_flight),
        int(revolutions),
        bool(prograde),
        bool(low_path),
        float(ridge),
        out,
    )
    return out[:, 6:]


def _require_finite(name: str, unit: str, numbers: ArrayLike) -> None:
    require_each(np.isfinite(floats(numbers)), name, unit, numbers, "must be finite")


def _require_turns(revolutions: int) -> None:
    turns = floats(revolutions)
    whole = np.isfinite(turns) & (turns == np.floor(turns))
    require_each((turns >= 0) & whole, "revolutions", "1", turns, "must be 0, 1, 2, ...")


def _owned(array: FloatArray) -> FloatArray:
    """A writable, contiguous float64 array: any other kind would compile the kernel again."""
    return np.require(array, dtype=np.float64, requirements=["C", "A", "W"])


def lambert(
    gravitational_parameter: float,
    first_position: ArrayLike,
    second_position: ArrayLike,
    time_of_flight: ArrayLike,
    revolutions: int = 0,
    prograde: bool = True,
    low_path: bool = True,
) -> tuple[FloatArray, FloatArray]:
    """Velocities at both ends of the orbit that joins two positions in a given time.

    Parameters
    ----------
    gravitational_parameter : float
        Gravitational parameter of the central body [m3 s-2].
    first_position : array_like, shape (..., 3)
        Position at departure [m].
    second_position : array_like, shape (..., 3)
        Position at arrival [m].
    time_of_flight : array_like, shape (...)
        Time between both [s].
    revolutions : int
        Full turns made on the way [1].
    prograde : bool
        Whether the orbit turns with positive angular momentum about the third axis [1].
    low_path : bool
        Which of the two orbits to take when there are full turns [1].

    Returns
    -------
    first_velocity : ndarray, shape (..., 3)
        Velocity at departure [m s-1].
    second_velocity : ndarray, shape (..., 3)
        Velocity at arrival [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter or a time of flight is not positive, a position is not finite, or there
        are less than no turns.
    TransferError
        If any row has no orbit: positions on one line through the centre, or too many turns for the time.

    Notes
    -----
    Near half a turn the plane of the orbit is badly determined; on the line itself there is none.

    References
    ----------
    .. [1] izzo_2015 (the method); vallado_2013, ex. 7-5 (the example).

    Examples
    --------
    >>> places = [15945.34e3, 0, 0], [12214.83899e3, 10249.46731e3, 0]
    >>> first, second = lambert(3.986004418e14, *places, 76 * 60.0)
    >>> print(", ".join(f"{speed:.2f}" for speed in first[:2]))
    2058.91, 2915.96
    """
    times = np.asarray(time_of_flight, dtype=np.float64)
    above("gravitational_parameter", "m3/s2", gravitational_parameter)
    above("time_of_flight", "s", times)
    _require_turns(revolutions)
    _require_finite("first_position", "m", first_position)
    _require_finite("second_position", "m", second_position)
    begin = np.asarray(first_position, dtype=np.float64)
    end = np.asarray(second_position, dtype=np.float64)
    shape = np.broadcast_shapes(begin.shape[:-1], end.shape[:-1], times.shape)
    first, second = np.zeros((2, math.prod(shape), 6))
    first[:, :3] = np.broadcast_to(begin, (*shape, 3)).reshape(-1, 3)
    second[:, :3] = np.broadcast_to(end, (*shape, 3)).reshape(-1, 3)
    times = np.array(np.broadcast_to(times, shape)).reshape(-1)
    rows = np.arange(len(times), dtype=np.int64)
    out = np.empty((len(times), COLUMNS))
    lambert_rows_kernel(
        float(gravitational_parameter),
        first,
        rows,
        second,
        rows,
        times,
        int(revolutions),
        bool(prograde),
        bool(low_path),
        0.0,
        out,
    )
    if not np.isfinite(out).all():
        bad = int(np.flatnonzero(~np.isfinite(out).all(axis=1))[0])
        raise TransferError(
            f"no orbit joins the two positions in {times[bad]:.6g} s with {revolutions} full turns "
            f"(row {bad}); they lie on one line through the centre, or the time is too short for the turns"
        )
    return out[:, :3].reshape(*shape, 3).copy(), out[:, 3:6].reshape(*shape, 3).copy()
