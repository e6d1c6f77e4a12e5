"""Scalar solver of Lambert's problem, and its batch; the checks are in :mod:`solve`.

Izzo's formulation: one bounded unknown, Householder's third-order iteration, either sense of turning, any
number of full turns and both orbits of each. Nothing is allocated or raised inside, so a row without an orbit
is NaN and never costs its neighbours anything. The batch is serial and releases the interpreter lock, so
callers may run chunks in threads.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray, kernel

ROUNDS = 25
TOLERANCE = 1e-12
LAST_STEP = 1e-5  # the error left is its fourth power
COLUMNS = 8  # of the batch: two velocities and two relative speeds
COLLINEAR = 1e-13
SERIES_ROUNDS = 100
SERIES_REACH = 0.25
FLAT = 1e-4


@kernel
def _flight_kernel(x: float, y: float, shape: float, turns: float) -> float:
    """Time of flight without dimension at the unknown ``x``; ``shape`` is Izzo's lambda."""
    left = 1.0 - x * x
    if turns == 0.0 and abs(left) < SERIES_REACH and x > 0.0:
        lift = y - shape * x
        small = 0.5 * (1.0 - shape - x * lift)
        term, total = 1.0, 1.0
        for order in range(SERIES_ROUNDS):  # hypergeometric series 2F1(3, 1; 5/2)
            term *= small * (3.0 + order) / (5.0 / 2.0 + order)
            total += term
            if abs(term) < TOLERANCE * 0.001:
                break
        return 0.5 * (lift**3 * 4.0 / 3.0 * total + 4.0 * shape * lift)
    root = math.sqrt(abs(left))
    sine = (y - x * shape) * root
    angle = math.atan2(sine, x * y + shape * left) if left > 0.0 else math.asinh(sine)
    return ((angle + turns * math.pi) / root - x + shape * y) / left


@kernel
def _slopes_kernel(x: float, shape: float, flight: float) -> tuple[float, float, float]:
    """First three derivatives of the flight time by the unknown."""
    left = 1.0 - x * x
    if abs(left) < FLAT:  # at the parabola the higher ones drown in rounding
        return 2.0 / 5.0 * (shape**5 - 1.0), 0.0, 0.0
    y2 = 1.0 - shape * shape * left
    y = math.sqrt(y2)
    cube = shape**3
    first = (3.0 * flight * x - 2.0 + 2.0 * cube * x / y) / left
    rest = 1.0 - shape * shape
    second = (3.0 * flight + 5.0 * x * first + 2.0 * rest * cube / (y * y2)) / left
    third = (7 * x * second + 8 * first - 6 * rest * cube * shape * shape * x / (y * y2 * y2)) / left
    return first, second, third


@kernel
def _shortest_kernel(shape: float, turns: float) -> float:
    """Least flight time with some full turns: Halley's root of the first derivative."""
    x = 0.0
    for _ in range(ROUNDS):
        flight = _flight_kernel(x, math.sqrt(1.0 - shape * shape * (1.0 - x * x)), shape, turns)
        first, second, third = _slopes_kernel(x, shape, flight)
        step = 2.0 * first * second / (2.0 * second * second - first * third)
        x = min(max(x - step, -1.0 + TOLERANCE), 1.0 - TOLERANCE)
        if abs(step) < TOLERANCE:
            break
    return _flight_kernel(x, math.sqrt(1.0 - shape * shape * (1.0 - x * x)), shape, turns)


@kernel
def _start_kernel(flight: float, shape: float, turns: float, low_path: bool) -> float:
    """Where the iteration begins."""
    if turns > 0.0:
        left = math.pow((turns + 1.0) * math.pi / (8 * flight), 2.0 / 3.0)
        right = math.pow(8 * flight / (turns * math.pi), 2.0 / 3.0)
        one, other = (left - 1.0) / (left + 1.0), (right - 1.0) / (right + 1.0)
        return max(one, other) if low_path else min(one, other)
    still = math.acos(shape) + shape * math.sqrt(1.0 - shape * shape)
    parabola = 2.0 / 3.0 * (1.0 - shape**3)
    if flight >= still:
        return math.pow(still / flight, 2.0 / 3.0) - 1.0
    if flight < parabola:
        return 5.0 / 2.0 * parabola * (parabola - flight) / (flight * (1.0 - shape**5)) + 1.0
    return math.exp(math.log(2.0) * math.log(flight / still) / math.log(parabola / still)) - 1.0


@kernel
def _unknown_kernel(flight: float, shape: float, turns: float, low_path: bool) -> float:
    """The unknown that gives a flight time; NaN where the turns do not fit or nothing is found."""
    if turns > 0.0 and flight < _shortest_kernel(shape, turns):
        return math.nan
    x = _start_kernel(flight, shape, turns, low_path)
    for _ in range(ROUNDS):
        y = math.sqrt(1.0 - shape * shape * (1.0 - x * x))
        found = _flight_kernel(x, y, shape, turns)
        first, second, third = _slopes_kernel(x, shape, found)
        miss = found - flight
        square = first * first
        step = miss * (square - 0.5 * miss * second)
        step /= first * (square - miss * second) + third * miss * miss / 6
        x -= step
        if not x > -1.0:  # half the way to the edge instead of past it
            x = -1.0 + 0.5 * (x + step + 1.0)
        if turns > 0.0 and not x < 1.0:
            x = 1.0 - 0.5 * (1.0 - x - step)
        if abs(step) < LAST_STEP * (1.0 + x):
            return x
    return math.nan


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
    turns: float,
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
    x = _unknown_kernel(flight, shape, turns, low_path)
    if not abs(x) < math.inf:
        return nothing
    y = math.sqrt(1.0 - shape * shape * (1.0 - x * x))
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
            float(revolutions),
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
