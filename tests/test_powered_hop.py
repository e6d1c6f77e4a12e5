"""The burns of a ballistic hop: against an integrated flight, and at its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tradespace.physics.transfer import powered_hop_loss, slanted_launch_loss

GRAVITY, DISTANCE = 0.28, 20e3


def burnout(thrust_to_weight: float, elevation: float, delta_v: float) -> tuple[float, float, float, float]:
    """Place and velocity after a burn of constant thrust whose net pull points along the climb, step by step."""
    tilt = math.asin(math.cos(elevation) / thrust_to_weight)  # of the thrust above the climb
    pull = thrust_to_weight * GRAVITY
    along, up = pull * math.cos(elevation + tilt), pull * math.sin(elevation + tilt) - GRAVITY
    steps = 20000
    step = delta_v / pull / steps
    x = z = u = w = 0.0
    for _ in range(steps):
        x, z = x + (u + 0.5 * along * step) * step, z + (w + 0.5 * up * step) * step
        u, w = u + along * step, w + up * step
    return x, z, u, w


@pytest.mark.parametrize("thrust_to_weight", [1.3, 2.0, 4.0, 10.0])
def test_the_burns_and_the_coast_cover_the_hop(thrust_to_weight: float) -> None:
    elevation = math.radians(45.0)
    impulsive = math.sqrt(GRAVITY * DISTANCE)  # level ground, 45 degrees
    delta_v = impulsive * (1.0 + float(powered_hop_loss(thrust_to_weight, elevation)))
    x, _, u, w = burnout(thrust_to_weight, elevation, delta_v)
    coast = 2.0 * w / GRAVITY * u  # back down to the height at burnout
    assert w / u == pytest.approx(math.tan(elevation), rel=1e-6)
    assert 2.0 * x + coast == pytest.approx(DISTANCE, rel=1e-4)


def test_loss_falls_with_thrust_and_lies_below_that_of_the_climb_alone() -> None:
    ratio = np.geomspace(1.05, 1e3, 50)
    loss = powered_hop_loss(ratio, math.radians(45.0))
    assert (np.diff(loss) < 0.0).all()
    assert (loss < slanted_launch_loss(ratio, math.radians(45.0))).all()
    assert loss[-1] == pytest.approx(0.0, abs=1e-3)
    assert (loss > 0.0).all()
