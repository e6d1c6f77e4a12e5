"""Where a body is on a date: planets, small bodies, and moons about their planets.

Positions and velocities are heliocentric, in the ecliptic and equinox of J2000, in SI. Dates are seconds past
J2000 (barycentric dynamical time). Each body has dates between which it is known; outside them it is refused.

Small bodies, and inside the dates of their table Mars, Jupiter and Saturn, follow tabulated ellipses, one every 200
days. From each epoch the body runs on that epoch's ellipse plus the cubic in time that brings it, in place and
speed, onto the ellipse of the next; nothing jumps. Measured over 2026-2045 against numerical ephemerides:

==============================  ===================  ====================
what (against)                  place: median, worst  velocity: worst
==============================  ===================  ====================
13 small bodies (DE441)         270 km, 1100 km       0.20 m/s
the same, nearest ellipse only  2000 km, 130 000 km   31 m/s (65 Cybele)
Mars (DE421)                    590 km, 3500 km       0.66 m/s
Jupiter, Saturn (DE421)         210 km, 550 km        0.11 m/s
Venus (DE421)                   790 km, 2700 km       1.3 m/s
Earth (DE421)                   3 km, 8 km            0.003 m/s
Earth-Moon barycentre (DE421)   1300 km, 5600 km      1.1 m/s
Moon about the Earth (DE421)    5 km, 26 km           0.15 m/s
==============================  ===================  ====================

These are errors of the method; how well the orbit of a small body itself is known comes on top. Jupiter and Saturn
stand for the barycentres of their systems, a few hundred kilometres from their centres.

Venus, the Earth and the barycentre always come from analytic series (the Earth's has velocities of its own, the
others' are taken from positions, which is nearer), the other planets outside the dates of the table. There Mars is
within 27 000 km and 3 m/s, Jupiter 110 000 km and 2 m/s, Saturn 410 000 km and 5 m/s, and at the ends of the table
(August 2025, October 2050) their paths step by as much. The Earth is never propagated as an ellipse.

A moon circles its planet at its mean distance, in the plane and the phase of the rotation that keeps one face to
the planet; the Moon has a series of its own. Against JPL Horizons Europa, Ganymede and Callisto are within 2.7
degrees along their orbits and 0.02 degrees out of their planes, over a century. A circle leaves out up to twice the
eccentricity along the orbit: 3.3 degrees for Titan and Iapetus, 2.3 for Mimas, 1.7 for Phobos, and the prime
meridians of Saturn's moons are good to a few degrees. That is enough for what a moon adds to the cost of a hop, and not
for a rendezvous.
"""

from tradespace.ephemeris.days import eclipse_share, solar_day, year
from tradespace.ephemeris.moons import MoonOrbit, heliocentric_body, orbit_of
from tradespace.ephemeris.tracks import coverage, heliocentric_distance, moon_state, state, states

__all__ = [
    "MoonOrbit",
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
