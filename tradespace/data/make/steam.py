"""Hot steam, hydrogen and oxygen in a chamber and nozzle, and the tables the package ships. Needs Cantera.

Ideal gas. The chamber is in chemical equilibrium at its temperature and pressure (steam above some 2000 K is
partly split); the expansion is shifting or frozen. Colder than ``dissociation_begins`` the composition is
held: what splits there changes nothing in the digits kept. The expansion of moderately hot steam crosses the
vapour dome: condensation is not modelled. Exits colder than 200 K extrapolate the heat capacities.
"""

from __future__ import annotations

import csv
import warnings
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from tradespace.constants import series, value
from tradespace.data.make import combustion
from tradespace.tables import DATA

AXES = "steam_axes.csv"
VALUES = "electrothermal_values.csv"
PARTS = {"H2O": combustion.SPECIES, "H2": ("H2", "H"), "O2": ("O2", "O")}
KINDS = ("equilibrium", "frozen")


def heated(fluid: str, temperature: float, pressure: float) -> tuple[Any, combustion.Chamber]:
    """A gas in its chamber: steam (``H2O``), hydrogen (``H2``) or oxygen (``O2``), split as far as equilibrium asks.

    Parameters
    ----------
    fluid : str
        ``"H2O"``, ``"H2"`` or ``"O2"`` [text].
    temperature : float
        Chamber temperature [K].
    pressure : float
        Chamber pressure [Pa].
    """
    import cantera

    chosen = [item for item in combustion.new_gas().species() if item.name in PARTS[fluid]]
    gas = cantera.Solution(thermo="ideal-gas", species=chosen)
    gas.TPX = temperature, pressure, {fluid: 1.0}
    if temperature >= value("dissociation_begins", VALUES):
        gas.equilibrate("TP", solver="auto", rtol=1e-12)
    fractions = {name: float(part) for name, part in zip(gas.species_names, gas.X, strict=True)}
    ratio = float(gas.cp / gas.cv)
    return gas, combustion.Chamber(
        temperature, pressure, gas.mean_molecular_weight * 1e-3, ratio, ratio, fractions
    )


def expansions(
    fluid: str, temperature: float, pressure: float, expansion_ratios: tuple[float, ...], kind: str
) -> list[combustion.NozzlePerformance]:
    """Ideal expansions of a heated gas to several area ratios, in rising order.

    Parameters
    ----------
    fluid : str
        ``"H2O"``, ``"H2"`` or ``"O2"`` [text].
    temperature : float
        Chamber temperature [K].
    pressure : float
        Chamber pressure [Pa].
    expansion_ratios : tuple of float
        Exit area over throat area [1].
    kind : str
        ``"equilibrium"`` or ``"frozen"`` [text].
    """
    gas, chamber = heated(fluid, temperature, pressure)
    cold = temperature < value("dissociation_begins", VALUES)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*outside valid range", category=UserWarning)
        if cold or kind == "frozen":
            return _frozen(gas, chamber, expansion_ratios)
        return combustion._expand(gas, chamber, kind, expansion_ratios)


def _frozen(
    gas: Any, chamber: combustion.Chamber, expansion_ratios: tuple[float, ...]
) -> list[combustion.NozzlePerformance]:
    """Expansion at fixed composition, found in the temperature, which works down to very cold exits."""
    enthalpy, entropy = float(gas.h), float(gas.s)
    gas_constant = value("gas_constant") / chamber.molar_mass

    def state(temperature: float) -> tuple[float, float, float]:
        """Speed, mass flux and pressure at a temperature along the isentrope."""
        gas.TP = temperature, chamber.pressure
        pressure = chamber.pressure * float(np.exp((gas.s - entropy) / gas_constant))
        speed = float(np.sqrt(max(2.0 * (enthalpy - gas.h), 0.0)))
        return speed, pressure * speed / (gas_constant * temperature), pressure

    found = minimize_scalar(
        lambda temperature: -state(temperature)[1],
        bounds=(0.5 * chamber.temperature, chamber.temperature),
        method="bounded", options={"xatol": 1e-6 * chamber.temperature},
    )  # fmt: skip
    throat, most = float(found.x), -float(found.fun)
    velocity = chamber.pressure / most
    answers = []
    for ratio in expansion_ratios:
        exit_temperature = brentq(
            lambda place, wanted=ratio: np.log(most / state(place)[1] / wanted),
            1e-3 * chamber.temperature, throat, xtol=1e-9,
        )  # fmt: skip
        speed, flux, pressure = state(exit_temperature)
        vacuum = speed + pressure / flux
        answers.append(
            combustion.NozzlePerformance(
                chamber.temperature, chamber.molar_mass, chamber.isentropic_exponent,
                chamber.heat_capacity_ratio, velocity, throat, exit_temperature,
                chamber.pressure / pressure, vacuum, vacuum / velocity,
            )
        )  # fmt: skip
    return answers


