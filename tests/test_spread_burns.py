"""Burns spread around the impulses of a leg: limits, and rendezvous of least velocity change by a direct method."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.physics import transfer
from tradespace.validation import Check, checks

few = settings(max_examples=25, deadline=None)
SUN = value("gravitational_parameter_sun")
LENGTH = value("astronomical_unit")
DAY = 86400.0
LIMIT = value("spread_burn_limit", "spread_burn_values.csv")
speeds = st.floats(1.0, 1e4)
lengths = st.floats(0.0, 500.0).map(lambda days: days * DAY)
places = st.floats(0.3, 6.0).map(lambda distance: distance * LENGTH)


@few
@given(speeds, speeds, lengths, lengths, st.floats(50.0, 2000.0), places, places)
def test_longer_burns_never_cost_less(
    first: float, second: float, early: float, late: float, days: float, start: float, end: float
) -> None:
    def factor(one: float, other: float) -> float:
        return transfer.spread_burn_factor_kernel(SUN, first, second, one, other, days * DAY, start, end)

    least = factor(early, late)
    assert least >= 1.0
    assert factor(1.2 * early, late) >= least * (1.0 - 1e-12)
    assert factor(early, 1.2 * late) >= least * (1.0 - 1e-12)
    assert factor(early + 1.0, late) == pytest.approx(least, abs=1e-4)  # without a step
    if transfer.spread_burn_share_kernel(early, late, days * DAY) <= LIMIT:
        public = transfer.spread_burn_factor(SUN, first, second, early, late, days * DAY, start, end)
        assert float(public) == pytest.approx(least, rel=1e-12)


@few
@given(speeds, speeds, places)
def test_a_short_burn_loses_robbins_bound(first: float, second: float, place: float) -> None:
    """Both burns last a day of a flight of ten years."""
    factor = transfer.spread_burn_factor_kernel(SUN, first, second, DAY, DAY, 3650.0 * DAY, place, place)
    bound = transfer.robbins_loss_kernel(SUN, place, DAY, 1.0)
    assert factor - 1.0 <= bound * (1.0 + 1e-6) + 1e-15
    far = transfer.spread_burn_factor_kernel(
        SUN, first, second, DAY, DAY, 20.0 * DAY, 6.0 * LENGTH, 6.0 * LENGTH
    )
    assert far - 1.0 == pytest.approx(transfer.robbins_loss_kernel(SUN, 6.0 * LENGTH, DAY, 1.0), rel=0.01)


def test_burns_of_no_length_or_no_speed_cost_what_impulses_do() -> None:
    assert transfer.spread_burn_factor(SUN, 1e3, 2e3, 0.0, 0.0, 1e7, LENGTH, LENGTH) == 1.0
    assert transfer.spread_burn_factor(SUN, 0.0, 0.0, 1e6, 1e6, 1e7, LENGTH, LENGTH) == 1.0
    swapped = (
        transfer.spread_burn_factor(SUN, 1e3, 2e3, 1e6, 2e6, 1e7, LENGTH, 2 * LENGTH),
        transfer.spread_burn_factor(SUN, 2e3, 1e3, 2e6, 1e6, 1e7, 2 * LENGTH, LENGTH),
    )
    assert swapped[0] == pytest.approx(swapped[1])


@pytest.mark.parametrize("place", range(8))
@pytest.mark.parametrize("odd", [-1.0, 0.0, 1e-308, 1e308, -1e308])
def test_kernels_do_no_harm_with_any_finite_number(place: int, odd: float) -> None:
    call = [SUN, 1e3, 2e3, 1e6, 2e6, 1e7, LENGTH, 2.0 * LENGTH]
    call[place] = odd
    factor = transfer.spread_burn_factor_kernel(*call)
    assert 1.0 <= factor < 2.0
    assert 0.0 < transfer.spread_burn_margin_kernel(*call[3:6]) < math.inf


def test_the_margin_is_one_at_the_limit_and_the_factor_is_held_beyond() -> None:
    time = 400.0 * DAY
    longest = LIMIT * time
    assert transfer.spread_burn_margin(longest, longest, time) == pytest.approx(1.0)
    assert transfer.spread_burn_margin(0.0, longest, time) == pytest.approx(2.0)
    held = transfer.spread_burn_factor_kernel(SUN, 1e3, 1e3, longest, longest, time, LENGTH, LENGTH)
    beyond = transfer.spread_burn_factor_kernel(SUN, 1e3, 1e3, 50 * time, 50 * time, time, LENGTH, LENGTH)
    assert held <= beyond < 1.05 * held
    with pytest.raises(DomainError, match="time of flight 34560000 s is too short"):
        transfer.spread_burn_factor(SUN, 1e3, 1e3, 1.01 * longest, longest, time, LENGTH, LENGTH)


COMPUTED = [check for check in checks() if check.function.endswith("spread_burn_factor")]


@pytest.mark.parametrize("check", COMPUTED, ids=[check.name for check in COMPUTED])
def test_the_factor_is_above_the_computed_rendezvous(check: Check) -> None:
    """Least velocity change of constant thrust acceleration between the moving bodies, over two impulses."""
    assert check.ours() >= check.value - 0.001


def test_there_are_legs_near_the_sun_and_far_from_it() -> None:
    assert len({check.name.rsplit("_", 1)[0] for check in COMPUTED}) >= 5


@few
@given(speeds, speeds, st.floats(1.0, 2000.0), st.floats(50.0, 2000.0), places)
def test_burns_of_one_acceleration_at_one_distance_are_a_case_of_all(
    first: float, second: float, ten_metres: float, days: float, place: float
) -> None:
    pace = 86400.0 / ten_metres  # mass over thrust
    arc, share = transfer.even_burn_shape_kernel(first, second, days * DAY)
    short = arc * pace * pace * SUN / place**3
    even = 1.0 + transfer.spread_burn_excess_kernel(short, share * pace)
    general = transfer.spread_burn_factor_kernel(
        SUN, first, second, pace * first, pace * second, days * DAY, place, place
    )
    assert even == pytest.approx(general, rel=1e-12)
