"""Efficiencies of a cell from its readings, its heat balance, and thin plates in a weak electrolyte.

Hot caustic electrolyte burns skin and eyes, and a current source raises pressure without limit; these numbers judge
readings that have been taken.
"""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share
from tradespace.physics.electrolysis.energy import efficiency_hhv_kernel
from tradespace.physics.electrolysis.voltage import liquid_temperature, standard_reversible_voltage_kernel

_FARADAY = value("faraday_constant")
_WATER_MASS = value("molar_mass_water")
_ENTHALPY = value("reaction_enthalpy_water")
_LOWER = value("lower_heating_value_water", "nozzle_values.csv") * _WATER_MASS
_STANDARD_TEMPERATURE = value("standard_temperature")
_TINY = 1e-30


@kernel
def faradaic_share_of_rate_kernel(hydrogen_rate: float, current: float, cells: float) -> float:
    """Hydrogen found over that of the charge [1]."""
    return 2.0 * _FARADAY * hydrogen_rate / max(current * cells, _TINY)


@kernel
def stored_power_share_kernel(hydrogen_rate: float, power: float) -> float:
    """Higher heating value of the hydrogen over the power [1]."""
    return hydrogen_rate * _ENTHALPY / max(power, _TINY)


@kernel
def lower_stored_power_share_kernel(hydrogen_rate: float, power: float) -> float:
    """Lower heating value of the hydrogen over the power [1]."""
    return hydrogen_rate * _LOWER / max(power, _TINY)


@kernel
def reversible_voltage_share_kernel(cell_voltage: float, temperature: float) -> float:
    """Reversible voltage over the voltage of a cell [1]."""
    return standard_reversible_voltage_kernel(temperature) / max(cell_voltage, _TINY)


@kernel
def heat_balance_kernel(power: float, hydrogen_rate: float) -> float:
    """Power that does not leave in the gas [W]."""
    return power - hydrogen_rate * _ENTHALPY


@kernel
def plate_cell_voltage_kernel(
    current_density: float,
    electrode_gap: float,
    conductivity: float,
    overpotential: float,
    temperature: float,
) -> float:
    """Voltage of plates with free electrolyte between them [V]."""
    ohmic = current_density * electrode_gap / max(conductivity, _TINY)
    return standard_reversible_voltage_kernel(temperature) + overpotential + ohmic


@kernel
def plate_cell_efficiency_kernel(
    current_density: float, electrode_gap: float, conductivity: float, overpotential: float,
    faradaic_efficiency: float, temperature: float,
) -> float:  # fmt: skip
    """Efficiency of such a cell on the higher heating value [1]."""
    volts = plate_cell_voltage_kernel(
        current_density, electrode_gap, conductivity, overpotential, temperature
    )
    return efficiency_hhv_kernel(volts, faradaic_efficiency)


def faradaic_share_of_rate(hydrogen_rate: ArrayLike, current: ArrayLike, cells: ArrayLike) -> FloatArray:
    r"""Hydrogen found over the hydrogen that the charge makes.

    .. math:: \eta_F = 2 F \dot n / (N I)

    Parameters
    ----------
    hydrogen_rate : array_like, shape (...)
        Dry hydrogen found [mol s-1].
    current : array_like, shape (...)
        Current through the stack [A].
    cells : array_like, shape (...)
        Number of cells in series [1].

    Returns
    -------
    ndarray, shape (...)
        Faradaic efficiency; above 1 the readings cannot all be true [1].

    Raises
    ------
    DomainError
        If a rate is negative, a current is not above zero or there is less than one cell.

    References
    ----------
    .. [1] codata_2018, Faraday constant.

    Examples
    --------
    >>> print(f"{faradaic_share_of_rate(5e-5, 10.0, 1):.4f}")
    0.9649
    """
    return broadcast(
        faradaic_share_of_rate_kernel,
        at_least("hydrogen_rate", "mol/s", hydrogen_rate),
        above("current", "A", current),
        at_least("cells", "1", cells, 1.0),
    )


def stored_power_share(hydrogen_rate: ArrayLike, power: ArrayLike) -> FloatArray:
    r"""Share of an electric power that the gas holds, on the higher heating value.

    .. math:: \eta = \dot n \Delta H / P

    Parameters
    ----------
    hydrogen_rate : array_like, shape (...)
        Dry hydrogen found; the water split for the same number [mol s-1].
    power : array_like, shape (...)
        Electric power, the mean of voltage times current [W].

    Returns
    -------
    ndarray, shape (...)
        Efficiency; above 1.2 at 25 degC the second law forbids it [1].

    Raises
    ------
    DomainError
        If a rate is negative or a power is not above zero.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water.

    Examples
    --------
    >>> print(f"{stored_power_share(2e-4, 100.0):.4f}")
    0.5717
    """
    found = at_least("hydrogen_rate", "mol/s", hydrogen_rate)
    return broadcast(stored_power_share_kernel, found, above("power", "W", power))


