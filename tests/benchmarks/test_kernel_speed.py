"""The benchmark of the kernels runs and looks at every function; it judges no clock."""

from __future__ import annotations

import math

import pytest
from bench_kernels import FUNCTIONS, broadcasting, flag, long_call, microseconds

SOME = [name for name in FUNCTIONS if broadcasting(name)][::20]


def test_every_call_can_be_made_long() -> None:
    for name in FUNCTIONS:
        call = long_call(name, 5)
        assert all(len(call[argument]) == 5 for argument in broadcasting(name))  # type: ignore[arg-type]


@pytest.mark.parametrize("name", SOME)
def test_a_time_per_element_comes_out(name: str) -> None:
    spent = microseconds(name, 50)
    assert spent is not None
    assert math.isfinite(spent)
    assert spent > 0.0


def test_flags() -> None:
    assert [flag(spent) for spent in (3.0, 1.0, 0.1)] == ["<< above 2", "<  above 0.5", ""]
