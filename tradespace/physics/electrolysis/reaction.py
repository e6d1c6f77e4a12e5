"""Heat, work and entropy of splitting a mole of liquid water, behind the voltages."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.electrolysis.voltage import (
    liquid_temperature,
    standard_reversible_voltage_kernel,
    thermoneutral_voltage_kernel,
)

_FARADAY = value("faraday_constant")


@kernel
def splitting_enthalpy_kernel(temperature: float) -> float:
    """Enthalpy of splitting a mole of liquid water [J mol-1]."""
    return 2.0 * _FARADAY * thermoneutral_voltage_kernel(temperature)


@kernel
def splitting_gibbs_energy_kernel(temperature: float) -> float:
    """Least work that splits a mole of liquid water into gases at 1 bar each [J mol-1]."""
    return 2.0 * _FARADAY * standard_reversible_voltage_kernel(temperature)


@kernel
def splitting_entropy_kernel(temperature: float) -> float:
    """Entropy gained when a mole of liquid water is split into gases at 1 bar each [J mol-1 K-1]."""
    heat = splitting_enthalpy_kernel(temperature) - splitting_gibbs_energy_kernel(temperature)
    return heat / max(temperature, 1.0)


def splitting_enthalpy(temperature: ArrayLike) -> FloatArray:
    r"""Enthalpy of splitting a mole of liquid water, water and gases at the same temperature.

    .. math:: \mathrm{H_2O(l)} \to \mathrm{H_2} + \tfrac12\,\mathrm{O_2}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Enthalpy [J mol-1].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    Notes
    -----
    At 25 degC this is the higher heating value of hydrogen, the basis of every efficiency of this room.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{splitting_enthalpy(298.15) / 1000:.2f}")  # kJ per mole
    285.83
    """
    return broadcast(splitting_enthalpy_kernel, liquid_temperature(temperature))


def splitting_gibbs_energy(temperature: ArrayLike) -> FloatArray:
    r"""Least work that splits a mole of liquid water into gases at 1 bar each.

    .. math:: \Delta G^\circ = \Delta H^\circ - T \Delta S^\circ

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Gibbs energy [J mol-1].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{splitting_gibbs_energy(298.15) / 1000:.2f}")  # kJ per mole
    237.14
    """
    return broadcast(splitting_gibbs_energy_kernel, liquid_temperature(temperature))


def splitting_entropy(temperature: ArrayLike) -> FloatArray:
    r"""Entropy gained when a mole of liquid water is split into gases at 1 bar each.

    .. math:: \Delta S^\circ = (\Delta H^\circ - \Delta G^\circ) / T

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of water and gases [K].

    Returns
    -------
    ndarray, shape (...)
        Entropy [J mol-1 K-1].

    Raises
    ------
    DomainError
        If any temperature lies outside 273.15 to 423.15 K.

    References
    ----------
    .. [1] mcbride_2002, species data; cox_1989, key values.

    Examples
    --------
    >>> print(f"{splitting_entropy(298.15):.1f}")
    163.3
    """
    return broadcast(splitting_entropy_kernel, liquid_temperature(temperature))
