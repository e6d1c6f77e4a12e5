"""Curves of all ordered pairs: against one-by-one solves, the cache, threads, coverage, and bad questions."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from boinor.core.iod import izzo

from tradespace import windows
from tradespace.constants import value
from tradespace.ephemeris import coverage, state
from tradespace.errors import TransferError, UnknownNameError
from tradespace.mission import WindowCurve
from tradespace.physics.cheapest import (
    NODES,
    cost_bound_kernel,
    hop_speeds_kernel,
    least_flights_kernel,
    refined_hop_kernel,
    state_between_kernel,
    too_short_kernel,
    worth_solving_kernel,
)
from tradespace.physics.lambert import excess_speeds
from tradespace.units import parse_date
from tradespace.windows import cache, tracks
from tradespace.windows.kinds import KINDS, kind_table

DAY = 86400.0
SUN = value("gravitational_parameter_sun")
ALL = windows.transfer_kinds(retrograde=True, revolutions=1)
SOME = ("Earth", "Mars", "Themis", "Bennu")
BEGIN = parse_date("2030-03-01")


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of the test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "tradespace" / "windows"


def one_by_one(depart: str, arrive: str, date: float, flight: float, kind: str) -> tuple[float, float]:
    """Excess speeds of one transfer by the library's own call; infinite where it finds none."""
    (start, own), (end, met) = state(depart, date), state(arrive, date + flight)
    turns, prograde, low = kind_table((kind,))[0][0]
    try:
        out, back = izzo(SUN, start[0], end[0], flight, turns, prograde, low, 35, 1e-10)
    except ValueError:
        return math.inf, math.inf
    return float(np.linalg.norm(out - own[0])), float(np.linalg.norm(back - met[0]))


@pytest.mark.parametrize(
    ("depart", "arrive", "kinds", "shares"),
    [
        ("Earth", "Themis", windows.transfer_kinds(), (0.25, 2.0)),
        ("Bennu", "Mars", ALL, (0.5, 4.0)),
        ("Themis", "Earth", windows.transfer_kinds(revolutions=2), (1.0, 6.0)),
        ("Ceres", "Vesta", ("retrograde",), (0.3, 1.5)),
        ("Ceres", "Vesta", ("retrograde 1 high", "retrograde 1 low"), (1.5, 5.0)),
    ],
)
def test_curves_equal_the_best_of_one_by_one_solves(
    depart: str, arrive: str, kinds: tuple[str, ...], shares: tuple[float, float]
) -> None:
    axes = [tracks.osculating(name, BEGIN)[0] for name in (depart, arrive)]
    half = tracks.half_period(*axes)
    bounds = {"shortest": shares[0] * half, "longest": shares[1] * half}
    curves = windows.all_pairs(
        (depart, arrive), BEGIN, BEGIN + 900 * DAY, 300 * DAY, 25, kinds=kinds, cached=False, **bounds
    )
    flights = np.linspace(bounds["shortest"], bounds["longest"], 25)
    for row, date in enumerate(curves.departure):
        grid = np.array([[sum(one_by_one(depart, arrive, date, t, kind)) for kind in kinds] for t in flights])
        found = curves.v_inf_sum[0, 1, row]
        if not np.isfinite(grid).any():
            assert np.isnan(found)
            continue
        assert found <= grid.min() + 0.5  # refined, and interpolated places
        column, kind = np.unravel_index(grid.argmin(), grid.shape)
        flight, code = curves.time_of_flight[0, 1, row], curves.kind[0, 1, row]
        assert KINDS[code] == kinds[kind]
        assert abs(flight - flights[column]) <= flights[1] - flights[0] + 1.0
        alone = one_by_one(depart, arrive, date, flight, KINDS[code])
        ours = curves.v_inf_departure[0, 1, row], curves.v_inf_arrival[0, 1, row]
        assert ours == pytest.approx(alone, abs=0.5)  # [m/s]: a table of states every five days


