"""What designs leave for one another while they are flown together changes no number of any of them."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tradespace import campaign, evaluate
from tradespace.evaluate.columns import Columns
from tradespace.mission import Mission
from tradespace.spacecraft import DESIGN
from tradespace.study import Study, load_study

STUDIES = Path(__file__).parents[1] / "studies"
COUNT = 2 * campaign.BATCH + 5
CHANGED = {
    "array_efficiency": 0.2,
    "low_intensity_loss": 0.5,
    "payload_mass": 0.8,
    "array_area": 1.5,
    "launch_mass": 0.5,
}
"""Inputs that differ from design to design, and by how much their logarithm does."""


@functools.cache
def asked(name: str) -> tuple[Study, Mission]:
    study = load_study(STUDIES / f"{name}.toml")
    return study, evaluate.mission_of(study)


def various(study: Study, seed: int) -> dict[str, np.ndarray]:
    """Designs of a few arrays, in no order, some of them the same array as the one before."""
    numbers = np.random.default_rng(seed)
    found = {}
    for name, spread in CHANGED.items():
        if name in study.values:
            own = study.values[name] * np.exp(numbers.uniform(-spread, spread, COUNT))
            found[name] = np.where(numbers.random(COUNT) < 0.4, study.values[name], own)
    return found


def flown(name: str, architecture: str, designs: dict[str, np.ndarray]) -> pd.DataFrame:
    study, mission = asked(name)
    return evaluate.evaluate(study, mission, architecture, designs)


@pytest.mark.parametrize("policy", [0.0, 1.0, 2.0])
@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "xenon_hall", "water_hall"])
def test_a_design_is_flown_as_if_alone(architecture: str, policy: float) -> None:
    name = "outer_belt_ice_tour"
    own = {"departure_policy": np.full(COUNT, policy), "time_price": np.full(COUNT, 1e-7)}
    designs = various(asked(name)[0], 3) | own
    together = flown(name, architecture, designs)
    order = np.random.default_rng(5).permutation(COUNT)
    shuffled = flown(name, architecture, {key: value[order] for key, value in designs.items()})
    pd.testing.assert_frame_equal(shuffled, together.iloc[order].reset_index(drop=True), check_exact=True)
    for row in range(0, COUNT, 7):
        alone = flown(name, architecture, {key: value[row : row + 1] for key, value in designs.items()})
        pd.testing.assert_frame_equal(alone, together.iloc[[row]].reset_index(drop=True), check_exact=True)
    assert together["window_date_1"].nunique() > 3


@pytest.mark.parametrize("architecture", ["electrolysis_bipropellant", "steam_resistojet"])
def test_a_hop_on_the_ground_is_flown_as_if_alone(architecture: str) -> None:
    name = "ceres_surface_hopper"
    designs = various(asked(name)[0], 4)
    together = flown(name, architecture, designs)
    order = np.random.default_rng(6).permutation(COUNT)
    shuffled = flown(name, architecture, {key: value[order] for key, value in designs.items()})
    pd.testing.assert_frame_equal(shuffled, together.iloc[order].reset_index(drop=True), check_exact=True)


def test_records_hold_what_was_given() -> None:
    columns = Columns(3)
    columns["payload_mass"] = 7.0
    columns["array_area"] = np.array([1.0, 2.0, 3.0])
    columns["launch_mass"] = np.broadcast_to(np.asarray(5.0), 3)
    columns["ice_fraction"] = np.array([0.1, 0.2, 0.3])
    columns["ice_fraction"] = 0.5  # what all share takes the place of what each had
    rows = columns.rows()
    assert rows.dtype == DESIGN
    assert rows["payload_mass"].tolist() == [7.0, 7.0, 7.0]
    assert rows["array_area"].tolist() == [1.0, 2.0, 3.0]
    assert rows["launch_mass"].tolist() == [5.0, 5.0, 5.0]
    assert rows["ice_fraction"].tolist() == [0.5, 0.5, 0.5]
    given = {"payload_mass", "array_area", "launch_mass", "ice_fraction"}
    assert all((rows[name] == 0.0).all() for name in set(DESIGN.names or ()) - given)
    assert columns["array_area"].shape == (3,)
    assert columns["launch_mass"].shape == ()
    with pytest.raises(ValueError, match="no_such_field"):
        columns["no_such_field"] = 1.0
