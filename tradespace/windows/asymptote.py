"""Where in the sky a departure points."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.ephemeris import state
from tradespace.errors import TransferError
from tradespace.units import format_date
from tradespace.windows.question import check_kind, check_pair


def departure_asymptote(
    departure_body: str,
    arrival_body: str,
    depart: float,
    arrive: float,
    revolutions: int = 0,
    prograde: bool = True,
    path: str = "low",
) -> tuple[float, float]:
    """Direction of the excess velocity at departure, on the equator of J2000.

    The declination is the least inclination of a parking orbit that needs no turn of its plane.

    Parameters
    ----------
    departure_body, arrival_body : str
        Identifier, name or alias.
    depart, arrive : float
        Seconds past J2000.
    revolutions : int
        Full turns around the Sun on the way.
    prograde : bool
        Whether the transfer turns in the sense of the planets.
    path : str
        ``"low"`` or ``"high"`` as in :func:`transfer_on`; without full turns there is one orbit only.

    Returns
    -------
    right_ascension : float
        Towards east from the equinox of J2000 [rad].
    declination : float
        Above the equator of J2000 [rad].

    Raises
    ------
    TransferError
        If both bodies are the same or one is a moon, the arrival does not follow the departure, an option is
        unknown, or no transfer exists.
    EphemerisError
        If a date falls outside the coverage of a body.

    Examples
    --------
    >>> from tradespace.units import parse_date
    >>> dates = parse_date("2026-10-31"), parse_date("2027-08-19")
    >>> ascension, declination = departure_asymptote("Earth", "Mars", *dates)
    >>> print(f"{math.degrees(ascension):.1f} {math.degrees(declination):.1f}")
    130.6 23.2
    """
    from tradespace.physics.lambert import lambert

    check_pair(departure_body, arrival_body, depart, arrive, whole=True)
    check_kind(revolutions, path)
    (start, own), (end, _) = state(departure_body, depart), state(arrival_body, arrive)
    try:
        begin, _ = lambert(
            value("gravitational_parameter_sun"), start[0], end[0], arrive - depart, revolutions, prograde,
            path == "low",
        )  # fmt: skip
    except TransferError as error:
        raise TransferError(
            f"no transfer leaves {departure_body} on {format_date(depart)} and "
            f"reaches {arrival_body} on {format_date(arrive)}"
        ) from error
    x, y, z = begin - own[0]
    cosine, sine = math.cos(value("obliquity_j2000")), math.sin(value("obliquity_j2000"))
    y, z = y * cosine - z * sine, y * sine + z * cosine
    return math.atan2(y, x) % (2.0 * math.pi), math.atan2(z, math.hypot(x, y))
