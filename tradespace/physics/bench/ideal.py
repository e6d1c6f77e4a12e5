"""What readings of an engine are held against: ideal thrust coefficient, frozen impulse, the same flow unlit."""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics.bench.bounds import UNLIT_GAMMA
from tradespace.physics.bench.engine import measured_specific_impulse
from tradespace.physics.bench.throat import ROOM_TEMPERATURE, unlit_characteristic_velocity
from tradespace.physics.combustion import (
    characteristic_velocity,
    heat_capacity_ratio,
    isentropic_exponent,
    specific_impulse_vacuum,
)
from tradespace.physics.combustion.chamber import known_kind
from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import within
from tradespace.physics.nozzle import thrust_coefficient

_GRAVITY = value("standard_gravity")
_LARGEST_AREA = value("largest_area_ratio", "nozzle_values.csv")


def frozen_share(
    thrust: ArrayLike,
    mass_flow: ArrayLike,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
) -> FloatArray:
    """Specific impulse of readings in vacuum over the ideal frozen one: what the engine delivers.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust in vacuum [N].
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Absolute chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].

    Returns
    -------
    ndarray, shape (...)
        Delivered share [1].

    Raises
    ------
    DomainError
        If a thrust is negative, a mass flow is not above zero, or another argument lies outside the tables.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (frozen value computed with Cantera).

    Examples
    --------
    >>> print(f"{frozen_share(110.0, 0.0311581, 8.0, 7e5, 30.0):.2f}")
    0.93
    """
    ideal = specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, "frozen")
    return np.asarray(measured_specific_impulse(thrust, mass_flow) / ideal)


def vacuum_thrust_coefficient(
    mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    r"""Ideal thrust coefficient in vacuum of burned hydrogen and oxygen.

    .. math:: C_F = g_0 I_{sp} / c^*

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Absolute chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Thrust coefficient [1].

    Raises
    ------
    DomainError
        If a value lies outside the tables.
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{vacuum_thrust_coefficient(8.0, 1e5, 30.0):.2f}")
    1.82
    """
    impulse = specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, kind)
    return np.asarray(_GRAVITY * impulse / characteristic_velocity(mixture_ratio, chamber_pressure, kind))


def lit_over_unlit(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike = 1.0,
    kind: str = "equilibrium",
    feed_temperature: ArrayLike = ROOM_TEMPERATURE,
) -> tuple[FloatArray, FloatArray]:
    r"""Chamber pressure and vacuum thrust of a burning flow over those of the same flow unlit, ideal.

    .. math:: \frac{p_l}{p_u} = \frac{c^*_l}{c^*_u}, \qquad
              \frac{F_l}{F_u} = \frac{c^*_l\,C_F(\varepsilon, \gamma_l)}{c^*_u\,C_F(\varepsilon, \gamma_u)}

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Absolute chamber pressure of the burning engine [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area; 1 for a nozzle that only converges [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_temperature : array_like, shape (...)
        Temperature at which the gases enter when unlit [K].

    Returns
    -------
    pressure_ratio : ndarray, shape (...)
        Lit over unlit chamber pressure, both throats choked [1].
    thrust_ratio : ndarray, shape (...)
        Lit over unlit thrust in vacuum, constant exponents [1].

    Raises
    ------
    DomainError
        If mixture ratio or pressure lie outside the tables, an area ratio lies outside 1 to 1e6, or a temperature is
        not above zero.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    If neither changes on ignition, nothing burned in the chamber (or it burned outside).

    References
    ----------
    .. [1] naca_1135; mcbride_2002, goodwin_2024 (burned gas computed with Cantera).

    Examples
    --------
    >>> pressure, thrust = lit_over_unlit(7.94, 1e6, 1.0)
    >>> print(f"{pressure:.2f} {thrust:.2f}")
    3.26 3.16
    """
    exponent = heat_capacity_ratio if known_kind(kind) == "frozen" else isentropic_exponent
    gamma = exponent(mixture_ratio, chamber_pressure)
    cold = unlit_characteristic_velocity(feed_temperature, mixture_ratio)
    ratio = characteristic_velocity(mixture_ratio, chamber_pressure, kind) / cold
    area = within("expansion_ratio", "1", expansion_ratio, 1.0, _LARGEST_AREA)
    nozzles = thrust_coefficient(area, gamma) / thrust_coefficient(area, UNLIT_GAMMA)
    pressures, thrusts = np.broadcast_arrays(ratio, ratio * nozzles)
    return np.asarray(pressures), np.asarray(thrusts)
