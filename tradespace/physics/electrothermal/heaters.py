"""What it takes to heat the steam: an electric heater, or concentrated sunlight falling into a receiver."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, share
from tradespace.physics.electrothermal.tables import (
    SPEED,
    inside,
    kind_column,
    steam_energy_kernel,
    steam_nozzle_kernel,
)

_STEFAN_BOLTZMANN = value("stefan_boltzmann")


@kernel
def receiver_efficiency_kernel(
    temperature: float, sunlight: float, concentration: float, optical_efficiency: float, absorptivity: float,
    emissivity: float,
) -> float:  # fmt: skip
    """Heat kept over sunlight on the mirror [1]; none when the receiver radiates more than it takes in."""
    lost = emissivity * _STEFAN_BOLTZMANN * temperature**4 / max(sunlight * concentration, 1e-30)
    return min(max(optical_efficiency * absorptivity - lost, 0.0), 1.0)


@kernel
def steam_power_per_thrust_kernel(
    temperature: float, pressure: float, expansion_ratio: float, heater_efficiency: float,
    performance_factor: float, column: float,
) -> float:  # fmt: skip
    """Power per thrust of heated steam [W N-1]."""
    speed = performance_factor * steam_nozzle_kernel(temperature, pressure, expansion_ratio, column)
    return steam_energy_kernel(temperature, pressure) / (heater_efficiency * speed)


def receiver_efficiency(
    temperature: ArrayLike,
    sunlight: ArrayLike,
    concentration: ArrayLike,
    optical_efficiency: ArrayLike = 1.0,
    absorptivity: ArrayLike = 1.0,
    emissivity: ArrayLike = 1.0,
) -> FloatArray:
    r"""Heat a receiver keeps over the sunlight that falls on its mirror.

    .. math:: \eta = \eta_o \alpha - \frac{\varepsilon \sigma T^4}{C S}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the receiver [K].
    sunlight : array_like, shape (...)
        Sunlight on the mirror [W m-2].
    concentration : array_like, shape (...)
        Mirror area over aperture area [1].
    optical_efficiency : array_like, shape (...)
        Share of the sunlight on the mirror that enters the aperture [1].
    absorptivity : array_like, shape (...)
        Share of the light in the aperture that is absorbed [1].
    emissivity : array_like, shape (...)
        Infrared emissivity of the aperture [1].

    Returns
    -------
    ndarray, shape (...)
        Receiver efficiency; 0 when it would radiate more than it takes in [1].

    Raises
    ------
    DomainError
        If a temperature, sunlight or concentration is not positive, or a share lies outside (0, 1].

    Notes
    -----
    Radiation through the aperture alone; conduction and the surroundings' own radiation are left out.

    References
    ----------
    .. [1] steinfeld_2005, absorption efficiency of a cavity.

    Examples
    --------
    >>> print(f"{receiver_efficiency(2000.0, 1361.0, 2000.0, 0.9):.3f}")
    0.567
    """
    return broadcast(
        receiver_efficiency_kernel,
        above("temperature", "K", temperature),
        above("sunlight", "W/m2", sunlight),
        above("concentration", "1", concentration),
        share("optical_efficiency", optical_efficiency),
        share("absorptivity", absorptivity),
        share("emissivity", emissivity),
    )


def steam_power_per_thrust(
    temperature: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    heater_efficiency: ArrayLike = 1.0,
    performance_factor: ArrayLike = 1.0,
    kind: str = "frozen",
) -> FloatArray:
    r"""Power into a steam heater per thrust.

    .. math:: P/F = \frac{h(T, p)}{\eta_h\,k\,v_e}

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    heater_efficiency : array_like, shape (...)
        Heat into the steam over power into the heater or receiver [1].
    performance_factor : array_like, shape (...)
        Delivered over ideal exhaust velocity [1].
    kind : str
        Expansion ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Power per thrust [W N-1].

    Raises
    ------
    DomainError
        If a state lies outside the table (300 to 4000 K, 0.1 to 20 bar, area ratio 5 to 200) or a share
        outside (0, 1].

    References
    ----------
    .. [1] closed form: energy per mass over exhaust velocity, on the values of goodwin_2024.

    Examples
    --------
    >>> print(f"{1e-3 * steam_power_per_thrust(1100.0, 1e6, 100.0):.2f}")  # W/mN
    2.07
    """
    places = inside(temperature, chamber_pressure, expansion_ratio)
    return broadcast(
        steam_power_per_thrust_kernel,
        *places,
        share("heater_efficiency", heater_efficiency),
        share("performance_factor", performance_factor),
        kind_column(kind, SPEED),
    )


def heater_power(mass_flow: ArrayLike, energy: ArrayLike, heater_efficiency: ArrayLike) -> FloatArray:
    r"""Power into a heater that gives a flow its heat.

    .. math:: P = \dot m h / \eta_h

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass flow [kg s-1].
    energy : array_like, shape (...)
        Heat per mass, such as :func:`steam_energy` gives [J kg-1].
    heater_efficiency : array_like, shape (...)
        Heat into the flow over power into the heater [1].

    Returns
    -------
    ndarray, shape (...)
        Power [W].

    Raises
    ------
    DomainError
        If a flow or energy is negative, or an efficiency lies outside (0, 1].

    References
    ----------
    .. [1] closed form: energy balance of a heater.

    Examples
    --------
    >>> print(f"{heater_power(1e-5, 4.1e6, 0.6):.1f}")
    68.3
    """
    flow = at_least("mass_flow", "kg/s", mass_flow)
    heat = at_least("energy", "J/kg", energy)
    return flow * heat / share("heater_efficiency", heater_efficiency)
