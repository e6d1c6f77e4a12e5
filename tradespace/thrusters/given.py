"""A thruster described by the numbers a study gives, not by a table; never in the registry by itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tradespace.constants import value
from tradespace.errors import DomainError
from tradespace.thrusters.contract import UNLIMITED, Conditions, Engine, Keeping, Store
from tradespace.thrusters.stores import (
    LEAST_SPECIFIC_IMPULSE,
    Numbers,
    exhaust_velocity_of,
    filled,
    stored_gas_engine,
)
from tradespace.thrusters.values import number

STORAGES = ("water", "gas")


@dataclass(frozen=True)
class GivenThruster:
    """An engine given by numbers.

    With ``storage = "water"`` it is fed from the water tank (or, when it does not refuel, from a tank like
    it) and draws its power live; without live power it can also lift the craft from the surface by itself.

    With ``storage = "gas"`` its propellant is split and stored in the gas tanks at the stop: live power
    excludes splitting, tank mass and volume are those of the gas tanks, and it makes a surface hop by itself
    within its own thrust.
    """

    name: str
    title: str
    specific_impulse: float
    """[s]."""
    thrust: float
    """Largest thrust of the set [N]."""
    power_per_thrust: float
    """Live electric power per thrust, splitting excluded [W/N]."""
    throughput_life: float
    """Propellant it can pass before it is worn out [kg]."""
    refuels: bool = True
    mass: float | None = None
    """[kg]; from ``thrusters.csv`` when not given."""
    storage: str = "water"
    description: str = "Engine given by numbers in the study"
    maturity: str = "as the study states (study_value)"

    def __post_init__(self) -> None:
        if self.storage not in STORAGES:
            raise DomainError(f"storage {self.storage!r}: it must be 'water' or 'gas'")
        positive = {
            "specific_impulse": (self.specific_impulse, "s"),
            "thrust": (self.thrust, "N"),
            "throughput_life": (self.throughput_life, "kg"),
        }
        for name, (amount, unit) in positive.items():
            if not (np.isfinite(amount) and amount > 0.0):
                raise DomainError(f"{name} {amount:g} {unit}: it must be above 0 {unit}")
        for name, other in (("power_per_thrust", self.power_per_thrust), ("mass", self.mass or 0.0)):
            if not (np.isfinite(other) and other >= 0.0):
                raise DomainError(f"{name} {other:g}: it must be at least 0")
        self._require_energy()

    def _require_energy(self) -> None:
        """Refuse a jet that carries more than live power, and burning where there is some, can give."""
        if not self.refuels:
            return
        speed = self.specific_impulse * value("standard_gravity")
        if self.storage == "water" and 0.0 < self.power_per_thrust < 0.5 * speed:
            raise DomainError(
                f"power_per_thrust {self.power_per_thrust:g} W/N: a jet of {self.specific_impulse:g} s"
                f" carries {0.5 * speed:.0f} W/N, and water brings no energy of its own"
            )
        burning = 0.5 * number("shared", "chemical_exhaust_velocity_bound") ** 2
        if self.storage == "gas" and 0.5 * speed**2 > burning + self.power_per_thrust * speed:
            raise DomainError(
                f"specific_impulse {self.specific_impulse:g} s: burning split water with"
                f" {self.power_per_thrust:g} W/N of live power gives at most"
                f" {self._fastest(burning) / value('standard_gravity'):.0f} s"
            )

    def _fastest(self, burning: float) -> float:
        """Speed at which the jet carries all of both energies [m/s]."""
        return self.power_per_thrust + float(np.sqrt(self.power_per_thrust**2 + 2.0 * burning))

    @property
    def feed(self) -> str:
        """What reaches it: water, both gases, or a propellant of its own."""
        if not self.refuels:
            return "own"
        return "gases" if self.storage == "gas" else "water"

    @property
    def storages(self) -> tuple[str, ...]:
        """Gas tanks when it is fed from gas; else a water tank."""
        return ("gas",) if self.storage == "gas" else ("buffer", "water")

    @property
    def exhaust(self) -> str:
        """Whatever the study means."""
        return "as the study states"

    @property
    def rests_on(self) -> tuple[str, ...]:
        """None: the study vouches for its numbers."""
        return ()

    def engine(self, conditions: Conditions) -> Engine:
        """The engine for each design."""
        power = np.asarray(self.power_per_thrust)
        if self.feed != "gases":
            power = power * conditions.power_per_thrust_factor
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity_of(
                self.specific_impulse, conditions.specific_impulse_change
            ),
            "power_per_thrust": power,
            "thrust_limit": self.thrust,
            "mass": number("given", "mass") if self.mass is None else self.mass,
            "throughput_life": self.throughput_life,
            "waste_heat_fraction": number("given", "waste_heat_fraction"),
        }
        return filled(Engine, conditions, numbers)

    def hop_engine(self, conditions: Conditions, keeping: Keeping) -> Store | None:
        """Itself, within its own thrust, when it needs no live power or is fed from stored gas; else None."""
        if self.storage == "water" and self.power_per_thrust > 0.0:
            return None
        mass = number("given", "mass") if self.mass is None else self.mass
        if self.storage == "gas":
            return stored_gas_engine(
                conditions,
                keeping,
                conditions.specific_impulse_change,
                self.specific_impulse,
                mass=mass,
                mass_per_thrust=0.0,
                thrust_limit=self.thrust,
                throughput_life=self.throughput_life,
            )
        numbers: Numbers = {
            "exhaust_velocity": exhaust_velocity_of(
                self.specific_impulse, conditions.specific_impulse_change
            ),
            "energy": 0.0,
            "waste_heat_fraction": 1.0,
            "loss_fraction": 0.0,
            "holding_time": UNLIMITED,
            "mass": mass,
            "split_fraction": 0.0,
            "tank_factor": conditions.water_tank_fraction,
            "specific_volume": 1.0 / number("shared", "water_density"),
            "mass_per_thrust": 0.0,
            "thrust_limit": self.thrust,
            "throughput_life": self.throughput_life,
        }
        return filled(Store, conditions, numbers)

    def ranges(self) -> dict[str, tuple[float, float]]:
        """A tenth of the specific impulse and a fifth of the power per thrust either way."""
        impulse = number("given", "specific_impulse_share") * self.specific_impulse
        impulse = min(impulse, self.specific_impulse - LEAST_SPECIFIC_IMPULSE)
        power = number("given", "power_per_thrust_share")
        return {
            "specific_impulse_change": (-impulse, impulse),
            "power_per_thrust_factor": (1.0 - power, 1.0 + power),
        }
