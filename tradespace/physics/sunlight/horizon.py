"""Sunlit share of a rotation where terrain hides the Sun near the horizon."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within

_LEAST = value("least_sunlit_fraction", "power_values.csv")
_RIGHT_ANGLE = math.pi / 2.0


@kernel
def landed_sunlit_fraction_kernel(
    latitude: float, subsolar_latitude: float, horizon_elevation: float
) -> float:
    """Share of a rotation with the Sun above the terrain [1], never below a floor."""
    steady = math.sin(latitude) * math.sin(subsolar_latitude)
    swing = math.cos(latitude) * math.cos(subsolar_latitude)
    over = (math.sin(horizon_elevation) - steady) / max(swing, 1e-12)
    return max(math.acos(min(max(over, -1.0), 1.0)) / math.pi, _LEAST)


def landed_sunlit_fraction(
    latitude: ArrayLike, subsolar_latitude: ArrayLike, horizon_elevation: ArrayLike
) -> FloatArray:
    r"""Share of a rotation with the Sun above a horizon of one elevation all around.

    .. math:: f = \frac{1}{\pi} \arccos\frac{\sin h - \sin\varphi\sin\delta}{\cos\varphi\cos\delta}

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the site [rad].
    subsolar_latitude : array_like, shape (...)
        Latitude over which the Sun stands [rad].
    horizon_elevation : array_like, shape (...)
        Elevation of the terrain all around; 0 for a level horizon [rad].

    Returns
    -------
    ndarray, shape (...)
        Sunlit fraction, 0.001 at the least [1].

    Raises
    ------
    DomainError
        If a latitude lies outside -90 to 90 degrees, or an elevation outside 0 to 90 degrees.

    References
    ----------
    .. [1] closed form: hour angle at which the Sun passes the given elevation.

    Examples
    --------
    >>> import math
    >>> float(landed_sunlit_fraction(0.0, 0.0, 0.0)), float(landed_sunlit_fraction(0.0, 0.0, math.radians(9.0)))
    (0.5, 0.45)
    """
    within("latitude", "rad", latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("subsolar latitude", "rad", subsolar_latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("horizon elevation", "rad", horizon_elevation, 0.0, _RIGHT_ANGLE)
    return broadcast(landed_sunlit_fraction_kernel, latitude, subsolar_latitude, horizon_elevation)
