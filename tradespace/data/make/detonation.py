"""Chapman-Jouguet states of hydrogen and oxygen, and the table the package ships.

Needs Cantera; thermodynamic data as in ``combustion``. The state behind the wave fulfils the conservation of
mass, momentum and energy with the gas in equilibrium, and leaves the wave at its own speed of sound. Air is
oxygen with 3.76 parts of nitrogen.

Caution: mixed hydrogen and oxygen detonate at the slightest spark. These are numbers for study only.
"""

from __future__ import annotations

import csv
import functools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq, root

from tradespace.constants import series, value
from tradespace.data.make.combustion import INPUTS, _burn, _provenance, _species, new_gas
from tradespace.tables import DATA

AXES = "detonation_axes.csv"
NITROGEN = {"without": ("N2",), "with": ("N2", "N", "NO", "NO2", "N2O")}
PERTURBATION = 1e-4
OVERSHOOT = 2.0
"""The wave's rise of pressure over that of burning in a closed vessel, from which the search starts."""


@dataclass(frozen=True)
class Detonation:
    """State behind a Chapman-Jouguet wave, SI."""

    speed: float
    temperature: float
    pressure_ratio: float
    density_ratio: float
    molar_mass: float
    isentropic_exponent: float
    sound_speed: float
    """With the composition shifting."""
    mach_number: float
    """Speed of the wave over the sound speed of the gas before it."""
    initial_density: float


@functools.cache
def _air_species(nitric_oxide: str) -> tuple[Any, ...]:
    import cantera

    wanted = NITROGEN[nitric_oxide]
    listed = cantera.Species.list_from_file("nasa_gas.yaml")
    return (*_species(), *(item for item in listed if item.name in wanted))


def air_gas(nitric_oxide: str = "with") -> Any:
    """A fresh gas of hydrogen, oxygen and nitrogen, ``"with"`` or ``"without"`` oxides of nitrogen."""
    import cantera

    return cantera.Solution(thermo="ideal-gas", species=list(_air_species(nitric_oxide)))


def _settle(gas: Any, temperature: float, pressure: float) -> tuple[float, float, float]:
    """Equilibrium; density, enthalpy and isentropic exponent there."""
    gas.TP = temperature, pressure
    gas.equilibrate("TP", solver="auto", rtol=1e-11)
    density, enthalpy, entropy = gas.density, gas.h, gas.s
    volumes = []
    for side in (-PERTURBATION, PERTURBATION):
        gas.SP = entropy, pressure * np.exp(side)
        gas.equilibrate("SP", solver="auto", rtol=1e-12)
        volumes.append(np.log(gas.v))
    gas.TP = temperature, pressure
    gas.equilibrate("TP", solver="auto", rtol=1e-11)
    return float(density), float(enthalpy), float(2.0 * PERTURBATION / (volumes[0] - volumes[1]))


def _explode(gas: Any) -> None:
    """Equilibrium at constant energy and volume, by a root in temperature."""
    energy, density = float(gas.u), float(gas.density)

    def excess(temperature: float) -> float:
        gas.TD = temperature, density
        gas.equilibrate("TV", solver="auto", rtol=1e-11)
        return float(gas.u) - energy

    excess(brentq(excess, value("coldest_flame", INPUTS), value("hottest_flame", INPUTS), xtol=1e-9))


def chapman_jouguet(gas: Any) -> Detonation:
    """State behind a detonation running into the gas as it is; the gas is left in that state."""
    temperature, pressure, density, enthalpy = gas.T, gas.P, gas.density, gas.h
    sound_before = np.sqrt(gas.cp / gas.cv * pressure / density)
    _explode(gas)
    start = np.log([OVERSHOOT * (gas.P / pressure - 1.0) + 1.0, gas.T / temperature])

    def misfit(logarithms: Any) -> tuple[float, float]:
        behind = pressure * np.exp(logarithms[0])
        dense, hot, exponent = _settle(gas, temperature * np.exp(logarithms[1]), behind)
        rayleigh = (behind - pressure) / (1.0 / density - 1.0 / dense)  # (density times wave speed) squared
        energy = hot - enthalpy - 0.5 * (behind - pressure) * (1.0 / density + 1.0 / dense)
        sonic = np.log(abs(rayleigh) / (exponent * behind * dense))
        return float(energy / (0.5 * behind / density)), float(sonic)

    found = root(misfit, start, method="hybr", options={"xtol": 1e-10})
    behind, hot = pressure * np.exp(found.x[0]), temperature * np.exp(found.x[1])
    dense, _, exponent = _settle(gas, hot, behind)
    if max(np.abs(found.fun)) > 1e-6 or dense <= density:
        raise ArithmeticError(f"no detonation found from {temperature:g} K and {pressure:g} Pa")
    sound = float(np.sqrt(exponent * behind / dense))
    speed = sound * dense / density
    return Detonation(
        float(speed), float(hot), float(behind / pressure), float(dense / density),
        float(gas.mean_molecular_weight) * 1e-3, exponent, sound, float(speed / sound_before), float(density),
    )  # fmt: skip


