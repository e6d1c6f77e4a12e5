"""What age leaves of the power of an array."""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, within

_YEAR = value("julian_year", "physics_values.csv")
_LEAST_LEFT = 1e-300  # of the power after a year, so that its logarithm is finite


@kernel
def array_fading_kernel(ageing_rate: float) -> float:
    """Rate of the exponential by which power falls at a relative loss per year [1/s]."""
    return -math.log(min(max(1.0 - ageing_rate, _LEAST_LEFT), 1.0)) / _YEAR


@kernel
def faded_kernel(fading: float, age: float) -> float:
    """Power left after an age in seconds at a rate of :func:`array_fading_kernel` [1]."""
    return math.exp(-max(fading, 0.0) * max(age, 0.0))


@kernel
def life_degradation_kernel(ageing_rate: float, age: float) -> float:
    """Power left after an age in seconds at a relative loss per year [1]."""
    return faded_kernel(array_fading_kernel(ageing_rate), age)


def life_degradation(ageing_rate: ArrayLike, age: ArrayLike) -> FloatArray:
    r"""Share of the array power left at an age.

    .. math:: L = (1 - d)^{t}

    Parameters
    ----------
    ageing_rate : array_like, shape (...)
        Relative loss per Julian year [1/yr].
    age : array_like, shape (...)
        Time since the array was new [s].

    Returns
    -------
    ndarray, shape (...)
        Share of power left [1].

    Raises
    ------
    DomainError
        If the rate lies outside [0, 1) or the age is negative.

    References
    ----------
    .. [1] smad_1999, chapter 11.4.

    Examples
    --------
    >>> print(f"{life_degradation(0.0375, 5 * 31557600):.3f}")
    0.826
    """
    rate = within("ageing rate", "1/yr", ageing_rate, 0.0, 1.0, open_high=True)
    return broadcast(life_degradation_kernel, rate, at_least("age", "s", age))
