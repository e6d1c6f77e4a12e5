"""The gas in the chamber at every point, ideal: burned as the tables have it, or cold where it does not burn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tradespace.bench.filled import BoolArray
from tradespace.constants import value
from tradespace.physics.bench.bounds import (
    UNLIT_GAMMA,
    jet_speed_bound_kernel,
    unlit_gas_constant_kernel,
    unlit_jet_speed_bound_kernel,
)
from tradespace.physics.combustion.feed import saturated_humidity_kernel
from tradespace.physics.combustion_table import CHAMBER, NOZZLE, WHOLE, limits, look_up
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.nozzle.ground import thrust_coefficient_ambient_kernel
from tradespace.physics.nozzle.ideal import mass_flow_function_kernel
from tradespace.physics.nozzle.thrust import thrust_coefficient_kernel
from tradespace.physics.nozzle.viscosity import burned_gas_viscosity_kernel

_GAS_CONSTANT = value("gas_constant")
GRAVITY = value("standard_gravity")
_SEPARATION = value("separation_pressure_ratio", "nozzle_values.csv")
_LEAST_EXPANSION = limits("expansion_ratio")[0]
_MOST_HUMID = 0.5 * limits("enthalpy_deficit")[1]


@dataclass(frozen=True, eq=False)
class Gas:
    """Ideal properties of the gas of every point, shape (n,)."""

    lit: FloatArray
    """1 burning, 0 cold."""
    mixture_ratio: FloatArray
    humidity: FloatArray
    """Vapour in the feed [1]."""
    temperature: FloatArray
    """[K]."""
    specific: FloatArray
    """Gas constant over molar mass [J kg-1 K-1]."""
    gamma: FloatArray
    """Composition frozen [1]."""
    gamma_shifting: FloatArray
    viscosity: FloatArray
    """At the throat [Pa s]."""
    velocity: FloatArray
    """Characteristic velocity, composition frozen [m s-1]."""
    velocity_shifting: FloatArray
    coefficient: FloatArray
    """Thrust coefficient in vacuum, composition frozen [1]; not a number without an exit diameter."""
    jet_bound: FloatArray
    """Speed that no jet of this gas exceeds [m s-1]."""
    cold_velocity: FloatArray
    """Characteristic velocity of the same gas unlit [m s-1]."""
    expansion: FloatArray


def _held(name: str, column: FloatArray) -> FloatArray:
    """A column inside the combustion tables; gaps take the lower end."""
    low, high = limits(name)
    return np.clip(np.where(np.isfinite(column), column, low), low, high)


def humidity_of(
    gas_is: str, temperature: FloatArray, pressure: FloatArray, mixture_ratio: FloatArray
) -> FloatArray:
    """Vapour that the feed carries: none when it is dry, saturated at its own temperature when wet [1]."""
    if gas_is != "wet":
        return np.zeros(temperature.size)
    constant = all(column.size and np.ptp(column) == 0.0 for column in (temperature, pressure, mixture_ratio))
    if constant:
        one = broadcast(saturated_humidity_kernel, temperature[:1], pressure[:1], mixture_ratio[:1])
        return np.full(temperature.size, float(one[0]))
    return np.minimum(broadcast(saturated_humidity_kernel, temperature, pressure, mixture_ratio), _MOST_HUMID)


def gas_of(
    lit: FloatArray, mixture_ratio: FloatArray, pressure: FloatArray, expansion: FloatArray,
    humidity: FloatArray, feed_temperature: FloatArray,
) -> Gas:  # fmt: skip
    """Ideal gas of every point; the edge of the tables beyond them.

    Parameters
    ----------
    lit : ndarray, shape (n,)
        Above one half where it burns [1].
    mixture_ratio, expansion, humidity : ndarray, shape (n,)
        Oxygen over hydrogen, exit over throat area, vapour in the feed, by mass [1].
    pressure : ndarray, shape (n,)
        In the chamber, absolute [Pa].
    feed_temperature : ndarray, shape (n,)
        Temperature of the gases that enter [K].

    Returns
    -------
    Gas
        Temperature, velocities and bounds, shape (n,) each.
    """
    ratio = np.where(np.isfinite(mixture_ratio), mixture_ratio, WHOLE)
    held = (_held("mixture_ratio", ratio), _held("chamber_pressure", pressure))
    wet = np.clip(humidity, 0.0, _MOST_HUMID)
    burns = lit > 0.5

    def hot(column: str) -> FloatArray:
        return look_up(CHAMBER, column, *held, 1.0, wet)

    cold_specific = broadcast(unlit_gas_constant_kernel, ratio)
    cold = np.sqrt(cold_specific * feed_temperature) / mass_flow_function_kernel(UNLIT_GAMMA)
    temperature = np.where(burns, hot("chamber_temperature"), feed_temperature)
    gamma = np.where(burns, hot("heat_capacity_ratio"), UNLIT_GAMMA)
    frozen = hot("characteristic_velocity_frozen")
    return Gas(
        lit=burns.astype(np.float64),
        mixture_ratio=ratio,
        humidity=wet,
        temperature=temperature,
        specific=np.where(burns, _GAS_CONSTANT / (1e-3 * hot("molar_mass")), cold_specific),
        gamma=gamma,
        gamma_shifting=np.where(burns, hot("isentropic_exponent"), UNLIT_GAMMA),
        viscosity=broadcast(burned_gas_viscosity_kernel, ratio, 2.0 * temperature / (gamma + 1.0)),
        velocity=np.where(burns, frozen, cold),
        velocity_shifting=np.where(burns, hot("characteristic_velocity_equilibrium"), cold),
        coefficient=_vacuum_coefficient(burns, held, expansion, wet, gamma, frozen),
        jet_bound=np.where(
            burns,
            broadcast(jet_speed_bound_kernel, ratio, feed_temperature),
            broadcast(unlit_jet_speed_bound_kernel, feed_temperature, ratio, UNLIT_GAMMA),
        ),
        cold_velocity=cold,
        expansion=expansion,
    )


def _vacuum_coefficient(
    burns: BoolArray, held: tuple[FloatArray, FloatArray], expansion: FloatArray, wet: FloatArray,
    gamma: FloatArray, velocity: FloatArray,
) -> FloatArray:  # fmt: skip
    """Thrust coefficient in vacuum of the frozen gas; below the smallest tabulated nozzle scaled by the perfect gas."""
    known = np.isfinite(expansion) & (expansion >= 1.0)
    area = np.where(known, expansion, _LEAST_EXPANSION)
    perfect = broadcast(thrust_coefficient_kernel, area, gamma, 0.0)
    tabulated = _held("expansion_ratio", area)
    impulse = look_up(NOZZLE, "specific_impulse_vacuum_frozen", *held, tabulated, wet)
    of_table = impulse * GRAVITY / velocity
    burned = of_table * perfect / broadcast(thrust_coefficient_kernel, tabulated, gamma, 0.0)
    return np.where(known, np.where(burns, burned, perfect), np.nan)


def lost_to_air(expansion: FloatArray, gamma: FloatArray, ambient_ratio: FloatArray) -> FloatArray:
    """Thrust coefficient that the surroundings take from a choked nozzle, full or with the jet off the wall [1]."""
    area = np.where(np.isfinite(expansion), np.maximum(expansion, 1.0), 1.0)
    vacuum = broadcast(thrust_coefficient_kernel, area, gamma, 0.0)
    there = broadcast(thrust_coefficient_ambient_kernel, area, gamma, ambient_ratio, _SEPARATION)
    return np.where(np.isfinite(expansion), vacuum - there, np.nan)
