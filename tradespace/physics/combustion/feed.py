"""What the gases bring to the chamber besides themselves: water vapour, and heat that is missing."""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.combustion.chamber import (
    chamber_temperature,
    characteristic_velocity,
    molar_mass,
)
from tradespace.physics.combustion.expansion import specific_impulse_vacuum
from tradespace.physics.combustion_table import (
    WHOLE,
    check,
    check_feed,
    enthalpy_deficit_kernel,
    feed_mixture_ratio_kernel,
)
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, floats, require_each
from tradespace.physics.water import saturation_pressure, saturation_pressure_kernel

_HYDROGEN = value("molar_mass_hydrogen")
_OXYGEN = value("molar_mass_oxygen")
_WATER = value("molar_mass_water")
_INPUTS = "combustion_inputs.csv"
_LIQUID_HYDROGEN = value("liquid_hydrogen_enthalpy", _INPUTS)
_LIQUID_OXYGEN = value("liquid_oxygen_enthalpy", _INPUTS)
_HEATING_VALUE = value("lower_heating_value_water", "nozzle_values.csv")


@kernel
def saturated_humidity_kernel(temperature: float, pressure: float, mixture_ratio: float) -> float:
    """Mass of vapour per mass of gases saturated with it; 1 where water would boil [1]."""
    part = min(saturation_pressure_kernel(max(temperature, 1.0)) / max(pressure, 1e-300), 1.0)
    ratio = max(mixture_ratio, 0.0)
    dry = (1.0 + ratio) / (1.0 / _HYDROGEN + ratio / _OXYGEN)
    return part * _WATER / (part * _WATER + (1.0 - part) * dry)


def _dry_enough(name: str, pressure: FloatArray, vapour_pressure: FloatArray) -> None:
    totals, parts = np.broadcast_arrays(pressure, vapour_pressure)
    dry = parts < totals
    if not dry.all():
        limit = f"must be above the vapour pressure of {parts[~dry].flat[0]:.6g} Pa: the water would boil"
        require_each(dry, name, "Pa", totals, limit)


def saturated_humidity(temperature: ArrayLike, pressure: ArrayLike, mixture_ratio: ArrayLike) -> FloatArray:
    r"""Mass of water vapour per mass of feed when both gases leave an electrolyser saturated.

    .. math:: x = \frac{y M_w}{y M_w + (1-y) M_d}, \qquad y = p_s(T) / p

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature at which the gases were last in touch with liquid water [K].
    pressure : array_like, shape (...)
        Their pressure there [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].

    Returns
    -------
    ndarray, shape (...)
        Mass of vapour per mass of gas and vapour [1].

    Raises
    ------
    DomainError
        If water would boil, the temperature lies outside the saturation line, or the ratio is not positive.

    Notes
    -----
    Ideal mixture of ideal gases over pure water; caustic electrolyte has a lower vapour pressure. At 10 bar and
    more the vapour is below 3 %, at 1 bar it is 10 % (40 degC) to 27 % (60 degC) of the mass.

    References
    ----------
    .. [1] wagner_2002 (vapour pressure); closed form: partial pressures.

    Examples
    --------
    >>> print(f"{saturated_humidity(313.15, 1e5, 7.937):.3f}")
    0.107
    """
    ratio, total = above("mixture ratio", "1", mixture_ratio), above("pressure", "Pa", pressure)
    boils = saturation_pressure(temperature)
    _dry_enough("pressure", total, boils)
    return broadcast(saturated_humidity_kernel, temperature, total, ratio)


def enthalpy_deficit(
    mixture_ratio: ArrayLike, feed_humidity: ArrayLike = 0.0, heat_loss: ArrayLike = 0.0
) -> FloatArray:
    r"""Share of the heat of burning that the gas in the chamber lacks.

    .. math:: d = \frac{x + q\,b}{x + b}, \qquad b = (1-x)\,\frac{\min(r (1 + 1/r_0),\ 1 + r_0)}{1 + r}

    Vapour in the feed counts as burned already; ``b`` is the water that the dry gases can form.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Share missing [1].

    Raises
    ------
    DomainError
        If a value, or humidity and loss together, lies outside the tables.

    References
    ----------
    .. [1] closed form: energy balance, the reactants and their vapour at 298.15 K.

    Examples
    --------
    >>> print(f"{enthalpy_deficit(7.937, 0.10, 0.05):.3f}")
    0.145
    """
    ratio, humidity, loss = floats(mixture_ratio), floats(feed_humidity), floats(heat_loss)
    check("mixture_ratio", ratio)
    check_feed(ratio, humidity, loss)
    return broadcast(enthalpy_deficit_kernel, ratio, humidity, loss)


