"""Efficiency of an arc-heated jet against its speed, and its speed against the energy put into each kilogram."""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share


@kernel
def arc_efficiency_kernel(
    exhaust_velocity: float, known_exhaust_velocity: float, known_efficiency: float, exponent: float
) -> float:
    """Jet power over arc power [1] at one speed, from that at another."""
    ratio = max(exhaust_velocity, 1e-6) / max(known_exhaust_velocity, 1e-6)
    return float(min(known_efficiency * ratio ** -min(max(exponent, 0.0), 4.0), 1.0))


@kernel
def arc_exhaust_velocity_kernel(
    specific_energy: float, known_exhaust_velocity: float, known_efficiency: float, exponent: float
) -> float:
    """Speed of the jet [m s-1] of an arc that puts an energy into each kilogram."""
    power = min(max(exponent, 0.0), 4.0)
    known = max(known_exhaust_velocity, 1e-6)
    squared = 2.0 * known_efficiency * max(specific_energy, 0.0) / (known * known)
    return float(known * squared ** (1.0 / (2.0 + power)))


@kernel
def arc_life_kernel(
    exhaust_velocity: float, known_exhaust_velocity: float, known_life: float, exponent: float
) -> float:
    """Life of an arc's electrodes [s] at one speed of the jet, from that at another."""
    ratio = max(exhaust_velocity, 1e-6) / max(known_exhaust_velocity, 1e-6)
    return float(known_life * ratio ** -min(max(exponent, 0.0), 4.0))


def arc_efficiency(
    exhaust_velocity: ArrayLike, known_exhaust_velocity: ArrayLike, known_efficiency: ArrayLike,
    exponent: ArrayLike,
) -> FloatArray:  # fmt: skip
    r"""Jet power over arc power of an arcjet run at another speed than the one it is known at.

    A hotter arc splits more of the gas and the nozzle gives little of that back:

    .. math:: \eta = \eta_0 \left(\frac{v}{v_0}\right)^{-n}

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    known_exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity at which the efficiency is known [m s-1].
    known_efficiency : array_like, shape (...)
        Jet power over arc power there [1].
    exponent : array_like, shape (...)
        How steeply the efficiency falls with the speed [1].

    Returns
    -------
    ndarray, shape (...)
        Jet power over arc power, at most 1 [1].

    Raises
    ------
    DomainError
        If a speed is not positive, the efficiency lies outside (0, 1] or the exponent is negative.

    Notes
    -----
    An exponent of 0.3 spans the measured 0.40 to 0.30 of hydrogen between 650 and 1250 s.

    References
    ----------
    .. [1] curran_1991, range of the measured efficiency.

    Examples
    --------
    >>> print([f"{arc_efficiency(9.80665 * s, 9806.65, 0.35, 0.3):.2f}" for s in (650, 1000, 1250)])
    ['0.40', '0.35', '0.33']
    """
    return broadcast(
        arc_efficiency_kernel, *_checked(exhaust_velocity, known_exhaust_velocity, known_efficiency, exponent)
    )


def arc_exhaust_velocity(
    specific_energy: ArrayLike, known_exhaust_velocity: ArrayLike, known_efficiency: ArrayLike,
    exponent: ArrayLike,
) -> FloatArray:  # fmt: skip
    r"""Effective exhaust velocity of an arcjet from its power over its mass flow.

    Solves :math:`\tfrac12 v^2 = \eta(v)\,P/\dot m` with the efficiency of :func:`arc_efficiency`.

    Parameters
    ----------
    specific_energy : array_like, shape (...)
        Arc power over mass flow [J kg-1].
    known_exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity at which the efficiency is known [m s-1].
    known_efficiency : array_like, shape (...)
        Jet power over arc power there [1].
    exponent : array_like, shape (...)
        How steeply the efficiency falls with the speed [1].

    Returns
    -------
    ndarray, shape (...)
        Effective exhaust velocity [m s-1].

    Raises
    ------
    DomainError
        If an energy or speed is not positive, the efficiency lies outside (0, 1] or the exponent is negative.

    References
    ----------
    .. [1] closed form: kinetic energy of the jet; efficiency after curran_1991.

    Examples
    --------
    >>> print(f"{arc_exhaust_velocity(1.374e8, 9806.65, 0.35, 0.3) / 9.80665:.0f}")  # 137 MJ/kg
    1000
    """
    energy, known, efficiency, power = _checked(
        specific_energy, known_exhaust_velocity, known_efficiency, exponent, ("specific_energy", "J/kg")
    )
    return broadcast(arc_exhaust_velocity_kernel, energy, known, efficiency, power)


def arc_life(
    exhaust_velocity: ArrayLike, known_exhaust_velocity: ArrayLike, known_life: ArrayLike, exponent: ArrayLike
) -> FloatArray:
    r"""Life of the electrodes of an arcjet at another speed than the one it is known at.

    .. math:: L = L_0 \left(\frac{v}{v_0}\right)^{-n}

    Parameters
    ----------
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    known_exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity at which the life is known [m s-1].
    known_life : array_like, shape (...)
        Life there [s].
    exponent : array_like, shape (...)
        How steeply the life falls with the speed; 2 where wear follows the energy per kilogram [1].

    Returns
    -------
    ndarray, shape (...)
        Life [s].

    Raises
    ------
    DomainError
        If a speed or life is not positive, or the exponent is negative.

    References
    ----------
    .. [1] common practice, no source: wear in proportion to the energy put into each kilogram.

    Examples
    --------
    >>> print(f"{arc_life(12258.0, 9806.65, 540000.0, 2.0) / 3600:.0f}")  # hours
    96
    """
    return broadcast(
        arc_life_kernel,
        above("exhaust_velocity", "m/s", exhaust_velocity),
        above("known_exhaust_velocity", "m/s", known_exhaust_velocity),
        above("known_life", "s", known_life),
        at_least("exponent", "1", exponent),
    )


def _checked(
    first: ArrayLike, known_exhaust_velocity: ArrayLike, known_efficiency: ArrayLike, exponent: ArrayLike,
    name: tuple[str, str] = ("exhaust_velocity", "m/s"),
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:  # fmt: skip
    """The four arguments as floats, each in its range."""
    return (
        above(*name, first),
        above("known_exhaust_velocity", "m/s", known_exhaust_velocity),
        share("known_efficiency", known_efficiency),
        at_least("exponent", "1", exponent),
    )
