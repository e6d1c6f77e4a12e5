"""Chemical equilibrium of hydrogen and oxygen in a chamber and nozzle, and the table the package ships.

Needs Cantera. Thermodynamic data: the NASA polynomials that Cantera carries, with the formation enthalpy
of OH set to its present value. One-dimensional, adiabatic, infinite-area chamber, gas phase only. Exits
colder than 200 K (low mixture ratio with a large expansion ratio) extrapolate the polynomials.
"""

from __future__ import annotations

import csv
import functools
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from tradespace.constants import series, value
from tradespace.tables import DATA

SPECIES = ("H2", "O2", "H2O", "OH", "H", "O", "HO2", "H2O2")
INPUTS = "combustion_inputs.csv"
AXES = "combustion_axes.csv"
KINDS = ("equilibrium", "frozen", "throat_frozen")
"""Composition shifting all the way, frozen as it left the chamber, or shifting to the throat and frozen after."""


@dataclass(frozen=True)
class Chamber:
    """State of the burned gas before it expands, SI."""

    temperature: float
    pressure: float
    molar_mass: float
    isentropic_exponent: float
    """-(d ln p / d ln v) at constant entropy with the composition shifting."""
    heat_capacity_ratio: float
    """Of the gas with its composition frozen."""
    mole_fractions: dict[str, float]


@dataclass(frozen=True)
class NozzlePerformance:
    """Ideal expansion to one area ratio, SI."""

    chamber_temperature: float
    molar_mass: float
    isentropic_exponent: float
    heat_capacity_ratio: float
    characteristic_velocity: float
    throat_temperature: float
    exit_temperature: float
    pressure_ratio: float
    """Chamber over exit pressure."""
    exhaust_velocity_vacuum: float
    """Vacuum thrust over mass flow."""
    thrust_coefficient_vacuum: float


@functools.cache
def _species() -> tuple[Any, ...]:
    import cantera

    chosen = {
        item.name: item for item in cantera.Species.list_from_file("nasa_gas.yaml") if item.name in SPECIES
    }
    hydroxyl = chosen["OH"]
    old = hydroxyl.thermo
    temperature = value("standard_temperature")
    shift = value("hydroxyl_formation_enthalpy", INPUTS) * 1e3 - old.h(temperature)  # per kilomole
    coefficients = old.coeffs.copy()
    coefficients[[6, 13]] += shift / cantera.gas_constant  # enthalpy constants of both temperature ranges
    hydroxyl.thermo = cantera.NasaPoly2(old.min_temp, old.max_temp, old.reference_pressure, coefficients)
    return tuple(chosen[name] for name in SPECIES)


def new_gas() -> Any:
    """A fresh gas of the eight species (one per thread: the object must not be shared)."""
    import cantera

    return cantera.Solution(thermo="ideal-gas", species=list(_species()))


def _reactants(gas: Any, mixture_ratio: float) -> None:
    gas.TPY = (
        value("reactant_temperature", INPUTS),
        value("standard_pressure"),
        {"H2": 1.0, "O2": mixture_ratio},
    )


def _burn(gas: Any, enthalpy: float, pressure: float) -> None:
    """Equilibrium at constant enthalpy, by a root in temperature (right for liquid reactants too)."""

    def excess(temperature: float) -> float:
        gas.TP = temperature, pressure
        gas.equilibrate("TP", solver="auto")
        return float(gas.h) - enthalpy

    excess(brentq(excess, value("coldest_flame", INPUTS), value("hottest_flame", INPUTS), xtol=1e-9))


def _describe(gas: Any) -> Chamber:
    entropy, pressure, fractions = gas.s, gas.P, gas.X.copy()
    temperature, mass = gas.T, gas.mean_molecular_weight
    ratio = gas.cp / gas.cv
    step, volumes = 1e-4, []
    for side in (-step, step):
        gas.SP = entropy, pressure * np.exp(side)
        gas.equilibrate("SP", solver="auto", rtol=1e-12)
        volumes.append(np.log(gas.v))
    exponent = 2.0 * step / (volumes[0] - volumes[1])
    gas.TPX = temperature, pressure, fractions
    named = {name: float(part) for name, part in zip(gas.species_names, fractions, strict=True)}
    return Chamber(temperature, pressure, mass * 1e-3, float(exponent), float(ratio), named)


