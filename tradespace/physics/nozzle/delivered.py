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
from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
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
    wall_heat_fraction_kernel,
)
from tradespace.tables import read_table

DELIVERY = "combustion_delivery.csv"
_HALF_ANGLE = value("half_angle", TABLE)
_VISCOUS = table_values(TABLE)["viscous_loss_scale"]
_HEAT = table_values(TABLE)["wall_heat_scale"]
_RELEASE = table_values(TABLE)["energy_release_efficiency"]
_LARGEST_AREA = value("largest_area_ratio", TABLE)

_CLASSES = read_table(DELIVERY).rows
_THRUST_LOW = tuple(float(row["thrust_low"]) for row in _CLASSES)
_THRUST_HIGH = tuple(float(row["thrust_high"] or "inf") for row in _CLASSES)
_PULSED = tuple(float(row["pulsed"]) for row in _CLASSES)
_CENTRAL = tuple(float(row["value"]) for row in _CLASSES)
_LOW = tuple(float(row["low"]) for row in _CLASSES)
_HIGH = tuple(float(row["high"]) for row in _CLASSES)


@kernel
def delivered_losses_kernel(
    thrust: float, chamber_pressure: float, expansion_ratio: float, mixture_ratio: float,
    chamber_temperature: float, gamma: float, characteristic_velocity: float, half_angle: float,
    wall_temperature: float, contraction_ratio: float, chamber_length_ratio: float,
    energy_release_efficiency: float, viscous_loss_scale: float, wall_heat_scale: float,
) -> tuple[float, float, float, float, float, float]:  # fmt: skip
    """Delivered over ideal, then its parts: divergence, viscous and wall-heat factors; throat; Reynolds number."""
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
    lost = viscous_loss_scale * viscous_loss_kernel(area, per_diameter * unopposed, warmth) / ideal
    viscous = viscous_share_kernel(lost)
    diameter = unopposed / math.sqrt(viscous)
    heat = specific_impulse_heat_factor_kernel(
        wall_heat_fraction_kernel(
            diameter, chamber_pressure, mixture_ratio, chamber_temperature, held, characteristic_velocity,
            wall_temperature, contraction_ratio, chamber_length_ratio, wall_heat_scale,
        )
    )  # fmt: skip
    factor = energy_release_efficiency * divergence * viscous * heat
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
def class_place_kernel(thrust: float, pulsed: float) -> float:
    """Row of the class an engine belongs to, the last one where none fits."""
    last = len(_CENTRAL) - 1
    for place in range(last):
        inside = _THRUST_LOW[place] <= thrust < _THRUST_HIGH[place]
        if inside and (_PULSED[place] > 0.5) == (pulsed > 0.5):
            return float(place)
    return float(last)


@kernel
def delivered_class_kernel(thrust: float, pulsed: float) -> tuple[float, float, float]:
    """Delivered over frozen ideal specific impulse of the class of measured engines: central, low, high."""
    place = int(class_place_kernel(thrust, pulsed))
    return _CENTRAL[place], _LOW[place], _HIGH[place]


def _engine(
    thrust: ArrayLike, mixture_ratio: ArrayLike, chamber_pressure: ArrayLike, expansion_ratio: ArrayLike,
    half_angle: ArrayLike, wall_temperature: ArrayLike, contraction_ratio: ArrayLike,
    chamber_length_ratio: ArrayLike,
) -> tuple[ArrayLike, ...]:  # fmt: skip
    """Checked arguments of the kernel up to the three factors."""
    domain.above("thrust", "N", thrust)
    domain.within("half_angle", "rad", half_angle, 0.0, 0.5 * math.pi)
    domain.at_least("wall_temperature", "K", wall_temperature)
    domain.at_least("contraction_ratio", "1", contraction_ratio, 1.0)
    domain.above("chamber_length_ratio", "1", chamber_length_ratio)
    return (
        thrust, chamber_pressure, expansion_ratio, mixture_ratio,
        combustion.chamber_temperature(mixture_ratio, chamber_pressure),
        combustion.heat_capacity_ratio(mixture_ratio, chamber_pressure),
        combustion.characteristic_velocity(mixture_ratio, chamber_pressure, "frozen"),
        half_angle, wall_temperature, contraction_ratio, chamber_length_ratio,
    )  # fmt: skip


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
    engine = _engine(
        thrust, mixture_ratio, chamber_pressure, expansion_ratio, half_angle, wall_temperature,
        contraction_ratio, chamber_length_ratio,
    )  # fmt: skip
    ends = (
        (_RELEASE.value, _VISCOUS.value, _HEAT.value),
        (_RELEASE.low, _VISCOUS.high, _HEAT.high),
        (_RELEASE.high, _VISCOUS.low, _HEAT.low),
    )
    central, low, high = (
        np.asarray(frozen * broadcast(delivered_factor_kernel, *engine, *factors)) for factors in ends
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
    engine = _engine(
        thrust, mixture_ratio, chamber_pressure, expansion_ratio, half_angle, wall_temperature,
        contraction_ratio, chamber_length_ratio,
    )  # fmt: skip
    arrays = np.broadcast_arrays(*(np.asarray(part, dtype=np.float64) for part in engine))
    names = (
        "delivered_factor divergence_factor viscous_factor wall_heat_factor throat_diameter reynolds_number"
    ).split()
    factors = (_RELEASE.value, _VISCOUS.value, _HEAT.value)
    spread = np.vectorize(delivered_losses_kernel, otypes=[np.float64] * len(names))(*arrays, *factors)
    found = dict(zip(names, (np.asarray(part, dtype=np.float64) for part in spread), strict=True))
    release = np.full_like(found["delivered_factor"], _RELEASE.value)
    return {"delivered_factor": found.pop("delivered_factor"), "energy_release_factor": release, **found}


def delivered_by_class(
    frozen_specific_impulse: ArrayLike, thrust: ArrayLike, pulsed: bool = False
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Vacuum specific impulse an engine delivers, from the class of measured engines it belongs to.

    Parameters
    ----------
    frozen_specific_impulse : array_like, shape (...)
        Ideal frozen specific impulse in vacuum [s].
    thrust : array_like, shape (...)
        Thrust of one engine [N].
    pulsed : bool
        True when it fires in short pulses [1].

    Returns
    -------
    central : ndarray, shape (...)
        Specific impulse [s].
    low : ndarray, shape (...)
        At the lower limit of the class [s].
    high : ndarray, shape (...)
        At the upper limit of the class [s].

    Raises
    ------
    DomainError
        If an argument is not positive.

    References
    ----------
    .. [1] aerojet_ada236556, marquardt_1974, smallsat_2021_209, ice_cube_2023: ``combustion_delivery.csv``.

    Examples
    --------
    >>> central, low, high = delivered_by_class(387.1, 110.0)
    >>> print(f"{central:.0f} ({low:.0f} to {high:.0f})")
    360 (348 to 372)
    """
    domain.above("frozen_specific_impulse", "s", frozen_specific_impulse)
    domain.above("thrust", "N", thrust)
    place = broadcast(class_place_kernel, thrust, float(pulsed)).astype(np.intp)
    frozen = np.asarray(frozen_specific_impulse, dtype=np.float64)
    central, low, high = (np.asarray(frozen * np.array(column)[place]) for column in (_CENTRAL, _LOW, _HIGH))
    return central, low, high
