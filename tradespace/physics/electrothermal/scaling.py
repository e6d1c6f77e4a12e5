"""How heated thrusters change with size and use: heat lost, thrust lost in small nozzles, hot parts worn away."""

from __future__ import annotations

import math

from tradespace.constants import series, value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share
from tradespace.physics.electrothermal.tables import (
    CHARACTERISTIC,
    SPEED,
    inside,
    steam_chamber_kernel,
    steam_nozzle_kernel,
)
from tradespace.physics.nozzle.viscosity import (
    COEFFICIENTS,
    burned_gas_viscosity_kernel,
    fitted_viscosity_kernel,
    throat_reynolds_number_kernel,
)
from tradespace.physics.nozzle.viscous import viscous_loss_kernel, viscous_share_kernel

TABLE = "electrothermal_values.csv"
_COOL = series("viscosity_cool_water", COEFFICIENTS)
_WARM = value("lowest_viscosity_temperature", "nozzle_values.csv")
_THROAT = value("steam_throat_temperature_ratio", TABLE)
_WHOLE = value("molar_mass_oxygen") / (2.0 * value("molar_mass_hydrogen"))
_TABLE_PRESSURE = value("standard_pressure")
_STEFAN_BOLTZMANN = value("stefan_boltzmann")
_MOST = 100.0  # exponent that stands for any larger one


@kernel
def sized_efficiency_kernel(
    efficiency: float, size_ratio: float, loss_ratio: float, size_exponent: float
) -> float:
    """Efficiency of a heater of another size [1], from that of a known one."""
    known = min(max(efficiency, 1e-9), 1.0)
    lost = (1.0 / known - 1.0) * max(loss_ratio, 0.0)
    return float(1.0 / (1.0 + lost * max(size_ratio, 1e-12) ** -min(max(size_exponent, 0.0), 4.0)))


@kernel
def wear_life_kernel(
    temperature: float, known_temperature: float, known_life: float, activation_temperature: float
) -> float:
    """Life of a hot part [s] at one temperature, from that at another."""
    rise = activation_temperature * (1.0 / max(temperature, 1.0) - 1.0 / max(known_temperature, 1.0))
    return known_life * math.exp(min(max(rise, -_MOST), _MOST))


@kernel
def steam_viscosity_kernel(temperature: float) -> float:
    """Viscosity of water vapour [Pa s]."""
    if temperature >= _WARM:
        return burned_gas_viscosity_kernel(_WHOLE, temperature)
    return fitted_viscosity_kernel(max(temperature, _MOST), _COOL[0], _COOL[1], _COOL[2], _COOL[3])


@kernel
def steam_viscous_share_kernel(
    thrust: float, temperature: float, pressure: float, expansion_ratio: float
) -> float:
    """Thrust kept in a small steam nozzle over the ideal one [1], the throat as wide as the thrust asks."""
    speed = steam_nozzle_kernel(temperature, pressure, expansion_ratio, SPEED + 1.0)
    coefficient = speed / steam_chamber_kernel(temperature, pressure, CHARACTERISTIC + 1.0)
    push = max(thrust, 1e-12)
    throat = math.sqrt(4.0 * push / (math.pi * coefficient * max(pressure, 1e-3)))
    viscosity = steam_viscosity_kernel(_THROAT * temperature)
    reynolds = throat_reynolds_number_kernel(push / speed, throat, viscosity)
    return viscous_share_kernel(viscous_loss_kernel(expansion_ratio, reynolds, 1.0) / coefficient)


@kernel
def stagnation_temperature_kernel(
    sunlight: float, concentration: float, optical_efficiency: float, emissivity: float
) -> float:
    """Temperature at which a receiver radiates all it takes in [K]."""
    taken = max(sunlight, 0.0) * max(concentration, 0.0) * max(optical_efficiency, 0.0)
    return float((taken / (max(emissivity, 1e-6) * _STEFAN_BOLTZMANN)) ** 0.25)


def sized_efficiency(
    efficiency: ArrayLike,
    size_ratio: ArrayLike,
    loss_ratio: ArrayLike = 1.0,
    size_exponent: ArrayLike = 1 / 3,
) -> FloatArray:
    r"""Efficiency of a heater built larger or smaller, or run hotter, than one that is known.

    The heat lost grows with the surface, the heat made useful with the volume that carries the flow:

    .. math:: \frac{1}{\eta} - 1 = \left(\frac{1}{\eta_0} - 1\right) \ell \left(\frac{P}{P_0}\right)^{-s}

    Parameters
    ----------
    efficiency : array_like, shape (...)
        Heat into the flow over power of the known heater [1].
    size_ratio : array_like, shape (...)
        Power of the other heater over that of the known one [1].
    loss_ratio : array_like, shape (...)
        Heat lost per surface over that of the known one, such as the ratio of the excess temperatures [1].
    size_exponent : array_like, shape (...)
        Exponent of the size; a third for bodies of one shape, 0 for a stack of equal ones [1].

    Returns
    -------
    ndarray, shape (...)
        Heat into the flow over power of the other heater [1].

    Raises
    ------
    DomainError
        If an efficiency lies outside (0, 1], a size ratio is not positive or another argument negative.

    References
    ----------
    .. [1] closed form: surface over volume of bodies of one shape.

    Examples
    --------
    >>> print([f"{sized_efficiency(0.6, size):.2f}" for size in (0.1, 1.0, 10.0)])
    ['0.41', '0.60', '0.76']
    """
    return broadcast(
        sized_efficiency_kernel,
        share("efficiency", efficiency),
        above("size_ratio", "1", size_ratio),
        at_least("loss_ratio", "1", loss_ratio),
        at_least("size_exponent", "1", size_exponent),
    )


