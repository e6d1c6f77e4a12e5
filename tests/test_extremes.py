"""The engine at the ends of every input's bounds: it ends, and every margin is a finite number."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tradespace import evaluate as engine
from tradespace.mission import Mission
from tradespace.quantities import Quantity, quantities
from tradespace.study import Study, load_study

STUDIES = Path(__file__).parents[1] / "studies"
NAMES = ("outer_belt_ice_tour", "ceres_surface_hopper", "mars_moon_shuttle", "near_earth_hydrated_pair")
FEW = "electrolysis_bipropellant hydrogen_arcjet water_hall xenon_hall".split()
"""One of every feed."""
MORE = (
    "steam_resistojet solar_thermal_steam electrolysis_continuous liquid_hydrogen_oxygen rotating_detonation "
    "oxygen_hall pulsed_plasma storable_bipropellant"
).split()
PAIRS = [
    (name, architecture) for name in NAMES for architecture in (FEW if name in NAMES[2:] else FEW + MORE)
]
PAIRS_OF_EXTREMES, ALL_EXTREME = 300, 200
each_architecture = pytest.mark.parametrize(("name", "architecture"), PAIRS)

Columns = dict[str, np.ndarray]


@functools.cache
def asked(name: str) -> tuple[Study, Mission]:
    study = load_study(STUDIES / f"{name}.toml")
    return study, engine.mission_of(study)


def of_role(role: str, study: Study) -> list[Quantity]:
    """Inputs with bounds that belong to the kind of study."""
    other = "hop_distance" if study.kind == "tour" else "hop_delta_v_capacity"
    return [item for item in quantities().values() if item.role == role and item.name != other]


def answers(name: str, architecture: str, designs: Columns) -> pd.DataFrame:
    study, mission = asked(name)
    return engine.evaluate(study, mission, architecture, designs, everything=True)


def baseline_rows(name: str, architecture: str, count: int) -> tuple[Columns, list[Quantity]]:
    """The study's own design in each of so many rows, and its bounded inputs."""
    study, _ = asked(name)
    items = of_role("input", study)
    row = answers(name, architecture, {}).iloc[0]
    return {item.name: np.full(count, float(row[item.name])) for item in items}, items


def ends(item: Quantity) -> tuple[float, float]:
    assert item.low is not None
    assert item.high is not None
    return item.low, item.high


def check(table: pd.DataFrame, what: list[str]) -> None:
    """Margins are finite within their clip, every number is finite, and dates run forwards."""
    columns = [name for name in table if str(name).startswith("margin")]
    margins = table[columns].to_numpy(dtype=float)
    good = np.isfinite(margins).all(axis=1) & (margins.min(axis=1) >= -1.0) & (margins.max(axis=1) <= 10.0)
    assert good.all(), [what[row] for row in np.flatnonzero(~good)[:5]]
    numbers = table.select_dtypes("number")
    for name in numbers:
        bad = ~np.isfinite(numbers[name].to_numpy(dtype=float))
        assert not bad.any(), (name, [what[row] for row in np.flatnonzero(bad)[:5]])
    hops = sum(str(name).startswith("landing_date_") for name in table)
    for hop in range(1, hops + 1):
        ready, arrival = table[f"ready_date_{hop}"], table[f"arrival_date_{hop}"]
        assert (ready >= arrival).all()
        assert (table[f"landing_date_{hop}"] >= table[f"departure_date_{hop}"]).all()
    assert (table["dry_mass"] > 0.0).all()


@each_architecture
def test_every_input_at_either_end_of_its_bounds(name: str, architecture: str) -> None:
    items = of_role("input", asked(name)[0])
    columns, items = baseline_rows(name, architecture, 2 * len(items))
    what = []
    for place, item in enumerate(items):
        columns[item.name][2 * place : 2 * place + 2] = ends(item)
        what += [f"{item.name} = {end:g} {item.unit}" for end in ends(item)]
    check(answers(name, architecture, columns), what)


@each_architecture
def test_every_given_intermediate_at_either_end_of_its_bounds(name: str, architecture: str) -> None:
    for item in of_role("derived", asked(name)[0]):
        what = [f"{item.name} = {end:g} {item.unit}" for end in ends(item)]
        check(answers(name, architecture, {item.name: np.array(ends(item))}), what)


@each_architecture
def test_several_inputs_at_their_ends_together(name: str, architecture: str) -> None:
    """Two at a time, then every input at once at a random end."""
    random = np.random.default_rng(20320101)
    count = PAIRS_OF_EXTREMES + ALL_EXTREME
    columns, items = baseline_rows(name, architecture, count)
    what = []
    for row in range(count):
        chosen = random.choice(len(items), 2, replace=False) if row < PAIRS_OF_EXTREMES else range(len(items))
        words = []
        for place in chosen:
            item = items[place]
            columns[item.name][row] = ends(item)[random.integers(2)]
            words.append(f"{item.name} = {columns[item.name][row]:g}")
        what.append(", ".join(words))
    check(answers(name, architecture, columns), what)


def test_a_hop_longer_than_half_the_circumference_ends_at_the_antipode() -> None:
    """A study refuses such a hop; the engine, which is not asked to check, still answers."""
    _, mission = asked("ceres_surface_hopper")
    longest = np.pi * mission.stops[0].radius
    table = answers(
        "ceres_surface_hopper",
        "electrolysis_bipropellant",
        {"hop_distance": np.array([longest, 3.0 * longest])},
    )
    first, second = (table.iloc[row].drop("hop_distance") for row in (0, 1))
    assert first.equals(second)
