"""Limits and properties of the orbit formulas, and of Lambert's problem."""

from __future__ import annotations

import inspect
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError, TransferError
from tradespace.physics import kepler, lambert, transfer
from tradespace.physics.cheapest import state_between_kernel

SUN = value("gravitational_parameter_sun")
AU = value("astronomical_unit")
EARTH = value("gravitational_parameter_earth")
DER = (
    np.array([22592145.603, -1599915.239, -19783950.506]),
    np.array([1922067.697, 4054157.051, -8925727.465]),
)  # Der 2011, example 1

UNTIMED = settings(deadline=None, max_examples=50)  # the first example may compile
radii = st.floats(1e5, 1e8)
speeds = st.floats(0.0, 1e4)
masses = st.floats(1e6, 1e17)


@UNTIMED
@given(st.floats(-50.0, 50.0), st.floats(0.0, 0.99))
def test_eccentric_anomaly_solves_keplers_equation(mean: float, eccentricity: float) -> None:
    anomaly = float(kepler.eccentric_anomaly(mean, eccentricity))
    assert anomaly - eccentricity * math.sin(anomaly) == pytest.approx(mean, abs=2e-12)


@UNTIMED
@given(
    st.floats(0.3, 10.0), st.floats(0.0, 0.95), st.floats(0.0, 3.1), st.floats(0, 6.28), st.floats(0, 6.28),
    st.floats(0, 6.28),
)  # fmt: skip
def test_elements_conserve_energy_and_momentum(
    axis: float, eccentricity: float, inclination: float, node: float, argument: float, mean: float
) -> None:
    position, velocity = kepler.state_from_elements(
        SUN, axis * AU, eccentricity, inclination, node, argument, mean
    )
    energy = velocity @ velocity / 2.0 - SUN / np.linalg.norm(position)
    momentum = np.cross(position, velocity)
    size = math.sqrt(SUN * axis * AU * (1.0 - eccentricity**2))
    assert energy == pytest.approx(-SUN / (2.0 * axis * AU), rel=1e-11)
    assert np.linalg.norm(momentum) == pytest.approx(size, rel=1e-11)
    assert momentum[2] == pytest.approx(size * math.cos(inclination), abs=1e-11 * size)


def ellipses(count: int) -> tuple[np.ndarray, ...]:
    """Random ellipses about the Sun and two places on each (a 0.7-4 au, e < 0.8, i < 30 degrees)."""
    random = np.random.default_rng(18)
    axis = random.uniform(0.7, 4.0, count) * AU
    eccentricity, inclination = random.uniform(0.0, 0.8, count), random.uniform(0.0, math.radians(30), count)
    node, argument, mean = random.uniform(0.0, 2.0 * math.pi, (3, count))
    share = random.uniform(0.02, 0.98, count)
    first, second = np.empty((2, count, 6))
    for row in range(count):
        shape = (axis[row], eccentricity[row], inclination[row], node[row], argument[row])
        first[row] = np.concatenate(kepler.state_from_elements(SUN, *shape, mean[row]))
        second[row] = np.concatenate(
            kepler.state_from_elements(SUN, *shape, mean[row] + 2.0 * math.pi * share[row])
        )
    return first, second, share * kepler.orbital_period(SUN, axis)


def test_lambert_recovers_three_thousand_ellipses() -> None:
    first, second, time = ellipses(3000)
    begin, end = lambert.lambert(SUN, first[:, :3], second[:, :3], time)
    for found, known in ((begin, first[:, 3:]), (end, second[:, 3:])):
        miss = np.linalg.norm(found - known, axis=1) / np.linalg.norm(known, axis=1)
        assert miss.max() < 1e-9


def test_lambert_run_backwards_reverses_both_velocities() -> None:
    first, second, time = ellipses(200)
    begin, end = lambert.lambert(SUN, first[:, :3], second[:, :3], time)
    back, forth = lambert.lambert(SUN, second[:, :3], first[:, :3], time, prograde=False)
    np.testing.assert_allclose(back, -end, rtol=0, atol=1e-6)
    np.testing.assert_allclose(forth, -begin, rtol=0, atol=1e-6)


