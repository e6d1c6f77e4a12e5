"""The engine of the invented bench, finer than the model that is fitted to its readings.

The boundary layer is followed from station to station through chamber, throat and nozzle (momentum thickness of an
accelerated laminar layer, properties at a reference temperature); friction and heat follow from it, and the
displaced flow gives the discharge coefficient. The wall warms up after ignition. Gas properties are those of the
combustion tables, at the heat that is left. Every other number here is invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tradespace.constants import value
from tradespace.physics.combustion_table import CHAMBER, NOZZLE, WHOLE, look_up
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.nozzle.ideal import mass_flow_function_kernel
from tradespace.physics.nozzle.thrust import thrust_coefficient_kernel
from tradespace.physics.nozzle.viscosity import burned_gas_viscosity_kernel

GAS = value("gas_constant")
GRAVITY = value("standard_gravity")
LOWER = value("lower_heating_value_water", "nozzle_values.csv")
COLD_MASS = (value("molar_mass_hydrogen") + 0.5 * value("molar_mass_oxygen")) / 1.5
COLD_GAMMA = 1.4
STATION_GAMMA = 1.2
SMALLEST_TABULATED = 5.0
PRANDTL = 0.68


@dataclass(frozen=True)
class EngineBuild:
    """An engine as it really is [SI]."""

    throat: float
    """Diameter [m]."""
    exit: float
    """Diameter [m]."""
    half_angle: float
    """[rad]."""
    mixing: float
    """Share of the characteristic velocity that mixing and burning deliver [1]."""
    friction: float
    """Shear over that of the smooth laminar layer [1]."""
    exchange: float
    """Heat to the wall over that of the smooth laminar layer [1]."""
    wall: float
    """Temperature of the warm wall [K]."""
    warm_up: float
    """Time constant of the wall [s]."""
    contraction: float = 8.0
    length: float = 2.0
    """Of the chamber over its diameter [1]."""

    def varied(self, rng: np.random.Generator) -> EngineBuild:
        """Another engine of the same build."""
        twist = rng.standard_normal(3)
        return replace(
            self,
            mixing=self.mixing + 0.008 * float(np.clip(twist[0], -2.5, 2.5)),
            friction=self.friction * float(np.exp(0.08 * twist[1])),
            exchange=self.exchange * float(np.exp(0.08 * twist[2])),
        )


@dataclass(frozen=True, eq=False)
class EngineTruth:
    """What error-free instruments would see, shape (n,)."""

    pressure: FloatArray
    thrust: FloatArray
    """At the ambient pressure [N]."""
    wall_heat: FloatArray
    discharge: FloatArray
    parameters: dict[str, float]


@dataclass(frozen=True, eq=False)
class _Stations:
    """Along the wall from head to exit, in throat diameters, shape (s,)."""

    place: FloatArray
    radius: FloatArray
    mach: FloatArray
    throat: int
    """Which of them is the throat."""


def _stations(build: EngineBuild) -> _Stations:
    wide = 0.5 * np.sqrt(build.contraction)
    chamber = np.linspace(0.1, 1.0, 8) * 2.0 * build.length * wide
    cone = np.linspace(0.05, 1.0, 12) * (wide - 0.5) / np.sin(np.pi / 6.0)
    outlet = 0.5 * build.exit / build.throat
    nozzle = np.linspace(0.0, 1.0, 25)[1:] ** 1.5 * (outlet - 0.5) / np.sin(build.half_angle)
    place = np.concatenate([chamber, chamber[-1] + cone, chamber[-1] + cone[-1] + nozzle])
    radius = np.concatenate(
        [
            np.full(8, wide),
            wide - cone * np.sin(np.pi / 6.0),
            0.5 + nozzle * np.sin(build.half_angle),
        ]
    )
    throat = 19
    area = (radius / radius[throat]) ** 2
    slow, fast = np.geomspace(0.01, 1.0, 400), np.geomspace(1.0, 12.0, 400)
    half = 0.5 * (STATION_GAMMA - 1.0)
    power = 0.5 * (STATION_GAMMA + 1.0) / (STATION_GAMMA - 1.0)

    def opening(mach: FloatArray) -> FloatArray:
        return ((1.0 + half * mach**2) / (1.0 + half)) ** power / mach

    below = np.interp(-area[: throat + 1], -opening(slow), slow)
    above = np.interp(area[throat + 1 :], opening(fast), fast)
    return _Stations(place, radius, np.concatenate([below, above]), throat)


def _layer(
    build: EngineBuild,
    at: _Stations,
    pressure: FloatArray,
    hot: FloatArray,
    mass: FloatArray,
    wall: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Friction of the nozzle [N], heat to the wall up to the throat [W] and discharge coefficient, shape (n,)."""
    cooled = 1.0 + 0.5 * (STATION_GAMMA - 1.0) * at.mach**2
    temperature = hot[:, None] / cooled
    local = pressure[:, None] * cooled ** (-STATION_GAMMA / (STATION_GAMMA - 1.0))
    speed = at.mach * np.sqrt(STATION_GAMMA * GAS / mass[:, None] * temperature)
    recovered = temperature + np.sqrt(PRANDTL) * (hot[:, None] - temperature)
    reference = 0.5 * (temperature + wall[:, None]) + 0.22 * (recovered - temperature)
    viscosity = broadcast(burned_gas_viscosity_kernel, WHOLE, reference)
    density = local * mass[:, None] / (GAS * reference)
    kinematic = viscosity / density
    radius, place = at.radius * build.throat, at.place * build.throat
    steps = np.diff(place, prepend=0.0)
    grown = np.cumsum(kinematic * speed**5 * radius**2 * steps, axis=1)
    thickness = np.sqrt(0.45 * grown / (speed**6 * radius**2))
    pull = thickness**2 / kinematic * np.gradient(speed, place, axis=1)
    shear = viscosity * speed / thickness * np.clip(pull + 0.09, 0.02, 0.35) ** 0.62
    nozzle = slice(at.throat, None)
    friction = build.friction * np.cos(build.half_angle) * (
        shear[:, nozzle] * 2.0 * np.pi * radius[nozzle] * steps[nozzle]
    ).sum(axis=1)  # fmt: skip
    capacity = STATION_GAMMA / (STATION_GAMMA - 1.0) * GAS / mass[:, None]
    transfer = build.exchange * shear / speed * capacity * PRANDTL ** (-2.0 / 3.0)
    before = slice(0, at.throat + 1)
    heat = (
        transfer[:, before] * np.maximum(recovered - wall[:, None], 0.0)[:, before]
        * 2.0 * np.pi * radius[before] * steps[before]
    ).sum(axis=1)  # fmt: skip
    displaced = 2.8 * build.friction * thickness[:, at.throat]
    return friction, heat, 1.0 - 4.0 * displaced / build.throat


