"""The cheapest transfer of each departure date, without ever storing the grid it is chosen from.

One compiled walk over departures, flight times and kinds (sense of turning, full turns, which of the two orbits)
keeps the transfer with the least sum of both excess speeds, then refines its flight time between the neighbours on
the grid. Two things are tested before a transfer is solved, both cheap and both exact: whether the flight is long
enough for its full turns, and whether a lower bound of its cost already lies above the best one found. Neither
changes the answer; a transfer without an orbit, on the ridge at half a turn, or beyond the coverage of the body it
flies to never wins. The walk is serial and releases the interpreter lock.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tradespace.physics.compiled import FloatArray, kernel
from tradespace.physics.lambert import lambert_kernel, least_flight_kernel

NODES = 1000  # of the table of least flight times
MARGIN = 1e-2  # twenty times the error of its interpolation; what lies inside is left to the solver
ROUNDS = 20
PRECISION = 1e-3  # of the bracket, where the search for the flight time stops
BISECTED = 1e-6  # least sum of both directions from which their bisector is known
SLACK = 1e-9  # of the lower bound, for rounding


@kernel
def least_flights_kernel(out: FloatArray) -> None:
    """Least dimensionless flight time with 1, 2, ... full turns (rows) over the angle whose cosine is the shape."""
    last = out.shape[1] - 1
    for turns in range(1, out.shape[0] + 1):
        for node in range(last + 1):
            out[turns - 1, node] = least_flight_kernel(math.cos(math.pi * node / last), turns)


@kernel
def too_short_kernel(shape: float, flight: float, turns: int, least: FloatArray) -> bool:
    """Whether a dimensionless flight time is certainly too short for its full turns."""
    if flight < turns * math.pi:
        return True
    if turns > least.shape[0] or not abs(shape) <= 1.0:
        return False
    place = math.acos(shape) * (least.shape[1] - 1) / math.pi
    node = min(int(place), least.shape[1] - 2)
    below, above = least[turns - 1, node], least[turns - 1, node + 1]
    return bool(flight < below + (place - node) * (above - below) - MARGIN)


@kernel
def state_between_kernel(
    nodes: FloatArray, spacing: float, elapsed: float
) -> tuple[float, float, float, float, float, float]:
    """State between the rows (position, velocity, acceleration) of an even table, by cubics of place and speed."""
    last = nodes.shape[0] - 2
    row = min(max(int(elapsed / spacing), 0), last)
    x = elapsed / spacing - row
    y = 1.0 - x
    one, two = y * y * (1.0 + 2.0 * x), x * x * (1.0 + 2.0 * y)
    three, four = x * y * y * spacing, -x * x * y * spacing
    other = row + 1
    return (
        one * nodes[row, 0] + two * nodes[other, 0] + three * nodes[row, 3] + four * nodes[other, 3],
        one * nodes[row, 1] + two * nodes[other, 1] + three * nodes[row, 4] + four * nodes[other, 4],
        one * nodes[row, 2] + two * nodes[other, 2] + three * nodes[row, 5] + four * nodes[other, 5],
        one * nodes[row, 3] + two * nodes[other, 3] + three * nodes[row, 6] + four * nodes[other, 6],
        one * nodes[row, 4] + two * nodes[other, 4] + three * nodes[row, 7] + four * nodes[other, 7],
        one * nodes[row, 5] + two * nodes[other, 5] + three * nodes[row, 8] + four * nodes[other, 8],
    )


@kernel
def cost_bound_kernel(
    ax: float, ay: float, az: float, au: float, av: float, aw: float,
    bx: float, by: float, bz: float, bu: float, bv: float, bw: float, prograde: bool,
) -> float:  # fmt: skip
    """Lower bound of the sum of both excess speeds, whatever the flight time.

    A transfer has no speed across its plane, its transverse speeds at both ends belong to one angular momentum of
    the sign asked for, and both velocities differ by a vector against the bisector of both directions.
    """
    nx, ny, nz = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    size = math.sqrt(nx * nx + ny * ny + nz * nz)
    if not size > 0.0:
        return 0.0
    sense = 1.0 if (nz >= 0.0) == prograde else -1.0
    nx, ny, nz = sense * nx / size, sense * ny / size, sense * nz / size
    first, second = math.sqrt(ax * ax + ay * ay + az * az), math.sqrt(bx * bx + by * by + bz * bz)
    across = abs(au * nx + av * ny + aw * nz) + abs(bu * nx + bv * ny + bw * nz)
    # angular momenta of both bodies about the normal of the transfer
    own = (ay * aw - az * av) * nx + (az * au - ax * aw) * ny + (ax * av - ay * au) * nz
    met = (by * bw - bz * bv) * nx + (bz * bu - bx * bw) * ny + (bx * bv - by * bu) * nz
    along = abs(own) / first + abs(met) / second
    for momentum in (max(own, 0.0), max(met, 0.0)):
        along = min(along, abs(momentum - own) / first + abs(momentum - met) / second)
    bound = math.sqrt(across * across + along * along)
    ux, uy, uz = ax / first + bx / second, ay / first + by / second, az / first + bz / second
    length = math.sqrt(ux * ux + uy * uy + uz * uz)
    if length > BISECTED:
        # more than half a turn puts the bisector of the flown angle on the other side
        side = sense / length
        du, dv, dw = bu - au, bv - av, bw - aw
        part = min((du * ux + dv * uy + dw * uz) * side, 0.0)
        bound = max(bound, math.sqrt(max(du * du + dv * dv + dw * dw - part * part, 0.0)))
    return bound * (1.0 - SLACK)


@kernel
def hop_speeds_kernel(
    gravitational_parameter: float,
    leaving: tuple[float, float, float, float, float, float],
    meeting: tuple[float, float, float, float, float, float],
    flight: float,
    turns: int,
    prograde: bool,
    low_path: bool,
    ridge: float,
) -> tuple[float, float]:
    """Excess speeds at both ends of one transfer; NaN where there is none."""
    ax, ay, az, au, av, aw = leaving
    bx, by, bz, bu, bv, bw = meeting
    one, two, three, four, five, six = lambert_kernel(
        gravitational_parameter, ax, ay, az, bx, by, bz, flight, turns, prograde, low_path, ridge
    )
    out = math.sqrt((one - au) ** 2 + (two - av) ** 2 + (three - aw) ** 2)
    return out, math.sqrt((four - bu) ** 2 + (five - bv) ** 2 + (six - bw) ** 2)


@kernel
def hop_on_kernel(
    gravitational_parameter: float,
    leaving: tuple[float, float, float, float, float, float],
    date: float,
    nodes: FloatArray,
    clock: FloatArray,
    flight: float,
    kind: NDArray[np.int64],
    ridge: float,
) -> tuple[float, float]:
    """Excess speeds of the transfer of one kind after any flight time; NaN beyond the coverage of the table."""
    arrival = date + flight
    if not (clock[0] <= arrival <= clock[1]):
        return math.nan, math.nan
    meeting = state_between_kernel(nodes, clock[2], arrival - clock[0])
    turns, prograde, low_path = kind[0], kind[1] == 1, kind[2] == 1
    return hop_speeds_kernel(
        gravitational_parameter, leaving, meeting, flight, turns, prograde, low_path, ridge
    )


@kernel
def worth_solving_kernel(
    gravitational_parameter: float,
    leaving: tuple[float, float, float, float, float, float],
    meeting: tuple[float, float, float, float, float, float],
    flight: float,
    turns: int,
    prograde: bool,
    best: float,
    least: FloatArray,
) -> bool:
    """Whether a transfer may exist and may cost less than the best one known."""
    ax, ay, az, au, av, aw = leaving
    bx, by, bz, bu, bv, bw = meeting
    if turns > 0:
        first = math.sqrt(ax * ax + ay * ay + az * az)
        second = math.sqrt(bx * bx + by * by + bz * bz)
        chord = math.sqrt((bx - ax) ** 2 + (by - ay) ** 2 + (bz - az) ** 2)
        half = 0.5 * (first + second + chord)
        shape = math.sqrt(max(1.0 - chord / half, 0.0))
        if (ax * by - ay * bx < 0.0) == prograde:
            shape = -shape
        span = math.sqrt(2.0 * gravitational_parameter / half) / half * flight
        if too_short_kernel(shape, span, turns, least):
            return False
    if not best < math.inf:
        return True
    return cost_bound_kernel(ax, ay, az, au, av, aw, bx, by, bz, bu, bv, bw, prograde) <= best


@kernel
def refined_hop_kernel(  # noqa: PLR0912
    gravitational_parameter: float,
    leaving: tuple[float, float, float, float, float, float],
    date: float,
    nodes: FloatArray,
    clock: FloatArray,
    low: float,
    flight: float,
    high: float,
    cost: float,
    kind: NDArray[np.int64],
    ridge: float,
) -> tuple[float, int]:
    """Flight time of the least cost in a bracket, and how many transfers that took (parabolas and golden cuts).

    The best point is only ever replaced by a cheaper one; a transfer that does not exist counts as infinitely dear.
    """
    cut = 1.5 - 0.5 * math.sqrt(5.0)
    best, second, third = flight, flight, flight
    value, value_second, value_third = cost, cost, cost
    stop = PRECISION * (high - low)
    step, before = 0.0, 0.0
    used = 0
    for _ in range(ROUNDS):
        middle = 0.5 * (low + high)
        if abs(best - middle) <= 2.0 * stop - 0.5 * (high - low):
            break
        golden = True
        if abs(before) > stop:
            one = (best - second) * (value - value_third)
            two = (best - third) * (value - value_second)
            above = (best - third) * two - (best - second) * one
            below = 2.0 * (two - one)
            if below > 0.0:
                above = -above
            below = abs(below)
            if abs(above) < abs(0.5 * below * before) and below * (low - best) < above < below * (
                high - best
            ):
                before, step, golden = step, above / below, False
                if best + step - low < 2.0 * stop or high - best - step < 2.0 * stop:
                    step = stop if middle > best else -stop
        if golden:
            before = high - best if best < middle else low - best
            step = cut * before
        if abs(step) < stop:
            step = stop if step > 0.0 else -stop
        trial = best + step
        leave, meet = hop_on_kernel(gravitational_parameter, leaving, date, nodes, clock, trial, kind, ridge)
        used += 1
        price = leave + meet
        if not price < math.inf:
            price = math.inf
        if price <= value:
            if trial >= best:
                low = best
            else:
                high = best
            third, value_third, second, value_second = second, value_second, best, value
            best, value = trial, price
        else:
            if trial < best:
                low = trial
            else:
                high = trial
            if price <= value_second or second == best:
                third, value_third, second, value_second = second, value_second, trial, price
            elif price <= value_third or third in {best, second}:
                third, value_third = trial, price
    return best, used


@kernel
def cheapest_hops_kernel(
    gravitational_parameter: float,
    dates: FloatArray,
    departures: FloatArray,
    nodes: FloatArray,
    clock: FloatArray,
    flights: FloatArray,
    kinds: NDArray[np.int64],
    ridge: float,
    least: FloatArray,
    out: FloatArray,
) -> int:
    """Flight time, both excess speeds and row of ``kinds`` of the cheapest transfer of each date, into ``out``.

    ``departures`` (d, 6) are states on ``dates``; ``nodes`` (k, 9) states and accelerations of the body flown to,
    between ``clock[0]`` and ``clock[1]`` every ``clock[2]``; a row of ``kinds`` is full turns, prograde, low path.
    Rows without any transfer are NaN. Returns how many transfers were solved.
    """
    solved, start = 0, 0
    for row in range(dates.shape[0]):
        leaving = (
            departures[row, 0], departures[row, 1], departures[row, 2],
            departures[row, 3], departures[row, 4], departures[row, 5],
        )  # fmt: skip
        best, best_column, best_kind = math.inf, -1, -1
        for shift in range(flights.shape[0]):
            column = (start + shift) % flights.shape[
                0
            ]  # where the last date was cheapest, so that bounds bite
            arrival = dates[row] + flights[column]
            if not (clock[0] <= arrival <= clock[1] and leaving[0] < math.inf):
                continue
            meeting = state_between_kernel(nodes, clock[2], arrival - clock[0])
            for kind in range(kinds.shape[0]):
                turns, prograde, low_path = kinds[kind, 0], kinds[kind, 1] == 1, kinds[kind, 2] == 1
                if not worth_solving_kernel(
                    gravitational_parameter, leaving, meeting, flights[column], turns, prograde, best, least
                ):
                    continue
                leave, meet = hop_speeds_kernel(
                    gravitational_parameter,
                    leaving,
                    meeting,
                    flights[column],
                    turns,
                    prograde,
                    low_path,
                    ridge,
                )
                solved += 1
                cost = leave + meet
                if cost < best or (cost == best and (column, kind) < (best_column, best_kind)):
                    best, best_column, best_kind = cost, column, kind
        if best_column < 0:
            out[row, 0], out[row, 1], out[row, 2], out[row, 3] = math.nan, math.nan, math.nan, math.nan
            continue
        start = best_column
        flight, used = refined_hop_kernel(
            gravitational_parameter, leaving, dates[row], nodes, clock,
            flights[max(best_column - 1, 0)], flights[best_column],
            flights[min(best_column + 1, flights.shape[0] - 1)], best, kinds[best_kind], ridge,
        )  # fmt: skip
        solved += used
        leave, meet = hop_on_kernel(
            gravitational_parameter, leaving, dates[row], nodes, clock, flight, kinds[best_kind], ridge
        )
        out[row, 0], out[row, 1], out[row, 2], out[row, 3] = flight, leave, meet, best_kind
    return solved
