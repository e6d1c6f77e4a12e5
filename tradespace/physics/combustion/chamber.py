"""State of the burned gas in the chamber: look-ups in the shipped equilibrium table."""

from __future__ import annotations

from tradespace.errors import unknown_name
from tradespace.physics.combustion_table import CHAMBER, look_up
from tradespace.physics.compiled import ArrayLike, FloatArray

KINDS = ("equilibrium", "frozen", "throat_frozen")
"""Composition shifting all the way, frozen as it left the chamber, or shifting to the throat and frozen after."""


def known_kind(kind: str) -> str:
    """The kind of expansion itself, when it is one of the three.

    Parameters
    ----------
    kind : str
        Kind of expansion [text].

    Returns
    -------
    str
        The same [text].

    Raises
    ------
    UnknownNameError
        If it is none of them.

    References
    ----------
    .. [1] mcbride_1996 (the three ways to freeze a composition).

    Examples
    --------
    >>> known_kind("frozen")
    'frozen'
    """
    if kind not in KINDS:
        raise unknown_name("kind of expansion", kind, KINDS)
    return kind


def chamber_temperature(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Adiabatic temperature of the burned gas in the chamber.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Chamber temperature [K].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    A real wall and film cooling lower it; the walls see an oxidising gas.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (equilibrium computed with Cantera).

    Examples
    --------
    >>> print(f"{chamber_temperature(7.94, 1e6):.0f}")
    3387
    """
    return look_up(
        CHAMBER, "chamber_temperature", mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss
    )


def molar_mass(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Mean molar mass of the burned gas in the chamber.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Molar mass [kg mol-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (equilibrium computed with Cantera).

    Examples
    --------
    >>> print(f"{1e3 * molar_mass(7.94, 1e6):.2f}")
    15.32
    """
    return (
        look_up(CHAMBER, "molar_mass", mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss) * 1e-3
    )


def heat_capacity_ratio(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Ratio of heat capacities of the burned gas with its composition frozen.

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Heat capacity ratio [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{heat_capacity_ratio(7.94, 1e6):.3f}")
    1.203
    """
    return look_up(
        CHAMBER, "heat_capacity_ratio", mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss
    )


def isentropic_exponent(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    r"""Exponent of the burned gas in the chamber with its composition shifting.

    .. math:: \gamma_s = -(\partial\ln p/\partial\ln v)_s

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Isentropic exponent, below the frozen :func:`heat_capacity_ratio` [1].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    References
    ----------
    .. [1] mcbride_1996 (definition), mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{isentropic_exponent(7.94, 1e6):.3f}")
    1.122
    """
    return look_up(
        CHAMBER, "isentropic_exponent", mixture_ratio, chamber_pressure, 1.0, feed_humidity, heat_loss
    )


def characteristic_velocity(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    kind: str = "equilibrium",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    r"""Ideal characteristic velocity.

    .. math:: c^* = p_c A_t / \dot m

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    kind : str
        ``"equilibrium"``, ``"frozen"`` or ``"throat_frozen"`` (here the same as equilibrium) [text].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Characteristic velocity [m s-1].

    Raises
    ------
    DomainError
        If a value lies outside the table.
    UnknownNameError
        If the kind is none of the three.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{characteristic_velocity(7.94, 1e6, 'frozen'):.0f}")
    2087
    """
    column = "frozen" if known_kind(kind) == "frozen" else "equilibrium"
    return look_up(
        CHAMBER,
        f"characteristic_velocity_{column}",
        mixture_ratio,
        chamber_pressure,
        1.0,
        feed_humidity,
        heat_loss,
    )