def test_lambert_one_row_equals_its_batch() -> None:
    first, second, time = ellipses(20)
    begin, end = lambert.lambert(SUN, first[:, :3], second[:, :3], time)
    for row in range(20):
        alone = lambert.lambert(SUN, first[row, :3], second[row, :3], time[row])
        assert np.array_equal(alone[0], begin[row])
        assert np.array_equal(alone[1], end[row])


@pytest.mark.parametrize(("time", "revolutions"), [(5 * 3600.0, 1), (36000.0, 3)])  # Der 2011: too many turns
def test_lambert_says_when_the_turns_do_not_fit(time: float, revolutions: int) -> None:
    with pytest.raises(TransferError, match="full turns"):
        lambert.lambert(EARTH, *DER, time, revolutions=revolutions)


@pytest.mark.parametrize("factor", [2.0, -2.0])
def test_lambert_refuses_positions_on_one_line(factor: float) -> None:
    with pytest.raises(TransferError, match="one line"):
        lambert.lambert(EARTH, DER[0], factor * DER[0], 36000.0)


def test_a_hopeless_row_leaves_its_neighbours_alone() -> None:
    first = np.array([[*DER[0], 0, 0, 0]])
    second = np.array([[*DER[1], 0, 0, 0], [*-DER[0], 0, 0, 0]])
    zero, rows, times = (
        np.zeros(3, dtype=np.int64),
        np.array([0, 1, 0]),
        np.array([36000.0, 36000.0, 36000.0]),
    )
    out = np.zeros((3, lambert.COLUMNS))
    lambert.lambert_rows_kernel(EARTH, first, zero, second, rows, times, 0, True, True, 0.0, out)
    assert np.isnan(out[1]).all()
    assert np.isfinite(out[[0, 2]]).all()
    assert np.array_equal(out[0], out[2])


def test_rows_outside_a_table_of_states_are_refused() -> None:
    table, row, time = np.ones((2, 6)), np.array([0]), np.array([1.0])
    for bad in (np.array([2]), np.array([-1]), np.array([0, 1])):
        with pytest.raises(DomainError, match=r"arrival.rows"):
            lambert.excess_speeds(1.0, table, row, table, bad, time)


@pytest.mark.parametrize("time", [0.0, -5.0, math.nan])
def test_lambert_needs_a_positive_time(time: float) -> None:
    with pytest.raises(DomainError, match=r"time.of.flight"):
        lambert.lambert(EARTH, *DER, time)


def test_interpolated_track_is_exact_on_its_rows_and_close_between() -> None:
    shape = (SUN, 3.1 * AU, 0.15, 0.02, 1.0, 2.0)
    spacing = 5 * 86400.0
    motion = 2.0 * math.pi / float(kepler.orbital_period(SUN, 3.1 * AU))
    track = np.array(
        [np.concatenate(kepler.state_from_elements(*shape, motion * spacing * n)) for n in range(4)]
    )
    pull = -SUN * track[:, :3] / np.linalg.norm(track[:, :3], axis=1)[:, None] ** 3
    nodes = np.hstack([track, pull])
    out = np.array([state_between_kernel(nodes, spacing, spacing * n) for n in (0.0, 1.0, 1.5, 3.0)])
    np.testing.assert_allclose(out[[0, 1, 3]], track[[0, 1, 3]], rtol=1e-11)
    true = np.concatenate(kepler.state_from_elements(*shape, motion * spacing * 1.5))
    assert np.linalg.norm(out[2, :3] - true[:3]) < 1e3  # metres, out of 4.6e11
    assert np.linalg.norm(out[2, 3:] - true[3:]) < 1e-2  # metres a second


@UNTIMED
@given(masses, radii, speeds, st.floats(1.0, 1e3))
def test_a_parking_burn_grows_with_the_excess_speed_and_ends_at_escape(
    mass: float, radius: float, speed: float, more: float
) -> None:
    escape = float(transfer.escape_speed(mass, radius) - transfer.circular_speed(mass, radius))
    burn = float(transfer.parking_orbit_burn(mass, radius, speed))
    assert burn >= escape * (1.0 - 1e-12)
    assert float(transfer.parking_orbit_burn(mass, radius, speed + more)) > burn
    assert float(transfer.parking_orbit_burn(mass, radius, 0.0)) == pytest.approx(escape, rel=1e-9)


