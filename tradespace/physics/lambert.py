"""Lambert's problem: the orbit that joins two places in a given time.

The root-finder is the compiled kernel of the open library boinor (Izzo's method, any number of full turns, both
orbits of each); it is imported here and nowhere else. Around it stand what a batch needs: geometry without
allocation, either sense of turning, a mask over the ridge at half a turn, where the plane of the orbit stands up,
and a guard that turns a row without an orbit into NaN instead of losing its neighbours. The batch is serial and
releases the interpreter lock, so callers may run chunks in threads.
"""

from __future__ import annotations

import math

import numpy as np
from boinor.core.iod import (
    _compute_T_min,
    _find_xy,  # its own part of core.iod.izzo: that one allocates, at half the speed
)
from numpy.typing import NDArray

from tradespace.errors import TransferError
from tradespace.physics.compiled import ArrayLike, FloatArray, kernel, require
from tradespace.physics.domain import above, floats, require_each, within

ROUNDS = 35
TOLERANCE = 1e-10
COLUMNS = 8  # of the batch: two velocities and two relative speeds
COLLINEAR = 1e-13


@kernel
def least_flight_kernel(shape: float, turns: int) -> float:
    """Least dimensionless flight time with full turns; a lower bound of it where the search fails."""
    if turns < 1:
        return 0.0
    try:
        _, least = _compute_T_min(shape, float(turns), ROUNDS, TOLERANCE)
    except Exception:  # noqa: BLE001  (the compiler knows no narrower clause)
        return turns * math.pi
    return float(max(least, turns * math.pi))


@kernel
def lambert_kernel(
    gravitational_parameter: float,
    start_x: float,
    start_y: float,
    start_z: float,
    stop_x: float,
    stop_y: float,
    stop_z: float,
    time_of_flight: float,
    turns: int,
    prograde: bool,
    low_path: bool,
    ridge: float,
) -> tuple[float, float, float, float, float, float]:
    """Velocities at both ends; NaN where no orbit exists, on one line, and within ``ridge`` of half a turn."""
    nothing = (math.nan, math.nan, math.nan, math.nan, math.nan, math.nan)
    first = math.sqrt(start_x * start_x + start_y * start_y + start_z * start_z)
    second = math.sqrt(stop_x * stop_x + stop_y * stop_y + stop_z * stop_z)
    nx, ny = start_y * stop_z - start_z * stop_y, start_z * stop_x - start_x * stop_z
    nz = start_x * stop_y - start_y * stop_x
    size = math.sqrt(nx * nx + ny * ny + nz * nz)
    dot = start_x * stop_x + start_y * stop_y + start_z * stop_z
    if not (time_of_flight > 0.0 and size > COLLINEAR * first * second and size < math.inf):
        return nothing
    if math.atan2(size, -dot) < ridge:
        return nothing
    dx, dy, dz = stop_x - start_x, stop_y - start_y, stop_z - start_z
    chord = math.sqrt(dx * dx + dy * dy + dz * dz)
    half = 0.5 * (first + second + chord)
    shape = math.sqrt(max(1.0 - chord / half, 0.0))
    long_way = (nz < 0.0) == prograde
    sense = -1.0 if long_way else 1.0
    shape *= sense
    flight = math.sqrt(2.0 * gravitational_parameter / half) / half * time_of_flight
    if not (abs(shape) < 1.0 and 0.0 < flight < math.inf):
        return nothing
    try:
        x, y = _find_xy(shape, flight, turns, ROUNDS, low_path, TOLERANCE)
    except Exception:  # noqa: BLE001  (the compiler knows no narrower clause)
        return nothing
    gamma = math.sqrt(0.5 * gravitational_parameter * half)
    rho = (first - second) / chord
    sigma = math.sqrt(max(1.0 - rho * rho, 0.0))
    less, more = shape * y - x, shape * y + x
    out_first, out_second = gamma * (less - rho * more) / first, -gamma * (less + rho * more) / second
    along = gamma * sigma * (y + shape * x) * sense / size
    out_first, out_second = out_first / first, out_second / second
    along_first, along_second = along / (first * first), along / (second * second)
    return (
        out_first * start_x + along_first * (ny * start_z - nz * start_y),
        out_first * start_y + along_first * (nz * start_x - nx * start_z),
        out_first * start_z + along_first * (nx * start_y - ny * start_x),
        out_second * stop_x + along_second * (ny * stop_z - nz * stop_y),
        out_second * stop_y + along_second * (nz * stop_x - nx * stop_z),
        out_second * stop_z + along_second * (nx * stop_y - ny * stop_x),
    )


@kernel
def lambert_rows_kernel(
    gravitational_parameter: float,
    first: FloatArray,
    first_rows: NDArray[np.int64],
    second: FloatArray,
    second_rows: NDArray[np.int64],
    flights: FloatArray,
    revolutions: int,
    prograde: bool,
    low_path: bool,
    ridge: float,
    out: FloatArray,
) -> None:
    """Many transfers between rows of two tables of states (n, 6), into ``out`` (m, 8).

    A row of ``out`` holds the velocities at both ends and their sizes relative to the two states; it is NaN
    where no orbit exists, and within the angle ``ridge`` of half a turn, where the plane stands up.
    """
    for row in range(flights.shape[0]):
        one, other = first_rows[row], second_rows[row]
        found = lambert_kernel(
            gravitational_parameter,
            first[one, 0],
            first[one, 1],
            first[one, 2],
            second[other, 0],
            second[other, 1],
            second[other, 2],
            flights[row],
            revolutions,
            prograde,
            low_path,
            ridge,
        )
        leave, meet = 0.0, 0.0
        for axis in range(3):
            out[row, axis], out[row, axis + 3] = found[axis], found[axis + 3]
            leave += (found[axis] - first[one, axis + 3]) ** 2
            meet += (found[axis + 3] - second[other, axis + 3]) ** 2
        out[row, 6], out[row, 7] = math.sqrt(leave), math.sqrt(meet)


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
