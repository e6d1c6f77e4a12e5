"""Day and night on a rotating body: sunlit share, mean cosine of plates, length of the night."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, within

_RIGHT_ANGLE = math.pi / 2.0
_NODES = 48  # midpoints over half a year, for the yearly mean


@kernel
def half_day_angle_kernel(latitude: float, subsolar_latitude: float) -> float:
    """Angle the body turns from noon to sunset [rad]: 0 in polar night, pi in polar day."""
    return math.acos(min(max(-math.tan(latitude) * math.tan(subsolar_latitude), -1.0), 1.0))


@kernel
def sunlit_fraction_kernel(latitude: float, subsolar_latitude: float) -> float:
    """Share of a rotation with the Sun above a level horizon [1]."""
    return half_day_angle_kernel(latitude, subsolar_latitude) / math.pi


@kernel
def mean_sunlit_fraction_kernel(latitude: float, obliquity: float) -> float:
    """Sunlit fraction averaged over all seasons [1]: a half, whatever the latitude and the obliquity.

    Each season has its opposite half an orbit away, with night for day; the two add up to one rotation.
    """
    return 0.5


@kernel
def least_sunlit_fraction_kernel(latitude: float, obliquity: float) -> float:
    """Sunlit fraction at midwinter [1]."""
    return sunlit_fraction_kernel(abs(latitude), -abs(obliquity))


@kernel
def night_length_kernel(latitude: float, subsolar_latitude: float, rotation_period: float) -> float:
    """Length of the night [s]; the whole rotation in polar night, zero in polar day."""
    return (1.0 - sunlit_fraction_kernel(latitude, subsolar_latitude)) * rotation_period


@kernel
def plate_mean_cosine_kernel(latitude: float, subsolar_latitude: float, tilt: float) -> float:
    """Cosine of incidence on a plate tilted towards the equator, averaged over a whole rotation [1].

    Tilting by an angle turns the plate into a level one nearer the equator by that angle, but the ground still
    cuts the day short. The shorter of the two half days counts.
    """
    lean = latitude - math.copysign(tilt, latitude)
    half = min(
        half_day_angle_kernel(latitude, subsolar_latitude), half_day_angle_kernel(lean, subsolar_latitude)
    )
    steady = math.sin(lean) * math.sin(subsolar_latitude)
    swing = math.cos(lean) * math.cos(subsolar_latitude)
    return max(half * steady + swing * math.sin(half), 0.0) / math.pi


@kernel
def yearly_mean_cosine_kernel(latitude: float, obliquity: float) -> float:
    """Cosine of incidence on a level plate, averaged over all hours and seasons [1].

    Integral over the angle round the vertical between pole and Sun circle; midpoints converge fast on it
    because the integrand is periodic.
    """
    along = math.sin(latitude) * math.cos(obliquity)
    across = math.cos(latitude) * math.sin(obliquity)
    total = 0.0
    for node in range(_NODES):
        angle = math.pi * ((node + 0.5) / _NODES - 0.5)
        sine = along - across * math.sin(angle)
        total += math.sqrt(max(1.0 - sine * sine, 0.0))
    return total / (_NODES * math.pi)


@kernel
def daylight_mean_cosine_kernel(latitude: float, subsolar_latitude: float, tilt: float) -> float:
    """Cosine of incidence on a fixed plate, averaged while the Sun is up [1]; zero in polar night."""
    lit = sunlit_fraction_kernel(latitude, subsolar_latitude)
    return min(plate_mean_cosine_kernel(latitude, subsolar_latitude, tilt) / max(lit, 1e-9), 1.0)


def _latitudes(latitude: ArrayLike, subsolar_latitude: ArrayLike) -> None:
    within("latitude", "rad", latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("subsolar latitude", "rad", subsolar_latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)


def sunlit_fraction(latitude: ArrayLike, subsolar_latitude: ArrayLike) -> FloatArray:
    r"""Share of a rotation during which the Sun stands above a level horizon.

    .. math:: f = \arccos(-\tan\varphi \tan\delta) / \pi

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the place [rad].
    subsolar_latitude : array_like, shape (...)
        Latitude at which the Sun stands overhead that day [rad].

    Returns
    -------
    ndarray, shape (...)
        Sunlit share, 0 in polar night and 1 in polar day [1].

    Raises
    ------
    DomainError
        If an angle lies beyond a right angle.

    Notes
    -----
    Sphere, level horizon, the Sun a point, no refraction; hills and the dip of the horizon are not included.

    References
    ----------
    .. [1] fao_56_1998, equations 25 and 34 (sunset hour angle, daylight hours).

    Examples
    --------
    >>> print(f"{24 * sunlit_fraction(-0.35, 0.120):.1f}")  # hours
    11.7
    """
    _latitudes(latitude, subsolar_latitude)
    return broadcast(sunlit_fraction_kernel, latitude, subsolar_latitude)


def mean_sunlit_fraction(latitude: ArrayLike, obliquity: ArrayLike) -> FloatArray:
    r"""Sunlit fraction averaged over all seasons.

    .. math:: \bar f = 1/2

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the place [rad].
    obliquity : array_like, shape (...)
        Angle between the spin axis and the normal of the orbit [rad].

    Returns
    -------
    ndarray, shape (...)
        One half everywhere: days half an orbit apart are each other's nights [1].

    Raises
    ------
    DomainError
        If the latitude lies beyond a right angle, or the obliquity outside 0 to pi.

    Notes
    -----
    Exact for a circular orbit. On an eccentric orbit it is exact when days are weighted by the sunlight they
    bring, because sunlight and time spent per degree of orbit vary in opposite ways; the plain mean over time
    then differs a little. A stay shorter than the year sees its own season: :func:`sunlit_fraction` for the
    subsolar latitude of the date, :func:`least_sunlit_fraction` for the worst.

    References
    ----------
    .. [1] closed form: arccos(-x) + arccos(x) = pi.

    Examples
    --------
    >>> print(mean_sunlit_fraction(0.7, 0.41))
    0.5
    """
    within("latitude", "rad", latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("obliquity", "rad", obliquity, 0.0, math.pi)
    return broadcast(mean_sunlit_fraction_kernel, latitude, obliquity)


def least_sunlit_fraction(latitude: ArrayLike, obliquity: ArrayLike) -> FloatArray:
    r"""Sunlit fraction at midwinter.

    .. math:: f = \arccos(\tan|\varphi| \tan\epsilon) / \pi

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the place [rad].
    obliquity : array_like, shape (...)
        Angle between the spin axis and the normal of the orbit [rad].

    Returns
    -------
    ndarray, shape (...)
        Sunlit share on the shortest day, zero where polar night falls [1].

    Raises
    ------
    DomainError
        If the latitude or the obliquity lies beyond a right angle.

    Notes
    -----
    For a retrograde body use 180 degrees minus its obliquity.

    References
    ----------
    .. [1] fao_56_1998, equations 25 and 34 at the solstice.

    Examples
    --------
    >>> print(f"{least_sunlit_fraction(0.7, 0.4091):.3f}")
    0.381
    """
    within("latitude", "rad", latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("obliquity", "rad", obliquity, 0.0, _RIGHT_ANGLE)
    return broadcast(least_sunlit_fraction_kernel, latitude, obliquity)


def night_length(latitude: ArrayLike, subsolar_latitude: ArrayLike, rotation_period: ArrayLike) -> FloatArray:
    """Length of the night at a latitude, the one a battery must carry the craft through.

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the place [rad].
    subsolar_latitude : array_like, shape (...)
        Latitude at which the Sun stands overhead that day [rad].
    rotation_period : array_like, shape (...)
        Time from noon to noon [s].

    Returns
    -------
    ndarray, shape (...)
        Time from sunset to sunrise; a whole rotation in polar night, which itself may last far longer [s].

    Raises
    ------
    DomainError
        If an angle lies beyond a right angle or the period is not above zero.

    References
    ----------
    .. [1] fao_56_1998, equations 25 and 34.

    Examples
    --------
    >>> print(f"{night_length(0.0, 0.1, 9.07 * 3600) / 3600:.3f}")  # hours
    4.535
    """
    _latitudes(latitude, subsolar_latitude)
    above("rotation period", "s", rotation_period)
    return broadcast(night_length_kernel, latitude, subsolar_latitude, rotation_period)


def plate_mean_cosine(latitude: ArrayLike, subsolar_latitude: ArrayLike, tilt: ArrayLike) -> FloatArray:
    r"""Cosine of incidence on a fixed plate, averaged over a whole rotation, night included.

    .. math:: \bar c = (h \sin\varphi' \sin\delta + \cos\varphi' \cos\delta \sin h) / \pi, \quad
        \varphi' = \varphi - \beta

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the plate; for a plate on a spinning craft, that of its normal [rad].
    subsolar_latitude : array_like, shape (...)
        Latitude at which the Sun stands overhead that day [rad].
    tilt : array_like, shape (...)
        Tilt from level towards the equator [rad].

    Returns
    -------
    ndarray, shape (...)
        Mean cosine; multiplied by the sunlight it gives the mean flux on the plate [1].

    Raises
    ------
    DomainError
        If an angle lies beyond a right angle, or the tilt is negative.

    Notes
    -----
    With h the smaller of the half days of the ground and of the plane of the plate. A plate fixed to a body
    that spins square to the Sun gets 1/pi; one that follows the Sun gets the sunlit fraction. Light scattered
    by the ground is not included.

    References
    ----------
    .. [1] fao_56_1998, equation 21; duffie_2013, equations 1.10.3 and 2.20.3.

    Examples
    --------
    >>> print(f"{plate_mean_cosine(0.0, 0.0, 0.0):.4f}")
    0.3183
    """
    _latitudes(latitude, subsolar_latitude)
    within("tilt", "rad", tilt, 0.0, _RIGHT_ANGLE)
    return broadcast(plate_mean_cosine_kernel, latitude, subsolar_latitude, tilt)


def daylight_mean_cosine(latitude: ArrayLike, subsolar_latitude: ArrayLike, tilt: ArrayLike) -> FloatArray:
    r"""Cosine of incidence on a fixed plate, averaged while the Sun is up: its pointing factor.

    .. math:: \bar c_d = \bar c / f

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the plate [rad].
    subsolar_latitude : array_like, shape (...)
        Latitude at which the Sun stands overhead that day [rad].
    tilt : array_like, shape (...)
        Tilt from level towards the equator [rad].

    Returns
    -------
    ndarray, shape (...)
        Mean cosine of :func:`plate_mean_cosine` over :func:`sunlit_fraction`; zero in polar night [1].

    Raises
    ------
    DomainError
        If an angle lies beyond a right angle, or the tilt is negative.

    References
    ----------
    .. [1] fao_56_1998, equations 21 and 34.

    Examples
    --------
    >>> print(f"{daylight_mean_cosine(0.0, 0.0, 0.0):.4f}")  # 2 / pi
    0.6366
    """
    _latitudes(latitude, subsolar_latitude)
    within("tilt", "rad", tilt, 0.0, _RIGHT_ANGLE)
    return broadcast(daylight_mean_cosine_kernel, latitude, subsolar_latitude, tilt)


def yearly_mean_cosine(latitude: ArrayLike, obliquity: ArrayLike) -> FloatArray:
    r"""Cosine of incidence on a level plate, averaged over all hours and seasons.

    .. math:: \bar c = \frac{1}{2\pi^2} \int_0^{2\pi}
        \sqrt{1 - (\sin\varphi \cos\epsilon - \cos\varphi \sin\epsilon \sin\psi)^2}\,d\psi

    Parameters
    ----------
    latitude : array_like, shape (...)
        Latitude of the place [rad].
    obliquity : array_like, shape (...)
        Angle between the spin axis and the normal of the orbit [rad].

    Returns
    -------
    ndarray, shape (...)
        Mean cosine; multiplied by the sunlight it gives the mean flux over a year [1].

    Raises
    ------
    DomainError
        If the latitude lies beyond a right angle, or the obliquity outside 0 to pi.

    Notes
    -----
    Circular orbit; on an eccentric one it is the mean weighted by the sunlight of the day. Midpoint rule with
    48 nodes, within 2e-5 everywhere.

    References
    ----------
    .. [1] ward_1974, mean annual insolation.

    Examples
    --------
    >>> print(f"{yearly_mean_cosine(1.5707963, 0.4091):.4f}")  # the pole: sin(obliquity) / pi
    0.1266
    """
    within("latitude", "rad", latitude, -_RIGHT_ANGLE, _RIGHT_ANGLE)
    within("obliquity", "rad", obliquity, 0.0, math.pi)
    return broadcast(yearly_mean_cosine_kernel, latitude, obliquity)
