"""Lambert's problem: the orbit that joins two places in a given time.

The root-finder is the compiled kernel of the open library boinor (Izzo's method); it is imported here and
nowhere else. Everything around it is serial and releases the interpreter lock, so callers may run chunks in
threads.
"""

from __future__ import annotations

import math

import numpy as np
from boinor.core.iod import izzo
from numpy.typing import NDArray

from tradespace.errors import TransferError
from tradespace.physics.compiled import ArrayLike, FloatArray, kernel, require

ROUNDS = 35
TOLERANCE = 1e-10
ROUTE = np.array([0, 1, 1])
"""No full turn, prograde, low path: read from an array so that one compiled version serves every caller."""
GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)


@kernel
def lambert_kernel(
    gravitational_parameter: float,
    first: FloatArray,
    second: FloatArray,
    time_of_flight: float,
    revolutions: int,
    prograde: bool,
    low_path: bool,
    out: FloatArray,
) -> None:
    """Fill ``out`` with both velocities (6,), or with NaN where no orbit exists."""
    out[:] = math.nan
    if time_of_flight > 0.0:
        try:
            begin, end = izzo(
                gravitational_parameter,
                first,
                second,
                time_of_flight,
                revolutions,
                prograde,
                low_path,
                ROUNDS,
                TOLERANCE,
            )
            out[:3] = begin
            out[3:] = end
        except Exception:  # noqa: BLE001  (the compiler knows no narrower clause; an infeasible row is NaN)
            out[:] = math.nan


@kernel
def lambert_batch_kernel(
    gravitational_parameter: float,
    first: FloatArray,
    second: FloatArray,
    time_of_flight: FloatArray,
    revolutions: int,
    prograde: bool,
    low_path: bool,
    out: FloatArray,
) -> None:
    """Row by row: ``first`` and ``second`` (n, 3), ``time_of_flight`` (n,), ``out`` (n, 6)."""
    for row in range(time_of_flight.shape[0]):
        lambert_kernel(
            gravitational_parameter,
            first[row],
            second[row],
            time_of_flight[row],
            revolutions,
            prograde,
            low_path,
            out[row],
        )


@kernel
def distance_kernel(first: FloatArray, second: FloatArray) -> float:
    """Length of the difference of two vectors."""
    x, y, z = first[0] - second[0], first[1] - second[1], first[2] - second[2]
    return math.sqrt(x * x + y * y + z * z)


@kernel
def pair_kernel(
    gravitational_parameter: float,
    departure: FloatArray,
    arrival: FloatArray,
    time_of_flight: float,
    work: FloatArray,
) -> tuple[float, float]:
    """Excess speeds at both ends of the prograde transfer of less than one turn; states are (6,), or NaN."""
    lambert_kernel(
        gravitational_parameter,
        departure[:3],
        arrival[:3],
        time_of_flight,
        ROUTE[0],
        ROUTE[1] != 0,
        ROUTE[2] != 0,
        work,
    )
    return distance_kernel(work[:3], departure[3:]), distance_kernel(work[3:], arrival[3:])


@kernel
def lambert_grid_kernel(
    gravitational_parameter: float,
    departures: FloatArray,
    arrivals: FloatArray,
    arrival_rows: NDArray[np.int64],
    flights: FloatArray,
    out: FloatArray,
) -> None:
    """Excess speeds over departure dates and flight times, into ``out`` (n, m, 2).

    ``departures`` (n, 6) and ``arrivals`` (k, 6) are states; flight ``column`` of departure ``row`` arrives
    in the state ``arrivals[arrival_rows[row, column]]``.
    """
    work = np.empty(6)
    for row in range(out.shape[0]):
        for column in range(out.shape[1]):
            arrival = arrivals[arrival_rows[row, column]]
            pair = pair_kernel(gravitational_parameter, departures[row], arrival, flights[column], work)
            out[row, column, 0], out[row, column, 1] = pair


@kernel
def between_kernel(track: FloatArray, spacing: float, elapsed: float, out: FloatArray) -> None:
    """State ``elapsed`` after the first row of an evenly spaced track (n, 6), by cubic interpolation."""
    row = int(min(max(math.floor(elapsed / spacing), 0.0), track.shape[0] - 2.0))
    x = elapsed / spacing - row
    for axis in range(3):
        p, q = track[row, axis], track[row + 1, axis]
        u, v = track[row, axis + 3] * spacing, track[row + 1, axis + 3] * spacing
        square, cube = 3.0 * (q - p) - 2.0 * u - v, 2.0 * (p - q) + u + v
        out[axis] = p + x * (u + x * (square + x * cube))
        out[axis + 3] = (u + x * (2.0 * square + 3.0 * x * cube)) / spacing


