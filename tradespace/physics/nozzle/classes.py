"""Delivered specific impulse by the class of measured engines."""

from __future__ import annotations

import numpy as np

from tradespace.physics import domain
from tradespace.physics.combustion.delivery import CENTRAL, HIGH, LOW, class_place_kernel
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast


def delivered_by_class(
    frozen_specific_impulse: ArrayLike, thrust: ArrayLike, pulsed: bool = False
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Vacuum specific impulse an engine delivers, from the class of measured engines it belongs to.

    Parameters
    ----------
    frozen_specific_impulse : array_like, shape (...)
        Ideal frozen specific impulse in vacuum [s].
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    pulsed : bool
        True when it fires in short pulses [1].

    Returns
    -------
    central : ndarray, shape (...)
        Specific impulse [s].
    low : ndarray, shape (...)
        At the lower limit of the class [s].
    high : ndarray, shape (...)
        At the upper limit of the class [s].

    Raises
    ------
    DomainError
        If an argument is not positive.

    References
    ----------
    .. [1] aerojet_ada236556, marquardt_1974, smallsat_2021_209, ice_cube_2023: ``combustion_delivery.csv``.

    Examples
    --------
    >>> central, low, high = delivered_by_class(387.1, 110.0)
    >>> print(f"{central:.0f} ({low:.0f} to {high:.0f})")
    360 (348 to 372)
    """
    domain.above("frozen_specific_impulse", "s", frozen_specific_impulse)
    domain.above("thrust", "N", thrust)
    place = broadcast(class_place_kernel, thrust, float(pulsed)).astype(np.intp)
    frozen = np.asarray(frozen_specific_impulse, dtype=np.float64)
    central, low, high = (np.asarray(frozen * np.array(column)[place]) for column in (CENTRAL, LOW, HIGH))
    return central, low, high
