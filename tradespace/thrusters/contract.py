"""What every thruster architecture promises: the thruster contract."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from tradespace.physics.compiled import FloatArray


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
    specific_impulse_change: FloatArray
    """Added to the specific impulse [s]."""
    power_per_thrust_factor: FloatArray
    """Multiplies the live power per thrust [1]."""


@dataclass(frozen=True)
class Store:
    """An engine fed from what was made ready at the stop, so that thrust does not wait for power."""

    exhaust_velocity: FloatArray
    """Effective exhaust velocity [m/s]."""
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


@dataclass(frozen=True)
class Performance:
    """What the cruise thruster does with power and propellant, per design."""

    exhaust_velocity: FloatArray
    """Effective exhaust velocity [m/s]."""
    water_per_propellant: FloatArray
    """Mass carried per mass that leaves through the nozzle; above 1 where gas in excess is vented [1]."""
    power_per_thrust: FloatArray
    """Live electric power per thrust, in-flight electrolysis included [W/N]."""
    thrust_limit: FloatArray
    """Largest thrust on offer whatever the power [N]."""
    mass: FloatArray
    """Thruster mass that does not grow with power [kg]."""
    mass_per_power: FloatArray
    """Thruster and power-supply mass per live power into the thruster [kg/W]."""
    live_split_fraction: FloatArray
    """Share of the cruise propellant that is split in flight as it is burned [1]."""
    stop_split_fraction: FloatArray
    """Share of the cruise propellant that is split at the stop and carried as gas [1]."""
    throughput_life: FloatArray
    """Propellant the thruster set can pass before it is worn out [kg]."""
    burn_life: FloatArray
    """Firing time after which the thrusters are worn out, however many share the work [s]."""
    tank_factor: FloatArray
    """Tank mass per kilogram of cruise propellant [1]."""
    specific_volume: FloatArray
    """Tank volume per kilogram of cruise propellant [m3/kg]."""
    waste_heat_fraction: FloatArray
    """Share of the live thruster power that a radiator must reject [1]."""


@runtime_checkable
class Thruster(Protocol):
    """One architecture. Pure: the same conditions give the same arrays, and nothing is kept."""

    name: str
    title: str
    description: str
    refuels: bool
    """True when propellant is mined at each stop, False when all of it is carried from the start."""
    maturity: str
    """Demonstrated state in words, with the source key."""

    def performance(self, conditions: Conditions) -> Performance:
        """Cruise performance for each design."""
        ...

    def landing(self, conditions: Conditions) -> Store:
        """Engine for launch and landing when cruise propulsion is what is traded."""
        ...

    def hop_engine(self, conditions: Conditions) -> Store | None:
        """The architecture's own engine for a surface hop from stored propellant; None if it has no store."""
        ...

    def ranges(self) -> dict[str, tuple[float, float]]:
        """Low and high of ``specific_impulse_change`` [s] and ``power_per_thrust_factor`` [1]."""
        ...
