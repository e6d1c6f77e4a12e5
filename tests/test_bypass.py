"""Bypass current of cells on shared ducts, beside the network of resistances solved node by node."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tradespace.physics import electrolysis

settings.register_profile("bypass", deadline=None, max_examples=25, derandomize=True)
settings.load_profile("bypass")

PLACE = (500.0, 323.15, 1e5)
"""Current density, temperature and pressure of the cells on common ducts."""


def network(cells: int, voltage: float, port: float, segment: float) -> float:
    """Mean current past the cells, from the potentials of the ladder solved node by node."""
    matrix = np.eye(cells) / port
    for n in range(cells - 1):
        matrix[n, n] += 1.0 / segment
        matrix[n + 1, n + 1] += 1.0 / segment
        matrix[n, n + 1] -= 1.0 / segment
        matrix[n + 1, n] -= 1.0 / segment
    potential = np.linalg.solve(matrix, np.arange(cells) * voltage / port)
    return float(np.sum(np.diff(potential)) / segment / cells)


@given(st.integers(2, 60), st.floats(-1.0, 3.0), st.floats(-2.0, 2.0))
def test_bypass_current_is_that_of_the_network(cells: int, log_port: float, log_segment: float) -> None:
    port, segment = 10.0**log_port, 10.0**log_segment
    ours = float(electrolysis.bypass_current(cells, 1.8, port, segment))
    assert ours == pytest.approx(network(cells, 1.8, port, segment), rel=1e-6)
    assert float(electrolysis.bypass_current(1, 1.8, port, segment)) == pytest.approx(0.0, abs=1e-12)
    assert ours < float(electrolysis.bypass_current(cells + 1, 1.8, port, segment)) < 1.8 / segment


def test_bypass_current_has_the_limits_of_short_and_long_stacks() -> None:
    short = float(electrolysis.bypass_current(12, 1.8, 1e4, 1e-3))
    assert short == pytest.approx(1.8 * (12**2 - 1) / (12 * 1e4), rel=1e-4)
    wide = float(electrolysis.bypass_current(12, 1.8, 1e4, 1e-9))
    assert wide == pytest.approx(short, rel=1e-4)
    assert float(electrolysis.bypass_current(10_000, 1.8, 1.0, 10.0)) == pytest.approx(0.18, rel=1e-3)


def test_bypass_lowers_the_yield_of_cells_on_common_ducts() -> None:
    def both(cells: int) -> list[float]:
        curve = electrolysis.polarisation_curve("common_duct", *PLACE, {"stack_cells": cells})
        return [float(curve[name]) for name in ("faradaic_efficiency", "bypass")]

    alone, few, many = both(1), both(6), both(20)
    assert alone == pytest.approx([electrolysis.cell_record("common_duct").f2, 0.0])
    assert many[1] > few[1] > 0.0
    assert few[0] == pytest.approx(alone[0] * (1.0 - few[1]))
    small_hole = {"duct_area": 1e-6, "manifold_area": 1e-6}
    curve = electrolysis.polarisation_curve("common_duct", *PLACE, small_hole)
    assert float(curve["bypass"]) < 0.05 * few[1]
