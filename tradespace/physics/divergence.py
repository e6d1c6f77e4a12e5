"""Momentum lost because the jet leaves a nozzle at an angle."""

from __future__ import annotations

import math

from tradespace.physics import domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel


@kernel
def conical_divergence_kernel(half_angle: float) -> float:
    """Axial share of the momentum of a conical source flow."""
    return 0.5 * (1.0 + math.cos(half_angle))


@kernel
def planar_divergence_kernel(half_angle: float) -> float:
    """Axial share of the momentum of a two-dimensional source flow."""
    if half_angle == 0.0:
        return 1.0
    return math.sin(half_angle) / half_angle


def conical_divergence(half_angle: ArrayLike) -> FloatArray:
    r"""Axial share of the momentum that leaves a conical nozzle.

    .. math:: \lambda = (1 + \cos\alpha)/2

    Parameters
    ----------
    half_angle : array_like, shape (...)
        Half angle of the cone [rad].

    Returns
    -------
    ndarray, shape (...)
        Divergence factor [1].

    Raises
    ------
    DomainError
        If a half angle lies outside 0 to pi/2.

    References
    ----------
    .. [1] sutton_2010, chapter 3, table of the correction factor of conical nozzles.

    Examples
    --------
    >>> import math
    >>> print(f"{conical_divergence(math.radians(15.0)):.4f}")
    0.9830
    """
    _angle(half_angle)
    return broadcast(conical_divergence_kernel, half_angle)


def planar_divergence(half_angle: ArrayLike) -> FloatArray:
    r"""Axial share of the momentum that leaves a two-dimensional (etched) nozzle.

    .. math:: \lambda = \sin\alpha/\alpha

    Parameters
    ----------
    half_angle : array_like, shape (...)
        Half angle of the straight walls [rad].

    Returns
    -------
    ndarray, shape (...)
        Divergence factor [1].

    Raises
    ------
    DomainError
        If a half angle lies outside 0 to pi/2.

    References
    ----------
    .. [1] makhan_2018, equation 2.17.

    Examples
    --------
    >>> import math
    >>> print(f"{planar_divergence(math.radians(15.0)):.4f}")
    0.9886
    """
    _angle(half_angle)
    return broadcast(planar_divergence_kernel, half_angle)


def _angle(half_angle: ArrayLike) -> None:
    domain.within("half_angle", "rad", half_angle, 0.0, 0.5 * math.pi, "that is 0 to 90 deg")