def random_states(count: int, seed: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    places = random.normal(size=(count, 3)) * [1.0, 1.0, 0.1]
    places *= (random.uniform(0.7, 4.0, count) / np.linalg.norm(places, axis=1))[:, None]
    turned = np.cross([0.0, 0.0, 1.0], places)
    turned /= np.linalg.norm(turned, axis=1, keepdims=True)
    speeds = turned / np.sqrt(np.linalg.norm(places, axis=1))[:, None] + random.normal(size=(count, 3)) * 0.1
    return np.hstack([places, speeds])


@pytest.mark.parametrize("prograde", [True, False])
@pytest.mark.parametrize("turns", [1, 2])
def test_no_solvable_transfer_is_called_too_short(turns: int, prograde: bool) -> None:
    count = 50_000
    one, other = random_states(count, turns), random_states(count, turns + 10)
    random = np.random.default_rng(turns)
    period = 2.0 * math.pi * np.linalg.norm(one[:, :3] + other[:, :3], axis=1) ** 0  # of the unit orbit
    flights = period * random.uniform(0.2, 8.0, count) * turns
    rows = np.arange(count)
    solved = excess_speeds(1.0, one, rows, other, rows, flights, turns, prograde, True)
    exists = np.isfinite(solved).all(axis=1)
    least = tracks.least_flights()
    tried = np.array(
        [
            worth_solving_kernel(
                1.0, tuple(one[n]), tuple(other[n]), flights[n], turns, prograde, math.inf, least
            )
            for n in rows
        ]
    )
    assert exists.any()
    assert not exists.all()
    assert tried[exists].all()
    assert (tried & ~exists).mean() < 0.02  # and what cannot exist costs almost nothing


def test_least_flight_is_exact_near_the_edge() -> None:
    table = np.empty((2, NODES))
    least_flights_kernel(table)
    for shape in (-0.9, 0.0, 0.5, 0.99):
        angle = math.acos(shape) * (NODES - 1) / math.pi
        edge = float(np.interp(angle, np.arange(NODES), table[0]))
        assert too_short_kernel(shape, edge * 0.995, 1, table)
        assert not too_short_kernel(shape, edge * 1.001, 1, table)
        assert too_short_kernel(shape, math.pi, 1, table)


@pytest.mark.parametrize("prograde", [True, False])
@pytest.mark.parametrize("turns", [0, 1])
def test_no_transfer_costs_less_than_its_lower_bound(turns: int, prograde: bool) -> None:
    count = 20_000
    one, other = random_states(count, 3), random_states(count, 4)
    flights = np.random.default_rng(5).uniform(0.3, 40.0, count)
    rows = np.arange(count)
    cost = excess_speeds(1.0, one, rows, other, rows, flights, turns, prograde, False).sum(axis=1)
    bound = np.array([cost_bound_kernel(*one[n], *other[n], prograde) for n in rows])
    known = np.isfinite(cost)
    assert known.sum() > 1000
    assert (bound[known] <= cost[known]).all()
    assert np.median(bound[known] / cost[known]) > 0.3  # and it is of use


def test_refined_hop_is_never_dearer_than_the_grid() -> None:
    coarse = windows.all_pairs(SOME, BEGIN, BEGIN + 800 * DAY, 40 * DAY, 12, kinds=ALL, cached=False)
    dates = coarse.departure
    for one, depart in enumerate(SOME):
        for other, arrive in enumerate(SOME):
            if one == other:
                continue
            half = tracks.half_period(*(tracks.osculating(name, BEGIN)[0] for name in (depart, arrive)))
            longest = tracks.longest_share(1) * half
            flights = np.linspace(0.25 * half, longest, 12)
            best = np.full(len(dates), np.inf)
            nodes, clock = tracks.arrival_table(arrive, BEGIN, BEGIN + 800 * DAY + longest)
            leaving = tracks.departure_states(depart, dates)
            table, _ = kind_table(ALL)
            for flight in flights:
                single, _ = tracks.cheapest(dates, leaving, nodes, clock, np.array([flight]), table)
                best = np.fmin(best, single[:, 1] + single[:, 2])
            assert (
                coarse.v_inf_sum[one, other] <= best + 0.5
            ).all()  # [m/s]: both tables begin on other dates


def test_refinement_of_a_bracket_without_neighbours_keeps_the_flight() -> None:
    leaving = tuple(tracks.departure_states("Earth", np.array([BEGIN]))[0])
    nodes, clock = tracks.arrival_table("Mars", BEGIN, BEGIN + 500 * DAY)
    kind = np.array([0, 1, 1])
    flight, used = refined_hop_kernel(
        SUN, leaving, BEGIN, nodes, clock, 200 * DAY, 200 * DAY, 200 * DAY, 1e4, kind, 0.0
    )
    assert flight == 200 * DAY
    assert used == 0


def test_tables_of_states_are_as_good_as_the_ephemeris() -> None:
    for name in ("Venus", "Earth", "Jupiter", "Themis", "Bennu", "133P"):
        nodes, clock = tracks.arrival_table(name, BEGIN, BEGIN + 1000 * DAY)
        dates = BEGIN + np.linspace(0.0, 1000 * DAY, 457)
        between = np.array([state_between_kernel(nodes, clock[2], date - clock[0]) for date in dates])
        places, speeds = state(name, dates)
        assert np.linalg.norm(between[:, :3] - places, axis=1).max() < 1e5  # [m]
        assert np.linalg.norm(between[:, 3:] - speeds, axis=1).max() < 0.5  # [m/s]: the Moon shakes the Earth


def test_the_table_of_a_body_nowhere_known_is_the_same_in_every_run() -> None:
    nodes, clock = tracks.arrival_table("Apophis", BEGIN, BEGIN + 1000 * DAY)
    assert not nodes.any()  # it is part of the key of stored curves
    assert clock[0] > clock[1]


def test_why_a_pair_has_nothing() -> None:
    dates = BEGIN + DAY * np.arange(3)
    leaving, (_, clock) = tracks.departure_states("Earth", dates), tracks.arrival_table("Mars", BEGIN, BEGIN)
    assert "on an ellipse" in tracks.reason_without(
        leaving, dates, clock, ("Earth", "Mars"), math.nan, math.nan
    )
    assert "5 to 6 d" in tracks.reason_without(leaving, dates, clock, ("Earth", "Mars"), 5 * DAY, 6 * DAY)
    assert math.isnan(tracks.half_period(math.nan, 1e11))


def test_threads_and_cache_change_no_bit() -> None:
    question = (SOME, BEGIN, BEGIN + 400 * DAY, 20 * DAY, 20)
    alone = windows.all_pairs(*question, kinds=ALL, workers=1, cached=False)
    several = windows.all_pairs(*question, kinds=ALL, workers=3)
    again = windows.all_pairs(*question, kinds=ALL)
    for name in ("time_of_flight", "v_inf_departure", "v_inf_arrival", "kind"):
        assert getattr(alone, name).tobytes() == getattr(several, name).tobytes()
        assert getattr(alone, name).tobytes() == getattr(again, name).tobytes()
    assert (alone.computed, several.computed, again.computed) == (4, 4, 0)
    assert again.solved == 0
    assert alone.solved < alone.transfers


def test_everything_asked_for_is_in_the_key() -> None:
    question = {"names": SOME[:2], "first": BEGIN, "last": BEGIN + 40 * DAY, "step": 20 * DAY, "flights": 5}
    assert windows.all_pairs(**question).computed == 2
    for change in (
        {"names": SOME[1:3]},
        {"first": BEGIN + DAY},
        {"last": BEGIN + 60 * DAY},
        {"step": 10 * DAY},
        {"flights": 6},
        {"shortest": 100 * DAY},
        {"longest": 900 * DAY},
        {"kinds": ("retrograde",)},
    ):
        assert windows.all_pairs(**{**question, **change}).computed == 2, change
    assert windows.all_pairs(**question).computed == 0


def test_damaged_files_are_made_again(own_cache: Path) -> None:
    question = (SOME, BEGIN, BEGIN + 40 * DAY, 20 * DAY, 5)
    first = windows.all_pairs(*question)
    files = sorted(own_cache.glob("*.curves"))
    assert len(files) == len(SOME)
    files[0].write_bytes(files[0].read_bytes()[:-8])
    whole = bytearray(files[1].read_bytes())
    whole[200] ^= 1
    files[1].write_bytes(bytes(whole))
    files[2].write_bytes(b"")
    second = windows.all_pairs(*question)
    assert second.computed == 3
    assert first.v_inf_departure.tobytes() == second.v_inf_departure.tobytes()
    assert windows.all_pairs(*question).computed == 0


def test_cache_is_bounded_and_can_be_cleared(own_cache: Path) -> None:
    windows.all_pairs(SOME, BEGIN, BEGIN + 40 * DAY, 20 * DAY, 5)
    files = sorted(own_cache.iterdir())
    for age, path in enumerate(files):
        os.utime(path, (1e9 - age, 1e9 - age))
    assert cache.trim_cache(2.5 * files[0].stat().st_size) == 2
    assert sorted(own_cache.iterdir()) == files[:2]
    assert windows.clear_cache() == 2
    assert not list(own_cache.iterdir())
    assert windows.cache_folder() == own_cache


def test_a_folder_that_cannot_be_written_costs_only_time(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(cache, "cache_places", lambda: (tmp_path / "file", tmp_path / "file"))
    question = (SOME[:2], BEGIN, BEGIN + 40 * DAY, 20 * DAY, 5)
    assert windows.all_pairs(*question).computed == 2
    assert windows.all_pairs(*question).computed == 2
    assert windows.cache_folder() is None
    assert windows.clear_cache() == 0


RUN = """
import signal, sys, time
from tradespace import windows
signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever started the tests may ignore it
def told(done, total, transfers):
    print(done, flush=True)
    time.sleep(float(sys.argv[1]))
curves = windows.all_pairs(("Earth", "Mars", "Themis", "Bennu", "Apophis", "Vesta"), {begin}, {begin} + 4e7, 8e5, 9,
                           workers=1, progress=told)
print("computed", curves.computed)
"""


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_a_run_that_was_killed_goes_on_where_it_stopped(how: signal.Signals, own_cache: Path) -> None:
    code = RUN.format(begin=BEGIN)
    path = str(Path(windows.__file__).parents[2])
    settings = {**os.environ, "PYTHONPATH": path}
    command = [sys.executable, "-c", code]
    with subprocess.Popen(
        [*command, "60"], env=settings, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline().strip() == b"1"
        run.send_signal(how)
        run.wait()
    left = list(own_cache.glob("*.curves"))
    assert left
    done = subprocess.run([*command, "0"], env=settings, capture_output=True, text=True, check=True)
    assert int(done.stdout.split()[-1]) == 6 - len(left)
    assert len(list(own_cache.glob("*.curves"))) == 6


def test_an_interrupt_in_the_middle_of_a_run_stops_it_soon(own_cache: Path) -> None:
    def stop(done: int, total: int, transfers: int) -> None:
        raise KeyboardInterrupt

    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        windows.all_pairs(SOME, BEGIN, BEGIN + 40 * DAY, 20 * DAY, 5, workers=1, progress=stop)
    assert time.monotonic() - begun < 60.0
    assert list(own_cache.glob("*.curves"))
    assert not list(own_cache.glob("*.part"))


def test_progress_counts_blocks_and_transfers() -> None:
    told: list[tuple[int, int, int]] = []
    curves = windows.all_pairs(
        SOME, BEGIN, BEGIN + 40 * DAY, 20 * DAY, 5, progress=lambda *numbers: told.append(numbers)
    )
    assert curves.transfers == 4 * 3 * 3 * 5
    assert told == [(n, 4, curves.transfers * n // 4) for n in (1, 2, 3, 4)]


def test_dates_beyond_the_coverage_of_a_body_are_empty_and_the_others_kept() -> None:
    last = coverage("Apophis")[1]
    first = last - 400 * DAY
    curves = windows.all_pairs(
        ("Earth", "Apophis"), first, last + 200 * DAY, 20 * DAY, 20, shortest=100 * DAY, longest=300 * DAY
    )
    leaving = np.isfinite(curves.v_inf_sum[1, 0])
    assert (leaving == (curves.departure <= last)).all()
    landed = curves.departure + curves.time_of_flight[0, 1]
    known = np.isfinite(landed)
    assert (known == (curves.departure + 100 * DAY <= last)).all()
    assert (landed[known] <= last).all()
    assert not curves.without
    assert (curves.kind[~np.isfinite(curves.v_inf_sum)] == -1).all()
    for body, cut in (("Apophis", leaving), (0, known)):
        curve = curves.curve(body, 1 if body == 0 else "Earth")
        assert len(curve.departure) == cut.sum()
        assert np.isfinite(curve.v_inf_sum).all()
    alone = windows.window_curve("Apophis", "Earth", first, last + 200 * DAY, 100 * DAY, 300 * DAY, 20 * DAY)
    assert alone.departure.tolist() == curves.departure[leaving].tolist()


def test_pairs_that_nothing_joins_are_listed_with_the_reason() -> None:
    after = coverage("Apophis")[1] + DAY
    curves = windows.all_pairs(("Earth", "Apophis", "Mars"), after, after + 40 * DAY, 20 * DAY, 5)
    assert set(curves.without) == {
        ("Earth", "Apophis"), ("Apophis", "Earth"), ("Mars", "Apophis"), ("Apophis", "Mars")
    }  # fmt: skip
    assert np.isfinite(curves.curve("Earth", "Mars").v_inf_sum).all()
    with pytest.raises(
        TransferError, match=r"no departure from Apophis to Earth between 2029-04-14 .*known from"
    ):
        curves.curve("Apophis", "Earth")
    with pytest.raises(TransferError, match=r"no departure from Earth to Apophis .*no arrival falls inside"):
        windows.window_curve("Earth", "Apophis", after, after + 40 * DAY)
    with pytest.raises(TransferError, match="no orbit of the kinds allowed joins them in 50 to 60 d"):
        windows.window_curve(
            "Earth", "Mars", after, after + 40 * DAY, 50 * DAY, 60 * DAY, kinds=("prograde 1 low",)
        )


def test_curve_of_one_pair_equals_that_of_the_list() -> None:
    low, high = 200 * DAY, 1000 * DAY
    curves = windows.all_pairs(
        SOME, BEGIN, BEGIN + 400 * DAY, 20 * DAY, 41, shortest=low, longest=high, kinds=ALL
    )
    for one, other in ((0, 2), (2, 1), (3, 0)):
        alone = windows.window_curve(
            SOME[one], SOME[other], BEGIN, BEGIN + 400 * DAY, low, high, 20 * DAY, 20 * DAY, ALL
        )
        listed = curves.curve(SOME[one], other)
        assert listed.v_inf_sum == pytest.approx(alone.v_inf_sum, abs=0.2)
        assert listed.kind.tolist() == alone.kind.tolist()
        assert curves.time_of_flight[one, other] == pytest.approx(alone.time_of_flight, abs=2 * DAY)
    assert np.isnan(curves.v_inf_sum[np.arange(4), np.arange(4)]).all()


def test_more_kinds_never_cost_more() -> None:
    sums = [
        windows.all_pairs(
            SOME, BEGIN, BEGIN + 800 * DAY, 40 * DAY, 150, longest=1500 * DAY, kinds=kinds
        ).v_inf_sum
        for kinds in (windows.transfer_kinds(), windows.transfer_kinds(revolutions=1), ALL)
    ]
    apart = np.isfinite(sums[0])
    assert (sums[1][apart] <= sums[0][apart] * (1.0 + 1e-2)).all()  # only the best of the grid is refined
    assert (sums[2][apart] <= sums[1][apart] * (1.0 + 1e-2)).all()
    assert (sums[1][apart] < 0.99 * sums[0][apart]).any()


def test_absurd_or_malformed_questions_are_refused_at_once() -> None:
    late = BEGIN + 400 * DAY
    for message, arguments in (
        ("numbers in memory", {"step": 1e-3}),
        ("transfers to compare", {"flights": 10**9}),
        ("must be positive", {"step": 0.0}),
        ("must be positive", {"step": math.nan}),
        ("whole number of 2 or more", {"flights": 1}),
        ("swap the dates", {"last": BEGIN - DAY}),
        ("finite", {"last": math.inf}),
        ("make no range", {"shortest": 300 * DAY, "longest": 200 * DAY}),
        ("make no range", {"shortest": -1.0}),
        ("two different bodies, not Mars twice", {"names": ("Mars", "Earth", "mars")}),
        ("the barycentre stands for Earth", {"names": ("Mars", "Earth", "earthmoon")}),
        ("two bodies or more", {"names": ("Mars",)}),
        ("no kind of transfer", {"kinds": ()}),
    ):
        question = {"names": ("Earth", "Saturn"), "first": BEGIN, "last": late, **arguments}
        with pytest.raises(TransferError, match=message):
            windows.all_pairs(**question)
    with pytest.raises(UnknownNameError, match="'retrograd'; did you mean 'retrograde'"):
        windows.all_pairs(SOME, BEGIN, late, kinds=("retrograd",))
    with pytest.raises(UnknownNameError, match="Marz"):
        windows.all_pairs(("Earth", "Marz"), BEGIN, late)
    with pytest.raises(TransferError, match="Europa is a moon of Jupiter"):
        windows.all_pairs(("Earth", "Europa"), BEGIN, late)
    for arguments in ({"step": 1e-3}, {"flight_step": 1e-7}):
        with pytest.raises(TransferError, match="take a longer step"):
            windows.window_curve("Earth", "Mars", BEGIN, late, **arguments)
    with pytest.raises(TransferError, match="step of flight times must be positive"):
        windows.window_curve("Earth", "Mars", BEGIN, late, flight_step=-DAY)


def test_full_turns_lengthen_the_flights_searched_in_both_searches() -> None:
    kinds, span = windows.transfer_kinds(revolutions=1), (BEGIN, BEGIN + 400 * DAY)
    together = windows.all_pairs(("Earth", "Mars"), *span, 100 * DAY, 240, kinds=kinds, cached=False)
    curve = together.curve("Earth", "Mars")
    alone = windows.window_curve("Earth", "Mars", *span, step=100 * DAY, flight_step=4 * DAY, kinds=kinds)
    assert curve.v_inf_sum == pytest.approx(alone.v_inf_sum, rel=1e-2)
    assert curve.time_of_flight.max() > windows.flight_range("Earth", "Mars", BEGIN)[1]


def test_names_of_kinds() -> None:
    assert windows.transfer_kinds() == ("prograde",)
    assert len(ALL) == 6
    assert len(KINDS) == len(set(KINDS))
    rows, codes = kind_table(KINDS)
    assert codes.tolist() == list(range(len(KINDS)))
    assert len({tuple(row) for row in rows}) == len(KINDS)
    with pytest.raises(TransferError, match="whole number from 0 to"):
        windows.transfer_kinds(revolutions=99)


def invented_curve(cost: np.ndarray) -> WindowCurve:
    days = DAY * np.arange(len(cost))
    return WindowCurve("Here", "There", days, np.full(len(cost), 100 * DAY), 0.5 * cost, 0.5 * cost)


def test_opportunities_are_the_valleys_with_their_widths() -> None:
    place = np.arange(200.0)
    curve = invented_curve(2000.0 + np.abs(place - 50.0) * 20.0)
    (one,) = windows.opportunities(curve)
    assert (one.departure, one.v_inf_sum, one.cut, one.kind) == (50 * DAY, 2000.0, False, 0)
    assert one.width == pytest.approx(20 * DAY)
    assert (one.opens, one.closes) == pytest.approx((40 * DAY, 60 * DAY))
    waves = windows.opportunities(invented_curve(3000.0 - 1000.0 * np.sin(place * 2.0 * math.pi / 40.0)))
    assert [item.departure / DAY for item in waves if not item.cut] == [10, 50, 90, 130, 170]
    ripple = windows.opportunities(invented_curve(3000.0 + 10.0 * np.sin(place)))
    assert len(ripple) == 1
    assert ripple[0].cut
    falling = windows.opportunities(invented_curve(3000.0 - 5.0 * place))
    assert [(item.departure, item.cut) for item in falling] == [(199 * DAY, True)]
    with pytest.raises(TransferError, match="must be positive"):
        windows.opportunities(curve, 0.0)


def test_earth_mars_opportunities_come_every_synodic_period() -> None:
    curve = windows.window_curve("Earth", "Mars", parse_date("2026-01-01"), parse_date("2036-01-01"))
    found = [item.departure for item in windows.opportunities(curve) if item.v_inf_sum < 7000.0]
    assert np.diff(found) / DAY == pytest.approx(779.94, abs=60)
    assert len(found) >= 4


def test_hop_speeds_of_one_transfer() -> None:
    leaving, meeting = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0), (0.0, 1.0, 0.0, -1.0, 0.0, 0.0)
    along = hop_speeds_kernel(1.0, leaving, meeting, 0.5 * math.pi, 0, True, True, 0.0)
    assert along == pytest.approx((0.0, 0.0), abs=1e-9)
    assert all(map(math.isnan, hop_speeds_kernel(1.0, leaving, meeting, 1.0, 3, True, True, 0.0)))
