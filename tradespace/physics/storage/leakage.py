"""What a gas tank loses: leaks at joints, permeation through steel, gas that stays behind.

Hydrogen that leaks into a closed space burns or explodes, with oxygen the more so. These functions size concepts;
a design defers to local codes and licensed practice.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, require_each
from tradespace.physics.storage.compression import hydrogen_fugacity_kernel
from tradespace.physics.storage.gases import _hydrogen_range, _oxygen_range, stored_gas_pv_kernel

_OWN = "storage_values.csv"
_GAS_CONSTANT = value("gas_constant")
_PERMEABILITY = value("steel_hydrogen_permeability", _OWN)
_ACTIVATION = value("steel_hydrogen_activation", _OWN)
_LEAST = 1e-12


@kernel
def leak_fraction_kernel(time: float, e_folding_time: float) -> float:
    """Share of a gas lost after a time [1]."""
    return -math.expm1(-max(time, 0.0) / max(e_folding_time, _LEAST))


@kernel
def leak_e_folding_time_kernel(pressure: float, volume: float, joints: float, leak_rate: float) -> float:
    """Time in which leaks empty a tank to one part in e [s]."""
    return pressure * volume / max(joints * leak_rate, _LEAST)


@kernel
def steel_permeability_kernel(temperature: float) -> float:
    """Permeability of austenitic steel to hydrogen [mol/(m s sqrt(Pa))]."""
    return _PERMEABILITY * math.exp(-_ACTIVATION / (_GAS_CONSTANT * max(temperature, 1.0)))


@kernel
def permeation_flux_kernel(temperature: float, pressure: float, thickness: float) -> float:
    """Hydrogen that passes a steel wall with vacuum behind it [mol m-2 s-1]."""
    fugacity = max(pressure, 0.0) * math.exp(hydrogen_fugacity_kernel(temperature, pressure))
    return steel_permeability_kernel(temperature) * math.sqrt(fugacity) / max(thickness, _LEAST)


@kernel
def gas_residual_kernel(
    temperature: float, pressure: float, final_pressure: float, mixture_ratio: float
) -> float:
    """Share of hydrogen and oxygen left in tanks at the lowest pressure the engine takes [1]."""
    warm = max(temperature, 1.0)
    full = max(pressure, 1.0) / stored_gas_pv_kernel(warm, pressure, mixture_ratio)
    empty = final_pressure / stored_gas_pv_kernel(warm, final_pressure, mixture_ratio)
    return min(max(empty / full, 0.0), 1.0)


def leak_fraction(time: ArrayLike, e_folding_time: ArrayLike) -> FloatArray:
    r"""Share of a gas lost after a time.

    .. math:: f = 1 - e^{-t/\tau}

    Parameters
    ----------
    time : array_like, shape (...)
        Time in store [s].
    e_folding_time : array_like, shape (...)
        Time in which the gas falls to one part in e [s].

    Returns
    -------
    ndarray, shape (...)
        Share lost [1].

    Raises
    ------
    DomainError
        If time is negative, or the e folding time not above zero.

    References
    ----------
    .. [1] closed form: loss in proportion to what is left.

    Examples
    --------
    >>> print(f"{leak_fraction(1.0, 20.0):.4f}")
    0.0488
    """
    passed = at_least("time", "s", time)
    return broadcast(leak_fraction_kernel, passed, above("e folding time", "s", e_folding_time))


def leak_e_folding_time(
    pressure: ArrayLike, volume: ArrayLike, joints: ArrayLike, leak_rate: ArrayLike
) -> FloatArray:
    r"""Time in which leaks at joints empty a tank to one part in e.

    .. math:: \tau = p V / (n Q)

    Parameters
    ----------
    pressure : array_like, shape (...)
        Pressure in the tank at which the leaks are stated [Pa].
    volume : array_like, shape (...)
        Volume of the tank [m3].
    joints : array_like, shape (...)
        Number of joints and valves that leak [1].
    leak_rate : array_like, shape (...)
        Leak of one of them at that pressure and the temperature of the tank [Pa m3 s-1].

    Returns
    -------
    ndarray, shape (...)
        E-folding time [s].

    Raises
    ------
    DomainError
        If an argument is not above zero.

    Notes
    -----
    A leak that falls with pressure in proportion, as fine molecular leaks do; viscous ones slow down more.

    References
    ----------
    .. [1] common practice, no source: throughput of a leak.

    Examples
    --------
    >>> print(f"{leak_e_folding_time(5e6, 0.1, 20.0, 1e-5) / 86400 / 365.25:.0f}")  # years
    79
    """
    return broadcast(
        leak_e_folding_time_kernel,
        above("pressure", "Pa", pressure),
        above("volume", "m3", volume),
        above("joints", "1", joints),
        above("leak rate", "Pa m3/s", leak_rate),
    )


def steel_permeability(temperature: ArrayLike) -> FloatArray:
    r"""Permeability of austenitic stainless steel to hydrogen.

    .. math:: \Phi = \Phi_0 e^{-E/RT}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the wall [K].

    Returns
    -------
    ndarray, shape (...)
        Permeability [mol/(m s sqrt(Pa))].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K.

    Notes
    -----
    Known within a factor of two; a liner of aluminium or polymer is another matter.

    References
    ----------
    .. [1] san_marchi_2007, fit for austenitic steels.

    Examples
    --------
    >>> print(f"{1000 * steel_permeability(298.15):.1e}")  # per square root of MPa
    4.0e-15
    """
    return broadcast(steel_permeability_kernel, _hydrogen_range(temperature, 0.0)[0])


def permeation_flux(temperature: ArrayLike, pressure: ArrayLike, thickness: ArrayLike) -> FloatArray:
    r"""Hydrogen that passes a steel wall with vacuum behind it.

    .. math:: J = \Phi \sqrt{f}/t

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of wall and gas [K].
    pressure : array_like, shape (...)
        Pressure of the hydrogen [Pa].
    thickness : array_like, shape (...)
        Thickness of the wall [m].

    Returns
    -------
    ndarray, shape (...)
        Flux of molecules [mol m-2 s-1].

    Raises
    ------
    DomainError
        If temperature lies outside 150 to 1000 K, pressure outside 0 to 200 MPa, or thickness is not above zero.

    Notes
    -----
    Driven by the square root of fugacity, since the molecule splits in the metal.

    References
    ----------
    .. [1] san_marchi_2007 (permeability), lemmon_2008 (fugacity).

    Examples
    --------
    >>> print(f"{permeation_flux(298.15, 1e7, 1e-3):.1e}")
    1.3e-11
    """
    warm, total = _hydrogen_range(temperature, pressure)
    return broadcast(permeation_flux_kernel, warm, total, above("thickness", "m", thickness))


def gas_residual(
    temperature: ArrayLike, pressure: ArrayLike, final_pressure: ArrayLike, mixture_ratio: ArrayLike
) -> FloatArray:
    """Share of the stored hydrogen and oxygen left behind at the lowest pressure the engine takes.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature, the same full and empty [K].
    pressure : array_like, shape (...)
        Pressure of full tanks [Pa].
    final_pressure : array_like, shape (...)
        Pressure at which the engine stops [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Share left in the tanks [1].

    Raises
    ------
    DomainError
        If temperature lies outside 200 to 400 K, a pressure outside 0.1 to 100 MPa, final pressure is above
        pressure, or the mixture ratio is negative.

    Notes
    -----
    Gas that cools as it expands leaves more behind; this is the least.

    References
    ----------
    .. [1] lemmon_2008 (hydrogen), schmidt_1985 (oxygen).

    Examples
    --------
    >>> print(f"{gas_residual(293.15, 5e6, 1.2e6, 7.937):.2f}")
    0.24
    """
    warm, full = _oxygen_range(temperature, pressure)
    empty = _oxygen_range(temperature, final_pressure, "final pressure")[1]
    require_each(empty <= full, "final pressure", "Pa", empty, "is above the pressure")
    ratio = at_least("mixture ratio", "1", mixture_ratio)
    return broadcast(gas_residual_kernel, warm, full, empty, ratio)
