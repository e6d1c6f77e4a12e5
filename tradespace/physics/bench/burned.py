"""Burned hydrogen and oxygen in an engine on the ground: pressure that a flow builds up, and the thrust it can give.

The characteristic velocity and the exponent come from the shipped equilibrium tables at the pressure that is sought;
below the lowest pressure of the tables (0.5 bar) they stay as they are there, 2 % too high at a quarter of it.
"""

from __future__ import annotations

import numpy as np

from tradespace.physics.bench.burned_kernels import burned_tables, fill_burned_kernel, fill_choking_kernel
from tradespace.physics.combustion_table import WHOLE, check, check_feed
from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import above, at_least, floats, share


def _rows(*arguments: FloatArray) -> tuple[FloatArray, tuple[int, ...]]:
    """Arguments broadcast side by side, shape (n, m), and the shape they stand for."""
    wide = np.broadcast_arrays(*arguments)
    return np.stack([item.reshape(-1) for item in wide], axis=1), wide[0].shape


def _gas(
    mixture_ratio: ArrayLike, feed_humidity: ArrayLike, heat_loss: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    ratio, humidity, loss = floats(mixture_ratio), floats(feed_humidity), floats(heat_loss)
    check("mixture_ratio", ratio)
    check_feed(ratio, humidity, loss)
    return ratio, humidity, loss


def _burned(
    mass_flow: ArrayLike, ambient_pressure: ArrayLike, throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike, mixture_ratio: ArrayLike, efficiency: ArrayLike, kind: str,
    feed_humidity: ArrayLike, heat_loss: ArrayLike,
) -> FloatArray:  # fmt: skip
    """The five answers, shape (..., 5), once the arguments are checked."""
    ratio, humidity, loss = _gas(mixture_ratio, feed_humidity, heat_loss)
    rows, shape = _rows(
        at_least("mass_flow", "kg/s", mass_flow), at_least("ambient_pressure", "Pa", ambient_pressure),
        above("throat_diameter", "m", throat_diameter),
        share("discharge_coefficient", discharge_coefficient), ratio,
        above("characteristic_velocity_efficiency", "1", efficiency), humidity, loss,
    )  # fmt: skip
    answers = np.empty((rows.shape[0], 5))
    fill_burned_kernel(burned_tables(kind), rows, answers)
    return answers.reshape(*shape, 5)


def burned_chamber(
    mass_flow: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike = 1.0,
    mixture_ratio: ArrayLike = WHOLE,
    characteristic_velocity_efficiency: ArrayLike = 1.0,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Chamber pressure that a flow of burned hydrogen and oxygen builds up, and whether the throat is choked.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine, 0 in vacuum [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    characteristic_velocity_efficiency : array_like, shape (...)
        Share of the characteristic velocity of the tables that mixing and burning deliver [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    chamber_pressure : ndarray, shape (...)
        Absolute pressure [Pa].
    choked : ndarray, shape (...)
        1 where the throat is choked, 0 where it is not [1].
    characteristic_velocity : ndarray, shape (...)
        Characteristic velocity at that pressure, times its efficiency [m s-1].
    gamma : ndarray, shape (...)
        Exponent of the expansion: shifting, or frozen [1].

    Raises
    ------
    DomainError
        If mixture ratio, humidity or lost heat lie outside the tables, a flow or the ambient pressure is negative, a
        discharge coefficient lies outside (0, 1], or another argument is not above zero.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    The constant exponent joins the characteristic velocity of the tables to the subsonic formula: a choked flow agrees
    with the tables, the onset of choking with the exponent (0.06 bar apart between shifting and frozen at sea level).

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); naca_1135, mass flow per area.

    Examples
    --------
    >>> pressure, choked, _, _ = burned_chamber(1.5e-4, 101325.0, 1.5e-3, 0.85)
    >>> print(f"{pressure / 1e5:.2f} bar, {choked:.0f}")
    2.10 bar, 1
    """
    found = _burned(
        mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, mixture_ratio,
        characteristic_velocity_efficiency, kind, feed_humidity, heat_loss,
    )  # fmt: skip
    return found[..., 0], found[..., 1], found[..., 2], found[..., 3]


def burned_thrust(
    mass_flow: ArrayLike,
    ambient_pressure: ArrayLike,
    throat_diameter: ArrayLike,
    discharge_coefficient: ArrayLike = 1.0,
    mixture_ratio: ArrayLike = WHOLE,
    characteristic_velocity_efficiency: ArrayLike = 1.0,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Most thrust that a flow of burned hydrogen and oxygen gives on the ground through a throat.

    Parameters
    ----------
    mass_flow : array_like, shape (...)
        Mass through the engine [kg s-1].
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    throat_diameter : array_like, shape (...)
        Throat diameter [m].
    discharge_coefficient : array_like, shape (...)
        Share of the ideal flow that the throat passes [1].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    characteristic_velocity_efficiency : array_like, shape (...)
        Share of the characteristic velocity of the tables that mixing and burning deliver [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Thrust of the jet expanded without loss to the ambient pressure [N].

    Raises
    ------
    DomainError
        As for :func:`burned_chamber`.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    The pressure is the one :func:`burned_chamber` finds. A smaller throat or discharge raises it and the thrust with
    it, so the bound belongs to the throat as measured. The exponent stays that of the chamber: some per cent of a
    vacuum thrust, under one per cent at a pressure ratio of two. Towards a vacuum, where a constant exponent would
    promise more than the gas holds, :func:`flow_thrust_bound` takes over.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); sutton_2010, chapter 3, exit velocity.

    Examples
    --------
    >>> print(f"{burned_thrust(1.5e-4, 101325.0, 1.5e-3, 0.85):.2f}")
    0.24
    """
    found = _burned(
        mass_flow, ambient_pressure, throat_diameter, discharge_coefficient, mixture_ratio,
        characteristic_velocity_efficiency, kind, feed_humidity, heat_loss,
    )  # fmt: skip
    return np.asarray(found[..., 4])


def burned_choking_pressure(
    ambient_pressure: ArrayLike,
    mixture_ratio: ArrayLike = WHOLE,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Chamber pressure of burned hydrogen and oxygen above which a throat is choked.

    Parameters
    ----------
    ambient_pressure : array_like, shape (...)
        Pressure around the engine [Pa].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen; that of whole water unless given [1].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Absolute pressure [Pa].

    Raises
    ------
    DomainError
        If the ambient pressure is negative, or mixture ratio, humidity or lost heat lie outside the tables.
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] naca_1135, equation 44 at Mach 1; mcbride_2002, goodwin_2024 (exponents computed with Cantera).

    Examples
    --------
    >>> for kind in ("equilibrium", "frozen"):
    ...     print(f"{burned_choking_pressure(101325.0, kind=kind) / 1e5:.2f}")
    1.74
    1.80
    """
    around = at_least("ambient_pressure", "Pa", ambient_pressure)
    rows, shape = _rows(around, *_gas(mixture_ratio, feed_humidity, heat_loss))
    answers = np.empty(rows.shape[0])
    fill_choking_kernel(burned_tables(kind), rows, answers)
    return answers.reshape(shape)