@UNTIMED
@given(masses, radii, st.floats(1.01, 10.0))
def test_escape_speed_grows_with_mass_and_falls_with_distance(
    mass: float, radius: float, factor: float
) -> None:
    speed = float(transfer.escape_speed(mass, radius))
    assert float(transfer.escape_speed(mass * factor, radius)) > speed
    assert float(transfer.escape_speed(mass, radius * factor)) < speed
    assert speed == pytest.approx(math.sqrt(2.0) * float(transfer.circular_speed(mass, radius)))


@UNTIMED
@given(masses, radii, st.floats(0.001, 0.99), st.floats(1.001, 1.01))
def test_a_longer_hop_is_faster_but_never_reaches_orbit(
    mass: float, radius: float, share: float, more: float
) -> None:
    distance = share * math.pi * radius
    speed = float(transfer.ballistic_hop_speed(mass, radius, distance))
    assert speed < float(transfer.ballistic_hop_speed(mass, radius, distance * more))
    assert speed < float(transfer.circular_speed(mass, radius))


def test_a_hop_of_half_the_globe_is_an_orbit_and_a_short_one_is_flat_ground() -> None:
    mass, radius = 62.629e9, 469.7e3
    assert float(transfer.ballistic_hop_speed(mass, radius, math.pi * radius)) == pytest.approx(
        float(transfer.circular_speed(mass, radius))
    )
    gravity = mass / radius**2
    assert float(transfer.ballistic_hop_speed(mass, radius, 1.0)) == pytest.approx(
        math.sqrt(gravity), rel=1e-5
    )
    assert float(transfer.ballistic_hop_time(mass, radius, 1.0)) == pytest.approx(
        math.sqrt(2.0 / gravity), rel=1e-5
    )
    assert float(transfer.ballistic_hop_elevation(radius, 1.0)) == pytest.approx(math.pi / 4.0, rel=1e-5)


@UNTIMED
@given(st.floats(0.01, 0.9))
def test_the_orbit_that_joins_the_ends_of_a_hop_is_the_hop(share: float) -> None:
    mass, radius = 62.629e9, 469.7e3
    distance = share * math.pi * radius
    angle = distance / radius
    first, second = radius * np.array([1.0, 0, 0]), radius * np.array([math.cos(angle), math.sin(angle), 0])
    begin, end = lambert.lambert(mass, first, second, transfer.ballistic_hop_time(mass, radius, distance))
    speed = float(transfer.ballistic_hop_speed(mass, radius, distance))
    assert np.linalg.norm(begin) == pytest.approx(speed, rel=1e-8)
    assert np.linalg.norm(end) == pytest.approx(speed, rel=1e-8)
    assert math.atan2(begin[0], begin[1]) == pytest.approx(
        float(transfer.ballistic_hop_elevation(radius, distance)), abs=1e-6
    )


@UNTIMED
@given(radii, radii)
def test_a_hohmann_transfer_run_backwards_swaps_its_burns(first: float, second: float) -> None:
    out, back = (
        transfer.hohmann_transfer(EARTH, first, second),
        transfer.hohmann_transfer(EARTH, second, first),
    )
    np.testing.assert_allclose(np.array(out), np.array(back)[[1, 0, 2]], rtol=1e-9, atol=1e-9)


@UNTIMED
@given(st.floats(7e6, 4e7), st.floats(1.1, 8.0))
def test_limits_of_other_transfers_are_hohmanns(first: float, ratio: float) -> None:
    second = first * ratio
    plain = np.array(transfer.hohmann_transfer(EARTH, first, second))
    tangent = np.array(transfer.one_tangent_transfer(EARTH, first, second, math.pi)[:3])
    np.testing.assert_allclose(tangent, plain, rtol=1e-6)
    start, middle, end, _ = transfer.bielliptic_transfer(EARTH, first, second, second)
    np.testing.assert_allclose([start, middle, end], [plain[0], plain[1], 0.0], rtol=1e-9, atol=1e-6)
    _, one, two = transfer.combined_plane_change(EARTH, first, second, 0.0)
    np.testing.assert_allclose([one, two], plain[:2], rtol=1e-6, atol=1e-3)


