"""One engine in full: ideal, on water, and as its class delivers."""

from __future__ import annotations

from tradespace.physics.combustion.chamber import chamber_temperature, characteristic_velocity, molar_mass
from tradespace.physics.combustion.delivery import delivered_performance_factor
from tradespace.physics.combustion.expansion import specific_impulse_vacuum
from tradespace.physics.combustion.water_use import water_per_propellant, water_specific_impulse


def chamber_state(
    mixture_ratio: float,
    chamber_pressure: float,
    expansion_ratio: float,
    thrust: float | None = None,
    feed_humidity: float = 0.0,
    heat_loss: float = 0.0,
) -> dict[str, float]:
    """Everything the table says of one engine.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    expansion_ratio : float
        Exit area over throat area [1].
    thrust : float, optional
        Thrust of one engine; when given, the delivered specific impulse is added [N].
    feed_humidity : float
        Mass of water vapour per mass of feed [1].
    heat_loss : float
        Heat lost to the walls over the lower heating value of what can burn [1].

    Returns
    -------
    dict
        Values by name, the unit at the end of each name [text].

    Raises
    ------
    DomainError
        If a value lies outside the table.

    Notes
    -----
    The impulse per weight of water is that of the frozen (and the delivered) value, the gas in excess left
    over without thrust. The delivered share holds the heat lost to the walls of the engines it was measured on.

    References
    ----------
    .. [1] mcbride_2002, goodwin_2024 (computed with Cantera); delivered: ``combustion_delivery.csv``.

    Examples
    --------
    >>> round(chamber_state(7.94, 1e6, 50.0)["specific_impulse_vacuum_equilibrium_s"], 1)
    441.3
    """
    place, feed = (mixture_ratio, chamber_pressure), (feed_humidity, heat_loss)
    frozen, shifting, between = (
        float(specific_impulse_vacuum(*place, expansion_ratio, kind, *feed))
        for kind in ("frozen", "equilibrium", "throat_frozen")
    )
    state = {
        "chamber_temperature_k": float(chamber_temperature(*place, *feed)),
        "molar_mass_g_mol": float(molar_mass(*place, *feed)) * 1e3,
        "characteristic_velocity_m_s": float(characteristic_velocity(*place, "equilibrium", *feed)),
        "characteristic_velocity_frozen_m_s": float(characteristic_velocity(*place, "frozen", *feed)),
        "specific_impulse_vacuum_equilibrium_s": shifting,
        "specific_impulse_vacuum_frozen_s": frozen,
        "specific_impulse_vacuum_throat_frozen_s": between,
        "water_specific_impulse_s": float(
            water_specific_impulse(frozen, mixture_ratio, feed_humidity=feed_humidity)
        ),
        "water_per_propellant": float(water_per_propellant(mixture_ratio, feed_humidity)),
    }
    if thrust is not None:
        factor = float(delivered_performance_factor(thrust))
        delivered = factor * frozen
        state["delivered_performance_factor"] = factor
        state["specific_impulse_vacuum_delivered_s"] = delivered
        state["water_specific_impulse_delivered_s"] = float(
            water_specific_impulse(delivered, mixture_ratio, feed_humidity=feed_humidity)
        )
    return state
