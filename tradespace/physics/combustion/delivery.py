"""What measured engines of a class deliver of the ideal frozen specific impulse."""

from __future__ import annotations

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above
from tradespace.tables import read_table

DELIVERY = "combustion_delivery.csv"
_CLASSES = read_table(DELIVERY).rows
_THRUST_LOW = tuple(float(row["thrust_low"]) for row in _CLASSES)
_THRUST_HIGH = tuple(float(row["thrust_high"] or "inf") for row in _CLASSES)
_PULSED = tuple(float(row["pulsed"]) for row in _CLASSES)
CENTRAL = tuple(float(row["value"]) for row in _CLASSES)
LOW = tuple(float(row["low"]) for row in _CLASSES)
HIGH = tuple(float(row["high"]) for row in _CLASSES)


@kernel
def class_place_kernel(thrust: float, pulsed: float) -> float:
    """Row of the class an engine belongs to, the last one where none fits."""
    last = len(CENTRAL) - 1
    for place in range(last):
        inside = _THRUST_LOW[place] <= thrust < _THRUST_HIGH[place]
        if inside and (_PULSED[place] > 0.5) == (pulsed > 0.5):
            return float(place)
    return float(last)


@kernel
def delivered_class_kernel(thrust: float, pulsed: float) -> tuple[float, float, float]:
    """Delivered over frozen ideal specific impulse of the class of measured engines: central, low, high."""
    place = int(class_place_kernel(thrust, pulsed))
    return CENTRAL[place], LOW[place], HIGH[place]


def delivered_performance_factor(thrust: ArrayLike, pulsed: bool = False) -> FloatArray:
    """Delivered over ideal frozen specific impulse of an engine of this thrust.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    pulsed : bool
        True when it fires in short pulses [1].

    Returns
    -------
    ndarray, shape (...)
        Performance factor, constant within a class of thrust [1].

    Raises
    ------
    DomainError
        If a thrust is not positive.

    References
    ----------
    .. [1] aerojet_ada236556, marquardt_1974, smallsat_2021_209, ice_cube_2023: ``combustion_delivery.csv``.

    Examples
    --------
    >>> [float(factor) for factor in delivered_performance_factor([0.001, 1.0, 110.0])]
    [0.6, 0.87, 0.93]
    """
    place = broadcast(class_place_kernel, above("thrust", "N", thrust), float(pulsed))
    return np.asarray(np.array(CENTRAL)[place.astype(np.intp)])
