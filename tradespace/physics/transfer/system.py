"""Two bodies about a third: whose pull counts where, and how often they line up."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import floats, require_each
from tradespace.physics.transfer.shared import require_below, require_positive


@kernel
def sphere_of_influence_kernel(
    distance: float, gravitational_parameter: float, central_gravitational_parameter: float
) -> float:
    """Laplace's radius."""
    return distance * math.pow(gravitational_parameter / central_gravitational_parameter, 0.4)


@kernel
def hill_radius_kernel(
    distance: float, gravitational_parameter: float, central_gravitational_parameter: float
) -> float:
    """Where the pull of the body and the tide of the centre balance."""
    return distance * math.pow(gravitational_parameter / (3.0 * central_gravitational_parameter), 1.0 / 3.0)


@kernel
def synodic_period_kernel(first_period: float, second_period: float) -> float:
    """Time after which two bodies stand in line again."""
    return first_period * second_period / abs(first_period - second_period)


def sphere_of_influence(
    distance: ArrayLike, gravitational_parameter: ArrayLike, central_gravitational_parameter: ArrayLike
) -> FloatArray:
    r"""Radius of the sphere of influence of a body.

    .. math:: r = a\,(\mu/\mu_c)^{2/5}

    Parameters
    ----------
    distance : array_like, shape (...)
        Semi-major axis of the body around the centre [m].
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    central_gravitational_parameter : array_like, shape (...)
        Gravitational parameter of what it orbits [m3 s-2].

    Returns
    -------
    ndarray, shape (...)
        Radius within which the body counts as the centre [m].

    Raises
    ------
    DomainError
        If any argument is not positive, or the body outweighs the centre.

    References
    ----------
    .. [1] curtis_2014, ch. 8 and table A.2.

    Examples
    --------
    >>> print(f"{sphere_of_influence(149.6e9, 398600e9, 132.71e18) / 1e9:.3f}")  # Earth, million km
    0.925
    """
    require_positive(
        distance=distance,
        gravitational_parameter=gravitational_parameter,
        central_gravitational_parameter=central_gravitational_parameter,
    )
    require_below(
        "gravitational_parameter", gravitational_parameter,
        "central_gravitational_parameter", central_gravitational_parameter,
    )  # fmt: skip
    return broadcast(
        sphere_of_influence_kernel, distance, gravitational_parameter, central_gravitational_parameter
    )


def hill_radius(
    distance: ArrayLike, gravitational_parameter: ArrayLike, central_gravitational_parameter: ArrayLike
) -> FloatArray:
    r"""Radius of the Hill sphere of a body: where orbits about it are lost to the centre.

    .. math:: r = a\,(\mu/3\mu_c)^{1/3}

    Parameters
    ----------
    distance : array_like, shape (...)
        Semi-major axis of the body around the centre [m].
    gravitational_parameter : array_like, shape (...)
        Gravitational parameter of the body [m3 s-2].
    central_gravitational_parameter : array_like, shape (...)
        Gravitational parameter of what it orbits [m3 s-2].

    Returns
    -------
    ndarray, shape (...)
        Radius of the sphere [m].

    Raises
    ------
    DomainError
        If any argument is not positive, or the body outweighs the centre.

    Notes
    -----
    For an eccentric orbit use the pericentre distance in place of the semi-major axis.

    References
    ----------
    .. [1] closed form: equilibrium on the line through both bodies, small body light beside the centre.

    Examples
    --------
    >>> print(f"{hill_radius(149.6e9, 398600e9, 132.71e18) / 1e9:.3f}")  # Earth, million km
    1.497
    """
    require_positive(
        distance=distance,
        gravitational_parameter=gravitational_parameter,
        central_gravitational_parameter=central_gravitational_parameter,
    )
    require_below(
        "gravitational_parameter", gravitational_parameter,
        "central_gravitational_parameter", central_gravitational_parameter,
    )  # fmt: skip
    return broadcast(hill_radius_kernel, distance, gravitational_parameter, central_gravitational_parameter)


def synodic_period(first_period: ArrayLike, second_period: ArrayLike) -> FloatArray:
    """Synodic period of two bodies on orbits about the same centre.

    .. math:: T = T_1 T_2 / |T_1 - T_2|

    Parameters
    ----------
    first_period : array_like, shape (...)
        Orbital period of the first body [s].
    second_period : array_like, shape (...)
        Orbital period of the second body [s].

    Returns
    -------
    ndarray, shape (...)
        Time between two equal alignments [s].

    Raises
    ------
    DomainError
        If a period is not positive, or both are equal.

    References
    ----------
    .. [1] curtis_2014, ch. 8 (from memory).

    Examples
    --------
    >>> print(f"{synodic_period(365.256, 686.980):.1f}")  # days, Earth and Mars
    779.9
    """
    require_positive(first_period=first_period, second_period=second_period)
    require_each(
        floats(first_period) != floats(second_period), "first_period", "s", first_period,
        "must differ from the second_period [s]",
    )  # fmt: skip
    return broadcast(synodic_period_kernel, first_period, second_period)
