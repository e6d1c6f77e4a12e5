"""Surface hops on moons, and the shipped studies run small."""

from __future__ import annotations

import pytest
from small_studies import SURFACE

from tradespace import bodies, ephemeris, evaluate, parse_study
from tradespace.errors import StudyError
from tradespace.mission import Mission
from tradespace.study import Study
from tradespace.units import convert

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
    # mean synodic month 29.53059 d (Meeus, Astronomical Algorithms, chapter 49, from memory); the Earth's orbit of
    # one date stands for the mean one here
    day = float(convert(mission_on_the_moon.stops[0].rotation_period, "s", "d"))
    assert day == pytest.approx(29.53059, abs=0.02)


@pytest.mark.parametrize("moon", MOONS)
def test_hops_per_year_of_sunlight(moon: str) -> None:
    study = on(moon)
    mission = evaluate.mission_of(study)
    table = evaluate.baseline(study, mission)
    assert (table["hops_per_sunlit_year"] == table["hops_per_year"] / table["sunlit_fraction"]).all()


def test_no_ballistic_hops_where_there_is_air() -> None:
    with pytest.raises(StudyError, match="Titan has an atmosphere"):
        on("Titan")
