"""The share of the ideal specific impulse of an engine whose losses have been measured, at any size and pressure."""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.physics import combustion, domain
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast
from tradespace.physics.nozzle.delivered import delivered_factor_kernel
from tradespace.physics.nozzle.ideal import TABLE
from tradespace.physics.nozzle.wall import CHAMBER_LENGTH_RATIO, CONTRACTION_RATIO, WALL_TEMPERATURE

_HALF_ANGLE = value("half_angle", TABLE)
_RELEASE = value("energy_release_efficiency", TABLE)
_VISCOUS = value("viscous_loss_scale", TABLE)
_HEAT = value("wall_heat_scale", TABLE)


def measured_share(
    thrust: ArrayLike,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    energy_release_efficiency: ArrayLike = _RELEASE,
    viscous_loss_scale: ArrayLike = _VISCOUS,
    wall_heat_scale: ArrayLike = _HEAT,
) -> FloatArray:
    r"""Delivered over frozen ideal specific impulse in vacuum, with three losses as a bench has found them.

    .. math:: k = \eta\,\lambda\,\left(1-s_v\frac{\Delta C_F}{C_F}\right) f(s_q q)

    The three numbers hold for the build of an engine; its size, pressure and area ratio come in through the
    correlations, which is how a small engine on a bench speaks for a larger one in space.

    Parameters
    ----------
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    mixture_ratio : array_like, shape (...)
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : array_like, shape (...)
        Chamber pressure [Pa].
    expansion_ratio : array_like, shape (...)
        Exit area over throat area [1].
    energy_release_efficiency : array_like, shape (...)
        Share of the ideal characteristic velocity that mixing and burning deliver [1].
    viscous_loss_scale : array_like, shape (...)
        Factor on the viscous loss of the correlation [1].
    wall_heat_scale : array_like, shape (...)
        Factor on the exchange of heat with the wall [1].

    Returns
    -------
    ndarray, shape (...)
        Delivered over ideal [1].

    Raises
    ------
    DomainError
        If a value lies outside the combustion table, a thrust is not positive, an expansion ratio below one, the
        energy release efficiency outside (0, 1], or a scale negative.

    References
    ----------
    .. [1] spisz_1965, viscous; bartz_1957 and schlichting_1979, wall heat; sutton_2010, divergence.

    Examples
    --------
    >>> [f"{share:.3f}" for share in measured_share([0.44, 22.0, 110.0], 8.0, 7e5, 30.0)]
    ['0.784', '0.887', '0.909']
    """
    domain.above("thrust", "N", thrust)
    domain.at_least("expansion_ratio", "1", expansion_ratio, 1.0)
    domain.within("energy_release_efficiency", "1", energy_release_efficiency, 0.0, 1.0, open_low=True)
    domain.at_least("viscous_loss_scale", "1", viscous_loss_scale)
    domain.at_least("wall_heat_scale", "1", wall_heat_scale)
    return np.asarray(
        broadcast(
            delivered_factor_kernel,
            thrust,
            chamber_pressure,
            expansion_ratio,
            mixture_ratio,
            combustion.chamber_temperature(mixture_ratio, chamber_pressure),
            combustion.heat_capacity_ratio(mixture_ratio, chamber_pressure),
            combustion.characteristic_velocity(mixture_ratio, chamber_pressure, "frozen"),
            _HALF_ANGLE,
            WALL_TEMPERATURE,
            CONTRACTION_RATIO,
            CHAMBER_LENGTH_RATIO,
            energy_release_efficiency,
            viscous_loss_scale,
            wall_heat_scale,
        )
    )
