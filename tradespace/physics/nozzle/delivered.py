"""Delivered specific impulse of a small engine: the losses one by one, or the class of measured engines.

Frozen ideal value, times what mixing and burning deliver, divergence of the jet, the viscous loss, and the
heat that goes into the wall. The flow a throat passes (discharge coefficient) changes thrust and flow alike
and does not enter.
"""

from __future__ import annotations

import math

import numpy as np

from tradespace.constants import table_values, value
from tradespace.physics import combustion, domain
from tradespace.physics.compiled import ArrayLike, FloatArray, kernel
from tradespace.physics.divergence import conical_divergence_kernel
from tradespace.physics.nozzle.ideal import (
    TABLE,
    held_gamma_kernel,
    mach_number_kernel,
    pressure_ratio_kernel,
)
from tradespace.physics.nozzle.thrust import momentum_coefficient_kernel, throat_diameter_kernel
from tradespace.physics.nozzle.viscosity import burned_gas_viscosity_kernel
from tradespace.physics.nozzle.viscous import viscous_loss_kernel, viscous_share_kernel
from tradespace.physics.nozzle.wall import (
    CHAMBER_LENGTH_RATIO,
    CONTRACTION_RATIO,
    WALL_TEMPERATURE,
    specific_impulse_heat_factor_kernel,
    wall_heat_kernel,
)

_HALF_ANGLE = value("half_angle", TABLE)
_VISCOUS = table_values(TABLE)["viscous_loss_scale"]
_HEAT = table_values(TABLE)["wall_heat_scale"]
_RELEASE = table_values(TABLE)["energy_release_efficiency"]
_LARGEST_AREA = value("largest_area_ratio", TABLE)