def _fill(mixture_ratio: float, pressure: float, temperature: float, feed_humidity: float) -> Any:
    gas = new_gas()
    dry = (1.0 - feed_humidity) / (1.0 + mixture_ratio)
    gas.TPY = temperature, pressure, {"H2": dry, "O2": dry * mixture_ratio, "H2O": feed_humidity}
    return gas


def detonation(
    mixture_ratio: float,
    initial_pressure: float,
    initial_temperature: float,
    feed_humidity: float = 0.0,
) -> Detonation:
    """Detonation of hydrogen and oxygen.

    Parameters
    ----------
    mixture_ratio : float
        Mass of oxygen per mass of hydrogen, vapour not counted [1].
    initial_pressure : float
        Pressure before the wave [Pa].
    initial_temperature : float
        Temperature before the wave [K].
    feed_humidity : float
        Mass of water vapour per mass of gas [1].
    """
    return chapman_jouguet(_fill(mixture_ratio, initial_pressure, initial_temperature, feed_humidity))


def _air(initial_pressure: float, initial_temperature: float, nitric_oxide: str) -> Any:
    gas = air_gas(nitric_oxide)
    gas.TPX = (
        initial_temperature,
        initial_pressure,
        {"H2": 2.0, "O2": 1.0, "N2": value("nitrogen_to_oxygen", INPUTS)},
    )
    return gas


def air_detonation(
    initial_pressure: float, initial_temperature: float, nitric_oxide: str = "with"
) -> Detonation:
    """Detonation of a stoichiometric mixture of hydrogen and air.

    Parameters
    ----------
    initial_pressure : float
        Pressure before the wave [Pa].
    initial_temperature : float
        Temperature before the wave [K].
    nitric_oxide : str
        ``"with"`` or ``"without"`` oxides of nitrogen behind the wave.
    """
    return chapman_jouguet(_air(initial_pressure, initial_temperature, nitric_oxide))


def air_flame_temperature(pressure: float, nitric_oxide: str = "with") -> float:
    """Adiabatic flame temperature of stoichiometric hydrogen and air at 298.15 K [K]."""
    gas = _air(pressure, value("reactant_temperature", INPUTS), nitric_oxide)
    _burn(gas, gas.h, pressure)
    return float(gas.T)


def constant_volume_explosion(
    mixture_ratio: float, initial_pressure: float, initial_temperature: float, feed_humidity: float = 0.0
) -> dict[str, float]:
    """Temperature [K] and pressure [Pa] after burning in a closed vessel without losses, by name."""
    gas = _fill(mixture_ratio, initial_pressure, initial_temperature, feed_humidity)
    _explode(gas)
    return {"temperature": float(gas.T), "pressure": float(gas.P)}


def main(folder: Path = DATA) -> None:
    """Write ``detonation_cj.csv`` (about a minute)."""
    names = ("mixture_ratio", "initial_pressure", "initial_temperature", "feed_humidity")
    axes = [series(name, AXES) for name in names]
    with (folder / "detonation_cj.csv").open("w", newline="", encoding="utf-8") as handle:
        lines = _provenance("detonation")
        lines[2] = "# gaseous H2, O2 and H2O before the wave; sources goodwin_2024, mcbride_2002"
        lines[3] = (
            "# grade computed; Chapman-Jouguet wave, gas phase only; explosion: constant volume, adiabatic"
        )
        handle.write("\n".join(lines) + "\n")
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow([
            *names, "speed", "temperature", "pressure_ratio", "density_ratio", "molar_mass",
            "isentropic_exponent", "explosion_temperature", "explosion_pressure_ratio",
        ])  # fmt: skip
        writer.writerow(["unit:1", "Pa", "K", "1", "m/s", "K", "1", "1", "g/mol", "1", "K", "1"])
        for place in np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes)):
            here = [float(part) for part in place]
            wave = detonation(*here)
            burst = constant_volume_explosion(*here)
            writer.writerow([
                *(f"{part:g}" for part in here), f"{wave.speed:.3f}", f"{wave.temperature:.3f}",
                f"{wave.pressure_ratio:.5f}", f"{wave.density_ratio:.6f}", f"{wave.molar_mass * 1e3:.5f}",
                f"{wave.isentropic_exponent:.5f}", f"{burst['temperature']:.3f}",
                f"{burst['pressure'] / here[1]:.5f}",
            ])  # fmt: skip


if __name__ == "__main__":
    main()
