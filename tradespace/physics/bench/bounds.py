"""Bounds on the thrust of burned or unlit hydrogen and oxygen: from the energy of the gas, or of the power.

No nozzle, however long, beats them, in vacuum or on the ground: each says only that the jet cannot carry more energy
than the gas brought along. Hydrogen with oxygen burns and detonates; these numbers judge readings that have been taken.
"""

from __future__ import annotations

import math

from tradespace.constants import value
from tradespace.physics.combustion_table import WHOLE
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, within
from tradespace.physics.electrolysis.rates import water_rate_of_power_kernel
from tradespace.physics.nozzle.ideal import held_gamma_kernel

BENCH = "bench_physics_values.csv"
_HYDROGEN_MASS = value("molar_mass_hydrogen")
_OXYGEN_MASS = value("molar_mass_oxygen")
_WATER_MASS = value("molar_mass_water")
_GAS_CONSTANT = value("gas_constant")
STANDARD_TEMPERATURE = value("standard_temperature")
_LOWER = value("lower_heating_value_water", "nozzle_values.csv")
_HIGHER = value("reaction_enthalpy_water") / _WATER_MASS
_VAPOUR_HEAT = value("water_vapour_heat_content", BENCH) / _WATER_MASS
_HYDROGEN_HEAT = value("hydrogen_heat_content", BENCH) / _HYDROGEN_MASS
_OXYGEN_HEAT = value("oxygen_heat_content", BENCH) / _OXYGEN_MASS
UNLIT_GAMMA = value("unlit_heat_capacity_ratio", BENCH)
_MOLAR_HEAT = UNLIT_GAMMA / (UNLIT_GAMMA - 1.0) * _GAS_CONSTANT
_LEAST_GAMMA = value("least_heat_capacity_ratio", "nozzle_values.csv")
_LARGEST_GAMMA = value("largest_heat_capacity_ratio", "nozzle_values.csv")
_HIGHEST_EFFICIENCY = value("highest_split_efficiency", "physics_values.csv")


@kernel
def unlit_gas_constant_kernel(mixture_ratio: float) -> float:
    """Gas constant over the mean molar mass of unburned hydrogen and oxygen [J kg-1 K-1]."""
    ratio = max(mixture_ratio, 0.0)
    return _GAS_CONSTANT * (1.0 / _HYDROGEN_MASS + ratio / _OXYGEN_MASS) / (1.0 + ratio)


@kernel
def released_heat_kernel(mixture_ratio: float, feed_temperature: float, per_water: float) -> float:
    """Heat of a mass of gases whose products cool to the end that ``per_water`` stands for [J kg-1]."""
    ratio = max(mixture_ratio, 0.0)
    water = water_formed_kernel(ratio)
    hydrogen = max(1.0 - ratio / WHOLE, 0.0) / (1.0 + ratio)
    oxygen = max(ratio - WHOLE, 0.0) / (1.0 + ratio)
    warm = (
        _MOLAR_HEAT
        / _GAS_CONSTANT
        * unlit_gas_constant_kernel(ratio)
        * (feed_temperature - STANDARD_TEMPERATURE)
    )
    return max(water * per_water + hydrogen * _HYDROGEN_HEAT + oxygen * _OXYGEN_HEAT + warm, 0.0)


@kernel
def water_formed_kernel(mixture_ratio: float) -> float:
    """Mass of water that burns out of a mass of gases [1]."""
    ratio = max(mixture_ratio, 0.0)
    return min(ratio / WHOLE, 1.0) * (1.0 + WHOLE) / (1.0 + ratio)


@kernel
def jet_speed_bound_kernel(mixture_ratio: float, feed_temperature: float) -> float:
    """Speed of a jet that holds all heat of burning and all warmth down to 0 K, as vapour [m s-1]."""
    return math.sqrt(2.0 * released_heat_kernel(mixture_ratio, feed_temperature, _LOWER + _VAPOUR_HEAT))


@kernel
def condensing_jet_speed_bound_kernel(mixture_ratio: float, feed_temperature: float) -> float:
    """Speed of a jet whose water also gives up its heat of condensation [m s-1]."""
    return math.sqrt(2.0 * released_heat_kernel(mixture_ratio, feed_temperature, _HIGHER))