@kernel
def delivered_jet_kernel(
    thrust: float, chamber_pressure: float, expansion_ratio: float, mixture_ratio: float,
    chamber_temperature: float, gamma: float, characteristic_velocity: float, half_angle: float,
    wall_temperature: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Divergence factor, lost over ideal thrust coefficient, throat without that loss, Reynolds per diameter."""
    held = held_gamma_kernel(gamma)
    area = min(max(expansion_ratio, 1.0), _LARGEST_AREA)
    mach = mach_number_kernel(area, held)
    momentum = momentum_coefficient_kernel(mach, held)
    ideal = momentum + pressure_ratio_kernel(mach, held) * area
    divergence = (momentum * conical_divergence_kernel(half_angle) + ideal - momentum) / ideal
    throat_temperature = 2.0 * max(chamber_temperature, 1.0) / (held + 1.0)
    viscosity = burned_gas_viscosity_kernel(mixture_ratio, throat_temperature)
    warmth = throat_temperature / max(wall_temperature, 1.0)
    per_diameter = max(chamber_pressure, 0.0) / (max(characteristic_velocity, 1.0) * viscosity)
    unopposed = throat_diameter_kernel(thrust, chamber_pressure, ideal * divergence)
    lost = viscous_loss_kernel(area, per_diameter * unopposed, warmth) / ideal
    return divergence, lost, unopposed, per_diameter


@kernel
def delivered_parts_kernel(
    divergence: float, lost: float, unopposed: float, per_diameter: float, mixture_ratio: float,
    chamber_temperature: float, gamma: float, characteristic_velocity: float, wall_temperature: float,
    contraction_ratio: float, chamber_length_ratio: float, energy_release_efficiency: float,
    viscous_loss_scale: float, wall_heat_scale: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Delivered over ideal of a jet, its viscous and wall-heat factors, and the throat."""
    viscous = viscous_share_kernel(viscous_loss_scale * lost)
    diameter = unopposed / math.sqrt(viscous)
    lost_heat = wall_heat_kernel(
        per_diameter * diameter, mixture_ratio, chamber_temperature, gamma, characteristic_velocity,
        wall_temperature, contraction_ratio, chamber_length_ratio, wall_heat_scale,
    )  # fmt: skip
    heat = specific_impulse_heat_factor_kernel(lost_heat)
    return energy_release_efficiency * divergence * viscous * heat, viscous, heat, diameter


@kernel
def delivered_losses_kernel(
    thrust: float, chamber_pressure: float, expansion_ratio: float, mixture_ratio: float,
    chamber_temperature: float, gamma: float, characteristic_velocity: float, half_angle: float,
    wall_temperature: float, contraction_ratio: float, chamber_length_ratio: float,
    energy_release_efficiency: float, viscous_loss_scale: float, wall_heat_scale: float,
) -> tuple[float, float, float, float, float, float]:  # fmt: skip
    """Delivered over ideal, then its parts: divergence, viscous and wall-heat factors; throat; Reynolds number."""
    divergence, lost, unopposed, per_diameter = delivered_jet_kernel(
        thrust, chamber_pressure, expansion_ratio, mixture_ratio, chamber_temperature, gamma,
        characteristic_velocity, half_angle, wall_temperature,
    )  # fmt: skip
    factor, viscous, heat, diameter = delivered_parts_kernel(
        divergence, lost, unopposed, per_diameter, mixture_ratio, chamber_temperature, gamma,
        characteristic_velocity, wall_temperature, contraction_ratio, chamber_length_ratio,
        energy_release_efficiency, viscous_loss_scale, wall_heat_scale,
    )  # fmt: skip
    return factor, divergence, viscous, heat, diameter, per_diameter * diameter


@kernel
def delivered_factor_kernel(
    thrust: float, chamber_pressure: float, expansion_ratio: float, mixture_ratio: float,
    chamber_temperature: float, gamma: float, characteristic_velocity: float, half_angle: float,
    wall_temperature: float, contraction_ratio: float, chamber_length_ratio: float,
    energy_release_efficiency: float, viscous_loss_scale: float, wall_heat_scale: float,
) -> float:  # fmt: skip
    """Delivered over frozen ideal specific impulse, from the losses."""
    return delivered_losses_kernel(
        thrust, chamber_pressure, expansion_ratio, mixture_ratio, chamber_temperature, gamma,
        characteristic_velocity, half_angle, wall_temperature, contraction_ratio, chamber_length_ratio,
        energy_release_efficiency, viscous_loss_scale, wall_heat_scale,
    )[0]  # fmt: skip


@kernel
def engines_factors_kernel(engines: FloatArray, scales: FloatArray) -> FloatArray:
    """Delivered over ideal of engines, an array of shape (11, n), under m sets of three factors: shape (m, n)."""
    answers = np.empty((scales.shape[0], engines.shape[1]))
    for place in range(engines.shape[1]):
        one = engines[:, place]
        divergence, lost, unopposed, per_diameter = delivered_jet_kernel(
            one[0], one[1], one[2], one[3], one[4], one[5], one[6], one[7], one[8]
        )
        for row in range(scales.shape[0]):
            answers[row, place] = delivered_parts_kernel(
                divergence, lost, unopposed, per_diameter, one[3], one[4], one[5], one[6], one[8], one[9],
                one[10], scales[row, 0], scales[row, 1], scales[row, 2],
            )[0]  # fmt: skip
    return answers


@kernel
def engines_losses_kernel(engines: FloatArray, scales: FloatArray) -> FloatArray:
    """The losses of engines, an array of shape (11, n), under one set of three factors: shape (6, n)."""
    answers = np.empty((6, engines.shape[1]))
    for place in range(engines.shape[1]):
        one = engines[:, place]
        found = delivered_losses_kernel(
            one[0], one[1], one[2], one[3], one[4], one[5], one[6], one[7], one[8], one[9], one[10],
            scales[0], scales[1], scales[2],
        )  # fmt: skip
        for part in range(6):
            answers[part, place] = found[part]
    return answers


def _engine(
    thrust: ArrayLike, mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike,
    half_angle: ArrayLike, wall_temperature: ArrayLike, contraction_ratio: ArrayLike,
    chamber_length_ratio: ArrayLike,
) -> tuple[FloatArray, tuple[int, ...]]:  # fmt: skip
    """Checked arguments of the kernel up to the three factors, as an array of shape (11, n); shape of the answer."""
    domain.above("thrust", "N", thrust)
    domain.within("half_angle", "rad", half_angle, 0.0, 0.5 * math.pi)
    domain.at_least("wall_temperature", "K", wall_temperature)
    domain.at_least("contraction_ratio", "1", contraction_ratio, 1.0)
    domain.above("chamber_length_ratio", "1", chamber_length_ratio)
    given = np.broadcast_arrays(
        *(
            domain.floats(part)
            for part in (
                thrust, chamber_pressure, expansion_ratio, mixture_ratio,
                combustion.chamber_temperature(mixture_ratio, chamber_pressure),
                combustion.heat_capacity_ratio(mixture_ratio, chamber_pressure),
                combustion.characteristic_velocity(mixture_ratio, chamber_pressure, "frozen"),
                half_angle, wall_temperature, contraction_ratio, chamber_length_ratio,
            )
        )
    )  # fmt: skip
    return np.array([part.ravel() for part in given]), given[0].shape


def delivered_specific_impulse(
    thrust: ArrayLike,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    half_angle: ArrayLike = _HALF_ANGLE,
    wall_temperature: ArrayLike = WALL_TEMPERATURE,
    contraction_ratio: ArrayLike = CONTRACTION_RATIO,
    chamber_length_ratio: ArrayLike = CHAMBER_LENGTH_RATIO,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    r"""Vacuum specific impulse a small engine delivers in steady firing, from its losses one by one.

    .. math:: I = \eta\,\lambda\,\left(1-\frac{\Delta C_F}{C_F}\right) f(q)\,I_\mathrm{frozen}

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
    half_angle : array_like, shape (...)
        Half angle of the diverging cone [rad].
    wall_temperature : array_like, shape (...)
        Wall temperature on the gas side [K].
    contraction_ratio : array_like, shape (...)
        Chamber area over throat area [1].
    chamber_length_ratio : array_like, shape (...)
        Chamber length over chamber diameter [1].

    Returns
    -------
    central : ndarray, shape (...)
        Specific impulse [s].
    low : ndarray, shape (...)
        With every loss at its unfavourable limit [s].
    high : ndarray, shape (...)
        With every loss at its favourable limit [s].

    Raises
    ------
    DomainError
        If a value lies outside the combustion table, or a thrust, angle, temperature or ratio is impossible.

    Notes
    -----
    Steady firing; pulses lose more (see :func:`delivered_by_class`). No film cooling.

    References
    ----------
    .. [1] spisz_1965, viscous; bartz_1957 and schlichting_1979, wall heat; sutton_2010, divergence and energy
       release; mcbride_2002, goodwin_2024, frozen ideal value.

    Examples
    --------
    >>> central, low, high = delivered_specific_impulse(110.0, 8.0, 7e5, 30.0)
    >>> print(f"{central:.0f} ({low:.0f} to {high:.0f})")
    352 (335 to 365)
    """
    frozen = combustion.specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, "frozen")
    engines, shape = _engine(
        thrust, mixture_ratio, chamber_pressure, expansion_ratio, half_angle, wall_temperature,
        contraction_ratio, chamber_length_ratio,
    )  # fmt: skip
    ends = np.array(
        [
            (_RELEASE.value, _VISCOUS.value, _HEAT.value),
            (_RELEASE.low, _VISCOUS.high, _HEAT.high),
            (_RELEASE.high, _VISCOUS.low, _HEAT.low),
        ]
    )
    central, low, high = (
        np.asarray(frozen * row.reshape(shape)) for row in engines_factors_kernel(engines, ends)
    )
    return central, low, high


def delivered_losses(
    thrust: ArrayLike,
    mixture_ratio: ArrayLike,
    chamber_pressure: ArrayLike,
    expansion_ratio: ArrayLike,
    half_angle: ArrayLike = _HALF_ANGLE,
    wall_temperature: ArrayLike = WALL_TEMPERATURE,
    contraction_ratio: ArrayLike = CONTRACTION_RATIO,
    chamber_length_ratio: ArrayLike = CHAMBER_LENGTH_RATIO,
) -> dict[str, FloatArray]:
    """Each loss of :func:`delivered_specific_impulse` by itself, all factors at their central values.

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
    half_angle : array_like, shape (...)
        Half angle of the diverging cone [rad].
    wall_temperature : array_like, shape (...)
        Wall temperature on the gas side [K].
    contraction_ratio : array_like, shape (...)
        Chamber area over throat area [1].
    chamber_length_ratio : array_like, shape (...)
        Chamber length over chamber diameter [1].

    Returns
    -------
    dict
        ``delivered_factor``, ``energy_release_factor``, ``divergence_factor``, ``viscous_factor`` and
        ``wall_heat_factor`` [1], ``throat_diameter`` [m], ``reynolds_number`` [1].

    Raises
    ------
    DomainError
        If a value lies outside the combustion table, or a thrust, angle, temperature or ratio is impossible.

    References
    ----------
    .. [1] spisz_1965, bartz_1957, schlichting_1979, sutton_2010.

    Examples
    --------
    >>> for name, part in delivered_losses(110.0, 8.0, 7e5, 30.0).items():
    ...     print(f"{name} {part:.4g}")
    delivered_factor 0.9091
    energy_release_factor 0.97
    divergence_factor 0.9838
    viscous_factor 0.9585
    wall_heat_factor 0.994
    throat_diameter 0.0107
    reynolds_number 3.66e+04
    """
    combustion.specific_impulse_vacuum(mixture_ratio, chamber_pressure, expansion_ratio, "frozen")
    engines, shape = _engine(
        thrust, mixture_ratio, chamber_pressure, expansion_ratio, half_angle, wall_temperature,
        contraction_ratio, chamber_length_ratio,
    )  # fmt: skip
    scales = np.array([_RELEASE.value, _VISCOUS.value, _HEAT.value])
    parts = [np.asarray(part.reshape(shape)) for part in engines_losses_kernel(engines, scales)]
    factor, divergence, viscous, heat, diameter, reynolds = parts
    return {
        "delivered_factor": factor,
        "energy_release_factor": np.full(shape, _RELEASE.value),
        "divergence_factor": divergence,
        "viscous_factor": viscous,
        "wall_heat_factor": heat,
        "throat_diameter": diameter,
        "reynolds_number": reynolds,
    }
