"""Electrode losses: activation, its change with temperature, and the approach to a limiting current."""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each

_FARADAY = value("faraday_constant")
_GAS_CONSTANT = value("gas_constant")
_LARGEST_EXPONENT = 100.0  # numeric: keeps the exponential finite
_KNEE = 15 / 16  # numeric: share of the limiting current past which the curve goes on straight


@kernel
def arrhenius_kernel(
    reference: float, energy: float, reference_temperature: float, temperature: float
) -> float:
    """A rate at a temperature from that at another."""
    if reference_temperature <= 0.0:
        return reference
    inverse = 1.0 / reference_temperature - 1.0 / max(temperature, 1.0)
    return reference * math.exp(
        min(max(energy / _GAS_CONSTANT * inverse, -_LARGEST_EXPONENT), _LARGEST_EXPONENT)
    )


@kernel
def activation_kernel(current_density: float, exchange: float, transfer: float, temperature: float) -> float:
    """Overvoltage of one electrode [V]."""
    if transfer <= 0.0:
        return 0.0
    scale = _GAS_CONSTANT * temperature / (transfer * _FARADAY)
    return scale * math.asinh(current_density / (2.0 * max(exchange, 1e-20)))


@kernel
def concentration_kernel(current_density: float, limiting: float, temperature: float) -> float:
    """Voltage lost near a limiting current [V]; straight past fifteen sixteenths of it, so always finite."""
    if limiting <= 0.0:
        return 0.0
    used = current_density / limiting
    rise = -math.log(1.0 - min(used, _KNEE)) + max(used - _KNEE, 0.0) / (1.0 - _KNEE)
    return _GAS_CONSTANT * temperature / (2.0 * _FARADAY) * rise


def activation_overvoltage(
    current_density: ArrayLike,
    exchange_current_density: ArrayLike,
    transfer: ArrayLike,
    temperature: ArrayLike,
) -> FloatArray:
    r"""Overvoltage of one electrode.

    .. math:: \eta = \frac{RT}{\alpha F} \sinh^{-1} \frac{i}{2 i_0}

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    exchange_current_density : array_like, shape (...)
        Exchange current per electrode area at the temperature [A m-2].
    transfer : array_like, shape (...)
        Charge transfer coefficient times electrons: ln(10) RT/F over it is the Tafel slope [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Overvoltage [V].

    Raises
    ------
    DomainError
        If current density is negative, or any other argument not above zero.

    References
    ----------
    .. [1] closed form: the Butler-Volmer equation with equal coefficients both ways.

    Examples
    --------
    >>> print(f"{activation_overvoltage(1e4, 1e-3, 1.491, 353.15):.3f}")
    0.329
    """
    return broadcast(
        activation_kernel,
        at_least("current density", "A/m2", current_density),
        above("exchange current density", "A/m2", exchange_current_density),
        above("transfer", "1", transfer),
        above("temperature", "K", temperature),
    )


def tafel_slope(transfer: ArrayLike, temperature: ArrayLike) -> FloatArray:
    r"""Overvoltage per tenfold current.

    .. math:: b = \ln(10) \frac{RT}{\alpha F}

    Parameters
    ----------
    transfer : array_like, shape (...)
        Charge transfer coefficient times electrons [1].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage per decade [V].

    Raises
    ------
    DomainError
        If an argument is not above zero.

    References
    ----------
    .. [1] closed form: the Tafel equation.

    Examples
    --------
    >>> print(f"{tafel_slope(1.491, 353.15) * 1000:.1f}")  # mV per decade
    47.0
    """
    return (
        math.log(10.0) * _GAS_CONSTANT / _FARADAY * above("temperature", "K", temperature)
        / above("transfer", "1", transfer)
    )  # fmt: skip


def concentration_overvoltage(
    current_density: ArrayLike, limiting_current_density: ArrayLike, temperature: ArrayLike
) -> FloatArray:
    r"""Voltage lost because the feed cannot keep up.

    .. math:: \eta = -\frac{RT}{2F} \ln\left(1 - \frac{i}{i_L}\right)

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    limiting_current_density : array_like, shape (...)
        Largest current the feed allows [A m-2].
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Voltage [V].

    Raises
    ------
    DomainError
        If current density is negative or reaches the limit, or temperature is not above zero.

    References
    ----------
    .. [1] closed form: Nernst equation with a linear diffusion layer.

    Examples
    --------
    >>> print(f"{concentration_overvoltage(3e4, 6e4, 353.15):.4f}")
    0.0105
    """
    dense = at_least("current density", "A/m2", current_density)
    limit = above("limiting current density", "A/m2", limiting_current_density)
    near = np.broadcast_to(limit, np.broadcast_shapes(dense.shape, limit.shape))[dense >= _KNEE * limit]
    advice = "is too near the limiting current density"
    if near.size:
        advice += f" {near.flat[0]:.6g} A/m2; must be below 15/16 of it"
    require_each(dense < _KNEE * limit, "current density", "A/m2", dense, advice)
    return broadcast(concentration_kernel, dense, limit, above("temperature", "K", temperature))