def _expander(
    gas: Any, kind: str, stagnation: float | None = None
) -> Callable[[float], tuple[float, float, float]]:
    """State at a pressure along the isentrope from where the gas is now: speed, mass flux, temperature."""
    entropy, fractions, temperature = gas.s, gas.X.copy(), gas.T
    enthalpy = gas.h if stagnation is None else stagnation

    def state(pressure: float) -> tuple[float, float, float]:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message=".*outside valid range", category=UserWarning)
            if kind == "equilibrium":
                gas.SP = entropy, pressure
                gas.equilibrate("SP", solver="auto", rtol=1e-10)
            else:
                gas.TPX = temperature, pressure, fractions
                gas.SP = entropy, pressure
        speed = np.sqrt(max(2.0 * (enthalpy - gas.h), 0.0))
        return float(speed), float(gas.density * speed), float(gas.T)

    return state


def _expand(
    gas: Any, chamber: Chamber, kind: str, expansion_ratios: tuple[float, ...]
) -> list[NozzlePerformance]:
    burned = (
        chamber.temperature,
        chamber.pressure,
        np.array([chamber.mole_fractions[n] for n in gas.species_names]),
    )
    gas.TPX = burned
    stagnation = gas.h
    state = _expander(gas, "frozen" if kind == "frozen" else "equilibrium")
    found = minimize_scalar(
        lambda logarithm: -state(chamber.pressure * np.exp(logarithm))[1],
        bounds=(-1.0, -0.3), method="bounded", options={"xatol": 1e-7},
    )  # fmt: skip
    throat = chamber.pressure * float(np.exp(found.x))
    _, throat_flux, throat_temperature = state(throat)
    velocity = chamber.pressure / throat_flux
    if kind == "throat_frozen":
        state = _expander(gas, "frozen", stagnation)
    answers = []
    upper = 0.0
    for ratio in expansion_ratios:
        lower = upper - 1.0
        while throat_flux / state(throat * np.exp(lower))[1] < ratio:
            lower -= 1.0
        logarithm = brentq(
            lambda x, wanted=ratio: np.log(throat_flux / state(throat * np.exp(x))[1] / wanted),
            lower,
            upper,
            xtol=1e-9,
        )
        upper = logarithm
        pressure = throat * float(np.exp(logarithm))
        speed, flux, temperature = state(pressure)
        vacuum = speed + pressure / flux
        answers.append(
            NozzlePerformance(
                chamber.temperature, chamber.molar_mass, chamber.isentropic_exponent,
                chamber.heat_capacity_ratio, velocity, throat_temperature, temperature,
                chamber.pressure / pressure, vacuum, vacuum / velocity,
            )
        )  # fmt: skip
    gas.TPX = burned
    return answers


def _gaseous(mixture_ratio: float, chamber_pressure: float) -> tuple[Any, Chamber]:
    gas = new_gas()
    _reactants(gas, mixture_ratio)
    _burn(gas, gas.h, chamber_pressure)
    return gas, _describe(gas)


def _liquid(mixture_ratio: float, chamber_pressure: float) -> tuple[Any, Chamber]:
    gas = new_gas()
    _reactants(gas, mixture_ratio)
    hydrogen = value("liquid_hydrogen_enthalpy", INPUTS) / value("molar_mass_hydrogen")
    oxygen = value("liquid_oxygen_enthalpy", INPUTS) / value("molar_mass_oxygen")
    _burn(gas, (hydrogen + mixture_ratio * oxygen) / (1.0 + mixture_ratio), chamber_pressure)
    return gas, _describe(gas)


def chamber(mixture_ratio: float, chamber_pressure: float) -> Chamber:
    """Burned gas from hydrogen and oxygen fed as gases at 298.15 K.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    """
    return _gaseous(mixture_ratio, chamber_pressure)[1]


def flame_temperature(mixture_ratio: float, pressure: float) -> float:
    """Adiabatic flame temperature at constant pressure, reactants at 298.15 K [K]."""
    return chamber(mixture_ratio, pressure).temperature


def composition(mixture_ratio: float, chamber_pressure: float, reactants: str = "gas") -> dict[str, float]:
    """Mole fractions in the chamber by species [1].

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    reactants : str
        ``"gas"`` at 298.15 K or ``"liquid"`` at the boiling points.
    """
    burn = _liquid if reactants == "liquid" else _gaseous
    return burn(mixture_ratio, chamber_pressure)[1].mole_fractions


