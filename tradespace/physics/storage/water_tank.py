"""Liquid water in the cold: room for ice. Heater power and freezing time are in the link on heat.

Water that freezes in a full, closed vessel bursts it. These functions size concepts; a design defers to local
codes and licensed practice.
"""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within
from tradespace.physics.water import freezing_expansion_kernel

_VALUES = "physics_values.csv"
_TRIPLE = value("water_triple_temperature", _VALUES)


@kernel
def highest_water_fill_kernel(ice_temperature: float) -> float:
    """Share of a rigid tank that water may fill so that its ice still fits [1]."""
    return 1.0 / (1.0 + freezing_expansion_kernel(ice_temperature))


def highest_water_fill(ice_temperature: ArrayLike) -> FloatArray:
    """Share of a rigid tank that water may fill so that its ice still fits.

    Parameters
    ----------
    ice_temperature : array_like, shape (...)
        Temperature of the ice when it is least dense, its melting point to be safe [K].

    Returns
    -------
    ndarray, shape (...)
        Highest fill [1].

    Raises
    ------
    DomainError
        If the ice temperature lies outside 0 to 273.16 K.

    Notes
    -----
    Water trapped below ice in lines and valves bursts them all the same: room in the tank is not enough.

    References
    ----------
    .. [1] feistel_2006 (ice), wagner_2002 (liquid).

    Examples
    --------
    >>> print(f"{highest_water_fill(273.16):.3f}")
    0.917
    """
    cold = within("ice temperature", "K", ice_temperature, 0.0, _TRIPLE)
    return broadcast(highest_water_fill_kernel, cold)
