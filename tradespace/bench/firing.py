"""What the engine did: flow, pressure, characteristic velocity, thrust and jet, choked or not."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tradespace.bench.amounts import coolant_heat
from tradespace.bench.burned import GRAVITY, Gas, lost_to_air
from tradespace.bench.filled import VALUES, Channels
from tradespace.constants import value
from tradespace.physics.bench.bounds import energy_thrust_bound_kernel
from tradespace.physics.bench.burned import burned_thrust
from tradespace.physics.bench.jet import expanded_jet_speed_kernel
from tradespace.physics.bench.throat import throat_mass_flow_kernel
from tradespace.physics.combustion_table import limits
from tradespace.physics.compiled import FloatArray, broadcast
from tradespace.physics.nozzle.discharge import discharge_high_kernel, discharge_low_kernel
from tradespace.physics.nozzle.ground import critical_pressure_ratio_kernel

_LOWER = value("lower_heating_value_water", "nozzle_values.csv")
_HIGHER = value("reaction_enthalpy_water") / value("molar_mass_water")
_CURVATURE = value("throat_curvature_ratio", VALUES)
CHOKED, UNCHOKED, UNDECIDED = 1.0, 0.0, 0.5


@dataclass(frozen=True, eq=False)
class State:
    """What is settled once for every point and held while uncertainties are worked out."""

    gas: Gas
    choked: FloatArray
    """1 choked, 0 not, one half where the two exponents disagree, not a number where it is not known."""
    air: FloatArray
    """Thrust coefficient that the surroundings take [1]."""
    critical: FloatArray
    """Chamber over ambient pressure at which the throat chokes, by the exponent that asks for more [1]."""
    known: dict[tuple[str, int, int], tuple[object, FloatArray]] = field(default_factory=dict)
    """Look-ups of pressures already seen."""

    def once(self, name: str, first: FloatArray, second: FloatArray) -> FloatArray:
        """A named function of two columns, worked out once for each pair."""
        key = (name, id(first), id(second))
        if key not in self.known:
            self.known[key] = ((first, second), _FUNCTIONS[name](self.gas, first, second))
        return self.known[key][1]


def mass_flow_of(c: Channels, gas_made: FloatArray, humidity: FloatArray) -> FloatArray:
    """Flow through the engine: read directly, or the gas that was made with the vapour in it [kg s-1]."""
    return np.where(np.isfinite(c["mass_flow"]), c["mass_flow"], gas_made / (1.0 - humidity))


def choking(gas: Gas, pressure: FloatArray, ambient: FloatArray) -> FloatArray:
    """1 choked, 0 not, one half where the frozen and the shifting exponent disagree; not a number if not known."""
    ratio = ambient / pressure
    frozen = ratio <= broadcast(critical_pressure_ratio_kernel, gas.gamma)
    shifting = ratio <= broadcast(critical_pressure_ratio_kernel, gas.gamma_shifting)
    return np.where(np.isfinite(ratio), 0.5 * frozen + 0.5 * shifting, np.nan)


def discharge(flow: FloatArray, diameter: FloatArray, gas: Gas) -> tuple[FloatArray, FloatArray]:
    """Discharge coefficient by correlation, the middle of what two of them span, and its standard uncertainty [1]."""
    with np.errstate(divide="ignore", invalid="ignore"):
        reynolds = 4.0 * flow / (np.pi * diameter * gas.viscosity)
    low, high = (
        broadcast(part, np.nan_to_num(reynolds, nan=1e6), gas.gamma, _CURVATURE)
        for part in (discharge_low_kernel, discharge_high_kernel)
    )
    known = np.isfinite(reynolds)
    return np.where(known, 0.5 * (low + high), np.nan), np.where(known, 0.25 * (high - low), np.nan)


def settle(c: Channels, gas: Gas, flow: FloatArray) -> State:
    """Choked or not, and what the surroundings take."""
    pressure, ambient = c["chamber_pressure"], c["ambient_pressure"]
    choked = choking(gas, pressure, ambient)
    ratio = np.where(np.isfinite(ambient / pressure), ambient / pressure, 0.0)
    return State(
        gas=gas,
        choked=choked,
        air=np.where(choked == CHOKED, lost_to_air(gas.expansion, gas.gamma, ratio), np.nan),
        critical=1.0 / broadcast(critical_pressure_ratio_kernel, gas.gamma),
    )


def _flux(gas: Gas, pressure: FloatArray, ambient: FloatArray) -> FloatArray:
    """Ideal flow of the gas through a throat of unit area, choked or not [kg s-1 m-2]."""
    unit = np.sqrt(4.0 / np.pi)
    known = np.isfinite(pressure) & np.isfinite(ambient)
    flow = broadcast(
        throat_mass_flow_kernel, np.where(known, pressure, 0.0), np.where(known, ambient, 0.0), unit, 1.0,
        gas.gamma, gas.velocity,
    )  # fmt: skip
    return np.where(known, flow, np.nan)


def _ground_speed(gas: Gas, pressure: FloatArray, ambient: FloatArray) -> FloatArray:
    """Jet expanded without loss to the surroundings, by the exponent that gives more [m s-1]."""
    known = np.isfinite(pressure) & np.isfinite(ambient) & (ambient > 0.0) & (pressure > ambient)
    held = np.where(known, pressure, 1.0), np.where(known, ambient, 1.0)
    speeds = [
        broadcast(expanded_jet_speed_kernel, *held, gamma, velocity)
        for gamma, velocity in ((gas.gamma, gas.velocity), (gas.gamma_shifting, gas.velocity_shifting))
    ]
    return np.where(known, np.maximum(*speeds), np.nan)


_FUNCTIONS = {"flux": _flux, "ground_speed": _ground_speed}


def ground_bound(c: Channels, state: State, flow: FloatArray) -> FloatArray:
    """Most thrust of that flow in those surroundings: ideal expansion to ambient pressure [N]."""
    return flow * state.once("ground_speed", c["chamber_pressure"], c["ambient_pressure"])


def ground_bound_of_throat(c: Channels, gas: Gas, flow: FloatArray) -> FloatArray:
    """The same where no pressure was read: the pressure that the flow builds up in front of its throat [N]."""
    ambient, diameter, coefficient = c["ambient_pressure"], c["throat_diameter"], c["discharge_coefficient"]
    use = (ambient > 0.0) & np.isfinite(flow * diameter * coefficient) & (flow > 0.0) & (gas.lit > 0.5)
    use &= ~(c["chamber_pressure"] > ambient)
    low, high = limits("mixture_ratio")
    use &= (gas.mixture_ratio >= low) & (gas.mixture_ratio <= high)
    bound = np.full(flow.size, np.nan)
    if use.any():
        bound[use] = burned_thrust(
            flow[use], ambient[use], diameter[use], np.minimum(coefficient[use], 1.0), gas.mixture_ratio[use],
            feed_humidity=gas.humidity[use],
        )  # fmt: skip
    return bound


def energy_bound(flow: FloatArray, chemical_power: FloatArray) -> FloatArray:
    """Thrust of a jet that holds all the energy stored in the gas [N]."""
    known = np.isfinite(flow * chemical_power)
    bound = broadcast(
        energy_thrust_bound_kernel, np.where(known, flow, 0.0), np.where(known, chemical_power, 0.0), 1.0
    )
    return np.where(known, bound, np.nan)


def thrust_of(c: Channels) -> FloatArray:
    """Thrust as it was shown, or from the balance through the lever [N]."""
    tare = np.where(np.isfinite(c["tare_force"]), c["tare_force"], 0.0)
    lever = np.where(np.isfinite(c["lever_ratio"]), c["lever_ratio"], 1.0)
    return np.where(np.isfinite(c["thrust"]), c["thrust"], (c["balance_force"] - tare) / lever)


def jets(c: Channels, state: State, flow: FloatArray) -> dict[str, FloatArray]:
    """Measures of the engine from channels, the flow [kg s-1] and what was settled."""
    gas, choked = state.gas, state.choked == CHOKED
    area, pressure, ambient = (
        0.25 * np.pi * c["throat_diameter"] ** 2,
        c["chamber_pressure"],
        c["ambient_pressure"],
    )
    thrust, coefficient = thrust_of(c), c["discharge_coefficient"]
    force, effective = pressure * area, pressure * area * coefficient
    velocity = np.where(choked, effective / flow, np.nan)
    air = np.where(choked, state.air, np.where(ambient == 0.0, 0.0, np.nan))
    vacuum_thrust = np.where(air == 0.0, thrust, thrust + air * effective)
    impulse = thrust / (flow * GRAVITY)
    vacuum_impulse = vacuum_thrust / (flow * GRAVITY)
    ideal = gas.velocity * gas.coefficient / GRAVITY
    throat_flow = area * coefficient * state.once("flux", pressure, ambient)
    jet = 0.5 * thrust * thrust / flow
    lit = gas.lit > 0.5
    return {
        "mass_flow": flow,
        "throat_area": area,
        "expansion_ratio": gas.expansion,
        "discharge_coefficient": coefficient,
        "reynolds_number": 4.0 * flow / (np.pi * c["throat_diameter"] * gas.viscosity),
        "chamber_pressure": pressure,
        "pressure_ratio": pressure / np.where(ambient > 0.0, ambient, np.nan),
        "critical_pressure_ratio": state.critical,
        "choked": state.choked,
        "throat_flow": throat_flow,
        "flow_over_throat_flow": flow / throat_flow,
        "characteristic_velocity": velocity,
        "ideal_characteristic_velocity": gas.velocity,
        "ideal_characteristic_velocity_shifting": gas.velocity_shifting,
        "characteristic_velocity_efficiency": velocity / gas.velocity,
        "thrust": thrust,
        "thrust_coefficient": np.where(choked, thrust / force, np.nan),
        "thrust_coefficient_efficiency": np.where(
            choked, (thrust / effective + air) / gas.coefficient, np.nan
        ),
        "specific_impulse": impulse,
        "specific_impulse_vacuum": vacuum_impulse,
        "ideal_specific_impulse": ideal,
        "performance_factor": vacuum_impulse / ideal,
        "jet_speed": thrust / flow,
        "jet_power": jet,
        "flow_power": flow * (1.0 - gas.humidity) * np.where(lit, _HIGHER, np.nan),
        "wall_heat": np.where(np.isfinite(c["wall_heat"]), c["wall_heat"], coolant_heat(c)),
    }


def heat_shares(found: dict[str, FloatArray], gas: Gas) -> FloatArray:
    """Wall heat over the lower heating value of what burns [1]."""
    return found["wall_heat"] / (
        found["mass_flow"] * (1.0 - gas.humidity) * np.where(gas.lit > 0.5, _LOWER, np.nan)
    )
