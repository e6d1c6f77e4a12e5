"""Specific impulse in vacuum: composition shifting, frozen, or in between.

Three ways to hold the composition, after mcbride_1996: shifting to the exit, frozen as it left the chamber,
and frozen from the throat on. Recombination in a real nozzle stops somewhere between the first two; a free
share of the way from frozen to shifting is offered as well.
"""

from __future__ import annotations

from tradespace.physics.combustion.chamber import known_kind
from tradespace.physics.combustion_table import NOZZLE, CombustionTables, feed_value_kernel, look_up
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import within


@kernel
def between_kernel(frozen: float, shifting: float, recombination_share: float) -> float:
    """A value the given share of the way from frozen to shifting."""
    return frozen + recombination_share * (shifting - frozen)


@kernel
def specific_impulse_vacuum_kernel(
    tables: CombustionTables, mixture_ratio: float, chamber_pressure: float, expansion_ratio: float,
    recombination_share: float, feed_humidity: float, heat_loss: float,
) -> float:  # fmt: skip
    """Ideal specific impulse in vacuum [s]; the edge of the tables beyond them."""
    frozen = feed_value_kernel(
        tables.impulse_frozen, tables.impulse_frozen_feed, mixture_ratio, chamber_pressure, expansion_ratio,
        feed_humidity, heat_loss,
    )  # fmt: skip
    if recombination_share == 0.0:
        return frozen
    shifting = feed_value_kernel(
        tables.impulse_shifting, tables.impulse_shifting_feed, mixture_ratio, chamber_pressure,
        expansion_ratio, feed_humidity, heat_loss,
    )  # fmt: skip
    return between_kernel(frozen, shifting, recombination_share)


@kernel
def characteristic_velocity_kernel(
    tables: CombustionTables, mixture_ratio: float, chamber_pressure: float,
    recombination_share: float, feed_humidity: float, heat_loss: float,
) -> float:  # fmt: skip
    """Ideal characteristic velocity [m s-1]; the edge of the tables beyond them."""
    frozen = feed_value_kernel(
        tables.velocity_frozen, tables.velocity_frozen_feed, mixture_ratio, chamber_pressure, 1.0,
        feed_humidity, heat_loss,
    )  # fmt: skip
    if recombination_share == 0.0:
        return frozen
    shifting = feed_value_kernel(
        tables.velocity_shifting, tables.velocity_shifting_feed, mixture_ratio, chamber_pressure, 1.0,
        feed_humidity, heat_loss,
    )  # fmt: skip
    return between_kernel(frozen, shifting, recombination_share)


def specific_impulse_vacuum(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    kind: str = "frozen",
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    """Ideal specific impulse in vacuum.

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
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If a value lies outside the table.
    UnknownNameError
        If the kind is none of the three.

    Notes
    -----
    Exits colder than 200 K (low mixture ratio, large area) extrapolate the heat capacities; condensation is
    not modelled. Vapour and lost heat enter exactly, as a lower enthalpy of the same elements; a negative
    loss is heat brought by gases warmer than 298.15 K. Measured engines sit at or below the frozen value;
    their delivered share, see :func:`delivered_performance_factor`, holds the loss to the walls already.

    References
    ----------
    .. [1] mcbride_1996, mcbride_2002, goodwin_2024 (computed with Cantera).

    Examples
    --------
    >>> print(f"{specific_impulse_vacuum(7.94, 1e6, 50.0):.1f}")
    398.0
    >>> print(f"{specific_impulse_vacuum(7.94, 1e6, 50.0, 'throat_frozen', heat_loss=0.05):.1f}")
    401.5
    """
    return look_up(
        NOZZLE,
        f"specific_impulse_vacuum_{known_kind(kind)}",
        mixture_ratio,
        chamber_pressure,
        expansion_ratio,
        feed_humidity,
        heat_loss,
    )


def recombined_specific_impulse(
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    recombination_share: ArrayLike,
    feed_humidity: ArrayLike = 0.0,
    heat_loss: ArrayLike = 0.0,
) -> FloatArray:
    r"""Ideal specific impulse in vacuum, a share of the way from frozen to shifting.

    .. math:: I = I_\mathrm{frozen} + s\,(I_\mathrm{shifting} - I_\mathrm{frozen})

    Parameters
    ----------
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    recombination_share : array_like, shape (...)
        0 for frozen, 1 for shifting [1].
    feed_humidity : array_like, shape (...)
        Mass of water vapour per mass of feed [1].
    heat_loss : array_like, shape (...)
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    ndarray, shape (...)
        Specific impulse [s].

    Raises
    ------
    DomainError
        If the share lies outside 0 to 1, or another value outside the table.

    Notes
    -----
    The two ends are computed; what lies between is a straight line, not kinetics. Freezing at the throat
    amounts to a share of 0.16 to 0.33 at mixture ratios of 6 and more, 0.3 to 0.65 at 3 to 4.

    References
    ----------
    .. [1] mcbride_1996, goodwin_2024 (the ends); common practice, no source: the straight line between.

    Examples
    --------
    >>> print(f"{recombined_specific_impulse(7.94, 1e6, 50.0, 0.5):.1f}")
    419.6
    """
    share = within("recombination share", "1", recombination_share, 0.0, 1.0)
    place = (mixture_ratio, chamber_pressure, expansion_ratio)
    frozen, shifting = (
        specific_impulse_vacuum(*place, kind, feed_humidity, heat_loss) for kind in ("frozen", "equilibrium")
    )
    return broadcast(between_kernel, frozen, shifting, share)
