"""Keeping warm: heaters of an insulated box, and how long water stays liquid without them."""

from __future__ import annotations

from tradespace.constants import value
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least, floats, require_each, share, within
from tradespace.physics.sunlight.flux import solar_flux_kernel

_VALUES = "physics_values.csv"
_STEFAN_BOLTZMANN = value("stefan_boltzmann")
_FREEZING = value("water_triple_temperature", _VALUES)
_FUSION = value("water_fusion_heat", _VALUES)
_LIQUID_HEAT = value("water_liquid_heat_capacity", _VALUES)
_TINY = 1e-12


@kernel
def heater_power_kernel(
    area: float,
    hold_temperature: float,
    effective_emissivity: float,
    absorptivity: float,
    emissivity: float,
    distance: float,
    sunlit_share: float,
    infrared_flux: float,
    internal_power: float,
) -> float:
    """Heater power that holds an insulated box at a temperature [W]; zero where it needs none."""
    lit = solar_flux_kernel(distance) * 0.25 * sunlit_share
    outside = lit * absorptivity / max(emissivity, 1e-9) + infrared_flux
    loss = area * effective_emissivity * max(_STEFAN_BOLTZMANN * hold_temperature**4 - outside, 0.0)
    return max(loss - internal_power, 0.0)


@kernel
def cooling_time_kernel(
    mass: float, area: float, effective_emissivity: float, start_temperature: float
) -> float:
    """Time in which liquid water cools from a temperature to its freezing point facing cold space [s]."""
    warm = max(start_temperature, _FREEZING)
    conductance = max(3.0 * area * effective_emissivity * _STEFAN_BOLTZMANN, _TINY * _TINY)
    return mass * _LIQUID_HEAT / conductance * (1.0 / _FREEZING**3 - 1.0 / warm**3)


@kernel
def freezing_time_kernel(mass: float, area: float, effective_emissivity: float) -> float:
    """Time in which water at its freezing point turns to ice facing cold space [s]."""
    loss = max(area * effective_emissivity * _STEFAN_BOLTZMANN * _FREEZING**4, _TINY)
    return mass * _FUSION / loss


def heater_power(
    area: ArrayLike,
    hold_temperature: ArrayLike,
    effective_emissivity: ArrayLike,
    absorptivity: ArrayLike,
    emissivity: ArrayLike,
    distance: ArrayLike,
    sunlit_share: ArrayLike,
    infrared_flux: ArrayLike,
    internal_power: ArrayLike,
) -> FloatArray:
    r"""Heater power that holds an insulated box at a temperature, growing with distance from the Sun.

    .. math:: P = \max\left[0,\; A \varepsilon^* \left(\sigma T^4 - \frac{\alpha}{\varepsilon} \frac{f S(r)}{4}
        - q\right)_{\ge 0} - P_i\right]

    Parameters
    ----------
    area : array_like, shape (...)
        Outer area of the box [m2].
    hold_temperature : array_like, shape (...)
        Temperature to hold inside [K].
    effective_emissivity : array_like, shape (...)
        Effective emissivity from inside through the insulation to space [1].
    absorptivity : array_like, shape (...)
        Share of sunlight the outermost layer absorbs [1].
    emissivity : array_like, shape (...)
        Infrared emissivity of the outermost layer [1].
    distance : array_like, shape (...)
        Distance from the Sun [m].
    sunlit_share : array_like, shape (...)
        Share of the time in sunlight, 0 for the load in the dark [1].
    infrared_flux : array_like, shape (...)
        Infrared light from ground or planet, averaged over the box [W m-2].
    internal_power : array_like, shape (...)
        Heat given off inside by what runs anyway [W].

    Returns
    -------
    ndarray, shape (...)
        Heater power, zero where the box stays warm by itself [W].

    Raises
    ------
    DomainError
        If area, temperature, distance or emissivity is not above zero, a flux or power is negative, or a share
        lies outside its range.

    Notes
    -----
    Sunlight warms the outermost layer and so narrows the gap the insulation has to hold; it does not pass
    through. With the effective emissivity equal to that of the surface the box is bare and the balance is
    emission less absorbed sunlight. A quarter of the sunlight is the mean over the attitudes of a convex box.
    Conduction along struts and wires belongs in the effective emissivity.

    References
    ----------
    .. [1] gilmore_2002, effective emittance of multilayer insulation (chapter 5).

    Examples
    --------
    >>> au = 149597870700
    >>> print(f"{heater_power(1.0, 278.0, 0.02, 0.4, 0.78, 2.77 * au, 0.0, 0.0, 0.0):.2f}")
    6.77
    """
    above("area", "m2", area)
    above("hold temperature", "K", hold_temperature)
    share("effective emissivity", effective_emissivity)
    within("absorptivity", "1", absorptivity, 0.0, 1.0)
    share("emissivity", emissivity)
    above("distance", "m", distance)
    within("sunlit share", "1", sunlit_share, 0.0, 1.0)
    at_least("infrared flux", "W/m2", infrared_flux)
    at_least("internal power", "W", internal_power)
    return broadcast(
        heater_power_kernel,
        area, hold_temperature, effective_emissivity, absorptivity, emissivity, distance, sunlit_share,
        infrared_flux, internal_power,
    )  # fmt: skip


