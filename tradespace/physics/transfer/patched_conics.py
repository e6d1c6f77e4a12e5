"""Hyperbolas past a body: where the burn lies, and what a flyby does."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import floats, require_each
from tradespace.physics.transfer.shared import components, require_not_negative, require_positive


@kernel
def hyperbola_eccentricity_kernel(
    gravitational_parameter: float, periapsis: float, excess_speed: float
) -> float:
    """Eccentricity of a hyperbola by its periapsis and excess speed."""
    return 1.0 + periapsis * excess_speed * excess_speed / gravitational_parameter


@kernel
def asymptote_angle_kernel(gravitational_parameter: float, periapsis: float, excess_speed: float) -> float:
    """Angle between the line of apsides and an asymptote."""
    return math.acos(1.0 / hyperbola_eccentricity_kernel(gravitational_parameter, periapsis, excess_speed))


@kernel
def flyby_turn_kernel(gravitational_parameter: float, periapsis: float, excess_speed: float) -> float:
    """Angle by which a flyby turns the excess velocity."""
    return 2.0 * math.asin(
        1.0 / hyperbola_eccentricity_kernel(gravitational_parameter, periapsis, excess_speed)
    )


@kernel
def flyby_velocity_kernel(
    gravitational_parameter: float,
    periapsis: float,
    body_speed: float,
    along: float,
    across: float,
    sense: float,
) -> tuple[float, float]:
    """Velocity after a flyby in the plane of the body's motion; positive sense turns along towards across."""
    relative = along - body_speed
    excess = math.sqrt(relative * relative + across * across)
    turn = flyby_turn_kernel(gravitational_parameter, periapsis, excess)
    turn = turn if sense >= 0.0 else -turn
    cosine, sine = math.cos(turn), math.sin(turn)
    return body_speed + relative * cosine - across * sine, relative * sine + across * cosine


@kernel
def best_capture_periapsis_kernel(
    gravitational_parameter: float, eccentricity: float, excess_speed: float
) -> float:
    """Periapsis at which capture into an ellipse of some eccentricity costs least."""
    square = max(excess_speed * excess_speed, 1e-12)
    return 2.0 * gravitational_parameter / square * (1.0 - eccentricity) / (1.0 + eccentricity)


def asymptote_angle(
    gravitational_parameter: ArrayLike, periapsis: ArrayLike, excess_speed: ArrayLike
) -> FloatArray:
    r"""Angle between the line of apsides of a hyperbola and its asymptote.

    .. math:: \beta = \arccos(1/e),\quad e = 1 + r_p v_\infty^2/\mu

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    periapsis : array_like, shape (...)
        Distance of the periapsis from the centre [m].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Angle from the apse line to the asymptote [rad].

    Raises
    ------
    DomainError
        If the gravitational parameter or periapsis is not positive, or the speed is negative.

    Notes
    -----
    On departure the burn lies this angle, plus half a turn, ahead of the direction to be reached.

    References
    ----------
    .. [1] curtis_2014, sec. 8.6 and ex. 8.4.

    Examples
    --------
    >>> print(f"{math.degrees(asymptote_angle(398600e9, 6678e3, 2943.32)):.2f}")
    29.16
    """
    require_positive(gravitational_parameter=gravitational_parameter, periapsis=periapsis)
    require_not_negative("m/s", excess_speed=excess_speed)
    return broadcast(asymptote_angle_kernel, gravitational_parameter, periapsis, excess_speed)


def flyby_turn(
    gravitational_parameter: ArrayLike, periapsis: ArrayLike, excess_speed: ArrayLike
) -> FloatArray:
    r"""Angle by which a flyby turns the velocity relative to the body.

    .. math:: \delta = 2\arcsin(1/e)

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    periapsis : array_like, shape (...)
        Distance of the periapsis from the centre [m].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Turn of the excess velocity [rad].

    Raises
    ------
    DomainError
        If the gravitational parameter or periapsis is not positive, or the speed is negative.

    References
    ----------
    .. [1] curtis_2014, sec. 8.9 and ex. 8.6.

    Examples
    --------
    >>> print(f"{math.degrees(flyby_turn(324900e9, 6352e3, 3733.0)):.1f}")
    103.6
    """
    require_positive(gravitational_parameter=gravitational_parameter, periapsis=periapsis)
    require_not_negative("m/s", excess_speed=excess_speed)
    return broadcast(flyby_turn_kernel, gravitational_parameter, periapsis, excess_speed)


def flyby_velocity(
    gravitational_parameter: ArrayLike,
    periapsis: ArrayLike,
    body_speed: ArrayLike,
    along: ArrayLike,
    across: ArrayLike,
    sense: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Velocity after a flyby that stays in the plane of the body's motion.

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    periapsis : array_like, shape (...)
        Distance of the periapsis from the centre [m].
    body_speed : array_like, shape (...)
        Speed of the body on its way round the centre [m s-1].
    along : array_like, shape (...)
        Velocity before, along the motion of the body [m s-1].
    across : array_like, shape (...)
        Velocity before, across it in the plane of the flyby [m s-1].
    sense : array_like, shape (...)
        Positive to turn from along towards across, negative the other way [1].

    Returns
    -------
    along : ndarray, shape (...)
        Velocity after, along the motion of the body [m s-1].
    across : ndarray, shape (...)
        Velocity after, across it [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter, periapsis or speed of the body is not positive, or a component or the
        sense is not finite.

    Notes
    -----
    Unpowered; the size of the velocity relative to the body is kept.

    References
    ----------
    .. [1] curtis_2014, sec. 8.9 and ex. 8.6.

    Examples
    --------
    >>> after = flyby_velocity(324900e9, 6352e3, 35020.0, 37510.0, 2782.0, 1.0)  # Venus, dark side
    >>> print(f"{after[0]:.0f} {after[1]:.0f}")
    31731 1766
    """
    require_positive(
        gravitational_parameter=gravitational_parameter, periapsis=periapsis, body_speed=body_speed
    )
    for name, unit, given in (("along", "m/s", along), ("across", "m/s", across), ("sense", "1", sense)):
        require_each(np.isfinite(floats(given)), name, unit, given, f"must be finite [{unit}]")
    return components(
        flyby_velocity_kernel, gravitational_parameter, periapsis, body_speed, along, across, sense, count=2
    )


def best_capture_periapsis(
    gravitational_parameter: ArrayLike, eccentricity: ArrayLike, excess_speed: ArrayLike
) -> FloatArray:
    r"""Periapsis at which capture into an ellipse of given eccentricity costs least.

    .. math:: r_p = \frac{2\mu}{v_\infty^2}\,\frac{1-e}{1+e}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    eccentricity : array_like, shape (...)
        Eccentricity of the ellipse after capture [1].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Distance of the best periapsis from the centre [m].

    Raises
    ------
    DomainError
        If the gravitational parameter or speed is not positive, or the eccentricity lies outside [0, 1).

    Notes
    -----
    Often below the surface: the lowest safe periapsis is then the best one for a given eccentricity.

    References
    ----------
    .. [1] curtis_2014, sec. 8.8.

    Examples
    --------
    >>> print(f"{best_capture_periapsis(42828.37e9, 0.0, 2700.0) / 1e6:.2f}")  # Mars, million metres
    11.75
    """
    require_positive(gravitational_parameter=gravitational_parameter, excess_speed=excess_speed)
    rounded = floats(eccentricity)
    require_each((rounded >= 0) & (rounded < 1), "eccentricity", "1", rounded, "must lie in [0, 1) [1]")
    return broadcast(best_capture_periapsis_kernel, gravitational_parameter, eccentricity, excess_speed)
