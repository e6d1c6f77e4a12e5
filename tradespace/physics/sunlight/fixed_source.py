"""A source that needs no Sun, for comparison: its power falls with age, not with distance."""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least


@kernel
def fixed_source_power_kernel(power: float, age: float, half_life: float) -> float:
    """Power of a decaying source at an age [W]."""
    left: float = 0.5 ** (max(age, 0.0) / max(half_life, 1.0))
    return power * left


def fixed_source_power(power: ArrayLike, age: ArrayLike, half_life: ArrayLike) -> FloatArray:
    r"""Power of a decaying source at an age.

    .. math:: P = P_0\,2^{-t / t_{1/2}}

    Parameters
    ----------
    power : array_like, shape (...)
        Power when new [W].
    age : array_like, shape (...)
        Time since it was new [s].
    half_life : array_like, shape (...)
        Time in which the power halves: of the isotope for heat, shorter for electricity [s].

    Returns
    -------
    ndarray, shape (...)
        Power at that age [W].

    Raises
    ------
    DomainError
        If power or age is negative, or the half-life not above zero.

    Notes
    -----
    Thermocouples age beside the isotope: flown sources lost electric power with a half-life of about 40 years
    against 87.7 years for the heat of plutonium-238. A comparison only: such sources are licensed, scarce and
    handled by their national authorities.

    References
    ----------
    .. [1] rtg_summary, decay per year and flown output.

    Examples
    --------
    >>> print(f"{fixed_source_power(1.0, 23 * 31557600, 87.7 * 31557600):.3f}")
    0.834
    """
    at_least("power", "W", power)
    at_least("age", "s", age)
    above("half life", "s", half_life)
    return broadcast(fixed_source_power_kernel, power, age, half_life)
