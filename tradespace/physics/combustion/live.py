"""Engines fed by gas as it is made: how small an engine live power can feed, and what a small engine loses.

Measured engines deliver less of the ideal specific impulse the smaller they are. Between the four steady
engines for which a value was found the delivered share is taken as a power of the thrust; below the smallest
and above the largest it stays as it is there. The measured engines differ in more than size.

Caution: hydrogen with oxygen burns and detonates; these numbers are for concept studies, and local codes and
licensed practice rule.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.combustion.delivery import delivered_class_kernel
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least

_VALUES = "delivery_values.csv"
_ENGINES = ("chip", "small", "medium", "large")
_THRUST = tuple(math.log(value(f"{name}_thrust", _VALUES)) for name in _ENGINES)
_SHARE = tuple(
    math.log(value(f"{name}_specific_impulse", _VALUES) / value("frozen_reference", _VALUES))
    for name in _ENGINES
)
_SLOPE = tuple(
    (_SHARE[place + 1] - _SHARE[place]) / (_THRUST[place + 1] - _THRUST[place])
    for place in range(len(_ENGINES) - 1)
)
_LAST = len(_ENGINES) - 1
_IGNITIONS = tuple(math.log(value(f"{name}_ignitions", _VALUES)) for name in ("small", "medium"))
_SETTLING = value("settling_time", _VALUES)
_GRAVITY = value("standard_gravity")
_LEAST = 1e-300


@kernel
def delivered_share_kernel(thrust: float) -> float:
    """Delivered over frozen ideal specific impulse of a steady engine of this thrust [N]."""
    place = math.log(max(thrust, _LEAST))
    if place <= _THRUST[0]:
        return math.exp(_SHARE[0])
    for piece in range(_LAST):
        if place <= _THRUST[piece + 1]:
            return math.exp(_SHARE[piece] + _SLOPE[piece] * (place - _THRUST[piece]))
    return math.exp(_SHARE[_LAST])


@kernel
def delivered_share_slope_kernel(thrust: float) -> float:
    """Relative change of the delivered share per relative change of the thrust."""
    place = math.log(max(thrust, _LEAST))
    if place <= _THRUST[0]:
        return 0.0
    for piece in range(_LAST):
        if place <= _THRUST[piece + 1]:
            return _SLOPE[piece]
    return 0.0


@kernel
def live_thrust_kernel(mass_flow: float, specific_impulse: float) -> float:
    """Thrust [N] that satisfies F = m g0 I k(F), in closed form piece by piece."""
    ideal = math.log(max(mass_flow * _GRAVITY * specific_impulse, _LEAST))
    if ideal + _SHARE[0] <= _THRUST[0]:
        return math.exp(ideal + _SHARE[0])
    for piece in range(_LAST):
        place = (ideal + _SHARE[piece] - _SLOPE[piece] * _THRUST[piece]) / (1.0 - _SLOPE[piece])
        if place <= _THRUST[piece + 1]:
            return math.exp(place)
    return math.exp(ideal + _SHARE[_LAST])


@kernel
def burst_share_kernel(thrust: float, burst_time: float) -> float:
    """Delivered share averaged over a burst that starts as the pulsed class and settles to the steady one."""
    steady = delivered_class_kernel(thrust, 0.0)[0]
    pulsed = min(delivered_class_kernel(thrust, 1.0)[0], steady)
    length = max(burst_time, 0.0) / _SETTLING
    unsettled = 1.0 if length < 1e-6 else (1.0 - math.exp(-length)) / length
    return steady - (steady - pulsed) * unsettled


@kernel
def ignition_life_kernel(thrust: float) -> float:
    """Ignitions shown on an engine of this thrust [1]."""
    place = math.log(max(thrust, _LEAST))
    low, high = _THRUST[1], _THRUST[2]
    share = min(max((place - low) / (high - low), 0.0), 1.0)
    return math.exp(_IGNITIONS[0] + share * (_IGNITIONS[1] - _IGNITIONS[0]))


def delivered_share(thrust: ArrayLike) -> FloatArray:
    r"""Delivered over ideal frozen specific impulse of a steady engine, without steps between classes.

    .. math:: k = k_i (F/F_i)^{s_i}, \quad s_i = \frac{\ln(k_{i+1}/k_i)}{\ln(F_{i+1}/F_i)}

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].

    Returns
    -------
    ndarray, shape (...)
        Delivered share, between the measured engines a power of the thrust [1].

    Raises
    ------
    DomainError
        If a thrust is not positive.

    References
    ----------
    .. [1] ice_cube_2023, marquardt_1974, aerojet_ada236556: ``delivery_values.csv``.

    Examples
    --------
    >>> [round(float(share), 3) for share in delivered_share([0.00125, 0.44, 2.0, 110.0])]
    [0.478, 0.852, 0.867, 0.93]
    """
    return broadcast(delivered_share_kernel, above("thrust", "N", thrust))


def delivered_share_slope(thrust: ArrayLike) -> FloatArray:
    r"""Relative change of the delivered share with the thrust of a steady engine.

    .. math:: s = \frac{\mathrm{d}\ln k}{\mathrm{d}\ln F}

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].

    Returns
    -------
    ndarray, shape (...)
        Slope; 0 beyond the measured engines [1].

    Raises
    ------
    DomainError
        If a thrust is not positive.

    References
    ----------
    .. [1] closed form: derivative of :func:`delivered_share`.

    Examples
    --------
    >>> print(f"{delivered_share_slope(0.1):.3f}")
    0.099
    """
    return broadcast(delivered_share_slope_kernel, above("thrust", "N", thrust))


def live_thrust(mass_flow: ArrayLike, specific_impulse: ArrayLike) -> FloatArray:
    r"""Thrust of one engine that burns gas as it is made, its delivered share falling with its thrust.

    .. math:: F = \dot m\, g_0\, I\, k(F)

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Gas burned per time [kg s-1].
    specific_impulse : array_like, shape (...)
        Ideal frozen specific impulse [s].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If a mass flow or a specific impulse is not positive.

    Notes
    -----
    The equation has one solution, since the share grows far slower than the thrust.

    References
    ----------
    .. [1] closed form: fixed point of :func:`delivered_share`, a power of the thrust piece by piece.

    Examples
    --------
    >>> thrust = live_thrust(1e-4, 390.0)  # 0.1 g/s, some two kilowatts of splitting
    >>> print(f"{thrust:.4f} {thrust / (1e-4 * 9.80665 * 390.0):.3f}")
    0.3155 0.825
    """
    return broadcast(
        live_thrust_kernel,
        above("mass flow", "kg s-1", mass_flow),
        above("specific impulse", "s", specific_impulse),
    )


def burst_share(thrust: ArrayLike, burst_time: ArrayLike) -> FloatArray:
    r"""Delivered over ideal frozen specific impulse of an engine fired in bursts, averaged over a burst.

    .. math:: \bar k = k_s - (k_s - k_p) \frac{\tau}{t} \left(1 - e^{-t/\tau}\right)

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    burst_time : array_like, shape (...)
        Length of a burst [s].

    Returns
    -------
    ndarray, shape (...)
        Delivered share: that of pulsed engines for the shortest bursts, of steady ones for long [1].

    Raises
    ------
    DomainError
        If a thrust is not positive or a burst time negative.

    Notes
    -----
    The two ends are measured; how fast an engine settles between them is assumed.

    References
    ----------
    .. [1] assumed_here: ``delivery_values.csv``; ends from ``combustion_delivery.csv``.

    Examples
    --------
    >>> [round(float(share), 3) for share in burst_share(110.0, [0.0, 1.0, 10.0, 1000.0])]
    [0.8, 0.848, 0.917, 0.93]
    """
    return broadcast(
        burst_share_kernel, above("thrust", "N", thrust), at_least("burst time", "s", burst_time)
    )


def ignition_life(thrust: ArrayLike) -> FloatArray:
    """Ignitions shown on a steady engine of split water, against its thrust.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].

    Returns
    -------
    ndarray, shape (...)
        Ignitions; a power of the thrust between the two engines tested, held beyond them [1].

    Raises
    ------
    DomainError
        If a thrust is not positive.

    Notes
    -----
    What the tests showed, not what wears an engine out.

    References
    ----------
    .. [1] marquardt_1974: 151 263 ignitions at 0.44 N, 69 700 at 22 N.

    Examples
    --------
    >>> [round(float(shown)) for shown in ignition_life([0.44, 3.0, 110.0])]
    [151263, 103423, 69700]
    """
    return broadcast(ignition_life_kernel, above("thrust", "N", thrust))
