"""The benchmark of the windows runs and says what it measured; it judges no clock."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from bench_windows import heliocentric_bodies, pair_rates, report, single_rates

from tradespace import windows


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


def test_all_bodies_that_circle_the_sun_are_paired() -> None:
    names = heliocentric_bodies()
    assert len(names) * (len(names) - 1) == 9312
    assert len(set(names)) == len(names)


def test_rates_come_out() -> None:
    numbers = pair_rates(("Earth", "Mars", "Ceres"), windows.transfer_kinds(), 4)
    assert numbers["transfers"] == 3 * 2 * 4 * 60
    assert 0 < numbers["solved"] < 2 * numbers["transfers"]
    assert all(math.isfinite(number) and number >= 0 for number in numbers.values())
    assert all(rate > 0 for rate in single_rates(20).values())


def test_lines_say_what_was_done() -> None:
    lines = report(("Earth", "Mars"), windows.transfer_kinds(retrograde=True, revolutions=1), 3, 20)
    assert "2 bodies, 3 departures, 60 flight times, 6 kinds" in lines[0]
    assert "one by one" in lines[-1]