def lower_stored_power_share(hydrogen_rate: ArrayLike, power: ArrayLike) -> FloatArray:
    r"""Share of an electric power that the gas holds, on the lower heating value (water stays vapour).

    Parameters
    ----------
    hydrogen_rate : array_like, shape (...)
        Dry hydrogen found [mol s-1].
    power : array_like, shape (...)
        Electric power, the mean of voltage times current [W].

    Returns
    -------
    ndarray, shape (...)
        Efficiency [1].

    Raises
    ------
    DomainError
        If a rate is negative or a power is not above zero.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of water vapour.

    Examples
    --------
    >>> print(f"{stored_power_share(2e-4, 100.0) / lower_stored_power_share(2e-4, 100.0):.3f}")
    1.182
    """
    found = at_least("hydrogen_rate", "mol/s", hydrogen_rate)
    return broadcast(lower_stored_power_share_kernel, found, above("power", "W", power))


def reversible_voltage_share(
    cell_voltage: ArrayLike, temperature: ArrayLike = _STANDARD_TEMPERATURE
) -> FloatArray:
    r"""Least voltage that splits water over the voltage of a cell.

    .. math:: V_\mathrm{rev}(T) / V

    Parameters
    ----------
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Share of the voltage; above 1 no gas can be made [1].

    Raises
    ------
    DomainError
        If a voltage is not above zero or a temperature lies outside 273.15 to 423.15 K.

    Notes
    -----
    Gases at 1 bar each. The share on the higher heating value is
    :func:`tradespace.physics.electrolysis.efficiency_hhv`.

    References
    ----------
    .. [1] mcbride_2002, leroy_1980 (reversible voltage).

    Examples
    --------
    >>> print(f"{100 * reversible_voltage_share(30.0):.1f} %")
    4.1 %
    """
    volts, warm = above("cell_voltage", "V", cell_voltage), liquid_temperature(temperature)
    return broadcast(reversible_voltage_share_kernel, volts, warm)


def heat_balance(power: ArrayLike, hydrogen_rate: ArrayLike) -> FloatArray:
    r"""Power that does not leave in the gas: cooling and warm-up together, if the readings are true.

    .. math:: \dot Q = P - \dot n \Delta H

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power into the stack [W].
    hydrogen_rate : array_like, shape (...)
        Hydrogen made [mol s-1].

    Returns
    -------
    ndarray, shape (...)
        Heat to find in coolant, walls and warming electrolyte; negative where the stack must cool [W].

    Raises
    ------
    DomainError
        If a power or a rate is negative.

    Notes
    -----
    Liquid water in, gases out at 25 degC; vapour carried off takes its heat of vaporisation besides. At a Faradaic
    efficiency of 1 a cell above 1.481 V must warm, and one below must cool.

    References
    ----------
    .. [1] cox_1989, enthalpy of formation of liquid water; closed form: first law.

    Examples
    --------
    >>> print(f"{heat_balance(100.0, 2e-4):.2f}")
    42.83
    """
    rate = at_least("hydrogen_rate", "mol/s", hydrogen_rate)
    return broadcast(heat_balance_kernel, at_least("power", "W", power), rate)


def plate_cell_efficiency(
    current_density: ArrayLike,
    electrode_gap: ArrayLike,
    conductivity: ArrayLike,
    overpotential: ArrayLike,
    faradaic_efficiency: ArrayLike,
    temperature: ArrayLike = _STANDARD_TEMPERATURE,
) -> FloatArray:
    r"""Efficiency of plain plates in free electrolyte with a stated overpotential, on the higher heating value.

    .. math:: \eta = \frac{\eta_F \Delta H}{2 F\,(V_\mathrm{rev} + \eta_a + i\,d/\kappa)}

    Parameters
    ----------
    current_density : array_like, shape (...)
        Current per electrode area [A m-2].
    electrode_gap : array_like, shape (...)
        Electrolyte between the plates [m].
    conductivity : array_like, shape (...)
        Conductivity of the electrolyte [S m-1].
    overpotential : array_like, shape (...)
        Activation voltage of both electrodes [V].
    faradaic_efficiency : array_like, shape (...)
        Share of the current that ends in product gas [1].
    temperature : array_like, shape (...)
        Cell temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Overall efficiency of the stack [1].

    Raises
    ------
    DomainError
        If a current density, gap or overpotential is negative, a conductivity is not above zero, the Faradaic
        efficiency lies outside (0, 1], or the temperature outside 273.15 to 423.15 K.

    Notes
    -----
    A check by hand; the cells of a study come from :func:`tradespace.physics.electrolysis.cell_state`. Bubbles between
    the plates lower the conductivity further.

    References
    ----------
    .. [1] cox_1989, mcbride_2002; closed form: Ohm's law.

    Examples
    --------
    >>> print(f"{plate_cell_efficiency(3000.0, 2e-3, 1.5, 0.9, 0.93):.3f}")
    0.225
    """
    return broadcast(
        plate_cell_efficiency_kernel,
        at_least("current_density", "A/m2", current_density),
        at_least("electrode_gap", "m", electrode_gap),
        above("conductivity", "S/m", conductivity),
        at_least("overpotential", "V", overpotential),
        share("faradaic_efficiency", faradaic_efficiency),
        liquid_temperature(temperature),
    )
