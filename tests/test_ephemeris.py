"""Where bodies are: planets and tabulated ellipses against independent values, and their limits."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from orbit_files import catalogue as orbit_catalogue
from orbit_files import line

from tradespace import bodies, catalogue, ephemeris
from tradespace.bodies.importing import import_file
from tradespace.constants import value
from tradespace.errors import EphemerisError, UnknownNameError
from tradespace.physics.kepler import state_from_elements
from tradespace.units import format_date, parse_date

AU = value("astronomical_unit")
SUN = value("gravitational_parameter_sun")
DAY = 86400.0

# Osculating elements of 2025-11-21 (JD 2461000.5) computed from the JPL ephemeris DE421 (Folkner et al.
# 2009), mean ecliptic of J2000, gravitational parameter of the Sun and the planet's system: au, 1, deg.
# All but Venus and the Earth follow these very ellipses. The tolerances [km, m/s] of those two are the largest
# differences of the two theories over 2026-2036, for the Earth with 20 km for the digits of the elements.
PLANETS = {
    "Venus": ((0.723328641, 0.006781229, 3.394399, 76.607144, 54.799383, 79.518161), 324858.592, 2.7e3, 1.4),
    "Earth": (
        (1.000853016, 0.017294567, 0.003166, 171.729773, 289.582410, 318.585418),
        403503.2356,
        27.0,
        0.02,
    ),
    "Earth-Moon barycentre": (
        (0.999990008, 0.016662923, 0.003433, 174.931113, 288.146435, 316.814124),
        403503.2356,
        1.0,
        1e-3,
    ),
    "Mars": ((1.523679997, 0.093486374, 1.847503, 49.483557, 286.630031, 294.330034), 42828.3758, 1.0, 1e-3),
    "Jupiter": (
        (5.202458642, 0.048268893, 1.303576, 100.518134, 273.535789, 85.982568),
        126712764.10,
        1.0,
        1e-3,
    ),
    "Saturn": (
        (9.547237401, 0.055368289, 2.487896, 113.631648, 338.002264, 274.909559),
        37940584.84,
        1.0,
        1e-3,
    ),
}


@pytest.mark.parametrize("name", PLANETS)
def test_planets_agree_with_a_numerical_ephemeris(name: str) -> None:
    (axis, eccentricity, *angles), mass, tolerance, fast = PLANETS[name]
    known, speed = state_from_elements(SUN + mass * 1e9, axis * AU, eccentricity, *np.radians(angles))
    found, velocity = ephemeris.state(name, parse_date("2025-11-21"))
    assert np.linalg.norm(found[0] - known) < tolerance * 1e3
    assert np.linalg.norm(velocity[0] - speed) < fast


def test_mars_came_nearest_in_2003() -> None:
    """55.758 million km on 2003-08-27 (widely published at the time; from memory)."""
    dates = parse_date("2003-08-20") + DAY * np.arange(0.0, 15.0, 0.125)
    gaps = np.linalg.norm(ephemeris.state("Mars", dates)[0] - ephemeris.state("Earth", dates)[0], axis=1)
    assert gaps.min() == pytest.approx(55.758e9, rel=2e-5)
    assert format_date(dates[gaps.argmin()]) == "2003-08-27"


def test_the_earth_moves_round_its_barycentre_with_the_moon() -> None:
    dates = parse_date("2030-01-01") + DAY * np.arange(60.0)
    gaps = np.linalg.norm(ephemeris.state("earth", dates)[0] - ephemeris.state("earthmoon", dates)[0], axis=1)
    # 4.3 to 5.1 thousand km (the distance of the Moon over 82.3), give or take the theory of the barycentre
    assert 2.5e6 < gaps.min() < gaps.max() < 7.0e6


@pytest.mark.parametrize(
    ("name", "miss"),  # [m/s]; the Earth has a velocity series of its own
    {
        "Earth": 0.02, "Venus": 1e-3, "EMB": 1e-3, "Mars": 1e-3, "Jupiter": 1e-3, "Saturn": 1e-3,
        "Themis": 1e-3, "Bennu": 1e-3, "Apophis": 1e-3, "Moon": 0.1, "Phobos": 0.02, "Mimas": 0.02, "Titan": 2e-3,
    }.items(),
)  # fmt: skip
def test_velocity_is_the_slope_of_position(name: str, miss: float) -> None:
    """Also across an epoch (2027-07-14) and half-way between two (2027-04-05)."""
    step = 20.0
    for text in ("2026-08-01", "2027-04-05", "2027-07-13", "2027-07-14", "2028-03-01"):
        dates = parse_date(text) + step * np.array([-1.0, 0.0, 1.0])
        positions, velocities = ephemeris.state(name, dates)
        slope = (positions[2] - positions[0]) / (2.0 * step)
        assert np.linalg.norm(slope - velocities[1]) < miss, text


@pytest.mark.parametrize("name", ["Ceres", "Themis", "Antiope", "176P", "65", "Bennu", "Mars", "Saturn"])
def test_paths_are_smooth_across_epochs_and_half_way(name: str) -> None:
    epochs = catalogue.elements(catalogue.catalogue_row(name)["id"])[:, 0]
    for joints in (epochs[1:-1], 0.5 * (epochs[1:] + epochs[:-1])):
        before, after = (ephemeris.state(name, joints + shift) for shift in (-0.5, 0.5))
        steps = after[0] - before[0] - 0.5 * (after[1] + before[1])
        assert np.linalg.norm(steps, axis=1).max() < 1.0  # [m]
        assert np.linalg.norm(after[1] - before[1], axis=1).max() < 0.05  # [m/s], of gravity


def test_joined_ellipses_meet_the_tabulated_ones_at_their_epochs() -> None:
    table = catalogue.elements("24")
    positions, velocities = ephemeris.state("24", table[:, 0])
    for row, position, velocity in zip(table, positions, velocities, strict=True):
        known, speed = state_from_elements(SUN, *row[1:])
        assert np.linalg.norm(position - known) < 1e-3 * 1e3
        assert np.linalg.norm(velocity - speed) < 1e-6 * 1e3


def test_tabulated_epochs_are_even_and_complete() -> None:
    table = catalogue._elements()
    names = {item.id for item in bodies.bodies() if item.group != "moon"}
    assert set(table) == names - {"earth"}
    for name, rows in table.items():
        assert np.allclose(np.diff(rows[:, 0]), 200.0 * DAY, rtol=0, atol=1e-3), name
        assert len(rows) == (7 if name == "99942" else 46), name  # Apophis ends at its encounter of 2029
        assert (rows[:, 2] < 1.0).all(), name


@pytest.mark.parametrize(
    ("name", "first", "last"),
    [
        ("Earth", "1900-01-01", "2100-01-01"),
        ("24", "2025-08-13", "2050-10-21"),
        ("Apophis", "2025-08-13", "2029-04-13"),
    ],
)
def test_dates_outside_the_coverage_are_refused(name: str, first: str, last: str) -> None:
    limits = parse_date(first), parse_date(last)
    assert ephemeris.coverage(name) == limits
    assert ephemeris.state(name, limits)[0].shape == (2, 3)
    for date in (limits[0] - DAY, limits[1] + DAY):
        with pytest.raises(EphemerisError) as caught:
            ephemeris.state(name, [limits[0], date])
        for part in (bodies.body(name).name, format_date(date), first, last):
            assert part in str(caught.value)
    with pytest.raises(EphemerisError):
        ephemeris.state(name, math.nan)


def test_distance_is_the_length_of_the_position() -> None:
    dates = parse_date("2033-08-01") + 500.0 * DAY * np.arange(4)
    distances = ephemeris.heliocentric_distance("Themis", dates)
    assert np.array_equal(distances, np.linalg.norm(ephemeris.state("Themis", dates)[0], axis=1))
    assert (distances > 2.7 * AU).all()
    assert (distances < 3.6 * AU).all()


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("24", "Themis"),
        ("Themis", "Themis"),
        ("24 themis", "Themis"),
        ("  24   Themis ", "Themis"),
        ("176P", "176P/LINEAR"),
        ("176p/linear", "176P/LINEAR"),
        ("BENNU", "Bennu"),
        ("101955 Bennu", "Bennu"),
        ("Europa", "Europa"),
        ("52", "52 Europa"),
        ("dione", "Dione"),
        ("106", "106 Dione"),
        ("EMB", "Earth-Moon barycentre"),
    ],
)
def test_a_body_answers_to_all_its_names(text: str, name: str) -> None:
    assert bodies.body(text).name == name


def test_every_name_belongs_to_one_body() -> None:
    seen: dict[str, str] = {}
    for item in bodies.bodies():
        for name in {item.id, item.name, *item.aliases}:
            assert seen.setdefault(name.casefold(), item.id) == item.id, name


def test_an_unknown_body_is_answered_with_a_near_one() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'Antiope'"):
        bodies.body("Antiope2")


def test_the_catalogue_is_sane_and_says_how_well_it_knows() -> None:
    for item in bodies.bodies():
        assert item.gravitational_parameter > 0, item.name
        assert item.group == "moon" or item.parent == "Sun"
        assert item.sources["gm"]
        assert item.sources["elements"]
        assert item.sources["physical"]
        assert item.grades["gm"] in {"measured", "reviewed", "estimated", "assumed"}
        assert item.grades["water"] in {"measured", "reviewed", "estimated", "assumed"}
        if item.id == "earthmoon":
            assert math.isnan(item.radius)
            continue
        assert item.radius > 0, item.name
        assert item.rotation_period > 0 or math.isnan(item.rotation_period), item.name
        density = 3.0 * item.gravitational_parameter / (4.0 * math.pi * 6.6743e-11 * item.radius**3)
        assert 300.0 < density < 6000.0, item.name
        low, high = item.water_fraction_low, item.water_fraction_high
        assert math.isnan(low) or 0.0 <= low <= high <= 1.0, item.name
        assert math.isnan(item.bond_albedo) or 0.0 < item.bond_albedo < 1.0, item.name


@pytest.mark.parametrize(
    ("name", "before", "after", "part"),
    [
        ("Ryugu", "2033-07-01", "2034-01-01", "0.047 au on 2033-12-21"),
        ("Itokawa", "2036-01-01", "2037-01-01", "2036-06-11"),
        ("2001 US16", "2033-01-01", "2045-01-01", "0.031 au"),
        ("2008 EV5", "2030-01-01", "2040-01-01", "2039-12-28"),
        ("2001 SG286", "2027-01-01", "2029-01-01", "2028-05-15"),
        ("2011 CG2", "2030-01-01", "2035-01-01", "2034-04-29"),
    ],
)
def test_paths_after_a_close_pass_carry_a_caution(name: str, before: str, after: str, part: str) -> None:
    assert ephemeris.caution(name, parse_date(before)) is None
    text = ephemeris.caution(name, parse_date(after))
    assert text is not None
    assert text.startswith(f"{name} on {after}")
    assert part in text
    assert "\n" not in text


def test_short_arcs_carry_a_caution_on_any_date_and_safe_bodies_none() -> None:
    assert "11 days" in str(ephemeris.caution("1998 KY26", parse_date("2026-01-01")))
    assert "also, it passes" in str(ephemeris.caution("2000 SG344", parse_date("2030-01-01")))
    for name in ("Themis", "Mars", "Phobos", "Bennu", "Apophis"):
        assert ephemeris.caution(name, parse_date("2029-01-01")) is None


def test_an_imported_orbit_has_a_caution_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRADESPACE_CATALOGUE", str(tmp_path / "own"))
    moment = parse_date("2027-01-01")
    assert "1999 and 2000" in str(ephemeris.caution("2000 SG344", moment))
    lines = (line(), line("K00SY4G", name="2000 SG344", e=0.0669, a=0.9774, i=0.11, u="2"))
    import_file(orbit_catalogue(tmp_path, *lines), replace=True)
    assert "2867" not in str(ephemeris.caution("Steins", moment))
    assert "one ellipse of 2025-11-21" in str(ephemeris.caution("Steins", moment))
    text = str(ephemeris.caution("2000 SG344", moment))
    assert "1999 and 2000" not in text
    assert text.endswith("; also, orbit uncertainty class 2")


def test_the_passes_are_those_of_our_paths() -> None:
    """Every close pass of the Earth within 0.05 au in the table is named, and on its date."""
    for item in bodies.bodies():
        if item.group != "nea":
            continue
        first, last = ephemeris.coverage(item.id)
        dates = np.arange(first, last, DAY)
        both = ephemeris.states([item.id, "earth"], dates)
        gaps = np.linalg.norm(both[0, :, :3] - both[1, :, :3], axis=1) / AU
        warned = ephemeris.caution(item.id, last) or ""
        close = (gaps < 0.05) & (dates < last - 60.0 * DAY)  # Apophis ends at its pass
        assert bool(close.any()) == ("passes the Earth" in warned), item.name
        if close.any():
            assert format_date(dates[close][0]) > "2026"
            assert ephemeris.caution(item.id, float(dates[close][0])), item.name


def test_several_bodies_at_once_are_those_one_by_one() -> None:
    names = ["Earth", "24", "Saturn", "Moon", "Phobos", "99942"]
    dates = parse_date("2027-01-01") + 100.0 * DAY * np.arange(4)
    together = ephemeris.states(names, dates)
    for name, found in zip(names, together, strict=True):
        assert np.array_equal(found, np.hstack(ephemeris.state(name, dates)))
    assert ephemeris.states([], dates).shape == (0, 4, 6)


def test_dates_without_a_position_are_refused_or_left_out() -> None:
    dates = [parse_date("2027-01-01"), parse_date("2030-01-01"), math.nan]
    with pytest.raises(EphemerisError, match="Apophis is known from 2025-08-13 to 2029-04-13"):
        ephemeris.states(["Themis", "Apophis"], dates[:2])
    found = ephemeris.states(["Themis", "Apophis"], dates, missing=True)
    assert np.isfinite(found).all(axis=2).tolist() == [[True, True, False], [True, False, False]]