def cooling_time(
    mass: ArrayLike, area: ArrayLike, effective_emissivity: ArrayLike, start_temperature: ArrayLike
) -> FloatArray:
    r"""Time in which an unheated water tank cools to the freezing point, facing cold dark space.

    .. math:: t = \frac{m c}{3 A \varepsilon^* \sigma} \left(\frac{1}{T_f^3} - \frac{1}{T_0^3}\right)

    Parameters
    ----------
    mass : array_like, shape (...)
        Water in the tank [kg].
    area : array_like, shape (...)
        Outer area of the tank [m2].
    effective_emissivity : array_like, shape (...)
        Effective emissivity through the insulation [1].
    start_temperature : array_like, shape (...)
        Temperature at the start [K].

    Returns
    -------
    ndarray, shape (...)
        Time until ice begins to form [s].

    Raises
    ------
    DomainError
        If mass or area is not above zero, the emissivity lies outside (0, 1], or the start is below freezing.

    Notes
    -----
    The tank itself adds heat capacity that is left out, so the time is on the short, safe side. Water grows
    as it freezes and can burst tanks and lines; qualified design decides, not this estimate.

    References
    ----------
    .. [1] closed form: radiation from a body of one temperature; wagner_2002, heat capacity of water.

    Examples
    --------
    >>> print(f"{cooling_time(100.0, 2.0, 0.02, 278.15) / 86400:.2f}")  # days
    1.85
    """
    above("mass", "kg", mass)
    above("area", "m2", area)
    share("effective emissivity", effective_emissivity)
    start = above("start temperature", "K", start_temperature)
    require_each(
        floats(start) >= _FREEZING, "start temperature", "K", start, f"is below freezing, {_FREEZING:g} K"
    )
    return broadcast(cooling_time_kernel, mass, area, effective_emissivity, start)


def freezing_time(mass: ArrayLike, area: ArrayLike, effective_emissivity: ArrayLike) -> FloatArray:
    r"""Time in which water at its freezing point turns wholly to ice, facing cold dark space.

    .. math:: t = m L / (A \varepsilon^* \sigma T_f^4)

    Parameters
    ----------
    mass : array_like, shape (...)
        Water in the tank [kg].
    area : array_like, shape (...)
        Outer area of the tank [m2].
    effective_emissivity : array_like, shape (...)
        Effective emissivity through the insulation [1].

    Returns
    -------
    ndarray, shape (...)
        Time until the last water freezes [s].

    Raises
    ------
    DomainError
        If mass or area is not above zero, or the emissivity lies outside (0, 1].

    References
    ----------
    .. [1] feistel_2006, heat of fusion, with an energy balance.

    Examples
    --------
    >>> print(f"{freezing_time(100.0, 2.0, 0.02) / 86400:.1f}")  # days
    30.6
    """
    above("mass", "kg", mass)
    above("area", "m2", area)
    share("effective emissivity", effective_emissivity)
    return broadcast(freezing_time_kernel, mass, area, effective_emissivity)