def _lit(
    build: EngineBuild, flow: FloatArray, ambient: FloatArray, since: FloatArray
) -> tuple[FloatArray, ...]:
    """Pressure, thrust, heat to the wall, discharge coefficient, and three shares of the ideal."""
    at = _stations(build)
    area = 0.25 * np.pi * build.throat**2
    wall = build.wall - (build.wall - 300.0) * np.exp(-since / build.warm_up)
    lost, discharge = np.full(flow.size, 0.06), np.full(flow.size, 0.92)
    pressure = flow * 1950.0 / (area * discharge)
    whole = np.full(flow.size, WHOLE)
    for _ in range(3):
        lost = np.minimum(lost, 0.35)
        velocity = build.mixing * look_up(
            CHAMBER, "characteristic_velocity_frozen", whole, pressure, 1.0, 0.0, lost
        )
        pressure = flow * velocity / (area * discharge)
        hot = look_up(CHAMBER, "chamber_temperature", whole, pressure, 1.0, 0.0, lost)
        mass = 1e-3 * look_up(CHAMBER, "molar_mass", whole, pressure, 1.0, 0.0, lost)
        friction, heat, discharge = _layer(build, at, pressure, hot, mass, wall)
        lost = heat / (flow * LOWER)
    gamma = look_up(CHAMBER, "heat_capacity_ratio", whole, pressure, 1.0, 0.0, lost)
    expansion = (build.exit / build.throat) ** 2
    coefficient = _coefficient(pressure, expansion, gamma, lost)
    turned = 1.0 - 0.96 * 0.5 * (1.0 - np.cos(build.half_angle))
    effective = pressure * area * discharge
    vacuum = coefficient * turned * effective - friction
    ideal = look_up(CHAMBER, "characteristic_velocity_frozen", whole, pressure)
    ideal_gamma = look_up(CHAMBER, "heat_capacity_ratio", whole, pressure)
    return (
        pressure, vacuum - ambient * expansion * area, heat, discharge, effective / flow, effective / flow / ideal,
        vacuum / effective / _coefficient(pressure, expansion, ideal_gamma, np.zeros(flow.size)), vacuum,
    )  # fmt: skip


