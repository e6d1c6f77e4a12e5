"""Burns spread around the two impulses of a leg: what the Sun's field takes from them, and how long they may be."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each
from tradespace.physics.transfer.finite_burns import robbins_loss_kernel

VALUES = "spread_burn_values.csv"
CEILING = value("spread_burn_ceiling", VALUES)
LIMIT = value("spread_burn_limit", VALUES)
LEAST = 1e-30  # stands for zero where something is divided
MOST = 1e30  # stands for any larger number
ROUNDING = 1e-12


@kernel
def spread_burn_share_kernel(first_duration: float, second_duration: float, time_of_flight: float) -> float:
    """Share of the flight between two impulses that the inner halves of the burns centred on them take."""
    inside = 0.5 * (min(max(first_duration, 0.0), MOST) + min(max(second_duration, 0.0), MOST))
    return min(inside / max(time_of_flight, LEAST), MOST)


@kernel
def spread_burn_margin_kernel(first_duration: float, second_duration: float, time_of_flight: float) -> float:
    """Largest share of the flight that the burns may take over the share they take; below one there is no way."""
    return LIMIT / max(spread_burn_share_kernel(first_duration, second_duration, time_of_flight), LEAST)


@kernel
def largest_spread_burn_factor_kernel(share: float) -> float:
    """What burns that take a share of the flight can cost over their impulses at most, wherever they are."""
    square = min(share, LIMIT) ** 2
    return (1.0 + CEILING * square / (1.0 - square)) * (1.0 + ROUNDING)


@kernel
def spread_burn_excess_kernel(short: float, share: float) -> float:
    """What burns cost beyond their impulses, over them: of that of short burns and the share of the flight they take.

    Between the loss of short burns and the most that wide ones cost.
    """
    narrow = min(short, MOST)
    inner = min(share, LIMIT)
    if not (narrow > 0.0 and inner > 0.0):
        return 0.0
    square = inner * inner
    wide = CEILING * square
    return wide * narrow / (math.sqrt(narrow * narrow + wide * wide) * (1.0 - square))


@kernel
def even_burn_shape_kernel(
    first_impulse: float, second_impulse: float, time_of_flight: float
) -> tuple[float, float]:
    """What the cost of two burns of one acceleration at one distance from the Sun depends on besides [m2/s2, m/s].

    The first one, times the square of mass over thrust and the Sun's pull over the cube of the distance, is what short
    burns cost beyond their impulses over them; the second one, times mass over thrust, the share of the flight that
    the burns take.
    """
    first, second = min(max(first_impulse, 0.0), MOST), min(max(second_impulse, 0.0), MOST)
    total = first + second
    cubes = first * first * first + second * second * second
    return cubes / (24 * max(total, LEAST)), 0.5 * total / max(time_of_flight, 1.0)


@kernel
def spread_burn_factor_kernel(
    gravitational_parameter: float,
    first_impulse: float,
    second_impulse: float,
    first_duration: float,
    second_duration: float,
    time_of_flight: float,
    first_distance: float,
    second_distance: float,
) -> float:
    """Velocity change of burns centred on the two impulses of a leg over that of the impulses; held past the limit."""
    first, second = min(max(first_impulse, 0.0), MOST), min(max(second_impulse, 0.0), MOST)
    total = max(first + second, LEAST)
    pull = min(max(gravitational_parameter, 0.0), MOST)
    early, late = min(max(first_duration, 0.0), MOST), min(max(second_duration, 0.0), MOST)
    short = robbins_loss_kernel(pull, min(max(first_distance, LEAST), MOST), early, first / total)
    short += robbins_loss_kernel(pull, min(max(second_distance, LEAST), MOST), late, second / total)
    return 1.0 + spread_burn_excess_kernel(short, spread_burn_share_kernel(early, late, time_of_flight))


def spread_burn_factor(
    gravitational_parameter: ArrayLike,
    first_impulse: ArrayLike,
    second_impulse: ArrayLike,
    first_duration: ArrayLike,
    second_duration: ArrayLike,
    time_of_flight: ArrayLike,
    first_distance: ArrayLike,
    second_distance: ArrayLike,
) -> FloatArray:
    r"""Velocity change of two long burns centred on the impulses of a leg, over that of the impulses.

    .. math:: k = 1 + \frac{1}{1 - s^2}\left(\frac{1}{\epsilon^2} + \frac{1}{\beta^2 s^4}\right)^{-1/2}, \quad
              \epsilon = \frac{\theta_1^2 \Delta v_1 + \theta_2^2 \Delta v_2}{24 (\Delta v_1 + \Delta v_2)}, \quad
              \theta_i = \sqrt{\mu/r_i^3}\,t_i, \quad s = \frac{t_1 + t_2}{2 T}

    Parameters
    ----------
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the Sun [m3 s-2].
    first_impulse : array_like, shape (...)
        Impulse at departure [m s-1].
    second_impulse : array_like, shape (...)
        Impulse at arrival [m s-1].
    first_duration : array_like, shape (...)
        Time that the thrust takes for the first impulse [s].
    second_duration : array_like, shape (...)
        Time that the thrust takes for the second impulse [s].
    time_of_flight : array_like, shape (...)
        Time between both impulses [s].
    first_distance : array_like, shape (...)
        Distance from the Sun at departure [m].
    second_distance : array_like, shape (...)
        Distance from the Sun at arrival [m].

    Returns
    -------
    ndarray, shape (...)
        Factor on both impulses, 1 or more [1].

    Raises
    ------
    DomainError
        If an impulse or a duration is negative, another argument not positive, or the burns take more of the flight
        than :func:`spread_burn_margin` allows.

    Notes
    -----
    The craft starts half a burn before the date of the first impulse and ends half a burn after that of the second,
    so in empty space nothing is lost. In the Sun's field thrust held in one direction along the orbit loses
    :math:`\epsilon` while the arcs are short; over longer arcs the thrust turns, and its share of the flight counts.

    Compared with rendezvous of least velocity change by a direct method in the time :math:`T + (t_1 + t_2)/2`: 33 legs
    between planets, near-Earth and belt bodies, most at the cheapest window of the pair, shares up to 0.6. The factor
    is an upper estimate, 0.07 above in the median, and 0.02 where the optimum does not undercut two impulses; up to 0.6
    too high at poor dates, where the optimum is far below two impulses. Two legs cost more than it says: 324P to 238P
    and Euphrosyne to 324P (6.7 and 13.6 km/s), by 0.11 at a share of one half and by 0.14 at most. Burns as long as
    they are priced, hence a longer flight, bring the second within 0.02.

    References
    ----------
    .. [1] closed form: second moment of a burn in a field of uniform gradient.
    .. [2] robbins_1966 (from memory), the same bound; own_closed_form (the coefficient of wide arcs).

    Examples
    --------
    >>> day, au = 86400.0, 149597870700.0
    >>> leg = (1.32712440018e20, 856.0, 1021.0, 160 * day, 190 * day, 705 * day, 2.76 * au, 2.79 * au)
    >>> print(f"{spread_burn_factor(*leg):.4f}")  # a quarter of the flight
    1.0166
    """
    above("gravitational_parameter", "m3/s2", gravitational_parameter)
    at_least("first_impulse", "m/s", first_impulse)
    at_least("second_impulse", "m/s", second_impulse)
    above("first_distance", "m", first_distance)
    above("second_distance", "m", second_distance)
    share = spread_burn_share(first_duration, second_duration, time_of_flight)
    limit = f"is too short for the burns, which may take {LIMIT:g} of it"
    require_each(share <= LIMIT, "time_of_flight", "s", time_of_flight, limit)
    return broadcast(
        spread_burn_factor_kernel, gravitational_parameter, first_impulse, second_impulse, first_duration,
        second_duration, time_of_flight, first_distance, second_distance,
    )  # fmt: skip


def spread_burn_share(
    first_duration: ArrayLike, second_duration: ArrayLike, time_of_flight: ArrayLike
) -> FloatArray:
    r"""Share of the flight between two impulses that burns centred on them take.

    .. math:: s = (t_1 + t_2) / (2 T)

    Parameters
    ----------
    first_duration : array_like, shape (...)
        Time that the thrust takes for the first impulse [s].
    second_duration : array_like, shape (...)
        Time that the thrust takes for the second impulse [s].
    time_of_flight : array_like, shape (...)
        Time between both impulses [s].

    Returns
    -------
    ndarray, shape (...)
        Share; above one the burns would overlap [1].

    Raises
    ------
    DomainError
        If a duration is negative or the time not positive.

    References
    ----------
    .. [1] closed form: half of each burn lies between the impulses.

    Examples
    --------
    >>> print(spread_burn_share(40.0, 60.0, 200.0))
    0.25
    """
    at_least("first_duration", "s", first_duration)
    at_least("second_duration", "s", second_duration)
    above("time_of_flight", "s", time_of_flight)
    return broadcast(spread_burn_share_kernel, first_duration, second_duration, time_of_flight)


def spread_burn_margin(
    first_duration: ArrayLike, second_duration: ArrayLike, time_of_flight: ArrayLike
) -> FloatArray:
    r"""Share of the flight that burns centred on the two impulses may take, over the share they take.

    .. math:: m = s_\mathrm{max} / s

    Parameters
    ----------
    first_duration : array_like, shape (...)
        Time that the thrust takes for the first impulse [s].
    second_duration : array_like, shape (...)
        Time that the thrust takes for the second impulse [s].
    time_of_flight : array_like, shape (...)
        Time between both impulses [s].

    Returns
    -------
    ndarray, shape (...)
        Margin; below one the thrust is too weak for the leg, and a huge number stands for no burn at all [1].

    Raises
    ------
    DomainError
        If a duration is negative or the time not positive.

    References
    ----------
    .. [1] own_closed_form (the limit, from computed rendezvous).

    Examples
    --------
    >>> print(f"{spread_burn_margin(40.0, 60.0, 200.0):.1f}")
    2.4
    """
    spread_burn_share(first_duration, second_duration, time_of_flight)
    return broadcast(spread_burn_margin_kernel, first_duration, second_duration, time_of_flight)
