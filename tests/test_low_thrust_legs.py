"""Transfers under a limited thrust: rendezvous with long burns, ends in an orbit, legs between circular orbits."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize
from test_transfer_oracle import integrated

from tradespace import ephemeris
from tradespace.constants import value
from tradespace.physics import transfer
from tradespace.physics.lambert import lambert
from tradespace.units import parse_date

few = settings(max_examples=25, deadline=None)
MARS = 4.282837e13
PHOBOS, DEIMOS = 9376e3, 23458e3
SUN = value("gravitational_parameter_sun")
LENGTH = value("astronomical_unit")
PACE = math.sqrt(SUN / LENGTH)
TIME = LENGTH / PACE
DAY = 86400.0
LEGS = (  # near the best dates
    ("Themis", "Antiope", "2033-08-19", 952.0),
    ("Earth", "Mars", "2028-11-23", 301.0),
    ("Ryugu", "Nereus", "2031-10-09", 390.0),
)

# ------------------------------------------------------------------- rendezvous


@few
@given(st.floats(0.0, 0.25))
def test_the_stretch_solves_its_equation_and_ends_at_two(share: float) -> None:
    stretch = float(transfer.finite_thrust_stretch(share))
    assert stretch * (1.0 - stretch * share) == pytest.approx(1.0, abs=1e-12)
    assert 1.0 <= stretch <= 2.0
    assert transfer.finite_thrust_stretch_kernel(0.25 + share) == 2.0
    assert stretch >= transfer.finite_thrust_stretch(0.9 * share)


def test_the_required_acceleration_is_where_the_thrust_never_rests() -> None:
    least = float(transfer.required_acceleration(1000.0, 3e7))
    assert 1000.0 / (least * 3e7) == pytest.approx(0.25)
    assert least * 3e7 == pytest.approx(2.0 * 2.0 * 1000.0)  # all the flight, twice both impulses


def flown(speed: float, acceleration: float, exhaust: float, time: float) -> float:
    """Distance of a burn up to a speed, a coast and a burn back to rest in a time, the mass falling."""
    tau = exhaust / acceleration
    light = math.exp(-speed / exhaust)
    first = tau * (1.0 - light)
    second = tau * light * (1.0 - light)

    def velocity(now: float) -> float:
        if now < first:
            return -exhaust * math.log1p(-now / tau)
        if now < time - second:
            return speed
        return max(speed + exhaust * math.log1p(-(now - time + second) / (tau * light)), 0.0)

    edges = [0.0, first, time - second, time]
    places, weights = np.polynomial.legendre.leggauss(40)
    return sum(
        0.5 * (b - a) * weight * velocity(0.5 * (b - a) * place + 0.5 * (a + b))
        for a, b in itertools.pairwise(edges)
        for place, weight in zip(places, weights, strict=True)
    )


@pytest.mark.parametrize(
    ("share", "spent", "worst"), [(0.05, 0.2, 1e-3), (0.15, 0.5, 2e-3), (0.19, 1.0, 0.012), (0.1, 1.5, 0.01)]
)
def test_the_mean_acceleration_stands_for_a_falling_mass(share: float, spent: float, worst: float) -> None:
    """Both burns together spend this share of the exhaust velocity (impulsive); error of the stretch."""
    exhaust, time = 1.0, 1.0
    impulse = 0.5 * spent * exhaust
    mean = impulse / (share * time)
    acceleration = mean * -math.expm1(-spent) / spent  # so that the mean over both impulses is as wanted
    assert transfer.mean_acceleration(acceleration, spent, exhaust) == pytest.approx(mean)
    exact = brentq(
        lambda speed: flown(speed, acceleration, exhaust, time) - impulse * time, impulse, 1.9 * impulse
    )
    ours = float(transfer.finite_thrust_stretch(share))
    for _ in range(5):
        short = transfer.mean_acceleration_kernel(acceleration, spent * ours, exhaust)
        ours = transfer.finite_thrust_stretch_kernel(impulse / (short * time))
    assert ours == pytest.approx(exact / impulse, rel=worst)
    first = float(transfer.finite_thrust_stretch(share))
    assert first >= ours  # without going round it is on the safe side


# ------------------------------------------ rendezvous of least propellant, by a direct method


def state(body: str, date: float) -> np.ndarray:
    place, pace = ephemeris.state(body, date)
    return np.concatenate([np.ravel(place) / LENGTH, np.ravel(pace) / PACE])


def slopes(craft: np.ndarray, push: np.ndarray) -> np.ndarray:
    """Rates of a state with its sensitivities to the state at the start and to the push, in columns."""
    place = craft[:3, 0]
    far = float(np.linalg.norm(place))
    pull = 3.0 * np.outer(place, place) / far**5 - np.eye(3) / far**3
    rate = np.empty_like(craft)
    rate[:3], rate[3:] = craft[3:], pull @ craft[:3]
    rate[3:, 0] = push - place / far**3
    rate[3:, 7:] += np.eye(3)
    return rate


def arrival(
    start: np.ndarray, pushes: np.ndarray, step: float, parts: int = 3
) -> tuple[np.ndarray, np.ndarray]:
    """State after pieces of constant push, and what each push changes in it."""
    craft = np.concatenate([start[:, None], np.eye(6), np.zeros((6, 3))], axis=1)
    change = np.zeros((6, pushes.size))
    h = step / parts
    for piece, push in enumerate(pushes):
        craft[:, 1:7], craft[:, 7:] = np.eye(6), 0.0
        for _ in range(parts):
            a = slopes(craft, push)
            b = slopes(craft + 0.5 * h * a, push)
            c = slopes(craft + 0.5 * h * b, push)
            d = slopes(craft + h * c, push)
            craft = craft + h / 6.0 * (a + 2.0 * b + 2.0 * c + d)
        change = craft[:, 1:7] @ change
        change[:, 3 * piece : 3 * piece + 3] += craft[:, 7:]
    return craft[:, 0], change


def least_propellant(
    start: np.ndarray, end: np.ndarray, time: float, limit: float, guess: np.ndarray
) -> float:
    """Velocity change of the cheapest flight between two states with a limited acceleration."""
    pieces, soft = len(guess), 1e-6
    known: dict[bytes, tuple[np.ndarray, np.ndarray]] = {}

    def met(flat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        key = flat.tobytes()
        if key not in known:
            known.clear()
            known[key] = arrival(start, limit * flat.reshape(pieces, 3), time / pieces)
        return known[key]

    def sizes(flat: np.ndarray) -> np.ndarray:
        return np.sqrt((flat.reshape(pieces, 3) ** 2).sum(axis=1) + soft)

    def within(flat: np.ndarray) -> np.ndarray:
        rows = np.zeros((pieces, 3 * pieces))
        for piece in range(pieces):
            rows[piece, 3 * piece : 3 * piece + 3] = -2.0 * flat[3 * piece : 3 * piece + 3]
        return rows

    found = minimize(
        lambda flat: sizes(flat).mean(),
        guess.ravel(),
        jac=lambda flat: (flat.reshape(pieces, 3) / sizes(flat)[:, None]).ravel() / pieces,
        constraints=[
            {"type": "eq", "fun": lambda flat: 30.0 * (met(flat)[0] - end),
             "jac": lambda flat: 30.0 * limit * met(flat)[1]},
            {"type": "ineq", "fun": lambda flat: 1.0 - (flat.reshape(pieces, 3) ** 2).sum(axis=1),
             "jac": within},
        ],
        method="SLSQP",
        options={"maxiter": 80, "ftol": 1e-7},
    )  # fmt: skip
    assert np.abs(met(found.x)[0] - end).max() < 1e-5
    return float(np.linalg.norm(found.x.reshape(pieces, 3), axis=1).mean() * limit * time)


def pair(departure: str, arrive: str, date: str, days: float) -> tuple[float, np.ndarray, np.ndarray]:
    """Departure date and both impulses, in canonical units but for the date."""
    leave = parse_date(date)
    start, end = state(departure, leave), state(arrive, leave + days * DAY)
    first, second = lambert(1.0, start[:3], end[:3], days * DAY / TIME)
    return leave, np.asarray(first) - start[3:], end[3:] - np.asarray(second)


def optimum(departure: str, arrive: str, date: str, days: float, share: float, pieces: int = 16) -> float:
    """Cheapest rendezvous between the start and the end of the spread burns, over both impulses."""
    leave, first, second = pair(departure, arrive, date, days)
    one, other = float(np.linalg.norm(first)), float(np.linalg.norm(second))
    limit = 0.5 * (one + other) / (share * days * DAY / TIME)
    lead, lag = 0.5 * one / limit, 0.5 * other / limit
    time = days * DAY / TIME + lead + lag
    edges = np.linspace(0.0, time, pieces + 1)
    before = np.clip(2.0 * lead - edges[:-1], 0.0, time / pieces) * pieces / time
    after = np.clip(edges[1:] - time + 2.0 * lag, 0.0, time / pieces) * pieces / time
    guess = before[:, None] * first / one + after[:, None] * second / other
    guess /= np.maximum(np.linalg.norm(guess, axis=1), 1.0)[:, None]
    start = state(departure, leave - lead * TIME)
    end = state(arrive, leave + days * DAY + lag * TIME)
    return least_propellant(start, end, time, limit, guess) / (one + other)


@pytest.mark.parametrize(("departure", "arrive", "date", "days"), LEGS)
def test_spread_burns_cost_no_less_than_the_optimum(
    departure: str, arrive: str, date: str, days: float
) -> None:
    """Burns that fill two fifths of the flight: on the safe side by at most a fifth, at good dates."""
    known = optimum(departure, arrive, date, days, 0.4)
    leave, first, second = pair(departure, arrive, date, days)
    one, other = float(np.linalg.norm(first)), float(np.linalg.norm(second))
    early, late = (0.4 * days * DAY * 2.0 * part / (one + other) for part in (one, other))
    far = [
        float(np.linalg.norm(state(body, when)[:3])) * LENGTH
        for body, when in ((departure, leave), (arrive, leave + days * DAY))
    ]
    ours = transfer.spread_burn_factor(SUN, one * PACE, other * PACE, early, late, days * DAY, *far)
    assert known * (1.0 - 2e-3) <= float(ours) <= 1.2 * known


# ------------------------------------------------------------------- ends in an orbit


@few
@given(st.floats(0.0, 3.0), st.floats(-9.0, 2.0), st.floats(0.0, 3.0))
def test_an_end_costs_more_than_an_impulse_less_than_a_spiral_and_less_with_thrust(
    excess: float, decade: float, inverse: float
) -> None:
    exhaust = 1.0 / inverse if inverse > 0.0 else math.inf
    costs = [
        transfer.orbit_end_kernel(1.0, 1.0, excess, 10.0 ** (decade + more), exhaust) for more in (0.0, 0.05)
    ]
    assert (
        math.sqrt(excess**2 + 2.0) - 1.0 - 1e-12 <= costs[1] <= costs[0] * (1.0 + 1e-6) <= 1.0 + excess + 1e-6
    )
    assert transfer.orbit_capture_kernel(1.0, 1.0, excess, 10.0**decade) >= costs[0] * (1.0 - 0.01)


def test_an_end_goes_over_into_the_spiral_without_a_step() -> None:
    edge = 1e-5
    for excess in (0.0, 0.3, 2.0):
        either = [
            transfer.orbit_end_kernel(1.0, 1.0, excess, edge * side, math.inf) for side in (0.9999, 1.0001)
        ]
        assert either[0] == pytest.approx(either[1], abs=1e-5)
    for slow in (1e-6, 1e-5, 1e-4):  # the two tables, and the law below them
        spiral = transfer.escape_spiral_kernel(slow)[0]
        assert transfer.orbit_end_kernel(1.0, 1.0, 0.0, slow, math.inf) == pytest.approx(spiral, abs=2e-3)
    assert transfer.orbit_end_kernel(1.0, 1.0, 0.4, 1e-30, math.inf) == pytest.approx(1.4, abs=1e-3)


@pytest.mark.parametrize(
    ("acceleration", "inverse", "excess"),
    [
        (0.03, 0.9, 0.0),
        (0.1, 1.7, 0.5),
        (1.0, 0.3, 0.0),
        (0.03, 4.0, 1.3),
        (0.01, 0.5, 0.3),
        (1e-3, 1.0, 0.2),
    ],
)
def test_a_capture_is_an_upper_bound(acceleration: float, inverse: float, excess: float) -> None:
    """An arrival run backwards is a departure whose mass grows."""
    spent = math.sqrt(excess**2 + 2.0) - 1.0
    for _ in range(12):
        spent = integrated(acceleration * math.exp(inverse * spent), -inverse, excess)
    ours = float(transfer.orbit_capture(1.0, 1.0, excess, acceleration))
    assert spent <= ours * 1.002
    assert ours <= 1.5 * spent


def test_the_speed_at_a_moon_is_that_of_a_parking_orbit_burn_at_its_distance() -> None:
    assert transfer.moon_end(MARS, PHOBOS, 2500.0) == transfer.parking_orbit_burn_kernel(MARS, PHOBOS, 2500.0)
    assert transfer.moon_end(MARS, PHOBOS, 0.0) == pytest.approx(
        (math.sqrt(2.0) - 1.0) * math.sqrt(MARS / PHOBOS)
    )


# ------------------------------------------------------------------- legs between circular orbits


@few
@given(st.floats(0.1, 20.0), st.floats(0.0, 1.5))
def test_a_leg_runs_both_ways_at_one_price(ratio: float, angle: float) -> None:
    out = transfer.circular_leg_kernel(1.0, 1.0, ratio, angle)
    back = transfer.circular_leg_kernel(1.0, ratio, 1.0, angle)
    assert out[0] + out[1] == pytest.approx(back[0] + back[1], abs=1e-9)
    assert out[2] == pytest.approx(back[2])
    coplanar = transfer.circular_leg_kernel(1.0, 1.0, ratio, 0.0)
    assert out[0] + out[1] >= coplanar[0] + coplanar[1] - 1e-12


def test_equal_orbits_cost_nothing_or_the_turn_of_the_plane() -> None:
    assert transfer.circular_leg_kernel(1.0, 1.0, 1.0, 0.0)[:2] == (0.0, 0.0)
    assert sum(transfer.circular_leg_kernel(1.0, 1.0, 1.0, 0.4)[:2]) == pytest.approx(2.0 * math.sin(0.2))


@few
@given(st.floats(0.2, 10.0), st.floats(0.0, 1.0), st.floats(-7.0, 2.0))
def test_a_leg_lies_between_two_impulses_and_the_spiral(ratio: float, angle: float, decade: float) -> None:
    push = 10.0**decade
    impulses = sum(transfer.circular_leg_kernel(1.0, 1.0, ratio, angle)[:2])
    slow = transfer.thrust_limited_leg_kernel(1.0, 1.0, ratio, angle, push, 2.0)
    fast = transfer.thrust_limited_leg_kernel(1.0, 1.0, ratio, angle, 1.1 * push, 2.0)
    spiral = transfer.spiral_leg_kernel(1.0, 1.0, ratio, angle, push, 2.0)
    assert impulses * (1.0 - 1e-12) <= fast[0] + fast[1] <= (slow[0] + slow[1]) * (1.0 + 1e-12)
    assert slow[0] + slow[1] <= max(spiral[0], impulses) * (1.0 + 1e-12)
    assert fast[2] <= slow[2] * (1.0 + 1e-12)
    assert slow[2] >= transfer.circular_leg_kernel(1.0, 1.0, ratio, angle)[2]


def test_a_burn_between_circles_loses_less_than_priced() -> None:
    """Integrated: thrust along the velocity, centred on the place of the impulse, up to the energy of the ellipse."""
    ratio, push = 2.5, 1.2
    start, _, _ = transfer.circular_leg_kernel(1.0, 1.0, ratio, 0.0)
    priced = transfer.thrust_limited_leg_kernel(1.0, 1.0, ratio, 0.0, push, math.inf)[0]

    def slope(_: float, craft: np.ndarray) -> list[float]:
        x, y, u, v = craft
        cube, speed = math.hypot(x, y) ** 3, math.hypot(u, v)
        return [u, v, -x / cube + push * u / speed, -y / cube + push * v / speed]

    def reached(_: float, craft: np.ndarray) -> float:
        x, y, u, v = craft
        return float(0.5 * (u * u + v * v) - 1.0 / math.hypot(x, y) + 1.0 / (1.0 + ratio))

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(slope, (0.0, 10.0), [1.0, 0.0, 0.0, 1.0], "DOP853", events=reached, rtol=1e-10)
    assert start < push * float(found.t_events[0][0]) <= priced


# ------------------------------------------------------------------- contract

KERNELS = {
    "finite_thrust_stretch": 1,
    "required_acceleration": 2,
    "mean_acceleration": 3,
    "orbit_end": 5,
    "orbit_capture": 4,
    "moon_end": 3,
    "circular_leg": 4,
    "spiral_leg": 6,
    "thrust_limited_leg": 6,
}


@pytest.mark.parametrize("name", KERNELS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_kernels_are_finite_for_any_number(name: str, data: st.DataObject) -> None:
    numbers = st.one_of(st.floats(-1e15, 1e15), st.sampled_from([0.0, -1.0, 1.0, 1e-12, 1e12]))
    found = getattr(transfer, f"{name}_kernel")(*(data.draw(numbers) for _ in range(KERNELS[name])))
    assert np.isfinite(found).all()
