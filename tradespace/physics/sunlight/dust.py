"""Dust on the array: what each landing and each day leaves of the power."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import at_least, require_each


@kernel
def dust_factor_kernel(landings: float, loss_per_landing: float) -> float:
    """Power left after a number of landings, each of which costs a share of what was left [1]."""
    kept = min(max(1.0 - loss_per_landing, 0.0), 1.0)
    if kept == 1.0:
        return 1.0
    if landings == 1.0:
        return kept
    left: float = kept ** max(landings, 0.0)
    return left


@kernel
def settling_factor_kernel(settling_rate: float, time: float) -> float:
    """Power left after dust has settled for a time [1]."""
    return math.exp(-max(settling_rate, 0.0) * max(time, 0.0))


def dust_factor(landings: ArrayLike, loss_per_landing: ArrayLike) -> FloatArray:
    r"""Share of the array power left after a number of landings.

    .. math:: L = (1 - d)^n

    Parameters
    ----------
    landings : array_like, shape (...)
        Number of landings, or of launches and landings together [1].
    loss_per_landing : array_like, shape (...)
        Share of the power each one costs [1].

    Returns
    -------
    ndarray, shape (...)
        Share of power left, never below zero [1].

    Raises
    ------
    DomainError
        If the number is negative or the loss lies outside [0, 1).

    Notes
    -----
    Each layer shades the light the earlier ones let through. No published loss per landing on a small icy
    body exists; the value is an estimate with a wide range.

    References
    ----------
    .. [1] closed form: light through equal layers.

    Examples
    --------
    >>> print(f"{dust_factor(10, 0.02):.3f}")
    0.817
    """
    at_least("landings", "1", landings)
    loss = at_least("loss per landing", "1", loss_per_landing)
    require_each(loss < 1, "loss per landing", "1", loss, "must be below 1")
    return broadcast(dust_factor_kernel, landings, loss)


def settling_factor(settling_rate: ArrayLike, time: ArrayLike) -> FloatArray:
    r"""Share of the array power left after dust has settled for a time.

    .. math:: L = e^{-k t}

    Parameters
    ----------
    settling_rate : array_like, shape (...)
        Share of the light newly covered per time [1/s].
    time : array_like, shape (...)
        Time of settling without cleaning [s].

    Returns
    -------
    ndarray, shape (...)
        Share of power left, never below zero [1].

    Raises
    ------
    DomainError
        If the rate or the time is negative.

    Notes
    -----
    A quarter of a per cent a day was measured on Mars, where dust falls out of the air; airless bodies have
    dust moved by landings and by charging, for which no rate is published.

    References
    ----------
    .. [1] landis_1996 and pathfinder_dust_1997, settling on Mars.

    Examples
    --------
    >>> print(f"{settling_factor(0.0025 / 86400, 17.5 * 86400):.3f}")
    0.957
    """
    at_least("settling rate", "1/s", settling_rate)
    at_least("time", "s", time)
    return broadcast(settling_factor_kernel, settling_rate, time)
