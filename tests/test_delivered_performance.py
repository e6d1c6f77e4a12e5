"""Delivered specific impulse beside measured engines: the classes, and the losses one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.physics import combustion, nozzle
from tradespace.physics.combustion import DELIVERY
from tradespace.tables import read_table

BASELINE = 387.1  # s, frozen, mixture ratio 8, 7 bar, area ratio 30 (NASA equilibrium program)
ENGINES = {  # thrust in N, pulsed, measured s: sources in published/nozzle.csv
    "aerojet": (110.0, False, 360.0),
    "marquardt large": (22.0, False, 345.0),
    "marquardt small": (0.44, False, 330.0),
    "cubesat": (1.5, True, 310.0),
    "chip": (1.25e-3, False, 185.0),
}
BANDS = {
    "aerojet": (0.90, 0.96),
    "marquardt large": (0.83, 0.92),
    "marquardt small": (0.83, 0.92),
    "cubesat": (0.76, 0.84),
    "chip": (0.45, 0.75),
}
each_engine = pytest.mark.parametrize("engine", ENGINES)
few = settings(max_examples=25, deadline=None, derandomize=True)


def chain(thrust: float) -> list[float]:
    """Central, low and high of the losses one by one, over the baseline."""
    found = nozzle.delivered_specific_impulse(thrust, 8.0, 7e5, 30.0)
    return [float(part) / BASELINE for part in found]


def test_our_frozen_value_is_the_baseline() -> None:
    ours = float(combustion.specific_impulse_vacuum(8.0, 7e5, 30.0, "frozen"))
    assert ours == pytest.approx(BASELINE, rel=1e-3)


@each_engine
def test_each_measured_engine_lies_in_its_class(engine: str) -> None:
    thrust, pulsed, measured = ENGINES[engine]
    central, low, high = (float(part) for part in nozzle.delivered_by_class(BASELINE, thrust, pulsed))
    assert (low / BASELINE, high / BASELINE) == pytest.approx(BANDS[engine])
    assert low <= measured <= high
    assert low < central < high


def test_the_losses_put_the_large_engines_in_their_classes() -> None:
    for engine in ("aerojet", "marquardt large"):
        low, high = BANDS[engine]
        assert low <= chain(ENGINES[engine][0])[0] <= high


@each_engine
def test_the_range_of_the_losses_holds_the_measured_value_and_meets_the_class(engine: str) -> None:
    """Steady losses; a pulsed engine is compared all the same, its pulses cost it more."""
    thrust, _, measured = ENGINES[engine]
    _, low, high = chain(thrust)
    assert low <= measured / BASELINE <= high
    assert low <= BANDS[engine][1] and high >= BANDS[engine][0]


@pytest.mark.parametrize(("engine", "ours"), [("marquardt small", 0.784), ("chip", 0.372)])
def test_the_losses_alone_put_the_smallest_engines_below_their_class(engine: str, ours: float) -> None:
    """Known: the viscous correlation is 30 % uncertain and takes most of it; the classes stay the default."""
    central = chain(ENGINES[engine][0])[0]
    assert central == pytest.approx(ours, abs=0.002)
    assert central < BANDS[engine][0]


@few
@given(st.floats(1e-3, 1e3), st.floats(1e5, 5e6), st.floats(5.0, 150.0), st.floats(3.0, 12.0))
def test_smaller_engines_deliver_less_and_ranges_hold_the_middle(
    thrust: float, pressure: float, area: float, mixture: float
) -> None:
    central, low, high = nozzle.delivered_specific_impulse([thrust, 2.0 * thrust], mixture, pressure, area)
    assert np.all(low <= central) and np.all(central <= high)
    assert central[0] <= central[1]
    assert np.all(high < combustion.specific_impulse_vacuum(mixture, pressure, area, "frozen"))


@few
@given(st.floats(0.01, 1e3), st.floats(3.0, 12.0))
def test_parts_multiply_to_the_whole_and_the_throat_carries_the_thrust(thrust: float, mixture: float) -> None:
    parts = {name: float(part) for name, part in nozzle.delivered_losses(thrust, mixture, 7e5, 30.0).items()}
    factors = ("energy_release_factor", "divergence_factor", "viscous_factor", "wall_heat_factor")
    assert parts["delivered_factor"] == pytest.approx(np.prod([parts[name] for name in factors]))
    central = float(nozzle.delivered_specific_impulse(thrust, mixture, 7e5, 30.0)[0])
    frozen = float(combustion.specific_impulse_vacuum(mixture, 7e5, 30.0, "frozen"))
    assert central / frozen == pytest.approx(parts["delivered_factor"])
    gamma = float(combustion.heat_capacity_ratio(mixture, 7e5))
    coefficient = float(nozzle.thrust_coefficient(30.0, gamma))
    coefficient *= parts["divergence_factor"] * max(parts["viscous_factor"], 0.1)
    assert parts["throat_diameter"] == pytest.approx(
        float(nozzle.throat_diameter(thrust, 7e5, coefficient)), rel=0.01
    )


def test_wider_cones_and_colder_walls_cost_more() -> None:
    base = float(nozzle.delivered_specific_impulse(10.0, 8.0, 7e5, 30.0)[0])
    assert float(nozzle.delivered_specific_impulse(10.0, 8.0, 7e5, 30.0, half_angle=0.4)[0]) < base
    assert float(nozzle.delivered_specific_impulse(10.0, 8.0, 7e5, 30.0, wall_temperature=900.0)[0]) < base
    assert float(nozzle.delivered_specific_impulse(10.0, 8.0, 7e5, 30.0, contraction_ratio=20.0)[0]) < base


def test_the_best_expansion_shrinks_with_the_engine() -> None:
    """More wall costs a small throat more than the wider exit gains (seen in tests of a water-fed thruster)."""
    wide = np.geomspace(5.0, 200.0, 120)
    best = [
        wide[np.argmax(nozzle.delivered_specific_impulse(thrust, 8.0, 7e5, wide)[0])]
        for thrust in (0.001, 0.05, 1.0, 10.0)
    ]
    assert best == sorted(best)
    assert best[0] < 0.5 * best[-1]


def test_classes_leave_no_thrust_out_and_do_not_overlap() -> None:
    rows = read_table(DELIVERY).rows
    for pulsed in ("0", "1"):
        ends = sorted(
            (float(row["thrust_low"]), float(row["thrust_high"] or "inf"))
            for row in rows
            if row["pulsed"] == pulsed
        )
        assert ends[0][0] == 0.0 and ends[-1][1] == np.inf
        assert [end for _, end in ends[:-1]] == [start for start, _ in ends[1:]]


@few
@given(st.floats(1e-6, 1e4), st.booleans())
def test_the_class_kernel_is_the_factor_of_the_combustion_link(thrust: float, pulsed: bool) -> None:
    assert nozzle.delivered_class_kernel(thrust, float(pulsed))[0] == float(
        combustion.delivered_performance_factor(thrust, pulsed)
    )


@few
@given(st.floats(1e-9, 1.0), st.floats(200.0, 480.0))
def test_live_thrust_is_its_own_fixed_point(mass_flow: float, impulse: float) -> None:
    thrust = float(combustion.live_thrust(mass_flow, impulse))
    share = float(combustion.delivered_share(thrust))
    assert thrust == pytest.approx(mass_flow * 9.80665 * impulse * share, rel=1e-9)
    assert 0.4 < share < 0.94
    more = float(combustion.live_thrust(1.01 * mass_flow, impulse))
    slope = float(combustion.delivered_share_slope(thrust))
    assert 1.01 * thrust * (1.0 - 1e-9) <= more <= 1.0125 * thrust  # grows a little faster than the flow
    assert 0.0 <= slope < 0.1


def test_the_share_without_steps_passes_through_the_steady_engines_and_their_classes() -> None:
    for engine in ("aerojet", "marquardt large", "marquardt small", "chip"):
        thrust, _, measured = ENGINES[engine]
        share = float(combustion.delivered_share(thrust))
        assert share * BASELINE == pytest.approx(measured, rel=1e-9)
        low, high = BANDS[engine]
        assert low <= share <= high
    ladder = combustion.delivered_share(np.geomspace(1e-4, 1e3, 200))
    assert np.all(np.diff(ladder) >= 0.0)
    assert np.max(np.diff(ladder)) < 0.01  # no steps


def test_bursts_run_from_the_pulsed_class_to_the_steady_one() -> None:
    shares = combustion.burst_share(110.0, np.geomspace(1e-9, 1e5, 60))
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[0] == pytest.approx(combustion.delivered_performance_factor(110.0, pulsed=True))
    assert shares[-1] == pytest.approx(combustion.delivered_performance_factor(110.0), rel=1e-4)


def test_ignitions_shown_are_those_of_the_tests() -> None:
    shown = combustion.ignition_life([0.01, 0.44, 3.0, 22.0, 110.0])
    assert np.all(np.diff(shown) <= 0.0)
    np.testing.assert_allclose(shown[[0, 1, 3, 4]], [151263.0, 151263.0, 69700.0, 69700.0], rtol=1e-9)