def _coefficient(pressure: FloatArray, expansion: float, gamma: FloatArray, lost: FloatArray) -> FloatArray:
    """Thrust coefficient in vacuum of the gas with this share of its heat lost, composition frozen."""
    area = max(expansion, SMALLEST_TABULATED)
    whole = np.full(pressure.size, WHOLE)
    impulse = look_up(NOZZLE, "specific_impulse_vacuum_frozen", whole, pressure, area, 0.0, lost)
    velocity = look_up(CHAMBER, "characteristic_velocity_frozen", whole, pressure, 1.0, 0.0, lost)
    found = impulse * GRAVITY / velocity
    if area > expansion:
        found = found * broadcast(thrust_coefficient_kernel, expansion, gamma, 0.0)
        found = found / broadcast(thrust_coefficient_kernel, area, gamma, 0.0)
    return found


def engine_truth(
    build: EngineBuild, flow: FloatArray, ambient: FloatArray, since: FloatArray, feed: FloatArray
) -> EngineTruth:
    """An engine at flows [kg s-1], ambient pressures [Pa], times since ignition [s] (negative: cold), feed [K]."""
    burns = since >= 0.0
    area = 0.25 * np.pi * build.throat**2
    pressure, thrust, heat, discharge = (np.zeros(flow.size) for _ in range(4))
    lit = _lit(build, flow[burns], ambient[burns], since[burns])
    pressure[burns], thrust[burns], heat[burns], discharge[burns] = lit[:4]
    if (~burns).any():
        cold = flow[~burns]
        reynolds = 4.0 * cold / (np.pi * build.throat * 1.9e-5)
        discharge[~burns] = 1.0 - 2.6 * build.friction / np.sqrt(reynolds)
        velocity = np.sqrt(GAS / COLD_MASS * feed[~burns]) / mass_flow_function_kernel(COLD_GAMMA)
        pressure[~burns] = cold * velocity / (area * discharge[~burns])
        expansion = (build.exit / build.throat) ** 2
        coefficient = 0.93 * broadcast(thrust_coefficient_kernel, expansion, COLD_GAMMA, 0.0)
        thrust[~burns] = (
            pressure[~burns] * area * discharge[~burns] * coefficient - ambient[~burns] * expansion * area
        )
    parameters = {
        "characteristic_velocity": float(lit[4].mean()),
        "characteristic_velocity_efficiency": float(lit[5].mean()),
        "thrust_coefficient_efficiency": float(lit[6].mean()),
        "wall_heat_share": float(np.mean(lit[2] / (flow[burns] * LOWER))),
        "specific_impulse": float(np.mean(lit[1] / (flow[burns] * GRAVITY))),
        "specific_impulse_vacuum": float(np.mean(lit[7] / (flow[burns] * GRAVITY))),
        "discharge_coefficient": float(lit[3].mean()),
    }
    return EngineTruth(pressure, thrust, heat, discharge, parameters)