@kernel
def flight_cost_kernel(
    gravitational_parameter: float,
    departure: FloatArray,
    track: FloatArray,
    spacing: float,
    elapsed: float,
    time_of_flight: float,
    work: FloatArray,
) -> tuple[float, float]:
    """Excess speeds when the arrival date falls between two rows of ``track``; ``work`` is (12,)."""
    between_kernel(track, spacing, elapsed, work[6:])
    return pair_kernel(gravitational_parameter, departure, work[6:], time_of_flight, work[:6])


@kernel
def best_flight_kernel(
    gravitational_parameter: float,
    departure: FloatArray,
    track: FloatArray,
    offset: float,
    spacing: float,
    low: float,
    high: float,
    rounds: int,
    work: FloatArray,
) -> tuple[float, float, float]:
    """Golden-section search for the flight time with the least sum of excess speeds between two bounds."""
    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    pair = flight_cost_kernel(gravitational_parameter, departure, track, spacing, offset + left, left, work)
    other = flight_cost_kernel(
        gravitational_parameter, departure, track, spacing, offset + right, right, work
    )
    for _ in range(rounds):
        if pair[0] + pair[1] < other[0] + other[1]:
            high, right, other = right, left, pair
            left = high - GOLDEN * (high - low)
            pair = flight_cost_kernel(
                gravitational_parameter, departure, track, spacing, offset + left, left, work
            )
        else:
            low, left, pair = left, right, other
            right = low + GOLDEN * (high - low)
            other = flight_cost_kernel(
                gravitational_parameter, departure, track, spacing, offset + right, right, work
            )
    if pair[0] + pair[1] < other[0] + other[1]:
        return left, pair[0], pair[1]
    return right, other[0], other[1]


@kernel
def cheapest_flights_kernel(
    gravitational_parameter: float,
    departures: FloatArray,
    arrivals: FloatArray,
    shortest: float,
    flight_step: float,
    ratio: int,
    flights: int,
    rounds: int,
    out: FloatArray,
) -> None:
    """Cheapest flight of each departure date into ``out`` (n, 3): flight time and both excess speeds."""
    work = np.empty(12)
    for row in range(out.shape[0]):
        best, least = -1, math.inf
        out[row, :] = math.nan
        for column in range(flights):
            time_of_flight = shortest + column * flight_step
            pair = pair_kernel(
                gravitational_parameter,
                departures[row],
                arrivals[ratio * row + column],
                time_of_flight,
                work[:6],
            )
            if pair[0] + pair[1] < least:
                best, least = column, pair[0] + pair[1]
                out[row, 0], out[row, 1], out[row, 2] = time_of_flight, pair[0], pair[1]
        if best >= 0 and rounds > 0:
            low = shortest + max(best - 1, 0) * flight_step
            high = shortest + min(best + 1, flights - 1) * flight_step
            finer = best_flight_kernel(
                gravitational_parameter, departures[row], arrivals, ratio * row * flight_step - shortest,
                flight_step, low, high, rounds, work,
            )  # fmt: skip
            if finer[1] + finer[2] < least:
                out[row, 0], out[row, 1], out[row, 2] = finer


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
        If the gravitational parameter or a time of flight is not positive, or revolutions is negative.
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
    require(gravitational_parameter > 0, "gravitational_parameter must be positive [m3/s2]")
    require(times > 0, "time_of_flight must be positive [s]")
    require(revolutions >= 0, "revolutions must not be negative [1]")
    begin = np.asarray(first_position, dtype=np.float64)
    end = np.asarray(second_position, dtype=np.float64)
    shape = np.broadcast_shapes(begin.shape[:-1], end.shape[:-1], times.shape)
    begin = np.array(np.broadcast_to(begin, (*shape, 3))).reshape(-1, 3)
    end = np.array(np.broadcast_to(end, (*shape, 3))).reshape(-1, 3)
    times = np.array(np.broadcast_to(times, shape)).reshape(-1)
    out = np.empty((len(times), 6))
    lambert_batch_kernel(
        float(gravitational_parameter),
        begin,
        end,
        times,
        int(revolutions),
        bool(prograde),
        bool(low_path),
        out,
    )
    if not np.isfinite(out).all():
        bad = int(np.flatnonzero(~np.isfinite(out).all(axis=1))[0])
        raise TransferError(
            f"no orbit joins the two positions in {times[bad]:.6g} s with {revolutions} full turns "
            f"(row {bad}); they lie on one line through the centre, or the time is too short for the turns"
        )
    return out[:, :3].reshape(*shape, 3), out[:, 3:].reshape(*shape, 3)