@kernel
def unlit_jet_speed_bound_kernel(feed_temperature: float, mixture_ratio: float, gamma: float) -> float:
    """Speed of a jet of unburned gas that holds all its heat [m s-1]."""
    held = held_gamma_kernel(gamma)
    specific = unlit_gas_constant_kernel(mixture_ratio) * max(feed_temperature, 0.0)
    return math.sqrt(2.0 * held / (held - 1.0) * specific)


@kernel
def flow_thrust_bound_kernel(mass_flow: float, mixture_ratio: float, feed_temperature: float) -> float:
    """Thrust that a flow of gases cannot exceed [N]."""
    return mass_flow * jet_speed_bound_kernel(mixture_ratio, feed_temperature)


@kernel
def power_thrust_bound_kernel(power: float, efficiency: float) -> float:
    """Steady thrust that an electric power cannot exceed [N]."""
    return flow_thrust_bound_kernel(
        water_rate_of_power_kernel(power, efficiency), WHOLE, STANDARD_TEMPERATURE
    )


@kernel
def energy_thrust_bound_kernel(mass_flow: float, power: float, efficiency: float) -> float:
    """Thrust of a jet that holds all the energy stored in the gas [N]."""
    return math.sqrt(2.0 * max(mass_flow, 0.0) * max(efficiency, 0.0) * max(power, 0.0))


def _gases(mixture_ratio: ArrayLike, feed_temperature: ArrayLike) -> tuple[FloatArray, FloatArray]:
    return above("mixture_ratio", "1", mixture_ratio), above("feed_temperature", "K", feed_temperature)


def jet_speed_bound(
    mixture_ratio: ArrayLike = WHOLE, feed_temperature: ArrayLike = STANDARD_TEMPERATURE
) -> FloatArray:
    r"""Speed no jet of burned hydrogen and oxygen exceeds while its water stays vapour.

    .. math:: v = \sqrt{2\,(\Delta h_\mathrm{LHV} + h_{298} - h_0)}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter [K].

    Returns
    -------
    ndarray, shape (...)
        Jet speed [m s-1].

    Raises
    ------
    DomainError
        If an argument is not above zero.

    Notes
    -----
    All heat of burning and all sensible heat of the products (steam and the gas left over) down to 0 K become motion.
    Thrust over mass flow above it has another cause: liquid carried over, an under-read flow, a balance at fault.

    References
    ----------
    .. [1] cox_1989 (enthalpies of formation, heat between 0 K and 25 degC); closed form: energy balance.

    Examples
    --------
    >>> print(f"{jet_speed_bound(7.936):.0f}")
    5286
    """
    return broadcast(jet_speed_bound_kernel, *_gases(mixture_ratio, feed_temperature))


def condensing_jet_speed_bound(
    mixture_ratio: ArrayLike = WHOLE, feed_temperature: ArrayLike = STANDARD_TEMPERATURE
) -> FloatArray:
    r"""Speed no jet exceeds even if its water gives up the heat of condensation.

    .. math:: v = \sqrt{2\,\Delta h_\mathrm{HHV}}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter [K].

    Returns
    -------
    ndarray, shape (...)
        Jet speed [m s-1].

    Raises
    ------
    DomainError
        If an argument is not above zero.

    Notes
    -----
    The water ends as liquid at 25 degC. A nozzle does not condense its jet in the time there is; this is the first law
    alone.

    References
    ----------
    .. [1] cox_1989 (enthalpy of formation of liquid water); closed form: energy balance.

    Examples
    --------
    >>> print(f"{condensing_jet_speed_bound(7.936):.0f}")
    5633
    """
    return broadcast(condensing_jet_speed_bound_kernel, *_gases(mixture_ratio, feed_temperature))


def unlit_jet_speed_bound(
    feed_temperature: ArrayLike, mixture_ratio: ArrayLike = WHOLE, gamma: ArrayLike = UNLIT_GAMMA
) -> FloatArray:
    r"""Speed no jet of unburned hydrogen and oxygen exceeds.

    .. math:: v = \sqrt{2 c_p T} = \sqrt{\frac{2\gamma}{\gamma-1}\,\frac{R T}{M}}

    Parameters
    ----------
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter [K].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Jet speed [m s-1].

    Raises
    ------
    DomainError
        If a temperature or mixture ratio is not above zero, or a heat capacity ratio lies outside 1.01 to 2.

    References
    ----------
    .. [1] closed form: energy balance of an ideal gas (naca_1135).

    Examples
    --------
    >>> print(f"{unlit_jet_speed_bound(293.0):.0f}")
    1192
    """
    ratio, warm = _gases(mixture_ratio, feed_temperature)
    return broadcast(unlit_jet_speed_bound_kernel, warm, ratio, held_gamma(gamma))