def elemental_mixture_ratio(mixture_ratio: ArrayLike, feed_humidity: ArrayLike) -> FloatArray:
    """Mass of oxygen per mass of hydrogen of all that enters, the elements of the vapour counted.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].

    Returns
    -------
    ndarray, shape (...)
        Mixture ratio of the elements [1].

    Raises
    ------
    DomainError
        If a value lies outside the tables.

    References
    ----------
    .. [1] closed form: mass balance of the elements; molar masses of iupac_2013.

    Examples
    --------
    >>> print(f"{elemental_mixture_ratio(4.0, 0.2):.3f}")
    4.483
    """
    ratio, humidity = floats(mixture_ratio), floats(feed_humidity)
    check("mixture_ratio", ratio)
    check_feed(ratio, humidity, np.zeros(()))
    return broadcast(feed_mixture_ratio_kernel, ratio, humidity)


@kernel
def liquid_feed_loss_kernel(mixture_ratio: float) -> float:
    """Heat that both reactants lack as boiling liquids over the heat of burning what can burn [1]."""
    ratio = max(mixture_ratio, 1e-6)
    lacking = -(_LIQUID_HYDROGEN / _HYDROGEN + ratio * _LIQUID_OXYGEN / _OXYGEN) / (1.0 + ratio)
    burnable = min(ratio * (1.0 + 1.0 / WHOLE), 1.0 + WHOLE) / (1.0 + ratio)
    return lacking / (_HEATING_VALUE * max(burnable, 1e-300))


def liquid_feed_loss(mixture_ratio: ArrayLike) -> FloatArray:
    r"""The heat loss that stands for a feed of liquid hydrogen and liquid oxygen at their boiling points.

    .. math:: q = -\frac{h_{\mathrm{H_2}} + r\,h_{\mathrm{O_2}}}{(1+r)\,b\,\Delta h},
              \qquad b = \frac{\min(r (1 + 1/r_0),\ 1 + r_0)}{1 + r}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].

    Returns
    -------
    ndarray, shape (...)
        Heat loss to give to the other functions, before any loss to the walls is added [1].

    Raises
    ------
    DomainError
        If a mixture ratio lies outside the tables.

    Notes
    -----
    A feed without the heat that a cooling jacket gives back. Exact as an energy balance: the same elements
    with the same enthalpy.

    References
    ----------
    .. [1] mcbride_1996 (enthalpies of the liquids, example 8); closed form: energy balance.

    Examples
    --------
    >>> print(f"{liquid_feed_loss(5.55157):.3f}")
    0.080
    """
    ratio = floats(mixture_ratio)
    check("mixture_ratio", ratio)
    return broadcast(liquid_feed_loss_kernel, ratio)


def liquid_performance(
    mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> dict[str, FloatArray]:
    """Ideal performance of liquid hydrogen and liquid oxygen fed at their boiling points.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` [text].

    Returns
    -------
    dict
        ``chamber_temperature`` [K], ``molar_mass`` [kg mol-1], ``characteristic_velocity`` [m s-1] and
        ``specific_impulse_vacuum`` [s].

    Raises
    ------
    DomainError
        If a value lies outside the tables.
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] mcbride_1996 (example 8), mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{liquid_performance(5.55157, 53.3172e5, 50.0, 'equilibrium')['specific_impulse_vacuum']:.1f}")
    457.6
    """
    place, loss = (mixture_ratio, chamber_pressure), liquid_feed_loss(mixture_ratio)
    return {
        "chamber_temperature": chamber_temperature(*place, 0.0, loss),
        "molar_mass": molar_mass(*place, 0.0, loss),
        "characteristic_velocity": characteristic_velocity(*place, kind, 0.0, loss),
        "specific_impulse_vacuum": specific_impulse_vacuum(*place, expansion_ratio, kind, 0.0, loss),
    }


def vapour_penalty(
    temperature: ArrayLike, chamber_pressure: ArrayLike, mixture_ratio: ArrayLike, kind: str = "equilibrium"
) -> FloatArray:
    """Share of the characteristic velocity lost to vapour, the gases saturated at the chamber's own pressure.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature at which the gases were last in touch with liquid water [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure, taken as that of the gases too [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Share lost [1].

    Raises
    ------
    DomainError
        If a value lies outside the tables, or the water would boil.

    Notes
    -----
    Against the dry gases at 298.15 K; the warmth of the saturated gases, below 1 % of the heat of burning, is
    not counted. The vapour is propellant as well: see :func:`water_per_propellant`.

    References
    ----------
    .. [1] wagner_2002, mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{100 * vapour_penalty(313.15, 1e5, 7.937):.1f} %")
    3.0 %
    """
    total = floats(chamber_pressure)
    check("chamber_pressure", total)
    boils = saturation_pressure(temperature)
    _dry_enough("chamber_pressure", total, boils)
    humidity = saturated_humidity(temperature, chamber_pressure, mixture_ratio)
    wet = characteristic_velocity(mixture_ratio, chamber_pressure, kind, humidity)
    return 1.0 - wet / characteristic_velocity(mixture_ratio, chamber_pressure, kind)
