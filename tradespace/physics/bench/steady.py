"""Steady thrust of a power: with a stated specific impulse, and what well-made small engines reach."""

from __future__ import annotations

from tradespace.constants import table_values, value
from tradespace.physics.bench.bounds import BENCH
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, within
from tradespace.physics.electrolysis.rates import water_rate_of_power_kernel
from tradespace.physics.transfer.shared import components

_GRAVITY = value("standard_gravity")
_HIGHEST_EFFICIENCY = value("highest_split_efficiency", "physics_values.csv")
_PRACTICAL = table_values(BENCH)["practical_thrust_per_power"]
_LOW, _HIGH = _PRACTICAL.low, _PRACTICAL.high


@kernel
def steady_thrust_kernel(power: float, efficiency: float, specific_impulse: float) -> float:
    """Thrust when all water that a power splits is burned as it is made [N]."""
    return water_rate_of_power_kernel(power, efficiency) * _GRAVITY * specific_impulse


@kernel
def practical_thrust_ceiling_kernel(power: float, efficiency: float) -> tuple[float, float]:
    """Steady thrust that well-made small engines reach, from and to [N]."""
    return _LOW * efficiency * power, _HIGH * efficiency * power


def _supply(power: ArrayLike, efficiency: ArrayLike) -> tuple[FloatArray, FloatArray]:
    return (
        at_least("power", "W", power),
        within("efficiency", "1", efficiency, 0.0, _HIGHEST_EFFICIENCY, open_low=True),
    )


def steady_thrust(power: ArrayLike, efficiency: ArrayLike, specific_impulse: ArrayLike) -> FloatArray:
    r"""Thrust when all water that an electric power splits is burned as it is made.

    .. math:: F = \eta P g_0 I_{sp} / \Delta h_\mathrm{HHV}

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power into the stack [W].
    efficiency : array_like, shape (...)
        Share of that power stored in the products, on the higher heating value [1].
    specific_impulse : array_like, shape (...)
        Specific impulse as delivered [s].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If a power or specific impulse is negative, or an efficiency is not above 0 or is above 1.32.

    References
    ----------
    .. [1] cox_1989 (enthalpy of formation of liquid water); closed form: definition of the specific impulse.

    Examples
    --------
    >>> print(f"{1e3 * steady_thrust(1.0, 1.0, 330.0):.3f}")  # mN per watt
    0.204
    """
    impulse = at_least("specific_impulse", "s", specific_impulse)
    return broadcast(steady_thrust_kernel, *_supply(power, efficiency), impulse)


def practical_thrust_ceiling(power: ArrayLike, efficiency: ArrayLike) -> tuple[FloatArray, FloatArray]:
    r"""Steady thrust that well-made small engines reach with an electric power, as a band.

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power into the stack [W].
    efficiency : array_like, shape (...)
        Share of that power stored in the products, on the higher heating value [1].

    Returns
    -------
    low : ndarray, shape (...)
        Lower end: an engine that delivers about 330 s [N].
    high : ndarray, shape (...)
        Upper end: the ideal frozen value of a long nozzle [N].

    Raises
    ------
    DomainError
        If a power is negative, or an efficiency is not above 0 or is above 1.32.

    Notes
    -----
    Above the band readings are suspect long before :func:`power_thrust_bound` makes them impossible.

    References
    ----------
    .. [1] common practice, no source: 0.20 to 0.25 mN per watt that ends in gas, estimated.

    Examples
    --------
    >>> low, high = practical_thrust_ceiling(100.0, 0.7)
    >>> print(f"{1e3 * low:.1f} to {1e3 * high:.1f} mN")
    14.0 to 17.5 mN
    """
    return components(practical_thrust_ceiling_kernel, *_supply(power, efficiency), count=2)