@UNTIMED
@given(st.floats(7e6, 2e7), st.floats(1.2, 6.0), st.floats(0.01, 1.2))
def test_no_split_of_a_plane_change_beats_the_best(first: float, ratio: float, angle: float) -> None:
    second = first * ratio
    split, one, two = (float(part) for part in transfer.combined_plane_change(EARTH, first, second, angle))
    assert 0.0 <= split <= angle
    axis = 0.5 * (first + second)
    pairs = [
        (float(transfer.circular_speed(EARTH, r)), float(transfer.orbital_speed(EARTH, r, axis)))
        for r in (first, second)
    ]
    for trial in np.linspace(0.0, angle, 21):
        turns = (trial, angle - trial)
        total = sum(
            math.sqrt(u * u + v * v - 2.0 * u * v * math.cos(t))
            for (u, v), t in zip(pairs, turns, strict=True)
        )
        assert one + two <= total * (1.0 + 1e-12)


def test_no_phase_costs_nothing_and_a_slower_phase_costs_less() -> None:
    assert float(transfer.circular_phasing(EARTH, 7e6, 0.0, 1)[0]) == pytest.approx(0.0, abs=1e-6)
    costs, times = transfer.circular_phasing(EARTH, 7e6, 0.5, np.arange(1, 10))
    assert (np.diff(costs) < 0).all()
    assert (np.diff(times) > 0).all()


@UNTIMED
@given(st.floats(1e3, 1e4), st.floats(1e3, 1e4), st.floats(0.0, math.pi))
def test_a_spiral_costs_between_the_difference_and_the_sum_of_speeds(
    one: float, two: float, angle: float
) -> None:
    spent = float(transfer.edelbaum(one, two, angle))
    assert abs(one - two) - 1e-6 <= spent <= one + two + 1e-6
    assert float(transfer.edelbaum(one, two, min(angle + 0.1, math.pi))) >= spent - 1e-6


SAMPLES = [
    (transfer.circular_speed, (EARTH, 7e6)),
    (transfer.escape_speed, (EARTH, 7e6)),
    (transfer.orbital_speed, (EARTH, 7e6, 9e6)),
    (transfer.characteristic_energy, (3e3,)),
    (transfer.hyperbolic_excess_speed, (9e6,)),
    (transfer.parking_orbit_burn, (EARTH, 7e6, 3e3)),
    (transfer.capture_burn, (EARTH, 7e6, 9e6, 3e3)),
    (transfer.sphere_of_influence, (AU, EARTH, SUN)),
    (transfer.synodic_period, (3e7, 6e7)),
    (transfer.hohmann_transfer, (EARTH, 7e6, 4e7)),
    (transfer.hohmann_phase_angle, (7e6, 4e7)),
    (transfer.bielliptic_transfer, (EARTH, 7e6, 9e7, 4e7)),
    (transfer.one_tangent_transfer, (EARTH, 7e6, 4e7, 2.8)),
    (transfer.inclination_change, (3e3, 0.1, 0.3)),
    (transfer.node_change, (3e3, 0.5, 0.3)),
    (transfer.combined_plane_change, (EARTH, 7e6, 4e7, 0.4)),
    (transfer.circular_phasing, (EARTH, 7e6, 0.4, 2.0)),
    (transfer.edelbaum, (7e3, 3e3, 0.4)),
    (transfer.ballistic_hop_speed, (6e10, 4.7e5, 1e4)),
    (transfer.ballistic_hop_elevation, (4.7e5, 1e4)),
    (transfer.ballistic_hop_time, (6e10, 4.7e5, 1e4)),
    (transfer.launch_delta_v, (6e10, 4.7e5, 100.0, 0.1)),
    (transfer.asteroid_rendezvous_delta_v, (1.2 * AU, 0.2, 0.1)),
    (kepler.eccentric_anomaly, (1.0, 0.2)),
    (kepler.orbital_period, (SUN, AU)),
]


