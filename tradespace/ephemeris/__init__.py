"""Where a body is on a date: planets, small bodies, and moons about their planets.

Positions and velocities are heliocentric, in the ecliptic and equinox of J2000, in SI. Dates are seconds past
J2000 (barycentric dynamical time). Each body has dates between which it is known; outside them it is refused.

Small bodies, and inside the dates of their table the Earth-Moon barycentre, Mars, Jupiter and Saturn, follow
tabulated ellipses, one every 200 days. Between two epochs the body passes smoothly from the one ellipse to the other
(see :func:`tradespace.physics.kepler.joined_state_kernel`); neither place nor speed jumps. Measured over 2026-2045
against numerical ephemerides:

==============================  =======================  =======================
what (against)                  place: median, worst     velocity: worst
==============================  =======================  =======================
13 small bodies (DE441)         250 km, 2600 km          0.62 m/s
the same, nearest ellipse only  2000 km, 130 000 km      31 m/s (65 Cybele)
Mars (DE421)                    430 km, 1800 km          0.55 m/s
Jupiter, Saturn (DE421)         210 km, 550 km           0.11 m/s
Earth-Moon barycentre (DE421)   740 km, 3900 km          1.3 m/s
Venus (DE421)                   790 km, 2700 km          1.1 m/s
Earth (DE421)                   3 km, 8 km               0.003 m/s
Moon about the Earth (DE421)    5 km, 26 km              0.15 m/s
==============================  =======================  =======================

Seven near-Earth asteroids, against our own integration with the planets of DE421 over five spans each: median 400 to
900 km, worst 17 000 km and 6 m/s (Itokawa); 11 000 km and 16 m/s for Phaethon at perihelion. A near pass of the Earth
inside a span spoils it: 2000 SG344 is 200 000 km and 70 m/s off in 2028-2029 (:func:`caution` says so). These
are errors of the method; how well the orbit of a small body itself is known comes on top.
Jupiter and Saturn stand for the barycentres of their systems, a few hundred kilometres from their centres.

Venus and the Earth always come from analytic series (the Earth's has velocities of its own, those of the others are
taken from positions, which is nearer), the other planets outside the dates of the table. There Mars is within
27 000 km and 3 m/s, Jupiter 110 000 km and 2 m/s, Saturn 410 000 km and 5 m/s, and at the ends of the table (August
2025, October 2050) their paths step by as much. The Earth is never propagated as an ellipse.

A moon circles its planet at its mean distance, in the plane and the phase of the rotation that keeps one face to
the planet; the Moon has a series of its own. Against JPL Horizons Europa, Ganymede and Callisto are within 2.7
degrees along their orbits and 0.02 degrees out of their planes, over a century; Enceladus, Tethys, Dione, Rhea and
Titan are within 0.7, 4.5, 0.3, 3 and 2.3 degrees of the mean longitudes in Meeus (1998, from memory), Mimas within 6;
Phobos, Deimos and Iapetus are not checked against anything else. A circle leaves out up to twice the eccentricity
along the orbit: 3.3 degrees for Titan and Iapetus, 2.3 for Mimas, 1.7 for Phobos. That is enough for what a moon
adds to the cost of a hop, and not for a rendezvous.
"""

from tradespace.ephemeris.cautions import caution
from tradespace.ephemeris.days import eclipse_share, solar_day, year
from tradespace.ephemeris.moons import MoonOrbit, heliocentric_body, orbit_of
from tradespace.ephemeris.tracks import coverage, heliocentric_distance, moon_state, state, states

__all__ = [
    "MoonOrbit",
    "caution",
    "coverage",
    "eclipse_share",
    "heliocentric_body",
    "heliocentric_distance",
    "moon_state",
    "orbit_of",
    "solar_day",
    "state",
    "states",
    "year",
]
