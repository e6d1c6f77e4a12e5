"""Steam, hydrogen and oxygen heated without burning and let off through a nozzle: look-ups in the shipped tables.

The chamber is in chemical equilibrium, so hot steam is partly split; on the way out the composition shifts
(``equilibrium``) or stays as it left the chamber (``frozen``). Ideal gas, one-dimensional, adiabatic, vacuum.
Steam cooler than some 1300 K leaves a large nozzle below its saturation line: condensation is not modelled,
and :func:`steam_condensation` says where that matters.

Caution: superheated steam under pressure scalds and bursts; pressure-vessel codes and licensed practice rule.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.electrothermal.tables import (
    CHARACTERISTIC,
    ENERGY,
    EXIT_TEMPERATURE,
    MOLAR_MASS,
    PRESSURE_RATIO,
    SPEED,
    WATER_FRACTION,
    inside,
    kind_column,
    steam_chamber_kernel,
    steam_condensation_kernel,
    steam_exit_pressure_kernel,
    steam_nozzle_kernel,
)


def steam_energy(temperature: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Heat that turns liquid water at 298.15 K into steam, its splitting at high temperature included.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Heat per mass [J kg-1].

    Raises
    ------
    DomainError
        If a temperature or pressure lies outside the table (300 to 4000 K, 0.1 to 20 bar).

    Notes
    -----
    Ideal gas: real steam near saturation needs up to 4 % less at 20 bar.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera); liquid water from cox_1989.

    Examples
    --------
    >>> for kelvin in (1100.0, 4000.0):
    ...     print(f"{steam_energy(kelvin, 1e6) / 3.6e6:.2f}")  # kWh/kg
    1.14
    7.99
    """
    hot, held, _ = inside(temperature, chamber_pressure, 10.0)
    return broadcast(steam_chamber_kernel, hot, held, ENERGY)


def steam_water_fraction(temperature: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Share of the molecules in the chamber that are still water.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Mole fraction of water [1].

    Raises
    ------
    DomainError
        If a temperature or pressure lies outside the table (300 to 4000 K, 0.1 to 20 bar).

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{steam_water_fraction(3000.0, 1e6):.3f}")
    0.826
    """
    hot, held, _ = inside(temperature, chamber_pressure, 10.0)
    return np.clip(broadcast(steam_chamber_kernel, hot, held, WATER_FRACTION), 0.0, 1.0)


def steam_molar_mass(temperature: ArrayLike, chamber_pressure: ArrayLike) -> FloatArray:
    """Mean molar mass of the steam and what it splits into.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Steam pressure [Pa].

    Returns
    -------
    ndarray, shape (...)
        Molar mass [kg mol-1].

    Raises
    ------
    DomainError
        If a temperature or pressure lies outside the table (300 to 4000 K, 0.1 to 20 bar).

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{1e3 * steam_molar_mass(4000.0, 1e6):.2f}")
    11.51
    """
    hot, held, _ = inside(temperature, chamber_pressure, 10.0)
    return broadcast(steam_chamber_kernel, hot, held, MOLAR_MASS) * 1e-3


def steam_characteristic_velocity(
    temperature: ArrayLike, chamber_pressure: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    r"""Chamber pressure times throat area over mass flow of steam.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    kind : str
        Expansion ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity [m s-1].

    Raises
    ------
    DomainError
        If a temperature or pressure lies outside the table (300 to 4000 K, 0.1 to 20 bar).

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{steam_characteristic_velocity(1100.0, 1e6):.0f}")
    1083
    """
    hot, held, _ = inside(temperature, chamber_pressure, 10.0)
    return broadcast(steam_chamber_kernel, hot, held, kind_column(kind, CHARACTERISTIC))


def steam_exhaust_velocity(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Ideal effective exhaust velocity of steam in vacuum.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        Expansion ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Effective exhaust velocity [m s-1].

    Raises
    ------
    DomainError
        If a value lies outside the table (300 to 4000 K, 0.1 to 20 bar, area ratio 5 to 200).

    Notes
    -----
    Small nozzles recombine little: take ``"frozen"`` as the baseline and ``"equilibrium"`` as the bound.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{steam_exhaust_velocity(1100.0, 1e6, 100.0) / 9.80665:.0f}")
    203
    """
    places = inside(temperature, chamber_pressure, expansion_ratio)
    return broadcast(steam_nozzle_kernel, *places, kind_column(kind, SPEED))


def steam_exit_temperature(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Temperature at the nozzle exit, no condensation.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature before the nozzle [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        Expansion ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Exit temperature [K].

    Raises
    ------
    DomainError
        If a value lies outside the table (300 to 4000 K, 0.1 to 20 bar, area ratio 5 to 200).

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera; heat capacities extrapolated below 200 K).

    Examples
    --------
    >>> print(f"{steam_exit_temperature(1100.0, 1e6, 100.0):.0f}")
    177
    """
    places = inside(temperature, chamber_pressure, expansion_ratio)
    return broadcast(steam_nozzle_kernel, *places, kind_column(kind, EXIT_TEMPERATURE))


def steam_exit_pressure(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Pressure at the nozzle exit, no condensation.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature before the nozzle [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    kind : str
        Expansion ``"equilibrium"`` or ``"frozen"`` [text].

    Returns
    -------
    ndarray, shape (...)
        Exit pressure [Pa].

    Raises
    ------
    DomainError
        If a value lies outside the table (300 to 4000 K, 0.1 to 20 bar, area ratio 5 to 200).

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{steam_exit_pressure(1100.0, 1e6, 100.0):.0f}")
    387
    """
    places = inside(temperature, chamber_pressure, expansion_ratio)
    return broadcast(steam_exit_pressure_kernel, *places, kind_column(kind, PRESSURE_RATIO))


def steam_condensation(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike
) -> FloatArray:
    """Where the tables stop being steam: 0 dry to the exit, 1 past saturation in the nozzle, 2 in the chamber.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Steam temperature before the nozzle [K].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].

    Returns
    -------
    ndarray, shape (...)
        0, 1 or 2 [1].

    Raises
    ------
    DomainError
        If a value lies outside the table (300 to 4000 K, 0.1 to 20 bar, area ratio 5 to 200).

    Notes
    -----
    Small fast nozzles stay supersaturated for a while, so 1 means that the ideal value is uncertain (heat of
    condensation warms the jet, droplets lag behind), not that the thruster fails. Frozen expansion.

    References
    ----------
    .. [1] wagner_2002 (over water) and wagner_2011 (over ice, held below 50 K).

    Examples
    --------
    >>> for kelvin in (2000.0, 1100.0, 400.0):
    ...     print(f"{steam_condensation(kelvin, 1e6, 100.0):.0f}")
    0
    1
    2
    """
    return broadcast(steam_condensation_kernel, *inside(temperature, chamber_pressure, expansion_ratio))
