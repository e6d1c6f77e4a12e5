"""Hydrogen and oxygen from their liquids, station by station along the nozzle: the figures that books print.

Needs Cantera; the same gas, chamber and assumptions as ``combustion``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from tradespace.constants import value
from tradespace.data.make.combustion import SPECIES, _burn, _liquid, _reactants


@dataclass(frozen=True)
class Station:
    """Gas at one place of the nozzle, composition shifting or frozen from the chamber, SI."""

    temperature: float
    pressure_ratio: float
    """Chamber over local pressure."""
    molar_mass: float
    isentropic_exponent: float
    area_ratio: float
    exhaust_velocity: float
    """Thrust over mass flow, expanded to surroundings at the local pressure."""
    exhaust_velocity_vacuum: float
    thrust_coefficient: float
    """For surroundings at the local pressure."""
    specific_impulse: float
    """The same as the exhaust velocity, per weight."""
    enthalpy: float
    entropy: float


class _Nozzle:
    """Isentrope from a chamber."""

    def __init__(self, gas: Any, kind: str) -> None:
        self.gas, self.kind = gas, kind
        self.start = gas.T, gas.P, gas.X.copy()
        self.enthalpy, self.entropy, self.pressure = gas.h, gas.s, gas.P
        found = minimize_scalar(
            lambda logarithm: -self.flux(self.pressure * np.exp(logarithm)),
            bounds=(-1.0, -0.3), method="bounded", options={"xatol": 1e-9},
        )  # fmt: skip
        self.throat = self.pressure * float(np.exp(found.x))
        self.throat_flux = self.flux(self.throat)

    def go(self, pressure: float) -> float:
        """Bring the gas to a pressure; the speed there."""
        if self.kind == "frozen":
            self.gas.TPX = self.start
            self.gas.SP = self.entropy, pressure
        else:
            self.gas.SP = self.entropy, pressure
            self.gas.equilibrate("SP", solver="auto", rtol=1e-12)
        return float(np.sqrt(max(2.0 * (self.enthalpy - self.gas.h), 0.0)))

    def flux(self, pressure: float) -> float:
        """Mass flow per area at a pressure."""
        speed = self.go(pressure)
        return float(self.gas.density) * speed

    def exponent(self, pressure: float) -> float:
        """Isentropic exponent at a pressure."""
        step, volumes = 1e-4, []
        for side in (-step, step):
            self.go(pressure * np.exp(side))
            volumes.append(np.log(self.gas.v))
        return float(2.0 * step / (volumes[0] - volumes[1]))

    def station(self, pressure: float) -> Station:
        """Everything at a pressure."""
        exponent = self.exponent(pressure)
        speed = self.go(pressure)
        flux = float(self.gas.density) * speed
        velocity = self.pressure / self.throat_flux  # characteristic
        vacuum = speed + pressure / flux if flux > 0.0 else float("inf")
        area = self.throat_flux / flux if flux > 0.0 else float("inf")
        return Station(
            float(self.gas.T), self.pressure / pressure, float(self.gas.mean_molecular_weight) * 1e-3, exponent,
            area, speed, vacuum, speed / velocity, speed / value("standard_gravity"), float(self.gas.h),
            float(self.gas.s),
        )  # fmt: skip


def liquid_station(
    mixture_ratio: float,
    chamber_pressure: float,
    place: str,
    at: float = 1.0,
    kind: str = "equilibrium",
) -> Station:
    """Gas at one station, fed with liquid hydrogen and liquid oxygen at their boiling points.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    place : str
        ``"chamber"``, ``"throat"``, ``"pressure_ratio"`` (chamber over local pressure is ``at``),
        ``"pressure"`` (local pressure is ``at``) or ``"area_ratio"`` (supersonic).
    at : float
        The ratio [1] or the pressure [Pa].
    kind : str
        ``"equilibrium"`` or ``"frozen"``.
    """
    nozzle = _Nozzle(_liquid(mixture_ratio, chamber_pressure)[0], kind)

    def misfit(logarithm: float) -> float:
        return float(np.log(nozzle.throat_flux / nozzle.flux(nozzle.throat * np.exp(logarithm)) / at))

    if place == "area_ratio":
        lower = -1.0
        while misfit(lower) < 0.0:
            lower -= 1.0
        logarithm = brentq(misfit, lower, 0.0, xtol=1e-10)
        return nozzle.station(nozzle.throat * float(np.exp(logarithm)))
    pressures = {
        "chamber": chamber_pressure,
        "throat": nozzle.throat,
        "pressure_ratio": chamber_pressure / at,
        "pressure": at,
    }
    return nozzle.station(pressures[place])


def old_hydroxyl_temperature(mixture_ratio: float, chamber_pressure: float) -> float:
    """Chamber temperature [K] with the formation enthalpy of OH that Cantera's file carries, gaseous feed.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    """
    import cantera

    listed = cantera.Species.list_from_file("nasa_gas.yaml")
    gas = cantera.Solution(thermo="ideal-gas", species=[item for item in listed if item.name in SPECIES])
    _reactants(gas, mixture_ratio)
    _burn(gas, gas.h, chamber_pressure)
    return float(gas.T)
