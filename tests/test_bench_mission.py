"""The bench carried into a mission: size and direction as the elasticities say, chances, exchange rates."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from test_calibration_file import VALUES, calibration

from tradespace import evaluate
from tradespace.bench.calibration import CalibratedValue, Calibration
from tradespace.bench_mission import Carried, calibrated_study, carry
from tradespace.bench_mission.exchange import IDEAL
from tradespace.errors import StudyError
from tradespace.sensitivity.elasticity import elasticities
from tradespace.study import Study, load_study

STUDIES = Path(__file__).parents[1] / "studies"
NAME = "electrolysis_bipropellant"
SHARES = ("cell_gas_loss", "energy_release_efficiency")
MEASURED = {
    "cell_ohmic_factor": 1.3, "cell_activation_factor": 1.1, "cell_bypass_conductance": 12.0, "cell_gas_loss": 0.03,
    "energy_release_efficiency": 0.93, "viscous_loss_scale": 1.2, "wall_heat_scale": 0.9,
}  # fmt: skip


def one_per_cent(name: str, step: float) -> Calibration:
    """The invented bench with one of its numbers a step off."""
    moved = {key: value * (1.0 + step * (key == name)) for key, value in MEASURED.items()}
    values = {
        key: CalibratedValue(
            key, value, 0.9 * value, min(1.1 * value, 1.0 if key in SHARES else np.inf), 1e-6, True
        )
        for key, value in moved.items()
    }
    return calibration(values=values, covariance=1e-12 * np.eye(len(values)))


@pytest.fixture(scope="module")
def tour() -> Study:
    return load_study(STUDIES / "outer_belt_ice_tour.toml")


@pytest.fixture(scope="module")
def carried(tour: Study) -> Carried:
    return carry(tour, calibration(), [NAME], samples=256)


@pytest.mark.parametrize("file", ["outer_belt_ice_tour", "lunar_polar_hopper"])
def test_mission_moves_as_the_elasticities_say(file: str) -> None:
    study = load_study(STUDIES / f"{file}.toml")
    measured = calibrated_study(study, one_per_cent("", 0.0))
    mission = evaluate.mission_of(measured)
    reference = evaluate.baseline(measured, mission, NAME).iloc[0]
    table = elasticities(measured, mission, NAME, ["refuel_time_mean", "start_mass"], reference)
    table = table[table["calendar"] == ("frozen" if mission.windows else "free")]
    told = {(row.metric, row.quantity): row.elasticity for row in table.itertuples()}
    compared = 0
    for name in MEASURED:
        ends = {
            step: carry(study, one_per_cent(name, step), [NAME], which="baseline", samples=2).standing
            for step in (-0.01, 0.01)
        }
        kept = {
            step: rows[
                (rows["source"] == "bench") & (rows["calendar"] == ("frozen" if mission.windows else "free"))
            ].iloc[0]
            for step, rows in ends.items()
        }
        for metric in ("refuel_time_mean", "start_mass"):
            expected = told.get((metric, name), 0.0)
            if not np.isfinite(expected) or abs(expected) < 1e-3:
                continue
            found = np.log(kept[0.01][metric] / kept[-0.01][metric]) / np.log(1.01 / 0.99)
            assert found == pytest.approx(expected, rel=0.10), (name, metric)
            compared += 1
    assert compared >= 6


def test_the_same_design_is_flown_with_both(carried: Carried) -> None:
    rows = carried.standing
    assert set(rows["source"]) == {"catalogue", "bench"}
    assert set(rows["calendar"]) == {"free", "frozen"}
    plain, bench = (
        rows[(rows["source"] == source) & (rows["calendar"] == "free")].iloc[0]
        for source in ("catalogue", "bench")
    )
    assert plain["design"] == bench["design"]
    assert plain["closes"]
    assert bench["specific_impulse"] < plain["specific_impulse"]
    assert bench["split_energy"] > plain["split_energy"]


def test_chance_counts_its_draws(carried: Carried) -> None:
    rows = carried.chance.set_index("uncertain")
    assert set(rows.index) == {"bench", "all"}
    for row in rows.itertuples():
        assert row.chance == row.closing / row.samples
        assert 0.0 <= row.low <= row.chance <= row.high <= 1.0


def test_a_sure_bench_gives_a_sure_answer(tour: Study) -> None:
    sure = one_per_cent("", 0.0)
    found = carry(tour, sure, [NAME], samples=64)
    row = found.chance.set_index("uncertain").loc["bench"]
    closes = found.standing[(found.standing["source"] == "bench") & (found.standing["calendar"] == "free")][
        "closes"
    ].iloc[0]
    assert row["chance"] == float(closes)


def test_exchange_rates_are_what_the_engine_answers(carried: Carried) -> None:
    rows = carried.exchange
    assert set(rows["quantity"]) == set(VALUES)
    design = {name: np.array([value]) for name, value in carried.designs[NAME].values.items()}
    free = carried.standing[
        (carried.standing["source"] == "catalogue") & (carried.standing["calendar"] == "free")
    ]
    assert len(free) == 1
    dates = evaluate.answers(
        carried.plain,
        carried.mission,
        NAME,
        design,
        [f"window_date_{hop + 1}" for hop in range(carried.mission.hops)],
    )
    frozen = np.array([float(date[0]) for date in dates.values()])
    for row in rows.itertuples():
        here, there = (
            evaluate.answers(carried.study, carried.mission, NAME, {**design, row.quantity: np.array([value])},
                             ["start_mass", "margin"], frozen=frozen)
            for value in (row.value, row.improved)
        )  # fmt: skip
        assert row.start_mass_gain == pytest.approx(
            float(here["start_mass"][0] - there["start_mass"][0]), abs=1e-9
        )
        assert row.margin_gain == pytest.approx(float(there["margin"][0] - here["margin"][0]), abs=1e-12)
        assert row.improved == pytest.approx(row.value + 0.1 * (IDEAL[row.quantity] - row.value))
        assert row.work_time_ideal_gain > row.work_time_gain > 0.0


def test_the_study_gives_way_and_says_so() -> None:
    study = load_study(STUDIES / "ceres_surface_hopper.toml")
    assert "stack_efficiency" in study.given
    found = carry(study, calibration(), [NAME], samples=64)
    assert any("stack efficiency" in sentence and "gives way" in sentence for sentence in found.words)
    assert "stack_efficiency" not in found.study.values
    assert any("invented" in sentence for sentence in found.words)


def test_impossible_readings_are_told_at_once(tour: Study) -> None:
    wrong = dataclasses.replace(calibration(), checks=(("thrust of the flow", "impossible", "No."),))
    assert any("cannot all be true" in sentence for sentence in carry(tour, wrong, [NAME], samples=2).words)


def test_what_cannot_be_carried_is_refused(tour: Study) -> None:
    measured = calibrated_study(tour, calibration())
    with pytest.raises(StudyError, match="reads a calibration already"):
        carry(measured, calibration())
    with pytest.raises(StudyError, match="not a power of two"):
        carry(tour, calibration(), samples=100)
    with pytest.raises(Exception, match="electrolysis_bipropelant"):
        carry(tour, calibration(), ["electrolysis_bipropelant"])
    dry = dataclasses.replace(
        tour, thrusters={"xenon_hall": tour.thrusters["xenon_hall"]}, architectures=("xenon_hall",)
    )
    with pytest.raises(StudyError, match="splits its water"):
        carry(dry, calibration())
