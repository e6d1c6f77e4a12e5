"""On an invented bench of finer physics the stated intervals hold the truth as often as they say."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest

from tradespace.bench.fitting import calibrate
from tradespace.bench.readings import parse_readings
from tradespace.bench.reconciling import reconcile
from tradespace.data.make.bench_readings import bench_truth

REPEATS = 200
FIRST_SEED = 1000
PARAMETERS = (
    "cell_ohmic_factor", "cell_activation_factor", "cell_bypass_conductance", "cell_gas_loss", "faradaic_efficiency",
    "voltage_efficiency", "hydrogen_rate", "characteristic_velocity_efficiency", "thrust_coefficient_efficiency",
    "wall_heat_share", "specific_impulse",
)  # fmt: skip


@pytest.fixture(scope="module")
def repeats() -> dict[str, list[tuple[float, float, float, float]]]:
    """Low, high, best and true value of every parameter in every repeat."""
    found = defaultdict(list)
    for number in range(REPEATS):
        text, truth = bench_truth(FIRST_SEED + number, "whole_chain")
        fit = calibrate(reconcile(parse_readings(text, "invented.csv")))
        for name in PARAMETERS:
            place = fit.names.index(name)
            found[name].append((fit.low[place], fit.high[place], fit.values[place], truth[name]))
    return found


@pytest.mark.parametrize("name", PARAMETERS)
def test_interval_holds_the_truth(
    name: str, repeats: dict[str, list[tuple[float, float, float, float]]]
) -> None:
    low, high, best, true = np.array(repeats[name]).T
    share = float(((low <= true) & (true <= high)).mean())
    print(
        f"{name}: {100.0 * share:.1f} % of {REPEATS} intervals hold the truth; "
        f"{np.mean(best):.4g} for {np.mean(true):.4g}"
    )
    assert 0.90 <= share <= 0.99
    assert float(np.ptp(true)) > 0.0  # the bench itself is another one every time
