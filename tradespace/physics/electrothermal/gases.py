"""Hydrogen or oxygen alone, heated and let off: what becomes of the half of split water that is not burned."""

from __future__ import annotations

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.electrothermal.tables import (
    GASES,
    HYDROGEN,
    OXYGEN,
    heated_gas_kernel,
    inside,
    kind_column,
)


def hydrogen_exhaust_velocity(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Ideal effective exhaust velocity of heated hydrogen in vacuum.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature before the nozzle [K].
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
        If a value lies outside the table (300 to 3000 K, 0.1 to 20 bar, area ratio 5 to 200).

    Notes
    -----
    Normal hydrogen above 300 K; the conversion between its two spin states is left out.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{hydrogen_exhaust_velocity(2000.0, 1e6, 100.0) / 9.80665:.0f}")
    769
    """
    places = inside(temperature, chamber_pressure, expansion_ratio, GASES)
    return broadcast(heated_gas_kernel, *places, kind_column(kind, HYDROGEN))


def oxygen_exhaust_velocity(
    temperature: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike, kind: str = "frozen"
) -> FloatArray:
    """Ideal effective exhaust velocity of heated oxygen in vacuum.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Gas temperature before the nozzle [K].
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
        If a value lies outside the table (300 to 3000 K, 0.1 to 20 bar, area ratio 5 to 200).

    Notes
    -----
    Caution: hot oxygen under pressure burns most metals; materials are for licensed practice to choose.

    References
    ----------
    .. [1] goodwin_2024, mcbride_2002 (computed with Cantera).

    Examples
    --------
    >>> print(f"{oxygen_exhaust_velocity(300.0, 1e6, 100.0) / 9.80665:.0f}")
    73
    """
    places = inside(temperature, chamber_pressure, expansion_ratio, GASES)
    return broadcast(heated_gas_kernel, *places, kind_column(kind, OXYGEN))
