"""The part of the question all designs share: stops, distances from the Sun, and the legs between the stops."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from tradespace import constants
from tradespace.errors import TransferError
from tradespace.mission import Mission, Stop, System, WindowCurve
from tradespace.physics.compiled import FloatArray

if TYPE_CHECKING:
    from tradespace.study import Place, Study

SETTINGS = "engine_settings.csv"
SITES = "site_values.csv"
LEAST_DATES = 2


def mission_of(study: Study) -> Mission:
    """Look up stops, distances and windows for a study: the part of the question all designs share.

    Raises
    ------
    EphemerisError
        If a date lies outside the ephemeris of a body.
    TransferError
        If there is no departure between two stops.
    """
    step = constants.value("distance_step", SETTINGS)
    count = int(np.ceil((study.horizon - study.start_date) / step)) + 2
    dates: FloatArray = study.start_date + step * np.arange(count, dtype=np.float64)
    known: dict[Place, Stop] = {}
    for place in study.places:
        if place not in known:
            known[place] = stop_of(study, place, dates)
    curves = []
    if study.kind == "tour":
        for here, there in zip(study.places[:-1], study.places[1:], strict=True):
            curves.append(leg_of(study, here, there))
    stops = tuple(known[place] for place in study.places)
    return Mission(study.kind, study.start_date, study.horizon, stops, tuple(curves))


def stop_of(study: Study, place: Place, dates: FloatArray) -> Stop:
    """What the engine needs to know of one stop."""
    from tradespace import bodies, ephemeris
    from tradespace.physics.kepler import orbital_period_kernel

    body = bodies.body(place.body)
    host = ephemeris.heliocentric_body(body.id)
    last = min(ephemeris.coverage(host)[1], float(dates[-1]))
    distance = ephemeris.heliocentric_distance(host, np.minimum(dates, last))
    mass, radius = circle_of(place)
    if place.orbit is not None:
        period = float(orbital_period_kernel(mass, radius))
        return Stop(
            place.label, 0.0, radius, period, dates, distance, mines=False, orbit_mu=mass, orbit_radius=radius
        )
    chance = place.dry_site_probability
    day = ephemeris.solar_day(body.id) if place.rotation_period is None else place.rotation_period
    return Stop(
        body.label, body.gravitational_parameter, body.radius, day, dates, distance,
        orbit_mu=mass, orbit_radius=radius,
        dry_probability=dry_chance(body.water_class) if chance is None else chance, dry_given=chance is not None,
        extraction_energy=_extraction_energy(study, place),
    )  # fmt: skip


def dry_chance(water_class: str) -> float:
    """Chance that no water can be won on a body with this evidence for it; our own judgement [1]."""
    return constants.value(f"dry_{water_class}", SITES)


def circle_of(place: Place) -> tuple[float, float]:
    """Planet's gravitational parameter [m3/s2] and radius of the circle about it [m]; zeros for a body at the Sun."""
    from tradespace import bodies, ephemeris

    body = bodies.body(place.body)
    if place.orbit is not None:
        return body.gravitational_parameter, body.radius + place.orbit
    if body.group == "moon":
        orbit = ephemeris.orbit_of(body.id)
        return orbit.parent_gm, orbit.semi_major_axis
    return 0.0, 0.0


def _extraction_energy(study: Study, place: Place) -> float:
    """Electric energy for a kilogram of water at a stop with its own source of water [J/kg]; else not a number."""
    from tradespace.evaluate.inputs import EXTRACTION_INPUTS
    from tradespace.options import option
    from tradespace.physics.compiled import broadcast
    from tradespace.physics.extraction import water_energy_kernel

    if not study.effects.get("extraction", True):
        return math.nan  # water is a gift everywhere
    if place.extraction_energy is not None:
        return place.extraction_energy
    if place.water_source is None:
        return math.nan
    own = {name: item.value for name, item in option("water_source", place.water_source).settings.items()}
    values = {**study.values, **own}
    return float(broadcast(water_energy_kernel, *(values[name] for name in EXTRACTION_INPUTS)))


def leg_of(study: Study, here: Place, there: Place) -> WindowCurve:
    """The leg between two stops: within the system of one planet, or around the Sun."""
    from tradespace import ephemeris, windows

    first, second = (ephemeris.heliocentric_body(place.body) for place in (here, there))
    if first == second:
        return _leg_within(study, here, there)
    if study.flight_time is None:  # the study has been read, so this cannot happen
        raise AssertionError("a leg around the Sun needs flight times")
    curve = windows.window_curve(first, second, study.start_date, study.horizon, *study.flight_time)
    if curve.departure.size < LEAST_DATES:
        raise TransferError(
            f"only one departure from {here.label} to {there.label} has an arrival on a date that is known; "
            "set an earlier horizon or shorter flights"
        )
    return curve


def _leg_within(study: Study, here: Place, there: Place) -> WindowCurve:
    """A leg between two circles about one planet: the same on every date.

    A parking orbit is taken in the plane of the moon it serves; the planes of two moons differ by the sum of their
    tilts at most. The wait for the next chance is at most the synodic period.
    """
    from tradespace import ephemeris
    from tradespace.physics.kepler import orbital_period_kernel
    from tradespace.physics.transfer import circular_leg_kernel, synodic_period_kernel

    (mass, first), (_, second) = circle_of(here), circle_of(there)
    moons = here.orbit is None and there.orbit is None
    tilts = (
        [ephemeris.orbit_of(place.body).inclination_to_parent_equator for place in (here, there)]
        if moons
        else [0.0]
    )
    leaving, arriving, flight = circular_leg_kernel(mass, first, second, sum(tilts))
    periods = [float(orbital_period_kernel(mass, radius)) for radius in (first, second)]
    wait = 0.0 if first == second else float(abs(synodic_period_kernel(*periods)))
    step = constants.value("window_step", "orbits.csv")
    dates: FloatArray = study.start_date + step * np.arange(
        int((study.horizon - study.start_date) / step) + 2, dtype=np.float64
    )
    flights, starts, ends = (np.full(dates.size, float(value)) for value in (flight, leaving, arriving))
    system = System(mass, first, second, sum(tilts), wait)
    return WindowCurve(here.label, there.label, dates, flights, starts, ends, system=system)
