"""What every thruster promises (the contract), and what an architecture makes of it.

A thruster is only the engine: what it does with what it is fed. How the water is kept, and what becomes of the part of
it that the engine does not burn, is added in one place for all of them (``architecture``).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol, runtime_checkable

import numpy as np

from tradespace.physics.compiled import FloatArray

UNLIMITED = 1.0e12
"""Stands for "as many engines as needed", "never worn out" and the like, in any unit."""
FEEDS = ("water", "gases", "hydrogen", "oxygen", "own")
"""What reaches the engine: water as it is, both gases of split water, one of them, or a propellant of its own."""
STORAGES = ("water", "buffer", "gas", "liquid")
"""How propellant is kept: as water alone; as water with gas for launch and landing; all as gas; all as liquids."""
EXCESSES = ("vented", "cold_gas", "flown", "left")
"""What becomes of split water that is not burned: let off, let off through a cold nozzle, kept on board to the next
landing, or left at the stop."""
LANDING_ENGINES = ("itself", "stored_gas", "stored_heat", "storable")
"""What launches and lands the craft: the cruise thruster, stored hydrogen and oxygen, steam from stored heat, or a
storable bipropellant carried from the start."""


def _zero() -> FloatArray:
    return np.zeros(())


def _unset() -> FloatArray:
    return np.full((), np.nan)


def _unlimited() -> FloatArray:
    return np.full((), UNLIMITED)


@dataclass(frozen=True)
class Conditions:
    """What a thruster may know of each design; SI arrays that broadcast against each other."""

    split_energy: FloatArray
    """Electric energy to split a kilogram of water, plant included [J/kg]."""
    mixture_ratio: FloatArray
    """Oxygen to hydrogen mass ratio burned [1]."""
    chamber_pressure: FloatArray
    """Chamber pressure [Pa]."""
    expansion_ratio: FloatArray
    """Nozzle area ratio [1]."""
    landing_performance_factor: FloatArray
    """Delivered over frozen ideal specific impulse of the landing engine [1]."""
    landing_engine_specific_mass: FloatArray
    """Landing engine mass per thrust [kg/N]."""
    storage_pressure: FloatArray
    """Gas tank pressure [Pa]."""
    storage_temperature: FloatArray
    """Gas tank temperature [K]."""
    tank_performance: FloatArray
    """Burst pressure times volume over tank weight [m]."""
    tank_safety_factor: FloatArray
    """Burst over working pressure [1]."""
    cell_pressure: FloatArray
    """Pressure at which the electrolyser delivers the gases [Pa]."""
    gas_dew_point: FloatArray
    """Temperature at which the gases last touched liquid water [K]."""
    compression_efficiency: FloatArray
    """Least work over electric energy of compression [1]."""
    gas_hold_time: FloatArray
    """Time between filling the gas tanks and burning the gas [s]."""
    leak_time: FloatArray
    """Time constant with which stored gas leaks [s]."""
    storage_is_liquid: FloatArray
    """1 where the gases are kept as liquids, 0 where compressed [1]."""
    hydrogen_liquefaction_energy: FloatArray
    """Electric energy to liquefy hydrogen [J/kg]."""
    oxygen_liquefaction_energy: FloatArray
    """Electric energy to liquefy oxygen [J/kg]."""
    boil_off_rate: FloatArray
    """Share of the stored liquid that boils off per time [1/s]."""
    liquid_tank_density: FloatArray
    """Tank mass per volume of liquid [kg/m3]."""
    liquid_ullage: FloatArray
    """Share of a liquid tank left to vapour [1]."""
    water_tank_fraction: FloatArray
    """Water tank mass per water mass [1]."""
    steam_temperature: FloatArray
    """Steam temperature of a hop on stored heat [K]."""
    heat_store_specific_energy: FloatArray
    """Heat per mass of a heat store, container included [J/kg]."""
    heat_store_holding_time: FloatArray
    """Time constant with which a heat store cools [s]."""
    live_power: FloatArray
    """Electric power left for propulsion in cruise when the campaign begins [W]."""
    solar_flux: FloatArray
    """Sunlight when the campaign begins [W/m2]."""
    collector_area: FloatArray
    """Area of a mirror that gathers sunlight for a thruster that runs on it [m2]."""
    thruster_losses: FloatArray
    """1 for the engine as delivered, 0 for an ideal one without losses [1]."""
    specific_impulse_change: FloatArray
    """Added to the specific impulse [s]."""
    power_per_thrust_factor: FloatArray
    """Multiplies the live power per thrust [1]."""
    energy_release_efficiency: FloatArray = field(default_factory=_unset)
    """Share of the ideal characteristic velocity that a measured engine delivers; not a number without one [1]."""
    viscous_loss_scale: FloatArray = field(default_factory=_unset)
    """Factor on the viscous loss of a measured engine; not a number without one [1]."""
    wall_heat_scale: FloatArray = field(default_factory=_unset)
    """Factor on the exchange of heat with the wall of a measured engine; not a number without one [1]."""


@dataclass(frozen=True)
class Engine:
    """What an engine does with what it is fed, per design; wherever that is kept."""

    exhaust_velocity: FloatArray
    """Effective exhaust velocity of what leaves through the nozzle [m/s]."""
    power_per_thrust: FloatArray
    """Live power into the engine per thrust, splitting in flight excluded; sunlight where it has a collector [W/N]."""
    thrust_limit: FloatArray = field(default_factory=_unlimited)
    """Largest thrust of the set whatever the power [N]."""
    least_power: FloatArray = field(default_factory=_zero)
    """Live power below which there is no thrust [W]."""
    least_flow: FloatArray = field(default_factory=_zero)
    """Mass flow through the nozzle below which there is no thrust [kg/s]."""
    throttle_exponent: FloatArray = field(default_factory=_zero)
    """Below the power of the start thrust falls with this power of it, on top of the power itself [1]."""
    collector_area: FloatArray = field(default_factory=_zero)
    """Sunlight it gathers itself [m2]; 0 for an engine that runs on electricity."""
    auxiliary_share: FloatArray = field(default_factory=_zero)
    """Extra live power over all other, splitting included [1]."""
    mass: FloatArray = field(default_factory=_zero)
    """Mass that does not grow with power [kg]."""
    mass_per_power: FloatArray = field(default_factory=_zero)
    """Mass of engine and supply per live power into it; per sunlight where it has a collector [kg/W]."""
    throughput_life: FloatArray = field(default_factory=_unlimited)
    """Propellant the set can pass before it is worn out [kg]."""
    burn_life: FloatArray = field(default_factory=_unlimited)
    """Firing time after which the set is worn out, however many share the work [s]."""
    ignition_life: FloatArray = field(default_factory=_unlimited)
    """Ignitions, pulses or bursts after which the set is worn out [1]."""
    charge: FloatArray = field(default_factory=_unlimited)
    """Propellant through the nozzle between two ignitions [kg]; a very large number for one ignition a burn."""
    waste_heat_fraction: FloatArray = field(default_factory=_zero)
    """Share of the live power into the engine that a radiator must reject [1]."""


@dataclass(frozen=True)
class Keeping:
    """How an architecture keeps its propellant, and what becomes of the part that is not burned."""

    storage: str
    """One of :data:`STORAGES`."""
    excess: str
    """One of :data:`EXCESSES`."""


@dataclass(frozen=True)
class Store:
    """An engine fed from what was made ready at the stop, so that thrust does not wait for power."""

    exhaust_velocity: FloatArray
    """Effective exhaust velocity on what is drawn; on what is burned where the rest stays on board [m/s]."""
    energy: FloatArray
    """Electric energy put into each kilogram at the stop, splitting excluded [J/kg]."""
    waste_heat_fraction: FloatArray
    """Share of that energy that a radiator must reject [1]."""
    split_fraction: FloatArray
    """Share of the stored propellant that the electrolyser has to split [1]."""
    loss_fraction: FloatArray
    """Share of the stored propellant lost between filling and burning [1]."""
    holding_time: FloatArray
    """Time constant with which stored heat leaks away [s]; a very large number for gas and for liquids."""
    tank_factor: FloatArray
    """Tank mass per kilogram stored [1]."""
    mass: FloatArray
    """Engine mass that does not grow with thrust [kg]."""
    specific_volume: FloatArray
    """Tank volume per kilogram stored [m3/kg]."""
    mass_per_thrust: FloatArray
    """Engine mass per thrust [kg/N]."""
    thrust_limit: FloatArray
    """Largest thrust on offer [N]; a very large number where engines are simply added."""
    kept_share: FloatArray = field(default_factory=_zero)
    """Share of what is drawn from the tanks that stays on board to the next landing [1]."""
    mined_per_load: FloatArray = field(default_factory=lambda: np.ones(()))
    """Water mined per mass stored; above 1 where an excess stays at the stop [1]."""
    ignition_life: FloatArray = field(default_factory=_unlimited)
    """Ignitions after which the engines are worn out [1]."""
    charge: FloatArray = field(default_factory=_unlimited)
    """Drawn from the tanks between two ignitions [kg]; a very large number for one ignition a burn."""
    throughput_life: FloatArray = field(default_factory=_unlimited)
    """What the engines can draw from the tanks before they are worn out [kg]."""
    burn_life: FloatArray = field(default_factory=_unlimited)
    """Firing time after which the engines are worn out [s]."""


@dataclass(frozen=True)
class Performance:
    """What the cruise thruster does with power and with what is on board, per design."""

    exhaust_velocity: FloatArray
    """Effective exhaust velocity on what is drawn; on what is burned where the rest stays on board [m/s]."""
    jet_velocity: FloatArray
    """Exhaust velocity of what leaves through the nozzle [m/s]."""
    water_per_propellant: FloatArray
    """Mass drawn from the tanks per mass that leaves through the nozzle [1]."""
    kept_share: FloatArray
    """Share of what is drawn from the tanks that stays on board to the next landing [1]."""
    mined_per_load: FloatArray
    """Water mined per mass loaded; above 1 where an excess stays at the stop [1]."""
    power_per_thrust: FloatArray
    """Live power per thrust, splitting in flight included [W/N]."""
    thrust_limit: FloatArray
    """Largest thrust on offer whatever the power [N]."""
    least_power: FloatArray
    """Live power below which there is no thrust [W]."""
    least_flow: FloatArray
    """Mass flow through the nozzle below which there is no thrust [kg/s]."""
    throttle_exponent: FloatArray
    """Power of the part load with which thrust falls, on top of the power itself [1]."""
    collector_area: FloatArray
    """Sunlight it gathers itself [m2]; 0 for an engine that runs on electricity."""
    mass: FloatArray
    """Thruster mass that does not grow with power [kg]."""
    mass_per_power: FloatArray
    """Thruster and power-supply mass per live power, splitting excluded [kg/W]."""
    engine_power_share: FloatArray
    """Share of the live power that goes into the engine [1]."""
    split_power_share: FloatArray
    """Share of the live power that goes into splitting [1]."""
    live_split_fraction: FloatArray
    """Share of the cruise propellant that is split in flight as it is burned [1]."""
    stop_split_fraction: FloatArray
    """Share of the cruise propellant that is split at the stop and carried as gas or liquid [1]."""
    storing_energy: FloatArray
    """Electric energy to compress or liquefy a kilogram of the cruise propellant that is kept so [J/kg]."""
    storing_loss: FloatArray
    """Share of it that is lost between filling and burning [1]."""
    throughput_life: FloatArray
    """What the thruster set can draw from the tanks before it is worn out [kg]."""
    burn_life: FloatArray
    """Firing time after which the thrusters are worn out, however many share the work [s]."""
    ignition_life: FloatArray
    """Ignitions after which the thrusters are worn out [1]."""
    charge: FloatArray
    """Drawn from the tanks between two ignitions [kg]."""
    tank_factor: FloatArray
    """Tank mass per kilogram of cruise propellant [1]."""
    specific_volume: FloatArray
    """Tank volume per kilogram of cruise propellant [m3/kg]."""
    waste_heat_fraction: FloatArray
    """Share of the live power that a radiator must reject, splitting excluded [1]."""


@runtime_checkable
class Thruster(Protocol):
    """One kind of engine. Pure: the same conditions give the same arrays, and nothing is kept."""

    name: str
    title: str
    description: str
    refuels: bool
    """True when propellant is mined at each stop, False when all of it is carried from the start."""
    maturity: str
    """Demonstrated state in words, with the source key."""
    feed: str
    """One of :data:`FEEDS`."""
    storages: tuple[str, ...]
    """Modes of storage it works with, the usual one first; any of :data:`STORAGES`."""
    exhaust: str
    """What leaves the nozzle, in words."""
    rests_on: tuple[str, ...]
    """Rows of its table on which its rank rests; the weakest grade among them marks it."""

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        ...

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Its own engine for a surface hop from stored propellant; None if its thrust comes from live power alone."""
        ...

    def ranges(self) -> dict[str, tuple[float, float]]:
        """Low and high of ``specific_impulse_change`` [s] and ``power_per_thrust_factor`` [1]."""
        ...