@pytest.mark.parametrize(("function", "arguments"), SAMPLES, ids=lambda item: getattr(item, "__name__", ""))
def test_one_number_equals_its_place_in_an_array(function: object, arguments: tuple[float, ...]) -> None:
    factors = np.array([1.0, 1.01, 1.02])
    alone = np.array(function(*arguments))  # type: ignore[operator]
    array = np.array(function(arguments[0] * factors, *arguments[1:]))  # type: ignore[operator]
    assert array.shape == (*alone.shape, 3)
    np.testing.assert_allclose(array[..., 0], alone, rtol=1e-14)
    assert not np.array_equal(array[..., 1], array[..., 0])


@pytest.mark.parametrize(
    ("function", "arguments", "said"),
    [
        (
            transfer.orbital_speed,
            (EARTH, [5e6, 7e6], 3e6),
            "radius 7000000 m must not be above the double of",
        ),
        (
            transfer.capture_burn,
            (EARTH, 7e6, 6e6, 3e3),
            "periapsis 7000000 m must not be above the semi major",
        ),
        (
            transfer.hill_radius,
            (AU, 2.0, [3.0, 1.0]),
            "parameter 2 m3/s2 must be below the central gravitational",
        ),
        (transfer.circular_phasing, (EARTH, 7e6, -4.0, 1), "angle -4 rad must lie inside -3.141592654 to"),
        (
            transfer.ballistic_hop_speed,
            (6e10, 1e5, 1e6),
            "distance 1000000 m must not be above the half circum",
        ),
        (transfer.one_tangent_transfer, (EARTH, 7e6, [4e7, 8e6], 0.75), "it must lie above 2.278"),
        (transfer.finite_burn_loss, (EARTH, 7e6, 0.0, 1e-6, 3e3), "1e-06 m/s2 must be at least 8.1347"),
        (transfer.finite_burn_loss, (EARTH, 7e6, 1e6, 1.0, 1e6), "1000000 m/s must not exceed 67914"),
    ],
)
def test_a_refusal_says_the_limit_in_figures(
    function: object, arguments: tuple[float, ...], said: str
) -> None:
    with pytest.raises(DomainError, match=re.escape(said)):
        function(*arguments)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (transfer.escape_speed, (0.0, 7e6)),
        (transfer.escape_speed, (EARTH, [7e6, -1.0])),
        (transfer.escape_speed, (EARTH, math.nan)),
        (transfer.orbital_speed, (EARTH, 7e6, 3e6)),
        (transfer.hyperbolic_excess_speed, (-1.0,)),
        (transfer.parking_orbit_burn, (EARTH, 7e6, -1.0)),
        (transfer.capture_burn, (EARTH, 7e6, 6e6, 3e3)),
        (transfer.sphere_of_influence, (AU, SUN, SUN)),
        (transfer.synodic_period, (3e7, 3e7)),
        (transfer.bielliptic_transfer, (EARTH, 7e6, 3e7, 4e7)),
        (transfer.one_tangent_transfer, (EARTH, 7e6, 4e7, 0.5)),
        (transfer.one_tangent_transfer, (EARTH, 4e7, 7e6, 3.0)),
        (transfer.circular_phasing, (EARTH, 7e6, 4.0, 1)),
        (transfer.edelbaum, (7e3, 3e3, 4.0)),
        (transfer.ballistic_hop_speed, (6e10, 4.7e5, 1e7)),
        (transfer.ballistic_hop_time, (6e10, 4.7e5, -1.0)),
        (transfer.launch_delta_v, (6e10, 4.7e5, 0.0, -0.1)),
        (transfer.asteroid_rendezvous_delta_v, (1.2 * AU, 1.0, 0.1)),
        (kepler.eccentric_anomaly, (1.0, 1.0)),
        (kepler.orbital_period, (SUN, -AU)),
    ],
)
def test_values_outside_a_formula_are_refused(function: object, arguments: tuple[float, ...]) -> None:
    with pytest.raises(DomainError) as caught:
        function(*arguments)  # type: ignore[operator]
    message = str(caught.value).replace("_", " ")
    names = [name.replace("_", " ") for name in inspect.signature(function).parameters]  # type: ignore[arg-type]
    (argument,) = [name for name in names if re.match(rf"{name} \S*(\d|nan)", message)]
    assert argument  # named, and its value stands beside it
