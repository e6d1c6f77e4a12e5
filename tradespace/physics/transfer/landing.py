"""Landing on, and leaving, an airless body with a limited thrust."""

from __future__ import annotations

import math

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, within
from tradespace.physics.transfer.energy import escape_speed_kernel
from tradespace.physics.transfer.shared import require_not_negative, require_positive

LEAST_SURPLUS = 1e-6  # thrust over weight minus one below which a craft is taken to hover


SHORT = 1.0  # length of the integral below which fewer points are exact to 1e-11


def _gauss(points: int) -> tuple[tuple[float, float], ...]:
    """Places in 0 to 1/2 and weights of Gauss and Legendre's rule; its other half lies as far from 1."""
    places, weights = np.polynomial.legendre.leggauss(points)
    first = range(points // 2)
    return tuple((float(0.5 * places[number] + 0.5), float(0.5 * weights[number])) for number in first)


GAUSS, FEWER = _gauss(8), _gauss(6)


@kernel
def landing_loss_kernel(thrust_to_weight: float) -> float:
    """Gravity loss of a vertical landing in uniform gravity, as a share of the speed to be lost; huge below 1."""
    surplus = max(thrust_to_weight - 1.0, LEAST_SURPLUS)
    return math.sqrt((1.0 + surplus) / surplus) - 1.0


@kernel
def vertical_landing_kernel(thrust_to_weight: float, energy_ratio: float) -> float:
    """Velocity change of a vertical landing, in escape speeds, gravity falling with the square of the distance.

    ``energy_ratio`` is the square of the speed at the surface without a burn, over that of the escape speed.
    """
    surplus = max(thrust_to_weight - 1.0, LEAST_SURPLUS)
    ratio = 1.0 + surplus
    end = math.asinh(math.sqrt(max(energy_ratio, 0.0) / surplus))
    mean = mean_rate_kernel(FEWER, end, surplus) if end < SHORT else mean_rate_kernel(GAUSS, end, surplus)
    return math.sqrt(ratio) * end * mean


@kernel
def mean_rate_kernel(points: tuple[tuple[float, float], ...], end: float, surplus: float) -> float:
    """Mean of the integrand of :func:`landing_delta_v` from zero to ``end``.

    The sines at two places as far from both ends come from one exponential.
    """
    part = 0.25 * surplus / (1.0 + surplus)
    grown = math.exp(end)
    shrunk = 1.0 / grown
    total = 0.0
    for place, weight in points:
        risen = math.exp(end * place)
        fallen = 1.0 / risen
        near, far = risen - fallen, grown * fallen - risen * shrunk
        total += weight * (math.sqrt(1.0 + part * near * near) + math.sqrt(1.0 + part * far * far))
    return total


@kernel
def landing_delta_v_kernel(
    gravitational_parameter: float, radius: float, excess_speed: float, thrust_to_weight: float
) -> float:
    """Velocity change from an excess speed to rest on the surface, or the other way round."""
    escape = escape_speed_kernel(gravitational_parameter, radius)
    return escape * vertical_landing_kernel(thrust_to_weight, 1.0 + (excess_speed / escape) ** 2)


@kernel
def slanted_launch_loss_kernel(thrust_to_weight: float, elevation: float) -> float:
    """Gravity loss of a straight climb at an angle, as a share of the speed reached; huge where it cannot climb."""
    cosine, sine = math.cos(elevation), math.sin(elevation)
    ratio = max(thrust_to_weight, 1.0 + LEAST_SURPLUS)
    return ratio / max(math.sqrt(max(ratio * ratio - cosine * cosine, 0.0)) - sine, LEAST_SURPLUS) - 1.0


def landing_loss(thrust_to_weight: ArrayLike) -> FloatArray:
    r"""Gravity loss of a vertical landing with constant acceleration, in uniform gravity.

    .. math:: f = \sqrt{\frac{n}{n-1}} - 1

    Parameters
    ----------
    thrust_to_weight : array_like, shape (...)
        Thrust over the weight at the surface of the body, at the start of the burn [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change above the impact speed, as a share of it [1].

    Raises
    ------
    DomainError
        If the thrust does not exceed the weight: such a craft cannot land.

    Notes
    -----
    The fall is stopped by one burn at the last moment. Gravity falls with height and the mass with time, so this
    is an upper bound (for the same start of the burn); a launch straight up loses the same.

    References
    ----------
    .. [1] closed form: fall, then constant deceleration, in uniform gravity; estimated, no published value.

    Examples
    --------
    >>> print(f"{landing_loss(3.0):.4f}")
    0.2247
    """
    above("thrust_to_weight", "1", thrust_to_weight, 1.0)
    return broadcast(landing_loss_kernel, thrust_to_weight)


def landing_delta_v(
    gravitational_parameter: ArrayLike,
    radius: ArrayLike,
    excess_speed: ArrayLike,
    thrust_to_weight: ArrayLike,
) -> FloatArray:
    r"""Velocity change of a vertical landing from an excess speed, or of a launch to it, with limited thrust.

    .. math:: \Delta v = \sqrt{n}\,v_e \int_0^{q} \sqrt{1 + \tfrac{n-1}{n}\sinh^2 x}\,dx,
              \quad \sinh^2 q = \frac{1 + v_\infty^2/v_e^2}{n-1}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    radius : array_like, shape (...)
        Mean radius of the body [m].
    excess_speed : array_like, shape (...)
        Speed relative to the body, far away; zero for escape [m s-1].
    thrust_to_weight : array_like, shape (...)
        Thrust over the weight at the surface of the body, at the start of the burn [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn [m s-1].

    Raises
    ------
    DomainError
        If the gravitational parameter or radius is not positive, the speed is negative, or the thrust does not
        exceed the weight.

    Notes
    -----
    Gravity falls with the square of the distance; acceleration constant, body not turning. Less than the loss in
    uniform gravity, and the impulsive burn in the limit of a strong thrust. Thrust with falling mass loses less.

    References
    ----------
    .. [1] closed form: straight fall in an inverse-square field met by a constant deceleration; estimated, no
           published value.

    Examples
    --------
    >>> print(f"{landing_delta_v(62.629e9, 469.7e3, 0.0, 2.0):.0f}")  # Ceres, escape speed 516 m/s
    689
    """
    require_positive(gravitational_parameter=gravitational_parameter, radius=radius)
    require_not_negative("m/s", excess_speed=excess_speed)
    above("thrust_to_weight", "1", thrust_to_weight, 1.0)
    return broadcast(landing_delta_v_kernel, gravitational_parameter, radius, excess_speed, thrust_to_weight)


def slanted_launch_loss(thrust_to_weight: ArrayLike, elevation: ArrayLike) -> FloatArray:
    r"""Gravity loss of the straight climb that starts a ballistic hop, and of the landing that ends it.

    .. math:: f = \frac{n}{\sqrt{n^2 - \cos^2\gamma} - \sin\gamma} - 1

    Parameters
    ----------
    thrust_to_weight : array_like, shape (...)
        Thrust over the weight at the surface of the body, at the start of the burn [1].
    elevation : array_like, shape (...)
        Launch angle above the horizontal [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change above the launch speed, as a share of it [1].

    Raises
    ------
    DomainError
        If the thrust does not exceed the weight, or the angle lies outside [0, pi/2].

    Notes
    -----
    Uniform gravity; the thrust is held so that the path is straight. The way flown under thrust is not credited
    to the hop, so this is an upper bound.

    References
    ----------
    .. [1] closed form: thrust, weight and their sum along the path; estimated, no published value.

    Examples
    --------
    >>> print(f"{slanted_launch_loss(3.0, math.radians(45)):.3f}")
    0.358
    """
    above("thrust_to_weight", "1", thrust_to_weight, 1.0)
    within("elevation", "rad", elevation, 0.0, 0.5 * math.pi)
    return broadcast(slanted_launch_loss_kernel, thrust_to_weight, elevation)
