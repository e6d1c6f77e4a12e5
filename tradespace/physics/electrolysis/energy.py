"""Energy and heat per kilogram of water split."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, share
from tradespace.physics.electrolysis.voltage import liquid_temperature, thermoneutral_voltage_kernel

_FARADAY = value("faraday_constant")
_WATER_MASS = value("molar_mass_water")
_ENTHALPY = value("reaction_enthalpy_water")
_TINY = 1e-6  # numeric floor of what is divided by


@kernel
def efficiency_hhv_kernel(cell_voltage: float, faradaic_efficiency: float) -> float:
    """Enthalpy of the split water at 25 degC over the electric energy [1]."""
    return faradaic_efficiency * _ENTHALPY / (2.0 * _FARADAY * max(cell_voltage, _TINY))


@kernel
def split_energy_kernel(cell_voltage: float, faradaic_efficiency: float) -> float:
    """Electric energy per kilogram of water split, stack only [J kg-1]."""
    return 2.0 * _FARADAY * cell_voltage / (_WATER_MASS * max(faradaic_efficiency, _TINY))


@kernel
def waste_heat_fraction_kernel(cell_voltage: float, faradaic_efficiency: float, temperature: float) -> float:
    """Share of the stack power that leaves as heat, never below zero [1]."""
    stored = faradaic_efficiency * thermoneutral_voltage_kernel(temperature) / max(cell_voltage, _TINY)
    return max(1.0 - stored, 0.0)


def efficiency_hhv(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Enthalpy of the split water at 25 degC (higher heating value) over the electric energy.

    .. math:: \eta = \eta_F \Delta H / (2 F V)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Stack efficiency [1].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{efficiency_hhv(1.8, 1.0):.4f}")
    0.8229
    """
    eta = share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(efficiency_hhv_kernel, above("cell voltage", "V", cell_voltage), eta)


def split_energy(cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike) -> FloatArray:
    r"""Electric energy per kilogram of water split, stack only.

    .. math:: e = 2 F V / (M \eta_F)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].

    Returns
    -------
    ndarray, shape (...)
        Energy per mass of water [J kg-1].

    Raises
    ------
    DomainError
        If voltage is not above zero or Faradaic efficiency lies outside (0, 1].

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{split_energy(1.8, 1.0) / 3.6e6:.3f}")  # kWh per kg
    5.356
    """
    eta = share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(split_energy_kernel, above("cell voltage", "V", cell_voltage), eta)


def waste_heat_fraction(
    cell_voltage: ArrayLike, faradaic_efficiency: ArrayLike, temperature: ArrayLike
) -> FloatArray:
    r"""Share of the stack power that leaves as heat.

    .. math:: h = \max(0,\ 1 - \eta_F V_\mathrm{tn}(T) / V)

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Share of electric power to be rejected [1].

    Raises
    ------
    DomainError
        If voltage is not above zero, Faradaic efficiency outside (0, 1], or temperature outside 273.15
        to 423.15 K.

    Notes
    -----
    Current that makes no product counts as heat. A cell below the thermoneutral voltage takes heat up: the
    share is then zero, and the heat it needs is not booked. Vapour carried off by the gases is left out,
    which overstates the heat to reject.

    References
    ----------
    .. [1] leroy_1980, thermoneutral voltage.

    Examples
    --------
    >>> print(f"{waste_heat_fraction(2.0, 1.0, 353.15):.3f}")
    0.264
    """
    volts, eta = above("cell voltage", "V", cell_voltage), share("Faradaic efficiency", faradaic_efficiency)
    return broadcast(waste_heat_fraction_kernel, volts, eta, liquid_temperature(temperature))