def nozzle_performance(
    mixture_ratio: float, chamber_pressure: float, expansion_ratio: float, kind: str = "equilibrium"
) -> NozzlePerformance:
    """Ideal performance with gaseous reactants.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen [1].
    chamber_pressure : float
        Chamber pressure [Pa].
    expansion_ratio : float
        Exit area over throat area [1].
    kind : str
        ``"equilibrium"``: composition shifting with the expansion; ``"frozen"``: as it left the chamber;
        ``"throat_frozen"``: shifting to the throat, frozen after it.
    """
    gas, burned = _gaseous(mixture_ratio, chamber_pressure)
    return _expand(gas, burned, kind, (expansion_ratio,))[0]


def liquid_chamber(mixture_ratio: float, chamber_pressure: float) -> Chamber:
    """Burned gas from liquid hydrogen and liquid oxygen at their boiling points."""
    return _liquid(mixture_ratio, chamber_pressure)[1]


def liquid_nozzle_performance(
    mixture_ratio: float, chamber_pressure: float, expansion_ratio: float, kind: str = "equilibrium"
) -> NozzlePerformance:
    """Ideal performance with liquid hydrogen and liquid oxygen at their boiling points."""
    gas, burned = _liquid(mixture_ratio, chamber_pressure)
    return _expand(gas, burned, kind, (expansion_ratio,))[0]


def _provenance(program: str = "combustion") -> list[str]:
    import cantera

    hydroxyl = value("hydroxyl_formation_enthalpy", INPUTS)
    return [
        f"# made by: python -m tradespace.data.make.{program} (Cantera {cantera.__version__})",
        f"# species {' '.join(SPECIES)}; NASA polynomials; OH formation enthalpy {hydroxyl / 1e3:g} kJ/mol",
        "# gaseous H2 and O2 at 298.15 K; sources goodwin_2024, mcbride_2002",
        "# grade computed; one-dimensional, adiabatic, infinite-area chamber, gas phase only",
    ]


def _write(path: Path, header: list[str], units: list[str], rows: list[list[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as handle:
        handle.write("\n".join(_provenance()) + "\n")
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(header)
        writer.writerow([f"unit:{units[0]}", *units[1:]])
        writer.writerows(rows)


def main(folder: Path = DATA) -> None:
    """Write ``combustion_chamber.csv`` and ``combustion_nozzle.csv`` (about half a minute)."""
    gravity = value("standard_gravity")
    ratios, pressures, areas = (
        series(name, AXES) for name in ("mixture_ratio", "chamber_pressure", "expansion_ratio")
    )
    chambers: list[list[str]] = []
    nozzles: list[list[str]] = []
    for mixture_ratio in ratios:
        for pressure in pressures:
            gas, burned = _gaseous(mixture_ratio, pressure)
            both = [_expand(gas, burned, kind, areas) for kind in KINDS]
            place = [f"{mixture_ratio:g}", f"{pressure:g}"]
            chambers.append([
                *place, f"{burned.temperature:.3f}", f"{burned.molar_mass * 1e3:.5f}",
                f"{burned.isentropic_exponent:.5f}", f"{burned.heat_capacity_ratio:.5f}",
                *(f"{expanded[0].characteristic_velocity:.3f}" for expanded in both[:2]),
            ])  # fmt: skip
            for index, area in enumerate(areas):
                impulses = (f"{expanded[index].exhaust_velocity_vacuum / gravity:.4f}" for expanded in both)
                nozzles.append([*place, f"{area:g}", *impulses])
    _write(
        folder / "combustion_chamber.csv",
        ["mixture_ratio", "chamber_pressure", "chamber_temperature", "molar_mass", "isentropic_exponent",
         "heat_capacity_ratio", "characteristic_velocity_equilibrium", "characteristic_velocity_frozen"],
        ["1", "Pa", "K", "g/mol", "1", "1", "m/s", "m/s"], chambers,
    )  # fmt: skip
    _write(
        folder / "combustion_nozzle.csv",
        ["mixture_ratio", "chamber_pressure", "expansion_ratio",
         *(f"specific_impulse_vacuum_{kind}" for kind in KINDS)],
        ["1", "Pa", "1", "s", "s", "s"], nozzles,
    )  # fmt: skip


if __name__ == "__main__":
    main()
