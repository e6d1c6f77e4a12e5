"""Surface hops on moons, and the shipped studies run small."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from small_studies import SURFACE

from tradespace import bodies, ephemeris, evaluate, load_study, parse_study
from tradespace.errors import StudyError
from tradespace.mission import Mission
from tradespace.study import Study
from tradespace.units import convert, format_date, parse_date

MOONS = {"Moon": "Earth", "Phobos": "Mars", "Europa": "Jupiter", "Enceladus": "Saturn"}


def on(body: str) -> Study:
    """The small surface study, moved to another body."""
    return parse_study(SURFACE.replace('body = "Ceres"', f'body = "{body}"'))


@pytest.fixture(scope="module")
def mission_on_the_moon() -> Mission:
    return evaluate.mission_of(on("Moon"))


@pytest.mark.parametrize("moon", MOONS)
def test_a_moon_is_as_far_from_the_sun_as_its_planet(moon: str) -> None:
    study = on(moon)
    stop = evaluate.mission_of(study).stops[0]
    planet = ephemeris.heliocentric_distance(MOONS[moon], study.start_date)[0]
    assert stop.distances[0] == pytest.approx(planet, rel=1e-3)
    assert stop.gravitational_parameter == bodies.body(moon).gravitational_parameter


def test_the_day_of_the_moon_is_the_month_of_its_phases(mission_on_the_moon: Mission) -> None:
    # mean synodic month 29.53059 d (Meeus, Astronomical Algorithms, chapter 49, from memory)
    day = float(convert(mission_on_the_moon.stops[0].rotation_period, "s", "d"))
    assert day == pytest.approx(29.53059, abs=0.002)


@pytest.mark.parametrize("moon", MOONS)
def test_hops_per_year_of_sunlight(moon: str) -> None:
    study = on(moon)
    mission = evaluate.mission_of(study)
    table = evaluate.baseline(study, mission)
    assert (table["hops_per_sunlit_year"] == table["hops_per_year"] / table["sunlit_fraction"]).all()


def test_no_ballistic_hops_where_there_is_air() -> None:
    with pytest.raises(StudyError, match="Titan has an atmosphere"):
        on("Titan")


STUDIES = Path(__file__).parents[1] / "studies"


@cache
def shipped(name: str) -> tuple[Study, Mission]:
    """A shipped study and what was looked up for it."""
    study = load_study(STUDIES / f"{name}.toml")
    return study, evaluate.mission_of(study)


def thinned(study: Study, most: int = 9) -> dict[str, np.ndarray]:
    """Every few of the swept points, all combined."""
    points = [one.points[:: max(1, len(one.points) // most)] for one in study.sweep]
    return {
        one.name: grid.ravel()
        for one, grid in zip(study.sweep, np.meshgrid(*points, indexing="ij"), strict=True)
    }


PLAIN = (
    "electrolysis_bipropellant", "steam_resistojet", "water_hall", "storable_bipropellant", "xenon_hall"
)  # fmt: skip
"""Thrusters that the statements below are about."""


def closing(name: str, **fixed: float) -> set[str]:
    """Of the plain architectures those with a closing design in the thinned sweep, some inputs held [SI]."""
    study, mission = shipped(name)
    designs = thinned(study)
    size = len(next(iter(designs.values())))
    designs |= {key: np.full(size, number) for key, number in fixed.items()}
    return {
        architecture
        for architecture in PLAIN
        if evaluate.evaluate(study, mission, architecture, designs)["closes"].any()
    }


@pytest.mark.parametrize("path", sorted(STUDIES.glob("*.toml")), ids=lambda path: str(path.stem))
def test_every_shipped_study_says_it_is_invented_and_asks_something(path: Path) -> None:
    study = load_study(path)
    assert study.name == path.stem
    assert study.question.endswith("?")
    assert study.title
    assert "invented" in study.note.casefold()


@pytest.mark.parametrize("name", [path.stem for path in sorted(STUDIES.glob("*hopper.toml"))])
def test_a_hopper_closes_at_its_own_conditions_and_gives_its_water(name: str) -> None:
    study, mission = shipped(name)
    best = evaluate.baseline(study, mission)
    own = {name: study.values[name] for name in study.conditions}
    assert "electrolysis_bipropellant" in closing(name, **own)
    mining = best[best["architecture"] == "electrolysis_bipropellant"].iloc[0]
    assert mining["water_per_hop"] > 0.0
    assert mining["hops_per_sunlit_year"] == pytest.approx(
        mining["hops_per_year"] / mining["sunlit_fraction"]
    )


def test_on_the_moon_steam_manages_one_kilometre_and_not_eight() -> None:
    ice = {"ice_fraction": 0.056}
    assert closing("lunar_polar_hopper", hop_distance=8e3, **ice) == {"electrolysis_bipropellant"}
    assert "steam_resistojet" in closing("lunar_polar_hopper", hop_distance=1e3, **ice)
    assert not closing("lunar_polar_hopper", hop_distance=48e3, **ice)


def test_on_enceladus_sunlight_alone_is_enough_for_splitting_but_not_for_steam() -> None:
    assert closing("enceladus_surface_hopper", fixed_source_power=0.0, array_area=110.0) == {
        "electrolysis_bipropellant"
    }
    assert closing("enceladus_surface_hopper") == {"electrolysis_bipropellant", "steam_resistojet"}


def test_on_europa_only_splitting_closes_with_or_without_a_source() -> None:
    assert closing("europa_surface_hopper") == {"electrolysis_bipropellant"}
    assert closing("europa_surface_hopper", fixed_source_power=0.0) == {"electrolysis_bipropellant"}


def test_on_phobos_dry_soil_leaves_only_the_craft_that_brings_its_propellant() -> None:
    assert closing("phobos_surface_hopper", ice_fraction=0.001) == {"storable_bipropellant"}
    assert closing("phobos_surface_hopper", ice_fraction=0.1) == {
        "electrolysis_bipropellant",
        "steam_resistojet",
        "storable_bipropellant",
    }


def test_hydrated_rock_carries_a_craft_between_two_near_earth_asteroids_from_two_per_cent_on() -> None:
    dry = closing("near_earth_hydrated_pair", ice_fraction=0.01)
    assert dry == {"xenon_hall"}
    assert closing("near_earth_hydrated_pair", ice_fraction=0.02) == {*dry, "electrolysis_bipropellant"}


def test_the_near_earth_pair_is_as_cheap_as_the_note_says() -> None:
    _, mission = shipped("near_earth_hydrated_pair")
    there, back = mission.windows
    for curve, speed, month, year in ((there, 3.13e3, "2036-06", 2034), (back, 3.09e3, "2041-11", 2037)):
        outside = (curve.departure < parse_date(f"{year}-01-01")) | (
            curve.departure > parse_date("2042-06-01")
        )
        best = int(np.nanargmin(np.where(outside, np.nan, curve.v_inf_sum)))
        assert format_date(curve.departure[best]).startswith(month)
        assert curve.v_inf_sum[best] == pytest.approx(speed, abs=15.0)


def test_a_shuttle_between_the_moons_of_mars_lives_on_poor_soil() -> None:
    refuelling = {"electrolysis_bipropellant", "steam_resistojet", "water_hall"}
    assert closing("mars_moon_shuttle", ice_fraction=0.02) >= refuelling
    assert closing("mars_moon_shuttle", ice_fraction=0.001) & refuelling == {"water_hall"}


def test_nothing_is_mined_in_the_stationary_orbit() -> None:
    study, mission = shipped("mars_moon_shuttle")
    sheet = evaluate.baseline(study, mission)
    mining = sheet[sheet["architecture"] == "electrolysis_bipropellant"].iloc[0]
    assert mining["water_mined_1"] > 0.0
    assert mining["water_mined_2"] == mining["water_mined_4"] == 0.0
    assert (
        mining["delta_v_2"] < 0.2 * mining["delta_v_1"]
    )  # Deimos is near the stationary orbit, Phobos is not


def test_the_ice_tour_is_also_sought_among_the_wet_bodies_of_the_outer_belt() -> None:
    study = load_study(STUDIES / "outer_belt_ice_tour.toml")
    assert study.search is not None
    assert set(study.stops) <= set(study.search.bodies)
    for name in study.search.bodies:
        body = bodies.body(name)
        assert body.parent == "Sun"
        assert body.water_class not in {"none", "unknown"}


@pytest.mark.parametrize("name", ["outer_belt_ice_tour", "near_earth_hydrated_pair", "mars_moon_shuttle"])
def test_a_design_that_closes_has_room_in_every_window(name: str) -> None:
    study, mission = shipped(name)
    for architecture in study.architectures:
        table = evaluate.evaluate(study, mission, architecture, thinned(study))
        assert (table.loc[table["closes"], "window_slack_d"] >= -1e-6).all()


def test_the_best_ice_tours_lie_inside_the_swept_areas() -> None:
    study, mission = shipped("outer_belt_ice_tour")
    areas = study.sweep[0].points
    designs = thinned(study, 20)
    for architecture in ("electrolysis_bipropellant", "electrothermal_engine", "xenon_hall"):
        table = evaluate.evaluate(study, mission, architecture, designs)
        closing = table[table["closes"]]
        best = float(closing.loc[closing["start_mass"].idxmin(), "array_area"])
        assert 2.0 * areas.min() < best < 0.5 * areas.max()
        assert 0 < len(closing) < len(table)