def flow_thrust_bound(
    mass_flow: ArrayLike,
    mixture_ratio: ArrayLike = WHOLE,
    feed_temperature: ArrayLike = STANDARD_TEMPERATURE,
) -> FloatArray:
    r"""Thrust that a flow of hydrogen and oxygen cannot exceed: mass flow times :func:`jet_speed_bound`.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass of gas through the engine [kg s-1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter [K].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If a mass flow is negative, or another argument is not above zero.

    References
    ----------
    .. [1] cox_1989; closed form: momentum of the fastest jet.

    Examples
    --------
    >>> print(f"{1e3 * flow_thrust_bound(4.4e-6):.1f}")  # mN
    23.3
    """
    flow = at_least("mass_flow", "kg/s", mass_flow)
    return broadcast(flow_thrust_bound_kernel, flow, *_gases(mixture_ratio, feed_temperature))


def power_thrust_bound(power: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    r"""Steady thrust that an electric power cannot exceed when all gas is made of whole water as it is burned.

    .. math:: F = \eta P\,v / \Delta h_\mathrm{HHV}

    Parameters
    ----------
    power : array_like, shape (...)
        Electric power into the stack [W].
    efficiency : array_like, shape (...)
        Share of that power stored in the products, on the higher heating value [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If a power is negative, or an efficiency is not above 0 or is above 1.32.

    Notes
    -----
    Gas from a store may exceed it for a while: :func:`burst_thrust_bound`.

    References
    ----------
    .. [1] cox_1989; closed form: water split per energy times the fastest jet.

    Examples
    --------
    >>> print(f"{1e3 * power_thrust_bound(1.0, 1.0):.3f}")  # mN per watt
    0.333
    """
    return broadcast(power_thrust_bound_kernel, at_least("power", "W", power), _efficient(efficiency))


def _efficient(efficiency: ArrayLike) -> FloatArray:
    return within("efficiency", "1", efficiency, 0.0, _HIGHEST_EFFICIENCY, open_low=True)


def held_gamma(gamma: ArrayLike) -> FloatArray:
    """A heat capacity ratio itself, when it lies in the range of the nozzle formulas.

    Parameters
    ----------
    gamma : array_like, shape (...)
        Heat capacity ratio [1].

    Returns
    -------
    ndarray, shape (...)
        The same [1].

    Raises
    ------
    DomainError
        If it lies outside 1.01 to 2.

    References
    ----------
    .. [1] closed form: range of the formulas of naca_1135 as they are used here.

    Examples
    --------
    >>> float(held_gamma(1.4))
    1.4
    """
    return within("gamma", "1", gamma, _LEAST_GAMMA, _LARGEST_GAMMA, "it is the heat capacity ratio")


def energy_thrust_bound(mass_flow: ArrayLike, power: ArrayLike, efficiency: ArrayLike) -> FloatArray:
    r"""Thrust of a jet that holds all the energy which the electrolyser stored in its gas.

    .. math:: F = \sqrt{2 \dot m \eta P}

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    power : array_like, shape (...)
        Electric power into the stack [W].
    efficiency : array_like, shape (...)
        Share of that power stored in the products, on the higher heating value [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust [N].

    Raises
    ------
    DomainError
        If mass flow or power is negative, or an efficiency is not above 0 or is above 1.32.

    Notes
    -----
    Holds for any mass, also for liquid carried over; warmth the gases bring from elsewhere is left out.

    References
    ----------
    .. [1] closed form: kinetic energy of the jet at most the energy stored.

    Examples
    --------
    >>> print(f"{energy_thrust_bound(1.4988e-4, 5800.0, 0.41):.3f}")
    0.844
    """
    return broadcast(
        energy_thrust_bound_kernel,
        at_least("mass_flow", "kg/s", mass_flow),
        at_least("power", "W", power),
        _efficient(efficiency),
    )
