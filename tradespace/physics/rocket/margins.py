"""What reviewers add to an estimate: growth, system and velocity-change margins, and what each rule means.

"30 per cent" is 1.30 on the estimate, 1.43 when counted on the allocation, and two margins of 20 per cent make
1.44: the definition matters more than the number. The rules' values are in ``margin_values.csv``.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within
from tradespace.physics.rocket.burns import _burnable, mass_ratio

TABLE = "margin_values.csv"
_DELTA_V_SHARE = value("esa_delta_v_share", TABLE)
_DELTA_V_LEAST = value("esa_delta_v_least", TABLE)


@kernel
def growth_factor_kernel(maturity_margin: float, system_margin: float) -> float:
    """Estimate with both margins over the estimate [1]."""
    return (1.0 + maturity_margin) * (1.0 + system_margin)


@kernel
def delta_v_with_margin_kernel(delta_v: float, share: float, least: float) -> float:
    """A velocity change with the larger of a share and a fixed amount added [m s-1]."""
    return delta_v + max(share * delta_v, least)


def margin(estimate: ArrayLike, value_with_margin: ArrayLike) -> FloatArray:
    r"""Margin as the European science studies define it: on the estimate.

    .. math:: m = (V_2 - V_1) / V_1

    Parameters
    ----------
    estimate : array_like, shape (...)
        Value without margin, in any unit [1].
    value_with_margin : array_like, shape (...)
        Value with margin, in the same unit [1].

    Returns
    -------
    ndarray, shape (...)
        Margin [1].

    Raises
    ------
    DomainError
        If an estimate is not positive or the other value negative.

    References
    ----------
    .. [1] esa_margin_2012, definition of margin.

    Examples
    --------
    >>> print(f"{margin(100.0, 144.0):.2f}")
    0.44
    """
    first = above("estimate", "1", estimate)
    return at_least("value_with_margin", "1", value_with_margin) / first - 1.0


def growth_factor(maturity_margin: ArrayLike, system_margin: ArrayLike) -> FloatArray:
    r"""Dry mass with the maturity margin of its items and the system margin on top, over the bare estimate.

    .. math:: k = (1 + m)(1 + s)

    Parameters
    ----------
    maturity_margin : array_like, shape (...)
        Margin on each item for its maturity [1].
    system_margin : array_like, shape (...)
        Margin on the sum [1].

    Returns
    -------
    ndarray, shape (...)
        Factor on the estimate [1].

    Raises
    ------
    DomainError
        If a margin is negative.

    References
    ----------
    .. [1] esa_margin_2012, equipment and system mass margins.

    Examples
    --------
    >>> print(f"{growth_factor(0.20, 0.20):.2f}")
    1.44
    """
    item = at_least("maturity_margin", "1", maturity_margin)
    return broadcast(growth_factor_kernel, item, at_least("system_margin", "1", system_margin))


def growth_factor_of_allocation_margin(allocation_margin: ArrayLike) -> FloatArray:
    r"""Factor on the estimate of a margin that is counted on the allocation.

    .. math:: m_a = (A - E)/A \quad\Rightarrow\quad A/E = 1/(1 - m_a)

    Parameters
    ----------
    allocation_margin : array_like, shape (...)
        Allocation minus estimate, over the allocation [1].

    Returns
    -------
    ndarray, shape (...)
        Factor on the estimate [1].

    Raises
    ------
    DomainError
        If a margin lies outside [0, 1).

    References
    ----------
    .. [1] jpl_d17868, definition of mass margin (from memory).

    Examples
    --------
    >>> print(f"{growth_factor_of_allocation_margin(0.30):.3f}")
    1.429
    """
    return np.asarray(
        1.0 / (1.0 - within("allocation_margin", "1", allocation_margin, 0.0, 1.0, open_high=True))
    )


def delta_v_with_margin(
    delta_v: ArrayLike, margin_share: ArrayLike = _DELTA_V_SHARE, least_margin: ArrayLike = _DELTA_V_LEAST
) -> FloatArray:
    r"""A computed velocity change with its margin: a share of it, or a fixed amount where that is more.

    .. math:: \Delta v_m = \Delta v + \max(f \Delta v, \Delta v_0)

    Parameters
    ----------
    delta_v : array_like, shape (...)
        Sum of accurately computed manoeuvres [m s-1].
    margin_share : array_like, shape (...)
        Share added; 5 % unless given, 10 % for low thrust [1].
    least_margin : array_like, shape (...)
        Least amount added; 10 m/s unless given [m s-1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change with margin [m s-1].

    Raises
    ------
    DomainError
        If a value is negative.

    Notes
    -----
    Gravity losses are counted apart, before the margin; attitude control gets 100 %.

    References
    ----------
    .. [1] esa_margin_2012, items on delta-v.

    Examples
    --------
    >>> print(f"{delta_v_with_margin(100.0):.0f} {delta_v_with_margin(3000.0):.0f}")
    110 3150
    """
    return broadcast(
        delta_v_with_margin_kernel,
        at_least("delta_v", "m/s", delta_v),
        at_least("margin_share", "1", margin_share),
        at_least("least_margin", "m/s", least_margin),
    )


def tanker_payload_fraction(
    outward_delta_v: ArrayLike,
    return_delta_v: ArrayLike,
    exhaust_velocity: ArrayLike,
    dry_fraction: ArrayLike,
) -> FloatArray:
    r"""Payload of a reusable tanker over its loaded mass: it flies out loaded and comes back empty.

    .. math:: m_{pl}/m_0 = 1/R_o - d\,R_r

    Parameters
    ----------
    outward_delta_v : array_like, shape (...)
        Velocity change with the payload on board [m s-1].
    return_delta_v : array_like, shape (...)
        Velocity change of the way back [m s-1].
    exhaust_velocity : array_like, shape (...)
        Effective exhaust velocity [m s-1].
    dry_fraction : array_like, shape (...)
        Dry mass over loaded mass at the start [1].

    Returns
    -------
    ndarray, shape (...)
        Payload over loaded mass; negative when the round trip does not close [1].

    Raises
    ------
    DomainError
        If a velocity change is negative or beyond 100 exhaust velocities, an exhaust velocity not positive, or
        a fraction outside [0, 1).

    References
    ----------
    .. [1] tsiolkovsky_1903 for both legs; closed form.

    Examples
    --------
    >>> print(f"{tanker_payload_fraction(2000.0, 2000.0, 3400.0, 0.1):.3f}")
    0.375
    """
    out, speed = _burnable(outward_delta_v, exhaust_velocity, "outward_delta_v")
    back, _ = _burnable(return_delta_v, exhaust_velocity, "return_delta_v")
    dry = within("dry_fraction", "1", dry_fraction, 0.0, 1.0, open_high=True)
    return np.asarray(1.0 / mass_ratio(out, speed) - dry * mass_ratio(back, speed))