def heated_gas_specific_impulse(
    fluid: str, temperature: float, chamber_pressure: float, expansion_ratio: float, kind: str
) -> float:
    """Ideal specific impulse of a heated gas in vacuum [s]; arguments as in :func:`expansions`."""
    (answer,) = expansions(fluid, temperature, chamber_pressure, (expansion_ratio,), kind)
    return answer.exhaust_velocity_vacuum / value("standard_gravity")


def steam_specific_impulse(temperature: float, expansion_ratio: float) -> float:
    """Ideal specific impulse of steam in vacuum at 1 bar, frozen [s]."""
    return heated_gas_specific_impulse(
        "H2O", temperature, value("standard_pressure"), expansion_ratio, "frozen"
    )


def steam_energy(temperature: float, chamber_pressure: float | None = None) -> float:
    """Heat that turns liquid water at 298.15 K into steam in chemical equilibrium, an ideal gas [J/kg].

    The pressure is 1 bar unless it is given.
    """
    gas, _ = heated("H2O", temperature, chamber_pressure or value("standard_pressure"))
    liquid = -value("reaction_enthalpy_water") / value("molar_mass_water")
    return float(gas.h) - liquid


def _write(path: Path, columns: dict[str, str], rows: list[list[str]]) -> None:
    import cantera

    hydroxyl = value("hydroxyl_formation_enthalpy", combustion.INPUTS)
    with path.open("w", newline="", encoding="utf-8") as handle:
        handle.write(f"# made by: python -m tradespace.data.make.steam (Cantera {cantera.__version__})\n")
        handle.write("# ideal gas, chamber in chemical equilibrium, vacuum; no condensation\n")
        handle.write(f"# NASA polynomials; OH formation enthalpy {hydroxyl / 1e3:g} kJ/mol\n")
        handle.write("# grade computed; sources goodwin_2024, mcbride_2002\n")
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(columns)
        units = list(columns.values())
        writer.writerow([f"unit:{units[0]}", *units[1:]])
        writer.writerows(rows)


def _steam(folder: Path) -> None:
    temperatures, pressures, areas = (
        series(name, AXES) for name in ("temperature", "pressure", "expansion_ratio")
    )
    chambers, nozzles = [], []
    for temperature in temperatures:
        for pressure in pressures:
            _, chamber = heated("H2O", temperature, pressure)
            both = [expansions("H2O", temperature, pressure, areas, kind) for kind in KINDS]
            place = [f"{temperature:g}", f"{pressure:.7g}"]
            chambers.append([
                *place, f"{steam_energy(temperature, pressure):.0f}", f"{chamber.molar_mass * 1e3:.5f}",
                f"{chamber.mole_fractions['H2O']:.6f}",
                *(f"{expanded[0].characteristic_velocity:.3f}" for expanded in both),
            ])  # fmt: skip
            for index, area in enumerate(areas):
                found = [expanded[index] for expanded in both]
                nozzles.append([
                    *place, f"{area:g}",
                    *(f"{one.exhaust_velocity_vacuum:.3f}" for one in found),
                    *(f"{one.exit_temperature:.2f}" for one in found),
                    *(f"{one.pressure_ratio:.7g}" for one in found),
                ])  # fmt: skip
    _write(
        folder / "steam_chamber.csv",
        {"temperature": "K", "pressure": "Pa", "energy": "J/kg", "molar_mass": "g/mol", "water_fraction": "1",
         "characteristic_velocity_equilibrium": "m/s", "characteristic_velocity_frozen": "m/s"},
        chambers,
    )  # fmt: skip
    _write(
        folder / "steam_nozzle.csv",
        {"temperature": "K", "pressure": "Pa", "expansion_ratio": "1",
         "exhaust_velocity_equilibrium": "m/s", "exhaust_velocity_frozen": "m/s",
         "exit_temperature_equilibrium": "K", "exit_temperature_frozen": "K",
         "pressure_ratio_equilibrium": "1", "pressure_ratio_frozen": "1"},
        nozzles,
    )  # fmt: skip


def _gases(folder: Path) -> None:
    temperatures, pressures, areas = (
        series(name, AXES) for name in ("gas_temperature", "gas_pressure", "expansion_ratio")
    )
    rows = []
    for temperature in temperatures:
        for pressure in pressures:
            columns = [
                expansions(fluid, temperature, pressure, areas, kind)
                for fluid in ("H2", "O2")
                for kind in KINDS
            ]
            for index, area in enumerate(areas):
                speeds = [f"{column[index].exhaust_velocity_vacuum:.3f}" for column in columns]
                rows.append([f"{temperature:g}", f"{pressure:.7g}", f"{area:g}", *speeds])
    names = [f"{gas}_exhaust_velocity_{kind}" for gas in ("hydrogen", "oxygen") for kind in KINDS]
    _write(
        folder / "steam_gases.csv",
        {"temperature": "K", "pressure": "Pa", "expansion_ratio": "1", **dict.fromkeys(names, "m/s")},
        rows,
    )


def main(folder: Path = DATA) -> None:
    """Write ``steam_chamber.csv``, ``steam_nozzle.csv`` and ``steam_gases.csv`` (about a minute)."""
    _steam(folder)
    _gases(folder)


if __name__ == "__main__":
    main()