def wear_life(
    temperature: ArrayLike, known_temperature: ArrayLike, known_life: ArrayLike, activation_temperature: ArrayLike
) -> FloatArray:  # fmt: skip
    r"""Life of a part that evaporates or oxidises away, at one temperature from that at another.

    .. math:: L = L_0 \exp\!\left[T_a\left(\frac{1}{T} - \frac{1}{T_0}\right)\right]

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the part [K].
    known_temperature : array_like, shape (...)
        Temperature at which its life is known [K].
    known_life : array_like, shape (...)
        Life there [s].
    activation_temperature : array_like, shape (...)
        Heat of the wearing process over the gas constant [K].

    Returns
    -------
    ndarray, shape (...)
        Life [s].

    Raises
    ------
    DomainError
        If a temperature or life is not positive, or the activation temperature is negative.

    Notes
    -----
    One process at a constant pressure of the gas; thermal cycling and creep are left out.

    References
    ----------
    .. [1] closed form: Arrhenius' law for a constant rate of loss.

    Examples
    --------
    >>> print(f"{wear_life(1150.0, 1050.0, 3.6e7, 2e4) / 3600:.0f}")  # hours
    1908
    """
    return broadcast(
        wear_life_kernel,
        above("temperature", "K", temperature),
        above("known_temperature", "K", known_temperature),
        above("known_life", "s", known_life),
        at_least("activation_temperature", "K", activation_temperature),
    )


def steam_viscosity(temperature: ArrayLike) -> FloatArray:
    """Viscosity of water vapour at low pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature; 5000 K and more give the value at 5000 K [K].

    Returns
    -------
    ndarray, shape (...)
        Viscosity [Pa s].

    Raises
    ------
    DomainError
        If a temperature is not positive.

    Notes
    -----
    Fitted from 373 K; colder, down to 250 K, within some 3 % of the vapour's measured viscosity.

    References
    ----------
    .. [1] svehla_1995.

    Examples
    --------
    >>> print([f"{1e6 * steam_viscosity(t):.1f}" for t in (300.0, 1000.0, 1100.0)])
    ['9.9', '37.6', '41.4']
    """
    return broadcast(steam_viscosity_kernel, above("temperature", "K", temperature))


def steam_viscous_share(
    thrust: ArrayLike, temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike
) -> FloatArray:
    r"""Thrust a small steam nozzle keeps when the boundary layer on its wall has taken its part.

    The throat is as wide as the thrust asks at the pressure; its Reynolds number sets the loss.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one nozzle [N].
    temperature : array_like, shape (...)
        Steam temperature before the nozzle [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure; below the table (0.1 bar) the ideal speed is that at its end [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].

    Returns
    -------
    ndarray, shape (...)
        Delivered over ideal thrust coefficient [1].

    Raises
    ------
    DomainError
        If a thrust or pressure is not positive, or a temperature or area ratio lies outside the table (300 to
        4000 K, 5 to 200).

    Notes
    -----
    Within 30 % of the loss; wall as warm as the gas in the throat. Friction in the nozzle alone.

    References
    ----------
    .. [1] spisz_1965, on the viscosity of svehla_1995.

    Examples
    --------
    >>> cold = steam_viscous_share(0.004, 300.0, 2000.0, 10.0)  # 4 mN of vapour at 20 mbar
    >>> print(f"{cold:.2f}")
    0.58
    """
    push, held = above("thrust", "N", thrust), above("chamber_pressure", "Pa", chamber_pressure)
    hot, _, wide = inside(temperature, _TABLE_PRESSURE, expansion_ratio)
    return broadcast(steam_viscous_share_kernel, push, hot, held, wide)


def stagnation_temperature(
    sunlight: ArrayLike, concentration: ArrayLike, optical_efficiency: ArrayLike = 1.0, emissivity: ArrayLike = 1.0
) -> FloatArray:  # fmt: skip
    r"""Temperature at which a receiver of concentrated sunlight radiates away all that it takes in.

    .. math:: T = \left(\frac{\eta_o\,C\,S}{\varepsilon\,\sigma}\right)^{1/4}

    Parameters
    ----------
    sunlight : array_like, shape (...)
        Sunlight on the mirror [W m-2].
    concentration : array_like, shape (...)
        Mirror area over aperture area [1].
    optical_efficiency : array_like, shape (...)
        Share of the sunlight on the mirror that is absorbed in the receiver [1].
    emissivity : array_like, shape (...)
        Infrared emissivity of the aperture [1].

    Returns
    -------
    ndarray, shape (...)
        Temperature that the receiver cannot pass [K].

    Raises
    ------
    DomainError
        If sunlight or concentration is not positive, or a share lies outside (0, 1].

    References
    ----------
    .. [1] steinfeld_2005, absorption efficiency of a cavity set to 0.

    Examples
    --------
    >>> print([f"{stagnation_temperature(s, 5000.0, 0.73):.0f}" for s in (1361.0, 177.0)])
    ['3059', '1837']
    """
    return broadcast(
        stagnation_temperature_kernel,
        above("sunlight", "W/m2", sunlight),
        above("concentration", "1", concentration),
        share("optical_efficiency", optical_efficiency),
        share("emissivity", emissivity),
    )
